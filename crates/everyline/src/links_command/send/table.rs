//! The SKUs that are to be changed, as a table for the storefront's own bulk edit.
//!
//! As the owner's template says; without one with the columns `listing_id`, `options`, `old_sku` and `sku`. A cell of free
//! text that a spreadsheet would take for a formula is refused, and named; ids and SKUs stand as they are, for they have to
//! be imported as they are. Must not know how it was decided what is changed. Start reading at [`written`].

use std::collections::BTreeSet;

use digest::clean;
use intake::source::declare::{Beginning, SkuRow, SkuTable, may_be_a_formula};
use ledger::PlannedSku;
use model::{Sku, text};

use super::plan::Planned;
use crate::links_command::said::options_text;
use crate::trouble::Trouble;

/// Most rows that are named because they cannot be written.
const NAMED_AT_MOST: usize = 20;

const NOT_WRITTEN: &str = "the table was not written";

/// A table, and what somebody should know of it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Written {
    /// The table.
    pub text: String,
    /// How many of its cells are ids or SKUs that a spreadsheet would take for formulas.
    pub ids_as_formulas: usize,
}

/// The table of some changes. `option_names` are the names of all options of the storefront, as they are compared.
///
/// # Errors
/// Where free text would be taken for a formula, or the template asks for an option that no offer has.
pub fn written(
    template: Option<&SkuTable>,
    changes: &[Planned],
    option_names: &BTreeSet<String>,
) -> Result<Written, Trouble> {
    let Some(template) = template else { return Ok(exchange_form(changes)) };
    if let Some(name) = template.option_names().find(|name| !option_names.contains(*name)) {
        let known = option_names.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
        let cause = format!("sku_table asks for the option {name:?}, and no offer has one; there is {known}");
        return Err(
            Trouble::new(NOT_WRITTEN, cause).help("write its name in sku_table as the storefront does")
        );
    }
    let unsaid = |change: &Planned| {
        let PlannedSku { listing_id, options, old, .. } = &change.sku;
        template.unsaid_option(options, old.is_some()).map(|name| (listing_id.clone(), name.to_owned()))
    };
    if let Some((listing_id, name)) = changes.iter().find_map(unsaid) {
        let cause = format!(
            "sku_table does not tell the offers of listing {} apart: no column says their option {:?}",
            clean(listing_id.as_str()),
            clean(name.as_str())
        );
        return Err(Trouble::new(NOT_WRITTEN, cause).help(format!(
            "add a column with cell = \"{{option.{}}}\", or {{options}}, or {{old_sku}} where the storefront finds offers by \
             the SKU that they bear",
            clean(name.as_str())
        )));
    }
    let mut table = writer(template.separator);
    let mut written = Written { text: String::new(), ids_as_formulas: 0 };
    let mut refused: Vec<String> = Vec::new();
    let headings = template.columns.iter().map(|column| &column.heading);
    // Into memory, which does not fail.
    let _ = table.write_record(headings);
    for change in changes {
        let sku = &change.sku;
        let row = SkuRow {
            listing_id: sku.listing_id.as_str(),
            options: &sku.options,
            title: change.title.as_deref().unwrap_or_default(),
            old_sku: sku.old.as_ref().map_or("", Sku::as_str),
            sku: sku.new.as_ref().map_or("", Sku::as_str),
        };
        let mut cells = Vec::new();
        for column in &template.columns {
            let cell = column.cell.filled(&row);
            match cell.formula {
                Some(Beginning::Words) => refused.push(format!(
                    "listing {} ({}), column {}: {:?}",
                    clean(sku.listing_id.as_str()),
                    options_text(&sku.options),
                    clean(column.heading.as_str()),
                    clean(cell.text.as_str())
                )),
                Some(Beginning::Id) => written.ids_as_formulas += 1,
                None => {}
            }
            cells.push(cell.text);
        }
        let _ = table.write_record(&cells);
    }
    if !refused.is_empty() {
        let count = refused.len();
        let mut cause = match count {
            1 => "a cell of free text would be taken for a formula by a spreadsheet:".to_owned(),
            _ => format!("{count} cells of free text would be taken for formulas by a spreadsheet:"),
        };
        for one in refused.iter().take(NAMED_AT_MOST) {
            cause += &format!("\n{one}");
        }
        if count > NAMED_AT_MOST {
            cause += &format!("\nshowing {NAMED_AT_MOST} of {count}");
        }
        return Err(Trouble::new(NOT_WRITTEN, cause).help(
            "change the text at the storefront; or leave the column out of sku_table; or, where the storefront takes \
             it so, let its cell begin with something else, as in cell = \"'{title}\"",
        ));
    }
    written.text = text_of(table);
    Ok(written)
}

fn exchange_form(changes: &[Planned]) -> Written {
    let mut table = writer(b',');
    let _ = table.write_record(["listing_id", "options", "old_sku", "sku"]);
    let mut ids_as_formulas = 0;
    for Planned { sku, .. } in changes {
        let text = |sku: &Option<Sku>| sku.as_ref().map_or("", Sku::as_str).to_owned();
        let cells = [
            sku.listing_id.to_string(),
            serde_json::to_string(&sku.options).unwrap_or_default(),
            text(&sku.old),
            text(&sku.new),
        ];
        ids_as_formulas += cells.iter().filter(|cell| may_be_a_formula(cell)).count();
        let _ = table.write_record(&cells);
    }
    Written { text: text_of(table), ids_as_formulas }
}

/// Lines end as RFC 4180 has it.
fn writer(separator: u8) -> csv::Writer<Vec<u8>> {
    csv::WriterBuilder::new().delimiter(separator).terminator(csv::Terminator::CRLF).from_writer(Vec::new())
}

fn text_of(table: csv::Writer<Vec<u8>>) -> String {
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The names of options, as they are compared.
pub fn names<'o>(options: impl Iterator<Item = &'o model::Options>) -> BTreeSet<String> {
    options.flat_map(|options| options.iter().map(|(name, _)| text::fold(name)).collect::<Vec<_>>()).collect()
}
