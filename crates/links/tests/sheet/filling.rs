//! Which rows a table has, what they say, and why some are off.

use links::Vocabulary;
use links::sheet::{
    Cannot, Margin, NoPrice, Off, OnePriceFor, Pick, ROWS_AT_MOST, Sheet, Wanted, Wording, fill_in,
};
use model::Sku;
use model::book::Variant;
use model::rules::Fees;

use crate::kit::{decimal, eur, pick, product, read_again, shown, variant, wanted};

/// Fills in a table of all of the variants' products, with changes to what is wanted.
fn filled(variants: &[Variant], change: impl FnOnce(&mut Wanted<'_>)) -> Result<Sheet, Cannot> {
    let (fees, wording) = (Fees::default(), Wording::default());
    let mut products: Vec<&str> = Vec::new();
    for variant in variants {
        let product = variant.product.as_deref().unwrap();
        if !products.contains(&product) {
            products.push(product);
        }
    }
    let mut wanted = wanted(&products, &fees, &wording);
    change(&mut wanted);
    fill_in(&Vocabulary::built_in(), variants, &[], &wanted)
}

fn check(variants: &[Variant], change: impl FnOnce(&mut Wanted<'_>), expected: &[&str]) {
    assert_eq!(shown(&filled(variants, change).unwrap()), expected);
}

fn as_is(_: &mut Wanted<'_>) {}

#[test]
fn one_good_has_an_option_for_each_of_what_there_is_to_choose() {
    let apron = product("A", "Kitchen apron", &["L", "S"], &["navy", "moss"], "12.00");
    check(
        &apron,
        as_is,
        &[
            "Colour: Moss, Size: S | S-A-S-moss | 20 | ",
            "Colour: Navy, Size: S | S-A-S-navy | 20 | ",
            "Colour: Moss, Size: L | S-A-L-moss | 20 | ",
            "Colour: Navy, Size: L | S-A-L-navy | 20 | ",
        ],
    );
    let of_one_colour = product("A", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    check(&of_one_colour, as_is, &["Size: S | S-A-S-moss | 20 | ", "Size: L | S-A-L-moss | 20 | "]);
    let of_one_size = product("B", "Tote bag", &[], &["moss", "clay"], "6.00");
    check(&of_one_size, as_is, &["Colour: Clay | S-B--clay | 10 | ", "Colour: Moss | S-B--moss | 10 | "]);
    let of_one = product("P", "Poster", &[], &[], "6.00");
    check(&of_one, as_is, &[" | S-P-- | 10 | "]);
}

#[test]
fn several_goods_share_one_option_with_their_sizes() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    variants.extend(product("B", "Tote bag", &[], &["moss", "clay"], "6.00"));
    variants.extend(product("P", "Poster", &["A4", "A3"], &[], "3.00"));
    check(
        &variants,
        |wanted| wanted.margin = Some(Margin::PerUnit(decimal("3"))),
        &[
            "Colour: Clay, Item: Small apron |  | 15 | Apron is not made in Clay",
            "Colour: Moss, Item: Small apron | S-A-S-moss | 15 | ",
            "Colour: One colour, Item: Small apron |  | 15 | Apron is not made in One colour",
            "Colour: Clay, Item: Large apron |  | 15 | Apron is not made in Clay",
            "Colour: Moss, Item: Large apron | S-A-L-moss | 15 | ",
            "Colour: One colour, Item: Large apron |  | 15 | Apron is not made in One colour",
            "Colour: Clay, Item: Tote bag | S-B--clay | 9 | ",
            "Colour: Moss, Item: Tote bag | S-B--moss | 9 | ",
            "Colour: One colour, Item: Tote bag |  | 9 | Tote bag is not made in One colour",
            "Colour: Clay, Item: A4 poster |  | 6 | Poster is not made in Clay",
            "Colour: Moss, Item: A4 poster |  | 6 | Poster is not made in Moss",
            "Colour: One colour, Item: A4 poster | S-P-A4- | 6 | ",
            "Colour: Clay, Item: A3 poster |  | 6 | Poster is not made in Clay",
            "Colour: Moss, Item: A3 poster |  | 6 | Poster is not made in Moss",
            "Colour: One colour, Item: A3 poster | S-P-A3- | 6 | ",
        ],
    );
    let mut without_colours = product("P", "Poster", &["A4"], &[], "3.00");
    without_colours.extend(product("B", "Tote bag", &[], &["moss"], "6.00"));
    check(&without_colours, as_is, &["Item: Poster | S-P-A4- | 5 | ", "Item: Tote bag | S-B--moss | 10 | "]);
}

#[test]
fn each_reason_to_be_off_is_said() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss", "navy", "plum", "rust"], "12.00");
    variants.retain(|variant| variant.variant_id.as_str() != "A-L-rust");
    variants[0].available = false;
    variants[1].unit_cost = None;
    variants[2].currency = "USD".parse().ok();
    variants[3].currency = None;
    check(
        &variants,
        |wanted| wanted.currency = Some(eur()),
        &[
            "Colour: Moss, Size: S | S-A-S-moss | 20 | alder-print cannot make it now",
            "Colour: Navy, Size: S | S-A-S-navy | 20 | what it costs is not known",
            "Colour: Plum, Size: S | S-A-S-plum | 20 | it costs 12.00\u{a0}USD, and prices are in EUR",
            "Colour: Rust, Size: S | S-A-S-rust | 20 | it costs 12.00, and the currency of that is not known",
            "Colour: Moss, Size: L | S-A-L-moss | 20 | ",
            "Colour: Navy, Size: L | S-A-L-navy | 20 | ",
            "Colour: Plum, Size: L | S-A-L-plum | 20 | ",
            "Colour: Rust, Size: L |  | 20 | Kitchen apron is not made in Rust in this size (L)",
        ]
        .map(|row| row.replace("Kitchen apron is", "Apron is"))
        .each_ref()
        .map(String::as_str),
    );
    let at_a_price = filled(&variants[4..], |wanted| wanted.price = Some(decimal("19.99"))).unwrap();
    let left = at_a_price.rows[0].off.clone().unwrap();
    assert_eq!(left.to_string(), "at this price 7.99\u{a0}EUR is left, less than 40 % of the price");
    let no_loss = filled(&variants[4..], |wanted| {
        wanted.price = Some(decimal("12.00"));
        wanted.margin = None;
    });
    assert!(no_loss.unwrap().rows.iter().all(|row| row.off.is_none()), "nothing is left, and nothing lost");
}

#[test]
fn the_dearest_colour_decides_the_price_of_a_size_unless_another_is_wanted() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss", "navy"], "12.00");
    variants[1].unit_cost = Some(decimal("15.00"));
    variants[2].unit_cost = Some(decimal("18.00"));
    let prices = |one_price_for| -> Vec<String> {
        let sheet = filled(&variants, |wanted| wanted.one_price_for = one_price_for).unwrap();
        sheet.rows.iter().map(|row| row.price.unwrap().amount().to_string()).collect()
    };
    assert_eq!(prices(OnePriceFor::Size), ["25", "25", "30", "30"]);
    assert_eq!(prices(OnePriceFor::Good), ["30"; 4]);
    assert_eq!(prices(OnePriceFor::Each), ["20", "25", "30", "20"]);
}

#[test]
fn a_price_of_a_product_beats_that_of_all() {
    let mut variants = product("A", "Kitchen apron", &["S"], &["moss"], "12.00");
    variants.extend(product("B", "Tote bag", &[], &["moss"], "6.00"));
    let sheet = filled(&variants, |wanted| {
        wanted.price = Some(decimal("30"));
        wanted.picks[1].price = Some(decimal("11.50"));
        wanted.picks[1].name = Some("Jute bag".to_owned());
    });
    let rows = shown(&sheet.unwrap());
    assert_eq!(rows, ["Item: Apron | S-A-S-moss | 30 | ", "Item: Jute bag | S-B--moss | 11.50 | "]);
}

#[test]
fn only_the_sizes_and_colours_asked_for_stand_in_the_table() {
    let mut variants =
        product("A", "Kitchen apron", &["S", "M", "L"], &["moss", "french navy", "plum"], "12.00");
    variants.extend(product("T", "T-shirt", &["S", "M", "L", "2XL"], &["Moss", "Navy", "Rust"], "12.00"));
    variants.extend(product("M", "Mug", &["11 oz", "15 oz"], &[], "12.00"));
    let ask = |sizes: &[&str], colours: &[&str]| {
        filled(&variants, |wanted| {
            wanted.sizes = sizes.iter().map(ToString::to_string).collect();
            wanted.colours = colours.iter().map(ToString::to_string).collect();
        })
    };
    let sheet = ask(&["2xl", "Large"], &["navy", "MOSS"]).unwrap();
    let sizes: Vec<&[String]> = sheet.goods.iter().map(|good| good.sizes.as_slice()).collect();
    assert_eq!(sizes[0], ["L", "2xl"], "an apron in 2XL was asked for, and is not made");
    assert_eq!(sizes[1], ["L", "2XL"]);
    assert_eq!(sizes[2], ["11 oz", "15 oz"], "no mug was meant");
    assert_eq!(sheet.colours, ["Navy", "Moss", "One colour"], "in the order in which they were asked for");
    let french = sheet.rows.iter().find(|row| shown_options(row) == "Navy, Large apron").unwrap();
    assert_eq!(french.off.as_ref().unwrap().word(), "not-in-colour", "the shirt has a plain navy");
    let none = sheet.rows.iter().find(|row| shown_options(row) == "Moss, 2xl apron").unwrap();
    assert_eq!(none.off.as_ref().unwrap().to_string(), "Apron is not made in 2xl");

    let french = filled(&variants[..9], |wanted| wanted.colours = vec!["navy".to_owned()]).unwrap();
    assert_eq!(french.colours, ["French navy"], "the only navy that there is");

    let unknown = ask(&[], &["mauve"]).unwrap_err();
    let Cannot::NotMade { asked, known, .. } = &unknown else { panic!("{unknown}") };
    assert_eq!((asked.as_str(), known.join(", ").as_str()), ("mauve", "French navy, Moss, Navy, Plum, Rust"));
    assert_eq!(unknown.to_string(), "none of the products comes in the colour \"mauve\"");
    let unknown = ask(&["5XL"], &[]).unwrap_err().to_string();
    assert_eq!(unknown, "none of the products comes in the size \"5XL\"");
    let greys = product("A", "Apron", &["S"], &["heather grey", "charcoal grey"], "12.00");
    let unclear = filled(&greys, |wanted| wanted.colours = vec!["grey".to_owned()]).unwrap_err();
    assert_eq!(unclear.to_string(), "the colour \"grey\" may be any of these: Charcoal grey, Heather grey",);
}

fn shown_options(row: &links::sheet::Row) -> String {
    row.options.to_string()
}

#[test]
fn a_sku_that_two_variants_share_is_an_error_row() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &[], "12.00");
    variants[0].sku = None;
    variants.push(variant("other", "Something else", &[], "1"));
    variants[2].sku = Sku::new("a-s-");
    let sheet = filled(&variants, |wanted| wanted.picks = vec![pick("Kitchen apron")]).unwrap();
    assert_eq!(sheet.rows[0].sku.as_deref(), Some("A-S-"), "the id stands for the SKU that is empty");
    assert_eq!(
        sheet.rows[0].off.as_ref().unwrap().to_string(),
        "error: SKU A-S- is also that of alder-print other, so it would lead nowhere"
    );
    assert_eq!(sheet.rows[1].off, None);
}

