//! `everyline links set`, `import` and `export` on a ledger that a folder fills, as an owner calls them.
//!
//! Start reading at [`Shop`] and the names of the tests.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::fs;
use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use assert_cmd::cargo::cargo_bin;
use chrono::TimeDelta;
use everyline::live::world::Machine;
use intake::source::http::World;
use serde_json::Value;
use tempfile::TempDir;

const CONFIGURATION: &str = "zone = \"Europe/Oslo\"\n\
    [sources.tables]\nrole = \"storefront\"\nfolder = \"tables\"\n";

/// Aprons in two colours, two mugs that only the owner can tell apart, once more the first of them, and a card.
const OFFERS: &str = r#"listing_id,sku,title,options,price,currency
L1,,Fern apron,"{""Size"": ""Large"", ""Colour"": ""Moss""}",30,EUR
L1,,Fern apron,"{""Size"": ""Large"", ""Colour"": ""Navy""}",30,EUR
L2,,Fern mugs,"{""Mug"": ""Mug A""}",12,EUR
L2,,Fern mugs,"{""Mug"": ""Mug B""}",12,EUR
L3,,Moss mugs,"{""Mug"": ""Mug A""}",12,EUR
L4,CARD,Fern card,{},3,EUR
"#;

const VARIANTS: &str = r#"supplier,variant_id,sku,product,options,unit_cost,currency,available
alder-print,K-L-MO,AP-L-MO,Kitchen apron,"{""size"": ""L"", ""color"": ""moss""}",9,EUR,
alder-print,K-L-NA,AP-L-NA,Kitchen apron,"{""size"": ""L"", ""color"": ""navy""}",9,EUR,
alder-print,M-LOW,MU-LOW,"Mug, low",{},4,EUR,
alder-print,M-TALL,MU-TALL,"Mug, tall",{},5,EUR,false
alder-print,BOX,,Gift box,{},1,EUR,
"#;

/// One unit of the moss apron and one card.
const ORDER_LINES: &str = r#"order_id,line_id,listing_id,sku,options,quantity
O1,1,L1,,"{""Size"": ""Large"", ""Colour"": ""Moss""}",1
O1,2,L4,CARD,{},1
"#;

struct Shop(TempDir);

/// What a run wrote, and its code.
#[derive(Debug)]
struct Run {
    out: String,
    err: String,
    code: i32,
}

impl Run {
    /// Looks whether it ended so, and said all of this, line breaks apart.
    #[track_caller]
    fn says(self, code: i32, texts: &[&str]) -> Self {
        let all = format!("{}{}", self.out, self.err);
        assert_eq!(self.code, code, "{all}");
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for text in texts {
            assert!(flat(&all).contains(&flat(text)), "{text:?} is not in\n{all}");
        }
        self
    }

    fn json_lines(&self) -> Vec<Value> {
        self.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }
}

