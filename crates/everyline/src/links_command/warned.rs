//! What speaks against a change of links, in words: offer and variant that contradict each other, and what else it raises.
//!
//! Must not know how a change is asked for. Start reading at [`refuse_contradiction`].

use chrono_tz::Tz;
use digest::{clean, say};
use model::book::LinkScope;
use model::finding::Evidence;
use model::reading::Kind;
use model::{Check, Finding, Reading};

use super::desk::Effects;
use super::said::{scope_with, sku_behind};
use crate::terminal::tell;
use crate::trouble::Trouble;

/// What did not happen where something is in the way.
pub(super) const NOTHING_KEPT: &str = "nothing was kept";

/// An error where an offer and what it would lead to contradict each other, unless that is meant.
pub(super) fn refuse_contradiction(effects: &Effects, is_meant: bool) -> Result<(), Trouble> {
    let contradictions: Vec<&Finding> = effects.of(Check::LinkMismatch).collect();
    if contradictions.is_empty() {
        return Ok(());
    }
    let told = contradictions_told(&contradictions);
    if is_meant {
        tell(&format!("warning: kept although offer and variant say different things\n{told}"));
        return Ok(());
    }
    Err(Trouble::new(NOTHING_KEPT, format!("offer and variant say different things\n{told}"))
        .help("if it is right all the same, say so with --despite-contradiction"))
}

/// How many contradictions are shown with both readings.
const CONTRADICTIONS_AT_MOST: usize = 8;

/// Contradictions with both readings, a line for each side.
pub(super) fn contradictions_told(all: &[&Finding]) -> String {
    let mut lines: Vec<String> = Vec::new();
    for finding in all.iter().take(CONTRADICTIONS_AT_MOST) {
        let Evidence::Mismatch(mismatch) = &finding.evidence else { continue };
        let scope = LinkScope::Offer(mismatch.listing_id.clone(), mismatch.offer.options.clone());
        let scope = scope_with(&scope, mismatch.offer.sku.as_ref());
        lines.push(format!("{scope} says {}", reading(&mismatch.offer_reading)));
        for sent in &mismatch.variants {
            let kinds: Vec<&str> = sent.differs.iter().map(|difference| difference.kind.name()).collect();
            lines.push(format!(
                "  {}:{}{} says {}: another {}",
                sent.variant.supplier,
                sent.variant.variant_id,
                sku_behind(&sent.variant.variant_id, sent.variant.sku.as_ref()),
                reading(&sent.reading),
                kinds.join(" and ")
            ));
        }
    }
    if let Some(more) = all.len().checked_sub(CONTRADICTIONS_AT_MOST).filter(|more| *more > 0) {
        lines.push(format!("showing {CONTRADICTIONS_AT_MOST} of {}: {more} more", all.len()));
    }
    lines.iter().map(|line| clean(line.as_str())).collect::<Vec<_>>().join("\n")
}

/// What was read, in words: `apron, L, moss`.
fn reading(reading: &Reading) -> String {
    let kinds = Kind::ALL.iter().filter_map(|kind| reading.of(*kind));
    let words: Vec<&str> = kinds.collect();
    if words.is_empty() { "nothing that can be read".to_owned() } else { words.join(", ") }
}

/// Warns of what else a change raises: what cannot be had, what two offers share, what costs more than it brings.
pub(super) fn tell_raised(effects: &Effects, zone: Tz) {
    for check in [Check::LinkUnusable, Check::SharedVariant, Check::LossMaking] {
        let raised: Vec<&Finding> = effects.of(check).collect();
        for finding in raised.iter().take(CONTRADICTIONS_AT_MOST) {
            tell(&format!("warning: {}", say(finding, zone)));
        }
        if let Some(more) = raised.len().checked_sub(CONTRADICTIONS_AT_MOST).filter(|more| *more > 0) {
            tell(&format!(
                "warning: and {more} more of {}; `everyline links check` has them all",
                check.word()
            ));
        }
    }
}
