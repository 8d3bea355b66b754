//! The keys of `change_sku` as the configuration writes them: names and kinds of value, nothing more.
//!
//! Must not know what the keys mean. Start reading at [`ChangeSkuKeys`].

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::{self, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::Value;

use crate::source::declare::keys::{PagesKeys, Whole};

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { method = \"PUT\", path = \"offers/{record.id}\", body = { sku = \"{sku}\" }, \
                 answer = [{ at = \"$.sku\", is = \"{sku}\" }] }"
)]
pub(in crate::source::declare) struct ChangeSkuKeys {
    pub(in crate::source::declare) method: Option<String>,
    pub(in crate::source::declare) path: Option<String>,
    #[serde(default)]
    pub(in crate::source::declare) query: BTreeMap<String, String>,
    pub(in crate::source::declare) body: Option<Value>,
    pub(in crate::source::declare) content_type: Option<String>,
    pub(in crate::source::declare) no_sku: Option<String>,
    #[serde(default)]
    pub(in crate::source::declare) record: BTreeMap<String, RecordKeys>,
    pub(in crate::source::declare) answer: Option<AnswerKeys>,
    pub(in crate::source::declare) read: Option<ReadKeys>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { path = \"offers/{listing_id}\", at = \"$.offer\" }"
)]
pub(in crate::source::declare) struct ReadKeys {
    pub(in crate::source::declare) path: String,
    #[serde(default)]
    pub(in crate::source::declare) query: BTreeMap<String, String>,
    pub(in crate::source::declare) at: String,
    pub(in crate::source::declare) pages: Option<PagesKeys>,
    pub(in crate::source::declare) request: Option<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { at = \"$.sku\", is = \"{sku}\" }")]
pub(in crate::source::declare) struct WantedKeys {
    pub(in crate::source::declare) at: String,
    pub(in crate::source::declare) is: Value,
}

/// A value of a record; `"$.id"` is short for `{ at = "$.id" }`.
#[derive(Clone, Debug)]
pub(in crate::source::declare) struct RecordKeys {
    pub(in crate::source::declare) at: String,
    pub(in crate::source::declare) around: Option<Whole>,
}

/// What an answer must look like: a word, or a list of what stands where.
#[derive(Clone, Debug)]
pub(in crate::source::declare) enum AnswerKeys {
    Word(String),
    Looks(Vec<WantedKeys>),
}

impl<'de> Deserialize<'de> for RecordKeys {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Long {
            at: String,
            around: Option<Whole>,
        }

        struct Either;

        impl<'de> Visitor<'de> for Either {
            type Value = RecordKeys;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(r#"where the value stands in the record of an offer, such as "$.id""#)
            }

            fn visit_str<E: de::Error>(self, at: &str) -> Result<RecordKeys, E> {
                Ok(RecordKeys { at: at.to_owned(), around: None })
            }

            fn visit_map<M: MapAccess<'de>>(self, map: M) -> Result<RecordKeys, M::Error> {
                let Long { at, around } = Long::deserialize(de::value::MapAccessDeserializer::new(map))?;
                Ok(RecordKeys { at, around })
            }
        }

        deserializer.deserialize_any(Either)
    }
}

impl<'de> Deserialize<'de> for AnswerKeys {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either;

        impl<'de> Visitor<'de> for Either {
            type Value = AnswerKeys;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    r#"a list of what the answer must say, such as [{ at = "$.sku", is = "{sku}" }], or "empty""#,
                )
            }

            fn visit_str<E: de::Error>(self, word: &str) -> Result<AnswerKeys, E> {
                Ok(AnswerKeys::Word(word.to_owned()))
            }

            fn visit_seq<S: SeqAccess<'de>>(self, list: S) -> Result<AnswerKeys, S::Error> {
                Vec::deserialize(de::value::SeqAccessDeserializer::new(list)).map(AnswerKeys::Looks)
            }
        }

        deserializer.deserialize_any(Either)
    }
}