impl Shop {
    fn new() -> Self {
        let shop = Self(tempfile::tempdir().unwrap());
        shop.write("everyline.toml", CONFIGURATION);
        fs::create_dir(shop.0.path().join("tables")).unwrap();
        let yesterday = (Machine.now() - TimeDelta::days(1)).to_rfc3339();
        for (name, text) in [
            ("offers.csv", OFFERS),
            ("variants.csv", VARIANTS),
            ("orders.csv", &format!("order_id,placed_at,status\nO1,{yesterday},open\n")),
            ("order_lines.csv", ORDER_LINES),
            ("submissions.csv", "supplier,submission_id,status,received_at\n"),
            ("submission_lines.csv", "supplier,submission_id,line_id,quantity\n"),
        ] {
            shop.write(&format!("tables/{name}"), text);
        }
        shop.round();
        shop
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.0.path().join(name), text).unwrap();
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(cargo_bin!("everyline"));
        command.args(arguments).current_dir(self.0.path()).env("COLUMNS", "80");
        command
    }

    fn run(&self, arguments: &[&str]) -> Run {
        let output = self.command(arguments).output().unwrap();
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        Run { out: text(&output.stdout), err: text(&output.stderr), code: output.status.code().unwrap() }
    }

    /// Reads the folder, and judges.
    #[track_caller]
    fn round(&self) -> String {
        let run = self.run(&["watch", "--once"]);
        assert!(run.code < 2, "{}", run.err);
        run.out
    }

    fn set(&self, arguments: &[&str]) -> Run {
        self.run(&[&["links", "set"], arguments].concat())
    }

    fn export(&self, arguments: &[&str]) -> String {
        self.run(&[&["links", "export"], arguments].concat()).says(0, &[]).out
    }

    fn findings(&self) -> Vec<Value> {
        let run = self.run(&["audit", "--format", "jsonl"]);
        assert!(run.code < 2, "{}", run.err);
        run.json_lines()
    }

    /// Why the lines of the order are named, by line.
    fn reasons(&self) -> Vec<(String, String)> {
        let findings = self.findings();
        let named = findings.iter().filter(|finding| finding["order_id"] == "O1");
        let lines = named.flat_map(|finding| finding["lines"].as_array().unwrap().clone());
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        let mut lines: Vec<_> = lines.map(|line| (text(&line["line_id"]), text(&line["reason"]))).collect();
        lines.sort();
        lines
    }

    /// What is said of the offers of a listing that have no link in force: options, reason, what is intended.
    fn unlinked(&self, listing: &str) -> Vec<Value> {
        let findings = self.findings();
        let of_listing = |finding: &&Value| {
            finding["check"] == "offer-unlinked" && finding["evidence"]["listing_id"] == listing
        };
        findings
            .iter()
            .find(of_listing)
            .map(|finding| finding["evidence"]["offers"].as_array().unwrap().clone())
            .unwrap_or_default()
    }
}

const MOSS: [&str; 6] = ["--listing", "L1", "--option", "Size=Large", "--option", "Colour=Moss"];
const MUG_A: [&str; 4] = ["--listing", "L2", "--option", "Mug=Mug A"];

fn with<'a>(first: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    [first, more].concat()
}

#[test]
fn a_link_is_intended_until_the_storefronts_sku_leads_there() {
    let shop = Shop::new();
    assert_eq!(shop.unlinked("L1").len(), 2);
    shop.set(&with(&MOSS, &["alder-print:K-L-MO", "--by", "kim", "--why", "new apron"])).says(
        0,
        &[
            "Kept as change 1, by kim. `everyline links set --undo 1` takes it back.",
            "new offer L1 (Moss, Large) leads to alder-print:K-L-MO (SKU AP-L-MO)",
            "It is intended: it counts as in force once the SKU at the storefront, or the supplier, is seen to lead \
             there (now it has no SKU).",
        ],
    );
    // At the next round it is known, and named as what is intended; the order's line too.
    shop.round();
    let offers = shop.unlinked("L1");
    assert_eq!(offers[0]["intended"][0]["variant_id"], "K-L-MO");
    assert_eq!(offers[1]["intended"], Value::Array(Vec::new()));
    assert_eq!(shop.reasons()[0], ("1".to_owned(), "no-link".to_owned()));
    let found = shop.run(&["findings", "--check", "unsent-order"]);
    found.says(1, &["intended and not in force yet"]);
    let check = shop.run(&["links", "check", "--listing", "L1"]);
    check.says(
        1,
        &["offers without a link: 1; with one that you intend, not in force yet: 1", "moss   ~", "navy   !"],
    );
    // What the storefront says later is what is in force, for offers and for order lines, whichever bears the SKU first.
    let offers = OFFERS.replacen("L1,,", "L1,ap-l-mo,", 1);
    shop.write("tables/offers.csv", &offers);
    shop.write("tables/order_lines.csv", &ORDER_LINES.replace("O1,1,L1,,", "O1,1,L1,AP-L-MO,"));
    shop.round();
    assert_eq!(shop.unlinked("L1").len(), 1);
    assert_eq!(shop.reasons()[0], ("1".to_owned(), "not-sent".to_owned()));
    shop.set(&with(&MOSS, &["alder-print:K-L-MO"])).says(0, &["It stands so already; nothing was changed."]);
    // Another SKU there: it leads elsewhere than intended.
    shop.write("tables/offers.csv", &OFFERS.replacen("L1,,", "L1,AP-L-NA,", 1));
    shop.round();
    let offers = shop.unlinked("L1");
    assert_eq!(offers[0]["reason"], Value::Null);
    assert_eq!(offers[0]["in_force"][0]["variant_id"], "K-L-NA");
    assert_eq!(offers[0]["intended"][0]["variant_id"], "K-L-MO");
}

