//! Says a finding in everyday words: what is wrong, and what to do about it.
//!
//! Must not know how the words are laid out. Start reading at [`say`]; the table takes the same words from
//! [`account`], so that no two outputs say different things.

use chrono::DateTime;
use chrono::Utc;
use chrono_tz::Tz;
use model::book::SubmissionStatus;
use model::finding::{
    CancelledEvidence, Evidence, GapEvidence, LateEvidence, LossEvidence, MismatchEvidence, NamedLine,
    OfferOfListing, PartDispatchedEvidence, Reason, SharedEvidence, StrayEvidence, SurplusEvidence,
    UnlinkedEvidence, UnlinkedOffer, UnmarkedEvidence, Unusable, UnusableEvidence, WaitingEvidence,
    WrongEvidence,
};
use model::reading::{Difference, Kind};
use model::{Check, Finding, Money};

use crate::causes::Why;
use crate::clean::clean;
use crate::moment::Clock;
use crate::words::{
    by_number, capital, count, in_brackets, line, line_name, lines, listed, listing, number_of, offer,
    orders, part, quoted_reference, sku_name, submission_line, supplier_order, the_supplier, units_of,
    variant,
};

/// One sentence: what is wrong and what to do next, with times in `zone`, dated.
///
/// The year is said where it is not the one in which the finding was first seen. The sentence has no control
/// characters, whatever the shop's texts hold, and plain blanks only, so that it can be searched.
pub fn say(finding: &Finding, zone: Tz) -> String {
    let clock = Clock::of_any_day(zone, finding.first_seen);
    let Account { subject, what, todo, aside } = account(finding, &Teller { clock, says_deadlines: true });
    let sentence = match aside {
        Some(aside) => format!("{subject}: {what}; {todo} ({aside})."),
        None => format!("{subject}: {what}; {todo}."),
    };
    sentence.replace('\u{a0}', " ")
}

/// What is said with everything that has no link: the one cause that needs no supplier.
pub const PACKED_BY_THE_SHOP: &str = "you pack it yourself? say so once";

/// A finding in words, cleaned. `subject: what; todo (aside)` is one sentence.
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

/// How an account is told.
pub struct Teller {
    /// How moments are told.
    pub clock: Clock,
    /// Whether the deadline is said; a table shows it beside the words.
    pub says_deadlines: bool,
}

impl Teller {
    fn before(&self, deadline: Option<DateTime<Utc>>) -> String {
        match deadline {
            Some(moment) if self.says_deadlines => format!(" before {}", self.clock.in_a_sentence(moment)),
            _ => String::new(),
        }
    }

    fn at(&self, moment: DateTime<Utc>) -> String {
        self.clock.in_a_sentence(moment)
    }
}

/// The words of a finding.
pub fn account(finding: &Finding, teller: &Teller) -> Account {
    let told = match &finding.evidence {
        Evidence::Gap(gap) => tell_gap(finding, gap, teller),
        Evidence::Wrong(wrong) => tell_wrong(finding, wrong, teller),
        Evidence::Surplus(surplus) => tell_surplus(finding, surplus, teller),
        Evidence::Cancelled(cancelled) => tell_cancelled(finding, cancelled, teller),
        Evidence::Stray(stray) => tell_stray(finding, stray, teller),
        Evidence::Waiting(waiting) => tell_waiting(finding, waiting, teller),
        Evidence::PartDispatched(dispatched) => tell_part_dispatched(finding, dispatched, teller),
        Evidence::Late(late) => tell_late(finding, late, teller),
        Evidence::Unmarked(unmarked) => tell_unmarked(unmarked, teller),
        Evidence::Unlinked(unlinked) => tell_unlinked(unlinked),
        Evidence::Mismatch(mismatch) => tell_mismatch(mismatch),
        Evidence::Unusable(unusable) => tell_unusable(unusable),
        Evidence::Shared(shared) => tell_shared(shared),
        Evidence::Loss(loss) => tell_loss(loss),
    };
    let subject = told.subject.unwrap_or_else(|| subject(finding));
    Account {
        subject: clean(&capital(&subject)),
        what: clean(&told.what),
        todo: clean(&told.todo),
        aside: told.aside,
    }
}

/// What one check says; the subject where it is not the finding's order or supplier order.
struct Told {
    subject: Option<String>,
    what: String,
    todo: String,
    aside: Option<&'static str>,
}

impl Told {
    fn new(what: String, todo: impl Into<String>) -> Self {
        Self { subject: None, what, todo: todo.into(), aside: None }
    }
}

