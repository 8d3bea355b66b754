//! The tables of the requests of a source: known names, what stands within what, what is asked for each of what, and
//! whether every row gets the fields without which it is none.
//!
//! Start reading at [`of_request`] (one request) and [`together`] (all of a source).

use std::collections::BTreeMap;

use chrono_tz::Tz;
use model::SupplierId;

use super::super::at::Records;
use super::super::columns::{asked_by, belongs_by, key_columns, parents};
use super::super::error::DeclarationError;
use super::super::fields::{self, MoneyForm, OptionsAt, Reading, Take};
use super::super::keys::TableKeys;
use super::super::{Request, TableMapping};
use crate::bad_row::shown;
use crate::nearest::nearest;
use crate::tables::{Column, Need, Table};

/// The table of a name.
pub(super) fn known(name: &str) -> Result<Table, DeclarationError> {
    let names = || Table::ALL.into_iter().map(Table::name);
    Table::ALL.into_iter().find(|table| table.name() == name).ok_or_else(|| {
        let near = nearest(name, names()).map(|near| format!(" (the nearest is {near})")).unwrap_or_default();
        let all: Vec<&str> = names().collect();
        DeclarationError::new(format!(
            "is {}, which is no table; expected is one of {}{near}",
            shown(name),
            all.join(", ")
        ))
    })
}

/// The column of a name. The error goes on from the name.
pub(super) fn known_column(table: Table, name: &str) -> Result<Column, DeclarationError> {
    let names = || table.columns().iter().map(|(column, _)| column.name());
    let column = table.columns().iter().find(|(column, _)| column.name() == name);
    column.map(|(column, _)| *column).ok_or_else(|| {
        let near = nearest(name, names()).map(|near| format!(" (the nearest is {near})")).unwrap_or_default();
        let all: Vec<&str> = names().collect();
        DeclarationError::new(format!(
            "is no column of {}; expected is one of {}{near}",
            table.name(),
            all.join(", ")
        ))
    })
}

/// The tables of one request, each behind the one within which its records stand.
pub(super) fn of_request(
    keys: &BTreeMap<String, TableKeys>,
    for_each: Option<Table>,
    supplier: Option<&SupplierId>,
    shop_zone: Tz,
) -> Result<Vec<TableMapping>, DeclarationError> {
    if keys.is_empty() {
        return Err(DeclarationError::new(
            "has no tables; expected is at least one, such as [sources.NAME.requests.orders.tables.orders], or \
             vocabulary = \"schema.org\"",
        ));
    }
    let mut mappings = Vec::new();
    for (name, keys) in keys {
        let under = |error: DeclarationError| error.under(name).under("tables");
        let table = known(name).map_err(under)?;
        let mapping = mapping(table, keys, for_each, supplier, shop_zone).map_err(under)?;
        mappings.push(mapping);
    }
    let ordered = in_order(mappings)?;
    for mapping in &ordered {
        check_mapping(mapping, &ordered, for_each, supplier)
            .map_err(|error| error.under(mapping.table.name()).under("tables"))?;
    }
    Ok(ordered)
}

fn mapping(
    table: Table,
    keys: &TableKeys,
    for_each: Option<Table>,
    supplier: Option<&SupplierId>,
    shop_zone: Tz,
) -> Result<TableMapping, DeclarationError> {
    if supplier.is_some() && matches!(table, Table::Orders | Table::OrderLines | Table::Offers) {
        return Err(DeclarationError::new(
            "is a storefront's, and the role of the source is supplier; expected is a table with the column supplier",
        ));
    }
    let records = Records::parse(&keys.at).map_err(|error| error.under("at"))?;
    let within = keys.within.as_deref().map(known).transpose().map_err(|error| error.under("within"))?;
    if let Some(parent) = within
        && belongs_by(table, parent).is_empty()
    {
        let possible: Vec<&str> = parents(table).map(Table::name).collect();
        let expected = match possible.as_slice() {
            [] => format!("no within: {} stand by themselves", table.name()),
            some => format!("{}, to which {} belong", some.join(" or "), table.name()),
        };
        return Err(DeclarationError::found(parent.name(), expected).under("within"));
    }
    let inherits: Vec<Column> = match (within, for_each) {
        (Some(parent), _) => belongs_by(table, parent).to_vec(),
        (None, Some(asked)) => asked_by(table, asked).to_vec(),
        (None, None) => Vec::new(),
    };
    let mut mapped = Vec::new();
    for (name, keys) in &keys.fields {
        let under = |error: DeclarationError| error.under(name).under("fields");
        let column = known_column(table, name).map_err(under)?;
        if column == Column::Supplier && supplier.is_some() {
            return Err(under(DeclarationError::new(
                "is mapped by hand; expected is no such field: it is the supplier of the source in every row",
            )));
        }
        if let Some(parent) = within
            && inherits.contains(&column)
        {
            return Err(under(DeclarationError::new(format!(
                "is mapped by hand; expected is no such field: the rows take it from the row of {} around them",
                parent.name()
            ))));
        }
        mapped.push(fields::check(table, column, &keys.0, shop_zone).map_err(under)?);
    }
    mapped.sort_by_key(|field| table.position(field.column));
    let inherits =
        inherits.into_iter().filter(|column| !(*column == Column::Supplier && supplier.is_some())).collect();
    Ok(TableMapping { table, within, records, fields: mapped, inherits, hands_on: None })
}

