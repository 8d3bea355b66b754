//! A large invented shop: its offers, the variants that suppliers make, and which products half its listings sell.
//!
//! The same seed makes the same shop. Must not know how links are proposed. Start reading at [`Shop::of`].

use fastrand::Rng;
use model::book::{ListingProduct, Offer, Variant};
use model::{ListingId, Options, SupplierId, VariantId};

/// Of so many, every second has its products picked.
pub const LISTINGS: usize = 2_500;
pub const OFFERS_OF_A_LISTING: usize = 40;
/// One for each good and style.
pub const PRODUCTS: usize = GOODS.len() * STYLES.len();
/// What a product comes in: its sizes by its colours.
pub const VARIANTS_OF_A_PRODUCT: usize = 40;

const SUPPLIERS: [&str; 5] = ["alder-print", "brook-print", "cairn-print", "dune-print", "elm-print"];

/// What is made, what a shop calls it, and in which sizes.
const GOODS: [(&str, &str, &[Size]); 25] = [
    ("T-shirt", "tee", &LETTERS),
    ("Hooded sweatshirt", "hoodie", &LETTERS),
    ("Sweatshirt", "crewneck sweatshirt", &LETTERS),
    ("Long sleeve T-shirt", "long sleeve", &LETTERS),
    ("Tank top", "tank", &LETTERS),
    ("Polo shirt", "polo", &LETTERS),
    ("Zipped hooded sweatshirt", "zip hoodie", &LETTERS),
    ("Joggers", "joggers", &LETTERS),
    ("Leggings", "leggings", &LETTERS),
    ("Dressing gown", "bathrobe", &LETTERS),
    ("Apron", "apron", &FEW_LETTERS),
    ("Slippers", "slippers", &FEW_LETTERS),
    ("Socks", "socks", &FEW_LETTERS),
    ("Beanie", "beanie", &FEW_LETTERS),
    ("Cap", "cap", &FEW_LETTERS),
    ("Tote bag", "tote", &FEW_LETTERS),
    ("Backpack", "backpack", &FEW_LETTERS),
    ("Mug", "mug", &OUNCES),
    ("Tumbler", "tumbler", &OUNCES),
    ("Poster", "print", &CENTIMETRES),
    ("Cushion", "pillow", &CENTIMETRES),
    ("Blanket", "throw", &CENTIMETRES),
    ("Tea towel", "tea towel", &CENTIMETRES),
    ("Notebook", "notebook", &PAPER),
    ("Sticker", "sticker", &PAPER),
];

const STYLES: [&str; 20] = [
    "Classic",
    "Heavyweight",
    "Organic",
    "Recycled",
    "Premium",
    "Everyday",
    "Washed",
    "Relaxed",
    "Slim",
    "Cropped",
    "Brushed",
    "Ribbed",
    "Quilted",
    "Textured",
    "Lightweight",
    "Vintage",
    "Studio",
    "Travel",
    "Workshop",
    "Garden",
];

/// As the supplier writes it, and as a shop may.
type Size = (&'static str, &'static str);

const LETTERS: [Size; 5] =
    [("S", "Small"), ("M", "Medium"), ("L", "Large"), ("XL", "Extra large"), ("2XL", "XXL")];
const FEW_LETTERS: [Size; 4] = [("S", "small"), ("M", "medium"), ("L", "large"), ("XL", "x-large")];
const OUNCES: [Size; 4] = [("11 oz", "11oz"), ("12 oz", "12oz"), ("15 oz", "15oz"), ("20 oz", "20oz")];
const CENTIMETRES: [Size; 5] = [
    ("20x30 cm", "20 × 30 cm"),
    ("30x40 cm", "30 × 40 cm"),
    ("40x50 cm", "40 × 50 cm"),
    ("50x70 cm", "50 × 70 cm"),
    ("60x80 cm", "60 × 80 cm"),
];
const PAPER: [Size; 4] = [("A6", "a6"), ("A5", "a5"), ("A4", "a4"), ("A3", "a3")];

/// As the supplier writes it, and as a shop may.
const COLOURS: [(&str, &str); 20] = [
    ("Black", "black"),
    ("White", "white"),
    ("Navy", "Navy blue"),
    ("Moss", "Moss green"),
    ("Oatmeal", "oatmeal"),
    ("Heather Grey", "Gray heather"),
    ("Royal Blue", "royal"),
    ("Red", "RED"),
    ("Forest Green", "Forest"),
    ("Mustard", "Mustard yellow"),
    ("Burgundy", "burgundy"),
    ("Charcoal", "Charcoal grey"),
    ("Light Pink", "Pale pink"),
    ("Sky Blue", "Sky"),
    ("Lilac", "lilac"),
    ("Sand", "sand"),
    ("Teal", "teal"),
    ("Orange", "orange"),
    ("Chocolate", "Chocolate brown"),
    ("Cream", "cream"),
];

