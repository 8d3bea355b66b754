//! Says a finding in everyday words: what is wrong, and what to do about it.
//!
//! Must not know how the words are laid out. Start reading at [`say`]; the table takes the same words from
//! [`account`], so that no two outputs say different things. What each check says stands in the modules below.

mod dispatched;
mod listing;
mod missing;
mod reading;
mod sent;

use std::fmt::{Display, from_fn};

use chrono::DateTime;
use chrono::Utc;
use chrono_tz::Tz;
use model::Finding;
use model::finding::Evidence;

use crate::clean::{NO_BREAK, clean, clean_isolating};
use crate::moment::Clock;
use crate::words::{capital, supplier_order};

/// One sentence: what is wrong and what to do next, with times in `zone`, dated.
///
/// The year is said where it is not the one in which the finding was first seen. The sentence has no control
/// characters, whatever the shop's texts hold, and plain blanks only, so that it can be searched.
pub fn say(finding: &Finding, zone: Tz) -> String {
    let clock = Clock::of_any_day(zone, finding.first_seen);
    let Account { subject, what, todo, aside } = account(finding, &Teller { clock, says_deadlines: true });
    let aside = aside.map(|aside| format!(" ({aside})")).unwrap_or_default();
    clean(format!("{subject}: {what}; {todo}{aside}.")).replace(NO_BREAK, " ")
}

/// A finding in words. `subject: what; todo (aside)` is one sentence.
pub struct Account {
    /// What it is about.
    pub subject: String,
    /// What is wrong with it.
    pub what: String,
    /// What to do, as an imperative.
    pub todo: String,
    /// A question to the owner that settles it another way.
    pub aside: Option<&'static str>,
}

impl Account {
    fn new(subject: impl Into<String>, what: impl Into<String>, todo: impl Into<String>) -> Self {
        Self { subject: subject.into(), what: what.into(), todo: todo.into(), aside: None }
    }

    /// It without isolates, for what cannot show them.
    pub fn without_isolates(self) -> Self {
        let plain = |text: String| clean(text).into_owned();
        let Self { subject, what, todo, aside } = self;
        Self { subject: plain(subject), what: plain(what), todo: plain(todo), aside }
    }

    /// About the finding's order or supplier order.
    fn of(finding: &Finding, what: impl Into<String>, todo: impl Into<String>) -> Self {
        let subject = match &finding.order_id {
            Some(order_id) => format!("order {order_id}"),
            None => supplier_order(finding.submission_id.as_ref(), finding.supplier.as_ref()).to_string(),
        };
        Self::new(subject, what, todo)
    }
}

/// How an account is told.
pub struct Teller {
    /// How moments are told.
    pub clock: Clock,
    /// Whether the deadline is said; a table shows it beside the words.
    pub says_deadlines: bool,
}

impl Teller {
    fn before(&self, deadline: Option<DateTime<Utc>>) -> impl Display {
        from_fn(move |f| match deadline {
            Some(moment) if self.says_deadlines => write!(f, " before {}", self.at(moment)),
            _ => Ok(()),
        })
    }

    fn at(&self, moment: DateTime<Utc>) -> String {
        self.clock.in_a_sentence(moment)
    }
}

/// The words of a finding, cleaned, with isolates.
pub fn account(finding: &Finding, teller: &Teller) -> Account {
    let account = match &finding.evidence {
        Evidence::Gap(gap) => missing::gap(finding, gap, teller),
        Evidence::Wrong(wrong) => sent::wrong(finding, wrong, teller),
        Evidence::Surplus(surplus) => sent::surplus(finding, surplus, teller),
        Evidence::Cancelled(cancelled) => sent::cancelled(finding, cancelled, teller),
        Evidence::Stray(stray) => sent::stray(finding, stray, teller),
        Evidence::Waiting(waiting) => sent::waiting(finding, waiting, teller),
        Evidence::PartDispatched(part) => dispatched::in_part(finding, part, teller),
        Evidence::Late(late) => dispatched::late(finding, late, teller),
        Evidence::Unmarked(unmarked) => dispatched::unmarked(finding, unmarked, teller),
        Evidence::Unlinked(unlinked) => listing::unlinked(unlinked),
        Evidence::Mismatch(mismatch) => listing::mismatch(mismatch),
        Evidence::Unusable(unusable) => listing::unusable(unusable),
        Evidence::Shared(shared) => listing::shared(shared),
        Evidence::Loss(loss) => listing::loss(loss),
        Evidence::Address(address) => dispatched::address_changed(finding, address, teller),
        Evidence::Source(source) => reading::source(finding, source, teller),
    };
    Account {
        subject: clean_isolating(&capital(account.subject)),
        what: clean_isolating(&account.what),
        todo: clean_isolating(&account.todo),
        aside: account.aside,
    }
}
