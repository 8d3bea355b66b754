//! `everyline order` and `everyline status` on a ledger that is filled by hand, as a person calls them.
//!
//! The moments are so many minutes before now; the shop is in Oslo. Start reading at [`Shop`].

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

use assert_cmd::Command;
use assert_cmd::cargo::cargo_bin;
use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use everyline::configuration::Configuration;
use everyline::live::judge::{Question, judge};
use everyline::live::world::Machine;
use intake::source::http::World;
use ledger::{Asking, Ledger, SetAside, Trouble};
use model::book::{
    LinkRow, LinkScope, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine,
    SubmissionStatus, Tie, Variant,
};
use model::money::parse_amount;
use model::{Batch, Book, Mark, Options, ShopId, Sku, When};
use tempfile::TempDir;

const SOURCES: &str = r#"
zone = "Europe/Oslo"
[suppliers.alder-print]
cut_off = { after_receipt = "2 h" }
[sources.till]
role = "storefront"
address = "http://127.0.0.1:9/till/"
[sources.till.requests.orders]
path = "orders"
[sources.till.requests.orders.tables.orders]
at = "$.orders[*]"
[sources.till.requests.orders.tables.orders.fields]
order_id = "$.number"
status = "$.state"
placed_at = "$.created"
[sources.till.requests.orders.tables.order_lines]
within = "orders"
at = "$.items[*]"
[sources.till.requests.orders.tables.order_lines.fields]
line_id = "$.id"
quantity = "$.quantity"
[sources.alder]
role = "supplier"
supplier = "alder-print"
address = "http://127.0.0.1:9/alder/"
[sources.alder.requests.jobs]
path = "jobs"
[sources.alder.requests.jobs.tables.submissions]
at = "$[*]"
[sources.alder.requests.jobs.tables.submissions.fields]
submission_id = "$.job"
status = "$.state"
received_at = "$.received"
[sources.alder.requests.jobs.tables.submission_lines]
within = "submissions"
at = "$.lines[*]"
[sources.alder.requests.jobs.tables.submission_lines.fields]
line_id = "$.line"
quantity = "$.quantity"
[sources.alder.requests.articles]
path = "articles"
[sources.alder.requests.articles.tables.variants]
at = "$[*]"
[sources.alder.requests.articles.tables.variants.fields]
variant_id = "$.article"
"#;

/// A folder with a configuration and a ledger.
struct Shop {
    folder: TempDir,
    now: DateTime<Utc>,
}

/// What a run wrote, and its code.
struct Run {
    stdout: String,
    stderr: String,
    code: i32,
}

impl Shop {
    /// A shop of which nothing has been read.
    fn new(configuration: &str) -> Self {
        let shop = Self { folder: tempfile::tempdir().unwrap(), now: Machine.now().trunc_subsecs(0) };
        fs::write(shop.configuration(), configuration).unwrap();
        shop
    }

    fn configuration(&self) -> PathBuf {
        self.folder.path().join("everyline.toml")
    }

    fn at(&self, minutes: i64) -> DateTime<Utc> {
        self.now + TimeDelta::minutes(minutes)
    }

    /// A moment as the pages tell it.
    fn told(&self, minutes: i64) -> String {
        let zone = chrono_tz::Tz::Europe__Oslo;
        let (moment, now) = (self.at(minutes).with_timezone(&zone), self.now.with_timezone(&zone));
        let is_this_year = moment.format("%Y").to_string() == now.format("%Y").to_string();
        moment.format(if is_this_year { "%-d %b %H:%M" } else { "%-d %b %Y %H:%M" }).to_string()
    }

