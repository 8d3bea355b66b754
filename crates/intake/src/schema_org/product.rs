//! What was ordered, and the offer of it: names and ids, the options that a customer chose, the price.
//!
//! Options are what a product's group varies by, where it says that; otherwise colour, size, material and pattern.
//! Anything else that is said of a product may be a text that a customer typed. Must not know orders. Start reading at
//! [`record`] and [`Offered`].

use std::collections::BTreeSet;

use model::text::fold;
use serde_json::{Map, Value, json};

use super::Unkept;
use super::context::local;
use super::graph::{Graph, Index, Node, Term};
use super::terms::OPTIONS;
use crate::bad_row::{Fault, shown};
use crate::source::mapping::scalar_text;

/// How many properties of a product are looked at for options, and how many a group may vary by: far more than anybody
/// chooses, and few enough that one product in every line of a book costs nothing.
const MAX_PROPERTIES: usize = 64;

/// The other spelling of `color`, as names of properties have it.
const COLOUR: &str = "colour";

/// An accepted offer.
#[derive(Clone, Debug)]
pub(super) struct Offered {
    index: Index,
    pub(super) item: Option<Index>,
    pub(super) sku: Option<String>,
    price: Option<Value>,
    pub(super) currency: Option<String>,
    pub(super) quantity: Option<Value>,
}

impl Offered {
    pub(super) fn of(graph: &Graph, index: Index) -> Result<Self, Fault> {
        let node = graph.node(index);
        let item = match graph.one(node, "itemOffered")? {
            Some(term) => graph.resolve(term),
            None => None,
        };
        let specification = graph.one_node(node, "priceSpecification").ok().flatten();
        let specification = specification.map(|index| graph.node(index));
        // A price of so many pieces at once is not that of one.
        let is_of_one = |node: &&Node| match graph.quantity(node, "referenceQuantity") {
            Ok(Some(quantity)) => scalar_text(&quantity).as_deref() == Some("1"),
            Ok(None) => true,
            Err(_) => false,
        };
        let price = match (graph.scalar(node, "price")?, specification.filter(is_of_one)) {
            (Some(price), _) => Some(price),
            (None, Some(specification)) => graph.scalar(specification, "price")?,
            (None, None) => None,
        };
        let currency = match (graph.scalar(node, "priceCurrency")?, specification) {
            (Some(currency), _) => Some(currency),
            (None, Some(specification)) => graph.scalar(specification, "priceCurrency")?,
            (None, None) => None,
        };
        Ok(Self {
            index,
            item,
            sku: graph.scalar(node, "sku")?.as_ref().and_then(scalar_text),
            price,
            currency: currency.as_ref().and_then(scalar_text),
            quantity: graph.quantity(node, "eligibleQuantity")?,
        })
    }

    /// Whether it says of what it is.
    pub(super) fn says_what(&self, graph: &Graph) -> bool {
        self.item.is_some() || self.sku.is_some() || text(graph, self.index, "name").is_some()
    }

    /// Whether it is of another thing than a product, as far as both say it.
    pub(super) fn is_of_another(&self, graph: &Graph, product: Option<Index>) -> bool {
        let of_item = |term| self.item.and_then(|item| text(graph, item, term));
        let of_product = |term| product.and_then(|product| text(graph, product, term));
        let differ = |one: Option<String>, other: Option<String>| match (one, other) {
            (Some(one), Some(other)) => Some(one != other),
            _ => None,
        };
        if self.item.is_some() && self.item == product {
            return false;
        }
        let own_sku = of_item("sku").or_else(|| self.sku.clone());
        differ(own_sku, of_product("sku"))
            .or_else(|| differ(of_item("name"), of_product("name")))
            .unwrap_or(false)
    }

    /// Whether it says the same of what a line takes from it.
    pub(super) fn says_the_same(&self, other: &Self) -> bool {
        let number = |value: &Option<Value>| value.as_ref().and_then(scalar_text);
        self.sku == other.sku
            && number(&self.price) == number(&other.price)
            && self.currency == other.currency
            && number(&self.quantity) == number(&other.quantity)
    }

