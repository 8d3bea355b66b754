//! Proposals on corpora of invented shops with the true answer for each offer, written by hand in many habits.
//!
//! Each corpus was measured once before anything was changed for it; DEVELOPERS.md has those figures. What is tested
//! here are floors: how many of the proposed links are right, and how many of the possible ones are proposed.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod cases;
mod corpus;
mod listings;
mod misses;
mod plain;
mod shop;
mod strange;
mod swaps;

use std::collections::BTreeMap;

use corpus::{Corpus, Truth};
use links::{Answer, Vocabulary, propose};
use misses::Misses;

/// What must hold of a corpus, in parts of one.
struct Floor {
    /// Of the links proposed, how many are right.
    right: f64,
    /// Of the links that are possible, how many are proposed, and right.
    proposed: f64,
}

#[expect(clippy::print_stdout, reason = "the figures and the misses, for whoever wants to see them")]
fn check(name: &str, floor: &Floor) {
    let corpus = Corpus::read(name);
    let proposals = propose(&Vocabulary::built_in(), &corpus.tables());
    let (mut right, mut wrong, mut possible, mut guessed) = (0_u32, 0_u32, 0_u32, 0_u32);
    let mut misses = Misses::default();
    let mut counts: BTreeMap<(&str, &str), u32> = BTreeMap::new();
    for ((offer, truth), proposal) in corpus.offers.iter().zip(&corpus.truth).zip(&proposals) {
        let said = match &proposal.answer {
            Answer::Proposed(_) => "proposed",
            Answer::Choose(_) => "choose",
            Answer::Nothing => "none",
        };
        *counts.entry((truth.status(), said)).or_default() += 1;
        let is_right = match (truth, &proposal.answer) {
            (Truth::Variant(right), Answer::Proposed(variant)) => {
                *right == corpus::key(&corpus.variants[*variant])
            }
            (Truth::Choose, Answer::Choose(_)) | (Truth::Nothing, Answer::Nothing) => true,
            _ => false,
        };
        possible += u32::from(matches!(truth, Truth::Variant(_)));
        match (&proposal.answer, is_right) {
            (Answer::Proposed(_), true) => right += 1,
            (Answer::Proposed(_), false) => {
                wrong += 1;
                guessed += u32::from(!matches!(truth, Truth::Variant(_)));
            }
            _ => {}
        }
        let is_due = matches!(truth, Truth::Variant(_)) || said == "proposed";
        if !is_right && is_due {
            let why = proposal.why.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
            let named = match &proposal.answer {
                Answer::Proposed(variant) => corpus.named(*variant),
                Answer::Choose(all) => format!("{} candidates", all.len()),
                Answer::Nothing => "none".to_owned(),
            };
            let example = format!(
                "{} [{}] want {} got {named}: {why}",
                corpus::options_text(offer),
                offer.title.as_deref().unwrap_or_default(),
                corpus.truth_text(truth),
            );
            misses.take(truth.status(), said, &proposal.why, offer.listing_id.as_str(), example);
        }
    }
    let share = |part: u32, whole: u32| if whole == 0 { 1.0 } else { f64::from(part) / f64::from(whole) };
    let (precision, recall) = (share(right, right + wrong), share(right, possible));
    let summary = format!(
        "{name}: {right} of {} proposed are right ({:.3} %), {right} of {possible} possible are proposed ({:.2} %), \
         {guessed} guessed; truth and answer: {counts:?}",
        right + wrong,
        precision * 100.0,
        recall * 100.0,
    );
    println!("{summary}\n{misses}");
    assert!(precision >= floor.right && recall >= floor.proposed, "{summary}\n{misses}");
}

#[test]
fn tidy_and_sloppy_sellers_of_two_countries() {
    check("tuned", &Floor { right: 0.9995, proposed: 0.991 });
}

#[test]
fn sellers_and_suppliers_of_odd_habits() {
    check("odd", &Floor { right: 0.9995, proposed: 0.953 });
}

#[test]
fn european_sellers_big_assortments_and_small_shops() {
    check("wide", &Floor { right: 0.9995, proposed: 0.984 });
}

#[test]
fn ordinary_shops() {
    check("ordinary", &Floor { right: 0.9995, proposed: 0.987 });
}

#[test]
fn sellers_who_copy_and_sellers_who_rename() {
    check("renamed", &Floor { right: 0.9995, proposed: 0.977 });
}

#[test]
fn twenty_five_sellers_of_all_sorts_of_goods() {
    check("assorted", &Floor { right: 0.9995, proposed: 0.896 });
}

#[test]
fn twenty_owners_of_different_character() {
    check("owners", &Floor { right: 0.9995, proposed: 0.97 });
}

#[test]
fn thirty_six_stall_holders_of_four_languages() {
    check("stalls", &Floor { right: 0.9995, proposed: 0.979 });
}

#[test]
fn forty_three_careful_owners_each_with_a_system_of_its_own() {
    check("careful", &Floor { right: 0.999, proposed: 0.956 });
}

#[test]
fn forty_part_time_owners_of_four_languages() {
    check("dabblers", &Floor { right: 0.9995, proposed: 0.927 });
}

#[test]
fn thirty_six_settled_shops_of_four_languages() {
    check("settled", &Floor { right: 0.9995, proposed: 0.899 });
}

#[test]
fn thirty_four_everyday_shops_of_four_languages() {
    check("everyday", &Floor { right: 0.9995, proposed: 0.979 });
}

/// Each offer's answer, by supplier and variant id, sorted.
fn answers(corpus: &Corpus) -> BTreeMap<(String, String), Vec<String>> {
    let proposals = propose(&Vocabulary::built_in(), &corpus.tables());
    let name = |variant: &usize| corpus::key(&corpus.variants[*variant]);
    let offers = corpus.offers.iter().zip(&proposals);
    let answers = offers.map(|(offer, proposal)| {
        let mut answer = match &proposal.answer {
            Answer::Proposed(variant) => vec!["proposed".to_owned(), name(variant)],
            Answer::Choose(all) => all.iter().map(name).chain(["choose".to_owned()]).collect(),
            Answer::Nothing => vec!["none".to_owned()],
        };
        answer.sort();
        ((offer.listing_id.to_string(), corpus::options_text(offer)), answer)
    });
    answers.collect()
}

#[test]
fn the_order_of_the_tables_changes_no_answer() {
    for name in corpus::ALL {
        let mut corpus = Corpus::read(name);
        let as_written = answers(&corpus);
        corpus.offers.reverse();
        corpus.variants.reverse();
        corpus.listing_products.reverse();
        let turned = answers(&corpus);
        let differ: Vec<_> =
            as_written.iter().filter(|(offer, answer)| turned.get(offer) != Some(answer)).collect();
        assert!(differ.is_empty(), "{name}: {} differ, the first: {:?}", differ.len(), differ.first());
    }
}
