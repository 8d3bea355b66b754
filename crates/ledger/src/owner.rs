//! What the owner says of where offers, SKUs and listings lead, and of which product a good is: as it stands, and each
//! change that led there, for ever.
//!
//! A change is one transaction; its steps say what stood before, so that it can be taken back. Sources write elsewhere
//! (`links`), so that what they bring and what they no longer bring leaves the owner's word as it is. Must not know: whether
//! a variant exists, or what follows from a link. Start reading at [`keep`]; [`undo`] is the way back.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use model::book::{LinkRow, LinkScope};
use model::{Good, GoodRule, Sku, SupplierId, VariantId};
use serde_json::{Map, Value, json};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::text;

/// A part of a link of the owner's.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct LinkPart {
    /// Who makes it; `own` is the shop itself.
    pub supplier: SupplierId,
    /// Which variant; `None` for own stock alone.
    pub variant_id: Option<VariantId>,
    /// How many of it one unit needs; at least 1.
    pub units: u32,
    /// Whether the owner says that it is in force. Own stock always is.
    pub in_force: bool,
}

/// A product of a supplier.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Product {
    /// Who makes it.
    pub supplier: SupplierId,
    /// Its name, as `variants` has it.
    pub product: String,
}

/// What the owner says of one thing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Setting {
    /// Where something leads.
    Link {
        /// What it is for.
        scope: LinkScope,
        /// All its parts; none where the owner's link is to be taken away.
        parts: Vec<LinkPart>,
    },
    /// Which product a good is.
    Rule {
        /// The good.
        good: Good,
        /// The product; `None` where the rule is to be taken away.
        product: Option<Product>,
    },
}

/// Who changes something, when and why.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Signed {
    /// Who, as the owner names them.
    pub by: String,
    /// Why, where it was said.
    pub why: Option<String>,
    /// When.
    pub at: DateTime<Utc>,
}

/// A change that was made.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ChangeNote {
    /// Counted from 1 in each shop.
    pub number: i64,
    /// Who made it, when and why.
    pub signed: Signed,
    /// The change that it takes back.
    pub undoes: Option<i64>,
    /// The change that took it back, where that was not taken back itself.
    pub undone_by: Option<i64>,
}

/// A change, and what it made of each thing, by what it is about.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LinkChange {
    /// The change.
    pub note: ChangeNote,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// What a change made of one thing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Step {
    /// Of a link. No parts: there was, or is, none of the owner's.
    Link {
        /// What it is for.
        scope: LinkScope,
        /// Its parts before.
        was: Vec<LinkPart>,
        /// Its parts since.
        became: Vec<LinkPart>,
    },
    /// Of a rule.
    Rule {
        /// The good.
        good: Good,
        /// The product before.
        was: Option<Product>,
        /// The product since.
        became: Option<Product>,
    },
}

/// A link of the owner's that stands.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OwnerLink {
    /// What it is for.
    pub scope: LinkScope,
    /// Its parts, by supplier and variant id; at least one.
    pub parts: Vec<LinkPart>,
    /// The change that made it so.
    pub change: ChangeNote,
}

impl OwnerLink {
    /// Whether the owner has not said of all of it that it is in force. It may have been seen in force all the same: the
    /// matcher tells.
    pub fn is_intended(&self) -> bool {
        self.parts.iter().any(|part| !part.in_force)
    }
}

/// A rule of the owner's that stands.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OwnerRule {
    /// What it says.
    pub rule: GoodRule,
    /// The change that made it so.
    pub change: ChangeNote,
}

/// Something that the owner said, as it is kept.
#[derive(Clone, PartialEq, Debug)]
enum Word {
    Link(LinkScope, Vec<LinkPart>),
    Rule(Good, Product),
}

impl Word {
    /// `None` where nothing is said any more.
    fn of(setting: &Setting) -> Option<Self> {
        match setting {
            Setting::Link { scope, parts } => {
                let parts = in_order(parts);
                (!parts.is_empty()).then(|| Self::Link(scope.clone(), parts))
            }
            Setting::Rule { good, product } => Some(Self::Rule(good.clone(), product.clone()?)),
        }
    }

