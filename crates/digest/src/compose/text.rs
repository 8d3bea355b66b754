//! A document as plain text.
//!
//! Must not know what it is about. Start reading at [`written`].

use super::document::{Bar, Block, Document};
use crate::clean::{END_OF_ISOLATE, ISOLATE, NO_BREAK, clean_isolating};
use crate::page::wrap;

/// The most columns of a line; addresses are longer where they must be.
const COLUMNS: usize = 72;

/// Columns of the name of a number.
const SUM_NAME: usize = 36;

/// Columns of the name of a share, of a share, and of its bar.
const SHARE_NAME: usize = 24;
const SHARE: usize = 24;
const BAR: usize = 20;

/// The document as plain text.
pub(super) fn written(document: &Document) -> String {
    let mut text = String::new();
    for block in &document.blocks {
        if !text.is_empty() {
            text.push('\n');
        }
        block_written(&mut text, block);
    }
    text
}

fn block_written(text: &mut String, block: &Block) {
    match block {
        Block::Title(title) => {
            paragraph(text, "", title);
        }
        Block::Lead(words) | Block::Text(words) => paragraph(text, "", words),
        Block::Heading { text: words, count } => {
            let title = words.to_uppercase();
            let head = if count.is_empty() { title } else { format!("{title} - {count}") };
            paragraph(text, "", &head);
            line(text, &"-".repeat(COLUMNS.min(crate::clean::width(&head))));
        }
        Block::Item(item) => {
            if let Some(when) = &item.when {
                paragraph(text, "", when);
            }
            let indent = "  ";
            paragraph(text, indent, &item.head);
            for words in &item.lines {
                paragraph(text, indent, words);
            }
            if let Some((before, quote)) = &item.quote {
                paragraph(text, indent, before);
                paragraph(text, "  | ", quote);
            }
            for (words, address) in &item.links {
                paragraph(text, indent, words);
                line(text, &format!("{indent}{address}"));
            }
        }
        Block::List(lines) => {
            for words in lines {
                for (index, part) in wrapped(words, COLUMNS - 2).into_iter().enumerate() {
                    line(text, &format!("{}{part}", if index == 0 { "- " } else { "  " }));
                }
            }
        }
        Block::Sum(parts) => {
            let digits = parts.iter().map(|(_, number)| number.to_string().len()).max().unwrap_or_default();
            for (index, (name, number)) in parts.iter().enumerate() {
                if index + 1 == parts.len() {
                    line(text, &format!("{:SUM_NAME$}{}", "", "-".repeat(digits)));
                }
                line(text, &format!("{name:<SUM_NAME$}{number:>digits$}"));
            }
        }
        Block::Shares(shares) => {
            columns(text, "", shares.columns.iter().map(String::as_str));
            for (name, bars) in &shares.rows {
                let drawn: Vec<String> = bars.iter().map(drawn).collect();
                columns(text, name, drawn.iter().map(String::as_str));
                columns(text, "", bars.iter().map(|bar| bar.said.as_str()));
            }
        }
    }
}

fn drawn(bar: &Bar) -> String {
    let full = bar.per_cent.map_or(0, |share| usize::from(share) * BAR / 100).min(BAR);
    format!("[{}{}]", "#".repeat(full), ".".repeat(BAR - full))
}

/// A line of a name and columns.
fn columns<'c>(text: &mut String, name: &str, cells: impl Iterator<Item = &'c str>) {
    let cells: String = cells.map(|cell| format!("{cell:<SHARE$}")).collect();
    line(text, &format!("{name:<SHARE_NAME$}{cells}"));
}

/// The lines of a paragraph. An isolate ends with its line (UAX #9, rule X10: a line feed ends a paragraph), so it begins again
/// on the next.
fn wrapped(words: &str, columns: usize) -> Vec<String> {
    let mut is_inside = false;
    let lines = wrap(words, columns).into_iter().map(|line| {
        let begins = if is_inside { format!("{ISOLATE}{line}") } else { line };
        let turns = begins.chars().rev().find(|c| matches!(*c, ISOLATE | END_OF_ISOLATE));
        is_inside = turns == Some(ISOLATE);
        clean_isolating(&begins).replace(NO_BREAK, " ")
    });
    lines.collect()
}

fn paragraph(text: &mut String, indent: &str, words: &str) {
    for part in wrapped(words, COLUMNS - indent.len()) {
        line(text, &format!("{indent}{part}"));
    }
}

fn line(text: &mut String, words: &str) {
    text.push_str(words.trim_end());
    text.push('\n');
}
