//! The table: that what reads it again finds the offers that the page says, each leading to its variant.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use intake::ReadSettings;
use model::{Book, Rules};
use serde_json::Value;

use crate::kit::{BOTH, FEES, LISTING, Shop, product};

/// The folder as exchange files are read; nothing in it may be a bad row.
fn read(shop: &Shop) -> Book {
    let settings = ReadSettings { zone: chrono_tz::Tz::UTC, rules: &Rules::default() };
    let folder = intake::read_part(shop.path(), &settings, &mut |_| ()).unwrap();
    assert_eq!(folder.bad_row_count, 0, "{:?}", folder.bad_rows);
    folder.book
}

/// Reads a written table again: each row must be an offer that is as the lines say, and lead to the variant that they say;
/// nothing may be found of them. How many rows lead somewhere.
fn check(shop: &Shop, lines: &[Value], more: &[&str]) -> usize {
    let book = read(shop);
    let variants = book.variants.as_deref().unwrap();
    let offers = book.offers.as_deref().unwrap();
    assert_eq!(offers.len(), lines.len());
    let mut led: BTreeMap<usize, Vec<&str>> = BTreeMap::new();
    for (offer, variant) in matcher::links_of_offers(&book) {
        led.entry(offer).or_default().push(variants[variant].variant_id.as_str());
    }
    for (at, offer) in offers.iter().enumerate() {
        let options = serde_json::to_value(&offer.options).unwrap();
        let line =
            lines.iter().find(|line| line["options"] == options).unwrap_or_else(|| panic!("{options}"));
        assert_eq!(line["listing_id"], offer.listing_id.as_str());
        assert_eq!(line["sku"].as_str(), offer.sku.as_ref().map(model::Sku::as_str));
        assert_eq!(line["title"].as_str(), offer.title.as_deref());
        assert_eq!(line["price"].as_str(), offer.price.map(|price| price.to_string()).as_deref());
        assert_eq!(line["currency"].as_str(), offer.currency.map(|currency| currency.code()));
        assert_eq!(line["buyable"], offer.buyable);
        let variant: Vec<&str> = line["variant_id"].as_str().into_iter().collect();
        if offer.buyable {
            assert_eq!(led.remove(&at).unwrap_or_default(), variant, "{options}");
        }
    }
    // What is off for the supplier cannot make it now bears its SKU all the same, and that is all that is found.
    let check = shop.run(&[&["links", "check", "--from", ".", "--format", "jsonl"], more].concat());
    assert!(check.code < 2, "{}", check.err);
    for finding in check.json_lines() {
        let row = lines.iter().find(|line| line["sku"] == finding["evidence"]["sku"]).unwrap();
        assert_eq!((&finding["check"], &row["reason"]), (&"link-unusable".into(), &"not-available".into()));
    }
    offers.iter().filter(|offer| offer.buyable).count()
}

#[test]
fn the_csv_is_read_again_as_the_offers_that_it_says() {
    let shop = Shop::new();
    shop.write("everyline.toml", FEES);
    let more = ["--config", "everyline.toml"];
    let asked = [&["--title", "Otter at the stove", "--round", "9.90"], &more[..]].concat();
    let lines = shop.sheet(&[&asked[..], &["--format", "jsonl"]].concat()).json_lines();
    shop.sheet(&[&asked[..], &["--out", "offers.csv"]].concat())
        .says(0, &["9 rows: 5 on sale", "Written to offers.csv, as a table of offers."]);
    let header = shop.read("offers.csv").lines().next().unwrap().to_owned();
    assert_eq!(
        header,
        "listing_id,sku,title,option.Colour,option.Item,price,currency,buyable,supplier,variant_id,cost,fees,margin,\
         margin_percent,reason,why,change,to_do"
    );
    assert_eq!(check(&shop, &lines, &more), 5);
    // An audit takes it as well, and names the columns that it passes over.
    shop.write("orders.csv", "order_id,placed_at,status\nO1,2026-11-25T08:00:00Z,open\n");
    shop.write(
        "order_lines.csv",
        "order_id,line_id,listing_id,sku,option.Item,option.Colour,quantity\n\
         O1,1,KL-20,S-AP-S-Moss,Small apron,Moss,1\n",
    );
    let audit = ["audit", "--from", ".", "--as-of", "2026-11-25T08:10:00Z", "--format", "jsonl"];
    let audit = shop.run(&[&audit[..], &more].concat());
    assert_eq!(audit.code, 1, "{}", audit.err);
    assert!(audit.json_lines().iter().all(|finding| finding["check"] == "link-unusable"), "{}", audit.out);
    assert!(audit.err.contains("offers.csv") && audit.err.contains("margin_percent"), "{}", audit.err);
}

