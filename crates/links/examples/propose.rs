//! Proposes a variant for each offer of a folder with `offers.csv`, `variants.csv` and `listing_products.csv`.
//!
//! To standard output goes one proposal a line as JSON, in the order of the offers; to standard error the seconds from the
//! tables in memory to the proposals. It is how `cargo xtask links` and `cargo xtask bench links` have something to look
//! at. Start reading at [`main`].
//!
//!     cargo run -p links@0.1.0 --example propose -- FOLDER

use std::collections::BTreeMap;
use std::error::Error;
use std::io::{BufWriter, Write as _, stdout};
use std::path::{Path, PathBuf};
use std::time::Instant;

use links::{Answer, Proposal, Tables, Vocabulary, propose};
use model::book::{ListingProduct, Offer, Variant};
use model::{ListingId, Options, Sku, SupplierId, VariantId};
use serde_json::{Value, json};

#[expect(clippy::print_stderr, reason = "what it took, beside the answer")]
fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or("which folder?")?);
    let offers = table(&folder.join("offers.csv"), |row| {
        Ok(Offer {
            listing_id: ListingId::new(row.cell("listing_id")?),
            sku: row.text("sku").and_then(Sku::new),
            title: row.text("title").map(str::to_owned),
            options: row.options()?,
            price: None,
            currency: None,
            buyable: true,
        })
    })?;
    let variants = table(&folder.join("variants.csv"), |row| {
        Ok(Variant {
            supplier: SupplierId::new(row.cell("supplier")?),
            variant_id: VariantId::new(row.cell("variant_id")?),
            sku: row.text("sku").and_then(Sku::new),
            product: row.text("product").map(str::to_owned),
            options: Some(row.options()?),
            unit_cost: None,
            currency: None,
            available: true,
        })
    })?;
    let listing_products = table(&folder.join("listing_products.csv"), |row| {
        Ok(ListingProduct {
            listing_id: ListingId::new(row.cell("listing_id")?),
            supplier: SupplierId::new(row.cell("supplier")?),
            product: row.cell("product")?.to_owned(),
        })
    })?;

    let started = Instant::now();
    let vocabulary = Vocabulary::built_in();
    let tables = Tables {
        offers: &offers,
        variants: &variants,
        listing_products: &listing_products,
        rules: &[],
        by_hand: &[],
    };
    let proposals = propose(&vocabulary, &tables);
    let took = started.elapsed();

    let mut output = BufWriter::new(stdout().lock());
    for (offer, proposal) in offers.iter().zip(&proposals) {
        writeln!(output, "{}", said(offer, proposal, &variants))?;
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

/// A row's cells that are not empty, by their columns.
struct Row(BTreeMap<String, String>);

impl Row {
    fn text(&self, column: &str) -> Option<&str> {
        self.0.get(column).map(String::as_str)
    }

    fn cell(&self, column: &str) -> Result<&str, Box<dyn Error>> {
        self.text(column).ok_or_else(|| format!("no {column} in {:?}", self.0).into())
    }

    fn options(&self) -> Result<Options, Box<dyn Error>> {
        let pairs: BTreeMap<String, String> =
            self.text("options").map(serde_json::from_str).transpose()?.unwrap_or_default();
        let columns = self.0.iter().filter_map(|(column, value)| {
            column.strip_prefix("option.").map(|name| (name.to_owned(), value.clone()))
        });
        Ok(Options::from_pairs(pairs.into_iter().chain(columns))?)
    }
}

fn table<T>(path: &Path, read: impl Fn(&Row) -> Result<T, Box<dyn Error>>) -> Result<Vec<T>, Box<dyn Error>> {
    let mut reader = csv::Reader::from_path(path)?;
    let columns = reader.headers()?.clone();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record?;
        let cells = columns.iter().zip(&record).filter(|(_, cell)| !cell.is_empty());
        rows.push(read(&Row(cells.map(|(column, cell)| (column.to_owned(), cell.to_owned())).collect()))?);
    }
    Ok(rows)
}
