//! The table in which a storefront's own bulk edit takes SKUs, as the owner says it looks.
//!
//! Must not know which SKUs are to be changed. Start reading at [`SkuTable`]; [`SkuCell::filled`] makes one cell.

use std::collections::BTreeSet;

use model::{Options, text};
use serde::Deserialize;

use super::error::DeclarationError;
use super::template::Template;
use crate::bad_row::shown;

/// Most columns of such a table.
const COLUMNS_AT_MOST: usize = 200;

/// With what a spreadsheet takes a cell for a formula. Source: OWASP, 'CSV Injection'.
const BEGINS_A_FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

const PLACEHOLDERS: &str = "{listing_id}, {sku}, {old_sku}, {title}, {options} and {option.NAME}";

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { columns = [{ heading = \"Item\", cell = \"{listing_id}\" }, { heading = \"SKU\", cell = \"{sku}\" }] }"
)]
pub(super) struct SkuTableKeys {
    separator: Option<String>,
    columns: Vec<SkuColumnKeys>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { heading = \"Item\", cell = \"{listing_id}\" }")]
struct SkuColumnKeys {
    heading: String,
    cell: String,
}

/// How the table looks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SkuTable {
    /// What stands between two cells: `,`, `;` or a tab.
    pub separator: u8,
    /// Its columns, in their order; at least two.
    pub columns: Vec<SkuColumn>,
}

/// One of its columns.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SkuColumn {
    /// What stands in the first row.
    pub heading: String,
    /// What stands in the others.
    pub cell: SkuCell,
}

/// A cell in which placeholders stand for what is said of an offer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SkuCell {
    pieces: Vec<Piece>,
}

#[derive(Clone, PartialEq, Eq, Debug)]
enum Piece {
    Text(String),
    ListingId,
    Sku,
    OldSku,
    Title,
    Options,
    /// The value of one option, by its name.
    Option(String),
}

/// What is said of an offer.
#[derive(Clone, Copy, Debug)]
pub struct SkuRow<'a> {
    /// The listing.
    pub listing_id: &'a str,
    /// Which offer of it.
    pub options: &'a Options,
    /// The title of the listing; empty where it is not known.
    pub title: &'a str,
    /// The SKU that it bears; empty where it has none.
    pub old_sku: &'a str,
    /// The SKU that it is to bear; empty where it is to have none.
    pub sku: &'a str,
}

/// A cell with its text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FilledCell {
    /// The text.
    pub text: String,
    /// Whether a spreadsheet may take it for a formula, and what it begins with.
    pub formula: Option<Beginning>,
}

/// What a cell begins with that may be taken for a formula.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Beginning {
    /// An id or a SKU, which has to be imported as it is.
    Id,
    /// The title or an option: free text.
    Words,
}

/// Whether a spreadsheet would take a cell for a formula. Blanks before it do not keep it from that.
pub fn may_be_a_formula(cell: &str) -> bool {
    cell.trim_start_matches(' ').starts_with(BEGINS_A_FORMULA)
}

impl SkuTable {
    /// The name of an option of an offer that its row would not say, so that the row could be another offer's; `None` where the
    /// row says which it is: by all its options, or by the SKU that it bears.
    pub fn unsaid_option<'o>(&self, options: &'o Options, has_old_sku: bool) -> Option<&'o str> {
        let pieces = || self.columns.iter().flat_map(|column| &column.cell.pieces);
        if pieces().any(|piece| *piece == Piece::Options || *piece == Piece::OldSku && has_old_sku) {
            return None;
        }
        let says = |name: &str| {
            let name = text::fold(name);
            pieces().any(|piece| matches!(piece, Piece::Option(own) if text::fold(own) == name))
        };
        options.iter().map(|(name, _)| name).find(|name| !says(name))
    }
}

