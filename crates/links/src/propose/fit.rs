//! How an offer's size and colour stand to those that a product comes in.
//!
//! Owns when a shortened or lengthened colour is the product's: only where exactly one fits. Must not know other
//! offers. Start reading at [`fit_size`] and [`fit_tail`].

use super::family::{Family, SizeKey};
use super::heights::{HEIGHTS, is_same_child};
use super::hues::Hues;
use super::row::{Row, RowWord, Size};
use super::words::{Word, WordSet, Words};
use crate::close::{BEFORE_COLOURS, Part};

/// How what is said stands to what there is. Numbers are places among the family's sizes or tails.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Fit {
    /// There is nothing to choose.
    Free,
    /// Exactly one is said.
    One(usize, How),
    /// Several can be meant.
    Several(Vec<usize>),
    /// Something is said, and no variant is that.
    NotMade,
    /// Nothing is said, and there is something to choose.
    Unsaid,
    /// Words are said of which nobody knows whether they are about this.
    Unclear,
}

/// In which way one was found; the surer one first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum How {
    /// In the same words, or in words of the same meaning.
    Same,
    /// With more words than the product's.
    Longer,
    /// With fewer words than the product's.
    Shorter,
    /// By its numbers alone.
    Numbers,
    /// In another unit.
    Converted,
    /// The size for grown-ups, where none is said for whom.
    Adult,
}

impl Fit {
    /// Whether it is known which one is meant.
    pub(super) fn is_said(&self) -> bool {
        matches!(self, Self::Free | Self::One(..))
    }

    /// The places that can be meant.
    pub(super) fn places(&self, count: usize) -> Vec<usize> {
        match self {
            Self::Free | Self::Unsaid | Self::Unclear => (0..count).collect(),
            Self::One(place, _) => vec![*place],
            Self::Several(places) => places.clone(),
            Self::NotMade => Vec::new(),
        }
    }

    fn of(places: Vec<usize>, how: How) -> Self {
        match places.as_slice() {
            [] => Self::NotMade,
            [place] => Self::One(*place, how),
            _ => Self::Several(places),
        }
    }
}

