//! Spreadsheet files: which of them it is, its sheet as rows of cells, and those as records.
//!
//! The XML is read piece by piece, cell by cell, so that what a file unpacks to is counted on the way and is never held.
//! The crate calamine 0.38 was weighed: its sheets are full rectangles, what OpenDocument says is repeated is repeated before
//! anybody can count it, and it never comes back from a file that is cut off in the comment of a cell. It judges the
//! reading of xlsx in the tests. Must not know: what a header is. Start reading at [`read`]; `package` unpacks, `xlsx` and `ods` read
//! cells, `cell` says what a cell is, `format` which numbers are dates.

mod cell;
mod format;
mod ods;
mod package;
mod xlsx;

use self::cell::{Cell, cell_name};
use self::package::Package;
use super::error::{ExportError, Place, Spot};
use super::limits::{self, MAX_CELL_BYTES, MAX_COLUMNS, MAX_ROWS, Weight};
use super::table::{self, HEAD_ROWS, HeadCell, HeadRow, Records};
use super::{Export, Form, Kind, Stated};
use crate::bad_row::shown;

/// How many sheets an error names.
const SHOWN_SHEETS: usize = 10;

/// Reads a workbook out of a zip archive.
pub(super) fn read(file: &str, bytes: Vec<u8>, stated: &Stated) -> Result<Export, ExportError> {
    let mut package = Package::open(file, bytes)?;
    let kind = package.kind()?;
    stated.check(file, kind)?;
    let wanted = stated.sheet.as_deref();
    let sheet = match kind {
        Kind::Ods => ods::read(&mut package, wanted)?,
        _ => xlsx::read(&mut package, wanted)?,
    };
    drop(package);
    let (table::Read { value, header, lines, passed_over }, header_row) = records(file, &sheet, stated)?;
    let form = Form { sheet: Some(sheet.name), header_row: Some(header_row), ..Form::of(kind) };
    Ok(Export { form, value, header: Some(header), lines, passed_over })
}

/// A sheet, as far as it is filled.
struct Sheet {
    name: String,
    rows: Vec<Row>,
}

/// A row with at least one filled cell.
struct Row {
    /// From 1.
    number: u64,
    /// By column, from 0, in rising order; none is empty.
    cells: Vec<(usize, Cell)>,
}

/// What becomes the rows of a sheet, within the limits.
struct Rows<'a> {
    file: &'a str,
    sheet: &'a str,
    rows: Vec<Row>,
    weight: Weight,
}

impl<'a> Rows<'a> {
    fn new(file: &'a str, sheet: &'a str) -> Self {
        Self { file, sheet, rows: Vec::new(), weight: Weight::of_workbook() }
    }

    fn row_place(&self, number: u64) -> Box<Place> {
        Place::sheet(self.file, self.sheet, Spot::Row(number))
    }

    fn cell_place(&self, number: u64, column: usize) -> Box<Place> {
        Place::sheet(self.file, self.sheet, Spot::Cell(cell_name(number, column)))
    }

    /// Adds a cell that is not empty, to the row or behind it.
    fn add(&mut self, number: u64, column: usize, cell: Cell) -> Result<(), ExportError> {
        if column >= MAX_COLUMNS {
            const HINT: &str = "Remove what stands far to the right of the table.";
            return Err(limits::too_many_columns(self.row_place(number), HINT));
        }
        let text_bytes = cell.text_bytes();
        if text_bytes > MAX_CELL_BYTES {
            return Err(limits::long_cell(self.cell_place(number, column), "Shorten it."));
        }
        if !self.weight.add(text_bytes) {
            return Err(self.weight.too_much(self.row_place(number)));
        }
        match self.rows.last_mut() {
            Some(last) if last.number == number => last.cells.push((column, cell)),
            _ => {
                // The header and what stands above it come on top; they are few.
                if self.rows.len() > MAX_ROWS + HEAD_ROWS {
                    return Err(limits::too_many_rows(self.row_place(number)));
                }
                self.rows.push(Row { number, cells: vec![(column, cell)] });
            }
        }
        Ok(())
    }
}

/// A sheet that may be read.
struct Candidate {
    name: String,
    is_hidden: bool,
}