#[test]
fn the_json_lines_are_read_again_likewise() {
    let shop = Shop::new();
    let lines = shop.sheet(&["--format", "jsonl"]).json_lines();
    shop.sheet(&["--out", "offers.jsonl"]).says(0, &["Written to offers.jsonl"]);
    assert_eq!(check(&shop, &lines, &[]), 5);
    let first = &lines[0];
    assert_eq!(first["reason"], "not-in-colour");
    assert_eq!(first["why"], "Apron is not made in Clay");
    assert_eq!((&first["sku"], &first["change"]), (&Value::Null, &Value::Null));
    let on_sale = &lines[1];
    assert_eq!(
        (&on_sale["cost"], &on_sale["fees"], &on_sale["margin"]),
        (&"12.10".into(), &"0.00".into(), &"8.07".into())
    );
    assert_eq!(on_sale["margin_percent"], "40.00");
}

#[test]
fn a_listing_with_nothing_to_choose_and_one_with_one_option_are_read_again() {
    for (sizes, header, count) in [(&[][..], ",options,", 1), (&["A4", "A3"], ",option.Size,", 2)] {
        let shop = Shop::empty();
        shop.variants(&product("Poster", "P", sizes, &[], "4"));
        let poster = ["--product", "alder-print:Poster", "--margin", "3", "--format"];
        let sheet = |format: &str| {
            shop.run(&[&["links", "sheet", "--from", "."], &LISTING[..], &poster, &[format]].concat())
        };
        let lines = sheet("jsonl").json_lines();
        shop.write("offers.csv", &sheet("csv").says(0, &[header]).out);
        assert_eq!(check(&shop, &lines, &[]), count);
    }
}

/// Titles, names, sizes and colours that would break a table, a terminal or a spreadsheet, were they not written rightly.
const HOSTILE: [&str; 7] = [
    "=HYPERLINK(\"http://x.example\")",
    "Otter, \"the\" one\r\nand only",
    "a\u{1b}[2Jb\u{202e}c",
    "'; DROP TABLE offers; --",
    "{\"options\": {}}",
    "@sum(1;2)\t3",
    "苔の緑 🦦 ﬁne",
];

#[test]
fn hostile_titles_sizes_and_colours_are_read_again_and_drive_nothing() {
    for hostile in HOSTILE {
        let shop = Shop::empty();
        let colours = [hostile, "Moss"];
        shop.variants(&product("Apron", "AP", &["S", "L"], &colours, "12.10"));
        let name = format!("alder-print:Apron={}", hostile.replace(['@', '{', '}'], ""));
        let asked = [
            &["links", "sheet", "--from", ".", "--margin", "40 %", "--product", &name, "--title", hostile],
            &LISTING[..],
        ]
        .concat();
        let lines = shop.run(&[&asked[..], &["--format", "jsonl"]].concat());
        assert_eq!(lines.code, 0, "{hostile:?}: {}", lines.err);
        let page = shop.run(&[&asked[..], &["--out", "offers.csv"]].concat());
        assert_eq!(page.code, 0, "{hostile:?}: {}", page.err);
        let is_control = |c: char| c.is_control() && c != '\n' || c == '\u{202e}';
        assert!(!page.out.contains(is_control) && !page.err.contains(is_control), "{:?}", page.out);
        let is_formula = hostile.starts_with(['=', '@']);
        assert_eq!(page.err.contains("begins as a formula does"), is_formula, "{hostile:?}: {}", page.err);
        assert_eq!(check(&shop, &lines.json_lines(), &[]), 4, "{hostile:?}");
    }
}

