//! The configuration file, from outside: what it means, and what is said of a bad one.
//!
//! `bad_configurations/` holds one file for each rule; its first lines say what the error must say.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::path::Path;

use chrono::{NaiveTime, TimeDelta, Weekday};
use chrono_tz::Tz;
use everyline::configuration::{Configuration, EXAMPLE, Settings};
use forecast::{Calendar, CutOff};
use intake::source::declare::{
    ClientAuthentication, DEFAULT_AT_MOST, DEFAULT_EVERY, DEFAULT_FOLDER_STALE_AFTER, DEFAULT_OVERLAP,
    DEFAULT_STALE_AFTER, Origin, Role, Service, SignIn, Source,
};
use model::rules::Graces;
use model::{Rules, ShopId, SupplierId};
use simshop::live::{Plan, World};

/// Secrets that bad configurations have typed into them: no error may repeat them.
const TYPED_SECRETS: [&str; 2] = ["moss", "40712345"];

fn shown(settings: &Settings) -> String {
    format!("{settings:?}")
}

#[test]
fn every_bad_configuration_says_where_it_is_wrong_what_was_expected_and_what_to_do() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_configurations");
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        let error = Configuration::parse(&text, name).unwrap_err().to_string();
        let said: Vec<&str> = error.lines().collect();
        assert_eq!(said[0], format!("error: the configuration file {name} cannot be used"));
        for label in ["cause: ", "help: "] {
            let expected =
                text.lines().find_map(|line| line.strip_prefix("# ")?.strip_prefix(label)).unwrap();
            let label = label.trim_end();
            let block = error.split_once(&format!("\n{label}")).unwrap().1;
            let block = block.split_once("\nhelp:").map_or(block, |(block, _)| block);
            assert!(block.contains(expected), "{name}: {label} {expected}\nis not said in\n{error}");
        }
        let repeated = TYPED_SECRETS.iter().find(|secret| error.contains(**secret));
        assert_eq!(repeated, None, "{name} is answered with a secret in\n{error}");
        files += 1;
    }
    assert!(files >= 60, "only {files} files were read");
}

#[test]
fn the_example_states_the_defaults() {
    let example = Settings::parse(EXAMPLE, "example").unwrap();
    assert_eq!(shown(&example), shown(&Settings::default()));
    assert_eq!(shown(&Settings::parse("", "empty").unwrap()), shown(&Settings::default()));
    for text in [EXAMPLE, ""] {
        assert_eq!(Configuration::parse(text, "file").unwrap().ledger, Path::new("everyline.db"));
    }
}

#[test]
fn the_defaults_are_those_of_the_model() {
    let Settings { zone, rules, cut_offs, suppliers, sources, vocabulary, sheet } = Settings::default();
    assert_eq!(zone, Tz::UTC);
    assert_eq!(format!("{rules:?}"), format!("{:?}", Rules::default()));
    assert!(cut_offs.is_empty() && suppliers.is_empty() && sources.is_empty());
    assert_eq!(sheet.wording, links::sheet::Wording::default());
    assert_eq!((sheet.margin, sheet.rounding), (None, links::sheet::Rounding::default()));
    assert_eq!(sheet.one_price_for, links::sheet::OnePriceFor::default());
    assert_eq!(format!("{vocabulary:?}").len(), format!("{:?}", links::Vocabulary::built_in()).len());
}

/// A part of the example with its examples put in: `#key` becomes `key`, and a default that an example repeats goes, as
/// remarks do.
fn with_examples_put_in(part: &str) -> String {
    let example =
        |line: &'static str| line.strip_prefix('#').filter(|rest| !rest.is_empty() && !rest.starts_with(' '));
    let examples: Vec<&str> = EXAMPLE.lines().filter_map(example).collect();
    let repeated = |line: &str| {
        line.split_once(" = ")
            .is_some_and(|(key, _)| examples.iter().any(|example| example.starts_with(&format!("{key} = "))))
    };
    let lines = part.lines().filter(|line| !line.starts_with("# ") && !repeated(line));
    lines.map(|line| line.strip_prefix('#').unwrap_or(line)).collect::<Vec<_>>().join("\n")
}

/// The example of one shop, and of several.
fn examples() -> [String; 2] {
    let (one, several) = EXAMPLE.split_at(EXAMPLE.find("#[shops.").unwrap());
    [with_examples_put_in(one), with_examples_put_in(several)]
}

