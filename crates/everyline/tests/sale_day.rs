//! The fixture of a sale day, audited from its files: exactly what is planted is found, and nothing else.

#![expect(clippy::unwrap_used, reason = "a test")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use everyline::configuration::Settings;
use matcher::{Account, Facts, account, reconcile};
use model::finding::Evidence;
use model::{Check, Finding, Options, Outcome};
use simshop::{Plant, Planted, Subject, TimeLeft};

/// Audits a folder of tables with its own configuration.
fn audited(dir: &Path, shop: &Planted) -> (Outcome, Account) {
    let settings = Settings::read(Some(&dir.join("everyline.toml")), None).unwrap();
    let read = intake::ReadSettings { zone: settings.zone, rules: &settings.rules };
    let folder = intake::read_folder(dir, &read, &mut |_| ()).unwrap();
    assert_eq!(folder.bad_row_count, 0, "{:?}", folder.bad_rows);
    let readings = links::read_book(&folder.book, &links::Vocabulary::built_in());
    let submissions = folder.book.submissions.as_deref().unwrap();
    let cut_offs = forecast::cut_offs(submissions, &settings.cut_offs);
    let facts = Facts::of_tables(&readings, &cut_offs);
    (
        reconcile(&folder.book, facts, &settings.rules, shop.as_of),
        account(&folder.book, facts, &settings.rules, shop.as_of),
    )
}

fn fixture() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/sale-day"))
}

/// What a finding is about, in one line.
fn subject(finding: &Finding) -> String {
    let offers = |listing: &str, options: &mut dyn Iterator<Item = &Options>| {
        let options: BTreeSet<String> = options.map(ToString::to_string).collect();
        format!("listing {listing}: {options:?}")
    };
    let order = finding.order_id.as_ref().map(ToString::to_string).unwrap_or_default();
    let submission =
        || format!("{} {}", finding.supplier.as_ref().unwrap(), finding.submission_id.as_ref().unwrap());
    match &finding.evidence {
        Evidence::Wrong(_) => format!("{order} line {}", finding.lines[0].line_id),
        Evidence::Surplus(_) | Evidence::Cancelled(_) => format!("{} for {order}", submission()),
        Evidence::Stray(_) | Evidence::Waiting(_) => submission(),
        Evidence::Unlinked(it) => {
            offers(it.listing_id.as_str(), &mut it.offers.iter().map(|offer| &offer.offer.options))
        }
        Evidence::Mismatch(it) => offers(it.listing_id.as_str(), &mut [&it.offer.options].into_iter()),
        Evidence::Shared(it) => {
            offers(it.listing_id.as_str(), &mut it.offers.iter().map(|offer| &offer.offer.options))
        }
        Evidence::Loss(it) => offers(it.listing_id.as_str(), &mut [&it.offer.options].into_iter()),
        Evidence::Unusable(it) => {
            let parts: Vec<_> = it
                .parts
                .iter()
                .map(|part| format!("{} {} {:?}", part.supplier, part.variant_id, part.why))
                .collect();
            format!("link of {:?} {:?}: {parts:?}", it.listing_id, it.options)
        }
        Evidence::Gap(_)
        | Evidence::PartDispatched(_)
        | Evidence::Late(_)
        | Evidence::Unmarked(_)
        | Evidence::Address(_) => order,
        Evidence::Source(it) => format!("{} {}", it.source, it.request),
    }
}

fn planted_subject(subject: &Subject) -> String {
    match subject {
        Subject::Order(order) => order.to_string(),
        Subject::OrderLine(order, line) => format!("{order} line {line}"),
        Subject::Submission(supplier, submission) => format!("{supplier} {submission}"),
        Subject::SubmissionForOrder(supplier, submission, order) => {
            format!("{supplier} {submission} for {order}")
        }
        Subject::Offers(listing, options) => {
            let options: BTreeSet<String> = options.iter().map(ToString::to_string).collect();
            format!("listing {listing}: {options:?}")
        }
        Subject::Link(scope, supplier, variant, why) => {
            let (listing, options) = match scope {
                model::book::LinkScope::Offer(listing, options) => (Some(listing), Some(options)),
                model::book::LinkScope::Listing(listing) => (Some(listing), None),
                model::book::LinkScope::Sku(_) => (None, None),
            };
            format!("link of {listing:?} {options:?}: {:?}", vec![format!("{supplier} {variant} {why:?}")])
        }
    }
}

/// Check and subject, with the order lines (units and, where it is planted, reason) and submission lines named.
type Named = BTreeMap<(Check, String), String>;

