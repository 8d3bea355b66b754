//! Exports: which file of a folder a request is, how it is written, and how its rows become records.
//!
//! Must not know what stands in a file. Start reading at [`FileForm`].

use super::at::At;
use super::error::DeclarationError;
use super::keys::RequestKeys;
use crate::bad_row::shown;

/// Which file a request is, and how it is written; what is `None` is told from the file.
#[derive(Clone, Debug)]
pub struct FileForm {
    /// Its name in the folder; `*` stands for any text.
    pub name: String,
    /// What stands between the cells of a row of text.
    pub separator: Option<char>,
    /// The encoding of text, by its name in the Encoding Standard.
    pub encoding: Option<String>,
    /// The sheet, of a spreadsheet.
    pub sheet: Option<String>,
    /// The row with the names of the columns, from 1.
    pub header_row: Option<u32>,
    pub(crate) group: Option<Group>,
    pub(crate) numbered: Option<Numbered>,
}

/// Rows that are one record together: those that say the same in a column, or nothing behind one that says something.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    /// The column that says which rows belong together.
    pub(crate) by: String,
    /// The name under which a record has its rows.
    pub(crate) into: String,
    /// Where the list of rows stands in a JSON document; in a table it is all of it.
    pub(crate) at: Option<At>,
}

/// Columns that a record has several times, with a number in the name: `Item 1`, `Item 2`.
#[derive(Clone, Debug)]
pub(crate) struct Numbered {
    /// Their names, with `#` in place of the number.
    pub(crate) columns: Vec<String>,
    /// The name under which a record has a list of them, one entry for each number under which anything stands.
    pub(crate) into: String,
}

impl FileForm {
    /// Reads the keys of a request that is a file.
    pub(super) fn of(keys: &RequestKeys, name: &str) -> Result<Self, DeclarationError> {
        let expected = r#"the name of a file in the folder, such as "orders.csv" or "orders-*.csv""#;
        if name.is_empty() || name.contains(['/', '\\', '\0']) {
            return Err(DeclarationError::found(shown(name), expected).under("file"));
        }
        let beside = [
            ("path", keys.path.is_some()),
            ("query", !keys.query.is_empty()),
            ("for_each", keys.for_each.is_some()),
            ("pages", keys.pages.is_some()),
            ("changes", keys.changes.is_some()),
            ("count", keys.count.is_some()),
            ("count_header", keys.count_header.is_some()),
        ];
        if let Some((key, _)) = beside.into_iter().find(|(_, is_given)| *is_given) {
            return Err(DeclarationError::new(format!("has both file and {key}; expected is one of them")));
        }
        let separator = keys.separator.as_deref().map(|text| {
            separator(text).ok_or_else(|| {
                let expected = r#"one character, such as ";", or "tab""#;
                DeclarationError::found(shown(text), expected).under("separator")
            })
        });
        let header_row = keys.header_row.map(|row| {
            u32::try_from(row.0).ok().filter(|row| *row > 0).ok_or_else(|| {
                DeclarationError::found(row.0, "the number of a row, from 1").under("header_row")
            })
        });
        Ok(Self {
            name: name.to_owned(),
            separator: separator.transpose()?,
            encoding: keys.encoding.clone(),
            sheet: keys.sheet.clone(),
            header_row: header_row.transpose()?,
            group: group(keys)?,
            numbered: numbered(keys)?,
        })
    }

    /// Whether a file of this name is meant.
    pub fn is_meant(&self, name: &str) -> bool {
        fits(&self.name, name)
    }
}

fn group(keys: &RequestKeys) -> Result<Option<Group>, DeclarationError> {
    let Some(group) = &keys.group else { return Ok(None) };
    let under = |key: &'static str| move |error: DeclarationError| error.under(key).under("group");
    for (key, text) in [("by", &group.by), ("into", &group.into)] {
        if text.is_empty() {
            return Err(under(key)(DeclarationError::found("empty", "a name")));
        }
    }
    let at = group.at.as_deref().map(At::parse).transpose().map_err(under("at"))?;
    Ok(Some(Group { by: group.by.clone(), into: group.into.clone(), at }))
}

fn numbered(keys: &RequestKeys) -> Result<Option<Numbered>, DeclarationError> {
    let Some(numbered) = &keys.numbered else { return Ok(None) };
    let under = |key: &'static str| move |error: DeclarationError| error.under(key).under("numbered");
    if numbered.columns.is_empty() || numbered.into.is_empty() {
        let error = DeclarationError::found("empty", r#"names such as "Item #""#);
        return Err(under(if numbered.into.is_empty() { "into" } else { "columns" })(error));
    }
    for (index, column) in numbered.columns.iter().enumerate() {
        if column.matches('#').count() != 1 {
            let expected = r##"the name of a column with one # in place of its number, such as "Item #""##;
            let error = DeclarationError::found(shown(column), expected).in_entry(index + 1);
            return Err(under("columns")(error));
        }
    }
    Ok(Some(Numbered { columns: numbered.columns.clone(), into: numbered.into.clone() }))
}

fn separator(text: &str) -> Option<char> {
    if text == "tab" {
        return Some('\t');
    }
    let mut letters = text.chars();
    let letter = letters.next().filter(|letter| letter.is_ascii() && !letter.is_alphanumeric())?;
    (letters.next().is_none() && !matches!(letter, '"' | '\n' | '\r')).then_some(letter)
}

/// Whether a name is of a form in which `*` stands for any text.
fn fits(form: &str, name: &str) -> bool {
    let Some((start, rest)) = form.split_once('*') else { return form == name };
    let Some(mut name) = name.strip_prefix(start) else { return false };
    let mut parts: Vec<&str> = rest.split('*').collect();
    let last = parts.pop().unwrap_or_default();
    for part in parts {
        match name.find(part) {
            Some(at) => name = &name[at + part.len()..],
            None => return false,
        }
    }
    name.len() >= last.len() && name.ends_with(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_star_stands_for_any_text() {
        for (form, name, want) in [
            ("orders.csv", "orders.csv", true),
            ("orders.csv", "Orders.csv", false),
            ("orders-*.csv", "orders-2026-11-24.csv", true),
            ("orders-*.csv", "orders.csv", false),
            ("*.csv", ".csv", true),
            ("a*b*c", "a1b2c", true),
            ("a*b*c", "a1c2b", false),
            ("ab*b", "ab", false),
            ("*", "", true),
        ] {
            assert_eq!(fits(form, name), want, "{form} {name}");
        }
    }

    #[test]
    fn a_separator_is_one_mark() {
        for (text, want) in
            [(";", Some(';')), ("tab", Some('\t')), ("|", Some('|')), ("", None), ("a", None), ("\"", None)]
        {
            assert_eq!(separator(text), want, "{text}");
        }
    }
}
