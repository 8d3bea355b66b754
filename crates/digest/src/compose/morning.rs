//! The digest of a morning: what must be done before a cut-off, what is past it, what to watch, what is set aside, and the
//! proof.
//!
//! Must not know how it is written or sent. Start reading at [`digest`].

use chrono::NaiveDate;
use model::Finding;

use super::document::{Block, Document, Item, Tone, line, theirs};
use super::input::{Aside, Morning, ShopMorning};
use super::items::{Found, Writer};
use super::limits::{self, Limits};
use super::subject::Lead;
use super::{Composed, data, proof, settled, subject};
use crate::moment::Clock;
use crate::say::{Teller, account};
use crate::table::group::Group;
use crate::urgency::Urgency;
use crate::words::{and, by_number, count, number_of};

/// Columns of a note.
const NOTE: usize = 300;

/// The digest of a morning.
///
/// Never says that all is well where there is no source, one is not read up to now or something is found of it, an order was
/// not judged, or the sums disagree.
pub fn digest(morning: &Morning) -> Composed {
    let morning = morning.as_composed();
    let data = data::of_morning(&morning);
    let composed = limits::within(|limits| composed(&morning, limits));
    Composed { data, ..composed }
}

/// The same without what is for programs.
fn composed(morning: &Morning, limits: Limits) -> Composed {
    let clock = Clock::of_a_reader(morning.zone, morning.now);
    let writer = Writer {
        now: morning.now,
        zone: morning.zone,
        pages: morning.pages.as_ref(),
        explains: true,
        orders_per_cause: limits.orders_per_cause,
    };
    let found: Vec<Found<'_>> = morning
        .shops
        .iter()
        .flat_map(|shop| shop.outcome.findings.iter().map(move |finding| (shop.name(), finding)))
        .collect();
    let findings: Vec<&Finding> = found.iter().map(|(_, finding)| *finding).collect();

    let mut document = Document::default();
    let day = morning.day.format("%A %-d %B %Y");
    document.title(format!("everyline, {day}"));
    let lead = lead(morning, &findings, &clock);
    document.lead(lead.sentence());
    if !morning.taken_in.is_empty() {
        document.text(taken_in(&morning.taken_in));
    }
    overview(&mut document, morning, limits.shops);
    let group = |document: &mut Document, title: &str, urgency: Urgency, most: usize| {
        writer.group(document, title, urgency, &writer.of_urgency(&found, urgency), most);
    };
    group(&mut document, "To put right now", Urgency::Now, limits.now);
    group(&mut document, "Past the cut-off", Urgency::Repair, limits.repair);
    group(&mut document, "To watch", Urgency::Watch, limits.watch);
    set_aside(&mut document, morning, &clock, limits.set_aside);
    settled::write(&mut document, morning, limits.settled);
    proof::write(&mut document, morning, &clock, limits);
    document.text(
        "everyline reports and prepares; it changes nothing at a storefront or a supplier unless you say so.",
    );
    Composed::new(lead.subject(Some(morning.day)), &document)
}

/// The sentence that matters most.
fn lead(morning: &Morning, findings: &[&Finding], clock: &Clock) -> Lead {
    // What could not be read is said by its own words.
    let of_orders: Vec<&Finding> =
        findings.iter().filter(|finding| Group::of(finding) != Group::Sources).copied().collect();
    let orders: u64 = morning.shops.iter().map(|shop| shop.outcome.totals.orders).sum();
    match (subject::of_findings(&of_orders, clock, morning.now), morning.unknown()) {
        (Some(lead), None) => lead,
        (Some(lead), Some(_)) => lead.in_doubt(),
        (None, Some(unknown)) => Lead::new(format!("Not known yet: {}", unknown.said())),
        (None, None) if orders == 0 => Lead::new("Nothing is wrong, but there was no order to check"),
        (None, None) => {
            let what = if morning.is_part { "Nothing of what you asked for is wrong" } else { "All is well" };
            let mut lead = Lead::new(format!("{what}: {} checked", count(orders, "order", "orders")));
            let waiting: u64 = morning.shops.iter().map(|shop| shop.outcome.totals.uncovered).sum();
            if waiting > 0 {
                lead = lead.and_more(format!(", {} to be sent yet", count(waiting, "item", "items")));
            }
            let asides: u64 = morning.shops.iter().map(|shop| shop.set_aside.len() as u64).sum();
            if asides > 0 {
                lead = lead.and_more(format!(", {asides} set aside"));
            }
            lead
        }
    }
}

