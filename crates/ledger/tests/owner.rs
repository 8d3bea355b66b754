//! The owner's links and rules on real SQLite files: kept whole, never touched by a source, and taken back exactly.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod common;

use std::collections::BTreeMap;
use std::task::Poll;

use ledger::{Known, Ledger, LedgerError, LinkPart, OwnerLink, OwnerRule, Product, Setting, Signed, Step};
use model::book::{LinkRow, LinkScope};
use model::{Batch, Book, Good, GoodRule, Mark, Options, ShopId, Sku};
use proptest::prelude::*;

use common::{ALL, at, open, run, shop};

fn offer(listing: &str, size: &str) -> LinkScope {
    LinkScope::Offer(listing.into(), Options::from_pairs([("Size", size)]).unwrap())
}

fn sku(text: &str) -> LinkScope {
    LinkScope::Sku(Sku::new(text).unwrap())
}

fn made(variant: &str) -> LinkPart {
    LinkPart { supplier: "alder-print".into(), variant_id: Some(variant.into()), units: 1, in_force: false }
}

fn own() -> LinkPart {
    LinkPart { supplier: "own".into(), variant_id: None, units: 1, in_force: true }
}

fn link(scope: LinkScope, parts: &[LinkPart]) -> Setting {
    Setting::Link { scope, parts: parts.to_vec() }
}

fn mug(word: &str) -> Good {
    Good { product_type: Some("mug".to_owned()), age_group: None, words: vec![word.to_owned()] }
}

fn product(name: &str) -> Product {
    Product { supplier: "alder-print".into(), product: name.to_owned() }
}

fn signed(minutes: i64) -> Signed {
    Signed { by: "kim".to_owned(), why: Some("as agreed".to_owned()), at: at(minutes) }
}

async fn set(ledger: &Ledger, settings: &[Setting]) -> Option<i64> {
    let seen = ledger.last_link_change(&shop()).await.unwrap();
    ledger.set_links(&shop(), settings, &signed(seen), seen).await.unwrap()
}

/// All that stands, without the changes that led there.
async fn standing(ledger: &Ledger) -> (Vec<(LinkScope, Vec<LinkPart>)>, Vec<GoodRule>) {
    let links = ledger.owner_links(&shop()).await.unwrap();
    let rules = ledger.owner_rules(&shop()).await.unwrap();
    (
        links.into_iter().map(|OwnerLink { scope, parts, .. }| (scope, parts)).collect(),
        rules.into_iter().map(|OwnerRule { rule, .. }| rule).collect(),
    )
}

fn of_source(rows: Vec<LinkRow>, minutes: i64) -> Batch {
    Batch {
        shop: shop(),
        source: "till".into(),
        request: "links".to_owned(),
        rows: Book { links: Some(rows), ..Book::default() },
        whole: Vec::new(),
        everything_since: Some(at(minutes)),
        mark: Mark { text: String::new(), read_up_to: Some(at(minutes)) },
        seen_at: at(minutes),
        source_time: None,
    }
}

#[test]
fn what_the_owner_said_stands_as_it_was_said_with_who_when_and_why() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let set_of_two = [made("M-LOW"), own(), LinkPart { units: 2, ..made("BOX") }];
        let settings = [
            link(offer("L1", "Large"), &set_of_two),
            link(sku("AP-1"), &[LinkPart { in_force: true, ..made("A-1") }]),
            link(LinkScope::Listing("L9".into()), &[own()]),
            Setting::Rule { good: mug("low"), product: Some(product("Mug, low")) },
        ];
        assert_eq!(set(&ledger, &settings).await, Some(1));
        let links = ledger.owner_links(&shop()).await.unwrap();
        assert_eq!(links.len(), 3);
        assert_eq!(links[0].scope, offer("L1", "large"), "options are compared without case");
        assert_eq!(
            links[0].parts,
            [LinkPart { units: 2, ..made("BOX") }, made("M-LOW"), own()],
            "by supplier and variant"
        );
        assert_eq!(links[0].change.signed, Signed { at: at(0), ..signed(0) });
        assert!(links[0].is_intended());
        assert!(!links[1].is_intended(), "the owner says that it is in force");
        assert!(!links[2].is_intended(), "own stock is in force by itself");
        let intended = ledger.intended_links(&shop()).await.unwrap();
        assert_eq!(intended, links[..1]);
        let rules = ledger.owner_rules(&shop()).await.unwrap();
        let rule =
            GoodRule { good: mug("low"), supplier: "alder-print".into(), product: "Mug, low".to_owned() };
        assert_eq!(rules.into_iter().map(|rule| rule.rule).collect::<Vec<_>>(), [rule]);
        let rows = ledger.book(&shop(), Known::default()).await.unwrap().owner_links;
        assert_eq!(rows.len(), 5, "each part is a row");
        assert_eq!(set(&ledger, &settings).await, None, "the same again is no change");
        assert!(ledger.owner_links(&ShopId::from("another")).await.unwrap().is_empty());
    });
}

