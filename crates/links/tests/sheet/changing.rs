//! A table beside the offers that a listing has.

use links::Vocabulary;
use links::sheet::{Change, Sheet, Wording, fill_in};
use model::book::{Offer, Variant};
use model::rules::Fees;
use model::{Options, Sku};

use crate::kit::{decimal, eur, product, wanted};

fn offer(options: &[(&str, &str)], sku: &str, price: &str, buyable: bool) -> Offer {
    Offer {
        listing_id: "L1".into(),
        sku: Sku::new(sku),
        title: Some("Heron by the weir".to_owned()),
        options: Options::from_pairs(options.iter().copied()).unwrap(),
        price: Some(decimal(price)),
        currency: Some(eur()),
        buyable,
    }
}

fn filled(variants: &[Variant], offers: &[Offer]) -> Sheet {
    let (fees, wording) = (Fees::default(), Wording::default());
    let mut wanted = wanted(&["Kitchen apron"], &fees, &wording);
    wanted.title = None;
    fill_in(&Vocabulary::built_in(), variants, offers, &wanted).unwrap()
}

#[test]
fn what_would_change_is_said_row_by_row() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss", "navy", "plum", "rust"], "12.00");
    variants[3].available = false;
    let offers = [
        offer(&[("size", "s"), ("COLOUR", "Moss")], "s-a-s-moss", "20.00", true),
        offer(&[("Size", "S"), ("Colour", "Navy")], "S-A-S-navy", "18.00", true),
        offer(&[("Size", "S"), ("Colour", "Plum")], "AP-OLD", "20.00", false),
        offer(&[("Size", "S"), ("Colour", "Rust")], "S-A-S-rust", "20.00", true),
        offer(&[("Size", "L"), ("Colour", "Moss")], "", "20.00", true),
        offer(&[("Pick", "Large / navy")], "S-A-L-navy", "20.00", true),
        offer(&[("Size", "M"), ("Colour", "Moss")], "S-A-M-moss", "20.00", true),
        offer(&[("Size", "M"), ("Colour", "Navy")], "S-A-M-navy", "20.00", false),
    ];
    let sheet = filled(&variants, &offers);
    let changes: Vec<(String, String)> =
        sheet.rows.iter().map(|row| (row.options.to_string(), row.change.to_string())).collect();
    let expected = [
        ("Moss, s", "kept"),
        ("Navy, S", "price 18.00\u{a0}EUR to 20.00\u{a0}EUR"),
        ("Plum, S", "put on sale; SKU AP-OLD to S-A-S-plum"),
        ("Rust, S", "take off"),
        ("Moss, L", "SKU none to S-A-L-moss"),
        ("Navy, L", "options {\"Pick\": \"Large / navy\"} to these"),
        ("Plum, L", "new"),
        ("Rust, L", "new"),
        ("Moss, M", "take off"),
        ("Navy, M", "kept"),
    ];
    let changes: Vec<(&str, &str)> =
        changes.iter().map(|(options, change)| (options.as_str(), change.as_str())).collect();
    assert_eq!(changes, expected);
    assert_eq!(sheet.title.as_deref(), Some("Heron by the weir"));
    assert_eq!(sheet.rows[8].off.as_ref().unwrap().word(), "not-in-table");
    assert!(sheet.rows[8].place.is_none());
}

#[test]
fn a_listing_without_offers_has_nothing_to_compare_with() {
    let variants = product("A", "Kitchen apron", &["S"], &["moss"], "12.00");
    let other = Offer { listing_id: "L2".into(), ..offer(&[], "S-A-S-moss", "1.00", true) };
    let sheet = filled(&variants, &[other]);
    assert_eq!(sheet.rows.iter().map(|row| &row.change).collect::<Vec<_>>(), [&Change::NoOffers]);
    assert_eq!(sheet.rows[0].change.word(), "");
}

#[test]
fn of_several_variants_the_one_that_the_offer_leads_to_is_kept() {
    let mut variants = product("otter", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    variants.extend(product("heron", "Kitchen apron", &["S", "L"], &["moss"], "12.00"));
    let sheet = filled(&variants, &[offer(&[("Size", "S")], "S-HERON-S-MOSS", "20.00", true)]);
    assert_eq!(sheet.rows[0].change, Change::Kept);
    assert_eq!(sheet.rows[0].sku.as_deref(), Some("S-heron-S-moss"));
    assert_eq!(sheet.rows[1].off.as_ref().unwrap().word(), "several-variants");
}