#[test]
fn several_designs_on_one_product_are_told_apart_by_a_part_of_their_skus() {
    let mut variants = product("otter", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    variants.extend(product("heron", "Kitchen apron", &["S", "L"], &["moss"], "12.00"));
    let all = filled(&variants, as_is).unwrap();
    let off = all.rows[0].off.clone().unwrap();
    assert_eq!(off, Off::SeveralVariants(vec!["S-heron-S-moss".to_owned(), "S-otter-S-moss".to_owned()]));
    let one = filled(&variants, |wanted| wanted.sku_parts = vec!["OTTER".to_owned()]).unwrap();
    let skus: Vec<&str> = one.rows.iter().filter_map(|row| row.sku.as_deref()).collect();
    assert_eq!(skus, ["S-otter-S-moss", "S-otter-L-moss"]);
    assert!(one.rows.iter().all(|row| row.off.is_none()));
    let none = filled(&variants, |wanted| wanted.sku_parts = vec!["beaver".to_owned()]).unwrap_err();
    assert_eq!(none, Cannot::NoVariants);
}

#[test]
fn what_only_one_of_several_designs_is_made_in_is_not_sold_as_the_listings() {
    let mut variants = product("otter", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    variants.extend(product("heron", "Kitchen apron", &["S"], &["moss"], "12.00"));
    let all = filled(&variants, as_is).unwrap();
    let unsaid = Off::DesignUnsaid { good: "Apron".to_owned(), sku: "S-otter-L-moss".to_owned() };
    assert_eq!(all.rows[1].off, Some(unsaid));
    let one = filled(&variants, |wanted| wanted.sku_parts = vec!["otter".to_owned()]).unwrap();
    assert!(one.rows.iter().all(|row| row.off.is_none()));
}

#[test]
fn two_goods_that_a_customer_could_not_tell_apart_are_an_error() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    variants.extend(product("B", "Kitchen apron", &["S", "L"], &["moss"], "9.00"));
    for variant in &mut variants[2..] {
        variant.supplier = "brook-print".into();
    }
    let both = |wanted: &mut Wanted<'_>| {
        wanted.picks =
            vec![pick("Kitchen apron"), Pick { supplier: "brook-print".into(), ..pick("Kitchen apron") }];
    };
    let error = filled(&variants, both).unwrap_err();
    assert_eq!(
        error.to_string(),
        "\"Kitchen apron\" of alder-print and \"Kitchen apron\" of brook-print would both be \"Small kitchen apron\", \
         and a customer could not tell them apart",
    );
    let named = |wanted: &mut Wanted<'_>| {
        both(wanted);
        wanted.picks[1].name = Some("Linen apron".to_owned());
    };
    let rows = shown(&filled(&variants, named).unwrap());
    assert_eq!(rows[0], "Item: Small kitchen apron | S-A-S-moss | 20 | ");
    assert_eq!(rows[2], "Item: Small Linen apron | S-B-S-moss | 15 | ");
    let options_alike = |wanted: &mut Wanted<'_>| {
        both(wanted);
        let wording = Wording { item: "Colour".to_owned(), ..Wording::default() };
        let wanted = Wanted { wording: &wording, ..wanted.clone() };
        let error = fill_in(&Vocabulary::built_in(), &variants, &[], &wanted).unwrap_err();
        assert_eq!(error.to_string(), "two options would be called the same: \"Colour\" and \"Colour\"");
    };
    let _ = filled(&variants, options_alike);
}

