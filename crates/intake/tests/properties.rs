//! What holds for any folder: the form of a file and the order of its rows change nothing, and no bytes stop the
//! reading without a word.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod common;

use std::io::Write as _;

use chrono_tz::Tz;
use common::{bad_rows, folder, not_judged, read, whole, whole_with};
use intake::{MAX_ROW_BYTES, Progress, ReadSettings, read_folder};
use model::Rules;
use proptest::prelude::*;
use proptest::sample::{Index, select};

const TABLES: [&str; 11] = [
    "orders",
    "order_lines",
    "offers",
    "variants",
    "listing_products",
    "links",
    "submissions",
    "submission_lines",
    "parcels",
    "parcel_lines",
    "ties",
];

/// A row: names and cells, `None` being an empty cell.
type Cells = Vec<(&'static str, Option<&'static str>)>;

fn cells(columns: &'static [(&'static str, &'static [&'static str])]) -> impl Strategy<Value = Cells> {
    columns
        .iter()
        .map(|(name, values)| {
            select(*values).prop_map(move |value| (*name, (!value.is_empty()).then_some(value)))
        })
        .collect::<Vec<_>>()
}

const ORDERS: &[(&str, &[&str])] = &[
    ("order_id", &["1", "2", "3", ""]),
    ("placed_at", &["2026-11-24", "2026-11-24T00:00:00Z"]),
    ("status", &["open", "OPEN", "cancelled", "gone"]),
    ("updated_at", &["", "2026-11-24", "2026-11-25T00:00:00Z", "2026-11-25T01:00:00+01:00"]),
];
const ORDER_LINES: &[(&str, &[&str])] = &[
    ("order_id", &["1", "2", "4"]),
    ("line_id", &["1", "2"]),
    ("sku", &["", "AP-L", "ap-l"]),
    ("options", &["", "{}", r#"{"Size":"L"}"#, r#"{"size":"l"}"#]),
    ("option.Colour", &["", "Moss", "moss"]),
    ("quantity", &["1", "01", "2", "x"]),
    ("updated_at", &["", "2026-11-24", "2026-11-25"]),
];
const LINKS: &[(&str, &[&str])] = &[
    ("listing_id", &["", "L1"]),
    ("sku", &["", "AP-L", "ap-l"]),
    ("supplier", &["own", "b"]),
    ("variant_id", &["V1", "V2", ""]),
    ("units", &["", "1", "2", "0"]),
];
const SUBMISSIONS: &[(&str, &[&str])] = &[
    ("supplier", &["a", "b"]),
    ("submission_id", &["S1", "S2"]),
    ("order_ref", &["", "1", "2;3", "9"]),
    ("status", &["making", "held", "?"]),
    ("received_at", &["2026-11-24"]),
    ("updated_at", &["", "2026-11-24", "2026-11-25"]),
];
const SUBMISSION_LINES: &[(&str, &[&str])] = &[
    ("supplier", &["a", "b", "c"]),
    ("submission_id", &["S1", "S2"]),
    ("line_id", &["1", "2", ""]),
    ("order_ref", &["", "3"]),
    ("quantity", &["1", "2", "-1"]),
];
const PARCELS: &[(&str, &[&str])] = &[
    ("supplier", &["a", "b"]),
    ("parcel_id", &["P1", "P2"]),
    ("submission_id", &["S1", "S2", "S3"]),
    ("dispatched_at", &["2026-11-25", "?"]),
];
const PARCEL_LINES: &[(&str, &[&str])] = &[
    ("supplier", &["a", "b"]),
    ("parcel_id", &["P1", "P2", "P3"]),
    ("submission_line_id", &["1", "2"]),
    ("quantity", &["1", "2"]),
];
const TIES: &[(&str, &[&str])] = &[
    ("order_id", &["1", "2", "9"]),
    ("line_id", &["1"]),
    ("supplier", &["a", "b"]),
    ("submission_id", &["S1", "S2"]),
    ("submission_line_id", &["", "1", "3"]),
];

/// Every table with some rows, of which many are bad, repeat, contradict or belong to nothing.
fn tables() -> impl Strategy<Value = Vec<(&'static str, Vec<Cells>)>> {
    let rows = |columns, most| proptest::collection::vec(cells(columns), 1..most);
    (
        (rows(ORDERS, 7), rows(ORDER_LINES, 9), rows(LINKS, 9), rows(SUBMISSIONS, 6)),
        (rows(SUBMISSION_LINES, 8), rows(PARCELS, 5), rows(PARCEL_LINES, 6), rows(TIES, 6)),
    )
        .prop_map(|((orders, order_lines, links, submissions), (lines, parcels, parcel_lines, ties))| {
            vec![
                ("orders", orders),
                ("order_lines", order_lines),
                ("links", links),
                ("submissions", submissions),
                ("submission_lines", lines),
                ("parcels", parcels),
                ("parcel_lines", parcel_lines),
                ("ties", ties),
            ]
        })
}

fn as_csv(rows: &[Cells]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(rows[0].iter().map(|(name, _)| *name)).unwrap();
    for row in rows {
        writer.write_record(row.iter().map(|(_, value)| value.unwrap_or_default())).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

/// One object a line, on the lines on which CSV has the rows: the first line is blank.
fn as_json_lines(rows: &[Cells]) -> String {
    let mut out = "\n".to_owned();
    for row in rows {
        let pairs: Vec<String> = row
            .iter()
            .map(|(name, value)| match value {
                Some(object) if *name == "options" => format!("{name:?}:{object}"),
                value => {
                    format!("{name:?}:{}", value.map_or("null".to_owned(), |value| format!("{value:?}")))
                }
            })
            .collect();
        out += &format!("{{{}}}\n", pairs.join(","));
    }
    out
}

fn read_tables(
    tables: &[(&str, Vec<Cells>)],
    ending: &str,
    write: impl Fn(&[Cells]) -> String,
) -> intake::Folder {
    let files: Vec<(String, String)> =
        tables.iter().map(|(name, rows)| (format!("{name}.{ending}"), write(rows))).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    read(&files)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_order_of_rows_changes_nothing(tables in tables(), picks in proptest::collection::vec(any::<Index>(), 60)) {
        let mut shuffled = tables.clone();
        let mut picks = picks.iter().cycle();
        for (_, rows) in &mut shuffled {
            for at in (1..rows.len()).rev() {
                rows.swap(at, picks.next().unwrap().index(at + 1));
            }
        }
        let (first, second) = (read_tables(&tables, "csv", as_csv), read_tables(&shuffled, "csv", as_csv));
        prop_assert_eq!(format!("{:?}", first.book), format!("{:?}", second.book));
        prop_assert_eq!(&first.notices, &second.notices);
        prop_assert_eq!(
            (first.bad_row_count, first.rows_read, first.rows_skipped),
            (second.bad_row_count, second.rows_read, second.rows_skipped)
        );
    }

    #[test]
    fn csv_and_json_lines_say_the_same(tables in tables()) {
        let (csv, json) =
            (read_tables(&tables, "csv", as_csv), read_tables(&tables, "jsonl", as_json_lines));
        prop_assert_eq!(format!("{:?}", csv.book), format!("{:?}", json.book));
        let said: Vec<String> = bad_rows(&csv).iter().map(|row| row.replace(".csv", ".jsonl")).collect();
        prop_assert_eq!(said, bad_rows(&json));
        prop_assert_eq!((csv.rows_read, csv.rows_skipped), (json.rows_read, json.rows_skipped));
    }

    /// What stands belongs together: keys are unique and sorted, parents are there, nothing read is lost.
    #[test]
    fn what_stands_belongs_together(tables in tables()) {
        let folder = read_tables(&tables, "csv", as_csv);
        let book = &folder.book;
        let orders: Vec<_> = book.orders.iter().map(|order| &order.order_id).collect();
        prop_assert!(orders.is_sorted_by(|a, b| a < b));
        let lines: Vec<_> = book.order_lines.iter().map(|line| (&line.order_id, &line.line_id)).collect();
        prop_assert!(lines.is_sorted_by(|a, b| a < b));
        prop_assert!(lines.iter().all(|(order, _)| orders.binary_search(order).is_ok()));
        let sent: Vec<_> =
            book.submissions.iter().flatten().map(|row| (&row.supplier, &row.submission_id)).collect();
        let mut below = book.submission_lines.iter().flatten().map(|row| (&row.supplier, &row.submission_id));
        prop_assert!(below.all(|key| sent.binary_search(&key).is_ok()));
        let mut ties = book.ties.iter().flatten();
        prop_assert!(ties.all(|tie| lines.binary_search(&(&tie.order_id, &tie.line_id)).is_ok()));
        let kept = book.orders.len() + book.order_lines.len()
            + book.links.as_ref().map_or(0, Vec::len) + sent.len()
            + book.submission_lines.as_ref().map_or(0, Vec::len)
            + book.parcels.as_ref().map_or(0, Vec::len)
            + book.parcel_lines.as_ref().map_or(0, Vec::len) + book.ties.as_ref().map_or(0, Vec::len);
        prop_assert!(kept as u64 + folder.rows_skipped <= folder.rows_read);
        prop_assert!(folder.bad_row_count <= folder.rows_skipped);
    }

    #[test]
    fn no_bytes_make_reading_panic(
        table in select(TABLES.as_slice()),
        is_csv: bool,
        bytes in proptest::collection::vec(any::<u8>(), 0..300),
        with_header: bool,
    ) {
        let content = with_header_of(table, is_csv && with_header, &bytes);
        try_any(table, is_csv, &content);
    }

    /// Bytes that come nearer to a table than any bytes do.
    #[test]
    fn no_punctuation_makes_reading_panic(
        table in select(TABLES.as_slice()),
        is_csv: bool,
        text in "([\"{},:\\[\\]\n\r\\\\0-9a-c-]|\"order_id\":|\"options\":|2026-11-24|\u{feff}|\u{0}|é){0,60}",
    ) {
        let content = with_header_of(table, is_csv, text.as_bytes());
        try_any(table, is_csv, &content);
    }
}

fn with_header_of(table: &str, with_header: bool, bytes: &[u8]) -> Vec<u8> {
    let header = match table {
        "orders" => "order_id,placed_at,status,note",
        "order_lines" => "order_id,line_id,quantity,options,option.Size",
        "offers" => "listing_id,options,price",
        "variants" => "supplier,variant_id,options",
        "listing_products" => "listing_id,supplier,product",
        "links" => "sku,supplier,variant_id,units",
        "submissions" => "supplier,submission_id,order_ref,status,received_at",
        "submission_lines" => "supplier,submission_id,line_id,order_ref,quantity",
        "parcels" => "supplier,parcel_id,submission_id,dispatched_at",
        "parcel_lines" => "supplier,parcel_id,submission_line_id,quantity",
        _ => "order_id,line_id,supplier,submission_id",
    };
    let mut content = Vec::new();
    if with_header {
        writeln!(content, "{header}").unwrap();
    }
    content.extend(bytes);
    content
}

/// Reads the whole folder with one table in place of its own. Whatever it answers has words.
fn try_any(table: &str, is_csv: bool, content: &[u8]) {
    let name = format!("{table}.{}", if is_csv { "csv" } else { "jsonl" });
    let mut files: Vec<(&str, &[u8])> = whole()
        .into_iter()
        .filter(|(file, _)| !file.starts_with(&format!("{table}.")))
        .map(|(file, text)| (file, text.as_bytes()))
        .collect();
    files.push((&name, content));
    match common::try_read(&files, Tz::UTC, &Rules::default()) {
        Ok(folder) => assert!(bad_rows(&folder).iter().all(|row| row.contains("; expected "))),
        Err(error) => assert!(error.to_string().starts_with(&name), "{error}"),
    }
}

#[test]
fn a_huge_cell_costs_its_row_and_is_said() {
    let huge = "x".repeat(3 * MAX_ROW_BYTES);
    let limit = format!("longer than {MAX_ROW_BYTES} bytes");
    let csv = format!("order_id,line_id,title,quantity\n1001,2,{huge},1\n1001,1,,2\n");
    let quoted = format!(
        "order_id,line_id,title,quantity\n1001,2,\"{}\",1\n1001,1,,2\n",
        "long and longer\n".repeat(MAX_ROW_BYTES / 16 + 1)
    );
    let json = format!(
        "\n{{\"order_id\":\"1001\",\"title\":\"{huge}\"}}\n{}",
        "{\"order_id\":\"1001\",\"line_id\":\"1\",\"quantity\":2}\n"
    );
    for (name, content) in [("order_lines.csv", csv), ("order_lines.jsonl", json)] {
        let folder = read(&whole_with(&[(name, &content)]));
        assert_eq!((folder.bad_row_count, folder.book.order_lines.len()), (1, 1), "{name}");
        assert_eq!(folder.bad_rows[0].line, 2);
        assert!(folder.bad_rows[0].found.contains(&limit), "{}", folder.bad_rows[0]);
        assert_eq!(folder.notices.len(), 1, "it cannot be told which order the row names");
    }
    let folder = read(&whole_with(&[("order_lines.csv", &quoted)]));
    assert!(folder.bad_rows[0].found.contains(&limit), "{}", folder.bad_rows[0]);
    assert_eq!((folder.bad_rows[0].line, folder.book.order_lines.len()), (2, 1));
    assert_eq!((folder.bad_rows.len(), not_judged(&folder)), (intake::KEPT_BAD_ROWS, vec!["1001"]));
    assert!(folder.bad_row_count > 65_000);
}

#[test]
fn zero_bytes_are_text_and_nothing_breaks() {
    let orders = "order_id,placed_at,status\n10\u{0}01,2026-11-24,open\n1001,2026-11-24,op\u{0}en\n";
    let folder = read(&whole_with(&[("orders.csv", orders)]));
    assert_eq!(folder.book.orders[0].order_id.as_str(), "10\u{0}01");
    assert!(folder.bad_rows[0].to_string().contains(r#""op\0en" is not one of the known words"#));
}

#[test]
fn deep_nesting_and_many_names_are_bad_rows_at_most() {
    let deep = format!("{}{}", "[".repeat(400_000), "]".repeat(400_000));
    let many: Vec<String> = (0..25_000).map(|name| format!("\"n{name}\":1")).collect();
    let many = many.join(",");
    let line = |more: &str| format!("{{\"order_id\":\"1001\",\"line_id\":\"1\",\"quantity\":2,{more}}}\n");
    for (more, bad) in [
        (format!("\"note\":{deep}"), None),
        (format!("\"title\":{deep}"), Some("title")),
        (format!("\"options\":{{\"Size\":{deep}}}"), Some("options")),
        (format!("\"options\":{deep}"), Some("options")),
        (many.clone(), None),
        (format!("{many},{many}"), Some("n0")),
    ] {
        let folder = read(&whole_with(&[("order_lines.jsonl", &line(&more))]));
        assert_eq!(folder.bad_rows.first().map(|row| row.column.as_deref()), bad.map(Some));
        assert!(folder.notices.iter().all(|notice| notice.text.len() < 1_000));
    }
}

#[test]
fn many_different_rows_of_one_key_are_told_in_time() {
    let mut content = "order_id,placed_at,status,ship_to_digest\n".to_owned();
    for row in 0..100_000 {
        content += &format!("1001,2026-11-24,open,{row}\n");
    }
    let folder = read(&whole_with(&[("orders.csv", &content)]));
    assert_eq!((folder.bad_row_count, folder.bad_rows.len()), (100_000, intake::KEPT_BAD_ROWS));
    assert!(folder.bad_rows[0].found.starts_with("lines 2, 3, 4, 5, 6 and 99995 more say different things"));
}

#[test]
fn progress_ends_at_the_size_of_all_files() {
    let dir = folder(&whole());
    let mut told = Vec::new();
    let rules = Rules::default();
    read_folder(dir.path(), &ReadSettings { zone: Tz::UTC, rules: &rules }, &mut |progress| {
        told.push(progress)
    })
    .unwrap();
    let bytes: usize = whole().iter().map(|(_, text)| text.len()).sum();
    assert_eq!(told.last(), Some(&Progress { bytes_read: bytes as u64, bytes_total: bytes as u64 }));
}
