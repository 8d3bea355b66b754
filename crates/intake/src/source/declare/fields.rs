//! The fields of a table: where each stands in a record and how it is read.
//!
//! Must not know other tables or requests. Start reading at [`Field`].

use std::collections::BTreeMap;

use chrono_tz::{TZ_VARIANTS, Tz};
use model::{Currency, money, text};
use regex::Regex;

use super::at::At;
use super::columns::{Kind, kind};
use super::error::DeclarationError;
use super::keys::{LongField, Whole};
use super::when_form::MomentForm;
use crate::bad_row::shown;
use crate::nearest::nearest;
use crate::tables::{Column, Table};

/// One field of a table.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    pub(crate) column: Column,
    pub(crate) take: Take,
}

/// Where a field comes from.
#[derive(Clone, Debug)]
pub(crate) enum Take {
    /// The same in every row.
    Always(String),
    /// One value of the record; behind it, with a blank, what stands at `and`.
    Value { at: At, and: Option<At>, pattern: Option<Regex>, reading: Reading },
    /// Texts of which a keyed digest is made.
    Digest(Vec<At>),
    /// The options.
    Options(OptionsAt),
    /// The number of the record among those of the record around it, from 1.
    Counted,
    /// The name under which the record stands in an object of records.
    OwnKey,
    /// What stands in a record around this one: so many lists further out, from 1.
    Around(usize, Box<Self>),
    /// What the first of these says that says anything.
    FirstOf(Vec<Self>),
}

/// How a value is read.
#[derive(Clone, Debug)]
pub(crate) enum Reading {
    /// As it stands.
    Plain,
    /// As it stands; a number must be whole.
    Id,
    /// By its word. An empty meaning is none, of one of several places of which the first that says something counts.
    Words(BTreeMap<String, String>),
    /// This word, where anything stands but false, 0 and an empty text.
    There(String),
    /// As a time; a date alone is a day of the zone.
    Time(MomentForm, Tz),
    /// As money.
    Money(MoneyForm),
}

/// How money is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum MoneyForm {
    /// As a decimal.
    Decimal,
    /// As a decimal with a comma, `1.234,50`; a sign or code of a currency may stand around it.
    Comma,
    /// As a decimal with a point, `1,234.50`; likewise.
    Point,
    /// As a whole number of minor units of the row's currency.
    Minor,
    /// As a whole number of units with so many digits behind the point.
    MinorOf(u32),
}

/// How options stand in a record.
#[derive(Clone, Debug)]
pub(crate) enum OptionsAt {
    /// A list of names and values.
    Pairs { at: At, name: At, value: At, keep: Keep },
    /// An object of name to value.
    Object { at: At, keep: Keep },
    /// A place for each.
    Columns(Vec<(String, At)>),
    /// Places of a name and of its value.
    NamedAt { places: Vec<(At, At)>, keep: Keep },
    /// A text of several: `Size: L, Colour: Moss`.
    Text { at: At, between: String, name_ends: String, keep: Keep },
    /// A text of values alone: `L / Moss`.
    Values { at: At, between: String, names: Vec<String> },
}

/// The names of the options that are kept.
#[derive(Clone, Debug)]
pub(crate) enum Keep {
    /// Whatever stands there: of a vocabulary, which says what is chosen.
    All,
    /// These, by their folded names.
    Names(BTreeMap<String, String>),
}

/// What is said for [`Keep::All`].
const ALL: &str = "*";

impl Keep {
    fn parse(names: &[String]) -> Result<Self, DeclarationError> {
        if names == [ALL] {
            return Ok(Self::All);
        }
        let mut kept = BTreeMap::new();
        for (index, name) in names.iter().enumerate() {
            let folded = text::fold(name);
            if folded.is_empty() || kept.insert(folded, name.clone()).is_some() {
                let error = DeclarationError::found(shown(name), "the name of an option, each once");
                return Err(error.in_entry(index + 1));
            }
        }
        if kept.is_empty() {
            return Err(DeclarationError::found(
                "an empty list",
                r#"the names of the options to keep, such as ["Size", "Colour"]"#,
            ));
        }
        Ok(Self::Names(kept))
    }

