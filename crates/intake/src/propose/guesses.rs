//! What a word of a state that no list has means, by what the lines of its records and their times say.
//!
//! Must not know what words mean. Start reading at [`Guesses::by_lines`] and [`Guesses::by_rest`].

use std::collections::BTreeMap;

use super::level::Level;
use super::sheet::Sheet;
use super::status::Words;

/// How many lines of a word have to be there, to tell something of it.
const LINES: usize = 3;

/// How many records likewise.
const RECORDS: usize = 2;

/// What words mean so far, which of them nobody knows, and of which it was told by their records.
pub(super) struct Guesses<'g> {
    pub(super) words: &'g mut Words,
    pub(super) unknown: &'g mut Vec<String>,
    pub(super) told: Vec<String>,
}

impl Guesses<'_> {
    fn tell(&mut self, word: &str, meaning: &str) {
        self.unknown.retain(|other| other != word);
        self.words.insert(word.to_owned(), meaning.to_owned());
        if !self.told.iter().any(|told| told == word) {
            self.told.push(word.to_owned());
        }
    }

    fn ask(&mut self, word: &str) {
        self.words.remove(word);
        self.told.retain(|told| told != word);
        self.unknown.push(word.to_owned());
        self.unknown.sort();
    }

    /// Of rows that are lines, of which each says when it went: where all of a word have gone, so has what they are of, and
    /// where most have not, it has not. `state` is where the words stand.
    pub(super) fn by_lines(&mut self, lines: &Sheet<'_>, state: &str, is_open: impl Fn(&str) -> bool) {
        if lines.repeated.is_empty() {
            return;
        }
        let columns = &lines.list.columns;
        let Some(words) = columns.iter().position(|column| column.at.as_deref() == Some(state)) else {
            return;
        };
        let is_when = |index: &usize| {
            let profile = &lines.profiles[*index];
            let fits = lines.name_fits(*index, Level::Parcels);
            profile.times.is_some()
                && (0.1..0.98).contains(&profile.fill())
                && !lines.repeated.contains(index)
                && fits.get("dispatched_at").is_some_and(|fit| fit.score >= 2.0)
        };
        let mut whens = (0..columns.len()).filter(is_when);
        let (Some(when), None) = (whens.next(), whens.next()) else { return };
        let mut of: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for (word, gone) in columns[words].values.iter().zip(&columns[when].values) {
            let Some(word) = word.as_deref().filter(|word| is_open(word)) else { continue };
            let (all, filled) = of.entry(word).or_default();
            *all += 1;
            *filled += usize::from(gone.is_some());
        }
        for (word, (all, filled)) in of.into_iter().filter(|(_, (all, _))| *all >= LINES) {
            match self.words.get(word).map(String::as_str) {
                None | Some("received" | "making") if filled * 10 > all * 9 => self.tell(word, "dispatched"),
                Some("dispatched") if filled * 2 < all => self.ask(word),
                _ => {}
            }
        }
    }

    /// Where the last change of all records of a word is when they came in, and others changed since, nothing was done with
    /// them yet.
    pub(super) fn by_rest(
        &mut self,
        sheet: &Sheet<'_>,
        state: usize,
        [received, updated]: [usize; 2],
        is_open: impl Fn(&str) -> bool,
    ) {
        // Where no word is known, it may be another column altogether.
        if self.words.is_empty()
            || received == updated
            || sheet.is_of_days(received)
            || sheet.is_of_days(updated)
        {
            return;
        }
        let (Some(received), Some(updated)) =
            (sheet.profiles[received].times.as_ref(), sheet.profiles[updated].times.as_ref())
        else {
            return;
        };
        let mut of: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        let moments = received.moments.iter().zip(&updated.moments);
        for (word, (received, updated)) in sheet.list.columns[state].values.iter().zip(moments) {
            let Some(word) = word else { continue };
            let (all, same) = of.entry(word).or_default();
            *all += 1;
            *same += usize::from(received.is_some() && received == updated);
        }
        let all: usize = of.values().map(|(all, _)| all).sum();
        let same: usize = of.values().map(|(_, same)| same).sum();
        if same * 2 > all {
            return;
        }
        let rests =
            |(word, (all, same)): &(&str, (usize, usize))| *all >= RECORDS && same == all && is_open(word);
        for (word, _) in of.into_iter().filter(rests) {
            if matches!(self.words.get(word).map(String::as_str), None | Some("making")) {
                self.tell(word, "received");
            }
        }
    }
}