fn subject(finding: &Finding) -> String {
    match &finding.order_id {
        Some(order_id) => format!("order {order_id}"),
        None => supplier_order(finding.submission_id.as_ref(), finding.supplier.as_ref()),
    }
}

/// What is wrong with lines, as a clause behind them: `which is not linked to a supplier variant`. `one` says
/// that a single thing stands before it.
pub fn which(why: Why, lines: &[&NamedLine], one: bool) -> String {
    let first = lines.first();
    let several = lines.len() > 1;
    let are = if one { "is" } else { "are" };
    match why {
        Why::NoLink => format!("which {are} not linked to a supplier variant"),
        Why::Intended if several => "whose links are intended and not in force yet".to_owned(),
        Why::Intended => {
            let parts = first.map_or_else(String::new, |line| listed(&line.intended, part));
            format!("whose link to {parts} is intended and not in force yet")
        }
        Why::Ambiguous if several => "whose SKUs are each shared by several supplier variants".to_owned(),
        Why::Ambiguous => match first.and_then(|line| line.sku.as_ref()) {
            Some(sku) => format!("whose {} is shared by several supplier variants", sku_name(sku)),
            None => "whose SKU is shared by several supplier variants".to_owned(),
        },
        Why::Broken if several => "whose links lead to variants that the suppliers do not have".to_owned(),
        Why::Broken => "whose link leads to a variant that the supplier does not have".to_owned(),
        Why::NotSent => format!("which {are} linked and {} not sent", if one { "was" } else { "were" }),
        Why::Short => "of which too few were sent".to_owned(),
    }
}

/// The lines with why nobody makes them, those of one reason together.
pub fn lines_and_why(named: &[&NamedLine]) -> String {
    let groups = Why::groups(named);
    let clauses: Vec<String> = groups
        .iter()
        .map(|(why, lines)| {
            let one = units_of(lines.iter().copied()) == 1;
            format!("{}, {}", listed(lines, |named| line(named)), which(*why, lines, one))
        })
        .collect();
    clauses.join(", and ")
}

fn tell_gap(finding: &Finding, gap: &GapEvidence, teller: &Teller) -> Told {
    let named: Vec<&NamedLine> = finding.lines.iter().collect();
    let missing = lines_and_why(&named);
    let others = gap
        .sent
        .iter()
        .filter(|sent| named.iter().all(|line| line.line_id != sent.line_id))
        .fold(0, |sum: u64, sent| sum.saturating_add(sent.units));
    let what = match finding.check {
        Check::UnsentOrder if gap.grace_over => {
            format!("nothing of it was sent to a supplier: nobody makes {missing}")
        }
        Check::UnsentOrder => format!("nothing of it goes to a supplier by itself: {missing}"),
        _ if others > 0 => {
            let were = by_number(others, "was", "were");
            format!(
                "nobody makes {missing}, while {} {were} sent",
                count(others, "other item", "other items")
            )
        }
        _ if gap.sent.is_empty() => format!(
            "nobody makes {missing}, while the rest of the order is linked and goes to the supplier by itself"
        ),
        _ => format!("nobody makes {missing}"),
    };
    let whys: Vec<Why> = Why::groups(&named).into_iter().map(|(why, _)| why).collect();
    let aside = whys.contains(&Why::NoLink).then_some(PACKED_BY_THE_SHOP);
    Told { aside, ..Told::new(what, gap_todo(finding, &whys, teller)) }
}

fn gap_todo(finding: &Finding, whys: &[Why], teller: &Teller) -> String {
    let one_line = finding.lines.len() == 1;
    let mut steps: Vec<String> = match whys {
        [why] => why.repair(one_line).map(str::to_owned).into_iter().collect(),
        several => several.iter().filter_map(|why| why.repair_among_others()).map(str::to_owned).collect(),
    };
    let it = match whys {
        [_] => by_number(units_of(&finding.lines), "it", "them"),
        _ => "all of it",
    };
    steps.push(if finding.cutoff_passed {
        format!("order {it}: the cut-off has passed, so a second supplier order and parcel will be needed")
    } else {
        format!("order {it} from the supplier{}", teller.before(finding.act_before))
    });
    match steps.pop() {
        Some(last) if steps.is_empty() => last,
        Some(last) => format!("{} and {last}", steps.join(", ")),
        None => String::new(),
    }
}