/// Whether all options that are kept are named: what customers type stands among those of unknown names.
pub(super) fn keep_by_name(mappings: &[TableMapping]) -> Result<(), DeclarationError> {
    for mapping in mappings {
        for field in &mapping.fields {
            let keep = match &field.take {
                Take::Options(
                    OptionsAt::Pairs { keep, .. }
                    | OptionsAt::Object { keep, .. }
                    | OptionsAt::NamedAt { keep, .. }
                    | OptionsAt::Text { keep, .. },
                ) => keep,
                _ => continue,
            };
            if keep.is_all() {
                let expected =
                    "the names of the options to keep; \"*\" is for a vocabulary, which says what is chosen";
                let error = DeclarationError::found("[\"*\"]", expected).under("keep");
                let error = error.under(field.column.name()).under("fields");
                return Err(error.under(mapping.table.name()).under("tables"));
            }
        }
    }
    Ok(())
}

/// A table behind the one within which it stands; otherwise as tables are ordered.
fn in_order(mappings: Vec<TableMapping>) -> Result<Vec<TableMapping>, DeclarationError> {
    let mut left = mappings;
    left.sort_by_key(|mapping| mapping.table);
    if let Some(lost) = left
        .iter()
        .find(|mapping| mapping.within.is_some_and(|parent| !left.iter().any(|other| other.table == parent)))
    {
        let there: Vec<&str> =
            left.iter().filter(|other| other.table != lost.table).map(|other| other.table.name()).collect();
        let parent = lost.within.map(Table::name).unwrap_or_default();
        let there = if there.is_empty() { "there is no other".to_owned() } else { there.join(", ") };
        let error = DeclarationError::found(
            format!("{parent}, which this request does not bring"),
            format!("another table of this request ({there})"),
        );
        return Err(error.under("within").under(lost.table.name()).under("tables"));
    }
    let mut ordered: Vec<TableMapping> = Vec::new();
    while !left.is_empty() {
        let is_next = |mapping: &TableMapping| {
            mapping.within.is_none_or(|parent| ordered.iter().any(|other| other.table == parent))
        };
        // What stands by itself comes first: its records are the ones that are counted.
        let next = left.iter().position(|mapping| mapping.within.is_none() && is_next(mapping));
        match next.or_else(|| left.iter().position(is_next)) {
            Some(next) => ordered.push(left.remove(next)),
            None => {
                let names: Vec<&str> = left.iter().map(|mapping| mapping.table.name()).collect();
                return Err(DeclarationError::new(format!(
                    "has {} within each other; expected is one of them that stands by itself",
                    names.join(" and ")
                ))
                .under("tables"));
            }
        }
    }
    Ok(ordered)
}

/// Whether the rows get every field that they need.
fn check_mapping(
    mapping: &TableMapping,
    all: &[TableMapping],
    for_each: Option<Table>,
    supplier: Option<&SupplierId>,
) -> Result<(), DeclarationError> {
    let table = mapping.table;
    let has = |column: Column| {
        mapping.inherits.contains(&column)
            || mapping.fields.iter().any(|field| field.column == column)
            || (column == Column::Supplier && supplier.is_some())
    };
    let missing: Vec<&str> = table
        .columns()
        .iter()
        .filter(|(column, need)| *need == Need::Required && !has(*column))
        .map(|(column, _)| column.name())
        .collect();
    if !missing.is_empty() {
        return Err(DeclarationError::new(format!(
            "has no {}; expected is a place for each field without which there is no {}",
            missing.join(", "),
            table.row_noun()
        ))
        .under("fields"));
    }
    if table == Table::Links && !has(Column::ListingId) && !has(Column::Sku) {
        return Err(DeclarationError::new(
            "has neither listing_id nor sku; expected is what a link is for: one of them, or both",
        )
        .under("fields"));
    }
    let minor = mapping
        .fields
        .iter()
        .find(|field| matches!(field.take, Take::Value { reading: Reading::Money(MoneyForm::Minor), .. }));
    let Some(minor) = minor else { return Ok(()) };
    let names_currency =
        |mapping: &TableMapping| mapping.fields.iter().any(|field| field.column == Column::Currency);
    let is_known = match table {
        // An order line has the currency of its order; `together` looks at an order of another request.
        Table::OrderLines => match mapping.within {
            Some(parent) => all.iter().any(|other| other.table == parent && names_currency(other)),
            None => for_each == Some(Table::Orders),
        },
        _ => names_currency(mapping),
    };
    if is_known { Ok(()) } else { Err(no_currency(minor.column)) }
}