/// The family's size that an offer says.
pub(super) fn fit_size(offer: &Row, family: &Family, adult: Word, words: &Words) -> Fit {
    // 'Baby 2T' is a toddler's 2T: where an age is the size, it is what says for whom it is.
    let is_small_child = |age: Word| matches!(words.text(age), "baby" | "toddler");
    // The size M has no number, and is no age.
    let says_age = offer
        .size
        .read
        .is_some_and(|read| words.has_digit(read) && matches!(unit_of(words.text(read)), "T" | "Y" | "M"));
    let of_age = |key: &SizeKey| match (key.age_group, offer.age_group) {
        (Some(made), Some(said)) => made == said || is_small_child(made) && is_small_child(said) && says_age,
        _ => true,
    };
    let all = || (0..family.sizes.len()).filter(|place| of_age(&family.sizes[*place]));
    let says = |word: Word| offer.words.iter().any(|said| said.word == word);
    let says_words = |words: &WordSet| !words.is_empty() && words.iter().all(says);
    let is_said = |place: &usize| {
        let made = &family.sizes[*place].size;
        match &offer.size.read {
            Some(read) => made.read.map_or_else(|| made.said.contains(read), |made| made == *read),
            None => {
                made.said.iter().any(|made| offer.size.said.contains(made))
                    || says_words(&family.sizes[*place].words)
            }
        }
    };
    let (read, said) = (offer.size.read, &offer.size.numbers);
    let made = |place: usize| &family.sizes[place].size;
    // A '2X' is a 2XL, and a 2 is none.
    let says_x = || {
        let mut said = offer.words.iter().chain(&offer.size_words).map(|word| words.text(word.word));
        said.any(|text| text.contains('x') && text.contains(|sign: char| sign.is_ascii_digit()))
    };
    let is_letters = |size: &Size| {
        size.read.is_some_and(|read| words.text(read).ends_with("XL") || words.text(read).ends_with("XS"))
    };
    let same_numbers = |place: &usize| {
        same_numbers(&offer.size, made(*place), words) && (!is_letters(made(*place)) || says_x())
    };
    // '7-8 years' for '122/128 (7-8)'.
    let holds =
        |place: &usize| said.len() > 1 && made(*place).numbers.windows(said.len()).any(|part| part == said);
    // 'EU 40 / UK 6.5' for 'EU 40'.
    let is_first = |place: &usize| {
        let made = &made(*place).numbers;
        read.is_none() && !made.is_empty() && offer.size.said.len() > 1 && said.starts_with(made)
    };
    let measure = |size: Option<Word>| size.and_then(|size| Measure::of(words.text(size)));
    // 'Small, 75 x 100 cm' says it in two ways.
    let measures: Vec<Measure> = match read {
        Some(read) => measure(Some(read)).into_iter().collect(),
        None => offer.size.said.iter().filter_map(|said| measure(Some(*said))).collect(),
    };
    let is_about = |place: &usize| {
        let made = made(*place);
        // '500 ml (17 oz)' is said in two ways as well.
        let mut made = made.read.iter().chain(made.said.iter().filter(|_| made.read.is_none()));
        made.any(|made| {
            measure(Some(*made)).is_some_and(|made| measures.iter().any(|said| said.is_about(&made)))
        })
    };
    let found = |how: How, fits: &dyn Fn(&usize) -> bool| {
        let found: Vec<usize> = all().filter(|place| fits(place)).collect();
        (!found.is_empty()).then_some((how, found))
    };
    // '3-4 years (98/104)' for '98/104'.
    let is_held = |place: &usize| {
        let made = &made(*place).numbers;
        made.len() > 1 && said.len() > made.len() && said.windows(made.len()).any(|part| part == made)
    };
    // A height of 104 cm for '98/104': the sizes of children's clothing are body heights (EN 13402-3), and suppliers make
    // two in one. Two sides are no heights: '30 x 50' is not '50 x 50'.
    let has_sides = |size: &Word| words.text(*size).contains('x');
    let says_sides = offer.size.said.iter().chain(&read).any(has_sides);
    let is_height = |place: &usize| {
        if says_sides || made(*place).said.iter().chain(&made(*place).read).any(has_sides) {
            return false;
        }
        let made = &made(*place).numbers;
        let height =
            |number: &Word| words.text(*number).parse::<u32>().is_ok_and(|height| HEIGHTS.contains(&height));
        let heights: Vec<&Word> = said.iter().filter(|said| height(said)).collect();
        matches!(heights.as_slice(), [said] if made.len() == 2 && made.contains(said))
            && made.iter().all(height)
    };
    // 'Age 10' for '9-11 years'.
    let is_age_within = |place: &usize| {
        let is_of_years = |read: Word| words.text(read).ends_with('Y') && words.text(read).contains('-');
        let unit = read.map_or("", |read| unit_of(words.text(read)));
        let years = |number: &Word| words.text(*number).parse::<u32>().ok();
        let is_within = |age: u32, made: &[Word]| matches!(made, [from, to] if years(from).is_some_and(|from| from <= age) && years(to).is_some_and(|to| age <= to));
        let made = made(*place);
        matches!(unit, "" | "Y")
            && made.read.iter().chain(&made.said).any(|read| is_of_years(*read))
            && matches!(said.as_slice(), [age] if years(age).is_some_and(|age| is_within(age, &made.numbers)))
    };
    let is_child = |place: &usize| is_same_child(&offer.size, made(*place), words);
    let (how, mut found) = found(How::Same, &is_said)
        .or_else(|| found(How::Numbers, &same_numbers))
        .or_else(|| found(How::Numbers, &holds))
        .or_else(|| found(How::Numbers, &is_held))
        .or_else(|| found(How::Numbers, &is_height))
        .or_else(|| found(How::Numbers, &is_first))
        .or_else(|| found(How::Numbers, &is_age_within))
        .or_else(|| found(How::Converted, &is_child))
        .or_else(|| found(How::Converted, &is_about))
        .unwrap_or((How::Same, Vec::new()));
    // 'Kestrel 5a plus' is no 'Kestrel 5a': the size of which most is said.
    if how == How::Same {
        let most = found.iter().map(|place| family.sizes[*place].words.len()).max();
        found.retain(|place| Some(family.sizes[*place].words.len()) == most);
    }
    // A British 10 is no American 10.
    let of_region = |place: &usize| {
        let made = &family.sizes[*place].regions;
        made.is_empty() || offer.regions.is_empty() || !made.both(&offer.regions).is_empty()
    };
    found.retain(of_region);
    let says_size = offer.size.read.is_some() || !offer.size.said.is_empty();
    if found.is_empty() {
        let of_age: Vec<usize> = all().collect();
        let says_none = |place: &usize| {
            let size = &family.sizes[*place].size;
            size.read.is_none() && size.said.is_empty() && family.sizes[*place].words.is_empty()
        };
        let one_size = offer.size.read.is_some_and(|read| words.text(read) == "one size");
        return match of_age.as_slice() {
            [] => Fit::NotMade,
            [only] if !says_size || one_size || says_none(only) => Fit::Free,
            _ if says_size => Fit::NotMade,
            _ => Fit::Unsaid,
        };
    }
    // A youth M is not surely the M of a product that does not say for whom it is.
    let is_letter = |read: Word| {
        words.text(read).chars().all(|sign| sign.is_ascii_alphanumeric())
            && !words.text(read).ends_with(['T', 'Y'])
    };
    let is_for_all = |place: &usize| family.sizes[*place].age_group.is_none();
    if offer.age_group.is_some_and(|age| age != adult)
        && offer.size.read.is_some_and(is_letter)
        && how == How::Same
        && found.iter().all(is_for_all)
    {
        return Fit::Several(found);
    }
    if found.len() > 1 && offer.age_group.is_none() {
        let ages: Vec<Option<Word>> = found.iter().map(|place| family.sizes[*place].age_group).collect();
        let grown = found.iter().zip(&ages).filter(|(_, age)| age.is_none_or(|age| age == adult));
        let grown: Vec<usize> = grown.map(|(place, _)| *place).collect();
        if let [only] = grown.as_slice() {
            return Fit::One(*only, How::Adult);
        }
    }
    Fit::of(found, how)
}

