//! Prices: published examples, and what must hold of every price.

use links::sheet::{Ending, Margin, NoPrice, Reckoning, Rounding};
use model::rules::Fees;
use model::{Currency, Money};
use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::kit::{decimal, eur};

fn fees(percent: &str, per_unit: &[(&str, &str)]) -> Fees {
    let unit = |(amount, code): &(&str, &str)| Money::new(decimal(amount), code.parse().unwrap());
    Fees { percent_of_price: decimal(percent), per_unit: per_unit.iter().map(unit).collect() }
}

fn ending(text: &str) -> Rounding {
    Rounding::Ending(text.parse().unwrap())
}

fn price(
    cost: &str,
    fees: &Fees,
    margin: Margin,
    rounding: Rounding,
    currency: &str,
) -> Result<String, NoPrice> {
    let reckoning = Reckoning::new(currency.parse().unwrap(), fees, margin, rounding)?;
    Ok(reckoning.smallest_price(decimal(cost))?.to_string())
}

/// The manufacturer and the dealer of toasters: Kotler and Armstrong, Principles of Marketing, 'cost-plus pricing' (from
/// memory): a unit cost of 16 and 20 % on sales make 16 / (1 - 0.20) = 20; a dealer who pays 20 and wants 50 % of the
/// price takes 40, which is a markup of 100 % on cost. The same formula is that of retail mathematics, retail = cost /
/// (1 - markup on retail).
#[test]
fn prices_are_those_of_published_examples() {
    let none = Fees::default();
    let plain = Rounding::SmallestUnit;
    for (cost, margin, expected) in [
        ("16", Margin::PercentOfPrice(decimal("20")), "20"),
        ("20", Margin::PercentOfPrice(decimal("50")), "40"),
        ("20", Margin::PercentOfCost(decimal("100")), "40"),
    ] {
        assert_eq!(price(cost, &none, margin, plain, "USD").unwrap(), expected, "{cost} {margin}");
    }
}

#[test]
fn fees_are_paid_before_the_margin() {
    let fees = fees("6.5", &[("0.25", "EUR")]);
    let margin = Margin::PercentOfPrice(decimal("40"));
    // 12.35 / 0.535 = 23.0841…
    assert_eq!(price("12.10", &fees, margin, Rounding::SmallestUnit, "EUR").unwrap(), "23.09");
    assert_eq!(price("12.10", &fees, margin, ending(".95"), "EUR").unwrap(), "23.95");
    assert_eq!(price("12.10", &fees, margin, Rounding::Step(decimal("0.50")), "EUR").unwrap(), "23.5");
    // 18.35 / 0.935 = 19.6256…
    let amount = Margin::PerUnit(decimal("6.00"));
    assert_eq!(price("12.10", &fees, amount, Rounding::SmallestUnit, "EUR").unwrap(), "19.63");
    // (12.10 + 0.25 + 12.10) / 0.935 = 26.1497…
    let markup = Margin::PercentOfCost(decimal("100"));
    assert_eq!(price("12.10", &fees, markup, Rounding::SmallestUnit, "EUR").unwrap(), "26.15");
}

#[test]
fn what_is_left_is_exact_and_its_share_never_looks_better_than_it_is() {
    let fees = fees("6.5", &[("0.25", "EUR")]);
    let margin = Margin::PercentOfPrice(decimal("40"));
    let reckoning = Reckoning::new(eur(), &fees, margin, Rounding::SmallestUnit).unwrap();
    let sum = reckoning.sum(decimal("24.95"), decimal("12.10")).unwrap();
    assert_eq!(sum.fees.amount(), decimal("1.87175"));
    assert_eq!(sum.margin.amount(), decimal("10.97825"));
    assert_eq!(sum.margin_percent, decimal("44.00"), "44.0010… %");
    let loss = reckoning.sum(decimal("3"), decimal("4.0011")).unwrap();
    assert_eq!(
        loss.margin_percent,
        decimal("-48.21"),
        "-48.2 % would be better than the -48.2033… that it is"
    );
}

#[test]
fn an_exact_quotient_is_not_rounded_away() {
    let none = Fees::default();
    // 19.77 / 0.6 = 32.95, the ending itself; a cent of a cent more is the next.
    let margin = Margin::PercentOfPrice(decimal("40"));
    assert_eq!(price("19.77", &none, margin, ending(".95"), "EUR").unwrap(), "32.95");
    assert_eq!(price("19.7701", &none, margin, ending(".95"), "EUR").unwrap(), "33.95");
    // One third has no end: 1 / (1 - 2/3) with 66.6666 is above 2.9999, with 66.6667 above 3.
    assert_eq!(
        price("1", &none, Margin::PercentOfPrice(decimal("66.6666")), ending(".00"), "EUR").unwrap(),
        "3"
    );
    assert_eq!(
        price("1", &none, Margin::PercentOfPrice(decimal("66.6667")), ending(".00"), "EUR").unwrap(),
        "4"
    );
}