#[test]
fn own_stock_and_what_the_owner_says_is_in_force_are_in_force() {
    let shop = Shop::new();
    shop.set(&["--listing", "L4", "own"]).says(0, &["offer L4 (SKU CARD) leads to own", "It is own stock"]);
    shop.set(&with(&MOSS, &["alder-print:AP-L-MO", "--in-force"])).says(
        0,
        &[
            "offer L1 (Moss, Large) leads to alder-print:K-L-MO (SKU AP-L-MO), in force",
            "It counts as in force, for you say so.",
        ],
    );
    shop.set(&["--sku", "card", "own"]).says(0, &["SKU card leads to own"]);
    assert_eq!(shop.unlinked("L4"), [Value::Null; 0]);
    assert_eq!(shop.unlinked("L1").len(), 1);
    assert_eq!(shop.reasons(), [("1".to_owned(), "not-sent".to_owned())], "the card is packed by the shop");
    // A set of both: what the shop adds is in force, the rest is not.
    shop.set(&with(&MOSS, &["own", "alder-print:K-L-MO", "alder-print:BOX=2"])).says(
        0,
        &["changed offer L1 (Moss, Large) leads to alder-print:BOX=2 + alder-print:K-L-MO (SKU AP-L-MO) + own; it was"],
    );
    assert_eq!(shop.unlinked("L1").len(), 2);
    shop.set(&with(&MOSS, &["own", "alder-print:K-L-MO"])).says(0, &[]);
    shop.write("tables/offers.csv", &OFFERS.replacen("L1,,", "L1,AP-L-MO,", 1));
    shop.round();
    assert_eq!(shop.unlinked("L1").len(), 1, "the SKU leads to all that a supplier makes of it");
}