/// Whether two sizes have the same numbers, where one of them says no unit, or one side of a square.
fn same_numbers(said: &Size, made: &Size, words: &Words) -> bool {
    if said.numbers.is_empty() || made.numbers.is_empty() {
        return false;
    }
    // An A3 is no S3, and no 3.
    let is_series = |size: &Size| {
        size.read.is_some_and(|read| {
            let text = words.text(read);
            text.starts_with(|sign: char| sign.is_ascii_alphabetic())
                && text.ends_with(|sign: char| sign.is_ascii_digit())
        })
    };
    if is_series(said) || is_series(made) {
        return false;
    }
    // A size that was not read says no unit.
    let unit = |size: &Size| size.read.map_or("", |size| unit_of(words.text(size)));
    let (said_unit, made_unit) = (unit(said), unit(made));
    // '45 cm' for '45 x 45 cm'.
    let is_side = |side: &[Word], square: &[Word]| {
        matches!(square, [one, other] if one == other) && side == &square[..1]
    };
    if is_side(&said.numbers, &made.numbers) || is_side(&made.numbers, &said.numbers) {
        return said_unit.is_empty() || made.read.is_none() || said_unit == made_unit;
    }
    // '3 years' for '3T'.
    let is_age = |unit: &str| matches!(unit, "Y" | "T");
    said.numbers == made.numbers
        && (is_age(said_unit) && is_age(made_unit) || said_unit.is_empty() || made_unit.is_empty())
}

/// A size in a unit that can be converted.
struct Measure {
    /// In millilitres or in centimetres.
    amounts: Vec<f64>,
    unit: &'static str,
    is_volume: bool,
}

