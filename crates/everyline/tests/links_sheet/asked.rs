//! What the options and the configuration come to.

use serde_json::Value;

use crate::kit::{Shop, product};

/// The rows of a listing of aprons in three sizes and three colours of two printed designs, bags and posters.
fn shop() -> Shop {
    let shop = Shop::empty();
    let mut rows = product("Apron", "otter", &["S", "M", "L"], &["Moss", "Navy", "Plum"], "12.10");
    rows += &product("Apron", "heron", &["S", "M", "L"], &["Moss", "Navy", "Plum"], "12.10");
    rows += &product("Tote bag, strong", "otter-bag", &[], &["Moss", "Clay"], "6.90");
    rows += &product("Poster", "otter-poster", &["A4", "A3"], &[], "3.60");
    rows = rows.replace("otter-L-Plum,12.10", "otter-L-Plum,14.10");
    shop.variants(&rows);
    shop.write(
        "listing_products.csv",
        "listing_id,supplier,product\nKL-20,alder-print,Poster\nKL-20,alder-print,Apron\nKL-21,alder-print,Poster\n",
    );
    shop
}

fn rows(shop: &Shop, arguments: &[&str]) -> Vec<Value> {
    let all =
        ["links", "sheet", "--from", ".", "--listing", "KL-20", "--sku-part", "OTTER-", "--format", "jsonl"];
    let run = shop.run(&[&all[..], arguments].concat());
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    run.json_lines()
}

/// One column of all rows that can be bought, each value once, in the order of the rows.
fn column(rows: &[Value], name: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for row in rows.iter().filter(|row| row["buyable"] == true) {
        let value = if row[name].is_null() { &row["options"][name] } else { &row[name] };
        let value = value.as_str().unwrap_or_default().to_owned();
        if !all.contains(&value) {
            all.push(value);
        }
    }
    all
}

const APRON: [&str; 2] = ["--product", "alder-print:Apron"];

#[test]
fn without_products_those_are_sold_that_the_owner_picked_for_the_listing() {
    let shop = shop();
    let rows = rows(&shop, &["--margin", "40%"]);
    assert_eq!(
        column(&rows, "Item"),
        ["Small apron", "Medium apron", "Large apron", "A4 poster", "A3 poster"],
        "by supplier and product, whatever the order of the table"
    );
}

#[test]
fn products_stand_in_the_order_in_which_they_are_named_with_their_own_names_and_prices() {
    let shop = shop();
    let products =
        ["--product", "alder-print:tote bag, strong=Market bag@15", "--product", "alder-print:Apron@30.00"];
    let rows = rows(&shop, &products);
    assert_eq!(column(&rows, "Item"), ["Market bag", "Small apron", "Medium apron", "Large apron"]);
    assert_eq!(column(&rows, "price"), ["15.00", "30.00"]);
}

#[test]
fn sizes_and_colours_are_lists_and_colours_keep_their_order() {
    let shop = shop();
    let margin = ["--margin", "40%"];
    let apron = |more: &[&str]| rows(&shop, &[&APRON[..], &margin, more].concat());
    let all = apron(&[]);
    assert_eq!(
        (column(&all, "Size"), column(&all, "Colour")),
        (strings(&["S", "M", "L"]), strings(&["Moss", "Navy", "Plum"]))
    );
    let some = apron(&["--size", "large, s", "--colour", "plum", "--colour", "Moss"]);
    assert_eq!(
        (column(&some, "Size"), column(&some, "Colour")),
        (strings(&["S", "L"]), strings(&["Plum", "Moss"]))
    );
}

fn strings(texts: &[&str]) -> Vec<String> {
    texts.iter().map(ToString::to_string).collect()
}

#[test]
fn a_margin_is_an_amount_or_a_share_of_price_or_cost_and_prices_are_rounded_as_wanted() {
    let shop = shop();
    let small = ["--size", "S"];
    for (margin, round, price) in [
        ("40 %", "unit", "20.17"),
        ("40 %", ".95", "20.95"),
        ("6", "unit", "18.10"),
        ("6.00", "9.90", "19.90"),
        ("60% of cost", "unit", "19.36"),
        ("60 % of cost", "step 0.50", "19.50"),
    ] {
        let rows = rows(&shop, &[&APRON[..], &small, &["--margin", margin, "--round", round]].concat());
        assert_eq!(column(&rows, "price"), [price], "{margin}, {round}");
    }
}

#[test]
fn what_has_one_price_and_a_fixed_price_are_as_asked() {
    let shop = shop();
    let asked =
        |more: &[&str]| column(&rows(&shop, &[&APRON[..], &["--margin", "6"], more].concat()), "price");
    assert_eq!(asked(&[]), ["18.10", "20.10"], "a plum L costs more, so each L does");
    assert_eq!(asked(&["--one-price-for", "good"]), ["20.10"]);
    let each = rows(&shop, &[&APRON[..], &["--margin", "6", "--one-price-for", "each"]].concat());
    assert_eq!(each.iter().filter(|row| row["price"] == "20.10").count(), 1);
    assert_eq!(asked(&["--price", "25"]), ["25.00"]);
    let without = rows(&shop, &[&APRON[..], &["--price", "25"]].concat());
    assert_eq!(column(&without, "price"), ["25.00"], "no margin is needed where the price is fixed");
}

