//! Invented findings of the invented shop Kittiwake Kitchen: one of each check, and days made of them.
//!
//! Must not know what is done with them. Start reading at [`one_of_each`].

use chrono::{DateTime, Utc};
use model::book::SubmissionStatus;
use model::finding::{
    AddressEvidence, CancelledEvidence, CancelledLine, Evidence, FindingId, GapEvidence, LateEvidence,
    LossEvidence, MismatchEvidence, MismatchedVariant, NamedLine, NamedOffer, NamedParcel, NamedSubmission,
    NamedSubmissionLine, NamedVariant, OfferOfListing, Part, PartCost, PartDispatchedEvidence, Reason,
    SentLine, SharedEvidence, SharingOffer, SourceEvidence, StrayEvidence, SurplusEvidence, UnlinkedEvidence,
    UnlinkedOffer, UnmarkedEvidence, Unusable, UnusableEvidence, UnusablePart, WaitingEvidence,
    WrongEvidence, WronglySent,
};
use model::money::parse_amount;
use model::outcome::{Notice, Topic, Totals};
use model::reading::{Difference, Kind};
use model::{Check, Finding, Money, Options, Outcome, Reading, Sku};

/// Wednesday, 12:50 in Berlin.
pub const AS_OF: &str = "2026-11-25T11:50:00Z";

pub fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

pub fn euro(amount: &str) -> Money {
    Money::new(parse_amount(amount).unwrap(), "EUR".parse().unwrap())
}

/// Size and colour, as far as they are not empty.
pub fn options(size: &str, colour: &str) -> Options {
    let pairs = [("Size", size), ("Colour", colour)];
    Options::from_pairs(pairs.into_iter().filter(|(_, value)| !value.is_empty())).unwrap()
}

pub fn line(line_id: &str, title: &str, chosen: Options, units: u64, reason: Option<Reason>) -> NamedLine {
    NamedLine {
        line_id: line_id.into(),
        listing_id: Some("L-1".into()),
        sku: None,
        title: Some(title.into()),
        options: Some(chosen),
        quantity: u32::try_from(units).unwrap(),
        units,
        reason,
        needs: Vec::new(),
        intended: Vec::new(),
        came_before_link: false,
        not_made_now: Vec::new(),
        unconfirmed: false,
    }
}

/// Linked to AP-9, where the reason allows it.
pub fn apron(units: u64, reason: Reason) -> NamedLine {
    let needs = match reason {
        Reason::NoLink | Reason::AmbiguousLink => Vec::new(),
        Reason::BrokenLink | Reason::NotSent | Reason::Short => vec![part("alder-print", "AP-9", 1)],
    };
    NamedLine { needs, ..line("1", "Otter apron", options("Large", "moss"), units, Some(reason)) }
}

/// Linked to AP-40, where the reason allows it; a broken link leads to AP-77.
pub fn tote(units: u64, reason: Option<Reason>) -> NamedLine {
    let needs = match reason {
        Some(Reason::NoLink | Reason::AmbiguousLink) => Vec::new(),
        Some(Reason::BrokenLink) => vec![part("alder-print", "AP-77", 1)],
        Some(Reason::NotSent | Reason::Short) | None => vec![part("alder-print", "AP-40", 1)],
    };
    NamedLine {
        listing_id: Some("L-2".into()),
        sku: Sku::new("KK-TOTE-PLUM"),
        needs,
        ..line("2", "Puffin tote bag", options("", "plum"), units, reason)
    }
}

pub fn variant(supplier: &str, variant_id: &str, product: &str, chosen: Options) -> NamedVariant {
    NamedVariant {
        supplier: supplier.into(),
        variant_id: variant_id.into(),
        sku: None,
        product: Some(product.into()),
        options: Some(chosen),
    }
}

pub fn part(supplier: &str, variant_id: &str, units: u32) -> Part {
    Part { supplier: supplier.into(), variant_id: Some(variant_id.into()), units }
}

pub fn submission(submission_id: &str, status: SubmissionStatus) -> NamedSubmission {
    NamedSubmission {
        supplier: "alder-print".into(),
        submission_id: submission_id.into(),
        status,
        received_at: utc("2026-11-24T17:05:00Z"),
        cut_off: Some(utc("2026-11-25T13:00:00Z")),
    }
}