fn parsed(text: &str) -> Configuration {
    Configuration::parse(text, "example").unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// The keys that are known in a table, as the help for an unknown one names them.
fn keys_of(table: &str) -> Vec<String> {
    let dot = if table.is_empty() { "" } else { "." };
    let error = Configuration::parse(&format!("{table}{dot}zzz = 1"), "file").unwrap_err().to_string();
    let known = error.split_once("nown here: ").unwrap_or_else(|| panic!("{table}: {error}")).1;
    known.split_once(';').unwrap().0.split(", ").map(str::to_owned).collect()
}

#[test]
fn the_example_has_every_key() {
    let text = examples().concat();
    for table in [
        "",
        "graces",
        "fees",
        "references",
        "sheet",
        "suppliers.a",
        "suppliers.a.cut_off",
        "suppliers.a.references",
        "sources.a",
        "sources.a.sign_in",
        "sources.a.sku_table",
        "sources.a.requests.a",
        "page",
        "sources.a.requests.a.pages",
        "sources.a.requests.a.changes",
        "sources.a.requests.a.tables.a",
        "sources.a.requests.a.tables.a.fields.a",
        "sources.a.change_sku",
        "sources.a.change_sku.read",
        "shops.a",
        "digest",
        "mail",
        "recipients.a",
    ] {
        for key in keys_of(table) {
            let forms = [format!("{key} = "), format!("[{key}"), format!(".{key}]"), format!(".{key}.")];
            assert!(forms.iter().any(|form| text.contains(form)), "{key} of [{table}] is not in the example");
        }
    }
    for key in keys_of("sources.a.sign_in.secret") {
        assert!(EXAMPLE.contains(&format!("{{ {key} = ")), "{key}");
    }
    for key in ["amount", "currency"] {
        assert!(text.contains(&format!("{key} = ")), "{key}");
    }
}

#[test]
fn the_sources_of_the_example_are_what_its_remarks_say() {
    let [one, several] = examples();
    let configuration = parsed(&one);
    let (_, shop) = configuration.shop(None).unwrap();
    let names: Vec<&str> = shop.sources.keys().map(|name| name.as_str()).collect();
    assert_eq!(names, ["alder", "brook", "dropped", "sheets", "stall", "till"]);
    let source = |name: &str| &shop.sources[name];
    assert_eq!(source("till").role, Role::Storefront);
    assert_eq!(source("alder").role, Role::Supplier("alder-print".into()));

    // What is said to hold where nothing is set does.
    let till = service(source("till"));
    assert_eq!((source("till").every, source("till").stale_after), (DEFAULT_EVERY, DEFAULT_STALE_AFTER));
    assert_eq!(till.at_most, DEFAULT_AT_MOST);
    assert_eq!(source("dropped").stale_after, DEFAULT_FOLDER_STALE_AFTER);
    let overlaps = till.requests.iter().chain(&service(source("alder")).requests);
    let overlaps: Vec<_> = overlaps.filter_map(|request| request.changes.as_ref()).collect();
    assert_eq!(overlaps.len(), 2);
    assert!(overlaps.iter().all(|changes| changes.overlap == DEFAULT_OVERLAP));

    let brought = |name: &str| -> Vec<&str> {
        source(name).requests().iter().flat_map(|request| request.tables()).collect()
    };
    assert_eq!(brought("till"), ["offers", "orders", "order_lines"]);
    assert_eq!(brought("alder"), ["variants", "submissions", "submission_lines", "parcels", "parcel_lines"]);

    let Origin::Exports(_, sheets) = &source("sheets").origin else { panic!("no exports") };
    let files: Vec<&str> = sheets.iter().filter_map(|request| Some(request.file()?.name.as_str())).collect();
    assert_eq!(files, ["orders-*.csv", "prices.json", "wide-*.xlsx"]);

    let Some(SignIn::OAuth(brook)) = &service(source("brook")).sign_in else { panic!("no grant") };
    assert_eq!(brook.tokens().map(|path| path.to_str()), Some(Some("brook.tokens")));
    assert_eq!(brook.client_authentication, ClientAuthentication::Basic);

    let shops = parsed(&several).shops;
    assert_eq!(shops.keys().map(ShopId::as_str).collect::<Vec<_>>(), ["kittiwake", "second"]);
    assert!(shops.values().all(|shop| shop.sources.len() == 1));
}

fn service(source: &Source) -> &Service {
    match &source.origin {
        Origin::Service(service) => service,
        Origin::Folder(folder) | Origin::Exports(folder, _) => panic!("{}", folder.display()),
    }
}

/// Beside the ledger everyline writes anyway; beside the configuration it may not.
#[test]
fn tokens_are_kept_beside_the_ledger_where_nothing_else_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("everyline.toml");
    let example = examples()[0].replace("everyline.db", "/var/lib/everyline/everyline.db");
    let tokens = |text: &str| {
        std::fs::write(&file, text).unwrap();
        let configuration = Configuration::read(&file).unwrap();
        let (_, shop) = configuration.shop(None).unwrap();
        let Some(SignIn::OAuth(oauth)) = &service(&shop.sources["brook"]).sign_in else { panic!("no grant") };
        oauth.tokens().unwrap().clone()
    };
    assert_eq!(tokens(&example), folder.path().join("brook.tokens"));
    let unsaid = example.replace("tokens = \"brook.tokens\"\n", "");
    assert_eq!(tokens(&unsaid), Path::new("/var/lib/everyline/everyline.db.brook@shop.tokens"));
}

