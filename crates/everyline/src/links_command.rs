//! `everyline links`: which variant each offer should lead to, and why; and what is wrong with those that it leads to.
//!
//! Must not know how a proposal is made or an offer judged. Start reading at [`propose_links`] and [`check::run`];
//! `write` says how proposals look.

pub mod check;
mod desk;
pub mod export;
pub mod import;
pub mod listings;
mod proposed;
mod rule;
mod said;
pub mod send;
pub mod set;
pub mod sheet;
mod target;
mod warned;
mod write;

use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use intake::{Progress, ReadSettings};
use ledger::{LinkPart, Setting};
use links::{Answer, ByHand, Proposal, Tables, Vocabulary, propose};
use matcher::{Facts, Whole, done_by_hand};
use model::book::{LinkScope, Offer, Variant};
use model::finding::Evidence;
use model::reading::Readings;
use model::{Book, Finding, GoodRule, ListingId, Options, Rules};

use crate::arguments::{OffersArguments, ProposeLinksArguments};
use crate::audit::{BadRows, USUAL_CONFIGURATION};
use crate::clock;
use crate::configuration::{Settings, SheetSettings};
use crate::exit::Exit;
use crate::live::judge::{DoneByHand, Prepared, Question};
use crate::opened::{self, Opened};
use crate::readings;
use crate::terminal::{ReadingBar, tell, write_data};
use crate::trouble::Trouble;
use write::Answered;

