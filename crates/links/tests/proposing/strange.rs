//! Offers in which some words are ones that nobody knows: what is not understood is asked, and not passed over.
//!
//! Each corpus is read with a part of the words of its offers written as others that no list has, the same word the same way
//! throughout; what is true of the offers stays. Must not know how proposals are made. Start reading at [`made_strange`].

use links::{Answer, Vocabulary, propose};
use model::Options;

use crate::corpus::{self, Corpus, Truth};

/// Of a hundred words, how many are replaced.
const REPLACED_OF_100: u64 = 8;

/// How often each corpus is read, with other words replaced.
const ROUNDS: u64 = 3;

/// Shorter words stay.
const LETTERS_AT_LEAST: usize = 3;

/// A number that a word has in a round: the hash of Fowler, Noll and Vo (FNV-1a, from memory), with the round before the word.
fn number(round: u64, word: &str) -> u64 {
    let bytes = round.to_le_bytes().into_iter().chain(word.bytes());
    let hash = bytes.fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    hash ^ (hash >> 32)
}

/// A word that no list has, made of a number.
fn strange_word(mut number: u64) -> String {
    const SOUNDS: [[char; 5]; 2] = [['b', 'd', 'k', 'p', 'v'], ['a', 'e', 'i', 'o', 'u']];
    let mut word = String::new();
    for place in 0..8 {
        let sounds = SOUNDS[place % 2];
        word.push(sounds[usize::try_from(number % 5).unwrap()]);
        number /= 5;
    }
    word + "x"
}

fn made_strange(round: u64, text: &str) -> String {
    let written = |word: &str| {
        let lower = word.to_lowercase();
        let is_long = word.chars().count() >= LETTERS_AT_LEAST && word.chars().all(char::is_alphabetic);
        let number = number(round, &lower);
        let is_replaced = is_long && number % 100 < REPLACED_OF_100;
        if is_replaced { strange_word(number / 100) } else { word.to_owned() }
    };
    let mut strange = String::new();
    for part in text.split_inclusive(|sign: char| !sign.is_alphanumeric()) {
        let word = part.trim_end_matches(|sign: char| !sign.is_alphanumeric());
        strange.push_str(&written(word));
        strange.push_str(&part[word.len()..]);
    }
    strange
}

/// How many links are proposed, right and wrong.
fn count(name: &str, round: u64) -> (u32, u32) {
    let mut corpus = Corpus::read(name);
    for offer in &mut corpus.offers {
        offer.title = offer.title.as_deref().map(|title| made_strange(round, title));
        let pairs = offer.options.iter();
        let pairs = pairs.map(|(name, value)| (name.to_owned(), made_strange(round, value)));
        offer.options = Options::from_pairs(pairs).unwrap();
    }
    let proposals = propose(&Vocabulary::built_in(), &corpus.tables());
    let (mut right, mut wrong) = (0, 0);
    for (truth, proposal) in corpus.truth.iter().zip(&proposals) {
        let Answer::Proposed(variant) = proposal.answer else { continue };
        let is_right =
            matches!(truth, Truth::Variant(right) if *right == corpus::key(&corpus.variants[variant]));
        if is_right { right += 1 } else { wrong += 1 }
    }
    (right, wrong)
}

#[test]
#[expect(clippy::print_stdout, reason = "the figures, for whoever wants to see them")]
fn what_is_not_understood_leads_to_few_wrong_proposals() {
    let rounds = (1..=ROUNDS).flat_map(|round| corpus::ALL.into_iter().map(move |name| (name, round)));
    let (right, wrong) = rounds.fold((0, 0), |(all_right, all_wrong), (name, round)| {
        let (right, wrong) = count(name, round);
        (all_right + right, all_wrong + wrong)
    });
    let share = f64::from(right) / f64::from(right + wrong);
    let summary = format!("{right} right, {wrong} wrong: {:.3} %", share * 100.0);
    println!("{summary}");
    assert!(share >= 0.999, "{summary}");
}
