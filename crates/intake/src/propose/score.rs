//! How well each column of a list fits each meaning: by its name, by its values, and by how these go with those of other
//! columns; and the choice over all of them together.
//!
//! Must not know files or how a mapping is written. Start reading at [`choose`].

use std::collections::{BTreeMap, BTreeSet};

use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;
use rust_decimal::Decimal;

use super::lexicon::{Fit, LEXICON, Meaning, meanings};
use super::profile::{AmountForm, Profile, set};
use super::tree::{Column, List};

/// What the records of a list are.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Level {
    Orders,
    OrderLines,
    Offers,
    Variants,
    Submissions,
    SubmissionLines,
    Parcels,
    ParcelLines,
}

impl Level {
    /// The meanings of its columns that are kept; any other is there to be told from them.
    pub(super) fn meanings(self) -> &'static [Meaning] {
        match self {
            Self::Orders => &[
                "order_id",
                "placed_at",
                "paid_at",
                "order_status",
                "payment_status",
                "dispatch_status",
                "cancelled_at",
                "currency",
                "promised_by",
                "ship_to_country",
                "updated_at",
                "dispatched_at",
            ],
            Self::OrderLines => &[
                "order_id",
                "line_id",
                "listing_id",
                "sku",
                "title",
                "quantity",
                "cancelled_quantity",
                "unit_price",
            ],
            Self::Offers => &["listing_id", "sku", "title", "price", "currency", "buyable"],
            Self::Variants => &["variant_id", "sku", "product", "unit_cost", "currency", "available"],
            Self::Submissions => &[
                "submission_id",
                "order_ref",
                "submission_status",
                "received_at",
                "replaces",
                "updated_at",
                "cancelled_at",
                "dispatched_at",
                "carrier",
                "tracking_number",
                "parcel_id",
            ],
            Self::SubmissionLines => &[
                "submission_id",
                "order_ref",
                "order_line_ref",
                "line_id",
                "variant_id",
                "sku",
                "quantity",
                "line_status",
                "unit_cost",
            ],
            Self::Parcels => &["parcel_id", "submission_id", "dispatched_at", "carrier", "tracking_number"],
            Self::ParcelLines => &["parcel_id", "line_id", "quantity"],
        }
    }

    /// The one that names a record.
    pub(super) fn own_id(self) -> Option<Meaning> {
        match self {
            Self::Orders => Some("order_id"),
            Self::Variants => Some("variant_id"),
            Self::Submissions => Some("submission_id"),
            Self::Parcels => Some("parcel_id"),
            Self::OrderLines | Self::SubmissionLines => Some("line_id"),
            Self::Offers | Self::ParcelLines => None,
        }
    }

    /// Whether its records are a supplier's.
    fn is_of_supplier(self) -> bool {
        matches!(
            self,
            Self::Variants | Self::Submissions | Self::SubmissionLines | Self::Parcels | Self::ParcelLines
        )
    }

    /// Other meanings that its own take words from: what an order is to a shop, its job is to a supplier.
    fn also(self, meaning: Meaning) -> &'static [Meaning] {
        match (self.is_of_supplier(), meaning) {
            (false, "unit_price") => &["price"],
            (false, "price") => &["unit_price"],
            (_, "title") => &["product"],
            (_, "product") => &["title"],
            (true, "unit_cost") => &["unit_price", "price"],
            (true, "submission_id") => &["order_id"],
            (true, "received_at") => &["placed_at"],
            (true, "submission_status" | "line_status") => &["order_status", "submission_status"],
            (true, "available") => &["buyable"],
            (false, "buyable") => &["available"],
            (true, "variant_id") => &["listing_id"],
            _ => &[],
        }
    }

    /// Whether a column of its records can have a meaning, ours or another: those of the other side are no others.
    fn can_mean(self, meaning: Meaning) -> bool {
        if self == Self::ParcelLines && !self.meanings().contains(&meaning) {
            return matches!(meaning, "weight" | "note" | "unit");
        }
        if matches!(meaning, "orders" | "lines" | "listings" | "offers" | "variants" | "parcels") {
            return false;
        }
        let of_supplier = matches!(
            meaning,
            "submission_id"
                | "order_ref"
                | "order_line_ref"
                | "received_at"
                | "submission_status"
                | "line_status"
                | "variant_id"
                | "product"
                | "unit_cost"
                | "available"
                | "replaces"
        );
        let of_shop = matches!(
            meaning,
            "order_id"
                | "placed_at"
                | "order_status"
                | "listing_id"
                | "unit_price"
                | "price"
                | "title"
                | "buyable"
        );
        let is_own = self.meanings().contains(&meaning);
        is_own
            || !(of_supplier || of_shop)
            || (of_shop && !self.is_of_supplier() && !self.also_any(meaning))
            || (of_supplier && self.is_of_supplier() && !self.also_any(meaning))
    }

    fn also_any(self, meaning: Meaning) -> bool {
        self.meanings().iter().any(|own| self.also(own).contains(&meaning))
    }

    /// The meaning of the name of a list of such records, and what one is called.
    pub(super) fn list_meanings(self) -> (&'static [Meaning], &'static str) {
        match self {
            Self::Orders => (&["orders", "order_id"], "order"),
            Self::Submissions => (&["orders", "submission_id", "order_id"], "order"),
            Self::OrderLines | Self::SubmissionLines => (&["lines", "line_id"], "line"),
            Self::Offers => (&["listing_id", "listings", "offers"], "offer"),
            Self::Variants => (&["variant_id", "product", "variants"], "variant"),
            Self::Parcels => (&["parcels", "parcel_id"], "parcel"),
            Self::ParcelLines => (&["lines", "line_id"], "line"),
        }
    }
}

