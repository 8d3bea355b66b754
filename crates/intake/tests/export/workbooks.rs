//! Small workbooks, written part by part, so that each can be wrong in one place.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// A zip archive of these parts.
pub fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, bytes) in parts {
        writer.start_file(*name, options).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

/// An xlsx workbook. What is set is put in place of what an ordinary one has.
#[derive(Clone)]
pub struct Xlsx<'a> {
    /// Name, state and rows of each sheet; the rows as XML.
    pub sheets: Vec<(&'a str, &'a str, String)>,
    /// The texts that cells share, as XML.
    pub texts: &'a str,
    /// What else stands in the workbook's part.
    pub workbook: &'a str,
    /// The type of the workbook's part.
    pub content_type: &'a str,
    /// Parts that are put on top.
    pub more: Vec<(&'a str, Vec<u8>)>,
}

/// Cells with style 1 are dates, with 2 times, with 3 dates by a format of their own.
const STYLES: &str = r#"<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">
<numFmts count="1"><numFmt numFmtId="164" formatCode="dd.mm.yyyy\ hh:mm"/></numFmts>
<cellStyleXfs count="1"><xf numFmtId="14"/></cellStyleXfs>
<cellXfs count="4"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="46"/><xf numFmtId="164"/></cellXfs></styleSheet>"#;

const MAIN: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml";

impl<'a> Xlsx<'a> {
    pub fn of(rows: &str) -> Self {
        Self::with(vec![("Orders", "visible", rows.to_owned())])
    }

    pub fn with(sheets: Vec<(&'a str, &'a str, String)>) -> Self {
        Self { sheets, texts: "", workbook: "", content_type: MAIN, more: Vec::new() }
    }

    pub fn bytes(&self) -> Vec<u8> {
        let relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
        let (mut entries, mut targets) = (String::new(), String::new());
        let mut parts: Vec<(String, Vec<u8>)> = Vec::new();
        for ((name, state, rows), id) in self.sheets.iter().zip(1..) {
            entries += &format!(r#"<sheet name="{name}" sheetId="{id}" state="{state}" r:id="r{id}"/>"#);
            targets += &format!(
                r#"<Relationship Id="r{id}" Type="{relations}/worksheet" Target="worksheets/s{id}.xml"/>"#
            );
            let sheet = format!(
                r#"<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{rows}</sheetData></worksheet>"#
            );
            parts.push((format!("xl/worksheets/s{id}.xml"), sheet.into_bytes()));
        }
        let more = self.workbook;
        let mut part = |name: &str, text: String| parts.push((name.to_owned(), text.into_bytes()));
        part(
            "[Content_Types].xml",
            format!(
                r#"<Types><Override PartName="/xl/workbook.xml" ContentType="{}"/></Types>"#,
                self.content_type
            ),
        );
        part(
            "_rels/.rels",
            format!(
                r#"<Relationships><Relationship Id="a" Type="{relations}/officeDocument" Target="xl/workbook.xml"/></Relationships>"#
            ),
        );
        part(
            "xl/workbook.xml",
            format!(r#"<workbook xmlns:r="{relations}">{more}<sheets>{entries}</sheets></workbook>"#),
        );
        part(
            "xl/_rels/workbook.xml.rels",
            format!(
                r#"<Relationships>{targets}<Relationship Id="t" Type="{relations}/sharedStrings" Target="/xl/sharedStrings.xml"/>
                <Relationship Id="f" Type="{relations}/styles" Target="../xl/styles.xml"/>
                <Relationship Id="x" Type="{relations}/externalLink" Target="http://127.0.0.1:1/book.xlsx" TargetMode="External"/></Relationships>"#
            ),
        );
        part("xl/styles.xml", STYLES.to_owned());
        part("xl/sharedStrings.xml", format!("<sst>{}</sst>", self.texts));
        for (name, bytes) in &self.more {
            parts.retain(|(there, _)| there != name);
            parts.push(((*name).to_owned(), bytes.clone()));
        }
        let parts: Vec<(&str, &[u8])> =
            parts.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
        zipped(&parts)
    }
}

/// A row of cells that hold texts, in an xlsx sheet.
pub fn texts(cells: &[&str]) -> String {
    let cells: String =
        cells.iter().map(|cell| format!(r#"<c t="inlineStr"><is><t>{cell}</t></is></c>"#)).collect();
    format!("<row>{cells}</row>")
}

/// An ods workbook of these tables, as XML.
pub fn ods(tables: &str) -> Vec<u8> {
    ods_with(tables, &[])
}

/// The same with more parts.
pub fn ods_with(tables: &str, more: &[(&str, &[u8])]) -> Vec<u8> {
    let content = format!(
        r#"<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="o" xmlns:table="t" xmlns:text="x" xmlns:style="s" xmlns:calcext="c"><office:automatic-styles><style:style style:name="hidden"><style:table-properties table:display="false"/></style:style><style:style style:name="shown"><style:table-properties table:display="true"/></style:style></office:automatic-styles><office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"#
    );
    let mut parts: Vec<(&str, &[u8])> = vec![
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", b"<manifest:manifest xmlns:manifest=\"m\"/>"),
        ("content.xml", content.as_bytes()),
    ];
    parts.extend(more);
    zipped(&parts)
}

/// A row of cells that hold texts, in an ods sheet.
pub fn ods_texts(cells: &[&str]) -> String {
    let cells: String = cells
        .iter()
        .map(|cell| {
            format!(
                r#"<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>"#
            )
        })
        .collect();
    format!("<table:table-row>{cells}</table:table-row>")
}
