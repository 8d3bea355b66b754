//! What no skipping of rows can help: each says where, what was found, what was expected, what to do next.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod common;

use chrono_tz::Tz;
use common::{LINKS, ORDER_LINES, ORDERS, SUBMISSION_LINES, SUBMISSIONS, error, folder, read, whole_with};
use intake::{FolderError, Progress, ReadSettings, read_folder};
use model::Rules;

fn read_path(path: &std::path::Path) -> FolderError {
    let rules = Rules::default();
    read_folder(path, &ReadSettings { zone: Tz::UTC, rules: &rules }, &mut |_: Progress| {}).unwrap_err()
}

#[test]
fn a_folder_that_is_not_there_or_is_a_file_is_said() {
    let dir = folder(&[("orders.csv", ORDERS)]);
    let missing = dir.path().join("exports");
    assert_eq!(
        read_path(&missing).to_string(),
        format!(
            "{}: there is no such folder; expected a folder of exchange files. Check the path.",
            missing.display()
        )
    );
    let file = dir.path().join("orders.csv");
    assert_eq!(
        read_path(&file).to_string(),
        format!(
            "{}: this is a file; expected the folder in which the exchange files stand. Give the folder.",
            file.display()
        )
    );
}

#[test]
fn a_file_that_cannot_be_read_is_said() {
    let dir = folder(&[("order_lines.csv", ORDER_LINES), ("links.csv", LINKS)]);
    std::fs::create_dir(dir.path().join("orders.csv")).unwrap();
    let error = read_path(dir.path());
    assert!(
        matches!(&error, FolderError::Unreadable { path, .. } if path.ends_with("orders.csv")),
        "{error}"
    );
    assert!(error.to_string().ends_with("Check that it is there and that you may read it."), "{error}");
}

#[test]
fn a_table_in_both_forms_is_an_error() {
    assert_eq!(
        error(&whole_with(&[("orders.csv", ORDERS), ("orders.jsonl", "")])),
        "orders.csv and orders.jsonl: the table orders is given twice; expected one file. Remove one of them."
    );
}

#[test]
fn the_tables_that_must_be_there_are_named_with_the_file_that_may_hold_them() {
    assert_eq!(
        error(&[("order_lines.csv", ORDER_LINES), ("links.csv", LINKS)]),
        "DIR: the table orders is missing; expected orders.csv or orders.jsonl. Export it into the folder."
    );
    assert_eq!(
        error(&[("orders.csv", ORDERS), ("Order-Lines.CSV", ORDER_LINES), ("links.csv", LINKS)]),
        "DIR: the table order_lines is missing; expected order_lines.csv or order_lines.jsonl. \
         Export or rename \"Order-Lines.CSV\" if that is what it holds."
    );
}

#[test]
fn orders_alone_are_an_error_and_each_table_to_compare_with_is_enough() {
    let alone =
        [("orders.csv", ORDERS), ("order_lines.csv", ORDER_LINES), ("offers.csv", "listing_id,options\n")];
    assert_eq!(
        error(&alone),
        "DIR: there is nothing to compare the orders with; expected links, variants or submissions. Export at \
         least one of these tables into the folder."
    );
    for other in
        [("links.csv", LINKS), ("variants.csv", "supplier,variant_id\n"), ("submissions.csv", SUBMISSIONS)]
    {
        read(&[("orders.csv", ORDERS), ("order_lines.csv", ORDER_LINES), other]);
    }
}

#[test]
fn a_table_whose_rows_belong_to_a_table_that_is_missing_is_an_error() {
    let base = [("orders.csv", ORDERS), ("order_lines.csv", ORDER_LINES), ("links.csv", LINKS)];
    for (given, needs) in [
        ("submission_lines", "submissions"),
        ("parcels", "submissions"),
        ("parcel_lines", "parcels"),
        ("ties", "submissions"),
    ] {
        let name = format!("{given}.csv");
        let mut files = base.to_vec();
        files.push((&name, ""));
        assert_eq!(
            error(&files),
            format!(
                "{given}.csv: the table {given} needs {needs}, which is missing; expected {needs}.csv or \
                 {needs}.jsonl beside it. Export it for the same days, or remove {given}.csv."
            )
        );
    }
    let mut files = base.to_vec();
    files.extend([("submissions.csv", SUBMISSIONS), ("parcels.csv", ""), ("parcel_lines.csv", "")]);
    assert!(error(&files).starts_with("parcel_lines.csv: the table parcel_lines needs submission_lines"));
}

