//! The shape of the configuration file: every key that there is, and how keys become what is in force.
//!
//! Must not know how a file is parsed. Start reading at [`Keys`].

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::{Arc, LazyLock};

use chrono::{NaiveDate, NaiveTime, TimeDelta, Weekday};
use chrono_tz::Tz;
use forecast::{Calendar, CutOff};
use intake::source::declare::{Declaration, Step};
use links::{OwnWords, Vocabulary};
use model::reading::Kind;
use model::rules::{Fees, Graces, ReferenceForm};
use model::{Currency, Money, Rules, ShopId, SourceId, SupplierId};
use regex::Regex;
use rust_decimal::Decimal;
use serde::Deserialize;
use serde::de::Error as _;

use super::page::PageKeys;
use super::problem::Problem;
use super::sending::{DigestKeys, MailKeys, RecipientKeys, SendingKeys};
use super::sheet::{SheetKeys, SheetSettings};
use super::values::Text;
use super::{Configuration, Settings};

/// Where the ledger is that is not said: beside the configuration file.
const DEFAULT_LEDGER: &str = "everyline.db";

/// What option text is read by where the owner adds no words.
static BUILT_IN: LazyLock<Arc<Vocabulary>> = LazyLock::new(|| Arc::new(Vocabulary::built_in()));

/// What the shop is called where the file names none.
const ONLY_SHOP: &str = "shop";

/// How long the name of a shop or a source may be.
const MAX_NAME: usize = 64;

/// The whole file: of one shop, whose keys stand at the top, or of several.
#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Keys {
    ledger: Option<String>,
    zone: Option<Text<Tz>>,
    graces: Option<GraceKeys>,
    fees: Option<FeeKeys>,
    references: Option<ReferenceKeys>,
    suppliers: Option<BTreeMap<String, SupplierKeys>>,
    sources: Option<BTreeMap<String, Declaration>>,
    words: Option<Vec<WordsKeys>>,
    sheet: Option<SheetKeys>,
    shops: BTreeMap<String, ShopKeys>,
    digest: DigestKeys,
    mail: Option<MailKeys>,
    recipients: BTreeMap<String, RecipientKeys>,
    page: Option<PageKeys>,
}

/// The keys of one shop.
#[derive(Default, Deserialize)]
#[serde(
    default,
    deny_unknown_fields,
    expecting = "a table of the keys of a shop, such as { zone = \"Europe/Oslo\" }"
)]
struct ShopKeys {
    zone: Option<Text<Tz>>,
    graces: GraceKeys,
    fees: FeeKeys,
    references: ReferenceKeys,
    suppliers: BTreeMap<String, SupplierKeys>,
    sources: BTreeMap<String, Declaration>,
    words: Vec<WordsKeys>,
    sheet: SheetKeys,
}

#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, expecting = "a table of graces, such as { hold_grace = \"6 h\" }")]
struct GraceKeys {
    submit_grace: Option<Text<TimeDelta>>,
    stray_grace: Option<Text<TimeDelta>>,
    hold_grace: Option<Text<TimeDelta>>,
    start_grace: Option<Text<TimeDelta>>,
    parcel_gap: Option<Text<TimeDelta>>,
    mark_grace: Option<Text<TimeDelta>>,
}

#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, expecting = "a table of fees, such as { percent = \"6.5\" }")]
struct FeeKeys {
    percent: Option<Text<Decimal>>,
    per_unit: Vec<AmountKeys>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { amount = \"0.25\", currency = \"EUR\" }")]
struct AmountKeys {
    amount: Text<Decimal>,
    currency: Text<Currency>,
}

#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, expecting = "a table such as { prefix = \"KK-\" }")]
struct ReferenceKeys {
    prefix: Option<String>,
    suffix: Option<String>,
    pattern: Option<Text<Regex>>,
    samples: Vec<Text<Regex>>,
}

#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, expecting = "a table such as { prefix = \"KK-\" }")]
struct FormKeys {
    prefix: Option<String>,
    suffix: Option<String>,
    pattern: Option<Text<Regex>>,
}

#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, expecting = "a table of what differs for this supplier")]
struct SupplierKeys {
    zone: Option<Text<Tz>>,
    cut_off: Option<CutOffRule>,
    graces: GraceKeys,
    references: FormKeys,
}

