//! A storefront that declares no way to change a SKU: a table for its own bulk edit, and what is not in it.

use chrono::TimeDelta;
use everyline::live::world::Machine;
use intake::source::http::World;
use serde_json::json;

use crate::shop::Shop;

const CONFIGURATION: &str =
    "zone = \"Europe/Oslo\"\n[sources.tables]\nrole = \"storefront\"\nfolder = \"tables\"\n";

/// A template with a column of each kind.
const TEMPLATE: &str = r#"[sources.tables.sku_table]
separator = ";"
columns = [
  { heading = "Item id", cell = "{listing_id}" },
  { heading = "Name", cell = "{title}" },
  { heading = "Choice", cell = "{option.size}/{option.Colour}" },
  { heading = "Old", cell = "{old_sku}" },
  { heading = "SKU", cell = "{sku}" },
]
"#;

const OFFERS: &str = r#"listing_id,sku,title,options,buyable
L1,,"Fern apron; ""long""","{""Size"": ""Large"", ""Colour"": ""Moss""}",true
L1,AP-OLD,"Fern apron; ""long""","{""Size"": ""Large"", ""Colour"": ""Navy""}",true
L2,-7,Mug,{},true
L3,CARD,Card,{},true
L4,BOX-9,Gift set,{},true
L5,HID,Hidden apron,{},false
"#;

const VARIANTS: &str = r#"supplier,variant_id,sku,product,options,available
alder-print,K-L-MO,AP-L-MO,Kitchen apron,"{""size"": ""L"", ""color"": ""moss""}",
alder-print,K-L-NA,AP-L-NA,Kitchen apron,"{""size"": ""L"", ""color"": ""navy""}",
alder-print,M-LOW,=MU-LOW,"Mug, low",{},
alder-print,BOX,BOX-1,Gift box,{},
alder-print,TWIN-A,TWIN,Twin,{},
alder-print,TWIN-B,TWIN,Twin,{},
alder-print,GONE,GONE-1,Gone,{},false
"#;

const MOSS: [&str; 4] = ["--listing", "L1", "--option", "Colour=Moss"];
const NAVY: [&str; 4] = ["--listing", "L1", "--option", "Colour=Navy"];

fn shop(template: &str, offers: &str) -> Shop {
    let shop = Shop::of(&format!("{CONFIGURATION}{template}"));
    let yesterday = (Machine.now() - TimeDelta::days(1)).to_rfc3339();
    for (name, text) in [
        ("offers.csv", offers),
        ("variants.csv", VARIANTS),
        ("orders.csv", &format!("order_id,placed_at,status\nO1,{yesterday},open\n")),
        ("order_lines.csv", "order_id,line_id,listing_id,sku,quantity\nO1,1,L3,CARD,1\n"),
        ("submissions.csv", "supplier,submission_id,status,received_at\n"),
        ("submission_lines.csv", "supplier,submission_id,line_id,quantity\n"),
    ] {
        shop.write(&format!("tables/{name}"), text);
    }
    shop.round();
    shop
}

fn link(shop: &Shop, what: &[&str], to: &[&str]) {
    shop.set(&[what, to].concat()).says(0, &[]);
}

#[test]
fn without_a_template_the_table_has_the_columns_of_an_exchange_file() {
    let shop = shop("", OFFERS);
    link(&shop, &MOSS, &["alder-print:K-L-MO"]);
    link(&shop, &NAVY, &["alder-print:K-L-NA"]);
    let run = shop.send(&[]).says(1, &["2 offers to send. Nothing was changed."]);
    assert_eq!(
        run.out,
        "listing_id,options,old_sku,sku\r\n\
         L1,\"{\"\"Colour\"\":\"\"Moss\"\",\"\"Size\"\":\"\"Large\"\"}\",,AP-L-MO\r\n\
         L1,\"{\"\"Colour\"\":\"\"Navy\"\",\"\"Size\"\":\"\"Large\"\"}\",AP-OLD,AP-L-NA\r\n"
    );
    let lines = shop.send(&["--format", "jsonl"]).says(1, &[]).json_lines();
    assert_eq!(
        lines[1],
        json!({"listing_id": "L1", "options": {"Size": "Large", "Colour": "Navy"}, "title": "Fern apron; \"long\"",
            "old_sku": "AP-OLD", "new_sku": "AP-L-NA", "status": "to-send", "why": null})
    );
    shop.send(&["--format", "table"]).says(
        1,
        &[
            "L1 Fern apron; \"long\"",
            "to send Colour: Moss, Size: Large: no SKU -> AP-L-MO",
            "to send Colour: Navy, Size: Large: AP-OLD -> AP-L-NA",
            "Source tables does not declare how a SKU is changed: --out FILE writes the table",
        ],
    );
    shop.send(&["--yes"])
        .says(2, &["nothing was changed", "source tables does not declare how a SKU is changed"]);
    assert!(!shop.path().join("everyline.db.skus-shop-1.jsonl").exists());
}