    /// The name as it is declared, where it is kept. Names compare folded.
    pub(crate) fn kept<'k>(&'k self, name: &'k str) -> Option<&'k str> {
        match self {
            Self::All => Some(name),
            Self::Names(names) => names.get(&text::fold(name)).map(String::as_str),
        }
    }

    /// Whether names are not looked at.
    pub(crate) fn is_all(&self) -> bool {
        matches!(self, Self::All)
    }

    /// The names as they are declared.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        let names = match self {
            Self::All => None,
            Self::Names(names) => Some(names),
        };
        names.into_iter().flat_map(BTreeMap::values).map(String::as_str)
    }
}

/// The largest number of digits that minor units can have: millionths, as some price their goods (common practice,
/// no published source); ISO 4217 itself goes up to 4.
const MAX_MINOR_DIGITS: u32 = 6;

/// Checks one field. `shop_zone` is for dates alone that have no zone of their own.
pub(super) fn check(
    table: Table,
    column: Column,
    keys: &LongField,
    shop_zone: Tz,
) -> Result<Field, DeclarationError> {
    let kind = kind(table, column);
    let form = form_of(keys)?;
    fits(kind, form)?;
    keys_beside(keys, form)?;
    let take = match form {
        Form::At => value(kind, keys, shop_zone)?,
        Form::Always => always(table, kind, keys)?,
        Form::DigestOf => Take::Digest(digest(keys)?),
        Form::PairsAt => Take::Options(OptionsAt::Pairs {
            at: place("pairs_at", &keys.pairs_at, form)?,
            name: place("name", &keys.name, form)?,
            value: place("value", &keys.value, form)?,
            keep: keep(keys, form)?,
        }),
        Form::ObjectAt => Take::Options(OptionsAt::Object {
            at: place("object_at", &keys.object_at, form)?,
            keep: keep(keys, form)?,
        }),
        Form::Columns => Take::Options(OptionsAt::Columns(columns(keys)?)),
        Form::NamedAt => Take::Options(named_at(keys, form)?),
        Form::TextAt => Take::Options(text_at(keys, form)?),
        Form::Counted => Take::Counted,
        Form::OwnKey => Take::OwnKey,
        Form::FirstOf => Take::FirstOf(first_of(table, column, keys, shop_zone)?),
    };
    let take = match keys.around {
        Some(around) => Take::Around(lists_out(around)?, Box::new(take)),
        None => take,
    };
    Ok(Field { column, take })
}

/// How many lists further out a record may stand whose fields a row has; documents nest less.
const MAX_LISTS_OUT: i64 = 8;

pub(super) fn lists_out(Whole(number): Whole) -> Result<usize, DeclarationError> {
    usize::try_from(number).ok().filter(|_| (1..=MAX_LISTS_OUT).contains(&number)).ok_or_else(|| {
        let expected =
            format!("how many lists further out the record stands, a whole number from 1 to {MAX_LISTS_OUT}");
        DeclarationError::found(number.to_string(), expected).under("around")
    })
}

/// The key that says what kind of field it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Form {
    At,
    Always,
    DigestOf,
    PairsAt,
    ObjectAt,
    Columns,
    NamedAt,
    TextAt,
    Counted,
    OwnKey,
    FirstOf,
}

impl Form {
    fn key(self) -> &'static str {
        match self {
            Self::At => "at",
            Self::Always => "always",
            Self::DigestOf => "digest_of",
            Self::PairsAt => "pairs_at",
            Self::ObjectAt => "object_at",
            Self::Columns => "columns",
            Self::NamedAt => "named_at",
            Self::TextAt => "text_at",
            Self::Counted => "counted",
            Self::OwnKey => "own_key",
            Self::FirstOf => "first_of",
        }
    }

    /// The keys that may stand beside it.
    fn beside(self) -> &'static [&'static str] {
        match self {
            Self::At => &["and_at", "pattern", "words", "there", "time", "zone", "money", "around"],
            Self::OwnKey => &["around"],
            Self::Always | Self::DigestOf | Self::Columns | Self::Counted | Self::FirstOf => &[],
            Self::PairsAt => &["name", "value", "keep"],
            Self::ObjectAt | Self::NamedAt => &["keep"],
            Self::TextAt => &["between", "name_ends", "keep", "names"],
        }
    }
}

