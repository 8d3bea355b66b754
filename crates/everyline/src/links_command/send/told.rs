//! What sending would change, and what became of it, as an owner reads it and as JSON Lines.
//!
//! Owns the wording alone. Start reading at [`Teller`].

use digest::clean;
use ledger::{PlannedSku, SkuState};
use model::{ListingId, Options, Sku};
use serde::Serialize;

use super::plan::{NotSent, Plan, Planned};
use super::work::Ended;
use crate::links_command::said::{counted, hanging, options_text, paragraph};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// Where the words of an offer begin.
const INDENT: usize = 13;

/// How offers are written, and where.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Way {
    /// For reading, to standard output.
    Table,
    /// As JSON Lines, to standard output.
    Jsonl,
    /// For reading, to standard error: standard output has another table.
    Aside,
}

/// Writes a line, or lines, for each offer, as they come.
pub struct Teller {
    way: Way,
    /// The listing that was named last.
    listing: Option<ListingId>,
    /// Why the last line could not be written.
    trouble: Option<Trouble>,
}

/// An offer as JSON Lines has it.
#[derive(Serialize)]
struct Line<'a> {
    listing_id: Option<&'a str>,
    options: Option<&'a Options>,
    title: Option<&'a str>,
    old_sku: Option<&'a str>,
    new_sku: Option<&'a str>,
    status: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    run: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    seen_sku: Option<Option<&'a str>>,
    why: Option<&'a str>,
}

impl Teller {
    /// One that writes in a way.
    pub fn new(way: Way) -> Self {
        Self { way, listing: None, trouble: None }
    }

