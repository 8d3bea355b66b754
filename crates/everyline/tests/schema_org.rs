//! A shop whose orders stand in the terms of schema.org: the answer is that of its exchange files, in every spelling, from
//! a folder and from a service.
//!
//! The documents are made here of the fixture of a sale day. What the vocabulary has no term for, such as when an order
//! was paid or until when dispatch was promised, is left out of the exchange files too. Start reading at
//! [`the_audit_of_documents_is_that_of_the_exchange_files`].

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::{Map, Value, json};
use tempfile::TempDir;
use wiremock::matchers::{method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

const AS_OF: &str = "2026-11-26T15:20:00Z";

/// The columns of orders and lines for which there are terms.
const ORDERS: [&str; 5] = ["order_id", "placed_at", "status", "currency", "ship_to_country"];
const LINES: [&str; 9] = [
    "order_id",
    "line_id",
    "listing_id",
    "sku",
    "title",
    "options",
    "quantity",
    "cancelled_quantity",
    "unit_price",
];

fn fixture() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/sale-day"))
}

fn run(arguments: &[&str], home: &Path) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_everyline"));
    command.current_dir(home).args(arguments).env_remove("COLUMNS").env_remove("NO_COLOR");
    let Output { status, stdout, stderr } = command.output().unwrap();
    (status.code().unwrap(), String::from_utf8(stdout).unwrap(), String::from_utf8(stderr).unwrap())
}

/// A row of a table, by column.
type Row = BTreeMap<String, String>;

fn rows(table: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(fixture().join(format!("{table}.csv"))).unwrap();
    let header = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        header.iter().zip(&record).map(|(name, cell)| (name.to_owned(), cell.to_owned())).collect()
    };
    reader.records().map(|record| row(record.unwrap())).collect()
}

/// Options by the names that the vocabulary has for them.
fn in_terms(options: &str) -> String {
    options.replace("\"Colour\":", "\"color\":").replace("\"Size\":", "\"size\":")
}

/// The orders and the lines of the fixture, in so far as there are terms for what they say.
///
/// An item is cancelled as a whole or not at all: of others, only what is left was ordered.
fn book() -> (Vec<Row>, Vec<Row>) {
    let orders = rows("orders");
    let mut lines = rows("order_lines");
    for line in &mut lines {
        line.insert("options".into(), in_terms(&line["options"]));
        let (quantity, cancelled): (u32, u32) =
            (line["quantity"].parse().unwrap(), line["cancelled_quantity"].parse().unwrap_or(0));
        if cancelled > 0 && cancelled < quantity {
            line.insert("quantity".into(), (quantity - cancelled).to_string());
            line.insert("cancelled_quantity".into(), "0".into());
        }
    }
    (orders, lines)
}

fn write_csv(folder: &Path, table: &str, columns: &[&str], rows: &[Row]) {
    let mut writer = csv::Writer::from_path(folder.join(format!("{table}.csv"))).unwrap();
    writer.write_record(columns).unwrap();
    for row in rows {
        writer.write_record(columns.iter().map(|column| &row[*column])).unwrap();
    }
    writer.flush().unwrap();
}

/// The fixture without its orders, its options by the names of the vocabulary, and its configuration.
fn shop() -> TempDir {
    let home = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(fixture()).unwrap() {
        let from = entry.unwrap().path();
        let name = from.file_name().unwrap().to_str().unwrap();
        if ["orders.csv", "order_lines.csv", "PLANTED.md"].contains(&name) {
            continue;
        }
        let text = fs::read_to_string(&from).unwrap();
        let text =
            text.replace("\"\"Colour\"\":", "\"\"color\"\":").replace("\"\"Size\"\":", "\"\"size\"\":");
        fs::write(home.path().join(name), text).unwrap();
    }
    home
}

fn exchange() -> TempDir {
    let home = shop();
    let (orders, lines) = book();
    write_csv(home.path(), "orders", &ORDERS, &orders);
    write_csv(home.path(), "order_lines", &LINES, &lines);
    home
}