fn form_of(keys: &LongField) -> Result<Form, DeclarationError> {
    let given = [
        (Form::At, keys.at.is_some()),
        (Form::Always, keys.always.is_some()),
        (Form::DigestOf, keys.digest_of.is_some()),
        (Form::PairsAt, keys.pairs_at.is_some()),
        (Form::ObjectAt, keys.object_at.is_some()),
        (Form::Columns, keys.columns.is_some()),
        (Form::NamedAt, keys.named_at.is_some()),
        (Form::TextAt, keys.text_at.is_some()),
        (Form::Counted, keys.counted.is_some()),
        (Form::OwnKey, keys.own_key.is_some()),
        (Form::FirstOf, keys.first_of.is_some()),
    ];
    let mut given = given.into_iter().filter(|(_, is_given)| *is_given).map(|(form, _)| form);
    match (given.next(), given.next()) {
        (Some(form), None) => Ok(form),
        (Some(one), Some(other)) => Err(DeclarationError::new(format!(
            "has both {} and {}; expected is one of them",
            one.key(),
            other.key()
        ))),
        (None, _) => Err(DeclarationError::new(
            "has none of at, always, digest_of, pairs_at, object_at, columns, named_at, text_at, counted, own_key and \
             first_of; expected is one of them",
        )),
    }
}

fn fits(kind: Kind, form: Form) -> Result<(), DeclarationError> {
    let expected = match kind {
        Kind::Options
            if matches!(
                form,
                Form::PairsAt | Form::ObjectAt | Form::Columns | Form::NamedAt | Form::TextAt
            ) =>
        {
            return Ok(());
        }
        Kind::Options => {
            "one of pairs_at, object_at, columns, named_at and text_at, which name the options that are kept: what customers typed is not"
        }
        Kind::Digest if form == Form::DigestOf => return Ok(()),
        Kind::Digest => "digest_of, since an address itself is never kept",
        Kind::Id if matches!(form, Form::Counted | Form::OwnKey) => return Ok(()),
        Kind::Time if matches!(form, Form::At | Form::FirstOf) => return Ok(()),
        Kind::Time => "at, the place of a time",
        _ if form == Form::FirstOf => return Ok(()),
        _ if matches!(form, Form::At | Form::Always) => return Ok(()),
        _ => "at or always",
    };
    Err(DeclarationError::new(format!("has {}; expected is {expected}", form.key())))
}

fn keys_beside(keys: &LongField, form: Form) -> Result<(), DeclarationError> {
    let given = [
        ("and_at", keys.and_at.is_some()),
        ("pattern", keys.pattern.is_some()),
        ("words", keys.words.is_some()),
        ("there", keys.there.is_some()),
        ("time", keys.time.is_some()),
        ("zone", keys.zone.is_some()),
        ("money", keys.money.is_some()),
        ("between", keys.between.is_some()),
        ("name_ends", keys.name_ends.is_some()),
        ("names", keys.names.is_some()),
        ("name", keys.name.is_some()),
        ("value", keys.value.is_some()),
        ("keep", keys.keep.is_some()),
        ("around", keys.around.is_some()),
    ];
    let wrong = given.into_iter().find(|(key, is_given)| *is_given && !form.beside().contains(key));
    match wrong {
        None => Ok(()),
        Some((key, _)) if form.beside().is_empty() => Err(DeclarationError::new(format!(
            "has {key} beside {}; expected is {} alone",
            form.key(),
            form.key()
        ))),
        Some((key, _)) => Err(DeclarationError::new(format!(
            "has {key} beside {}; expected beside it is {}",
            form.key(),
            form.beside().join(" or ")
        ))),
    }
}

fn place(key: &'static str, text: &Option<String>, form: Form) -> Result<At, DeclarationError> {
    match text {
        Some(text) => At::parse(text).map_err(|error| error.under(key)),
        None => Err(DeclarationError::new(format!(
            "has {} and no {key}; expected is {key} too, {}",
            form.key(),
            At::EXPECTED
        ))),
    }
}

