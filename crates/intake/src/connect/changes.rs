//! How only what has changed is asked for: a parameter stands only where the answer obeyed it.
//!
//! Must not know how pages follow each other. Start reading at [`Tries::changes`].

use std::collections::BTreeMap;

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use serde_json::Value;
use url::Url;

use super::answer::{ChangedAt, Lean, Signs};
use super::names::NAMES;
use super::tries::{Parameters, Tries, Verdict};
use crate::propose::quoted;
use crate::source::declare::{Changes, DEFAULT_OVERLAP, MomentForm};
use crate::source::http::Json;

/// Records with a time of change that there must be, so that some are later and some earlier.
const FEWEST: usize = 4;

/// How far back is asked for at most where the service did not bring the record of the very moment: the day of its zone
/// that is furthest from UTC, by half a day, is over by then.
const LONGEST_OVERLAP: TimeDelta = TimeDelta::hours(26);

/// A parameter that was obeyed.
#[derive(Clone, Debug)]
pub(super) struct Obeyed {
    pub(super) ask: String,
    field: String,
    /// As the configuration writes it.
    form: String,
    overlap: TimeDelta,
    /// How many of so many records came.
    pub(super) came: (usize, usize),
    /// What the answer said of how many there are.
    pub(super) signs: Signs,
}

/// What came of looking for a parameter.
#[derive(Debug)]
pub(super) enum Changing {
    Obeyed(Box<Obeyed>),
    /// A clause: why none is asked for.
    None(String),
    /// It was not tried, or not to its end.
    NotTried,
}

impl Obeyed {
    /// The parameter with `FIELD` in place of the name of the field.
    pub(super) fn template(&self) -> String {
        self.ask.replace(&self.field, "FIELD")
    }

    /// As the configuration writes it.
    pub(super) fn toml(&self) -> String {
        let minutes = (self.overlap.num_seconds() + 59) / 60;
        format!(
            "{{ ask = {}, form = {}, overlap = \"{minutes} min\" }}",
            quoted(&self.ask),
            quoted(&self.form)
        )
    }
}

/// What is known of the records of the first answer, and the moment that is asked for.
struct Middle {
    first: BTreeMap<String, DateTime<Utc>>,
    /// The time of change of a record; others changed before.
    moment: DateTime<Utc>,
    /// The next time of change behind it.
    behind: DateTime<Utc>,
}

impl Middle {
    /// A moment from the middle of what was seen, with others as near as may be on either side; or a clause that says
    /// why there is none.
    fn of(lean: &Lean, body: &Value) -> Result<Self, &'static str> {
        let mut first = BTreeMap::new();
        for (key, moment) in lean.moments(body) {
            let Some(moment) = moment else {
                return Err("not every record says when it changed, and those that do not would not come");
            };
            first.insert(key, moment);
        }
        if first.len() < FEWEST {
            return Err("too few records came to try it");
        }
        let mut times: Vec<DateTime<Utc>> = first.values().map(|moment| moment.trunc_subsecs(0)).collect();
        times.sort_unstable();
        times.dedup();
        let quarter = times.len() / 4;
        let middle = times.get(quarter..times.len() - quarter).unwrap_or(&times);
        let near = |three: &[DateTime<Utc>]| match three {
            [before, moment, behind] => Some((*behind - *before, *moment, *behind)),
            _ => None,
        };
        let chosen = middle.windows(3).filter_map(near).min();
        let chosen = chosen.or_else(|| times.windows(3).filter_map(near).min());
        let Some((_, moment, behind)) = chosen else {
            return Err("the records changed at too few different times to try it");
        };
        Ok(Self { first, moment, behind })
    }

    /// Whether an answer holds what changed from the moment on, and nothing else.
    fn judge(&self, lean: &Lean, body: &Value) -> Verdict {
        let came = lean.moments(body);
        if came.len() == self.first.len() && came.iter().all(|(key, _)| self.first.contains_key(key)) {
            return Verdict::Ignored;
        }
        let is_at_or_after =
            |moment: &Option<DateTime<Utc>>| moment.is_some_and(|moment| moment >= self.moment);
        let all_later = !came.is_empty() && came.iter().all(|(_, moment)| is_at_or_after(moment));
        let came: std::collections::BTreeSet<&String> = came.iter().map(|(key, _)| key).collect();
        let mut later = self.first.iter().filter(|(_, moment)| moment.trunc_subsecs(0) > self.moment);
        if all_later && later.all(|(key, _)| came.contains(key)) { Verdict::Obeyed } else { Verdict::Other }
    }

    /// How far back is to be asked for. Where the record of the very moment came, the service compares as it should; where
    /// it did not, it may compare coarsely, or by texts, and is only known to bring what is later than the next record.
    fn overlap(&self, lean: &Lean, body: &Value) -> TimeDelta {
        let usual = TimeDelta::from_std(DEFAULT_OVERLAP).unwrap_or(LONGEST_OVERLAP);
        let came = lean.moments(body);
        let mut at_moment = self.first.iter().filter(|(_, moment)| moment.trunc_subsecs(0) == self.moment);
        let came_all = at_moment.all(|(key, _)| came.iter().any(|(known, _)| known == key));
        if came_all { usual } else { (self.behind - self.moment).clamp(usual, LONGEST_OVERLAP) }
    }
}