/// A list with what is known of its columns.
#[derive(Clone, Debug)]
pub(super) struct Sheet<'v> {
    pub(super) list: List<'v>,
    pub(super) profiles: Vec<Profile>,
    /// The names around it beside its own: the file.
    pub(super) title: Vec<String>,
    /// Columns that only say something of the record around, repeated.
    pub(super) repeated: BTreeSet<usize>,
}

/// What speaks for a column having a meaning.
#[derive(Clone, Default, Debug)]
pub(super) struct Evidence {
    pub(super) score: f64,
    pub(super) is_exact: bool,
    /// What the values say, beside that they may be it.
    pub(super) by_values: f64,
    pub(super) why: Vec<String>,
}

/// A column chosen for a meaning.
#[derive(Clone, Debug)]
pub(super) struct Chosen {
    pub(super) column: usize,
    pub(super) evidence: Evidence,
    /// How much better than the next best column, and than the next best meaning of the same column.
    pub(super) margin: f64,
    /// Other columns that may be meant, the best first.
    pub(super) others: Vec<usize>,
}

/// What is known of values elsewhere.
#[derive(Clone, Default, Debug)]
pub(super) struct Known<'k> {
    /// The ids of the records that the list's belong to, where it is a list by itself.
    pub(super) parents: Option<BTreeSet<&'k str>>,
    /// The shop's order ids, SKUs and line ids, from the other side.
    pub(super) order_ids: BTreeSet<String>,
    pub(super) skus: BTreeSet<String>,
    /// Places of columns whose values another list repeats.
    pub(super) referred: BTreeSet<String>,
    /// The ids of the lines that parcels have.
    pub(super) line_ids: BTreeSet<String>,
}

/// What a text is without a front and an end.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub(super) struct Trim {
    pub(super) front: String,
    pub(super) end: String,
}