#[test]
fn what_is_not_there_is_said_with_the_nearest_that_is_and_nothing_is_kept() {
    let shop = Shop::new();
    let to = "alder-print:K-L-MO";
    let moss = |more: &'static str| with(&MOSS, &[more]);
    let cases: Vec<(Vec<&str>, &[&str])> = vec![
        (vec!["--listing", "L11", to], &["no offer is of a listing \"L11\"; the nearest is L1"]),
        (vec!["--sku", "CRAD", to], &["bears the SKU \"CRAD\"; the nearest is CARD"]),
        (
            vec!["--listing", "L1", "--option", "Tint=Moss", to],
            &["listing L1 has no option \"Tint\"; its options are Colour, Size"],
        ),
        (
            vec!["--listing", "L1", "--option", "colour=Mos", to],
            &["no offer of listing L1 has colour \"Mos\"; the nearest is Moss; there is Moss, Navy"],
        ),
        (
            vec!["--listing", "L1", "--option", "Size=Large", to],
            &[
                "2 offers of listing L1 have Size=Large; expected is what tells them apart: Colour (Moss, Navy)",
            ],
        ),
        (vec!["--listing", "L4", "--option", "Size=A6", to], &["listing L4 has nothing to choose"]),
        (moss("alder-prnt:K-L-MO"), &["there is no supplier \"alder-prnt\"; the nearest is alder-print"]),
        (moss("alder-print:K-L-MOS"), &["alder-print has no variant \"K-L-MOS\"; the nearest is K-L-MO"]),
        (moss("K-L-MO"), &["\"K-L-MO\" does not say whose it is", "SUPPLIER:VARIANT, or own"]),
        (moss("alder-print:BOX=0"), &["alder-print has no variant \"BOX=0\""]),
        (with(&MOSS, &[to, "alder-print:AP-L-MO"]), &["alder-print:AP-L-MO is named twice", "=UNITS"]),
        (with(&MOSS, &["--remove"]), &["you have made no link for offer L1 (Moss, Large)"]),
        (vec!["--good", "mug: z", "--remove"], &["no rule is for it", "mug: z"]),
        (with(&MUG_A, &["--product", "alder-print:Mug"]), &["has no product \"Mug\"; the nearest is Mug, "]),
        (
            with(&MUG_A, &["--product", "alder-print:Kitchen apron"]),
            &["another kind of product", "--despite-contradiction"],
        ),
        (vec!["--undo", "3"], &["there is no change 3 of links", "`everyline links export --history`"]),
        (with(&moss(to), &["--by", " "]), &["the name after --by is empty"]),
    ];
    for (arguments, texts) in cases {
        let run = shop.set(&arguments).says(2, texts);
        assert!(run.out.is_empty() && run.err.starts_with("error: nothing was "), "{run:?}");
    }
    for usage in
        [&[to][..], &["--listing", "L1"], &["--listing", "L1", "--sku", "S", to], &["--option", "a=b", to]]
    {
        assert_eq!(shop.set(usage).code, 2, "{usage:?}");
    }
    assert_eq!(
        shop.export(&["--format", "table"]),
        "You have made no links. `everyline links set` makes one.\n"
    );
    assert!(shop.export(&["--history"]).starts_with("You have changed no links yet."));
}

#[test]
fn a_contradiction_is_kept_only_where_it_is_meant() {
    let shop = Shop::new();
    let told = [
        "offer L1 (Moss, Large) says apron, L, moss",
        "alder-print:K-L-NA (SKU AP-L-NA) says apron, L, navy: another colour",
    ];
    let wrong = with(&MOSS, &["alder-print:K-L-NA"]);
    let run = shop.set(&wrong).says(2, &told);
    assert!(run.out.is_empty());
    assert_eq!(shop.export(&[]).lines().count(), 1);
    let run = shop.set(&with(&wrong, &["--despite-contradiction"])).says(0, &told);
    assert!(run.err.starts_with("warning: kept although"), "{}", run.err);
    assert!(shop.findings().iter().any(|finding| finding["check"] == "link-mismatch"));
    // What cannot be had, and what costs more than it brings, is said and kept.
    shop.set(&with(&MUG_A, &["alder-print:M-TALL=3", "--no-rule"]))
        .says(0, &["warning: ", "M-TALL, which alder-print cannot supply now", "a loss of 3.00 EUR on each"]);
}

