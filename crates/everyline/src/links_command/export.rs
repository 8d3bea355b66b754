//! `everyline links export`: the owner's links and rules as tables, and each change of them.
//!
//! Must not know how a change is made. Start reading at [`run`].

use std::fmt::Write;

use chrono_tz::Tz;
use digest::clean;
use ledger::{ChangeNote, LinkChange, LinkPart, OwnerLink, OwnerRule, Product, Step};
use model::Options;
use model::book::LinkScope;
use serde::Serialize;

use super::desk::Desk;
use super::said::{Skus, hanging, parts, product, steps};
use crate::arguments::{ExportFormat, ExportLinksArguments};
use crate::exit::Exit;
use crate::opened::{self, Opened, of_ledger};
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// Runs the command.
///
/// # Errors
/// Where the configuration or the ledger cannot be used.
pub fn run(asked: &ExportLinksArguments) -> Result<Exit, Trouble> {
    opened::run(async {
        let usual = if asked.history { ExportFormat::Table } else { ExportFormat::Csv };
        let format = asked.format.unwrap_or(usual);
        if format == ExportFormat::Table && !asked.rules {
            return for_reading(asked).await;
        }
        let Opened { ledger, shop, settings } = Opened::of(&asked.of).await?;
        let text = if asked.history {
            history(&ledger.link_changes(&shop).await.map_err(of_ledger)?, format)
        } else if asked.rules {
            rules(&ledger.owner_rules(&shop).await.map_err(of_ledger)?, format, settings.zone)
        } else {
            links(&ledger.owner_links(&shop).await.map_err(of_ledger)?, format)
        };
        ledger.close().await;
        write_data(&text)?;
        Ok(Exit::Nothing)
    })
}

/// Links, or changes, in words; offers and variants are known by their SKUs too, so what is on sale is read as well.
async fn for_reading(asked: &ExportLinksArguments) -> Result<Exit, Trouble> {
    let desk = Desk::open(&asked.of).await?;
    let text = if asked.history {
        let changes = desk.ledger.link_changes(&desk.shop).await.map_err(of_ledger)?;
        told(&changes, desk.zone, &desk.skus())
    } else {
        links_told(&desk.links, desk.zone, &desk.skus())
    };
    desk.ledger.close().await;
    write_data(&text)?;
    Ok(Exit::Nothing)
}

/// A row of the exchange table `links`, with the columns that say something.
#[derive(Serialize)]
struct LinkLine<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    listing_id: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sku: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    options: Option<&'a Options>,
    supplier: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    variant_id: Option<&'a str>,
    units: u32,
    in_force: bool,
}

impl<'a> LinkLine<'a> {
    fn of(scope: &'a LinkScope, part: &'a LinkPart) -> Self {
        let (listing_id, sku, options) = match scope {
            LinkScope::Offer(listing_id, options) => (Some(listing_id.as_str()), None, Some(options)),
            LinkScope::Sku(sku) => (None, Some(sku.as_str()), None),
            LinkScope::Listing(listing_id) => (Some(listing_id.as_str()), None, None),
        };
        Self {
            listing_id,
            sku,
            options,
            supplier: part.supplier.as_str(),
            variant_id: part.variant_id.as_ref().map(|id| id.as_str()),
            units: part.units,
            in_force: part.in_force,
        }
    }
}

fn links_told(all: &[OwnerLink], zone: Tz, skus: &Skus<'_>) -> String {
    if all.is_empty() {
        return "You have made no links. `everyline links set` makes one.\n".to_owned();
    }
    let mut text = String::new();
    for link in all {
        text +=
            &hanging("", &format!("{} leads to {}", skus.scope(&link.scope), parts(&link.parts, skus)), 2);
        text += &by(&link.change, zone);
    }
    text
}

fn links(all: &[OwnerLink], format: ExportFormat) -> String {
    let lines = all.iter().flat_map(|link| link.parts.iter().map(|part| LinkLine::of(&link.scope, part)));
    match format {
        ExportFormat::Jsonl => lines.map(|line| json_line(&line)).collect(),
        ExportFormat::Csv | ExportFormat::Table => table(
            &["listing_id", "sku", "options", "supplier", "variant_id", "units", "in_force"],
            lines.map(|line| {
                [
                    line.listing_id.unwrap_or_default().to_owned(),
                    line.sku.unwrap_or_default().to_owned(),
                    line.options.map(json).unwrap_or_default(),
                    line.supplier.to_owned(),
                    line.variant_id.unwrap_or_default().to_owned(),
                    line.units.to_string(),
                    line.in_force.to_string(),
                ]
            }),
        ),
    }
}

