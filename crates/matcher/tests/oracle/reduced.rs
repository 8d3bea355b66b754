//! A finding without what can only be shown: what both answers must agree on.

use std::fmt;

use chrono::{DateTime, Utc};
use model::finding::{Evidence, Finding, Reason};
use model::{Check, LineId, ListingId, Options, OrderId, Sku, SubmissionId, SupplierId, VariantId};

use super::notation;

/// What a finding says, and about what. Ordered, so that two lists of them can be compared.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Reduced {
    pub check: Check,
    pub order_id: Option<OrderId>,
    pub supplier: Option<SupplierId>,
    pub submission_id: Option<SubmissionId>,
    /// By line id: units and reason.
    pub lines: Vec<(LineId, u64, Option<Reason>)>,
    /// By line id: units.
    pub submission_lines: Vec<(LineId, u64)>,
    pub act_before: Option<DateTime<Utc>>,
    pub cutoff_passed: bool,
    pub listing_id: Option<ListingId>,
    pub sku: Option<Sku>,
    pub variant: Option<(SupplierId, VariantId)>,
    /// Of the offers named, or of the link.
    pub options: Vec<Options>,
}

impl Reduced {
    pub fn of(check: Check) -> Self {
        Self {
            check,
            order_id: None,
            supplier: None,
            submission_id: None,
            lines: Vec::new(),
            submission_lines: Vec::new(),
            act_before: None,
            cutoff_passed: false,
            listing_id: None,
            sku: None,
            variant: None,
            options: Vec::new(),
        }
    }
}

impl From<&Finding> for Reduced {
    fn from(finding: &Finding) -> Self {
        let mut reduced = Self {
            order_id: finding.order_id.clone(),
            supplier: finding.supplier.clone(),
            submission_id: finding.submission_id.clone(),
            lines: finding.lines.iter().map(|line| (line.line_id.clone(), line.units, line.reason)).collect(),
            submission_lines: finding
                .submission_lines
                .iter()
                .map(|line| (line.line_id.clone(), line.units))
                .collect(),
            act_before: finding.act_before,
            cutoff_passed: finding.cutoff_passed,
            ..Self::of(finding.check)
        };
        match &finding.evidence {
            Evidence::Unlinked(unlinked) => {
                reduced.listing_id = Some(unlinked.listing_id.clone());
                reduced.options = unlinked.offers.iter().map(|offer| offer.offer.options.clone()).collect();
            }
            Evidence::Mismatch(mismatch) => {
                reduced.listing_id = Some(mismatch.listing_id.clone());
                reduced.options = vec![mismatch.offer.options.clone()];
            }
            Evidence::Unusable(link) => {
                reduced.listing_id = link.listing_id.clone();
                reduced.sku = link.sku.clone();
                reduced.options = link.options.iter().cloned().collect();
            }
            Evidence::Shared(shared) => {
                reduced.listing_id = Some(shared.listing_id.clone());
                reduced.variant = Some((shared.variant.supplier.clone(), shared.variant.variant_id.clone()));
                reduced.options = shared.offers.iter().map(|offer| offer.offer.options.clone()).collect();
            }
            Evidence::Loss(loss) => {
                reduced.listing_id = Some(loss.listing_id.clone());
                reduced.options = vec![loss.offer.options.clone()];
            }
            _ => {}
        }
        reduced.lines.sort();
        reduced.submission_lines.sort();
        reduced.options.sort();
        reduced
    }
}

/// One line: `part-sent order=A lines=1:2:no-link,2:1:short act=+60m`.
impl fmt::Display for Reduced {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.check)?;
        if let Some(order) = &self.order_id {
            write!(f, " order={}", notation::without_blanks(order.as_str()))?;
        }
        if let Some(supplier) = &self.supplier {
            write!(f, " supplier={supplier}")?;
        }
        if let Some(submission) = &self.submission_id {
            write!(f, " submission={submission}")?;
        }
        let lines = self.lines.iter().map(|(line, units, reason)| match reason {
            Some(reason) => format!("{line}:{units}:{}", word(*reason)),
            None => format!("{line}:{units}"),
        });
        list(f, "lines", lines.collect())?;
        let sent = self.submission_lines.iter().map(|(line, units)| format!("{line}:{units}"));
        list(f, "sent", sent.collect())?;
        if let Some(moment) = self.act_before {
            write!(f, " act={}", notation::moment(moment))?;
        }
        if self.cutoff_passed {
            write!(f, " passed")?;
        }
        if let Some(listing) = &self.listing_id {
            write!(f, " listing={listing}")?;
        }
        if let Some(sku) = &self.sku {
            write!(f, " sku={}", sku.folded())?;
        }
        if let Some((supplier, variant)) = &self.variant {
            write!(f, " variant={supplier}/{variant}")?;
        }
        for options in &self.options {
            write!(f, " options={}", notation::options(options))?;
        }
        Ok(())
    }
}

fn list(f: &mut fmt::Formatter<'_>, name: &str, items: Vec<String>) -> fmt::Result {
    if items.is_empty() { Ok(()) } else { write!(f, " {name}={}", items.join(",")) }
}

fn word(reason: Reason) -> &'static str {
    match reason {
        Reason::NoLink => "no-link",
        Reason::AmbiguousLink => "ambiguous-link",
        Reason::BrokenLink => "broken-link",
        Reason::NotSent => "not-sent",
        Reason::Short => "short",
    }
}