    /// Works on the ledger.
    fn fill(&self, work: impl AsyncFnOnce(&Ledger)) {
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let ledger = Ledger::open(&self.folder.path().join("everyline.db")).await.unwrap();
            work(&ledger).await;
            ledger.close().await;
        });
    }

    async fn read(&self, ledger: &Ledger, (source, request): (&str, &str), minutes: i64, rows: Book) {
        let batch = Batch {
            shop: shop_id(),
            source: source.into(),
            request: request.to_owned(),
            rows,
            whole: Vec::new(),
            everything_since: None,
            mark: Mark { text: String::new(), read_up_to: Some(self.at(minutes)) },
            seen_at: self.at(minutes),
            source_time: Some(self.at(minutes)),
        };
        ledger.commit(&batch).await.unwrap();
        ledger.note(&self.asking((source, request), minutes)).await.unwrap();
    }

    fn asking(&self, (source, request): (&str, &str), minutes: i64) -> Asking {
        Asking {
            shop: shop_id(),
            source: source.into(),
            request: request.to_owned(),
            asked_at: self.at(minutes),
            answered_at: Some(self.at(minutes)),
            failing_since: None,
            trouble: None,
            next_at: Some(self.at(minutes + 1)),
            counted: None,
        }
    }

    /// Judges and records, as `everyline watch` does.
    async fn round(&self, ledger: &Ledger, minutes: i64) {
        let configuration = Configuration::read(&self.configuration()).unwrap();
        let (shop, settings) = configuration.shop(None).unwrap();
        let now = self.at(minutes);
        let question =
            Question { shop: shop.clone(), settings: Arc::new(settings.clone()), as_of: None, now };
        let judged = judge(ledger, &question).await.unwrap();
        ledger.record(shop, &judged.outcome, now).await.unwrap();
    }

    fn run(&self, arguments: &[&str]) -> Run {
        let mut command = Command::new(cargo_bin!("everyline"));
        let output = command
            .args(arguments)
            .arg("--config")
            .arg(self.configuration())
            .env("COLUMNS", "80")
            .output()
            .unwrap();
        Run {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            code: output.status.code().expect("the program ends by itself"),
        }
    }

    fn order(&self, lines: &[OrderLine], id: &str, status: OrderStatus, placed: i64) -> Book {
        let order = Order {
            order_id: id.into(),
            placed_at: When::at(self.at(placed)),
            paid_at: Some(When::at(self.at(placed + 1))),
            status,
            currency: Some("EUR".parse().unwrap()),
            promised_by: None,
            ship_to_country: Some("NO".to_owned()),
            ship_to_digest: None,
            updated_at: None,
        };
        Book { orders: vec![order], order_lines: lines.to_vec(), ..Book::default() }
    }

    fn sent(
        &self,
        id: &str,
        of: &str,
        status: SubmissionStatus,
        received: i64,
        lines: &[SubmissionLine],
    ) -> Book {
        let submission = Submission {
            supplier: "alder-print".into(),
            submission_id: id.into(),
            order_ref: Some(of.to_owned()),
            status,
            received_at: When::at(self.at(received)),
            replaces: None,
            updated_at: None,
        };
        let lines = lines.iter().map(|line| SubmissionLine { submission_id: id.into(), ..line.clone() });
        Book {
            submissions: Some(vec![submission]),
            submission_lines: Some(lines.collect()),
            ..Book::default()
        }
    }
}

fn shop_id() -> ShopId {
    let configuration = Configuration::parse(SOURCES, "everyline.toml").unwrap();
    configuration.shop(None).unwrap().0.clone()
}

fn bought(order: &str, line: &str, title: &str, choice: &str, sku: &str, quantity: u32) -> OrderLine {
    OrderLine {
        order_id: order.into(),
        line_id: line.into(),
        listing_id: Some("KL-1".into()),
        sku: Sku::new(sku),
        title: Some(title.to_owned()),
        options: Some(Options::from_pairs([("Choice", choice)]).unwrap()),
        quantity,
        cancelled_quantity: 0,
        unit_price: parse_amount("24.00"),
        updated_at: None,
    }
}

fn made(line: &str, of: Option<&str>, variant: &str, quantity: u32) -> SubmissionLine {
    SubmissionLine {
        supplier: "alder-print".into(),
        submission_id: "".into(),
        line_id: line.into(),
        order_ref: None,
        order_line_ref: of.map(Into::into),
        variant_id: Some(variant.into()),
        sku: None,
        quantity,
        status: None,
        unit_cost: None,
        updated_at: None,
    }
}

fn variants() -> Book {
    let variant = |id: &str, sku: &str, product: &str, colour: &str| Variant {
        supplier: "alder-print".into(),
        variant_id: id.into(),
        sku: Sku::new(sku),
        product: Some(product.to_owned()),
        options: Some(Options::from_pairs([("Colour", colour)]).unwrap()),
        unit_cost: None,
        currency: None,
        available: true,
    };
    Book {
        variants: Some(vec![
            variant("A1", "AP-MOSS", "Apron", "moss"),
            variant("A2", "MU-LOW", "Mug", "white"),
            variant("A3", "AP-RUST", "Apron", "rust"),
            variant("A4", "TO-RU", "Tote bag", "rust"),
        ]),
        ..Book::default()
    }
}