#[test]
fn what_tells_variants_apart_beside_size_is_called_what_the_supplier_calls_it() {
    let variants: Vec<Variant> = ["matt", "glossy"]
        .iter()
        .flat_map(|finish| {
            ["A4", "A3"].map(|size| {
                variant(&format!("{finish}{size}"), "Poster", &[("size", size), ("finish", finish)], "6.00")
            })
        })
        .collect();
    let rows = shown(&filled(&variants, as_is).unwrap());
    assert_eq!(rows[0], "Finish: Glossy, Size: A4 | S-glossyA4 | 10 | ");
}

#[test]
fn a_rule_that_cannot_be_kept_is_an_error_before_there_is_a_table() {
    let variants = product("A", "Kitchen apron", &["S", "L"], &["moss"], "12.00");
    let never = filled(&variants, |wanted| wanted.margin = Some(Margin::PercentOfPrice(decimal("100"))));
    assert!(matches!(never, Err(Cannot::NoPrice(NoPrice::NeverReached { .. }))), "{never:?}");
    assert_eq!(filled(&variants, |wanted| wanted.margin = None).unwrap_err(), Cannot::NoMargin);
    let mut mixed = variants.clone();
    mixed[0].currency = "USD".parse().ok();
    let error = filled(&mixed, as_is).unwrap_err().to_string();
    assert_eq!(error, "amounts are in several currencies: EUR, USD");
    let mut unknown = variants.clone();
    unknown.iter_mut().for_each(|variant| variant.currency = None);
    assert_eq!(filled(&unknown, as_is).unwrap_err(), Cannot::NoCurrency);
    let mut huge = variants;
    huge[0].unit_cost = Some(decimal("79228162514264337593543950335"));
    let error = filled(&huge, as_is).unwrap_err().to_string();
    assert_eq!(error, "Apron: an amount has too many digits to be reckoned with exactly");
}

