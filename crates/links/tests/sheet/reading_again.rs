//! What is filled in is read again: `propose` finds the very variants of the rows, by their words alone.

use links::Vocabulary;
use links::sheet::{Wording, fill_in};
use model::book::Variant;
use model::rules::Fees;

use crate::kit::{product, read_again, variant, wanted};

fn check(variants: &[Variant], products: &[&str], wording: &Wording) -> usize {
    let fees = Fees::default();
    let wanted = wanted(products, &fees, wording);
    let sheet = fill_in(&Vocabulary::built_in(), variants, &[], &wanted).unwrap();
    read_again(&sheet, &wanted, variants)
}

#[test]
fn an_apron_a_top_and_a_bag_in_one_listing() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss", "navy", "heather grey"], "12.10");
    variants.extend(product(
        "T",
        "Unisex long-sleeved top",
        &["S", "M", "L", "XL", "2XL"],
        &["Moss", "Navy"],
        "14.20",
    ));
    variants.extend(product("B", "Tote bag, strong", &[], &["Natural", "Moss"], "8.40"));
    variants.extend(product("X", "Kids' apron", &["3-6 years", "7-10 years"], &["Moss"], "9.00"));
    let products = ["Kitchen apron", "Unisex long-sleeved top", "Tote bag, strong"];
    assert_eq!(check(&variants, &products, &Wording::default()), 6 + 10 + 2);
    assert_eq!(check(&variants, &["Kitchen apron", "Kids' apron"], &Wording::default()), 6 + 2);
}

#[test]
fn a_low_and_a_tall_mug_are_told_apart_by_name() {
    let mut variants = product("L", "Mug, low", &["8 oz", "11 oz"], &["White", "Black"], "5.00");
    variants.extend(product("T", "Mug, tall", &["11 oz", "15 oz"], &["White", "Black"], "6.00"));
    assert_eq!(check(&variants, &["Mug, low", "Mug, tall"], &Wording::default()), 8);
}

#[test]
fn goods_for_children_and_grown_ups_of_one_product_and_of_two() {
    let mut variants =
        product("C", "Classic tee", &["Youth S", "Youth M", "S", "M", "3XL"], &["Moss", "Plum"], "9.00");
    variants.extend(product("Y", "Youth hoodie", &["YS", "YM"], &["Moss"], "15.00"));
    variants.extend(product("H", "Hoodie", &["S", "M"], &["Moss", "Clay"], "19.00"));
    assert_eq!(check(&variants, &["Classic tee"], &Wording::default()), 10);
    assert_eq!(check(&variants, &["Classic tee", "Youth hoodie", "Hoodie"], &Wording::default()), 10 + 2 + 4);
}

#[test]
fn sizes_and_colours_that_a_supplier_writes_into_one_text() {
    let variants = [
        variant("1", "Canvas apron", &[("Variant", "Moss / S")], "9"),
        variant("2", "Canvas apron", &[("Variant", "Moss / L")], "9"),
        variant("3", "Canvas apron", &[("Variant", "Dusty plum / S")], "9"),
        variant("4", "Canvas apron", &[("Variant", "Dusty plum / L")], "9"),
        variant("5", "Poster A4, matt", &[], "4"),
        variant("6", "Poster A3, matt", &[], "6"),
    ];
    let products = ["Canvas apron", "Poster A4, matt", "Poster A3, matt"];
    assert_eq!(check(&variants, &products, &Wording::default()), 6);
}

#[test]
fn a_german_listing_in_german_words() {
    let wording = Wording {
        size: "Größe".to_owned(),
        colour: "Farbe".to_owned(),
        item: "Artikel".to_owned(),
        item_value: "{good}, {size}".parse().unwrap(),
        one_colour: "Eine Farbe".to_owned(),
    };
    let mut variants =
        product("S", "Küchenschürze aus Leinen", &["S", "L"], &["Moosgrün", "Senfgelb"], "13.00");
    variants.extend(product("T", "Keramiktasse", &["330 ml"], &["Weiß", "Schwarz"], "6.00"));
    variants.extend(product("P", "Poster matt", &["DIN A4", "DIN A3"], &[], "4.00"));
    variants.extend(product("K", "Kinder T-Shirt", &["98/104", "110/116"], &["Rot", "Moosgrün"], "9.00"));
    let products = ["Küchenschürze aus Leinen", "Keramiktasse", "Poster matt", "Kinder T-Shirt"];
    assert_eq!(check(&variants, &products, &wording), 4 + 2 + 2 + 4);
    assert_eq!(check(&variants, &["Keramiktasse"], &wording), 2);
    let fees = Fees::default();
    let wanted = wanted(&["Küchenschürze aus Leinen", "Poster matt"], &fees, &wording);
    let sheet = fill_in(&Vocabulary::built_in(), &variants, &[], &wanted).unwrap();
    let options: Vec<String> = sheet.rows.iter().map(|row| format!("{:?}", row.options)).collect();
    assert_eq!(options[0], r#"{"Artikel": "Küchenschürze, S", "Farbe": "Moosgrün"}"#);
    assert_eq!(options[options.len() - 1], r#"{"Artikel": "Poster, DIN A3", "Farbe": "Eine Farbe"}"#);
}
