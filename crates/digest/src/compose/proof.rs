//! The end of a digest: what it rests on, and how it has gone.
//!
//! Must not know findings. Start reading at [`write`].

use std::collections::BTreeMap;

use chrono::TimeDelta;
use model::outcome::Totals;
use model::rates::{Rates, Share};

use super::document::{Bar, Block, Document, Shares, theirs};
use super::input::{Measured, Morning, ShopMorning, SourceRead, Undelivered};
use super::limits::Limits;
use crate::moment::{Clock, span};
use crate::words::{by_number, count, listed, number_of, sums as of_items};

/// Columns of a text that is not ours.
const THEIRS: usize = 300;

/// Writes it.
pub(super) fn write(document: &mut Document, morning: &Morning, clock: &Clock, limits: Limits) {
    sums(document, morning);
    sources(document, morning, clock, limits.sources);
    undelivered(document, morning, clock, limits.messages);
    notes(document, morning, limits.notes);
    measured(document, morning);
}

fn sums(document: &mut Document, morning: &Morning) {
    let mut totals = Totals::default();
    for shop in &morning.shops {
        totals += shop.outcome.totals;
    }
    let checked =
        format!("{}, {}", count(totals.orders, "order", "orders"), count(totals.lines, "line", "lines"));
    document.heading("What was checked", checked);
    let bought = ("items bought (paid, not cancelled)", totals.units_demanded);
    let parts = of_items(&totals).into_iter().chain([bought]);
    document.push(Block::Sum(parts.map(|(name, number)| (name.to_owned(), number)).collect()));
    if !totals.adds_up() {
        let (sum, bought) = (totals.accounted_for(), totals.units_demanded);
        document.text(format!("These do not add up: {sum} are accounted for, {bought} were bought."));
    }
    let gone = count(totals.dispatched, "item has", "items have");
    document.text(format!("Of what is made, {gone} gone out."));
}

fn sources(document: &mut Document, morning: &Morning, clock: &Clock, most: usize) {
    let all: Vec<(&ShopMorning, &SourceRead)> =
        morning.shops.iter().flat_map(|shop| shop.sources.iter().map(move |source| (shop, source))).collect();
    let unread = all.iter().filter(|(_, source)| !source.is_read()).count() as u64;
    let said = match unread {
        _ if all.is_empty() => "nothing".to_owned(),
        0 => "all of them up to now".to_owned(),
        unread => {
            format!("{unread} of {} {} not known up to now", all.len(), by_number(unread, "is", "are"))
        }
    };
    document.heading("What it was read from", said);
    if morning.shops.iter().any(|shop| shop.sources.is_empty()) {
        document.text(no_source(morning));
    }
    document.list(all.iter().take(most).map(|(shop, source)| of_source(shop, source, clock)));
    document.more(all.len(), most, "everyline status");
}

/// Which shops have no source.
fn no_source(morning: &Morning) -> String {
    let without = morning.shops.iter().filter(|shop| shop.sources.is_empty());
    let names: Vec<&str> = without.filter_map(ShopMorning::name).collect();
    let who =
        if names.is_empty() { "everyline".to_owned() } else { listed(&names, |name| *name).to_string() };
    let has = by_number(number_of(&names).max(1), "has", "have");
    format!("{who} {has} no source, so that nothing is known of what was bought and sent.")
}

fn of_source(shop: &ShopMorning, source: &SourceRead, clock: &Clock) -> String {
    let name = theirs(&source.source, THEIRS);
    let name = shop.name().map_or_else(|| name.clone(), |shop| format!("{shop} - {name}"));
    let read = match source.read_up_to {
        Some(read) => format!("read up to {}", clock.in_a_sentence(read)),
        None => "never read to its end".to_owned(),
    };
    let mut text = format!("{name}: {read}");
    if source.is_behind {
        text += "; what happened there since is not known yet";
    } else if source.is_doubted {
        text += "; something is wrong with it, so that not all of it is known";
    }
    if let Some((there, here)) = source.counted {
        text += &format!("; it counts {there} records, and {here} were read");
    }
    if let Some(trouble) = &source.trouble {
        text += &format!("; {}", theirs(trouble.trim_end_matches('.'), THEIRS));
    }
    text + "."
}

fn undelivered(document: &mut Document, morning: &Morning, clock: &Clock, most: usize) {
    let all = &morning.undelivered;
    if all.is_empty() {
        return;
    }
    document.heading("What could not be delivered", count(all.len() as u64, "message", "messages"));
    let said = |message: &Undelivered| {
        let Undelivered { what, recipient, since, why, is_given_up } = message;
        let state = if *is_given_up { "given up" } else { "still being tried" };
        let since = clock.in_a_sentence(*since);
        let why = theirs(why.trim_end_matches('.'), THEIRS);
        format!("{what} to {recipient}, written at {since}: {state}; {why}.")
    };
    document.list(all.iter().take(most).map(said));
    document.more(all.len(), most, "everyline status");
}

