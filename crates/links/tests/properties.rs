//! What holds of every reading, whatever the text.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::collections::BTreeMap;

use links::{Vocabulary, read_book, read_options, read_variant};
use model::book::{OrderLine, Variant};
use model::text::fold;
use model::{Book, Options, Reading};
use proptest::prelude::*;

/// Pieces of option texts: words of every kind, words of none, and what stands between them.
const PIECES: &[&str] = &[
    "apron",
    "Tee",
    "t-shirt",
    "long sleeve",
    "hooded",
    "sweatshirt",
    "mug",
    "canvas",
    "print",
    "framed",
    "bodysuit",
    "S",
    "m",
    "XL",
    "2xl",
    "large",
    "extra",
    "one size",
    "3T",
    "6-12 months",
    "11 oz",
    "330ml",
    "12x18 in",
    "12\"x18\"",
    "42",
    "7.5",
    "Größe",
    "size",
    "age",
    "youth",
    "kids'",
    "men's",
    "unisex",
    "moss",
    "dark",
    "heather",
    "grey",
    "gray",
    "navy blue",
    "medium blue",
    "linen",
    "Stormy",
    "otter",
    "low",
    "cotton",
    "pack of 2",
    "2 x",
    "weiß",
    "bleu foncé",
    "Schürze",
    "'s",
    "½",
];
const SEPARATORS: &[&str] = &[" ", ", ", " / ", "/", "-", " - ", " | ", " & ", ": ", " (", "."];

fn value() -> impl Strategy<Value = String> {
    let piece = (prop::sample::select(PIECES), prop::sample::select(SEPARATORS));
    prop::collection::vec(piece, 0..7)
        .prop_map(|pieces| pieces.into_iter().flat_map(|(piece, separator)| [piece, separator]).collect())
}

fn options(values: &[String]) -> Options {
    let pairs = values.iter().enumerate().map(|(index, value)| (format!("Choice {index}"), value.clone()));
    Options::from_pairs(pairs).unwrap()
}

/// The kinds of a reading, and the words left over in no order.
fn said(reading: &Reading) -> (Reading, BTreeMap<String, usize>) {
    let mut words = BTreeMap::new();
    for word in &reading.left_over {
        *words.entry(word.clone()).or_default() += 1;
    }
    (Reading { left_over: Vec::new(), ..reading.clone() }, words)
}

fn vocabulary() -> &'static Vocabulary {
    static VOCABULARY: std::sync::LazyLock<Vocabulary> = std::sync::LazyLock::new(Vocabulary::built_in);
    &VOCABULARY
}

proptest! {
    #[test]
    fn any_text_at_all_is_read(
        name in any::<String>(), value in any::<String>(), title in any::<String>(), product in any::<String>()
    ) {
        let options = Options::from_pairs([(name.as_str(), value.as_str()), ("Size", title.as_str())])
            .unwrap_or_default();
        read_options(vocabulary(), Some(&options), Some(&title));
        read_variant(vocabulary(), Some(&product), Some(&options));
    }

    #[test]
    fn any_row_of_pieces_is_read_alike_in_every_order_of_the_options(
        values in prop::collection::vec(value(), 0..4), turn in 0..4usize, title in value()
    ) {
        let reading = read_options(vocabulary(), Some(&options(&values)), Some(&title));
        let mut turned = values.clone();
        turned.rotate_left(turn.min(values.len()));
        let again = read_options(vocabulary(), Some(&options(&turned)), Some(&title));
        prop_assert_eq!(said(&reading), said(&again));
        turned.reverse();
        let again = read_options(vocabulary(), Some(&options(&turned)), Some(&title));
        prop_assert_eq!(said(&reading), said(&again));
    }

    #[test]
    fn case_and_doubled_blanks_make_no_difference(value in value(), title in value()) {
        let read = |value: &str| {
            read_options(vocabulary(), Some(&options(&[value.to_owned()])), Some(&title))
        };
        let reading = read(&value);
        prop_assert_eq!(&reading, &read(&value.to_uppercase()));
        prop_assert_eq!(&reading, &read(&value.to_lowercase()));
        prop_assert_eq!(&reading, &read(&value.replace(' ', "  ")));
        prop_assert_eq!(&reading, &read(&format!("\t{value}\u{a0}")));
    }

    #[test]
    fn a_folded_text_is_read_like_the_text(value in any::<String>()) {
        let read = |value: String| read_options(vocabulary(), Some(&options(&[value])), None);
        prop_assert_eq!(read(fold(&value)), read(value));
    }

    /// What is read is written in the vocabulary's words: read again, it says the same.
    #[test]
    fn what_was_read_is_read_again_as_the_same(value in value()) {
        let reading = read_options(vocabulary(), Some(&options(&[value])), None);
        let kinds = [&reading.product_type, &reading.age_group, &reading.size, &reading.colour];
        let values: Vec<String> = kinds.into_iter().flatten().cloned().collect();
        let pairs = values.iter().enumerate().map(|(index, value)| (format!("Size {index}"), value.clone()));
        let again = read_options(vocabulary(), Options::from_pairs(pairs).ok().as_ref(), None);
        // Of two age groups none is read; of a bodysuit alone it is implied.
        let again = Reading { age_group: again.age_group.filter(|_| reading.age_group.is_some()), ..again };
        prop_assert!(again.says_the_same(&reading), "{:?} and {:?}", reading, again);
        prop_assert!(again.left_over.is_empty(), "{:?}", again);
    }

    #[test]
    fn a_text_of_unknown_words_is_left_over_whole(words in prop::collection::vec("[qjvwz]{4,9}", 0..6)) {
        let reading = read_options(vocabulary(), Some(&options(&[words.join(" ")])), None);
        prop_assert_eq!(&reading.left_over, &words);
        prop_assert!(reading.says_the_same(&Reading::default()));
    }

    #[test]
    fn a_book_reads_each_row_as_by_itself(
        rows in prop::collection::vec((prop::collection::vec(value(), 0..3), prop::option::of(value())), 0..6)
    ) {
        let lines = rows.iter().map(|(values, title)| OrderLine {
            order_id: "1001".into(),
            line_id: "1".into(),
            listing_id: None,
            sku: None,
            title: title.clone(),
            options: Some(options(values)),
            quantity: 1,
            cancelled_quantity: 0,
            unit_price: None,
            updated_at: None,
        });
        let variants = rows.iter().map(|(values, product)| Variant {
            supplier: "alder-print".into(),
            variant_id: "1".into(),
            sku: None,
            product: product.clone(),
            options: Some(options(values)),
            unit_cost: None,
            currency: None,
            available: true,
        });
        // Each row twice, so that what is remembered is asked for.
        let book = Book {
            order_lines: lines.clone().chain(lines).collect(),
            variants: Some(variants.collect()),
            ..Book::default()
        };
        let readings = read_book(&book, vocabulary());
        let line = |(values, title): &(Vec<String>, Option<String>)| {
            read_options(vocabulary(), Some(&options(values)), title.as_deref())
        };
        let variant = |(values, product): &(Vec<String>, Option<String>)| {
            read_variant(vocabulary(), product.as_deref(), Some(&options(values)))
        };
        let lines: Vec<Reading> = rows.iter().chain(&rows).map(line).collect();
        prop_assert_eq!(readings.order_lines, lines);
        prop_assert_eq!(readings.variants, rows.iter().map(variant).collect::<Vec<_>>());
    }
}