/// Which days it takes in.
fn taken_in(days: &[NaiveDate]) -> String {
    const NAMED: usize = 4;
    let mut names: Vec<String> =
        days.iter().take(NAMED).map(|day| day.format("%a %-d %b").to_string()).collect();
    if days.len() > NAMED {
        names.push(format!("{} more", days.len() - NAMED));
    }
    let was = by_number(days.len() as u64, "day", "days");
    format!("No digest went out on {}: this one takes in what those {was} left.", and(names))
        .replace("those day left", "that day left")
}

/// A line for each shop, where there are several.
fn overview(document: &mut Document, morning: &Morning, most: usize) {
    if morning.shops.len() < 2 {
        return;
    }
    document.heading("The shops", count(number_of(&morning.shops), "shop", "shops"));
    let mut shops: Vec<&ShopMorning> = morning.shops.iter().collect();
    let weight = |shop: &ShopMorning| {
        let urgencies = shop.outcome.findings.iter().map(|finding| Urgency::at(finding, morning.now));
        let most = urgencies.max();
        (shop.is_known(), std::cmp::Reverse(most), std::cmp::Reverse(shop.outcome.findings.len()))
    };
    shops.sort_by_key(|shop| (weight(shop), shop.shop.clone()));
    let (quiet, loud): (Vec<&ShopMorning>, Vec<&ShopMorning>) =
        shops.into_iter().partition(|shop| shop.is_known() && shop.outcome.findings.is_empty());
    document.list(loud.iter().take(most).map(|shop| of_shop(shop, morning)));
    document.more(loud.len(), most, "everyline status");
    if !quiet.is_empty() {
        let mut names: Vec<String> =
            quiet.iter().take(most).filter_map(|shop| shop.name().map(str::to_owned)).collect();
        if quiet.len() > most {
            names.push(count((quiet.len() - most) as u64, "more shop", "more shops"));
        }
        document.text(format!("Nothing wrong: {}.", and(names)));
    }
}

fn of_shop(shop: &ShopMorning, morning: &Morning) -> String {
    let number = |urgency: Urgency| {
        let is_of = |finding: &&Finding| Urgency::at(finding, morning.now) == urgency;
        shop.outcome.findings.iter().filter(is_of).count()
    };
    let mut parts = Vec::new();
    for (urgency, words) in [
        (Urgency::Now, "to put right now"),
        (Urgency::Repair, "past the cut-off"),
        (Urgency::Watch, "to watch"),
    ] {
        match number(urgency) {
            0 => {}
            number => parts.push(format!("{number} {words}")),
        }
    }
    if let Some(unknown) = shop.unknown() {
        parts.push(unknown.said().to_owned());
    }
    format!("{}: {}.", shop.name().unwrap_or_default(), parts.join(", "))
}

fn set_aside(document: &mut Document, morning: &Morning, clock: &Clock, most: usize) {
    let all: Vec<(&ShopMorning, &Aside)> =
        morning.shops.iter().flat_map(|shop| shop.set_aside.iter().map(move |aside| (shop, aside))).collect();
    if all.is_empty() {
        return;
    }
    document.heading("Set aside by you", count(number_of(&all), "finding", "findings"));
    for (shop, aside) in all.iter().take(most) {
        let account = account(&aside.finding, &Teller { clock: *clock, says_deadlines: true });
        let until = match aside.until {
            Some(until) => format!("until {}", clock.in_a_sentence(until)),
            None => "until it is another than it was".to_owned(),
        };
        let name = shop.name().map(|shop| format!("{shop} - ")).unwrap_or_default();
        document.push(Block::Item(Item {
            tone: Tone::Watch,
            when: None,
            head: line(format!("{name}{}: {}.", account.subject, account.what)),
            lines: vec![line(format!("Set aside {until}. Your note: {}", theirs(&aside.note, NOTE)))],
            quote: None,
            links: Vec::new(),
        }));
    }
    document.more(all.len(), most, "everyline findings --all");
}