pub fn sent(line_id: &str, units: u64) -> SentLine {
    SentLine {
        line_id: line_id.into(),
        supplier: "alder-print".into(),
        submission_id: "A-501".into(),
        submission_line_id: "1".into(),
        variant_id: "AP-9".into(),
        units,
        way: 1,
    }
}

pub fn offer(chosen: Options) -> NamedOffer {
    NamedOffer { sku: Sku::new("KK-APR"), options: chosen, buyable: true }
}

pub fn reading(product_type: &str, size: &str, colour: &str) -> Reading {
    let said = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    Reading { product_type: said(product_type), size: said(size), colour: said(colour), ..Reading::default() }
}

pub fn differs(kind: Kind, wanted: &str, sent: &str) -> Difference {
    Difference { kind, wanted: wanted.into(), sent: sent.into() }
}

pub fn finding(check: Check, subject: &str, evidence: Evidence) -> Finding {
    Finding {
        check,
        id: FindingId::of(check, &[subject]),
        order_id: None,
        supplier: None,
        submission_id: None,
        lines: Vec::new(),
        submission_lines: Vec::new(),
        act_before: None,
        cutoff_passed: false,
        first_seen: utc(AS_OF),
        value_at_risk: None,
        evidence,
    }
}

pub fn of_order(check: Check, order_id: &str, lines: Vec<NamedLine>, evidence: Evidence) -> Finding {
    Finding { order_id: Some(order_id.into()), lines, ..finding(check, order_id, evidence) }
}

pub fn gap(grace_over: bool, sent: Vec<SentLine>) -> Evidence {
    Evidence::Gap(GapEvidence {
        waiting_since: utc("2026-11-24T17:00:00Z"),
        grace_over,
        sent,
        submissions: vec![submission("A-501", SubmissionStatus::Received)],
    })
}

pub fn part_sent(order_id: &str, lines: Vec<NamedLine>) -> Finding {
    Finding {
        act_before: Some(utc("2026-11-25T14:00:00Z")),
        value_at_risk: Some(euro("24.00")),
        ..of_order(Check::PartSent, order_id, lines, gap(true, vec![sent("7", 2)]))
    }
}

pub fn unsent_order(order_id: &str, lines: Vec<NamedLine>) -> Finding {
    of_order(Check::UnsentOrder, order_id, lines, gap(true, Vec::new()))
}

pub fn wrong_variant(order_id: &str) -> Finding {
    let evidence = Evidence::Wrong(WrongEvidence {
        wanted: vec![variant("alder-print", "AP-40", "Tote bag", options("", "plum"))],
        wanted_reading: None,
        sent: vec![WronglySent {
            submission_id: "A-502".into(),
            submission_line_id: "3".into(),
            status: SubmissionStatus::Received,
            variant: variant("alder-print", "AP-41", "Tote bag", options("", "moss")),
            units: 1,
            differs: vec![differs(Kind::Colour, "plum", "moss")],
        }],
    });
    Finding {
        act_before: Some(utc("2026-11-26T08:00:00Z")),
        value_at_risk: Some(euro("18.00")),
        ..of_order(Check::WrongVariant, order_id, vec![tote(1, None)], evidence)
    }
}

/// An apron, moss, L.
pub fn named_submission_line(line_id: &str, units: u64) -> NamedSubmissionLine {
    NamedSubmissionLine {
        line_id: line_id.into(),
        variant_id: Some("AP-9".into()),
        product: Some("Apron".into()),
        options: Some(options("L", "moss")),
        quantity: u32::try_from(units).unwrap(),
        units,
    }
}

/// A submission line of whose variant only the id is known.
pub fn bare_submission_line(line_id: &str, variant_id: &str, units: u64) -> NamedSubmissionLine {
    NamedSubmissionLine {
        variant_id: Some(variant_id.into()),
        product: None,
        options: None,
        ..named_submission_line(line_id, units)
    }
}

pub fn over_sent(order_id: &str, meant: Vec<NamedLine>) -> Finding {
    let evidence = Evidence::Surplus(SurplusEvidence {
        units: 1,
        other_orders: Vec::new(),
        submissions: vec![
            submission("A-503", SubmissionStatus::Received),
            submission("A-499", SubmissionStatus::Making),
        ],
    });
    Finding {
        supplier: Some("alder-print".into()),
        submission_id: Some("A-503".into()),
        submission_lines: vec![named_submission_line("1", 1)],
        act_before: Some(utc("2026-11-25T14:00:00Z")),
        value_at_risk: Some(euro("9.50")),
        ..of_order(Check::OverSent, order_id, meant, evidence)
    }
}

