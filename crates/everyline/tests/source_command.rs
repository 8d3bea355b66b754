//! `everyline source`, from outside: trying sources that work and that do not, and looking at their first records.
//!
//! The sources are those of a simulated shop, or answers written by hand where it has none that are wrong in that way.
//! Start reading at [`Shop`].

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use assert_cmd::cargo::cargo_bin;
use chrono::TimeDelta;
use serde_json::{Value, json};
use simshop::live::{Fault, Plan, RetryAfter, Serving, Source, World};
use tempfile::TempDir;
use wiremock::matchers::{method, path, query_param, query_param_is_missing};
use wiremock::{Mock, MockServer, ResponseTemplate};

/// What a run wrote, and its code.
struct Run {
    stdout: String,
    stderr: String,
    code: i32,
}

impl Run {
    /// Whether the texts stand on standard output, in this order.
    #[track_caller]
    fn says(&self, code: i32, texts: &[&str]) {
        self.check(&self.stdout, code, texts);
    }

    /// The same of standard error.
    #[track_caller]
    fn tells(&self, code: i32, texts: &[&str]) {
        self.check(&self.stderr, code, texts);
    }

    #[track_caller]
    fn check(&self, whole: &str, code: i32, texts: &[&str]) {
        let mut rest = whole;
        for text in texts {
            let at = rest.find(text);
            assert!(at.is_some(), "{text:?} in\n{}\n{}", self.stdout, self.stderr);
            rest = &rest[at.unwrap() + text.len()..];
        }
        assert_eq!(self.code, code, "{}\n{}", self.stdout, self.stderr);
        let widest = self.stdout.lines().map(|line| line.chars().count()).max().unwrap_or_default();
        assert!(widest <= 80, "{}", self.stdout);
    }
}

/// A folder with a configuration, and the secrets that it wants.
struct Home {
    folder: TempDir,
    secrets: Vec<(&'static str, String)>,
}

impl Home {
    fn with(configuration: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("everyline.toml"), configuration).unwrap();
        Self { folder, secrets: Vec::new() }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn run(&self, arguments: &[&str]) -> Run {
        let mut command = Command::new(cargo_bin!("everyline"));
        command.current_dir(self.path()).arg("source").args(arguments);
        for name in ["KITTIWAKE_TILL_TOKEN", "CREDENTIALS_DIRECTORY", "NO_COLOR", "COLUMNS"] {
            command.env_remove(name);
        }
        let output = command.envs(self.secrets.clone()).output().unwrap();
        Run {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            code: output.status.code().unwrap(),
        }
    }
}

/// The simulated shop at noon of its sale day.
struct Shop {
    world: World,
    serving: Serving,
    home: Home,
}

impl Shop {
    async fn at_noon() -> Self {
        let world = World::new(7, Plan::new());
        world.advance_to(World::begins() + TimeDelta::hours(12));
        let serving = world.serve().await.unwrap();
        let home = Home { secrets: world.secrets(), ..Home::with(&world.configuration(&serving)) };
        Self { world, serving, home }
    }
}

/// A server on loopback that answers at `/shop/orders`, and a source that asks it, with `more` under its request.
async fn by_hand(answer: ResponseTemplate, more: &str) -> (MockServer, Home) {
    let server = MockServer::start().await;
    let first = query_param_is_missing("page_after");
    Mock::given(method("GET")).and(path("/shop/orders")).and(first).respond_with(answer).mount(&server).await;
    let configuration = format!(
        r#"
        zone = "Europe/Oslo"
        [sources.till]
        role = "storefront"
        address = "{}/shop/"
        [sources.till.requests.orders]
        path = "orders"
        {more}
        [sources.till.requests.orders.tables.orders]
        at = "$.orders[*]"
        [sources.till.requests.orders.tables.orders.fields]
        order_id = "$.number"
        placed_at = "$.made"
        status = {{ at = "$.state", words = {{ paid = "open" }} }}
        promised_by = "$.deadline"
        ship_to_digest = {{ digest_of = ["$.street", "$.town"] }}
        [sources.till.requests.orders.tables.order_lines]
        within = "orders"
        at = "$.lines[*]"
        [sources.till.requests.orders.tables.order_lines.fields]
        line_id = "$.id"
        quantity = "$.count"
        title = "$.title"
        options = {{ object_at = "$.chosen", keep = ["Size"] }}
        unit_price = "$.each"
        "#,
        server.uri()
    );
    (server, Home::with(&configuration))
}

fn json_answer(body: &Value) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_json(body)
}