const ORDERS: (&str, &str) = ("till", "orders");
const JOBS: (&str, &str) = ("alder", "jobs");
const ARTICLES: (&str, &str) = ("alder", "articles");

/// Order 1001 goes out without its tote bag; what was found of it was set aside.
fn with_a_part_sent_order() -> Shop {
    let shop = Shop::new(SOURCES);
    shop.fill(async |ledger| {
        let lines = [
            bought("1001", "1", "Kitchen set", "Large apron, moss", "AP-MOSS", 2),
            bought("1001", "2", "Kitchen set", "Tote bag, rust", "TO-RUST", 1),
        ];
        shop.read(ledger, ARTICLES, -200, variants()).await;
        shop.read(ledger, ORDERS, -118, shop.order(&lines, "1001", OrderStatus::Open, -120)).await;
        let job = |status| shop.sent("J-1", "1001", status, -110, &[made("1", Some("1"), "A1", 2)]);
        shop.read(ledger, JOBS, -100, job(SubmissionStatus::Received)).await;
        shop.round(ledger, -99).await;
        shop.read(ledger, JOBS, -60, job(SubmissionStatus::Held)).await;
        shop.read(ledger, JOBS, -30, job(SubmissionStatus::Making)).await;
        for request in [ORDERS, JOBS, ARTICLES] {
            shop.read(ledger, request, -1, Book::default()).await;
        }
        shop.round(ledger, 0).await;
    });
    shop
}

/// The text with all white space as single blanks, so that it does not matter where a line ends.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn assert_says(text: &str, said: &[&str]) {
    for said in said {
        assert!(flat(text).contains(said), "{said:?} is not said in\n{text}");
    }
}

/// That these lines stand on the page, one directly under the other.
fn assert_lines(text: &str, lines: &str) {
    assert!(text.contains(lines), "these lines do not stand there:\n{lines}\nin\n{text}");
}

/// That these texts stand in the right column, beside what was bought.
fn assert_beside(page: &str, said: &[&str]) {
    let (_, rows) = page.split_once("BOUGHT ").unwrap();
    let (rows, _) = rows.split_once("\n\n").unwrap();
    let column = rows.lines().skip(1).map(|row| row.chars().skip(37).collect::<String>() + " ");
    assert_says(&column.collect::<String>(), said);
}

/// That standard error holds an error in its three parts, and nothing was written.
fn assert_trouble(run: &Run, texts: &[&str]) {
    assert_eq!((run.code, run.stdout.as_str()), (2, ""), "{}", run.stderr);
    assert!(run.stderr.starts_with("error: "), "{}", run.stderr);
    assert!(run.stderr.contains("\ncause: ") && run.stderr.contains("\nhelp:  "), "{}", run.stderr);
    assert_says(&run.stderr, texts);
}

fn id_of_finding(page: &str) -> String {
    let (_, rest) = page.split_once("WHAT WAS FOUND\n").unwrap();
    rest.split_whitespace().next().unwrap().to_owned()
}

#[test]
fn an_order_that_goes_out_in_part_is_shown_beside_what_was_sent() {
    let shop = with_a_part_sent_order();
    let run = shop.run(&["order", "1001"]);
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert_lines(
        &run.stdout,
        "
2 of 3 items are being made; nobody makes 1. To be looked at: part-sent, see
below.
",
    );
    assert_lines(
        &run.stdout,
        "
BOUGHT                               SENT FOR IT
1: 2 x Kitchen set                   alder-print J-1, line 1: 2 x Apron, moss
  Large apron, moss                    (A1)
  SKU AP-MOSS                          being made
2: 1 x Kitchen set                   nobody makes it: it is not linked to a
  Tote bag, rust                       supplier variant
  SKU TO-RUST

SUPPLIER ORDERS
",
    );
    let told = |minutes| shop.told(minutes);
    assert_says(
        &run.stdout,
        &[
            &format!("Order 1001 is open: placed {}, paid {}, to NO.", told(-120), told(-119)),
            &format!(
                "alder-print J-1: being made, received {}, can no longer be changed (cut-off {})",
                told(-110),
                told(10)
            ),
            &format!("part-sent the cut-off has passed since {} Order 1001: nobody makes 1 x", told(-99)),
        ],
    );
    let id = id_of_finding(&run.stdout);
    let happened = format!(
        "WHAT HAPPENED {} till: the order appeared, with 2 lines {} alder: supplier order J-1 appeared, with 1 line \
         {} found: part-sent ({id}) {} alder: supplier order J-1 went from received to held \
         {} alder: supplier order J-1 went from held to making",
        told(-118),
        told(-100),
        told(-99),
        told(-60),
        told(-30)
    );
    assert!(flat(&run.stdout).ends_with(&happened), "{}", run.stdout);
}

