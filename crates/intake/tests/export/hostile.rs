//! Files that are made to do harm, or that harm was done to.

use std::io::Write;

use intake::export::{MAX_CELL_BYTES, MAX_COLUMNS, MAX_UNPACKED_BYTES, Stated, read_bytes};
use proptest::prelude::*;
use proptest::sample::Index;

use super::workbooks::{Xlsx, ods, ods_texts, ods_with, texts, zipped};
use super::{case, check, said};

/// A zip archive with one part more, of so many blanks; if `is_silent`, the archive says that it is small.
fn with_blanks(parts: &[(&str, &[u8])], name: &str, bytes: u64, is_silent: bool) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    for (part, content) in parts {
        writer.start_file(*part, options).unwrap();
        writer.write_all(content).unwrap();
    }
    writer.start_file(name, options).unwrap();
    let blanks = vec![b' '; 1 << 20];
    for _ in 0..bytes >> 20 {
        writer.write_all(&blanks).unwrap();
    }
    let mut archive = writer.finish().unwrap().into_inner();
    if is_silent {
        let told = u32::try_from(bytes).unwrap().to_le_bytes();
        let places: Vec<usize> =
            archive.windows(4).enumerate().filter(|(_, at)| *at == told).map(|(at, _)| at).collect();
        assert!(places.len() >= 2, "the size stands in both headers");
        places.into_iter().for_each(|at| archive[at..at + 4].copy_from_slice(&7_u32.to_le_bytes()));
    }
    archive
}

const TYPES: &[u8] = b"<Types/>";

#[test]
fn a_zip_bomb_is_refused_whether_it_says_its_size_or_not() {
    let parts: [(&str, &[u8]); 1] = [("[Content_Types].xml", TYPES)];
    let size = MAX_UNPACKED_BYTES + (1 << 20);
    let honest = with_blanks(&parts, "xl/workbook.xml", size, false);
    assert!(honest.len() < 2 << 20, "{}", honest.len());
    check(&[case(
        "bomb.xlsx",
        &honest,
        "error: bomb.xlsx, its part \"xl/workbook.xml\": the workbook unpacks to more than 512 MB; expected a workbook of an ordinary size. …",
    )]);
    // One that lies is cut off where it said that it would end, or where a piece becomes too long.
    let silent = with_blanks(&parts, "xl/workbook.xml", 64 << 20, true);
    let said = said("bomb.xlsx", &silent, &Stated::default());
    assert!(said.starts_with("error: bomb.xlsx, its part \"xl/workbook.xml\": "), "{said}");
}