    fn text(&self) -> String {
        match self {
            Self::Link(scope, parts) => {
                let parts: Vec<Value> = parts
                    .iter()
                    .map(|part| {
                        json!({
                            "supplier": part.supplier.as_str(),
                            "variant_id": part.variant_id.as_ref().map(VariantId::as_str),
                            "units": part.units,
                            "in_force": part.in_force,
                        })
                    })
                    .collect();
                let mut object = Map::new();
                match scope {
                    LinkScope::Offer(listing_id, options) => {
                        object.insert("listing_id".to_owned(), listing_id.as_str().into());
                        object.insert("options".to_owned(), text::of_options(options).into());
                    }
                    LinkScope::Sku(sku) => {
                        object.insert("sku".to_owned(), sku.as_str().into());
                    }
                    LinkScope::Listing(listing_id) => {
                        object.insert("listing_id".to_owned(), listing_id.as_str().into());
                    }
                }
                object.insert("parts".to_owned(), parts.into());
                Value::Object(object)
            }
            Self::Rule(good, Product { supplier, product }) => json!({
                "product_type": good.product_type, "age_group": good.age_group, "words": good.words,
                "supplier": supplier.as_str(), "product": product,
            }),
        }
        .to_string()
    }

    fn read(said: &str) -> Result<Self, LedgerError> {
        let strange =
            || LedgerError::Strange { found: said.to_owned(), expected: "what the owner said of a link" };
        let value: Value = serde_json::from_str(said).map_err(|_| strange())?;
        let field = |name: &str| value.get(name).and_then(Value::as_str);
        let Some(parts) = value.get("parts") else {
            let words = value.get("words").and_then(Value::as_array).ok_or_else(strange)?;
            let good = Good {
                product_type: field("product_type").map(str::to_owned),
                age_group: field("age_group").map(str::to_owned),
                words: words.iter().filter_map(Value::as_str).map(str::to_owned).collect(),
            };
            let supplier = field("supplier").ok_or_else(strange)?.into();
            let product = field("product").ok_or_else(strange)?.to_owned();
            return Ok(Self::Rule(good, Product { supplier, product }));
        };
        let scope = match (field("sku"), field("listing_id"), field("options")) {
            (Some(sku), ..) => LinkScope::Sku(Sku::new(sku).ok_or_else(strange)?),
            (None, Some(listing_id), Some(options)) => {
                LinkScope::Offer(listing_id.into(), text::to_options(options)?)
            }
            (None, Some(listing_id), None) => LinkScope::Listing(listing_id.into()),
            (None, None, _) => return Err(strange()),
        };
        let part = |part: &Value| {
            Some(LinkPart {
                supplier: part.get("supplier")?.as_str()?.into(),
                variant_id: part.get("variant_id")?.as_str().map(Into::into),
                units: part.get("units")?.as_u64()?.try_into().ok()?,
                in_force: part.get("in_force")?.as_bool()?,
            })
        };
        let parts = parts.as_array().ok_or_else(strange)?.iter();
        let parts = parts.map(|value| part(value).ok_or_else(strange)).collect::<Result<_, _>>()?;
        Ok(Self::Link(scope, parts))
    }

    /// Whether another says the same, however it is spelled.
    fn says_the_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Link(_, these), Self::Link(_, those)) => these == those,
            (Self::Rule(_, this), Self::Rule(_, that)) => this == that,
            _ => false,
        }
    }
}

/// The parts by supplier and variant, each once: the larger number stands, as it does for rows. Own stock is in force.
fn in_order(parts: &[LinkPart]) -> Vec<LinkPart> {
    let mut by_variant: BTreeMap<(&SupplierId, &Option<VariantId>), LinkPart> = BTreeMap::new();
    for part in parts {
        let in_force = part.in_force || part.supplier.is_own();
        let there = by_variant
            .entry((&part.supplier, &part.variant_id))
            .or_insert_with(|| LinkPart { in_force, ..part.clone() });
        there.units = there.units.max(part.units);
        there.in_force &= in_force;
    }
    by_variant.into_values().collect()
}

