//! What option text is read as, and what is proposed for it: the same whatever the order of the options, however they are typed, and whether a row
//! is read by itself or in a book.
//!
//! Must not know the vocabulary. The first line is a title or a product, the others are values of options.

#![no_main]

use std::collections::BTreeMap;
use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use links::{Answer, Tables, Vocabulary, propose, read_book, read_options, read_variant};
use model::book::{Offer, OrderLine, Variant};
use model::text::fold;
use model::{Book, Options, Reading};

static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(Vocabulary::built_in);

fuzz_target!(|input: &[u8]| {
    let text = String::from_utf8_lossy(input);
    let mut lines = text.split('\n');
    let title = lines.next().filter(|title| !title.is_empty());
    let values: Vec<&str> = lines.collect();
    let vocabulary: &Vocabulary = &VOCABULARY;

    let options = options(values.iter().copied());
    let reading = read_options(vocabulary, Some(&options), title);
    let turned = self::options(values.iter().rev().copied());
    let read_again = read_options(vocabulary, Some(&turned), title);
    assert_eq!(in_no_order(&reading), in_no_order(&read_again), "whatever the order of the options");

    let retyped = self::options(values.iter().map(|value| fold(value)));
    assert_eq!(options, retyped);
    let read_again = read_options(vocabulary, Some(&retyped), title.map(fold).as_deref());
    assert_eq!(reading, read_again, "however the options are typed");

    let by_values = read_options(vocabulary, Some(&options), None);
    assert_eq!(by_values, read_variant(vocabulary, None, Some(&options)), "of a line as of a variant");
    let of_variant = read_variant(vocabulary, title, Some(&options));

    // The first line may also be the name of an option.
    let named =
        Options::from_pairs([(title.unwrap_or_default(), values.first().copied().unwrap_or_default())]);
    let named = named.expect("one option has one value");
    let of_named = read_options(vocabulary, Some(&named), None);

    let book = book(&options, &named, title);
    let readings = read_book(&book, vocabulary);
    assert_eq!(readings.order_lines, [reading.clone(), of_named.clone(), reading.clone()]);
    assert_eq!(readings.offers, [reading, of_named]);
    assert_eq!(readings.variants, [of_variant]);

    let (offers, variants) = (book.offers.unwrap_or_default(), book.variants.unwrap_or_default());
    let tables =
        Tables { offers: &offers, variants: &variants, listing_products: &[], rules: &[], by_hand: &[] };
    let proposals = propose(vocabulary, &tables);
    assert_eq!(proposals.len(), offers.len(), "each offer has an answer");
    for proposal in &proposals {
        let named: &[usize] = match &proposal.answer {
            Answer::Proposed(variant) => std::slice::from_ref(variant),
            Answer::Choose(candidates) => candidates,
            Answer::Nothing => &[],
        };
        assert!(named.iter().all(|variant| *variant < variants.len()) && !proposal.why.is_empty());
    }
});

/// Under names that say nothing.
fn options<V: Into<String>>(values: impl Iterator<Item = V>) -> Options {
    let pairs = values.enumerate().map(|(index, value)| (format!("q{index:05}"), value));
    Options::from_pairs(pairs).expect("each name stands once")
}

/// The words left over are in the order of the options.
fn in_no_order(reading: &Reading) -> (Reading, BTreeMap<&str, usize>) {
    let mut words = BTreeMap::new();
    for word in &reading.left_over {
        *words.entry(word.as_str()).or_default() += 1;
    }
    (Reading { left_over: Vec::new(), ..reading.clone() }, words)
}

fn book(options: &Options, named: &Options, title: Option<&str>) -> Book {
    let title = title.map(str::to_owned);
    let line = |options: &Options, title: &Option<String>| OrderLine {
        order_id: "1001".into(),
        line_id: "1".into(),
        listing_id: None,
        sku: None,
        title: title.clone(),
        options: Some(options.clone()),
        quantity: 1,
        cancelled_quantity: 0,
        unit_price: None,
        updated_at: None,
    };
    let offer = |options: &Options, title: &Option<String>| Offer {
        listing_id: "L1".into(),
        sku: None,
        title: title.clone(),
        options: options.clone(),
        price: None,
        currency: None,
        buyable: true,
    };
    let variant = Variant {
        supplier: "alder-print".into(),
        variant_id: "1".into(),
        sku: None,
        product: title.clone(),
        options: Some(options.clone()),
        unit_cost: None,
        currency: None,
        available: true,
    };
    Book {
        order_lines: vec![line(options, &title), line(named, &None), line(options, &title)],
        offers: Some(vec![offer(options, &title), offer(named, &None)]),
        variants: Some(vec![variant]),
        ..Book::default()
    }
}