/// The sheets to try, by their index, in order: the stated one, or those that are not hidden.
fn to_try(file: &str, sheets: &[Candidate], wanted: Option<&str>) -> Result<Vec<usize>, ExportError> {
    let Some(wanted) = wanted else {
        let visible = sheets.iter().enumerate().filter(|(_, sheet)| !sheet.is_hidden);
        return Ok(visible.map(|(index, _)| index).collect());
    };
    if let Some(index) = sheets.iter().position(|sheet| sheet.name == wanted) {
        return Ok(vec![index]);
    }
    let mut names: Vec<String> = sheets.iter().take(SHOWN_SHEETS).map(|sheet| shown(&sheet.name)).collect();
    if sheets.len() > SHOWN_SHEETS {
        names.push(format!("and {} more", sheets.len() - SHOWN_SHEETS));
    }
    Err(ExportError::Misstated {
        place: Place::file(file),
        found: format!("the sheet {} is stated, and there is none of that name", shown(wanted)),
        expected: format!("one of {}", names.join(", ")),
        hint: "Correct the name, or state none.".to_owned(),
    })
}

/// The error where no sheet that was tried holds anything.
fn nothing_in(file: &str, wanted: Option<&str>) -> ExportError {
    match wanted {
        Some(sheet) => ExportError::Empty {
            place: Place::sheet(file, sheet, Spot::Whole),
            found: "no cell of the sheet is filled",
        },
        None => ExportError::Empty {
            place: Place::file(file),
            found: "no cell of a sheet that is shown is filled",
        },
    }
}

/// The records of a sheet, and the row of its header.
fn records(file: &str, sheet: &Sheet, stated: &Stated) -> Result<(table::Read, u64), ExportError> {
    let row_place = |number: u64| Place::sheet(file, &sheet.name, Spot::Row(number));
    let at = header_index(file, sheet, stated)?;
    let header_row = &sheet.rows[at];
    for (column, cell) in &header_row.cells {
        check_value(file, sheet, header_row.number, *column, cell)?;
    }
    let rows = &sheet.rows[at + 1..];
    let header = head_row(header_row);
    let names = table::names(&header, || row_place(header_row.number))?;
    let has_times = columns_with_times(rows, names.len());
    let mut records = Records::new(names, &header, Weight::of_workbook());
    for row in rows {
        let mut record = records.begin(row.number, || row_place(row.number))?;
        for (column, cell) in &row.cells {
            check_value(file, sheet, row.number, *column, cell)?;
            let place = || Place::sheet(file, &sheet.name, Spot::Cell(cell_name(row.number, *column)));
            let with_time = has_times.get(*column).copied().unwrap_or_default();
            let Some(value) = cell.value(with_time) else { continue };
            if *column >= records.columns() {
                let written = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
                return Err(ExportError::TooManyCells {
                    place: place(),
                    found: table::beyond(&written),
                    columns: records.columns(),
                    hint: "Give its column a name in the header, remove what stands beside the table, or state the \
                           header row.",
                });
            }
            records.add(&mut record, *column, value, place)?;
        }
        records.end(record);
    }
    Ok((records.finish(), header_row.number))
}

fn header_index(file: &str, sheet: &Sheet, stated: &Stated) -> Result<usize, ExportError> {
    if let Some(number) = stated.header_row {
        return sheet.rows.binary_search_by_key(&number, |row| row.number).map_err(|_| {
            ExportError::NoHeader {
                place: Place::sheet(file, &sheet.name, Spot::Row(number)),
                found: "the header row is stated to be here, and no cell of it is filled".to_owned(),
                hint: "Correct the number, or state none.".to_owned(),
            }
        });
    }
    let head: Vec<HeadRow<'_>> = sheet.rows.iter().take(HEAD_ROWS).map(head_row).collect();
    table::find_header(&head).map_err(|unclear| {
        unclear.at(Place::sheet(file, &sheet.name, Spot::Whole), "row", ", or the sheet if it is another one")
    })
}

fn head_row(row: &Row) -> HeadRow<'_> {
    let width = row.cells.last().map_or(0, |(column, _)| column + 1);
    let mut cells = vec![HeadCell::Empty; width];
    for (column, cell) in &row.cells {
        cells[*column] = cell.of_head();
    }
    HeadRow { number: row.number, cells }
}

/// Fails where a formula has no value.
fn check_value(
    file: &str,
    sheet: &Sheet,
    number: u64,
    column: usize,
    cell: &Cell,
) -> Result<(), ExportError> {
    match cell {
        Cell::NoValue(found) => Err(ExportError::NoValue {
            place: Place::sheet(file, &sheet.name, Spot::Cell(cell_name(number, column))),
            found,
        }),
        _ => Ok(()),
    }
}

/// For each column, whether any of its dates is at another time than midnight.
fn columns_with_times(rows: &[Row], columns: usize) -> Vec<bool> {
    let mut has_times = vec![false; columns];
    for (column, cell) in rows.iter().flat_map(|row| &row.cells) {
        if let (Cell::Moment(moment), Some(has_time)) = (cell, has_times.get_mut(*column)) {
            *has_time |= moment.time() != chrono::NaiveTime::MIN;
        }
    }
    has_times
}
