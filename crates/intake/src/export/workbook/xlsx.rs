//! The cells of an xlsx workbook.
//!
//! Must not know: headers. Source: ECMA-376-1, 18.2 (workbook), 18.3 (sheets), 18.4 (shared texts), 18.8 (formats),
//! 22.9.2.19 (escapes in texts); the numbers of sections from memory. Start reading at [`read`].

use std::collections::HashMap;
use std::rc::Rc;

use chrono::{NaiveDate, NaiveDateTime};
use quick_xml::events::{BytesStart, Event};

use super::super::error::{ExportError, Place};
use super::super::limits::Weight;
use super::cell::Cell;
use super::format::{self, Meaning};
use super::package::{Package, Xml, attribute, broken};
use super::{Candidate, Rows, Sheet, nothing_in, to_try};

/// Where the workbook is, unless the archive says otherwise.
const WORKBOOK: &str = "xl/workbook.xml";

const WHOLE: &str = "a whole workbook";

/// The largest number of a row; the standard's own limit is a sixteenth of it.
const MAX_ROW_NUMBER: u64 = 1 << 24;

const NO_VALUE: &str = "a formula whose value is not in the file";
const OUT_OF_DATE: &str = "a formula whose value is out of date, by what the workbook says of itself";

/// Reads the sheet that is wanted, or the first that is shown and holds something.
pub(super) fn read(package: &mut Package<'_>, wanted: Option<&str>) -> Result<Sheet, ExportError> {
    let file = package.file;
    let workbook_part = workbook_part(package)?;
    let workbook = read_workbook(package, &workbook_part)?;
    let relations = relations(package, &workbook_part)?;
    let part_of =
        |kind: &str| relations.values().find(|relation| relation.kind == kind).map(|it| it.part.clone());
    let meanings = match part_of("styles").filter(|part| package.has(part)) {
        Some(part) => read_meanings(package, &part)?,
        None => Vec::new(),
    };
    let texts = match part_of("sharedStrings").filter(|part| package.has(part)) {
        Some(part) => read_texts(package, &part)?,
        None => Vec::new(),
    };
    let shared =
        Shared { texts, meanings, since_1904: workbook.since_1904, is_out_of_date: workbook.is_out_of_date };
    let candidates: Vec<Candidate> = workbook
        .sheets
        .iter()
        .map(|sheet| Candidate { name: sheet.name.clone(), is_hidden: sheet.is_hidden })
        .collect();
    for index in to_try(file, &candidates, wanted)? {
        let sheet = &workbook.sheets[index];
        let relation = relations.get(&sheet.relation).filter(|relation| relation.kind == "worksheet");
        // A sheet that is a chart has no cells.
        let Some(relation) = relation else { continue };
        let mut rows = Rows::new(file, &sheet.name);
        read_sheet(&mut package.xml(&relation.part)?, &shared, &mut rows)?;
        let rows = rows.rows;
        if !rows.is_empty() {
            return Ok(Sheet { name: sheet.name.clone(), rows });
        }
    }
    Err(nothing_in(file, wanted))
}

/// What the cells of all sheets refer to.
struct Shared {
    texts: Vec<Rc<str>>,
    /// Of each style of cells.
    meanings: Vec<Meaning>,
    since_1904: bool,
    /// The values of formulas are to be computed when the workbook is opened: some programs write none, or zeros.
    is_out_of_date: bool,
}

/// A relation of a part to another one in the archive.
struct Relation {
    /// The last word of its type.
    kind: String,
    part: String,
}

/// The relations of a part, by id. Those that lead out of the archive are left out.
fn relations(package: &mut Package<'_>, of: &str) -> Result<HashMap<String, Relation>, ExportError> {
    let (folder, name) = of.rsplit_once('/').unwrap_or(("", of));
    let part =
        format!("{}_rels/{name}.rels", if folder.is_empty() { String::new() } else { format!("{folder}/") });
    let mut relations = HashMap::new();
    if !package.has(&part) {
        return Ok(relations);
    }
    package.each_start(&part, |start| {
        let get = |name: &str| attribute(start, None, name);
        let is_external = get("TargetMode").is_some_and(|mode| mode.eq_ignore_ascii_case("External"));
        if let (false, Some(id), Some(kind), Some(target)) =
            (is_external, get("Id"), get("Type"), get("Target"))
        {
            let kind = kind.rsplit('/').next().unwrap_or_default().to_owned();
            relations.insert(id, Relation { kind, part: resolve(folder, &target) });
        }
        Ok(())
    })?;
    Ok(relations)
}