/// What names a setting's thing, as it is compared.
fn subject(setting: &Setting) -> String {
    match setting {
        Setting::Link { scope: LinkScope::Offer(listing_id, options), .. } => {
            json!(["offer", listing_id.as_str(), text::of_options_key(options)])
        }
        Setting::Link { scope: LinkScope::Sku(sku), .. } => json!(["sku", sku.folded()]),
        Setting::Link { scope: LinkScope::Listing(listing_id), .. } => {
            json!(["listing", listing_id.as_str()])
        }
        Setting::Rule { good, .. } => json!(["good", good.product_type, good.age_group, good.words]),
    }
    .to_string()
}

/// What a word is about, as an owner reads it.
fn about(word: &Word) -> String {
    match word {
        Word::Link(scope, _) => format!("the link of {scope}"),
        Word::Rule(good, _) => format!("the rule for '{good}'"),
    }
}

/// A step on its way in, with texts as they are kept.
struct Written {
    subject: String,
    was: Option<String>,
    became: Option<String>,
}

/// Makes one change of some settings; the later one of two for the same thing counts. `seen` is the number of the last
/// change that was known when they were made. Answers the number of the change; `None` where nothing is another than it was.
pub(crate) async fn keep(
    connection: &mut SqliteConnection,
    shop: &str,
    settings: &[Setting],
    signed: &Signed,
    seen: i64,
) -> Result<Option<i64>, LedgerError> {
    let settings: BTreeMap<String, &Setting> =
        settings.iter().map(|setting| (subject(setting), setting)).collect();
    let mut stands = said(connection, shop).await?;
    let since = since(connection, shop, seen).await?;
    let mut steps = Vec::new();
    for (subject, setting) in settings {
        let was = stands.remove(&subject);
        let (before, now) = (was.as_deref().map(Word::read).transpose()?, Word::of(setting));
        let is_same = match (&before, &now) {
            (Some(before), Some(now)) => before.says_the_same(now),
            (None, None) => true,
            _ => false,
        };
        if is_same {
            continue;
        }
        if let Some(later) = since.get(&subject).and_then(|changes| changes.last()) {
            let what = before.as_ref().or(now.as_ref()).map_or_else(|| "a link".to_owned(), about);
            return Err(LedgerError::ChangedMeanwhile { what, later: *later });
        }
        steps.push(Written { subject, was, became: now.as_ref().map(Word::text) });
    }
    if steps.is_empty() {
        return Ok(None);
    }
    write(connection, shop, &steps, signed, None).await.map(Some)
}

/// Takes a change back, as a change of its own, the number of which it answers: what stood before stands again.
pub(crate) async fn undo(
    connection: &mut SqliteConnection,
    shop: &str,
    number: i64,
    signed: &Signed,
) -> Result<i64, LedgerError> {
    let notes = notes(connection, shop).await?;
    let Some(note) = notes.get(&number) else {
        return Err(LedgerError::NoSuchChange { number, last: notes.keys().next_back().copied() });
    };
    if let Some(by) = note.undone_by {
        return Err(LedgerError::TakenBack { number, by });
    }
    let rows = sqlx::query!(
        "SELECT subject, was, became FROM link_change_steps WHERE shop = $1 AND number = $2",
        shop,
        number
    )
    .fetch_all(&mut *connection)
    .await?;
    let (mut stands, since) = (said(connection, shop).await?, since(connection, shop, number).await?);
    // A later change and the one that took it back leave things as they were.
    let counts = |later: &&i64| {
        notes
            .get(*later)
            .is_some_and(|note| note.undone_by.is_none() && note.undoes.is_none_or(|undone| undone <= number))
    };
    let mut steps = Vec::new();
    let mut in_the_way: BTreeMap<i64, String> = BTreeMap::new();
    for row in rows {
        if let Some(later) = since.get(&row.subject).and_then(|changes| changes.iter().rfind(counts)) {
            let word = row.became.as_deref().or(row.was.as_deref()).unwrap_or_default();
            in_the_way.insert(*later, about(&Word::read(word)?));
            continue;
        }
        let stands = stands.remove(&row.subject);
        if stands != row.became {
            return Err(LedgerError::Strange {
                found: stands.unwrap_or_default(),
                expected: "what the last change made of a link",
            });
        }
        steps.push(Written { subject: row.subject, was: row.became, became: row.was });
    }
    if let Some((later, what)) = in_the_way.pop_last() {
        return Err(LedgerError::ChangedSince { number, what, later });
    }
    write(connection, shop, &steps, signed, Some(number)).await
}

