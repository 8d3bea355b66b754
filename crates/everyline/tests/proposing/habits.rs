//! Habits of systems that were made in the house, each in a small sample: columns that count from 0, fields of fixed width,
//! names that say a client, reports that tell orders again.
//!
//! Invented shops and suppliers. Start reading at the first test.

use std::collections::BTreeMap;
use std::fs;

use intake::propose::{Answers, How, ProposedField, ProposedRole};

use super::cases::{check, of_supplier, proposed};
use super::{Ask, ask};

fn of_shop(name: &str, text: &str) -> BTreeMap<String, ProposedField> {
    proposed(name, text, ProposedRole::Storefront)
}

/// Rows, made by their number from 1 to 12.
fn rows(header: &str, row: impl Fn(u32) -> String) -> String {
    let rows: String = (1..=12).map(|number| row(number) + "\n").collect();
    format!("{header}\n{rows}")
}

/// Records of JSON, likewise.
fn records(record: impl Fn(u32) -> String) -> String {
    let records: Vec<String> = (1..=12).map(record).collect();
    format!("[{}]", records.join(","))
}

#[test]
fn columns_that_count_from_0_are_lines_and_so_are_numbered_names_in_a_document() {
    let header = "number,created,state,items.0.sku,items.0.quantity,items.1.sku,items.1.quantity";
    let orders = rows(header, |order| {
        format!("K{order:02}71,2026-11-{order:02}T08:30:00Z,paid,TE-{order}1,1,MU-{order}2,{}", order % 3 + 1)
    });
    let fields = of_shop("flat.csv", &orders);
    check(&fields, &[("order_lines.sku", "items.#.sku"), ("order_lines.quantity", "items.#.quantity")]);
    let jobs = records(|job| {
        format!(
            r#"{{"job": "J{job:02}", "your_order": "K{job:02}71", "state": "made", "accepted": "2026-11-{job:02}T09:00:00Z",
            "item1_code": "B-{job}1", "item1_quantity": 1, "item2_code": null, "item2_quantity": null}}"#
        )
    });
    let fields = of_supplier("jobs.json", &jobs);
    check(
        &fields,
        &[("submissions.submission_id", "$[*].job"), ("submission_lines.quantity", "$[*]['item#_quantity']")],
    );
}

#[test]
fn fields_of_fixed_width_under_short_names_are_read() {
    let header = "ORDNO,ORDDT,ORDTM,ORDST,LINNO,STKCD,ORDQT,UNTPR,CURR";
    let orders = rows(header, |order| {
        let line = |number: u32| {
            format!(
                "77{order:02}1,202611{order:02},09{order:02},{}0,0{number}0,TE-{number}{}4,0000{},000001{order:02}0,EUR",
                order % 3 + 1,
                order % 4,
                (order + number) % 3 + 1
            )
        };
        format!("{}\n{}", line(1), line(2))
    });
    let fields = of_shop("ORDDTL.TXT", &orders);
    check(
        &fields,
        &[
            ("orders.order_id", "ORDNO"),
            ("orders.placed_at", "ORDDT, ORDTM"),
            ("order_lines.line_id", "LINNO"),
            ("order_lines.quantity", "ORDQT"),
            ("order_lines.unit_price", "UNTPR"),
        ],
    );
}

#[test]
fn a_time_that_is_called_the_clients_is_not_when_an_order_was_received() {
    let jobs = rows("Job,Client order,Client date,Taken,State,Item,Pieces", |job| {
        format!("J{job:02}5,K{job:02}71,2026-11-{job:02},2026-11-{job:02} 1{}:20,made,TE-{job}1,1", job % 9)
    });
    let fields = of_supplier("jobs.csv", &jobs);
    check(&fields, &[("submissions.received_at", "Taken")]);
}

#[test]
fn a_number_that_is_never_more_than_the_quantity_and_mostly_0_is_what_was_cancelled() {
    let orders = rows("Order,Date,State,SKU,Pieces,Zz", |order| {
        let zz = if order % 5 == 0 { 2 } else { 0 };
        format!("K{order:02}71,2026-11-{order:02}T08:30:00Z,paid,TE-{order}1,{},{zz}", order % 2 + 2)
    });
    let fields = of_shop("orders.csv", &orders);
    check(&fields, &[("order_lines.cancelled_quantity", "Zz")]);
    assert_eq!(fields["order_lines.cancelled_quantity"].how, How::Likely);
}