#[test]
fn an_answer_to_one_offer_is_a_rule_for_its_good() {
    let shop = Shop::new();
    let status = |shop: &Shop, listing: &str| -> Vec<(String, String)> {
        let lines = shop.run(&["links", "propose", "--format", "jsonl", "--listing", listing]).json_lines();
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        lines.iter().map(|line| (text(&line["status"]), text(&line["variant_id"]))).collect()
    };
    let pair = |status: &str, variant: &str| (status.to_owned(), variant.to_owned());
    assert_eq!(status(&shop, "L3"), [pair("choose", "")]);
    shop.run(&["links", "propose", "--listing", "L2"])
        .says(1, &["everyline links set --listing L2 --option 'Mug=Mug A' --product SUPPLIER:PRODUCT"]);
    shop.set(&with(&MUG_A, &["alder-print:M-LOW"])).says(
        0,
        &[
            "new good 'mug: a' is alder-print:Mug, low",
            "new offer L2 (Mug A) leads to alder-print:M-LOW",
            "your answer is also kept as a rule: each 'mug: a' is 'Mug, low' of alder-print",
        ],
    );
    assert_eq!(status(&shop, "L3"), [pair("proposed", "M-LOW")]);
    assert_eq!(status(&shop, "L2")[0], pair("proposed", "M-LOW"));
    shop.run(&["links", "export", "--rules", "--format", "table"])
        .says(0, &["good 'mug: a' is alder-print:Mug, low", "change 1, "]);
    // For one offer something else may hold; the rule stands.
    shop.set(&["--listing", "L3", "--option", "Mug=Mug A", "alder-print:M-TALL"])
        .says(0, &["Your rule says that each 'mug: a' is 'Mug, low': it stands for the others"]);
    assert_eq!(shop.export(&["--rules"]).lines().count(), 2);
    // Taken away by itself, and given again by name.
    shop.set(&["--good", "Mug: A", "--remove"])
        .says(0, &["taken away good 'mug: a'; it was alder-print:Mug, low"]);
    assert_eq!(status(&shop, "L3"), [pair("choose", "")]);
    shop.set(&["--good", "mug: a", "--product", "alder-print:Mug, tall"]).says(
        0,
        &["2 offers on sale now are such a good; 2 are proposed by it, 2 of them otherwise than before."],
    );
    assert_eq!(status(&shop, "L3"), [pair("proposed", "M-TALL")]);
    shop.set(&["--listing", "L2", "--option", "Mug=Mug B", "--product", "alder-print:Mug, low"])
        .says(0, &["1 offer on sale now is such a good; 1 is proposed by it"]);
    // Both the link and the rule of the first answer go with it.
    shop.set(&["--undo", "1"]).says(2, &["change 1 of links cannot be taken back by itself", "Take change"]);
    let kept = shop.set(&["--listing", "L2", "alder-print:M-LOW", "--no-rule"]);
    kept.says(0, &["listing L2 leads to alder-print:M-LOW", "It decides 1 offer."]);
}

#[test]
fn proposals_are_kept_in_bulk_where_that_is_said() {
    let shop = Shop::new();
    shop.set(&["--proposed"]).says(
        0,
        &[
            "Proposed for 2 offers that have no link:",
            "L1: 2 offers to alder-print:Kitchen apron (Moss, Large; Navy, Large)",
            "4 offers without a link are left",
            "Nothing was changed. --yes keeps them",
        ],
    );
    assert_eq!(shop.export(&[]).lines().count(), 1);
    shop.set(&["--proposed", "--listing", "L2", "--yes"])
        .says(0, &["Nothing is proposed that could be kept."]);
    shop.set(&["--proposed", "--listing", "L9"]).says(2, &["no offer is of a listing \"L9\""]);
    shop.set(&["--proposed", "--listing", "L1", "--yes"]).says(0, &["Kept as change 1", "They are intended"]);
    assert_eq!(shop.export(&[]).lines().count(), 3);
    shop.set(&["--proposed"]).says(0, &["Nothing is proposed that could be kept."]);
    shop.set(&["--undo", "1"])
        .says(0, &["Change 1 is taken back, by change 2.", "taken away offer L1 (Moss, Large)"]);
    assert_eq!(shop.export(&[]).lines().count(), 1);
    // A proposal that a reading contradicts is left out, unless it is meant.
    let grey = OFFERS.replacen("Moss\"\"}\",30", "Grey\"\"}\",30", 1);
    shop.write("tables/offers.csv", &grey);
    shop.write("tables/variants.csv", &VARIANTS.replace("moss", "heather grey"));
    shop.round();
    let run = shop.set(&["--proposed", "--yes"]).says(0, &[]);
    if run.err.contains("left out") {
        run.says(0, &["offer L1 (Grey, Large) says apron, L, grey", "Left out 1 proposal"]);
        assert_eq!(shop.export(&[]).lines().count(), 2);
        shop.set(&["--proposed", "--yes", "--despite-contradiction"])
            .says(0, &["warning: offer and variant"]);
    }
    assert_eq!(shop.export(&[]).lines().count(), 3);
}

