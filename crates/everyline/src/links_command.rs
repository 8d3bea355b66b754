//! `everyline links`: which variant each offer should lead to, and why; and what is wrong with those that it leads to.
//!
//! Must not know how a proposal is made or an offer judged. Start reading at [`propose_links`] and [`check::run`];
//! `write` says how proposals look.

pub mod check;
mod write;

use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::Path;

use chrono_tz::Tz;
use intake::{Progress, ReadSettings};
use links::{Answer, ByHand, Proposal, Tables, propose};
use matcher::{Facts, Whole, done_by_hand};
use model::book::{Offer, Variant};
use model::finding::Evidence;
use model::reading::Readings;
use model::{Book, Finding, ListingId, Options};

use crate::arguments::{OffersArguments, ProposeLinksArguments};
use crate::audit::{USUAL_CONFIGURATION, VOCABULARY, list_of_bad_rows};
use crate::clock;
use crate::configuration::Settings;
use crate::exit::Exit;
use crate::live::judge::{Prepared, Question};
use crate::opened::{self, Opened};
use crate::terminal::{ReadingBar, tell, write_data};
use crate::trouble::Trouble;
use write::Answered;

/// Proposes links.
///
/// # Errors
/// Where the tables, the configuration or the ledger cannot be used, or there are no offers or variants.
pub fn propose_links(asked: &ProposeLinksArguments) -> Result<Exit, Trouble> {
    let known = Known::read(&asked.of, "no link was proposed")?;
    let Known { mut book, by_hand, findings, skipped, .. } = known;
    let unlinked = unlinked(&findings);
    let mut offers = book.offers.take().unwrap_or_default();
    let variants = book.variants.take().unwrap_or_default();
    let by_hand = places(&by_hand, &book, &offers, &variants);
    let tables = Tables {
        offers: &offers,
        variants: &variants,
        listing_products: book.listing_products.as_deref().unwrap_or_default(),
        rules: &[],
        by_hand: &by_hand,
    };
    let mut proposals = propose(&VOCABULARY, &tables);
    if !asked.of.listings.is_empty() {
        let is_asked: Vec<bool> = offers
            .iter()
            .map(|offer| asked.of.listings.iter().any(|id| id == offer.listing_id.as_str()))
            .collect();
        keep(&mut offers, &is_asked);
        keep(&mut proposals, &is_asked);
    }
    let has_no_link: Vec<bool> =
        offers.iter().map(|offer| unlinked.contains(&(&offer.listing_id, &offer.options))).collect();
    let answered =
        Answered { offers: &offers, variants: &variants, proposals: &proposals, has_no_link: &has_no_link };
    write_data(&answered.written(asked.format))?;
    // What is not on sale need not lead anywhere.
    let is_well = |(offer, proposal): (&Offer, &Proposal)| {
        !offer.buyable || matches!(proposal.answer, Answer::Proposed(_))
    };
    Ok(exit(skipped, offers.iter().zip(&proposals).all(is_well)))
}

/// How a run ends that left out some rows, or none.
fn exit(skipped: u64, is_well: bool) -> Exit {
    if skipped > 0 {
        tell(&format!("not complete: {skipped} rows were skipped"));
        return Exit::Incomplete;
    }
    if is_well { Exit::Nothing } else { Exit::Findings }
}

/// The offers that can be bought and have no link in force, nor one that is intended.
fn unlinked(findings: &[Finding]) -> HashSet<(&ListingId, &Options)> {
    let unlinked = findings.iter().filter_map(|finding| match &finding.evidence {
        Evidence::Unlinked(evidence) => Some(evidence),
        _ => None,
    });
    let without = unlinked.flat_map(|evidence| {
        let offers =
            evidence.offers.iter().filter(|offer| offer.in_force.is_empty() && offer.intended.is_empty());
        offers.map(|offer| (&evidence.listing_id, &offer.offer.options))
    });
    without.collect()
}

fn keep<T>(all: &mut Vec<T>, is_kept: &[bool]) {
    let mut is_kept = is_kept.iter();
    all.retain(|_| is_kept.next().copied().unwrap_or(false));
}

/// What proposals are made of.
struct Known {
    book: Book,
    by_hand: Vec<matcher::ByHand>,
    readings: Readings,
    /// About offers and links.
    findings: Vec<Finding>,
    zone: Tz,
    /// Rows that were left out.
    skipped: u64,
}