pub fn sent_after_cancel(order_id: &str, order_cancelled: bool) -> Finding {
    let cancelled_lines = if order_cancelled {
        Vec::new()
    } else {
        vec![CancelledLine {
            line_id: "4".into(),
            title: Some("Otter apron".into()),
            options: Some(options("Large", "moss")),
            cancelled_quantity: 2,
            units: 2,
        }]
    };
    let evidence = Evidence::Cancelled(CancelledEvidence {
        units: 2,
        order_cancelled,
        cancelled_lines,
        submission: submission("A-504", SubmissionStatus::Making),
    });
    Finding {
        supplier: Some("alder-print".into()),
        submission_id: Some("A-504".into()),
        submission_lines: vec![named_submission_line("1", 2)],
        cutoff_passed: true,
        ..of_order(Check::SentAfterCancel, order_id, Vec::new(), evidence)
    }
}

fn of_submission(check: Check, submission_id: &str, evidence: Evidence) -> Finding {
    Finding {
        supplier: Some("alder-print".into()),
        submission_id: Some(submission_id.into()),
        ..finding(check, submission_id, evidence)
    }
}

pub fn stray(submission_id: &str, order_refs: &[&str]) -> Finding {
    let evidence = Evidence::Stray(StrayEvidence {
        order_refs: order_refs.iter().map(|text| (*text).to_owned()).collect(),
        units: 3,
        submission: submission(submission_id, SubmissionStatus::Received),
    });
    Finding {
        submission_lines: vec![named_submission_line("1", 2), bare_submission_line("2", "AP-8", 1)],
        ..of_submission(Check::StraySubmission, submission_id, evidence)
    }
}

pub fn waiting(check: Check, submission_id: &str, order_ids: &[&str]) -> Finding {
    let status = if check == Check::Held { SubmissionStatus::Held } else { SubmissionStatus::Received };
    let evidence = Evidence::Waiting(WaitingEvidence {
        since: utc("2026-11-22T09:30:00Z"),
        order_ids: order_ids.iter().map(|id| (*id).into()).collect(),
        submission_line_ids: vec!["1".into(), "2".into()],
        submission: submission(submission_id, status),
    });
    of_submission(check, submission_id, evidence)
}

pub fn parcel(parcel_id: &str) -> NamedParcel {
    NamedParcel {
        supplier: "alder-print".into(),
        parcel_id: parcel_id.into(),
        dispatched_at: utc("2026-11-21T15:00:00Z"),
        carrier: Some("invented carrier".into()),
        tracking_number: Some("T-1".into()),
    }
}

pub fn part_dispatched(order_id: &str) -> Finding {
    let evidence = Evidence::PartDispatched(PartDispatchedEvidence {
        first_dispatched_at: utc("2026-11-21T15:00:00Z"),
        units_dispatched: 2,
        parcels: vec![parcel("P-1")],
    });
    of_order(Check::PartDispatched, order_id, vec![tote(1, None)], evidence)
}

pub fn late(order_id: &str, units_waiting: u64, units_uncovered: u64) -> Finding {
    let evidence = Evidence::Late(LateEvidence {
        promised_by: utc("2026-11-24T23:00:00Z"),
        units_waiting,
        units_uncovered,
    });
    of_order(Check::Late, order_id, vec![tote(units_waiting + units_uncovered, None)], evidence)
}

pub fn dispatch_unmarked(order_id: &str) -> Finding {
    let evidence = Evidence::Unmarked(UnmarkedEvidence {
        dispatched_since: utc("2026-11-21T15:00:00Z"),
        parcels: vec![parcel("P-1"), parcel("P-2")],
    });
    of_order(Check::DispatchUnmarked, order_id, Vec::new(), evidence)
}

pub fn unlinked_offer(chosen: Options, reason: Option<Reason>) -> UnlinkedOffer {
    UnlinkedOffer { offer: offer(chosen), reason, in_force: Vec::new(), intended: Vec::new() }
}

