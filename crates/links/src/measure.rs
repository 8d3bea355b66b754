//! Sizes made of numbers: `3T`, `6-12M`, `11 oz`, `12x18 in`, `42`.
//!
//! Owns how numbers, units and the signs between them make one size. Nothing is ever converted. Must not know
//! what else the text says. Start reading at [`measure`].

use crate::text::{Text, is_dash};
use crate::vocabulary::{Unit, Units};

/// What numbers and units say together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Measured {
    /// A size, as readings write it.
    Size { name: String, is_volume: bool },
    /// A number, or a range of numbers, without a unit.
    Number(String),
    /// Belongs together, and is no size that is read: `8x10` of who knows what.
    Unreadable,
}

/// Longest number that is read; longer ones are codes.
const DIGITS_AT_MOST: usize = 6;

/// Most numbers of one size: width, height and depth.
const NUMBERS_AT_MOST: usize = 3;

/// Reads the longest measure that begins with a word and ends with one: what it says, and the word behind it.
///
/// `default_unit` is for numbers without one. `None` where the word begins no measure.
pub(crate) fn measure(
    text: &Text<'_>,
    from: usize,
    units: &Units,
    default_unit: Option<usize>,
) -> Option<(Measured, usize)> {
    let start = text.words().get(from)?.plain.start;
    let plain = text.plain();
    if !plain[start..].starts_with(|sign: char| sign.is_ascii_digit())
        || plain[..start].ends_with(['$', '€', '£', '¥', '#', '%'])
    {
        return None;
    }
    let mut amounts = vec![Amount::at(plain, start, units)?];
    let mut signs: Vec<Sign> = Vec::new();
    let mut whole = None;
    loop {
        let last = amounts.last()?;
        if let Some(behind) = word_behind(text, from, last.end) {
            whole = Some((amounts.len(), behind));
        }
        if amounts.len() > NUMBERS_AT_MOST {
            break;
        }
        let next = Sign::at(plain, last.end, last.unit.is_some())
            .and_then(|(sign, end)| Some((sign, Amount::at(plain, end, units)?)));
        let Some((sign, amount)) = next else { break };
        signs.push(sign);
        amounts.push(amount);
    }
    let (count, behind) = whole?;
    amounts.truncate(count);
    signs.truncate(count - 1);
    Some((judge(&amounts, &signs, units, default_unit)?, behind))
}

/// The word behind a place in the text; `None` where the place is inside a word.
fn word_behind(text: &Text<'_>, from: usize, end: usize) -> Option<usize> {
    let words = text.words().iter().enumerate().skip(from);
    let behind = words.take_while(|(_, word)| word.plain.start < end).last()?;
    (behind.1.plain.end <= end).then_some(behind.0 + 1)
}

fn judge(amounts: &[Amount], signs: &[Sign], units: &Units, default_unit: Option<usize>) -> Option<Measured> {
    let given = amounts.iter().find_map(|amount| amount.unit).or(default_unit);
    let several = amounts.iter().filter_map(|amount| amount.unit).any(|unit| Some(unit) != given);
    let unit = given.and_then(|unit| units.all.get(unit));
    let is_abbreviated = amounts.iter().any(|amount| amount.is_abbreviated);
    let all_known = || unit.is_some_and(|unit| amounts.iter().all(|amount| unit.knows(amount)));
    if is_abbreviated && !all_known() {
        return (amounts.len() > 1).then_some(Measured::Unreadable);
    }
    let joined =
        |sign: &str| amounts.iter().map(|amount| amount.value.as_str()).collect::<Vec<_>>().join(sign);
    let rises =
        || amounts.windows(2).all(|pair| pair[0].whole().zip(pair[1].whole()).is_some_and(|(a, b)| a < b));
    let is_range = signs.iter().all(|sign| *sign != Sign::Times) && signs.len() == 1 && rises();
    let is_area = signs.iter().all(|sign| *sign == Sign::Times) && amounts.len() <= NUMBERS_AT_MOST;
    if several || amounts.iter().any(|amount| amount.is_unclear) {
        return Some(Measured::Unreadable);
    }
    let size =
        |name: String, unit: &Unit| Measured::Size { name: name + &unit.suffix, is_volume: unit.is_volume };
    Some(match (amounts, unit) {
        ([amount], None) if amount.is_list() => Measured::Unreadable,
        ([amount], None) => Measured::Number(amount.value.clone()),
        ([amount], Some(unit)) if unit.has_ranges && amount.whole().is_none() => Measured::Unreadable,
        ([amount], Some(unit)) => size(amount.value.clone(), unit),
        (_, None) if is_range => Measured::Number(joined("-")),
        (_, Some(unit)) if is_range && unit.has_ranges => size(joined("-"), unit),
        (_, Some(unit)) if is_area && !unit.has_ranges && !unit.is_volume => size(joined("x"), unit),
        _ => Measured::Unreadable,
    })
}

impl Unit {
    /// Whether an abbreviation of the unit is read with this number.
    fn knows(&self, amount: &Amount) -> bool {
        self.numbers
            .as_ref()
            .is_none_or(|numbers| amount.whole().is_some_and(|whole| numbers.contains(&whole)))
    }
}

/// What stands between two numbers of one size.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Sign {
    Times,
    To,
    Slash,
}