/// The name of a part, of where it stands relative to a folder.
fn resolve(folder: &str, target: &str) -> String {
    let (base, target) = target.strip_prefix('/').map_or((folder, target), |target| ("", target));
    let mut names: Vec<&str> = Vec::new();
    for name in base.split('/').chain(target.split('/')) {
        match name {
            "" | "." => {}
            ".." => {
                names.pop();
            }
            name => names.push(name),
        }
    }
    names.join("/")
}

fn workbook_part(package: &mut Package<'_>) -> Result<String, ExportError> {
    let relations = relations(package, "")?;
    let stated = relations.into_values().find(|relation| relation.kind == "officeDocument");
    Ok(stated.map_or_else(|| WORKBOOK.to_owned(), |relation| relation.part))
}

struct Workbook {
    sheets: Vec<SheetEntry>,
    since_1904: bool,
    is_out_of_date: bool,
}

struct SheetEntry {
    name: String,
    relation: String,
    is_hidden: bool,
}

fn read_workbook(package: &mut Package<'_>, part: &str) -> Result<Workbook, ExportError> {
    let mut workbook = Workbook { sheets: Vec::new(), since_1904: false, is_out_of_date: false };
    let is_true =
        |value: Option<String>| value.is_some_and(|value| matches!(value.as_str(), "1" | "true" | "on"));
    package.each_start(part, |start| {
        match start.local_name().as_ref() {
            "workbookPr" => workbook.since_1904 = is_true(attribute(start, None, "date1904")),
            "calcPr" => workbook.is_out_of_date = is_true(attribute(start, None, "fullCalcOnLoad")),
            "sheet" => {
                // The id of the relation has a prefix; that of the sheet is another attribute.
                if let (Some(name), Some(relation)) =
                    (attribute(start, None, "name"), attribute(start, None, "id"))
                {
                    let is_hidden = attribute(start, None, "state").is_some_and(|state| state != "visible");
                    workbook.sheets.push(SheetEntry { name, relation, is_hidden });
                }
            }
            _ => {}
        }
        Ok(())
    })?;
    Ok(workbook)
}

/// The meaning of each style of cells.
fn read_meanings(package: &mut Package<'_>, part: &str) -> Result<Vec<Meaning>, ExportError> {
    let mut own: HashMap<u32, Meaning> = HashMap::new();
    let mut meanings = Vec::new();
    let mut xml = package.xml(part)?;
    let mut is_cells = false;
    loop {
        match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "numFmt" => {
                    let id = attribute(&start, None, "numFmtId").and_then(|id| id.parse().ok());
                    if let (Some(id), Some(code)) = (id, attribute(&start, None, "formatCode")) {
                        own.insert(id, format::of_code(&code));
                    }
                }
                "cellXfs" => is_cells = true,
                "xf" if is_cells => {
                    let id = attribute(&start, None, "numFmtId").and_then(|id| id.parse().ok()).unwrap_or(0);
                    meanings.push(own.get(&id).copied().unwrap_or_else(|| format::built_in(id)));
                }
                _ => {}
            },
            Event::End(end) if end.local_name().as_ref() == "cellXfs" => is_cells = false,
            Event::Eof => return Ok(meanings),
            _ => {}
        }
    }
}

/// The texts that cells share, without white space at their ends.
fn read_texts(package: &mut Package<'_>, part: &str) -> Result<Vec<Rc<str>>, ExportError> {
    let mut texts: Vec<Rc<str>> = Vec::new();
    let mut weight = Weight::of_workbook();
    let mut xml = package.xml(part)?;
    loop {
        match xml.next()? {
            Event::Start(start) if start.local_name().as_ref() == "si" => {
                let text = rich_text(&mut xml)?;
                if !weight.add(text.len()) {
                    return Err(weight.too_much(xml.place()));
                }
                texts.push(text.trim().into());
            }
            Event::Eof => return Ok(texts),
            _ => {}
        }
    }
}