pub fn offer_unlinked(offers: Vec<UnlinkedOffer>) -> Finding {
    let evidence = Evidence::Unlinked(UnlinkedEvidence {
        listing_id: "L-1".into(),
        title: Some("Otter apron".into()),
        offers,
    });
    finding(Check::OfferUnlinked, "L-1", evidence)
}

pub fn link_mismatch() -> Finding {
    let evidence = Evidence::Mismatch(MismatchEvidence {
        listing_id: "L-1".into(),
        title: Some("Otter apron".into()),
        offer: offer(options("Medium", "moss")),
        offer_reading: reading("apron", "M", "moss"),
        variants: vec![MismatchedVariant {
            variant: variant("alder-print", "AP-12", "Apron", options("S", "plum")),
            reading: reading("apron", "S", "plum"),
            differs: vec![differs(Kind::Size, "M", "S"), differs(Kind::Colour, "moss", "plum")],
        }],
    });
    finding(Check::LinkMismatch, "L-1", evidence)
}

pub fn link_unusable(why: Unusable) -> Finding {
    let evidence = Evidence::Unusable(UnusableEvidence {
        listing_id: Some("L-3".into()),
        sku: None,
        options: Some(options("Small", "plum")),
        parts: vec![UnusablePart { supplier: "brook-print".into(), variant_id: "B-77".into(), why }],
        offers: vec![OfferOfListing { listing_id: "L-3".into(), offer: offer(options("Small", "plum")) }],
    });
    finding(Check::LinkUnusable, "L-3", evidence)
}

pub fn shared_variant() -> Finding {
    let sharing = |size: &str, read: &str| SharingOffer {
        offer: offer(options(size, "moss")),
        reading: reading("apron", read, "moss"),
    };
    let evidence = Evidence::Shared(SharedEvidence {
        listing_id: "L-1".into(),
        title: Some("Otter apron".into()),
        variant: variant("alder-print", "AP-9", "Apron", options("L", "moss")),
        offers: vec![sharing("Large", "L"), sharing("Small", "S")],
    });
    finding(Check::SharedVariant, "L-1", evidence)
}

pub fn loss_making() -> Finding {
    let evidence = Evidence::Loss(LossEvidence {
        listing_id: "L-4".into(),
        title: Some("Gannet mug".into()),
        offer: offer(options("11 oz", "")),
        price: euro("12.00"),
        costs: vec![PartCost {
            part: part("cairn-print", "C-3", 1),
            unit_cost: euro("10.50"),
            cost: euro("10.50"),
        }],
        percent_fee: euro("1.20"),
        unit_fee: euro("1.40"),
        loss: euro("1.10"),
    });
    Finding { value_at_risk: Some(euro("1.10")), ..finding(Check::LossMaking, "L-4", evidence) }
}

pub fn address_changed(order_id: &str) -> Finding {
    let submissions =
        vec![NamedSubmission { cut_off: None, ..submission("A-1", SubmissionStatus::Received) }];
    let evidence = AddressEvidence { changed_at: utc("2026-11-25T10:20:00Z"), submissions };
    of_order(Check::AddressChanged, order_id, Vec::new(), Evidence::Address(evidence))
}

pub fn source(check: Check, trouble: &str) -> Finding {
    let counts = (check == Check::SourceGap).then_some((312, 310));
    let evidence = SourceEvidence {
        source: "till".into(),
        request: "orders".into(),
        since: utc("2026-11-25T09:00:00Z"),
        read_up_to: Some(utc("2026-11-25T08:59:00Z")),
        trouble: trouble.into(),
        counted_there: counts.map(|counts| counts.0),
        counted_here: counts.map(|counts| counts.1),
    };
    let evidence = Evidence::Source(evidence);
    Finding {
        order_id: None,
        lines: Vec::new(),
        act_before: None,
        value_at_risk: None,
        ..finding(check, "till/orders", evidence)
    }
}

