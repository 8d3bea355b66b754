//! Composes what is sent: the digest of a morning, and the alert that cannot wait. Values in, texts out.
//!
//! [`digest()`] and [`alert()`] build one document of blocks; `text` and `html` write that, so that both say the same. Must
//! not know how anything is sent, or what time it is. Start reading at [`Morning`].

mod alert;
mod customer;
mod document;
mod html;
mod input;
mod items;
mod morning;
mod proof;
mod subject;
mod text;

use model::Finding;
use model::rates::Share;
use serde_json::{Value, json};

pub use alert::{Alert, alert};
pub use input::{Aside, Measured, Morning, ShopMorning, SourceRead, Undelivered};
pub use morning::digest;

use crate::compose::document::Document;

/// What is sent: text and HTML say the same.
#[derive(Clone, PartialEq, Debug)]
pub struct Composed {
    /// One line: the worst first.
    pub subject: String,
    /// Plain text, with lines of at most 72 columns but for addresses, ending in a line feed.
    pub text: String,
    /// A page of HTML that needs nothing from elsewhere.
    pub html: String,
    /// The same for programs.
    pub data: Value,
}

impl Composed {
    fn new(subject: String, document: &Document, data: Value) -> Self {
        Self { text: text::written(document), html: html::written(document, &subject), subject, data }
    }
}

/// The findings as programs read them, with what is said of each.
fn as_data<'f>(findings: impl IntoIterator<Item = &'f Finding>, zone: chrono_tz::Tz) -> Vec<Value> {
    findings.into_iter().map(|finding| crate::json::value(finding, zone)).collect()
}

/// How well it went, as programs read it.
fn share_as_data(share: Share) -> Value {
    json!({ "good": share.good, "of": share.of })
}