/// The field, and that no currency is known for it.
fn no_currency(column: Column) -> DeclarationError {
    DeclarationError::found(
        r#""minor", and the currency of the row is not known"#,
        r#"a field currency too (of an order line: of its order), or "minor-2" and the like, with the digits that the source has"#,
    )
    .under("money")
    .under(column.name())
    .under("fields")
}

/// What requests need of each other: who is asked for each of whose rows, with which columns. Orders the requests.
pub(super) fn together(requests: &mut Vec<Request>) -> Result<(), DeclarationError> {
    for index in 0..requests.len() {
        let request = &requests[index];
        let Some(asked) = request.for_each else { continue };
        let under = |error: DeclarationError| error.under(&request.name).under("requests");
        let mut needed: Vec<Column> = Vec::new();
        let templates = [&request.path].into_iter().chain(request.query.iter().map(|(_, value)| value));
        for name in templates.flat_map(|template| template.columns()) {
            needed.push(known_column(asked, name).map_err(under)?);
        }
        if needed.is_empty() {
            return Err(under(
                DeclarationError::found(
                    format!("{}, and neither path nor query has a column of it", asked.name()),
                    format!("a column in one of them, such as {{{}}}", own_id(asked).name()),
                )
                .under("for_each"),
            ));
        }
        let needs_currency = request.tables.iter().any(|mapping| {
            mapping.table == Table::OrderLines
                && mapping.within.is_none()
                && mapping.fields.iter().any(|field| {
                    matches!(field.take, Take::Value { reading: Reading::Money(MoneyForm::Minor), .. })
                })
        });
        if needs_currency {
            needed.push(Column::Currency);
        }
        let inherited = request.tables.iter().filter(|mapping| mapping.within.is_none());
        needed.extend(inherited.flat_map(|mapping| asked_by(mapping.table, asked)));
        hand_on(requests, index, asked, &needed)?;
    }
    let sorted = in_order_of_asking(requests)?;
    *requests = sorted;
    Ok(())
}

/// The column in which an id of a table's own stands.
fn own_id(table: Table) -> Column {
    key_columns(table).iter().copied().rfind(|column| *column != Column::Supplier).unwrap_or(Column::Supplier)
}

/// Notes with every other request that brings the table which columns the one at `index` needs.
fn hand_on(
    requests: &mut [Request],
    index: usize,
    asked: Table,
    needed: &[Column],
) -> Result<(), DeclarationError> {
    let name = requests[index].name.clone();
    let under = |error: DeclarationError| error.under(&name).under("requests");
    let mut is_brought = false;
    let others = requests.iter_mut().enumerate().filter(|(other, _)| *other != index).map(|(_, other)| other);
    for other in others {
        let has_supplier = other.supplier.is_some();
        let other_name = other.name.clone();
        for mapping in other.tables.iter_mut().filter(|mapping| mapping.table == asked) {
            is_brought = true;
            for column in needed {
                let is_there = mapping.fields.iter().any(|field| field.column == *column)
                    || mapping.inherits.contains(column)
                    || (*column == Column::Supplier && has_supplier);
                // A key that the other does not know is not handed on either: the rows here have their own.
                let must_be_there = !key_columns(asked).contains(column) || *column == own_id(asked);
                if !is_there && must_be_there {
                    return Err(under(
                        DeclarationError::found(
                            format!(
                                "{}, whose {} the request {other_name} does not map",
                                asked.name(),
                                column.name()
                            ),
                            format!("{} among the fields of {} there", column.name(), asked.name()),
                        )
                        .under("for_each"),
                    ));
                }
                let handed = mapping.hands_on.get_or_insert_default();
                if !handed.contains(column) {
                    handed.push(*column);
                }
            }
        }
    }
    if is_brought {
        return Ok(());
    }
    Err(under(
        DeclarationError::found(
            format!("{}, which no other request of this source brings", asked.name()),
            "a table that another request brings",
        )
        .under("for_each"),
    ))
}

/// A request behind all those whose rows it is asked for.
fn in_order_of_asking(requests: &[Request]) -> Result<Vec<Request>, DeclarationError> {
    let mut left: Vec<&Request> = requests.iter().collect();
    let mut ordered = Vec::new();
    while !left.is_empty() {
        let waits_for = |request: &Request, other: &Request| {
            other.name != request.name
                && request
                    .for_each
                    .is_some_and(|asked| other.tables.iter().any(|mapping| mapping.table == asked))
        };
        let next = left.iter().position(|request| !left.iter().any(|other| waits_for(request, other)));
        match next {
            Some(next) => ordered.push(left.remove(next).clone()),
            None => {
                let names: Vec<&str> = left.iter().map(|request| request.name.as_str()).collect();
                return Err(DeclarationError::new(format!(
                    "have {} asked for each row of each other; expected is one of them without for_each",
                    names.join(" and ")
                ))
                .under("requests"));
            }
        }
    }
    Ok(ordered)
}