#[test]
fn no_source_writes_over_the_owners_word_or_removes_it() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let scopes = [offer("L1", "Large"), sku("AP-1"), LinkScope::Listing("L9".into())];
        let settings: Vec<Setting> =
            scopes.iter().map(|scope| link(scope.clone(), &[made("OURS"), made("BOTH")])).collect();
        set(&ledger, &settings).await;
        let before = standing(&ledger).await;
        let row = |scope: &LinkScope, variant: &str| LinkRow {
            scope: scope.clone(),
            supplier: "alder-print".into(),
            variant_id: Some(variant.into()),
            units: 3,
            in_force: true,
        };
        let theirs: Vec<LinkRow> =
            scopes.iter().flat_map(|scope| [row(scope, "THEIRS"), row(scope, "BOTH")]).collect();
        ledger.commit(&of_source(theirs, 1)).await.unwrap();
        assert_eq!(standing(&ledger).await, before);
        // The source no longer brings any of it: what it brought goes, and nothing else.
        for (minutes, source, request) in [(2, "till", "links"), (3, "owner", "owner"), (4, "owner", "links")]
        {
            let nothing = Batch {
                source: source.into(),
                request: request.to_owned(),
                ..of_source(Vec::new(), minutes)
            };
            ledger.commit(&nothing).await.unwrap();
            assert_eq!(standing(&ledger).await, before);
        }
        let book = ledger.book(&shop(), ALL).await.unwrap();
        assert!(book.links.unwrap().is_empty());
        assert_eq!(book.owner_links.len(), 6);
    });
}

#[test]
fn a_change_is_taken_back_to_what_stood_before_spelling_and_all() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        set(&ledger, &[link(offer("L1", "Large"), &[made("A")])]).await;
        let first = standing(&ledger).await;
        set(&ledger, &[link(offer("L1", "LARGE"), &[made("B")]), link(sku("S"), &[own()])]).await;
        set(&ledger, &[link(offer("L1", "large"), &[])]).await;
        assert_eq!(standing(&ledger).await.0, [(sku("S"), vec![own()])]);
        let refused = ledger.undo_links(&shop(), 2, &signed(9)).await.unwrap_err();
        assert!(matches!(&refused, LedgerError::ChangedSince { number: 2, later: 3, .. }), "{refused}");
        assert_eq!(
            refused.to_string(),
            "change 2 of links cannot be taken back by itself: change 3 has changed the link of offer L1 (LARGE) \
             since. Take change 3 back first, or say anew what is right."
        );
        assert_eq!(ledger.undo_links(&shop(), 3, &signed(10)).await.unwrap(), 4);
        assert_eq!(ledger.undo_links(&shop(), 2, &signed(11)).await.unwrap(), 5);
        assert_eq!(format!("{:?}", standing(&ledger).await), format!("{first:?}"));
        let refused = ledger.undo_links(&shop(), 2, &signed(12)).await.unwrap_err();
        assert!(matches!(refused, LedgerError::TakenBack { number: 2, by: 5 }), "{refused}");
        let refused = ledger.undo_links(&shop(), 6, &signed(12)).await.unwrap_err();
        assert!(matches!(refused, LedgerError::NoSuchChange { number: 6, last: Some(5) }), "{refused}");
        // Taking back is a change like any other.
        let refused = ledger.undo_links(&shop(), 4, &signed(13)).await.unwrap_err();
        assert!(matches!(refused, LedgerError::ChangedSince { number: 4, later: 5, .. }), "{refused}");
        assert_eq!(ledger.undo_links(&shop(), 5, &signed(14)).await.unwrap(), 6);
        assert_eq!(ledger.undo_links(&shop(), 4, &signed(15)).await.unwrap(), 7);
        assert_eq!(standing(&ledger).await.0, [(sku("S"), vec![own()])]);
        let changes = ledger.link_changes(&shop()).await.unwrap();
        assert_eq!(changes.len(), 7);
        let undone: Vec<_> =
            changes.iter().map(|change| (change.note.undoes, change.note.undone_by)).collect();
        assert_eq!(
            undone,
            [
                (None, None),
                (None, None),
                (None, None),
                (Some(3), Some(7)),
                (Some(2), Some(6)),
                (Some(5), None),
                (Some(4), None)
            ]
        );
        assert_eq!(
            changes[2].steps,
            [Step::Link { scope: offer("L1", "LARGE"), was: vec![made("B")], became: Vec::new() }]
        );
    });
}

