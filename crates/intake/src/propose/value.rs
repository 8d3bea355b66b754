//! A field of one value: how it is read, and how sure that is.
//!
//! Must not know how columns are chosen. Start reading at [`Maker::value`].

use rust_decimal::Decimal;

use super::How;
use super::fields::{Draft, Maker, OWN_KEY};
use super::level::Level;
use super::lexicon::words;
use super::profile::AmountForm;
use super::score::{Chosen, trim};
use super::sheet::OUTER;
use super::write::quoted;
use crate::tables::Column;

/// How much better than all others a column has to be.
pub(super) const SURE_MARGIN: f64 = 1.2;
pub(super) const LIKELY_SCORE: f64 = 1.8;

/// How many minor units are no price of a thing in whole units of money.
const MINOR: i64 = 300;

impl Maker<'_, '_> {
    fn how(&self, chosen: &Chosen) -> How {
        let Chosen { evidence, margin, .. } = chosen;
        let is_shown =
            evidence.is_exact && evidence.score >= 6.0 || evidence.by_values >= 4.0 && evidence.score >= 6.5;
        if is_shown && *margin >= SURE_MARGIN {
            How::Sure
        } else if evidence.score >= LIKELY_SCORE {
            How::Likely
        } else {
            How::Open
        }
    }

