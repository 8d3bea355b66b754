//! The owner's words beside those of the vocabulary.

use links::{OwnWords, OwnWordsError, Vocabulary, read_options};
use model::Options;
use model::Reading;
use model::reading::Kind;

fn words(kind: Kind, name: &str, words: &[&str]) -> OwnWords {
    OwnWords { words: words.iter().map(|&word| word.to_owned()).collect(), ..OwnWords::new(kind, name) }
}

fn read(own: &[OwnWords], value: &str) -> Reading {
    let options = Options::from_pairs([("Choose", value)]).expect("one option");
    read_options(&Vocabulary::with(own).expect("a test's own words"), Some(&options), None)
}

fn said(reading: &Reading) -> [Option<&str>; 4] {
    Kind::ALL.map(|kind| reading.of(kind))
}

#[test]
fn a_word_of_the_owners_means_what_a_known_one_means() {
    let own = [
        words(Kind::ProductType, "apron", &["pinny"]),
        words(Kind::AgeGroup, "youth", &["teen"]),
        words(Kind::Size, "L", &["roomy"]),
        words(Kind::Colour, "moss", &["lichen", "forest floor"]),
    ];
    let plain = read(&[], "Teen pinny, roomy, forest floor");
    assert_eq!(said(&plain), [None, None, None, None], "none of them is known without the owner");
    let reading = read(&own, "Teen pinny, roomy, forest floor");
    assert_eq!(said(&reading), [Some("apron"), Some("youth"), Some("L"), Some("moss")]);
    assert_eq!(read(&own, "Two pinnies").product_type.as_deref(), Some("apron"), "plurals are made");
}

#[test]
fn a_new_meaning_is_read_by_its_name_and_its_words() {
    let turning = OwnWords {
        turns: vec!["apron".into()],
        ..words(Kind::ProductType, "pocket apron", &["waist apron"])
    };
    let hued = OwnWords { hue: Some("green".into()), ..words(Kind::Colour, "lagoon", &["deep lagoon"]) };
    let own = [turning, hued, words(Kind::Size, "jumbo", &["whopper"])];
    for (value, want) in [
        ("Pocket apron / lagoon", [Some("pocket apron"), None, None, Some("lagoon")]),
        ("Waist apron, whopper", [Some("pocket apron"), None, Some("jumbo"), None]),
        ("Apron, jumbo, deep lagoon", [Some("apron"), None, Some("jumbo"), Some("lagoon")]),
    ] {
        assert_eq!(said(&read(&own, value)), want, "{value}");
    }
}

#[test]
fn a_word_that_was_open_is_what_the_owner_says() {
    let open = "natural";
    let before = read(&[], open);
    let own = [words(Kind::Colour, "salt", &["salt"])];
    assert_eq!(said(&read(&own, "salt"))[3], Some("salt"));
    assert_eq!(said(&read(&own, open)), said(&before), "other words are read as before");
}

#[test]
fn words_that_cannot_be_taken_say_why() {
    let cannot = |own: OwnWords| Vocabulary::with(&[own]).unwrap_err();
    let twice = cannot(words(Kind::Colour, "sand", &["moss"]));
    let OwnWordsError::TwoMeanings { phrase, first, second } = twice else { panic!("{twice:?}") };
    assert_eq!(
        (phrase.as_str(), first.as_str(), second.as_str()),
        ("moss", "the colour \"moss\"", "the colour \"sand\"")
    );
    assert_eq!(cannot(words(Kind::Size, "L", &["--"])), OwnWordsError::NoWord("--".into()));
    let teen = cannot(words(Kind::AgeGroup, "teen", &["teens"])).to_string();
    assert_eq!(teen, "there is no age group \"teen\"; there are: adult, baby, toddler, youth");
    let hue = cannot(OwnWords { hue: Some("teal".into()), ..words(Kind::Colour, "lagoon", &[]) }).to_string();
    assert!(hue.starts_with("there is no hue \"teal\"; there are: beige, black, blue"), "{hue}");
    let turns =
        cannot(OwnWords { turns: vec!["bonnet".into()], ..words(Kind::ProductType, "cap", &[]) }).to_string();
    assert!(turns.starts_with("there is no product type \"bonnet\"; there are: "), "{turns}");
}

#[test]
fn known_words_for_a_known_meaning_change_nothing() {
    let same = [
        words(Kind::Size, "L", &["large"]),
        words(Kind::Colour, "navy", &[]),
        words(Kind::ProductType, "apron", &["apron"]),
    ];
    for value in ["Large apron, navy", "navy blue", "apron L"] {
        assert_eq!(said(&read(&same, value)), said(&read(&[], value)), "{value}");
    }
}
