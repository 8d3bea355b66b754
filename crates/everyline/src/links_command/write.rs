//! How proposals are written: for reading, as JSON Lines, as a table of links.
//!
//! Must not know how they were made. Start reading at [`Answered::written`].

use std::collections::BTreeMap;
use std::fmt::Write;

use digest::clean;
use links::{Answer, Proposal, Why};
use model::book::{Offer, Variant};
use model::{Options, SupplierId, VariantId};
use serde::Serialize;

use crate::arguments::LinksFormat;

/// Most offers that are named under one reason.
const OFFERS_NAMED_AT_MOST: usize = 4;

/// Proposals with the offers that they are for, in one order.
pub struct Answered<'a> {
    pub offers: &'a [Offer],
    pub variants: &'a [Variant],
    pub proposals: &'a [Proposal],
    /// Of each offer, whether it can be bought and leads nowhere yet.
    pub has_no_link: &'a [bool],
    /// Whether they can be kept in the ledger.
    pub of_ledger: bool,
}

impl Answered<'_> {
    /// The proposals in a format.
    pub fn written(&self, format: LinksFormat) -> String {
        let Self { offers, variants, proposals, has_no_link, of_ledger } = *self;
        match format {
            LinksFormat::Table => {
                let mut text = for_reading(offers, variants, proposals);
                text += &what_next(offers, proposals, of_ledger);
                text
            }
            LinksFormat::Jsonl => lines(offers, variants, proposals),
            LinksFormat::Csv => links_table(offers, variants, proposals, has_no_link),
        }
    }
}

/// One offer as JSON Lines has it.
#[derive(Serialize)]
struct Line<'a> {
    listing_id: &'a str,
    options: &'a Options,
    status: &'static str,
    supplier: Option<&'a SupplierId>,
    variant_id: Option<&'a VariantId>,
    units: Option<u32>,
    why: String,
    candidates: Vec<Candidate<'a>>,
}

#[derive(Serialize)]
struct Candidate<'a> {
    supplier: &'a SupplierId,
    variant_id: &'a VariantId,
}

fn status(answer: &Answer) -> &'static str {
    match answer {
        Answer::Proposed(_) => "proposed",
        Answer::Choose(_) => "choose",
        Answer::Nothing => "none",
    }
}

fn why(proposal: &Proposal) -> String {
    let reasons: Vec<String> = proposal.why.iter().map(ToString::to_string).collect();
    clean(reasons.join("; ")).into_owned()
}

fn lines(offers: &[Offer], variants: &[Variant], proposals: &[Proposal]) -> String {
    let mut text = String::new();
    for (offer, proposal) in offers.iter().zip(proposals) {
        let variant = match proposal.answer {
            Answer::Proposed(variant) => variants.get(variant),
            _ => None,
        };
        let candidates: &[usize] = match &proposal.answer {
            Answer::Choose(candidates) => candidates,
            _ => &[],
        };
        let candidates = candidates.iter().filter_map(|place| variants.get(*place));
        let line = Line {
            listing_id: offer.listing_id.as_str(),
            options: &offer.options,
            status: status(&proposal.answer),
            supplier: variant.map(|variant| &variant.supplier),
            variant_id: variant.map(|variant| &variant.variant_id),
            units: variant.map(|_| 1),
            why: why(proposal),
            candidates: candidates
                .map(|variant| Candidate { supplier: &variant.supplier, variant_id: &variant.variant_id })
                .collect(),
        };
        // Strings, numbers and lists alone: there is nothing in it that JSON cannot hold.
        text.push_str(&serde_json::to_string(&line).unwrap_or_default());
        text.push('\n');
    }
    text
}