/// The text of the element that has just begun, put together of its runs; how it is to be pronounced is left out.
fn rich_text(xml: &mut Xml<'_>) -> Result<String, ExportError> {
    let outside = xml.depth() - 1;
    let mut text = String::new();
    loop {
        let is_last = xml.depth() == outside + 1;
        let is_text = match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "t" => true,
                "rPh" => false,
                _ => continue,
            },
            Event::End(_) if is_last => return Ok(unescaped(text)),
            _ => continue,
        };
        if is_text {
            xml.text(&mut text)?;
        } else {
            xml.skip()?;
        }
    }
}

/// Characters that XML cannot hold are written as `_x000D_`, and such a text itself as `_x005F_x000D_`.
fn unescaped(text: String) -> String {
    if !text.contains("_x") {
        return text;
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some(at) = rest.find("_x") {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        let code = rest.get(2..6).filter(|code| code.bytes().all(|byte| byte.is_ascii_hexdigit()));
        let code = code.filter(|_| rest.as_bytes().get(6) == Some(&b'_'));
        let character = code.and_then(|code| char::from_u32(u32::from_str_radix(code, 16).ok()?));
        let (character, passed) = character.map_or(('_', 1), |character| (character, 7));
        out.push(character);
        rest = &rest[passed..];
    }
    out.push_str(rest);
    out
}

fn read_sheet(xml: &mut Xml<'_>, shared: &Shared, rows: &mut Rows<'_>) -> Result<(), ExportError> {
    enum Begun {
        Row(Option<String>),
        Cell(CellHead),
    }
    // The next row and column, where a cell does not say its own.
    let (mut number, mut column) = (0_u64, 0_usize);
    loop {
        let begun = match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "row" => Begun::Row(attribute(&start, None, "r")),
                "c" => Begun::Cell(CellHead::of(&start)),
                _ => continue,
            },
            Event::End(end) if end.local_name().as_ref() == "sheetData" => return Ok(()),
            Event::Eof => return Ok(()),
            _ => continue,
        };
        let head = match begun {
            Begun::Row(written) => {
                let next = following(number, written.as_deref());
                number = next.ok_or_else(|| broken(xml.place(), "rows are out of order", WHOLE))?;
                column = 0;
                continue;
            }
            Begun::Cell(head) => head,
        };
        if let Some(written) = &head.reference {
            let at = column_of(written, number).filter(|at| *at >= column);
            column = at.ok_or_else(|| broken(xml.place(), "cells are out of order", WHOLE))?;
        }
        if let Some(cell) = read_cell(xml, &head, shared, || rows.cell_place(number, column))? {
            rows.add(number, column, cell)?;
        }
        column += 1;
    }
}

/// The number of a row: its own, which is higher than the last one's, or the next.
fn following(last: u64, written: Option<&str>) -> Option<u64> {
    let number = written.map_or(Some(last + 1), |written| written.parse().ok());
    number.filter(|number| *number > last && *number <= MAX_ROW_NUMBER)
}

/// The column, from 0, of a reference such as `C7` to a cell of this row.
fn column_of(reference: &str, row: u64) -> Option<usize> {
    let digits = reference.find(|character: char| !character.is_ascii_alphabetic())?;
    let (letters, digits) = reference.split_at(digits);
    if digits.parse() != Ok(row) || letters.is_empty() || letters.len() > 3 {
        return None;
    }
    let number =
        letters.bytes().fold(0, |sum, letter| sum * 26 + usize::from(letter.to_ascii_uppercase() - b'A') + 1);
    Some(number - 1)
}

/// The attributes of a cell.
struct CellHead {
    reference: Option<String>,
    style: usize,
    kind: String,
}

