//! A list with what is known of its columns: what their values are like, and what their names say.
//!
//! Must not know how columns are weighed. Start reading at [`Sheet`].

use std::collections::{BTreeMap, BTreeSet};

use super::level::Level;
use super::lexicon::{Fit, LEXICON, Meaning};
use super::profile::Profile;
use super::tree::{Column, List};

/// Before a place: it stands in the record around.
pub(super) const OUTER: char = '^';

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

/// Meanings of amounts of money.
const MONEY: &[Meaning] = &[
    "unit_price",
    "price",
    "unit_cost",
    "line_total",
    "order_total",
    "subtotal",
    "shipping_cost",
    "tax",
    "discount",
    "fee",
    "refund_amount",
];

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

/// Whether a name says that a time of day stands there.
fn says_clock(name: &str) -> bool {
    const CLOCK: &[&str] = &["time", "clock", "zeit", "uhrzeit", "uhr", "hora", "heure"];
    super::lexicon::words(name).last().is_some_and(|last| CLOCK.contains(&last.as_str()))
}

/// Whether two names are the same but for one word at an end: `RCVD_DT` and `RCVD_TM`.
fn are_twins(one: &str, other: &str) -> bool {
    let (one, other) = (super::lexicon::words(one), super::lexicon::words(other));
    let same = one.len().checked_sub(1).filter(|same| *same > 0 && one.len() == other.len());
    same.is_some_and(|same| one[..same] == other[..same] || one[1..] == other[1..])
}

/// Whether all that stands in a column are days. A date of RFC 3339 says no form.
fn are_days(profile: &Profile, column: &Column) -> bool {
    let is_short = || column.values.iter().flatten().all(|text| text.len() == 10);
    profile.times.as_ref().is_some_and(|times| times.is_day || times.form.is_none() && is_short())
}