impl Known {
    /// Reads what is asked for; `failed` says what could not be done where that fails.
    fn read(asked: &OffersArguments, failed: &str) -> Result<Self, Trouble> {
        let known = match &asked.from {
            Some(folder) => Self::of_folder(folder, asked, failed)?,
            None => Self::of_ledger(asked)?,
        };
        known.check(&asked.listings, failed)?;
        Ok(known)
    }

    fn of_folder(dir: &Path, asked: &OffersArguments, failed: &str) -> Result<Self, Trouble> {
        let settings = Settings::read(asked.config.as_deref(), asked.shop.as_deref())?;
        let read_settings = ReadSettings { zone: settings.zone, rules: &settings.rules };
        let bar = ReadingBar::new(false);
        let mut progress = |progress: Progress| bar.set(progress.bytes_read, progress.bytes_total);
        let read = intake::read_part(dir, &read_settings, &mut progress);
        bar.clear();
        let folder = read.map_err(|error| {
            Trouble::new(failed, error)
                .help("`everyline audit --help` names the tables, and the columns that they need")
        })?;
        if folder.bad_row_count > 0 && !asked.skip_bad_rows {
            return Err(Trouble::new(failed, list_of_bad_rows(&folder))
                .help("mend these rows and run it again; with --skip-bad-rows they are left out"));
        }
        if folder.bad_row_count > 0 {
            tell(&format!("left out: {}", list_of_bad_rows(&folder)));
        }
        let readings = links::read_book(&folder.book, &VOCABULARY);
        let now = clock::now();
        let facts = || Facts::of_tables(&readings, &[]);
        let by_hand = done_by_hand(&folder.book, facts(), &settings.rules, now);
        let of_offers = matcher::reconcile_offers(&folder.book, facts(), &settings.rules, now);
        let findings = of_offers.outcome(&Whole::of(&folder.book), now).findings;
        let skipped = folder.rows_skipped;
        Ok(Self { book: folder.book, by_hand, readings, findings, zone: settings.zone, skipped })
    }

    fn of_ledger(asked: &OffersArguments) -> Result<Self, Trouble> {
        opened::run(async {
            let config = asked.config.as_deref().unwrap_or(Path::new(USUAL_CONFIGURATION));
            let Opened { ledger, shop, settings } = Opened::from(config, asked.shop.as_deref()).await?;
            let (now, zone) = (clock::now(), settings.zone);
            let question = Question { shop, settings, as_of: None, now };
            let prepared = Prepared::of(&ledger, &question).await.map_err(opened::of_ledger)?;
            ledger.close().await;
            let by_hand = done_by_hand(&prepared.book, prepared.facts(), &prepared.rules, now);
            let of_offers = matcher::reconcile_offers(&prepared.book, prepared.facts(), &prepared.rules, now);
            let findings = of_offers.outcome(&Whole::of(&prepared.book), now).findings;
            let readings = links::read_book(&prepared.book, &VOCABULARY);
            Ok(Self { book: prepared.book, by_hand, readings, findings, zone, skipped: 0 })
        })
    }

    /// An error where one of the two tables is missing that links lead from and to, or a listing that is asked for.
    fn check(&self, listings: &[String], failed: &str) -> Result<(), Trouble> {
        let missing = match (&self.book.offers, &self.book.variants) {
            (None, _) => "offers",
            (_, None) => "variants",
            (Some(offers), Some(_)) => {
                let known: BTreeSet<&str> = offers.iter().map(|offer| offer.listing_id.as_str()).collect();
                let unknown = listings.iter().find(|listing| !known.contains(listing.as_str()));
                return unknown.map_or(Ok(()), |unknown| {
                    Err(Trouble::new(failed, format!("no offer is of a listing {unknown:?}"))
                        .help("a listing's id is written as in the table of offers, to the letter"))
                });
            }
        };
        Err(Trouble::new(failed, format!("there is no table {missing}")).help(
            "links lead from what the storefront offers to what the suppliers make: both tables are needed",
        ))
    }
}

/// What was done by hand, by the places of offers and variants.
fn places(by_hand: &[matcher::ByHand], book: &Book, offers: &[Offer], variants: &[Variant]) -> Vec<ByHand> {
    if by_hand.is_empty() {
        return Vec::new();
    }
    let offers: HashMap<_, usize> = offers
        .iter()
        .enumerate()
        .map(|(place, offer)| ((&offer.listing_id, &offer.options), place))
        .collect();
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
