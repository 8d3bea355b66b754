//! Carries a parsed file into the types of `keys`, keeping the path for errors.
//!
//! Nothing is converted on the way: a number is not taken for a text, nor the reverse. Must not know any key.
//! Start reading at [`read`].

use std::vec;

use config::{Map, Value, ValueKind};
use serde::de::value::StringDeserializer;
use serde::de::{DeserializeSeed, Deserializer, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, forward_to_deserialize_any};

use super::problem::Problem;

/// Reads a whole file.
///
/// # Errors
/// The first problem, by the names of the keys.
pub fn read<'de, T: Deserialize<'de>>(file: Map<String, Value>) -> Result<T, Problem> {
    T::deserialize(Node(ValueKind::Table(file)))
}

struct Node(ValueKind);

impl<'de> Deserializer<'de> for Node {
    type Error = Problem;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Problem> {
        match self.0 {
            ValueKind::Nil => visitor.visit_unit(),
            ValueKind::Boolean(value) => visitor.visit_bool(value),
            ValueKind::I64(value) => visitor.visit_i64(value),
            ValueKind::I128(value) => visitor.visit_i128(value),
            ValueKind::U64(value) => visitor.visit_u64(value),
            ValueKind::U128(value) => visitor.visit_u128(value),
            ValueKind::Float(value) => visitor.visit_f64(value),
            ValueKind::String(value) => visitor.visit_string(value),
            ValueKind::Table(table) => visitor.visit_map(Table::new(table)),
            ValueKind::Array(list) => visitor.visit_seq(List { items: list.into_iter(), read: 0 }),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Problem> {
        visitor.visit_some(self)
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Problem> {
        visitor.visit_newtype_struct(self)
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct
        seq tuple tuple_struct map struct enum identifier ignored_any
    }
}

struct Table {
    entries: vec::IntoIter<(String, Value)>,
    value: Option<(String, Value)>,
}

impl Table {
    /// By key, so that of several problems it is always the same one that is told.
    fn new(table: Map<String, Value>) -> Self {
        let mut entries: Vec<_> = table.into_iter().collect();
        entries.sort_by(|a, b| a.0.cmp(&b.0));
        Self { entries: entries.into_iter(), value: None }
    }
}

impl<'de> MapAccess<'de> for Table {
    type Error = Problem;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Problem> {
        let Some((key, value)) = self.entries.next() else { return Ok(None) };
        let name: StringDeserializer<Problem> = key.clone().into_deserializer();
        self.value = Some((key, value));
        seed.deserialize(name).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Problem> {
        let (key, value) = self.value.take().unwrap_or_default();
        seed.deserialize(Node(value.kind)).map_err(|problem| problem.under(key))
    }
}

struct List {
    items: vec::IntoIter<Value>,
    read: usize,
}

impl<'de> SeqAccess<'de> for List {
    type Error = Problem;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Problem> {
        let Some(item) = self.items.next() else { return Ok(None) };
        self.read += 1;
        let place = self.read;
        seed.deserialize(Node(item.kind)).map(Some).map_err(|problem| problem.in_entry(place))
    }
}
