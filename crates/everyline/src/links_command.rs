//! `everyline links propose`: which variant each offer should lead to, and why.
//!
//! Must not know how a proposal is made. Start reading at [`run`]; `write` says how the answer looks.

mod write;

use std::collections::{BTreeSet, HashMap};
use std::path::Path;

use intake::{Progress, ReadSettings};
use links::{Answer, ByHand, Proposal, Tables, propose};
use matcher::{Facts, done_by_hand};
use model::Book;

use crate::arguments::ProposeLinksArguments;
use crate::audit::{USUAL_CONFIGURATION, VOCABULARY, list_of_bad_rows};
use crate::clock;
use crate::configuration::Settings;
use crate::exit::Exit;
use crate::live::judge::{Prepared, Question};
use crate::opened::{self, Opened};
use crate::terminal::{ReadingBar, tell, write_data};
use crate::trouble::Trouble;

/// What could not be done, in every error of this command.
const NOTHING: &str = "no link was proposed";

/// Proposes links.
///
/// # Errors
/// Where the tables, the configuration or the ledger cannot be used, or there are no offers or variants.
pub fn run(asked: &ProposeLinksArguments) -> Result<Exit, Trouble> {
    let Known { mut book, by_hand, skipped } = match &asked.from {
        Some(folder) => of_folder(folder, asked)?,
        None => of_ledger(asked)?,
    };
    let (Some(mut offers), Some(variants)) = (book.offers.take(), book.variants.take()) else {
        let missing = if book.variants.is_some() { "offers" } else { "variants" };
        return Err(Trouble::new(NOTHING, format!("there is no table {missing}"))
            .help("links lead from what the storefront offers to what the suppliers make: both tables are needed"));
    };
    let known: BTreeSet<&str> = offers.iter().map(|offer| offer.listing_id.as_str()).collect();
    if let Some(unknown) = asked.listings.iter().find(|listing| !known.contains(listing.as_str())) {
        return Err(Trouble::new(NOTHING, format!("no offer is of a listing {unknown:?}"))
            .help("a listing's id is written as in the table of offers, to the letter"));
    }
    let by_hand = places(&by_hand, &book, &offers, &variants);
    let tables = Tables {
        offers: &offers,
        variants: &variants,
        listing_products: book.listing_products.as_deref().unwrap_or_default(),
        rules: &[],
        by_hand: &by_hand,
    };
    let mut proposals = propose(&VOCABULARY, &tables);
    if !asked.listings.is_empty() {
        let is_asked: Vec<bool> =
            offers.iter().map(|offer| asked.listings.iter().any(|id| id == offer.listing_id.as_str())).collect();
        keep(&mut offers, &is_asked);
        keep(&mut proposals, &is_asked);
    }
    write_data(&write::written(&offers, &variants, &proposals, asked.format))?;
    if skipped > 0 {
        tell(&format!("not complete: {skipped} rows were skipped"));
        return Ok(Exit::Incomplete);
    }
    let is_proposed = |proposal: &Proposal| matches!(proposal.answer, Answer::Proposed(_));
    Ok(if proposals.iter().all(is_proposed) { Exit::Nothing } else { Exit::Findings })
}

fn keep<T>(all: &mut Vec<T>, is_kept: &[bool]) {
    let mut is_kept = is_kept.iter();
    all.retain(|_| is_kept.next().copied().unwrap_or(false));
}

/// What proposals are made of.
struct Known {
    book: Book,
    by_hand: Vec<matcher::ByHand>,
    /// Rows that were left out.
    skipped: u64,
}

fn of_folder(dir: &Path, asked: &ProposeLinksArguments) -> Result<Known, Trouble> {
    let settings = Settings::read(asked.config.as_deref(), asked.shop.as_deref())?;
    let read_settings = ReadSettings { zone: settings.zone, rules: &settings.rules };
    let bar = ReadingBar::new(false);
    let mut progress = |progress: Progress| bar.set(progress.bytes_read, progress.bytes_total);
    let read = intake::read_part(dir, &read_settings, &mut progress);
    bar.clear();
    let folder = read.map_err(|error| {
        Trouble::new(NOTHING, error).help("`everyline audit --help` names the tables, and the columns that they need")
    })?;
    if folder.bad_row_count > 0 && !asked.skip_bad_rows {
        return Err(Trouble::new(NOTHING, list_of_bad_rows(&folder))
            .help("mend these rows and run it again; with --skip-bad-rows they are left out"));
    }
    if folder.bad_row_count > 0 {
        tell(&format!("left out: {}", list_of_bad_rows(&folder)));
    }
    let readings = links::read_book(&folder.book, &VOCABULARY);
    let by_hand = done_by_hand(&folder.book, Facts::of_tables(&readings, &[]), &settings.rules, clock::now());
    Ok(Known { book: folder.book, by_hand, skipped: folder.rows_skipped })
}

fn of_ledger(asked: &ProposeLinksArguments) -> Result<Known, Trouble> {
    opened::run(async {
        let config = asked.config.as_deref().unwrap_or(Path::new(USUAL_CONFIGURATION));
        let Opened { ledger, shop, settings } = Opened::from(config, asked.shop.as_deref()).await?;
        let now = clock::now();
        let question = Question { shop, settings, as_of: None, now };
        let prepared = Prepared::of(&ledger, &question).await.map_err(opened::of_ledger)?;
        ledger.close().await;
        let by_hand = done_by_hand(&prepared.book, prepared.facts(), &prepared.rules, now);
        Ok(Known { book: prepared.book, by_hand, skipped: 0 })
    })
}

/// What was done by hand, by the places of offers and variants.
fn places(
    by_hand: &[matcher::ByHand],
    book: &Book,
    offers: &[model::book::Offer],
    variants: &[model::book::Variant],
) -> Vec<ByHand> {
    if by_hand.is_empty() {
        return Vec::new();
    }
    let offers: HashMap<_, usize> =
        offers.iter().enumerate().map(|(place, offer)| ((&offer.listing_id, &offer.options), place)).collect();
    let variants: HashMap<_, usize> = variants
        .iter()
        .enumerate()
        .map(|(place, variant)| ((&variant.supplier, &variant.variant_id), place))
        .collect();
    let place = |done: &matcher::ByHand| {
        let line = book.order_lines.get(done.order_line)?;
        let offer = *offers.get(&(line.listing_id.as_ref()?, line.options.as_ref()?))?;
        let variant = *variants.get(&(&done.supplier, &done.variant_id))?;
        Some(ByHand { offer, variant, order_id: line.order_id.clone() })
    };
    by_hand.iter().filter_map(place).collect()
}
