//! Offers on which a wrong proposal is near at hand, and the owner's answers.

use links::{Answer, ByHand, Tables, Vocabulary, Why, propose};
use model::book::{ListingProduct, Offer, Variant};
use model::{Good, GoodRule, Options, OrderId};

/// A variant as `product`, and its options.
pub type Made<'a> = (&'a str, &'a [(&'a str, &'a str)]);

pub fn variants(made: &[Made<'_>]) -> Vec<Variant> {
    let numbered = made.iter().enumerate();
    numbered
        .map(|(index, (product, options))| Variant {
            supplier: "alder-print".into(),
            variant_id: format!("V{index}").as_str().into(),
            sku: None,
            product: Some((*product).to_owned()),
            options: Options::from_pairs(options.iter().copied()).ok(),
            unit_cost: None,
            currency: None,
            available: true,
        })
        .collect()
}

pub fn offers(title: &str, all: &[&[(&str, &str)]]) -> Vec<Offer> {
    let offer = |options: &&[(&str, &str)]| Offer {
        listing_id: "L1".into(),
        sku: None,
        title: Some(title.to_owned()),
        options: Options::from_pairs(options.iter().copied()).unwrap(),
        price: None,
        currency: None,
        buyable: true,
    };
    all.iter().map(offer).collect()
}

fn answer(title: &str, options: &[(&str, &str)], made: &[Made<'_>]) -> (Answer, Vec<Why>) {
    let (offers, variants) = (offers(title, &[options]), variants(made));
    let tables =
        Tables { offers: &offers, variants: &variants, listing_products: &[], rules: &[], by_hand: &[] };
    let proposal = propose(&Vocabulary::built_in(), &tables).remove(0);
    (proposal.answer, proposal.why)
}

fn check_not_proposed(title: &str, options: &[(&str, &str)], made: &[Made<'_>]) {
    let (answer, why) = answer(title, options, made);
    assert!(!matches!(answer, Answer::Proposed(_)), "{options:?}: {answer:?} {why:?}");
}

fn check_proposed(title: &str, options: &[(&str, &str)], made: &[Made<'_>], want: usize) {
    let (answer, why) = answer(title, options, made);
    assert_eq!(answer, Answer::Proposed(want), "{options:?}: {why:?}");
}

const TEES: &[Made<'static>] = &[
    ("Classic T-shirt", &[("size", "M"), ("color", "black")]),
    ("Classic T-shirt", &[("size", "M"), ("color", "blue")]),
    ("Classic T-shirt", &[("size", "M"), ("color", "tangerine")]),
    ("Classic T-shirt", &[("size", "M"), ("color", "periwinkle")]),
    ("Classic T-shirt", &[("size", "M"), ("color", "goldenrod")]),
    ("Crewneck sweatshirt", &[("size", "M"), ("color", "black")]),
];

#[test]
fn a_colour_that_is_known_is_no_short_form_of_another() {
    for colour in ["Tan", "Pink", "Gold", "Rosa"] {
        check_not_proposed("Fox T-shirt", &[("Size", "M"), ("Colour", colour)], TEES);
    }
    check_proposed("Fox T-shirt", &[("Size", "M"), ("Colour", "Blk")], TEES, 0);
}

#[test]
fn a_word_beside_a_colour_may_make_it_another() {
    for colour in ["Black marble", "Blue plaid", "blue tie dye"] {
        check_not_proposed("Fox T-shirt", &[("Size", "M"), ("Colour", colour)], TEES);
    }
}

#[test]
fn a_neckline_or_a_material_is_no_good_where_the_title_names_one() {
    check_proposed("Fox T-shirt", &[("Neckline", "Crew neck"), ("Size", "M"), ("Colour", "black")], TEES, 0);
    let bags: &[Made<'_>] = &[("Tote bag", &[]), ("Stretched canvas", &[])];
    check_proposed("Fox tote bag", &[("Material", "Canvas")], bags, 0);
}

#[test]
fn a_general_name_with_a_word_before_it_is_another_good() {
    let made: &[Made<'_>] = &[("Phone case", &[]), ("Mug", &[]), ("Tote bag", &[])];
    for good in ["Laptop case", "Egg cup", "Sleeping bag", "Kulturbeutel"] {
        check_not_proposed("Fox things", &[("Item", good)], made);
    }
    check_proposed("Fox things", &[("Item", "Phone case")], made, 0);
}

#[test]
fn that_a_product_comes_in_one_colour_is_no_name_of_it() {
    let made: &[Made<'_>] = &[
        ("T-shirt", &[("size", "L"), ("color", "rust")]),
        ("T-shirt", &[("size", "L"), ("color", "moss")]),
        ("T-shirt, old cut", &[("size", "L"), ("color", "rust")]),
    ];
    check_not_proposed("Fern T-shirt", &[("Size", "L"), ("Colour", "rust")], made);
    check_proposed("Fern T-shirt", &[("Size", "L"), ("Colour", "rust"), ("Cut", "old cut")], made, 2);
}

#[test]
fn several_pieces_are_not_taken_for_one() {
    let mugs: &[Made<'_>] = &[("Mug", &[("size", "11 oz")])];
    for pieces in ["Set of 4", "Pack of 5", "4er Set", "2 Stück", "Pair"] {
        check_not_proposed("Fox mug", &[("Size", "11 oz"), ("Quantity", pieces)], mugs);
    }
    check_proposed("Fox mug", &[("Size", "11 oz"), ("Quantity", "Single")], mugs, 0);
    let coasters: &[Made<'_>] = &[("Coasters, set of 4", &[])];
    check_proposed("Fox coasters", &[("Quantity", "Set of 4")], coasters, 0);
}

#[test]
fn for_whom_it_is_must_not_contradict() {
    check_not_proposed("Fox T-shirt", &[("Size", "Youth M"), ("Colour", "black")], TEES);
    let mens: &[Made<'_>] = &[("Mens T-shirt", &[("size", "M")])];
    check_not_proposed("Fox T-shirt", &[("Fit", "Women"), ("Size", "M")], mens);
    check_proposed("Fox T-shirt", &[("Fit", "Men"), ("Size", "M")], mens, 0);
}

#[test]
fn a_british_size_is_no_american_one() {
    let slippers: &[Made<'_>] = &[("Slippers", &[("size", "US 10")]), ("Slippers", &[("size", "US 9")])];
    check_not_proposed("Fox slippers", &[("Size", "UK 10")], slippers);
}

#[test]
fn a_size_with_a_word_before_it_is_another() {
    let tees: &[Made<'_>] = &[("T-shirt", &[("size", "L")]), ("T-shirt", &[("size", "XL")])];
    check_not_proposed("Fox T-shirt", &[("Size", "super large")], tees);
    check_proposed("Fox T-shirt", &[("Size", "xtra large")], tees, 1);
}

const MUGS: &[Made<'static>] = &[("Mug, low", &[]), ("Mug, tall", &[])];

fn good(words: &[&str]) -> Good {
    Good {
        product_type: Some("mug".to_owned()),
        age_group: None,
        words: words.iter().map(|word| (*word).to_owned()).collect(),
    }
}

#[test]
fn what_the_owner_has_answered_serves_the_next_listing() {
    let (offers, variants) =
        (offers("Fern mugs", &[&[("Mug", "Mug A")], &[("Mug", "Mug B")]]), variants(MUGS));
    let mut tables =
        Tables { offers: &offers, variants: &variants, listing_products: &[], rules: &[], by_hand: &[] };
    let asked = propose(&Vocabulary::built_in(), &tables);
    assert_eq!(asked[0].answer, Answer::Choose(vec![0, 1]));
    assert_eq!((&asked[0].good, &asked[1].good), (&good(&["a"]), &good(&["b"])));
    let rule = |words: &[&str], product: &str| GoodRule {
        good: good(words),
        supplier: "alder-print".into(),
        product: product.to_owned(),
    };
    let rules = [rule(&["a"], "Mug, tall"), rule(&["b"], "Mug, low")];
    tables.rules = &rules;
    let answered = propose(&Vocabulary::built_in(), &tables);
    assert_eq!(answered[0].answer, Answer::Proposed(1));
    assert_eq!(answered[1].answer, Answer::Proposed(0));
    assert!(answered[0].why.contains(&Why::ByRule("Mug, tall".to_owned())));

    // A later listing that sells one of them alone is told by what stands beside the good's name; another one is not.
    let one = |mug: &str, rules: &[GoodRule]| {
        let offers = self::offers("Moss mugs", &[&[("Mug", mug)]]);
        let tables =
            Tables { offers: &offers, variants: &variants, listing_products: &[], rules, by_hand: &[] };
        propose(&Vocabulary::built_in(), &tables).remove(0)
    };
    let alone = one("Mug A", &rules);
    assert_eq!((&alone.answer, &alone.good), (&Answer::Proposed(1), &good(&["a"])));
    assert_eq!(one("Mug A", &[]).good, good(&["a"]), "an answer there names the good as well");
    for other in ["Mug", "Mug C"] {
        assert_eq!(one(other, &rules).answer, Answer::Choose(vec![0, 1]), "{other}");
    }
    // The rule with more words counts; of two that say as much, none does.
    let every = rule(&[], "Mug, low");
    assert_eq!(one("Mug A", &[every.clone(), rules[0].clone()]).answer, Answer::Proposed(1));
    assert_eq!(one("Mug C", &[every.clone(), rules[0].clone()]).answer, Answer::Proposed(0));
    assert_eq!(one("Low mug", &[rule(&[], "Mug, tall")]).answer, Answer::Proposed(0), "a word tells it");
    let two = [rule(&["a"], "Mug, tall"), rule(&["b"], "Mug, low")];
    assert_eq!(one("Mug A B", &two).answer, Answer::Choose(vec![0, 1]));
}

#[test]
fn what_was_done_by_hand_counts_where_it_was_one_thing_and_contradicts_nothing() {
    let by_hand = |variant| ByHand { offer: 0, variant, order_id: OrderId::new("O1") };
    let check = |mug: &str, by_hand: &[ByHand], want: Answer, why: Why| {
        let (offers, variants) = (offers("Fern mugs", &[&[("Mug", mug)]]), variants(MUGS));
        let tables =
            Tables { offers: &offers, variants: &variants, listing_products: &[], rules: &[], by_hand };
        let proposals = propose(&Vocabulary::built_in(), &tables);
        assert_eq!((&proposals[0].answer, &proposals[0].why[0]), (&want, &why));
    };
    check("Mug A", &[by_hand(1)], Answer::Proposed(1), Why::ByHand("O1".to_owned()));
    check("Mug A", &[by_hand(1), by_hand(0)], Answer::Choose(vec![0, 1]), Why::SeveralByHand);
    check("Low mug", &[by_hand(1)], Answer::Choose(vec![0, 1]), Why::OtherByHand("O1".to_owned()));
}

#[test]
fn of_products_whose_names_differ_by_a_colour_alone_only_the_picked_one_counts() {
    let made: &[Made<'_>] = &[
        ("Washed cushion", &[("size", "20x30 cm"), ("color", "teal")]),
        ("Vintage cushion", &[("size", "20x30 cm"), ("color", "teal")]),
    ];
    let (offers, variants) =
        (offers("Owl pillow", &[&[("Colour", "Teal"), ("Size", "20x30 cm")]]), variants(made));
    let picks = [ListingProduct {
        listing_id: "L1".into(),
        supplier: "alder-print".into(),
        product: "Washed cushion".to_owned(),
    }];
    let tables =
        Tables { offers: &offers, variants: &variants, listing_products: &picks, rules: &[], by_hand: &[] };
    assert_eq!(propose(&Vocabulary::built_in(), &tables).remove(0).answer, Answer::Proposed(0));
}

#[test]
fn a_product_that_was_picked_and_is_in_no_table_is_named() {
    let (offers, variants) = (offers("Fern mugs", &[&[("Mug", "Low mug")]]), variants(MUGS));
    let picks = [ListingProduct {
        listing_id: "L1".into(),
        supplier: "alder-print".into(),
        product: "Mugg, low".to_owned(),
    }];
    let tables =
        Tables { offers: &offers, variants: &variants, listing_products: &picks, rules: &[], by_hand: &[] };
    let proposal = propose(&Vocabulary::built_in(), &tables).remove(0);
    assert_eq!(proposal.answer, Answer::Choose(Vec::new()));
    assert_eq!(proposal.why, [Why::UnknownPick("Mugg, low".to_owned())]);
}

#[test]
fn long_values_and_names_cost_little_and_many_candidates_are_cut() {
    let long = "kiln pot wheel ".repeat(8_000);
    let made: Vec<Made<'_>> = vec![("T-shirt", &[]); 1];
    check_not_proposed("Fox", &[("Note", long.as_str())], &made);
    let digits = "7".repeat(100_000);
    check_not_proposed("Fox", &[("Note", digits.as_str())], &made);
    let names: Vec<String> = (0..80).map(|number| format!("Fox tee style{number}x")).collect();
    let made: Vec<Made<'_>> = names.iter().map(|name| (name.as_str(), &[][..])).collect();
    let (answer, why) = answer("Fox", &[("Item", "Tee")], &made);
    let Answer::Choose(candidates) = answer else { panic!("{answer:?}") };
    assert_eq!((candidates.len(), why.last()), (50, Some(&Why::More(30))));
}

#[test]
fn a_childs_size_is_no_smaller_childs_because_its_letter_is_a_months() {
    let made: &[Made<'_>] = &[("Toddler T-shirt", &[("size", "M")])];
    check_not_proposed("Fox T-shirt", &[("Size", "Baby M")], made);
    check_proposed("Fox T-shirt", &[("Size", "Toddler M")], made, 0);
}

#[test]
fn a_word_before_a_size_counts_beside_one_size() {
    let made: &[Made<'_>] = &[("T-shirt", &[("size", "L")]), ("T-shirt", &[("size", "XL")])];
    check_not_proposed("Fox T-shirt", &[("Size", "super large"), ("Print", "One size")], made);
    check_not_proposed("Fox T-shirt", &[("Size", "super large"), ("Pocket", "One size")], made);
}