#[test]
fn an_earlier_moment_can_be_asked_for() {
    let shop = with_a_part_sent_order();
    let page = |minutes: i64| {
        let run = shop.run(&["order", "1001", "--as-of", &shop.at(minutes).to_rfc3339()]);
        assert_eq!((run.code, run.stderr.as_str()), (0, ""));
        run.stdout
    };
    let before_it_was_sent = page(-115);
    assert_says(&before_it_was_sent, &["2 of 3 items are not sent to a supplier yet; nobody makes 1."]);
    assert_says(&before_it_was_sent, &["newer than the rest, and not counted yet"]);
    let before_it_was_placed = page(-130);
    assert_says(&before_it_was_placed, &["It was placed after the moment for which everything is known;"]);
    assert_beside(
        &before_it_was_placed,
        &["not known yet: the order is newer than what is known of the suppliers"],
    );
    assert_trouble(&shop.run(&["order", "1001", "--as-of", "noon"]), &["--as-of", "noon"]);
}

#[test]
fn what_was_set_aside_says_why_and_is_no_longer_to_be_looked_at() {
    let shop = with_a_part_sent_order();
    let id = id_of_finding(&shop.run(&["order", "1001"]).stdout);
    shop.fill(async |ledger| {
        let aside = SetAside { note: "they know\u{1b}[2J".to_owned(), until: Some(shop.at(600)) };
        ledger.set_aside(&shop_id(), &id, &aside, shop.at(0)).await.unwrap();
    });
    let page = shop.run(&["order", "1001"]).stdout;
    assert_says(
        &page,
        &[
            "2 of 3 items are being made; nobody makes 1. As things stood",
            &format!("Set aside until {}: they know\u{fffd}[2J", shop.told(600)),
            &format!("{} you set aside part-sent ({id}): they know\u{fffd}[2J", shop.told(0)),
        ],
    );
    assert!(!page.contains('\u{1b}'), "{page:?}");
    assert_says(&shop.run(&["status"]).stdout, &["nothing is to be done 1 is set aside"]);
    shop.fill(async |ledger| {
        assert!(ledger.take_back(&shop_id(), &id, shop.at(0)).await.unwrap());
    });
    let page = shop.run(&["order", "1001"]).stdout;
    assert_says(&page, &["To be looked at: part-sent", &format!("you took part-sent ({id}) back")]);
}

#[test]
fn what_has_settled_is_still_told() {
    let shop = with_a_part_sent_order();
    let id = id_of_finding(&shop.run(&["order", "1001"]).stdout);
    let tie = Tie {
        order_id: "1001".into(),
        line_id: "2".into(),
        supplier: "alder-print".into(),
        submission_id: "J-9".into(),
        submission_line_id: None,
    };
    shop.fill(async |ledger| {
        let by_hand = shop.sent("J-9", "by hand", SubmissionStatus::Making, -20, &[made("1", None, "A4", 1)]);
        shop.read(ledger, JOBS, -1, by_hand).await;
        ledger.tie(&shop_id(), &tie, shop.at(0)).await.unwrap();
        shop.round(ledger, 0).await;
    });
    let page = shop.run(&["order", "1001"]).stdout;
    let at = shop.told(0);
    assert_says(
        &page,
        &[
            "All 3 items are being made. As things stood",
            "alder-print J-9, line 1: 1 x Tote bag,",
            "made by hand: the line is not linked",
            "WHAT YOU SAID you said that all of J-9 of alder-print serves line 2",
            &format!("{id} part-sent found {}, settled {at}", shop.told(-99)),
            &format!("{at} you said that all of J-9 of alder-print serves line 2 settled: part-sent ({id})"),
        ],
    );
}