/// One finding of each check, in the order of the checks.
pub fn one_of_each() -> Vec<Finding> {
    vec![
        part_sent("KK-1007", vec![apron(1, Reason::NoLink)]),
        unsent_order("KK-1008", vec![tote(2, Some(Reason::NotSent))]),
        wrong_variant("KK-1009"),
        over_sent("KK-1010", Vec::new()),
        sent_after_cancel("KK-1011", true),
        stray("A-600", &["KK-9999"]),
        waiting(Check::Held, "A-601", &["KK-1012", "KK-1013"]),
        waiting(Check::NotStarted, "A-602", &["KK-1014"]),
        part_dispatched("KK-1015"),
        late("KK-1016", 2, 0),
        dispatch_unmarked("KK-1017"),
        offer_unlinked(vec![
            unlinked_offer(options("Large", "moss"), Some(Reason::NoLink)),
            unlinked_offer(options("Small", "moss"), Some(Reason::NoLink)),
        ]),
        link_mismatch(),
        link_unusable(Unusable::Unknown),
        shared_variant(),
        loss_making(),
        address_changed("KK-1018"),
        source(Check::SourceStale, "the connection was refused"),
        source(Check::SourceGap, ""),
        source(Check::SourceChanged, "page 3, $.state: \"fresh\" is none of the words"),
    ]
}

/// Sums that agree.
pub fn totals() -> Totals {
    Totals {
        orders: 120,
        lines: 241,
        units_demanded: 310,
        covered: 292,
        covered_wrongly: 2,
        uncovered: 12,
        own_stock: 4,
        dispatched: 250,
    }
}

pub fn outcome(findings: Vec<Finding>) -> Outcome {
    Outcome {
        as_of: utc(AS_OF),
        totals: totals(),
        findings,
        notices: Vec::new(),
        not_judged: Vec::new(),
        rows_skipped: 0,
    }
}