async fn write(
    connection: &mut SqliteConnection,
    shop: &str,
    steps: &[Written],
    signed: &Signed,
    undoes: Option<i64>,
) -> Result<i64, LedgerError> {
    let number = last(connection, shop).await? + 1;
    let at = text::of_moment(signed.at);
    sqlx::query!(
        "INSERT INTO link_changes (shop, number, made_at, made_by, why, undoes) VALUES ($1, $2, $3, $4, $5, $6)",
        shop,
        number,
        at,
        signed.by,
        signed.why,
        undoes
    )
    .execute(&mut *connection)
    .await?;
    for step in steps {
        sqlx::query!(
            "INSERT INTO link_change_steps (shop, number, subject, was, became) VALUES ($1, $2, $3, $4, $5)",
            shop,
            number,
            step.subject,
            step.was,
            step.became
        )
        .execute(&mut *connection)
        .await?;
        match &step.became {
            Some(said) => {
                sqlx::query!(
                    "INSERT INTO owner_words (shop, subject, said, number) VALUES ($1, $2, $3, $4)
                    ON CONFLICT (shop, subject) DO UPDATE SET said = excluded.said, number = excluded.number",
                    shop,
                    step.subject,
                    said,
                    number
                )
                .execute(&mut *connection)
                .await?;
            }
            None => {
                sqlx::query!("DELETE FROM owner_words WHERE shop = $1 AND subject = $2", shop, step.subject)
                    .execute(&mut *connection)
                    .await?;
            }
        }
    }
    Ok(number)
}