#[test]
fn a_price_is_written_as_the_owner_wants_it() {
    let none = Fees::default();
    let margin = Margin::PercentOfCost(decimal("0"));
    for (cost, rounding, currency, expected) in [
        ("12.00", ending(".95"), "EUR", "12.95"),
        ("12.96", ending(".95"), "EUR", "13.95"),
        ("12.96", ending("0.95"), "EUR", "13.95"),
        ("12.96", ending("9.90"), "EUR", "19.9"),
        ("19.91", ending("9.90"), "EUR", "29.9"),
        ("12.01", ending(".00"), "EUR", "13"),
        ("0", ending(".00"), "EUR", "1"),
        ("0", Rounding::SmallestUnit, "EUR", "0.01"),
        ("1240", Rounding::SmallestUnit, "JPY", "1240"),
        ("1240.5", Rounding::SmallestUnit, "JPY", "1241"),
        ("1240", ending("80"), "JPY", "1280"),
        ("1281", ending("80"), "JPY", "1380"),
        ("1240", ending("00"), "JPY", "1300"),
        ("1240", Rounding::Step(decimal("50")), "JPY", "1250"),
        ("1.2345", Rounding::SmallestUnit, "KWD", "1.235"),
        ("1.2345", ending(".750"), "KWD", "1.75"),
    ] {
        assert_eq!(
            price(cost, &none, margin, rounding, currency).unwrap(),
            expected,
            "{cost} {rounding} {currency}"
        );
    }
}

#[test]
fn what_can_never_be_reached_is_an_error_that_says_so() {
    let half = fees("50", &[]);
    let never =
        price("1", &half, Margin::PercentOfPrice(decimal("50")), Rounding::SmallestUnit, "EUR").unwrap_err();
    assert_eq!(never, NoPrice::NeverReached { fee: decimal("50"), margin: decimal("50") });
    assert!(never.to_string().contains("no price can reach that"), "{never}");
    let all = fees("100", &[]);
    assert!(price("1", &all, Margin::PerUnit(decimal("0")), Rounding::SmallestUnit, "EUR").is_err());
    let nearly = Margin::PercentOfPrice(decimal("49.99"));
    assert_eq!(price("1", &half, nearly, Rounding::SmallestUnit, "EUR").unwrap(), "10000");
}

#[test]
fn what_does_not_fit_the_currency_is_an_error() {
    let none = Fees::default();
    let margin = Margin::PerUnit(decimal("1"));
    for (rounding, currency, said) in [
        (ending(".95"), "JPY", "prices end in .95, and JPY has no unit smaller than 1"),
        (
            ending("95"),
            "EUR",
            "prices end in 95, and EUR has 2 digits behind the point: write the ending with its point",
        ),
        (ending(".955"), "EUR", "prices end in .955, and EUR has 2 digits behind the point"),
        (Rounding::Step(decimal("0.005")), "EUR", "steps of 0.005, and EUR has 2 digits"),
        (Rounding::Step(decimal("0")), "EUR", "steps of 0"),
    ] {
        let error = price("1", &none, margin, rounding, currency).unwrap_err().to_string();
        assert!(error.contains(said), "{error}");
    }
    let in_dollars = fees("0", &[("0.30", "USD")]);
    let error = price("1", &in_dollars, margin, Rounding::SmallestUnit, "EUR").unwrap_err();
    assert_eq!(error, NoPrice::FeeInOtherCurrency(eur()));
}

#[test]
fn amounts_that_are_too_large_are_an_error_and_no_wrong_price() {
    let none = Fees::default();
    let margin = Margin::PercentOfPrice(decimal("33.333333333333333333333333"));
    let cost = "79228162514264337593543950335";
    assert_eq!(price(cost, &none, margin, Rounding::SmallestUnit, "EUR"), Err(NoPrice::TooLarge));
}

#[test]
fn only_the_last_digits_of_prices_are_an_ending() {
    for text in ["", ".", "9.", "-.95", "+1", "9,95", "x", ".9x", "12345.00", "1e2"] {
        assert!(text.parse::<Ending>().is_err(), "{text}");
    }
    for (text, shown) in [
        (".95", ".95"),
        ("0.95", ".95"),
        (".9", ".90"),
        ("9.90", "9.90"),
        (".00", ".00"),
        ("80", "80"),
        ("00", "00"),
    ] {
        assert_eq!(text.parse::<Ending>().unwrap().to_string(), shown);
    }
}

