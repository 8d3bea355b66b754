//! What Kittiwake Kitchen sells and who makes it: listings, offers, variants, links, and the faults in them.
//!
//! Must not know orders. Start reading at [`Catalogue::new`]; each listing has a function of its own.

use std::sync::LazyLock;

use model::book::{LinkRow, LinkScope, ListingProduct, Offer, Variant};
use model::finding::{Reason, Unusable};
use model::{Book, Check, Currency, ListingId, Options, Sku, SupplierId, VariantId};
use rust_decimal::Decimal;

use crate::plant::{Decoy, Plant, Subject};

/// The three invented suppliers.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Supplier {
    /// Textiles to wear. Writes our order and line numbers; a variant has an id and a SKU.
    Alder,
    /// Mugs, tote bags, tea towels. Prefixes our order number, knows no lines, gives SKUs alone.
    Brook,
    /// Posters. Writes our order number on each line, with a suffix; its variants have no SKU.
    Cairn,
}

impl Supplier {
    pub(crate) const ALL: [Self; 3] = [Self::Alder, Self::Brook, Self::Cairn];

    pub(crate) fn id(self) -> SupplierId {
        SupplierId::new(match self {
            Self::Alder => "alder-print",
            Self::Brook => "brook-print",
            Self::Cairn => "cairn-print",
        })
    }
}

/// The goods that designs are put on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Product {
    Apron,
    TShirt,
    YouthTShirt,
    LongSleeve,
    YouthLongSleeve,
    Tote,
    LowMug,
    TallMug,
    TeaTowel,
    TeaTowelOfCairn,
    Poster,
}

impl Product {
    fn supplier(self) -> Supplier {
        match self {
            Self::Apron | Self::TShirt | Self::YouthTShirt | Self::LongSleeve | Self::YouthLongSleeve => {
                Supplier::Alder
            }
            Self::Tote | Self::LowMug | Self::TallMug | Self::TeaTowel => Supplier::Brook,
            Self::TeaTowelOfCairn | Self::Poster => Supplier::Cairn,
        }
    }

    /// As the supplier names it.
    fn name(self) -> &'static str {
        match self {
            Self::Apron => "Apron",
            Self::TShirt => "T-shirt",
            Self::YouthTShirt => "Youth T-shirt",
            Self::LongSleeve => "Long-sleeved top",
            Self::YouthLongSleeve => "Youth long-sleeved top",
            Self::Tote => "TOTE BAG (strong)",
            Self::LowMug => "MUG, low",
            Self::TallMug => "MUG, tall",
            Self::TeaTowel => "TEA TOWEL",
            Self::TeaTowelOfCairn => "Tea towel",
            Self::Poster => "Poster, matt paper",
        }
    }

    /// As ids and SKUs have it.
    fn code(self) -> &'static str {
        match self {
            Self::Apron => "apron",
            Self::TShirt => "tee",
            Self::YouthTShirt => "ytee",
            Self::LongSleeve => "long",
            Self::YouthLongSleeve => "ylong",
            Self::Tote => "tote",
            Self::LowMug => "low",
            Self::TallMug => "tall",
            Self::TeaTowel | Self::TeaTowelOfCairn => "towel",
            Self::Poster => "poster",
        }
    }

    fn cost(self, size: &str) -> Decimal {
        cents(match (self, size) {
            (Self::Apron, "S") => 9_80,
            (Self::Apron, _) => 12_10,
            (Self::TShirt, _) => 11_20,
            (Self::YouthTShirt, _) => 9_90,
            (Self::LongSleeve, _) => 14_60,
            (Self::YouthLongSleeve, _) => 13_20,
            (Self::Tote, _) => 6_90,
            (Self::LowMug, _) => 4_80,
            (Self::TallMug, _) => 6_20,
            (Self::TeaTowel, _) => 4_70,
            (Self::TeaTowelOfCairn, _) => 4_40,
            (Self::Poster, "A4") => 3_60,
            (Self::Poster, "A3") => 5_40,
            (Self::Poster, _) => 8_90,
        })
    }

    fn price(self, size: &str) -> Decimal {
        cents(match (self, size) {
            (Self::Apron, "S") => 24_00,
            (Self::Apron, _) => 28_00,
            (Self::TShirt, _) => 26_00,
            (Self::YouthTShirt, _) => 22_00,
            (Self::LongSleeve, _) => 32_00,
            (Self::YouthLongSleeve, _) => 29_50,
            (Self::Tote, _) => 18_00,
            (Self::LowMug, _) => 14_00,
            (Self::TallMug, _) => 17_00,
            (Self::TeaTowel | Self::TeaTowelOfCairn, _) => 13_00,
            (Self::Poster, "A4") => 12_00,
            (Self::Poster, "A3") => 18_00,
            (Self::Poster, _) => 26_00,
        })
    }
}

