//! `everyline config check`: whether a configuration holds together, and what is in force with it, in plain words.
//!
//! Must not know how a file is read. Start reading at [`run`]; `sources` says where the rows come from.

mod page;
mod sending;
mod sources;

use std::path::Path;

use chrono::{NaiveDate, TimeDelta, Weekday};
use forecast::CutOff;
use links::sheet::{OnePriceFor, Wording};
use model::ShopId;
use model::rules::{Graces, ReferenceForm};

use crate::arguments::ConfigCheckArguments;
use crate::audit::USUAL_CONFIGURATION;
use crate::configuration::{Configuration, Page, Sending, Settings, SheetSettings, WEEKDAYS};
use crate::exit::Exit;
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// Runs the command. A secret that is not there is said, and nothing more: the daemon may have what a shell does not.
///
/// # Errors
/// Where the configuration does not hold together, or does not have the shop that is asked for.
pub fn run(asked: &ConfigCheckArguments) -> Result<Exit, Trouble> {
    let text = match &asked.config {
        Some(file) => of_file(file, asked.shop.as_deref())?,
        None if Path::new(USUAL_CONFIGURATION).exists() => {
            of_file(Path::new(USUAL_CONFIGURATION), asked.shop.as_deref())?
        }
        None => {
            "No configuration file was given. This is in force:\n".to_owned()
                + &in_force(&Settings::default())
                + &sending::said(&Sending::default())?
                + &page::said(&Page::default())
        }
    };
    write_data(&text)?;
    Ok(Exit::Nothing)
}

/// All shops of a file, or the one that is asked for.
fn of_file(file: &Path, asked: Option<&str>) -> Result<String, Trouble> {
    let configuration = Configuration::read(file)?;
    let shops: Vec<(&ShopId, &Settings)> = match asked {
        Some(_) => vec![configuration.shop(asked)?],
        None => configuration.shops.iter().collect(),
    };
    let ledger = configuration.ledger.display();
    let not_yet = if configuration.ledger.exists() { "" } else { ", which is not there yet" };
    let mut text =
        format!("{} holds together. The ledger is {ledger}{not_yet}. This is in force:\n", file.display());
    for (shop, settings) in shops {
        let said = in_force(settings);
        if configuration.shops.len() == 1 {
            text += &said;
        } else {
            text += &format!("\nShop {shop}:\n{}", indented(&said));
        }
    }
    text += &sending::said(&configuration.sending)?;
    text += &page::said(&configuration.page);
    Ok(text)
}

fn indented(text: &str) -> String {
    let line = |line: &str| if line.is_empty() { "\n".to_owned() } else { format!("  {line}\n") };
    text.trim_start_matches('\n').lines().map(line).collect()
}

/// What is in force for one shop, paragraph by paragraph.
fn in_force(settings: &Settings) -> String {
    let rules = &settings.rules;
    let mut lines = vec![String::new(), format!("The shop's time zone is {}.", settings.zone), String::new()];
    lines.push("How long each thing may take before it is named:".to_owned());
    lines.extend(graces(&rules.graces).map(|(span, words)| format!("  {span:<8} {words}")));
    lines.push(String::new());

    let fees = &rules.fees;
    let mut sums = vec![format!("{} % of the price", fees.percent_of_price)];
    sums.extend(fees.per_unit.iter().map(|fee| format!("{fee} for each unit sold")));
    lines.push(format!("Selling costs {}, beside the goods.", sums.join(" and ")));
    lines.push(String::new());

    lines.push(format!("Suppliers write the number of an order {}.", reference(&rules.references)));
    if !rules.samples.is_empty() {
        let patterns: Vec<&str> = rules.samples.iter().map(regex::Regex::as_str).collect();
        lines.push(format!("A reference that matches {} is a sample.", patterns.join(" or ")));
    }

    lines.push(String::new());
    lines.push(new_listings(&settings.sheet));

    if settings.suppliers.is_empty() {
        lines.push(String::new());
        lines.push("Nothing is set for any one supplier; no cut-off is known.".to_owned());
    }
    for supplier in &settings.suppliers {
        lines.extend([String::new(), format!("{supplier}:")]);
        lines.push(format!("  {}", settings.cut_offs.get(supplier).map_or_else(no_cut_off, cut_off)));
        let own = graces(rules.graces_of(supplier));
        let differs = own.zip(graces(&rules.graces)).filter(|(own, general)| own != general);
        lines.extend(differs.map(|((span, words), _)| format!("  {span:<8} {words}")));
        let form = rules.references_of(supplier);
        if reference(form) != reference(&rules.references) {
            lines.push(format!("  It writes the number of an order {}.", reference(form)));
        }
    }
    lines.extend(sources::said(&settings.sources));
    lines.push(String::new());
    lines.join("\n")
}

