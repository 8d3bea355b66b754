//! Vocabularies that are published, of which the program has the mapping.
//!
//! Start reading at [`Vocabulary`].

use std::collections::BTreeMap;

use super::error::DeclarationError;
use super::keys::TableKeys;
use crate::bad_row::{Fault, shown};
use crate::nearest::nearest;
use crate::schema_org;
use serde_json::Value;

/// A published vocabulary, in which a request is answered.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Vocabulary {
    /// Orders in the terms of schema.org, as JSON-LD.
    SchemaOrg,
}

impl Vocabulary {
    /// Its name in the configuration.
    pub fn name(self) -> &'static str {
        match self {
            Self::SchemaOrg => "schema.org",
        }
    }

    /// The vocabulary of a name.
    pub(super) fn parse(name: &str) -> Result<Self, DeclarationError> {
        let known = Self::SchemaOrg;
        if name == known.name() {
            return Ok(known);
        }
        let near = nearest(name, [known.name()]).map(|near| format!(" (the nearest is {near:?})"));
        let expected =
            format!("{:?}, the vocabulary that is known{}", known.name(), near.unwrap_or_default());
        Err(DeclarationError::found(shown(name), expected))
    }

    /// How it is read where nothing else is said.
    pub(super) fn tables(self) -> Result<BTreeMap<String, TableKeys>, DeclarationError> {
        let text = match self {
            Self::SchemaOrg => schema_org::MAPPING,
        };
        toml::from_str(text).map_err(|error| {
            DeclarationError::new(format!("has a mapping of its own that cannot be read: {error}"))
        })
    }

    /// What is wrong with a record that was made regular, where something is.
    pub(crate) fn fault_of(self, record: &Value) -> Option<Fault> {
        match self {
            Self::SchemaOrg => schema_org::fault_of(record),
        }
    }

    /// A fault that was found by the mapping, with advice to whoever makes the document.
    pub(crate) fn explained(self, fault: Fault) -> Fault {
        match self {
            Self::SchemaOrg => schema_org::explained(fault),
        }
    }
}