fn cents(cents: i64) -> Decimal {
    Decimal::new(cents, 2)
}

/// The shop's only currency.
pub(crate) fn euro() -> Option<Currency> {
    "EUR".parse().ok()
}

/// A set of options, from names that differ.
fn options(pairs: &[(&str, &str)]) -> Options {
    Options::from_pairs(pairs.iter().copied()).expect("the names differ")
}

/// So many of a variant, as one unit of a good needs them.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) supplier: Supplier,
    /// An index into the catalogue's variants.
    pub(crate) variant: usize,
    pub(crate) units: u32,
}

/// What the tables say of who makes a good.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum LinkState {
    /// It leads to its pieces.
    Linked,
    /// The owner means it to lead to its pieces; it is not in force yet.
    Intended,
    /// It leads nowhere; its pieces are what the owner would pick by hand.
    Missing(Reason),
    /// The shop packs it itself.
    Own,
}

/// An offer with the truth about it.
#[derive(Clone, Debug)]
pub(crate) struct Good {
    pub(crate) listing_id: ListingId,
    pub(crate) title: &'static str,
    pub(crate) options: Options,
    pub(crate) sku: Option<Sku>,
    pub(crate) price: Decimal,
    pub(crate) pieces: Vec<Piece>,
    pub(crate) link: LinkState,
}

/// A listing as its functions pass it on.
#[derive(Clone, Copy)]
struct Page {
    id: &'static str,
    title: &'static str,
}

impl Page {
    fn listing_id(self) -> ListingId {
        ListingId::new(self.id)
    }
}

/// Everything that the shop sells.
#[derive(Clone, Default, Debug)]
pub(crate) struct Catalogue {
    pub(crate) variants: Vec<Variant>,
    pub(crate) goods: Vec<Good>,
    /// Indices of the goods that ordinary orders are made of: nothing is wrong with their links.
    pub(crate) everyday: Vec<usize>,
    offers: Vec<Offer>,
    links: Vec<LinkRow>,
    listing_products: Vec<ListingProduct>,
    pub(crate) plants: Vec<Plant>,
    pub(crate) decoys: Vec<Decoy>,
}

static OF_THE_SHOP: LazyLock<Catalogue> = LazyLock::new(Catalogue::new);