fn status(word: &str, number: usize) -> &'static str {
    match word {
        "unpaid" => "OrderPaymentDue",
        "cancelled" => "OrderCancelled",
        "open" => ["OrderProcessing", "OrderProblem"][number % 2],
        "dispatched" => {
            ["OrderInTransit", "OrderDelivered", "OrderPickupAvailable", "OrderReturned"][number % 4]
        }
        other => panic!("{other}"),
    }
}

/// How a document is written.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Spelling {
    /// Every order by itself, all within it.
    Whole,
    /// Numbers, ids and classes in their longer forms, single values as lists.
    Long,
    /// Products and groups by reference, offers of their own for the prices.
    Graph,
    /// Accepted offers alone.
    Offers,
}

fn product(line: &Row, spelling: Spelling) -> Value {
    let mut product =
        Map::from_iter([("@type".to_owned(), json!("Product")), ("name".into(), json!(line["title"]))]);
    if !line["sku"].is_empty() {
        product.insert("sku".into(), json!(line["sku"]));
    }
    let options: BTreeMap<String, String> = serde_json::from_str(&line["options"]).unwrap_or_default();
    let mut further = Vec::new();
    for (name, value) in &options {
        match (name.as_str(), spelling) {
            ("size", Spelling::Long) => {
                product.insert(name.clone(), json!([{"@type": "SizeSpecification", "name": value}]));
            }
            ("color" | "size", _) => {
                product.insert(name.clone(), json!(value));
            }
            _ => further.push(json!({"@type": "PropertyValue", "name": name, "value": value})),
        }
    }
    // What a customer typed.
    further.push(json!({"@type": "PropertyValue", "name": "Engraving", "value": "To Solveig, with love"}));
    product.insert("additionalProperty".into(), json!(further));
    if !line["listing_id"].is_empty() {
        let varies: Vec<&String> = options.keys().collect();
        let varies = if varies.is_empty() { json!("color") } else { json!(varies) };
        product.insert(
            "isVariantOf".into(),
            json!({"@type": "ProductGroup", "productGroupID": line["listing_id"], "variesBy": varies}),
        );
    }
    Value::Object(product)
}

