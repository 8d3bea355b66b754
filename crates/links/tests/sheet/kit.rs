//! Amounts in few words.

use model::Currency;
use rust_decimal::Decimal;

pub fn eur() -> Currency {
    "EUR".parse().unwrap()
}

pub fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}