#[test]
fn the_examples_of_the_example_hold_together() {
    let settings = parsed(&examples()[0]).shop(None).unwrap().1.clone();
    let (alder, brook) = (SupplierId::new("alder-print"), SupplierId::new("brook-print"));
    assert_eq!(settings.cut_offs[&alder], CutOff::AfterReceipt(TimeDelta::hours(2)));
    let holidays = ["2026-12-25", "2027-01-01"].map(|day| day.parse().unwrap());
    assert_eq!(
        settings.cut_offs[&brook],
        CutOff::Daily {
            at: NaiveTime::from_hms_opt(14, 0, 0).unwrap(),
            zone: Tz::UTC,
            calendar: Calendar::new(Calendar::default().working_days(), holidays),
        }
    );
    assert_eq!(settings.rules.graces_of(&alder).start, TimeDelta::hours(72));
    assert_eq!(settings.rules.references_of(&alder).order_id("KK-order 1001"), "1001");
    assert!(settings.rules.is_sample("sample for the window"));
    assert_eq!(settings.rules.fees.per_unit[1].to_string(), "0.30\u{a0}USD");
    assert_eq!(settings.sheet.margin.unwrap().to_string(), "40 % of the price");
    assert_eq!(settings.sheet.wording.item_value.to_string(), "{good}, {size}");
}

#[test]
fn a_supplier_has_what_is_set_for_it_and_the_rest_from_the_general_keys() {
    let settings = Settings::parse(
        r#"
        zone = "Europe/Berlin"
        graces = { hold_grace = "6 h", start_grace = "24 h" }
        references = { prefix = "KK-", pattern = '^(\d+)/' }
        [suppliers.alder-print]
        graces = { start_grace = "3 days" }
        references = { pattern = "" }
        [suppliers."brook print"]
        zone = "America/New_York"
        cut_off = { daily = "14:00", working_days = ["sat", "mon"], holidays = [2026-12-25] }
        [suppliers.cairn-print]
        cut_off = { daily = "09:30" }
        "#,
        "shop.toml",
    )
    .unwrap();
    let (alder, brook, cairn) = ("alder-print".into(), "brook print".into(), "cairn-print".into());
    let general = Graces { hold: TimeDelta::hours(6), start: TimeDelta::hours(24), ..Graces::default() };
    assert_eq!(settings.rules.graces, general);
    assert_eq!(*settings.rules.graces_of(&alder), Graces { start: TimeDelta::days(3), ..general });
    assert_eq!(*settings.rules.graces_of(&brook), general);
    assert_eq!(settings.rules.references_of(&alder).order_id("KK-1001/2"), "1001/2");
    assert_eq!(settings.rules.references_of(&brook).order_id("KK-1001/2"), "1001");
    let christmas = ["2026-12-25".parse().unwrap()];
    assert_eq!(
        settings.cut_offs[&brook],
        CutOff::Daily {
            at: NaiveTime::from_hms_opt(14, 0, 0).unwrap(),
            zone: Tz::America__New_York,
            calendar: Calendar::new([Weekday::Mon, Weekday::Sat], christmas),
        }
    );
    assert_eq!(
        settings.cut_offs[&cairn],
        CutOff::Daily {
            at: NaiveTime::from_hms_opt(9, 30, 0).unwrap(),
            zone: Tz::Europe__Berlin,
            calendar: Calendar::default(),
        }
    );
    assert_eq!(settings.suppliers, [alder, brook, cairn].into());
}

/// Two shops with a folder each, and a ledger, by paths as given.
fn two_shops(ledger: &str, folder: &str) -> String {
    format!(
        "ledger = {ledger:?}\n\
         [shops.kittiwake]\n\
         zone = \"Europe/Oslo\"\n\
         sources.dropped = {{ role = \"storefront\", folder = {folder:?} }}\n\
         [shops.second]\n\
         zone = \"Europe/Dublin\"\n\
         suppliers.alder-print.cut_off.after_receipt = \"2 h\"\n\
         sources.press = {{ role = \"supplier\", supplier = \"alder-print\", folder = \"press\", every = \"5 min\" }}\n"
    )
}

