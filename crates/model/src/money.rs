//! Money: exact decimals with an ISO 4217 code.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};
use thiserror::Error;

/// Every code of ISO 4217 as of 2026-01-01 with a number of minor-unit digits; the others (gold, test codes) are
/// no money that a shop takes. Source: ISO 4217 list one, 2026-01-01.
#[rustfmt::skip]
const DIGITS: [(u8, &[&str]); 4] = [
    (0, &[
        "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND",
        "VUV", "XAF", "XOF", "XPF",
    ]),
    (2, &[
        "AED", "AFN", "ALL", "AMD", "AOA", "ARS", "AUD", "AWG", "AZN", "BAM", "BBD", "BDT", "BMD",
        "BND", "BOB", "BOV", "BRL", "BSD", "BTN", "BWP", "BYN", "BZD", "CAD", "CDF", "CHE", "CHF",
        "CHW", "CNY", "COP", "COU", "CRC", "CUP", "CVE", "CZK", "DKK", "DOP", "DZD", "EGP", "ERN",
        "ETB", "EUR", "FJD", "FKP", "GBP", "GEL", "GHS", "GIP", "GMD", "GTQ", "GYD", "HKD", "HNL",
        "HTG", "HUF", "IDR", "ILS", "INR", "IRR", "JMD", "KES", "KGS", "KHR", "KPW", "KYD", "KZT",
        "LAK", "LBP", "LKR", "LRD", "LSL", "MAD", "MDL", "MGA", "MKD", "MMK", "MNT", "MOP", "MRU",
        "MUR", "MVR", "MWK", "MXN", "MXV", "MYR", "MZN", "NAD", "NGN", "NIO", "NOK", "NPR", "NZD",
        "PAB", "PEN", "PGK", "PHP", "PKR", "PLN", "QAR", "RON", "RSD", "RUB", "SAR", "SBD", "SCR",
        "SDG", "SEK", "SGD", "SHP", "SLE", "SOS", "SRD", "SSP", "STN", "SVC", "SYP", "SZL", "THB",
        "TJS", "TMT", "TOP", "TRY", "TTD", "TWD", "TZS", "UAH", "USD", "USN", "UYU", "UZS", "VED",
        "VES", "WST", "XAD", "XCD", "XCG", "YER", "ZAR", "ZMW", "ZWG",
    ]),
    (3, &[
        "BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND",
    ]),
    (4, &[
        "CLF", "UYW",
    ]),
];

/// A currency: a code of ISO 4217 with its number of minor-unit digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, JsonSchema)]
#[schemars(with = "String")]
pub struct Currency {
    code: &'static str,
    digits: u8,
}

/// A text that is no currency code of ISO 4217.
#[derive(Debug, Error, PartialEq, Eq)]
#[error("not a currency code")]
pub struct NotACurrency;

impl Currency {
    /// What an error says was expected.
    pub const EXPECTED: &str = "a currency code of ISO 4217, such as EUR";

    /// The three letters.
    pub fn code(self) -> &'static str {
        self.code
    }

    /// How many digits stand behind the decimal point: 2 for EUR, 0 for JPY, 3 for KWD.
    pub fn digits(self) -> u8 {
        self.digits
    }
}

impl FromStr for Currency {
    type Err = NotACurrency;

    fn from_str(text: &str) -> Result<Self, NotACurrency> {
        DIGITS
            .iter()
            .find_map(|(digits, codes)| {
                let code = codes.iter().find(|code| **code == text)?;
                Some(Self { code, digits: *digits })
            })
            .ok_or(NotACurrency)
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code)
    }
}

impl Serialize for Currency {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code)
    }
}

/// Reads a decimal amount: an optional minus, digits, and at most one point with digits behind it.
///
/// No exponent, no grouping, no currency sign, no more than 28 significant digits.
pub fn parse_amount(text: &str) -> Option<Decimal> {
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(fraction) {
        return None;
    }
    Decimal::from_str_exact(text).ok()
}

/// What an error says was expected where [`parse_amount`] answers nothing.
pub const AMOUNT_EXPECTED: &str = "a decimal amount such as 24.00";

/// An exact amount in a currency. Never rounded; shown with at least the digits that its currency has.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Money {
    /// The amount, in the currency's main unit.
    #[serde(serialize_with = "amount_with_currency_digits")]
    #[schemars(with = "String")]
    amount: Padded,
    currency: Currency,
}

#[derive(Clone, Copy, Debug)]
struct Padded(Decimal, u8);

impl PartialEq for Padded {
    fn eq(&self, other: &Self) -> bool {
        self.0 == other.0
    }
}

impl Eq for Padded {}

impl fmt::Display for Padded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let normal = self.0.normalize();
        let digits = normal.scale().max(u32::from(self.1)) as usize;
        write!(f, "{normal:.digits$}")
    }
}

fn amount_with_currency_digits<S: Serializer>(amount: &Padded, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(amount)
}

impl Money {
    /// So much of a currency.
    pub fn new(amount: Decimal, currency: Currency) -> Self {
        Self { amount: Padded(amount, currency.digits()), currency }
    }

    /// The amount, in the currency's main unit.
    pub fn amount(self) -> Decimal {
        self.amount.0
    }

    /// The currency.
    pub fn currency(self) -> Currency {
        self.currency
    }
}

/// The amount, a no-break space, the code: `24.00 EUR`.
impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\u{a0}{}", self.amount, self.currency)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ISO 4217 as of 2026-01-01: 0 digits for 17 codes, 3 for 7, 4 for 2, 2 for the other 139.
    #[test]
    fn the_digits_of_iso_4217_are_known() {
        assert_eq!(DIGITS.map(|(digits, codes)| (digits, codes.len())), [(0, 17), (2, 139), (3, 7), (4, 2)]);
        for (code, digits) in
            [("EUR", 2), ("JPY", 0), ("ISK", 0), ("KWD", 3), ("TND", 3), ("CLF", 4), ("UYW", 4)]
        {
            assert_eq!(code.parse::<Currency>().unwrap().digits(), digits, "{code}");
        }
        for code in ["XAU", "XXX", "XTS", "eur", "EURO", ""] {
            assert_eq!(code.parse::<Currency>(), Err(NotACurrency), "{code}");
        }
    }

    #[test]
    fn amounts_are_exact_and_shown_with_the_currencys_digits() {
        let show = |amount: &str, code: &str| {
            Money::new(parse_amount(amount).unwrap(), code.parse().unwrap()).amount.to_string()
        };
        assert_eq!(show("24", "EUR"), "24.00");
        assert_eq!(show("0.1", "EUR"), "0.10");
        assert_eq!(show("1.2345", "EUR"), "1.2345");
        assert_eq!(show("1200", "JPY"), "1200");
        assert_eq!(show("1.5", "KWD"), "1.500");
        assert_eq!(show("-3.10", "EUR"), "-3.10");
        assert_eq!(show("24.0000", "EUR"), "24.00");
        let sum: Decimal = (0..10).map(|_| parse_amount("0.1").unwrap()).sum();
        assert_eq!(sum, Decimal::ONE);
    }

    #[test]
    fn what_is_no_plain_decimal_is_refused() {
        for text in [
            "",
            "-",
            ".5",
            "5.",
            "1,50",
            "1e3",
            "€5",
            " 5",
            "+5",
            "0x10",
            "1_000",
            "99999999999999999999999999999999",
        ] {
            assert_eq!(parse_amount(text), None, "{text:?}");
        }
    }
}
