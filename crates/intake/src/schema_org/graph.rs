//! A JSON-LD document as nodes with terms of schema.org, and the orders among them.
//!
//! Nodes that bear the same `@id` are one; what no term of [`super::terms`] names is not read. A node within a node is
//! followed nowhere but where `order` asks for it, so that nodes which lead to each other cost nothing. Must not know
//! what an order means. Start reading at [`Graph::of`].

use std::collections::{BTreeMap, HashMap, HashSet};
use std::rc::Rc;

use serde_json::{Map, Value};

use super::context::{Context, Name};
use super::terms::{self, AROUND, WORDS};
use crate::source::mapping::scalar_text;

/// How deep values may lie in each other: as deep as the reader of JSON goes.
const MAX_DEPTH: usize = 128;

/// How many values of one property are compared with those that another place gives for the same node; behind that
/// they are added as they are.
const COMPARED: usize = 32;

/// The number of a node.
pub(super) type Index = usize;

/// A value of a property.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Term {
    /// A text, a number or a truth.
    Scalar(Value),
    /// A node.
    Node(Index),
}

/// A thing that the document speaks of.
#[derive(Default, Debug)]
pub(super) struct Node {
    pub(super) id: Option<String>,
    /// Those of schema.org, by their names.
    pub(super) types: Vec<String>,
    values: BTreeMap<&'static str, Vec<Term>>,
    /// The properties that two places of the document give differently.
    torn: Vec<&'static str>,
}

/// A document.
#[derive(Default, Debug)]
pub(super) struct Graph {
    nodes: Vec<Node>,
    by_id: HashMap<String, Index>,
    /// In the order in which they stand.
    pub(super) orders: Vec<Index>,
    /// Whether somewhere an order could have stood there is an empty list.
    pub(super) has_empty_list: bool,
    are_orders: HashSet<Index>,
    /// Of an order, the parcels that say so.
    deliveries: HashMap<Index, Vec<Index>>,
    /// Likewise, by the number of the order.
    deliveries_by_number: HashMap<String, Vec<Index>>,
    /// Of a product, the groups that say so.
    groups: HashMap<Index, Vec<Index>>,
    groups_by_id: HashMap<String, Index>,
}

impl Node {
    /// The values of a property.
    pub(super) fn values(&self, term: &str) -> &[Term] {
        self.values.get(term).map_or(&[], Vec::as_slice)
    }

    /// Whether two places of the document give a property differently.
    pub(super) fn is_torn(&self, term: &str) -> bool {
        self.torn.contains(&term)
    }

    pub(super) fn is_a(&self, class: &str) -> bool {
        self.types.iter().any(|own| own == class)
    }

    /// Whether the document says no more of it than its `@id`.
    pub(super) fn is_bare(&self) -> bool {
        self.types.is_empty() && self.values.is_empty()
    }
}

impl Graph {
    /// Reads a document. `is_stated` says that the owner has named the vocabulary, which the document then need not.
    ///
    /// # Errors
    /// What stands in the way, as a clause: values lie too deep in each other.
    pub(super) fn of(document: &Value, is_stated: bool) -> Result<Self, String> {
        let context = if is_stated { Context::stated() } else { Context::none() };
        let mut graph = Self::default();
        graph.top(document, &context, 0)?;
        graph.turn_round();
        Ok(graph)
    }

    pub(super) fn node(&self, index: Index) -> &Node {
        &self.nodes[index]
    }

    /// The node that a value is or names.
    pub(super) fn resolve(&self, term: &Term) -> Option<Index> {
        match term {
            Term::Node(index) => Some(*index),
            Term::Scalar(Value::String(text)) => self.by_id.get(text).copied(),
            Term::Scalar(_) => None,
        }
    }

    /// The parcels that say that they are of an order.
    pub(super) fn deliveries_of(&self, order: Index, number: Option<&str>) -> impl Iterator<Item = Index> {
        let by_number = number.and_then(|number| self.deliveries_by_number.get(number));
        self.deliveries.get(&order).into_iter().chain(by_number).flatten().copied()
    }

    /// The groups that say that a product is a variant of them.
    pub(super) fn groups_of(&self, product: Index) -> &[Index] {
        self.groups.get(&product).map_or(&[], Vec::as_slice)
    }

    /// The group of a `productGroupID`.
    pub(super) fn group_by_id(&self, id: &str) -> Option<Index> {
        self.groups_by_id.get(id).copied()
    }