fn keep(keys: &LongField, form: Form) -> Result<Keep, DeclarationError> {
    match &keys.keep {
        Some(names) => Keep::parse(names).map_err(|error| error.under("keep")),
        None => Err(DeclarationError::new(format!(
            "has {} and no keep; expected is keep too, the names of the options to keep, such as [\"Size\", \"Colour\"]",
            form.key()
        ))),
    }
}

fn digest(keys: &LongField) -> Result<Vec<At>, DeclarationError> {
    let texts = keys.digest_of.as_deref().unwrap_or_default();
    if texts.is_empty() {
        let error = DeclarationError::found("an empty list", "the places of the parts of the address");
        return Err(error.under("digest_of"));
    }
    let places = texts
        .iter()
        .enumerate()
        .map(|(index, text)| At::parse(text).map_err(|error| error.in_entry(index + 1).under("digest_of")));
    places.collect()
}

fn columns(keys: &LongField) -> Result<Vec<(String, At)>, DeclarationError> {
    let columns = keys.columns.iter().flatten();
    let names: Vec<String> = columns.clone().map(|(name, _)| name.clone()).collect();
    if names.is_empty() {
        let error = DeclarationError::found(
            "an empty table",
            r#"a place for each option, such as { Size = "$.size" }"#,
        );
        return Err(error.under("columns"));
    }
    // Names that fold to the same are one option.
    let kept = Keep::parse(&names).map_err(|error| DeclarationError::new(error.text).under("columns"))?;
    columns
        .map(|(name, text)| {
            let at = At::parse(text).map_err(|error| error.under(name).under("columns"))?;
            Ok((kept.kept(name).unwrap_or(name).to_owned(), at))
        })
        .collect()
}

fn named_at(keys: &LongField, form: Form) -> Result<OptionsAt, DeclarationError> {
    let pairs = keys.named_at.iter().flatten().enumerate();
    let places = pairs.map(|(index, [name, value])| {
        let read = || Ok((At::parse(name)?, At::parse(value)?));
        read().map_err(|error: DeclarationError| error.in_entry(index + 1).under("named_at"))
    });
    let places = places.collect::<Result<Vec<_>, _>>()?;
    if places.is_empty() {
        let expected = r#"the places of each name and of its value, such as [["$.option1", "$.value1"]]"#;
        return Err(DeclarationError::found("an empty list", expected).under("named_at"));
    }
    Ok(OptionsAt::NamedAt { places, keep: keep(keys, form)? })
}

fn text_at(keys: &LongField, form: Form) -> Result<OptionsAt, DeclarationError> {
    let at = place("text_at", &keys.text_at, form)?;
    let mark = |key: &'static str, text: &Option<String>, usual: &str| match text {
        Some(text) if text.is_empty() => {
            Err(DeclarationError::found("empty", format!("what stands there, such as {usual:?}")).under(key))
        }
        Some(text) => Ok(text.clone()),
        None => Ok(usual.to_owned()),
    };
    match (&keys.names, &keys.keep) {
        (Some(names), None) => {
            if keys.name_ends.is_some() {
                return Err(DeclarationError::new(
                    "has name_ends beside names; expected is one of them: names are for a text of values alone",
                ));
            }
            let between = mark("between", &keys.between, " / ")?;
            // Names that fold to the same are one option.
            Keep::parse(names).map_err(|error| error.under("names"))?;
            Ok(OptionsAt::Values { at, between, names: names.clone() })
        }
        (None, Some(_)) => {
            let between = mark("between", &keys.between, ",")?;
            let name_ends = mark("name_ends", &keys.name_ends, ":")?;
            Ok(OptionsAt::Text { at, between, name_ends, keep: keep(keys, form)? })
        }
        _ => Err(DeclarationError::new(
            "has text_at without one of keep and names; expected is keep, the names of the options to keep, for a \
             text such as \"Size: L, Colour: Moss\", or names, in their order, for one such as \"L / Moss\"",
        )),
    }
}