#[test]
fn margins_and_roundings_are_read_as_owners_write_them() {
    for (text, margin) in [
        ("6.00", Margin::PerUnit(decimal("6"))),
        ("40 %", Margin::PercentOfPrice(decimal("40"))),
        (" 37.5% of the price ", Margin::PercentOfPrice(decimal("37.5"))),
        ("60% of cost", Margin::PercentOfCost(decimal("60"))),
        ("0", Margin::PerUnit(decimal("0"))),
    ] {
        assert_eq!(text.parse::<Margin>(), Ok(margin), "{text}");
    }
    for text in ["", "%", "-1", "-1 %", "40 % of it", "40 per cent", "6,00", "1e2", "4 0 %", "6.00 EUR"] {
        assert!(text.parse::<Margin>().is_err(), "{text}");
    }
    for (text, rounding) in [
        ("unit", Rounding::SmallestUnit),
        ("step 0.50", Rounding::Step(decimal("0.5"))),
        (" step  5 ", Rounding::Step(decimal("5"))),
        (".95", ending(".95")),
        ("9.90", ending("9.90")),
    ] {
        assert_eq!(text.parse::<Rounding>(), Ok(rounding), "{text}");
    }
    for text in ["", "step", "step 0", "step -1", "cent", ".95 .99", "95,00", "steps 1"] {
        assert!(text.parse::<Rounding>().is_err(), "{text}");
    }
}

fn currencies() -> impl Strategy<Value = Currency> {
    prop::sample::select(vec!["EUR", "JPY", "KWD", "USD"]).prop_map(|code| code.parse().unwrap())
}

fn margins() -> impl Strategy<Value = Margin> {
    prop_oneof![
        (0_i64..9_000).prop_map(|percent| Margin::PercentOfPrice(Decimal::new(percent, 2))),
        (0_i64..5_000).prop_map(|amount| Margin::PerUnit(Decimal::new(amount, 2))),
        (0_i64..50_000).prop_map(|percent| Margin::PercentOfCost(Decimal::new(percent, 2))),
    ]
}

/// A way to write prices in a currency, with the distance of two such prices.
fn roundings(currency: Currency) -> impl Strategy<Value = (Rounding, Decimal)> {
    let digits = u32::from(currency.digits());
    let one = 10_i64.pow(digits);
    let ends = move |cents: i64| {
        let text = if digits == 0 {
            format!("{:02}", cents % 100)
        } else {
            format!(".{:0width$}", cents % one, width = digits as usize)
        };
        let distance = if digits == 0 { Decimal::ONE_HUNDRED } else { Decimal::ONE };
        (Rounding::Ending(text.parse().unwrap()), distance)
    };
    prop_oneof![
        Just((Rounding::SmallestUnit, Decimal::new(1, digits))),
        (0_i64..1_000).prop_map(ends),
        (1_i64..500).prop_map(move |step| {
            let step = Decimal::new(step, digits);
            (Rounding::Step(step), step)
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, ..ProptestConfig::default() })]

    /// Judged by what is left of the prices, which is a sum; the price itself comes from a quotient.
    #[test]
    fn a_price_reaches_the_margin_and_the_next_lower_one_does_not(
        (currency, (rounding, distance)) in currencies().prop_flat_map(|currency| (Just(currency), roundings(currency))),
        margin in margins(),
        percent in 0_i64..990,
        unit_fee in 0_i64..200,
        cost in 0_i64..1_000_000,
    ) {
        let fees = Fees {
            percent_of_price: Decimal::new(percent, 2),
            per_unit: vec![Money::new(Decimal::new(unit_fee, 2), currency)],
        };
        let cost = Decimal::new(cost, 3);
        let reckoning = Reckoning::new(currency, &fees, margin, rounding).unwrap();
        let price = reckoning.smallest_price(cost).unwrap();
        let is_enough = |price: Decimal| {
            let left = reckoning.sum(price, cost).unwrap().margin.amount();
            left >= match margin {
                Margin::PercentOfPrice(percent) => price * percent / Decimal::ONE_HUNDRED,
                Margin::PerUnit(amount) => amount,
                Margin::PercentOfCost(percent) => cost * percent / Decimal::ONE_HUNDRED,
            }
        };
        prop_assert!(price > Decimal::ZERO && price.scale() <= u32::from(currency.digits()), "{price}");
        prop_assert!(is_enough(price), "{price} does not reach {margin}");
        prop_assert!(reckoning.reaches(price, cost).unwrap());
        let lower = price - distance;
        prop_assert!(lower <= Decimal::ZERO || !is_enough(lower), "{lower} reaches {margin} as well");
        prop_assert!(lower <= Decimal::ZERO || !reckoning.reaches(lower, cost).unwrap());
        let is_written = match rounding {
            Rounding::SmallestUnit => true,
            Rounding::Step(step) => (price % step).is_zero(),
            Rounding::Ending(ending) => ((price - decimal(&format!("0{ending}"))) % distance).is_zero(),
        };
        prop_assert!(is_written, "{price} for {rounding}");
    }
}