#[test]
fn what_was_decided_on_without_a_later_change_is_not_kept() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let seen = ledger.last_link_change(&shop()).await.unwrap();
        set(&ledger, &[link(sku("S"), &[made("A")])]).await;
        let settings = [link(sku("T"), &[made("B")]), link(sku("s"), &[made("B")])];
        let refused = ledger.set_links(&shop(), &settings, &signed(1), seen).await.unwrap_err();
        assert!(matches!(refused, LedgerError::ChangedMeanwhile { later: 1, .. }), "{refused}");
        assert_eq!(standing(&ledger).await.0, [(sku("S"), vec![made("A")])], "all of it or nothing");
        let same = [link(sku("T"), &[made("B")]), link(sku("s"), &[made("A")])];
        assert_eq!(ledger.set_links(&shop(), &same, &signed(1), seen).await.unwrap(), Some(2));
        assert_eq!(ledger.link_changes(&shop()).await.unwrap()[1].steps.len(), 1);
    });
}

#[test]
fn two_that_write_at_once_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &'static str| {
        let folder = folder.path().join("everyline.ledger");
        move || {
            run(async {
                let ledger = Ledger::open(&folder).await.unwrap();
                for number in 0..20 {
                    let setting = link(sku(&format!("{name}-{number}")), &[made("A")]);
                    ledger.set_links(&shop(), &[setting], &signed(number), 0).await.unwrap().unwrap();
                }
                ledger.close().await;
            });
        }
    };
    let others = ["one", "two", "three"].map(|name| std::thread::spawn(write(name)));
    for other in others {
        other.join().unwrap();
    }
    run(async {
        let ledger = open(&folder).await;
        let changes = ledger.link_changes(&shop()).await.unwrap();
        assert_eq!(
            changes.iter().map(|change| change.note.number).collect::<Vec<_>>(),
            Vec::from_iter(1..=60)
        );
        assert_eq!(ledger.owner_links(&shop()).await.unwrap().len(), 60);
    });
}

/// Gives a future up after so many polls: as where the process ends there. `None` where it was not done by then.
async fn give_up_after<T>(mut polls: usize, future: impl Future<Output = T>) -> Option<T> {
    let mut future = std::pin::pin!(future);
    std::future::poll_fn(|context| {
        if polls == 0 {
            return Poll::Ready(None);
        }
        polls -= 1;
        future.as_mut().poll(context).map(Some)
    })
    .await
}

#[test]
fn a_change_given_up_at_any_step_is_kept_whole_or_not_at_all() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let settings: Vec<Setting> =
            (0..3).map(|number| link(sku(&format!("S{number}")), &[made("A"), own()])).collect();
        for polls in 0.. {
            let shop = ShopId::from(format!("shop {polls}").as_str());
            let done = give_up_after(polls, ledger.set_links(&shop, &settings, &signed(0), 0)).await;
            let links = ledger.owner_links(&shop).await.unwrap();
            let changes = ledger.link_changes(&shop).await.unwrap();
            let steps: Vec<usize> = changes.iter().map(|change| change.steps.len()).collect();
            let is_kept = !links.is_empty();
            assert_eq!((links.len(), steps), if is_kept { (3, vec![3]) } else { (0, Vec::new()) });
            if is_kept {
                let last = ledger.last_link_change(&shop).await.unwrap();
                let undone = give_up_after(polls, ledger.undo_links(&shop, last, &signed(1))).await;
                let stand = ledger.owner_links(&shop).await.unwrap().len();
                let changes = ledger.link_changes(&shop).await.unwrap().len();
                assert!(matches!((changes, stand), (1, 3) | (2, 0)), "{changes} {stand}");
                if done.is_some() && undone.is_some() {
                    assert_eq!(changes, 2);
                    break;
                }
            }
        }
    });
}