fn tell_wrong(finding: &Finding, wrong: &WrongEvidence, teller: &Teller) -> Told {
    let bought = finding.lines.first().map_or_else(|| "something".to_owned(), line_name);
    let sent = listed(&wrong.sent, |sent| format!("{}\u{a0}x {}", sent.units, variant(&sent.variant)));
    let mut what = format!("the wrong item was sent for {bought}: {sent}");
    if !wrong.wanted.is_empty() {
        what += &format!(" instead of {}", listed(&wrong.wanted, variant));
    }
    let mut differences: Vec<&Difference> = wrong.sent.iter().flat_map(|sent| &sent.differs).collect();
    differences.sort();
    differences.dedup();
    if !differences.is_empty() {
        what += &format!(" - {}", differing(&differences));
    }
    let mut sent_by: Vec<_> =
        wrong.sent.iter().map(|sent| (&sent.variant.supplier, &sent.submission_id)).collect();
    sent_by.sort();
    sent_by.dedup();
    let there = listed(&sent_by, |(supplier, id)| supplier_order(Some(id), Some(supplier)));
    let gone = wrong.sent.iter().any(|sent| sent.status == SubmissionStatus::Dispatched);
    let todo = if gone {
        "order the right one and tell the customer, for the wrong one has gone out".to_owned()
    } else if finding.cutoff_passed {
        format!(
            "ask whether {there} can still be stopped, and order the right one: the cut-off has passed, \
             so a second supplier order and parcel will be needed"
        )
    } else {
        format!("have {there} changed{}", teller.before(finding.act_before))
    };
    Told::new(what, todo)
}

/// `another size (M, not L)`.
fn differing(differences: &[&Difference]) -> String {
    listed(differences, |Difference { kind, wanted, sent }| {
        format!("another {} ({sent}, not {wanted})", kind.name())
    })
}

fn tell_surplus(finding: &Finding, surplus: &SurplusEvidence, teller: &Teller) -> Told {
    let this = |named: &&model::finding::NamedSubmission| {
        Some(&named.submission_id) == finding.submission_id.as_ref()
            && Some(&named.supplier) == finding.supplier.as_ref()
    };
    let (this, others): (Vec<_>, Vec<_>) = surplus.submissions.iter().partition(this);
    let gone = this.iter().any(|named| named.status == SubmissionStatus::Dispatched);
    let mut what = format!(
        "{} has {} too many for it ({})",
        supplier_order(finding.submission_id.as_ref(), finding.supplier.as_ref()),
        count(surplus.units, "item", "items"),
        listed(&finding.submission_lines, submission_line)
    );
    if !others.is_empty() {
        let also = listed(&others, |other| supplier_order(Some(&other.submission_id), Some(&other.supplier)));
        what += &format!(", and the order is also in {also}");
    }
    if !surplus.other_orders.is_empty() {
        what += &format!(", shared with {}", orders(&surplus.other_orders));
    }
    let todo = cancel(finding, surplus.units, gone, teller);
    Told::new(what, todo)
}

fn tell_cancelled(finding: &Finding, cancelled: &CancelledEvidence, teller: &Teller) -> Told {
    let submission = &cancelled.submission;
    let gone = submission.status == SubmissionStatus::Dispatched;
    let called_off = if cancelled.order_cancelled || cancelled.cancelled_lines.is_empty() {
        "it was cancelled".to_owned()
    } else {
        let named = listed(&cancelled.cancelled_lines, |cancelled| {
            let name = finding.lines.iter().find(|line| line.line_id == cancelled.line_id);
            let name = name.map_or_else(|| format!("line {}", cancelled.line_id), line_name);
            format!("{}\u{a0}x {name}", cancelled.cancelled_quantity)
        });
        let units = cancelled
            .cancelled_lines
            .iter()
            .fold(0, |sum: u64, line| sum.saturating_add(line.cancelled_quantity.into()));
        format!("{named} {} cancelled", by_number(units, "was", "were"))
    };
    let what = format!(
        "{called_off}, but {} {} {} for it ({})",
        supplier_order(Some(&submission.submission_id), Some(&submission.supplier)),
        if gone { "sent out" } else { "still has" },
        count(cancelled.units, "item", "items"),
        listed(&finding.submission_lines, submission_line)
    );
    Told::new(what, cancel(finding, cancelled.units, gone, teller))
}

