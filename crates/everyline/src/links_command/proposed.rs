//! `everyline links set --proposed`: what is proposed for offers without a link becomes the owner's word.
//!
//! Must not know how a proposal is made. Start reading at [`run`].

use std::collections::BTreeMap;

use digest::clean;
use ledger::{Product, Setting};
use links::Answer;
use model::book::{LinkScope, Offer};
use model::{Check, Finding};

use super::desk::{Desk, Effects};
use super::intended;
use super::said::{counted, hanging, paragraph, parts, product};
use super::set::{amiss, keep};
use super::warned::{NOTHING_KEPT, contradictions_told, tell_raised};
use super::{target, unlinked};
use crate::arguments::SetLinksArguments;
use crate::terminal::tell;
use crate::trouble::Trouble;

/// Keeps what is proposed for offers without a link, or says what that would be.
pub(super) async fn run(desk: &Desk, asked: &SetLinksArguments) -> Result<String, Trouble> {
    for listing_id in &asked.listings {
        target::listing(desk, listing_id).map_err(amiss)?;
    }
    let missing = match (desk.knows_offers(), desk.variants()) {
        (true, Some(_)) => None,
        (false, _) => Some("offers"),
        (true, None) => Some("variants"),
    };
    if let Some(missing) = missing {
        return Err(Trouble::new(NOTHING_KEPT, format!("not all {missing} have been read")).help(
            "links lead from what the storefront offers to what the suppliers make: both are needed; \
             `everyline status` says up to when each source was read",
        ));
    }
    let findings = desk.findings();
    let unlinked = unlinked(&findings);
    let is_meant = |offer: &&Offer| {
        asked.listings.is_empty() || asked.listings.iter().any(|id| id == offer.listing_id.as_str())
    };
    let meant: Vec<Offer> = desk.offers.iter().filter(is_meant).cloned().collect();
    let proposals = desk.proposals(&meant, &desk.good_rules()).unwrap_or_default();
    let variants = desk.variants().unwrap_or_default();
    let mut settings: Vec<Setting> = Vec::new();
    let mut undecided = 0_usize;
    for (offer, proposal) in meant.iter().zip(&proposals) {
        if !unlinked.contains(&(&offer.listing_id, &offer.options)) {
            continue;
        }
        let variant = match &proposal.answer {
            Answer::Proposed(place) => variants.get(*place),
            Answer::Choose(_) | Answer::Nothing => None,
        };
        let Some(variant) = variant else {
            undecided += 1;
            continue;
        };
        settings.push(intended(offer, variant));
    }
    let mut effects = desk.effects(&settings);
    let left_out = contradicting(&effects, asked.despite_contradiction, &mut settings);
    if left_out > 0 {
        effects = desk.effects(&settings);
    }
    tell_raised(&effects, desk.zone);
    let mut text = if settings.is_empty() {
        "Nothing is proposed that could be kept.\n".to_owned()
    } else if asked.yes {
        keep(desk, asked, &settings).await?
    } else {
        let offers = counted(settings.len(), "offer that has", "offers that have");
        let mut text = paragraph(&format!("Proposed for {offers} no link:"));
        text += &grouped(desk, &settings);
        text
    };
    if left_out > 0 {
        text += &paragraph(&format!(
            "Left out {}, for offer and variant say different things; look at them, and link each by itself or all of \
             them with --despite-contradiction.",
            counted(left_out, "proposal", "proposals")
        ));
    }
    if undecided > 0 {
        text += &paragraph(&format!(
            "{} without a link {} left, for you to decide or to take off sale: `everyline links propose` says which and \
             why.",
            counted(undecided, "offer", "offers"),
            if undecided == 1 { "is" } else { "are" }
        ));
    }
    if !settings.is_empty() {
        text += &paragraph(if asked.yes {
            "They are intended: each counts as in force once the SKU at the storefront, or the supplier, is seen to lead \
             there."
        } else {
            "Nothing was changed. --yes keeps them, as what you intend; `everyline links propose --format csv` has them one \
             by one, with why."
        });
    }
    Ok(text)
}

/// Leaves out the settings of which offer and variant contradict each other, unless they are meant, and says both; how many.
fn contradicting(effects: &Effects, is_meant: bool, settings: &mut Vec<Setting>) -> usize {
    let mismatches: Vec<&Finding> = effects.of(Check::LinkMismatch).collect();
    if mismatches.is_empty() {
        return 0;
    }
    let told = contradictions_told(&mismatches);
    if is_meant {
        tell(&format!("warning: offer and variant say different things\n{told}"));
        return 0;
    }
    tell(&format!("left out: offer and variant say different things\n{told}"));
    let contradicted = effects.contradicted();
    let before = settings.len();
    settings.retain(|setting| {
        !matches!(setting, Setting::Link { scope: LinkScope::Offer(listing_id, options), .. }
            if contradicted.contains(&(listing_id, options)))
    });
    before - settings.len()
}

/// Settings by listing and product: how many, and the first of them.
fn grouped(desk: &Desk, settings: &[Setting]) -> String {
    let mut groups: BTreeMap<(&str, String), Vec<String>> = BTreeMap::new();
    for setting in settings {
        let Setting::Link { scope: LinkScope::Offer(listing_id, options), parts: of_offer } = setting else {
            continue;
        };
        let of = of_offer.first().and_then(|part| {
            let name = desk.variant(part)?.product.clone()?;
            Some(product(&Product { supplier: part.supplier.clone(), product: name }))
        });
        let of = of.unwrap_or_else(|| parts(of_offer, &desk.skus()));
        groups.entry((listing_id.as_str(), of)).or_default().push(options.to_string());
    }
    let mut text = String::new();
    for ((listing_id, of), offers) in &groups {
        let named: Vec<&str> = offers.iter().take(OFFERS_NAMED).map(String::as_str).collect();
        let more = match offers.len().checked_sub(OFFERS_NAMED).filter(|more| *more > 0) {
            Some(more) => format!("; and {more} more"),
            None => String::new(),
        };
        let named = clean(named.join("; ")).into_owned();
        let named = if named.is_empty() { String::new() } else { format!(" ({named}{more})") };
        let count = counted(offers.len(), "offer", "offers");
        text += &hanging("  ", &format!("{}: {count} to {of}{named}", clean(*listing_id)), 4);
    }
    text
}

/// How many offers of a product are named.
const OFFERS_NAMED: usize = 3;