/// Words that the owner adds to those that option text is read by.
#[derive(Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { for = \"colour\", name = \"moss\", words = [\"lichen\"], source = \"our listings\" }"
)]
struct WordsKeys {
    #[serde(rename = "for")]
    kind: Text<Kind>,
    name: String,
    words: Vec<String>,
    source: String,
    #[serde(default)]
    turns: Vec<String>,
    hue: Option<String>,
}

#[derive(Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { after_receipt = \"2 h\" } or { daily = \"14:00\" }"
)]
struct CutOffKeys {
    after_receipt: Option<Text<TimeDelta>>,
    daily: Option<Text<NaiveTime>>,
    working_days: Option<Vec<Text<Weekday>>>,
    holidays: Option<Vec<Text<NaiveDate>>>,
}

/// A cut-off of which the zone is still to be filled in.
#[derive(Deserialize)]
#[serde(try_from = "CutOffKeys")]
enum CutOffRule {
    AfterReceipt(TimeDelta),
    Daily(NaiveTime, Calendar),
}

impl TryFrom<CutOffKeys> for CutOffRule {
    type Error = &'static str;

    fn try_from(keys: CutOffKeys) -> Result<Self, &'static str> {
        match (keys.after_receipt, keys.daily) {
            (Some(_), Some(_)) => Err("has both after_receipt and daily; expected is one of them"),
            (None, None) => Err("has neither after_receipt nor daily; expected is one of them"),
            (Some(_), None) if keys.working_days.is_some() || keys.holidays.is_some() => {
                Err("has working_days or holidays beside after_receipt, which runs day and night; \
                     expected are they beside daily alone")
            }
            (Some(span), None) => Ok(Self::AfterReceipt(span.0)),
            (None, Some(at)) => {
                let working_days = match keys.working_days {
                    Some(days) if days.is_empty() => {
                        return Err("has an empty list of working_days; expected is at least one day");
                    }
                    Some(days) => days.into_iter().map(|day| day.0).collect(),
                    None => Calendar::default().working_days().collect::<Vec<_>>(),
                };
                let holidays = keys.holidays.into_iter().flatten().map(|day| day.0);
                Ok(Self::Daily(at.0, Calendar::new(working_days, holidays)))
            }
        }
    }
}

impl Keys {
    /// What is in force.
    ///
    /// # Errors
    /// The first value that does not fit the others.
    pub fn checked(self) -> Result<Configuration, Problem> {
        let ledger = match self.ledger.as_deref() {
            Some("") => {
                return Err(Problem::custom("is empty; expected is the path of a file").under("ledger"));
            }
            ledger => PathBuf::from(ledger.unwrap_or(DEFAULT_LEDGER)),
        };
        let of_one_shop = [
            ("zone", self.zone.is_some()),
            ("graces", self.graces.is_some()),
            ("fees", self.fees.is_some()),
            ("references", self.references.is_some()),
            ("suppliers", self.suppliers.is_some()),
            ("sources", self.sources.is_some()),
            ("words", self.words.is_some()),
            ("sheet", self.sheet.is_some()),
        ];
        let page = self.page.map(PageKeys::checked).transpose().map_err(|problem| problem.under("page"))?;
        let page = page.unwrap_or_default();
        let sending = SendingKeys { digest: self.digest, mail: self.mail, recipients: self.recipients };
        if self.shops.is_empty() {
            let only = ShopKeys {
                zone: self.zone,
                graces: self.graces.unwrap_or_default(),
                fees: self.fees.unwrap_or_default(),
                references: self.references.unwrap_or_default(),
                suppliers: self.suppliers.unwrap_or_default(),
                sources: self.sources.unwrap_or_default(),
                words: self.words.unwrap_or_default(),
                sheet: self.sheet.unwrap_or_default(),
            };
            let shops = [(ShopId::new(ONLY_SHOP), only.checked()?)].into();
            let sending = sending.checked(&shops)?;
            return Ok(Configuration { ledger, shops, sending, page });
        }
        if let Some((key, _)) = of_one_shop.into_iter().find(|(_, is_given)| *is_given) {
            let text = "stands beside shops; where there are several shops, expected is it under each of them, \
                        such as under [shops.NAME]";
            return Err(Problem::custom(text).under(key));
        }
        let mut shops = BTreeMap::new();
        for (name, keys) in self.shops {
            if !is_plain(&name) {
                return Err(not_plain("shop").under(name).under("shops"));
            }
            let settings = keys.checked().map_err(|problem| problem.under(&name).under("shops"))?;
            shops.insert(ShopId::new(name), settings);
        }
        let sending = sending.checked(&shops)?;
        Ok(Configuration { ledger, shops, sending, page })
    }
}

