//! What a good is whose listing says no more than its name, and what its title says beside that.

use links::{Answer, Tables, Vocabulary, propose};

use crate::cases::{Made, offers, variants};

/// Checks the variant that is proposed for each offer of a listing without picked products; `None` where none may be.
fn check(title: &str, all: &[&[(&str, &str)]], made: &[Made<'_>], want: &[Option<usize>]) {
    let (offers, variants) = (offers(title, all), variants(made));
    let tables =
        Tables { offers: &offers, variants: &variants, listing_products: &[], rules: &[], by_hand: &[] };
    let proposals = propose(&Vocabulary::built_in(), &tables);
    let got: Vec<Option<usize>> = proposals
        .iter()
        .map(|proposal| if let Answer::Proposed(variant) = proposal.answer { Some(variant) } else { None })
        .collect();
    assert_eq!(got, want, "{title}: {proposals:?}");
}

const M: &[(&str, &str)] = &[("Size", "M")];

#[test]
fn a_name_alone_is_the_plain_product() {
    let hoodies: &[Made<'_>] = &[("Pullover Hoodie", M), ("Zip Hoodie", M)];
    check("Fox Hoodie", &[M], hoodies, &[Some(0)]);
    check("Fox Zip Hoodie", &[M], hoodies, &[Some(1)]);
    let prints: &[Made<'_>] = &[("Art Print", &[("Size", "A4")]), ("Framed Art Print", &[("Size", "A4")])];
    check("Fox Print", &[&[("Size", "A4")]], prints, &[Some(0)]);
    check("Fox print, framed", &[&[("Size", "A4")]], prints, &[Some(1)]);
    let cushions: &[Made<'_>] = &[("Cushion Cover", &[]), ("Cushion with Filling", &[])];
    check("Fox cushion", &[&[]], cushions, &[None]);
}

#[test]
fn a_title_says_for_whom_its_good_is() {
    let tees: &[Made<'_>] = &[("Unisex Tee", M), ("Women's Fitted Tee", M)];
    check("Fox unisex T-shirt", &[M], tees, &[Some(0)]);
    check("Fox T-shirt", &[M], tees, &[None]);
    check("Fox T-shirt, unisex or women", &[M], tees, &[None]);
}

#[test]
fn a_name_of_two_goods_is_asked() {
    let tops: &[Made<'_>] = &[("Crew Neck Sweatshirt", M), ("Hooded Sweatshirt", M)];
    check("Sudadera zorro", &[&[("Talla", "M")]], tops, &[None]);
    check("Sudadera cuello redondo zorro", &[&[("Talla", "M")]], tops, &[Some(0)]);
    check("Sudadera zorro", &[&[("Talla", "M")]], &tops[..1], &[Some(0)]);
}

#[test]
fn a_blue_may_be_the_navy_that_no_offer_says() {
    let tees: &[Made<'_>] =
        &[("Tee", &[("Colour", "Navy"), ("Size", "M")]), ("Tee", &[("Colour", "Royal Blue"), ("Size", "M")])];
    let blue: &[(&str, &str)] = &[("Colour", "Blue"), ("Size", "M")];
    let navy: &[(&str, &str)] = &[("Colour", "Navy"), ("Size", "M")];
    check("Fox tee", &[blue], tees, &[None]);
    check("Fox tee", &[blue, navy], tees, &[Some(1), Some(0)]);
}

#[test]
fn a_set_in_the_title_is_no_single_piece() {
    let mugs: &[Made<'_>] = &[("Mug", &[("Size", "15 oz")])];
    check("Fox mugs - set of two", &[&[("Size", "15oz")]], mugs, &[None]);
    check("Fox mugs", &[&[("Size", "15oz")]], mugs, &[Some(0)]);
}

#[test]
fn a_title_says_the_finish_that_no_option_says() {
    let cases: &[Made<'_>] = &[
        ("Tough Phone Case", &[("Model", "Tallo 4"), ("Finish", "Glossy")]),
        ("Tough Phone Case", &[("Model", "Tallo 4"), ("Finish", "Matte")]),
        ("Tough Phone Case", &[("Model", "Tallo 4 Pro Max"), ("Finish", "Glossy")]),
        ("Tough Phone Case", &[("Model", "Tallo 4 Pro Max"), ("Finish", "Matte")]),
    ];
    let offers: &[&[(&str, &str)]] = &[&[("Device", "Tallo 4")], &[("Device", "Tallo 4 ProMax")]];
    check("Fox tough phone case - matte", offers, cases, &[Some(1), Some(3)]);
    check("Fox tough phone case, matte or glossy", offers, cases, &[None, None]);
    check("Set of 2 fox tough phone cases - matte", offers, cases, &[None, None]);
}

#[test]
fn a_slip_in_the_title_is_mended_where_nothing_says_what_it_is() {
    let hoodies: &[Made<'_>] = &[("Pullover Hoodie", M)];
    check("Goose hoddie", &[M], hoodies, &[Some(0)]);
}

#[test]
fn an_age_is_within_years_that_stand_beside_a_letter() {
    let tees: &[Made<'_>] =
        &[("Kids Tee", &[("Size", "XS (3-4 yrs)")]), ("Kids Tee", &[("Size", "S (5-6 yrs)")])];
    check("Fox T-shirt for kids", &[&[("Age", "Age 4")], &[("Age", "Age 6")]], tees, &[Some(0), Some(1)]);
}
