//! Values as the texts and numbers that are kept, and back.
//!
//! Must not know: SQL. Start reading at [`of_when`].

use chrono::{DateTime, SecondsFormat, Utc};
use model::book::{OrderStatus, SubmissionStatus};
use model::money::parse_amount;
use model::{Currency, Options, When};
use rust_decimal::Decimal;

use crate::error::LedgerError;

fn strange(found: &str, expected: &'static str) -> LedgerError {
    LedgerError::Strange { found: found.to_owned(), expected }
}

/// A moment, with nine digits of a second, so that texts sort like moments.
pub(crate) fn of_moment(moment: DateTime<Utc>) -> String {
    moment.to_rfc3339_opts(SecondsFormat::Nanos, true)
}

pub(crate) fn to_moment(text: &str) -> Result<DateTime<Utc>, LedgerError> {
    let moment = DateTime::parse_from_rfc3339(text).map_err(|_| strange(text, "a moment"))?;
    Ok(moment.to_utc())
}

/// A moment, or the beginning and the end of a day (ISO 8601, an interval).
pub(crate) fn of_when(when: When) -> String {
    match (of_moment(when.begins()), of_moment(when.ends())) {
        (begins, ends) if begins == ends => begins,
        (begins, ends) => format!("{begins}/{ends}"),
    }
}

pub(crate) fn to_when(text: &str) -> Result<When, LedgerError> {
    match text.split_once('/') {
        None => to_moment(text).map(When::at),
        Some((begins, ends)) => {
            When::between(to_moment(begins)?, to_moment(ends)?).ok_or_else(|| strange(text, "a day"))
        }
    }
}

/// The same options are the same text: names are sorted.
pub(crate) fn of_options(options: &Options) -> String {
    let mut pairs: Vec<(&str, &str)> = options.iter().collect();
    pairs.sort_unstable();
    let object: serde_json::Map<String, serde_json::Value> =
        pairs.into_iter().map(|(name, value)| (name.to_owned(), value.into())).collect();
    serde_json::Value::Object(object).to_string()
}

/// Options that are compared as the same are the same text.
pub(crate) fn of_options_key(options: &Options) -> String {
    let object: serde_json::Map<String, serde_json::Value> =
        options.folded().map(|(name, value)| (name.to_owned(), value.into())).collect();
    serde_json::Value::Object(object).to_string()
}

pub(crate) fn to_options(text: &str) -> Result<Options, LedgerError> {
    let no = || strange(text, "an object of options");
    let object: serde_json::Map<String, serde_json::Value> = serde_json::from_str(text).map_err(|_| no())?;
    let mut options = Options::new();
    for (name, value) in object {
        options.add(name, value.as_str().ok_or_else(no)?.to_owned()).map_err(|_| no())?;
    }
    Ok(options)
}

pub(crate) fn to_amount(text: &str) -> Result<Decimal, LedgerError> {
    parse_amount(text).ok_or_else(|| strange(text, "an amount"))
}

pub(crate) fn to_currency(text: &str) -> Result<Currency, LedgerError> {
    text.parse().map_err(|_| strange(text, "a currency"))
}

pub(crate) fn to_quantity(number: i64) -> Result<u32, LedgerError> {
    u32::try_from(number).map_err(|_| strange(&number.to_string(), "a quantity"))
}

const ORDER_STATUSES: [(OrderStatus, &str); 4] = [
    (OrderStatus::Unpaid, "unpaid"),
    (OrderStatus::Open, "open"),
    (OrderStatus::Dispatched, "dispatched"),
    (OrderStatus::Cancelled, "cancelled"),
];

const SUBMISSION_STATUSES: [(SubmissionStatus, &str); 6] = [
    (SubmissionStatus::Received, "received"),
    (SubmissionStatus::Held, "held"),
    (SubmissionStatus::Making, "making"),
    (SubmissionStatus::Dispatched, "dispatched"),
    (SubmissionStatus::Cancelled, "cancelled"),
    (SubmissionStatus::Rejected, "rejected"),
];

pub(crate) fn of_order_status(status: OrderStatus) -> &'static str {
    ORDER_STATUSES.iter().find(|(of, _)| *of == status).map_or("", |(_, word)| word)
}

pub(crate) fn to_order_status(text: &str) -> Result<OrderStatus, LedgerError> {
    let found = ORDER_STATUSES.iter().find(|(_, word)| *word == text);
    found.map(|(status, _)| *status).ok_or_else(|| strange(text, "a status of an order"))
}

pub(crate) fn of_submission_status(status: SubmissionStatus) -> &'static str {
    SUBMISSION_STATUSES.iter().find(|(of, _)| *of == status).map_or("", |(_, word)| word)
}

pub(crate) fn to_submission_status(text: &str) -> Result<SubmissionStatus, LedgerError> {
    let found = SUBMISSION_STATUSES.iter().find(|(_, word)| *word == text);
    found.map(|(status, _)| *status).ok_or_else(|| strange(text, "a status of a submission"))
}
