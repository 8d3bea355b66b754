//! The matcher against published examples: what is short, to follow, never coming and over.

#![expect(clippy::unwrap_used, reason = "a test")]

use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};
use matcher::{Account, Facts, account, reconcile};
use model::book::{
    Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine, SubmissionStatus, Variant,
};
use model::reading::Readings;
use model::rules::Graces;
use model::{Book, Check, Outcome, Rules, Sku, When};

const PRESS: &str = "press";

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// A book with one supplier, in which every SKU is the id of a variant.
struct Ledger {
    book: Book,
}

impl Ledger {
    fn new() -> Self {
        let book = Book {
            variants: Some(Vec::new()),
            submissions: Some(Vec::new()),
            submission_lines: Some(Vec::new()),
            parcels: Some(Vec::new()),
            parcel_lines: Some(Vec::new()),
            ..Book::default()
        };
        Self { book }
    }

    fn variant(&mut self, id: &str) {
        self.book.variants.as_mut().unwrap().push(Variant {
            supplier: PRESS.into(),
            variant_id: id.into(),
            sku: None,
            product: None,
            options: None,
            unit_cost: None,
            currency: None,
            available: true,
        });
    }

    fn order(&mut self, order: &str, placed_at: When) {
        self.book.orders.push(Order {
            order_id: order.into(),
            placed_at,
            paid_at: None,
            status: OrderStatus::Open,
            currency: None,
            promised_by: None,
            ship_to_country: None,
            ship_to_digest: None,
            updated_at: None,
        });
    }

    fn line(&mut self, order: &str, line: &str, sku: &str, quantity: u32) {
        self.book.order_lines.push(OrderLine {
            order_id: order.into(),
            line_id: line.into(),
            listing_id: None,
            sku: Sku::new(sku),
            title: None,
            options: None,
            quantity,
            cancelled_quantity: 0,
            unit_price: None,
            updated_at: None,
        });
    }

    fn submission(&mut self, id: &str, order: &str, received_at: When) {
        self.book.submissions.as_mut().unwrap().push(Submission {
            supplier: PRESS.into(),
            submission_id: id.into(),
            order_ref: Some(order.into()),
            status: SubmissionStatus::Making,
            received_at,
            replaces: None,
            updated_at: None,
        });
    }

    fn sent(&mut self, submission: &str, line: &str, variant: &str, quantity: u32) {
        self.book.submission_lines.as_mut().unwrap().push(SubmissionLine {
            supplier: PRESS.into(),
            submission_id: submission.into(),
            line_id: line.into(),
            order_ref: None,
            order_line_ref: None,
            variant_id: Some(variant.into()),
            sku: None,
            quantity,
            status: None,
            unit_cost: None,
            updated_at: None,
        });
    }

    fn parcel(&mut self, parcel: &str, submission: &str, dispatched_at: When) {
        self.book.parcels.as_mut().unwrap().push(Parcel {
            supplier: PRESS.into(),
            parcel_id: parcel.into(),
            submission_id: submission.into(),
            dispatched_at,
            carrier: None,
            tracking_number: None,
        });
    }

    fn packed(&mut self, parcel: &str, line: &str, quantity: u32) {
        self.book.parcel_lines.as_mut().unwrap().push(ParcelLine {
            supplier: PRESS.into(),
            parcel_id: parcel.into(),
            submission_line_id: line.into(),
            quantity,
        });
    }

    fn audit(&self, rules: &Rules, as_of: DateTime<Utc>) -> (Outcome, Account) {
        let readings = Readings::default();
        let facts = Facts::of_tables(&readings, &[]);
        (reconcile(&self.book, facts, rules, as_of), account(&self.book, facts, rules, as_of))
    }
}

/// One order whose supplier dispatches some of each line, and says how much is to follow.
/// `lines`: ordered, dispatched, to follow. Returns per line: follow, never, over.
fn follow_never_over(lines: &[(u32, u32, u32)]) -> (Vec<(u64, u64, u64)>, Outcome) {
    let mut ledger = Ledger::new();
    let (placed, sent) = (utc("2026-01-05T09:00:00Z"), utc("2026-01-07T09:00:00Z"));
    ledger.order("order", When::at(placed));
    ledger.submission("submission", "order", When::at(placed));
    ledger.parcel("parcel", "submission", When::at(sent));
    for (index, (ordered, dispatched, to_follow)) in lines.iter().enumerate() {
        let (id, item) = (index.to_string(), format!("item {index}"));
        ledger.variant(&item);
        ledger.line("order", &id, &item, *ordered);
        ledger.sent("submission", &id, &item, dispatched + to_follow);
        ledger.packed("parcel", &id, *dispatched);
    }
    let (outcome, account) = ledger.audit(&Rules::default(), sent + TimeDelta::days(4));
    let answers = account.lines.iter().zip(&account.supplies).map(|(line, supply)| {
        assert_eq!(line.line_id, supply.line_id);
        (line.covered - line.dispatched, line.uncovered, supply.surplus)
    });
    (answers.collect(), outcome)
}

