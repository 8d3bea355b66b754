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

/// Before a place: it stands in the record around.
pub(super) const OUTER: char = '^';

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
    Links,
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
            Self::Links => &["sku", "variant_id", "quantity"],
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
            Self::Offers | Self::ParcelLines | Self::Links => None,
        }
    }

    /// Whether its records are a supplier's.
    fn is_of_supplier(self) -> bool {
        matches!(
            self,
            Self::Variants
                | Self::Submissions
                | Self::SubmissionLines
                | Self::Parcels
                | Self::ParcelLines
                | Self::Links
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
        // The state of a record is no other record's.
        let is_state = matches!(
            meaning,
            "order_status" | "payment_status" | "dispatch_status" | "submission_status" | "line_status"
        );
        if self.is_of_supplier() && is_state && !self.meanings().contains(&meaning) {
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
            Self::Links => (&["sku"], "link"),
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

/// The words of a name but those that say a day or a time of day: `Date sent` and `Time sent` are of one.
fn without_time(name: &str) -> Vec<String> {
    const TIME: &[&str] = &[
        "date", "day", "datum", "tag", "fecha", "dia", "jour", "time", "clock", "zeit", "uhrzeit", "uhr",
        "hora", "heure", "at", "on", "le", "am", "um", "a", "el",
    ];
    let mut words = super::lexicon::words(name);
    words.retain(|word| !TIME.contains(&word.as_str()));
    words
}

/// What is known of values elsewhere.
#[derive(Clone, Default, Debug)]
pub(super) struct Known<'k> {
    /// The ids of the records that the list's belong to, where it is a list by itself.
    pub(super) parents: Option<BTreeSet<&'k str>>,
    /// The shop's order ids, SKUs and line ids, from the other side.
    pub(super) order_ids: BTreeSet<String>,
    pub(super) skus: BTreeSet<String>,
    pub(super) order_line_ids: BTreeSet<String>,
    /// Places of columns whose values another list repeats.
    pub(super) referred: BTreeSet<String>,
    /// The ids of the lines that parcels have.
    pub(super) line_ids: BTreeSet<String>,
    /// What names the records of other lists, one set a column.
    pub(super) elsewhere: Vec<BTreeSet<&'k str>>,
    /// Of a catalogue: the variants and SKUs that lines have.
    pub(super) sold: [BTreeSet<&'k str>; 2],
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
        let mut list = list;
        let mut profiles: Vec<Profile> = list.columns.iter().map(Profile::of).collect();
        let clocks: Vec<usize> = (0..list.columns.len())
            .filter(|index| super::times::are_clocks(&list.columns[*index].values))
            .collect();
        let days = profiles.iter().filter(|profile| profile.times.is_some()).count();
        for (day, profile) in profiles.iter_mut().enumerate() {
            let own = &list.columns[day];
            // A date of RFC 3339 says no form.
            let is_day = |times: &super::times::Times| {
                times.is_day
                    || times.form.is_none() && own.values.iter().flatten().all(|text| text.len() == 10)
            };
            if !profile.times.as_ref().is_some_and(is_day) {
                continue;
            }
            let belongs = |clock: &&usize| {
                let clock = &list.columns[**clock];
                let mut pairs = own.values.iter().zip(&clock.values);
                without_time(clock.name()) == without_time(own.name())
                    && pairs.all(|(a, b)| a.is_some() == b.is_some())
            };
            // Where there is one day and one time of day, they belong together whatever they are called.
            let is_only = clocks.len() == 1 && days == 1;
            let is_filled_alike = |clock: &&usize| {
                let mut pairs = own.values.iter().zip(&list.columns[**clock].values);
                is_only && pairs.all(|(a, b)| a.is_some() == b.is_some())
            };
            let clock = clocks.iter().find(belongs).or_else(|| clocks.iter().find(is_filled_alike));
            let Some(clock) = clock.map(|clock| &list.columns[*clock]) else { continue };
            let joined: Vec<Option<String>> = own
                .values
                .iter()
                .zip(&clock.values)
                .map(|(day, clock)| Some(format!("{} {}", day.as_ref()?, clock.as_ref()?)))
                .collect();
            if let Some(times) = super::times::find(&joined, false) {
                list.columns[day].clock = clock.at.clone();
                profile.times = Some(times);
            }
        }
        Sheet { list, profiles, title, repeated: BTreeSet::new() }
    }

    /// With the columns of the records around, as a list of their own: its columns stand first.
    pub(super) fn with_outer<'v>(&self, parent: &Sheet<'v>) -> Sheet<'v>
    where
        Self: 'v,
    {
        let mut list: List<'v> = self.list.clone();
        for column in &parent.list.columns {
            let Some(at) = &column.at else { continue };
            let values = list.parent_of.iter().map(|parent| column.values.get(*parent).cloned().flatten());
            list.columns.push(Column {
                at: Some(format!("{OUTER}{at}")),
                path: column.path.clone(),
                values: values.collect(),
                is_number: column.is_number,
                clock: column.clock.as_ref().map(|at| format!("{OUTER}{at}")),
            });
        }
        Sheet::new(list, self.title.clone())
    }

    fn names_around(&self, column: &Column) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        let is_outer = column.at.as_ref().is_some_and(|at| at.starts_with(OUTER));
        names.extend(self.list.names.iter().rev().nth(usize::from(is_outer)).cloned());
        names.extend(column.path.iter().take(column.path.len().saturating_sub(1)).cloned());
        names
    }

    /// What a column's name says, as records of a kind.
    pub(super) fn name_fits(&self, column: usize, level: Level) -> BTreeMap<Meaning, Fit> {
        let column = &self.list.columns[column];
        if column.at.is_none() {
            return level
                .own_id()
                .map(|meaning| {
                    // Of lines, it is often no more than their number.
                    let score = if meaning == "line_id" { 2.0 } else { 5.0 };
                    BTreeMap::from([(meaning, Fit { score, is_exact: false })])
                })
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
        // What is chosen is no title, though it says what it is.
        let is_of_options = column.path.len() > 1
            && column.path[..column.path.len() - 1]
                .iter()
                .any(|outer| LEXICON.fits(outer, &[]).get("options").is_some_and(|fit| fit.score >= 6.0));
        if is_of_options {
            fits.remove("title");
            fits.remove("product");
        }
        // The id of something else within a record does not name the record.
        let outer = column.path.len().checked_sub(2).map(|at| column.path[at].as_str());
        if let (Some(outer), Some(own)) = (outer, level.own_id()) {
            let around = LEXICON.fits(outer, &[]);
            let is_other = around.iter().any(|(meaning, fit)| {
                fit.is_exact
                    && matches!(*meaning, "customer_id" | "customer_name" | "recipient_name" | "email")
            });
            if is_other {
                fits.remove(own);
            }
        }
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
                // A reference may have a word before it: `Order 1042`.
                let is_worded = meaning == "order_ref"
                    && profile.with_digit > 0.9
                    && profile.max_length <= 40
                    && profile.times.is_none()
                    && profile.with_at == 0.0;
                if !is_worded && (!profile.may_be_id() || profile.with_blank > 0.5) {
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
        for (index, column) in columns.iter().enumerate() {
            let is_outer = column.at.as_ref().is_some_and(|at| at.starts_with(OUTER));
            let around: BTreeSet<usize> = self.list.parent_of.iter().copied().collect();
            let profile = &self.profiles[index];
            if is_outer && profile.is_full() && profile.may_be_id() && profile.distinct == around.len() {
                add(index, "listing_id", 2.0, "no two of the records around share one".to_owned());
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
                        add(index, "variant_id", -3.0, String::new());
                    }
                    share if known.skus.len() > 5 && share.as_ref().is_none_or(|(_, share)| *share < 0.1) => {
                        add(index, "sku", -3.0, String::new());
                    }
                    _ => {}
                }
            }
        }
        if level == Level::SubmissionLines && known.order_line_ids.len() > 3 {
            for (index, column) in columns.iter().enumerate() {
                let values = set(column);
                let there = values.iter().filter(|value| known.order_line_ids.contains(**value)).count();
                // Numbers of lines from 1 on stand in every list.
                let is_telling = values.len() * 2 > self.profiles[index].filled && values.len() > 3;
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
                for meaning in meanings {
                    let why = match is_finer {
                        true => format!("each stands for one {what}, and several for the same"),
                        false => format!("it goes with {what}, one to one"),
                    };
                    add(code, meaning, 1.5, why);
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
                if known.elsewhere.iter().any(|ids| share(ids) > 0.7) {
                    for meaning in meanings {
                        add(index, meaning, 2.0, "its values name the records of another list".to_owned());
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
        if level == Level::Variants {
            let sets = [("variant_id", &known.sold[0]), ("sku", &known.sold[1])];
            for (meaning, sold) in sets.into_iter().filter(|(_, sold)| sold.len() > 2) {
                for (index, column) in columns.iter().enumerate() {
                    let values = set(column);
                    let there = sold.iter().filter(|value| values.contains(*value)).count();
                    if there * 10 >= sold.len() * 7 {
                        add(index, meaning, 4.0, "the lines of orders name it so".to_owned());
                    }
                }
            }
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
        if let Some(first) = self.first_time() {
            let why = "no other time is before it".to_owned();
            add(first, "placed_at", 1.5, why.clone());
            add(first, "received_at", 1.5, why);
        }
        if matches!(level, Level::Orders | Level::Submissions) {
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

    /// The time, there for all, that is never after another of its record.
    fn first_time(&self) -> Option<usize> {
        let times: Vec<usize> =
            (0..self.profiles.len()).filter(|index| self.profiles[*index].times.is_some()).collect();
        let moments = |index: usize| self.profiles[index].times.as_ref().map(|times| &times.moments);
        let is_never_after = |first: usize, other: usize| {
            let (Some(first), Some(other)) = (moments(first), moments(other)) else { return false };
            let mut pairs = first.iter().zip(other).filter_map(|(a, b)| Some(((*a)?, (*b)?)));
            pairs.all(|(a, b)| a <= b)
        };
        let mut first = times.iter().copied().filter(|index| {
            self.profiles[*index].is_full() && times.iter().all(|other| is_never_after(*index, *other))
        });
        match (first.next(), first.next()) {
            (Some(one), None) => Some(one),
            // Two that are always the same say nothing of which it is.
            _ => None,
        }
    }

    /// Columns of few words, with a time that is there for all records of some of the words and for none of the others.
    fn words_with_time(&self) -> Vec<(usize, usize)> {
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
                let has = of.values().any(|(_, filled)| *filled > 0);
                if has && of.values().any(|(_, filled)| *filled == 0) && of.values().all(is_clear) {
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
    let used_as: Vec<Option<(Meaning, f64)>> = assigned
        .iter()
        .zip(&evidence)
        .map(|(place, of_column)| {
            let meaning = own.get(*place)?;
            Some((*meaning, of_column.get(meaning)?.score))
        })
        .collect();
    let mut chosen = BTreeMap::new();
    for (row, place) in assigned.into_iter().enumerate() {
        let Some(meaning) = own.get(place) else { continue };
        let Some(found) = evidence[row].get(meaning) else { continue };
        // What is better used in another way is the less a rival.
        let weighed = |score: f64, better: Option<f64>| match better {
            Some(better) if better > score => 2.0 * score - better,
            _ => score,
        };
        let mut rivals: Vec<(usize, f64)> = evidence
            .iter()
            .enumerate()
            .filter(|(other, _)| {
                *other != row && sheet.list.columns[*other].values != sheet.list.columns[row].values
            })
            .filter_map(|(other, of_column)| {
                let score = of_column.get(meaning)?.score;
                Some((other, weighed(score, used_as[other].map(|(_, score)| score))))
            })
            .collect();
        rivals.sort_by(|a, b| b.1.total_cmp(&a.1));
        let rival = rivals.first().map_or(0.0, |(_, score)| *score);
        let own_rival = evidence[row]
            .iter()
            .filter(|(other, _)| *other != meaning)
            .map(|(other, evidence)| {
                let better = used_as.iter().flatten().find(|(used, _)| used == other);
                weighed(evidence.score, better.map(|(_, score)| *score))
            })
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
