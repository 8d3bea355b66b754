//! `everyline demo`: an audit of an invented shop's sale, with nothing to set up.
//!
//! Writes the shop's tables into a folder of its own and audits that folder as anybody would. Must not know what
//! is planted in the tables: what it explains, it takes from the answer. Start reading at [`run`].

use std::fs;
use std::path::Path;

use chrono::SecondsFormat;
use digest::say;
use model::finding::{Evidence, Reason};
use model::{Book, Check, Finding, Outcome};

use crate::arguments::DemoArguments;
use crate::audit::{Question, audit, page};
use crate::configuration::Settings;
use crate::exit::Exit;
use crate::terminal::{self, write_data};
use crate::trouble::Trouble;

/// The most columns of running text; longer lines are hard to read.
const PROSE: usize = 100;

/// Runs the command; `program` is what it was called by. Its findings are no findings of anybody's shop: the code is that of success.
///
/// # Errors
/// Where the folder cannot be written, or not be read again.
pub fn run(asked: &DemoArguments, program: &Path) -> Result<Exit, Trouble> {
    let trouble = |error| {
        Trouble::new("the demo's tables could not be written", error)
            .help("it needs a temporary folder with some megabytes of room; TMPDIR says which one is used")
    };
    let shop = simshop::sale_day();
    let home = tempfile::Builder::new().prefix("everyline-demo-").tempdir().map_err(trouble)?.keep();
    let configuration = home.join("everyline.toml");
    simshop::write_csv(&shop.book, &home).map_err(trouble)?;
    fs::write(&configuration, &shop.configuration).map_err(trouble)?;

    let settings = Settings::read(Some(&configuration), None)?;
    let question = Question {
        folder: &home,
        settings: &settings,
        as_of: shop.as_of,
        skip_bad_rows: false,
        plain: false,
        quiet: true,
    };
    let outcome = audit(&question)?;

    let columns = terminal::width().min(PROSE);
    let opening = format!(
        "Kittiwake Kitchen is an invented shop after a busy sale. What its storefront and its suppliers would export \
         is now in {}. This is what everyline says of it:",
        home.display()
    );
    let again = format!(
        "{} audit --from {} --config {} --as-of {}",
        quoted(program),
        quoted(&home),
        quoted(&configuration),
        shop.as_of.to_rfc3339_opts(SecondsFormat::Secs, true)
    );
    let closing = format!(
        "To see it again, or in another format:\n\n  {again}\n\nThe folder is kept. When you are done with it:\n\n  rm -r {}\n",
        quoted(&home)
    );
    let explained = explained(&outcome, &shop.book, &settings)
        .map(|paragraph| textwrap::fill(&paragraph, columns) + "\n\n")
        .concat();
    write_data(&format!(
        "{}\n\n{}\n{explained}{closing}",
        textwrap::fill(&opening, columns),
        page(&outcome, settings.zone, asked.colour, &[]),
    ))?;
    Ok(Exit::Nothing)
}

/// What the answer shows, in a few sentences, by an order that went out short.
fn explained(outcome: &Outcome, book: &Book, settings: &Settings) -> [String; 3] {
    let example = example(outcome).and_then(|finding| {
        let order = finding.order_id.as_ref()?;
        let lines = book.order_lines.iter().filter(|line| line.order_id == *order).count();
        Some(format!(
            "Take the order {order}. The customer bought {lines} lines and gets {}. everyline says: {}",
            lines - finding.lines.len(),
            say(finding, settings.zone)
        ))
    });
    [
        example.unwrap_or_else(|| "No order went out short.".to_owned()),
        "Why no list shows it: an order with no line linked waits where the owner looks, and one with all lines \
         linked goes to the supplier by itself. An order with some lines linked goes too, without the others, and \
         from then on looks done: the supplier has all that it was asked for, and the storefront sees the order on \
         its way. The customer finds out."
            .to_owned(),
        "What to do: before the cut-off, link what is not linked and order the missing line from the supplier, so \
         that it goes with the rest; after it, the same, and a second parcel is needed. The list above says it for \
         each order."
            .to_owned(),
    ]
}

/// The fault in its plainest form: a supplier has some lines of an order whole, the others are linked to nothing,
/// and it can still be put right. The most urgent one, best of an order with which nothing else is wrong.
fn example(outcome: &Outcome) -> Option<&Finding> {
    let of_its_order = |finding: &Finding| {
        outcome.findings.iter().filter(|other| other.order_id == finding.order_id).count()
    };
    let is_plain = |finding: &&Finding| {
        let sent = matches!(&finding.evidence, Evidence::Gap(gap) if !gap.sent.is_empty());
        let unlinked = finding.lines.iter().all(|line| {
            line.reason == Some(Reason::NoLink)
                && line.intended.is_empty()
                && line.units == u64::from(line.quantity)
        });
        finding.check == Check::PartSent && sent && unlinked && finding.act_before.is_some()
    };
    let first = |finding: &&Finding| (of_its_order(finding), finding.act_before, finding.order_id.clone());
    outcome.findings.iter().filter(is_plain).min_by_key(first)
}

/// A path as a shell takes it.
fn quoted(path: &Path) -> String {
    let path = path.display().to_string();
    let plain = |c: char| c.is_ascii_alphanumeric() || "/._-".contains(c);
    if path.chars().all(plain) { path } else { format!("'{}'", path.replace('\'', r"'\''")) }
}