    /// A field of one value.
    pub(super) fn value(&self, column: Column, chosen: &Chosen) -> Draft {
        let known = &self.sheet().list.columns[chosen.column];
        let profile = &self.sheet().profiles[chosen.column];
        let mut how = self.how(chosen);
        let mut why = chosen.evidence.why.join("; ");
        if why.is_empty() {
            why = format!("nothing else fits better than {}", super::shown_name(known));
        }
        let Some(at) = &known.at else {
            return Draft {
                at: vec![OWN_KEY.to_owned()],
                how,
                why: "its records stand under it".to_owned(),
                toml: Some("{ own_key = true }".to_owned()),
                question: None,
                choices: Vec::new(),
                unknown_words: Vec::new(),
            };
        };
        let mut keys: Vec<String> = Vec::new();
        let mut question = None;
        let mut choices = Vec::new();
        let mut unknown_words = Vec::new();
        let is_time = matches!(
            column,
            Column::PlacedAt
                | Column::PaidAt
                | Column::PromisedBy
                | Column::UpdatedAt
                | Column::ReceivedAt
                | Column::DispatchedAt
        );
        let is_amount = matches!(column, Column::UnitPrice | Column::UnitCost | Column::Price);
        if is_time && let Some(clock) = &known.clock {
            keys.push(format!("and_at = {}", quoted(clock.trim_start_matches(OUTER))));
        }
        if is_time && let Some(times) = &profile.times {
            let zone = self.asked.zone.map(|zone| format!("zone = {}", quoted(zone.name())));
            let local = (times.is_local || times.is_day && self.asked.zone.is_some())
                && (times.form.is_some() || zone.is_some());
            let with = |form: &Option<String>| {
                let mut keys: Vec<String> =
                    form.iter().map(|form| format!("time = {}", quoted(form))).collect();
                if times.is_utc {
                    keys.push("zone = \"UTC\"".to_owned());
                } else if local {
                    keys.extend(zone.clone().or_else(|| times.is_local.then(|| "zone = \"UTC\"".to_owned())));
                }
                keys
            };
            if known.clock.is_none() && self.sheet().has_loose_clock(chosen.column) {
                how = how.min(How::Likely);
                question = Some("A time of day stands beside it: does that belong to it?".to_owned());
            }
            if times.is_local && self.asked.zone.is_none() {
                how = how.min(How::Likely);
                question =
                    Some("The times do not say their zone: put the shop's own in place of UTC.".to_owned());
            }
            match (&times.other, self.day_first) {
                (None, _) | (Some(_), Some(true)) => keys.extend(with(&times.form)),
                (Some(other), Some(false)) => keys.extend(with(&Some(other.clone()))),
                (Some(other), None) => {
                    how = How::Open;
                    question =
                        Some("Day and month can be read in either order: which comes first?".to_owned());
                    let long = |form: &Option<String>| long(at, &[keys.clone(), with(form)].concat());
                    choices = vec![
                        ("the day first".to_owned(), long(&times.form)),
                        ("the month first".to_owned(), long(&Some(other.clone()))),
                    ];
                }
            }
        }
        if is_amount && let Some((form, amounts)) = &profile.amounts {
            match form {
                AmountForm::Decimal => {}
                AmountForm::Comma => keys.push("money = \"comma\"".to_owned()),
                AmountForm::Point => keys.push("money = \"point\"".to_owned()),
                AmountForm::Whole => {
                    let (is_minor, is_said) = self.is_minor(chosen.column, amounts);
                    if is_minor {
                        keys.push("money = \"minor-2\"".to_owned());
                    }
                    if !is_said {
                        how = how.min(How::Likely);
                        question = Some(
                            "All are whole numbers: are they cents, or whole units of money?".to_owned(),
                        );
                    }
                }
            }
        }
        if matches!(column, Column::Quantity | Column::CancelledQuantity)
            && known.values.iter().flatten().any(|text| !text.bytes().all(|byte| byte.is_ascii_digit()))
            && known.values.iter().flatten().all(|text| !text.starts_with('-'))
        {
            let has_front =
                known.values.iter().flatten().any(|text| !text.starts_with(|at: char| at.is_ascii_digit()));
            keys.push(if has_front { "pattern = '([0-9]+)'" } else { "pattern = '^([0-9]+)'" }.to_owned());
        }
        // `Order #1042`: what the shop's order is called, and its number.
        if column == Column::OrderId && profile.with_blank > 0.9 && self.planned.level == Level::Orders {
            keys.push("pattern = '([0-9]+)$'".to_owned());
            how = how.min(How::Likely);
            question = Some("Is the number at its end what suppliers are told?".to_owned());
        }
        if matches!(column, Column::Buyable | Column::Available) {
            let is_boolean =
                profile.frequent.iter().all(|(word, _)| matches!(word.as_str(), "true" | "false"));
            if !is_boolean {
                let (list, unknown, is_guessed) = self.flags(column, &profile.frequent);
                match list.is_empty() {
                    true => how = How::Open,
                    false if is_guessed || !unknown.is_empty() => how = how.min(How::Likely),
                    false => {}
                }
                if how == How::Open || !unknown.is_empty() {
                    question = Some("What the words mean is not known.".to_owned());
                }
                if how != How::Open {
                    unknown_words = unknown;
                }
                keys.push(format!("words = {{ {} }}", list.join(", ")));
            }
        }
        if column == Column::Currency {
            how = how.min(if profile.currencies > 0.99 { How::Sure } else { How::Likely });
        }
        if column == Column::OrderRef {
            match trim(known, &self.asked.beside.order_ids) {
                Some((trim, share)) if share > 0.5 => {
                    if trim != Default::default() {
                        keys.push(pattern(&trim.front, &trim.end));
                        why = format!(
                            "{why}; taken off: {}",
                            [&trim.front, &trim.end]
                                .into_iter()
                                .filter(|text| !text.is_empty())
                                .map(|text| format!("{text:?}"))
                                .collect::<Vec<_>>()
                                .join(" and ")
                        );
                    }
                }
                _ => {
                    how = how.min(How::Likely);
                    question = Some(
                        "Whether something stands before or behind the shop's order number cannot be told without the \
                         shop's orders (--beside MAP); [suppliers.NAME] references can take it off too."
                            .to_owned(),
                    );
                }
            }
        }
        if column == Column::Sku
            && matches!(self.planned.level, Level::SubmissionLines | Level::Variants)
            && let Some((trim, share)) = trim(known, &self.asked.beside.skus)
            // A catalogue has more than was sold.
            && share > if self.planned.level == Level::Variants { 0.1 } else { 0.5 }
            && trim != Default::default()
        {
            keys.push(pattern(&trim.front, &trim.end));
        }
        if how == How::Open && choices.is_empty() && question.is_none() {
            question = Some("Too little speaks for it.".to_owned());
        }
        let toml = (how != How::Open).then(|| short(at, &keys));
        if choices.is_empty() {
            choices.push((super::shown_name(known), short(at, &keys)));
            for other in &chosen.others {
                let column = &self.sheet().list.columns[*other];
                if let Some(at) = &column.at {
                    choices.push((super::shown_name(column), short(at, &[])));
                }
            }
        }
        let clock = known.clock.clone().filter(|_| is_time);
        let at = std::iter::once(at.clone()).chain(clock).collect();
        Draft { at, how, why, toml, question, choices, unknown_words }
    }

