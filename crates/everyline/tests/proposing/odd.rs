//! Habits of exports that are odder than those of the corpora, each in a small sample: what a person would see is found,
//! and nothing of it is called sure that is not.
//!
//! Invented shops and suppliers. Start reading at the first test.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;

use intake::propose::{Answers, How, ProposedField, ProposedRole};

use super::cases::{check, of_supplier, proposed};
use super::{Ask, ask};

fn of_shop(name: &str, text: &str) -> BTreeMap<String, ProposedField> {
    proposed(name, text, ProposedRole::Storefront)
}

/// Rows of an order each, made by its number from 1 to 12.
fn rows(header: &str, row: impl Fn(u32) -> String) -> String {
    (1..=12).fold(format!("{header}\n"), |mut text, order| {
        let _ = writeln!(text, "{}", row(order));
        text
    })
}

#[test]
fn lines_under_their_ids_are_found_and_an_order_that_is_called_by_its_number_has_that() {
    let orders: Vec<String> = (1..=12_u32)
        .map(|order| {
            format!(
                r#"{{"uuid": "{:x}-{:x}", "title": "Order #{}", "state": {}, "ordered": "2026-11-{order:02} 08:30:00",
                "basket": {{"7{order:02}1": {{"sku": "TE-{}", "n": 1, "gross": 24.5}},
                            "7{order:02}2": {{"sku": "MU-{}", "n": {}, "gross": 9.0}}}}}}"#,
                order.wrapping_mul(0x9e37_79b1) % 0xff_ffff,
                order * 7_919,
                1040 + order,
                [10, 20, 30][order as usize % 3],
                order % 4,
                order % 3,
                1 + order % 2
            )
        })
        .collect();
    let fields = of_shop("orders.json", &format!(r#"{{"result": [{}]}}"#, orders.join(",")));
    check(
        &fields,
        &[
            ("orders.order_id", "$.result[*].title"),
            ("order_lines.line_id", "$.result[*].basket.*"),
            ("order_lines.quantity", "$.result[*].basket.*.n"),
            ("order_lines.sku", "$.result[*].basket.*.sku"),
        ],
    );
    assert_eq!(fields["orders.order_id"].how, How::Likely);
    assert!(fields["orders.order_id"].toml.as_ref().is_some_and(|toml| toml.contains("([0-9]+)$")));
}

#[test]
fn lines_in_groups_of_an_order_are_its_lines() {
    let orders: Vec<String> = (1..=8_u32)
        .map(|order| {
            format!(
                r#"{{"order_number": "W-{order}5", "placed_at": "2026-11-0{order}T08:30:00Z", "status": "open",
                "groups": [{{"made": "north", "items": [{{"line_id": "{order}1", "sku": "TE-{order}", "quantity": 1}}]}},
                           {{"made": "south", "items": [{{"line_id": "{order}2", "sku": "MU-{order}", "quantity": 2}}]}}]}}"#
            )
        })
        .collect();
    let fields = of_shop("orders.json", &format!(r#"{{"orders": [{}]}}"#, orders.join(",")));
    check(
        &fields,
        &[
            ("order_lines.line_id", "$.orders[*].groups[*].items[*].line_id"),
            ("order_lines.quantity", "$.orders[*].groups[*].items[*].quantity"),
        ],
    );
}

#[test]
fn quantities_have_a_unit_and_rows_that_are_a_header_or_a_sum_are_no_lines() {
    let header = "Bestellung;Datum;Status;Land;Artikel;Art.-Nr.;Menge;Brutto";
    let text = rows(header, |order| {
        let day = format!("{:02}.11.2026 09:15", order + 10);
        let line = |goods: &str, count: u32| {
            format!(
                "B-{};{day};bezahlt;DE;{goods} Nacht;{goods}-{};{count} Stk;9,50\n",
                400 + order,
                order % 4
            )
        };
        let head = if order % 4 == 0 { format!("\n{header}") } else { String::new() };
        format!("{}{}Summe;;;;;;;19,00{head}", line("TE", 1), line("MU", 1 + order % 2))
    });
    let fields = of_shop("verkauf.csv", &text);
    check(
        &fields,
        &[
            ("orders.order_id", "Bestellung"),
            ("orders.placed_at", "Datum"),
            ("order_lines.quantity", "Menge"),
        ],
    );
    let toml = fields["order_lines.quantity"].toml.clone().unwrap();
    assert!(toml.contains("'^([0-9]+)'"), "{toml}");
}

#[test]
fn rows_of_a_piece_each_have_a_quantity_of_one() {
    let text = rows("Order,Placed,State,Country,Line,Piece,Title,SKU,Price", |order| {
        let row = |line: u32, piece: u32| {
            format!(
                "Q{},2026-11-{order:02}T10:00:00Z,open,GB,{line},{piece},Moss tee,TE-{line},24.00",
                600 + order
            )
        };
        [row(1, 1), row(1, 2), row(2, 1)].join("\n")
    });
    let fields = of_shop("pieces.csv", &text);
    let quantity = &fields["order_lines.quantity"];
    assert_eq!(quantity.how, How::Likely);
    assert_eq!(quantity.toml.as_deref(), Some("{ always = \"1\" }"));
}

#[test]
fn rows_that_say_what_is_said_of_all_of_an_order_are_no_lines() {
    let text = rows("Type,Order,Date,Status,Country,Line,SKU,Qty,Price", |order| {
        let id = format!("Q{}", 600 + order);
        format!(
            "H,{id},2026-11-{order:02}T10:00:00Z,open,GB,,,,\nL,{id},,,,{order}1,TE-{},1,24.00\nL,{id},,,,{order}2,MU-{},2,9.00",
            order % 3,
            order % 4
        )
    });
    let fields = of_shop("feed.csv", &text);
    check(
        &fields,
        &[("orders.order_id", "Order"), ("order_lines.quantity", "Qty"), ("order_lines.line_id", "Line")],
    );
}

#[test]
fn times_that_say_utc_are_not_of_the_shops_zone() {
    let text = rows("Order Number,Order Date,Order Status,SKU,Quantity", |order| {
        format!("Q{},2026-11-{order:02} 10:00:00 UTC,open,TE-{order},1", 600 + order)
    });
    let toml = of_shop("orders.csv", &text)["orders.placed_at"].toml.clone().unwrap();
    assert!(toml.contains("zone = \"UTC\""), "{toml}");
}

#[test]
fn a_history_says_when_an_order_came_and_what_is_in_its_boxes_is_no_order() {
    let jobs: Vec<String> = (1..9)
        .map(|job| {
            format!(
                r#"{{"job_no": "J{job}00", "your_order": "W-{job}5", "status": "sent",
                "history": [{{"state": "new", "at": "2026-11-0{job}T08:30:00Z"}}, {{"state": "sent", "at": "2026-11-1{job}T09:00:00Z"}}],
                "items": [{{"line_no": 1, "product_code": "TE{job}1", "quantity": 3}}],
                "boxes": [{{"box": "P{job}07", "tracking": "OT77{job}5501", "sent_on": "2026-11-1{job}T10:00:00Z",
                "holds": [{{"line_no": 1, "quantity": 3}}]}}]}}"#
            )
        })
        .collect();
    let fields = of_supplier("jobs.json", &format!(r#"{{"jobs": [{}]}}"#, jobs.join(",")));
    check(
        &fields,
        &[
            ("submissions.submission_id", "$.jobs[*].job_no"),
            ("submissions.received_at", "$.jobs[*].history[0].at"),
            ("submission_lines.quantity", "$.jobs[*].items[*].quantity"),
            ("parcels.dispatched_at", "$.jobs[*].boxes[*].sent_on"),
        ],
    );
}

#[test]
fn of_two_numbers_of_an_order_the_one_that_a_supplier_names_counts() {
    let folder = tempfile::tempdir().unwrap();
    let (orders, jobs) = (folder.path().join("orders.csv"), folder.path().join("jobs.csv"));
    let text = rows("Order Number,Basket,Order Date,Order Status,SKU,Quantity", |order| {
        format!("Q{},{},2026-11-{order:02}T10:00:00Z,open,TE-{order},1", 600 + order, 90_417 + 3 * order)
    });
    fs::write(&orders, text).unwrap();
    fs::write(&jobs, rows("Job,Yours", |order| format!("J{order},shop {}", 90_417 + 3 * order))).unwrap();
    let out = folder.path().join("map.toml");
    let order_id = |named_in: &[std::path::PathBuf]| {
        let files = [orders.clone()];
        let role = ProposedRole::Storefront;
        let asking = Ask { files: &files, role, zone: None, beside: None, named_in, out: &out };
        let proposal = ask(&asking, Answers::default());
        let field = proposal.fields().find(|field| field.column == "order_id").unwrap();
        (field.places.clone(), field.how)
    };
    assert_eq!(order_id(&[]).0, ["Order Number"]);
    assert_eq!(order_id(&[jobs]).0, ["Basket"]);
}