/// Proposes links.
///
/// # Errors
/// Where the tables, the configuration or the ledger cannot be used, or there are no offers or variants.
pub fn propose_links(asked: &ProposeLinksArguments) -> Result<Exit, Trouble> {
    let known = Known::read(&asked.of, "no link was proposed")?;
    let book = known.book();
    let offers: Vec<Offer> =
        book.offers.iter().flatten().filter(|offer| asked.of.wants(&offer.listing_id)).cloned().collect();
    let variants = book.variants.as_deref().unwrap_or_default();
    let proposals = proposals(
        (&known.vocabulary, &known.good_rules),
        (book, known.facts(), known.rules()),
        known.now,
        &offers,
    );
    let findings = known.findings();
    let unlinked = unlinked(&findings);
    let has_no_link: Vec<bool> =
        offers.iter().map(|offer| unlinked.contains(&(&offer.listing_id, &offer.options))).collect();
    let answered = Answered {
        offers: &offers,
        variants,
        proposals: &proposals,
        has_no_link: &has_no_link,
        of_ledger: matches!(known.from, KnownFrom::Ledger(_)),
    };
    write_data(&answered.written(asked.format))?;
    // What is not on sale need not lead anywhere.
    let is_well = |(offer, proposal): (&Offer, &Proposal)| {
        !offer.buyable || matches!(proposal.answer, Answer::Proposed(_))
    };
    Ok(exit(known.skipped, offers.iter().zip(&proposals).all(is_well)))
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

/// What is known of the offers, and all that is needed to judge them.
struct Known {
    from: KnownFrom,
    /// What option text is read by.
    vocabulary: Arc<Vocabulary>,
    zone: Tz,
    now: DateTime<Utc>,
    /// Rows that were left out.
    skipped: u64,
    /// What the owner has answered before: kept in the ledger alone.
    good_rules: Vec<GoodRule>,
    /// What holds for new listings.
    sheet: SheetSettings,
}

enum KnownFrom {
    Folder(Box<OfFolder>),
    Ledger(Box<Prepared>),
}

struct OfFolder {
    book: Book,
    readings: Readings,
    rules: Rules,
}

impl Known {
    /// Reads what is asked for; `failed` says what could not be done where that fails.
    fn read(asked: &OffersArguments, failed: &str) -> Result<Self, Trouble> {
        let known = Self::read_any(asked, failed)?;
        known.check(&asked.listings, failed)?;
        Ok(known)
    }

    /// The same, whichever tables there are.
    fn read_any(asked: &OffersArguments, failed: &str) -> Result<Self, Trouble> {
        match &asked.from {
            Some(folder) => Self::of_folder(folder, asked, failed),
            None => Self::of_ledger(asked),
        }
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
        let bad_rows = BadRows {
            failed,
            without_them: "they are left out",
            may_be_skipped: asked.skip_bad_rows,
            quiet: false,
        };
        bad_rows.tell(&folder)?;
        let readings = readings::read_book(&folder.book, &settings.vocabulary);
        let Settings { rules, zone, vocabulary, sheet, .. } = settings;
        Ok(Self {
            from: KnownFrom::Folder(Box::new(OfFolder { book: folder.book, readings, rules })),
            vocabulary,
            zone,
            now: clock::now(),
            skipped: folder.rows_skipped,
            good_rules: Vec::new(),
            sheet,
        })
    }

    fn of_ledger(asked: &OffersArguments) -> Result<Self, Trouble> {
        opened::run(async {
            let config = asked.config.as_deref().unwrap_or(Path::new(USUAL_CONFIGURATION));
            let Opened { ledger, shop, settings } = Opened::from(config, asked.shop.as_deref()).await?;
            let (now, zone, vocabulary) = (clock::now(), settings.zone, Arc::clone(&settings.vocabulary));
            let sheet = settings.sheet.clone();
            let question = Question { shop, settings, as_of: None, now };
            let prepared = Prepared::of(&ledger, &question).await.map_err(opened::of_ledger)?;
            let rules = ledger.owner_rules(&question.shop).await.map_err(opened::of_ledger)?;
            ledger.close().await;
            let good_rules = rules.into_iter().map(|rule| rule.rule).collect();
            let from = KnownFrom::Ledger(Box::new(prepared));
            Ok(Self { from, vocabulary, zone, now, skipped: 0, good_rules, sheet })
        })
    }

    fn book(&self) -> &Book {
        match &self.from {
            KnownFrom::Folder(folder) => &folder.book,
            KnownFrom::Ledger(prepared) => &prepared.book,
        }
    }

    fn facts(&self) -> Facts<'_> {
        match &self.from {
            // When a supplier order can no longer be changed plays no part for offers.
            KnownFrom::Folder(folder) => Facts::of_tables(&folder.readings, &[]),
            KnownFrom::Ledger(prepared) => prepared.facts(),
        }
    }

    fn rules(&self) -> &Rules {
        match &self.from {
            KnownFrom::Folder(folder) => &folder.rules,
            KnownFrom::Ledger(prepared) => &prepared.rules,
        }
    }

    /// About offers and links.
    fn findings(&self) -> Vec<Finding> {
        let of_offers = matcher::reconcile_offers(self.book(), self.facts(), self.rules(), self.now);
        of_offers.outcome(&Whole::of(self.book()), self.now).findings
    }

    /// An error where one of the two tables is missing that links lead from and to, or a listing that is asked for.
    fn check(&self, listings: &[String], failed: &str) -> Result<(), Trouble> {
        let missing = match (&self.book().offers, &self.book().variants) {
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

/// What is proposed for some offers of a book, by the owner's rules for goods and by what was done by hand.
pub(crate) fn proposals(
    words: (&Vocabulary, &[GoodRule]),
    (book, facts, rules): (&Book, Facts<'_>, &Rules),
    now: DateTime<Utc>,
    offers: &[Offer],
) -> Vec<Proposal> {
    proposals_beside(words, book, &DoneByHand::all(&done_by_hand(book, facts, rules, now)), offers)
}

/// The same, where what was done by hand is known already.
pub(crate) fn proposals_beside(
    (vocabulary, good_rules): (&Vocabulary, &[GoodRule]),
    book: &Book,
    by_hand: &[DoneByHand],
    offers: &[Offer],
) -> Vec<Proposal> {
    let variants = book.variants.as_deref().unwrap_or_default();
    let tables = Tables {
        offers,
        variants,
        listing_products: book.listing_products.as_deref().unwrap_or_default(),
        rules: good_rules,
        by_hand: &places(by_hand, (offers, variants)),
    };
    propose(vocabulary, &tables)
}

/// The owner's intention that an offer lead to one unit of a variant.
fn intended(offer: &Offer, variant: &Variant) -> Setting {
    let part = LinkPart {
        supplier: variant.supplier.clone(),
        variant_id: Some(variant.variant_id.clone()),
        units: 1,
        in_force: false,
    };
    let scope = LinkScope::Offer(offer.listing_id.clone(), offer.options.clone());
    Setting::Link { scope, parts: vec![part] }
}

/// What was done by hand, by the places of offers and variants.
fn places(done: &[DoneByHand], (offers, variants): (&[Offer], &[Variant])) -> Vec<ByHand> {
    let offers = offers.iter().enumerate().map(|(place, offer)| ((&offer.listing_id, &offer.options), place));
    let offers: HashMap<_, usize> = offers.collect();
    let variants = variants.iter().enumerate();
    let variants: HashMap<_, usize> =
        variants.map(|(place, variant)| ((&variant.supplier, &variant.variant_id), place)).collect();
    let place = |done: &DoneByHand| {
        let offer = *offers.get(&(&done.listing_id, &done.options))?;
        let variant = *variants.get(&(&done.supplier, &done.variant_id))?;
        Some(ByHand { offer, variant, order_id: done.order_id.clone() })
    };
    done.iter().filter_map(place).collect()
}