#[test]
fn a_large_listing_is_filled_in_and_a_boundless_one_is_refused() {
    let sizes = ["XS", "S", "M", "L", "XL", "2XL", "3XL", "4XL", "5XL", "6XL"];
    let colours = ["Moss", "Navy", "Plum", "Rust", "White", "Black", "Sand", "Teal", "Olive", "Mustard"];
    let goods = ["T-shirt", "Hoodie", "Sweatshirt", "Tank top", "Long-sleeved top"];
    let variants: Vec<Variant> =
        goods.iter().flat_map(|good| product(good, good, &sizes, &colours, "12.00")).collect();
    let sheet = filled(&variants, as_is).unwrap();
    assert_eq!(sheet.rows.len(), 500);
    assert!(sheet.rows.iter().all(|row| row.off.is_none()));
    let (fees, wording) = (Fees::default(), Wording::default());
    assert_eq!(read_again(&sheet, &wanted(&goods, &fees, &wording), &variants), 500);
    let grids = sheet.grids();
    assert_eq!((grids.len(), grids[4].sizes.len(), grids[4].rows.len()), (5, 10, 10));
    assert_eq!(sheet.rows[grids[4].rows[0].1[9].unwrap()].options.to_string(), "Black, 6XL long-sleeved top");

    let letters: Vec<String> =
        ('a'..='z').flat_map(|one| ('a'..='f').map(move |other| format!("Shade q{one}{other}q"))).collect();
    let letters: Vec<&str> = letters.iter().map(String::as_str).collect();
    let lengths: Vec<String> = (0..160).map(|number| format!("{number} cm")).collect();
    let lengths: Vec<&str> = lengths.iter().map(String::as_str).collect();
    let boundless = product("R", "Ribbon", &lengths, &letters, "1.00");
    let error = filled(&boundless, as_is).unwrap_err();
    assert!(matches!(error, Cannot::TooManyRows(rows) if rows > ROWS_AT_MOST), "{error}");
}