impl Measure {
    /// Of a size in the vocabulary's words: `11 oz`, `12x18 in`. The fluid ounce of the United States is 29.57 ml, the
    /// inch 2.54 cm (NIST Handbook 44, appendix C).
    fn of(size: &str) -> Option<Self> {
        if let Some(amounts) = sheet(size) {
            return Some(Self { amounts, unit: "A", is_volume: false });
        }
        let (numbers, unit) = size.rsplit_once(' ')?;
        let (unit, factor, is_volume) = match unit {
            "oz" => ("oz", 29.57, true),
            "ml" => ("ml", 1.0, true),
            "cl" => ("cl", 10.0, true),
            "l" | "L" => ("l", 1000.0, true),
            "in" => ("in", 2.54, false),
            "cm" => ("cm", 1.0, false),
            _ => return None,
        };
        let amount = |number: &str| number.parse::<f64>().ok().map(|number| number * factor);
        Some(Self { amounts: numbers.split('x').map(amount).collect::<Option<_>>()?, unit, is_volume })
    }

    /// Whether two sizes in different units are one as they are rounded in the trade.
    fn is_about(&self, other: &Self) -> bool {
        /// How far two roundings of one size are apart, in parts of it. Common practice, no published source.
        const ROUNDED: f64 = 0.035;
        let is_near = |(one, other): (&f64, &f64)| (one - other).abs() <= ROUNDED * one.max(*other);
        // A cushion of 40 cm is one of 40 x 40 cm.
        let sides = |measure: &Self| match measure.amounts.as_slice() {
            [one, other] if !measure.is_volume && is_near((one, other)) => vec![*one],
            amounts => amounts.to_vec(),
        };
        let (one, another) = (sides(self), sides(other));
        self.unit != other.unit
            && self.is_volume == other.is_volume
            && one.len() == another.len()
            && one.iter().zip(&another).all(is_near)
    }
}

/// The sides of a sheet of paper of the A series, in centimetres (ISO 216).
fn sheet(size: &str) -> Option<Vec<f64>> {
    const SHEETS: [(&str, [f64; 2]); 7] = [
        ("A0", [84.1, 118.9]),
        ("A1", [59.4, 84.1]),
        ("A2", [42.0, 59.4]),
        ("A3", [29.7, 42.0]),
        ("A4", [21.0, 29.7]),
        ("A5", [14.8, 21.0]),
        ("A6", [10.5, 14.8]),
    ];
    SHEETS.iter().find(|(name, _)| *name == size).map(|(_, sides)| sides.to_vec())
}

/// What follows the last digit of a size.
fn unit_of(size: &str) -> &str {
    size.rsplit(|letter: char| letter.is_ascii_digit()).next().unwrap_or_default().trim()
}

/// The words of an offer that can say a tail of a family.
pub(super) struct TailWords {
    /// Colours and shades.
    pub(super) surely: WordSet,
    /// The same, with what stands where a colour does.
    coloured: WordSet,
    /// Words that nobody knows.
    pub(super) unknown: WordSet,
    /// Those of them that tell one of the family's tails.
    telling: WordSet,
    /// Whether one of them stands where a colour does.
    says_unlisted: bool,
    /// Words that only describe.
    describing: WordSet,
    /// Words of sizes.
    sizes: WordSet,
    /// Whether a colour is said that all of the family share.
    says_shared: bool,
}