impl Catalogue {
    /// Everything that Kittiwake Kitchen sells.
    pub(crate) fn of_the_shop() -> &'static Self {
        &OF_THE_SHOP
    }

    fn new() -> Self {
        let mut catalogue = Self::default();
        catalogue.kittiwake();
        catalogue.puffin();
        catalogue.kitchen_shelf();
        catalogue.oystercatcher();
        catalogue.gannet();
        catalogue.card_and_download();
        catalogue.bay_leaf();
        catalogue.curlew();
        catalogue.wren();
        catalogue.heron();
        catalogue.fennel();
        catalogue.gift_sets();
        catalogue
    }

    /// The tables that do not depend on orders.
    pub(crate) fn book(&self) -> Book {
        Book {
            offers: Some(self.offers.clone()),
            variants: Some(self.variants.clone()),
            listing_products: Some(self.listing_products.clone()),
            links: Some(self.links.clone()),
            ..Book::default()
        }
    }

    /// The good of a listing that has all these option values.
    ///
    /// Panics where there is none or more than one: a mistake in this crate.
    pub(crate) fn good(&self, listing: &str, values: &[&str]) -> usize {
        let mut found = self.goods.iter().enumerate().filter(|(_, good)| {
            good.listing_id.as_str() == listing
                && values.iter().all(|value| good.options.iter().any(|(_, there)| there == *value))
        });
        let (Some((index, _)), None) = (found.next(), found.next()) else {
            panic!("not one good of {listing} with {values:?}");
        };
        index
    }

    /// The same product with the same design, and one option set to another value.
    ///
    /// Panics where there is none: a mistake in this crate.
    pub(crate) fn variant_with(&self, like: usize, name: &'static str, value: &str) -> usize {
        self.siblings(like, name)
            .find(|other| {
                self.variants[*other].options.iter().flat_map(Options::iter).any(|(_, v)| v == value)
            })
            .expect("the supplier makes it")
    }

    /// The same product with the same design and colour in its other sizes.
    pub(crate) fn other_sizes(&self, like: usize) -> impl Iterator<Item = usize> {
        self.siblings(like, "Size")
    }

    /// Variants that differ from one in the value of one option alone.
    fn siblings(&self, like: usize, name: &'static str) -> impl Iterator<Item = usize> {
        let but_one = move |variant: &Variant| {
            let pairs = variant.options.iter().flat_map(Options::iter);
            let others = pairs.filter(|(n, _)| *n != name);
            others.map(|(n, v)| (n.to_owned(), v.to_owned())).collect::<Vec<_>>()
        };
        let there = &self.variants[like];
        let (others, design) = (but_one(there), design_of(there));
        self.variants.iter().enumerate().filter_map(move |(index, variant)| {
            (index != like
                && variant.supplier == there.supplier
                && variant.product == there.product
                && design_of(variant) == design
                && but_one(variant) == others)
                .then_some(index)
        })
    }

    // What suppliers make.

    /// The variant of a design, made known where it is not yet.
    fn variant(&mut self, design: &str, product: Product, size: &str, colour: &str) -> usize {
        let supplier = product.supplier();
        let (variant_id, sku, options) = match supplier {
            Supplier::Alder => {
                let size = if size == "2XL" { "XXL" } else { size };
                let sku = format!("al-{design}-{}-{colour}-{size}", product.code()).to_lowercase();
                (None, Some(sku), options(&[("Colour", colour), ("Size", size)]))
            }
            Supplier::Brook => {
                let sku = format!("BK {design}.{}.{colour}", product.code()).to_uppercase();
                let sku = sku.trim_end_matches('.').to_owned();
                let shade = colour.to_uppercase();
                let options = match (product, shade.as_str()) {
                    (Product::LowMug, _) => options(&[("volume", "11 OZ"), ("shade", &shade)]),
                    (Product::TallMug, _) => options(&[("volume", "15 OZ"), ("shade", &shade)]),
                    (_, "") => Options::new(),
                    _ => options(&[("shade", &shade)]),
                };
                (None, Some(sku), options)
            }
            Supplier::Cairn => {
                let words: Vec<String> = [size, colour]
                    .iter()
                    .filter(|word| !word.is_empty())
                    .map(|word| word.to_lowercase())
                    .collect();
                let id = format!("cairn:{design}:{}:{}", product.code(), words.join("-"));
                let options = match product {
                    Product::Poster => options(&[("format", size)]),
                    _ => options(&[("colour", &words[0])]),
                };
                (Some(id), None, options)
            }
        };
        let sku = sku.and_then(Sku::new);
        let known = self.variants.iter().position(|variant| {
            variant.supplier == supplier.id()
                && match &variant_id {
                    Some(id) => variant.variant_id.as_str() == id,
                    None => variant.sku == sku,
                }
        });
        if let Some(known) = known {
            return known;
        }
        let number = self.variants.len();
        let variant_id = variant_id.unwrap_or_else(|| match supplier {
            Supplier::Alder => format!("alv-{}", 30_000 + 7 * number),
            _ => format!("{}.{:02}", 4_100 + number / 10, number % 10),
        });
        self.variants.push(Variant {
            supplier: supplier.id(),
            variant_id: VariantId::new(variant_id),
            sku,
            product: Some(product.name().to_owned()),
            options: Some(options),
            unit_cost: Some(product.cost(size)),
            currency: euro(),
            available: true,
        });
        number
    }

    fn piece(&mut self, design: &str, product: Product, size: &str, colour: &str, units: u32) -> Piece {
        let variant = self.variant(design, product, size, colour);
        Piece { supplier: product.supplier(), variant, units }
    }

    // What the storefront offers.

    /// An offer whose SKU is its variant's.
    fn sell(
        &mut self,
        page: Page,
        options: Options,
        design: &str,
        product: Product,
        size: &str,
        colour: &str,
    ) {
        let piece = self.piece(design, product, size, colour, 1);
        let sku = self.sku_of(&piece);
        let price = product.price(size);
        self.offer(page, options, sku, price, vec![piece], LinkState::Linked, true);
    }

    /// What somebody types into the storefront to lead to a variant.
    fn sku_of(&self, piece: &Piece) -> Option<Sku> {
        let variant = &self.variants[piece.variant];
        variant.sku.clone().or_else(|| Sku::new(variant.variant_id.as_str()))
    }

    #[expect(clippy::too_many_arguments, reason = "the columns of an offer, each from another place")]
    fn offer(
        &mut self,
        page: Page,
        options: Options,
        sku: Option<Sku>,
        price: Decimal,
        pieces: Vec<Piece>,
        link: LinkState,
        everyday: bool,
    ) {
        if everyday {
            self.everyday.push(self.goods.len());
        }
        self.offers.push(Offer {
            listing_id: page.listing_id(),
            sku: sku.clone(),
            title: Some(page.title.to_owned()),
            options: options.clone(),
            price: Some(price),
            currency: euro(),
            buyable: true,
        });
        self.goods.push(Good {
            listing_id: page.listing_id(),
            title: page.title,
            options,
            sku,
            price,
            pieces,
            link,
        });
    }

    /// A combination that nobody makes: shown in the storefront, not to be bought, without a SKU.
    fn not_made(&mut self, page: Page, options: Options, price: Decimal) {
        self.offers.push(Offer {
            listing_id: page.listing_id(),
            sku: None,
            title: Some(page.title.to_owned()),
            options,
            price: Some(price),
            currency: euro(),
            buyable: false,
        });
    }

    /// The links rows for the last offer, by listing and options.
    fn link_last_offer(&mut self, in_force: bool) {
        let Some(good) = self.goods.last() else { return };
        for piece in &good.pieces {
            let variant = &self.variants[piece.variant];
            self.links.push(LinkRow {
                scope: LinkScope::Offer(good.listing_id.clone(), good.options.clone()),
                supplier: variant.supplier.clone(),
                variant_id: Some(variant.variant_id.clone()),
                units: piece.units,
                in_force,
            });
        }
    }

    fn own_link(&mut self, scope: LinkScope, in_force: bool) {
        let supplier = SupplierId::new(SupplierId::OWN);
        self.links.push(LinkRow { scope, supplier, variant_id: None, units: 1, in_force });
    }

    fn listing_product(&mut self, page: Page, product: Product) {
        self.listing_products.push(ListingProduct {
            listing_id: page.listing_id(),
            supplier: product.supplier().id(),
            product: product.name().to_owned(),
        });
    }

    fn plant(&mut self, check: Check, page: Page, offers: &[Options], story: &str) {
        let mut offers = offers.to_vec();
        offers.sort();
        self.plants.push(Plant {
            check,
            subject: Subject::Offers(page.listing_id(), offers),
            lines: Vec::new(),
            submission_lines: Vec::new(),
            time_left: None,
            story: story.to_owned(),
        });
    }

    /// The last links row leads to a variant that cannot be used.
    fn plant_unusable(&mut self, why: Unusable, story: &str) {
        let Some(LinkRow { scope, supplier, variant_id: Some(variant), .. }) = self.links.last().cloned()
        else {
            return;
        };
        self.plants.push(Plant {
            check: Check::LinkUnusable,
            subject: Subject::Link(scope, supplier, variant, why),
            lines: Vec::new(),
            submission_lines: Vec::new(),
            time_left: None,
            story: story.to_owned(),
        });
    }

    fn decoy(&mut self, page: Page, offers: &[Options], story: &str) {
        self.decoys.push(Decoy {
            subject: Subject::Offers(page.listing_id(), offers.to_vec()),
            story: story.to_owned(),
        });
    }

    // The listings.

    fn kittiwake(&mut self) {
        let page = Page { id: "KL-01", title: "Kittiwake on the sill – apron, tote bag, long-sleeved top" };
        for (item, product, size, colours) in [
            ("Large apron", Product::Apron, "L", &["Moss", "Navy", "Mustard"][..]),
            ("Small apron", Product::Apron, "S", &["Moss", "Navy", "Mustard"]),
            ("Tote bag", Product::Tote, "", &["Moss", "Navy", "Charcoal"]),
            ("S - Long sleeve", Product::LongSleeve, "S", &["Moss", "Navy", "Charcoal", "Mustard"]),
            ("M - Long sleeve", Product::LongSleeve, "M", &["Moss", "Navy", "Charcoal", "Mustard"]),
            ("L - Long sleeve", Product::LongSleeve, "L", &["Moss", "Navy", "Charcoal", "Mustard"]),
            ("2XL - Long sleeve", Product::LongSleeve, "2XL", &["Moss", "Navy", "Charcoal", "Mustard"]),
        ] {
            for colour in ["Moss", "Navy", "Charcoal", "Mustard"] {
                let options = options(&[("Item", item), ("Colour", colour)]);
                if colours.contains(&colour) {
                    self.sell(page, options, "kittiwake", product, size, colour);
                } else if product == Product::Tote {
                    let tote = self.piece("kittiwake", product, size, colour, 1);
                    let missing = LinkState::Missing(Reason::NoLink);
                    self.offer(page, options.clone(), None, product.price(size), vec![tote], missing, false);
                    self.plant(
                        Check::OfferUnlinked,
                        page,
                        &[options],
                        "Mustard was added on the morning of the sale; the tote bag was left without a SKU.",
                    );
                } else {
                    self.not_made(page, options.clone(), product.price(size));
                    self.decoy(page, &[options], "Nobody makes it in charcoal, so nobody can buy it.");
                }
            }
        }
        self.listing_product(page, Product::Apron);
        self.listing_product(page, Product::LongSleeve);
        self.listing_product(page, Product::Tote);
    }

    fn puffin(&mut self) {
        let page = Page { id: "KL-02", title: "Puffin T-shirt, “the clown of the cliff”" };
        let product = Product::TShirt;
        for size in ["S", "M", "L", "XL", "2XL"] {
            for colour in ["White", "Navy", "Moss", "Plum"] {
                let options = options(&[("Size", size), ("Colour", colour)]);
                if colour != "Plum" || size == "S" || size == "XL" {
                    self.sell(page, options, "puffin", product, size, colour);
                }
            }
        }
        let plum = |size: &str| options(&[("Size", size), ("Colour", "Plum")]);
        for (size, linked) in [("M", "L"), ("L", "M")] {
            let piece = self.piece("puffin", product, linked, "Plum", 1);
            let sku = self.sku_of(&piece);
            self.offer(page, plum(size), sku, product.price(size), vec![piece], LinkState::Linked, false);
            self.plant(
                Check::LinkMismatch,
                page,
                &[plum(size)],
                &format!("The SKUs of plum M and plum L were swapped when they were typed: {size} leads to {linked}."),
            );
        }
        let piece = self.piece("puffin", product, "2XL", "Plum", 1);
        let mistyped = Sku::new("al-pufin-tee-plum-xxl");
        let missing = LinkState::Missing(Reason::NoLink);
        self.offer(page, plum("2XL"), mistyped, product.price("2XL"), vec![piece], missing, false);
        self.plant(
            Check::OfferUnlinked,
            page,
            &[plum("2XL")],
            "A letter is missing in the SKU of plum 2XL, so it leads to nothing.",
        );
    }

    fn kitchen_shelf(&mut self) {
        let page = Page {
            id: "KL-03",
            title: "Rosemary, thyme & bay: \"the kitchen shelf\"\ntea towel, apron, tote bag",
        };
        for (item, product, size) in [
            ("Tea towel", Product::TeaTowel, ""),
            ("Large apron", Product::Apron, "L"),
            ("Tote bag", Product::Tote, ""),
        ] {
            for colour in ["Cream", "Moss"] {
                let options = options(&[("Item", item), ("Colour", colour)]);
                if product != Product::Apron || colour != "Cream" {
                    self.sell(page, options, "rosemary", product, size, colour);
                    continue;
                }
                let piece = self.piece("rosemary", product, size, colour, 1);
                let sku = self.sku_of(&piece);
                let missing = LinkState::Missing(Reason::BrokenLink);
                self.offer(page, options.clone(), sku, product.price(size), vec![piece], missing, false);
                self.links.push(LinkRow {
                    scope: LinkScope::Offer(page.listing_id(), options.clone()),
                    supplier: Supplier::Alder.id(),
                    variant_id: Some(VariantId::new("alv-29412")),
                    units: 1,
                    in_force: true,
                });
                let story = "alder-print renumbered the cream apron; the SKU was mended, the old links row stands \
                             before it and leads to a number that is gone.";
                self.plant(Check::OfferUnlinked, page, &[options], story);
                self.plant_unusable(Unusable::Unknown, story);
            }
        }
        self.listing_product(page, Product::TeaTowel);
        self.listing_product(page, Product::Apron);
        self.listing_product(page, Product::Tote);
    }

    fn oystercatcher(&mut self) {
        let page = Page { id: "KL-04", title: "Oystercatcher mug, 100 % kitchen-proof" };
        for colour in ["White", "Navy"] {
            let low = options(&[("Mug", "Low mug 11 oz"), ("Colour", colour)]);
            self.sell(page, low, "oystercatcher", Product::LowMug, "", colour);
        }
        let white = options(&[("Mug", "Tall mug 15 oz"), ("Colour", "White")]);
        self.sell(page, white, "oystercatcher", Product::TallMug, "", "White");
        let navy = options(&[("Mug", "Tall mug 15 oz"), ("Colour", "Navy")]);
        let piece = self.piece("oystercatcher", Product::TallMug, "", "Navy", 1);
        self.variants[piece.variant].available = false;
        self.offer(page, navy, None, Product::TallMug.price(""), vec![piece], LinkState::Linked, false);
        self.link_last_offer(true);
        self.plant_unusable(
            Unusable::NotAvailable,
            "brook-print has run out of tall navy mugs; the listing still sells them.",
        );
    }

    fn gannet(&mut self) {
        let page = Page { id: "KL-05", title: "Gannet, diving" };
        for format in ["A4", "A3", "A2"] {
            let options = options(&[("Format", format), ("Item", "Poster")]);
            self.sell(page, options, "gannet", Product::Poster, format, "");
        }
    }

    fn card_and_download(&mut self) {
        let page = Page { id: "KL-07", title: "Sea birds, printed card (blank inside)" };
        for (pack, price) in [("One card", 3_50), ("Five cards", 14_00)] {
            let sku = Sku::new(format!("KK-CARD-{}", if pack == "One card" { 1 } else { 5 }));
            self.offer(page, options(&[("Pack", pack)]), sku, cents(price), Vec::new(), LinkState::Own, true);
        }
        self.own_link(LinkScope::Listing(page.listing_id()), true);

        let page = Page { id: "KL-08", title: "Fáilte! Colouring sheets, download" };
        let sku = Sku::new("KK-DOWNLOAD-7");
        self.offer(page, Options::new(), sku.clone(), cents(4_00), Vec::new(), LinkState::Own, true);
        if let Some(sku) = sku {
            self.own_link(LinkScope::Sku(sku), false);
        }
        self.decoy(
            page,
            &[Options::new()],
            "Own stock is in force by itself, also where it was only intended.",
        );
    }

    fn bay_leaf(&mut self) {
        let page = Page { id: "KL-09", title: "Bay leaf, for big and small" };
        let item = |item: &str, colour: &str| options(&[("Item", item), ("Colour", colour)]);
        for (words, product, size) in [
            ("Youth M - T-shirt", Product::YouthTShirt, "M"),
            ("Youth L - T-shirt", Product::YouthTShirt, "L"),
            ("M - T-shirt", Product::TShirt, "M"),
            ("L - T-shirt", Product::TShirt, "L"),
            ("XL - T-shirt", Product::TShirt, "XL"),
            ("Youth L - Long sleeve", Product::YouthLongSleeve, "L"),
            ("L - Long sleeve", Product::LongSleeve, "L"),
        ] {
            for colour in ["Navy", "Rust"] {
                match (words, colour) {
                    ("L - T-shirt", "Rust") => self.bay_leaf_ambiguous(page, item(words, colour)),
                    ("L - T-shirt", "Navy") => {
                        let piece = self.piece("bayleaf", product, size, colour, 1);
                        let sku = self.upper_case_sku_of(&piece);
                        let price = product.price(size);
                        self.offer(
                            page,
                            item(words, colour),
                            sku,
                            price,
                            vec![piece],
                            LinkState::Linked,
                            false,
                        );
                    }
                    ("XL - T-shirt", "Rust") => {
                        self.not_made(page, item(words, colour), product.price(size));
                        self.decoy(
                            page,
                            &[item(words, colour)],
                            "Sold out and taken off sale, without a SKU.",
                        );
                    }
                    ("XL - T-shirt", "Navy") => {
                        self.variant("bayleaf", product, size, colour);
                        let piece = self.piece("bayleaf", product, "L", colour, 1);
                        let sku = self.upper_case_sku_of(&piece);
                        let price = product.price(size);
                        self.offer(
                            page,
                            item(words, colour),
                            sku,
                            price,
                            vec![piece],
                            LinkState::Linked,
                            false,
                        );
                        let story = "The SKU of navy L was copied into navy XL.";
                        let both = [item(words, colour), item("L - T-shirt", colour)];
                        self.plant(Check::SharedVariant, page, &both, story);
                        self.plant(Check::LinkMismatch, page, &both[..1], story);
                    }
                    _ => {
                        let piece = self.piece("bayleaf", product, size, colour, 1);
                        let sku = self.upper_case_sku_of(&piece);
                        let price = product.price(size);
                        self.offer(
                            page,
                            item(words, colour),
                            sku,
                            price,
                            vec![piece],
                            LinkState::Linked,
                            true,
                        );
                    }
                }
            }
        }
    }

    /// Whoever typed this listing had the shift key down: SKUs compare without case.
    fn upper_case_sku_of(&self, piece: &Piece) -> Option<Sku> {
        self.sku_of(piece).and_then(|sku| Sku::new(sku.as_str().to_uppercase()))
    }

    fn bay_leaf_ambiguous(&mut self, page: Page, options: Options) {
        let piece = self.piece("bayleaf", Product::TShirt, "L", "Rust", 1);
        let mut old_cut = self.variants[piece.variant].clone();
        old_cut.variant_id = VariantId::new("alv-28007");
        old_cut.product = Some("T-shirt, old cut".to_owned());
        self.variants.push(old_cut);
        let sku = self.upper_case_sku_of(&piece);
        let missing = LinkState::Missing(Reason::AmbiguousLink);
        self.offer(page, options.clone(), sku, Product::TShirt.price("L"), vec![piece], missing, false);
        self.plant(
            Check::OfferUnlinked,
            page,
            &[options],
            "alder-print gave the old and the new cut of the rust T-shirt the same SKU, so it says nothing.",
        );
    }

    fn curlew(&mut self) {
        let page = Page { id: "KL-10", title: "Curlew tote bag" };
        let product = Product::Tote;
        for colour in ["Cream", "Moss", "Navy", "Charcoal"] {
            let piece = self.piece("curlew", product, "", colour, 1);
            let sku = Sku::new(format!("KK-CURLEW-TOTE-{}", colour.to_uppercase()));
            let variant = &self.variants[piece.variant];
            if let Some(sku) = sku.clone() {
                self.links.push(LinkRow {
                    scope: LinkScope::Sku(sku),
                    supplier: variant.supplier.clone(),
                    variant_id: Some(variant.variant_id.clone()),
                    units: 1,
                    in_force: true,
                });
            }
            let price = product.price("");
            self.offer(
                page,
                options(&[("Colour", colour)]),
                sku,
                price,
                vec![piece],
                LinkState::Linked,
                true,
            );
        }
        let piece = self.piece("curlew", product, "", "Rust", 1);
        let rust = options(&[("Colour", "Rust")]);
        self.offer(page, rust.clone(), None, product.price(""), vec![piece], LinkState::Intended, false);
        self.link_last_offer(false);
        self.plant(
            Check::OfferUnlinked,
            page,
            &[rust],
            "The owner has picked the rust tote bag's variant and has not put its SKU into the storefront yet.",
        );
    }

    fn wren(&mut self) {
        let page = Page { id: "KL-11", title: "Wren tea towel" };
        let moss = options(&[("Colour", "Moss")]);
        self.sell(page, moss, "wren", Product::TeaTowel, "", "Moss");
        let cream = options(&[("Colour", "Cream")]);
        let in_force = self.piece("wren", Product::TeaTowel, "", "Cream", 1);
        let sku = self.sku_of(&in_force);
        let intended = self.piece("wren", Product::TeaTowelOfCairn, "", "Cream", 1);
        let price = Product::TeaTowel.price("");
        self.offer(page, cream.clone(), sku, price, vec![intended], LinkState::Intended, false);
        self.link_last_offer(false);
        self.plant(
            Check::OfferUnlinked,
            page,
            &[cream],
            "The cream tea towel is to move to cairn-print; the storefront still has brook-print's SKU.",
        );
    }

    fn heron(&mut self) {
        let page = Page { id: "KL-12", title: "Heron at the weir, poster" };
        let piece = self.piece("heron", Product::Poster, "A3", "", 1);
        let variant = self.variants[piece.variant].variant_id.clone();
        self.offer(page, Options::new(), None, cents(19_00), vec![piece], LinkState::Linked, true);
        self.links.push(LinkRow {
            scope: LinkScope::Listing(page.listing_id()),
            supplier: Supplier::Cairn.id(),
            variant_id: Some(variant),
            units: 1,
            in_force: true,
        });
    }

    fn fennel(&mut self) {
        let page = Page { id: "KL-13", title: "Fennel; tote bag" };
        let both = ["Navy", "Charcoal"].map(|colour| options(&[("Colour", colour)]));
        for colour in &both {
            let piece = self.piece("fennel", Product::Tote, "", "", 1);
            let sku = self.sku_of(&piece);
            let price = Product::Tote.price("");
            self.offer(page, colour.clone(), sku, price, vec![piece], LinkState::Linked, false);
        }
        self.plant(
            Check::SharedVariant,
            page,
            &both,
            "brook-print makes the fennel bag in one colour, which it does not name; the listing offers two.",
        );
    }

    fn gift_sets(&mut self) {
        let page = Page { id: "KL-06", title: "“Sunday breakfast” gift set" };
        let low = |catalogue: &mut Self, units| {
            catalogue.piece("oystercatcher", Product::LowMug, "", "White", units)
        };
        let towel = |catalogue: &mut Self| catalogue.piece("rosemary", Product::TeaTowel, "", "Cream", 1);

        let pieces = vec![low(self, 2), towel(self)];
        let sku = Sku::new("KK-SET-2");
        self.offer(page, options(&[("Set", "For two")]), sku, cents(36_00), pieces, LinkState::Linked, true);
        self.link_last_offer(true);

        let apron = self.piece("rosemary", Product::Apron, "L", "Moss", 1);
        let pieces = vec![low(self, 4), towel(self), apron];
        let for_four = options(&[("Set", "For four")]);
        let sku = Sku::new("KK-SET-4");
        self.offer(page, for_four.clone(), sku, cents(36_50), pieces, LinkState::Linked, false);
        self.link_last_offer(true);
        self.plant(
            Check::LossMaking,
            page,
            &[for_four],
            "The sale price of the set for four forgot the apron: 36.00 for the goods and 2.67 in fees.",
        );

        let pieces = vec![self.piece("curlew", Product::Tote, "", "Cream", 1)];
        let sku = Sku::new("KK-SET-MARKET");
        let market = options(&[("Set", "Market day")]);
        self.offer(page, market.clone(), sku, cents(21_00), pieces, LinkState::Linked, true);
        self.link_last_offer(true);
        self.own_link(LinkScope::Offer(page.listing_id(), market), true);
    }
}

/// The design that a variant's SKU names; empty where it has none.
fn design_of(variant: &Variant) -> &str {
    let sku = variant.sku.as_ref().map_or("", |sku| sku.as_str());
    sku.trim_start_matches("al-").trim_start_matches("BK ").split(['-', '.']).next().unwrap_or("")
}