    /// What would be changed, and what is not sent.
    pub fn plan(&mut self, plan: &Plan) {
        let mut all: Vec<(Option<&ListingId>, Option<&Options>, Entry<'_>)> = plan
            .changes
            .iter()
            .map(|change| (Some(&change.sku.listing_id), Some(&change.sku.options), Entry::ToSend(change)))
            .collect();
        all.extend(
            plan.not_sent
                .iter()
                .map(|not| (not.listing_id.as_ref(), not.options.as_ref(), Entry::NotSent(not))),
        );
        all.sort_by_key(|(listing, options, _)| (*listing, *options));
        for (.., entry) in all {
            match entry {
                Entry::ToSend(change) => self.would_change(change.title.as_deref(), &change.sku),
                Entry::NotSent(not) => self.not_sent(not),
            }
        }
    }

    /// One offer that would be changed.
    pub fn would_change(&mut self, title: Option<&str>, sku: &PlannedSku) {
        if self.way == Way::Jsonl {
            self.line(&Line { title, ..line(sku, "to-send") });
            return;
        }
        self.head(Some(&sku.listing_id), title);
        self.write(&hanging("  to send", &change(sku), INDENT));
    }

    /// What is not sent, alone.
    pub fn all_not_sent(&mut self, plan: &Plan) {
        for not in &plan.not_sent {
            self.not_sent(not);
        }
    }

    fn not_sent(&mut self, not: &NotSent) {
        if self.way == Way::Jsonl {
            self.line(&Line {
                listing_id: not.listing_id.as_ref().map(ListingId::as_str),
                options: not.options.as_ref(),
                title: not.title.as_deref(),
                old_sku: not.sku.as_deref(),
                new_sku: None,
                status: "not-sent",
                run: None,
                seen_sku: None,
                why: Some(&not.why),
            });
            return;
        }
        self.head(not.listing_id.as_ref(), not.title.as_deref());
        let options = not.options.as_ref().map(options_text);
        let what = options.map(|options| format!("{options}: ")).unwrap_or_default();
        self.write(&hanging("  not sent", &format!("{what}{}", clean(not.why.as_str())), INDENT));
    }

    /// What became of a change.
    pub fn ended(&mut self, title: Option<&str>, ended: &Ended) {
        if self.way == Way::Jsonl {
            let seen_sku = ended.seen.as_ref().map(|sku| sku.as_ref().map(Sku::as_str));
            self.line(&Line {
                title,
                run: Some(ended.run),
                seen_sku,
                why: ended.why.as_deref(),
                ..line(&ended.planned, ended.state.word())
            });
            return;
        }
        self.head(Some(&ended.planned.listing_id), title);
        let why = ended.why.as_deref().map(|why| format!("; {}", clean(why))).unwrap_or_default();
        let word = match ended.state {
            SkuState::Planned => "left",
            SkuState::Asked | SkuState::NotKnown => "not known",
            SkuState::Confirmed => "done",
            SkuState::Refused => "not done",
            SkuState::Elsewhere => "otherwise",
        };
        self.write(&hanging(&format!("  {word}"), &format!("{}{why}", change(&ended.planned)), INDENT));
    }

    /// A sentence for people; beside JSON Lines, which are for programs, on standard error.
    pub fn say(&mut self, text: &str) {
        let text = paragraph(&clean(text));
        match self.way {
            Way::Jsonl => tell(text.trim_end()),
            Way::Table | Way::Aside => self.write(&text),
        }
    }

    /// A command that does something, in a line of its own, so that it can be copied whole.
    pub fn command(&mut self, what: &str, command: &str) {
        let text = format!("{what}\n  {command}\n");
        match self.way {
            Way::Jsonl => tell(text.trim_end()),
            Way::Table | Way::Aside => self.write(&text),
        }
    }

    /// A blank line behind offers, in what is for reading.
    pub fn gap(&mut self) {
        if self.listing.take().is_some() && self.way != Way::Jsonl {
            self.write("\n");
        }
    }

    /// Whether all could be written.
    ///
    /// # Errors
    /// The first that could not.
    pub fn finish(self) -> Result<(), Trouble> {
        self.trouble.map_or(Ok(()), Err)
    }

    fn head(&mut self, listing_id: Option<&ListingId>, title: Option<&str>) {
        if listing_id == self.listing.as_ref() {
            return;
        }
        self.listing = listing_id.cloned();
        let title = title.map(|title| format!("  {}", clean(title))).unwrap_or_default();
        let id = listing_id.map(|id| clean(id.as_str()).into_owned()).unwrap_or_default();
        self.write(&format!("{id}{title}\n"));
    }

    fn line(&mut self, line: &Line<'_>) {
        // Texts and numbers alone: there is nothing in it that JSON cannot hold.
        let text = serde_json::to_string(line).unwrap_or_default() + "\n";
        self.write(&text);
    }

    /// What is done goes on where nobody can be told of it any more: the journal has it.
    fn write(&mut self, text: &str) {
        if self.way == Way::Aside {
            tell(text.trim_end_matches('\n'));
        } else if self.trouble.is_none() {
            self.trouble = write_data(text).err();
        }
    }
}

enum Entry<'a> {
    ToSend(&'a Planned),
    NotSent(&'a NotSent),
}

fn line<'a>(sku: &'a PlannedSku, status: &'a str) -> Line<'a> {
    Line {
        listing_id: Some(sku.listing_id.as_str()),
        options: Some(&sku.options),
        title: None,
        old_sku: sku.old.as_ref().map(Sku::as_str),
        new_sku: sku.new.as_ref().map(Sku::as_str),
        status,
        run: None,
        seen_sku: None,
        why: None,
    }
}

/// `Colour: Moss, Size: Large: OLD -> AP-L-MO`.
fn change(sku: &PlannedSku) -> String {
    let named = |sku: &Option<Sku>| match sku {
        Some(sku) => clean(sku.as_str()).into_owned(),
        None => "no SKU".to_owned(),
    };
    format!("{}: {} -> {}", options_text(&sku.options), named(&sku.old), named(&sku.new))
}

/// How many offers are what, in one sentence each.
pub fn totals(plan: &Plan) -> String {
    let offers = |count| counted(count, "offer", "offers");
    let mut parts = vec![format!("{} to send", offers(plan.changes.len()))];
    if !plan.not_sent.is_empty() {
        parts.push(format!("{} not sent", plan.not_sent.len()));
    }
    if plan.in_force > 0 {
        parts.push(format!("{} linked already", plan.in_force));
    }
    if plan.own_stock > 0 {
        parts.push(format!("{} that you pack yourself", plan.own_stock));
    }
    parts.join(", ") + "."
}

/// How many changes ended how.
pub fn ends(ended: &[Ended], left: usize) -> String {
    let count = |states: &[SkuState]| ended.iter().filter(|one| states.contains(&one.state)).count();
    let parts = [
        (count(&[SkuState::Confirmed]), "done"),
        (count(&[SkuState::Refused]), "not done"),
        (count(&[SkuState::Elsewhere]), "otherwise than planned"),
        (count(&[SkuState::Asked, SkuState::NotKnown]), "not known"),
        (count(&[SkuState::Planned]) + left, "left as they were"),
    ];
    let parts: Vec<String> = parts
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    if parts.is_empty() { "nothing to do".to_owned() } else { parts.join(", ") }
}
