//! The book of the sale: that it is the same every time, that it holds together, and that nothing documented is
//! missing in it. Start reading at the names of the tests.

mod sound;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use chrono::{Datelike, TimeDelta};
use model::Check;
use model::book::OrderStatus;
use model::finding::{Reason, Unusable};
use rust_decimal::Decimal;
use simshop::{Subject, TimeLeft, planted_table, sale_day, write_csv};

#[test]
fn two_runs_give_the_same_book() {
    let (first, second) = (sale_day(), sale_day());
    assert_eq!(format!("{:?}", first.book), format!("{:?}", second.book));
    assert_eq!(first.plants, second.plants);
    assert_eq!(first.decoys, second.decoys);
    assert_eq!(planted_table(&first), planted_table(&second));
}

#[test]
fn the_book_holds_together() {
    sound::check(&sale_day());
}

#[test]
fn there_are_four_hundred_orders_in_three_days_most_on_the_second() {
    let planted = sale_day();
    let mut days: BTreeMap<u32, usize> = BTreeMap::new();
    for order in &planted.book.orders {
        assert!(order.placed_at.begins() <= planted.as_of + TimeDelta::minutes(10));
        let local = order.placed_at.begins().with_timezone(&chrono_tz::Europe::Oslo);
        *days.entry(local.day()).or_default() += 1;
    }
    assert_eq!(days, BTreeMap::from([(24, 75), (25, 255), (26, 70)]));
    let mut lines: BTreeMap<&str, usize> = BTreeMap::new();
    for line in &planted.book.order_lines {
        *lines.entry(line.order_id.as_str()).or_default() += 1;
    }
    let counts: BTreeSet<usize> = lines.into_values().collect();
    assert_eq!(counts, BTreeSet::from([1, 2, 3, 4]));
    let statuses: BTreeSet<&str> = planted
        .book
        .orders
        .iter()
        .map(|order| match order.status {
            OrderStatus::Unpaid => "unpaid",
            OrderStatus::Open => "open",
            OrderStatus::Dispatched => "dispatched",
            OrderStatus::Cancelled => "cancelled",
        })
        .collect();
    assert_eq!(statuses.len(), 4);
}

#[test]
fn three_suppliers_make_what_thirteen_listings_sell() {
    let book = sale_day().book;
    let suppliers: BTreeSet<String> =
        book.submissions.iter().flatten().map(|sent| sent.supplier.to_string()).collect();
    assert_eq!(suppliers, ["alder-print", "brook-print", "cairn-print"].map(String::from).into());
    let listings: BTreeSet<String> =
        book.offers.iter().flatten().map(|offer| offer.listing_id.to_string()).collect();
    assert_eq!(listings.len(), 13);
    let bought: BTreeSet<String> =
        book.order_lines.iter().filter_map(|line| Some(line.listing_id.as_ref()?.to_string())).collect();
    assert_eq!(bought, listings);
}

#[test]
fn every_check_and_every_reason_is_planted() {
    let planted = sale_day();
    for check in Check::ALL.iter().filter(|check| !check.needs_history()) {
        assert!(planted.plants.iter().any(|plant| plant.check == *check), "{check}");
    }
    for reason in [Reason::NoLink, Reason::AmbiguousLink, Reason::BrokenLink, Reason::NotSent, Reason::Short]
    {
        let part_sent = planted.plants.iter().filter(|plant| plant.check == Check::PartSent);
        assert!(
            part_sent.flat_map(|plant| &plant.lines).any(|line| line.reason == Some(reason)),
            "{reason:?}"
        );
    }
    for why in [Unusable::Unknown, Unusable::NotAvailable] {
        let is = |subject: &Subject| matches!(subject, Subject::Link(.., there) if *there == why);
        assert!(planted.plants.iter().any(|plant| is(&plant.subject)), "{why:?}");
    }
}

#[test]
fn at_least_ten_orders_share_the_offer_that_was_added_on_the_morning() {
    let planted = sale_day();
    let book = &planted.book;
    let part_sent = planted.plants.iter().filter(|plant| plant.check == Check::PartSent);
    let of_the_new_colour = part_sent.filter(|plant| {
        plant.lines.iter().any(|named| {
            book.order_lines.iter().any(|line| {
                Some(&line.order_id) == plant.subject.order_id()
                    && line.line_id == named.line_id
                    && line.listing_id.as_ref().is_some_and(|listing| listing.as_str() == "KL-01")
                    && line.options.as_ref().is_some_and(|options| options.to_string() == "Mustard, Tote bag")
            })
        })
    });
    assert!(of_the_new_colour.count() >= 10);
}