const TABLE: &str = r#"listing_id,sku,option.Size,option.Colour,supplier,variant_id,units,in_force
L1,,Large,Moss,alder-print,K-L-MO,,
L1,,Large,Moss,alder-print,BOX,2,
L1,,Large,Navy,alder-print,K-L-NA,,true
,CARD,,,own,,,
L3,,,,alder-print,M-LOW,,false
"#;

#[test]
fn a_table_is_kept_as_one_change_and_what_is_exported_reads_back() {
    let shop = Shop::new();
    shop.write("links.csv", TABLE);
    shop.write("rules.csv", "product_type,words,supplier,product\nmug,a,alder-print,\"Mug, low\"\n");
    let import = ["links", "import", "links.csv", "--rules", "rules.csv", "--by", "kim"];
    shop.run(&import).says(
        0,
        &[
            "6 rows would change 5 links and rules:",
            "new offer L1 (Moss, Large) leads to alder-print:BOX=2 + alder-print:K-L-MO (SKU AP-L-MO)",
            "new offer L1 (Navy, Large) leads to alder-print:K-L-NA (SKU AP-L-NA), in force",
            "Nothing was changed. --yes keeps it, as one change.",
        ],
    );
    assert_eq!(shop.export(&[]).lines().count(), 1);
    let kept = shop
        .run(&with(&import, &["--yes"]))
        .says(0, &["Kept as change 1, by kim: 5 links and rules changed."]);
    assert!(kept.err.is_empty(), "{}", kept.err);
    shop.run(&with(&import, &["--yes"])).says(0, &["All 6 rows stand so already; nothing was changed."]);
    let exported: Vec<(String, String)> = ["csv", "jsonl"]
        .iter()
        .map(|format| {
            let of = |arguments: &[&str]| shop.export(&with(arguments, &["--format", format]));
            (of(&[]), of(&["--rules"]))
        })
        .collect();
    assert_eq!(exported[0].0.lines().count(), 6);
    assert!(
        exported[0].0.contains(
            "L1,,\"{\"\"Colour\"\":\"\"Moss\"\",\"\"Size\"\":\"\"Large\"\"}\",alder-print,BOX,2,false\n"
        ),
        "{}",
        exported[0].0
    );
    for ((links, rules), ending) in exported.iter().zip(["csv", "jsonl"]) {
        shop.set(&["--undo", "1"]).says(0, &[]);
        assert!(shop.export(&[]).lines().count() == 1);
        shop.write(&format!("back.{ending}"), links);
        shop.write(&format!("rules-back.{ending}"), rules);
        let names = [format!("back.{ending}"), format!("rules-back.{ending}")];
        shop.run(&["links", "import", &names[0], "--rules", &names[1], "--yes"])
            .says(0, &["5 links and rules changed"]);
        let again = (shop.export(&["--format", ending]), shop.export(&["--rules", "--format", ending]));
        assert_eq!((&again.0, &again.1), (links, rules));
        let last = shop.run(&["links", "export", "--history", "--format", "jsonl"]).json_lines().len();
        shop.set(&["--undo", &last.to_string()]).says(0, &[]);
        // The first one once more, for the next format.
        shop.set(&["--undo", &(last - 1).to_string()]).says(0, &[]);
        if ending == "csv" {
            assert_eq!(shop.export(&[]), exported[0].0);
            break;
        }
    }
    // What proposing writes is a table of links too.
    let proposed = shop.run(&["links", "propose", "--format", "csv"]).out;
    shop.write("proposed.csv", &proposed);
    shop.run(&["links", "import", "proposed.csv"]).says(0, &["column is not known, and ignored: \"why\""]);
    // Only what is in the table stays, where that is said.
    shop.write("few.csv", &TABLE.lines().take(3).map(|line| format!("{line}\n")).collect::<String>());
    shop.run(&["links", "import", "few.csv", "--replace"])
        .says(0, &["taken away offer L1 (Navy, Large)", "taken away SKU CARD; it was own"]);
    shop.run(&["links", "import", "few.csv"]).says(0, &["stand so already"]);
}