/// A step of an owner: settings in one change, or taking back one of the changes so far.
#[derive(Clone, Debug)]
enum Act {
    Set(Vec<(usize, Option<usize>)>),
    Undo(usize),
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let setting = (0..5_usize, proptest::option::weighted(0.75, 0..3_usize));
    let act = prop_oneof![
        3 => proptest::collection::vec(setting, 1..4).prop_map(Act::Set),
        2 => (0..12_usize).prop_map(Act::Undo),
    ];
    proptest::collection::vec(act, 1..14)
}

fn setting(thing: usize, to: Option<usize>) -> Setting {
    let parts = [vec![made("A")], vec![made("A"), made("B")], vec![own()]];
    let parts = to.map(|to| parts[to].clone()).unwrap_or_default();
    match thing {
        0 => link(offer("L1", "Large"), &parts),
        1 => link(offer("L1", "Small"), &parts),
        2 => link(sku("S"), &parts),
        3 => link(LinkScope::Listing("L1".into()), &parts),
        _ => Setting::Rule { good: mug("low"), product: to.map(|to| product(["A", "B", "C"][to])) },
    }
}

/// What stands after some settings, as a plain map says it.
type Plain = BTreeMap<usize, usize>;

async fn is(ledger: &Ledger, plain: &Plain) {
    let (mut links, mut rules) = (Vec::new(), Vec::new());
    for (thing, to) in plain {
        match setting(*thing, Some(*to)) {
            Setting::Link { scope, parts } => links.push((scope, parts)),
            Setting::Rule { good, product } => {
                let Product { supplier, product } = product.unwrap();
                rules.push(GoodRule { good, supplier, product });
            }
        }
    }
    links.sort();
    assert_eq!(standing(ledger).await, (links, rules));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_was_done_taking_all_of_it_back_restores_the_first_state(
        first in proptest::collection::btree_map(0..5_usize, 0..3_usize, 0..4),
        acts in acts(),
        literally in any::<bool>(),
    ) {
        run(async {
            let folder = tempfile::tempdir().unwrap();
            let ledger = open(&folder).await;
            let start: Vec<Setting> = first.iter().map(|(thing, to)| setting(*thing, Some(*to))).collect();
            let before_all = set(&ledger, &start).await.unwrap_or(0);
            // By number: what stood before the change, and what it touched.
            let mut stood: BTreeMap<i64, (Plain, Vec<usize>)> = BTreeMap::new();
            let mut plain = first.clone();
            for act in &acts {
                match act {
                    Act::Set(settings) => {
                        let was = plain.clone();
                        for (thing, to) in settings {
                            match to {
                                Some(to) => plain.insert(*thing, *to),
                                None => plain.remove(thing),
                            };
                        }
                        let of_ledger: Vec<Setting> =
                            settings.iter().map(|(thing, to)| setting(*thing, *to)).collect();
                        let number = set(&ledger, &of_ledger).await;
                        assert_eq!(number.is_some(), was != plain);
                        if let Some(number) = number {
                            let touched = (0..5).filter(|thing| was.get(thing) != plain.get(thing)).collect();
                            stood.insert(number, (was, touched));
                        }
                    }
                    Act::Undo(which) => {
                        let Some((&number, _)) = stood.iter().nth(*which) else { continue };
                        let (was, touched) = stood[&number].clone();
                        match ledger.undo_links(&shop(), number, &signed(99)).await {
                            Ok(undo) => {
                                let before = plain.clone();
                                for thing in &touched {
                                    match was.get(thing) {
                                        Some(to) => plain.insert(*thing, *to),
                                        None => plain.remove(thing),
                                    };
                                }
                                stood.insert(undo, (before, touched));
                            }
                            Err(LedgerError::TakenBack { .. } | LedgerError::ChangedSince { .. }) => {}
                            Err(other) => panic!("{other}"),
                        }
                    }
                }
                is(&ledger, &plain).await;
            }
            // All of it, the latest first: every change, or those alone that stand and take nothing back.
            let changes = ledger.link_changes(&shop()).await.unwrap();
            for change in changes.iter().rev().filter(|change| change.note.number > before_all) {
                let note = &change.note;
                if literally || note.undone_by.is_none() && note.undoes.is_none() {
                    ledger.undo_links(&shop(), note.number, &signed(100)).await.unwrap();
                }
            }
            is(&ledger, &first).await;
        });
    }
}