fn document(order: &Row, lines: &[&Row], number: usize, spelling: Spelling) -> Value {
    let mut found = Map::new();
    let context = match spelling {
        Spelling::Whole => json!("https://schema.org"),
        Spelling::Long => json!({"@vocab": "http://schema.org/", "s": "http://schema.org/"}),
        Spelling::Graph => json!(["http://schema.org/", {"shop": "https://shop.example/"}]),
        Spelling::Offers => json!("https://schema.org/"),
    };
    found.insert("@context".into(), context);
    let kind = if spelling == Spelling::Long { json!(["s:Order"]) } else { json!("Order") };
    found.insert("@type".into(), kind);
    found.insert("orderNumber".into(), json!(order["order_id"]));
    found.insert("orderDate".into(), json!(order["placed_at"]));
    let word = status(&order["status"], number);
    let word = match spelling {
        Spelling::Whole => json!(format!("https://schema.org/{word}")),
        Spelling::Long => json!({"@id": format!("s:{word}")}),
        Spelling::Graph => json!(format!("http://schema.org/{word}")),
        Spelling::Offers => json!(word),
    };
    found.insert("orderStatus".into(), word);
    found.insert("customer".into(), json!({"@type": "Person", "name": "Solveig Invented"}));
    if !order["ship_to_country"].is_empty() {
        found.insert(
            "orderDelivery".into(),
            json!({"@type": "ParcelDelivery", "deliveryAddress": {
                "@type": "PostalAddress", "streetAddress": "Invented Lane 1",
                "addressCountry": order["ship_to_country"]
            }}),
        );
    }
    let mut items = Vec::new();
    let mut offers = Vec::new();
    let mut graph = Vec::new();
    for line in lines {
        let quantity: u32 = line["quantity"].parse().unwrap();
        let mut offer = Map::from_iter([("@type".to_owned(), json!("Offer"))]);
        if !line["unit_price"].is_empty() {
            offer.insert("price".into(), json!(line["unit_price"]));
        }
        offer.insert("priceCurrency".into(), json!(order["currency"]));
        let mut product = product(line, spelling);
        if spelling == Spelling::Offers {
            offer.insert("itemOffered".into(), product);
            let value = json!({"@type": "QuantitativeValue", "value": quantity, "unitCode": "EA"});
            offer.insert("eligibleQuantity".into(), value);
            offers.push(Value::Object(offer));
            continue;
        }
        let id = format!("shop:{}/{}", order["order_id"], line["line_id"]);
        if spelling == Spelling::Graph {
            product["@id"] = json!(id);
            graph.push(product);
            offer.insert("itemOffered".into(), json!({"@id": id}));
            product = json!({"@id": id});
        } else {
            product["@id"] = json!(id);
            offer.insert("itemOffered".into(), json!({"@id": id}));
        }
        let mut item = Map::from_iter([
            ("@type".to_owned(), json!("OrderItem")),
            ("orderItemNumber".into(), json!(line["line_id"])),
            ("orderedItem".into(), product),
        ]);
        // One where nothing is said.
        if quantity != 1 {
            item.insert("orderQuantity".into(), json!(quantity));
        }
        if line["cancelled_quantity"] == line["quantity"] && line["quantity"] != "0" {
            item.insert("orderItemStatus".into(), json!("https://schema.org/OrderCancelled"));
        }
        items.push(Value::Object(item));
        offers.push(Value::Object(offer));
    }
    if !items.is_empty() {
        found.insert("orderedItem".into(), json!(items));
    }
    found.insert("acceptedOffer".into(), json!(offers));
    if graph.is_empty() {
        return Value::Object(found);
    }
    let context = found.remove("@context").unwrap();
    graph.push(Value::Object(found));
    json!({"@context": context, "@graph": graph})
}

/// The documents of all orders; `spelling` says how each is written, by its number.
fn documents(spelling: impl Fn(usize, &[&Row]) -> Spelling) -> Vec<Value> {
    let (orders, lines) = book();
    let written = orders.iter().enumerate().map(|(number, order)| {
        let own: Vec<&Row> = lines.iter().filter(|line| line["order_id"] == order["order_id"]).collect();
        document(order, &own, number, spelling(number, &own))
    });
    written.collect()
}

/// Whether offers alone can say it: their lines are counted, and none is cancelled.
fn can_be_offers(lines: &[&Row]) -> bool {
    let is_counted = |(place, line): (usize, &&Row)| line["line_id"] == (place + 1).to_string();
    lines.iter().enumerate().all(is_counted)
        && lines.iter().all(|line| line["cancelled_quantity"] == "0" || line["cancelled_quantity"].is_empty())
}

fn mixed(number: usize, lines: &[&Row]) -> Spelling {
    match number % 4 {
        0 => Spelling::Whole,
        1 => Spelling::Long,
        2 => Spelling::Graph,
        _ if can_be_offers(lines) => Spelling::Offers,
        _ => Spelling::Whole,
    }
}

fn audit(home: &Path, more: &[&str]) -> (i32, String, String) {
    let asked = ["audit", "--from", ".", "--as-of", AS_OF, "--format", "json", "--config", "everyline.toml"];
    run(&[&asked[..], more].concat(), home)
}

/// The answer, without what is said of files.
fn answer(text: &str) -> (Vec<Value>, Value) {
    let answer: Value = serde_json::from_str(text).unwrap();
    (answer["findings"].as_array().unwrap().clone(), answer["totals"].clone())
}