#[test]
fn a_table_with_one_bad_row_keeps_nothing() {
    let shop = Shop::new();
    shop.write(
        "links.csv",
        "listing_id,sku,option.Size,option.Colour,supplier,variant_id,units\n\
        L1,,Large,Moss,alder-print,K-L-MO,\n\
        L1,,Large,Mos,alder-print,K-L-MO,\n\
        L1,,Large,Navy,alder-print,K-L-NAV,\n\
        L9,,,,alder-print,K-L-NA,\n\
        ,CRAD,,,own,,\n\
        L2,,,,alder,M-LOW,\n\
        L3,,,,alder-print,M-LOW,none\n",
    );
    shop.write("rules.csv", "product_type,supplier,product\nmug,alder-print,Mugs\n");
    let run = shop.run(&["links", "import", "links.csv", "--rules", "rules.csv", "--yes"]).says(
        2,
        &[
            "7 of 8 rows cannot be kept:",
            "links.csv, line 3, column options: listing L1 has no offer with Colour: Mos, Size: Large; the nearest has \
             Colour: Moss, Size: Large",
            "links.csv, line 4, column variant_id: alder-print has no variant \"K-L-NAV\"; the nearest is K-L-NA",
            "links.csv, line 5, column listing_id: no offer is of a listing \"L9\"",
            "links.csv, line 6, column sku: neither an offer nor an order line bears the SKU \"CRAD\"; the nearest is CARD",
            "links.csv, line 7, column supplier: there is no supplier \"alder\"; the nearest is alder-print",
            "links.csv, line 8, column units: ",
            "rules.csv, line 2, column product: alder-print has no product \"Mugs\"",
        ],
    );
    assert!(run.out.is_empty());
    assert_eq!(shop.export(&[]).lines().count(), 1);
    shop.write(
        "links.csv",
        &TABLE.replace("K-L-MO", "K-L-NA").replace("Moss,alder-print,BOX", "Moss,alder-print,M-LOW"),
    );
    shop.run(&["links", "import", "links.csv", "--yes"])
        .says(2, &["another colour", "--despite-contradiction"]);
    assert_eq!(shop.export(&["--history", "--format", "csv"]).lines().count(), 1);
    shop.run(&["links", "import", "links.csv", "--yes", "--despite-contradiction"])
        .says(0, &["Kept as change 1"]);
}

#[test]
fn what_a_source_brings_for_the_same_stands_behind_the_owners_word() {
    let shop = Shop::new();
    shop.set(&with(&MOSS, &["alder-print:K-L-MO"])).says(0, &[]);
    let theirs = "listing_id,option.Size,option.Colour,supplier,variant_id\nL1,Large,Moss,alder-print,";
    shop.write("tables/links.csv", &format!("{theirs}K-L-NA\n"));
    shop.round();
    let offers = shop.unlinked("L1");
    assert_eq!(
        (&offers[0]["in_force"][0]["variant_id"], &offers[0]["intended"][0]["variant_id"]),
        (&"K-L-NA".into(), &"K-L-MO".into())
    );
    assert_eq!(shop.reasons()[0].1, "no-link", "the owner's word decides, and is not in force");
    // The source says the same: it is in force. The source says nothing any more: it is intended again.
    shop.write("tables/links.csv", &format!("{theirs}K-L-MO\n"));
    shop.round();
    assert_eq!(shop.unlinked("L1").len(), 1);
    shop.write("tables/links.csv", "listing_id,supplier,variant_id\n");
    shop.round();
    assert_eq!(shop.unlinked("L1").len(), 2);
    assert_eq!(shop.export(&[]).lines().count(), 2, "no source removes it");
    // Said to be in force, it beats the source.
    shop.write("tables/links.csv", &format!("{theirs}K-L-NA\n"));
    shop.round();
    shop.set(&with(&MOSS, &["alder-print:K-L-MO", "--in-force"])).says(0, &[]);
    assert_eq!(shop.unlinked("L1").len(), 1);
    // Taken away, the source's stands by itself.
    shop.set(&with(&MOSS, &["--remove"]))
        .says(0, &["taken away offer L1 (Moss, Large)", "1 offer is of it still linked"]);
    assert!(shop.findings().iter().any(|finding| finding["check"] == "link-mismatch"));
}

