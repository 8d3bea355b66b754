//! What is read of option values, titles and products, case by case.
//!
//! A case is its texts and what is read of them, written `product type | age group | size | colour | left over`.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use links::{Vocabulary, read_book, read_options, read_variant};
use model::book::{Offer, OrderLine, Variant};
use model::{Book, Options, Reading};

/// Option names and values.
type Pairs<'a> = &'a [(&'a str, &'a str)];

fn options(pairs: Pairs<'_>) -> Options {
    Options::from_pairs(pairs.iter().copied()).unwrap()
}

fn shown(reading: &Reading) -> String {
    let kinds = [&reading.product_type, &reading.age_group, &reading.size, &reading.colour];
    let kinds = kinds.map(|kind| kind.as_deref().unwrap_or("-"));
    format!("{} | {}", kinds.join(" | "), reading.left_over.join(" ")).trim_end().to_owned()
}

/// Reads each value as the only option, under a name that says nothing.
fn check_values(cases: &[(&str, &str)]) {
    let vocabulary = Vocabulary::built_in();
    let mut wrong = Vec::new();
    for (value, want) in cases {
        let read = shown(&read_options(&vocabulary, Some(&options(&[("Option", value)])), None));
        if read != *want {
            wrong.push(format!("{value:?}\n   is {read}\n want {want}"));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

fn check_options(cases: &[(Pairs<'_>, &str)]) {
    let vocabulary = Vocabulary::built_in();
    for (pairs, want) in cases {
        assert_eq!(shown(&read_options(&vocabulary, Some(&options(pairs)), None)), *want, "{pairs:?}");
    }
}

fn check_titles(cases: &[(Pairs<'_>, &str, &str)]) {
    let vocabulary = Vocabulary::built_in();
    for (pairs, title, want) in cases {
        let read = read_options(&vocabulary, Some(&options(pairs)), Some(title));
        assert_eq!(shown(&read), *want, "{pairs:?}, {title:?}");
    }
}

fn check_variants(cases: &[(&str, Pairs<'_>, &str)]) {
    let vocabulary = Vocabulary::built_in();
    for (product, pairs, want) in cases {
        let read = read_variant(&vocabulary, Some(product), Some(&options(pairs)));
        assert_eq!(shown(&read), *want, "{product:?}, {pairs:?}");
    }
}

#[test]
fn option_text_is_read_in_any_order_and_spelling() {
    check_values(&[
        ("Large apron", "apron | - | L | - |"),
        ("moss, S", "- | - | S | moss |"),
        ("S moss", "- | - | S | moss |"),
        ("S/Moss", "- | - | S | moss |"),
        ("Youth XL - Long sleeve", "long-sleeved top | youth | XL | - |"),
        ("long-sleeve | XL | YOUTH", "long-sleeved top | youth | XL | - |"),
        ("2XL", "- | - | 2XL | - |"),
        ("3T", "- | - | 3T | - |"),
        ("Low mug 11 oz", "mug | - | 11 oz | - | low"),
        ("Tall mug, 15oz", "mug | - | 15 oz | - | tall"),
        ("Tote bag / Natural", "tote bag | - | - | natural |"),
        ("Size: L, Colour: Forest Green", "- | - | L | forest green |"),
        ("apron·moss·one size", "apron | - | one size | moss |"),
        ("APRON–MOSS", "apron | - | - | moss |"),
        ("ＡＰＲＯＮ　ＭＯＳＳ", "apron | - | - | moss |"),
        ("", "- | - | - | - |"),
        ("🎁", "- | - | - | - |"),
    ]);
}

#[test]
fn a_compound_product_type_wins_over_its_parts() {
    check_values(&[
        ("Hooded sweatshirt", "hooded sweatshirt | - | - | - |"),
        ("Sweatshirt", "sweatshirt | - | - | - |"),
        ("Zip-up hoodie", "zipped hooded sweatshirt | - | - | - |"),
        ("Long sleeve tee", "long-sleeved top | - | - | - |"),
        ("long sleeve", "long-sleeved top | - | - | - |"),
        ("Longsleeve", "long-sleeved top | - | - | - |"),
        ("tee", "t-shirt | - | - | - |"),
        ("T‑Shirts", "t-shirt | - | - | - |"),
        ("tshirt", "t-shirt | - | - | - |"),
        ("T Shirt", "t-shirt | - | - | - |"),
        ("T–shirt", "t-shirt | - | - | - |"),
        ("Camp mug", "camp mug | - | - | - |"),
        ("enamel mug", "camp mug | - | - | - |"),
        ("travel mugs", "travel mug | - | - | - |"),
        ("Canvas tote bag", "tote bag | - | - | - | canvas"),
        ("canvas tote", "tote bag | - | - | - | canvas"),
        ("Framed print", "framed print | - | - | - |"),
        ("Framed canvas", "framed canvas | - | - | - |"),
        ("Mouse pad", "mouse mat | - | - | - |"),
        ("mousemat", "mouse mat | - | - | - |"),
        ("Throw pillow", "cushion | - | - | - |"),
        ("Cushion cover", "cushion cover | - | - | - |"),
        ("Dish towels", "tea towel | - | - | - |"),
        ("Coffee mug", "mug | - | - | - |"),
        ("Greeting cards", "greeting card | - | - | - |"),
        ("wine glasses", "wine glass | - | - | - |"),
        ("Hoodies", "hooded sweatshirt | - | - | - |"),
        ("hoody", "hooded sweatshirt | - | - | - |"),
        ("Bib apron", "apron | - | - | - |"),
        ("Trucker cap", "cap | - | - | - | trucker"),
        ("Hooded blanket", "hooded blanket | - | - | - |"),
    ]);
}

#[test]
fn what_only_sounds_like_a_product_is_left_over() {
    check_values(&[
        ("Mug rug", "- | - | - | - | mug rug"),
        ("T-shirt dress", "- | - | - | - | t shirt dress"),
        ("Cap sleeve", "- | - | - | - | cap sleeve"),
        ("Canvas shoes", "- | - | - | - | canvas shoes"),
        ("Canvas, thick", "- | - | - | - | canvas thick"),
        ("Screen print", "- | - | - | - | screen print"),
        ("Women's bodysuit", "- | - | - | - | women's bodysuit"),
        ("hooded", "- | - | - | - | hooded"),
        ("enamel", "- | - | - | - | enamel"),
        ("bag", "- | - | - | - | bag"),
        ("shirt", "- | - | - | - | shirt"),
        ("card", "- | - | - | - | card"),
        ("steel", "- | - | - | - | steel"),
        ("Poster frame", "- | - | - | - | poster frame"),
    ]);
}

#[test]
fn a_material_or_technique_is_a_product_only_where_it_is_the_whole_value() {
    check_values(&[
        ("Canvas", "canvas | - | - | - |"),
        ("Print", "poster | - | - | - |"),
        ("A3 print", "poster | - | A3 | - |"),
        ("Canvas 12x18 in", "canvas | - | 12x18 in | - |"),
        ("16x20 Canvas", "canvas | - | - | - | 16x20"),
        ("12 oz canvas", "- | - | 12 oz | - | canvas"),
        ("Black, gold print", "- | - | - | black | gold print"),
        ("Print, black", "poster | - | - | black |"),
        ("crewneck", "sweatshirt | - | - | - |"),
        ("Crewneck tee", "t-shirt | - | - | - | crewneck"),
        ("Tank", "tank top | - | - | - |"),
        ("fish tank", "- | - | - | - | fish tank"),
    ]);
    check_options(&[
        (&[("Material", "Canvas")], "- | - | - | - | canvas"),
        (&[("Material", "Canvas"), ("Product", "Tote bag")], "tote bag | - | - | - | canvas"),
        (&[("Fabric", "Linen"), ("Style", "Apron")], "apron | - | - | - | linen"),
    ]);
}

#[test]
fn a_qualifier_turns_one_product_into_another_wherever_it_stands() {
    check_options(&[
        (&[("Product", "T-shirt"), ("Sleeve", "Long sleeve")], "long-sleeved top | - | - | - |"),
        (&[("Product", "Long sleeve"), ("Sleeve", "Hoodie")], "hooded sweatshirt | - | - | - | long sleeve"),
        (&[("Product", "Mug"), ("Material", "Enamel")], "camp mug | - | - | - |"),
        (&[("Product", "Poster"), ("Frame", "Framed")], "framed print | - | - | - |"),
        (&[("Product", "Canvas"), ("Frame", "Framed")], "framed canvas | - | - | - |"),
        (&[("Product", "Apron"), ("Frame", "Framed")], "apron | - | - | - | framed"),
        (
            &[("Product", "Sweatshirt, hooded"), ("Front", "full zip")],
            "zipped hooded sweatshirt | - | - | - |",
        ),
    ]);
    check_values(&[
        ("Tee - long sleeve - M", "long-sleeved top | - | M | - |"),
        ("Long sleeve organic tee", "long-sleeved top | - | - | - | organic"),
        ("Long sleeve baby bodysuit", "baby bodysuit | baby | - | - | long sleeve"),
        ("Long sleeve sweatshirt", "sweatshirt | - | - | - | long sleeve"),
    ]);
}

#[test]
fn sizes_are_read_however_they_are_written() {
    check_values(&[
        ("XS", "- | - | XS | - |"),
        ("small", "- | - | S | - |"),
        ("Med.", "- | - | M | - |"),
        ("LARGE", "- | - | L | - |"),
        ("extra large", "- | - | XL | - |"),
        ("X-Large", "- | - | XL | - |"),
        ("xlarge", "- | - | XL | - |"),
        ("XXL", "- | - | 2XL | - |"),
        ("2X-Large", "- | - | 2XL | - |"),
        ("2 XL", "- | - | 2XL | - |"),
        ("xxxl", "- | - | 3XL | - |"),
        ("6XL", "- | - | 6XL | - |"),
        ("XXXXXXL", "- | - | 6XL | - |"),
        ("One size", "- | - | one size | - |"),
        ("one-size", "- | - | one size | - |"),
        ("O/S", "- | - | one size | - |"),
        ("S/M", "- | - | S/M | - |"),
        ("L / XL", "- | - | L/XL | - |"),
        ("Small/Medium", "- | - | S/M | - |"),
        ("xl-xxl", "- | - | XL/2XL | - |"),
        ("XL/2XL", "- | - | XL/2XL | - |"),
        ("2t", "- | - | 2T | - |"),
        ("5/6T", "- | - | 5-6T | - |"),
        ("3T-4T", "- | - | 3-4T | - |"),
        ("6-12 months", "- | - | 6-12M | - |"),
        ("6 – 12 Months", "- | - | 6-12M | - |"),
        ("6-12M", "- | - | 6-12M | - |"),
        ("6m-12m", "- | - | 6-12M | - |"),
        ("6 to 12 mo", "- | - | 6-12M | - |"),
        ("18M", "- | - | 18M | - |"),
        ("Newborn", "- | - | newborn | - |"),
        ("7-8 years", "- | - | 7-8Y | - |"),
        ("Age 7-8", "- | - | 7-8Y | - |"),
        ("9/10y", "- | - | 9-10Y | - |"),
        ("11 oz", "- | - | 11 oz | - |"),
        ("11-oz.", "- | - | 11 oz | - |"),
        ("12 fl. oz.", "- | - | 12 oz | - |"),
        ("330ml", "- | - | 330 ml | - |"),
        ("0,5 l", "- | - | - | - | 0,5 l"),
        ("0,5l", "- | - | 0.5 l | - |"),
        ("1.50 litres", "- | - | 1.5 l | - |"),
        ("12x18 in", "- | - | 12x18 in | - |"),
        ("12\"x18\"", "- | - | 12x18 in | - |"),
        ("12″ × 18″", "- | - | 12x18 in | - |"),
        ("12” x 18”", "- | - | 12x18 in | - |"),
        ("12in x 18in", "- | - | 12x18 in | - |"),
        ("12 by 18 inches", "- | - | 12x18 in | - |"),
        ("30 x 40 cm", "- | - | 30x40 cm | - |"),
        ("30cmx40cm", "- | - | 30x40 cm | - |"),
        ("16x20x1.25 in", "- | - | 16x20x1.25 in | - |"),
        ("40 cm", "- | - | 40 cm | - |"),
        ("297 x 420 mm", "- | - | 297x420 mm | - |"),
        ("DIN A4", "- | - | A4 | - |"),
        ("A3", "- | - | A3 | - |"),
        ("Size 42", "- | - | 42 | - |"),
    ]);
}

#[test]
fn what_only_looks_like_a_size_is_left_over() {
    check_values(&[
        ("42", "- | - | - | - | 42"),
        ("8x10", "- | - | - | - | 8x10"),
        ("12x18 in x 40 cm", "- | - | - | - | 12x18 in x 40 cm"),
        ("30-40 cm", "- | - | - | - | 30 40 cm"),
        ("L/S", "- | - | - | - | l s"),
        ("S/S", "- | - | - | - | s s"),
        ("S/L", "- | - | - | - | s l"),
        ("S/M/L", "- | - | - | - | s m l"),
        ("M - L", "- | - | - | - | m l"),
        ("S-XL", "- | - | - | - | s xl"),
        ("12 M", "- | - | - | - | 12 m"),
        ("1 L", "- | - | - | - | 1 l"),
        ("2 x Large", "- | - | - | - | 2 x large"),
        ("5m", "- | - | - | - | 5m"),
        ("12T", "- | - | - | - | 12t"),
        ("80s", "- | - | - | - | 80s"),
        ("3D", "- | - | - | - | 3d"),
        ("2 in 1", "- | - | - | - | 2 1"),
        ("Set of 2", "- | - | - | - | set of 2"),
        ("Pack of 2 XL", "- | - | XL | - | pack of 2"),
        ("$5.00", "- | - | - | - | 5.00"),
        ("7½ in", "- | - | - | - | 71 2 in"),
        ("1,500 ml", "- | - | - | - | 1,500 ml"),
        ("L-shaped", "- | - | - | - | l shaped"),
        ("S-hook", "- | - | - | - | s hook"),
        ("1XL", "- | - | - | - | 1xl"),
        ("groß", "- | - | - | - | gross"),
        ("Petite", "- | - | - | - | petite"),
        ("King size", "- | - | - | - | king"),
        ("Large print", "- | - | - | - | large print"),
        ("10-6 months", "- | - | - | - | 10 6 months"),
        ("99999999999 oz", "- | - | - | - | 99999999999 oz"),
    ]);
}

#[test]
fn a_letter_that_belongs_to_another_word_is_no_size() {
    check_values(&[
        ("Men's", "- | adult | - | - | men's"),
        ("Men’s T-shirt", "t-shirt | adult | - | - | men’s"),
        ("Men´s tee", "t-shirt | adult | - | - | men's"),
        ("Men s tee", "t-shirt | adult | - | - | men s"),
        ("Men's S", "- | adult | S | - | men's"),
        ("Men S", "- | adult | S | - | men"),
        ("Men S, moss", "- | adult | S | moss | men"),
        ("Women S moss", "- | adult | S | moss | women"),
        ("Kids' M", "- | youth | M | - |"),
        ("mom's", "- | - | - | - | mom's"),
        ("I'm", "- | - | - | - | i'm"),
        ("l'ours", "- | - | - | - | l'ours"),
        ("Rock 'n' roll", "- | - | - | - | rock n roll"),
        ("the 's", "- | - | - | - | s"),
        ("M&S", "- | - | - | - | m s"),
    ]);
}

#[test]
fn a_lone_number_is_a_size_only_where_the_name_of_the_option_says_size() {
    check_options(&[
        (&[("Size", "42")], "- | - | 42 | - |"),
        (&[("Größe", "42")], "- | - | 42 | - |"),
        (&[("Groesse", "42")], "- | - | - | - | 42"),
        (&[("Talla", "7.5")], "- | - | 7.5 | - |"),
        (&[("TAILLE", "08")], "- | - | 8 | - |"),
        (&[("Kids size", "10-12")], "- | - | 10-12 | - |"),
        (&[("Size", "Youth 10/12")], "- | youth | 10-12 | - |"),
        (&[("Size", "US 8")], "- | - | - | - | us 8"),
        (&[("Size", "8, 10")], "- | - | - | - | 8 10"),
        (&[("Size", "8,10")], "- | - | - | - | 8,10"),
        (&[("Size", "3/4 sleeve")], "- | - | - | - | 3 4 sleeve"),
        (&[("Size", "Youth M (10-12)")], "- | youth | M | - | 10 12"),
        (&[("Size", "XL (+$5.00)")], "- | - | XL | - | 5.00"),
        (&[("Size (cm)", "30 x 40")], "- | - | 30x40 cm | - |"),
        (&[("Size (months)", "6-12")], "- | - | 6-12M | - |"),
        (&[("Size in EU", "42")], "- | - | 42 | - |"),
        (&[("Quantity", "42")], "- | - | - | - | 42"),
        (&[("Größe", "groß")], "- | - | L | - |"),
        (&[("Größe", "Größe M")], "- | - | M | - |"),
        (&[("Taille", "Petit")], "- | - | S | - |"),
        (&[("Talla", "grande")], "- | - | L | - |"),
    ]);
}

#[test]
fn age_groups_are_read_where_they_are_said_and_not_implied() {
    check_values(&[
        ("Adult L", "- | adult | L | - |"),
        ("Unisex tee", "t-shirt | adult | - | - |"),
        ("Unisex kids tee", "t-shirt | youth | - | - | unisex"),
        ("Women's M", "- | adult | M | - | women's"),
        ("Kids apron", "apron | youth | - | - |"),
        ("Girls XS", "- | youth | XS | - | girls"),
        ("Children's M", "- | youth | M | - |"),
        ("Toddler 3T", "- | toddler | 3T | - |"),
        ("Infant", "- | baby | - | - |"),
        ("Baby blanket", "blanket | baby | - | - |"),
        ("YM", "- | youth | M | - |"),
        ("Adult & kids", "- | - | - | - | adult kids"),
        ("Baby blue", "- | - | - | baby blue |"),
        ("Baby bodysuit 6-12M", "baby bodysuit | baby | 6-12M | - |"),
        ("Bodysuit 6-12M", "baby bodysuit | baby | 6-12M | - |"),
        ("Bib", "bib | baby | - | - |"),
        ("Toddler bodysuit", "baby bodysuit | toddler | - | - |"),
    ]);
}

#[test]
fn a_compound_colour_wins_over_its_parts() {
    check_values(&[
        ("Grey", "- | - | - | grey |"),
        ("gray", "- | - | - | grey |"),
        ("Heather gray", "- | - | - | heather grey |"),
        ("grey heather", "- | - | - | heather grey |"),
        ("Grey marl", "- | - | - | heather grey |"),
        ("dark heather grey", "- | - | - | dark heather grey |"),
        ("Dark Grey Heather", "- | - | - | dark heather grey |"),
        ("Dk. Htr. Gray", "- | - | - | dark heather grey |"),
        ("dark heather", "- | - | - | dark heather grey |"),
        ("dark grey", "- | - | - | dark grey |"),
        ("navy blue", "- | - | - | navy |"),
        ("NAVY", "- | - | - | navy |"),
        ("dark navy blue", "- | - | - | dark navy |"),
        ("French navy", "- | - | - | french navy |"),
        ("lt blue", "- | - | - | light blue |"),
        ("Light-Blue", "- | - | - | light blue |"),
        ("lightblue", "- | - | - | light blue |"),
        ("light steel blue", "- | - | - | light steel blue |"),
        ("deep sky blue", "- | - | - | deep sky blue |"),
        ("Forest", "- | - | - | forest green |"),
        ("Off-White", "- | - | - | off white |"),
        ("offwhite", "- | - | - | off white |"),
        ("moss green", "- | - | - | moss |"),
        ("sand", "- | - | - | sand |"),
        ("chocolate", "- | - | - | chocolate |"),
        ("Natural", "- | - | - | natural |"),
        ("Heather navy", "- | - | - | heather navy |"),
        ("navy heather", "- | - | - | heather navy |"),
        ("vintage black", "- | - | - | vintage black |"),
        ("medium blue", "- | - | - | - | medium blue"),
        ("Medium black", "- | - | M | black |"),
        ("Mediumblue", "- | - | - | medium blue |"),
        ("heather", "- | - | - | - | heather"),
        ("dark", "- | - | - | - | dark"),
        ("rose", "- | - | - | - | rose"),
        ("rose gold", "- | - | - | rose gold |"),
    ]);
}

#[test]
fn a_colour_beside_an_unknown_word_is_left_over() {
    check_values(&[
        ("Stormy grey", "- | - | - | - | stormy grey"),
        ("Blue whale", "- | - | - | - | blue whale"),
        ("Navy/Oatish", "- | - | - | - | navy oatish"),
        ("matte black", "- | - | - | - | matte black"),
        ("Navy and oatish", "- | - | - | - | navy and oatish"),
        ("Natural/black handles", "- | - | - | - | natural black handles"),
        ("Black slate coaster", "coaster | - | - | - | black slate"),
        ("Black tee with white otter", "t-shirt | - | - | black | white otter"),
        ("Stormy, grey", "- | - | - | grey | stormy"),
        ("Mug with black handle", "mug | - | - | - | black handle"),
        ("White glossy mug", "mug | - | - | white | glossy"),
        ("Black (otter)", "- | - | - | black | otter"),
        ("Tall white mug", "mug | - | - | white | tall"),
        ("Organic cotton tee black", "t-shirt | - | - | black | organic cotton"),
        ("Mug white 11 oz", "mug | - | 11 oz | white |"),
        ("Black 2-pack", "- | - | - | black | 2 pack"),
        ("Slate coaster", "coaster | - | - | - | slate"),
        ("Coaster, slate", "coaster | - | - | slate grey |"),
        ("Linen tea towel", "tea towel | - | - | - | linen"),
        ("wine tumbler", "wine tumbler | - | - | - |"),
        ("moss apron", "apron | - | - | moss |"),
    ]);
}

#[test]
fn words_that_only_announce_others_are_left_over_where_they_stand_alone() {
    check_values(&[
        ("A", "- | - | - | - | a"),
        ("B", "- | - | - | - | b"),
        ("Style: A", "- | - | - | - | style a"),
        ("Size", "- | - | - | - | size"),
        ("Apron in the colour moss", "apron | - | - | moss |"),
    ]);
}

#[test]
fn several_different_values_of_one_kind_are_read_as_none() {
    check_values(&[
        ("black/white", "- | - | - | - | black white"),
        ("black and white", "- | - | - | - | black and white"),
        ("black, Black", "- | - | - | black |"),
        ("S, M", "- | - | - | - | s m"),
        ("apron and tote bag", "- | - | - | - | apron and tote bag"),
        ("11 oz (330 ml)", "- | - | - | - | 11 oz 330 ml"),
        ("L (large)", "- | - | L | - |"),
        ("mug, mugs", "mug | - | - | - |"),
    ]);
    check_options(&[
        (&[("Front", "black"), ("Back", "white"), ("Size", "M")], "- | - | M | - | white black"),
        (&[("One", "Tee"), ("Two", "Hoodie")], "- | - | - | - | tee hoodie"),
        (&[("One", "Linen"), ("Two", "Black")], "- | - | - | black | linen"),
    ]);
}

#[test]
fn a_volume_is_a_size_only_of_what_holds_something() {
    check_values(&[
        ("12 oz canvas tote bag, natural", "tote bag | - | - | natural | 12 oz canvas"),
        ("Tumbler 20 oz", "tumbler | - | 20 oz | - |"),
        ("Apron, 10 oz cotton, L", "apron | - | L | - | 10 oz cotton"),
    ]);
}

#[test]
fn nothing_is_read_from_options_about_the_design() {
    check_options(&[
        (&[("Design", "Blue whale / L"), ("Colour", "Black")], "- | - | - | black | blue whale l"),
        (&[("Text colour", "Gold"), ("Colour", "Black")], "- | - | - | black | gold"),
        (&[("Personalisation", "Olive & Ruby"), ("Size", "M")], "- | - | M | - | olive ruby"),
        (&[("Name", "Olive")], "- | - | - | - | olive"),
        (&[("Product name", "Apron")], "apron | - | - | - |"),
        (&[("Design and size", "L")], "- | - | L | - |"),
        (&[("Design/style", "Youth XL - Long sleeve")], "long-sleeved top | youth | XL | - |"),
    ]);
}

#[test]
fn german_french_and_spanish_words_are_read() {
    check_values(&[
        ("Schürze, grün", "apron | - | - | green |"),
        ("SCHUERZE moosgrün", "apron | - | - | moss |"),
        ("Kinderschürze", "apron | youth | - | - |"),
        ("Damen-T-Shirt weiß M", "t-shirt | adult | M | white | damen"),
        (
            "Herren Kapuzenpullover, Größe XL, grau meliert",
            "hooded sweatshirt | adult | XL | heather grey | herren",
        ),
        ("Langarmshirt dunkelblau", "long-sleeved top | - | - | dark blue |"),
        ("Stoffbeutel natur", "tote bag | - | - | natural |"),
        ("Emaille-Tasse 350 ml", "camp mug | - | 350 ml | - |"),
        ("6-12 Monate", "- | - | 6-12M | - |"),
        ("Einheitsgröße", "- | - | one size | - |"),
        ("GRUSSKARTE", "greeting card | - | - | - |"),
        ("tablier bleu marine", "apron | - | - | navy |"),
        ("T-shirt à manches longues, gris chiné", "long-sleeved top | - | - | heather grey |"),
        ("bleu foncé", "- | - | - | dark blue |"),
        ("Taille unique", "- | - | one size | - |"),
        ("carte de vœux", "greeting card | - | - | - |"),
        ("3 ans", "- | - | 3Y | - |"),
        ("Delantal verde musgo", "apron | - | - | moss |"),
        ("camiseta de manga larga azul marino", "long-sleeved top | - | - | navy |"),
        ("Sudadera con capucha, gris oscuro, talla M", "hooded sweatshirt | - | M | dark grey |"),
        ("Niños 8 años", "- | youth | 8Y | - |"),
        ("talla única", "- | - | one size | - |"),
    ]);
}

#[test]
fn what_is_said_of_the_print_or_of_a_part_is_not_the_goods() {
    check_values(&[
        ("Tee L (white print)", "t-shirt | - | L | - | white print"),
        ("Tee L, printed in white", "t-shirt | - | L | - | printed white"),
        ("Tee L, text in white", "t-shirt | - | L | - | text white"),
        ("Tee L - ink: gold", "t-shirt | - | L | - | ink gold"),
        ("Print: gold, tee: black", "t-shirt | - | - | black | print gold"),
        ("White mug, handle: red", "mug | - | - | white | handle red"),
        ("Apron, initial L", "apron | - | - | - | initial l"),
        ("Apron, name: L", "apron | - | - | - | name l"),
        ("Tee: L, colour: moss", "t-shirt | - | L | moss |"),
        ("Otter in moss, L", "- | - | L | moss | otter"),
        ("Otter L", "- | - | L | - | otter"),
    ]);
    check_options(&[
        (&[("Initial", "L")], "- | - | - | - | l"),
        (&[("Print colour", "Gold"), ("Choose", "Tee L")], "t-shirt | - | L | - | gold"),
        (&[("Print", "A3 poster")], "poster | - | A3 | - |"),
        (&[("Scent", "Lavender"), ("Size", "8 oz")], "- | - | 8 oz | - | lavender"),
        (&[("Packaging", "Small box"), ("Size", "M")], "- | - | M | - | small box"),
    ]);
}

#[test]
fn a_word_that_makes_a_size_or_a_colour_another_one_leaves_it_unread() {
    check_values(&[
        ("2XL tall", "- | - | - | - | 2xl tall"),
        ("Petite M, moss", "- | - | - | moss | petite m"),
        ("L/Tall", "- | - | - | - | l tall"),
        ("Tall mug, 15 oz", "mug | - | 15 oz | - | tall"),
        ("Long sleeve L", "long-sleeved top | - | L | - |"),
        ("Twin XL", "- | - | - | - | twin xl"),
        ("Green (dark)", "- | - | - | - | green dark"),
        ("Heather - navy", "- | - | - | - | heather navy"),
        ("Black - soft tee", "t-shirt | - | - | black | soft"),
    ]);
}

#[test]
fn the_title_says_the_product_type_where_the_values_state_none() {
    check_titles(&[
        (&[("Size", "L")], "Otter apron for bakers", "apron | - | L | - |"),
        (&[("Size", "L")], "Otter apron | kitchen aprons", "apron | - | L | - |"),
        (&[("Size", "L")], "Otter apron, tote bag and tee", "- | - | L | - |"),
        (&[("Product", "Tee")], "Otter apron", "t-shirt | - | - | - |"),
        (&[("Product", "Tee or hoodie")], "Otter apron", "- | - | - | - | tee or hoodie"),
        (&[("Size", "L")], "Black otter long sleeve", "long-sleeved top | - | L | - |"),
        (&[("Size", "L")], "Otter tee, also in long sleeve", "- | - | L | - |"),
        (&[("Size", "L")], "Large youth moss otter", "- | - | L | - |"),
        (&[("Colour", "Moss")], "Otter print on canvas bag", "- | - | - | moss |"),
        (&[("Colour", "Moss")], "Fish tank print", "- | - | - | moss |"),
        (&[("Material", "Enamel")], "Otter mug", "camp mug | - | - | - |"),
        (&[("Size", "6-12M")], "Otter bodysuit", "baby bodysuit | baby | 6-12M | - |"),
        (&[("Weight", "10 oz")], "Otter tote", "tote bag | - | - | - | 10 oz"),
        (&[], "Otter mugs", "mug | - | - | - |"),
        (&[], "", "- | - | - | - |"),
    ]);
    let vocabulary = Vocabulary::built_in();
    assert_eq!(shown(&read_options(&vocabulary, None, Some("Otter mug"))), "mug | - | - | - |");
    assert_eq!(read_options(&vocabulary, None, None), Reading::default());
}

#[test]
fn a_variant_is_read_from_its_product_and_its_options_alike() {
    check_variants(&[
        ("Unisex T-Shirt", &[("size", "M"), ("colour", "moss")], "t-shirt | adult | M | moss |"),
        ("Men's heavyweight tee", &[("size", "S")], "t-shirt | adult | S | - | men's heavyweight"),
        ("T-shirt model S", &[], "t-shirt | - | - | - | model s"),
        ("Apron - L - Moss", &[], "apron | - | L | moss |"),
        ("Apron L", &[], "apron | - | - | - | l"),
        ("Apron size L", &[], "apron | - | L | - |"),
        ("Large tote bag", &[("colour", "natural")], "tote bag | - | L | natural |"),
        ("Low mug", &[("size", "11 oz")], "mug | - | 11 oz | - | low"),
        ("Mug", &[("type", "Camp mug")], "- | - | - | - | mug camp mug"),
        ("Apron", &[("colour", "black"), ("lining", "white")], "apron | - | - | - | black white"),
        ("10 oz canvas tote", &[("colour", "sand")], "tote bag | - | - | sand | 10 oz canvas"),
        (
            "Tea towel",
            &[("design", "Blue otter"), ("colour", "white")],
            "tea towel | - | - | white | blue otter",
        ),
    ]);
    let vocabulary = Vocabulary::built_in();
    assert_eq!(read_variant(&vocabulary, None, None), Reading::default());
}

#[test]
fn a_line_and_a_variant_that_mean_the_same_say_the_same() {
    let vocabulary = Vocabulary::built_in();
    for (line, title, product, variant) in [
        ("Youth XL - Long sleeve", "", "Kids' long-sleeved tee", "X-Large"),
        ("L, Navy Blue", "Otter T-shirt", "tee", "navy / LARGE"),
        ("6-12 months", "Otter bodysuit", "Infant bodysuit", "6-12M"),
        ("Dark heather gray, XXL", "Otter hoodie", "Hooded sweatshirt", "2XL dark grey heather"),
        ("Enamel mug 12oz", "", "Camp mug", "12 oz"),
        ("12\" x 18\"", "Otter poster", "Art print", "12 x 18 inches"),
    ] {
        let line = read_options(&vocabulary, Some(&options(&[("Option", line)])), Some(title));
        let variant = read_variant(&vocabulary, Some(product), Some(&options(&[("Option", variant)])));
        assert!(line.says_the_same(&variant), "{} and {}", shown(&line), shown(&variant));
    }
}

#[test]
fn a_book_is_read_row_by_row_in_its_order() {
    let line = |line_id: &str, title: &str, value: &str| OrderLine {
        order_id: "1001".into(),
        line_id: line_id.into(),
        listing_id: None,
        sku: None,
        title: Some(title.into()),
        options: Some(options(&[("Option", value)])),
        quantity: 1,
        cancelled_quantity: 0,
        unit_price: None,
        updated_at: None,
    };
    let offer = Offer {
        listing_id: "otter".into(),
        sku: None,
        title: Some("Otter apron".into()),
        options: options(&[("Option", "S")]),
        price: None,
        currency: None,
        buyable: true,
    };
    let variant = Variant {
        supplier: "alder-print".into(),
        variant_id: "1".into(),
        sku: None,
        product: Some("Apron".into()),
        options: Some(options(&[("size", "s")])),
        unit_cost: None,
        currency: None,
        available: true,
    };
    let vocabulary = Vocabulary::built_in();
    let mut book = Book {
        order_lines: vec![
            line("1", "Otter apron", "S"),
            line("2", "Otter mug", "S"),
            line("3", "Otter apron", "s "),
        ],
        ..Book::default()
    };
    let readings = read_book(&book, &vocabulary);
    let lines: Vec<String> = readings.order_lines.iter().map(shown).collect();
    assert_eq!(lines, ["apron | - | S | - |", "mug | - | S | - |", "apron | - | S | - |"]);
    assert!(readings.offers.is_empty() && readings.variants.is_empty());

    book.offers = Some(vec![offer]);
    book.variants = Some(vec![variant]);
    let readings = read_book(&book, &vocabulary);
    assert_eq!(shown(&readings.offers[0]), "apron | - | S | - |");
    assert_eq!(readings.offers[0], readings.variants[0]);
}
