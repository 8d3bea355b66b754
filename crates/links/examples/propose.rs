//! Proposes a variant for each offer of a folder with `offers.csv`, `variants.csv` and `listing_products.csv`.
//!
//! To standard output goes one proposal a line as JSON, in the order of the offers; to standard error the seconds from the
//! tables in memory to the proposals. It is how `cargo xtask links` and `cargo xtask bench links` have something to look
//! at. Start reading at [`main`].
//!
//!     cargo run -p links@0.1.0 --example propose -- FOLDER

#![allow(clippy::unwrap_used, reason = "a folder that is not as it should be ends it")]

#[path = "../tests/proposing/shop.rs"]
mod shop;

use std::error::Error;
use std::io::{BufWriter, Write as _, stdout};
use std::path::PathBuf;
use std::time::Instant;

use links::{Answer, Proposal, Vocabulary, propose};
use model::book::{Offer, Variant};
use serde_json::{Value, json};
use shop::Shop;

#[expect(clippy::print_stderr, reason = "what it took, beside the answer")]
fn main() -> Result<(), Box<dyn Error>> {
    let shop = Shop::read(&PathBuf::from(std::env::args_os().nth(1).ok_or("which folder?")?));

    let started = Instant::now();
    let vocabulary = Vocabulary::built_in();
    let proposals = propose(&vocabulary, &shop.tables());
    let took = started.elapsed();

    let mut output = BufWriter::new(stdout().lock());
    for (offer, proposal) in shop.offers.iter().zip(&proposals) {
        writeln!(output, "{}", said(offer, proposal, &shop.variants))?;
    }
    output.flush()?;
    eprintln!("{:.3}", took.as_secs_f64());
    Ok(())
}

/// A proposal as a line says it.
fn said(offer: &Offer, proposal: &Proposal, variants: &[Variant]) -> Value {
    let (answer, proposed, candidates) = match &proposal.answer {
        Answer::Proposed(place) => ("proposed", variants.get(*place), 1),
        Answer::Choose(places) => ("choose", None, places.len()),
        Answer::Nothing => ("none", None, 0),
    };
    json!({
        "listing_id": offer.listing_id,
        "options": offer.options,
        "answer": answer,
        "supplier": proposed.map(|variant| &variant.supplier),
        "variant_id": proposed.map(|variant| &variant.variant_id),
        "candidates": candidates,
        "why": proposal.why.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}