    /// What it is of, as an error says it.
    pub(super) fn shown(&self, graph: &Graph) -> String {
        let of_item = |term| self.item.and_then(|item| text(graph, item, term));
        let said = self.sku.clone().or_else(|| of_item("sku")).or_else(|| of_item("name"));
        shown(&said.or_else(|| self.item.and_then(|item| graph.node(item).id.clone())).unwrap_or_default())
    }

    pub(super) fn record(&self, graph: &Graph) -> Value {
        let mut record = Map::new();
        record.extend(text(graph, self.index, "name").map(|name| ("name".to_owned(), name.into())));
        record.extend(self.sku.as_ref().map(|sku| ("sku".to_owned(), sku.as_str().into())));
        record.extend(self.price.clone().map(|price| ("price".to_owned(), price)));
        record.extend(self.currency.as_ref().map(|code| ("priceCurrency".to_owned(), code.as_str().into())));
        Value::Object(record)
    }
}

/// The one text of a property, where there is one and no more.
pub(super) fn text(graph: &Graph, index: Index, term: &'static str) -> Option<String> {
    graph.one(graph.node(index), term).ok().flatten().and_then(|value| graph.called(value))
}

/// What was ordered, as a record. What is not kept of it is told to `unkept`.
pub(super) fn record(
    graph: &Graph,
    product: Option<Index>,
    offer: Option<&Offered>,
    unkept: &mut Unkept,
) -> Result<Value, Fault> {
    // The ordered item says it, and the item of its offer what that leaves out.
    let offered = offer.and_then(|offer| offer.item).filter(|item| Some(*item) != product);
    let nodes: Vec<Index> = product.into_iter().chain(offered).collect();
    let first = |term| nodes.iter().find_map(|index| text(graph, *index, term));
    let mut record = Map::new();
    let mut add = |name: &str, text: Option<String>| {
        record.extend(text.map(|text| (name.to_owned(), Value::String(text))));
    };
    add("name", first("name"));
    // A text that is not the only one would be taken for it.
    for index in &nodes {
        for term in ["sku", "productID", "inProductGroupWithID", "productGroupID"] {
            graph.one(graph.node(*index), term)?;
        }
    }
    let sku = first("sku");
    if let (Some(sku), Some(other)) = (&sku, offer.and_then(|offer| offer.sku.as_ref()))
        && sku != other
    {
        let found = format!("{} stands there, and {} at its Offer", shown(sku), shown(other));
        return Err(Fault::of("sku", found, "one SKU", "Have both say the same."));
    }
    add("sku", sku);
    add("productID", first("productID"));
    add("inProductGroupWithID", first("inProductGroupWithID"));
    add("productGroupID", first("productGroupID"));
    let group = nodes.iter().map(|index| group(graph, *index)).find_map(Result::transpose).transpose()?;
    if let Some(index) = group {
        let mut of_group = Map::new();
        for term in ["name", "productGroupID", "productID"] {
            of_group.extend(text(graph, index, term).map(|text| (term.to_owned(), Value::String(text))));
        }
        let id = graph.node(index).id.as_ref().filter(|id| !id.starts_with("_:"));
        of_group.extend(id.map(|id| ("@id".to_owned(), Value::String(id.clone()))));
        record.insert("isVariantOf".into(), Value::Object(of_group));
    } else if let Some(id) = nodes.iter().find_map(|index| text(graph, *index, "isVariantOf")) {
        // A group that is named and not described.
        record.insert("isVariantOf".into(), json!({"@id": id}));
    }
    let properties = properties(graph, &nodes)?;
    let options = options(graph, &nodes, group, &properties, unkept)?;
    if !options.is_empty() {
        record.insert("options".into(), Value::Object(options));
    }
    if !properties.is_empty() {
        let all = properties.iter().map(|(name, value)| json!({"name": name, "value": value}));
        record.insert("additionalProperty".into(), all.collect());
    }
    Ok(Value::Object(record))
}