#[test]
fn the_owners_template_says_how_the_table_looks() {
    let shop = shop(TEMPLATE, OFFERS);
    link(&shop, &MOSS, &["alder-print:K-L-MO"]);
    link(&shop, &["--listing", "L2"], &["alder-print:M-LOW"]);
    let run = shop.send(&["--out", "skus.csv"]).says(
        1,
        &[
            "to send nothing to choose: -7 -> =MU-LOW",
            "The table is in skus.csv.",
            "2 ids or SKUs stand in the table",
        ],
    );
    assert_eq!(
        shop.read("skus.csv"),
        "Item id;Name;Choice;Old;SKU\r\n\
         L1;\"Fern apron; \"\"long\"\"\";Large/Moss;;AP-L-MO\r\n\
         L2;Mug;/;-7;=MU-LOW\r\n"
    );
    assert!(!run.out.contains("Item id"), "{}", run.out);
    // What is there is not written over.
    shop.send(&["--out", "skus.csv"])
        .says(2, &["the table was not written", "give --out a file that is not there"]);
    shop.send(&["--listing", "L2", "--out", "two.csv"]).says(1, &["1 offer to send"]);
    assert_eq!(shop.read("two.csv").lines().count(), 2);
    shop.run(&["config", "check"])
        .says(0, &["A row of it: Item id \"KL-2\", Name \"Puffin T-shirt\", Choice \"Large/Large\""]);
}

#[test]
fn what_no_sku_can_say_is_not_in_the_table_and_is_named_with_what_to_do() {
    let shop = shop("", OFFERS);
    link(&shop, &MOSS, &["alder-print:TWIN-A", "--despite-contradiction"]);
    link(&shop, &NAVY, &["alder-print:GONE", "--despite-contradiction"]);
    link(&shop, &["--listing", "L2"], &["alder-print:M-LOW=2"]);
    link(&shop, &["--listing", "L3"], &["own"]);
    link(&shop, &["--listing", "L4"], &["alder-print:BOX", "alder-print:M-LOW"]);
    link(&shop, &["--listing", "L5"], &["alder-print:K-L-MO", "--despite-contradiction"]);
    let texts = [
        "not sent Colour: Moss, Size: Large: Its SKU TWIN is also that of TWIN-B of alder-print",
        "not sent Colour: Navy, Size: Large: The supplier does not make GONE of alder-print now.",
        "not sent nothing to choose: One unit needs 2 of the variant, and a SKU means one.",
        "not sent nothing to choose: It is a set, and one SKU names one thing.",
        "not sent nothing to choose: It is not on sale. It is sent once it is.",
        "0 offers to send, 5 not sent, 1 that you pack yourself.",
    ];
    shop.send(&[]).says(1, &texts);
    // Own stock and what is off sale wait for nobody.
    shop.send(&["--listing", "L3", "--listing", "L5"])
        .says(0, &["0 offers to send, 1 not sent, 1 that you pack"]);
    let checked = shop.run(&["links", "check", "--listing", "L3"]).says(0, &["any colour o"]);
    assert!(!checked.out.contains('+'), "what you pack yourself does not look like a link: {}", checked.out);
    shop.send(&["--listing", "L7"]).says(2, &["no offer is of a listing \"L7\""]);
}

#[test]
fn free_text_that_would_be_a_formula_is_refused_and_named() {
    let hostile = OFFERS.replace("L2,-7,Mug,", "L2,-7,\"=HYPERLINK(\"\"x\"\")\",");
    let shop = shop(TEMPLATE, &hostile);
    link(&shop, &MOSS, &["alder-print:K-L-MO"]);
    link(&shop, &["--listing", "L2"], &["alder-print:M-LOW"]);
    let said =
        ["a cell of free text would be taken for a formula", "listing L2 (nothing to choose), column Name"];
    let run = shop.send(&["--out", "skus.csv"]).says(2, &said);
    assert!(!shop.path().join("skus.csv").exists(), "{run:?}");
    // Where the owner has said that it is a text, it is written.
    shop.write(
        "everyline.toml",
        &format!("{CONFIGURATION}{}", TEMPLATE.replace("\"{title}\"", "\"'{title}\"")),
    );
    let run = shop.send(&["--format", "csv"]).says(1, &[]);
    assert!(run.out.contains("L2;\"'=HYPERLINK(\"\"x\"\")\";/;-7;=MU-LOW\r\n"), "{}", run.out);
    // An option that no offer has would leave a column empty in silence.
    shop.write(
        "everyline.toml",
        &format!("{CONFIGURATION}{}", TEMPLATE.replace("{option.size}", "{option.Sise}")),
    );
    shop.send(&[])
        .says(2, &["sku_table asks for the option \"sise\", and no offer has one; there is colour, size"]);
}

#[test]
fn once_the_storefront_bears_the_sku_nothing_is_left_to_do() {
    let shop = shop("", OFFERS);
    link(&shop, &MOSS, &["alder-print:K-L-MO"]);
    shop.send(&[]).says(1, &[]);
    shop.write("tables/offers.csv", &OFFERS.replacen("L1,,", "L1,ap-l-mo,", 1));
    shop.round();
    let run = shop.send(&[]).says(0, &["0 offers to send, 1 linked already."]);
    assert!(!run.out.contains("listing_id"), "{}", run.out);
}

#[test]
fn a_row_of_a_source_that_is_asked_before_the_sku_is_named() {
    let shop = shop("", OFFERS);
    shop.write("tables/links.csv", "listing_id,supplier,variant_id\nL1,alder-print,K-L-NA\n");
    shop.round();
    link(&shop, &MOSS, &["alder-print:K-L-MO"]);
    shop.send(&[]).says(
        1,
        &["A link for listing L1 leads elsewhere and is asked first", "0 offers to send, 1 not sent"],
    );
}