#[test]
fn the_audit_of_documents_is_that_of_the_exchange_files() {
    let want = audit(exchange().path(), &[]);
    assert_eq!(want.0, 1, "{}", want.2);
    let want = answer(&want.1);
    assert!(want.0.len() > 50, "{}", want.0.len());
    let lines =
        |documents: &[Value]| documents.iter().map(|document| format!("{document}\n")).collect::<String>();
    let context_once =
        |documents: Vec<Value>| json!({"@context": "https://schema.org", "@graph": documents}).to_string();
    let all = documents(mixed);
    let (first, second) = all.split_at(all.len() / 2);
    let cases: Vec<Vec<(&str, String)>> = vec![
        vec![("orders.json", json!(documents(|_, _| Spelling::Whole)).to_string())],
        vec![("sale.jsonld", context_once(documents(|_, _| Spelling::Long)))],
        vec![("sale.jsonl", lines(&documents(|_, _| Spelling::Graph)))],
        vec![("sale.json", json!(all).to_string())],
        vec![("tuesday.jsonld", json!({"orders": first}).to_string()), ("wednesday.jsonl", lines(second))],
    ];
    for files in cases {
        let home = shop();
        for (name, text) in &files {
            fs::write(home.path().join(name), text).unwrap();
        }
        let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
        let (code, text, said) = audit(home.path(), &[]);
        assert_eq!(code, 1, "{names:?}: {said}");
        let found = answer(&text);
        assert_eq!(found.1, want.1, "{names:?}");
        for (found, want) in found.0.iter().zip(&want.0) {
            assert_eq!(found, want, "{names:?}");
        }
        assert_eq!(found.0.len(), want.0.len(), "{names:?}");
        assert!(text.contains("\\\"Engraving\\\""), "what is not kept is said: {text}");
        assert!(!text.contains("Solveig") && !text.contains("Invented Lane"), "{names:?}");
    }
}