/// What to do about units that the supplier should not make, unless they were meant for a line that nobody makes.
fn cancel(finding: &Finding, units: u64, gone: bool, teller: &Teller) -> String {
    let it = by_number(units, "it", "them");
    let supplier = the_supplier(finding.supplier.as_ref());
    let cancel = if gone {
        let have = by_number(units, "it has", "they have");
        format!("tell the customer what to do with {it}, for {have} gone out")
    } else if finding.cutoff_passed {
        let they = by_number(units, "it", "they");
        format!("ask {supplier} whether {they} can still be stopped, for the cut-off has passed")
    } else {
        format!("cancel {it} at {supplier}{}", teller.before(finding.act_before))
    };
    if finding.lines.is_empty() {
        return cancel;
    }
    let meant = by_number(units, "it was meant", "they were meant");
    format!("if {meant} for {}, which nobody makes, say so, otherwise {cancel}", lines(&finding.lines))
}

fn tell_stray(finding: &Finding, stray: &StrayEvidence, teller: &Teller) -> Told {
    let submission = &stray.submission;
    let items = count(stray.units, "item", "items");
    let made = if finding.submission_lines.is_empty() {
        items
    } else {
        format!("{items} ({})", listed(&finding.submission_lines, submission_line))
    };
    let received = teller.at(submission.received_at);
    let for_what = match stray.order_refs.len() {
        0 => "names no order".to_owned(),
        number => {
            let which = if number == 1 { "which is no known order" } else { "which are no known orders" };
            format!("is for {}, {which}", listed(&stray.order_refs, |text| quoted_reference(text)))
        }
    };
    let todo = if submission.status == SubmissionStatus::Dispatched {
        "find out which order it was for and say so, for it has gone out".to_owned()
    } else if finding.cutoff_passed {
        "find out which order it is for and say so, for it can no longer be cancelled".to_owned()
    } else {
        format!("say which order it is for, or cancel it{}", teller.before(finding.act_before))
    };
    let subject = supplier_order(Some(&submission.submission_id), Some(&submission.supplier));
    let what = format!("it came in at {received} and {for_what}: {made}");
    Told { subject: Some(subject), ..Told::new(what, todo) }
}

fn tell_waiting(finding: &Finding, waiting: &WaitingEvidence, teller: &Teller) -> Told {
    let submission = &waiting.submission;
    let status =
        if finding.check == Check::Held { SubmissionStatus::Held } else { SubmissionStatus::Received };
    let it = if submission.status == status || waiting.submission_line_ids.is_empty() {
        "it".to_owned()
    } else {
        count(number_of(&waiting.submission_line_ids), "line of it", "lines of it")
    };
    let has = if waiting.submission_line_ids.len() > 1 && it != "it" { "have" } else { "has" };
    let since = teller.at(waiting.since);
    let what = match status {
        SubmissionStatus::Held => format!("{it} {has} been on hold since {since}"),
        _ => format!("{it} {has} been waiting to be begun since {since}"),
    };
    let asked = match status {
        SubmissionStatus::Held => "what it waits for",
        _ => "when it will begin",
    };
    let mut subject = supplier_order(Some(&submission.submission_id), Some(&submission.supplier));
    if !waiting.order_ids.is_empty() {
        subject += &format!(", for {}", orders(&waiting.order_ids));
    }
    let todo = format!("ask {} {asked}{}", submission.supplier, teller.before(finding.act_before));
    Told { subject: Some(subject), ..Told::new(what, todo) }
}

fn tell_part_dispatched(finding: &Finding, dispatched: &PartDispatchedEvidence, teller: &Teller) -> Told {
    let units = units_of(&finding.lines);
    let what = format!(
        "{} went out at {}, but {} {} not followed",
        count(dispatched.units_dispatched, "item", "items"),
        teller.at(dispatched.first_dispatched_at),
        lines(&finding.lines),
        by_number(units, "has", "have")
    );
    let supplier = the_supplier(finding.supplier.as_ref());
    Told::new(
        what,
        format!("ask {supplier} when {} out, and tell the customer", by_number(units, "it goes", "they go")),
    )
}

fn tell_late(finding: &Finding, late: &LateEvidence, teller: &Teller) -> Told {
    let units = units_of(&finding.lines);
    let mut what = format!(
        "{} {} not gone out, though dispatch was promised by {}",
        lines(&finding.lines),
        by_number(units, "has", "have"),
        teller.clock.end_in_a_sentence(late.promised_by)
    );
    let todo = match (late.units_waiting, late.units_uncovered) {
        (_, 0) => {
            let when = by_number(units, "when it goes out", "when they go out");
            format!("ask {} {when}, and tell the customer", the_supplier(finding.supplier.as_ref()))
        }
        (0, missing) => {
            let it = by_number(missing, "it", "them");
            what += &format!(", and nobody makes {it}");
            format!("order {it} from the supplier, and tell the customer")
        }
        (_, missing) => {
            what += &format!(", and nobody makes {missing} of them");
            "order what nobody makes, ask the supplier about the rest, and tell the customer".to_owned()
        }
    };
    Told::new(what, todo)
}