#[test]
fn a_wrong_item_and_a_surplus_are_marked_in_words() {
    let shop = Shop::new(SOURCES);
    shop.fill(async |ledger| {
        let lines = [bought("1002", "1", "Mug", "white", "MU-LOW", 1)];
        shop.read(ledger, ARTICLES, -200, variants()).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines, "1002", OrderStatus::Open, -90)).await;
        let lines = [made("1", Some("1"), "A1", 1), made("2", None, "A3", 3)];
        shop.read(ledger, JOBS, -1, shop.sent("J-2", "1002", SubmissionStatus::Received, -80, &lines)).await;
        shop.read(ledger, ARTICLES, -1, Book::default()).await;
    });
    let run = shop.run(&["order", "1002"]);
    assert_eq!(run.code, 0);
    assert_lines(
        &run.stdout,
        "
1: 1 x Mug                           alder-print J-2, line 1: 1 x Apron, moss
  white                                (A1)
  SKU MU-LOW                           NOT WHAT WAS BOUGHT: that is alder-print
                                       A2
                                       another product: apron, not mug
                                       another colour: moss, not white
                                       received, not begun
",
    );
    assert_says(
        &run.stdout,
        &[
            "Its only item is made as something else than was bought. To be looked at: wrong-variant and over-sent, \
             see below.",
            &format!(
                "alder-print J-2: received {}, not begun, can be changed until {}",
                shop.told(-80),
                shop.told(40)
            ),
            "line 2: 3 x A3 MORE THAN WAS BOUGHT: it serves nothing",
            &format!("wrong-variant act before {}", shop.told(40)),
        ],
    );
}

/// A supplier order for two orders, of which one has gone in two parcels.
#[test]
fn parcels_are_told_with_their_numbers_and_lines_for_other_orders_are_left_out() {
    let shop = Shop::new(SOURCES);
    shop.fill(async |ledger| {
        let of = |order: &str| {
            let lines = [
                bought(order, "1", "Mug", "white", "MU-LOW", 2),
                bought(order, "2", "Apron\u{202e}", "moss", "AP-MOSS", 1),
            ];
            shop.order(&lines, order, OrderStatus::Open, -900)
        };
        shop.read(ledger, ARTICLES, -900, variants()).await;
        shop.read(ledger, ORDERS, -890, of("1003")).await;
        shop.read(ledger, ORDERS, -1, of("1004")).await;
        let line = |line, order: &str, of, variant, quantity| SubmissionLine {
            order_ref: Some(order.to_owned()),
            ..made(line, Some(of), variant, quantity)
        };
        let lines = [
            line("a", "1003", "1", "A2", 2),
            line("b", "1003", "2", "A1", 1),
            line("c", "1004", "1", "A2", 2),
            line("d", "1004", "2", "A1", 1),
        ];
        let mut rows = shop.sent("J-3", "1003;1004", SubmissionStatus::Making, -880, &lines);
        let parcel = |id: &str, minutes, number: Option<&str>| Parcel {
            supplier: "alder-print".into(),
            parcel_id: id.into(),
            submission_id: "J-3".into(),
            dispatched_at: When::at(shop.at(minutes)),
            carrier: Some("Shearwater Parcels".to_owned()),
            tracking_number: number.map(str::to_owned),
        };
        let packed = |id: &str, line: &str, quantity| ParcelLine {
            supplier: "alder-print".into(),
            parcel_id: id.into(),
            submission_line_id: line.into(),
            quantity,
        };
        rows.parcels = Some(vec![
            parcel("P-1", -60, Some("SW 123")),
            parcel("P-2", -30, None),
            parcel("P-3", -20, None),
        ]);
        rows.parcel_lines = Some(vec![
            packed("P-1", "a", 1),
            packed("P-1", "c", 1),
            packed("P-2", "b", 1),
            packed("P-3", "d", 1),
        ]);
        shop.read(ledger, JOBS, -1, rows).await;
        shop.read(ledger, ARTICLES, -1, Book::default()).await;
    });
    // Without a request that brings parcels nobody would know that they are complete.
    let parcels = "
[sources.alder.requests.parcels]
path = \"parcels\"
[sources.alder.requests.parcels.tables.parcels]
at = \"$[*]\"
[sources.alder.requests.parcels.tables.parcels.fields]
parcel_id = \"$.parcel\"
submission_id = \"$.job\"
dispatched_at = \"$.dispatched\"
[sources.alder.requests.parcels.tables.parcel_lines]
within = \"parcels\"
at = \"$.contents[*]\"
[sources.alder.requests.parcels.tables.parcel_lines.fields]
submission_line_id = \"$.line\"
quantity = \"$.quantity\"
";
    fs::write(shop.configuration(), format!("{SOURCES}{parcels}")).unwrap();
    shop.fill(async |ledger| shop.read(ledger, ("alder", "parcels"), -1, Book::default()).await);
    let page = shop.run(&["order", "1003"]).stdout;
    let told = |minutes| shop.told(minutes);
    assert_says(
        &page,
        &[
            "2 of 3 items have been dispatched; 1 is being made.",
            &format!("1 of 2 dispatched in parcel P-1 on {}; the", told(-60)),
            "beside that 2 lines for other orders",
            &format!(
                "PARCELS alder-print P-1: of J-3, dispatched {}, with Shearwater Parcels, tracking number SW 123, in \
                 it 1 of line a",
                told(-60)
            ),
            &format!(
                "alder-print P-2: of J-3, dispatched {}, with Shearwater Parcels, without a tracking number, in it 1 \
                 of line b",
                told(-30)
            ),
            "2: 1 x Apron",
            "alder: supplier order J-3 appeared, with 2 lines alder: parcel P-1 appeared, with 1 line alder: parcel P-2 \
             appeared, with 1 line",
        ],
    );
    assert!(!page.contains("P-3") && !page.contains("line c") && !page.contains('\u{202e}'), "{page}");
}