/// What is printed on it.
const MOTIFS: [&str; 30] = [
    "Otter",
    "Fern",
    "Kettle",
    "Lighthouse",
    "Puffin",
    "Thistle",
    "Tandem",
    "Harbour",
    "Bramble",
    "Compass",
    "Badger",
    "Heron",
    "Lantern",
    "Teapot",
    "Anchor",
    "Beetle",
    "Curlew",
    "Dragonfly",
    "Foxglove",
    "Gannet",
    "Hedgehog",
    "Ivy",
    "Jackdaw",
    "Kestrel",
    "Lobster",
    "Magpie",
    "Newt",
    "Owl",
    "Pinecone",
    "Rowan",
];

const PLACES: [&str; 10] = [
    "by the sea",
    "in the rain",
    "at dawn",
    "under the stars",
    "on the hill",
    "in the garden",
    "after the storm",
    "at the market",
    "in the woods",
    "by the river",
];

/// By so many products does a listing sell its offers.
const PRODUCTS_OF_A_LISTING: [usize; 3] = [1, 2, 4];

/// Its tables.
pub struct Shop {
    pub offers: Vec<Offer>,
    pub variants: Vec<Variant>,
    pub listing_products: Vec<ListingProduct>,
}

struct Product {
    supplier: &'static str,
    name: String,
    style: &'static str,
    /// What a shop calls it.
    called: &'static str,
    sizes: &'static [Size],
    colours: Vec<(&'static str, &'static str)>,
}

impl Shop {
    pub fn of(seed: u64) -> Self {
        let mut rng = Rng::with_seed(seed);
        let products = products(&mut rng);
        let mut shop = Self { offers: Vec::new(), variants: Vec::new(), listing_products: Vec::new() };
        for product in &products {
            shop.make(product);
        }
        for listing in 0..LISTINGS {
            shop.list(listing, &products, &mut rng);
        }
        shop
    }

    /// Adds the variants of a product.
    fn make(&mut self, product: &Product) {
        for (colour, _) in &product.colours {
            for (size, _) in product.sizes {
                self.variants.push(Variant {
                    supplier: SupplierId::new(product.supplier),
                    variant_id: VariantId::new(format!("{}", 100_000 + self.variants.len())),
                    sku: None,
                    product: Some(product.name.clone()),
                    options: Some(options(&[("Colour", *colour), ("Size", *size)])),
                    unit_cost: None,
                    currency: None,
                    available: true,
                });
            }
        }
    }

    /// Adds a listing with products of different goods, in words of its own.
    fn list(&mut self, listing: usize, products: &[Product], rng: &mut Rng) {
        let listing_id = ListingId::new(format!("{}", 7_000_000 + listing));
        let count = pick(&PRODUCTS_OF_A_LISTING, rng);
        let goods = rng.choose_multiple(0..GOODS.len(), count);
        let sold: Vec<&Product> = goods
            .into_iter()
            .map(|good| &products[good * STYLES.len() + rng.usize(..STYLES.len())])
            .collect();
        let title = format!(
            "{} and {} {}",
            pick(&MOTIFS, rng),
            pick(&MOTIFS, rng).to_lowercase(),
            pick(&PLACES, rng)
        );
        let title = if count == 1 { format!("{title} {}", sold[0].called) } else { title };
        let names_styles = rng.bool();
        let own_words = rng.bool();
        for product in sold {
            if listing.is_multiple_of(2) {
                self.listing_products.push(ListingProduct {
                    listing_id: listing_id.clone(),
                    supplier: SupplierId::new(product.supplier),
                    product: product.name.clone(),
                });
            }
            let good = if names_styles {
                format!("{} {}", product.style, product.called)
            } else {
                product.called.to_owned()
            };
            let all = product
                .colours
                .iter()
                .flat_map(|colour| product.sizes.iter().map(move |size| (colour, size)));
            for ((made_colour, own_colour), (made_size, own_size)) in all.take(OFFERS_OF_A_LISTING / count) {
                let (colour, size) =
                    if own_words { (*own_colour, *own_size) } else { (*made_colour, *made_size) };
                let pairs = [("Color", colour), ("Size", size), ("Style", good.as_str())];
                self.offers.push(Offer {
                    listing_id: listing_id.clone(),
                    sku: None,
                    title: Some(title.clone()),
                    options: options(&pairs[..if count == 1 { 2 } else { 3 }]),
                    price: None,
                    currency: None,
                    buyable: true,
                });
            }
        }
    }
}

/// By good, then by style.
fn products(rng: &mut Rng) -> Vec<Product> {
    let mut products = Vec::new();
    for (good, called, sizes) in GOODS {
        for style in STYLES {
            products.push(Product {
                supplier: pick(&SUPPLIERS, rng),
                name: format!("{style} {}", good.to_lowercase()),
                style,
                called,
                sizes,
                colours: rng.choose_multiple(COLOURS, VARIANTS_OF_A_PRODUCT / sizes.len()),
            });
        }
    }
    products
}

fn pick<T: Copy>(among: &[T], rng: &mut Rng) -> T {
    among[rng.usize(..among.len())]
}

fn options(pairs: &[(&str, &str)]) -> Options {
    Options::from_pairs(pairs.iter().copied()).expect("no name stands there twice")
}
