//! The CSV: it reads back, every finding is in it, and no cell is one that a spreadsheet would run.

use std::collections::BTreeSet;

use crate::ZONE;
use crate::samples::{apron, busy_day, many, options, outcome, part_sent, tote};
use digest::{COLUMNS, csv};
use model::finding::{NamedLine, Reason};
use model::{Outcome, Sku};
use proptest::prelude::*;

fn rows(outcome: &Outcome) -> Vec<Vec<String>> {
    let text = csv(outcome, ZONE);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    assert_eq!(reader.headers().unwrap(), &COLUMNS[..]);
    reader.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn cell<'r>(row: &'r [String], column: &str) -> &'r str {
    &row[COLUMNS.iter().position(|name| *name == column).unwrap()]
}

#[test]
fn a_header_stands_also_over_nothing_and_lines_end_as_rfc_4180_says() {
    let text = csv(&outcome(Vec::new()), ZONE);
    assert!(text.starts_with("\"check\",\"id\",\"order_id\","));
    assert!(text.ends_with("\"say\"\r\n"));
    assert_eq!(text.lines().count(), 1);
}

#[test]
fn every_finding_has_a_row_for_each_thing_that_it_names() {
    let named: Vec<(String, usize)> = many()
        .into_iter()
        .map(|(name, finding)| (name.to_owned(), rows(&outcome(vec![finding])).len()))
        .collect();
    let of = |name: &str| named.iter().find(|(known, _)| known == name).unwrap().1;
    assert!(named.iter().all(|(_, rows)| *rows > 0), "{named:?}");
    for (name, want) in [
        ("no link", 1),
        ("two reasons", 2),
        ("seven lines", 7),
        ("wrong", 1),
        ("surplus, meant for another line", 1),
        ("stray", 2),
        ("held", 2),
        ("not marked", 1),
        ("five offers", 5),
        ("shared", 2),
        ("loss", 1),
    ] {
        assert_eq!(of(name), want, "{name}");
    }
}

#[test]
fn the_cells_hold_what_the_finding_names() {
    let day =
        outcome(vec![part_sent("KK-1", vec![apron(2, Reason::NoLink), tote(1, Some(Reason::NotSent))])]);
    let rows = rows(&day);
    let both = |column| [cell(&rows[0], column), cell(&rows[1], column)];
    assert_eq!(both("check"), ["part-sent"; 2]);
    assert_eq!(both("order_id"), ["KK-1"; 2]);
    assert_eq!(both("line_id"), ["1", "2"]);
    assert_eq!(both("listing_id"), ["L-1", "L-2"]);
    assert_eq!(both("sku"), ["", "KK-TOTE-PLUM"]);
    assert_eq!(both("options"), [r#"{"Colour":"moss","Size":"Large"}"#, r#"{"Colour":"plum"}"#]);
    assert_eq!(both("units"), ["2", "1"]);
    assert_eq!(both("reason"), ["no-link", "not-sent"]);
    assert_eq!(both("act_before"), ["2026-11-25T15:00:00+01:00"; 2]);
    assert_eq!(both("cutoff_passed"), ["false"; 2]);
    assert_eq!(both("value_amount"), ["24.00", ""]);
    assert_eq!(both("value_currency"), ["EUR", ""]);

    for (name, column, want) in [
        ("wrong", "variant_id", "AP-41"),
        ("wrong", "submission_line_id", "3"),
        ("wrong", "supplier", "alder-print"),
        ("surplus", "submission_id", "A-503"),
        ("surplus", "units", "1"),
        ("held", "order_id", "KK-1;KK-2"),
        ("offer", "listing_id", "L-1"),
        ("offer", "reason", "no-link"),
        ("mismatch", "variant_id", "AP-12"),
        ("unusable, unknown", "variant_id", "B-77"),
        ("shared", "variant_id", "AP-9"),
        ("loss", "options", r#"{"Size":"11 oz"}"#),
    ] {
        let (_, finding) = many().into_iter().find(|(known, _)| *known == name).unwrap();
        assert_eq!(cell(&self::rows(&outcome(vec![finding]))[0], column), want, "{name}, {column}");
    }
}

/// Source: OWASP, CSV Injection: no cell may begin with one of these.
fn is_harmless(cell: &str) -> bool {
    let shown = cell.trim_start_matches(|c: char| c.is_whitespace() || c.is_control());
    let leads = ['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];
    !cell.starts_with(['\t', '\r', '\n']) && !shown.starts_with(leads)
}

#[test]
fn a_busy_day_reads_back_with_all_its_findings() {
    let day = busy_day();
    let rows = rows(&day);
    let ids: BTreeSet<&str> = rows.iter().map(|row| cell(row, "id")).collect();
    let want: BTreeSet<&str> = day.findings.iter().map(|finding| finding.id.as_str()).collect();
    assert_eq!(ids, want);
    assert!(rows.iter().flatten().all(|cell| is_harmless(cell)));
}

proptest! {
    #[test]
    fn whatever_the_shop_typed_the_rows_read_back_and_no_cell_can_be_run(
        order_id in any::<String>(),
        sku in "[\t\r\n =+@＝－-]{0,3}\\PC{1,8}",
        title in any::<String>(),
        value in any::<String>(),
    ) {
        let named = NamedLine {
            sku: Sku::new(sku),
            title: Some(title),
            options: Some(options(&value, "moss")),
            ..apron(1, Reason::NoLink)
        };
        let rows = rows(&outcome(vec![part_sent(&order_id, vec![named])]));
        prop_assert_eq!(rows.len(), 1);
        for cell in &rows[0] {
            prop_assert!(is_harmless(cell), "{:?}", cell);
            prop_assert!(!cell.contains(char::is_control), "{:?}", cell);
        }
    }
}