#[test]
fn what_may_still_be_sent_is_not_missing() {
    let shop = Shop::new(SOURCES);
    let lines = |order: &str| {
        [bought(order, "1", "Mug", "white", "MU-LOW", 2), bought(order, "2", "Card", "otter", "CARD", 1)]
    };
    shop.fill(async |ledger| {
        let own = LinkRow {
            scope: LinkScope::Sku(Sku::new("CARD").unwrap()),
            supplier: "own".into(),
            variant_id: None,
            units: 1,
            in_force: true,
        };
        shop.read(ledger, ARTICLES, -200, variants()).await;
        let links = Book { links: Some(vec![own]), ..Book::default() };
        shop.read(ledger, ORDERS, -1, links).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines("1005"), "1005", OrderStatus::Open, -31)).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines("1006"), "1006", OrderStatus::Open, -90)).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines("1007"), "1007", OrderStatus::Cancelled, -90)).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines("1008"), "1008", OrderStatus::Unpaid, -90)).await;
        let cancelled =
            shop.sent("J-7", "1007", SubmissionStatus::Received, -85, &[made("1", Some("1"), "A2", 2)]);
        shop.read(ledger, JOBS, -1, cancelled).await;
        shop.read(ledger, ARTICLES, -1, Book::default()).await;
    });
    let page = |order: &str| shop.run(&["order", order]).stdout;
    let within_the_grace = page("1005");
    assert_says(
        &within_the_grace,
        &[
            "1 of 3 items is packed by yourself; 2 are not sent to a supplier yet. As things",
            "SUPPLIER ORDERS none that speaks of this order WHAT WAS FOUND nothing WHAT",
        ],
    );
    let until = format!("not sent yet: it is linked, and it may take until {}", shop.told(30));
    assert_beside(&within_the_grace, &[&until, "you pack it yourself"]);
    let overdue = page("1006");
    assert_says(&overdue, &["nobody makes 2. To be looked at: unsent-order"]);
    assert_beside(&overdue, &["nobody makes any of it: it is linked to alder-print A2, and was not sent"]);
    let cancelled = page("1007");
    assert_says(
        &cancelled,
        &[
            "Order 1007 is cancelled",
            "Nothing of it is to be made, but suppliers still have 2 items. To be looked at: sent-after-cancel",
            "line 1: 2 x A2 MADE FOR SOMETHING THAT IS CANCELLED",
        ],
    );
    assert_beside(&cancelled, &["nothing is to be made: the order is cancelled"]);
    let unpaid = page("1008");
    assert_says(&unpaid, &["is not paid for yet", "Nothing of it is to be made before it is paid."]);
    assert_beside(&unpaid, &["nothing is to be made before the order is paid"]);
    // Where a supplier has not been read up to now, nobody knows whether it was sent.
    let behind = format!("{SOURCES}\n[sources.alder.requests.late]\npath = \"late\"\n{LATE_TABLE}");
    fs::write(shop.configuration(), behind).unwrap();
    let not_known = page("1006");
    assert_says(&not_known, &["2 may have been sent, which is not known yet. As things stood"]);
    let why = "not known yet whether any of it was sent: alder-print is not read up to now";
    assert_beside(&not_known, &[why]);
}