fn first_of(
    table: Table,
    column: Column,
    keys: &LongField,
    shop_zone: Tz,
) -> Result<Vec<Take>, DeclarationError> {
    let mut takes = Vec::new();
    for (index, keys) in keys.first_of.iter().flatten().enumerate() {
        let under = |error: DeclarationError| error.in_entry(index + 1).under("first_of");
        if keys.0.first_of.is_some() {
            return Err(under(DeclarationError::new("has first_of in it; expected is a place")));
        }
        takes.push(check(table, column, &keys.0, shop_zone).map_err(under)?.take);
    }
    if takes.len() < 2 {
        let expected = "two places or more, of which the first that says something counts";
        return Err(DeclarationError::found("a list of less than two", expected).under("first_of"));
    }
    Ok(takes)
}

fn value(kind: Kind, keys: &LongField, shop_zone: Tz) -> Result<Take, DeclarationError> {
    let at = place("at", &keys.at, Form::At)?;
    let pattern = keys.pattern.as_deref().map(pattern).transpose().map_err(|error| error.under("pattern"))?;
    let meant = [
        ("words", keys.words.is_some()),
        ("time", keys.time.is_some() || keys.zone.is_some()),
        ("money", keys.money.is_some()),
    ];
    let reading = match kind {
        Kind::Time => {
            only("time", "a time", meant)?;
            time(keys, shop_zone)?
        }
        Kind::Amount => {
            only("money", "an amount", meant)?;
            let form = keys.money.as_deref().map_or(Ok(MoneyForm::Decimal), money_form);
            Reading::Money(form.map_err(|error| error.under("money"))?)
        }
        _ => {
            only("words", "neither a time nor an amount", meant)?;
            match (&keys.words, &keys.there) {
                (Some(_), Some(_)) => {
                    return Err(DeclarationError::new("has both words and there; expected is one of them"));
                }
                (None, Some(word)) => {
                    meant_by(kind, word).map_err(|error| error.under("there"))?;
                    Reading::There(word.clone())
                }
                (Some(list), None) => {
                    Reading::Words(words(kind, list).map_err(|error| error.under("words"))?)
                }
                (None, None) if kind == Kind::Id => Reading::Id,
                (None, None) => Reading::Plain,
            }
        }
    };
    let and = keys.and_at.as_deref().map(At::parse).transpose().map_err(|error| error.under("and_at"))?;
    Ok(Take::Value { at, and, pattern, reading })
}

/// Of the keys that say what a value means, only the one that fits its column may be there.
fn only(right: &str, what: &str, meant: [(&str, bool); 3]) -> Result<(), DeclarationError> {
    match meant.into_iter().find(|(key, is_given)| *is_given && *key != right) {
        None => Ok(()),
        Some((key, _)) => {
            Err(DeclarationError::new(format!("has {key}, and the field is {what}; expected is no {key}")))
        }
    }
}

fn time(keys: &LongField, shop_zone: Tz) -> Result<Reading, DeclarationError> {
    let form = match &keys.time {
        Some(text) => MomentForm::parse(text).map_err(|error| error.under("time"))?,
        None => MomentForm::RFC_3339,
    };
    let Some(text) = &keys.zone else {
        if form.needs_zone() {
            return Err(DeclarationError::new(
                "has a time without offset and no zone; expected is zone too, such as \"Europe/Oslo\"",
            ));
        }
        return Ok(Reading::Time(form, shop_zone));
    };
    if !form.can_use_zone() {
        return Err(DeclarationError::new(
            "has zone beside a time that says its moment by itself; expected is no zone",
        ));
    }
    let zone: Tz = text.parse().map_err(|_| {
        let near = nearest_zone(text).map(|near| format!(" (the nearest is {near:?})")).unwrap_or_default();
        let expected = format!(r#"a zone of the IANA time zone database, such as "Europe/Oslo"{near}"#);
        DeclarationError::found(shown(text), expected).under("zone")
    })?;
    Ok(Reading::Time(form, zone))
}

fn nearest_zone(text: &str) -> Option<&'static str> {
    TZ_VARIANTS.iter().map(|zone| zone.name()).find(|name| name.eq_ignore_ascii_case(text)).or_else(|| {
        let alike = |name: &&'static str| strsim::jaro_winkler(name, text);
        let best = TZ_VARIANTS.iter().map(|zone| zone.name()).max_by(|a, b| alike(a).total_cmp(&alike(b)))?;
        (alike(&best) > 0.8).then_some(best)
    })
}