#[test]
fn the_title_and_the_currency_are_as_asked() {
    let shop = shop();
    let text = shop.read("variants.csv").replace(",EUR,", ",JPY,");
    shop.write("variants.csv", &text);
    let asked = [
        "--size",
        "S",
        "--colour",
        "Moss",
        "--margin",
        "40 %",
        "--title",
        " Otter at the stove ",
        "--currency",
        "JPY",
    ];
    let row = &rows(&shop, &[&APRON[..], &asked].concat())[0];
    assert_eq!(
        (&row["title"], &row["currency"], &row["price"]),
        (&"Otter at the stove".into(), &"JPY".into(), &"21".into())
    );
}

const GERMAN: &str = "[sheet]\nmargin = \"50 %\"\nround = \".90\"\none_price_for = \"good\"\nsize_option = \"Größe\"\n\
    colour_option = \"Farbe\"\nitem_option = \"Artikel\"\nitem_value = \"{good}, {size}\"\none_colour = \"Eine Farbe\"\n";

#[test]
fn the_configuration_has_what_the_command_does_not_say() {
    let shop = shop();
    shop.write("everyline.toml", GERMAN);
    let config = ["--config", "everyline.toml"];
    let apron = rows(&shop, &[&APRON[..], &config].concat());
    assert_eq!(column(&apron, "price"), ["28.90"]);
    assert_eq!(column(&apron, "Größe"), ["S", "M", "L"]);
    assert_eq!(column(&apron, "Farbe"), ["Moss", "Navy", "Plum"]);
    let both = rows(&shop, &config);
    assert_eq!(column(&both, "Artikel"), ["Apron, S", "Apron, M", "Apron, L", "Poster, A4", "Poster, A3"]);
    assert_eq!(column(&both, "Farbe"), ["Moss", "Navy", "Plum", "Eine Farbe"]);
    let other = ["--margin", "6", "--round", "unit", "--one-price-for", "size"];
    assert_eq!(column(&rows(&shop, &[&APRON[..], &config, &other].concat()), "price"), ["18.10", "20.10"]);
    shop.write("two.toml", "[shops.kittiwake.sheet]\nmargin = \"6\"\n[shops.second.sheet]\nmargin = \"7\"\n");
    let second = ["--config", "two.toml", "--shop", "second", "--size", "S"];
    assert_eq!(column(&rows(&shop, &[&APRON[..], &second].concat()), "price"), ["19.10"]);
    let check = shop.run(&["config", "check", "--config", "everyline.toml"]);
    check.says(
        0,
        &[
            "For new listings 50 % of the price is to be left; prices end in .90; a good has one price.",
            "Their options are \"Größe\" and \"Farbe\", of several goods \"Artikel\" as \"{good}, {size}\" and \"Farbe\", of \
             a good without colours \"Eine Farbe\".",
        ],
    );
}

#[test]
fn without_a_folder_it_is_made_from_what_the_ledger_knows() {
    let shop = Shop::new();
    std::fs::create_dir(shop.path().join("tables")).unwrap();
    std::fs::rename(shop.path().join("variants.csv"), shop.path().join("tables/variants.csv")).unwrap();
    shop.write(
        "tables/listing_products.csv",
        "listing_id,supplier,product\nKL-20,alder-print,Apron\nKL-20,alder-print,\"Tote bag, strong\"\n",
    );
    for (name, header) in [
        ("orders", "order_id,placed_at,status"),
        ("order_lines", "order_id,line_id,quantity"),
        ("submissions", "supplier,submission_id,status,received_at"),
        ("submission_lines", "supplier,submission_id,line_id,quantity"),
    ] {
        shop.write(&format!("tables/{name}.csv"), &format!("{header}\n"));
    }
    shop.write(
        "everyline.toml",
        "[sources.tables]\nrole = \"storefront\"\nfolder = \"tables\"\n[sheet]\nmargin = \"40 %\"\n",
    );
    let sheet = ["links", "sheet", "--listing", "KL-20"];
    shop.run(&sheet).says(2, &["there is nothing to look at yet"]);
    let round = shop.run(&["watch", "--once"]);
    assert!(round.code < 2, "{}", round.err);
    let of_ledger = shop.run(&sheet);
    assert_eq!((of_ledger.code, of_ledger.err.as_str()), (0, ""));
    let of_folder =
        shop.run(&["links", "sheet", "--listing", "KL-20", "--from", "tables", "--config", "everyline.toml"]);
    assert_eq!(of_ledger.out, of_folder.out);
    assert!(of_ledger.out.contains("9 rows: 5 on sale"), "{}", of_ledger.out);
}

#[test]
fn rows_that_are_skipped_are_said_and_the_answer_is_not_complete() {
    let shop = Shop::new();
    let text = shop.read("variants.csv").replace("AP-S-Moss,12.10", "AP-S-Moss,dear");
    shop.write("variants.csv", &text);
    shop.sheet(&[])
        .says(2, &["error: no offer table was filled in", "\"dear\" is not an amount", "--skip-bad-rows"]);
    shop.sheet(&["--skip-bad-rows"]).says(3, &["9 rows: 4 on sale", "not complete: 1 rows were skipped"]);
}