/// Every way in which a finding can be told differently, each with a name.
pub fn many() -> Vec<(&'static str, Finding)> {
    let past = |finding: Finding| Finding { act_before: None, cutoff_passed: true, ..finding };
    let no_cut_off = |finding: Finding| Finding { act_before: None, ..finding };
    let own = || Part { supplier: "own".into(), variant_id: None, units: 1 };
    let intended = NamedLine { intended: vec![part("alder-print", "AP-9", 1)], ..apron(1, Reason::NoLink) };
    let came_before = |units| NamedLine { units, came_before_link: true, ..intended.clone() };
    let not_made =
        NamedLine { not_made_now: vec![part("alder-print", "AP-9", 1)], ..tote(1, Some(Reason::NotSent)) };
    let intended_set =
        NamedLine { intended: vec![part("alder-print", "AP-9", 2), own()], ..apron(1, Reason::NoLink) };
    let set = |reason| NamedLine {
        title: Some("Puffin picnic set".into()),
        needs: vec![part("alder-print", "AP-40", 1), part("alder-print", "BX-1", 2), own()],
        ..tote(1, Some(reason))
    };
    let far_set = |reason| NamedLine {
        needs: vec![part("alder-print", "AP-40", 1), part("brook-print", "B-2", 2)],
        ..set(reason)
    };
    let short = NamedLine { quantity: 3, ..apron(1, Reason::Short) };
    let other_sent = SentLine { variant_id: "AP-41".into(), way: 4, ..sent("2", 1) };
    let part_of_set = SentLine { variant_id: "AP-40".into(), ..sent("2", 1) };
    let by_sku = NamedLine { title: None, options: None, ..tote(1, Some(Reason::NoLink)) };
    let by_listing = NamedLine { title: None, options: None, ..apron(1, Reason::NoLink) };
    let by_line = NamedLine { listing_id: None, ..by_listing.clone() };
    let seven = (1..=7)
        .map(|number| {
            let title = format!("Design {number}");
            NamedLine {
                needs: vec![part("alder-print", &format!("AP-{number}"), 1)],
                ..line(&number.to_string(), &title, Options::new(), 1, Some(Reason::NotSent))
            }
        })
        .collect();
    let unsettled = Finding {
        act_before: None,
        ..of_order(Check::PartSent, "KK-1", vec![apron(1, Reason::NoLink)], gap(false, Vec::new()))
    };
    let nothing_linked =
        of_order(Check::UnsentOrder, "KK-1", vec![apron(1, Reason::NoLink)], gap(false, Vec::new()));
    let dispatched = |mut finding: Finding| {
        match &mut finding.evidence {
            Evidence::Wrong(wrong) => wrong.sent[0].status = SubmissionStatus::Dispatched,
            Evidence::Surplus(surplus) => surplus.submissions[0].status = SubmissionStatus::Dispatched,
            Evidence::Cancelled(cancelled) => cancelled.submission.status = SubmissionStatus::Dispatched,
            Evidence::Stray(stray) => stray.submission.status = SubmissionStatus::Dispatched,
            _ => {}
        }
        past(finding)
    };
    let mut merged = over_sent("KK-1", Vec::new());
    if let Evidence::Surplus(surplus) = &mut merged.evidence {
        surplus.other_orders = vec!["KK-2".into(), "KK-3".into()];
        surplus.units = 6;
        surplus.submissions.pop();
    }
    merged.submission_lines = vec![
        named_submission_line("1", 1),
        bare_submission_line("2", "AP-8", 2),
        bare_submission_line("3", "AP-7", 1),
        bare_submission_line("4", "AP-6", 1),
        bare_submission_line("5", "AP-5", 1),
    ];
    let mut untitled = Finding { cutoff_passed: false, ..sent_after_cancel("KK-1", false) };
    if let Evidence::Cancelled(cancelled) = &mut untitled.evidence {
        cancelled.cancelled_lines.push(CancelledLine {
            line_id: "5".into(),
            title: None,
            options: None,
            cancelled_quantity: 1,
            units: 1,
        });
        cancelled.units = 3;
    }
    untitled.submission_lines.push(bare_submission_line("2", "AP-8", 1));
    let mut unread = wrong_variant("KK-1");
    if let Evidence::Wrong(wrong) = &mut unread.evidence {
        wrong.wanted = Vec::new();
        wrong.wanted_reading = Some(reading("tote bag", "", "plum"));
    }
    let mut lines_held = waiting(Check::Held, "A-1", &[]);
    if let Evidence::Waiting(waiting) = &mut lines_held.evidence {
        waiting.submission.status = SubmissionStatus::Making;
    }
    let elsewhere = UnlinkedOffer {
        in_force: vec![part("alder-print", "AP-8", 1)],
        intended: vec![part("alder-print", "AP-9", 1)],
        ..unlinked_offer(options("Large", "moss"), None)
    };
    let not_in_force = UnlinkedOffer {
        intended: vec![part("alder-print", "AP-9", 1)],
        ..unlinked_offer(options("Medium", "moss"), Some(Reason::NoLink))
    };
    let only = UnlinkedOffer {
        offer: NamedOffer { sku: None, ..offer(Options::new()) },
        ..unlinked_offer(Options::new(), Some(Reason::AmbiguousLink))
    };
    let broken = |size: &str| unlinked_offer(options(size, "moss"), Some(Reason::BrokenLink));
    let mut by_whole_sku = link_unusable(Unusable::NotAvailable);
    if let Evidence::Unusable(unusable) = &mut by_whole_sku.evidence {
        unusable.listing_id = None;
        unusable.options = None;
        unusable.sku = Sku::new("KK-PLUM");
    }
    vec![
        ("no link", part_sent("KK-1", vec![apron(1, Reason::NoLink)])),
        ("no link, two items", part_sent("KK-1", vec![apron(2, Reason::NoLink)])),
        ("no link, past", past(part_sent("KK-1", vec![apron(1, Reason::NoLink)]))),
        ("no link, no cut-off known", no_cut_off(part_sent("KK-1", vec![apron(1, Reason::NoLink)]))),
        ("no link, within the grace", unsettled),
        ("intended", part_sent("KK-1", vec![intended.clone()])),
        ("came before its link", part_sent("KK-1", vec![came_before(1)])),
        ("came before its link, past", past(part_sent("KK-1", vec![came_before(2)]))),
        ("came before their links", part_sent("KK-1", vec![came_before(1), came_before(1)])),
        ("not made now", part_sent("KK-1", vec![not_made.clone()])),
        ("not made now, past", past(part_sent("KK-1", vec![not_made.clone()]))),
        (
            "not made now, and another not linked",
            part_sent("KK-1", vec![not_made.clone(), apron(1, Reason::NoLink)]),
        ),
        (
            "not made now, and another not sent",
            part_sent("KK-1", vec![not_made, tote(1, Some(Reason::NotSent))]),
        ),
        ("intended set", part_sent("KK-1", vec![intended_set])),
        ("intended, two lines", part_sent("KK-1", vec![intended.clone(), intended])),
        ("ambiguous", part_sent("KK-1", vec![tote(1, Some(Reason::AmbiguousLink))])),
        ("broken", part_sent("KK-1", vec![tote(1, Some(Reason::BrokenLink))])),
        ("broken, past", past(part_sent("KK-1", vec![tote(2, Some(Reason::BrokenLink))]))),
        ("not sent", part_sent("KK-1", vec![tote(1, Some(Reason::NotSent))])),
        ("broken set", part_sent("KK-1", vec![set(Reason::BrokenLink)])),
        ("broken set at two suppliers", part_sent("KK-1", vec![far_set(Reason::BrokenLink)])),
        (
            "broken, two lines",
            part_sent("KK-1", vec![apron(1, Reason::BrokenLink), tote(1, Some(Reason::BrokenLink))]),
        ),
        ("not sent, past", past(part_sent("KK-1", vec![tote(1, Some(Reason::NotSent))]))),
        ("not sent, set", part_sent("KK-1", vec![set(Reason::NotSent)])),
        ("not sent, set at two suppliers", part_sent("KK-1", vec![far_set(Reason::NotSent)])),
        (
            "not sent, set at two suppliers, past",
            past(part_sent("KK-1", vec![far_set(Reason::NotSent), apron(2, Reason::NotSent)])),
        ),
        (
            "not sent beside no link",
            part_sent("KK-1", vec![apron(1, Reason::NoLink), tote(1, Some(Reason::NotSent))]),
        ),
        (
            "not sent beside no link, past",
            past(part_sent("KK-1", vec![apron(1, Reason::NoLink), tote(1, Some(Reason::NotSent))])),
        ),
        (
            "short",
            Finding { evidence: gap(true, vec![sent("1", 2)]), ..part_sent("KK-1", vec![short.clone()]) },
        ),
        (
            "short of a part of a set",
            Finding {
                evidence: gap(true, vec![part_of_set]),
                ..part_sent("KK-1", vec![far_set(Reason::Short)])
            },
        ),
        (
            "short of a set for which something else was sent",
            Finding {
                evidence: gap(true, vec![other_sent]),
                ..part_sent("KK-1", vec![far_set(Reason::Short)])
            },
        ),
        (
            "short beside not sent",
            Finding {
                evidence: gap(true, vec![sent("1", 2)]),
                ..part_sent("KK-1", vec![short, tote(1, Some(Reason::NotSent))])
            },
        ),
        ("two reasons", part_sent("KK-1", vec![apron(1, Reason::NoLink), tote(2, Some(Reason::BrokenLink))])),
        (
            "one other item",
            Finding { evidence: gap(true, vec![sent("7", 1)]), ..part_sent("KK-1", vec![by_sku]) },
        ),
        ("no title, no SKU", part_sent("KK-1", vec![by_listing])),
        ("no name at all", part_sent("KK-1", vec![by_line])),
        ("seven lines", part_sent("KK-1", seven)),
        ("nothing sent", unsent_order("KK-1", vec![tote(1, Some(Reason::NotSent))])),
        ("nothing linked", nothing_linked),
        ("wrong", wrong_variant("KK-1")),
        ("wrong, no link", unread),
        ("wrong, past", past(wrong_variant("KK-1"))),
        ("wrong, gone", dispatched(wrong_variant("KK-1"))),
        ("surplus", over_sent("KK-1", Vec::new())),
        ("surplus, meant for another line", over_sent("KK-1", vec![tote(1, Some(Reason::NoLink))])),
        ("surplus, merged", merged),
        ("surplus, past", past(over_sent("KK-1", Vec::new()))),
        ("surplus, gone", dispatched(over_sent("KK-1", Vec::new()))),
        ("cancelled", Finding { cutoff_passed: false, ..sent_after_cancel("KK-1", true) }),
        ("cancelled, past", sent_after_cancel("KK-1", true)),
        ("cancelled line", Finding { cutoff_passed: false, ..sent_after_cancel("KK-1", false) }),
        ("cancelled lines, one without a title", untitled),
        ("cancelled, gone", dispatched(sent_after_cancel("KK-1", true))),
        ("stray", stray("A-1", &["KK-9999"])),
        ("stray, no reference", stray("A-1", &[])),
        ("stray, two references", stray("A-1", &["KK-9998", "KK-9999"])),
        ("stray, ahead", Finding { act_before: Some(utc("2026-11-25T14:00:00Z")), ..stray("A-1", &[]) }),
        ("stray, past", past(stray("A-1", &[]))),
        ("stray, gone", dispatched(stray("A-1", &[]))),
        ("held", waiting(Check::Held, "A-1", &["KK-1", "KK-2"])),
        ("held, lines", lines_held),
        ("not begun", waiting(Check::NotStarted, "A-1", &["KK-1"])),
        ("dispatched in part", part_dispatched("KK-1")),
        ("late, waiting", late("KK-1", 1, 0)),
        ("late, nobody makes it", late("KK-1", 0, 2)),
        ("late, both", late("KK-1", 1, 1)),
        ("address", address_changed("KK-1")),
        ("address, of two suppliers of which one is past", {
            let act_before = Some(utc("2026-11-25T13:00:00Z"));
            let mut finding = Finding { act_before, ..address_changed("KK-1") };
            let Evidence::Address(address) = &mut finding.evidence else { unreachable!() };
            let other = NamedSubmission {
                supplier: "brook-print".into(),
                submission_id: "B-1".into(),
                status: SubmissionStatus::Making,
                ..address.submissions[0].clone()
            };
            address.submissions.push(other);
            finding
        }),
        ("address, past", past(address_changed("KK-1"))),
        ("stale", source(Check::SourceStale, "connection refused")),
        ("counts", source(Check::SourceGap, "")),
        ("otherwise", source(Check::SourceChanged, "page 3, $.state: \"fresh\" is none of the words")),
        (
            "no link, unconfirmed",
            part_sent("KK-1", vec![NamedLine { unconfirmed: true, ..apron(1, Reason::NoLink) }]),
        ),
        ("not marked", dispatch_unmarked("KK-1")),
        ("offer", offer_unlinked(vec![unlinked_offer(options("Large", "moss"), Some(Reason::NoLink))])),
        (
            "five offers",
            offer_unlinked(
                ["S", "M", "L", "XL", "2XL"]
                    .map(|size| unlinked_offer(options(size, "moss"), Some(Reason::NoLink)))
                    .to_vec(),
            ),
        ),
        ("offer, elsewhere", offer_unlinked(vec![elsewhere.clone()])),
        ("offer, not in force", offer_unlinked(vec![not_in_force.clone()])),
        ("offer, ambiguous", offer_unlinked(vec![only])),
        ("offers, broken", offer_unlinked(vec![broken("S"), broken("M")])),
        ("offers, several reasons", offer_unlinked(vec![elsewhere, not_in_force, broken("S")])),
        ("mismatch", link_mismatch()),
        ("unusable, unknown", link_unusable(Unusable::Unknown)),
        ("unusable, not available", by_whole_sku),
        ("shared", shared_variant()),
        ("loss", loss_making()),
    ]
}

