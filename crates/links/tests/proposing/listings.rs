//! Offers that their listing, or what others of its offers say, leads to a variant; and those that it does not.

use links::{Answer, Proposal, Tables, Vocabulary, propose};
use model::book::ListingProduct;

use crate::cases::{Made, offers, variants};

/// The proposals of one listing; `picked` are the products that the owner has picked.
fn proposals(title: &str, all: &[&[(&str, &str)]], made: &[Made<'_>], picked: &[&str]) -> Vec<Proposal> {
    let (offers, variants) = (offers(title, all), variants(made));
    let pick = |product: &&str| ListingProduct {
        listing_id: "L1".into(),
        supplier: "alder-print".into(),
        product: (*product).to_owned(),
    };
    let listing_products: Vec<ListingProduct> = picked.iter().map(pick).collect();
    let tables = Tables {
        offers: &offers,
        variants: &variants,
        listing_products: &listing_products,
        rules: &[],
        by_hand: &[],
    };
    propose(&Vocabulary::built_in(), &tables)
}

/// `want` is the place of each offer's variant, none where it is not proposed.
fn check(title: &str, all: &[&[(&str, &str)]], made: &[Made<'_>], picked: &[&str], want: &[Option<usize>]) {
    let proposals = proposals(title, all, made, picked);
    let got: Vec<Option<usize>> = proposals
        .iter()
        .map(|proposal| if let Answer::Proposed(place) = proposal.answer { Some(place) } else { None })
        .collect();
    assert_eq!(got, want, "{proposals:?}");
}

/// One offer.
fn check_one(title: &str, options: &[(&str, &str)], made: &[Made<'_>], want: Option<usize>) {
    check(title, &[options], made, &[], &[want]);
}

const TEES: &[Made<'static>] = &[
    ("T-shirt", &[("size", "M"), ("color", "black")]),
    ("T-shirt", &[("size", "M"), ("color", "navy")]),
    ("T-shirt", &[("size", "M"), ("color", "maroon")]),
    ("T-shirt", &[("size", "M"), ("color", "natural")]),
    ("T-shirt", &[("size", "M"), ("color", "forest green")]),
    ("T-shirt", &[("size", "M"), ("color", "white/black")]),
];

#[test]
fn a_word_beside_a_colour_in_an_option_for_colours_is_a_shade_of_it() {
    for (colour, want) in [
        ("Coal black", Some(0)),
        ("Midnight navy", Some(1)),
        ("Forest grn", Some(4)),
        ("White w/ black", Some(5)),
        ("Blk", Some(0)),
        ("Striped navy", None),
        ("Navy camo", None),
    ] {
        check_one("Fox T-shirt", &[("Size", "M"), ("Colour", colour)], TEES, want);
    }
    // Elsewhere it may be about what is printed on the good.
    check_one("Fox T-shirt", &[("Size", "M"), ("Animal", "Coal black")], TEES, None);
}

#[test]
fn colours_that_people_call_differently_are_one_where_there_is_one() {
    for (colour, want) in [("Wine", 2), ("Burgundy", 2), ("Off-white", 3), ("Écru", 3), ("Pine green", 4)] {
        check_one("Fox T-shirt", &[("Size", "M"), ("Colour", colour)], TEES, Some(want));
    }
    for colour in ["Red", "Teal", "Ivory"] {
        check_one("Fox T-shirt", &[("Size", "M"), ("Colour", colour)], TEES, None);
    }
    let both: &[Made<'_>] = &[
        ("T-shirt", &[("size", "M"), ("color", "maroon")]),
        ("T-shirt", &[("size", "M"), ("color", "claret")]),
    ];
    check_one("Fox T-shirt", &[("Size", "M"), ("Colour", "Wine")], both, None);
}

#[test]
fn the_title_says_the_colour_where_the_options_do_not() {
    check_one("Fox T-shirt in navy", &[("Size", "M")], TEES, Some(1));
    check_one("Fox T-shirt (all navy)", &[("Size", "M")], TEES, Some(1));
    check_one("Navy fox T-shirt", &[("Size", "M")], TEES, None);
    check_one("Fox T-shirt in navy", &[("Size", "M"), ("Colour", "black")], TEES, Some(0));
}

#[test]
fn packs_are_told_by_the_number_of_their_pieces() {
    let cards: &[Made<'_>] = &[
        ("Greeting card", &[("pack", "single")]),
        ("Greeting card", &[("pack", "pack of 5")]),
        ("Greeting card", &[("pack", "10er-Set")]),
    ];
    for (pack, want) in [
        ("1 card", Some(0)),
        ("Single card", Some(0)),
        ("5 cards", Some(1)),
        ("cards x5", Some(1)),
        ("Set of 10", Some(2)),
        ("25 cards", None),
    ] {
        check_one("Fox greeting card", &[("Choose", pack)], cards, want);
    }
    let case: &[Made<'_>] = &[("Phone case", &[("model", "Kestrel 5")])];
    check_one("Fox phone case", &[("Item", "Kestrel 5 phone case")], case, Some(0));
}

#[test]
fn halves_and_litres_are_measures() {
    let stickers: &[Made<'_>] = &[
        ("Sticker", &[("size", "3 in")]),
        ("Sticker", &[("size", "5.5 in")]),
        ("Sticker", &[("size", "5 in")]),
    ];
    check_one("Fox sticker", &[("Size", "5 1/2 inch")], stickers, Some(1));
    check_one("Fox sticker", &[("Size", "5½ inch")], stickers, Some(1));
    let bottles: &[Made<'_>] =
        &[("Water bottle", &[("size", "500 ml")]), ("Water bottle", &[("size", "750 ml")])];
    check_one("Fox water bottle", &[("Size", "0,5 l")], bottles, Some(0));
    check_one("Fox water bottle", &[("Size", "0.75 L")], bottles, Some(1));
}

#[test]
fn of_two_products_the_one_of_the_offers_own_size_is_meant() {
    let covers: &[Made<'_>] =
        &[("Pillow cover 16x16 in", &[]), ("Cushion cover", &[("size", "40x40 cm")]), ("Mug", &[])];
    check_one("Fox cushion cover", &[("Size", "40 x 40 cm")], covers, Some(1));
    check_one("Fox cushion cover", &[("Size", "16 x 16 in")], covers, Some(0));
    let same: &[Made<'_>] =
        &[("Pillow cover", &[("size", "40x40 cm")]), ("Cushion cover", &[("size", "40x40 cm")])];
    check_one("Fox cushion cover", &[("Size", "40 x 40 cm")], same, None);
}

#[test]
fn two_goods_are_one_product_where_they_lead_to_no_variant_in_common() {
    let totes: &[Made<'_>] = &[
        ("Tote bag", &[("color", "natural")]),
        ("Tote bag", &[("color", "natural/red handles")]),
        ("Tote bag", &[("color", "navy")]),
    ];
    let all: &[&[(&str, &str)]] =
        &[&[("Colour", "Natural")], &[("Colour", "Natural with red handles")], &[("Colour", "Navy")]];
    check("Fox tote bag", all, totes, &["Tote bag"], &[Some(0), Some(1), Some(2)]);
    let mugs: &[Made<'_>] = &[("Mug", &[("size", "11 oz")])];
    let all: &[&[(&str, &str)]] = &[&[("Item", "Premium mug 11 oz")], &[("Item", "Basic mug 11 oz")]];
    check("Fox", all, mugs, &["Mug"], &[None, None]);
}

#[test]
fn what_is_left_of_the_picked_products_is_the_good_that_nobody_knows() {
    let made: &[Made<'_>] =
        &[("T-shirt", &[("size", "M")]), ("Glimmet", &[("size", "S")]), ("Glimmet", &[("size", "L")])];
    let all: &[&[(&str, &str)]] = &[
        &[("Item", "T-shirt"), ("Size", "M")],
        &[("Item", "Wobble"), ("Size", "S")],
        &[("Item", "Wobble"), ("Size", "L")],
    ];
    check("Fox", all, made, &["T-shirt", "Glimmet"], &[Some(0), Some(1), Some(2)]);
    // Two goods that nobody knows, and one product.
    let all: &[&[(&str, &str)]] = &[
        &[("Item", "T-shirt"), ("Size", "M")],
        &[("Item", "Wobble"), ("Size", "S")],
        &[("Item", "Tattle"), ("Size", "L")],
    ];
    check("Fox", all, made, &["T-shirt", "Glimmet"], &[Some(0), None, None]);
}

#[test]
fn a_frame_that_is_said_or_denied_tells_prints_apart() {
    let prints: &[Made<'_>] =
        &[("Poster", &[("size", "A4")]), ("Poster im Rahmen", &[("size", "A4"), ("frame", "black")])];
    check_one("Fox poster", &[("Size", "A4"), ("Framing", "None")], prints, Some(0));
    check_one("Fox poster", &[("Size", "A4"), ("Framing", "Black")], prints, Some(1));
    check_one("Fuchs Poster", &[("Format", "A4"), ("Rahmen", "schwarz")], prints, Some(1));
}

#[test]
fn small_children_and_one_size_are_read_by_what_the_product_comes_in() {
    let toddler: &[Made<'_>] = &[("Toddler tee", &[("size", "2T")]), ("Toddler tee", &[("size", "3T")])];
    check_one("Fox tee", &[("Who", "Baby tee"), ("Size", "2 years")], toddler, Some(0));
    let totes: &[Made<'_>] = &[("Tote bag", &[("size", "small")]), ("Tote bag", &[("size", "large")])];
    check_one("Fox", &[("Item", "Small tote bag"), ("Size", "One size")], totes, Some(0));
}

#[test]
fn a_hue_alone_is_the_only_colour_that_bears_it_where_the_others_have_names_of_their_own() {
    let two = |one: &'static str, other: &'static str| {
        vec![
            ("T-shirt", vec![("size", "M"), ("color", one)]),
            ("T-shirt", vec![("size", "M"), ("color", other)]),
        ]
    };
    for (one, other, said, want) in [
        ("maroon", "cherry red", "Red", Some(1)),
        ("navy", "royal blue", "Blue", None),
        ("light blue", "royal blue", "Blue", None),
        ("charcoal", "heather grey", "Grey", None),
    ] {
        let made = two(one, other);
        let made: Vec<Made<'_>> =
            made.iter().map(|(product, options)| (*product, options.as_slice())).collect();
        check_one("Fox T-shirt", &[("Size", "M"), ("Colour", said)], &made, want);
    }
}

#[test]
fn a_title_that_sells_two_goods_says_nothing_against_what_a_value_calls_one_of_them() {
    let tops: &[Made<'_>] = &[("T-shirt", &[("size", "M")]), ("Long Sleeve T-shirt", &[("size", "M")])];
    let both = &["T-shirt", "Long Sleeve T-shirt"];
    let all: &[&[(&str, &str)]] =
        &[&[("Cut", "Short sleeve"), ("Size", "M")], &[("Cut", "Long sleeve"), ("Size", "M")]];
    check("Otter tee or long sleeve", all, tops, both, &[Some(0), Some(1)]);
    check("Otter shirts: short sleeve / long sleeve", all, tops, both, &[Some(0), Some(1)]);
    let all: &[&[(&str, &str)]] = &[&[("Cut", "SS, M")], &[("Cut", "LS, M")]];
    check("Otter shirts: short sleeve / long sleeve", all, tops, both, &[Some(0), Some(1)]);
    let warm: &[Made<'_>] = &[("T-shirt", &[("size", "M")]), ("Sweatshirt", &[("size", "M")])];
    let all: &[&[(&str, &str)]] =
        &[&[("Prenda", "cami"), ("Talla", "M")], &[("Prenda", "sudadera"), ("Talla", "M")]];
    check("Nutria: cami o sudadera", all, warm, &["T-shirt", "Sweatshirt"], &[Some(0), Some(1)]);
}

#[test]
fn sleeves_of_a_good_that_is_no_top_name_none() {
    let bodysuits: &[Made<'_>] = &[("Baby bodysuit", &[("size", "0-3 months")])];
    let all: &[&[(&str, &str)]] = &[&[("Sleeve", "Short sleeve"), ("Age", "0-3 months")]];
    check("Otter bodysuit, short or long sleeve", all, bodysuits, &["Baby bodysuit"], &[Some(0)]);
    let two: &[Made<'_>] =
        &[("Baby-Body kurzarm", &[("size", "0-3 months")]), ("Baby-Body langarm", &[("size", "0-3 months")])];
    let all: &[&[(&str, &str)]] =
        &[&[("Ärmel", "Kurzarm"), ("Alter", "0-3 Monate")], &[("Ärmel", "Langarm"), ("Alter", "0-3 Monate")]];
    check("Kleiner Otter: Body", all, two, &["Baby-Body kurzarm", "Baby-Body langarm"], &[Some(0), Some(1)]);
}

#[test]
fn a_zip_makes_another_good_of_the_sweatshirt_that_a_title_names() {
    let made: &[Made<'_>] = &[
        ("Sweatshirt", &[("size", "M")]),
        ("Hooded sweatshirt", &[("size", "M")]),
        ("Zip hoodie", &[("size", "M")]),
    ];
    let all: &[&[(&str, &str)]] = &[
        &[("Tipo", "Cuello redondo"), ("Talla", "M")],
        &[("Tipo", "Con capucha"), ("Talla", "M")],
        &[("Tipo", "Con cremallera"), ("Talla", "M")],
    ];
    let picked = &["Sweatshirt", "Hooded sweatshirt", "Zip hoodie"];
    check("Nutria - sudaderas", all, made, picked, &[Some(0), Some(1), Some(2)]);
}

#[test]
fn the_only_product_in_a_colour_is_not_meant_where_the_same_words_may_mean_another() {
    let made: &[Made<'_>] = &[
        ("Club T-shirt", &[("size", "M"), ("color", "navy")]),
        ("Club T-shirt", &[("size", "M"), ("color", "purple")]),
        ("Running T-shirt", &[("size", "M"), ("color", "navy")]),
    ];
    let offer = |colour| [("Sort", "Breezy"), ("Size", "M"), ("Colour", colour)];
    let (navy, purple) = (offer("Navy"), offer("Purple"));
    check("Otter tee", &[&navy, &purple], made, &["Club T-shirt", "Running T-shirt"], &[None, None]);
}

#[test]
fn two_sides_are_no_heights() {
    let covers: &[Made<'_>] =
        &[("Cushion cover", &[("size", "40 x 40 cm")]), ("Cushion cover", &[("size", "50 x 50 cm")])];
    check_one("Otter cushion cover", &[("Size", "30x50")], covers, None);
    let prints: &[Made<'_>] = &[("Poster", &[("size", "50 x 70 cm")]), ("Poster", &[("size", "30 x 40 cm")])];
    check_one("Otter poster", &[("Size", "40 x 50 cm (16 x 20 in)")], prints, None);
}

#[test]
fn what_is_sold_alone_is_not_what_stands_with_more() {
    let cushions: &[Made<'_>] =
        &[("Cushion", &[("filling", "cover only")]), ("Cushion", &[("filling", "with pad")])];
    check_one("Otter cushion", &[("Comes as", "Cover + inner")], cushions, None);
    check_one("Otter cushion", &[("Comes as", "Cover")], cushions, Some(0));
}

#[test]
fn a_set_is_told_before_a_single_one_and_a_longer_size_is_no_shorter_one() {
    let mats: &[Made<'_>] = &[("Placemat", &[("pack", "single")]), ("Placemat", &[("pack", "set of 4")])];
    check_one("Nutria", &[("Modelo", "Placemat individual, juego de 4")], mats, Some(1));
    let tees: &[Made<'_>] = &[("T-shirt", &[("size", "L")]), ("T-shirt", &[("size", "XL")])];
    check_one("Otter tee", &[("Size", "Ex Lge")], tees, None);
}

#[test]
fn cotton_is_cotton_in_another_language() {
    let tees: &[Made<'_>] = &[("Cotton T-shirt", &[("size", "M")]), ("Running T-shirt", &[("size", "M")])];
    let all: &[&[(&str, &str)]] = &[&[("Material", "Baumwolle"), ("Größe", "M")]];
    check("Otter T-Shirt", all, tees, &["Cotton T-shirt", "Running T-shirt"], &[Some(0)]);
}

#[test]
fn cloth_and_ink_is_about_the_cloth_as_well() {
    check_one("Otter T-shirt", &[("Cloth and ink", "Black with white print"), ("Size", "M")], TEES, Some(0));
}

#[test]
fn an_age_is_of_the_only_years_that_hold_it() {
    let tees: &[Made<'_>] =
        &[("Kids T-shirt", &[("size", "7-8 years")]), ("Kids T-shirt", &[("size", "9-11 years")])];
    check_one("Otter kids T-shirt", &[("Size", "Age 10")], tees, Some(1));
    check_one("Otter kids T-shirt", &[("Size", "Age 12")], tees, None);
    let shared: &[Made<'_>] =
        &[("Kids T-shirt", &[("size", "7-9 years")]), ("Kids T-shirt", &[("size", "9-11 years")])];
    check_one("Otter kids T-shirt", &[("Size", "Age 9")], shared, None);
}

#[test]
fn a_word_that_no_product_has_is_another_good_where_others_name_theirs() {
    let made: &[Made<'_>] = &[("Tea towel", &[]), ("Beanie", &[("color", "maroon")])];
    let all: &[&[(&str, &str)]] = &[
        &[("Item", "Tea towel")],
        &[("Item", "Beanie, maroon")],
        &[("Item", "Tea cosy")],
        &[("Item", "Mittens, maroon")],
    ];
    check("Fox", all, made, &["Tea towel", "Beanie"], &[Some(0), Some(1), None, None]);
}

#[test]
fn the_words_of_a_picked_product_tell_its_kind() {
    let made: &[Made<'_>] = &[
        ("Canvas tote bag", &[("color", "natural")]),
        ("Drawstring bag", &[("color", "natural")]),
        ("V-neck tee", &[("color", "navy")]),
    ];
    let all: &[&[(&str, &str)]] =
        &[&[("Item", "Tote, natural")], &[("Item", "Drawstring, natural")], &[("Item", "V neck, navy")]];
    let picked = ["Canvas tote bag", "Drawstring bag", "V-neck tee"];
    check("Fox", all, made, &picked, &[Some(0), Some(1), Some(2)]);
}

#[test]
fn a_size_without_an_age_is_no_childs_where_others_say_theirs() {
    let made: &[Made<'_>] = &[
        ("T-shirt", &[("size", "S")]),
        ("Youth T-shirt", &[("size", "XS")]),
        ("Youth T-shirt", &[("size", "S")]),
    ];
    let all: &[&[(&str, &str)]] = &[&[("Size", "S")], &[("Size", "Youth S")], &[("Size", "XS")]];
    check("Fox tee", all, made, &["T-shirt", "Youth T-shirt"], &[Some(0), Some(2), None]);
}

#[test]
fn a_childs_size_is_an_age_or_a_height() {
    let made: &[Made<'_>] =
        &[("Kids T-shirt", &[("size", "98/104")]), ("Kids T-shirt", &[("size", "134/146")])];
    for (size, want) in [("3-4 years", Some(0)), ("140", Some(1)), ("104", Some(0)), ("7-8 years", None)] {
        check_one("Fox kids tee", &[("Size", size)], made, want);
    }
}

#[test]
fn a_case_is_for_one_model() {
    let made: &[Made<'_>] =
        &[("Phone case", &[("model", "Pellam S5")]), ("Phone case", &[("model", "Pellam S5 Plus")])];
    check_one("Fox phone case", &[("Model", "Pellam S5")], made, Some(0));
    check_one("Fox phone case", &[("Model", "Pellam S5 Plus")], made, Some(1));
    check_one("Fox phone case", &[("Model", "Pellam S5 Ultra")], made, None);
}

#[test]
fn what_the_title_says_right_beside_its_good_counts_where_no_value_does() {
    let made: &[Made<'_>] = &[
        ("Hoodie", &[("size", "S"), ("color", "black")]),
        ("Hoodie", &[("size", "S"), ("color", "navy")]),
        ("Youth hoodie", &[("size", "S"), ("color", "black")]),
        ("Youth hoodie", &[("size", "S"), ("color", "navy")]),
    ];
    check_one("Youth hoodie, first frost", &[("Size", "S"), ("Colour", "Navy")], made, Some(3));
    check_one("The natural historian, black hoodie", &[("Size", "Adult S")], made, Some(0));
}

#[test]
fn a_negated_word_is_not_said() {
    let made: &[Made<'_>] = &[("Notebook", &[("pages", "lined")]), ("Notebook", &[("pages", "blank")])];
    check_one("Fox notebook", &[("Pages", "ohne Linien")], made, None);
    check_one("Fox notebook", &[("Pages", "liniert")], made, Some(0));
    check_one("Fox notebook", &[("Pages", "blanko")], made, Some(1));
}

#[test]
fn a_white_mug_is_no_blue_one() {
    let made: &[Made<'_>] = &[("Mug", &[("size", "11 oz"), ("color", "white")])];
    check_one("Fox mug", &[("Colour", "Blue"), ("Size", "11 oz")], made, None);
    check_one("Fox mug", &[("Colour", "White"), ("Size", "11 oz")], made, Some(0));
}

const MENS_AND_WOMENS: &[Made<'static>] = &[
    ("Men's T-shirt", &[("size", "M"), ("color", "black")]),
    ("Women's T-shirt", &[("size", "M"), ("color", "black")]),
    ("Unisex T-shirt", &[("size", "M"), ("color", "black")]),
];

#[test]
fn a_parent_is_a_cut_only_where_each_product_is_for_men_or_for_women() {
    let [mens, womens, unisex] = ["Men's T-shirt", "Women's T-shirt", "Unisex T-shirt"];
    let all: &[&[(&str, &str)]] = &[&[("Who", "Dad"), ("Size", "M")], &[("Who", "Mum"), ("Size", "M")]];
    check("Nest T-shirt", all, MENS_AND_WOMENS, &[mens, womens], &[Some(0), Some(1)]);
    check("Nest T-shirt", all, MENS_AND_WOMENS, &[unisex, womens], &[None, None]);
}

#[test]
fn unisex_is_no_womens_tee_where_there_is_one_for_all() {
    let all: &[&[(&str, &str)]] = &[&[("Cut", "Unisex"), ("Size", "M")], &[("Cut", "Women"), ("Size", "M")]];
    let picked = ["Unisex T-shirt", "Women's T-shirt"];
    check("Nest T-shirt", all, MENS_AND_WOMENS, &picked, &[Some(2), Some(1)]);
}

#[test]
fn a_title_for_men_leaves_out_what_is_for_all_only_where_it_was_not_picked() {
    let all: &[&[(&str, &str)]] = &[&[("Size", "M")]];
    check("Nest men's T-shirt", all, MENS_AND_WOMENS, &[], &[None]);
    check("Nest men's T-shirt", all, MENS_AND_WOMENS, &["Men's T-shirt", "Women's T-shirt"], &[Some(0)]);
}

#[test]
fn a_part_of_the_title_that_says_an_age_alone_is_the_goods() {
    let made: &[Made<'_>] = &[
        ("Unisex T-shirt", &[("size", "M"), ("color", "black")]),
        ("Unisex T-shirt", &[("size", "M"), ("color", "burgundy")]),
        ("Youth T-shirt", &[("size", "M"), ("color", "black")]),
        ("Youth T-shirt", &[("size", "M"), ("color", "red")]),
    ];
    let all: &[&[(&str, &str)]] =
        &[&[("Size", "M"), ("Colour", "Black")], &[("Size", "M"), ("Colour", "Maroon")]];
    check("Signal T-shirt – youth", all, made, &["Unisex T-shirt", "Youth T-shirt"], &[Some(2), None]);
}

#[test]
fn what_is_short_for_a_hue_is_any_colour_of_it() {
    let made: &[Made<'_>] = &[
        ("T-shirt", &[("size", "M"), ("color", "heather grey")]),
        ("T-shirt", &[("size", "M"), ("color", "charcoal")]),
        ("T-shirt", &[("size", "M"), ("color", "black")]),
    ];
    check_one("Nest T-shirt", &[("Code", "GRY.M")], made, None);
    check_one("Nest T-shirt", &[("Code", "BLK.M")], made, Some(2));
}

#[test]
fn a_product_of_no_known_type_may_be_what_is_called_by_its_word() {
    let made: &[Made<'_>] =
        &[("Cotton tote bag", &[("color", "black")]), ("Canvas shopper, large", &[("color", "black")])];
    let all: &[&[(&str, &str)]] = &[&[("Code", "TOTE.BLK")], &[("Code", "SHOPPER.BLK")]];
    check("Nest bag", all, made, &["Cotton tote bag", "Canvas shopper, large"], &[Some(0), Some(1)]);
}

#[test]
fn a_word_that_nobody_knows_may_make_another_variant() {
    let made: &[Made<'_>] = &[
        ("T-shirt", &[("size", "L"), ("color", "forest green")]),
        ("T-shirt", &[("size", "3XL"), ("color", "forest green")]),
        ("T-shirt", &[("size", "L"), ("color", "olive green")]),
        ("T-shirt", &[("size", "L"), ("color", "black")]),
    ];
    let black = |size| [("Size", size), ("Colour", "Black")];
    let [large, other] = [black("Large"), black("Mumble Large")];
    let largest = [("Size", "3XL"), ("Colour", "Forest green")];
    check("Nest T-shirt", &[&large, &other, &largest], made, &[], &[Some(3), None, Some(1)]);
    check_one("Nest T-shirt", &[("Size", "L"), ("Colour", "mumble green")], made, None);
}

#[test]
fn a_word_that_nobody_knows_may_name_a_picked_good_that_no_offer_names() {
    let made: &[Made<'_>] = &[
        ("Crewneck sweatshirt", &[("size", "L"), ("color", "black")]),
        ("Hooded sweatshirt", &[("size", "L"), ("color", "black")]),
    ];
    let picked = ["Crewneck sweatshirt", "Hooded sweatshirt"];
    check("Nest", &[&[("Style", "Sweat"), ("Size", "L")]], made, &picked, &[Some(0)]);
    check("Nest", &[&[("Style", "Sweat mumble"), ("Size", "L")]], made, &picked, &[None]);
}

#[test]
fn a_number_alone_is_no_letter_size() {
    let made: &[Made<'_>] =
        &[("T-shirt", &[("size", "M")]), ("T-shirt", &[("size", "2XL")]), ("T-shirt", &[("size", "3XL")])];
    check_one("Nest T-shirt", &[("Size", "mumble (+£2)")], made, None);
    check_one("Nest T-shirt", &[("Size", "2X")], made, Some(1));
}

#[test]
fn a_short_form_is_none_of_a_colour_that_another_begins_with() {
    let made: &[Made<'_>] = &[
        ("T-Shirt", &[("Größe", "M"), ("Farbe", "Senf")]),
        ("T-Shirt", &[("Größe", "M"), ("Farbe", "Marine")]),
    ];
    check("Nest T-Shirt", &[&[("Gr.", "M"), ("Fb.", "mar.")]], made, &[], &[None]);
}

#[test]
fn a_voice_or_a_rank_is_no_good() {
    let made: &[Made<'_>] = &[("T-shirt", &[("size", "M"), ("color", "black")])];
    let all: &[&[(&str, &str)]] = &[
        &[("Rank", "Captain"), ("Size", "M"), ("Colour", "ink black")],
        &[("Rank", "First mate"), ("Size", "M"), ("Colour", "ink black")],
    ];
    check("Captain / First Mate T-shirts", all, made, &["T-shirt"], &[Some(0), Some(0)]);
}