    /// What the words of yes and no mean, as keys of a mapping; those that are not known; and whether one of two is told by
    /// the other.
    fn flags(&self, column: Column, words: &[(String, usize)]) -> (Vec<String>, Vec<String>, bool) {
        let given = self.words_given(column);
        let meaning = |word: &String| {
            let known = || super::status::flag(word);
            given.get(word).cloned().or_else(known)
        };
        let mut meanings: Vec<(&String, Option<String>)> =
            words.iter().map(|(word, _)| (word, meaning(word))).collect();
        let mut is_guessed = false;
        if let [(_, Some(known)), (_, other @ None)] | [(_, other @ None), (_, Some(known))] =
            meanings.as_mut_slice()
        {
            *other = Some(if known == "true" { "false" } else { "true" }.to_owned());
            is_guessed = true;
        }
        let mut list = Vec::new();
        let mut unknown = Vec::new();
        for (word, meaning) in meanings {
            match meaning {
                Some(meaning) => list.push(format!("{} = {}", quoted(word), quoted(&meaning))),
                None => unknown.push(word.clone()),
            }
        }
        (list, unknown, is_guessed)
    }

    /// Whether all currencies that are said are without minor units.
    fn has_whole_money_alone(&self) -> bool {
        let of_sheet = |sheet: &super::sheet::Sheet<'_>| -> Vec<model::Currency> {
            let columns = sheet.profiles.iter().filter(|profile| profile.currencies > 0.95);
            let said = columns.flat_map(|profile| &profile.frequent);
            said.filter_map(|(code, _)| code.to_ascii_uppercase().parse().ok()).collect()
        };
        let own = of_sheet(self.sheet());
        let said = match own.is_empty() {
            true => self.all.iter().flat_map(|planned| of_sheet(&planned.sheet)).collect(),
            false => own,
        };
        !said.is_empty() && said.iter().all(|currency| currency.digits() == 0)
    }

    /// Whether whole numbers are minor units, and whether something says so.
    fn is_minor(&self, column: usize, amounts: &[Option<Decimal>]) -> (bool, bool) {
        if self.has_whole_money_alone() {
            return (false, true);
        }
        let path =
            self.sheet().list.columns[column].path.iter().flat_map(|name| words(name)).collect::<Vec<_>>();
        let says = path.iter().any(|word| {
            matches!(
                word.as_str(),
                "cent"
                    | "cents"
                    | "ct"
                    | "cts"
                    | "minor"
                    | "pence"
                    | "centimes"
                    | "centimos"
                    | "units"
                    | "ore"
            )
        });
        let mut sorted: Vec<&Decimal> = amounts.iter().flatten().collect();
        sorted.sort();
        let middle = sorted.get(sorted.len() / 2).copied();
        let is_large = middle.is_some_and(|middle| *middle >= Decimal::from(MINOR));
        (says || is_large, says)
    }
}

/// Where a field stands, in the short form where it has no keys.
fn short(at: &str, keys: &[String]) -> String {
    if keys.is_empty() && !at.starts_with(OUTER) { quoted(at) } else { long(at, keys) }
}

fn long(at: &str, keys: &[String]) -> String {
    let own = at.trim_start_matches(OUTER);
    let mut text = format!("{{ at = {}", quoted(own));
    let out = at.len() - own.len();
    if out > 0 {
        text += &format!(", around = {out}");
    }
    for key in keys {
        text += ", ";
        text += key;
    }
    text + " }"
}

fn pattern(front: &str, end: &str) -> String {
    let optional =
        |text: &str| if text.is_empty() { String::new() } else { format!("(?:{})?", regex::escape(text)) };
    let behind = if end.is_empty() { "(.+)".to_owned() } else { "(.+?)".to_owned() };
    format!("pattern = {}", quoted(&format!("^{}{behind}{}$", optional(front), optional(end))))
}