#[test]
fn an_order_goes_to_the_country_of_its_delivery() {
    let orders = records(|order| {
        format!(
            r#"{{"number": "K{order:02}71", "placed": "2026-11-{order:02}T08:30:00Z", "state": "paid",
            "contact": {{"country": "{}"}}, "delivery": {{"country": "{}"}},
            "items": [{{"sku": "TE-{order}1", "quantity": 1}}]}}"#,
            ["AT", "DE"][order as usize % 2],
            ["CH", "AT", "DE"][order as usize % 3]
        )
    });
    let fields = of_shop("orders.json", &orders);
    check(&fields, &[("orders.ship_to_country", "$[*].delivery.country")]);
}

#[test]
fn whole_amounts_in_a_currency_without_minor_units_are_whole() {
    let orders = rows("Order,Date,State,SKU,Quantity,Unit price,Currency", |order| {
        format!("K{order:02}71,2026-11-{order:02}T08:30:00Z,paid,TE-{order}1,1,{}990,CLP", order + 10)
    });
    let fields = of_shop("orders.csv", &orders);
    let price = fields["order_lines.unit_price"].toml.clone().unwrap();
    assert!(!price.contains("minor"), "{price}");
    let fields = of_shop("orders.csv", &orders.replace("CLP", "EUR"));
    let price = fields["order_lines.unit_price"].toml.clone().unwrap();
    assert!(price.contains("minor-2"), "{price}");
}

#[test]
fn what_reports_tell_again_counts_as_the_last_one_says() {
    let order = |number: u32, state: &str| {
        format!(
            r#"{{"no": "J{number:02}5", "your_order": "K{number:02}71", "came": "2026-11-{number:02} 10:30", "state": "{state}",
            "items": [{{"line": 1, "code": "B-{number}1", "quantity": 1}}]}}"#
        )
    };
    let reports: Vec<String> = (1..=12)
        .map(|day| {
            let before = if day > 1 { format!("{}, ", order(day - 1, "made")) } else { String::new() };
            format!(
                r#"{{"report": {day}00, "made_at": "2026-11-{:02}T02:00:00Z", "jobs": [{before}{}]}}"#,
                day + 1,
                order(day, "received")
            )
        })
        .collect();
    let fields = of_supplier(
        "nights.jsonl",
        &reports.iter().map(|report| report.replace('\n', " ") + "\n").collect::<String>(),
    );
    check(
        &fields,
        &[
            ("submissions.submission_id", "$[*].jobs[*].no"),
            ("submissions.received_at", "$[*].jobs[*].came"),
            ("submissions.updated_at", "$[*].made_at"),
            ("submission_lines.quantity", "$[*].jobs[*].items[*].quantity"),
            ("submission_lines.updated_at", "$[*].made_at"),
        ],
    );
    assert_eq!(fields["submissions.updated_at"].how, How::Likely);
}

#[test]
fn a_line_that_says_no_state_is_as_its_order_also_where_the_owner_says_where_it_stands() {
    let jobs = records(|job| {
        let mark = if job == 4 { "\"peeled\"" } else { "null" };
        format!(
            r#"{{"job": "J{job:02}5", "your_order": "K{job:02}71", "state": "sent", "received_at": "2026-11-{job:02}T09:00:00Z",
            "items": [{{"line": 1, "code": "B-{job}1", "quantity": 1, "zz": {mark}}}]}}"#
        )
    });
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("jobs.json");
    fs::write(&file, jobs).unwrap();
    let files = [file];
    let out = folder.path().join("map.toml");
    let role = ProposedRole::Supplier("inkwell-barn".to_owned());
    let asking = Ask { files: &files, role, zone: None, beside: None, named_in: &[], out: &out };
    let key = "submission_lines.status".to_owned();
    let answers = Answers {
        places: BTreeMap::from([(key.clone(), "$[*].items[*].zz".to_owned())]),
        words: BTreeMap::from([(key, BTreeMap::from([("peeled".to_owned(), "cancelled".to_owned())]))]),
        ..Answers::default()
    };
    let proposal = ask(&asking, answers);
    let mut fields = proposal.fields();
    let status = fields.find(|field| field.table == "submission_lines" && field.column == "status").unwrap();
    let toml = status.toml.clone().unwrap();
    assert!(toml.contains("peeled = \"cancelled\"") || toml.contains("\"peeled\" = \"cancelled\""), "{toml}");
    assert!(!toml.contains("received"), "{toml}");
}
