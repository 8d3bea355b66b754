//! The journal of SKUs on real SQLite files: what was planned and what became of it stays as it was noted.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod common;

use ledger::{Ledger, LedgerError, PlannedSku, SeenSku, Signed, SkuState, SkuStep};
use model::book::Offer;
use model::{Batch, Book, Mark, Options, Sku, SourceId};

use common::{at, open, run, shop};

fn sku(text: &str) -> Option<Sku> {
    Sku::new(text)
}

fn options(size: &str) -> Options {
    Options::from_pairs([("Size", size)]).unwrap()
}

fn planned(size: &str, old: &str, new: &str) -> PlannedSku {
    PlannedSku { listing_id: "L1".into(), options: options(size), old: sku(old), new: sku(new) }
}

fn signed() -> Signed {
    Signed { by: "kim".to_owned(), why: Some("as agreed".to_owned()), at: at(0) }
}

fn till() -> SourceId {
    "till".into()
}

fn step(state: SkuState, minutes: i64, seen: Option<&str>) -> SkuStep {
    let why = (state == SkuState::Refused).then(|| "the storefront said no".to_owned());
    SkuStep { state, at: at(minutes), seen: seen.map(sku), why }
}

async fn begin(ledger: &Ledger, all: &[PlannedSku]) -> i64 {
    ledger.begin_sku_run(&shop(), (&till(), None), &signed(), all).await.unwrap()
}

#[test]
fn a_run_is_kept_whole_and_each_step_of_it_for_ever() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let all = [planned("L", "OLD", "NEW"), planned("S", "", "SMALL")];
        assert_eq!(begin(&ledger, &all).await, 1);
        let steps = [step(SkuState::Asked, 1, Some("OLD")), step(SkuState::Confirmed, 2, Some("NEW"))];
        for one in &steps {
            ledger.note_sku(&shop(), (1, 0), one).await.unwrap();
        }
        ledger.close().await;
        let ledger = open(&folder).await;
        let runs = ledger.sku_runs(&shop()).await.unwrap();
        assert_eq!((runs[0].number, &runs[0].source, &runs[0].signed), (1, &till(), &signed()));
        let changes = ledger.sku_changes(&shop(), Some(1)).await.unwrap();
        assert_eq!(changes[0].planned, all[0]);
        assert_eq!(changes[0].steps, steps);
        assert_eq!((changes[0].state(), changes[0].was_asked()), (SkuState::Confirmed, true));
        assert_eq!(changes[1].planned, all[1]);
        assert_eq!((changes[1].state(), changes[1].was_asked()), (SkuState::Planned, false));
        assert_eq!(ledger.sku_changes(&"another".into(), None).await.unwrap(), []);
    });
}

#[test]
fn an_offer_twice_in_a_run_keeps_nothing_of_it() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let twice = [planned("L", "OLD", "NEW"), planned("l", "OLD", "OTHER")];
        let refused = ledger.begin_sku_run(&shop(), (&till(), None), &signed(), &twice).await;
        assert!(matches!(refused, Err(LedgerError::Sql(_))), "{refused:?}");
        assert_eq!(ledger.sku_runs(&shop()).await.unwrap(), []);
        assert_eq!(begin(&ledger, &twice[..1]).await, 1);
    });
}

#[test]
fn what_is_at_its_end_stays_there_and_nothing_is_asked_for_twice() {
    use SkuState::{Asked, Confirmed, Elsewhere, NotKnown, Planned, Refused};
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let all = [Planned, Asked, Confirmed, Refused, NotKnown, Elsewhere];
        let ways: [(&[SkuState], &[SkuState]); 6] = [
            (&[], &[Planned, Asked, Confirmed, Refused]),
            (&[Asked], &[Confirmed, Refused, NotKnown, Elsewhere]),
            (&[Asked, NotKnown], &[Confirmed, Refused, NotKnown, Elsewhere]),
            (&[Asked, Confirmed], &[]),
            (&[Refused], &[]),
            (&[Asked, Elsewhere], &[]),
        ];
        for (before, may_follow) in ways {
            for state in all {
                let number = begin(&ledger, &[planned("L", "OLD", "NEW")]).await;
                for state in before {
                    ledger.note_sku(&shop(), (number, 0), &step(*state, 1, None)).await.unwrap();
                }
                let noted = ledger.note_sku(&shop(), (number, 0), &step(state, 2, None)).await;
                assert_eq!(noted.is_ok(), may_follow.contains(&state), "{before:?} {state:?}: {noted:?}");
                let changes = ledger.sku_changes(&shop(), Some(number)).await.unwrap();
                assert_eq!(changes[0].steps.len(), before.len() + usize::from(noted.is_ok()));
            }
        }
        let of_none = ledger.note_sku(&shop(), (999, 0), &step(Asked, 1, None)).await;
        assert!(matches!(of_none, Err(LedgerError::Sql(_))), "{of_none:?}");
    });
}

#[test]
fn one_process_at_a_time_changes_skus_also_while_somebody_watches() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let _watching = ledger.watch().unwrap();
        let first = ledger.send_skus().unwrap();
        let refused = ledger.send_skus();
        assert!(matches!(refused, Err(LedgerError::SendingSkus { .. })), "{refused:?}");
        drop(first);
        ledger.send_skus().unwrap();
    });
}

fn offers(minutes: i64, bears: &str) -> Batch {
    let offer = Offer {
        listing_id: "L1".into(),
        sku: sku(bears),
        title: None,
        options: options("L"),
        price: None,
        currency: None,
        buyable: true,
    };
    Batch {
        shop: shop(),
        source: till(),
        request: "offers".to_owned(),
        rows: Book { offers: Some(vec![offer]), ..Book::default() },
        whole: Vec::new(),
        everything_since: None,
        mark: Mark { text: String::new(), read_up_to: Some(at(minutes)) },
        seen_at: at(minutes),
        source_time: None,
    }
}

#[test]
fn what_was_seen_counts_until_the_source_is_read_again() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&offers(0, "OLD")).await.unwrap();
        assert_eq!(ledger.offer_sources(&shop()).await.unwrap().into_values().collect::<Vec<_>>(), [till()]);
        let number = begin(&ledger, &[planned("L", "OLD", "NEW")]).await;
        assert_eq!(ledger.skus_seen_since_read(&shop()).await.unwrap(), []);
        for one in [step(SkuState::Asked, 1, Some("OLD")), step(SkuState::Confirmed, 2, Some("NEW"))] {
            ledger.note_sku(&shop(), (number, 0), &one).await.unwrap();
        }
        let seen = SeenSku { listing_id: "L1".into(), options: options("L"), sku: sku("NEW"), at: at(2) };
        assert_eq!(ledger.skus_seen_since_read(&shop()).await.unwrap(), std::slice::from_ref(&seen));
        // What was read before it was changed says nothing of it.
        ledger.commit(&offers(1, "OLD")).await.unwrap();
        assert_eq!(ledger.skus_seen_since_read(&shop()).await.unwrap(), [seen]);
        ledger.commit(&offers(3, "NEW")).await.unwrap();
        assert_eq!(ledger.skus_seen_since_read(&shop()).await.unwrap(), []);
    });
}