#[test]
fn a_header_must_be_there_with_every_required_column() {
    for empty in ["", "\n\r\n", "\u{feff}"] {
        assert_eq!(
            error(&whole_with(&[("orders.csv", empty)])),
            "orders.csv: the file is empty; expected a header with the columns order_id, placed_at, status. \
             Export the table again."
        );
    }
    assert_eq!(
        error(&whole_with(&[("orders.csv", "\norder_id,Placed At,status\n")])),
        "orders.csv, line 2: the header has no column placed_at; expected the columns order_id, placed_at, \
         status. Rename \"Placed At\" to placed_at if that is what it holds."
    );
    assert_eq!(
        error(&whole_with(&[("orders.csv", "order_id,placed_at\n")])),
        "orders.csv, line 1: the header has no column status; expected the columns order_id, placed_at, status. \
         Add it, or export the table again with it."
    );
    assert_eq!(
        error(&whole_with(&[("orders.csv", "order_id;placed_at;status\n")])),
        "orders.csv, line 1: the header has no column order_id, placed_at or status; expected the columns \
         order_id, placed_at, status. Its names are separated by semicolons: export it with commas."
    );
    assert_eq!(
        error(&whole_with(&[("offers.csv", "listing_id,sku\n")])),
        "offers.csv, line 1: the header has no column options; expected the columns listing_id, options. Add it, \
         or export the table again with it."
    );
}

#[test]
fn a_known_column_named_twice_is_an_error_and_an_unknown_one_is_not() {
    assert_eq!(
        error(&whole_with(&[("orders.csv", "order_id,placed_at,status,order_id\n")])),
        "orders.csv, line 1: the header names the column order_id twice; expected each column once. Remove or \
         rename one of them."
    );
    let lines = "order_id,line_id,quantity,option.Size,option.Size\n";
    assert!(error(&whole_with(&[("order_lines.csv", lines)])).contains("names the column option.Size twice"));
    let folder =
        read(&whole_with(&[("orders.csv", "order_id,note,placed_at,note,status\n1001,,2026-11-24,,open\n")]));
    assert_eq!(folder.book.orders.len(), 1);
}

#[test]
fn a_header_that_cannot_be_split_is_an_error() {
    assert_eq!(
        error(&whole_with(&[("orders.csv", "order_id,\"placed_at,status\n1001,2026-11-24,open\n")])),
        "orders.csv, line 1: a quote opens a cell and is never closed in the header; expected a quoted cell with \
         its closing quote before a comma or the end of the line. Close the quote; write each quote inside a \
         quoted cell twice."
    );
}

#[test]
fn what_is_not_utf_8_at_all_is_said_with_what_to_do() {
    let utf_16 = |text: &str, big: bool| -> Vec<u8> {
        let bytes = |unit: u16| if big { unit.to_be_bytes() } else { unit.to_le_bytes() };
        text.encode_utf16().flat_map(bytes).collect()
    };
    let want = "the file begins with the byte order mark of UTF-16; expected text in UTF-8. Export or save the \
                table again as UTF-8.";
    let others = [
        ("order_lines.csv", ORDER_LINES.as_bytes()),
        ("submissions.csv", SUBMISSIONS.as_bytes()),
        ("submission_lines.csv", SUBMISSION_LINES.as_bytes()),
    ];
    for big in [false, true] {
        let marked = utf_16(&format!("\u{feff}{ORDERS}"), big);
        for name in ["orders.csv", "orders.jsonl"] {
            let mut files = others.to_vec();
            files.push((name, &marked));
            assert_eq!(error(&files), format!("{name}, line 1: {want}"));
        }
        let unmarked = utf_16(ORDERS, big);
        let mut files = others.to_vec();
        files.push(("orders.csv", &unmarked));
        assert_eq!(
            error(&files),
            "orders.csv, line 1: the header holds zero bytes, as UTF-16 and spreadsheet files do; expected text in \
             UTF-8. Export or save the table again as UTF-8."
        );
    }
}