/// Pieces of ordinary length, so that only the sum is too much; over several parts, none of which is too large.
#[test]
fn what_is_unpacked_counts_over_all_parts() {
    let texts_of = |mega: usize| {
        let mut xml = b"<sst>".to_vec();
        let piece = format!("<!--{}-->", "x".repeat((1 << 20) - 7));
        (0..mega).for_each(|_| xml.extend(piece.as_bytes()));
        xml.extend(b"</sst>");
        xml
    };
    let mut book = Xlsx::of(&texts(&["sku"]));
    book.more = vec![("xl/sharedStrings.xml", texts_of(300)), ("xl/styles.xml", texts_of(200))];
    check(&[case("a.xlsx", &book.bytes(), r#"xlsx Orders @1 ["sku"] [] []"#)]);
    book.more[1].1 = texts_of(230);
    check(&[case(
        "a.xlsx",
        &book.bytes(),
        "error: a.xlsx, its part \"xl/sharedStrings.xml\": the workbook unpacks to more than 512 MB; …",
    )]);
}

#[test]
fn workbooks_with_macros_are_refused() {
    let mut project = Xlsx::of(&texts(&["sku"]));
    project.more = vec![("xl/vbaProject.bin", vec![1, 2, 3])];
    let mut typed = Xlsx::of(&texts(&["sku"]));
    typed.content_type = "application/vnd.ms-excel.sheet.macroEnabled.main+xml";
    let mut sheets = Xlsx::of(&texts(&["sku"]));
    sheets.more = vec![("xl/macrosheets/sheet1.xml", Vec::new())];
    let table = format!(r#"<table:table table:name="A">{}</table:table>"#, ods_texts(&["sku"]));
    let basic = ods_with(&table, &[("Basic/Standard/Module1.xml", b"<x/>")]);
    let script = ods_with(&table, &[("Scripts/python/a.py", b"x")]);
    let empty =
        ods_with(&table, &[("Basic/script-lc.xml", b"<x/>"), ("Basic/Standard/script-lb.xml", b"<x/>")]);
    check(&[
        case(
            "a.xlsm",
            &project.bytes(),
            "error: a.xlsm: the workbook holds macros (\"xl/vbaproject.bin\"), which are never run; expected one without. Save it as an ordinary xlsx or ods workbook, without macros, or as CSV.",
        ),
        case(
            "a.xlsx",
            &typed.bytes(),
            "error: a.xlsx: the workbook holds macros (its type says so), which are never run; …",
        ),
        case("a.xlsx", &sheets.bytes(), "error: a.xlsx: the workbook holds macros (…"),
        case("a.ods", &basic, "error: a.ods: the workbook holds macros (…"),
        case("a.ods", &script, "error: a.ods: the workbook holds macros (…"),
        case("a.ods", &empty, r#"ods A @1 ["sku"] [] []"#),
    ]);
}

#[test]
fn an_archive_of_too_many_parts_is_refused() {
    let names: Vec<String> = (0..10_001).map(|part| format!("xl/{part}.xml")).collect();
    let parts: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), b"".as_slice())).collect();
    check(&[case("a.xlsx", &zipped(&parts), "error: a.xlsx: the archive has 10001 parts; …")]);
}

#[test]
fn a_workbook_under_a_password_is_told_so() {
    let locked = zipped(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        (
            "META-INF/manifest.xml",
            b"<m:manifest xmlns:m=\"m\"><m:file-entry><m:encryption-data/></m:file-entry></m:manifest>",
        ),
        ("content.xml", b"\x01\x02"),
    ]);
    check(&[case("a.ods", &locked, "error: a.ods: this is a workbook under a password; …")]);
}

/// Entities that grow, entities that lead to files and addresses, and a sheet that is said to be somewhere else: nothing
/// is expanded, opened or asked for.
#[test]
fn no_entity_is_expanded_and_nothing_outside_is_opened() {
    let dir = tempfile::tempdir().unwrap();
    let secret = dir.path().join("secret.txt");
    std::fs::write(&secret, "of nobody's business").unwrap();
    let file = format!("<!DOCTYPE a [<!ENTITY x SYSTEM \"file://{}\">]>", secret.display());
    let growing = r#"<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;"><!ENTITY x "&b;&b;&b;&b;&b;&b;">]>"#;
    for doctype in [file.as_str(), growing, "<!DOCTYPE a SYSTEM \"http://127.0.0.1:1/a.dtd\">"] {
        let mut book = Xlsx::of(&texts(&["sku"]));
        book.more =
            vec![("xl/sharedStrings.xml", format!("{doctype}<sst><si><t>&x;</t></si></sst>").into_bytes())];
        let want = "error: a.xlsx, its part \"xl/sharedStrings.xml\": it declares a document type, with which entities come; …";
        check(&[case("a.xlsx", &book.bytes(), want)]);
        let mut sheet = Xlsx::of("");
        let rows = format!("{doctype}<worksheet><sheetData>{}</sheetData></worksheet>", texts(&["&x;"]));
        sheet.more = vec![("xl/worksheets/s1.xml", rows.into_bytes())];
        check(&[case(
            "a.xlsx",
            &sheet.bytes(),
            "error: a.xlsx, its part \"xl/worksheets/s1.xml\": it declares a document …",
        )]);
        let content = format!("{doctype}<a/>");
        let parts: [(&str, &[u8]); 2] = [
            ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
            ("content.xml", content.as_bytes()),
        ];
        check(&[case(
            "a.ods",
            &zipped(&parts),
            "error: a.ods, its part \"content.xml\": it declares a document type, …",
        )]);
    }
    let mut elsewhere = Xlsx::of(&texts(&["sku"]));
    let relations = r#"<Relationships><Relationship Id="r1" Type="x/worksheet" Target="http://127.0.0.1:1/s.xml" TargetMode="External"/></Relationships>"#;
    elsewhere.more = vec![("xl/_rels/workbook.xml.rels", relations.as_bytes().to_vec())];
    let mut above = Xlsx::of(&texts(&["sku"]));
    let relations = r#"<Relationships><Relationship Id="r1" Type="x/worksheet" Target="../../../../../../etc/passwd"/></Relationships>"#;
    above.more = vec![("xl/_rels/workbook.xml.rels", relations.as_bytes().to_vec())];
    check(&[
        case(
            "a.xlsx",
            &Xlsx::of(&texts(&["sku", "&x;"])).bytes(),
            "error: a.xlsx, its part \"xl/worksheets/s1.xml\": an entity that XML does not know; …",
        ),
        case("a.xlsx", &elsewhere.bytes(), "error: a.xlsx: no cell of a sheet that is shown is filled; …"),
        case("a.xlsx", &above.bytes(), "error: a.xlsx, its part \"etc/passwd\": the part is missing; …"),
    ]);
}

#[test]
fn what_a_few_bytes_blow_up_to_is_counted_before_it_is_made() {
    let table = |rows: &str| {
        ods(&format!(r#"<table:table table:name="A">{}{rows}</table:table>"#, ods_texts(&["sku", "qty"])))
    };
    let cell = |repeats: &str| {
        format!(
            r#"<table:table-cell table:number-columns-repeated="{repeats}" office:value-type="float" office:value="1"/>"#
        )
    };
    let row = |repeats: &str, cells: &str| {
        format!(r#"<table:table-row table:number-rows-repeated="{repeats}">{cells}</table:table-row>"#)
    };
    let text = |inner: &str| {
        format!(r#"<table:table-cell office:value-type="string"><text:p>{inner}</text:p></table:table-cell>"#)
    };
    let blanks = format!(r#"<text:s text:c="{MAX_CELL_BYTES}"/>x"#);
    let long = text(&format!("x{}y", "<text:s text:c=\"1000000\"/>"));
    let shared = format!("<si><t>{}</t></si>", "x".repeat(MAX_CELL_BYTES));
    let mut repeated =
        Xlsx::of(&format!("{}{}", texts(&["sku"]), r#"<row><c t="s"><v>0</v></c></row>"#.repeat(3_000)));
    repeated.texts = &shared;
    let far = format!(r#"{}<row><c><v>1</v></c><c r="ALM2"><v>1</v></c></row>"#, texts(&["sku"]));
    let beside = format!(r#"{}<row><c><v>1</v></c><c r="XFD2" s="1"/></row>"#, texts(&["sku"]));
    check(&[
        case(
            "a.ods",
            &table(&row("1", &cell("4000000000"))),
            "error: a.ods, its part \"content.xml\": a cell is repeated without end; …",
        ),
        case(
            "a.ods",
            &table(&row("1", &cell("16384"))),
            "error: a.ods, sheet \"A\", row 2: the row has more than 1000 cells; …",
        ),
        case(
            "a.ods",
            &table(&row("99999999999999999999", &cell("1"))),
            "error: a.ods, its part \"content.xml\": a row is repeated without end; …",
        ),
        case(
            "a.ods",
            &table(&row("4000000000", "")),
            "error: a.ods, its part \"content.xml\": a row is repeated without end; …",
        ),
        case(
            "a.ods",
            &table(&row("16000000", &cell("2"))),
            "error: a.ods, sheet \"A\", row 2000102: there are more than 2000000 rows; …",
        ),
        case(
            "a.ods",
            &table(&row("1000000", &long)),
            "error: a.ods, sheet \"A\", row 1343: what is read up to here takes more than 1280 MB of memory; …",
        ),
        case(
            "a.ods",
            &table(&row("1", &text(&blanks))),
            "error: a.ods, its part \"content.xml\": a cell is longer than 1 MB; …",
        ),
        case(
            "a.ods",
            &table(&row("1", &text(r#"<text:s text:c="99999999999999"/>"#))),
            "error: a.ods, its part \"content.xml\": a cell is longer than 1 MB; …",
        ),
        case(
            "a.xlsx",
            &repeated.bytes(),
            "error: a.xlsx, sheet \"Orders\", row 1281: what is read up to here takes more than 1280 MB of memory; …",
        ),
        case(
            "a.xlsx",
            &Xlsx::of(&far).bytes(),
            "error: a.xlsx, sheet \"Orders\", row 2: the row has more than 1000 cells; expected 1000 columns at most. …",
        ),
        case("a.xlsx", &Xlsx::of(&beside).bytes(), r#"xlsx Orders @1 ["sku"] [2] [{"sku":1}]"#),
        case(
            "a.json",
            &format!("[{}0]", "[],".repeat(17_000_000)),
            "error: a.json, line 1, column 48318381: what is read up to here takes more than 3072 MB of memory; …",
        ),
    ]);
    let wide: Vec<String> = (0..10_000).map(|column| format!("name{column}x")).collect();
    let wide: Vec<&str> = wide.iter().map(String::as_str).collect();
    check(&[
        case(
            "a.xlsx",
            &Xlsx::of(&texts(&wide)).bytes(),
            "error: a.xlsx, sheet \"Orders\", row 1: the row has more than 1000 cells; …",
        ),
        case("a.xlsx", &Xlsx::of(&texts(&wide[..MAX_COLUMNS])).bytes(), "xlsx Orders @1 [\"name0x\", …"),
    ]);
}

#[test]
fn a_workbook_that_contradicts_itself_is_refused() {
    let sheet = |rows: &str| Xlsx::of(&format!("{}{rows}", texts(&["sku", "qty"]))).bytes();
    let raw = |xml: &str| {
        let mut book = Xlsx::of("");
        book.more = vec![("xl/worksheets/s1.xml", xml.as_bytes().to_vec())];
        book.bytes()
    };
    let part = "error: a.xlsx, its part \"xl/worksheets/s1.xml\": ";
    let said = |what: &str| format!("{part}{what}; …");
    check(&[
        case("a.xlsx", &sheet(r#"<row r="1"><c><v>1</v></c></row>"#), &said("rows are out of order")),
        case("a.xlsx", &sheet(r#"<row r="4294967297"/>"#), &said("rows are out of order")),
        case("a.xlsx", &sheet(r#"<row r="x"/>"#), &said("rows are out of order")),
        case(
            "a.xlsx",
            &sheet(r#"<row><c r="B2"><v>1</v></c><c r="B2"><v>1</v></c></row>"#),
            &said("cells are out of order"),
        ),
        case("a.xlsx", &sheet(r#"<row><c r="B9"><v>1</v></c></row>"#), &said("cells are out of order")),
        case("a.xlsx", &sheet(r#"<row><c r="ZZZZ2"><v>1</v></c></row>"#), &said("cells are out of order")),
        case(
            "a.xlsx",
            &sheet("<row><c><v>two</v></c></row>"),
            "error: a.xlsx, sheet \"Orders\", cell A2: \"two\" as a value of the type \"n\"; expected a number. …",
        ),
        case(
            "a.xlsx",
            &sheet("<row><c><v>inf</v></c></row>"),
            "error: a.xlsx, sheet \"Orders\", cell A2: \"inf\" as a value of the type \"n\"; …",
        ),
        case(
            "a.xlsx",
            &sheet(r#"<row><c/><c t="s"><v>0</v></c></row>"#),
            "error: a.xlsx, sheet \"Orders\", cell B2: \"0\" as a value of the type \"s\"; expected the number of a text that the workbook has. …",
        ),
        case(
            "a.xlsx",
            &sheet(r#"<row><c t="q"><v>0</v></c></row>"#),
            "error: a.xlsx, sheet \"Orders\", cell A2: \"0\" as a value of the type \"q\"; …",
        ),
        case("a.xlsx", &raw("<worksheet><sheetData><row><c><v>1</v>"), &said("the XML ends in the middle")),
        case("a.xlsx", &raw("<worksheet><sheetData></row>"), &said("this is not well-formed XML in UTF-8")),
        case("a.xlsx", &raw("<worksheet><sheetData><row><c><v>1"), &format!("{part}…")),
        case("a.xlsx", &raw(""), "error: a.xlsx: no cell of a sheet that is shown is filled; …"),
    ]);
    let mut missing = Xlsx::of("");
    missing.more = vec![("_rels/.rels", br#"<Relationships><Relationship Id="a" Type="x/officeDocument" Target="xl/none.xml"/></Relationships>"#.to_vec())];
    let table = |rows: &str| {
        ods(&format!(r#"<table:table table:name="A">{}{rows}</table:table>"#, ods_texts(&["sku", "qty"])))
    };
    let cell = |attributes: &str| {
        table(&format!("<table:table-row><table:table-cell {attributes}/></table:table-row>"))
    };
    check(&[
        case("a.xlsx", &missing.bytes(), "error: a.xlsx, its part \"xl/none.xml\": the part is missing; …"),
        case(
            "a.ods",
            &cell(r#"office:value-type="float" office:value="two""#),
            "error: a.ods, sheet \"A\", cell A2: \"two\" as a value; expected a number. …",
        ),
        case(
            "a.ods",
            &cell(r#"office:value-type="float""#),
            "error: a.ods, sheet \"A\", cell A2: \"\" as a value; expected a number. …",
        ),
        case(
            "a.ods",
            &cell(r#"office:value-type="boolean" office:boolean-value="2""#),
            "error: a.ods, sheet \"A\", cell A2: \"2\" as a value; expected true or false. …",
        ),
        case(
            "a.ods",
            &cell(r#"office:value-type="date" office:date-value="soon""#),
            r#"ods A @1 ["sku", "qty"] [2] [{"sku":"soon"}]"#,
        ),
        case(
            "a.ods",
            &cell(r#"office:value-type="time" office:time-value="-PT1H""#),
            r#"ods A @1 ["sku", "qty"] [2] [{"sku":"-PT1H"}]"#,
        ),
        // Cut off in a comment within a cell, where other readers go round for ever.
        case(
            "a.ods",
            &ods(
                r#"<table:table table:name="A"><table:table-row><table:table-cell office:value-type="string"><office:annotation><text:p>x"#,
            ),
            "error: a.ods, its part \"content.xml\": …",
        ),
    ]);
}

/// Files of every kind that are right, to do harm to.
fn right_files() -> Vec<(&'static str, Vec<u8>)> {
    let mut book = Xlsx::of(&format!(
        r#"{}<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2"><v>2</v></c><c r="C2" s="3"><v>46350.5</v></c><c r="D2"><f>B2</f><v>2</v></c></row>"#,
        texts(&["sku", "qty", "placed", "more"])
    ));
    book.texts = "<si><t>AP-1 &amp; _x0041_</t></si>";
    let table = format!(
        r#"<table:table table:name="A">{}<table:table-row table:number-rows-repeated="2"><table:table-cell office:value-type="date" office:date-value="2026-11-24T09:30:00"/><table:table-cell office:value-type="time" office:time-value="PT1H2M3S"/></table:table-row></table:table>"#,
        ods_texts(&["sku", "qty"])
    );
    vec![
        ("a.csv", "Title\nsku;\"no\nte\";Größe\nAP-1;\"x \"\"y\"\"\";2\n;;\nAP-2;z;3\n".as_bytes().to_vec()),
        ("b.csv", b"\xff\xfes\0k\0u\0,\0q\0\n\x001\0,\x002\0\n\0".to_vec()),
        ("a.json", br#"{"orders":[{"id":1,"lines":[{"sku":"AP","total":24.10}]}]}"#.to_vec()),
        ("a.jsonl", b"{\"a\":1}\n\n{\"a\":\"\\u00e4\",\"b\":[]}\n".to_vec()),
        ("a.xlsx", book.bytes()),
        ("a.ods", ods(&table)),
    ]
}

fn try_any(name: &str, bytes: &[u8], stated: &Stated) {
    let words = said(name, bytes, stated);
    assert_eq!(words, said(name, bytes, stated), "the same bytes, the same answer");
    if let Ok(export) = read_bytes(name, bytes.to_vec(), stated) {
        assert_eq!(read_bytes(name, bytes.to_vec(), &export.form.stated()).unwrap(), export);
    }
}

fn stated() -> impl Strategy<Value = Stated> {
    (
        proptest::option::weighted(
            0.1,
            prop_oneof![Just("utf-8"), Just("utf-16le"), Just("windows-1252"), Just("shift_jis"), Just("?")],
        ),
        proptest::option::weighted(
            0.1,
            prop_oneof![Just(','), Just(';'), Just('"'), Just(' '), any::<char>()],
        ),
        proptest::option::weighted(0.1, prop_oneof![Just("Orders"), Just("A")]),
        proptest::option::weighted(0.1, 0_u64..5),
    )
        .prop_map(|(encoding, separator, sheet, header_row)| Stated {
            encoding: encoding.map(str::to_owned),
            separator,
            sheet: sheet.map(str::to_owned),
            header_row,
        })
}

/// Puts other bytes in some places, cuts out a part, or doubles one.
fn harmed(mut bytes: Vec<u8>, harm: &[(Index, Index, u8)]) -> Vec<u8> {
    for (from, to, byte) in harm {
        if bytes.is_empty() {
            return bytes;
        }
        let (from, to) = (from.index(bytes.len()), to.index(bytes.len()));
        match byte % 8 {
            0 if from < to => drop(bytes.drain(from..to)),
            1 if from < to && bytes.len() < 100_000 => {
                let part = bytes[from..to].to_vec();
                bytes.splice(to..to, part);
            }
            2 => bytes.truncate(from.max(1)),
            3 => bytes[from] ^= 1 << (to % 8),
            _ => bytes[from] = *byte,
        }
    }
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3_000))]

    #[test]
    fn no_bytes_make_reading_panic(
        start in proptest::sample::select(["", "PK\x03\x04", "{", "[{", "sku,qty\n", "\u{feff}"].as_slice()),
        bytes in proptest::collection::vec(any::<u8>(), 0..300),
        stated in stated(),
    ) {
        try_any("a.csv", &[start.as_bytes(), &bytes].concat(), &stated);
    }

    /// Signs that come nearer to a table than any bytes do.
    #[test]
    fn no_signs_make_reading_panic(
        text in "([\"{},;|\\[\\]\n\r\t :\\\\0-9a-c.-]|sep=|\\{\"a\":1\\}\n|2026-11-24|\u{feff}|\u{0}|é|€|<){0,60}",
        name in prop_oneof![Just("a.csv"), Just("a.json"), Just("a.jsonl"), Just("a")],
        stated in stated(),
    ) {
        try_any(name, text.as_bytes(), &stated);
    }

    #[test]
    fn no_harm_to_a_file_makes_reading_panic(
        which in any::<Index>(),
        harm in proptest::collection::vec(any::<(Index, Index, u8)>(), 1..4),
        stated in stated(),
    ) {
        let mut files = right_files();
        let (name, bytes) = files.swap_remove(which.index(files.len()));
        try_any(name, &harmed(bytes, &harm), &stated);
    }

    /// Harm to the XML in an archive that is whole, where it reaches further.
    #[test]
    fn no_harm_to_the_parts_of_a_workbook_makes_reading_panic(
        which in any::<Index>(),
        harm in proptest::collection::vec(any::<(Index, Index, u8)>(), 1..4),
        is_ods: bool,
        stated in stated(),
    ) {
        let name = if is_ods { "a.ods" } else { "a.xlsx" };
        let (_, bytes) = right_files().into_iter().find(|(there, _)| *there == name).unwrap();
        let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        let which = which.index(archive.len());
        let mut parts = Vec::new();
        for index in 0..archive.len() {
            let mut part = archive.by_index(index).unwrap();
            let name = part.name().unwrap().into_owned();
            let mut content = Vec::new();
            std::io::Read::read_to_end(&mut part, &mut content).unwrap();
            parts.push((name, if index == which { harmed(content, &harm) } else { content }));
        }
        let parts: Vec<(&str, &[u8])> = parts.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
        try_any(name, &zipped(&parts), &stated);
    }
}

#[test]
fn the_files_to_do_harm_to_are_right() {
    for (name, bytes) in right_files() {
        let said = said(name, &bytes, &Stated::default());
        assert!(!said.starts_with("error"), "{said}");
    }
}
