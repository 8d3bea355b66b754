//! Cells, sheets and headers of workbooks.

use super::workbooks::{Xlsx, ods, ods_texts, texts, zipped};
use super::{case, check};

#[test]
fn cells_of_an_xlsx_sheet_become_values() {
    let mut book = Xlsx::of(&format!(
        r#"{}<row r="3"><c r="A3" t="s"><v>0</v></c><c r="B3"><v>2</v></c><c r="C3"><v>24.1</v></c><c r="D3" t="b"><v>1</v></c><c r="E3" t="e"><v>#N/A</v></c><c r="F3" t="str"><f>A1</f><v>x &amp; y</v></c><c r="G3" t="s"><v>1</v></c></row>
        <row r="5"><c r="B5"><v>1234567890123456789</v></c><c r="C5"><v>0.10000000000000001</v></c><c r="D5" t="b"><v>0</v></c><c r="E5"><v>-1.5E3</v></c><c r="F5" t="str"><f>""</f><v></v></c><c r="G5"><f>B3*2</f><v>4</v></c></row>
        <row r="6"><c r="A6" t="s"><v>2</v></c></row>"#,
        r#"<row r="1"><c r="A1" t="s"><v>3</v></c><c r="B1" t="s"><v>4</v></c><c r="C1" t="inlineStr"><is><r><t>pri</t></r><r><t>ce</t></r><rPh><t>no</t></rPh></is></c><c r="D1" t="inlineStr"><is><t>paid</t></is></c><c r="E1" t="inlineStr"><is><t>n</t></is></c><c r="F1" t="inlineStr"><is><t>note</t></is></c><c r="G1" t="inlineStr"><is><t>more</t></is></c></row>"#
    ));
    book.texts = r#"<si><t xml:space="preserve"> AP-1 </t></si><si><r><t>a</t></r><r><t xml:space="preserve"> _x0041__x005F_x000D_&#13;b</t></r><rPh><t>x</t></rPh></si><si><t> </t></si><si><t>sku</t></si><si><t>qty</t></si>"#;
    check(&[case(
        "book.xlsx",
        &book.bytes(),
        "xlsx Orders @1 [\"sku\", \"qty\", \"price\", \"paid\", \"n\", \"note\", \"more\"] [3, 5] [{\"sku\":\"AP-1\",\"qty\":2,\"price\":24.1,\"paid\":true,\"note\":\"x & y\",\"more\":\"a A_x000D_\\rb\"},{\"qty\":1234567890123456789,\"price\":0.1,\"paid\":false,\"n\":-1500,\"more\":4}]",
    )]);
}