/// A busy day: one offer without a link in several orders, with and without time left, beside all else.
pub fn busy_day() -> Outcome {
    let mut findings = one_of_each();
    findings.push(part_sent("KK-1020", vec![apron(2, Reason::NoLink), tote(1, Some(Reason::BrokenLink))]));
    findings.push(Finding {
        act_before: Some(utc("2026-11-26T08:00:00Z")),
        ..part_sent("KK-1021", vec![apron(1, Reason::NoLink), tote(1, Some(Reason::NotSent))])
    });
    findings.push(Finding {
        act_before: None,
        cutoff_passed: true,
        ..part_sent("KK-0990", vec![apron(1, Reason::NoLink)])
    });
    findings.push(Finding {
        act_before: None,
        cutoff_passed: true,
        ..part_sent("KK-0991", vec![apron(1, Reason::NoLink)])
    });
    findings.push(unsent_order("KK-1022", vec![tote(1, Some(Reason::BrokenLink))]));
    findings.push(over_sent("KK-1020", vec![apron(2, Reason::NoLink)]));
    findings.sort_by_key(|finding| (finding.order_id.is_none(), finding.order_id.clone(), finding.check));
    let notice = |topic, text: &str| Notice { topic, count: 3, text: text.into() };
    Outcome {
        notices: vec![
            notice(
                Topic::UnknownColumn,
                "orders.csv has 3 columns that are not known and were ignored: channel, gift and note",
            ),
            notice(Topic::Replacement, "3 supplier orders make something again and count for nothing else"),
        ],
        ..outcome(findings)
    }
}