impl CellHead {
    fn of(start: &BytesStart<'_>) -> Self {
        let style = attribute(start, None, "s").and_then(|style| style.parse().ok());
        Self {
            reference: attribute(start, None, "r"),
            style: style.unwrap_or(0),
            kind: attribute(start, None, "t").unwrap_or_else(|| "n".to_owned()),
        }
    }
}

/// The cell that has just begun; none where it is empty.
fn read_cell(
    xml: &mut Xml<'_>,
    head: &CellHead,
    shared: &Shared,
    place: impl Fn() -> Box<Place>,
) -> Result<Option<Cell>, ExportError> {
    enum Inner {
        Value,
        Formula,
        Text,
        Other,
    }
    let outside = xml.depth() - 1;
    let (mut value, mut inline, mut is_formula) = (None, None, false);
    loop {
        let is_last = xml.depth() == outside + 1;
        let inner = match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "v" => Inner::Value,
                "f" => Inner::Formula,
                "is" => Inner::Text,
                _ => Inner::Other,
            },
            Event::End(_) if is_last => break,
            _ => continue,
        };
        match inner {
            Inner::Value => {
                let mut text = String::new();
                xml.text(&mut text)?;
                value = Some(text);
            }
            Inner::Text => inline = Some(rich_text(xml)?),
            Inner::Formula => {
                is_formula = true;
                xml.skip()?;
            }
            Inner::Other => xml.skip()?,
        }
    }
    if is_formula {
        // An empty text is a value, an empty number is none.
        let has_value = value.as_ref().is_some_and(|value| !value.is_empty() || head.kind == "str");
        if !has_value {
            return Ok(Some(Cell::NoValue(NO_VALUE)));
        }
        if shared.is_out_of_date {
            return Ok(Some(Cell::NoValue(OUT_OF_DATE)));
        }
    }
    if head.kind == "inlineStr" {
        return Ok(inline.as_deref().and_then(Cell::text));
    }
    let Some(value) = value.filter(|value| !value.is_empty()) else { return Ok(None) };
    let cell = cell_of(&value, head, shared);
    cell.map_err(|expected| {
        let found = format!(
            "{} as a value of the type {}",
            crate::bad_row::shown(&value),
            crate::bad_row::shown(&head.kind)
        );
        broken(place(), &found, expected)
    })
}

/// A cell of its value and type; on an error, what was expected.
fn cell_of(value: &str, head: &CellHead, shared: &Shared) -> Result<Option<Cell>, &'static str> {
    match head.kind.as_str() {
        "s" => {
            let text = value.trim().parse().ok().and_then(|index: usize| shared.texts.get(index));
            let text = text.ok_or("the number of a text that the workbook has")?;
            Ok((!text.is_empty()).then(|| Cell::Text(Rc::clone(text))))
        }
        "str" => Ok(Cell::text(&unescaped(value.to_owned()))),
        "b" => match value.trim() {
            "1" | "true" => Ok(Some(Cell::Bool(true))),
            "0" | "false" => Ok(Some(Cell::Bool(false))),
            _ => Err("0 or 1"),
        },
        "e" => Ok(Some(Cell::Error)),
        "d" => Ok(iso_date(value).map(Cell::Moment).or_else(|| Cell::text(value))),
        "n" => {
            let number = Cell::number(value).ok_or("a number")?;
            let meaning = shared.meanings.get(head.style).copied().unwrap_or(Meaning::Number);
            let Cell::Number(serial) = &number else { return Ok(Some(number)) };
            let moment = match (meaning, serial.as_f64()) {
                (Meaning::Number, _) | (_, None) => None,
                (meaning, Some(serial)) => format::moment(serial, meaning, shared.since_1904),
            };
            Ok(Some(moment.unwrap_or(number)))
        }
        _ => Err("a cell of a known type"),
    }
}

/// A date, or a date and a time, as ISO 8601 writes them without an offset.
pub(super) fn iso_date(text: &str) -> Option<NaiveDateTime> {
    let text = text.trim();
    let text = text.strip_suffix('Z').unwrap_or(text);
    let moment =
        text.parse::<NaiveDateTime>().or_else(|_| NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M"));
    moment.ok().or_else(|| Some(text.parse::<NaiveDate>().ok()?.into()))
}