/// The proposed links of offers that have none, as the exchange file `links` with a column that says why.
fn links_table(
    offers: &[Offer],
    variants: &[Variant],
    proposals: &[Proposal],
    has_no_link: &[bool],
) -> String {
    let mut table = csv::Writer::from_writer(Vec::new());
    let mut rows = vec![
        ["listing_id", "options", "supplier", "variant_id", "units", "in_force", "why"].map(str::to_owned),
    ];
    let open = offers.iter().zip(proposals).zip(has_no_link).filter(|(_, has_no_link)| **has_no_link);
    for ((offer, proposal), _) in open {
        let Answer::Proposed(variant) = proposal.answer else { continue };
        let Some(variant) = variants.get(variant) else { continue };
        rows.push([
            offer.listing_id.to_string(),
            serde_json::to_string(&offer.options).unwrap_or_default(),
            variant.supplier.to_string(),
            variant.variant_id.to_string(),
            "1".to_owned(),
            "false".to_owned(),
            why(proposal),
        ]);
    }
    // Into memory, which does not fail.
    for row in rows {
        let _ = table.write_record(&row);
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The offers of a listing that have one answer for one reason.
type Groups<'a> = BTreeMap<(u8, String), Vec<&'a Offer>>;

fn for_reading(offers: &[Offer], variants: &[Variant], proposals: &[Proposal]) -> String {
    let mut listings: BTreeMap<&str, (Option<&str>, Groups<'_>)> = BTreeMap::new();
    let mut counts = [0_usize; 3];
    for (offer, proposal) in offers.iter().zip(proposals) {
        let (_, groups) = listings
            .entry(offer.listing_id.as_str())
            .or_insert_with(|| (offer.title.as_deref(), Groups::new()));
        let group = match &proposal.answer {
            Answer::Proposed(variant) => (0, variants.get(*variant).map_or_else(String::new, product)),
            Answer::Choose(_) => (1, why(proposal)),
            Answer::Nothing => (2, why(proposal)),
        };
        counts[usize::from(group.0)] += 1;
        groups.entry(group).or_default().push(offer);
    }
    let mut text = String::new();
    for (listing_id, (title, groups)) in &listings {
        let _ = writeln!(text, "{}  {}", clean(*listing_id), clean(title.unwrap_or_default()));
        for ((kind, reason), offers) in groups {
            let answer = ["proposed    ", "you decide  ", "nobody makes"][usize::from(*kind)];
            let _ = writeln!(text, "  {answer} {:>4}  {}", offers.len(), clean(reason.as_str()));
            // What is proposed, the other formats name offer by offer.
            if *kind > 0 {
                name(&mut text, offers);
            }
        }
        text.push('\n');
    }
    let [proposed, choose, none] = counts;
    let _ = writeln!(
        text,
        "{} offers: {proposed} proposed, {choose} for you to decide, {none} that nobody makes. Nothing was changed.",
        offers.len(),
    );
    text
}

/// How what is proposed is kept, and how the owner answers.
fn what_next(offers: &[Offer], proposals: &[Proposal], of_ledger: bool) -> String {
    let mut text = String::new();
    let is_proposed = |proposal: &Proposal| matches!(proposal.answer, Answer::Proposed(_));
    if proposals.iter().any(is_proposed) {
        text.push_str(if of_ledger {
            "`everyline links set --proposed` keeps those of offers that have no link, once you have looked\nthem \
             through: `--format csv` has each with why.\n"
        } else {
            "--format csv writes those of offers that have no link as rows for links.csv: look them\nthrough, and add \
             them there.\n"
        });
    }
    let is_about_products = |why: &Why| matches!(why, Why::SeveralProducts(_) | Why::SeveralGoods(_));
    let mut asked = offers.iter().zip(proposals).filter(|(_, proposal)| {
        matches!(proposal.answer, Answer::Choose(_)) && proposal.why.iter().any(is_about_products)
    });
    if of_ledger && let Some((offer, _)) = asked.next() {
        let options: Vec<String> = offer
            .options
            .iter()
            .map(|(name, value)| format!(" --option {}", quoted(&format!("{name}={value}"))))
            .collect();
        let _ = writeln!(
            text,
            "Where several products can be meant, one answer serves every offer of that good, as in\n  everyline links \
             set --listing {}{} --product SUPPLIER:PRODUCT",
            quoted(offer.listing_id.as_str()),
            options.concat()
        );
    }
    text
}

/// A text as a shell takes it as one word.
pub(super) fn quoted(text: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "-_.=/:".contains(c);
    if !text.is_empty() && text.chars().all(is_plain) {
        return text.to_owned();
    }
    format!("'{}'", clean(text).replace('\'', r"'\''"))
}

fn product(variant: &Variant) -> String {
    let product = variant.product.as_deref().unwrap_or(variant.variant_id.as_str());
    format!("{product} ({})", variant.supplier)
}

fn name(text: &mut String, offers: &[&Offer]) {
    for offer in offers.iter().take(OFFERS_NAMED_AT_MOST) {
        let _ = writeln!(text, "                     {}", clean(offer.options.named()));
    }
    if let Some(more) = offers.len().checked_sub(OFFERS_NAMED_AT_MOST).filter(|more| *more > 0) {
        let _ = writeln!(text, "                     and {more} more");
    }
}