fn tell_unmarked(unmarked: &UnmarkedEvidence, teller: &Teller) -> Told {
    let mut what = format!("all of it had gone out by {}", teller.at(unmarked.dispatched_since));
    if !unmarked.parcels.is_empty() {
        let word = by_number(number_of(&unmarked.parcels), "parcel", "parcels");
        what += &format!(" in {word} {}", listed(&unmarked.parcels, |parcel| parcel.parcel_id.to_string()));
    }
    what += ", but the storefront still shows it as open";
    Told::new(what, "mark it as dispatched there")
}

/// What is wrong with the offers of a listing, as a clause behind them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum OfferState {
    NotLinked,
    Ambiguous,
    Broken,
    Intended,
    Elsewhere,
}

impl OfferState {
    fn of(offer: &UnlinkedOffer) -> Self {
        match offer.reason {
            None => Self::Elsewhere,
            Some(_) if !offer.intended.is_empty() => Self::Intended,
            Some(Reason::AmbiguousLink) => Self::Ambiguous,
            Some(Reason::BrokenLink) => Self::Broken,
            Some(_) => Self::NotLinked,
        }
    }

    fn which(self, offers: &[&UnlinkedOffer]) -> String {
        let one = offers.first().filter(|_| offers.len() == 1);
        match (self, one) {
            (Self::NotLinked, Some(_)) => "which is not linked to a supplier variant".to_owned(),
            (Self::NotLinked, None) => "which are not linked to a supplier variant".to_owned(),
            (Self::Ambiguous, Some(_)) => "whose SKU is shared by several supplier variants".to_owned(),
            (Self::Ambiguous, None) => "whose SKUs are each shared by several supplier variants".to_owned(),
            (Self::Broken, Some(_)) => {
                "whose link leads to a variant that the supplier does not have".to_owned()
            }
            (Self::Broken, None) => "whose links lead to variants that the suppliers do not have".to_owned(),
            (Self::Intended, Some(one)) => {
                format!("whose link to {} is intended and not in force yet", listed(&one.intended, part))
            }
            (Self::Intended, None) => "whose links are intended and not in force yet".to_owned(),
            (Self::Elsewhere, Some(one)) => format!(
                "which leads to {} and not to {} as intended",
                listed(&one.in_force, part),
                listed(&one.intended, part)
            ),
            (Self::Elsewhere, None) => "which lead elsewhere than intended".to_owned(),
        }
    }

    fn todo(self, one: bool) -> &'static str {
        match (self, one) {
            (Self::NotLinked, true) => "link it before it sells",
            (Self::NotLinked, false) => "link them before they sell",
            (Self::Ambiguous, true) => "link it to the right one before it sells",
            (Self::Ambiguous, false) => "link each to the right one before it sells",
            (Self::Broken, true) => "mend its link before it sells",
            (Self::Broken, false) => "mend their links before they sell",
            (Self::Intended | Self::Elsewhere, true) => "put the intended link in force before it sells",
            (Self::Intended | Self::Elsewhere, false) => "put the intended links in force before they sell",
        }
    }
}

fn tell_unlinked(unlinked: &UnlinkedEvidence) -> Told {
    let mut states: Vec<OfferState> = unlinked.offers.iter().map(OfferState::of).collect();
    states.sort();
    states.dedup();
    let clauses: Vec<String> = states
        .iter()
        .map(|state| {
            let offers: Vec<_> =
                unlinked.offers.iter().filter(|offer| OfferState::of(offer) == *state).collect();
            format!("{}, {}", listed(&offers, |unlinked| offer(&unlinked.offer)), state.which(&offers))
        })
        .collect();
    let todo = match states[..] {
        [state] => state.todo(unlinked.offers.len() == 1),
        _ => "put each of these links right before it sells",
    };
    Told {
        subject: Some(listing(&unlinked.listing_id, unlinked.title.as_deref())),
        aside: states.contains(&OfferState::NotLinked).then_some(PACKED_BY_THE_SHOP),
        ..Told::new(format!("customers can buy {}", clauses.join(", and ")), todo)
    }
}

