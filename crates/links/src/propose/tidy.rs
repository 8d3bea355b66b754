//! Options without the marks that people put around their values: '1) Small', 'c. Navy', 'BlackXL', '13+'.
//!
//! Owns what is a mark. Must not know what a value means, beyond the words for units. Start reading at [`tidied`].

use std::collections::{BTreeMap, BTreeSet};

use model::Options;

use crate::text::Text;
use crate::vocabulary::Vocabulary;

/// What stands between the ends of a range, in the languages that are read.
const BETWEEN: [&str; 5] = [" to ", " bis ", " à ", " a ", " - "];

/// Whose sizes a number is, where it stands right behind: 'EU40'.
pub(super) const REGIONS: [&str; 3] = ["eu", "uk", "us"];

/// Letter sizes as they are shortened: 'Y-MED'. Common practice, no published source.
const SHORT: [&str; 10] = ["sm", "sml", "small", "med", "md", "medium", "lg", "lge", "lrg", "large"];

/// The options of rows that one hand has written, without their marks; in the order of the rows.
pub(super) fn tidied(vocabulary: &Vocabulary, rows: &[&Options]) -> Vec<Options> {
    let mut values: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for options in rows {
        for (name, value) in options.iter() {
            values.entry(name).or_default().insert(value);
        }
    }
    let numbered: BTreeSet<&str> =
        values.iter().filter(|(_, values)| is_numbered(vocabulary, values)).map(|(name, _)| *name).collect();
    rows.iter()
        .map(|options| {
            let pairs = options.iter().map(|(name, value)| {
                let value = if numbered.contains(name) {
                    marked(value).map_or(value, |(_, rest)| rest)
                } else {
                    value
                };
                (name.to_owned(), spelled_apart(value))
            });
            Options::from_pairs(pairs).unwrap_or_else(|_| (*options).clone())
        })
        .collect()
}

/// Whether the values of an option are numbered: each has another mark, and says something else behind it.
fn is_numbered(vocabulary: &Vocabulary, values: &BTreeSet<&str>) -> bool {
    let marked: Option<Vec<(&str, &str)>> = values.iter().map(|value| marked(value)).collect();
    let Some(marked) = marked else { return false };
    // One value alone is numbered only where the sign says so.
    if marked.len() < 2
        && !values.iter().all(|value| value.trim_start_matches(char::is_alphanumeric).starts_with(')'))
    {
        return false;
    }
    let is_unit = |rest: &str| {
        if is_letter_size(rest) {
            return false;
        }
        let folded = model::text::fold(rest);
        let text = Text::of(folded.as_str());
        let first = text.key(0);
        let is_range = BETWEEN.iter().any(|between| between.trim() == first);
        is_range
            || first == "x" && text.key(1).starts_with(|letter: char| letter.is_ascii_digit())
            || vocabulary.units.words.contains_key(first)
            || vocabulary.units.glued.contains_key(first)
    };
    let marks: BTreeSet<&str> = marked.iter().map(|(mark, _)| *mark).collect();
    let rests: BTreeSet<&str> = marked.iter().map(|(_, rest)| *rest).collect();
    marks.len() == marked.len() && rests.len() == marked.len() && !rests.iter().any(|rest| is_unit(rest))
}

/// A value's mark and what follows: a number of up to two digits, or a letter with a sign behind it.
fn marked(value: &str) -> Option<(&str, &str)> {
    let start = value.trim_start_matches(|sign: char| sign.is_whitespace() || matches!(sign, '#' | '('));
    let end = start.find(|sign: char| !sign.is_alphanumeric())?;
    let (mark, rest) = start.split_at(end);
    let is_number = (1..=2).contains(&mark.len()) && mark.bytes().all(|digit| digit.is_ascii_digit());
    let is_letter = mark.len() == 1 && rest.starts_with(['.', ')', ':']);
    let rest =
        rest.trim_start_matches(|sign: char| sign.is_whitespace() || matches!(sign, '.' | ')' | ':' | '-'));
    let goes_on = rest.chars().next().is_some_and(char::is_alphabetic);
    ((is_number || is_letter) && goes_on).then_some((mark, rest))
}

/// A value whose words stand apart: 'BlackXL' is 'Black XL', '13+' is '13 plus', 'Y-S' is 'youth S'.
fn spelled_apart(value: &str) -> String {
    let value = measured(&value.replace("&amp;", "&").replace(" w/", " with "));
    let mut apart = String::with_capacity(value.len() + 4);
    let mut letters = value.char_indices().peekable();
    let mut before = ' ';
    while let Some((at, letter)) = letters.next() {
        let next = letters.peek().map(|(_, next)| *next);
        let is_region =
            letter.is_ascii_digit() && REGIONS.iter().any(|region| ends_with_word(&apart, region));
        let is_size = || letter.is_ascii_digit() && is_letter_size(&value[at..]);
        if before.is_lowercase() && (letter.is_uppercase() || is_size()) || is_region {
            apart.push(' ');
        }
        let is_plus = letter == '+'
            && before.is_ascii_digit()
            && next.is_none_or(|next| next.is_whitespace() || matches!(next, ')' | ','));
        if is_plus {
            apart.push_str(" plus");
        } else {
            apart.push(letter);
        }
        before = letter;
    }
    let apart = ranged(&apart);
    let is_size = |size: &str| is_letter_size(size) || SHORT.contains(&size.to_ascii_lowercase().as_str());
    match apart.split_once('-') {
        Some((who, size)) if who.eq_ignore_ascii_case("y") && is_size(size) => format!("youth {size}"),
        Some((who, size)) if who.eq_ignore_ascii_case("a") && is_size(size) => format!("adult {size}"),
        _ => apart,
    }
}