#[test]
fn numbers_of_colours_are_no_sizes() {
    let variants = product("B", "Tote bag", &["S", "L"], &["Brindle X2", "Brindle X3"], "6.00");
    let rows = shown(&filled(&variants, as_is).unwrap());
    assert_eq!(rows[1], "Colour: Brindle X3, Size: S | S-B-S-Brindle X3 | 10 | ");
    assert_eq!(rows.len(), 4);
    let of_one_size = product("B", "Tote bag", &[], &["Brindle X2", "Brindle X3"], "6.00");
    let rows = shown(&filled(&of_one_size, as_is).unwrap());
    assert_eq!(
        rows,
        ["Colour: Brindle X2 | S-B--Brindle X2 | 10 | ", "Colour: Brindle X3 | S-B--Brindle X3 | 10 | "]
    );
    let cards = ["single", "pack of 10", "pack of 25"];
    let cards = cards.map(|pack| variant(pack, "Greeting card 5x7 in", &[("variant", pack)], "6.00"));
    let rows = shown(&filled(&cards, as_is).unwrap());
    assert_eq!(rows.iter().filter(|row| row.ends_with("| 10 | ")).count(), 3, "{rows:?}");
}

#[test]
fn the_order_of_the_table_changes_no_row() {
    let mut variants = product("A", "Kitchen apron", &["S", "L"], &["moss", "Navy", "plum"], "12.00");
    variants.extend(product("T", "T-shirt", &["2XL", "S"], &["MOSS", "rust"], "10.00"));
    variants.extend(product("B", "Tote bag", &[], &[], "6.00"));
    let products = ["T-shirt", "Tote bag", "Kitchen apron"];
    let as_written = filled(&variants, |wanted| wanted.picks = products.map(pick).to_vec()).unwrap();
    variants.reverse();
    let turned = filled(&variants, |wanted| wanted.picks = products.map(pick).to_vec()).unwrap();
    assert_eq!(shown(&as_written), shown(&turned));
    assert_eq!(as_written.goods, turned.goods);
}