/// A name that can stand on a command line, in a log and in an address.
pub(super) fn is_plain(name: &str) -> bool {
    !name.is_empty()
        && name.len() <= MAX_NAME
        && name.chars().all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c))
}

pub(super) fn not_plain(what: &str) -> Problem {
    Problem::custom(format!(
        "is no name of a {what}; expected are at most {MAX_NAME} of the letters a to z, digits, and - _ ."
    ))
}

impl ShopKeys {
    /// What no single value can say: that values fit each other.
    fn checked(mut self) -> Result<Settings, Problem> {
        if self.fees.percent.as_ref().is_some_and(|percent| percent.0 > Decimal::ONE_HUNDRED) {
            return Err(Problem::custom("is over 100; expected are per cent of the price")
                .under("percent")
                .under("fees"));
        }
        let mut currencies = BTreeSet::new();
        for fee in &self.fees.per_unit {
            if !currencies.insert(fee.currency.0) {
                let text =
                    format!("has two amounts in {}; expected is one for each currency", fee.currency.0);
                return Err(Problem::custom(text).under("per_unit").under("fees"));
            }
        }
        if self.references.samples.iter().any(|pattern| pattern.0.as_str().is_empty()) {
            let text = "has an empty pattern, which every reference matches; expected is one that only samples match";
            return Err(Problem::custom(text).under("samples").under("references"));
        }
        if self.suppliers.contains_key(SupplierId::OWN) {
            let text = "means the shop itself, which needs no cut-off and no graces; expected is a supplier";
            return Err(Problem::custom(text).under(SupplierId::OWN).under("suppliers"));
        }
        let zone = self.zone.as_ref().map_or(Tz::UTC, |zone| zone.0);
        let mut sources = BTreeMap::new();
        for (name, declaration) in &self.sources {
            if !is_plain(name) {
                return Err(not_plain("source").under(name).under("sources"));
            }
            let source = declaration.check(zone).map_err(|error| {
                let inner = error.path.into_iter().rev().fold(
                    Problem::custom(error.text),
                    |problem, step| match step {
                        Step::Key(key) => problem.under(key),
                        Step::Entry(entry) => problem.in_entry(entry),
                    },
                );
                inner.under(name).under("sources")
            })?;
            sources.insert(SourceId::new(name.as_str()), source);
        }
        let vocabulary = vocabulary(&self.words)?;
        let sheet = std::mem::take(&mut self.sheet).checked()?;
        Ok(Settings { sources, vocabulary, sheet, ..Settings::from(self) })
    }
}

/// What option text is read by, with the owner's words.
fn vocabulary(words: &[WordsKeys]) -> Result<Arc<Vocabulary>, Problem> {
    /// Most words that are added.
    const AT_MOST: usize = 5_000;
    let mut own: Vec<OwnWords> = Vec::new();
    for (place, keys) in words.iter().enumerate() {
        let problem =
            |key: &str, text: &str| Problem::custom(text).under(key).in_entry(place + 1).under("words");
        if keys.name.trim().is_empty() {
            return Err(problem("name", "is empty; expected is what the words mean, such as \"moss\""));
        }
        if keys.source.trim().is_empty() {
            return Err(problem(
                "source",
                "is empty; expected is where the words were found, such as \"our listings\"",
            ));
        }
        if !keys.turns.is_empty() && keys.kind.0 != Kind::ProductType {
            return Err(problem("turns", "is for products alone"));
        }
        if keys.hue.is_some() && keys.kind.0 != Kind::Colour {
            return Err(problem("hue", "is for colours alone"));
        }
        own.push(OwnWords {
            kind: keys.kind.0,
            name: keys.name.clone(),
            words: keys.words.clone(),
            turns: keys.turns.clone(),
            hue: keys.hue.clone(),
        });
        if own.iter().map(|own| own.words.len()).sum::<usize>() > AT_MOST {
            return Err(problem("words", &format!("has, with those before it, more than {AT_MOST} words")));
        }
    }
    if own.is_empty() {
        return Ok(Arc::clone(&BUILT_IN));
    }
    Vocabulary::with(&own).map(Arc::new).map_err(|error| {
        // The first entry that cannot be taken beside those before it.
        let of_entry =
            (0..own.len()).find_map(|place| Some((place, Vocabulary::with(&own[..=place]).err()?)));
        let (place, error) = of_entry.unwrap_or((0, error));
        Problem::custom(format!("cannot be taken: {error}")).under("words").in_entry(place + 1).under("words")
    })
}