    /// Reads what may be an order, or hold some.
    fn top(&mut self, value: &Value, context: &Rc<Context>, depth: usize) -> Result<(), String> {
        check_depth(depth)?;
        match value {
            Value::Array(values) => {
                self.has_empty_list |= values.is_empty();
                values.iter().try_for_each(|value| self.top(value, context, depth + 1))
            }
            Value::Object(object) => {
                let context = within(object, context);
                let mut is_known = false;
                let mut is_node = false;
                for (name, value) in object {
                    match context.name(name) {
                        Name::Keyword("@value") => return Ok(()),
                        Name::Keyword("@graph" | "@included") => self.top(value, &context, depth + 1)?,
                        Name::Keyword("@type") => {
                            is_node = true;
                            is_known |= words(value).any(|class| context.is_of_schema_org(class));
                        }
                        Name::Keyword("@id") => is_node = true,
                        _ => {}
                    }
                }
                if is_node {
                    let index = self.read_node(object, &context, depth)?;
                    self.collect(index);
                }
                if !is_known {
                    // An envelope of the service's own, or a thing of another vocabulary.
                    for (name, value) in object {
                        if !matches!(context.name(name), Name::Keyword(_))
                            && (value.is_array() || value.is_object())
                        {
                            self.top(value, &context, depth + 1)?;
                        }
                    }
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// Notes an order, or those that stand in what may hold some.
    fn collect(&mut self, first: Index) {
        let mut left = vec![first];
        let mut seen = HashSet::new();
        while let Some(index) = left.pop() {
            if !seen.insert(index) {
                continue;
            }
            let node = &self.nodes[index];
            if node.is_a("Order") {
                if self.are_orders.insert(index) {
                    self.orders.push(index);
                }
                continue;
            }
            let inner = AROUND.iter().flat_map(|term| node.values(term)).rev();
            left.extend(inner.filter_map(|term| match term {
                Term::Node(index) => Some(*index),
                Term::Scalar(_) => None,
            }));
        }
    }

    /// Reads a node with all that is in it.
    fn read_node(
        &mut self,
        object: &Map<String, Value>,
        context: &Rc<Context>,
        depth: usize,
    ) -> Result<Index, String> {
        check_depth(depth)?;
        let mut node = Node::default();
        for (name, value) in object {
            match context.name(name) {
                Name::Keyword("@id") => node.id = value.as_str().map(|text| context.id(text)),
                Name::Keyword("@type") => {
                    // A class of another vocabulary may have the same name.
                    let own = words(value).filter(|word| context.is_of_schema_org(word));
                    node.types.extend(own.map(|word| context.word(word)));
                }
                Name::Term(term) => {
                    let mut values = Vec::new();
                    self.read_values(value, term, context, depth + 1, &mut values)?;
                    self.has_empty_list |= values.is_empty() && AROUND.contains(&term);
                    if !values.is_empty() {
                        node.values.entry(term).or_default().extend(values);
                    }
                }
                Name::Keyword(_) | Name::Other => {}
            }
        }
        let known = node.id.as_ref().and_then(|id| self.by_id.get(id)).copied();
        match known {
            Some(index) => {
                self.merge(index, node);
                Ok(index)
            }
            None => {
                let index = self.nodes.len();
                if let Some(id) = &node.id {
                    self.by_id.insert(id.clone(), index);
                }
                self.nodes.push(node);
                Ok(index)
            }
        }
    }

    fn read_values(
        &mut self,
        value: &Value,
        term: &'static str,
        context: &Rc<Context>,
        depth: usize,
        into: &mut Vec<Term>,
    ) -> Result<(), String> {
        check_depth(depth)?;
        match value {
            Value::Null => {}
            Value::Array(values) => {
                for value in values {
                    self.read_values(value, term, context, depth + 1, into)?;
                }
            }
            Value::Object(object) => {
                let context = within(object, context);
                let keyword = |keyword| {
                    let is_it = |(name, _): &(&String, &Value)| context.name(name) == Name::Keyword(keyword);
                    object.iter().find(is_it).map(|(_, value)| value)
                };
                if let Some(value) = keyword("@value") {
                    self.read_values(value, term, &context, depth + 1, into)?;
                } else if let Some(list) = keyword("@list").or_else(|| keyword("@set")) {
                    self.read_values(list, term, &context, depth + 1, into)?;
                } else {
                    into.push(Term::Node(self.read_node(object, &context, depth)?));
                }
            }
            Value::String(text) if WORDS.contains(&term) => {
                into.push(Term::Scalar(Value::String(context.word(text))));
            }
            scalar => into.push(Term::Scalar(scalar.clone())),
        }
        Ok(())
    }

    /// Adds what another place of the document says of a node.
    fn merge(&mut self, index: Index, other: Node) {
        for class in other.types {
            if !self.nodes[index].types.contains(&class) {
                self.nodes[index].types.push(class);
            }
        }
        for (term, values) in other.values {
            let there = self.nodes[index].values(term);
            if there.is_empty() {
                self.nodes[index].values.insert(term, values);
                continue;
            }
            let is_the_same = there.len() == values.len()
                && there.iter().zip(&values).all(|(one, other)| self.is_same(one, other, 0));
            if is_the_same {
                continue;
            }
            let is_new = |value: &Term| !there.iter().take(COMPARED).any(|one| self.is_same(one, value, 0));
            let new: Vec<Term> = values.into_iter().filter(is_new).collect();
            if new.is_empty() {
                continue;
            }
            let node = &mut self.nodes[index];
            node.values.entry(term).or_default().extend(new);
            if !node.torn.contains(&term) {
                node.torn.push(term);
            }
        }
    }

    /// Whether two values say the same. Nodes without an `@id` do where all that they say is the same.
    pub(super) fn is_same(&self, one: &Term, other: &Term, depth: usize) -> bool {
        let (one, other) = match (one, other) {
            (Term::Node(one), Term::Node(other)) if one == other => return true,
            (Term::Node(one), Term::Node(other)) => (self.node(*one), self.node(*other)),
            (one, other) => return one == other,
        };
        let is_nameless = one.id.is_none() && other.id.is_none() && depth < MAX_DEPTH;
        is_nameless
            && one.types == other.types
            && one.values.len() == other.values.len()
            && one.values.iter().zip(&other.values).all(|((term, values), (other_term, others))| {
                term == other_term
                    && values.len() == others.len()
                    && values.iter().zip(others).all(|(one, other)| self.is_same(one, other, depth + 1))
            })
    }

    /// Notes what is said from the other end: by a parcel of its order, by a group of its products.
    fn turn_round(&mut self) {
        let (mut deliveries, mut by_number): (HashMap<_, Vec<_>>, HashMap<_, Vec<_>>) = Default::default();
        let (mut groups, mut groups_by_id): (HashMap<_, Vec<_>>, HashMap<_, _>) = Default::default();
        for (index, node) in self.nodes.iter().enumerate() {
            for order in node.values("partOfOrder").iter().filter_map(|term| self.resolve(term)) {
                deliveries.entry(order).or_default().push(index);
                if let Some(Term::Scalar(number)) = self.node(order).values("orderNumber").first()
                    && !self.are_orders.contains(&order)
                {
                    by_number.entry(scalar_text(number).unwrap_or_default()).or_default().push(index);
                }
            }
            for product in node.values("hasVariant").iter().filter_map(|term| self.resolve(term)) {
                groups.entry(product).or_default().push(index);
            }
            if let [Term::Scalar(Value::String(id))] = node.values("productGroupID") {
                groups_by_id.entry(id.clone()).or_insert(index);
            }
        }
        self.deliveries = deliveries;
        self.deliveries_by_number = by_number;
        self.groups = groups;
        self.groups_by_id = groups_by_id;
    }
}

/// The context in an object.
fn within(object: &Map<String, Value>, context: &Rc<Context>) -> Rc<Context> {
    object.get("@context").map_or_else(|| context.clone(), |inner| context.with(inner))
}

/// The texts of a value that may be one or a list of some.
fn words(value: &Value) -> impl Iterator<Item = &str> {
    let (one, several) = match value {
        Value::Array(several) => (None, several.as_slice()),
        one => (Some(one), &[][..]),
    };
    // A class more than these says nothing.
    one.into_iter().chain(several.iter().take(COMPARED)).filter_map(Value::as_str)
}

fn check_depth(depth: usize) -> Result<(), String> {
    if depth <= MAX_DEPTH {
        return Ok(());
    }
    Err(format!("values lie in each other more than {MAX_DEPTH} deep"))
}

/// Whether a term is one of an order or of its lines, so that a node without a class can be told.
pub(super) fn is_of_order_item(node: &Node) -> bool {
    let (_, terms) = terms::TERMS[1];
    node.is_a("OrderItem")
        || node.types.is_empty()
            && terms.iter().any(|term| *term != "orderDelivery" && !node.values(term).is_empty())
}
