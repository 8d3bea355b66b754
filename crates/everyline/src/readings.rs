//! What the option text of a book says, and in what its offers contradict what they lead to.
//!
//! Owns that the links which the matcher resolves are held against what is read. Must not know how text is read.

use links::Vocabulary;
use model::Book;
use model::reading::{HeldLinks, Readings};

/// Reads every row of a book, and holds its offers against the variants that they lead to.
pub fn read_book(book: &Book, vocabulary: &Vocabulary) -> Readings {
    Readings { links: held(book, vocabulary), ..links::read_book(book, vocabulary) }
}

/// In what a book's offers contradict the variants that they lead to; `None` where one of the two tables is not given.
pub fn held(book: &Book, vocabulary: &Vocabulary) -> Option<HeldLinks> {
    let (offers, variants) = (book.offers.as_ref()?, book.variants.as_ref()?);
    let linked = matcher::links_of_offers(book);
    let contradictions = links::hold(vocabulary, offers, variants, &linked);
    Some(HeldLinks::new(linked.into_iter().zip(contradictions)))
}
