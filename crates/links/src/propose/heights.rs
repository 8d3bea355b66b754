//! Children's sizes: body heights, and the ages that they are sold for.
//!
//! Must not know products. Start reading at [`is_same_child`].

use super::row::Size;
use super::words::Words;

/// Body heights of children's clothing, in centimetres (EN 13402-3 has them in steps of six).
pub(super) const HEIGHTS: std::ops::RangeInclusive<u32> = 50..=188;

/// Whether an age is the one for which a height is sold, or a height lies between the two of one size: '3-4 years' for
/// '98/104', '140' for '134/146'.
pub(super) fn is_same_child(one: &Size, other: &Size, words: &Words) -> bool {
    let (Some(one), Some(other)) = (Child::of(one, words), Child::of(other, words)) else { return false };
    if one.is_of_age && other.is_of_age {
        return false;
    }
    let is_within = |point: &[u32], range: &[u32]| matches!((point, range), ([point], [from, to]) if from <= point && point <= to && to - from <= WIDEST);
    let is_same = one.heights == other.heights && one.heights.len() == 2;
    is_same || is_within(&one.heights, &other.heights) || is_within(&other.heights, &one.heights)
}

/// Centimetres between the ends of the widest size: two years and a bit.
const WIDEST: u32 = 12;

/// A size of a child.
struct Child {
    /// One height, or from which to which.
    heights: Vec<u32>,
    /// Whether ages are said.
    is_of_age: bool,
}

impl Child {
    fn of(size: &Size, words: &Words) -> Option<Self> {
        let numbers: Vec<u32> =
            size.numbers.iter().map(|number| words.text(*number).parse().ok()).collect::<Option<_>>()?;
        if !(1..=2).contains(&numbers.len()) {
            return None;
        }
        let is_of_age =
            size.read.is_some_and(|read| words.text(read).ends_with('Y') && words.has_digit(read));
        if is_of_age {
            // From two years on a child of so many years is about 80 cm tall and 6 cm for each. Common practice, no published
            // source.
            let height = |age: u32| (2..=14).contains(&age).then_some(80 + 6 * age);
            return Some(Self {
                heights: numbers.into_iter().map(height).collect::<Option<_>>()?,
                is_of_age,
            });
        }
        let is_plain = size.read.is_none_or(|read| {
            let read = words.text(read);
            let read = read.strip_suffix(" cm").unwrap_or(read);
            read.chars().all(|sign| sign.is_ascii_digit() || matches!(sign, '-' | '/'))
        });
        // Two sides are no heights.
        let has_sides = size.said.iter().any(|said| words.text(*said).contains('x'));
        let is_height = !has_sides && is_plain && numbers.iter().all(|number| HEIGHTS.contains(number));
        (is_height && numbers.is_sorted()).then_some(Self { heights: numbers, is_of_age })
    }
}
