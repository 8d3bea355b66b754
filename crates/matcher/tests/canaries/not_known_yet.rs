//! What is not known yet is not missing: sources that have not been read up to the moment that is judged; and an
//! address that changed, which only a history can tell.
//!
//! The notation is that of `oracle/notation.rs`. Start reading at [`CASES`].

use std::collections::BTreeMap;

use matcher::{Behind, Facts, reconcile};
use model::{Check, OrderId};

use crate::oracle::case::{after, as_of};
use crate::oracle::{compared, notation};

struct Case {
    rule: &'static str,
    rows: &'static str,
    /// `storefront`, or suppliers.
    behind: &'static str,
    finds: &'static [&'static str],
    /// Where nothing is behind.
    otherwise: &'static [&'static str],
    /// How many lines are named as unconfirmed.
    unconfirmed: usize,
}

#[rustfmt::skip]
const CASES: &[Case] = &[
    Case {
        rule: "a linked line of a supplier that is behind is not named, one without a link is, unconfirmed",
        rows: "order A paid=-61m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1
               given submissions
               given submission-lines",
        behind: "alder",
        finds: &["part-sent order=A lines=2:1:no-link"],
        otherwise: &["unsent-order order=A lines=1:1:not-sent,2:1:no-link"],
        unconfirmed: 1,
    },
    Case {
        rule: "an order of which every line waits for a supplier that is behind is not named at all",
        rows: "order A paid=-600m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               given submissions
               given submission-lines",
        behind: "alder",
        finds: &[],
        otherwise: &["unsent-order order=A lines=1:1:not-sent"],
        unconfirmed: 0,
    },
    Case {
        rule: "a set waits for the supplier of any part",
        rows: "order A paid=-61m
               line A/1 sku=K1
               line A/2 sku=K2
               variant alder/V1 sku=K1
               variant brook/V2
               link sku=K2 to=alder/V1
               link sku=K2 to=brook/V2
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1",
        behind: "brook",
        finds: &[],
        otherwise: &["part-sent order=A lines=2:1:not-sent"],
        unconfirmed: 0,
    },
    Case {
        rule: "another supplier that is behind does not silence what is known",
        rows: "order A paid=-61m
               line A/1 sku=K1
               line A/2 sku=K2
               variant alder/V1 sku=K1
               variant brook/V2 sku=K2
               submission brook/S1 ref=A
               sent brook/S1/1 line=2 variant=V2",
        behind: "brook",
        finds: &["part-sent order=A lines=1:1:not-sent"],
        otherwise: &["part-sent order=A lines=1:1:not-sent"],
        unconfirmed: 0,
    },
    Case {
        rule: "an order without any link is named at once, unconfirmed",
        rows: "order A paid=-1m
               line A/1 sku=K9
               given variants",
        behind: "alder",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        otherwise: &["unsent-order order=A lines=1:1:no-link"],
        unconfirmed: 1,
    },
    Case {
        rule: "while the storefront is behind, what is missing may have been cancelled",
        rows: "order A paid=-61m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               given submissions
               given submission-lines",
        behind: "storefront",
        finds: &["unsent-order order=A lines=1:1:not-sent"],
        otherwise: &["unsent-order order=A lines=1:1:not-sent"],
        unconfirmed: 1,
    },
    Case {
        rule: "while the storefront is behind, a submission may be for an order that is not read yet",
        rows: "order A placed=-90m status=unpaid
               variant alder/V1
               submission alder/S1 ref=Z at=-61m
               sent alder/S1/1 variant=V1",
        behind: "storefront",
        finds: &[],
        otherwise: &["stray-submission supplier=alder submission=S1 sent=1:1"],
        unconfirmed: 0,
    },
    Case {
        rule: "a supplier that is behind may have gone on with what it held",
        rows: "order A
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A status=held at=-721m
               sent alder/S1/1 variant=V1",
        behind: "alder",
        finds: &[],
        otherwise: &["held supplier=alder submission=S1"],
        unconfirmed: 0,
    },
    Case {
        rule: "a storefront that is behind may have been told of the dispatch",
        rows: "order A placed=-9000m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A status=dispatched at=-8000m
               sent alder/S1/1 variant=V1
               parcel alder/P1 of=S1 at=-5000m
               packed alder/P1/1 quantity=1",
        behind: "storefront",
        finds: &[],
        otherwise: &["dispatch-unmarked order=A"],
        unconfirmed: 0,
    },
    Case {
        rule: "what was sent too often was sent, whoever is behind",
        rows: "order A
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1 quantity=2",
        behind: "alder storefront",
        finds: &["over-sent order=A supplier=alder submission=S1 sent=1:1"],
        otherwise: &["over-sent order=A supplier=alder submission=S1 sent=1:1"],
        unconfirmed: 0,
    },
];

fn behind(words: &str) -> Behind {
    let (storefront, suppliers): (Vec<&str>, Vec<&str>) =
        words.split_whitespace().partition(|word| *word == "storefront");
    Behind { storefront: !storefront.is_empty(), suppliers: suppliers.into_iter().map(Into::into).collect() }
}

#[test]
fn what_is_not_known_yet_is_not_missing() {
    for Case { rule, rows, behind: words, finds, otherwise, unconfirmed } in CASES {
        let case = notation::case(rows);
        for (behind, finds, unconfirmed) in
            [(behind(words), finds, *unconfirmed), (Behind::default(), otherwise, 0)]
        {
            let facts = Facts { behind: &behind, ..case.facts() };
            let outcome = reconcile(&case.book, facts, &case.rules, as_of());
            assert_eq!(compared::lines(&compared::reduced(&outcome)), *finds, "{rule}");
            let named = outcome.findings.iter().flat_map(|finding| &finding.lines);
            assert_eq!(named.filter(|line| line.unconfirmed).count(), unconfirmed, "{rule}");
        }
    }
}

#[test]
fn an_address_that_changed_after_a_submission_was_received_is_a_finding_until_it_is_dispatched() {
    let rows = "order A
                line A/1 sku=K1
                variant alder/V1 sku=K1
                submission alder/S1 ref=A at=-60m cutoff=+60m
                sent alder/S1/1 line=1 variant=V1";
    let ask = |rows: &str, changed: i64| {
        let case = notation::case(rows);
        let changes: BTreeMap<OrderId, _> = [("A".into(), after(changed))].into();
        let facts = Facts { address_changes: &changes, ..case.facts() };
        reconcile(&case.book, facts, &case.rules, as_of()).findings
    };
    let findings = ask(rows, -600);
    assert_eq!(findings.iter().map(|finding| finding.check).collect::<Vec<_>>(), [Check::AddressChanged]);
    assert_eq!(findings[0].act_before, Some(after(3600)));
    assert!(ask(rows, -3600).is_empty());
    assert!(ask(&rows.replace("at=-60m", "at=-60m status=dispatched"), -600).is_empty());
    let of_cancelled = ask(&rows.replace("at=-60m", "at=-60m status=cancelled"), -600);
    assert!(of_cancelled.iter().all(|finding| finding.check != Check::AddressChanged));
}