impl TailWords {
    pub(super) fn of(offer: &Row, family: &Family) -> Self {
        let of = |wanted: &[Part]| -> WordSet {
            let words = offer.words.iter().filter(|word| wanted.contains(&word.part));
            words.map(|word| word.word).filter(|word| !family.name.has(*word)).collect()
        };
        // The colour of a part says which variant it is only of a product that comes in colours of a part.
        let colours: &[Part] = if family.has_part {
            &[Part::Colour, Part::Shade, Part::Piece]
        } else {
            &[Part::Colour, Part::Shade]
        };
        let unknown = of(&[Part::Unknown, Part::Unlisted, Part::Shading]);
        let is_in_tail = |word: &Word| family.has_in_tail(*word);
        Self {
            surely: of(colours),
            coloured: of(&[colours, &[Part::Unlisted]].concat()),
            telling: unknown.iter().filter(is_in_tail).collect(),
            unknown,
            says_unlisted: !of(&[Part::Unlisted]).is_empty(),
            describing: of(&[Part::Describing]),
            sizes: offer.size_words.iter().map(|word| word.word).collect(),
            says_shared: offer
                .words
                .iter()
                .any(|word| word.part == Part::Colour && family.name.has(word.word)),
        }
    }

    /// Whether all that matters of a tail is said, and no other colour or shade.
    fn is_whole(&self, tail: &WordSet, core: &WordSet, hues: &Hues) -> bool {
        let hue = hues.of(tail);
        let is_in_it =
            |word: Word| tail.has(word) || hue == Some(word) && !core.is_empty() && !hues.has_hue(core);
        (!tail.is_empty() || self.says_shared)
            && self.telling.is_within(tail)
            && core.iter().all(|word| self.has(word))
            && self.surely.iter().all(is_in_it)
    }

    /// Whether each of the words is short for one of the tail's, with the same first letter: 'blk'.
    fn abbreviates(&self, tail: &WordSet, words: &Words, hues: &Hues) -> bool {
        let is_covered = |short: Word| {
            let short = words.text(short);
            let is_it =
                |long: &str| is_short(short, long) && (long.starts_with(short) || !hues.begins(short));
            tail.iter().any(|long| is_it(words.text(long)))
        };
        self.surely.iter().all(|word| tail.has(word) || hues.of(tail) == Some(word))
            && self.unknown.iter().any(|word| !tail.has(word) && is_covered(word))
    }

    /// Whether each word that nobody knows is one of the tail's, or short for one.
    fn is_covered(&self, tail: &WordSet, words: &Words) -> bool {
        let is_short_for =
            |short: Word| tail.iter().any(|long| is_short(words.text(short), words.text(long)));
        self.unknown.iter().all(|word| tail.has(word) || is_short_for(word))
    }

    /// Whether a word is said that is short for another.
    fn has_short(&self, long: Word, words: &Words) -> bool {
        self.unknown.iter().any(|short| is_short(words.text(short), words.text(long)))
    }

    /// Two words that a tail writes as one: 'oat meal'.
    fn join(&mut self, offer: &Row, family: &Family, words: &Words) {
        for pair in
            offer.words.windows(2).filter(|pair| pair[0].text == pair[1].text && pair[0].to == pair[1].from)
        {
            let [first, second] = [words.text(pair[0].word), words.text(pair[1].word)];
            let is_joined =
                |word: Word| words.text(word).strip_prefix(first).is_some_and(|rest| rest == second);
            if let Some(word) = family.tails.iter().flat_map(WordSet::iter).find(|word| is_joined(*word)) {
                let apart: WordSet = [pair[0].word, pair[1].word].into_iter().collect();
                self.unknown = self.unknown.without(&apart);
                self.surely = self.surely.without(&apart).iter().chain([word]).collect();
            }
        }
    }

    /// Shades that change nothing where no colour of the product has them.
    fn weaken(&mut self, family: &Family, hues: &Hues) {
        let is_there = |word: Word| family.has_in_tail(word);
        self.surely = self.surely.iter().filter(|word| !hues.is_weak(*word) || is_there(*word)).collect();
    }

    fn has(&self, word: Word) -> bool {
        self.surely.has(word) || self.unknown.has(word) || self.describing.has(word) || self.sizes.has(word)
    }
}