fn money_form(text: &str) -> Result<MoneyForm, DeclarationError> {
    match text {
        "decimal" => return Ok(MoneyForm::Decimal),
        "comma" => return Ok(MoneyForm::Comma),
        "point" => return Ok(MoneyForm::Point),
        "minor" => return Ok(MoneyForm::Minor),
        _ => {}
    }
    let digits = text.strip_prefix("minor-").filter(|digits| digits.len() == 1);
    match digits.and_then(|digits| digits.parse().ok()) {
        Some(digits) if digits <= MAX_MINOR_DIGITS => Ok(MoneyForm::MinorOf(digits)),
        _ => Err(DeclarationError::found(
            shown(text),
            format!(
                r#""decimal", "comma" or "point" (as people write it), "minor" (of the currency), or "minor-2" and the like up to {MAX_MINOR_DIGITS}"#
            ),
        )),
    }
}

fn pattern(text: &str) -> Result<Regex, DeclarationError> {
    const EXPECTED: &str = "a regular expression with a group around what is wanted, such as '^SHOP-(.+)$'";
    let regex = Regex::new(text).map_err(|error| {
        // The last line of the crate's account says what is wrong; those before it draw the place.
        let account = error.to_string();
        let why = account.lines().last().unwrap_or_default().trim().trim_start_matches("error: ").to_owned();
        DeclarationError::found(format!("{}, which cannot be read: {why}", shown(text)), EXPECTED)
    })?;
    if regex.captures_len() < 2 {
        return Err(DeclarationError::found(format!("{}, which has no group", shown(text)), EXPECTED));
    }
    Ok(regex)
}

fn words(kind: Kind, list: &BTreeMap<String, String>) -> Result<BTreeMap<String, String>, DeclarationError> {
    if list.is_empty() {
        return Err(DeclarationError::found("an empty table", "the source's words and what each means"));
    }
    for (word, meaning) in list {
        if meaning.is_empty() {
            continue;
        }
        meant_by(kind, meaning).map_err(|error| error.under(word))?;
    }
    Ok(list.clone())
}

/// Whether a text is what a column of this kind takes, in so far as it does not hang on the record.
fn meant_by(kind: Kind, text: &str) -> Result<(), DeclarationError> {
    match kind {
        Kind::Word(known) if known.contains(&text) => Ok(()),
        Kind::Word(known) => {
            let near = nearest(text, known.iter().copied());
            let near = near.map(|near| format!(" (the nearest is {near})")).unwrap_or_default();
            Err(DeclarationError::found(shown(text), format!("one of {}{near}", known.join(", "))))
        }
        Kind::Currency if text.parse::<Currency>().is_ok() => Ok(()),
        Kind::Currency => Err(DeclarationError::found(shown(text), Currency::EXPECTED)),
        Kind::Number
            if text.len() <= 7 && !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit()) =>
        {
            Ok(())
        }
        Kind::Number => Err(DeclarationError::found(shown(text), "a whole number")),
        Kind::Amount if money::parse_amount(text).is_some_and(|amount| !amount.is_sign_negative()) => Ok(()),
        Kind::Amount => Err(DeclarationError::found(shown(text), money::AMOUNT_EXPECTED)),
        _ if text.is_empty() => Err(DeclarationError::found("empty", "a text")),
        _ => Ok(()),
    }
}

fn always(table: Table, kind: Kind, keys: &LongField) -> Result<Take, DeclarationError> {
    let text = keys.always.as_ref().map(|always| always.0.as_str()).unwrap_or_default();
    debug_assert!(!matches!(kind, Kind::Time | Kind::Options | Kind::Digest), "{table:?}");
    meant_by(kind, text).map_err(|error| error.under("always"))?;
    Ok(Take::Always(text.to_owned()))
}