/// What `everyline links sheet` goes by.
fn new_listings(sheet: &SheetSettings) -> String {
    let margin = match sheet.margin {
        Some(margin) => format!("{margin} is to be left"),
        None => "no margin is set".to_owned(),
    };
    let one_price = match sheet.one_price_for {
        OnePriceFor::Good => "a good has one price",
        OnePriceFor::Size => "a good in one size has one price",
        OnePriceFor::Each => "each row has a price of its own",
    };
    let Wording { size, colour, item, item_value, one_colour } = &sheet.wording;
    format!(
        "For new listings {margin}; {}; {one_price}.\nTheir options are {size:?} and {colour:?}, of several goods {item:?} \
         as {:?} and {colour:?}, of a good without colours {one_colour:?}.",
        sheet.rounding,
        item_value.to_string(),
    )
}

fn graces(graces: &Graces) -> impl Iterator<Item = (String, &'static str)> {
    [
        (graces.submit, "from payment until a linked order line has reached its supplier"),
        (graces.stray, "until a supplier order must be known to belong to an order"),
        (graces.hold, "for a supplier to put an order on hold"),
        (graces.start, "from receipt until the supplier has begun"),
        (graces.parcel_gap, "from the first parcel of an order until the rest has gone"),
        (graces.mark, "from the last parcel until the storefront says that the order is dispatched"),
    ]
    .into_iter()
    .map(|(span, words)| (shown(span), words))
}

/// `90 min`, `12 h`, `2 days`: in the largest unit that holds it exactly.
fn shown(span: TimeDelta) -> String {
    let seconds = span.num_seconds();
    let unit = |length: i64| (seconds != 0 && seconds % length == 0).then_some(seconds / length);
    match (unit(86_400), unit(3_600), unit(60)) {
        (Some(days), ..) if days > 1 => format!("{days} days"),
        (_, Some(hours), _) => format!("{hours} h"),
        (.., Some(minutes)) => format!("{minutes} min"),
        _ => format!("{seconds} s"),
    }
}

fn reference(form: &ReferenceForm) -> String {
    let mut parts = Vec::new();
    if !form.prefix.is_empty() {
        parts.push(format!("after {:?}", form.prefix));
    }
    if !form.suffix.is_empty() {
        parts.push(format!("before {:?}", form.suffix));
    }
    if let Some(pattern) = &form.pattern {
        parts.push(format!("where {} finds it", pattern.as_str()));
    }
    if parts.is_empty() { "exactly as the storefront does".to_owned() } else { parts.join(", ") }
}

fn no_cut_off() -> String {
    "No cut-off is known.".to_owned()
}

fn cut_off(cut_off: &CutOff) -> String {
    match cut_off {
        CutOff::AfterReceipt(span) => {
            format!("Can still change an order for {} after receipt.", shown(*span))
        }
        CutOff::Daily { at, zone, calendar } => {
            let word = |day: Weekday| WEEKDAYS.iter().find(|(_, of)| *of == day).map_or("", |(word, _)| word);
            let days: Vec<&str> = calendar.working_days().map(word).collect();
            let holidays: Vec<String> = calendar.holidays().map(|day: NaiveDate| day.to_string()).collect();
            let except = match holidays.as_slice() {
                [] => String::new(),
                holidays => format!(", not on {}", holidays.join(", ")),
            };
            format!(
                "Can still change an order until the next {} {zone} time, on {}{except}.",
                at.format("%H:%M"),
                days.join(", ")
            )
        }
    }
}