/// Whether a word is short for another: it begins with the same letter, and its letters are in the other in order.
pub(super) fn is_short(short: &str, long: &str) -> bool {
    let mut rest = long.chars();
    let letters = short.chars().count();
    // 'Rd', 'bk'.
    if letters == 2 {
        return short.chars().next() == long.chars().next()
            && short.chars().next_back() == long.chars().next_back()
            && (3..=5).contains(&long.chars().count());
    }
    (3..=5).contains(&letters)
        && letters < long.chars().count()
        && short.chars().next() == long.chars().next()
        && short.chars().all(|letter| letter.is_alphabetic() && rest.any(|other| other == letter))
}

/// The family's tail, most often its colour, that an offer says.
pub(super) fn fit_tail(offer: &Row, family: &Family, hues: &Hues, words: &Words) -> Fit {
    if family.tails.len() <= 1 {
        return Fit::Free;
    }
    let mut said = TailWords::of(offer, family);
    said.join(offer, family, words);
    said.weaken(family, hues);
    let tails = family.tails.iter().enumerate();
    let core = |place: usize| &family.cores[place];
    let whole = tails.clone().filter(|(place, tail)| said.is_whole(tail, core(*place), hues));
    let whole: Vec<(usize, &WordSet)> = whole.collect();
    let largest =
        whole.iter().find(|(place, _)| whole.iter().all(|(other, _)| core(*other).is_within(core(*place))));
    match largest {
        Some((place, tail)) if said.unknown.is_within(tail) => return Fit::One(*place, How::Same),
        // 'Black marble' may be another colour than black.
        Some((place, tail)) if has_beside(offer, family, tail, hues, words) => {
            return Fit::Several(vec![*place]);
        }
        Some((place, _)) => return Fit::One(*place, How::Longer),
        None if whole.is_empty() => {}
        None => return Fit::Several(whole.iter().map(|(place, _)| *place).collect()),
    }
    let all_said = |core: &WordSet| core.iter().all(|word| said.has(word) || said.has_short(word, words));
    let mut short: Vec<usize> = tails
        .clone()
        .filter(|(_, tail)| said.abbreviates(tail, words, hues))
        .map(|(place, _)| place)
        .collect();
    if short.len() > 1 {
        short.retain(|place| all_said(core(*place)));
    }
    // 'Blk/wht' is no 'black'.
    if short.len() > 1 {
        short.retain(|place| said.is_covered(&family.tails[*place], words));
    }
    if let [place] = short.as_slice() {
        let others = of_short_hue(&said, family, *place, hues, words);
        return Fit::of(std::iter::once(*place).chain(others).collect(), How::Shorter);
    }
    let near = |(place, tail): (usize, &WordSet)| Some((place, near(&said, tail, hues, words)?));
    let mut near: Vec<(usize, How)> = tails.clone().filter_map(near).collect();
    if near.is_empty() {
        let alike = hues.alike(&said.coloured);
        near = tails
            .clone()
            .filter(|(_, tail)| alike.contains(tail))
            .map(|(place, _)| (place, How::Shorter))
            .collect();
    }
    let of_hue = |hue: Option<Word>| -> Vec<usize> {
        let is_of_it = |place: &usize| hue.is_some() && hues.of(&family.tails[*place]) == hue;
        (0..family.tails.len()).filter(is_of_it).collect()
    };
    if near.is_empty()
        && let Some(toned) = hues.toned(&said.surely)
    {
        let is_only = of_hue(Some(toned.0)).len() == 1;
        let is_toned =
            |tail: &WordSet| hues.toned(tail) == Some(toned) && (is_only || hues.has_own_name(tail));
        near = tails.filter(|(_, tail)| is_toned(tail)).map(|(place, _)| (place, How::Shorter)).collect();
    }
    let not_dark = |hue: Option<Word>| -> Option<usize> {
        let not_dark: Vec<usize> =
            of_hue(hue).into_iter().filter(|place| !hues.is_dark(&family.tails[*place])).collect();
        if let [only] = not_dark.as_slice() { Some(*only) } else { None }
    };
    // 'Light grey' for the only grey there is that is not dark, which is heathered.
    if near.is_empty() {
        let without_tones: WordSet = said.surely.iter().filter(|word| !hues.is_light(*word)).collect();
        if without_tones.len() < said.surely.len()
            && let Some(only) = not_dark(hues.of(&without_tones))
            && hues.is_heathered(&family.tails[only])
            && (hues.alone(&without_tones).is_some() || without_tones == family.tails[only])
        {
            return Fit::One(only, How::Longer);
        }
    }
    // A hue alone may stand for any colour of that hue.
    // 'Heather' is rather a light grey than the dark heather.
    let is_darker = near.iter().all(|(place, _)| hues.is_dark(&family.tails[*place]));
    let heather = || hues.heather_alone(&said.surely).filter(|_| is_darker);
    let of_hue =
        of_hue(hues.alone(&said.surely).or_else(heather).or_else(|| hues.foreign(&said.coloured, words)));
    let beside = match near.as_slice() {
        [(place, How::Shorter)] => of_same_hue_beside(&said, family, *place, hues),
        _ => Vec::new(),
    };
    match near.as_slice() {
        [] => match of_hue.as_slice() {
            [only]
                if !hues.has_own_name(&family.tails[*only])
                    && (hues.has_hue(&family.tails[*only])
                        || family.tails.iter().all(|tail| hues.of(tail).is_some())) =>
            {
                Fit::One(*only, How::Shorter)
            }
            [_, _, ..] => Fit::Several(of_hue),
            _ if !said.surely.is_empty() || said.says_unlisted => Fit::NotMade,
            _ => match said_by_title(offer, family) {
                Some(place) => Fit::One(place, How::Longer),
                None if !said.unknown.is_empty() => Fit::Unclear,
                None => Fit::Unsaid,
            },
        },
        // 'Heather grey' is no surer a dark heather grey than another grey: what is left out is how dark it is.
        [(place, How::Shorter)] if !beside.is_empty() => {
            Fit::Several(std::iter::once(*place).chain(beside).collect())
        }
        // Of a maroon and a cherry red, 'red' is the red one: the other has a name of its own. Charcoal is called grey.
        [(place, how)]
            if of_hue.iter().all(|other| {
                other == place
                    || hues.has_own_name(&family.tails[*other]) && !hues.is_grey(&family.tails[*other])
            }) =>
        {
            Fit::One(*place, *how)
        }
        several => {
            let all = several.iter().map(|(place, _)| *place).chain(of_hue);
            let mut all: Vec<usize> = all.collect();
            all.sort_unstable();
            all.dedup();
            Fit::Several(all)
        }
    }
}

