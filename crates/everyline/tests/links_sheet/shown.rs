//! The page: grids, marks, totals, and what is new beside the offers that there are.

use crate::kit::{FEES, LISTING, Shop, flat, product};

#[test]
fn each_good_is_a_grid_with_prices_and_marks_then_the_totals() {
    let shop = Shop::new();
    shop.write("everyline.toml", FEES);
    let run = shop.sheet(&["--round", ".95", "--title", "Otter at the stove", "--config", "everyline.toml"]);
    let expected = "\
KL-20  Otter at the stove
  Prices are in EUR; 40 % of the price is to be left; prices end in .95.
  Selling costs 6.5 % of the price and 0.30\u{a0}EUR for each unit.

  Apron (Apron of alder-print)
              S      L
    Moss  23.95  23.95
    Navy  23.95    out

  Tote bag (Tote bag, strong of alder-print)
          one size
    Clay     13.95
    Moss     13.95

  out  the supplier cannot make it now
9 rows: 5 on sale, 4 off: 3 not made; 1 the supplier cannot make it now.
Smallest margin: 5.84325\u{a0}EUR, 41.88 % of the price (Colour: Clay, Item: Tote
  bag, SKU S-TB--Clay); smallest share: 41.72 % of the price (Colour: Moss,
  Item: Small apron, SKU S-AP-S-Moss).
The storefront has no offers of this listing, as far as is known.
Nothing was changed. --out FILE writes it as a table of offers.
";
    assert_eq!((run.code, run.out.as_str(), run.err.as_str()), (0, expected, ""));
}

#[test]
fn no_line_is_wider_than_the_terminal_and_no_size_is_lost() {
    let shop = Shop::empty();
    let sizes: Vec<String> = (1..=24).map(|size| format!("{size} x {size} cm")).collect();
    let sizes: Vec<&str> = sizes.iter().map(String::as_str).collect();
    let colours = ["Moss", "A colour with a name that is longer than any table has room for, 苔の色です"];
    shop.variants(&product("Cushion", "C", &sizes, &colours, "12"));
    for width in [40, 60, 80, 200] {
        let arguments = [
            &["links", "sheet", "--from", ".", "--margin", "6", "--product", "alder-print:Cushion"],
            &LISTING[..],
        ];
        let run = shop.run_in(width, &arguments.concat());
        assert_eq!(run.code, 0, "{}", run.err);
        let grid: Vec<&str> = run.out.lines().filter(|line| line.starts_with("    ")).collect();
        for line in run.out.lines() {
            assert!(digest::text_width(line) <= width, "{width}: {line:?}");
        }
        let flat = flat(&grid.join("\n"));
        assert!(sizes.iter().all(|size| flat.contains(size)), "{}", run.out);
        assert_eq!(flat.matches("18.00").count(), 2 * 24, "{}", run.out);
    }
}

/// Offers of the listing: one as it will be, one of another price, one that has no SKU, one that is not sold any more.
const OFFERS: &str = "listing_id,sku,title,option.Item,option.Colour,price,currency,buyable\n\
    KL-20,S-AP-S-Moss,Otter at the stove,Small apron,Moss,20.17,EUR,true\n\
    KL-20,S-AP-S-Navy,Otter at the stove,Small apron,Navy,19.00,EUR,true\n\
    KL-20,,Otter at the stove,Large apron,Moss,20.17,EUR,true\n\
    KL-20,S-AP-L-Navy,Otter at the stove,Large apron,Navy,20.17,EUR,true\n\
    KL-20,AP-XL,Otter at the stove,XL apron,Moss,20.17,EUR,true\n\
    KL-21,AP-XL,Another,XL apron,Moss,20.17,EUR,true\n";

#[test]
fn what_would_change_beside_the_offers_that_there_are_is_said() {
    let shop = Shop::new();
    shop.write("offers.csv", OFFERS);
    shop.sheet(&[]).says(
        0,
        &[
            "KL-20 Otter at the stove",
            "Beside the offers that there are: 5 new, 1 kept, 3 that differ, 1 to be taken off.",
            "Colour: Navy, Item: Small apron: price 19.00 EUR to 20.17 EUR",
            "Colour: Moss, Item: Large apron: SKU none to S-AP-L-Moss",
            "Colour: Navy, Item: Large apron: take off",
            "Colour: Moss, Item: XL apron: take off",
        ],
    );
    let lines = shop.sheet(&["--format", "jsonl"]).json_lines();
    let of = |item: &str, colour: &str| {
        let is_it = |line: &&serde_json::Value| {
            line["options"]["Item"] == item && line["options"]["Colour"] == colour
        };
        let line = lines.iter().find(is_it).unwrap();
        (line["change"].as_str().unwrap().to_owned(), line["buyable"].as_bool().unwrap())
    };
    assert_eq!(of("Small apron", "Moss"), ("kept".to_owned(), true));
    assert_eq!(of("Small apron", "Navy"), ("differs".to_owned(), true));
    assert_eq!(of("XL apron", "Moss"), ("take-off".to_owned(), false));
    assert_eq!(of("Tote bag", "Moss"), ("new".to_owned(), true));
}

#[test]
fn each_reason_to_settle_something_is_said_with_its_row_and_ends_with_one() {
    let shop = Shop::empty();
    let mut rows = product("Apron", "AP", &["S", "M", "L"], &["Moss", "Navy", "Plum"], "12.10");
    rows = rows.replace("AP-S-Moss,12.10,EUR", "AP-S-Moss,,EUR");
    rows = rows.replace("AP-S-Navy,12.10,EUR", "AP-S-Navy,12.10,USD");
    rows = rows.replace("AP-S-Plum,12.10,EUR", "AP-S-Plum,12.10,");
    rows = rows.replace("S-AP-M-Moss", "S-AP-M-Navy");
    rows = rows.replace("AP-M-Plum,12.10", "AP-M-Plum,21.10");
    rows += &product("Apron", "OTHER", &["L"], &["Moss"], "12.10");
    shop.variants(&rows);
    let arguments = ["links", "sheet", "--from", ".", "--listing", "KL-20", "--product", "alder-print:Apron"];
    let run = shop.run(&[&arguments[..], &["--currency", "EUR", "--margin", "1", "--price", "20"]].concat());
    run.says(
        1,
        &[
            "cost? what it costs is not known",
            "curr! it costs another currency than prices are in",
            "curr? in which currency it costs that is not known",
            "twice another variant bears its SKU as well",
            "low the price leaves less than is wanted",
            "which? several variants are this",
            "For you to settle, before these can be sold:",
            "Colour: Moss, Size: S: what it costs is not known",
            "Colour: Moss, Size: L: several variants are this, and only you can tell which is meant: S-AP-L-Moss, \
             S-OTHER-L-Moss",
            "Colour: Plum, Size: M: at this price -1.10 EUR is left, less than 1 a unit",
        ],
    );
}