/// The front and end that, taken off, leave the most values that are known; with the share that are then.
pub(super) fn trim(column: &Column, known: &BTreeSet<String>) -> Option<(Trim, f64)> {
    let values = set(column);
    if values.is_empty() || known.is_empty() {
        return None;
    }
    let mut votes: BTreeMap<(String, String), usize> = BTreeMap::new();
    for value in &values {
        if known.contains(*value) {
            *votes.entry(Default::default()).or_default() += 1;
        }
        let starts: Vec<usize> = value.char_indices().map(|(at, _)| at).take(24).collect();
        for start in starts {
            let ends =
                value.char_indices().map(|(at, letter)| at + letter.len_utf8()).filter(|end| *end > start);
            for end in ends.rev().take(24) {
                if known.contains(&value[start..end]) && (start > 0 || end < value.len()) {
                    let key = (value[..start].to_owned(), value[end..].to_owned());
                    *votes.entry(key).or_default() += 1;
                    break;
                }
            }
        }
    }
    let ((front, end), count) = votes
        .into_iter()
        .max_by_key(|(key, count)| (*count, std::cmp::Reverse(key.0.len() + key.1.len())))?;
    Some((Trim { front, end }, count as f64 / values.len() as f64))
}

impl Sheet<'_> {
    pub(super) fn new<'v>(list: List<'v>, title: Vec<String>) -> Sheet<'v> {
        let profiles = list.columns.iter().map(Profile::of).collect();
        Sheet { list, profiles, title, repeated: BTreeSet::new() }
    }

    fn names_around(&self, column: &Column) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        names.extend(self.list.names.last().cloned());
        names.extend(column.path.iter().take(column.path.len().saturating_sub(1)).cloned());
        names
    }

    /// What a column's name says, as records of a kind.
    pub(super) fn name_fits(&self, column: usize, level: Level) -> BTreeMap<Meaning, Fit> {
        let column = &self.list.columns[column];
        if column.at.is_none() {
            return level
                .own_id()
                .map(|meaning| BTreeMap::from([(meaning, Fit { score: 5.0, is_exact: false })]))
                .unwrap_or_default();
        }
        let of = Some(level.list_meanings().1);
        let mut fits = LEXICON.fits_of(column.name(), &self.names_around(column), of);
        for meaning in level.meanings() {
            for also in level.also(meaning) {
                if let Some(other) = fits.get(also).copied() {
                    let fit = fits.entry(meaning).or_insert(other);
                    if other.score > fit.score {
                        *fit = other;
                    }
                }
            }
        }
        fits.retain(|meaning, _| level.can_mean(meaning));
        let path: Vec<String> = column.path.iter().flat_map(|name| super::lexicon::words(name)).collect();
        let is_of_billing = path.iter().any(|word| {
            matches!(
                word.as_str(),
                "billing" | "bill" | "invoice" | "rechnung" | "rechnungs" | "facturation" | "facturacion"
            )
        });
        if is_of_billing {
            for meaning in ["ship_to_country", "order_id", "placed_at"] {
                fits.remove(meaning);
            }
        }
        fits
    }

    /// All evidence: by column and meaning.
    pub(super) fn evidence(&self, level: Level, known: &Known<'_>) -> Vec<BTreeMap<Meaning, Evidence>> {
        let more = self.relations(level, known);
        let own = level.meanings();
        let mut all: Vec<BTreeMap<Meaning, Evidence>> = Vec::new();
        for (index, profile) in self.profiles.iter().enumerate() {
            let fits = self.name_fits(index, level);
            let best_other_exact = |meaning: Meaning| {
                fits.iter().any(|(other, fit)| {
                    *other != meaning
                        && fit.is_exact
                        && self.by_values(other, index, profile, level).is_some()
                }) && !fits.get(meaning).is_some_and(|fit| fit.is_exact)
            };
            let mut of_column = BTreeMap::new();
            let candidates: BTreeSet<Meaning> = own
                .iter()
                .copied()
                .chain(fits.keys().copied())
                .chain(
                    more.iter().filter(|((column, _), _)| *column == index).map(|((_, meaning), _)| *meaning),
                )
                .chain(["email", "phone"])
                .collect();
            for meaning in candidates {
                let Some((by_values, mut why)) = self.by_values(meaning, index, profile, level) else {
                    continue;
                };
                let fit = fits.get(meaning).copied().unwrap_or(Fit { score: 0.0, is_exact: false });
                let related = more.get(&(index, meaning));
                let mut score = fit.score + by_values + related.map_or(0.0, |(more, _)| *more);
                if best_other_exact(meaning) {
                    score -= 2.5;
                }
                let is_line = matches!(level, Level::OrderLines | Level::SubmissionLines);
                let names_the_order = matches!(meaning, "order_id" | "submission_id" | "order_ref");
                if is_line && self.repeated.contains(&index) && !names_the_order {
                    score -= 1.5;
                }
                if fit.score > 0.0 {
                    why.insert(0, format!("its name, {}", super::shown_name(&self.list.columns[index])));
                }
                if let Some((_, text)) = related.filter(|(points, _)| *points > 0.0) {
                    why.push(text.clone());
                }
                let by_values = by_values + related.map_or(0.0, |(more, _)| *more);
                if score > 0.0 {
                    of_column.insert(meaning, Evidence { score, is_exact: fit.is_exact, by_values, why });
                }
            }
            all.push(of_column);
        }
        all
    }

    /// What the values say: nothing where they cannot have the meaning.
    fn by_values(
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
            let count: usize =
                profile.frequent.iter().filter(|(text, _)| known(text)).map(|(_, count)| count).sum();
            count as f64 / profile.filled.max(1) as f64
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
                if !profile.is_full()
                    || !profile.is_unique()
                    || !profile.may_be_id()
                    || profile.with_blank > 0.3
                {
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
                    || !self.is_unique_within(index)
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
                if !profile.may_be_id() || profile.with_blank > 0.5 {
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
                if meaning == "order_ref" && profile.distinct * 3 < profile.filled {
                    add(-2.0, "");
                }
                if profile.distinct == 1 && profile.filled > 3 {
                    add(-2.0, "");
                }
                add(0.3, "");
            }
            "sku" => {
                if profile.times.is_some()
                    || profile.amounts.as_ref().is_some_and(|(form, _)| *form != AmountForm::Whole)
                {
                    return None;
                }
                if profile.mean_length < 3.0 || profile.with_blank > 0.6 || profile.max_length > 80 {
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
                    if profile.is_unique() && profile.count > 4 {
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
            | "cancelled_at" | "delivered_at" | "expected_delivery" | "invoice_date" | "birthday" => {
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
            }
            "carrier" => {
                if profile.distinct > 12 || profile.with_letter < 0.9 || profile.times.is_some() {
                    return None;
                }
                add(
                    if profile.distinct * 3 < profile.filled { 0.5 } else { 0.0 },
                    "a few words, again and again",
                );
            }
            "title" | "product" => {
                if profile.with_letter < 0.9 || profile.times.is_some() || profile.mean_length < 3.0 {
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
            _ => {}
        }
        Some((score, why))
    }

    /// Whether no two records within one around them share a value.
    fn is_unique_within(&self, column: usize) -> bool {
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

    /// How the values of columns go together.
    fn relations(&self, level: Level, known: &Known<'_>) -> BTreeMap<(usize, Meaning), (f64, String)> {
        let mut more: BTreeMap<(usize, Meaning), (f64, String)> = BTreeMap::new();
        let mut add = |column: usize, meaning: Meaning, points: f64, why: String| {
            let known = more.entry((column, meaning)).or_insert((0.0, why));
            known.0 = if points < 0.0 && known.0 == 0.0 { points } else { known.0.max(points) };
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
        if let Some(own) = level.own_id().filter(|own| *own != "line_id") {
            for (index, column) in columns.iter().enumerate() {
                if column.at.as_ref().is_some_and(|at| known.referred.contains(at)) {
                    add(index, own, 3.0, "another list refers to it".to_owned());
                }
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
                } else if !known.order_ids.is_empty() {
                    add(index, "order_ref", -4.0, String::new());
                }
                match trim(column, &known.skus) {
                    Some((_, share)) if share > 0.5 => {
                        add(index, "sku", 4.0 * share, "its values are SKUs of the shop".to_owned());
                    }
                    share if known.skus.len() > 5 && share.as_ref().is_none_or(|(_, share)| *share < 0.1) => {
                        add(index, "sku", -3.0, String::new());
                    }
                    _ => {}
                }
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
        for (early, late) in self.in_time() {
            let why = format!("never before {}", name(early));
            for meaning in ["paid_at", "updated_at", "dispatched_at", "promised_by"] {
                add(late, meaning, 0.5, why.clone());
            }
            let why = format!("never after {}", name(late));
            add(early, "placed_at", 0.6, why.clone());
            add(early, "received_at", 0.6, why);
        }
        more
    }

    /// Columns of which the first times the second is the third, in nearly all records, and not for being 1 alone.
    fn products(&self) -> Vec<(usize, usize, usize)> {
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

/// The best choice of a column for each meaning, over all of them together: an optimal assignment (Kuhn 1955, by the
/// crate `pathfinding`), in which columns may also have a meaning that is not kept, or none.
pub(super) fn choose(sheet: &Sheet<'_>, level: Level, known: &Known<'_>) -> BTreeMap<Meaning, Chosen> {
    let evidence = sheet.evidence(level, known);
    let own = level.meanings();
    // Others may stand there several times: two streets, three notes.
    let others: Vec<Meaning> =
        meanings().into_iter().filter(|meaning| !own.contains(meaning) && level.can_mean(meaning)).collect();
    let count = evidence.len();
    if count == 0 {
        return BTreeMap::new();
    }
    let points = |score: f64| (score * 1_000.0) as i64;
    let best_other: Vec<i64> = evidence
        .iter()
        .map(|of_column| {
            let scores = others.iter().filter_map(|meaning| of_column.get(meaning)).map(|e| points(e.score));
            scores.max().unwrap_or(0).max(900)
        })
        .collect();
    // A column for each meaning of ours, then one place for each column where it means something else, or nothing.
    let mut matrix = Matrix::new(count, own.len() + count, 0_i64);
    for (row, of_column) in evidence.iter().enumerate() {
        for (place, meaning) in own.iter().enumerate() {
            matrix[(row, place)] =
                of_column.get(meaning).map_or(-1_000_000, |evidence| points(evidence.score));
        }
        for place in 0..count {
            matrix[(row, own.len() + place)] = if place == row { best_other[row] } else { -1_000_000 };
        }
    }
    let (_, assigned) = kuhn_munkres(&matrix);
    let mut chosen = BTreeMap::new();
    for (row, place) in assigned.into_iter().enumerate() {
        let Some(meaning) = own.get(place) else { continue };
        let Some(found) = evidence[row].get(meaning) else { continue };
        let mut rivals: Vec<(usize, f64)> = evidence
            .iter()
            .enumerate()
            .filter(|(other, _)| {
                *other != row && sheet.list.columns[*other].values != sheet.list.columns[row].values
            })
            .filter_map(|(other, of_column)| Some((other, of_column.get(meaning)?.score)))
            .collect();
        rivals.sort_by(|a, b| b.1.total_cmp(&a.1));
        let rival = rivals.first().map_or(0.0, |(_, score)| *score);
        let own_rival = evidence[row]
            .iter()
            .filter(|(other, _)| *other != meaning)
            .map(|(_, evidence)| evidence.score)
            .fold(0.0, f64::max);
        let mut margin = (found.score - rival).min(found.score - own_rival);
        // Of two columns whose names both say it, nothing here says which one is meant.
        let says_it = |other: usize| {
            let of_column = &evidence[other];
            let says =
                of_column.get(meaning).is_some_and(|evidence| evidence.score - evidence.by_values >= 2.0);
            let says_another =
                of_column.iter().any(|(another, evidence)| another != meaning && evidence.is_exact);
            let is_same = sheet.list.columns[other].values == sheet.list.columns[row].values;
            let is_there = sheet.profiles[other].fill() > 0.5;
            other != row && says && !is_same && is_there && (!says_another || of_column[meaning].is_exact)
        };
        if (0..count).any(says_it) {
            margin = margin.min(0.5);
        }
        let others =
            rivals.into_iter().filter(|(_, score)| *score > 1.0).map(|(other, _)| other).take(6).collect();
        chosen.insert(*meaning, Chosen { column: row, evidence: found.clone(), margin, others });
    }
    chosen
}