impl Sign {
    /// The sign at a place, and where the number behind it begins.
    ///
    /// A dash with blanks after a number with a unit is a separator: `11 oz - 2 pack`.
    fn at(plain: &str, at: usize, has_unit: bool) -> Option<(Self, usize)> {
        let tail = &plain[at..];
        let rest = tail.trim_start();
        let spaced = rest.len() < tail.len();
        let sign = rest.chars().next()?;
        let (found, behind) = if let Some(behind) = rest.strip_prefix(['x', '×']) {
            (Self::Times, behind)
        } else if let Some(behind) = rest.strip_prefix("by ").filter(|_| spaced) {
            (Self::Times, behind)
        } else if let Some(behind) =
            ["to ", "bis "].iter().find_map(|word| rest.strip_prefix(word)).filter(|_| spaced)
        {
            (Self::To, behind)
        } else if is_dash(sign) {
            let behind = &rest[sign.len_utf8()..];
            let spaced = spaced || behind.starts_with(char::is_whitespace);
            if spaced && has_unit {
                return None;
            }
            (Self::To, behind)
        } else if let Some(behind) = rest.strip_prefix('/').filter(|_| !spaced) {
            return behind
                .starts_with(|next: char| next.is_ascii_digit())
                .then_some((Self::Slash, plain.len() - behind.len()));
        } else {
            return None;
        };
        let number = behind.trim_start();
        number.starts_with(|next: char| next.is_ascii_digit()).then_some((found, plain.len() - number.len()))
    }
}

/// A number, with its unit where it has one.
#[derive(Clone, Debug)]
struct Amount {
    /// Without leading zeros, with a decimal point.
    value: String,
    /// A decimal comma was written, and so many digits after it.
    digits_after_comma: usize,
    unit: Option<usize>,
    /// The unit is an abbreviation that could mean something else.
    is_abbreviated: bool,
    /// A fraction, or so many digits that it is a code.
    is_unclear: bool,
    /// Where it ends in the text.
    end: usize,
}

impl Amount {
    fn at(plain: &str, at: usize, units: &Units) -> Option<Self> {
        let digits = |at: usize| at + plain[at..].bytes().take_while(u8::is_ascii_digit).count();
        let mut end = digits(at);
        if end == at {
            return None;
        }
        let mut value = plain[at..end].trim_start_matches('0').to_owned();
        if value.is_empty() {
            value.push('0');
        }
        let mut is_unclear = end - at > DIGITS_AT_MOST;
        let mut digits_after_comma = 0;
        if let Some(point) = plain[end..].chars().next().filter(|sign| matches!(sign, '.' | ',')) {
            let decimals = digits(end + 1);
            if decimals > end + 1 {
                let written = plain[end + 1..decimals].trim_end_matches('0');
                if !written.is_empty() {
                    value.push('.');
                    value.push_str(written);
                }
                if point == ',' {
                    digits_after_comma = decimals - end - 1;
                }
                end = decimals;
            }
        }
        // Thousands, or a fraction such as a half behind a whole number.
        is_unclear |= digits_after_comma == 3;
        if let Some(fraction) = plain[end..].strip_prefix('\u{2044}') {
            is_unclear = true;
            end = digits(plain.len() - fraction.len());
        }
        let mut amount =
            Self { value, digits_after_comma, unit: None, is_abbreviated: false, is_unclear, end };
        amount.take_unit(plain, units);
        Some(amount)
    }

    fn take_unit(&mut self, plain: &str, units: &Units) {
        let tail = &plain[self.end..];
        if let Some((mark, unit)) = units.marks.iter().find(|(mark, _)| tail.starts_with(mark)) {
            self.unit = Some(*unit);
            self.end += mark.len();
            return;
        }
        let rest = tail.strip_prefix([' ', '-']).unwrap_or(tail);
        let is_glued = rest.len() == tail.len();
        let word = unit_word(rest);
        if word.is_empty() {
            return;
        }
        let behind = &rest[word.len()..];
        let second = unit_word(behind.trim_start_matches(['.', ' ']));
        let both = format!("{word} {second}");
        if let Some(unit) = units.words.get(&both) {
            self.unit = Some(*unit);
            self.end = plain.len() - behind.trim_start_matches(['.', ' ']).len() + second.len();
        } else if let Some(unit) = units.words.get(word).filter(|_| !is_preposition(word, is_glued, behind)) {
            self.unit = Some(*unit);
            self.end = plain.len() - behind.len();
        } else if let Some(unit) = units.glued.get(word).filter(|_| is_glued) {
            self.unit = Some(*unit);
            self.is_abbreviated = true;
            self.end = plain.len() - behind.len();
        }
    }

    fn whole(&self) -> Option<u32> {
        self.value.parse().ok()
    }

    /// Whether it could be two numbers with a comma between them.
    fn is_list(&self) -> bool {
        self.digits_after_comma > 1
    }
}

/// The letters that a text begins with, up to an `x` that stands before the next number.
fn unit_word(text: &str) -> &str {
    let end = text.find(|letter: char| !letter.is_alphabetic()).unwrap_or(text.len());
    let (word, behind) = text.split_at(end);
    match word.strip_suffix('x') {
        Some(unit) if behind.starts_with(|next: char| next.is_ascii_digit()) => unit,
        _ => word,
    }
}

/// 'In' before another number is no inch: '2 in 1'.
fn is_preposition(word: &str, is_glued: bool, behind: &str) -> bool {
    let next = behind.trim_start();
    word == "in"
        && !is_glued
        && next.len() < behind.len()
        && next.starts_with(|next: char| next.is_ascii_digit())
}
