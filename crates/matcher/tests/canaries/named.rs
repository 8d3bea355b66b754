//! What is said of a line that is named beside what is wrong with it: whether its link came after it, and what of it cannot be
//! made now.
//!
//! The notation is that of `oracle/notation.rs`. Start reading at [`CASES`].

use matcher::reconcile;

use crate::oracle::case::as_of;
use crate::oracle::notation;

struct Case {
    rule: &'static str,
    rows: &'static str,
    came_before_link: bool,
    not_made_now: &'static [&'static str],
    /// What is replaced by what, and what is said then.
    change: (&'static str, &'static str),
    then: (bool, &'static [&'static str]),
}

#[rustfmt::skip]
const CASES: &[Case] = &[
    Case {
        rule: "an order came before its link where the offer has the right SKU by now",
        rows: "order A paid=-1m
               line A/1 listing=L1 options=Size:S sku=OLD
               variant alder/V1 sku=K1
               offer L1 options=Size:S sku=K1
               link listing=L1 options=Size:S to=alder/V1 intended
               given submissions
               given submission-lines",
        came_before_link: true,
        not_made_now: &[],
        // Another offer of the listing tells nothing.
        change: ("offer L1 options=Size:S", "offer L1 options=Size:M"),
        then: (false, &[]),
    },
    Case {
        rule: "an offer that leads elsewhere than is meant puts nothing in force",
        rows: "order A paid=-1m
               line A/1 listing=L1 options=Size:S sku=OLD
               variant alder/V1 sku=K1
               variant alder/V2 sku=K2
               offer L1 options=Size:S sku=K1
               link listing=L1 options=Size:S to=alder/V1 intended
               given submissions
               given submission-lines",
        came_before_link: true,
        not_made_now: &[],
        change: ("offer L1 options=Size:S sku=K1", "offer L1 options=Size:S sku=K2"),
        then: (false, &[]),
    },
    Case {
        rule: "what a supplier cannot make now is said of what is linked, and of what is meant",
        rows: "order A paid=-90m
               line A/1 listing=L1 options=Size:S sku=K1
               variant alder/V1 sku=K1 not-available
               given submissions
               given submission-lines",
        came_before_link: false,
        not_made_now: &["V1"],
        change: ("sku=K1\n               variant", "sku=OLD\n               link listing=L1 options=Size:S to=alder/V1 intended\n               variant"),
        then: (false, &["V1"]),
    },
];

fn said(rows: &str) -> (bool, Vec<String>) {
    let case = notation::case(rows);
    let outcome = reconcile(&case.book, case.facts(), &case.rules, as_of());
    let line = outcome.findings.iter().find_map(|finding| finding.lines.first());
    let line = line.unwrap_or_else(|| panic!("no line is named: {:#?}", outcome.findings));
    let parts = line.not_made_now.iter().filter_map(|part| part.variant_id.as_ref());
    (line.came_before_link, parts.map(ToString::to_string).collect())
}

#[test]
fn a_line_says_whether_its_link_came_after_it_and_what_cannot_be_made() {
    let owned = |ids: &[&str]| ids.iter().map(|id| (*id).to_owned()).collect::<Vec<_>>();
    for case in CASES {
        assert_eq!(said(case.rows), (case.came_before_link, owned(case.not_made_now)), "{}", case.rule);
        let (old, new) = case.change;
        assert!(case.rows.contains(old), "{}", case.rule);
        let (came_before, not_made) = case.then;
        assert_eq!(
            said(&case.rows.replace(old, new)),
            (came_before, owned(not_made)),
            "{}, changed",
            case.rule
        );
    }
}
