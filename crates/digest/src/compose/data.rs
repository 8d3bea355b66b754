//! The digest and the alert for programs.
//!
//! Must not know words. What is long is left out one by one, the least urgent first, and counted. Start reading at
//! [`of_morning`].

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono_tz::Tz;
use model::Finding;
use model::rates::Share;
use serde_json::{Value, json};

use super::alert::Alert;
use super::input::{Aside, Measured, Morning, Settled, ShopMorning, SourceRead, Undelivered};
use crate::clean::cut;
use crate::table::group::deadline;
use crate::urgency::Urgency;

/// The most bytes of it, but for the digits of some counts: under half of the largest body of a webhook.
const DATA_BYTES: usize = 500_000;

/// Columns of a text that is not ours, outside of findings.
const THEIRS: usize = 300;

/// How many bytes are left.
struct Room(usize);

impl Room {
    /// The value, where there is room for it.
    fn take(&mut self, value: Value) -> Option<Value> {
        // The comma behind it, too.
        self.0 = self.0.checked_sub(value.to_string().len() + 1)?;
        Some(value)
    }

    /// As many of them as have room, and how many are left out.
    fn fill(&mut self, values: impl IntoIterator<Item = Value>) -> (Vec<Value>, usize) {
        let (mut taken, mut left_out) = (Vec::new(), 0);
        for value in values {
            match self.take(value) {
                Some(value) => taken.push(value),
                None => left_out += 1,
            }
        }
        (taken, left_out)
    }
}

/// The digest.
pub(super) fn of_morning(morning: &Morning) -> Value {
    let mut room = Room(DATA_BYTES);
    let (mut shops, shops_left_out) = room.fill(morning.shops.iter().map(of_shop));
    let told = &morning.shops[..shops.len()];

    // The most urgent of all shops first.
    let mut findings: Vec<(usize, usize)> = Vec::new();
    for (shop, told) in told.iter().enumerate() {
        findings.extend((0..told.outcome.findings.len()).map(|index| (shop, index)));
    }
    findings.sort_by_cached_key(|(shop, index)| {
        let finding = &told[*shop].outcome.findings[*index];
        (Reverse(Urgency::at(finding, morning.now)), deadline(finding))
    });
    let mut taken: BTreeMap<(usize, usize), Value> = BTreeMap::new();
    for (shop, index) in findings {
        let value = crate::json::value(&told[shop].outcome.findings[index], morning.zone);
        if let Some(value) = room.take(value) {
            taken.insert((shop, index), value);
        }
    }
    let (undelivered, undelivered_left_out) = room.fill(morning.undelivered.iter().map(undelivered));
    for (number, shop) in told.iter().enumerate() {
        let all = shop.outcome.findings.len();
        let findings: Vec<Value> = (0..all).filter_map(|index| taken.remove(&(number, index))).collect();
        let (set_aside, set_aside_left_out) =
            room.fill(shop.set_aside.iter().map(|aside| of_aside(aside, morning.zone)));
        let (settled, settled_left_out) = room.fill(shop.settled.iter().map(of_settled));
        let (sources, sources_left_out) = room.fill(shop.sources.iter().map(source));
        let value = &mut shops[number];
        value["findings_left_out"] = (all - findings.len()).into();
        value["findings"] = findings.into();
        value["set_aside"] = set_aside.into();
        value["set_aside_left_out"] = set_aside_left_out.into();
        value["settled"] = settled.into();
        value["settled_left_out"] = settled_left_out.into();
        value["sources"] = sources.into();
        value["sources_left_out"] = sources_left_out.into();
    }
    json!({
        "day": morning.day,
        "is_known": morning.unknown().is_none(),
        "taken_in": morning.taken_in,
        "undelivered": undelivered,
        "undelivered_left_out": undelivered_left_out,
        "shops": shops,
        "shops_left_out": shops_left_out,
    })
}

/// The alert, of findings as they stand, the most urgent first.
pub(super) fn of_alert(alert: &Alert, findings: &[&Finding]) -> Value {
    let mut room = Room(DATA_BYTES);
    let mut findings = findings.to_vec();
    findings.sort_by_key(|finding| (Reverse(Urgency::at(finding, alert.now)), deadline(finding)));
    let (findings, findings_left_out) =
        room.fill(findings.iter().map(|finding| crate::json::value(finding, alert.zone)));
    json!({ "as_of": alert.now, "findings": findings, "findings_left_out": findings_left_out })
}

/// A shop, without what has to have room.
fn of_shop(shop: &ShopMorning) -> Value {
    json!({
        "shop": shop.name(),
        "as_of": shop.outcome.as_of,
        "is_known": shop.is_known(),
        "totals": shop.outcome.totals,
        "findings": [],
        "findings_left_out": 0,
        "set_aside": [],
        "set_aside_left_out": 0,
        "settled": [],
        "settled_left_out": 0,
        "sources": [],
        "sources_left_out": 0,
        "measured": shop.measured.iter().map(measured).collect::<Vec<_>>(),
    })
}

fn of_aside(aside: &Aside, zone: Tz) -> Value {
    let Aside { finding, note, until } = aside;
    json!({ "finding": crate::json::value(finding, zone), "note": cut(&**note, THEIRS), "until": until })
}

fn of_settled(settled: &Settled) -> Value {
    let Settled { check, order_id, submission_id, supplier, listing_id, source } = settled;
    json!({
        "check": check,
        "order_id": order_id,
        "submission_id": submission_id,
        "supplier": supplier,
        "listing_id": listing_id,
        "source": source,
    })
}

fn source(source: &SourceRead) -> Value {
    json!({
        "source": source.source,
        "read_up_to": source.read_up_to,
        "is_behind": source.is_behind,
        "is_read": source.is_read(),
        "trouble": source.trouble.as_ref().map(|trouble| cut(&**trouble, THEIRS)),
    })
}

fn measured(measured: &Measured) -> Value {
    let Measured { weeks, rates } = measured;
    json!({
        "weeks": weeks,
        "orders_in_full": share(rates.orders_in_full),
        "lines_in_full": share(rates.lines_in_full),
        "perfect_orders": share(rates.perfect),
        "on_time_in_full": share(rates.on_time_in_full),
        "repairs": rates.repairs.len(),
        "median_repair_minutes": rates.median_repair().map(|span| span.num_minutes()),
    })
}

fn share(share: Share) -> Value {
    json!({ "good": share.good, "of": share.of })
}

fn undelivered(message: &Undelivered) -> Value {
    let Undelivered { what, recipient, since, why, is_given_up } = message;
    let why = cut(&**why, THEIRS);
    json!({ "what": what, "recipient": recipient, "since": since, "why": why, "is_given_up": is_given_up })
}