/// The number of the last change of a shop; 0 before the first.
pub(crate) async fn last(connection: &mut SqliteConnection, shop: &str) -> Result<i64, LedgerError> {
    let last =
        sqlx::query_scalar!(r#"SELECT MAX(number) AS "number: i64" FROM link_changes WHERE shop = $1"#, shop)
            .fetch_one(connection)
            .await?;
    Ok(last.unwrap_or(0))
}

/// All changes of a shop, by number.
async fn notes(
    connection: &mut SqliteConnection,
    shop: &str,
) -> Result<BTreeMap<i64, ChangeNote>, LedgerError> {
    let rows = sqlx::query!(
        "SELECT number, made_at, made_by, why, undoes FROM link_changes WHERE shop = $1 ORDER BY number",
        shop
    )
    .fetch_all(connection)
    .await?;
    let mut notes = BTreeMap::new();
    for row in rows {
        let signed = Signed { by: row.made_by, why: row.why, at: text::to_moment(&row.made_at)? };
        let note = ChangeNote { number: row.number, signed, undoes: row.undoes, undone_by: None };
        notes.insert(row.number, note);
    }
    // The latest first: whether an undo stands is known before what it takes back is looked at.
    let numbers: Vec<i64> = notes.keys().rev().copied().collect();
    for number in numbers {
        let Some(undoes) =
            notes.get(&number).filter(|note| note.undone_by.is_none()).and_then(|note| note.undoes)
        else {
            continue;
        };
        if let Some(undone) = notes.get_mut(&undoes) {
            undone.undone_by = Some(number);
        }
    }
    Ok(notes)
}

/// What stands, as it is kept, by what it is about.
async fn said(connection: &mut SqliteConnection, shop: &str) -> Result<HashMap<String, String>, LedgerError> {
    let rows = sqlx::query!("SELECT subject, said FROM owner_words WHERE shop = $1", shop)
        .fetch_all(connection)
        .await?;
    Ok(rows.into_iter().map(|row| (row.subject, row.said)).collect())
}

/// The changes after one, by what they changed, in their order.
async fn since(
    connection: &mut SqliteConnection,
    shop: &str,
    number: i64,
) -> Result<HashMap<String, Vec<i64>>, LedgerError> {
    let rows = sqlx::query!(
        "SELECT subject, number FROM link_change_steps WHERE shop = $1 AND number > $2 ORDER BY number",
        shop,
        number
    )
    .fetch_all(connection)
    .await?;
    let mut changes: HashMap<String, Vec<i64>> = HashMap::new();
    for row in rows {
        changes.entry(row.subject).or_default().push(row.number);
    }
    Ok(changes)
}

/// What stands, with the number of the change that made it so.
async fn words(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<(Word, i64)>, LedgerError> {
    let rows = sqlx::query!("SELECT said, number FROM owner_words WHERE shop = $1 ORDER BY subject", shop)
        .fetch_all(connection)
        .await?;
    rows.into_iter().map(|row| Ok((Word::read(&row.said)?, row.number))).collect()
}

/// The links that stand, as rows.
pub(crate) async fn rows(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<LinkRow>, LedgerError> {
    let mut rows = Vec::new();
    for (word, _) in words(connection, shop).await? {
        if let Word::Link(scope, parts) = word {
            rows.extend(parts.into_iter().map(|part| LinkRow {
                scope: scope.clone(),
                supplier: part.supplier,
                variant_id: part.variant_id,
                units: part.units,
                in_force: part.in_force,
            }));
        }
    }
    Ok(rows)
}

/// The links and the rules that stand, by what they are for.
pub(crate) async fn all(
    connection: &mut SqliteConnection,
    shop: &str,
) -> Result<(Vec<OwnerLink>, Vec<OwnerRule>), LedgerError> {
    let notes = notes(connection, shop).await?;
    let (mut links, mut rules) = (Vec::new(), Vec::new());
    for (word, number) in words(connection, shop).await? {
        let change = notes.get(&number).cloned().ok_or_else(|| LedgerError::Strange {
            found: number.to_string(),
            expected: "the number of a change of links",
        })?;
        match word {
            Word::Link(scope, parts) => links.push(OwnerLink { scope, parts, change }),
            Word::Rule(good, Product { supplier, product }) => {
                rules.push(OwnerRule { rule: GoodRule { good, supplier, product }, change });
            }
        }
    }
    links.sort_by(|one, other| one.scope.cmp(&other.scope));
    rules.sort_by(|one, other| one.rule.good.cmp(&other.rule.good));
    Ok((links, rules))
}

/// All changes of a shop, in the order in which they were made.
pub(crate) async fn changes(
    connection: &mut SqliteConnection,
    shop: &str,
) -> Result<Vec<LinkChange>, LedgerError> {
    let notes = notes(connection, shop).await?;
    let rows = sqlx::query!(
        "SELECT number, was, became FROM link_change_steps WHERE shop = $1 ORDER BY number, subject",
        shop
    )
    .fetch_all(connection)
    .await?;
    let mut steps: BTreeMap<i64, Vec<Step>> = BTreeMap::new();
    for row in rows {
        let (was, became) = (
            row.was.as_deref().map(Word::read).transpose()?,
            row.became.as_deref().map(Word::read).transpose()?,
        );
        steps.entry(row.number).or_default().extend(step(was, became));
    }
    let change = |note: ChangeNote| {
        let steps = steps.remove(&note.number).unwrap_or_default();
        LinkChange { note, steps }
    };
    Ok(notes.into_values().map(change).collect())
}

/// A step, spelled as it was last; `None` where it says nothing.
fn step(was: Option<Word>, became: Option<Word>) -> Option<Step> {
    let parts = |word: Option<Word>| match word {
        Some(Word::Link(_, parts)) => parts,
        _ => Vec::new(),
    };
    let product = |word: Option<Word>| match word {
        Some(Word::Rule(_, product)) => Some(product),
        _ => None,
    };
    match became.as_ref().or(was.as_ref())? {
        Word::Link(scope, _) => {
            Some(Step::Link { scope: scope.clone(), was: parts(was), became: parts(became) })
        }
        Word::Rule(good, _) => {
            Some(Step::Rule { good: good.clone(), was: product(was), became: product(became) })
        }
    }
}
