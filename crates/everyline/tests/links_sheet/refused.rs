//! What is said where there is no table: where, what, and what to do.

use crate::kit::{FEES, Shop, product};

/// Aprons, caps in two greys, scarves that cost in two currencies, and a bag that costs in none.
fn shop() -> Shop {
    let shop = Shop::empty();
    let mut rows = product("Apron", "AP", &["S", "L"], &["Moss", "Navy"], "12.10");
    rows += &product("Cap", "CP", &[], &["Heather grey", "Charcoal grey"], "4");
    rows += &product("Scarf", "SC", &["S", "L"], &[], "9").replacen("EUR", "USD", 1);
    rows += &product("Bag", "BG", &[], &[], "9").replace("EUR", "");
    shop.variants(&rows);
    shop.write(
        "listing_products.csv",
        "listing_id,supplier,product\nKL-8,alder-print,Aprn\nKL-9,alder-print,Apron\n",
    );
    shop
}

/// Runs it with options, and looks for what is said.
#[track_caller]
fn check(shop: &Shop, arguments: &[&str], texts: &[&str]) {
    let run = shop.run(&[&["links", "sheet", "--from", "."], arguments].concat());
    assert_eq!(run.out, "");
    let texts = [&["error: no offer table was filled in"], texts].concat();
    run.says(2, &texts);
}

const NEW: [&str; 2] = ["--listing", "KL-20"];
const APRON: [&str; 6] = ["--listing", "KL-20", "--product", "alder-print:Apron", "--margin", "40 %"];

fn with<'a>(first: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    [first, more].concat()
}

#[test]
fn what_is_sold_has_to_be_said_and_made() {
    let shop = shop();
    check(
        &shop,
        &NEW,
        &[
            "cause: nobody has said what listing KL-20 sells: listing_products has no row for it",
            "help: name its products with --product; there are alder-print:Apron, alder-print:Bag",
        ],
    );
    check(
        &shop,
        &["--listing", "KL-8"],
        &[
            "listing_products says that KL-8 sells \"Aprn\" of alder-print, and no variant is of that; the nearest is Apron",
            "mend that row, or name with --product",
        ],
    );
    for (product, texts) in [
        ("Apron", &["does not say whose product it is", "known suppliers are alder-print"][..]),
        ("adler-print:Apron", &["there is no supplier \"adler-print\"; the nearest is alder-print"]),
        (
            "alder-print:Aprron=Chef apron",
            &["alder-print has no product \"Aprron\"; the nearest is Apron", "alder-print has Apron, Bag"],
        ),
        ("alder-print:Apron@9,95", &["\"9,95\" is no price", "expected is a decimal amount such as 24.00"]),
        (
            "alder-print:Apron@19.955",
            &["the price 19.955 has more digits behind the point than EUR has, which is 2"],
        ),
    ] {
        check(&shop, &with(&NEW, &["--product", product, "--margin", "1"]), texts);
    }
    check(
        &shop,
        &with(&APRON, &["--product", "alder-print:apron"]),
        &["\"Apron\" of alder-print is named twice"],
    );
    check(
        &shop,
        &with(&APRON, &["--sku-part", "otter"]),
        &[
            "no variant of these products has \"otter\" in its SKU",
            "their SKUs are such as S-AP-L-Moss, S-AP-L-Navy, S-AP-S-Moss",
        ],
    );
    check(&shop, &["--listing", " "], &["the id after --listing is empty"]);
    check(&shop, &with(&APRON, &["--title", ""]), &["the text after --title is empty"]);
}

#[test]
fn sizes_and_colours_that_are_not_made_or_not_clear_are_named_with_what_there_is() {
    let shop = shop();
    check(
        &shop,
        &with(&APRON, &["--size", "XXXL"]),
        &["none of the products comes in the size \"XXXL\"", "help: there is L, S; leave --size out for all"],
    );
    check(
        &shop,
        &with(&APRON, &["--colour", "Nevy"]),
        &[
            "none of the products comes in the colour \"Nevy\"; the nearest is Navy",
            "help: there is Moss, Navy; leave --colour out for all",
        ],
    );
    let cap = with(&NEW, &["--product", "alder-print:Cap", "--margin", "1"]);
    check(
        &shop,
        &with(&cap, &["--colour", "grey"]),
        &[
            "the colour \"grey\" may be any of these: Charcoal grey, Heather grey",
            "help: say which after --colour: Charcoal grey, Heather grey",
        ],
    );
    check(
        &shop,
        &with(&APRON, &["--colour", "Moss,,Navy"]),
        &["--colour \"Moss,,Navy\" has an entry that is empty"],
    );
    let bag = with(&NEW, &["--product", "alder-print:Bag", "--margin", "1"]);
    check(&shop, &with(&bag, &["--colour", "Moss"]), &["there is no colour to choose; leave --colour out"]);
}