/// Halves and quarters behind a number as decimals, and litres with their number: '5½ in' is '5.5 in', '0,5 l' is '0.5l'.
fn measured(value: &str) -> String {
    const PARTS: [(&str, &str); 6] =
        [("½", "5"), ("¼", "25"), ("¾", "75"), (" 1/2", "5"), (" 1/4", "25"), (" 3/4", "75")];
    let is_digit = |sign: char| sign.is_ascii_digit();
    if !value.contains(['½', '¼', '¾', '/']) && !value.ends_with(['l', 'L']) {
        return value.to_owned();
    }
    let mut measured = value.to_owned();
    for (part, decimals) in PARTS {
        let Some((whole, rest)) = measured.split_once(part) else { continue };
        let whole = whole.trim_end();
        let number = whole.trim_end_matches(is_digit).len();
        let is_whole = number < whole.len() && !whole[..number].ends_with(['.', ',', '/']);
        if is_whole && !rest.starts_with(is_digit) {
            measured = format!("{whole}.{decimals}{rest}");
        }
    }
    let Some((before, unit)) = measured.rsplit_once(' ') else { return measured };
    let number = before.rsplit(' ').next().unwrap_or_default();
    let is_decimal = number.split_once(['.', ',']).is_some_and(|(whole, decimals)| {
        !whole.is_empty() && !decimals.is_empty() && whole.chars().chain(decimals.chars()).all(is_digit)
    });
    if is_decimal && unit.eq_ignore_ascii_case("l") { format!("{before}l") } else { measured }
}

fn ends_with_word(text: &str, word: &str) -> bool {
    let mut letters = text.chars().rev();
    word.chars().rev().all(|letter| letters.next().is_some_and(|other| other.eq_ignore_ascii_case(&letter)))
        && !letters.next().is_some_and(char::is_alphanumeric)
}

/// '3 to 6 months' as '3-6 months'.
fn ranged(value: &str) -> String {
    for between in BETWEEN {
        if let Some((from, to)) = value.split_once(between)
            && from.ends_with(|letter: char| letter.is_ascii_digit())
            && to.starts_with(|letter: char| letter.is_ascii_digit())
        {
            return format!("{from}-{to}");
        }
    }
    value.to_owned()
}

fn is_letter_size(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= 4
        && text.chars().all(|letter| matches!(letter.to_ascii_lowercase(), 's' | 'm' | 'l' | 'x' | '2'..='6'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(values: &[&str], want: &[&str]) {
        let rows: Vec<Options> =
            values.iter().filter_map(|value| Options::from_pairs([("Size", *value)]).ok()).collect();
        let tidy = tidied(&Vocabulary::built_in(), &rows.iter().collect::<Vec<_>>());
        let tidy: Vec<&str> = tidy.iter().flat_map(Options::iter).map(|(_, value)| value).collect();
        assert_eq!(tidy, want);
    }

    #[test]
    fn a_numbered_list_loses_its_numbers() {
        check(&["01. S", "02. M"], &["S", "M"]);
        check(&["3 Medium", "4 Large", "5 X-Large"], &["Medium", "Large", "X-Large"]);
        check(&["a) Navy", "b) Moss"], &["Navy", "Moss"]);
        check(&["#1 Mug", "#2 Bowl"], &["Mug", "Bowl"]);
    }

    #[test]
    fn numbers_that_say_something_stay() {
        check(&["11 oz", "15 oz"], &["11 oz", "15 oz"]);
        check(&["8 oz mug", "11 oz mug, white"], &["8 oz mug", "11 oz mug, white"]);
        check(&["8 x 10 in", "12 x 18 in"], &["8 x 10 in", "12 x 18 in"]);
        check(&["2 years", "4 years old"], &["2 years", "4 years old"]);
        check(&["3 Medium"], &["3 Medium"]);
        check(&["1 red", "1 blue"], &["1 red", "1 blue"]);
    }

    #[test]
    fn words_written_as_one_stand_apart() {
        check(
            &["BlackXL", "Black3XL", "Pomelo 13+", "Y-S", "A-2XL", "2XL (+3)", "3 to 6 months", "EU40"],
            &[
                "Black XL",
                "Black 3XL",
                "Pomelo 13 plus",
                "youth S",
                "adult 2XL",
                "2XL (+3)",
                "3-6 months",
                "EU 40",
            ],
        );
    }
}
