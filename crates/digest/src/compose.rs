//! Composes what is sent: the digest of a morning, and the alert that cannot wait. Values in, texts out.
//!
//! [`digest()`] and [`alert()`] build one document of blocks; `text` and `html` write that, so that both say the same. Must
//! not know how anything is sent, or what time it is. Start reading at [`Morning`].

mod alert;
mod customer;
mod data;
mod document;
mod html;
mod input;
mod items;
mod limits;
mod morning;
mod pages;
mod proof;
mod settled;
mod subject;
mod text;

use serde_json::Value;

pub use alert::{Alert, alert};
pub use html::shown;
pub use input::{Aside, Measured, Morning, Settled, ShopMorning, SourceRead, Undelivered};
pub use items::{in_address, order_page};
pub use morning::digest;
pub use pages::Pages;
pub use proof::{NamedShare, SHARES, SHARES_MEAN, median_said, share_said};

use crate::compose::document::Document;

/// What is sent: text and HTML say the same, in 98,000 bytes each.
#[derive(Clone, PartialEq, Debug)]
pub struct Composed {
    /// One line: the worst first.
    pub subject: String,
    /// Plain text, with lines of at most 72 columns but for addresses, ending in a line feed.
    pub text: String,
    /// A page of HTML that needs nothing from elsewhere.
    pub html: String,
    /// The same for programs; what has no room in it is counted.
    pub data: Value,
}

impl Composed {
    /// Without what is for programs.
    fn new(subject: String, document: &Document) -> Self {
        Self {
            text: text::written(document),
            html: html::written(document, &subject),
            subject,
            data: Value::Null,
        }
    }
}
