//! What the values of a column are like: numbers, amounts, times, words, codes, addresses.
//!
//! Must not know names. Start reading at [`Profile`].

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;

use super::times::{self, Times};
use super::tree::Column;
use crate::source::mapping::as_people_write;

/// How amounts are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum AmountForm {
    Decimal,
    Comma,
    Point,
    /// Whole numbers, which may be minor units.
    Whole,
}

#[derive(Clone, Debug)]
pub(super) struct Profile {
    /// How many records there are, how many have a value, and how many different ones.
    pub(super) count: usize,
    pub(super) filled: usize,
    pub(super) distinct: usize,
    /// By how often they stand there, the most frequent first.
    pub(super) frequent: Vec<(String, usize)>,
    pub(super) whole: Option<Vec<Option<i64>>>,
    pub(super) amounts: Option<(AmountForm, Vec<Option<Decimal>>)>,
    pub(super) times: Option<Times>,
    pub(super) mean_length: f64,
    pub(super) max_length: usize,
    /// The share of values in which there is a digit, a letter, a blank, an `@`.
    pub(super) with_digit: f64,
    pub(super) with_letter: f64,
    pub(super) with_blank: f64,
    pub(super) with_at: f64,
    /// The share that are three letters that are a currency of ISO 4217, that are two capital letters, that are urls.
    pub(super) currencies: f64,
    pub(super) two_letters: f64,
    pub(super) urls: f64,
    pub(super) phones: f64,
}

impl Profile {
    pub(super) fn of(column: &Column) -> Self {
        let given: Vec<&String> = column.values.iter().flatten().collect();
        let filled = given.len();
        let share = |is: &dyn Fn(&str) -> bool| {
            given.iter().filter(|text| is(text)).count() as f64 / filled.max(1) as f64
        };
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for text in &given {
            *counts.entry(text).or_default() += 1;
        }
        let distinct = counts.len();
        let mut frequent: Vec<(String, usize)> =
            counts.iter().map(|(text, count)| ((*text).to_owned(), *count)).collect();
        frequent.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
        frequent.truncate(60);
        let whole = whole(column);
        let amounts = amounts(column);
        let times = times::find(&column.values, column.is_number);
        Self {
            count: column.values.len(),
            filled,
            distinct,
            frequent,
            whole,
            amounts,
            times,
            mean_length: given.iter().map(|text| text.chars().count()).sum::<usize>() as f64
                / filled.max(1) as f64,
            max_length: given.iter().map(|text| text.chars().count()).max().unwrap_or_default(),
            with_digit: share(&|text| text.bytes().any(|byte| byte.is_ascii_digit())),
            with_letter: share(&|text| text.chars().any(char::is_alphabetic)),
            with_blank: share(&|text| text.trim().contains(' ')),
            with_at: share(&|text| text.contains('@') && text.contains('.') && !text.contains(' ')),
            currencies: share(&|text| {
                text.len() == 3 && text.to_ascii_uppercase().parse::<model::Currency>().is_ok()
            }),
            two_letters: share(&|text| text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_uppercase())),
            urls: share(&|text| text.starts_with("http://") || text.starts_with("https://")),
            phones: share(&is_phone),
        }
    }

    /// Whether no value stands there twice.
    pub(super) fn is_unique(&self) -> bool {
        self.distinct == self.filled
    }

    pub(super) fn is_full(&self) -> bool {
        self.filled == self.count
    }

    pub(super) fn fill(&self) -> f64 {
        self.filled as f64 / self.count.max(1) as f64
    }

    /// Whether it may be an id: no time, no amount with a fraction, no sentence.
    pub(super) fn may_be_id(&self) -> bool {
        self.may_be_called_id() && !self.has_fractions()
    }

    /// Whether it may be an id where its name says that it is one: `4100.06` is an amount but for that.
    pub(super) fn may_be_called_id(&self) -> bool {
        self.with_at == 0.0
            && self.urls == 0.0
            && self.max_length <= 80
            && self.with_blank < 0.5
            && self.times.as_ref().is_none_or(|times| times.form.as_deref() == Some("%Y%m%d"))
    }

    /// Whether they are amounts with a fraction.
    pub(super) fn has_fractions(&self) -> bool {
        self.amounts.as_ref().is_some_and(|(form, _)| *form != AmountForm::Whole)
    }

    /// The least and the greatest whole number.
    pub(super) fn range(&self) -> Option<(i64, i64)> {
        let whole = self.whole.as_ref()?;
        Some((*whole.iter().flatten().min()?, *whole.iter().flatten().max()?))
    }
}

fn is_phone(text: &str) -> bool {
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    (7..=15).contains(&digits)
        && text.chars().all(|letter| letter.is_ascii_digit() || " +-/()".contains(letter))
        && (text.starts_with('+') || text.starts_with("00") || text.contains(' ') || text.contains('/'))
}

/// `2`, and `2.0` or `2,00` of sheets that have no whole numbers.
fn whole(column: &Column) -> Option<Vec<Option<i64>>> {
    let is_padded = are_padded(column);
    let read = |text: &String| {
        let text = counted(text).unwrap_or(text.trim());
        let plain = text.split_once(['.', ',']).map_or(Some(text), |(whole, rest)| {
            (!rest.is_empty() && rest.bytes().all(|byte| byte == b'0')).then_some(whole)
        })?;
        // A number with zeros in front is an id.
        if !is_padded && plain.len() > 1 && plain.trim_start_matches('-').starts_with('0') {
            return None;
        }
        plain.parse::<i64>().ok()
    };
    all(column, read)
}

