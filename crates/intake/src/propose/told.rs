//! What a shop and its suppliers tell each other of an order: which of its numbers, and when it was placed.
//!
//! Must not know tables. Start reading at [`Sheet::told_to_people`].

use std::collections::BTreeSet;

use super::level::Level;
use super::score::{TOLD, trim_of};
use super::sheet::{OUTER, Sheet};

/// How far apart numbers are in the mean at most, to be counted by a shop.
const DENSE: i128 = 20;

impl Sheet<'_> {
    /// Of several columns that name orders, those that people are told, and those that they are not: an order's number is
    /// short and counted, and stands in the record; what programs use is long, and follows nothing that can be counted.
    ///
    /// Where files of suppliers are there, it is the one that these name.
    pub(super) fn told_to_people(&self, told: &[BTreeSet<String>]) -> Vec<(usize, f64, &'static str)> {
        let names_orders = |index: &usize| {
            let profile = &self.profiles[*index];
            let is_own = !self.list.columns[*index].at.as_ref().is_some_and(|at| at.starts_with(OUTER));
            is_own
                && profile.count > 3
                && profile.is_full()
                && profile.is_unique()
                && (profile.may_be_id() && profile.with_blank == 0.0 || self.is_worded(*index))
                && profile.with_digit > 0.9
                && profile.mean_length >= 3.0
                && (self.is_worded(*index)
                    || !self.name_fits(*index, Level::Orders).iter().any(|(meaning, fit)| {
                        *meaning != "order_id" && *meaning != "line_id" && fit.is_exact
                    }))
        };
        let all: Vec<usize> = (0..self.profiles.len()).filter(names_orders).collect();
        if all.len() < 2 {
            return Vec::new();
        }
        let told: Vec<BTreeSet<&str>> =
            told.iter().map(|column| column.iter().map(String::as_str).collect()).collect();
        let is_named = |index: &&usize| {
            let own: BTreeSet<String> = self.list.columns[**index].values.iter().flatten().cloned().collect();
            told.iter().any(|values| trim_of(values, &own).is_some_and(|(_, share)| share > 0.6))
        };
        if let [one] = all.iter().filter(is_named).collect::<Vec<_>>().as_slice() {
            let of_others = all.iter().filter(|index| index != one).map(|index| (*index, -3.0, ""));
            return of_others
                .chain([(**one, TOLD, "it is the one that the supplier's file names")])
                .collect();
        }
        let is_counted = |index: &usize| self.list.columns[*index].at.is_some() && self.is_dense(*index);
        let counted: Vec<usize> = all.iter().copied().filter(is_counted).collect();
        if counted.is_empty() {
            return Vec::new();
        }
        let has_letters = |index: usize| self.profiles[index].with_letter > 0.9;
        let is_called = |index: &usize| self.is_called("order_id", *index, Level::Orders);
        // A number with the shop's letters before it is written for people.
        let is_lettered = !counted.iter().any(is_called) && counted.iter().any(|index| has_letters(*index));
        let mut found = Vec::new();
        for index in &all {
            if counted.contains(index) && (!is_lettered || has_letters(*index)) {
                let points = if self.is_worded(*index) { 4.0 } else { 1.2 };
                found.push((*index, points, "it is short and counted"));
            } else {
                let is_key = self.list.columns[*index].at.is_none();
                found.push((*index, if is_key { -2.5 } else { -1.2 }, ""));
            }
        }
        found
    }

    /// Whether a column says what orders are called: the same words, and a number behind them.
    pub(super) fn is_worded(&self, column: usize) -> bool {
        let profile = &self.profiles[column];
        let mut texts = self.list.columns[column].values.iter().flatten();
        let front = |text: &String| text.trim_end_matches(|at: char| at.is_ascii_digit()).to_owned();
        let Some(first) = texts.next().map(front).filter(|first| first.contains(' ')) else { return false };
        let names = super::lexicon::LEXICON.fits(&first, &[]);
        let says = names.get("order_id").is_some_and(|fit| fit.score >= 4.0);
        says && profile.is_unique()
            && profile.times.is_none()
            && texts.all(|text| front(text) == first && text.len() > first.len())
            && self.is_dense(column)
    }

    /// Whether the numbers at the end of what names records are near each other, behind what is the same for all.
    pub(super) fn is_dense(&self, column: usize) -> bool {
        let mut numbers: Vec<i128> = Vec::new();
        let mut fronts: BTreeSet<&str> = BTreeSet::new();
        for text in self.list.columns[column].values.iter().flatten() {
            let front = text.trim_end_matches(|letter: char| letter.is_ascii_digit());
            let Ok(number) = text[front.len()..].parse::<i128>() else { return false };
            fronts.insert(front);
            numbers.push(number);
        }
        numbers.sort_unstable();
        let (Some(first), Some(last)) = (numbers.first(), numbers.last()) else { return false };
        // Of a year or a month, they may begin anew.
        fronts.len() * 4 <= numbers.len().max(4) && last - first <= DENSE * numbers.len() as i128
    }

    /// Whether a name says that what stands there is the client's: `clientOrderDate`, `po_date`, `Ihr Datum`.
    fn is_of_client(&self, column: usize) -> bool {
        const CLIENT: &[&str] = &[
            "client",
            "clients",
            "customer",
            "customers",
            "buyer",
            "po",
            "purchase",
            "your",
            "their",
            "kunde",
            "kunden",
            "ihr",
            "ihre",
            "ihres",
            "votre",
            "cliente",
            "su",
        ];
        let words = super::lexicon::words(self.list.columns[column].name());
        words.len() > 1 && words.iter().any(|word| CLIENT.contains(&word.as_str()))
    }

    /// Times of a supplier's orders that are the shop's, told beside its own: those at which the shop's orders were placed,
    /// or that are called so, each with the next time, which comes soon after.
    pub(super) fn times_of_the_shop(&self, placed: &BTreeSet<i64>) -> Vec<(usize, usize, &'static str)> {
        let times = |index: usize| self.profiles[index].times.as_ref().map(|times| &times.moments);
        let is_whole = |index: &usize| self.profiles[*index].is_full() && times(*index).is_some();
        let all: Vec<usize> = (0..self.profiles.len()).filter(is_whole).collect();
        let mut found = Vec::new();
        for early in &all {
            let Some(moments) = times(*early) else { continue };
            let of_days = self.is_of_days(*early);
            let stamps: BTreeSet<i64> = moments.iter().flatten().map(|at| at.timestamp()).collect();
            let there = stamps.iter().filter(|at| placed.contains(at)).count();
            let is_placed = !of_days && stamps.len() > 3 && there * 10 >= stamps.len() * 8;
            let names = super::lexicon::LEXICON.fits(self.list.columns[*early].name(), &[]);
            let says = |meaning: &str| names.get(meaning).is_some_and(|fit| fit.is_exact);
            let is_of_client = self.is_of_client(*early) && !says("received_at");
            let is_called = says("placed_at") && !says("received_at") || is_of_client;
            if !is_placed && !is_called {
                continue;
            }
            let soon = |late: &usize| {
                let others = times(*late).filter(|_| late != early)?;
                let by_day = of_days || self.is_of_days(*late);
                let at = |time: &chrono::DateTime<chrono::Utc>| match by_day {
                    true => time.timestamp().div_euclid(86_400) * 86_400,
                    false => time.timestamp(),
                };
                let mut gaps: Vec<i64> = moments
                    .iter()
                    .zip(others)
                    .filter_map(|(a, b)| Some(at(b.as_ref()?) - at(a.as_ref()?)))
                    .collect();
                gaps.sort_unstable();
                // A supplier that was told late has the one or the other order long after.
                let middle = *gaps.get(gaps.len() / 2)?;
                let is_never_before = gaps.iter().all(|gap| *gap >= 0);
                let is_fixed = gaps.first() == gaps.last() && middle > 0;
                (is_never_before && !is_fixed && middle < 2 * 86_400).then_some((middle, *late))
            };
            if let Some((_, own)) = all.iter().filter_map(soon).min() {
                let why =
                    if is_placed { "is when the shop's orders were placed" } else { "is called the shop's" };
                found.push((*early, own, why));
            }
        }
        found
    }
}