#[test]
fn some_can_still_be_put_right_and_some_cannot() {
    let planted = sale_day();
    let count = |is: fn(TimeLeft) -> bool| {
        planted.plants.iter().filter_map(|p| p.time_left).filter(|t| is(*t)).count()
    };
    assert!(count(|left| matches!(left, TimeLeft::Until(_))) >= 10);
    assert!(count(|left| left == TimeLeft::Passed) >= 10);
    assert!(count(|left| left == TimeLeft::NoSubmission) >= 5);
    let soonest = planted
        .plants
        .iter()
        .filter_map(|plant| match plant.time_left {
            Some(TimeLeft::Until(moment)) => Some(moment),
            _ => None,
        })
        .min();
    assert_eq!(soonest, Some(planted.as_of + TimeDelta::minutes(40)));
}

#[test]
fn nothing_is_planted_where_a_decoy_stands() {
    let planted = sale_day();
    for decoy in &planted.decoys {
        assert!(planted.plants.iter().all(|plant| plant.subject != decoy.subject), "{decoy:?}");
        if let Some(order) = decoy.subject.order_id() {
            assert!(planted.plants.iter().all(|plant| plant.subject.order_id() != Some(order)), "{decoy:?}");
        }
    }
}

/// The fees are those of the configuration: 6.5 % and 0.30 for each unit.
#[test]
fn no_offer_but_the_planted_one_is_near_a_loss() {
    let planted = sale_day();
    let book = &planted.book;
    let cost = |supplier: &str, variant: &str| {
        let variant = book
            .variants
            .iter()
            .flatten()
            .find(|there| there.supplier.as_str() == supplier && there.variant_id.as_str() == variant);
        variant.and_then(|variant| variant.unit_cost).unwrap_or_default()
    };
    for offer in book.offers.iter().flatten() {
        let price = offer.price.unwrap();
        let parts: Vec<(Decimal, u32)> = book
            .links
            .iter()
            .flatten()
            .filter(|row| {
                row.scope == model::book::LinkScope::Offer(offer.listing_id.clone(), offer.options.clone())
            })
            .filter_map(|row| {
                Some((cost(row.supplier.as_str(), row.variant_id.as_ref()?.as_str()), row.units))
            })
            .collect();
        let dearest = book
            .variants
            .iter()
            .flatten()
            .filter(|variant| variant.sku == offer.sku)
            .max_by_key(|v| v.unit_cost);
        let cost = if parts.is_empty() {
            dearest.and_then(|variant| variant.unit_cost).unwrap_or_default()
        } else {
            parts.into_iter().map(|(cost, units)| cost * Decimal::from(units)).sum()
        };
        let left = price - cost - price * Decimal::new(65, 3) - Decimal::new(30, 2);
        let planted_here = planted.plants.iter().any(|plant| {
            plant.check == Check::LossMaking
                && plant.subject == Subject::Offers(offer.listing_id.clone(), vec![offer.options.clone()])
        });
        assert_eq!(left < Decimal::ONE, planted_here, "{offer:?} leaves {left}");
        if planted_here {
            assert_eq!(left, Decimal::new(-21_725, 4));
        }
    }
}

#[test]
fn the_configuration_is_toml_with_a_table_for_each_supplier() {
    let planted = sale_day();
    let configuration: toml::Table = planted.configuration.parse().unwrap();
    assert_eq!(configuration["zone"].as_str(), Some("Europe/Oslo"));
    let suppliers: Vec<&String> = configuration["suppliers"].as_table().unwrap().keys().collect();
    assert_eq!(suppliers, ["alder-print", "brook-print", "cairn-print"]);
}

#[test]
fn the_table_of_plants_has_a_row_for_each_and_no_broken_cells() {
    let planted = sale_day();
    let table = planted_table(&planted);
    for (columns, rows) in [(5, planted.plants.len()), (2, planted.decoys.len())] {
        let of_width =
            table.lines().filter(|line| line.starts_with('|') && line.matches('|').count() == columns + 1);
        assert_eq!(of_width.count(), rows + 2);
    }
    assert!(!table.contains("\n\n\n"));
}

/// Where this fails, write the folder anew: `cargo run -p simshop --example sale_day -- fixtures/sale-day`.
#[test]
fn the_fixture_is_what_this_crate_writes() {
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sale-day");
    let planted = sale_day();
    let dir = tempfile::tempdir().unwrap();
    write_csv(&planted.book, dir.path()).unwrap();
    fs::write(dir.path().join("everyline.toml"), &planted.configuration).unwrap();
    fs::write(dir.path().join("PLANTED.md"), planted_table(&planted)).unwrap();
    let names = |dir: &Path| -> BTreeSet<String> {
        fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    };
    assert_eq!(names(&fixture), names(dir.path()));
    for name in names(dir.path()) {
        let same = fs::read(fixture.join(&name)).unwrap() == fs::read(dir.path().join(&name)).unwrap();
        assert!(same, "{name} differs");
    }
}