#[test]
fn options_stand_as_an_object_where_a_spreadsheet_would_run_one() {
    let shop = Shop::new();
    let products = ["--product", "alder-print:Apron", "--product", "alder-print:Tote bag, strong==1+2"];
    let sheet = |format: &str| {
        let asked = ["--margin", "6", "--format", format];
        shop.run(&[&["links", "sheet", "--from", "."], &LISTING[..], &products, &asked].concat())
    };
    let (lines, table) = (sheet("jsonl").json_lines(), sheet("csv").says(0, &[",options,"]).out);
    assert!(!table.contains("option."), "{table}");
    shop.write("offers.csv", &table);
    assert_eq!(check(&shop, &lines, &[]), 5);
    assert!(lines.iter().any(|line| line["options"]["Item"] == "=1+2"), "{table}");
}

#[test]
fn a_file_that_is_there_is_left_as_it_is() {
    let shop = Shop::new();
    shop.write("kl-20.csv", "mine\n");
    let run = shop.sheet(&["--out", "kl-20.csv"]);
    run.says(
        2,
        &["error: nothing was written", "kl-20.csv is there already", "give another name after --out"],
    );
    assert_eq!(shop.read("kl-20.csv"), "mine\n");
    shop.sheet(&["--out", "no-folder/kl-20.csv"])
        .says(2, &["no-folder/kl-20.csv could not be written", "check that its folder is there"]);
    let run = shop.sheet(&["--out", "page.txt", "--format", "table"]);
    assert_eq!((run.code, run.out.as_str()), (0, ""), "{}", run.err);
    assert!(shop.read("page.txt").contains("9 rows: 5 on sale"), "{}", shop.read("page.txt"));
    assert!(run.err.contains("written to page.txt"), "{}", run.err);
}

#[test]
fn a_link_that_outranks_the_sku_is_warned_of() {
    let shop = Shop::new();
    shop.write(
        "links.csv",
        "listing_id,option.Item,option.Colour,supplier,variant_id\nKL-20,Small apron,Moss,alder-print,AP-L-Moss\n",
    );
    shop.sheet(&[]).says(
        1,
        &[
            "warning: 1 row on sale would not lead where the SKU does, such as Colour: Moss, Item: Small apron: a link \
             that you or a source made outranks it",
            "warning: link-mismatch: ",
        ],
    );
}

/// Ten times as much is made, by several suppliers: what is filled in is the same, to the byte.
#[test]
fn what_else_is_made_changes_nothing() {
    let shop = Shop::new();
    let (page, table) = (shop.sheet(&[]).out, shop.sheet(&["--format", "csv"]).out);
    let small = shop.read("variants.csv");
    let mut large = small.clone();
    for number in 0..400 {
        let sizes: &[&str] = if number % 3 == 0 { &[] } else { &["XS", "S", "M", "L", "2XL"] };
        let rows =
            product(&format!("Apron {number}"), &format!("X{number}"), sizes, &["Moss", "Rust", "Ink"], "9");
        let supplier = format!("press-{}", number % 7);
        write!(large, "{}", rows.replace("alder-print", &supplier)).unwrap();
    }
    assert!(large.lines().count() > 10 * small.lines().count());
    shop.write("variants.csv", &large);
    let run = shop.sheet(&[]);
    assert_eq!((run.code, run.out, run.err.as_str()), (0, page, ""));
    assert_eq!(shop.sheet(&["--format", "csv"]).out, table);
    assert!(BOTH.len() == 4 && table.lines().count() == 10);
}