impl GraceKeys {
    /// What is set here, the rest from `general`.
    fn over(self, general: &Graces) -> Graces {
        let span = |set: Option<Text<TimeDelta>>, general| set.map_or(general, |set| set.0);
        Graces {
            submit: span(self.submit_grace, general.submit),
            stray: span(self.stray_grace, general.stray),
            hold: span(self.hold_grace, general.hold),
            start: span(self.start_grace, general.start),
            parcel_gap: span(self.parcel_gap, general.parcel_gap),
            mark: span(self.mark_grace, general.mark),
        }
    }
}

impl FormKeys {
    /// What is set here, the rest from `general`; an empty pattern is none.
    fn over(self, general: &ReferenceForm) -> ReferenceForm {
        ReferenceForm {
            prefix: self.prefix.unwrap_or_else(|| general.prefix.clone()),
            suffix: self.suffix.unwrap_or_else(|| general.suffix.clone()),
            pattern: match self.pattern {
                Some(pattern) => Some(pattern.0).filter(|pattern| !pattern.as_str().is_empty()),
                None => general.pattern.clone(),
            },
        }
    }
}

impl Settings {
    /// What holds where nothing is set.
    pub(super) fn of_nothing() -> Self {
        ShopKeys::default().into()
    }
}

impl From<ShopKeys> for Settings {
    fn from(keys: ShopKeys) -> Self {
        let zone = keys.zone.map_or(Tz::UTC, |zone| zone.0);
        let ReferenceKeys { prefix, suffix, pattern, samples } = keys.references;
        let mut rules = Rules {
            graces: keys.graces.over(&Graces::default()),
            references: FormKeys { prefix, suffix, pattern }.over(&ReferenceForm::default()),
            samples: samples.into_iter().map(|pattern| pattern.0).collect(),
            fees: Fees {
                percent_of_price: keys.fees.percent.map_or(Decimal::ZERO, |percent| percent.0),
                per_unit: keys
                    .fees
                    .per_unit
                    .iter()
                    .map(|fee| Money::new(fee.amount.0, fee.currency.0))
                    .collect(),
            },
            ..Rules::default()
        };
        let mut cut_offs = BTreeMap::new();
        let mut suppliers = BTreeSet::new();
        for (name, supplier) in keys.suppliers {
            let name = SupplierId::new(name);
            let zone = supplier.zone.map_or(zone, |zone| zone.0);
            match supplier.cut_off {
                Some(CutOffRule::AfterReceipt(span)) => {
                    cut_offs.insert(name.clone(), CutOff::AfterReceipt(span));
                }
                Some(CutOffRule::Daily(at, calendar)) => {
                    cut_offs.insert(name.clone(), CutOff::Daily { at, zone, calendar });
                }
                None => {}
            }
            rules.supplier_graces.insert(name.clone(), supplier.graces.over(&rules.graces));
            rules.supplier_references.insert(name.clone(), supplier.references.over(&rules.references));
            suppliers.insert(name);
        }
        Self {
            zone,
            rules,
            cut_offs,
            suppliers,
            sources: BTreeMap::new(),
            vocabulary: Arc::clone(&BUILT_IN),
            sheet: SheetSettings::default(),
        }
    }
}