impl SkuTableKeys {
    pub(super) fn check(&self) -> Result<SkuTable, DeclarationError> {
        let separator = match self.separator.as_deref() {
            None | Some(",") => b',',
            Some(";") => b';',
            Some("tab" | "\t") => b'\t',
            Some(other) => {
                return Err(DeclarationError::found(shown(other), r#"",", ";" or "tab""#).under("separator"));
            }
        };
        if self.columns.len() > COLUMNS_AT_MOST {
            let found = format!("a list of {} columns", self.columns.len());
            let error = DeclarationError::found(found, format!("at most {COLUMNS_AT_MOST}"));
            return Err(error.under("columns"));
        }
        let mut columns: Vec<SkuColumn> = Vec::new();
        let mut headings = BTreeSet::new();
        for (place, keys) in self.columns.iter().enumerate() {
            let at = |error: DeclarationError| error.in_entry(place + 1).under("columns");
            if !headings.insert(keys.heading.trim()) || keys.heading.trim().is_empty() {
                let expected = "a name that no other column has";
                return Err(at(DeclarationError::found(shown(&keys.heading), expected).under("heading")));
            }
            let cell = SkuCell::parse(&keys.cell).map_err(|error| at(error.under("cell")))?;
            columns.push(SkuColumn { heading: keys.heading.clone(), cell });
        }
        let has = |wanted: &[Piece]| {
            columns.iter().any(|column| column.cell.pieces.iter().any(|piece| wanted.contains(piece)))
        };
        if !has(&[Piece::Sku]) {
            let text = "has no column with {sku}; expected is one, in which the new SKU stands";
            return Err(DeclarationError::new(text).under("columns"));
        }
        if !has(&[Piece::ListingId, Piece::OldSku]) {
            let text = "has no column with {listing_id} or {old_sku}; expected is one, by which the storefront finds the offer";
            return Err(DeclarationError::new(text).under("columns"));
        }
        Ok(SkuTable { separator, columns })
    }
}

impl SkuTable {
    /// The options by whose names its cells ask.
    pub fn option_names(&self) -> impl Iterator<Item = &str> {
        let pieces = self.columns.iter().flat_map(|column| &column.cell.pieces);
        pieces.filter_map(|piece| match piece {
            Piece::Option(name) => Some(name.as_str()),
            _ => None,
        })
    }
}

impl SkuCell {
    fn parse(typed: &str) -> Result<Self, DeclarationError> {
        if may_be_a_formula(typed) {
            let text = format!(
                "is {}, which a spreadsheet takes for a formula; expected is a text that begins otherwise, such as with '",
                shown(typed)
            );
            return Err(DeclarationError::new(text));
        }
        let template = Template::parse(typed)?;
        let mut pieces = Vec::new();
        for piece in template.texts_and_names() {
            pieces.push(match piece {
                Ok("") => continue,
                Ok(text) => Piece::Text(text.to_owned()),
                Err("listing_id") => Piece::ListingId,
                Err("sku") => Piece::Sku,
                Err("old_sku") => Piece::OldSku,
                Err("title") => Piece::Title,
                Err("options") => Piece::Options,
                Err(name) => match name.strip_prefix("option.").filter(|name| !name.trim().is_empty()) {
                    Some(option) => Piece::Option(text::fold(option)),
                    None => {
                        return Err(DeclarationError::new(format!(
                            "has the placeholder {}; expected are {PLACEHOLDERS} alone",
                            shown(&format!("{{{name}}}"))
                        )));
                    }
                },
            });
        }
        Ok(Self { pieces })
    }

    /// The cell of an offer. An option that the offer does not have is empty.
    pub fn filled(&self, row: &SkuRow<'_>) -> FilledCell {
        let mut text = String::new();
        let mut beginning = None;
        for piece in &self.pieces {
            let (value, of) = match piece {
                // No cell is declared to begin so, but what stands before it may be empty.
                Piece::Text(text) => (text.clone(), Some(Beginning::Words)),
                Piece::ListingId => (row.listing_id.to_owned(), Some(Beginning::Id)),
                Piece::Sku => (row.sku.to_owned(), Some(Beginning::Id)),
                Piece::OldSku => (row.old_sku.to_owned(), Some(Beginning::Id)),
                Piece::Title => (row.title.to_owned(), Some(Beginning::Words)),
                // Text, and so always something that JSON can hold; it begins with a bracket.
                Piece::Options => (serde_json::to_string(row.options).unwrap_or_default(), None),
                Piece::Option(name) => {
                    let mut pairs = row.options.iter();
                    let value = pairs.find(|(there, _)| text::fold(there) == *name);
                    (value.map_or("", |(_, value)| value).to_owned(), Some(Beginning::Words))
                }
            };
            if text.trim_start_matches(' ').is_empty() && may_be_a_formula(&value) {
                beginning = of;
            }
            text += &value;
        }
        FilledCell { text, formula: beginning }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(cell: &str, title: &str, value: &str, sku: &str) -> FilledCell {
        let options = Options::from_pairs([("Size", value)]).unwrap();
        let row = SkuRow { listing_id: "-7", options: &options, title, old_sku: "OLD", sku };
        SkuCell::parse(cell).unwrap().filled(&row)
    }

    #[test]
    fn placeholders_stand_for_what_is_said_of_the_offer() {
        for (cell, want) in [
            ("{listing_id}", "-7"),
            ("no {listing_id}/{sku} ({old_sku})", "no -7/AP-1 (OLD)"),
            ("{title}: {option.size}{option.Colour}", "Apron: Large"),
            ("{options}", r#"{"Size":"Large"}"#),
            ("", ""),
        ] {
            assert_eq!(filled(cell, "Apron", "Large", "AP-1").text, want, "{cell}");
        }
    }

    #[test]
    fn a_cell_that_begins_a_formula_says_whether_an_id_or_free_text_does() {
        for (cell, title, value, sku, want) in [
            ("{listing_id}", "", "", "", Some(Beginning::Id)),
            ("{sku}", "", "", "=1+1", Some(Beginning::Id)),
            ("{title}", "=cmd", "", "", Some(Beginning::Words)),
            ("  {title}", "  @x", "", "", Some(Beginning::Words)),
            ("{option.Size}", "", "+3", "", Some(Beginning::Words)),
            ("{title}{option.Size}", "", "-3", "", Some(Beginning::Words)),
            ("{title}", "\tx", "", "", Some(Beginning::Words)),
            ("{title}-{option.Size}", "", "3", "", Some(Beginning::Words)),
            ("'{title}", "=cmd", "", "", None),
            ("{title}{option.Size}", "Apron", "-3", "", None),
            ("{options}", "", "=1", "", None),
        ] {
            assert_eq!(filled(cell, title, value, sku).formula, want, "{cell} {title} {value} {sku}");
        }
    }
}