/// The other tails of a tail's hue, where all that is said of it is short for the hue: 'gry' is any grey. A colour with a name of
/// its own is not called by its hue alone, but for greys.
fn of_short_hue(said: &TailWords, family: &Family, place: usize, hues: &Hues, words: &Words) -> Vec<usize> {
    let tail = &family.tails[place];
    let Some(hue) = hues.of(tail) else { return Vec::new() };
    let is_short_for = |short: Word, long: Word| is_short(words.text(short), words.text(long));
    let says_more = said.surely.iter().any(|word| word != hue)
        || said.unknown.iter().any(|short| {
            !is_short_for(short, hue) && tail.iter().any(|long| long == short || is_short_for(short, long))
        });
    if says_more || !tail.has(hue) || *tail == [hue].into_iter().collect() {
        return Vec::new();
    }
    let is_other = |other: &usize| {
        let own = &family.tails[*other];
        *other != place && hues.of(own) == Some(hue) && (!hues.has_own_name(own) || hues.is_grey(own))
    };
    (0..family.tails.len()).filter(is_other).collect()
}

/// The other tails of a tail's hue that are not dark, where the tail is and nothing said so.
fn of_same_hue_beside(said: &TailWords, family: &Family, place: usize, hues: &Hues) -> Vec<usize> {
    let tail = &family.tails[place];
    let hue = hues.of(tail);
    if hue.is_none() || !hues.is_dark(tail) || hues.is_dark(&said.surely) || !said.unknown.is_empty() {
        return Vec::new();
    }
    let is_other = |other: &usize| {
        let own = &family.tails[*other];
        *other != place && hues.of(own) == hue && !hues.is_dark(own) && !hues.has_own_name(own)
    };
    (0..family.tails.len()).filter(is_other).collect()
}