#[test]
fn dates_of_an_xlsx_sheet_are_told_by_column() {
    let row = |number: u32, cells: [&str; 4]| {
        let cells: String = cells
            .iter()
            .zip(["1", "3", "1", "2"])
            .filter(|(cell, _)| !cell.is_empty())
            .zip(["A", "B", "C", "D"])
            .map(|((cell, style), column)| {
                format!(r#"<c r="{column}{number}" s="{style}"><v>{cell}</v></c>"#)
            })
            .collect();
        format!(r#"<row r="{number}">{cells}</row>"#)
    };
    let header = r#"<row r="1"><c r="A1" t="inlineStr"><is><t>day</t></is></c><c r="B1" t="inlineStr"><is><t>placed</t></is></c><c r="C1" t="inlineStr"><is><t>odd</t></is></c><c r="D1" t="inlineStr"><is><t>took</t></is></c></row>"#;
    let rows = format!(
        "{header}{}{}",
        row(2, ["46350", "46350", "46350.000001", "0.25"]),
        row(3, ["46351", "46350.395833333336", "-5", "1.5000115741"])
    );
    let mut book = Xlsx::of(&rows);
    let new = r#"[{"day":"2026-11-24","placed":"2026-11-24T00:00:00","odd":"2026-11-24T00:00:00.086","took":"06:00:00"},{"day":"2026-11-25","placed":"2026-11-24T09:30:00","odd":-5,"took":"36:00:01"}]"#;
    let want = |records: &str| format!(r#"xlsx Orders @1 ["day", "placed", "odd", "took"] [2, 3] {records}"#);
    check(&[case("book.xlsx", &book.bytes(), &want(new))]);
    book.workbook = r#"<workbookPr date1904="1"/>"#;
    let old = new.replace("2026-11-24", "2030-11-25").replace("2026-11-25", "2030-11-26");
    check(&[case("book.xlsx", &book.bytes(), &want(&old))]);
    // A date in a header is a name as it is written.
    let dated = Xlsx::of(
        r#"<row><c s="1"><v>46350</v></c><c><v>7</v></c></row><row><c><v>1</v></c><c><v>2</v></c></row>"#,
    );
    check(&[case(
        "book.xlsx",
        &dated.bytes(),
        r#"xlsx Orders @1 ["2026-11-24", "7"] [2] [{"2026-11-24":1,"7":2}]"#,
    )
    .header_row(1)]);
}

#[test]
fn a_formula_without_a_value_is_an_error_that_names_its_cell() {
    let head = texts(&["sku", "qty"]);
    let row = |cell: &str| format!(r#"{head}<row><c><v>1</v></c>{cell}</row>"#);
    let book = |cell: &str| Xlsx::of(&row(cell)).bytes();
    let none = "error: book.xlsx, sheet \"Orders\", cell B2: a formula whose value is not in the file; expected the value. Open the workbook in a spreadsheet program, save it, and read it again.";
    let mut stale = Xlsx::of(&row("<c><f>1+1</f><v>0</v></c>"));
    stale.workbook = r#"<calcPr fullCalcOnLoad="1"/>"#;
    let mut values = Xlsx::of(&row("<c><v>5</v></c>"));
    values.workbook = r#"<calcPr fullCalcOnLoad="1"/>"#;
    let above = Xlsx::of(&format!("<row><c><f>1</f></c></row>{}", row("<c><v>5</v></c>")));
    check(&[
        case("book.xlsx", &book("<c><f>1+1</f></c>"), none),
        case("book.xlsx", &book("<c><f>1+1</f><v></v></c>"), none),
        case("book.xlsx", &book(r#"<c><f t="shared" si="0"/><v/></c>"#), none),
        case(
            "book.xlsx",
            &stale.bytes(),
            "error: book.xlsx, sheet \"Orders\", cell B2: a formula whose value is out of date, by what the workbook says of itself; …",
        ),
        case("book.xlsx", &values.bytes(), r#"xlsx Orders @1 ["sku", "qty"] [2] [{"sku":1,"qty":5}]"#),
        // Above the table it does not matter.
        case("book.xlsx", &above.bytes(), r#"xlsx Orders @2 ["sku", "qty"] [3] [{"sku":1,"qty":5}]"#),
        case(
            "book.xlsx",
            &book(r#"<c t="e"><f>1/0</f><v>#DIV/0!</v></c>"#),
            r#"xlsx Orders @1 ["sku", "qty"] [2] [{"sku":1}]"#,
        ),
        case(
            "book.xlsx",
            &book(r#"<c t="str"><f>""</f><v/></c>"#),
            r#"xlsx Orders @1 ["sku", "qty"] [2] [{"sku":1}]"#,
        ),
    ]);
    let table = |cell: &str| {
        ods(&format!(
            r#"<table:table table:name="Orders">{}<table:table-row><table:table-cell/>{cell}</table:table-row></table:table>"#,
            ods_texts(&["sku", "qty"])
        ))
    };
    check(&[
        case(
            "book.ods",
            &table(r#"<table:table-cell table:formula="of:=1+1"/>"#),
            &none.replace("xlsx", "ods"),
        ),
        case(
            "book.ods",
            &table(
                r#"<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2"><text:p>2</text:p></table:table-cell>"#,
            ),
            r#"ods Orders @1 ["sku", "qty"] [2] [{"qty":2}]"#,
        ),
        case(
            "book.ods",
            &table(
                r#"<table:table-cell table:formula="of:=1/0" office:value-type="float" office:value="0"><text:p>#DIV/0!</text:p></table:table-cell>"#,
            ),
            r#"ods Orders @1 ["sku", "qty"] [2] [{}]"#,
        ),
        case(
            "book.ods",
            &table(
                r#"<table:table-cell table:formula="of:=x" office:value-type="string" office:string-value="" calcext:value-type="error"><text:p>#NAME?</text:p></table:table-cell>"#,
            ),
            r#"ods Orders @1 ["sku", "qty"] [2] [{}]"#,
        ),
    ]);
}

#[test]
fn cells_of_an_ods_sheet_become_values() {
    let rows = r#"<table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-repeated="1000"/></table:table-row>
    <table:table-row><table:table-cell office:value-type="string" office:string-value=" AP-1 "><text:p>shown</text:p></table:table-cell><table:table-cell office:value-type="float" office:value="2"/><table:table-cell office:value-type="currency" office:value="24.10" office:currency="EUR"/><table:table-cell office:value-type="percentage" office:value="0.19"/><table:table-cell office:value-type="boolean" office:boolean-value="true"/><table:table-cell office:value-type="date" office:date-value="2026-11-24"/><table:table-cell office:value-type="date" office:date-value="2026-11-24T09:30:00.25"/><table:table-cell office:value-type="time" office:time-value="PT36H05M00.5S"/><table:table-cell office:value-type="string"><office:annotation><text:p>no</text:p></office:annotation><text:p>a<text:s/><text:s text:c="2"/>b<text:tab/><text:span>c</text:span> &lt;<text:note>no</text:note><text:line-break/>d</text:p><text:p>e&#228;</text:p></table:table-cell></table:table-row>
    <table:table-row table:number-rows-repeated="2"><table:table-cell office:value-type="float" office:value="7" table:number-columns-repeated="2"/><table:covered-table-cell office:value-type="float" office:value="8"/></table:table-row>
    <table:table-row table:number-rows-repeated="1048569"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>"#;
    let header = ods_texts(&["sku", "qty", "price", "vat", "paid", "day", "placed", "took", "note"]);
    let book = ods(&format!(
        r#"<table:table table:name="Orders"><table:shapes><table:table><table:table-row><table:table-cell office:value-type="float" office:value="1"/></table:table-row></table:table></table:shapes><table:table-header-rows>{header}</table:table-header-rows>{rows}</table:table>"#
    ));
    check(&[case(
        "book.ods",
        &book,
        "ods Orders @1 [\"sku\", \"qty\", \"price\", \"vat\", \"paid\", \"day\", \"placed\", \"took\", \"note\"] [4, 5, 6] [{\"sku\":\"AP-1\",\"qty\":2,\"price\":24.1,\"vat\":0.19,\"paid\":true,\"day\":\"2026-11-24\",\"placed\":\"2026-11-24T09:30:00.250\",\"took\":\"36:05:00.500\",\"note\":\"a   b\\tc <\\nd\\neä\"},{\"sku\":7,\"qty\":7},{\"sku\":7,\"qty\":7}]",
    )]);
}

#[test]
fn the_first_sheet_that_is_shown_and_filled_is_read_unless_another_is_stated() {
    let table = |word: &str| format!("{}{}", texts(&["sku", "qty"]), texts(&[word, "1"]));
    let book = Xlsx::with(vec![
        ("Lists", "hidden", table("hidden")),
        ("Empty", "visible", "<row r=\"4\"><c r=\"B4\" s=\"1\"/></row>".to_owned()),
        ("Orders", "visible", format!("{}{}", texts(&["Orders of November"]), table("AP"))),
        ("More &amp; more", "visible", table("BT")),
    ]);
    let book = book.bytes();
    let head = r#"["sku", "qty"]"#;
    check(&[
        case("a.xlsx", &book, &format!(r#"xlsx Orders @2 {head} [3] [{{"sku":"AP","qty":"1"}}]"#)),
        case("a.csv", &book, &format!(r#"xlsx More & more @1 {head} [2] [{{"sku":"BT","qty":"1"}}]"#)).sheet("More & more"),
        case("a.xlsx", &book, &format!(r#"xlsx Lists @1 {head} [2] [{{"sku":"hidden","qty":"1"}}]"#)).sheet("Lists"),
        case("a.xlsx", &book, "error: a.xlsx, sheet \"Empty\": no cell of the sheet is filled; …").sheet("Empty"),
        case(
            "a.xlsx",
            &book,
            "error: a.xlsx: the sheet \"orders\" is stated, and there is none of that name; expected one of \"Lists\", \"Empty\", \"Orders\", \"More & more\". Correct the name, or state none.",
        )
        .sheet("orders"),
        case("a.xlsx", &book, "error: a.xlsx: the encoding is stated, and the file is an xlsx workbook; …").encoding("utf-8"),
        case("a.xlsx", &book, r#"xlsx Orders @3 ["AP", "1"] [] []"#).header_row(3),
        case("a.xlsx", &book, "error: a.xlsx, sheet \"Orders\", row 9: the header row is stated to be here, and no cell of it is filled; …").header_row(9),
        case("a.xlsx", &Xlsx::of("").bytes(), "error: a.xlsx: no cell of a sheet that is shown is filled; …"),
        case("a.xlsx", &Xlsx::of(&texts(&["sku", "qty"])).bytes(), &format!("xlsx Orders @1 {head} [] []")),
        case(
            "a.xlsx",
            &Xlsx::of(&format!("{}{}", texts(&["sku", "qty"]), texts(&["AP", "1", "stray"]))).bytes(),
            "error: a.xlsx, sheet \"Orders\", cell C2: \"stray\" stands to the right of the header's last column; expected no more cells than the header has (2). …",
        ),
    ]);
    let table = |name: &str, style: &str, word: &str| {
        let rows = format!("{}{}", ods_texts(&["sku", "qty"]), ods_texts(&[word, "1"]));
        format!(r#"<table:table table:name="{name}" table:style-name="{style}">{rows}</table:table>"#)
    };
    let tables = [
        table("Lists", "hidden", "hidden"),
        r#"<table:table table:name="Empty" table:style-name="shown"><table:table-row><table:table-cell/></table:table-row></table:table>"#.to_owned(),
        table("Orders", "shown", "AP"),
        table("More", "shown", "BT"),
    ];
    let book =
        ods(&format!("<table:tracked-changes>{}</table:tracked-changes>{}", tables[3], tables.concat()));
    check(&[
        case("a.ods", &book, &format!(r#"ods Orders @1 {head} [2] [{{"sku":"AP","qty":"1"}}]"#)),
        case("a.ods", &book, &format!(r#"ods More @1 {head} [2] [{{"sku":"BT","qty":"1"}}]"#)).sheet("More"),
        case("a.ods", &book, &format!(r#"ods Lists @1 {head} [2] [{{"sku":"hidden","qty":"1"}}]"#))
            .sheet("Lists"),
        case("a.ods", &book, "error: a.ods, sheet \"Empty\": no cell of the sheet is filled; …")
            .sheet("Empty"),
        case("a.ods", &book, "error: a.ods: the sheet \"None\" is stated, and there is none of that name; …")
            .sheet("None"),
        case("a.ods", &ods(""), "error: a.ods: no cell of a sheet that is shown is filled; …"),
    ]);
}

#[test]
fn an_archive_with_something_else_is_told_what_it_is() {
    check(&[
        case(
            "a.zip",
            &zipped(&[("orders.csv", b"a,b")]),
            "error: a.zip: this is a zip archive that holds \"orders.csv\"; expected text (CSV, JSON, JSON Lines) or a workbook (xlsx, ods). Unpack it, and give the file that is in it.",
        ),
        case(
            "a.xlsx",
            &zipped(&[("b.csv", b""), ("a.csv", b""), ("c/", b"")]),
            "error: a.xlsx: this is a zip archive that holds \"a.csv\" and 1 more; …",
        ),
        case(
            "a.zip",
            b"PK\x05\x06\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0",
            "error: a.zip: this is an empty zip archive; …",
        ),
        case(
            "a.zip",
            b"PK\x03\x04 cut off",
            "error: a.zip: the archive is damaged or cut off; expected a whole workbook. Export it again.",
        ),
        case(
            "a.docx",
            &zipped(&[("[Content_Types].xml", b"<Types/>"), ("word/document.xml", b"")]),
            "error: a.docx: this is a text document or a presentation; …",
        ),
        case(
            "a.odt",
            &zipped(&[("mimetype", b"application/vnd.oasis.opendocument.text"), ("content.xml", b"")]),
            "error: a.odt: this is a text document or a presentation; …",
        ),
        case(
            "a.xlsb",
            &zipped(&[("[Content_Types].xml", b"<Types/>"), ("xl/workbook.bin", b"")]),
            "error: a.xlsb: this is a binary workbook (.xlsb); …",
        ),
    ]);
}