#[test]
fn several_shops_have_what_is_set_for_each_and_paths_begin_at_the_folder_of_the_file() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("everyline.toml");
    let folder_of = |source: &Source| match &source.origin {
        Origin::Folder(folder) | Origin::Exports(folder, _) => folder.clone(),
        Origin::Service(service) => panic!("{}", service.address),
    };
    let elsewhere = tempfile::tempdir().unwrap();
    let whole = elsewhere.path().to_str().unwrap();
    for (ledger, folder, its_ledger, its_folder) in [
        ("kept/all.db", "exports", home.path().join("kept/all.db"), home.path().join("exports")),
        (whole, whole, elsewhere.path().to_owned(), elsewhere.path().to_owned()),
    ] {
        std::fs::write(&file, two_shops(ledger, folder)).unwrap();
        let read = Configuration::read(&file).unwrap();
        assert_eq!(read.ledger, its_ledger);
        let (_, kittiwake) = read.shop(Some("kittiwake")).unwrap();
        let (_, second) = read.shop(Some("second")).unwrap();
        assert_eq!((kittiwake.zone, second.zone), (Tz::Europe__Oslo, Tz::Europe__Dublin));
        assert!(kittiwake.suppliers.is_empty() && kittiwake.cut_offs.is_empty());
        assert_eq!(second.cut_offs["alder-print"], CutOff::AfterReceipt(TimeDelta::hours(2)));
        assert_eq!((kittiwake.sources.len(), second.sources.len()), (1, 1));
        assert_eq!(folder_of(&kittiwake.sources["dropped"]), its_folder);
        let press = &second.sources["press"];
        assert_eq!(folder_of(press), home.path().join("press"));
        assert_eq!(press.role, Role::Supplier("alder-print".into()));
        assert_eq!(press.every, std::time::Duration::from_secs(300));
        assert_eq!(shown(second), shown(&Settings::read(Some(&file), Some("second")).unwrap()));
    }
    std::fs::write(&file, "").unwrap();
    assert_eq!(Configuration::read(&file).unwrap().ledger, home.path().join("everyline.db"));
}

#[test]
fn a_shop_is_asked_for_by_its_name_and_a_single_one_need_not_be() {
    let said = |configuration: &Configuration, asked| {
        configuration.shop(asked).map(|(shop, _)| shop.to_string()).map_err(|error| error.to_string())
    };
    let several = Configuration::parse(&two_shops("all.db", "exports"), "everyline.toml").unwrap();
    assert_eq!(said(&several, Some("second")), Ok("second".to_owned()));
    for (asked, want) in [
        (
            None,
            "error: it is not clear which shop is meant\n\
             cause: the configuration has several\n\
             help:  say which with --shop: kittiwake, second",
        ),
        (
            Some("Second"),
            "error: there is no such shop\n\
             cause: --shop is \"Second\"\n\
             help:  known are: kittiwake, second",
        ),
    ] {
        assert_eq!(said(&several, asked), Err(want.to_owned()));
    }
    let only = Configuration::parse("[shops.kittiwake]\nzone = \"Europe/Oslo\"", "everyline.toml").unwrap();
    assert_eq!(said(&only, None), Ok("kittiwake".to_owned()));
    assert!(said(&only, Some("shop")).unwrap_err().contains("known are: kittiwake"));
    let unnamed = Configuration::parse("zone = \"Europe/Oslo\"", "everyline.toml").unwrap();
    assert_eq!(said(&unnamed, None), Ok("shop".to_owned()));
}

#[tokio::test]
async fn the_configuration_of_the_simulated_shop_is_read_with_its_words_as_they_are_written() {
    let world = World::new(7, Plan::new());
    let serving = world.serve().await.unwrap();
    let configuration = parsed(&world.configuration(&serving));
    let (_, shop) = configuration.shop(None).unwrap();
    assert_eq!(shop.zone, Tz::Europe__Oslo);
    let names: Vec<&str> = shop.sources.keys().map(|name| name.as_str()).collect();
    assert_eq!(names, ["alder", "brook", "till"]);
    let brook = format!("{:?}", shop.sources["brook"]);
    for word in ["QUEUE", "PARKED", "PRESS", "OUT", "DROPPED", "NOT POSSIBLE", "X-Press-Key"] {
        assert!(brook.contains(&format!("{word:?}")), "{word} is not in {brook}");
    }
    let till = service(&shop.sources["till"]);
    assert_eq!(till.headers, [("Accept".to_owned(), "application/json".to_owned())]);
    let options = format!("{:?}", till.requests);
    for option in ["Item", "Size", "Colour", "Mug"] {
        assert!(options.contains(&format!("{option:?}")), "{option} is not in {options}");
    }
}
