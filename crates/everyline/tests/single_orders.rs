//! Single orders, looked up as the last round saw them: the same answer as with the whole ledger, without reading it.
//!
//! Start reading at [`check`].

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::fs;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use everyline::configuration::Configuration;
use everyline::live::judge::{Prepared, Question};
use everyline::live::near::{Looked, Near};
use everyline::live::rounds::Watch;
use everyline::live::world::Told;
use intake::source::http::World;
use ledger::Ledger;
use matcher::{Whole, account_of_order};
use model::book::Tie;
use model::{Book, OrderId};
use simshop::Planted;
use tokio::sync::watch;

/// Reads a book out of a folder into a ledger, and looks all its orders up.
async fn check(planted: &Planted) -> usize {
    let folder = tempfile::tempdir().unwrap();
    let exports = folder.path().join("exports");
    fs::create_dir(&exports).unwrap();
    simshop::write_csv(&planted.book, &exports).unwrap();
    let file = folder.path().join("everyline.toml");
    let source = "[sources.dropped]\nrole = \"storefront\"\nfolder = \"exports\"\n";
    fs::write(&file, format!("{}\n{source}", planted.configuration)).unwrap();
    let configuration = Configuration::read(&file).unwrap();
    let (shop, settings) = configuration.shop(None).unwrap();
    let settings = Arc::new(settings.clone());
    let ledger = Ledger::open(&configuration.ledger).await.unwrap();
    let now = planted.as_of;
    let world: Arc<dyn World> = Arc::new(Told::new(now));
    let (_stopping, stop) = watch::channel(false);
    let mut watched = Watch::new(&configuration, ledger.clone(), world, stop).await.unwrap();
    watched.round(&mut |_| ()).await;

    let question = Question { shop: shop.clone(), settings: Arc::clone(&settings), as_of: None, now };
    let prepared = Prepared::of(&ledger, &question).await.unwrap();
    assert_eq!(prepared.book.orders.len(), planted.book.orders.len());
    let whole = Whole::of(&prepared.book);
    let near = Near::of(&prepared).expect("the shop has a table of variants");
    let mut with_account = 0;
    for order in &prepared.book.orders {
        let order_id = &order.order_id;
        let found = near.order(&ledger, (shop, &settings), order_id, now).await.unwrap();
        let Looked::Found(found) = found else { panic!("order {order_id} was not found") };
        let Prepared { book, rules, standings, .. } = &prepared;
        let account = account_of_order(book, prepared.facts(), rules, standings.as_of, &whole, order_id);
        assert_eq!(found.account, account, "order {order_id}");
        with_account += usize::from(account.is_some());
        assert!(found.orders.contains(order_id));
        assert_eq!(found.history.order, *order);
        assert_eq!(found.history, whole_history(&ledger, &configuration, order_id, book, now).await);
    }
    // A tie that is younger than the round is seen, with what it is tied to.
    let order = &prepared.book.orders[0].order_id;
    let line = prepared.book.order_lines.iter().find(|line| line.order_id == *order).unwrap();
    let sent = prepared.book.submissions.as_ref().unwrap().last().unwrap();
    let tie = Tie {
        order_id: order.clone(),
        line_id: line.line_id.clone(),
        supplier: sent.supplier.clone(),
        submission_id: sent.submission_id.clone(),
        submission_line_id: None,
    };
    ledger.tie(shop, &tie, now).await.unwrap();
    let found = near.order(&ledger, (shop, &settings), order, now).await.unwrap();
    let Looked::Found(found) = found else { panic!("order {order} was not found") };
    assert!(found.history.submissions.contains(sent), "it is tied to the order");
    assert_eq!(found.history, whole_history(&ledger, &configuration, order, &prepared.book, now).await);

    let unknown = near.order(&ledger, (shop, &settings), &OrderId::new("nobody's"), now).await.unwrap();
    assert!(matches!(unknown, Looked::Unknown));
    ledger.close().await;
    with_account
}

/// The order as the whole ledger has it.
async fn whole_history(
    ledger: &Ledger,
    configuration: &Configuration,
    order_id: &OrderId,
    book: &Book,
    now: DateTime<Utc>,
) -> ledger::OrderHistory {
    let (shop, settings) = configuration.shop(None).unwrap();
    let known: std::collections::HashSet<&str> =
        book.orders.iter().map(|row| row.order_id.as_str()).collect();
    let rules = &settings.rules;
    let forms: Vec<_> = [&rules.references].into_iter().chain(rules.supplier_references.values()).collect();
    let speaks = |reference: &str| {
        forms.iter().any(|form| form.orders(reference, |id| known.contains(id)).contains(&order_id.as_str()))
    };
    ledger.order(shop, order_id, speaks, now).await.unwrap().unwrap()
}

#[tokio::test]
async fn every_order_of_the_sale_day_has_the_account_that_the_whole_ledger_gives() {
    assert!(check(&simshop::sale_day()).await > 300);
}

#[tokio::test]
async fn every_order_of_a_random_book_has_the_account_that_the_whole_ledger_gives() {
    for seed in [3, 11] {
        assert!(check(&simshop::random_book(seed, 150)).await > 100);
    }
}