#[test]
fn prices_need_a_margin_a_currency_and_a_rule_that_can_be_kept() {
    let shop = shop();
    let of = |product: &'static str| ["--listing", "KL-20", "--product", product];
    check(
        &shop,
        &["--listing", "KL-9"],
        &["it is not said which margin is wanted", "say it with --margin, such as"],
    );
    check(
        &shop,
        &with(&of("alder-print:Scarf"), &["--margin", "1"]),
        &[
            "amounts are in several currencies: EUR, USD",
            "the costs are: say with --currency in which the prices are to be",
        ],
    );
    check(
        &shop,
        &with(&of("alder-print:Bag"), &["--margin", "1"]),
        &["no cost says its currency", "--currency EUR"],
    );
    check(
        &shop,
        &with(&of("alder-print:Apron"), &["--margin", "100 %"]),
        &["a margin of 100 % of it leave nothing for the goods", "ask for less with --margin"],
    );
    check(
        &shop,
        &with(&APRON, &["--round", "80"]),
        &["prices end in 80, and EUR has 2 digits", "another way with --round"],
    );
    check(&shop, &with(&APRON, &["--round", "step 0.005"]), &["steps of 0.005, and EUR has 2 digits"]);
    check(
        &shop,
        &with(&of("alder-print:Apron"), &["--margin", "79228162514264337593543950335"]),
        &["too many digits to be reckoned with exactly"],
    );
    shop.write("everyline.toml", FEES);
    check(
        &shop,
        &with(&APRON, &["--currency", "USD", "--config", "everyline.toml"]),
        &[
            "the fee for each unit is not known in USD",
            "add the fee in USD to per_unit under [fees] in the configuration (it has EUR)",
        ],
    );
}

#[test]
fn two_goods_of_one_name_and_a_table_that_nobody_finds_anything_in_are_refused() {
    let shop = shop();
    let alike = ["--product", "alder-print:Cap=Thing", "--product", "alder-print:Bag=Thing", "--margin", "1"];
    check(
        &shop,
        &with(&NEW, &alike),
        &[
            "would both be \"Thing\", and a customer could not tell them apart",
            "give one of them a name of its own: --product 'SUPPLIER:PRODUCT=NAME'",
        ],
    );
    let sizes: Vec<String> = (1..=150).map(|size| format!("{size} x {size} cm")).collect();
    let sizes: Vec<&str> = sizes.iter().map(String::as_str).collect();
    let hues = (0..140).map(|hue| format!("Hue {}", char::from_u32(0x4e00 + hue).unwrap()));
    let hues: Vec<String> = hues.collect();
    let hues: Vec<&str> = hues.iter().map(String::as_str).collect();
    let rows = product("Vast", "V", &sizes, &hues, "9");
    shop.variants(&rows);
    check(
        &shop,
        &with(&NEW, &["--product", "alder-print:Vast", "--margin", "1"]),
        &["the table would have 21000 rows, more than 20000", "with --product, --size and --colour"],
    );
}

#[test]
fn what_the_command_line_cannot_mean_is_refused_before_anything_is_read() {
    let shop = shop();
    for (arguments, text) in [
        (&["--margin", "forty"][..], "expected is an amount such as \"6.00\""),
        (&["--margin", "40", "--round", "up"], "expected is the last digits of prices such as \".95\""),
        (&["--currency", "EURO"], "expected is a currency code of ISO 4217"),
        (&["--price", "19,95"], "expected is a decimal amount"),
        (&["--one-price-for", "colour"], "possible values: good, size, each"),
        (&["--format", "xlsx"], "possible values: table, csv, jsonl"),
    ] {
        let run = shop.run(&[&["links", "sheet", "--from", "."], &NEW[..], arguments].concat());
        run.says(2, &["error: ", text]);
    }
    shop.run(&["links", "sheet", "--from", "."]).says(2, &["--listing <ID>"]);
}

#[test]
fn tables_that_are_missing_are_named() {
    let shop = Shop::empty();
    shop.write("offers.csv", "listing_id,options\nKL-20,{}\n");
    check(&shop, &NEW, &["there is no table variants", "put what the suppliers make into the folder"]);
    let run = shop.run(&["links", "sheet", "--from", "nowhere", "--listing", "KL-20"]);
    run.says(2, &["error: no offer table was filled in", "nowhere"]);
}
