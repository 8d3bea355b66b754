//! What holding offers against their links sees of right links and of planted swaps: `link-mismatch` rests on it.

use std::collections::{BTreeMap, HashMap};

use links::{Vocabulary, hold, read_variant};
use model::Reading;
use model::book::Variant;

use crate::corpus::{self, Corpus, Truth, key};

/// How many of each failure are shown.
const SHOWN_AT_MOST: usize = 10;

/// In how many rounds the swaps are planted.
const ROUNDS: usize = 7;

/// Counts of one corpus: right links, those contradicted though right, swaps planted, swaps seen.
#[derive(Default)]
struct Counts {
    right: u32,
    contradicted: u32,
    planted: u32,
    seen: u32,
}

/// The counts, and what went wrong in words.
fn count(name: &str) -> (Counts, Vec<String>) {
    let vocabulary = Vocabulary::built_in();
    let corpus = Corpus::read(name);
    let places: HashMap<String, usize> =
        corpus.variants.iter().enumerate().map(|(place, variant)| (key(variant), place)).collect();
    let readings: Vec<Reading> = corpus
        .variants
        .iter()
        .map(|variant| read_variant(&vocabulary, variant.product.as_deref(), variant.options.as_ref()))
        .collect();
    let right: Vec<(usize, usize)> = corpus
        .truth
        .iter()
        .enumerate()
        .filter_map(|(offer, truth)| match truth {
            Truth::Variant(right) => Some((offer, places[right])),
            _ => None,
        })
        .collect();
    let mut by_listing: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (offer, right) in &right {
        by_listing.entry(corpus.offers[*offer].listing_id.as_str()).or_default().push(*right);
    }
    let is_other = |right: usize, other: usize| readings[right].contradicts(&readings[other]);
    let product = |place: usize| (&corpus.variants[place].supplier, &corpus.variants[place].product);
    let of_type = |place: usize| readings[place].product_type.as_deref();
    // Another variant of the same product, a different one for each offer; and one of another type of product that the
    // listing sells. Two variants of which the same is read cannot be told apart by anybody.
    let of_product = |offer: usize, right: usize| -> Option<usize> {
        let all: Vec<usize> = (0..corpus.variants.len())
            .filter(|other| *other != right && product(*other) == product(right))
            .collect();
        all.get(offer % all.len().max(1)).copied().filter(|other| is_other(right, *other))
    };
    let of_listing = |offer: usize, right: usize| -> Option<usize> {
        let is_of_other_type =
            |other: &&usize| of_type(**other).zip(of_type(right)).is_some_and(|(one, other)| one != other);
        let all = &by_listing[corpus.offers[offer].listing_id.as_str()];
        let all: Vec<usize> = all.iter().filter(is_of_other_type).copied().collect();
        all.get(offer % all.len().max(1)).copied()
    };
    let swaps: Vec<(Option<usize>, Option<usize>)> =
        right.iter().map(|(offer, right)| (of_product(*offer, *right), of_listing(*offer, *right))).collect();
    let held = |linked: &[(usize, usize)]| hold(&vocabulary, &corpus.offers, &corpus.variants, linked);
    let mut counts = Counts { right: u32::try_from(right.len()).unwrap(), ..Counts::default() };
    let (mut of_right, mut unseen) = (BTreeMap::new(), Vec::new());
    let mut hold_them = |is_planted: &dyn Fn(usize) -> Option<usize>| {
        let linked: Vec<(usize, usize)> = right
            .iter()
            .enumerate()
            .map(|(place, (offer, right))| (*offer, is_planted(place).unwrap_or(*right)))
            .collect();
        for (place, differs) in held(&linked).into_iter().enumerate() {
            match (is_planted(place), differs.is_empty()) {
                (None, true) => {}
                (None, false) => drop(of_right.insert(right[place], differs)),
                (Some(_), is_unseen) => {
                    counts.planted += 1;
                    counts.seen += u32::from(!is_unseen);
                    unseen.extend(is_unseen.then_some(linked[place]));
                }
            }
        }
    };
    hold_them(&|_| None);
    // A few swaps at a time, as they happen.
    for round in 0..ROUNDS {
        let is_planted = |place: usize| place % ROUNDS == round;
        hold_them(&|place| swaps[place].0.filter(|_| is_planted(place)));
        hold_them(&|place| swaps[place].1.filter(|_| is_planted(place)));
    }
    counts.contradicted = u32::try_from(of_right.len()).unwrap();
    let named = |variant: &Variant| format!("{} {:?} {:?}", key(variant), variant.product, variant.options);
    let say = |what: &str, offer: usize, variant: usize| {
        let offer = &corpus.offers[offer];
        let variant = named(&corpus.variants[variant]);
        format!("{what}: {} {:?} {:?} -> {variant}", offer.listing_id, offer.title, offer.options)
    };
    let contradicted = of_right.iter().map(|((offer, variant), differs): (&(usize, usize), _)| {
        say(&format!("contradicted {differs:?}"), *offer, *variant)
    });
    let not_seen = unseen.iter().map(|(offer, variant)| say("not seen", *offer, *variant));
    let words = contradicted.take(SHOWN_AT_MOST).chain(not_seen.take(SHOWN_AT_MOST)).collect();
    (counts, words)
}

/// The aim is 99 % of the swaps seen and no right link contradicted; these are floors just under what is reached.
#[test]
#[expect(clippy::print_stdout, reason = "the figures, for whoever wants to see them")]
fn swaps_are_seen_and_right_links_are_not_contradicted() {
    let counted: Vec<(Counts, Vec<String>)> = corpus::ALL.into_iter().map(count).collect();
    let (planted, seen) = counted
        .iter()
        .fold((0, 0), |(planted, seen), (counts, _)| (planted + counts.planted, seen + counts.seen));
    let is_well = |name: &str, counts: &Counts| {
        let contradicted = match name {
            // Of one listing: a 'bag' that is a drawstring bag.
            "careful" => 2,
            // As they were counted first; nothing was changed for them.
            "dabblers" => 19,
            "settled" => 28,
            // Of one listing: the 'tee' of a baby that is a bodysuit.
            "everyday" => 6,
            _ => 0,
        };
        counts.contradicted <= contradicted && f64::from(counts.seen) >= 0.955 * f64::from(counts.planted)
    };
    for (name, (counts, _)) in corpus::ALL.iter().zip(&counted) {
        let Counts { right, contradicted, planted, seen } = counts;
        println!(
            "{name}: of {right} right links {contradicted} contradicted, of {planted} swaps {seen} seen"
        );
    }
    let failed: Vec<String> = corpus::ALL
        .iter()
        .zip(&counted)
        .filter(|(name, (counts, _))| !is_well(name, counts))
        .map(|(name, (counts, words))| {
            let Counts { right, contradicted, planted, seen } = counts;
            let counts =
                format!("of {right} right links {contradicted} contradicted, of {planted} swaps {seen} seen");
            format!("{name}: {counts}\n{}", words.join("\n"))
        })
        .collect();
    assert!(failed.is_empty(), "{}", failed.join("\n"));
    assert!(f64::from(seen) >= 0.988 * f64::from(planted), "of {planted} swaps {seen} are seen");
}
