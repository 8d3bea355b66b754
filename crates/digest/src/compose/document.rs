//! A document as blocks, before it is text or HTML.
//!
//! Must not know what it is about. Every text in it is cleaned when it is put in ([`Document::push`] and [`line`]). Start
//! reading at [`Block`].

use crate::clean::{cut, cut_sentence, isolated, sentence};

/// A document.
#[derive(Clone, PartialEq, Default, Debug)]
pub(super) struct Document {
    pub(super) blocks: Vec<Block>,
}

/// How much something presses; words say it too.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Tone {
    Now,
    Repair,
    Watch,
}

#[derive(Clone, PartialEq, Debug)]
pub(super) enum Block {
    /// What it is, in one line.
    Title(String),
    /// The sentence that matters most.
    Lead(String),
    /// A part begins, with how much is in it.
    Heading { text: String, count: String },
    /// A paragraph.
    Text(String),
    /// One thing to do or to know.
    Item(Item),
    /// Short lines.
    List(Vec<String>),
    /// Numbers with what they are of; the last is the sum of the others.
    Sum(Vec<(String, u64)>),
    /// Shares, each with a bar, in columns.
    Shares(Shares),
}

/// One thing to do or to know.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Item {
    pub(super) tone: Tone,
    /// How long there is.
    pub(super) when: Option<String>,
    /// What is wrong.
    pub(super) head: String,
    /// What to do, and more.
    pub(super) lines: Vec<String>,
    /// Something to copy and send, behind what it is.
    pub(super) quote: Option<(String, String)>,
    /// Where to look, with what is written there.
    pub(super) links: Vec<(String, String)>,
}

/// Shares of the same things, side by side.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Shares {
    /// What each column is of.
    pub(super) columns: Vec<String>,
    /// What each row is of, with a share for each column.
    pub(super) rows: Vec<(String, Vec<Bar>)>,
}

/// A share of which a bar is drawn.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Bar {
    /// In per cent, rounded down; `None`: nothing was counted.
    pub(super) per_cent: Option<u8>,
    pub(super) said: String,
}

impl Document {
    pub(super) fn title(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Title(line(text)));
    }

    pub(super) fn lead(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Lead(line(text)));
    }

    pub(super) fn heading(&mut self, text: impl Into<String>, count: impl Into<String>) {
        self.blocks.push(Block::Heading { text: line(text), count: line(count) });
    }

    pub(super) fn text(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Text(line(text)));
    }

    pub(super) fn list(&mut self, lines: impl IntoIterator<Item = String>) {
        let lines: Vec<String> = lines.into_iter().map(line).collect();
        if !lines.is_empty() {
            self.blocks.push(Block::List(lines));
        }
    }

    /// Says how many of a list have no room, and which command has them.
    pub(super) fn more(&mut self, all: usize, most: usize, command: &str) {
        if all > most {
            self.text(format!("And {} more; `{command}` on your machine lists all of them.", all - most));
        }
    }

    pub(super) fn push(&mut self, block: Block) {
        self.blocks.push(block);
    }
}

/// A text as it stands in a document: on one line, without control characters, with what is to be kept together.
pub(super) fn line(text: impl Into<String>) -> String {
    sentence(&text.into())
}

/// The same, cut to so many columns.
pub(super) fn cut_line(text: &str, columns: usize) -> String {
    cut_sentence(text, columns)
}

/// A text that is not ours, in a sentence.
pub(super) fn theirs(text: &str, columns: usize) -> String {
    isolated(&cut(text, columns)).to_string()
}