/// A row of a table of rules.
#[derive(Serialize)]
struct RuleLine<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    product_type: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    age_group: Option<&'a str>,
    words: String,
    supplier: &'a str,
    product: &'a str,
}

impl<'a> RuleLine<'a> {
    fn of(rule: &'a OwnerRule) -> Self {
        let good = &rule.rule.good;
        let is_plain = |word: &String| !word.contains(char::is_whitespace) && !word.starts_with('[');
        let words = if good.words.iter().all(is_plain) { good.words.join(" ") } else { json(&good.words) };
        Self {
            product_type: good.product_type.as_deref(),
            age_group: good.age_group.as_deref(),
            words,
            supplier: rule.rule.supplier.as_str(),
            product: &rule.rule.product,
        }
    }
}

fn rules(all: &[OwnerRule], format: ExportFormat, zone: Tz) -> String {
    let lines = all.iter().map(RuleLine::of);
    match format {
        ExportFormat::Table if all.is_empty() => {
            "You have made no rules. `everyline links set --product` makes one.\n".to_owned()
        }
        ExportFormat::Table => {
            let mut text = String::new();
            for rule in all {
                let of = Product { supplier: rule.rule.supplier.clone(), product: rule.rule.product.clone() };
                let is = format!("good '{}' is {}", rule.rule.good, product(&of));
                text += &hanging("", &clean(is), 2);
                text += &by(&rule.change, zone);
            }
            text += "`everyline links set --good GOOD --remove` takes a rule away.\n";
            text
        }
        ExportFormat::Jsonl => lines.map(|line| json_line(&line)).collect(),
        ExportFormat::Csv => table(
            &["product_type", "age_group", "words", "supplier", "product"],
            lines.map(|line| {
                [
                    line.product_type.unwrap_or_default().to_owned(),
                    line.age_group.unwrap_or_default().to_owned(),
                    line.words,
                    line.supplier.to_owned(),
                    line.product.to_owned(),
                ]
            }),
        ),
    }
}

/// Which change, by whom, when and why.
fn by(note: &ChangeNote, zone: Tz) -> String {
    let why = note.signed.why.as_ref().map(|why| format!(": {why}")).unwrap_or_default();
    hanging("    ", &clean(format!("change {}, {}{why}", note.number, who_and_when(note, zone))), 4)
}

fn who_and_when(note: &ChangeNote, zone: Tz) -> String {
    let at = note.signed.at.with_timezone(&zone).format("%-d %b %Y %H:%M");
    format!("{}, {at}", note.signed.by)
}

/// A change in the history.
#[derive(Serialize)]
struct ChangeLine<'a> {
    change: i64,
    at: String,
    by: &'a str,
    why: Option<&'a str>,
    undoes: Option<i64>,
    undone_by: Option<i64>,
    steps: Vec<StepLine<'a>>,
}

/// What a change made of one thing.
#[derive(Serialize)]
#[serde(untagged)]
enum StepLine<'a> {
    Link {
        #[serde(skip_serializing_if = "Option::is_none")]
        listing_id: Option<&'a str>,
        #[serde(skip_serializing_if = "Option::is_none")]
        sku: Option<&'a str>,
        #[serde(skip_serializing_if = "Option::is_none")]
        options: Option<&'a Options>,
        was: Vec<PartLine<'a>>,
        became: Vec<PartLine<'a>>,
    },
    Rule {
        good: String,
        was: Option<ProductLine<'a>>,
        became: Option<ProductLine<'a>>,
    },
}

#[derive(Serialize)]
struct PartLine<'a> {
    supplier: &'a str,
    variant_id: Option<&'a str>,
    units: u32,
    in_force: bool,
}

#[derive(Serialize)]
struct ProductLine<'a> {
    supplier: &'a str,
    product: &'a str,
}

