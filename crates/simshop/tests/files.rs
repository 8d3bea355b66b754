//! The exchange files: that other programs can read them back, and that nothing is lost on the way.
//! Start reading at [`COLUMNS`].

use std::fs;
use std::path::Path;

use model::{Book, When};
use simshop::{Form, Tables, sale_day, write_csv, write_jsonl};

/// The documented tables and their columns.
#[rustfmt::skip]
const COLUMNS: [(&str, &[&str]); 11] = [
    ("orders", &["order_id", "placed_at", "paid_at", "status", "currency", "promised_by", "ship_to_country",
        "ship_to_digest", "updated_at"]),
    ("order_lines", &["order_id", "line_id", "listing_id", "sku", "title", "options", "quantity",
        "cancelled_quantity", "unit_price", "updated_at"]),
    ("offers", &["listing_id", "sku", "title", "options", "price", "currency", "buyable"]),
    ("variants", &["supplier", "variant_id", "sku", "product", "options", "unit_cost", "currency", "available"]),
    ("listing_products", &["listing_id", "supplier", "product"]),
    ("links", &["listing_id", "sku", "options", "supplier", "variant_id", "units", "in_force"]),
    ("submissions", &["supplier", "submission_id", "order_ref", "status", "received_at", "replaces", "updated_at"]),
    ("submission_lines", &["supplier", "submission_id", "line_id", "order_ref", "order_line_ref", "variant_id",
        "sku", "quantity", "status", "unit_cost", "updated_at"]),
    ("parcels", &["supplier", "parcel_id", "submission_id", "dispatched_at", "carrier", "tracking_number"]),
    ("parcel_lines", &["supplier", "parcel_id", "submission_line_id", "quantity"]),
    ("ties", &["order_id", "line_id", "supplier", "submission_id", "submission_line_id"]),
];

fn rows_of(book: &Book, table: &str) -> usize {
    let len = |rows: Option<usize>| rows.expect("the table was given");
    match table {
        "orders" => book.orders.len(),
        "order_lines" => book.order_lines.len(),
        "offers" => len(book.offers.as_ref().map(Vec::len)),
        "variants" => len(book.variants.as_ref().map(Vec::len)),
        "listing_products" => len(book.listing_products.as_ref().map(Vec::len)),
        "links" => len(book.links.as_ref().map(Vec::len)),
        "submissions" => len(book.submissions.as_ref().map(Vec::len)),
        "submission_lines" => len(book.submission_lines.as_ref().map(Vec::len)),
        "parcels" => len(book.parcels.as_ref().map(Vec::len)),
        "parcel_lines" => len(book.parcel_lines.as_ref().map(Vec::len)),
        "ties" => len(book.ties.as_ref().map(Vec::len)),
        other => panic!("no table {other}"),
    }
}

fn csv_rows(dir: &Path, table: &str) -> (Vec<String>, Vec<csv::StringRecord>) {
    let mut reader = csv::Reader::from_path(dir.join(format!("{table}.csv"))).expect("the file is there");
    let header = reader.headers().expect("a header").iter().map(String::from).collect();
    (header, reader.records().map(|row| row.expect("a row")).collect())
}

fn json_rows(dir: &Path, table: &str) -> Vec<serde_json::Map<String, serde_json::Value>> {
    let text = fs::read_to_string(dir.join(format!("{table}.jsonl"))).expect("the file is there");
    text.lines().map(|line| serde_json::from_str(line).expect("an object")).collect()
}

#[test]
fn csv_is_read_back_with_the_documented_columns_and_all_rows() {
    let book = sale_day().book;
    let dir = tempfile::tempdir().unwrap();
    write_csv(&book, dir.path()).unwrap();
    for (table, columns) in COLUMNS {
        let (header, rows) = csv_rows(dir.path(), table);
        assert_eq!(header, columns, "{table}");
        assert_eq!(rows.len(), rows_of(&book, table), "{table}");
    }
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), COLUMNS.len());
}

#[test]
fn json_lines_say_the_same_as_csv() {
    let book = sale_day().book;
    let dir = tempfile::tempdir().unwrap();
    write_csv(&book, dir.path()).unwrap();
    write_jsonl(&book, dir.path()).unwrap();
    for (table, columns) in COLUMNS {
        let (_, cells) = csv_rows(dir.path(), table);
        let objects = json_rows(dir.path(), table);
        assert_eq!(cells.len(), objects.len(), "{table}");
        for (cells, object) in cells.iter().zip(&objects) {
            assert!(object.keys().all(|key| columns.contains(&key.as_str())), "{table}");
            for (column, cell) in columns.iter().zip(cells) {
                let said = object.get(*column).map_or(String::new(), |value| match value {
                    serde_json::Value::String(text) => text.clone(),
                    other => other.to_string(),
                });
                assert_eq!(said, cell, "{table}.{column}");
            }
        }
    }
}