/// A further request for supplier orders, which was never read.
const LATE_TABLE: &str = r#"
[sources.alder.requests.late.tables.submissions]
at = "$[*]"
[sources.alder.requests.late.tables.submissions.fields]
submission_id = "$.job"
status = "$.state"
received_at = "$.received"
"#;

#[test]
fn no_line_is_wider_than_the_terminal_whatever_the_shop_is_called() {
    let shop = Shop::new(SOURCES);
    shop.fill(async |ledger| {
        let lines =
            [bought("1009", "1", &"Very long title ".repeat(60), &"o".repeat(500), &"S".repeat(90), 1)];
        shop.read(ledger, ARTICLES, -200, variants()).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines, "1009", OrderStatus::Open, -90)).await;
        shop.read(ledger, JOBS, -1, Book::default()).await;
        shop.read(ledger, ARTICLES, -1, Book::default()).await;
        shop.round(ledger, 0).await;
    });
    for columns in ["60", "80", "100"] {
        for arguments in [&["order", "1009"][..], &["status"]] {
            let mut command = Command::new(cargo_bin!("everyline"));
            command.args(arguments).arg("--config").arg(shop.configuration()).env("COLUMNS", columns);
            let page = String::from_utf8(command.output().unwrap().stdout).unwrap();
            let widest = page.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(widest <= columns.parse().unwrap(), "{columns} columns\n{page}");
            assert!(page.lines().all(|line| line == line.trim_end()), "{page}");
        }
    }
}

#[test]
fn an_unknown_order_is_named_with_the_nearest_and_up_to_when_orders_were_read() {
    let shop = with_a_part_sent_order();
    assert_trouble(
        &shop.run(&["order", "1010"]),
        &[
            "no order \"1010\" has been read; the nearest is 1001",
            &format!("The storefront has been read up to {}, 1 min ago", shop.told(-1)),
        ],
    );
    let never = Shop::new(SOURCES);
    never.fill(async |_| {});
    assert_trouble(
        &never.run(&["order", "1001"]),
        &["no order \"1001\" has been read help:", "The storefront has never been read to its end"],
    );
}

#[test]
fn without_anything_read_both_commands_say_what_to_do() {
    let shop = Shop::new(SOURCES);
    for arguments in [&["order", "1001"][..], &["status"]] {
        assert_trouble(&shop.run(arguments), &["everyline.db is not there", "`everyline watch`"]);
        assert!(!shop.folder.path().join("everyline.db").exists(), "looking makes nothing");
    }
    for arguments in [&["order", "1001", "--shop", "puffin"][..], &["status", "--shop", "puffin"]] {
        assert_trouble(&shop.run(arguments), &["there is no such shop", "--shop is \"puffin\""]);
    }
    fs::remove_file(shop.configuration()).unwrap();
    assert_trouble(&shop.run(&["status"]), &["could not be read", "--config"]);
}

#[test]
fn status_says_how_far_each_source_was_read_and_what_waits() {
    let shop = with_a_part_sent_order();
    let run = shop.run(&["status"]);
    assert_eq!((run.code, run.stderr.as_str()), (0, ""), "{}", run.stdout);
    let told = |minutes| shop.told(minutes);
    assert_says(
        &run.stdout,
        &[
            &format!(
                "till, orders: read as of {}, 1 min ago asked last {}, 1 min ago; it was to be asked again {}, every 1 min",
                told(-1),
                told(-1),
                told(0)
            ),
            "WHAT WAITS 1 finding stands: 1 part-sent compared last",
            &format!("as things stood {} What was read is kept in", told(-1)),
            "everyline.db (",
            " kB).",
        ],
    );
    assert!(run.stdout.starts_with("SOURCES\n"), "nobody is warned of: {}", run.stdout);
}