/// Numbers of a field of fixed width, `00002` and `00010`: all of one length, and the same few again and again.
fn are_padded(column: &Column) -> bool {
    let mut texts = column.values.iter().flatten();
    let Some(first) = texts.clone().next() else { return false };
    let is_alike =
        |text: &String| text.len() == first.len() && text.bytes().all(|byte| byte.is_ascii_digit());
    let different: BTreeSet<&String> = texts.clone().collect();
    let filled = texts.clone().count();
    first.len() > 1 && different.len() * 2 <= filled && texts.all(is_alike)
}

fn amounts(column: &Column) -> Option<(AmountForm, Vec<Option<Decimal>>)> {
    if are_codes_with_a_point(column) || are_codes_with_a_front(column) {
        return None;
    }
    let decimal = |text: &String| model::money::parse_amount(text.trim());
    if let Some(amounts) = all(column, decimal) {
        let is_whole = column.values.iter().flatten().all(|text| !text.contains('.'));
        return Some((if is_whole { AmountForm::Whole } else { AmountForm::Decimal }, amounts));
    }
    for (form, point) in [(AmountForm::Comma, ','), (AmountForm::Point, '.')] {
        let read =
            |text: &String| as_people_write(text, point).and_then(|text| model::money::parse_amount(&text));
        // "1.250" is a thousand and something only where other values tell it.
        let tells = column.values.iter().flatten().any(|text| {
            let digits_behind =
                text.rsplit_once(point).map(|(_, rest)| rest.bytes().take_while(u8::is_ascii_digit).count());
            digits_behind.is_some_and(|digits| (1..=2).contains(&digits))
                || text.chars().any(|letter| !letter.is_ascii_digit() && !".,-".contains(letter))
        });
        if tells && let Some(amounts) = all(column, read) {
            return Some((form, amounts));
        }
    }
    None
}

/// How many decimals no amount has that is not written to be a code.
const DECIMALS_OF_A_CODE: usize = 3;

/// How many digits before one decimal no amount has that is not written to be a code.
const DIGITS_OF_A_CODE: usize = 4;

/// `4005.1`, `20001.002`, `20002.017`: all of one width, with three decimals or more, or one, that
/// are no zeros at their end.
fn are_codes_with_a_point(column: &Column) -> bool {
    let mut parts = column.values.iter().flatten().map(|text| text.trim().split_once('.'));
    let Some(Some((front, end))) = parts.next() else { return false };
    let is_alike = |part: Option<(&str, &str)>| {
        part.is_some_and(|(own_front, own_end)| {
            own_front.len() == front.len()
                && own_end.len() == end.len()
                && (own_front.bytes().chain(own_end.bytes())).all(|byte| byte.is_ascii_digit())
        })
    };
    let all = column.values.iter().flatten();
    let round = all.clone().filter(|text| text.ends_with('0')).count();
    // One decimal behind four digits or more, written as a text, is no amount either: those of that size have two.
    let is_code = end.len() >= DECIMALS_OF_A_CODE
        || end.len() == 1 && front.len() >= DIGITS_OF_A_CODE && !column.is_number;
    is_code && parts.all(is_alike) && round * 3 < all.count()
}

/// `SHP31007`, `shp-00041`: letters, that may be those of a currency, and a whole number right behind them or behind a mark.
fn are_codes_with_a_front(column: &Column) -> bool {
    let is_code = |text: &String| {
        let text = text.trim();
        let behind = text.trim_start_matches(|letter: char| letter.is_ascii_alphabetic());
        let is_lettered = behind.len() < text.len();
        let behind = behind.strip_prefix(['-', '_', '/', '#']).unwrap_or(behind);
        is_lettered && behind.len() >= 3 && behind.bytes().all(|byte| byte.is_ascii_digit())
    };
    column.values.iter().flatten().all(is_code)
}

/// Words for how many there are of something. Common practice, no published source.
const COUNT_WORDS: &[&str] = &[
    "x", "×", "stk", "stck", "stuck", "stück", "st", "pcs", "pc", "pce", "pces", "piece", "pieces", "pièce",
    "pièces", "unit", "units", "unite", "unité", "unités", "ud", "uds", "unid", "unidad", "unidades", "pz",
    "pza", "pzas", "pzs", "pieza", "piezas", "ex", "ea", "each", "off", "no",
];

/// How many, of `2 Stk`, `x2`, `3 pcs.`.
pub(super) fn counted(text: &str) -> Option<&str> {
    let text = text.trim();
    let start = text.find(|letter: char| letter.is_ascii_digit())?;
    let length = text[start..].bytes().take_while(u8::is_ascii_digit).count();
    let (front, end) = (&text[..start], &text[start + length..]);
    let is_word = |word: &str| {
        let word = word.trim().trim_matches('.').trim().to_lowercase();
        word.is_empty() || COUNT_WORDS.contains(&word.as_str())
    };
    let has_word = !front.trim().is_empty() || !end.trim().is_empty();
    (length <= 4 && has_word && is_word(front) && is_word(end)).then_some(&text[start..start + length])
}

fn all<T>(column: &Column, read: impl Fn(&String) -> Option<T>) -> Option<Vec<Option<T>>> {
    let mut values = Vec::with_capacity(column.values.len());
    for value in &column.values {
        values.push(match value {
            None => None,
            Some(text) => Some(read(text)?),
        });
    }
    values.iter().any(Option::is_some).then_some(values)
}

/// The different values of a column.
pub(super) fn set(column: &Column) -> BTreeSet<&str> {
    column.values.iter().flatten().map(String::as_str).collect()
}
