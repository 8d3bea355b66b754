//! How a table differs from the offers that a listing has.
//!
//! Must not know how a row came to be. Start reading at [`compare`].

use std::collections::{HashMap, HashSet};
use std::fmt;

use model::book::Offer;
use model::{Money, Options, Sku};

use super::{Off, Row};

/// How a row differs from the offer that there is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Change {
    /// The listing has no offers at all.
    NoOffers,
    /// The listing has offers, and none like this.
    New,
    /// The offer stays as it is.
    Kept,
    /// The offer stays, and this of it is another.
    Differs(Vec<Difference>),
    /// The offer is not in the table, and is to be taken off.
    TakeOff,
}

/// One thing in which a row differs from its offer.
#[expect(missing_docs, reason = "the line above a variant says what its fields are")]
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Difference {
    /// The price; nothing where the offer has none.
    Price { from: Option<Money>, to: Money },
    /// What leads to the variant.
    Sku { from: Option<String>, to: String },
    /// Whether it can be bought now.
    OnSale(bool),
    /// What the customer picks, of an offer with the same SKU.
    Options { from: Options },
}

impl Change {
    /// The word for it in files; empty where there is nothing to compare with.
    pub fn word(&self) -> &'static str {
        match self {
            Self::NoOffers => "",
            Self::New => "new",
            Self::Kept => "kept",
            Self::Differs(_) => "differs",
            Self::TakeOff => "take-off",
        }
    }
}

/// What is to be done, without a full stop; nothing where there is nothing to compare with.
impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Differs(differences) => {
                let said: Vec<String> = differences.iter().map(ToString::to_string).collect();
                f.write_str(&said.join("; "))
            }
            Self::TakeOff => f.write_str("take off"),
            other => f.write_str(other.word()),
        }
    }
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Price { from: Some(from), to } => write!(f, "price {from} to {to}"),
            Self::Price { from: None, to } => write!(f, "price none to {to}"),
            Self::Sku { from: Some(from), to } => write!(f, "SKU {from} to {to}"),
            Self::Sku { from: None, to } => write!(f, "SKU none to {to}"),
            Self::OnSale(true) => f.write_str("put on sale"),
            Self::OnSale(false) => f.write_str("take off"),
            Self::Options { from } => write!(f, "options {from:?} to these"),
        }
    }
}

/// Says of each row how it differs from its offer, and adds the offers that are not in the table.
pub(super) fn compare(rows: &mut Vec<Row>, there: &[&Offer]) {
    if there.is_empty() {
        return;
    }
    let by_options: HashMap<&Options, &Offer> = there.iter().map(|offer| (&offer.options, *offer)).collect();
    let mut by_sku: HashMap<&Sku, Vec<&Offer>> = HashMap::new();
    for offer in there {
        if let Some(sku) = &offer.sku {
            by_sku.entry(sku).or_default().push(offer);
        }
    }
    let mut used: HashSet<Options> = rows
        .iter()
        .filter(|row| by_options.contains_key(&row.options))
        .map(|row| row.options.clone())
        .collect();
    for row in rows.iter_mut() {
        if let Some(offer) = by_options.get(&row.options) {
            // As it is typed there: nothing that a customer sees changes.
            row.options = offer.options.clone();
            row.change = changed(row, offer, None);
            continue;
        }
        let same_sku = row.sku.clone().and_then(Sku::new);
        let same_sku = same_sku.and_then(|sku| by_sku.get(&sku).cloned()).unwrap_or_default();
        row.change = match same_sku.as_slice() {
            [only] if !used.contains(&only.options) => {
                used.insert(only.options.clone());
                changed(row, only, Some(only.options.clone()))
            }
            _ => Change::New,
        };
    }
    let mut others: Vec<&&Offer> = there.iter().filter(|offer| !used.contains(&offer.options)).collect();
    others.sort_by(|one, other| one.options.cmp(&other.options));
    rows.extend(others.into_iter().map(|offer| Row {
        options: offer.options.clone(),
        place: None,
        variant: None,
        sku: offer.sku.as_ref().map(|sku| sku.as_str().to_owned()),
        price: price(offer),
        sum: None,
        off: Some(Off::NotInTable),
        change: if offer.buyable { Change::TakeOff } else { Change::Kept },
    }));
}

fn price(offer: &Offer) -> Option<Money> {
    Some(Money::new(offer.price?, offer.currency?))
}

fn changed(row: &Row, offer: &Offer, other_options: Option<Options>) -> Change {
    let is_on = row.off.is_none();
    let mut differences: Vec<Difference> = Vec::new();
    differences.extend(other_options.map(|from| Difference::Options { from }));
    if is_on != offer.buyable {
        differences.push(Difference::OnSale(is_on));
    }
    // Of what is off, neither matters.
    if is_on {
        let from = price(offer);
        differences.extend(row.price.filter(|to| from != Some(*to)).map(|to| Difference::Price { from, to }));
        let own = row.sku.clone().and_then(Sku::new);
        if own != offer.sku
            && let Some(to) = own
        {
            let from = offer.sku.as_ref().map(|sku| sku.as_str().to_owned());
            differences.push(Difference::Sku { from, to: to.as_str().to_owned() });
        }
    }
    if differences.is_empty() { Change::Kept } else { Change::Differs(differences) }
}