#[test]
fn a_service_is_read_by_the_name_of_the_vocabulary_alone() {
    let home = shop();
    let all = documents(mixed);
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    let (server, pages) = runtime.block_on(async {
        let server = MockServer::start().await;
        let pages: Vec<&[Value]> = all.chunks(150).collect();
        for (number, page) in pages.iter().enumerate() {
            let next =
                (number + 1 < pages.len()).then(|| format!("{}/api/orders/{}", server.uri(), number + 1));
            let body = json!({"next": next, "total": all.len(), "orders": page});
            let place = if number == 0 { "/api/orders".to_owned() } else { format!("/api/orders/{number}") };
            let answer = ResponseTemplate::new(200).set_body_json(body);
            Mock::given(method("GET")).and(path(place)).respond_with(answer).mount(&server).await;
        }
        let count = pages.len();
        (server, count)
    });
    assert_eq!(pages, 3);
    let tables = home.path().join("tables");
    fs::create_dir(&tables).unwrap();
    let moved: Vec<PathBuf> = fs::read_dir(home.path()).unwrap().map(|entry| entry.unwrap().path()).collect();
    for file in moved.iter().filter(|file| file.extension().is_some_and(|ending| ending == "csv")) {
        fs::rename(file, tables.join(file.file_name().unwrap())).unwrap();
    }
    // A tie names an order, which comes from elsewhere here.
    fs::remove_file(tables.join("ties.csv")).unwrap();
    let configuration = fs::read_to_string(home.path().join("everyline.toml")).unwrap();
    let sources = format!(
        "\n[sources.till]\nrole = \"storefront\"\naddress = \"{}/api/\"\nat_most = \"1000 per second\"\n\
         [sources.till.requests.orders]\npath = \"orders\"\nvocabulary = \"schema.org\"\n\
         pages = {{ by = \"url\", at = \"$.next\" }}\ncount = \"$.total\"\n\
         [sources.rest]\nrole = \"storefront\"\nfolder = \"tables\"\n",
        server.uri()
    );
    fs::write(home.path().join("everyline.toml"), configuration + &sources).unwrap();
    let (code, text, said) = run(&["config", "check", "--config", "everyline.toml"], home.path());
    assert_eq!(code, 0, "{said}");
    assert!(text.contains("in the terms of schema.org"), "{text}");
    let (code, text, said) = run(&["source", "check", "till"], home.path());
    assert_eq!(code, 0, "{text}{said}");
    let (code, _, said) = run(&["watch", "--once"], home.path());
    assert_eq!(code, 1, "{said}");
    let asked = ["audit", "--as-of", AS_OF, "--since", "2026-11-01", "--format", "json"];
    let (code, of_ledger, said) = run(&asked, home.path());
    assert_eq!(code, 1, "{said}");
    let files = exchange();
    fs::remove_file(files.path().join("ties.csv")).unwrap();
    let (code, of_files, said) = audit(files.path(), &["--since", "2026-11-01"]);
    assert_eq!(code, 1, "{said}");
    let ids = |text: &str| -> BTreeSet<String> {
        answer(text).0.iter().map(|finding| finding["id"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(ids(&of_ledger), ids(&of_files));
    assert_eq!(answer(&of_ledger).1, answer(&of_files).1);
    drop(server);
}

#[test]
fn a_proposal_for_such_a_file_has_nothing_open() {
    let home = shop();
    fs::write(home.path().join("sale.jsonld"), json!(documents(mixed)).to_string()).unwrap();
    let by_itself = audit(home.path(), &[]);
    let (code, said, error) = run(
        &["source", "propose", "--role", "storefront", "--sample", "sale.jsonld", "--out", "till.toml"],
        home.path(),
    );
    assert_eq!(code, 0, "{error}");
    assert!(said.contains("0 likely") && said.contains("0 open"), "{said}");
    assert!(said.contains("schema.org: orderNumber"), "{said}");
    let (code, _, error) = run(&["source", "confirm", "--map", "till.toml"], home.path());
    assert_eq!(code, 0, "{error}");
    let (code, text, error) =
        run(&["source", "preview", "--map", "till.toml", "--sample", "sale.jsonld"], home.path());
    assert_eq!(code, 0, "{error}");
    assert!(text.contains("KK-10201"), "{text}");
    let mapped = audit(home.path(), &["--map", "till.toml"]);
    assert_eq!(answer(&mapped.1), answer(&by_itself.1), "{}", mapped.2);
}

#[test]
fn what_cannot_be_read_ends_the_audit_with_file_record_and_advice() {
    let home = shop();
    let mut all = documents(|_, _| Spelling::Whole);
    all[2].as_object_mut().unwrap().remove("orderNumber");
    all[3]["orderStatus"] = json!("OrderLost");
    all[4]["orderedItem"][0]["orderQuantity"] = json!(-1);
    fs::write(home.path().join("sale.json"), json!(all).to_string()).unwrap();
    let (code, text, said) = audit(home.path(), &[]);
    assert_eq!((code, text.as_str()), (2, ""));
    for part in [
        "sale.json, record 3, column order_id: nothing",
        "sale.json, record 4, column status: \"OrderLost\" is not one of the words",
        "sale.json, record 5, column quantity: \"-1\"",
        "In schema.org it is orderNumber",
    ] {
        assert!(said.replace("\n       ", " ").contains(part), "{part}\nis not said in\n{said}");
    }
    assert!(!said.contains("Solveig"), "{said}");
    // The rest is judged where that is asked for.
    let (code, text, said) = audit(home.path(), &["--skip-bad-rows"]);
    assert_eq!(code, 3, "{said}");
    assert!(answer(&text).0.len() > 40);
}

#[test]
fn orders_are_given_once() {
    let home = exchange();
    fs::write(home.path().join("sale.json"), json!(documents(mixed)).to_string()).unwrap();
    let (code, _, said) = audit(home.path(), &[]);
    assert_eq!(code, 2);
    assert!(said.replace("\n       ", " ").contains("the table orders is given twice"), "{said}");
    // A catalogue in the same terms has no orders, and is left alone as ever.
    let catalogue = json!({"@context": "https://schema.org", "@type": "Product", "sku": "A"});
    fs::write(home.path().join("sale.json"), catalogue.to_string()).unwrap();
    let (code, text, said) = audit(home.path(), &[]);
    assert_eq!(code, 1, "{said}");
    assert!(text.contains("no table that is known, and not read: \\\"sale.json\\\""), "{text}");
}