fn order() -> Value {
    json!({
        "number": "1001", "made": "2026-10-25T00:30:00Z", "state": "paid", "street": null, "buyer": "Nadia Invented",
        "lines": [{ "id": 1, "count": 2, "title": "Apron\u{1b}[31m\u{202e}", "chosen": { "Note": "for Nadia" }, "each": "24.1" }],
    })
}

#[tokio::test(flavor = "multi_thread")]
async fn a_source_that_works_is_said_to_step_by_step_and_nothing_is_kept() {
    let shop = Shop::at_noon().await;
    let run = shop.home.run(&["check", "till"]);
    let want = format!(
        "\
Source till, a storefront, at http://{}/shop/
  secret      works: the environment variable KITTIWAKE_TILL_TOKEN is set

Request offers
  address     works
  sign-in     works
  first page  works: 25 records
  fields      offers: 25 records
                listing_id  in all
                sku         in 22
                title       in all
                options     in all
                price       in all
                currency    in all
                buyable     in all
  next page   works

Request orders
  address     works
  sign-in     works
  first page  works: 40 records
  fields      orders: 40 records
                order_id            in all
                placed_at           in all
                paid_at             in all
                status              in all
                currency            in all
                promised_by         in all
                ship_to_country     in all
                ship_to_digest      in all
                updated_at          in all
              order_lines: 74 records
                line_id             in all
                listing_id          in all
                sku                 in 72
                title               in all
                options             in all
                quantity            in all
                cancelled_quantity  in all
                unit_price          in all
                updated_at          in all
  next page   works

All works.
",
        shop.serving.till
    );
    assert_eq!((run.stdout, run.stderr, run.code), (want, String::new(), 0));
    let files: Vec<_> =
        fs::read_dir(shop.home.path()).unwrap().map(|file| file.unwrap().file_name()).collect();
    assert_eq!(files, ["everyline.toml"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_preview_shows_the_first_records_in_the_columns_of_everyline() {
    let shop = Shop::at_noon().await;
    let run = shop.home.run(&["preview", "till", "--request", "orders", "--records", "1"]);
    let want = "\
Source till, a storefront, as everyline reads it. Nothing of this is kept.

Request orders

orders: 40 records on the first page, showing the first by id

  orders, record 1: order_id KK-40101
    placed_at        2026-11-25T05:40:49+01:00
    paid_at          2026-11-25T05:41:52+01:00
    status           open
    currency         EUR
    promised_by      2026-11-29T18:00:00+01:00
    ship_to_country  GB
    ship_to_digest   kept as a digest
    updated_at       2026-11-25T05:41:52+01:00

order_lines: 74 records on the first page, showing the first by id

  order_lines, record 1: order_id KK-40101, line_id 1
    listing_id          KL-02
    sku                 al-puffin-tee-plum-xl
    title               Puffin T-shirt, “the clown of the cliff”
    options             Colour: Plum, Size: XL
    quantity            2
    cancelled_quantity  0
    unit_price          26.00\u{a0}EUR
    updated_at          2026-11-25T05:40:49+01:00
";
    assert_eq!((run.stdout.as_str(), run.stderr.as_str(), run.code), (want, "", 0));
    let run = shop.home.run(&["preview", "alder"]);
    run.says(
        0,
        &[
            "Source alder, of the supplier alder-print, as everyline reads it.",
            "\nvariants: 20 records on the first page, showing the first 3 by id\n",
            "    options    Colour: Moss, Size: L\n    unit_cost  12.10\u{a0}EUR\n",
            "  submissions, record 3: ",
            "    replaces     not known\n",
            "\nparcels: no records on the first page\n",
            "\nRequest pieces, asked for one of the submissions\n",
            "  submission_lines, record 1: submission_id AL-700001, line_id 1\n",
        ],
    );
    assert!(!run.stdout.contains("carrier"), "{}", run.stdout);
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_that_is_not_mapped_is_shown() {
    let shop = Shop::at_noon().await;
    for source in ["till", "alder", "brook"] {
        for arguments in [&["check", source][..], &["preview", source, "--records", "100"]] {
            let run = shop.home.run(arguments);
            run.says(0, &[&format!("Source {source}, ")]);
            for private in shop.world.private_texts() {
                assert!(!run.stdout.contains(&private) && !run.stderr.contains(&private), "{private}");
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_goes_wrong_is_said_at_its_step_with_what_to_do() {
    let shop = Shop::at_noon().await;
    let orders = || Source::Till.endpoint("orders");
    let works = "  address     works\n  sign-in     works\n";
    for (fault, before, said, to_do) in [
        (Fault::Html, works, "  first page  does not work: the answer is HTML", "-> Check the address"),
        (Fault::Cut, works, "  first page  does not work: the answer was cut off.", "-> Try again later"),
        (
            Fault::Unavailable,
            "  address     works\n",
            "  first page  does not work: the source cannot answer now (status 503).",
            "-> Try again later",
        ),
        (
            Fault::TooManyRequests(RetryAfter::Seconds(3_600)),
            "  address     works\n",
            "(status 429), and\n              wants not to be asked before ",
            "-> It was asked too often.",
        ),
        (
            Fault::Dropped,
            "",
            "  address     does not work: there was no answer",
            "-> Check the address of the source",
        ),
        (
            Fault::WrongType,
            works,
            "  first page  does not work: order_lines, record 1 in record 1 (order_id",
            "requests.orders.tables.order_lines.fields.quantity",
        ),
        (
            Fault::PageRepeated,
            works,
            "  next page   does not work: it is the first page again.",
            "-> Check `pages`",
        ),
    ] {
        let asked_before = shop.world.requests(orders());
        shop.world.switch_on(orders(), fault);
        let run = shop.home.run(&["check", "till"]);
        run.says(
            3,
            &[
                "Request offers\n",
                "next page   works\n\nRequest orders\n",
                before,
                said,
                to_do,
                "1 of 2 requests does not work.\n",
            ],
        );
        assert_eq!(run.stderr, "");
        assert!(shop.world.requests(orders()) - asked_before <= 2, "{fault:?}");
        if fault != Fault::PageRepeated {
            let run = shop.home.run(&["preview", "till", "--records", "1"]);
            run.says(3, &["offers, record 1: "]);
            run.tells(3, &["error: request orders could not be read\ncause: ", "\nhelp:  "]);
        }
        shop.world.switch_all_off();
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_time_to_come_again_is_in_the_zone_of_the_shop() {
    let answer = ResponseTemplate::new(503)
        .insert_header("retry-after", "Fri, 31 Dec 2027 22:59:59 GMT")
        .insert_header("date", "Fri, 31 Dec 2027 20:59:59 GMT");
    let (_server, home) = by_hand(answer, "").await;
    home.run(&["check", "till"]).says(
        3,
        &["(status 503), and", "Europe/Oslo\n              time.\n", "The request does not work.\n"],
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_secret_that_is_missing_or_wrong_is_pointed_at() {
    let mut shop = Shop::at_noon().await;
    shop.home.secrets = vec![("KITTIWAKE_ALDER_PASSWORD", "wrong".to_owned())];
    let asked = |shop: &Shop| shop.world.requests(Source::Till);
    let missing = ["the environment variable KITTIWAKE_TILL_TOKEN is"];
    let run = shop.home.run(&["check", "till"]);
    run.says(
        3,
        &[
            "  secret      does not work: ",
            missing[0],
            "-> Set it where everyline runs",
            "\nNothing was asked for.\n",
        ],
    );
    let run = shop.home.run(&["preview", "till"]);
    run.tells(3, &["error: source till was not asked\ncause: ", missing[0], "help:  Set it"]);
    assert_eq!((run.stdout.as_str(), asked(&shop)), ("", 0));
    shop.home.run(&["check", "alder"]).says(
        3,
        &[
            "Request jobs\n  address     works\n  sign-in     does not work: the sign-in was refused (status 401).\n",
            "-> Check the secret under sign_in of the source",
            "Request pieces, asked for one of the submissions\n  first page  not tried: the request that brings the rows",
            "\n3 of 4 requests do not work, and 1 was not tried.\n",
        ],
    );
    shop.home.run(&["preview", "alder", "--request", "pieces"]).tells(
        3,
        &["error: request pieces could not be read\ncause: it is asked for the rows that request jobs brings"],
    );
    shop.home.secrets = vec![("KITTIWAKE_TILL_TOKEN", "line\u{1}break".to_owned())];
    shop.home
        .run(&["check", "till"])
        .says(3, &["  secret      does not work: the environment variable", "one line of text"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_source_that_does_not_answer_is_left_alone() {
    let Shop { world: _, serving, home } = Shop::at_noon().await;
    drop(serving);
    home.run(&["check", "alder"]).says(
        3,
        &[
            "Request articles\n  address     does not work: there was no answer (",
            "\nNot tried, for the source does not answer: jobs, parcels, pieces\n",
            "\n1 of 4 requests does not work, and 3 were not tried.\n",
        ],
    );
    let run = home.run(&["preview", "alder"]);
    assert_eq!((run.code, run.stderr.matches("error:").count()), (3, 1));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_field_that_is_in_none_is_pointed_at_with_its_place() {
    let (_server, home) = by_hand(json_answer(&json!({ "orders": [order()] })), "").await;
    home.run(&["check", "till"]).says(
        0,
        &[
            "  secret      none is needed, for no sign_in is declared\n",
            "  sign-in     works: none is asked for\n  first page  works: 1 record\n  fields      orders: 1 record\n",
            "                order_id        in all\n",
            "                promised_by     in none; looked for at $.deadline\n",
            "                ship_to_digest  in none; looked for at $.street, $.town\n",
            "              order_lines: 1 record\n",
            "                options         in none; looked for at $.chosen, for the names\n                                under keep\n",
            "              What is in none may stand elsewhere: compare the path with what\n              the source documents.\n  next page   not tried: there is none\n",
            "\nAll works. 3 fields are in none of the records that came.\n",
        ],
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_empty_is_shown_as_not_known_and_what_could_drive_a_terminal_is_not_shown() {
    let (_server, home) = by_hand(json_answer(&json!({ "orders": [order()] })), "").await;
    let run = home.run(&["preview", "till"]);
    let want = "\
Source till, a storefront, as everyline reads it. Nothing of this is kept.

Request orders

orders: 1 record on the first page

  orders, record 1: order_id 1001
    placed_at       2026-10-25T02:30:00+02:00
    status          open
    promised_by     not known
    ship_to_digest  not known

order_lines: 1 record on the first page

  order_lines, record 1: order_id 1001, line_id 1
    title       Apron\u{fffd}[31m
    options     nothing to choose
    quantity    2
    unit_price  24.1, of a currency that is not known
";
    assert_eq!((run.stdout.as_str(), run.stderr.as_str(), run.code), (want, "", 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_without_records_says_where_they_were_looked_for() {
    let (_server, home) = by_hand(json_answer(&json!({ "orders": [] })), "").await;
    let none = "  fields      orders: no records; looked for at $.orders[*]\n              order_lines: no records; looked for at $.lines[*]\n";
    home.run(&["check", "till"])
        .says(0, &["first page  works: 0 records\n", none, "\nIt answers, but nothing was found"]);
    home.run(&["preview", "till"]).says(0, &["\norders: no records on the first page\n"]);
    let (_server, home) = by_hand(json_answer(&json!({ "items": [] })), "").await;
    home.run(&["check", "till"])
        .says(3, &["first page  does not work: orders: nothing stands at $.orders; expected a list"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sign_in_that_is_wanted_and_not_declared_is_to_be_declared() {
    let (_server, home) = by_hand(ResponseTemplate::new(401), "").await;
    home.run(&["check", "till"]).says(3, &["(status 401).", "declare sign_in under the source."]);
    let (_server, home) = by_hand(ResponseTemplate::new(404), "").await;
    home.run(&["check", "till"])
        .says(3, &["(status 404).\n", "-> Check the address of the source and the path"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_next_page_that_leads_elsewhere_or_nowhere_is_said() {
    let elsewhere = json!({ "orders": [order()], "next": "https://elsewhere.example/?key=secret" });
    let (_server, home) = by_hand(json_answer(&elsewhere), r#"pages = { by = "url", at = "$.next" }"#).await;
    let run = home.run(&["check", "till"]);
    run.says(3, &["it leads to https://elsewhere.example, another", "give that as its address."]);
    assert!(!run.stdout.contains("key=secret"), "{}", run.stdout);

    let paged = json!({ "orders": [order()], "next": "two" });
    let pages = r#"pages = { by = "cursor", at = "$.next", ask = "page_after" }"#;
    let (server, home) = by_hand(json_answer(&paged), pages).await;
    let second = query_param("page_after", "two");
    Mock::given(second).respond_with(ResponseTemplate::new(400)).mount(&server).await;
    home.run(&["check", "till"]).says(
        3,
        &[
            "  next page   does not work: the source refused the request (status 400).\n",
            "-> Check query, pages and changes of the request",
        ],
    );
    home.run(&["preview", "till"]).says(0, &["orders, record 1: order_id 1001\n"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_request_for_rows_that_there_are_none_of_is_not_tried() {
    let more = r#"
        [sources.till.requests.lines]
        path = "orders/{order_id}/lines"
        for_each = "orders"
        [sources.till.requests.lines.tables.order_lines]
        at = "$[*]"
        [sources.till.requests.lines.tables.order_lines.fields]
        line_id = "$.id"
        quantity = "$.count"
        unit_price = "$.each"
        [sources.till.requests.orders]
        "#;
    let (server, home) = by_hand(json_answer(&json!({ "orders": [] })), "").await;
    let file = home.path().join("everyline.toml");
    let configuration = fs::read_to_string(&file).unwrap().replace("[sources.till.requests.orders]", more);
    fs::write(&file, configuration).unwrap();
    let none = "it is asked for each row of another request, and that\n";
    home.run(&["check", "till"]).says(
        0,
        &[
            "Request lines, asked for one of the orders\n  first page  not tried: ",
            none,
            "\nIt answers, but nothing was found",
        ],
    );
    home.run(&["preview", "till", "--request", "lines"])
        .says(0, &["Nothing to show: it is asked for each row"]);

    server.reset().await;
    let lines = json!([{ "id": "1", "count": 3, "each": 7 }]);
    Mock::given(path("/shop/orders"))
        .respond_with(json_answer(&json!({ "orders": [order()] })))
        .mount(&server)
        .await;
    Mock::given(path("/shop/orders/1001/lines")).respond_with(json_answer(&lines)).mount(&server).await;
    home.run(&["preview", "till", "--request", "lines"])
        .says(0, &["order_lines, record 1: order_id 1001, line_id 1\n    quantity    3\n"]);
}

const ORDERS: &str = "order_id,placed_at,status,currency,sku\n1001,2026-11-25,open,EUR,\n1002,2026-11-25T09:00:00Z,open,EUR,\n";
const LINES: &str =
    "order_id,line_id,sku,quantity,unit_price\n1001,1,AP-MOSS,1,24\n1001,2,,2,12.5\n1002,1,MU-LOW,1,9\n";
const VARIANTS: &str = "supplier,variant_id,options\nalder-print,v1,\"{\"\"Size\"\":\"\"L\"\"}\"\n";

fn folder(files: &[(&str, &str)]) -> Home {
    let home = Home::with("[sources.dropped]\nrole = \"storefront\"\nfolder = \"exports\"\n");
    fs::create_dir(home.path().join("exports")).unwrap();
    for (name, text) in files {
        fs::write(home.path().join("exports").join(name), text).unwrap();
    }
    home
}

#[test]
fn a_folder_is_said_to_be_there_with_its_tables_and_their_rows() {
    let home = folder(&[
        ("orders.csv", ORDERS),
        ("order_lines.csv", LINES),
        ("variants.csv", VARIANTS),
        ("customers.csv", "name\n"),
    ]);
    let run = home.run(&["check", "dropped"]);
    run.says(
        0,
        &[
            "Source dropped, a storefront, in the folder exports\n  folder      works: it is there\n  tables      orders       2 rows\n              order_lines  3 rows\n              variants     1 row\n",
            "  note        ",
            "customers.csv",
            "\nAll works.\n",
        ],
    );
    let run = home.run(&["preview", "dropped", "--records", "2"]);
    run.says(
        0,
        &[
            "Source dropped, a storefront, as everyline reads it. Nothing of this is kept.\n\norders: 2 records in the folder\n",
            "  orders, record 1: order_id 1001\n    placed_at  2026-11-25, the whole day\n    status     open\n    currency   EUR\n",
            "order_lines: 3 records in the folder, showing the first 2 by id\n",
            "    sku                 not known\n    quantity            2\n    cancelled_quantity  0\n    unit_price          12.50\u{a0}EUR\n",
            "variants: 1 record in the folder\n\n  variants, record 1: variant_id v1\n    supplier   alder-print\n    options    Size: L\n    available  true\n",
        ],
    );
    home.run(&["preview", "dropped", "--request", "orders"])
        .tells(2, &["error: there is no such request", "leave out --request"]);
}

#[test]
fn rows_of_a_folder_that_cannot_be_read_are_named_by_file_line_and_column() {
    let lines = LINES.replace("1001,2,,2,", "1001,2,,two,");
    let home = folder(&[("orders.csv", ORDERS), ("order_lines.csv", &lines), ("variants.csv", VARIANTS)]);
    home.run(&["check", "dropped"]).says(
        3,
        &[
            "order_lines  2 rows\n",
            "  bad rows    1 row cannot be read:\n              - order_lines.csv, line 3, column quantity: \"two\"",
            "\nNothing of the folder is used by `everyline watch` as long as rows of it cannot\nbe read.\n",
        ],
    );
    home.run(&["preview", "dropped"]).tells(3, &["error: the folder is not shown in full\ncause: 1 row cannot be read\nhelp:  `everyline source check dropped`"]);
    let many: String = (0..30).map(|line| format!("1001,{line},,x,1\n")).collect();
    let many = format!("order_id,line_id,sku,quantity,unit_price\n{many}");
    let home = folder(&[("orders.csv", ORDERS), ("order_lines.csv", &many), ("variants.csv", VARIANTS)]);
    home.run(&["check", "dropped"]).says(3, &["30 rows cannot be read:", "line 21, ", "showing 20 of 30\n"]);
}

#[test]
fn a_folder_that_is_not_there_or_lacks_a_table_is_said() {
    let home = Home::with("[sources.dropped]\nrole = \"storefront\"\nfolder = \"exports\"\n");
    home.run(&["check", "dropped"])
        .says(3, &["  folder      does not work: exports: there is no such folder", "Check the path."]);
    home.run(&["preview", "dropped"])
        .tells(3, &["error: the folder could not be read\ncause: ", "no such folder"]);
    folder(&[("orders.csv", ORDERS)])
        .run(&["check", "dropped"])
        .says(3, &["the table order_lines is missing"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_source_or_a_request_that_there_is_not_is_met_with_those_that_there_are() {
    let home = Shop::at_noon().await.home;
    for (arguments, cause, help) in [
        (
            &["check", "tlil"][..],
            "cause: everyline.toml has no source \"tlil\"",
            "help:  did you mean till? There are: alder, brook, till",
        ),
        (
            &["preview", "press"],
            "cause: everyline.toml has no source \"press\"",
            "help:  there are: alder, brook, till",
        ),
        (
            &["preview", "till", "--request", "order"],
            "cause: source till has no request \"order\"",
            "help:  did you mean orders? There are: offers, orders",
        ),
        (
            &["preview", "till", "--request", "x"],
            "cause: source till has no request \"x\"",
            "help:  there are: offers, orders",
        ),
        (
            &["check", "till", "--config", "none.toml"],
            "error: the configuration file none.toml could not be read",
            "help:",
        ),
    ] {
        let run = home.run(arguments);
        run.tells(2, &[cause, help]);
        assert_eq!(run.stdout, "");
    }
    Home::with("")
        .run(&["check", "till"])
        .tells(2, &["it declares none; `everyline print configuration` shows how"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn of_several_shops_the_one_is_asked_that_is_meant() {
    let shop =
        |name: &str| format!("[shops.{name}.sources.dropped]\nrole = \"storefront\"\nfolder = \"{name}\"\n");
    let home = Home::with(&(shop("north") + &shop("south")));
    home.run(&["check", "dropped"]).tells(2, &["it is not clear which shop is meant"]);
    home.run(&["check", "dropped", "--shop", "south"]).says(3, &["in the folder south\n"]);
}
