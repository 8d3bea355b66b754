//! A record that is not as declared: where it is, what was found, what was expected, what to do next.
//!
//! Must not know how a record is read. Start reading at [`Misfit`].

use std::fmt;

use super::record::Line;
use crate::bad_row::Fault;
use crate::source::declare::{At, OptionsAt, Request, TableMapping, Take};
use crate::tables::Column;

/// Why nothing of a page was kept.
///
/// Says no value but that of the field at fault, cut short and without control characters, and the key of the record.
/// Of a text that does not match its pattern, and of an address, only the look or the kind is said.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Misfit {
    /// The table; `None` of what concerns the page as a whole.
    pub table: Option<&'static str>,
    /// The record, counted from 1 on the page; behind it, those of the records within it that lead to the one at fault.
    /// Empty of what concerns the list as a whole.
    pub records: Vec<usize>,
    /// The record's key as a person reads it, in so far as it is known: `order_id "1001"`.
    pub key: Option<String>,
    /// The field, where one is at fault.
    pub field: Option<String>,
    /// Where it stands, as JSONPath.
    pub at: Option<String>,
    /// The key of the declaration that says so: `requests.orders.tables.orders.fields.status`.
    pub declared: String,
    /// A clause: what stands there.
    pub found: String,
    /// A noun phrase: what should stand there.
    pub expected: String,
    /// A sentence: what to do next.
    pub hint: String,
}

/// `orders, record 3 (order_id "1001"), field status at $.state: "odd" is not one …; expected …. Add ….`
impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.table.unwrap_or("page"))?;
        if let Some((last, around)) = self.records.split_last() {
            write!(f, ", record {last}")?;
            for number in around.iter().rev() {
                write!(f, " in record {number}")?;
            }
        }
        if let Some(key) = &self.key {
            write!(f, " ({key})")?;
        }
        if let Some(field) = &self.field {
            write!(f, ", field {field}")?;
        }
        if let Some(at) = &self.at {
            write!(f, " at {at}")?;
        }
        write!(f, ": {}; expected {}. {}", self.found, self.expected, self.hint)
    }
}

impl std::error::Error for Misfit {}

/// Where something does not fit.
pub(super) struct Place<'p> {
    request: &'p Request,
    mapping: Option<&'p TableMapping>,
    records: Vec<usize>,
    key: Option<String>,
    /// Of the page: the key below the request, and the path.
    page: Option<(&'static str, &'p At)>,
}

impl<'p> Place<'p> {
    /// A key of the request itself.
    pub(super) fn of_page(request: &'p Request, key: &'static str, at: &'p At) -> Self {
        Self { request, mapping: None, records: Vec::new(), key: None, page: Some((key, at)) }
    }

    /// The page as a whole, by its vocabulary.
    pub(super) fn of_vocabulary(request: &'p Request) -> Self {
        Self { request, mapping: None, records: Vec::new(), key: None, page: None }
    }

    /// A record of a table, or its list where there are no numbers.
    pub(super) fn of_table(request: &'p Request, mapping: &'p TableMapping, records: &[usize]) -> Self {
        Self { request, mapping: Some(mapping), records: records.to_vec(), key: None, page: None }
    }

    /// The same, with what is known of the record's key.
    pub(super) fn of_line(mut self, line: &Line) -> Self {
        self.key = line.key_text();
        self
    }

    /// The fault, in its place.
    pub(super) fn misfit(self, fault: Fault) -> Box<Misfit> {
        let Fault { column, found, expected, hint } = fault;
        let field = column.map(|column| match column.strip_prefix("option.") {
            Some(_) => Column::Options.name().to_owned(),
            None => column,
        });
        let mut declared = format!("requests.{}", self.request.name);
        let mut at = None;
        if let Some((key, path)) = self.page {
            declared = format!("{declared}.{key}");
            at = Some(path.to_string());
        }
        if let Some(mapping) = self.mapping {
            declared = format!("{declared}.tables.{}", mapping.table.name());
            match &field {
                Some(field) => {
                    declared = format!("{declared}.fields.{field}");
                    at = mapping
                        .fields
                        .iter()
                        .find(|known| known.column.name() == field)
                        .and_then(|field| place(&field.take));
                }
                None if self.records.is_empty() => declared.push_str(".at"),
                None => {}
            }
        }
        let hint = if hint.is_empty() {
            format!(
                "Compare the answer with {declared}, and correct that, or have the source mend its answer."
            )
        } else {
            hint
        };
        let table = self.mapping.map(|mapping| mapping.table.name());
        Box::new(Misfit {
            table,
            records: self.records,
            key: self.key,
            field,
            at,
            declared,
            found,
            expected,
            hint,
        })
    }
}

/// Where a field stands, where it is one place.
fn place(take: &Take) -> Option<String> {
    match take {
        Take::Value { at, .. } => Some(at.to_string()),
        Take::Options(OptionsAt::Pairs { at, .. } | OptionsAt::Object { at, .. }) => Some(at.to_string()),
        Take::Options(OptionsAt::Text { at, .. } | OptionsAt::Values { at, .. }) => Some(at.to_string()),
        Take::FirstOf(takes) => takes.iter().find_map(place),
        Take::Around(_, take) => place(take),
        Take::Options(OptionsAt::Columns(_) | OptionsAt::NamedAt { .. })
        | Take::Digest(_)
        | Take::Always(_)
        | Take::Counted
        | Take::OwnKey => None,
    }
}