/// The group of which a product is a variant.
fn group(graph: &Graph, index: Index) -> Result<Option<Index>, Fault> {
    let node = graph.node(index);
    if let Some(group) = graph.one_node(node, "isVariantOf")? {
        return Ok(Some(group));
    }
    match graph.groups_of(index) {
        [] => {}
        [one] => return Ok(Some(*one)),
        several => {
            let found = format!("{} product groups name it as their variant", several.len());
            return Err(Fault::of("hasVariant", found, "one", "Have it be a variant of one group."));
        }
    }
    if let Some(id) = text(graph, index, "inProductGroupWithID") {
        return Ok(graph.group_by_id(&id));
    }
    Ok(Some(index).filter(|_| node.is_a("ProductGroup")))
}

/// The further properties of a product that have a name and a value.
fn properties(graph: &Graph, nodes: &[Index]) -> Result<Vec<(String, String)>, Fault> {
    for index in nodes {
        let terms = graph.node(*index).values("additionalProperty");
        if terms.len() > MAX_PROPERTIES {
            let found = format!("{} properties stand there", terms.len());
            let expected = format!("at most {MAX_PROPERTIES}");
            return Err(Fault::of("additionalProperty", found, expected, "Leave out what nobody chooses."));
        }
        let all: Vec<(String, String)> = terms
            .iter()
            .filter_map(|term| {
                let index = graph.resolve(term)?;
                let id = || text(graph, index, "propertyID").filter(|id| !id.contains("://"));
                let name = text(graph, index, "name").or_else(id)?;
                Some((name, graph.value_of(graph.node(index))?))
            })
            .collect();
        if !all.is_empty() {
            return Ok(all);
        }
    }
    Ok(Vec::new())
}

/// What a customer chose.
fn options(
    graph: &Graph,
    nodes: &[Index],
    group: Option<Index>,
    properties: &[(String, String)],
    unkept: &mut Unkept,
) -> Result<Map<String, Value>, Fault> {
    let varies = group.map(|group| varies_by(graph, group)).filter(|varies| !varies.is_empty());
    let is_chosen = |name: &str| match &varies {
        Some(varies) => varies.contains(&folded(name)),
        None => OPTIONS.contains(&folded(name).as_str()),
    };
    let mut chosen: Vec<(String, String)> = Vec::new();
    for term in OPTIONS.into_iter().filter(|term| is_chosen(term)) {
        for index in nodes {
            if let Some(value) = graph.one(graph.node(*index), term)?.and_then(|value| graph.called(value)) {
                chosen.push((term.to_owned(), value));
                break;
            }
        }
    }
    for (name, value) in properties {
        if is_chosen(name) {
            chosen.push((name.clone(), value.clone()));
        } else {
            unkept.add(name);
        }
    }
    let mut options = Map::new();
    let mut seen: Vec<(String, String)> = Vec::new();
    for (name, value) in chosen {
        let folded = folded(&name);
        match seen.iter().find(|(known, _)| *known == folded) {
            Some((_, known)) if fold(known) == fold(&value) => continue,
            Some((_, known)) => {
                let found = format!("{} is {} and {}", shown(&name), shown(known), shown(&value));
                let hint = "Have it say one.";
                return Err(Fault::of("additionalProperty", found, "one value for each option", hint));
            }
            None => {}
        }
        seen.push((folded, value.clone()));
        options.insert(name, Value::String(value));
    }
    Ok(options)
}

/// By what the products of a group differ, folded.
fn varies_by(graph: &Graph, group: Index) -> BTreeSet<String> {
    let terms = graph.node(group).values("variesBy").iter().take(MAX_PROPERTIES);
    let names = terms.filter_map(|term| {
        let name = match term {
            Term::Node(index) => {
                let id = graph.node(*index).id.as_deref().and_then(local).map(str::to_owned);
                id.or_else(|| text(graph, *index, "name"))
                    .or_else(|| text(graph, *index, "propertyID"))
                    .or_else(|| text(graph, *index, "termCode"))?
            }
            Term::Scalar(value) => scalar_text(value)?,
        };
        Some(folded(local(&name).unwrap_or(&name)))
    });
    names.collect()
}

/// The name of an option, so that it compares.
fn folded(name: &str) -> String {
    let folded = fold(name);
    if folded == COLOUR { OPTIONS[0].to_owned() } else { folded }
}
