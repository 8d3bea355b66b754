//! How numbers of lines go together: how many, what one costs and what all do, and how many were taken off.
//!
//! Must not know lists but the one. Start reading at [`Sheet::products`].

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::level::Level;
use super::sheet::Sheet;

/// How many codes have to come with several numbers, to tell what an amount is of.
const TELLING: usize = 3;

impl Sheet<'_> {
    /// Columns of which the first times the second is the third, in nearly all records, and not for being 1 alone.
    pub(super) fn products(&self) -> Vec<(usize, usize, usize)> {
        let mut found = Vec::new();
        let amounts: Vec<(usize, &Vec<Option<Decimal>>)> = self
            .profiles
            .iter()
            .enumerate()
            .filter_map(|(index, profile)| Some((index, &profile.amounts.as_ref()?.1)))
            .collect();
        for (quantity, profile) in self.profiles.iter().enumerate() {
            let Some(counts) = &profile.whole else { continue };
            if profile.range().is_none_or(|(least, most)| least < 0 || !(2..=5_000).contains(&most)) {
                continue;
            }
            for (price, prices) in amounts.iter().filter(|(index, _)| *index != quantity) {
                for (total, totals) in
                    amounts.iter().filter(|(index, _)| index != price && *index != quantity)
                {
                    let (mut right, mut wrong, mut telling) = (0, 0, 0);
                    for ((count, price), total) in counts.iter().zip(*prices).zip(*totals) {
                        let (Some(count), Some(price), Some(total)) = (count, price, total) else { continue };
                        if price.is_zero() {
                            continue;
                        }
                        if Decimal::from(*count) * price == *total {
                            right += 1;
                            telling += usize::from(*count > 1);
                        } else {
                            wrong += 1;
                        }
                    }
                    if telling >= 2 && wrong * 20 <= right {
                        found.push((quantity, *price, *total));
                    }
                }
            }
        }
        found
    }

    /// Amounts that are the same for things of one code whatever their number, and those that are as many times as much.
    pub(super) fn prices_of_each(&self) -> Vec<(usize, bool, &'static str)> {
        let is_quantity = |index: &usize| {
            let fits = self.name_fits(*index, Level::OrderLines);
            let profile = &self.profiles[*index];
            fits.get("quantity").is_some_and(|fit| fit.score >= 2.0)
                && profile.is_full()
                && profile.range().is_some_and(|(least, most)| least >= 1 && (2..=5_000).contains(&most))
        };
        let Some(quantity) = (0..self.profiles.len()).find(is_quantity) else { return Vec::new() };
        let is_code = |index: &usize| {
            let profile = &self.profiles[*index];
            *index != quantity
                && profile.may_be_id()
                && profile.distinct > 2
                && !profile.is_unique()
                && profile.with_digit > 0.5
                && profile.mean_length >= 3.0
                && !self.repeated.contains(index)
        };
        let codes: Vec<usize> = (0..self.profiles.len()).filter(is_code).collect();
        let amounts = (0..self.profiles.len()).filter(|at| *at != quantity && !codes.contains(at));
        let told = |amount: usize| {
            let by_code = codes.iter().find_map(|code| self.is_of_each(amount, *code, quantity));
            by_code.map(|is_of_each| match is_of_each {
                true => (amount, true, "it is the same for one code, whatever the number"),
                false => (amount, false, "it goes up with the number"),
            })
        };
        amounts.filter_map(told).collect()
    }

    /// Whether an amount is that of one piece, or of all of a line, as lines of one code with other numbers show it.
    fn is_of_each(&self, amount: usize, code: usize, quantity: usize) -> Option<bool> {
        let counts = self.profiles[quantity].whole.as_deref()?;
        let (_, amounts) = self.profiles[amount].amounts.as_ref()?;
        let mut of: BTreeMap<&str, Vec<(i64, Decimal)>> = BTreeMap::new();
        for ((code, count), amount) in self.list.columns[code].values.iter().zip(counts).zip(amounts) {
            if let (Some(code), Some(count), Some(amount)) = (code, *count, *amount) {
                of.entry(code).or_default().push((count, amount));
            }
        }
        of.retain(|_, lines| lines.iter().any(|(count, _)| *count != lines[0].0));
        let is_same = |lines: &&Vec<(i64, Decimal)>| lines.iter().all(|(_, amount)| *amount == lines[0].1);
        let is_times = |lines: &&Vec<(i64, Decimal)>| {
            let (count, amount) = lines[0];
            lines.iter().all(|(other, of)| *of * Decimal::from(count) == amount * Decimal::from(*other))
        };
        let enough = of.len().max(TELLING) * 9;
        let same = of.values().filter(is_same).count();
        let times = of.values().filter(|lines| !is_same(lines) && is_times(lines)).count();
        match (same * 10 >= enough, times * 10 >= enough) {
            (true, _) => Some(true),
            (false, true) => Some(false),
            (false, false) => None,
        }
    }

    /// Numbers that are never more than how many a line is of, and mostly nothing, each with that and what speaks for its being
    /// what was taken off the line: where all are 0 or 1, they may as well say yes or no.
    pub(super) fn taken_off(&self) -> Vec<(usize, usize, f64)> {
        let whole = |index: usize| self.profiles[index].whole.as_deref();
        let products = self.products();
        let is_quantity = |index: &usize| {
            let profile = &self.profiles[*index];
            let fits = self.name_fits(*index, Level::OrderLines);
            let is_called = fits.get("quantity").is_some_and(|fit| fit.score >= 2.0)
                || products.iter().any(|(quantity, ..)| quantity == index);
            let is_some =
                profile.range().is_some_and(|(least, most)| least >= 0 && (2..=5_000).contains(&most));
            is_called && is_some && profile.is_full() && !self.counts_rows(*index)
        };
        let mut found = Vec::new();
        for quantity in (0..self.profiles.len()).filter(is_quantity) {
            let Some(all) = whole(quantity) else { continue };
            for part in (0..self.profiles.len()).filter(|part| *part != quantity) {
                let Some(parts) = whole(part) else { continue };
                let is_part = parts.iter().zip(all).all(|(part, all)| {
                    let part = part.unwrap_or_default();
                    part >= 0 && all.is_some_and(|all| part <= all)
                });
                let some = parts.iter().flatten().filter(|part| **part > 0).count();
                let several = parts.iter().flatten().any(|part| *part > 1);
                if is_part && some > 0 && some * 3 <= all.len() && !self.repeated.contains(&part) {
                    found.push((part, quantity, if several { 2.5 } else { 1.0 }));
                }
            }
        }
        found
    }
}
