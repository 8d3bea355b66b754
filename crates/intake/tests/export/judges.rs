//! Workbooks that another program wrote, read beside another reader.

use calamine::{Data, Reader};
use intake::export::{Stated, read_bytes};
use proptest::prelude::*;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use serde_json::Value;

/// A value to write.
#[derive(Clone, Debug)]
enum Given {
    Nothing,
    Text(String),
    Number(f64),
    Bool(bool),
    /// A date and a time: days since 2000, minutes of the day.
    Moment(u16, u16),
}

fn given() -> impl Strategy<Value = Given> {
    prop_oneof![
        1 => Just(Given::Nothing),
        2 => "[ -~äßé€漢\n\t]{1,12}".prop_map(Given::Text),
        1 => Just(Given::Text("_x0041_".to_owned())),
        2 => any::<f64>().prop_filter("a number", |number| number.is_finite()).prop_map(Given::Number),
        2 => (-1_000_000_i32..1_000_000).prop_map(|cents| Given::Number(f64::from(cents) / 100.0)),
        1 => any::<bool>().prop_map(Given::Bool),
        2 => (1_u16..20_000, 0_u16..1_440).prop_map(|(day, minute)| Given::Moment(day, minute)),
    ]
}

fn written(rows: &[Vec<Given>], columns: usize) -> Vec<u8> {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    let date = Format::new().set_num_format("yyyy-mm-dd hh:mm");
    for column in 0..columns {
        sheet.write(0, column as u16, format!("name {column}x")).unwrap();
    }
    for (row, cells) in (1..).zip(rows) {
        for (column, cell) in (0..).zip(cells) {
            match cell {
                Given::Nothing => {}
                Given::Text(text) => drop(sheet.write(row, column, text).unwrap()),
                Given::Number(number) => drop(sheet.write(row, column, *number).unwrap()),
                Given::Bool(value) => drop(sheet.write(row, column, *value).unwrap()),
                Given::Moment(day, minute) => {
                    let serial = 36_526.0 + f64::from(*day) + f64::from(*minute) / 1_440.0;
                    let moment = ExcelDateTime::from_serial_datetime(serial).unwrap();
                    sheet.write_with_format(row, column, moment, &date).unwrap();
                }
            }
        }
    }
    workbook.save_to_buffer().unwrap()
}

/// What the other reader makes of a cell, in our words; whole dates are told by their column, so they are compared by
/// their beginning.
fn agrees(ours: Option<&Value>, theirs: &Data) -> bool {
    match (ours, theirs) {
        (None, Data::Empty) => true,
        (None, Data::String(text)) => text.trim().is_empty(),
        (Some(Value::String(text)), Data::String(theirs)) => text == theirs.trim(),
        (Some(Value::Bool(ours)), Data::Bool(theirs)) => ours == theirs,
        (Some(Value::Number(ours)), Data::Float(theirs)) => ours.as_f64() == Some(*theirs),
        (Some(Value::Number(ours)), Data::Int(theirs)) => ours.as_i64() == Some(*theirs),
        (Some(Value::String(text)), Data::DateTime(theirs)) => {
            let (year, month, day, hour, minute, second, _) = theirs.to_ymd_hms_milli();
            let theirs = format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}");
            *text == theirs || theirs.strip_suffix("T00:00:00") == Some(text)
        }
        _ => false,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn what_another_program_writes_is_read_as_another_reader_does(
        rows in proptest::collection::vec(proptest::collection::vec(given(), 4), 1..12),
    ) {
        let bytes = written(&rows, 4);
        let export = read_bytes("a.xlsx", bytes.clone(), &Stated { header_row: Some(1), ..Stated::default() }).unwrap();
        let mut theirs: calamine::Xlsx<_> = calamine::Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
        let sheet = theirs.worksheet_range_at(0).unwrap().unwrap();
        let records = export.value.as_array().unwrap();
        for (index, row) in rows.iter().enumerate() {
            let number = index as u64 + 2;
            let record = export.lines.iter().position(|line| *line == number).map(|at| &records[at]);
            for (column, given) in row.iter().enumerate() {
                let ours = record.and_then(|record| record.get(format!("name {column}x")));
                let theirs = sheet.get_value((index as u32 + 1, column as u32)).unwrap_or(&Data::Empty);
                prop_assert!(agrees(ours, theirs), "{ours:?} and {theirs:?}");
                if let (Given::Number(number), Some(ours)) = (given, ours) {
                    prop_assert_eq!(ours.as_f64(), Some(*number));
                }
            }
        }
    }
}

/// That program writes zeros for the values of formulas, and says that they are to be computed.
#[test]
fn formulas_that_were_never_computed_are_no_zeros() {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write(0, 0, "price").unwrap();
    sheet.write(0, 1, "sum").unwrap();
    sheet.write(1, 0, 2).unwrap();
    sheet.write_formula(1, 1, "=A2*3").unwrap();
    let error = read_bytes("a.xlsx", workbook.save_to_buffer().unwrap(), &Stated::default()).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("a.xlsx, sheet \"Sheet1\", cell B2: a formula whose value is out of date")
    );
}
