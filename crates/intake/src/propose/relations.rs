//! How the values of columns go together, and with those of other lists.
//!
//! Must not know names. Start reading at [`Sheet::relations`].

use std::collections::{BTreeMap, BTreeSet};

use super::level::Level;
use super::lexicon::Meaning;
use super::profile::set;
use super::score::{Known, Trim, trim};
use super::sheet::{OUTER, Sheet};
use super::tree::Column;

/// How far two numbers that follow each other are apart at most, to be counted.
const COUNTED: i128 = 30;

impl Sheet<'_> {
    /// How the values of columns go together.
    pub(super) fn relations(
        &self,
        level: Level,
        known: &Known<'_>,
    ) -> BTreeMap<(usize, Meaning), (f64, String)> {
        // What speaks for it the most, and what against it.
        let mut more: BTreeMap<(usize, Meaning), (f64, f64, String)> = BTreeMap::new();
        let mut add = |column: usize, meaning: Meaning, points: f64, why: String| {
            let known = more.entry((column, meaning)).or_default();
            if points > known.0 {
                *known = (points, known.1, why);
            }
            known.1 = known.1.min(points);
        };
        let columns = &self.list.columns;
        let name = |column: usize| super::shown_name(&columns[column]);
        let unit = match level {
            Level::OrderLines => "unit_price",
            _ => "unit_cost",
        };
        if matches!(level, Level::OrderLines | Level::SubmissionLines | Level::Submissions) {
            for (quantity, price, total) in self.products() {
                let why = format!("{} x {} = {}", name(quantity), name(price), name(total));
                add(quantity, "quantity", 3.0, why.clone());
                add(price, unit, 3.0, why.clone());
                add(total, "line_total", 3.0, why);
            }
        }
        if matches!(level, Level::OrderLines | Level::SubmissionLines) {
            // Most lines are of one piece or of a few, and as many are of one in each place of an order.
            let is_amount = |index: &usize| {
                let profile = &self.profiles[*index];
                let least =
                    profile.range().is_some_and(|(least, most)| least >= 1 && (2..=500).contains(&most));
                let ones = profile.whole.as_deref().unwrap_or_default().iter().flatten();
                let ones = ones.filter(|value| **value == 1).count() * 2 > profile.filled;
                let is_own = !columns[*index].at.as_ref().is_some_and(|at| at.starts_with(OUTER));
                is_own
                    && profile.is_full()
                    && least
                    && ones
                    && !self.repeated.contains(index)
                    && !self.counts_rows(*index)
                    && !self.counts_within(*index)
            };
            // Where rows are pieces, only a name can say that a column is how many all the same.
            let says = |index: usize| {
                self.name_fits(index, level).get("quantity").is_some_and(|fit| fit.score >= 2.0)
            };
            if self.are_pieces() {
                for index in (0..columns.len()).filter(|index| !says(*index)) {
                    add(index, "quantity", -1.5, String::new());
                }
            } else {
                let mut amounts = (0..columns.len()).filter(is_amount);
                if let (Some(one), None) = (amounts.next(), amounts.next()) {
                    add(one, "quantity", 1.5, "no other column has small numbers".to_owned());
                }
            }
        }
        if matches!(level, Level::OrderLines | Level::SubmissionLines) {
            for (amount, is_of_each, why) in self.prices_of_each() {
                add(amount, if is_of_each { unit } else { "line_total" }, 2.0, why.to_owned());
                add(amount, if is_of_each { "line_total" } else { unit }, -1.5, String::new());
            }
        }
        if level == Level::OrderLines {
            for (part, quantity, points) in self.taken_off() {
                let why = format!("never more than {}, and mostly 0", name(quantity));
                add(part, "cancelled_quantity", points, why);
            }
        }
        // What is a part of how many, such as those that are still to be made, is not how many.
        if level == Level::SubmissionLines {
            for (part, ..) in self.taken_off() {
                add(part, "quantity", -2.5, String::new());
            }
        }
        if level == Level::Orders {
            for index in self.not_of_delivery() {
                add(index, "ship_to_country", -3.0, String::new());
            }
        }
        if level == Level::ParcelLines {
            // Numbers that count the lines of each are small too.
            let is_amount_of = |index: &usize| {
                let profile = &self.profiles[*index];
                let least = profile.range().is_some_and(|(least, most)| least >= 1 && most <= 5_000);
                let small = profile.whole.as_deref().unwrap_or_default().iter().flatten();
                let small = small.filter(|value| **value <= 5).count() * 2 > profile.filled;
                profile.is_full() && least && small && !self.is_unique_within(*index)
            };
            let mut amounts = (0..columns.len()).filter(is_amount_of);
            if let (Some(one), None) = (amounts.next(), amounts.next()) {
                add(one, "quantity", 1.5, "no other column has small numbers".to_owned());
            }
        }
        if let Some(own) = level.own_id().filter(|own| *own != "line_id") {
            for (index, column) in columns.iter().enumerate() {
                if column.at.as_ref().is_some_and(|at| known.referred.contains(at)) {
                    add(index, own, 3.0, "another list refers to it".to_owned());
                }
            }
        }
        if let Some(own) = level.own_id().filter(|_| matches!(level, Level::Orders | Level::Submissions)) {
            let names_records = |index: &usize| {
                let profile = &self.profiles[*index];
                let is_code =
                    profile.with_digit > 0.9 && profile.with_blank == 0.0 && profile.mean_length >= 3.0;
                profile.is_full()
                    && profile.is_unique()
                    && (profile.may_be_id() && is_code || self.is_worded(*index))
                    && profile.count > 3
            };
            let mut names = (0..columns.len()).filter(names_records);
            if let (Some(one), None) = (names.next(), names.next()) {
                add(one, own, 2.5, "nothing else names each record".to_owned());
                add(one, "line_id", -8.0, String::new());
            }
        }
        if level == Level::Orders {
            for (index, points, why) in self.told_to_people(known.told) {
                add(index, "order_id", points, why.to_owned());
            }
        }
        for (index, column) in columns.iter().enumerate() {
            let is_outer = column.at.as_ref().is_some_and(|at| at.starts_with(OUTER));
            let around: BTreeSet<usize> = self.list.parent_of.iter().copied().collect();
            let profile = &self.profiles[index];
            if is_outer && profile.is_full() && profile.may_be_id() && profile.distinct == around.len() {
                add(index, "listing_id", 2.0, "no two of the records around share one".to_owned());
            }
            let is_text = profile.with_letter > 0.9 && profile.with_blank > 0.3 && profile.with_digit < 0.5;
            if is_outer && level == Level::Offers && is_text && profile.distinct * 2 > around.len() {
                add(index, "title", 1.5, "it is said of the record around".to_owned());
            }
        }
        if let Some(parents) = &known.parents {
            let meaning = match level {
                Level::OrderLines => "order_id",
                Level::ParcelLines => "parcel_id",
                _ => "submission_id",
            };
            for (index, column) in columns.iter().enumerate() {
                let values = set(column);
                let shared = values.iter().filter(|value| parents.contains(*value)).count();
                if shared * 2 < values.len() && parents.len() > 3 {
                    add(index, meaning, -4.0, String::new());
                }
                if !values.is_empty()
                    && shared == values.len()
                    && values.len() > 1
                    && self.profiles[index].is_full()
                {
                    add(
                        index,
                        meaning,
                        4.0,
                        "its values are ids of the list that these belong to".to_owned(),
                    );
                }
            }
        }
        if matches!(level, Level::Submissions | Level::SubmissionLines) {
            let share_of = |column: &Column| trim(column, &known.skus).map(|(_, share)| share);
            let of_shop: Vec<Option<f64>> = columns.iter().map(share_of).collect();
            for (index, column) in columns.iter().enumerate() {
                if let Some((trim, share)) = trim(column, &known.order_ids)
                    && share > 0.6
                {
                    let trimmed = if trim == Trim::default() { "" } else { ", with something around them" };
                    add(
                        index,
                        "order_ref",
                        5.0 * share,
                        format!("its values are order numbers of the shop{trimmed}"),
                    );
                    if self.list.parent.is_some() && level == Level::SubmissionLines {
                        add(index, "submission_id", -4.0, String::new());
                    }
                } else if !known.order_ids.is_empty() {
                    add(index, "order_ref", -4.0, String::new());
                }
                match &of_shop[index] {
                    Some(share) if *share > 0.5 => {
                        add(index, "sku", 4.0 * share, "its values are SKUs of the shop".to_owned());
                        add(index, "variant_id", -3.0, String::new());
                    }
                    share if known.skus.len() > 5 && share.is_none_or(|share| share < 0.1) => {
                        add(
                            index,
                            "sku",
                            if of_shop.iter().flatten().any(|share| *share > 0.5) { -6.0 } else { -3.0 },
                            String::new(),
                        );
                    }
                    _ => {}
                }
            }
            // Of the supplier's own codes, the one that goes with the shop's is that of the same thing.
            let skus = (0..columns.len()).find(|index| of_shop[*index].is_some_and(|share| share > 0.5));
            for sku in skus.into_iter().filter(|_| level == Level::SubmissionLines) {
                for (index, profile) in self.profiles.iter().enumerate() {
                    let is_code = profile.may_be_id()
                        && profile.with_digit > 0.5
                        && profile.with_blank == 0.0
                        && profile.distinct > 2
                        && profile.mean_length >= 3.0;
                    if index != sku
                        && is_code
                        && !self.repeated.contains(&index)
                        && self.tells(index, sku)
                        && self.tells(sku, index)
                    {
                        add(index, "variant_id", 2.5, format!("it goes with {}, one to one", name(sku)));
                    }
                }
            }
        }
        if level == Level::SubmissionLines && known.order_line_ids.len() > 3 {
            for (index, column) in columns.iter().enumerate() {
                let values = set(column);
                let there = values.iter().filter(|value| known.order_line_ids.contains(**value)).count();
                // Numbers of lines from 1 on stand in every list.
                let is_telling = values.len() * 2 > self.profiles[index].filled && values.len() > 3;
                if there == 0 {
                    add(index, "order_line_ref", -5.0, String::new());
                }
                if is_telling && there * 10 >= values.len() * 9 {
                    add(index, "order_line_ref", 5.0, "its values are lines of the shop's orders".to_owned());
                    add(index, "line_id", -2.0, String::new());
                }
            }
        }
        if level == Level::Submissions {
            for (index, column) in columns.iter().enumerate() {
                let profile = &self.profiles[index];
                if profile.fill() > 0.5 || profile.filled == 0 || !profile.may_be_id() {
                    continue;
                }
                let values = set(column);
                let is_own = |other: &usize| {
                    let named = &self.profiles[*other];
                    *other != index
                        && named.is_full()
                        && named.is_unique()
                        && values.iter().all(|value| set(&columns[*other]).contains(value))
                };
                if let Some(own) = (0..columns.len()).find(is_own) {
                    add(index, "replaces", 4.0, format!("its values stand in {} too", name(own)));
                }
            }
        }
        if level == Level::Parcels {
            if let Some(sent) = &known.sent
                && let Some(when) = columns.iter().position(|column| column.at.as_ref() == Some(sent))
            {
                add(when, "dispatched_at", 3.0, "it stands where parcels do, and nowhere else".to_owned());
            }
            // A supplier counts its parcels; numbers of carriers follow nothing that it knows.
            let is_number = |index: &usize| {
                let profile = &self.profiles[*index];
                let is_own = !columns[*index].at.as_ref().is_some_and(|at| at.starts_with(OUTER));
                is_own && profile.is_full() && profile.is_unique() && profile.may_be_id() && profile.count > 3
            };
            let (counted, other): (Vec<usize>, Vec<usize>) = (0..columns.len())
                .filter(is_number)
                .partition(|index| self.is_counted(*index) || self.is_dense(*index));
            if let ([one], false) = (counted.as_slice(), other.is_empty()) {
                add(*one, "parcel_id", 1.5, "they are counted".to_owned());
                add(*one, "tracking_number", -1.5, String::new());
                for index in other {
                    if self.profiles[index].mean_length >= 8.0 {
                        add(index, "tracking_number", 1.0, "they follow nothing".to_owned());
                        add(index, "parcel_id", -1.0, String::new());
                    }
                }
            }
            // Likewise where a parcel stands on a row for each of its lines: then both stand again, together.
            let is_repeated_number = |index: &usize| {
                let profile = &self.profiles[*index];
                let is_own = !columns[*index].at.as_ref().is_some_and(|at| at.starts_with(OUTER));
                is_own
                    && profile.is_full()
                    && !profile.is_unique()
                    && profile.may_be_id()
                    && profile.distinct > 3
                    && profile.with_digit > 0.9
                    && profile.times.is_none()
            };
            let (counted, other): (Vec<usize>, Vec<usize>) =
                (0..columns.len()).filter(is_repeated_number).partition(|index| self.is_counted(*index));
            for index in other.into_iter().filter(|index| self.profiles[*index].mean_length >= 8.0) {
                let goes_with = |one: &&usize| {
                    self.profiles[**one].distinct == self.profiles[index].distinct
                        && self.tells(**one, index)
                        && self.tells(index, **one)
                };
                if let Some(one) = counted.iter().find(goes_with) {
                    let why = format!("it goes with {}, one to one, and follows nothing", name(*one));
                    add(index, "tracking_number", 2.5, why);
                }
            }
            let mut carriers = (0..columns.len()).filter(|index| self.says_who(*index));
            if let (Some(one), None) = (carriers.next(), carriers.next()) {
                add(one, "carrier", 1.5, "a few names, and no other column has such".to_owned());
            }
            let mut times = (0..columns.len()).filter(|index| self.profiles[*index].times.is_some());
            if let (Some(one), None) = (times.next(), times.next()) {
                add(one, "dispatched_at", 1.5, "it is the only time".to_owned());
            }
        }
        if level == Level::ParcelLines && !known.line_ids.is_empty() {
            for (index, column) in columns.iter().enumerate() {
                let values = set(column);
                if values.len() > 1 && values.iter().all(|value| known.line_ids.contains(*value)) {
                    add(index, "line_id", 3.0, "its values are ids of lines".to_owned());
                }
            }
        }
        if matches!(level, Level::OrderLines | Level::Offers | Level::SubmissionLines | Level::Variants) {
            for (code, name_of, is_finer) in self.codes() {
                let what = name(name_of);
                let meanings: &[Meaning] = match (level.is_of_supplier(), is_finer) {
                    (false, true) => &["sku"],
                    (true, true) => &["variant_id", "sku"],
                    (false, false) => &["listing_id"],
                    (true, false) => &[],
                };
                // A code and a name in an object of their own are of one thing.
                let outer =
                    |index: usize| columns[index].path.split_last().map_or(&[][..], |(_, outer)| outer);
                let are_alone = !outer(code).is_empty()
                    && outer(code) == outer(name_of)
                    && columns.iter().filter(|column| column.path.starts_with(outer(code))).count() <= 3;
                for meaning in meanings {
                    let why = match is_finer {
                        true => format!("each stands for one {what}, and several for the same"),
                        false => format!("it goes with {what}, one to one"),
                    };
                    add(code, meaning, if are_alone && !is_finer { 3.0 } else { 1.5 }, why);
                }
            }
        }
        if matches!(level, Level::OrderLines | Level::SubmissionLines) {
            let meanings: &[Meaning] =
                if level == Level::OrderLines { &["sku", "listing_id"] } else { &["variant_id", "sku"] };
            for (index, column) in columns.iter().enumerate() {
                let profile = &self.profiles[index];
                if !profile.may_be_id() || profile.distinct < 3 || self.repeated.contains(&index) {
                    continue;
                }
                let values = set(column);
                let share = |ids: &BTreeSet<&str>| {
                    values.iter().filter(|value| ids.contains(*value)).count() as f64 / values.len() as f64
                };
                // What no two lines share names the line, wherever it is named again.
                let is_of_line = profile.is_unique() && profile.count > 8;
                if !is_of_line && known.elsewhere.iter().any(|ids| share(ids) > 0.7) {
                    for meaning in meanings {
                        add(index, meaning, 3.0, "its values name the records of another list".to_owned());
                    }
                }
            }
        }
        if level == Level::Links {
            for (index, column) in columns.iter().enumerate() {
                let values = set(column);
                let share = |is_known: &dyn Fn(&str) -> bool| {
                    values.iter().filter(|value| is_known(value)).count() as f64 / values.len().max(1) as f64
                };
                if share(&|value| known.skus.contains(value)) > 0.5 {
                    add(index, "sku", 5.0, "its values are SKUs of the shop".to_owned());
                }
                if share(&|value| known.sold[0].contains(value)) > 0.5 {
                    add(index, "variant_id", 5.0, "its values are variants of the supplier".to_owned());
                }
            }
        }
        if matches!(level, Level::Variants | Level::Offers) {
            let named = if level == Level::Variants { "variant_id" } else { "listing_id" };
            let sets = [(named, &known.sold[0]), ("sku", &known.sold[1])];
            for (meaning, sold) in sets.into_iter().filter(|(_, sold)| sold.len() > 2) {
                for (index, column) in columns.iter().enumerate() {
                    let values = set(column);
                    let there = sold.iter().filter(|value| values.contains(*value)).count();
                    if there * 10 >= sold.len() * 7 {
                        add(index, meaning, 4.0, "the lines of orders name it so".to_owned());
                    }
                }
            }
        }
        if level == Level::Variants {
            for (index, column) in columns.iter().enumerate() {
                if let Some((_, share)) = trim(column, &known.skus)
                    && share > 0.1
                {
                    let there = self.profiles[index].distinct as f64 * share;
                    if there * 2.0 > known.skus.len() as f64 {
                        add(index, "sku", 4.0, "its values are SKUs of the shop".to_owned());
                        if known.sold[0].is_empty() {
                            add(index, "variant_id", -1.5, String::new());
                        }
                    }
                }
            }
        }
        let is_line = matches!(level, Level::OrderLines | Level::SubmissionLines);
        let names_lines = |profile: &super::profile::Profile| {
            profile.is_full() && profile.is_unique() && profile.may_be_id() && profile.mean_length >= 3.0
        };
        if is_line && self.list.parent.is_some() && !self.profiles.iter().any(names_lines) {
            for index in (0..columns.len()).filter(|index| self.counts_within(*index)) {
                let why = "they count the lines of each order from the first on".to_owned();
                add(index, "line_id", 1.2, why);
            }
        }
        for index in (0..columns.len()).filter(|index| self.profiles[*index].times.is_some()) {
            if self.is_of_a_person(index) {
                for meaning in
                    ["placed_at", "received_at", "paid_at", "updated_at", "dispatched_at", "promised_by"]
                {
                    add(index, meaning, -8.0, String::new());
                }
            }
        }
        let first_time = self.first_time();
        if let Some(first) = first_time {
            let why = "no other time is before it".to_owned();
            add(first, "placed_at", 1.5, why.clone());
            add(first, "received_at", 1.5, why);
        }
        for (column, meaning, points, why) in self.by_moments(level, first_time) {
            add(column, meaning, points, why);
        }
        if matches!(level, Level::Orders | Level::Submissions) {
            for words in self.words_in_time(first_time) {
                let why = "its words follow each other in time".to_owned();
                add(words, "submission_status", 1.5, why.clone());
                add(words, "order_status", 1.2, why);
            }
            for index in (0..columns.len())
                .filter(|index| columns[*index].at.as_ref().is_some_and(|at| known.stated.contains(at)))
            {
                add(index, "submission_status", 2.0, "its words go with a time of the lines".to_owned());
            }
            for (words, when) in self.words_with_time() {
                let why = format!("its words go with {}", name(when));
                add(words, "submission_status", 2.0, why.clone());
                add(words, "order_status", 1.5, why);
            }
            for (index, profile) in self.profiles.iter().enumerate() {
                let fits = self.name_fits(index, level);
                for state in ["order_status", "submission_status"] {
                    let is_named = fits.get(state).is_some_and(|fit| fit.score >= 0.9);
                    let is_few =
                        (2..=10).contains(&profile.distinct) && profile.distinct * 4 <= profile.filled;
                    if is_named && is_few && profile.with_digit < 0.2 && profile.fill() > 0.9 {
                        add(index, state, 1.0, "a few words, again and again".to_owned());
                    }
                }
            }
        }
        for (when, number) in self.filled_together() {
            let why = format!("it stands where {} does, and nowhere else", name(number));
            add(when, "dispatched_at", 2.0, why);
            let why = format!("it stands where {} does, and nowhere else", name(when));
            let meaning = if self.profiles[number].distinct <= 12 { "carrier" } else { "tracking_number" };
            add(number, meaning, 1.5, why);
            add(number, "barcode", -6.0, String::new());
        }
        if level == Level::Submissions {
            for (of_shop, own, why) in self.times_of_the_shop(&known.placed) {
                add(of_shop, "received_at", -5.0, String::new());
                add(own, "received_at", 1.5, format!("{} {why}", name(of_shop)));
            }
        }
        for (early, late) in self.in_time() {
            let why = format!("never before {}", name(early));
            for meaning in ["paid_at", "updated_at", "dispatched_at", "promised_by"] {
                add(late, meaning, 0.5, why.clone());
            }
            let why = format!("never after {}", name(late));
            add(early, "placed_at", 0.6, why.clone());
            add(early, "received_at", 0.6, why);
        }
        more.into_iter().map(|(key, (best, worst, why))| (key, (best + worst, why))).collect()
    }

    /// Whether a column of parcels says a few names, again and again, that stand in the records themselves.
    fn says_who(&self, column: usize) -> bool {
        let profile = &self.profiles[column];
        let known = &self.list.columns[column];
        known.at.as_ref().is_some_and(|at| !at.starts_with(OUTER))
            && (2..=12).contains(&profile.distinct)
            && profile.distinct * 3 <= profile.filled
            && profile.fill() > 0.9
            && profile.with_letter > 0.9
            && profile.with_digit < 0.1
            && (4.0..=24.0).contains(&profile.mean_length)
            && profile.times.is_none()
            && profile.two_letters < 0.5
            && profile.currencies < 0.5
    }

    /// Whether the numbers at the end of what names records go up from one to the next, by little.
    fn is_counted(&self, column: usize) -> bool {
        let number = |text: &String| {
            let end = text.trim_end_matches(|letter: char| !letter.is_ascii_digit());
            let front = end.trim_end_matches(|letter: char| letter.is_ascii_digit());
            end[front.len()..].parse::<i128>().ok()
        };
        let numbers: Option<Vec<i128>> =
            self.list.columns[column].values.iter().flatten().map(number).collect();
        let Some(numbers) = numbers.filter(|numbers| numbers.len() > 3) else { return false };
        let up = numbers.windows(2).filter(|pair| (0..=COUNTED).contains(&(pair[1] - pair[0]))).count();
        // Those of each order may begin anew: `5004-1`, `5004-2`.
        let small = numbers.iter().filter(|number| (1..=9).contains(*number)).count();
        up * 10 >= (numbers.len() - 1) * 9 || small * 20 >= numbers.len() * 19
    }

    /// Whether the numbers of a column count the records within each one around them: 1, 2, 3, or 10, 20, 30.
    fn counts_within(&self, column: usize) -> bool {
        let Some(numbers) = &self.profiles[column].whole else { return false };
        let Some(step) = numbers.first().copied().flatten().filter(|step| (1..=1_000).contains(step)) else {
            return false;
        };
        let mut counted: BTreeMap<usize, i64> = BTreeMap::new();
        let goes_on = numbers.iter().zip(&self.list.parent_of).all(|(number, parent)| {
            let next = counted.entry(*parent).or_default();
            *next += step;
            *number == Some(*next)
        });
        goes_on && counted.values().filter(|last| **last > step).count() > 1
    }

    /// Codes that stand for names: the code, the name, and whether several codes stand for the same name.
    fn codes(&self) -> Vec<(usize, usize, bool)> {
        let is_name = |index: &usize| {
            let profile = &self.profiles[*index];
            profile.with_blank > 0.3
                && profile.with_letter > 0.9
                && profile.times.is_none()
                && profile.distinct > 1
                && !profile.is_unique()
        };
        let is_code = |index: &usize| {
            let profile = &self.profiles[*index];
            profile.may_be_id()
                && profile.with_blank < 0.3
                && profile.mean_length >= 2.0
                && profile.distinct > 2
                && profile.fill() > 0.5
                && !self.repeated.contains(index)
        };
        let mut found = Vec::new();
        for code in (0..self.profiles.len()).filter(is_code) {
            for name in (0..self.profiles.len()).filter(|name| *name != code && is_name(name)) {
                if !self.tells(code, name) {
                    continue;
                }
                let is_one_to_one = self.tells(name, code);
                let is_finer = self.profiles[code].distinct > self.profiles[name].distinct;
                let is_each_once = self.profiles[code].is_unique() && self.list.parent.is_some();
                if is_one_to_one && !self.profiles[code].is_unique() || is_finer && !is_each_once {
                    found.push((code, name, !is_one_to_one));
                    break;
                }
            }
        }
        found
    }

    /// Whether records with one value of the first column have one of the second, but for a few; of values that come
    /// again, since others tell nothing.
    fn tells(&self, from: usize, to: usize) -> bool {
        let mut of: BTreeMap<&str, BTreeMap<&str, usize>> = BTreeMap::new();
        let (from, to) = (&self.list.columns[from].values, &self.list.columns[to].values);
        for (from, to) in from.iter().zip(to) {
            if let (Some(from), Some(to)) = (from, to) {
                *of.entry(from).or_default().entry(to).or_default() += 1;
            }
        }
        let (mut all, mut usual) = (0, 0);
        for values in of.values().filter(|values| values.values().sum::<usize>() > 1) {
            all += values.values().sum::<usize>();
            usual += values.values().max().copied().unwrap_or_default();
        }
        all >= 4 && usual * 20 >= all * 19
    }

    /// Columns of few words, with a time that is there for all records of some of the words and for none of the others, but for
    /// one.
    pub(super) fn words_with_time(&self) -> Vec<(usize, usize)> {
        let is_words = |index: &usize| {
            let profile = &self.profiles[*index];
            (2..=12).contains(&profile.distinct)
                && profile.fill() > 0.95
                && profile.distinct * 3 <= profile.filled
                && profile.times.is_none()
                && profile.max_length <= 40
        };
        let is_time = |index: &usize| {
            let profile = &self.profiles[*index];
            profile.times.is_some() && (0.05..0.98).contains(&profile.fill())
        };
        let mut found = Vec::new();
        for words in (0..self.profiles.len()).filter(is_words) {
            for when in (0..self.profiles.len()).filter(is_time) {
                let mut of: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
                let (own, times) = (&self.list.columns[words].values, &self.list.columns[when].values);
                for (word, time) in own.iter().zip(times) {
                    let (all, filled) = of.entry(word.as_deref().unwrap_or_default()).or_default();
                    *all += 1;
                    *filled += usize::from(time.is_some());
                }
                let is_clear = |(all, filled): &(usize, usize)| *filled == 0 || *filled * 20 >= *all * 19;
                let unclear = of.values().filter(|counts| !is_clear(counts)).count();
                let has = of.values().any(|counts| counts.1 > 0 && is_clear(counts));
                // What was cancelled was so before that time or behind it.
                let may_be_unclear = usize::from(of.len() > 2);
                if has && of.values().any(|(_, filled)| *filled == 0) && unclear <= may_be_unclear {
                    found.push((words, when));
                    break;
                }
            }
        }
        found
    }

    /// Pairs of a time and a number or word that some records have, the same for both: what is told of a parcel.
    fn filled_together(&self) -> Vec<(usize, usize)> {
        let is_part = |index: &usize| (0.05..0.98).contains(&self.profiles[*index].fill());
        let part: Vec<usize> = (0..self.profiles.len()).filter(is_part).collect();
        let mut found = Vec::new();
        for when in part.iter().filter(|index| self.profiles[**index].times.is_some()) {
            for number in part.iter().filter(|index| self.profiles[**index].times.is_none()) {
                let profile = &self.profiles[*number];
                let is_number = profile.is_unique()
                    && profile.may_be_id()
                    && profile.mean_length >= 6.0
                    && profile.with_digit > 0.8;
                let is_carrier = profile.distinct <= 12
                    && profile.distinct * 3 <= profile.filled
                    && profile.with_letter > 0.9
                    && profile.mean_length <= 24.0;
                let (times, values) = (&self.list.columns[*when].values, &self.list.columns[*number].values);
                let together = times.iter().zip(values).filter(|(a, b)| a.is_some() == b.is_some()).count();
                if (is_number || is_carrier) && together * 50 >= times.len() * 49 {
                    found.push((*when, *number));
                }
            }
        }
        found
    }

    /// Countries that stand elsewhere than where something is sent, where another stands there.
    fn not_of_delivery(&self) -> Vec<usize> {
        const WHERE: &[&str] = &[
            "ship",
            "shipping",
            "shipment",
            "delivery",
            "deliver",
            "recipient",
            "destination",
            "lieferung",
            "liefer",
            "versand",
            "empfanger",
            "livraison",
            "expedition",
            "destinataire",
            "envio",
            "entrega",
            "despacho",
            "destino",
            "destinatario",
        ];
        let is_country = |index: &usize| {
            let fits = self.name_fits(*index, Level::Orders);
            fits.get("ship_to_country").is_some_and(|fit| fit.score >= 2.0)
                && self.profiles[*index].two_letters > 0.9
        };
        let is_of_delivery = |index: &usize| {
            let path = &self.list.columns[*index].path;
            path.iter()
                .flat_map(|name| super::lexicon::words(name))
                .any(|word| WHERE.contains(&word.as_str()))
        };
        let countries: Vec<usize> = (0..self.profiles.len()).filter(is_country).collect();
        match countries.iter().any(is_of_delivery) {
            true => countries.into_iter().filter(|index| !is_of_delivery(index)).collect(),
            false => Vec::new(),
        }
    }

    /// Columns of times of which the first is never after the second, and mostly before.
    fn in_time(&self) -> Vec<(usize, usize)> {
        let times: Vec<(usize, &super::times::Times)> = self
            .profiles
            .iter()
            .enumerate()
            .filter_map(|(index, profile)| Some((index, profile.times.as_ref()?)))
            .collect();
        let mut found = Vec::new();
        for (early, first) in &times {
            for (late, second) in &times {
                let pairs: Vec<_> = first
                    .moments
                    .iter()
                    .zip(&second.moments)
                    .filter_map(|(a, b)| Some(((*a)?, (*b)?)))
                    .collect();
                let is_before = pairs.iter().all(|(a, b)| a <= b);
                let differ = pairs.iter().filter(|(a, b)| a < b).count();
                if early != late && is_before && differ * 2 > pairs.len() && pairs.len() > 1 {
                    found.push((*early, *late));
                }
            }
        }
        found
    }
}