#[test]
fn status_names_what_fails_what_is_behind_and_what_counts_otherwise_and_ends_with_3() {
    let shop = with_a_part_sent_order();
    shop.fill(async |ledger| {
        let trouble = Trouble { kind: "unreadable".to_owned(), words: "it answers with 503\u{7}".to_owned() };
        let failing = Asking {
            asked_at: shop.at(0),
            answered_at: None,
            failing_since: Some(shop.at(-5)),
            trouble: Some(trouble),
            next_at: Some(shop.at(7)),
            ..shop.asking(JOBS, 0)
        };
        shop.read(ledger, JOBS, -20, Book::default()).await;
        ledger.note(&failing).await.unwrap();
        ledger.note(&Asking { counted: Some((120, 118)), ..shop.asking(ORDERS, 0) }).await.unwrap();
    });
    let late = format!("{SOURCES}\n[sources.alder.requests.late]\npath = \"late\"\n{LATE_TABLE}");
    fs::write(shop.configuration(), late).unwrap();
    let run = shop.run(&["status"]);
    assert_eq!(run.code, 3, "{}", run.stdout);
    assert_says(
        &run.stdout,
        &[
            &format!(
                "alder, jobs: read as of {}, 20 min ago; BEHIND, it counts as up to date for 10 min asked last",
                shop.told(-20)
            ),
            &format!("; next {}, in", shop.told(7)),
            &format!("FAILS since {}, 5 min ago (it answered as it should", shop.told(-5)),
            "it answers with 503\u{fffd}",
            "alder, late: NEVER READ TO ITS END never asked, every 1 min",
            "it counts 120 records itself, and 118 were read",
            "1 source-gap",
        ],
    );
}

#[test]
fn status_says_the_next_deadline() {
    let shop = Shop::new(SOURCES);
    shop.fill(async |ledger| {
        let lines = [
            bought("1002", "1", "Mug", "white", "MU-LOW", 1),
            bought("1002", "2", "Tote", "rust", "TO-RUST", 1),
        ];
        shop.read(ledger, ARTICLES, -200, variants()).await;
        shop.read(ledger, ORDERS, -1, shop.order(&lines, "1002", OrderStatus::Open, -90)).await;
        let line = [made("1", Some("1"), "A2", 1)];
        shop.read(ledger, JOBS, -1, shop.sent("J-2", "1002", SubmissionStatus::Received, -80, &line)).await;
        shop.read(ledger, ARTICLES, -1, Book::default()).await;
    });
    let status = shop.run(&["status"]).stdout;
    let deadline = format!("next deadline {}, in ", shop.told(40));
    assert_says(&status, &[&deadline, "min (order 1002, part-sent, ", "never compared by `everyline watch`"]);
}

#[test]
fn status_asks_whether_somebody_watches_where_nothing_was_asked_for_long() {
    let shop = Shop::new(SOURCES);
    shop.fill(async |_| {});
    let run = shop.run(&["status"]);
    assert_eq!(run.code, 3);
    assert!(run.stdout.starts_with("NOBODY WATCHES: no source has ever been asked;"), "{}", run.stdout);
    shop.fill(async |ledger| shop.read(ledger, ORDERS, -60, Book::default()).await);
    assert_says(
        &shop.run(&["status"]).stdout,
        &[&format!(
            "NOBODY SEEMS TO WATCH: the sources were asked last {}, 1 h ago, though one is to be asked every 1 min; \
             is `everyline watch` running?",
            shop.told(-60)
        )],
    );
}

#[test]
fn status_without_a_shop_tells_of_each_under_its_name() {
    let source = |shop: &str| {
        format!(
            "[shops.{shop}]\nzone = \"Europe/Oslo\"\n[shops.{shop}.sources.dropped]\nrole = \"storefront\"\nfolder = \"{shop}\"\n"
        )
    };
    let shop = Shop::new(&format!("{}{}", source("kittiwake"), source("puffin")));
    shop.fill(async |_| {});
    let run = shop.run(&["status"]);
    assert_eq!((run.code, run.stderr.as_str()), (3, ""));
    assert_lines(&run.stdout, "Shop kittiwake\n");
    assert_lines(&run.stdout, "\nShop puffin\n");
    assert_says(&run.stdout, &["dropped, its folder: NEVER READ TO ITS END"]);
    assert_eq!(run.stdout.matches("What was read is kept in").count(), 1);
    let one = shop.run(&["status", "--shop", "puffin"]).stdout;
    assert!(one.contains("Shop puffin\n") && !one.contains("kittiwake"), "{one}");
    assert_trouble(
        &shop.run(&["order", "1001"]),
        &["it is not clear which shop is meant", "kittiwake, puffin"],
    );
}