fn tell_mismatch(mismatch: &MismatchEvidence) -> Told {
    let variants = listed(&mismatch.variants, |mismatched| {
        let differences: Vec<&Difference> = mismatched.differs.iter().collect();
        format!("{}, which is {}", variant(&mismatched.variant), differing(&differences))
    });
    Told {
        subject: Some(listing(&mismatch.listing_id, mismatch.title.as_deref())),
        ..Told::new(
            format!("{} leads to {variants}", offer(&mismatch.offer)),
            "link it to the right variant before it sells",
        )
    }
}

fn tell_unusable(unusable: &UnusableEvidence) -> Told {
    let options = unusable.options.as_ref().and_then(in_brackets);
    let subject = match (&unusable.listing_id, options, &unusable.sku) {
        (Some(listing_id), Some(options), _) => format!("link of {options} in listing {listing_id}"),
        (Some(listing_id), None, _) => format!("link of listing {listing_id}"),
        (None, _, Some(sku)) => format!("link of {}", sku_name(sku)),
        (None, _, None) => "link".to_owned(),
    };
    let gone = unusable.parts.iter().any(|part| part.why == Unusable::Unknown);
    let parts = listed(&unusable.parts, |part| {
        let why = match part.why {
            Unusable::Unknown => "does not have",
            Unusable::NotAvailable => "cannot supply now",
        };
        format!("{}, which {} {why}", part.variant_id, part.supplier)
    });
    let mut what = format!("it leads to {parts}");
    let buyable: Vec<_> = unusable.offers.iter().filter(|offered| offered.offer.buyable).collect();
    let is_the_links_own = |offered: &OfferOfListing| {
        Some(&offered.listing_id) == unusable.listing_id.as_ref()
            && Some(&offered.offer.options) == unusable.options.as_ref()
    };
    if buyable.iter().any(|offered| !is_the_links_own(offered)) {
        let offered = listed(&buyable, |offered| match in_brackets(&offered.offer.options) {
            Some(options) => format!("{options} of listing {}", offered.listing_id),
            None => format!("listing {}", offered.listing_id),
        });
        what += &format!(", while customers can buy {offered}");
    } else if !buyable.is_empty() {
        what += ", while customers can buy it";
    }
    let todo = if gone {
        "link a variant that can be had, before it sells"
    } else {
        "link another variant, or take it off sale until this one is back"
    };
    Told { subject: Some(subject), ..Told::new(what, todo) }
}

fn tell_shared(shared: &SharedEvidence) -> Told {
    let kinds: Vec<Kind> = Kind::ALL
        .into_iter()
        .filter(|kind| {
            let mut said = shared.offers.iter().filter_map(|sharing| sharing.reading.of(*kind));
            let first = said.next();
            said.any(|other| Some(other) != first)
        })
        .collect();
    let though = if kinds.is_empty() {
        "though they are different things".to_owned()
    } else {
        format!("though they differ in {}", listed(&kinds, |kind| kind.name().to_owned()))
    };
    let lead = if shared.offers.len() == 2 { "both lead" } else { "all lead" };
    Told {
        subject: Some(listing(&shared.listing_id, shared.title.as_deref())),
        ..Told::new(
            format!(
                "{} {lead} to {}, {though}",
                listed(&shared.offers, |sharing| offer(&sharing.offer)),
                variant(&shared.variant)
            ),
            "link each to the variant that it says",
        )
    }
}

fn tell_loss(loss: &LossEvidence) -> Told {
    let currency = loss.price.currency();
    let sum = |amounts: &[Money]| {
        let sum =
            amounts.iter().try_fold(Default::default(), |sum, money| money.amount().checked_add(sum))?;
        Some(Money::new(sum, currency))
    };
    let costs: Vec<Money> = loss.costs.iter().map(|part| part.cost).collect();
    let (goods, fees) = (sum(&costs), sum(&[loss.percent_fee, loss.unit_fee]));
    let mut what = format!("{} brings {} and costs more", offer(&loss.offer), loss.price);
    if let (Some(goods), Some(fees)) = (goods, fees) {
        what += &format!(": {goods} to make and {fees} in fees");
    }
    what += &format!(", a loss of {} on each", loss.loss);
    Told {
        subject: Some(listing(&loss.listing_id, loss.title.as_deref())),
        ..Told::new(what, "raise its price, or have it made for less")
    }
}