fn notes(document: &mut Document, morning: &Morning, most: usize) {
    let all: Vec<String> = morning
        .shops
        .iter()
        .flat_map(|shop| {
            shop.outcome.notices.iter().map(move |notice| {
                let text = theirs(&notice.text, THEIRS);
                shop.name().map_or_else(|| text.clone(), |shop| format!("{shop} - {text}"))
            })
        })
        .collect();
    let skipped: u64 = morning.shops.iter().map(|shop| shop.outcome.rows_skipped).sum();
    let not_judged: u64 = morning.shops.iter().map(|shop| shop.outcome.not_judged.len() as u64).sum();
    if skipped > 0 || not_judged > 0 {
        let rows = count(skipped, "row could", "rows could");
        let orders = count(not_judged, "order was", "orders were");
        document.text(format!("This is not complete: {rows} not be read, and {orders} not judged."));
    }
    if all.is_empty() {
        return;
    }
    document.heading("Good to know", count(all.len() as u64, "note", "notes"));
    let number = all.len();
    document.list(all.into_iter().take(most));
    document.more(number, most, "everyline audit");
}

/// A share by its name, and how it is had of rates.
pub type NamedShare = (&'static str, fn(&Rates) -> Share);

/// The shares that are told.
pub const SHARES: [NamedShare; 4] = [
    ("Orders in full", |rates| rates.orders_in_full),
    ("Order lines in full", |rates| rates.lines_in_full),
    ("Orders without a fault", |rates| rates.perfect),
    ("On time and in full", |rates| rates.on_time_in_full),
];

/// What these shares mean.
pub const SHARES_MEAN: &str = "In full: nothing of it is missing or wrong now. Without a fault: nothing ever went wrong with \
    it. On time and in full: of the orders whose promised day is over.";

/// How it has gone in all shops together.
fn measured(document: &mut Document, morning: &Morning) {
    let mut by_weeks: BTreeMap<u32, Rates> = BTreeMap::new();
    for Measured { weeks, rates } in morning.shops.iter().flat_map(|shop| &shop.measured) {
        *by_weeks.entry(*weeks).or_default() += rates;
    }
    if by_weeks.values().all(|rates| rates.orders_in_full.of == 0 && rates.repairs.is_empty()) {
        return;
    }
    let measured = morning.shops.iter().filter(|shop| !shop.measured.is_empty()).count();
    let of_shops = match morning.shops.len() {
        1 => String::new(),
        all if all == measured => format!("in all {all} shops"),
        all => format!("in {measured} of {all} shops"),
    };
    document.heading("How it has gone", of_shops);
    document.push(Block::Shares(Shares {
        columns: by_weeks.keys().map(|weeks| format!("Last {}", weeks_said(*weeks))).collect(),
        rows: SHARES
            .map(|(name, share)| {
                (name.to_owned(), by_weeks.values().map(|rates| bar(share(rates))).collect())
            })
            .to_vec(),
    }));
    document.text(SHARES_MEAN);
    document.text(repairs(&by_weeks));
}

fn weeks_said(weeks: u32) -> String {
    count(weeks, "week", "weeks")
}

fn bar(share: Share) -> Bar {
    let (per_cent, said) = share_said(share);
    Bar { per_cent, said }
}

/// A share in per cent, rounded down, and as it is said: `49 of 50, 98 %`; where nothing was counted, `none yet`.
pub fn share_said(share: Share) -> (Option<u8>, String) {
    let Share { good, of } = share;
    let per_cent = (of > 0).then(|| (good.saturating_mul(100) / of).min(100) as u8);
    let said = match per_cent {
        Some(per_cent) => format!("{good} of {of}, {per_cent} %"),
        None => "none yet".to_owned(),
    };
    (per_cent, said)
}

/// A median of repairs as it is said: `2 h 10 min`, and never less than a minute.
pub fn median_said(rates: &Rates) -> Option<String> {
    rates.median_repair().map(|median| span(median.max(TimeDelta::minutes(1))))
}

fn repairs(by_weeks: &BTreeMap<u32, Rates>) -> String {
    if by_weeks.values().all(|rates| rates.repairs.is_empty()) {
        return "Nothing had to be put right.".to_owned();
    }
    let said = by_weeks.iter().map(|(weeks, rates)| {
        let number = number_of(&rates.repairs);
        let within = median_said(rates);
        let within = match (number, within) {
            (1, Some(within)) => format!(", after {within}"),
            (_, Some(within)) => format!(", half of them within {within}"),
            (_, None) => String::new(),
        };
        format!("{number} in the last {}{within}", weeks_said(*weeks))
    });
    format!("Findings about orders that were put right: {}.", said.collect::<Vec<_>>().join("; "))
}