#[test]
fn rows_stand_in_the_order_of_their_keys_whatever_order_the_book_has() {
    let mut book = sale_day().book;
    let (straight, turned) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    write_csv(&book, straight.path()).unwrap();
    book.orders.reverse();
    book.order_lines.reverse();
    book.submission_lines.as_mut().unwrap().reverse();
    book.links.as_mut().unwrap().reverse();
    write_csv(&book, turned.path()).unwrap();
    for (table, _) in COLUMNS {
        let name = format!("{table}.csv");
        let read = |dir: &Path| fs::read(dir.join(&name)).unwrap();
        assert!(read(straight.path()) == read(turned.path()), "{name}");
    }
    let (_, lines) = csv_rows(straight.path(), "order_lines");
    let keys: Vec<(&str, &str)> = lines.iter().map(|row| (&row[0], &row[1])).collect();
    assert!(keys.is_sorted());
}

#[test]
fn titles_with_commas_quotes_line_ends_and_other_scripts_survive() {
    let book = sale_day().book;
    let dir = tempfile::tempdir().unwrap();
    write_csv(&book, dir.path()).unwrap();
    let (_, offers) = csv_rows(dir.path(), "offers");
    let written: Vec<Option<String>> = offers.iter().map(|row| Some(row[2].to_owned())).collect();
    let meant: Vec<Option<String>> = book.offers.unwrap().into_iter().map(|offer| offer.title).collect();
    assert_eq!(written, meant);
    for sign in [",", "\"", "\n", "–", "“", "á", "&", ";", "%"] {
        assert!(meant.iter().flatten().any(|title| title.contains(sign)), "{sign:?}");
    }
}

#[test]
fn a_table_that_was_not_given_is_not_written_and_an_empty_one_is() {
    let dir = tempfile::tempdir().unwrap();
    write_csv(&Book { ties: Some(Vec::new()), ..Book::default() }, dir.path()).unwrap();
    let mut names: Vec<_> =
        fs::read_dir(dir.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["order_lines.csv", "orders.csv", "ties.csv"]);
    let ties = fs::read_to_string(dir.path().join("ties.csv")).unwrap();
    assert_eq!(ties, "order_id,line_id,supplier,submission_id,submission_line_id\r\n");
}

#[test]
fn a_day_is_written_as_its_date_and_a_moment_in_utc() {
    let mut book = sale_day().book;
    book.orders.truncate(1);
    for (day, zone, written) in [
        ("2026-11-28", "Europe/Oslo", "2026-11-28"),
        ("2026-11-28", "UTC", "2026-11-28"),
        ("2026-11-28", "Pacific/Honolulu", "2026-11-28"),
        ("2026-11-28", "Australia/Sydney", "2026-11-28"),
        ("2026-03-29", "Europe/Oslo", "2026-03-29"),
        ("2026-10-25", "Europe/Oslo", "2026-10-25"),
        ("2026-11-28T10:15:30+01:00", "Europe/Oslo", "2026-11-28T09:15:30Z"),
    ] {
        let zone = zone.parse().unwrap();
        book.orders[0].promised_by = Some(When::parse(day, zone).unwrap());
        let dir = tempfile::tempdir().unwrap();
        write_csv(&book, dir.path()).unwrap();
        assert_eq!(&csv_rows(dir.path(), "orders").1[0][5], written);
        assert_eq!(When::parse(written, zone).ok(), book.orders[0].promised_by);
    }
}

#[test]
fn tables_that_grow_book_by_book_hold_the_rows_of_all() {
    let planted = simshop::random_book(3, 300);
    let dir = tempfile::tempdir().unwrap();
    let mut tables = Tables::create(dir.path(), Form::Csv).unwrap();
    tables.append(&simshop::catalogue_book()).unwrap();
    for (book, _) in simshop::random_orders(3, 300) {
        tables.append(&book).unwrap();
    }
    tables.finish().unwrap();
    for (table, columns) in COLUMNS {
        let (header, rows) = csv_rows(dir.path(), table);
        assert_eq!(header, columns);
        assert_eq!(rows.len(), rows_of(&planted.book, table), "{table}");
    }
}
