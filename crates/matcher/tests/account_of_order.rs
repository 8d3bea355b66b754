//! What became of one order, as its page shows it: what is tied to each line, and what refers to it and serves nothing.
//!
//! The notation is that of `oracle/notation.rs`. What is expected is written by hand from the rules.

#![expect(clippy::unwrap_used, reason = "a test")]

mod oracle;

use matcher::{OrderAccount, Whole, account_of_order};
use model::finding::Reason;
use oracle::case::{after, as_of};
use oracle::{compared, notation};

fn account(rows: &str) -> Option<OrderAccount> {
    let case = notation::case(rows);
    compared::differences(&case).unwrap();
    account_of_order(&case.book, case.facts(), &case.rules, as_of(), &Whole::of(&case.book), &"A".into())
}

/// `2: 1 of alder/S1/1 by 4, dispatched 1 in P1`.
fn ties(account: &OrderAccount) -> Vec<String> {
    let of_line = account.lines.iter().flat_map(|line| {
        line.ties.iter().map(|tie| {
            let parcels: Vec<_> = tie.parcels.iter().map(|parcel| parcel.as_str()).collect();
            format!(
                "{}: {} of {}/{}/{} by {}, dispatched {} in {}",
                line.named.line_id,
                tie.units,
                tie.variant.supplier,
                tie.submission_id,
                tie.line_id,
                tie.way,
                tie.dispatched,
                parcels.join(","),
            )
        })
    });
    of_line.collect()
}

#[test]
fn every_line_says_what_is_tied_to_it_in_which_way_and_how_much_of_it_has_gone() {
    let account = account(
        "order A paid=-90m
         line A/1 sku=K1 quantity=2
         line A/2 sku=K2
         line A/3 sku=K9
         variant alder/V1 sku=K1
         variant alder/V2 sku=K2
         variant alder/V3 sku=K3
         submission alder/S1 ref=A
         sent alder/S1/1 line=1 variant=V1 quantity=2
         submission alder/S2 ref=A
         sent alder/S2/1 line=2 variant=V3
         parcel alder/P1 of=S1 at=-10m
         packed alder/P1/1",
    )
    .unwrap();
    assert_eq!(
        ties(&account),
        ["1: 2 of alder/S1/1 by 1, dispatched 1 in P1", "2: 1 of alder/S2/1 by 4, dispatched 0 in "]
    );
    let reasons: Vec<_> = account.lines.iter().map(|line| (line.named.units, line.named.reason)).collect();
    assert_eq!(reasons, [(0, None), (0, None), (1, Some(Reason::NoLink))]);
    let until: Vec<_> = account.lines.iter().map(|line| line.may_take_until).collect();
    assert_eq!(until, [Some(after(-30 * 60)), Some(after(-30 * 60)), None], "60 min from payment, if linked");
}

#[test]
fn what_refers_to_the_order_and_serves_nothing_is_there_and_what_is_for_others_is_not() {
    let account = account(
        "order A paid=-90m
         order B paid=-90m
         line A/1 sku=K1
         line B/1 sku=K1
         variant alder/V1 sku=K1
         submission alder/S1 ref=A
         sent alder/S1/1 line=1 variant=V1 quantity=3
         submission alder/S2 ref=A status=cancelled
         sent alder/S2/1 line=1 variant=V1
         submission alder/S3 ref=B
         sent alder/S3/1 line=1 variant=V1",
    )
    .unwrap();
    let supplies: Vec<_> = account
        .supplies
        .iter()
        .map(|supply| (supply.submission_id.as_str(), supply.tied[0], supply.surplus, supply.not_counted))
        .collect();
    assert_eq!(supplies, [("S1", 1, 2, 0), ("S2", 0, 0, 1)]);
}

#[test]
fn what_was_sent_is_not_known_where_no_table_says_it() {
    let rows = "order A paid=-90m
                line A/1 sku=K1
                variant alder/V1 sku=K1";
    assert!(!account(rows).unwrap().lines[0].is_known);
    let given = format!("{rows}\ngiven submissions\ngiven submission-lines");
    assert!(account(&given).unwrap().lines[0].is_known);
}

#[test]
fn an_order_that_is_not_there_or_not_there_yet_has_no_account() {
    assert_eq!(account("order B paid=-90m\nvariant alder/V1 sku=K1"), None);
    assert_eq!(account("order A placed=+1m\nvariant alder/V1 sku=K1"), None);
}
