//! Random books: the same for the same seed, sound for every seed. Start reading at the names of the tests.

mod sound;

use std::collections::BTreeSet;

use model::Check;
use simshop::{catalogue_book, random_book, random_orders};

#[test]
fn one_seed_gives_one_book_and_another_seed_another() {
    let text = |seed| format!("{:?}", random_book(seed, 200));
    assert_eq!(text(1), text(1));
    assert_ne!(text(1), text(2));
}

#[test]
fn books_of_many_seeds_hold_together() {
    for seed in 0..20 {
        sound::check(&random_book(seed, 500));
    }
}

#[test]
fn all_kinds_of_faults_come_up() {
    let planted = random_book(5, 5_000);
    let checks: BTreeSet<Check> = planted.plants.iter().map(|plant| plant.check).collect();
    for check in [
        Check::PartSent,
        Check::UnsentOrder,
        Check::WrongVariant,
        Check::OverSent,
        Check::SentAfterCancel,
        Check::StraySubmission,
        Check::OfferUnlinked,
    ] {
        assert!(checks.contains(&check), "{check}");
    }
    let of_orders = planted.plants.iter().filter(|plant| plant.subject.order_id().is_some()).count();
    assert!((50..200).contains(&of_orders), "{of_orders}");
}

#[test]
fn orders_one_by_one_are_the_orders_of_the_whole_book() {
    let whole = random_book(9, 400);
    let mut plants = 0;
    let mut lines = 0;
    for (book, planted) in random_orders(9, 400) {
        assert_eq!(book.orders.len(), 1);
        plants += planted.len();
        lines += book.order_lines.len();
    }
    let of_listings = whole.plants.iter().filter(|plant| plant.subject.listing_id().is_some()).count();
    assert_eq!((plants + of_listings, lines), (whole.plants.len(), whole.book.order_lines.len()));
    let offers = |book: &model::Book| book.offers.as_ref().map(Vec::len);
    assert_eq!(offers(&catalogue_book()), offers(&whole.book));
}