/// The only tail that the title says, where the options say none: 'sweatshirt in navy'.
fn said_by_title(offer: &Row, family: &Family) -> Option<usize> {
    let titled: WordSet = offer.naming.titled_colour.iter().copied().collect();
    let is_it = |place: &usize| {
        let core = &family.cores[*place];
        !core.is_empty() && core.is_within(&titled) && titled.is_within(&family.tails[*place])
    };
    let mut places = (0..family.tails.len()).filter(|place| !titled.is_empty() && is_it(place));
    places.next().filter(|_| places.next().is_none())
}

/// Whether a word that nobody knows stands right beside a colour's, in a value that names no good.
fn has_beside(offer: &Row, family: &Family, tail: &WordSet, hues: &Hues, words: &Words) -> bool {
    let names_good =
        |text: usize| offer.words.iter().any(|word| word.text == text && word.part == Part::Good);
    // The 'grn' of 'forest grn' is the green that a forest green is.
    let hue = hues.of(tail);
    let is_short_hue = |word: Word| hue.is_some_and(|hue| is_short(words.text(word), words.text(hue)));
    let is_open = |word: &&RowWord| {
        matches!(word.part, Part::Unknown | Part::Unlisted)
            && !tail.has(word.word)
            && !family.name.has(word.word)
            && !family.product_words.has(word.word)
            && !family.goods.has(word.word)
            && !hues.is_weak(word.word)
            && !is_short_hue(word.word)
            && !BEFORE_COLOURS.contains(&words.text(word.word))
            && !names_good(word.text)
    };
    let colours: Vec<&RowWord> =
        offer.words.iter().filter(|word| word.part == Part::Colour && tail.has(word.word)).collect();
    offer.words.iter().filter(is_open).any(|word| {
        colours.iter().any(|colour| {
            colour.text == word.text
                && (word.to == colour.from && !colour.parted || colour.to == word.from && !word.parted)
        })
    })
}

/// Words that say that nothing more comes with it, in English, German, French and Spanish. Common practice, no published
/// source.
const ONLY: [&str; 7] = ["only", "nur", "seul", "seule", "seulement", "solo", "sola"];

/// Whether what is said is the tail with words more or less.
fn near(said: &TailWords, tail: &WordSet, hues: &Hues, words: &Words) -> Option<How> {
    // 'Brindle X2' is not said by 'Brindle X3'.
    if tail.iter().any(|word| words.has_digit(word) && !said.has(word)) {
        return None;
    }
    let has_common = tail.iter().any(|word| said.surely.has(word) || said.unknown.has(word));
    if !has_common {
        return None;
    }
    if hues.alone(&said.surely).is_some() && hues.has_own_name(tail) {
        return None;
    }
    // 'Cover + inner' is no 'cover only'.
    let is_only = |word: &Word| ONLY.contains(&words.text(*word));
    if tail.iter().any(|word| is_only(&word) && !said.has(word))
        && said.unknown.iter().any(|word| !tail.has(word))
    {
        return None;
    }
    let more = said.surely.without(tail);
    let is_less = tail.iter().any(|word| !said.has(word));
    if more.is_empty() {
        return Some(if is_less { How::Shorter } else { How::Longer });
    }
    // 'Navy blue' for 'navy': what comes on top is the hue that the colour has anyway.
    let hue = hues.of(tail);
    let is_its_hue = |word: Word| hues.is_hue(word) && hue.is_none_or(|hue| hue == word);
    let says_hue = more.iter().any(is_its_hue);
    let adds_nothing = |word: Word| is_its_hue(word) || says_hue && hues.is_tone(word);
    (!is_less && !hues.has_hue(tail) && more.iter().all(adds_nothing)).then_some(How::Longer)
}