fn raised(outcome: &Outcome) -> Vec<(Check, Vec<(String, u64)>)> {
    let lines = |finding: &model::Finding| -> Vec<(String, u64)> {
        let lines = finding.lines.iter().map(|line| (line.line_id.to_string(), line.units));
        let sent = finding.submission_lines.iter().map(|line| (format!("sent {}", line.line_id), line.units));
        lines.chain(sent).collect()
    };
    outcome.findings.iter().map(|finding| (finding.check, lines(finding))).collect()
}

/// Source: Peppol BIS Despatch Advice 3, use case 2: partial dispatch, lines of 10 ordered; outstanding is what
/// will follow, the rest never comes.
#[test]
fn the_partial_dispatch_of_peppol_is_read_as_it_is_published() {
    let (answers, outcome) =
        follow_never_over(&[(10, 10, 0), (10, 6, 4), (10, 6, 0), (10, 6, 3), (10, 12, 0)]);
    assert_eq!(answers, [(0, 0, 0), (4, 0, 0), (0, 4, 0), (3, 1, 0), (0, 0, 2)]);
    let line = |id: &str, units| (id.to_owned(), units);
    assert_eq!(
        raised(&outcome),
        [
            (Check::PartSent, vec![line("2", 4), line("3", 1)]),
            (Check::OverSent, vec![line("2", 4), line("3", 1), line("sent 4", 2)]),
            (Check::PartDispatched, vec![line("1", 4), line("3", 3)]),
        ]
    );
}

/// Source: OASIS UBL 2.1 to 2.4, example documents for order AEG012345: 100 ordered, 90 despatched, 10 on back
/// order. (Its invoice bills all 100; its receipt advice says 'short 10', which by UBL's own definition,
/// despatched less received, would be 0.)
#[test]
fn the_back_order_of_the_ubl_examples_is_to_follow_and_not_missing() {
    let (answers, outcome) = follow_never_over(&[(100, 90, 10)]);
    assert_eq!(answers, [(10, 0, 0)]);
    assert_eq!(raised(&outcome), [(Check::PartDispatched, vec![("0".to_owned(), 10)])]);
}

/// The orders that are found partly dispatched, and those of status P, among the orders of TPC-H.
fn partly_dispatched(scale: f64) -> (BTreeSet<String>, BTreeSet<String>) {
    use tpchgen::generators::{LineItemGenerator, OrderGenerator, OrderStatus};
    let day = |text: String| When::at(utc(&format!("{text}T00:00:00Z")));
    let mut ledger = Ledger::new();
    let mut partly = BTreeSet::new();
    for order in OrderGenerator::new(scale, 1, 1) {
        let id = order.o_orderkey.to_string();
        ledger.order(&id, day(order.o_orderdate.to_string()));
        // Half of the orders in one submission for all lines, half in one for each.
        if order.o_orderkey % 2 == 0 {
            ledger.submission(&id, &id, day(order.o_orderdate.to_string()));
        }
        if order.o_orderstatus == OrderStatus::Pending {
            partly.insert(id);
        }
    }
    let mut variants = BTreeSet::new();
    for item in LineItemGenerator::new(scale, 1, 1) {
        let (order, line) = (item.l_orderkey.to_string(), item.l_linenumber.to_string());
        let part = format!("part {}", item.l_partkey);
        ledger.line(&order, &line, &part, u32::try_from(item.l_quantity).unwrap());
        let submission = if item.l_orderkey % 2 == 0 {
            order.clone()
        } else {
            let own = format!("{order}/{line}");
            ledger.submission(&own, &order, day("1992-01-01".to_owned()));
            own
        };
        ledger.sent(&submission, &line, &part, u32::try_from(item.l_quantity).unwrap());
        let parcel = format!("{order}/{line}");
        ledger.parcel(&parcel, &submission, day(item.l_shipdate.to_string()));
        ledger.packed(&parcel, &line, u32::try_from(item.l_quantity).unwrap());
        if variants.insert(part.clone()) {
            ledger.variant(&part);
        }
    }
    let graces = Graces { parcel_gap: TimeDelta::zero(), ..Graces::default() };
    let rules = Rules { graces, ..Rules::default() };
    let (outcome, _) = ledger.audit(&rules, utc("1995-06-17T12:00:00Z"));
    let found = outcome.findings.iter().filter(|finding| finding.check == Check::PartDispatched);
    (found.filter_map(|finding| Some(finding.order_id.as_ref()?.to_string())).collect(), partly)
}

/// Source: TPC-H specification 3.0.1, clause 4.2.3: an order is of status P if its lines differ in whether they
/// were shipped by 1995-06-17; 363 of 15,000 orders at scale 0.01.
#[test]
fn the_partly_shipped_orders_of_tpc_h_are_exactly_those_of_status_p() {
    let (found, published) = partly_dispatched(0.01);
    assert_eq!(published.len(), 363);
    assert_eq!(found, published);
}

/// Source: as above; 3,849 of 150,000 orders at scale 0.1.
#[test]
fn the_partly_shipped_orders_of_a_larger_tpc_h_are_exactly_those_of_status_p() {
    let (found, published) = partly_dispatched(0.1);
    assert_eq!(published.len(), 3_849);
    assert_eq!(found, published);
}