#[test]
fn each_change_says_who_when_and_why() {
    let shop = Shop::new();
    shop.set(&with(&MOSS, &["alder-print:K-L-MO", "--why", "as\nagreed"])).says(0, &[]);
    shop.set(&["--undo", "1", "--by", "Åse \u{1b}[31m", "--why", "wrong shop"]).says(0, &[]);
    let history = shop.run(&["links", "export", "--history"]).says(
        0,
        &[
            "change 1, ",
            "(taken back by change 2)",
            "why: as agreed",
            "change 2, Åse",
            ": takes back change 1",
            "why: wrong shop",
        ],
    );
    assert!(!history.out.contains('\u{1b}'));
    let history = shop.run(&["links", "export", "--history"]);
    history.says(0, &["new offer L1 (Moss, Large) leads to alder-print:K-L-MO (SKU AP-L-MO)"]);
    let lines = shop.run(&["links", "export", "--history", "--format", "jsonl"]).json_lines();
    let user = String::from_utf8(Command::new("id").arg("-un").output().unwrap().stdout).unwrap();
    assert_eq!(lines[0]["by"], user.trim(), "the name that the system has for them");
    assert_eq!(lines[0]["steps"][0]["became"][0]["variant_id"], "K-L-MO");
    assert_eq!((&lines[0]["undone_by"], &lines[1]["undoes"]), (&2.into(), &1.into()));
    let table = shop.export(&["--history", "--format", "csv"]);
    assert_eq!(table.lines().next(), Some("change,at,by,why,undoes,undone_by,about,was,became"));
    // To have it again, what took it back is taken back.
    shop.set(&["--undo", "1"]).says(2, &["change 1 of links was taken back already, by change 2"]);
    shop.set(&["--undo", "2"])
        .says(0, &["new offer L1 (Moss, Large) leads to alder-print:K-L-MO (SKU AP-L-MO)"]);
}

#[test]
fn several_at_once_beside_a_daemon_lose_nothing() {
    let shop = Shop::new();
    let mut watch = shop.command(&["watch"]).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    let mut log = BufReader::new(watch.stderr.take().unwrap());
    let mut line = String::new();
    while !line.contains("watching") {
        line.clear();
        assert!(log.read_line(&mut line).unwrap() > 0, "it ended");
    }
    let drained = std::thread::spawn(move || std::io::copy(&mut log, &mut std::io::sink()).unwrap());
    let things: [&[&str]; 4] = [&MOSS, &["--sku", "CARD"], &["--listing", "L3"], &["--listing", "L2"]];
    let to = ["alder-print:K-L-MO", "own", "alder-print:M-LOW", "alder-print:M-LOW"];
    let children: Vec<_> = things
        .iter()
        .zip(to)
        .map(|(thing, to)| {
            shop.command(&[&["links", "set"], *thing, &[to]].concat()).stdout(Stdio::null()).spawn().unwrap()
        })
        .collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    assert!(watch.try_wait().unwrap().is_none(), "the daemon goes on");
    assert!(Command::new("kill").args(["-TERM", &watch.id().to_string()]).status().unwrap().success());
    assert!(watch.wait().unwrap().success());
    drained.join().unwrap();
    assert_eq!(shop.export(&[]).lines().count(), 5);
    assert_eq!(shop.run(&["links", "export", "--history", "--format", "jsonl"]).json_lines().len(), 4);
}