impl Tries<'_> {
    /// Finds the parameter by which a service brings only what has changed. `learned` held for other addresses of it.
    pub(super) async fn changes(
        &mut self,
        base: &Url,
        first: &Json,
        lean: &Lean,
        signs: &Signs,
        learned: &[String],
    ) -> Changing {
        let Some(changed) = &lean.changed else {
            return Changing::None("no field was found that says when a record changed".to_owned());
        };
        let middle = match Middle::of(lean, &first.body) {
            Ok(middle) => middle,
            Err(why) => return Changing::None(why.to_owned()),
        };
        let judge = |json: &Json| middle.judge(lean, &json.body);
        let mut forms = vec![changed.form_text.clone()];
        if changed.form_text != "rfc3339" {
            forms.push("rfc3339".to_owned());
        }
        for form in forms {
            let Some(written) = written(&form, middle.moment) else { continue };
            let groups = candidates(changed, signs, learned);
            for names in groups {
                if !self.may_go_on() {
                    return Changing::NotTried;
                }
                let of = |name: &String| vec![(name.clone(), written.clone())];
                let parameters: Vec<Parameters> = names.iter().map(of).collect();
                let Some((found, json)) = self.narrow(base, &parameters, &judge).await else { continue };
                let Some(ask) = names.get(found) else { continue };
                return Changing::Obeyed(Box::new(Obeyed {
                    ask: ask.clone(),
                    field: changed.name.clone(),
                    form,
                    overlap: middle.overlap(lean, &json.body),
                    came: (lean.keys(&json.body).len(), middle.first.len()),
                    signs: Signs::of(&json, lean),
                }));
            }
        }
        if self.may_go_on() {
            Changing::None("no parameter that was tried was obeyed".to_owned())
        } else {
            Changing::NotTried
        }
    }
}

/// Names of parameters, in the order in which they are tried; those of one list may be asked together.
fn candidates(changed: &ChangedAt, signs: &Signs, learned: &[String]) -> Vec<Vec<String>> {
    let of_field = |name: &String| name.replace("FIELD", &changed.name);
    let mut groups: Vec<Vec<String>> = learned.iter().map(|name| vec![of_field(name)]).collect();
    groups.push(signs.since.clone());
    groups.push(NAMES.ask.since.iter().map(of_field).collect());
    groups.extend(NAMES.ask.since_alone.iter().map(|name| vec![of_field(name)]));
    let mut seen = std::collections::BTreeSet::new();
    for group in &mut groups {
        group.retain(|name| seen.insert(name.clone()));
    }
    groups.retain(|group| !group.is_empty());
    groups
}

/// A moment as the parameter of a form has it.
fn written(form: &str, moment: DateTime<Utc>) -> Option<String> {
    let form = MomentForm::parse(form).ok()?;
    Some(Changes { ask: String::new(), form, overlap: DEFAULT_OVERLAP }.written(moment))
}