impl Sheet<'_> {
    pub(super) fn new<'v>(list: List<'v>, title: Vec<String>) -> Sheet<'v> {
        let mut list = list;
        let mut profiles: Vec<Profile> = list.columns.iter().map(Profile::of).collect();
        let clocks: Vec<usize> = (0..list.columns.len())
            .filter(|index| super::times::are_clocks(&list.columns[*index].values))
            .collect();
        // Digits alone are a time of day only where they are called so.
        let of_digits: Vec<usize> = (0..list.columns.len())
            .filter(|index| says_clock(list.columns[*index].name()))
            .filter(|index| super::times::are_clocks_of_digits(&list.columns[*index].values))
            .collect();
        let days = profiles.iter().filter(|profile| profile.times.is_some()).count();
        let of_days: Vec<usize> = (0..list.columns.len())
            .filter(|index| are_days(&profiles[*index], &list.columns[*index]))
            .collect();
        for (day, profile) in profiles.iter_mut().enumerate() {
            let own = &list.columns[day];
            if !of_days.contains(&day) {
                continue;
            }
            let belongs = |clock: &&usize| {
                let clock = &list.columns[**clock];
                let mut pairs = own.values.iter().zip(&clock.values);
                without_time(clock.name()) == without_time(own.name())
                    && pairs.all(|(a, b)| a.is_some() == b.is_some())
            };
            // Where there is one day and one time of day, they belong together whatever they are called; otherwise one
            // that is called no more than a time of day belongs to the day that stands before it.
            let is_only = clocks.len() == 1 && days == 1;
            let is_near =
                |clock: usize| clock == day + 1 && without_time(list.columns[clock].name()).is_empty();
            let is_filled_alike = |clock: &&usize| {
                let mut pairs = own.values.iter().zip(&list.columns[**clock].values);
                (is_only || is_near(**clock)) && pairs.all(|(a, b)| a.is_some() == b.is_some())
            };
            // Of those that only some records have, the one day and the one time of day that the same records have.
            let is_alone_in_place = |clock: &&usize| {
                let has = |index: usize| list.columns[index].values.iter().map(Option::is_some);
                let is_alike = |index: &usize| has(*index).eq(has(day));
                own.values.iter().any(Option::is_none)
                    && is_alike(clock)
                    && clocks.iter().filter(|index| is_alike(index)).count() == 1
                    && of_days.iter().filter(|index| is_alike(index)).count() == 1
            };
            // One that stands beside it and is called the same but for a word.
            let is_twin = |clock: &&usize| {
                let mut pairs = own.values.iter().zip(&list.columns[**clock].values);
                clock.abs_diff(day) == 1
                    && are_twins(list.columns[**clock].name(), own.name())
                    && pairs.all(|(a, b)| a.is_some() == b.is_some())
            };
            let clock = clocks
                .iter()
                .chain(&of_digits)
                .find(belongs)
                .or_else(|| clocks.iter().find(is_twin))
                .or_else(|| clocks.iter().find(is_filled_alike))
                .or_else(|| clocks.iter().find(is_alone_in_place));
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

    /// With the columns of the records around, the nearest first, as a list of their own: its columns stand first.
    pub(super) fn with_outer<'v>(&self, around: &[&Sheet<'v>]) -> Sheet<'v>
    where
        Self: 'v,
    {
        let mut list: List<'v> = self.list.clone();
        let mut out = String::new();
        // Of each record of the list, the record around it, level by level.
        let mut outer: Vec<usize> = (0..list.records.len()).collect();
        let mut parent_of = &self.list.parent_of;
        for sheet in around {
            out.push(OUTER);
            outer = outer.iter().map(|at| parent_of.get(*at).copied().unwrap_or_default()).collect();
            parent_of = &sheet.list.parent_of;
            for column in &sheet.list.columns {
                let Some(at) = &column.at else { continue };
                let values = outer.iter().map(|outer| column.values.get(*outer).cloned().flatten());
                list.columns.push(Column {
                    at: Some(format!("{out}{at}")),
                    path: column.path.clone(),
                    values: values.collect(),
                    is_number: column.is_number,
                    clock: column.clock.as_ref().map(|at| format!("{out}{at}")),
                });
            }
        }
        Sheet::new(list, self.title.clone())
    }

    /// Whether a column is of days, and a time of day that belongs to no other stands wherever it does.
    pub(super) fn has_loose_clock(&self, column: usize) -> bool {
        let columns = &self.list.columns;
        let is_loose = |clock: &Column| {
            super::times::are_clocks(&clock.values)
                && !columns.iter().any(|day| day.clock.is_some() && day.clock == clock.at)
                && columns[column].values.iter().zip(&clock.values).all(|(a, b)| a.is_some() == b.is_some())
        };
        are_days(&self.profiles[column], &columns[column]) && columns.iter().any(is_loose)
    }

    /// Whether a column says days, and no time of day beside it says more.
    pub(super) fn is_of_days(&self, column: usize) -> bool {
        let known = &self.list.columns[column];
        known.clock.is_none() && are_days(&self.profiles[column], known)
    }

    /// Whether an object has neither times nor prices: then all in it may be chosen.
    fn has_choices_alone(&self, object: &[String]) -> bool {
        let mut inner = self
            .list
            .columns
            .iter()
            .zip(&self.profiles)
            .filter(|(column, _)| column.path.starts_with(object));
        inner.all(|(_, profile)| profile.times.is_none() && !profile.has_fractions())
    }

    /// Of an amount that stands with its currency in an object of their own: the name of that.
    fn object_of_money<'c>(&self, column: &'c Column) -> Option<&'c str> {
        let (_, outer) = column.path.split_last().filter(|(_, outer)| !outer.is_empty())?;
        let mut beside = self
            .list
            .columns
            .iter()
            .zip(&self.profiles)
            .filter(|(other, _)| other.path.len() == column.path.len() && other.path.starts_with(outer));
        let all = beside.clone().count();
        let (_, own) = beside.clone().find(|(other, _)| other.at == column.at)?;
        let has_currency = beside.any(|(_, profile)| profile.currencies > 0.95);
        let is_amount = own.amounts.is_some() && own.times.is_none();
        (has_currency && is_amount && (2..=3).contains(&all))
            .then(|| outer.last().map(String::as_str))
            .flatten()
    }

    /// Of words beside their code in an object of both: the name of that, where it is a state's.
    fn object_of_state<'c>(&self, index: usize, column: &'c Column) -> Option<&'c str> {
        const WORDS: &[&str] = &[
            "label",
            "libelle",
            "name",
            "nom",
            "nombre",
            "text",
            "texte",
            "texto",
            "bezeichnung",
            "etiqueta",
            "title",
            "description",
            "descripcion",
            "klartext",
        ];
        const CODES: &[&str] =
            &["code", "id", "key", "number", "codigo", "schlussel", "cle", "clave", "value", "kurz"];
        let is_of = |name: &str, list: &[&str]| {
            let words = super::lexicon::words(name);
            matches!(words.as_slice(), [word] if list.contains(&word.as_str()))
        };
        let (own, outer) = column.path.split_last().filter(|(_, outer)| !outer.is_empty())?;
        let profile = &self.profiles[index];
        if !is_of(own, WORDS) || profile.with_letter < 0.9 || !(2..=14).contains(&profile.distinct) {
            return None;
        }
        let beside = self.list.columns.iter().filter(|other| other.path.starts_with(outer));
        let mut beside = beside.filter(|other| other.at != column.at);
        let is_code = |other: &Column| other.path.len() == column.path.len() && is_of(other.name(), CODES);
        (beside.next().is_some_and(is_code) && beside.next().is_none())
            .then(|| outer.last().map(String::as_str))
            .flatten()
    }

    fn names_around(&self, column: &Column) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        let out = column.at.as_ref().map_or(0, |at| at.chars().take_while(|letter| *letter == OUTER).count());
        names.extend(self.list.names.iter().rev().nth(out).cloned());
        names.extend(column.path.iter().take(column.path.len().saturating_sub(1)).cloned());
        names
    }

    /// What a column's name says, as records of a kind.
    pub(super) fn name_fits(&self, column: usize, level: Level) -> BTreeMap<Meaning, Fit> {
        let index = column;
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
        // An amount beside its currency is called by what is around both.
        if let Some(outer) = self.object_of_money(column) {
            let of_both = LEXICON.fits_of(outer, &[], of);
            if of_both.keys().any(|meaning| MONEY.contains(meaning)) {
                fits = of_both;
            }
        }
        // Words beside their code are called by what is around both, where that is a state.
        if let Some(outer) = self.object_of_state(index, column) {
            let of_both = LEXICON.fits_of(outer, &[], of);
            if of_both.iter().any(|(meaning, fit)| meaning.ends_with("_status") && fit.score >= 2.0) {
                fits = of_both;
            }
        }
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
            && self.has_choices_alone(&column.path[..column.path.len() - 1])
            && column.path[..column.path.len() - 1]
                .iter()
                .any(|outer| LEXICON.fits(outer, &[]).get("options").is_some_and(|fit| fit.score >= 6.0));
        if is_of_options {
            for meaning in
                ["title", "product", "listing_id", "variant_id", "line_id", "order_id", "submission_id"]
            {
                fits.remove(meaning);
            }
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
}
