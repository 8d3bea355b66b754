//! What the values of a column say of its meaning, whatever it is called.
//!
//! Must not know other columns, but for which records are one. Start reading at [`Sheet::by_values`].

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;

use super::level::Level;
use super::lexicon::{LEXICON, Meaning};
use super::profile::{AmountForm, Profile};
use super::sheet::Sheet;

impl Sheet<'_> {
    /// What the values say: nothing where they cannot have the meaning.
    pub(super) fn by_values(
        &self,
        meaning: Meaning,
        index: usize,
        profile: &Profile,
        level: Level,
    ) -> Option<(f64, Vec<String>)> {
        let is_line = matches!(level, Level::OrderLines | Level::SubmissionLines | Level::ParcelLines);
        let mut why = Vec::new();
        let mut score = 0.0;
        let mut add = |points: f64, reason: &str| {
            score += points;
            if points > 0.4 {
                why.push(reason.to_owned());
            }
        };
        let is_own_id = level.own_id() == Some(meaning);
        let status_share = |families: &[&str]| {
            let known = |text: &str| families.iter().any(|family| LEXICON.status(family, text).is_some());
            let known = |text: &str| {
                known(text) || families.iter().any(|family| super::status::by_stem(family, text).is_some())
            };
            let told: Vec<usize> =
                profile.frequent.iter().filter(|(text, _)| known(text)).map(|(_, count)| *count).collect();
            let of_values = told.iter().sum::<usize>() as f64 / profile.filled.max(1) as f64;
            // Most records may bear a word that nobody knows.
            let of_words = told.len() as f64 / profile.distinct.max(1) as f64;
            if told.len() >= 3 { of_values.max(of_words) } else { of_values }
        };
        match meaning {
            "email" => {
                if profile.with_at < 0.8 {
                    return None;
                }
                add(6.0, "all are mail addresses");
            }
            _ if profile.with_at > 0.3 || profile.urls > 0.5 && meaning != "image_url" => return None,
            "phone" => {
                if profile.phones < 0.6 || profile.distinct < 2 {
                    return None;
                }
                add(1.0, "they look like telephone numbers");
            }
            "order_id" | "submission_id" | "parcel_id" | "variant_id" | "line_id"
                if is_own_id && !(meaning == "line_id" && is_line) =>
            {
                let is_worded = meaning == "order_id" && self.is_worded(index);
                let may_be = || self.may_be_id(meaning, index, profile, level) && profile.with_blank <= 0.3;
                if !profile.is_full() || !profile.is_unique() || !is_worded && !may_be() {
                    return None;
                }
                if profile.count > 1 {
                    add(2.0, "no two records share one");
                }
                if let Some((least, most)) = profile.range()
                    && least <= 1
                    && most as usize <= profile.count
                    && profile.count > 3
                {
                    add(-2.0, "");
                }
            }
            "line_id" => {
                if !profile.is_full()
                    || !profile.may_be_id()
                    || profile.with_blank > 0.1
                    || !(self.is_unique_within(index)
                        || level == Level::SubmissionLines && self.stands_again_for_parts(index))
                {
                    return None;
                }
                add(1.0, "no two lines of an order share one");
                if profile.is_unique() && profile.count > 1 {
                    add(0.8, "no two lines share one");
                } else if profile.range().is_some_and(|(least, most)| least <= 1 && most <= 60) {
                    add(0.5, "they count the lines of each order");
                }
            }
            "order_id" | "submission_id" | "order_ref" | "order_line_ref" | "replaces" | "listing_id"
            | "parcel_id" | "variant_id" => {
                // A reference may have a word before it: `Order 1042`.
                let is_worded = meaning == "order_ref"
                    && (profile.with_digit > 0.9
                        || profile.with_digit > 0.5 && profile.distinct * 2 > profile.filled)
                    && profile.max_length <= 40
                    && profile.times.is_none()
                    && profile.with_at == 0.0;
                if !is_worded && !self.may_be_id(meaning, index, profile, level) {
                    return None;
                }
                if matches!(meaning, "order_id" | "submission_id") && !profile.is_full() && !is_line {
                    return None;
                }
                if meaning == "replaces" && profile.fill() > 0.5 {
                    add(-2.5, "");
                }
                if meaning == "listing_id" && (profile.is_unique() && is_line && profile.count > 8) {
                    add(-1.5, "");
                }
                // A few words without a number are what is chosen.
                if meaning == "listing_id" && profile.with_digit < 0.1 && profile.distinct <= 8 {
                    add(-1.5, "");
                }
                if meaning == "order_ref" && profile.distinct * 3 < profile.filled {
                    add(-2.0, "");
                }
                if profile.distinct == 1 && profile.filled > 3 {
                    add(-2.0, "");
                }
                add(0.3, "");
            }
            "sku" => {
                if profile.times.is_some() || profile.mean_length < 3.0 || profile.max_length > 80 {
                    return None;
                }
                // A code may be written like an amount, or with blanks, where it is called a code.
                let is_unlike = profile.has_fractions() || profile.with_blank > 0.6;
                if is_unlike && !self.is_called(meaning, index, level) {
                    return None;
                }
                if profile.distinct == 1 && profile.filled > 5 {
                    add(-2.0, "");
                }
                if profile.with_digit > 0.5 && profile.with_letter > 0.5 {
                    add(0.6, "they look like codes of letters and digits");
                }
                if is_line && profile.is_unique() && profile.count > 8 {
                    add(-1.5, "");
                }
            }
            "tracking_number" => {
                if profile.times.is_some() || profile.mean_length < 6.0 || profile.with_digit < 0.8 {
                    return None;
                }
                add(if profile.is_unique() { 0.8 } else { -0.5 }, "they are long and no two are the same");
            }
            "quantity" | "cancelled_quantity" => {
                let (least, most) = profile.range()?;
                if least < 0 || most > 5_000 || (meaning == "quantity" && !profile.is_full()) {
                    return None;
                }
                let values = profile.whole.as_deref().unwrap_or_default();
                let small = values.iter().flatten().filter(|value| **value <= 5).count();
                let share = small as f64 / profile.filled.max(1) as f64;
                if meaning == "cancelled_quantity" {
                    let zeros = values.iter().flatten().filter(|value| **value == 0).count();
                    if zeros * 2 < profile.filled && profile.is_full() {
                        return None;
                    }
                    add(0.5, "most are 0");
                } else {
                    if values.iter().flatten().all(|value| *value == 0) {
                        return None;
                    }
                    add(if share > 0.6 { 1.0 } else { -2.0 }, "they are small whole numbers");
                    if profile.is_unique() && profile.count > 4 || is_line && self.counts_rows(index) {
                        add(-3.0, "");
                    }
                }
            }
            "unit_price" | "price" | "unit_cost" | "line_total" | "order_total" | "subtotal"
            | "shipping_cost" | "tax" | "discount" | "fee" | "refund_amount" | "weight" => {
                let (form, amounts) = profile.amounts.as_ref()?;
                if amounts.iter().flatten().any(|amount| amount.is_sign_negative() && !amount.is_zero())
                    && meaning != "discount"
                    && meaning != "refund_amount"
                {
                    return None;
                }
                add(if *form == AmountForm::Whole { 0.2 } else { 0.6 }, "they are amounts");
                // How many of it, not what it costs.
                let is_few = amounts.iter().flatten().all(|amount| *amount <= Decimal::TEN);
                if *form == AmountForm::Whole && is_few && profile.distinct <= 6 && meaning == "unit_cost" {
                    add(-3.5, "");
                }
                if matches!(meaning, "unit_price" | "price" | "unit_cost")
                    && amounts.iter().flatten().all(Decimal::is_zero)
                {
                    add(-3.0, "");
                }
            }
            "currency" => {
                if profile.currencies < 0.95 {
                    return None;
                }
                add(3.0, "all are codes of currencies");
            }
            "ship_to_country" => {
                if profile.with_digit > 0.1 || profile.mean_length > 20.0 || profile.currencies > 0.9 {
                    return None;
                }
                add(if profile.two_letters > 0.9 { 2.0 } else { -0.5 }, "all are codes of two letters");
            }
            "placed_at" | "received_at" | "paid_at" | "updated_at" | "dispatched_at" | "promised_by"
            | "cancelled_at" | "delivered_at" | "made_at" | "expected_delivery" | "invoice_date"
            | "birthday" => {
                if meaning == "cancelled_at" && profile.times.is_none() {
                    // A flag, or the word of who did it.
                    return (profile.distinct <= 3 && profile.filled < profile.count
                        || status_share(&["flag"]) > 0.9)
                        .then(|| (0.0, Vec::new()));
                }
                profile.times.as_ref()?;
                add(1.0, "all are times");
                match meaning {
                    "placed_at" | "received_at" if !profile.is_full() => return None,
                    "cancelled_at" if profile.fill() > 0.6 => return None,
                    "paid_at" | "updated_at" if profile.fill() < 0.4 => add(-1.0, ""),
                    _ => {}
                }
            }
            "order_status" | "payment_status" | "dispatch_status" | "submission_status" | "line_status" => {
                if profile.distinct > 14 || profile.mean_length > 30.0 || profile.times.is_some() {
                    return None;
                }
                let families: &[&str] = match meaning {
                    "order_status" => &["order"],
                    "payment_status" => &["payment", "flag"],
                    "dispatch_status" => &["dispatch", "flag"],
                    _ => &["submission"],
                };
                let share = status_share(families);
                if profile.whole.is_some() && share < 0.9 && profile.distinct > 6 {
                    return None;
                }
                if !profile.is_full()
                    && matches!(meaning, "order_status" | "submission_status")
                    && profile.fill() < 0.9
                {
                    add(-1.5, "");
                }
                add(2.5 * share, "they are words of a state");
            }
            "buyable" | "available" => {
                if profile.distinct > 6 {
                    return None;
                }
                add(if status_share(&["flag"]) > 0.9 { 1.5 } else { -0.5 }, "they say yes or no");
                // What is the same for all tells nothing of one.
                if profile.distinct == 1 && profile.count > 3 {
                    add(-0.5, "");
                }
            }
            "carrier" => {
                if profile.distinct > 12 || profile.with_letter < 0.9 || profile.times.is_some() {
                    return None;
                }
                add(
                    if profile.distinct * 3 < profile.filled { 0.5 } else { 0.0 },
                    "a few words, again and again",
                );
                // What is the same for all is rather how all are sent.
                if profile.distinct == 1 && profile.filled > 5 {
                    add(-1.0, "");
                }
            }
            "title" | "product" => {
                if profile.with_letter < 0.9 || profile.times.is_some() || profile.mean_length < 3.0 {
                    return None;
                }
                // Codes are no names.
                if profile.with_digit > 0.9 && profile.with_blank == 0.0 && profile.distinct > 1 {
                    return None;
                }
                if profile.fill() < 0.8 {
                    add(-1.0, "");
                }
                if profile.with_blank > 0.4 {
                    add(0.8, "they are names of several words");
                }
                if profile.distinct == 1 && profile.filled > 5 {
                    add(-1.5, "");
                }
                if profile.distinct * 4 > profile.filled && profile.distinct > 3 {
                    add(0.6, "");
                }
            }
            // What is a time in all records is no text, no person and no choice.
            "note" | "personalisation" | "customer_name" | "street" | "city" | "region" | "company"
            | "vendor" | "category" | "size" | "colour" | "material" | "design" | "option" | "options"
                if profile.times.as_ref().is_some_and(|times| times.form.as_deref() != Some("%Y%m%d")) =>
            {
                return None;
            }
            _ => {}
        }
        Some((score, why))
    }

    /// Whether a column's name says nothing but that it has a meaning.
    pub(super) fn is_called(&self, meaning: Meaning, index: usize, level: Level) -> bool {
        self.name_fits(index, level).get(meaning).is_some_and(|fit| fit.is_exact)
    }

    /// Whether it may be an id by its values, or by its name where these are written like amounts.
    fn may_be_id(&self, meaning: Meaning, index: usize, profile: &Profile, level: Level) -> bool {
        profile.may_be_id() || profile.may_be_called_id() && self.is_called(meaning, index, level)
    }

    /// Whether no two records within one around them share a value.
    pub(super) fn is_unique_within(&self, column: usize) -> bool {
        let mut seen = BTreeSet::new();
        let parents = &self.list.parent_of;
        if self.list.parent.is_none() {
            return self.profiles[column].is_unique() || self.is_unique_beside_another(column);
        }
        let values = &self.list.columns[column].values;
        values
            .iter()
            .zip(parents)
            .all(|(value, parent)| value.as_ref().is_some_and(|value| seen.insert((*parent, value))))
    }

    /// How many columns, but one and those that say something of the record around, are filled in a row; and how many of these
    /// say the same in another.
    pub(super) fn alike(&self, row: usize, other: usize, but: usize) -> (usize, usize) {
        let (mut all, mut same) = (0, 0);
        for (index, column) in self.list.columns.iter().enumerate() {
            if index != but && !self.repeated.contains(&index) && column.values[row].is_some() {
                all += 1;
                same += usize::from(column.values[row] == column.values[other]);
            }
        }
        (all, same)
    }

    /// Whether all records within one around them say the same.
    pub(super) fn is_same_within(&self, column: usize) -> bool {
        let mut of: BTreeMap<usize, &Option<String>> = BTreeMap::new();
        let values = &self.list.columns[column].values;
        values
            .iter()
            .zip(&self.list.parent_of)
            .all(|(value, parent)| *of.entry(*parent).or_insert(value) == value)
    }

    /// Whether records that share a value within one around them are one, said again for each part of it, such as a line
    /// that went in two parcels: they are few, and say the same in most of what is not said of the record around.
    fn stands_again_for_parts(&self, column: usize) -> bool {
        let mut first: BTreeMap<(usize, &str), usize> = BTreeMap::new();
        let mut again = 0;
        for (row, (value, parent)) in
            self.list.columns[column].values.iter().zip(&self.list.parent_of).enumerate()
        {
            let Some(value) = value else { return false };
            let earlier = *first.entry((*parent, value.as_str())).or_insert(row);
            if earlier == row {
                continue;
            }
            again += 1;
            let (all, same) = self.alike(row, earlier, column);
            if same < 3 || same * 2 < all {
                return false;
            }
        }
        again * 5 <= self.list.records.len()
    }

    /// Of a list by itself: whether it tells records apart together with some column that repeats, such as the order.
    fn is_unique_beside_another(&self, column: usize) -> bool {
        let own = &self.list.columns[column].values;
        self.list.columns.iter().enumerate().any(|(index, other)| {
            index != column && self.profiles[index].is_full() && self.profiles[index].distinct > 1 && {
                let mut seen = BTreeSet::new();
                other.values.iter().zip(own).all(|pair| seen.insert(pair))
            }
        })
    }
}
