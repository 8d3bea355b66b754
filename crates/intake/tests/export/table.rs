//! Text: encodings, separators, headers, quotes; JSON and JSON Lines; files that are something else.

use std::fs;

use intake::export::{
    MAX_CELL_BYTES, MAX_COLUMNS, MAX_ROWS, MAX_TEXT_BYTES, Stated, read_bytes, read_export,
};
use serde_json::{Value, json};

use super::{case, check, said};

fn utf_16(text: &str, is_big: bool, with_mark: bool) -> Vec<u8> {
    let marked = if with_mark { format!("\u{feff}{text}") } else { text.to_owned() };
    let bytes = |unit: u16| if is_big { unit.to_be_bytes() } else { unit.to_le_bytes() };
    marked.encode_utf16().flat_map(bytes).collect()
}

#[test]
fn the_encoding_is_told_by_mark_by_zeros_and_by_what_is_utf_8() {
    let text = "sku;Größe\nAP-1;groß €\n";
    let want = |encoding: &str| {
        format!(r#"text {encoding} ';' @1 ["sku", "Größe"] [2] [{{"sku":"AP-1","Größe":"groß €"}}]"#)
    };
    let windows = b"sku;Gr\xf6\xdfe\nAP-1;gro\xdf \x80\n";
    let broken = "sku,size\nAP-1,groß\nAP-2,grün\nAP-3,gr".to_owned().into_bytes();
    let broken = [broken.as_slice(), b"\xc3"].concat();
    check(&[
        case("a.csv", text, &want("UTF-8")),
        case("a.csv", &format!("\u{feff}{text}"), &want("UTF-8")),
        case("a.csv", &utf_16(text, false, true), &want("UTF-16LE")),
        case("a.csv", &utf_16(text, true, true), &want("UTF-16BE")),
        case("a.csv", &utf_16(text, false, false), &want("UTF-16LE")),
        case("a.csv", &utf_16(text, true, false), &want("UTF-16BE")),
        case("a.csv", windows, &want("windows-1252")),
        case("a.csv", windows, &want("windows-1252")).encoding("Latin1"),
        case(
            "a.csv",
            b"sku;size\nAP;\xa3\n",
            r#"text ISO-8859-2 ';' @1 ["sku", "size"] [2] [{"sku":"AP","size":"Ł"}]"#,
        )
        .encoding("iso-8859-2"),
        case(
            "a.csv",
            b"sku;size\nAP;\x81\n",
            "error: a.csv, line 2: bytes that stand in no text; expected text in UTF-8, UTF-16 or Windows-1252. …",
        ),
        case("a.csv", "sku;si\0ze\n", "error: a.csv, line 1: bytes that stand in no text; …"),
        case(
            "a.csv",
            &broken,
            "error: a.csv, line 4: the file is UTF-8 for the most part, and bytes here are not; expected one …",
        ),
        case("a.csv", windows, "error: a.csv, line 1: bytes that are no UTF-8; …").encoding("utf-8"),
        case("a.csv", b"\xef\xbb\xbfsku\nAP\xff\n", "error: a.csv, line 2: bytes that are no UTF-8; …"),
        case("a.csv", b"\xff\xfea\0\n\0\x00\xd8b", "error: a.csv, line 2: bytes that are no UTF-16LE; …"),
        case(
            "a.csv",
            b"\xff\xfe\0\0a\0\0\0",
            "error: a.csv, line 1: the file begins with the mark of UTF-32; …",
        ),
        case("a.csv", text, "error: a.csv: the encoding \"latin-nil\" is stated, which is not known; …")
            .encoding("latin-nil"),
        case("a.json", &utf_16(r#"{"a":"€"}"#, false, true), r#"json UTF-16LE [] {"a":"€"}"#),
    ]);
}

#[test]
fn the_separator_is_the_one_that_cells_agree_on() {
    let two = r#"["sku", "price"] [2] [{"sku":"AP","price":"1,50"}]"#;
    check(&[
        case("a.csv", "sku;price\nAP;1,50\n", &format!("text UTF-8 ';' @1 {two}")),
        case("a.csv", "sku\tprice\nAP\t1,50\n", &format!("text UTF-8 '\\t' @1 {two}")),
        case("a.txt", "sku|price\nAP|1,50\n", &format!("text UTF-8 '|' @1 {two}")),
        case("a.csv", "sku,price\nAP,\"1,50\"\n", &format!("text UTF-8 ',' @1 {two}")),
        case("a.csv", "sku:price\nAP:1,50\n", &format!("text UTF-8 ':' @1 {two}")).separator(':'),
        case(
            "a.csv",
            "sep=;\nsku;price,net\nAP;1,50\n",
            r#"text UTF-8 ';' @2 ["sku", "price,net"] [3] [{"sku":"AP","price,net":"1,50"}]"#,
        ),
        case(
            "a.csv",
            "\"SEP=|\"\r\nsku;x|price\r\nAP|2\r\n",
            r#"text UTF-8 '|' @2 ["sku;x", "price"] [3] [{"sku;x":"AP","price":"2"}]"#,
        ),
        // Titles above the table, and above its header alone.
        case(
            "a.csv",
            "x\ny\nz\na,b,c\n1,2,3\n",
            r#"text UTF-8 ',' @4 ["a", "b", "c"] [5] [{"a":"1","b":"2","c":"3"}]"#,
        ),
        case("a.csv", "x\na;b;c\n", r#"text UTF-8 ';' @2 ["a", "b", "c"] [] []"#),
        case(
            "a.csv",
            "note\nno\nnone\nHello, you\nwell, yes\n",
            r#"text UTF-8 @1 ["note"] [2, 3, 4, 5] [{"note":"no"},{"note":"none"},{"note":"Hello, you"},{"note":"well, yes"}]"#,
        ),
        // One column, whatever stands in it.
        case(
            "a.csv",
            "note\nHello, you\nno\nyes; no\n",
            r#"text UTF-8 @1 ["note"] [2, 3, 4] [{"note":"Hello, you"},{"note":"no"},{"note":"yes; no"}]"#,
        ),
        // Cells at the end may be missing.
        case(
            "a.csv",
            "a,b,c,d\n1\n2,x\n3,x,y\n",
            r#"text UTF-8 ',' @1 ["a", "b", "c", "d"] [2, 3, 4] [{"a":"1"},{"a":"2","b":"x"},{"a":"3","b":"x","c":"y"}]"#,
        ),
        case("a.csv", "sku;price\nAP;2\n", "error: a.csv: \"x\" is stated as the separator; …")
            .separator('x'),
        case("a.csv", "sku;price\nAP;2\n", "error: a.csv: \"·\" is stated as the separator; …")
            .separator('·'),
        case(
            "a.csv",
            "sep=x\nskuxprice\n",
            "error: a.csv: \"x\" stands in the first line as the separator; …",
        ),
        // A bracket may begin a name, and what is stated to be a table is one.
        case("a.csv", "[id],[n]\n1,2\n", r#"text UTF-8 ',' @1 ["[id]", "[n]"] [2] [{"[id]":"1","[n]":"2"}]"#),
        case("a.csv", "{},x\n1,2\n", r#"text UTF-8 ',' @1 ["{}", "x"] [2] [{"{}":"1","x":"2"}]"#)
            .separator(','),
    ]);
}

#[test]
fn cells_are_the_text_that_stands_there() {
    check(&[
        case(
            "a.csv",
            "sku,note,qty\n AP-1\u{a0},\" a \"\"b\"\"\n c \", 007 \n",
            r#"text UTF-8 ',' @1 ["sku", "note", "qty"] [2] [{"sku":"AP-1","note":"a \"b\"\n c","qty":"007"}]"#,
        ),
        case(
            "a.csv",
            "a,b\r\n,\r\n\r\n \t,\" \"\r\n1,\r\n,2",
            r#"text UTF-8 ',' @1 ["a", "b"] [5, 6] [{"a":"1"},{"b":"2"}]"#,
        ),
        case(
            "a.csv",
            "a,b\r1,\"x\ry\"\r2,z\r",
            r#"text UTF-8 ',' @1 ["a", "b"] [2, 4] [{"a":"1","b":"x\ry"},{"a":"2","b":"z"}]"#,
        ),
        case(
            "a.csv",
            "a,b\n1,5\" x\nTotal,\n",
            r#"text UTF-8 ',' @1 ["a", "b"] [2, 3] [{"a":"1","b":"5\" x"},{"a":"Total"}]"#,
        ),
        case(
            "a.csv",
            "a,b,\n1,2,\n3,4,,\n",
            r#"text UTF-8 ',' @1 ["a", "b"] [2, 3] [{"a":"1","b":"2"},{"a":"3","b":"4"}]"#,
        ),
        case(
            "a.csv",
            "a,b\n1,2\n3,4,somebody's words that go on and on and on and on and on and on\n",
            "error: a.csv, line 3: the row has 3 cells, and \"somebody's words that go on and on and on and on and on and \"… stands to the right of the header's last column; expected no more cells than the header has (2). …",
        ),
        case(
            "a.csv",
            "a,b\n1,\"2\n3,4\n",
            "error: a.csv, line 2: a quote opens a cell and is never closed; …",
        ),
        case(
            "a.csv",
            "a,b\n1,2\n3,\"4\" x\n",
            "error: a.csv, line 3: text follows the closing quote of a cell that begins here; …",
        ),
        case(
            "a.csv",
            "a,b\n1,2\rx\n",
            "error: a.csv, line 2: a carriage return stands in the middle of the row, outside quotes; …",
        ),
        // A quote that closes far below would swallow rows.
        case(
            "a.csv",
            "a,b,c,d,e,f\n1,\"x,x,x,x,x\n2,x,x,x,x,x\n3,x\",x,x,x,x\n",
            "error: a.csv, line 2: a quoted cell holds lines that look like rows of their own; …",
        ),
        case(
            "a.csv",
            "a,b,c,d,e,f\n1,\"x\nx,x\nx\",,,,",
            r#"text UTF-8 ',' @1 ["a", "b", "c", "d", "e", "f"] [2] [{"a":"1","b":"x\nx,x\nx"}]"#,
        ),
    ]);
}

#[test]
fn the_header_is_found_below_titles_and_its_names_are_made_fit() {
    check(&[
        case(
            "a.csv",
            "Orders of November\nShop:,Kestrel & Alder\n\norder,sku,quantity,price,note\n1001,AP,2,19.00,x\n",
            r#"text UTF-8 ',' @4 ["order", "sku", "quantity", "price", "note"] [5] [{"order":"1001","sku":"AP","quantity":"2","price":"19.00","note":"x"}]"#,
        ),
        // A title above two columns.
        case(
            "a.csv",
            "Orders\n\nsku,qty\nAP,1\n",
            r#"text UTF-8 ',' @3 ["sku", "qty"] [4] [{"sku":"AP","qty":"1"}]"#,
        ),
        // Above the header, what holds a date is no header, and is narrower.
        case(
            "a.csv",
            "from,2026-11-01,to\norder,sku,quantity,note\n1,AP,2,x\n",
            r#"text UTF-8 ',' @2 ["order", "sku", "quantity", "note"] [3] [{"order":"1","sku":"AP","quantity":"2","note":"x"}]"#,
        ),
        // Headings over groups of columns.
        case(
            "a.csv",
            "Order,Order,Item,Item\nid,placed,sku,qty\n1,2,3,4\n",
            r#"text UTF-8 ',' @2 ["id", "placed", "sku", "qty"] [3] [{"id":"1","placed":"2","sku":"3","qty":"4"}]"#,
        ),
        case(
            "a.csv",
            "sku,, note ,\"no\n te\",note,sku (2),sku\nAP,1,x,y,z,u,v\n",
            r#"text UTF-8 ',' @1 ["sku", "column 2", "note", "no te", "note (2)", "sku (2)", "sku (3)"] [3] [{"sku":"AP","column 2":"1","note":"x","no te":"y","note (2)":"z","sku (2)":"u","sku (3)":"v"}]"#,
        ),
        // The header alone.
        case("a.csv", "sku,quantity\n", r#"text UTF-8 ',' @1 ["sku", "quantity"] [] []"#),
        case("a.csv", "sku", r#"text UTF-8 @1 ["sku"] [] []"#),
        // No header: nothing is guessed.
        case(
            "a.csv",
            "1001,AP,2\n1002,AP,1\n",
            "error: a.csv: none of the first 20 lines that hold anything looks like a header; expected a row with the names of the columns. State the header row, or the separator if the columns are not told apart.",
        ),
        case(
            "a.csv",
            "1001,AP,2026-11-24\nx,y,z\n",
            "error: a.csv: line 2 looks like a header, but line 1 above it is as full; …",
        ),
        case(
            "a.csv",
            "sku,2025,2026\nAP,1,2\n",
            r#"text UTF-8 ',' @1 ["sku", "2025", "2026"] [2] [{"sku":"AP","2025":"1","2026":"2"}]"#,
        )
        .header_row(1),
        case("a.csv", "a,b\nc,d\n\"x\ny\",e\n", r#"text UTF-8 ',' @2 ["c", "d"] [3] [{"c":"x\ny","d":"e"}]"#)
            .header_row(2),
        case(
            "a.csv",
            "a,b\nc,d\n\"x\ny\",e\n",
            "error: a.csv, line 4: the header row is stated to be here, and no row begins on this line; …",
        )
        .header_row(4),
        case("a.csv", "a,b\n\nc,d\n", "error: a.csv, line 2: the header row is stated to be here, …")
            .header_row(2),
        case("a.csv", "a,b\n", "error: a.csv, line 0: the header row is stated to be here, …").header_row(0),
        case("a.csv", ",,\n\"\",\n", "error: a.csv: no cell of the file is filled; …"),
    ]);
    // The header may be far down, but not too far.
    for (titles, is_found) in [(19, true), (20, false)] {
        let text = format!("{}sku,qty,note\nAP,1,x\n", "title\n".repeat(titles));
        assert_eq!(read_bytes("a.csv", text.into_bytes(), &Stated::default()).is_ok(), is_found, "{titles}");
    }
}

#[test]
fn numbers_and_dates_are_no_names() {
    let is_name = |text: &str| {
        // A header of this name, above a number.
        let text = format!("\"{text}\";x y\n1;2\n");
        read_bytes("a.csv", text.into_bytes(), &Stated::default()).is_ok()
    };
    for name in ["sku", "2XL", "Marble 12", "Qty.", "May", "%", "SKU 1", "1st", "€", "price (EUR)", "AP-12"]
    {
        assert!(is_name(name), "{name}");
    }
    for value in [
        "12",
        "-1,50",
        "1'000.00",
        "€ 12.50",
        "12 %",
        "2026-11-24",
        "24.11.2026 09:30",
        "24 Nov 2026",
        "Tuesday, November 24, 2026",
        "2026-11-24T09:30:00Z",
        "9:30 PM",
        "1e5",
        "(12.00)",
    ] {
        assert!(!is_name(value), "{value}");
    }
}

#[test]
fn json_is_as_it_is_and_json_lines_are_a_list() {
    check(&[
        case(
            "a.json",
            r#" {"orders":[{"id":18446744073709551615,"total":24.10,"note":null,"paid":true,"n":-3,"e":1e2}]} "#,
            r#"json UTF-8 [] {"orders":[{"id":18446744073709551615,"total":24.1,"note":null,"paid":true,"n":-3,"e":100.0}]}"#,
        ),
        case("export", "[1,\n2]", "json UTF-8 [] [1,2]"),
        case("a.csv", "{\n  \"a\": 1\n}\n", r#"json UTF-8 [] {"a":1}"#),
        case("a.json", "\"x\"", r#"json UTF-8 [] "x""#),
        case("a.jsonl", "{\"b\":1,\"a\":2}\r\n\n {\"a\":\"x\\ny\"}", r#"json_lines UTF-8 [1, 3] [{"b":1,"a":2},{"a":"x\ny"}]"#),
        case("a.json", "{\"a\":1}\n{\"a\":2}\n", r#"json_lines UTF-8 [1, 2] [{"a":1},{"a":2}]"#),
        case("a.json", "{\"a\":1}\n", r#"json UTF-8 [] {"a":1}"#),
        case("a.ndjson", "{\"a\":1}\n", r#"json_lines UTF-8 [1] [{"a":1}]"#),
        case("a.jsonl", "{\n\"a\":1\n}\n", r#"json UTF-8 [] {"a":1}"#),
        case("a.jsonl", "[{\"a\":1}]\n", r#"json UTF-8 [] [{"a":1}]"#),
        case(
            "a.jsonl",
            "{\"a\":1}\n[2]\n",
            "error: a.jsonl, line 2: the line is no JSON object; expected one object a line. Write one …",
        ),
        case(
            "a.jsonl",
            "{\"a\":1}\n{\"a\":\n",
            "error: a.jsonl, line 2, column 5: it ends in the middle; expected one JSON object on the line. …",
        ),
        case("a.json", "{\"a\":1,\n\"b\" 2}", "error: a.json, line 2, column 5: this is not JSON (expected `:`); expected one JSON document. …"),
        case("a.json", "{\"a\":1} x", "error: a.json, line 1, column 9: this is not JSON (trailing characters); …"),
        case("a.json", "{\"a\":[", "error: a.json, line 1, column 6: it ends in the middle; expected one JSON document. …"),
        case(
            "a.json",
            "{\"rows\":[{\"a\":1,\n\"b\":{},\"a\":2}]}",
            "error: a.json, line 2, column 10: the name \"a\" stands twice in one object; expected each name once. …",
        ),
        case("a.jsonl", "{\"x\":1}\n{\"a\":1,\"\\u0061\":2}\n", "error: a.jsonl, line 2, …"),
        case("a.json", "[1e999]", "error: a.json, line 1, column 6: this is not JSON (number out of range); …"),
        case("a.json", &"[".repeat(100_000), "error: a.json, line 1, column 128: values lie in each other deeper than is read, 127 levels; …"),
        case("a.json", "nonsense", "error: a.json, line 1, …"),
        case("a.json", "[1]", r#"text UTF-8 ';' @1 ["[1]"] [] []"#).separator(';'),
        case("a.json", "[1]", "error: a.json: the header row is stated, and the file is JSON; expected a file of the form that is stated. …").header_row(1),
        case("a.csv", "a,b\n", "error: a.csv: the sheet is stated, and the file is a table in a text; …").sheet("Orders"),
    ]);
}

#[test]
fn a_file_of_another_kind_is_told_what_it_is() {
    let old = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\0\0\0\0";
    let name: Vec<u8> = utf_16("EncryptedPackage", false, false);
    let locked = [old.as_slice(), &name].concat();
    check(&[
        case(
            "a.csv",
            "",
            "error: a.csv: the file is empty; expected a header and rows below it, or JSON. Export it again.",
        ),
        case("a.csv", " \r\n\n", "error: a.csv: the file holds no more than blanks; …"),
        case(
            "a.csv",
            old,
            "error: a.csv: this is an old binary workbook (.xls) or document; expected text (CSV, JSON, JSON Lines) or a workbook (xlsx, ods). Save it as xlsx or CSV.",
        ),
        case("a.xlsx", &locked, "error: a.xlsx: this is a workbook under a password; …"),
        case("a.xls", b"\x09\x04\x06\x00\0\0", "error: a.xls: this is an old binary workbook (.xls); …"),
        case("a.csv", "%PDF-1.7", "error: a.csv: this is a PDF; …"),
        case(
            "a.csv",
            b"\x1f\x8b\x08",
            "error: a.csv: this is packed with gzip; expected text (CSV, JSON, JSON Lines) or a workbook (xlsx, ods). Unpack it first.",
        ),
        case("a.xls", "\n<!DOCTYPE HTML>\n<html>", "error: a.xls: this is an HTML page; …"),
        case("a.csv", "<table><tr>", "error: a.csv: this is an HTML page; …"),
        case("a.csv", "<!-- x --><html>", "error: a.csv: this is an HTML page; …"),
        case("a.xls", "<?xml version=\"1.0\"?><Workbook>", "error: a.xls: this is an XML document; …"),
        case("a.csv", "<none>,x\n1,2\n", r#"text UTF-8 ',' @1 ["<none>", "x"] [2] [{"<none>":"1","x":"2"}]"#),
        case(
            "a.bin",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0",
            "error: a.bin, line 2: bytes that stand in no text; …",
        ),
    ]);
}

/// Source: csv-spectrum 2.0.0 (see tests/csv-spectrum/README.md), all its pairs but the one left out there. Its cells are
/// not trimmed, and its empty ones are kept; both are put aside here.
#[test]
fn the_files_of_csv_spectrum_are_read_as_their_json_says() {
    macro_rules! pairs {
        ($($name:literal),*) => {[$((
            $name,
            include_bytes!(concat!("../csv-spectrum/", $name, ".csv")).as_slice(),
            include_str!(concat!("../csv-spectrum/", $name, ".json")),
        )),*]};
    }
    for (name, bytes, json) in pairs![
        "comma_in_quotes",
        "empty",
        "empty_crlf",
        "escaped_quotes",
        "json",
        "newlines",
        "newlines_crlf",
        "quotes_and_newlines",
        "simple",
        "simple_crlf",
        "utf8"
    ] {
        let mut want: Vec<serde_json::Map<String, Value>> = serde_json::from_str(json).unwrap();
        for record in &mut want {
            record.retain(|_, cell| !cell.as_str().unwrap().is_empty());
            record.values_mut().for_each(|cell| *cell = json!(cell.as_str().unwrap().trim()));
        }
        // Two of its files have headers above rows that are numbers; all are names.
        let export = read_bytes(name, bytes.to_vec(), &Stated::default()).unwrap();
        assert_eq!(export.value, json!(want), "{name}");
        assert_eq!((export.form.separator, export.form.header_row), (Some(','), Some(1)), "{name}");
    }
}

#[test]
fn what_is_no_file_is_not_read() {
    let dir = tempfile::tempdir().unwrap();
    let error = |path: &std::path::Path| read_export(path, &Stated::default()).unwrap_err().to_string();
    let said = error(dir.path());
    assert!(said.ends_with(": this is a folder; expected a file. Give one of the files in it."), "{said}");
    assert!(error(&dir.path().join("none.csv")).contains("there is no such file; expected an export"));
    #[cfg(unix)]
    {
        let pipe = dir.path().join("pipe.csv");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status().unwrap();
        assert!(made.success());
        assert!(error(&pipe).contains("this is a pipe or a device; expected a file"), "{}", error(&pipe));
    }
    // It takes no room on the disk, and is not read.
    let large = dir.path().join("large.csv");
    fs::File::create(&large).unwrap().set_len(2 << 30).unwrap();
    assert!(error(&large).starts_with("large.csv: the file has 2147483648 bytes; expected 256 MB at most"));
    let book = dir.path().join("large.xlsx");
    fs::write(&book, b"PK\x03\x04").unwrap();
    fs::File::options().append(true).open(&book).unwrap().set_len(100 << 20).unwrap();
    assert!(error(&book).starts_with("large.xlsx: the file has 104857600 bytes; expected 64 MB at most"));
    let path = dir.path().join("orders.csv");
    fs::write(&path, "sku,qty\nAP,1\n").unwrap();
    let export = read_export(&path, &Stated::default()).unwrap();
    assert_eq!(export, read_bytes("orders.csv", fs::read(&path).unwrap(), &Stated::default()).unwrap());
}

#[test]
fn what_is_too_large_is_refused_in_words() {
    let plain = Stated::default();
    let wide = |columns: usize| {
        let names: Vec<String> = (0..columns).map(|column| format!("name{column}x")).collect();
        format!("{}\n", names.join(","))
    };
    let fits = said("a.csv", wide(MAX_COLUMNS).as_bytes(), &plain);
    assert!(fits.starts_with("text UTF-8 ',' @1 "), "{}", &fits[..100]);
    let said_of = |text: String| said("a.csv", text.as_bytes(), &plain);
    assert!(
        said_of(wide(MAX_COLUMNS + 1))
            .starts_with("error: a.csv, line 1: the row has more than 1000 cells; ")
    );
    assert!(said_of(wide(10_000)).starts_with("error: a.csv, line 1: the row has more than 1000 cells; "));
    let long = |bytes: usize| format!("sku,note\nAP,{}\nAP,x\n", "x".repeat(bytes));
    assert!(said_of(long(MAX_CELL_BYTES)).starts_with("text "));
    assert!(
        said_of(long(MAX_CELL_BYTES + 1)).starts_with("error: a.csv, line 2: a cell is longer than 1 MB; ")
    );
    let open = format!("sku,note\nAP,\"{}\n", "x\n".repeat(MAX_CELL_BYTES));
    assert!(said_of(open).starts_with("error: a.csv, line 2: a cell is longer than 1 MB; "));
    let name = format!("sku,{}\nAP,x\n", "x".repeat(2_000));
    assert!(
        said_of(name).starts_with("error: a.csv, line 1: the name of column 2 is longer than 1000 bytes; ")
    );
    let many = format!("sku\n{}", "AP\n".repeat(MAX_ROWS + 1));
    assert!(said_of(many).starts_with("error: a.csv, line 2000002: there are more than 2000000 rows; "));
    let many = "{}\n".repeat(MAX_ROWS + 1);
    assert!(
        said("a.jsonl", many.as_bytes(), &plain).contains("line 2000001: there are more than 2000000 rows; ")
    );
    let long = format!("[\"{}\"]", "x".repeat(MAX_CELL_BYTES + 1));
    assert!(said("a.json", long.as_bytes(), &plain).contains(": a cell is longer than 1 MB; "));
    let bytes = vec![b'x'; MAX_TEXT_BYTES as usize + 1];
    assert!(said("a.csv", &bytes, &plain).starts_with("error: a.csv: the file has 268435457 bytes; "));
}
