//! The owner's links and rules as files: what is read of them, and where what cannot be read stands.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::fs;
use std::path::PathBuf;

use chrono_tz::Tz;
use intake::{FolderError, LinkTables, read_link_tables};
use model::book::LinkScope;
use tempfile::TempDir;

struct Folder(TempDir);

impl Folder {
    fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.0.path().join(name);
        fs::write(&path, text).unwrap();
        path
    }

    fn links(&self, name: &str, text: &str) -> LinkTables {
        read_link_tables(Some(&self.file(name, text)), None, Tz::UTC).unwrap()
    }

    fn rules(&self, name: &str, text: &str) -> LinkTables {
        read_link_tables(None, Some(&self.file(name, text)), Tz::UTC).unwrap()
    }
}

fn folder() -> Folder {
    Folder(tempfile::tempdir().unwrap())
}

fn bad(tables: &LinkTables) -> Vec<String> {
    assert_eq!(tables.bad_row_count, tables.bad_rows.len() as u64);
    tables.bad_rows.iter().map(ToString::to_string).collect()
}

#[test]
fn a_table_of_links_is_read_under_any_name_with_the_lines_of_its_rows() {
    let csv = "listing_id,sku,option.Size,supplier,variant_id,units,in_force,why\n\
        L1,,Large,alder-print,A-L,2,true,so\n\
        ,AP-1,,own,,,,\n\
        L9,,,alder-print,A-M,,false,\n";
    let lines = r#"{"listing_id":"L1","options":{"size":"large"},"supplier":"alder-print","variant_id":"A-L","units":2,"in_force":true}
{"sku":"AP-1","supplier":"own"}

{"listing_id":"L9","supplier":"alder-print","variant_id":"A-M","in_force":false}
"#;
    let folder = folder();
    for (name, text) in [("from the office.csv", csv), ("x.JSONL", lines)] {
        let read = folder.links(name, text);
        assert_eq!(bad(&read), [""; 0]);
        assert_eq!(read.rows_read, 3);
        let said: Vec<_> = read
            .links
            .iter()
            .map(|at| {
                let link = &at.row.link;
                (at.line, link.units, link.in_force, at.row.says_in_force, link.supplier.is_own())
            })
            .collect();
        let by_line = |line: u64| said.iter().find(|row| row.0 == line).copied();
        let offset = u64::from(name.ends_with("csv"));
        assert_eq!(by_line(1 + offset), Some((1 + offset, 2, true, true, false)), "{said:?}");
        assert_eq!(by_line(2 + offset), Some((2 + offset, 1, true, false, true)), "nothing is said of it");
        assert_eq!(by_line(4), Some((4, 1, false, true, false)));
        assert!(read.links.iter().any(|at| matches!(&at.row.link.scope, LinkScope::Offer(..))));
        assert!(read.links.iter().any(|at| matches!(&at.row.link.scope, LinkScope::Sku(..))));
        assert!(read.links.iter().any(|at| matches!(&at.row.link.scope, LinkScope::Listing(..))));
        let notices: Vec<&str> = read.notices.iter().map(|notice| notice.text.as_str()).collect();
        let unknown = ["from the office.csv: 1 column is not known, and ignored: \"why\""];
        assert_eq!(notices, unknown[..usize::from(name.ends_with("csv"))]);
    }
}

#[test]
fn rows_that_cannot_stand_are_named_with_file_line_and_column() {
    let folder = folder();
    let read = folder.links(
        "links.csv",
        "listing_id,sku,supplier,variant_id,units,in_force\n\
        L1,,alder-print,A-L,0,\n\
        ,,alder-print,A-L,,\n\
        L2,,alder-print,,,\n\
        L3,,alder-print,A-L,1,perhaps\n\
        L4,,alder-print,A-L,1,\n\
        L4,,alder-print,A-L,2,\n",
    );
    let bad = bad(&read);
    assert_eq!(bad.len(), 6, "{bad:#?}");
    assert!(bad[0].starts_with("links.csv, line 2, column units: "), "{}", bad[0]);
    assert!(bad[1].starts_with("links.csv, line 3: neither listing_id nor sku is given"), "{}", bad[1]);
    assert!(bad[2].starts_with("links.csv, line 4, column variant_id: "), "{}", bad[2]);
    assert!(bad[3].starts_with("links.csv, line 5, column in_force: "), "{}", bad[3]);
    assert!(bad[4].contains("lines 6 and 7 say different things of listing_id \"L4\""), "{}", bad[4]);
    assert!(read.links.is_empty());
}

#[test]
fn a_table_of_rules_names_goods_by_type_age_and_words() {
    let folder = folder();
    let csv = "product_type,age_group,words,supplier,product\n\
        Mug,,White low low,alder-print,\"Mug, low\"\n\
        t-shirt,Youth,,alder-print,Youth tee\n\
        ,,\"[\"\"b c\"\", \"\"a\"\"]\",alder-print,Something\n";
    let read = folder.rules("rules.csv", csv);
    assert_eq!(bad(&read), [""; 0]);
    let rules: Vec<_> =
        read.rules.iter().map(|at| (at.line, at.row.good.to_string(), at.row.product.as_str())).collect();
    assert_eq!(
        rules,
        [
            (4, "good: a b c".to_owned(), "Something"),
            (2, "mug: low white".to_owned(), "Mug, low"),
            (3, "youth t-shirt".to_owned(), "Youth tee")
        ]
    );
    let read = folder.rules(
        "rules.jsonl",
        "{\"supplier\":\"alder-print\",\"product\":\"P\"}\n\
        {\"words\":\"[1]\",\"supplier\":\"alder-print\",\"product\":\"P\"}\n\
        {\"product_type\":\"mug\",\"supplier\":\"own\",\"product\":\"P\"}\n\
        {\"product_type\":\"mug\",\"supplier\":\"alder-print\"}\n",
    );
    let bad = bad(&read);
    assert_eq!(bad.len(), 4, "{bad:#?}");
    assert!(
        bad[0].starts_with("rules.jsonl, line 1: neither product_type nor words are given"),
        "{}",
        bad[0]
    );
    assert!(
        bad[1].starts_with("rules.jsonl, line 2, column words: \"[1]\" is no list of words"),
        "{}",
        bad[1]
    );
    assert!(
        bad[2].starts_with("rules.jsonl, line 3, column supplier: own stock has no products"),
        "{}",
        bad[2]
    );
    assert!(bad[3].starts_with("rules.jsonl, line 4, column product: "), "{}", bad[3]);
}

#[test]
fn a_file_that_cannot_be_a_table_is_refused_with_words() {
    let folder = folder();
    let error = |path: PathBuf| read_link_tables(Some(&path), None, Tz::UTC).unwrap_err();
    let other = error(folder.file("links.xlsx", ""));
    assert!(matches!(other, FolderError::NoTable { .. }), "{other}");
    assert!(matches!(error(folder.0.path().join("gone.csv")), FolderError::Unreadable { .. }));
    assert!(matches!(error(folder.file("empty.csv", "")), FolderError::EmptyFile { .. }));
    let missing = error(folder.file("some.csv", "listing_id,variant_id\nL1,A\n"));
    assert!(matches!(missing, FolderError::ColumnMissing { .. }), "{missing}");
}