fn found(outcome: &Outcome, with_reason: impl Fn(Check) -> bool) -> Named {
    let named = outcome.findings.iter().map(|finding| {
        let mut lines: Vec<_> = finding
            .lines
            .iter()
            .map(|line| {
                let reason = line.reason.filter(|_| with_reason(finding.check));
                format!("{} x {} {reason:?}", line.line_id, line.units)
            })
            .collect();
        lines.sort();
        let mut sent: Vec<_> = finding
            .submission_lines
            .iter()
            .map(|line| format!("{} x {}", line.line_id, line.units))
            .collect();
        sent.sort();
        ((finding.check, subject(finding)), format!("lines {lines:?} sent {sent:?}"))
    });
    named.collect()
}

fn planted(plants: &[Plant], with_reason: impl Fn(Check) -> bool) -> Named {
    let named = plants.iter().map(|plant| {
        let mut lines: Vec<_> = plant
            .lines
            .iter()
            .map(|line| {
                let reason = line.reason.filter(|_| with_reason(plant.check));
                format!("{} x {} {reason:?}", line.line_id, line.units)
            })
            .collect();
        lines.sort();
        let mut sent: Vec<_> =
            plant.submission_lines.iter().map(|line| format!("{} x {}", line.line_id, line.units)).collect();
        sent.sort();
        ((plant.check, planted_subject(&plant.subject)), format!("lines {lines:?} sent {sent:?}"))
    });
    named.collect()
}

fn same(shop: &Planted, outcome: &Outcome) {
    let with_reason = |check| matches!(check, Check::PartSent | Check::UnsentOrder | Check::OverSent);
    let (found, planted) = (found(outcome, with_reason), planted(&shop.plants, with_reason));
    let missed: Vec<_> = planted.iter().filter(|(key, named)| found.get(*key) != Some(named)).collect();
    let too_much: Vec<_> = found.iter().filter(|(key, named)| planted.get(*key) != Some(named)).collect();
    assert!(
        missed.is_empty() && too_much.is_empty(),
        "planted and not found so:\n{missed:#?}\nfound and not planted so:\n{too_much:#?}"
    );
    assert_eq!(outcome.findings.len(), shop.plants.len(), "a finding stands twice");
}

#[test]
fn exactly_what_is_planted_is_found() {
    let shop = simshop::sale_day();
    let (outcome, _) = audited(fixture(), &shop);
    same(&shop, &outcome);
    let found: BTreeSet<_> = outcome.findings.iter().map(|finding| finding.check).collect();
    let of_files: BTreeSet<_> = Check::ALL.iter().copied().filter(|check| !check.needs_history()).collect();
    assert_eq!(found, of_files, "every check is planted at least once");
}

#[test]
fn the_time_left_is_what_was_planned() {
    let shop = simshop::sale_day();
    let (outcome, _) = audited(fixture(), &shop);
    let mut compared = 0;
    for plant in &shop.plants {
        let Some(time_left) = plant.time_left else { continue };
        let key = (plant.check, planted_subject(&plant.subject));
        let finding =
            outcome.findings.iter().find(|finding| (finding.check, subject(finding)) == key).unwrap();
        let want = match time_left {
            TimeLeft::Until(moment) => (Some(moment), false),
            TimeLeft::Passed => (None, true),
            TimeLeft::NoSubmission => (None, false),
        };
        assert_eq!((finding.act_before, finding.cutoff_passed), want, "{key:?}");
        compared += 1;
    }
    assert!(compared > 40, "{compared}");
}

#[test]
fn every_unit_is_accounted_for_once() {
    let shop = simshop::sale_day();
    let (outcome, account) = audited(fixture(), &shop);
    for line in &account.lines {
        assert_eq!(
            line.demand,
            line.covered + line.covered_wrongly + line.uncovered + line.own_stock,
            "{line:?}"
        );
        assert!(line.dispatched <= line.covered + line.covered_wrongly, "{line:?}");
    }
    for supply in &account.supplies {
        let parts = [supply.after_cancel, supply.surplus, supply.unreferred, supply.not_counted];
        let sum = supply.tied.iter().chain(&parts).sum::<u64>();
        assert_eq!(supply.quantity, sum, "{supply:?}");
    }
    let totals = outcome.totals;
    assert_eq!(
        totals.units_demanded,
        totals.covered + totals.covered_wrongly + totals.uncovered + totals.own_stock
    );
}

#[test]
fn a_larger_book_with_random_faults_is_found_out_exactly() {
    let folder = tempfile::tempdir().unwrap();
    for seed in 0..4 {
        let shop = simshop::random_book(seed, 1_500);
        simshop::write_jsonl(&shop.book, folder.path()).unwrap();
        std::fs::write(folder.path().join("everyline.toml"), &shop.configuration).unwrap();
        let (outcome, _) = audited(folder.path(), &shop);
        same(&shop, &outcome);
    }
}