impl<'a> StepLine<'a> {
    fn of(step: &'a Step) -> Self {
        let part = |part: &'a LinkPart| PartLine {
            supplier: part.supplier.as_str(),
            variant_id: part.variant_id.as_ref().map(|id| id.as_str()),
            units: part.units,
            in_force: part.in_force,
        };
        let product = |product: &'a Option<Product>| {
            product
                .as_ref()
                .map(|product| ProductLine { supplier: product.supplier.as_str(), product: &product.product })
        };
        match step {
            Step::Link { scope, was, became } => {
                let (listing_id, sku, options) = match scope {
                    LinkScope::Offer(listing_id, options) => (Some(listing_id.as_str()), None, Some(options)),
                    LinkScope::Sku(sku) => (None, Some(sku.as_str()), None),
                    LinkScope::Listing(listing_id) => (Some(listing_id.as_str()), None, None),
                };
                let (was, became) = (was.iter().map(part).collect(), became.iter().map(part).collect());
                Self::Link { listing_id, sku, options, was, became }
            }
            Step::Rule { good, was, became } => {
                Self::Rule { good: good.to_string(), was: product(was), became: product(became) }
            }
        }
    }
}

fn history(all: &[LinkChange], format: ExportFormat) -> String {
    match format {
        ExportFormat::Jsonl => all
            .iter()
            .map(|LinkChange { note, steps }| {
                json_line(&ChangeLine {
                    change: note.number,
                    at: note.signed.at.to_rfc3339(),
                    by: &note.signed.by,
                    why: note.signed.why.as_deref(),
                    undoes: note.undoes,
                    undone_by: note.undone_by,
                    steps: steps.iter().map(StepLine::of).collect(),
                })
            })
            .collect(),
        ExportFormat::Csv | ExportFormat::Table => {
            let number = |number: Option<i64>| number.map(|number| number.to_string()).unwrap_or_default();
            let rows = all.iter().flat_map(|LinkChange { note, steps }| {
                steps.iter().map(move |step| {
                    let (about, was, became) = about(step);
                    [
                        note.number.to_string(),
                        note.signed.at.to_rfc3339(),
                        note.signed.by.clone(),
                        note.signed.why.clone().unwrap_or_default(),
                        number(note.undoes),
                        number(note.undone_by),
                        about,
                        was,
                        became,
                    ]
                })
            });
            table(&["change", "at", "by", "why", "undoes", "undone_by", "about", "was", "became"], rows)
        }
    }
}

/// What a step is about, what that was, and what it became; empty where it was, or is, nothing.
fn about(step: &Step) -> (String, String, String) {
    let is = |to: &Option<Product>| to.as_ref().map(product).unwrap_or_default();
    let plain = Skus::default();
    match step {
        Step::Link { scope, was, became } => (scope.to_string(), parts(was, &plain), parts(became, &plain)),
        Step::Rule { good, was, became } => (format!("good '{good}'"), is(was), is(became)),
    }
}

/// How many steps of each change are shown for reading; the other formats have all.
const STEPS_AT_MOST: usize = 20;

fn told(all: &[LinkChange], zone: Tz, skus: &Skus<'_>) -> String {
    if all.is_empty() {
        return "You have changed no links yet. `everyline links set` makes one.\n".to_owned();
    }
    let mut text = String::new();
    for LinkChange { note, steps: made } in all {
        let mut head = format!("change {}, {}", note.number, who_and_when(note, zone));
        if let Some(undoes) = note.undoes {
            let _ = write!(head, ": takes back change {undoes}");
        }
        if let Some(by) = note.undone_by {
            let _ = write!(head, " (taken back by change {by})");
        }
        text += &hanging("", &clean(head), 2);
        if let Some(why) = &note.signed.why {
            text += &hanging("  ", &clean(format!("why: {why}")), 2);
        }
        text += &steps(made, STEPS_AT_MOST, skus);
    }
    text
}

fn json(value: &impl Serialize) -> String {
    // Texts, numbers and lists alone: there is nothing in it that JSON cannot hold.
    serde_json::to_string(value).unwrap_or_default()
}

fn json_line(value: &impl Serialize) -> String {
    json(value) + "\n"
}

/// A table with a header.
fn table<const N: usize>(header: &[&str; N], rows: impl IntoIterator<Item = [String; N]>) -> String {
    let mut table = csv::Writer::from_writer(Vec::new());
    // Into memory, which does not fail.
    let _ = table.write_record(header);
    for row in rows {
        let _ = table.write_record(&row);
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}
