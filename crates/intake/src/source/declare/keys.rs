//! The keys of one source as the configuration writes them: names and kinds of value, nothing more.
//!
//! Must not know what the keys mean; `check` does. Start reading at [`Declaration`].

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::{self, Deserializer, MapAccess, Visitor};

use super::action::ChangeSkuKeys;
use super::sku_table::SkuTableKeys;

/// The value of one `[sources.NAME]`, as it stands in the configuration.
///
/// [`Declaration::check`] turns it into a [`super::Source`].
#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table of the keys of a source, such as { role = \"storefront\" }"
)]
pub struct Declaration {
    pub(super) role: String,
    pub(super) supplier: Option<String>,
    pub(super) address: Option<String>,
    pub(super) folder: Option<String>,
    pub(super) every: Option<String>,
    pub(super) stale_after: Option<String>,
    pub(super) at_most: Option<String>,
    #[serde(default)]
    pub(super) headers: BTreeMap<String, String>,
    pub(super) sign_in: Option<SignInKeys>,
    #[serde(default)]
    pub(super) requests: BTreeMap<String, RequestKeys>,
    pub(super) change_sku: Option<ChangeSkuKeys>,
    pub(super) sku_table: Option<SkuTableKeys>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { header = \"Authorization\", before = \"Bearer \", secret = { environment = \"TILL_KEY\" } }"
)]
pub(super) struct SignInKeys {
    pub(super) header: Option<String>,
    pub(super) before: Option<String>,
    pub(super) user: Option<String>,
    pub(super) grant: Option<String>,
    pub(super) authorize_address: Option<String>,
    pub(super) token_address: Option<String>,
    pub(super) client_id: Option<String>,
    pub(super) client_authentication: Option<String>,
    pub(super) scope: Option<String>,
    #[serde(default)]
    pub(super) parameters: BTreeMap<String, String>,
    pub(super) tokens: Option<String>,
    pub(super) secret: Option<SecretKeys>,
}

/// Where a secret is kept. A secret itself is refused and never repeated.
#[derive(Clone, Debug)]
pub(super) struct SecretKeys {
    pub(super) file: Option<String>,
    pub(super) environment: Option<String>,
    pub(super) credential: Option<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table of the keys of a request, such as { path = \"orders\" }")]
pub(super) struct RequestKeys {
    pub(super) path: Option<String>,
    pub(super) file: Option<String>,
    pub(super) vocabulary: Option<String>,
    pub(super) separator: Option<String>,
    pub(super) encoding: Option<String>,
    pub(super) sheet: Option<String>,
    pub(super) header_row: Option<Whole>,
    pub(super) group: Option<GroupKeys>,
    pub(super) numbered: Option<NumberedKeys>,
    #[serde(default)]
    pub(super) query: BTreeMap<String, String>,
    pub(super) for_each: Option<String>,
    pub(super) pages: Option<PagesKeys>,
    pub(super) changes: Option<ChangesKeys>,
    pub(super) count: Option<String>,
    pub(super) count_header: Option<String>,
    #[serde(default)]
    pub(super) tables: BTreeMap<String, TableKeys>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { by = \"Order\", into = \"lines\" }")]
pub(super) struct GroupKeys {
    pub(super) by: String,
    pub(super) into: String,
    pub(super) at: Option<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { columns = [\"Item #\", \"Quantity #\"], into = \"lines\" }"
)]
pub(super) struct NumberedKeys {
    pub(super) columns: Vec<String>,
    pub(super) into: String,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { by = \"link\" }")]
pub(super) struct PagesKeys {
    pub(super) by: String,
    pub(super) at: Option<String>,
    pub(super) ask: Option<String>,
    pub(super) first: Option<Whole>,
    pub(super) size_ask: Option<String>,
    pub(super) size: Option<Whole>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { ask = \"changed_since\", form = \"rfc3339\", overlap = \"5 min\" }"
)]
pub(super) struct ChangesKeys {
    pub(super) ask: String,
    pub(super) form: String,
    pub(super) overlap: Option<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { at = \"$.orders[*]\", fields = { order_id = \"$.number\" } }"
)]
pub(super) struct TableKeys {
    pub(super) at: String,
    pub(super) within: Option<String>,
    #[serde(default)]
    pub(super) fields: BTreeMap<String, FieldKeys>,
}

/// A field in its long form; `"$.number"` is short for `{ at = "$.number" }`.
#[derive(Clone, Default, Debug, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(super) struct LongField {
    pub(super) at: Option<String>,
    pub(super) and_at: Option<String>,
    pub(super) pattern: Option<String>,
    pub(super) words: Option<BTreeMap<String, String>>,
    pub(super) time: Option<String>,
    pub(super) zone: Option<String>,
    pub(super) money: Option<String>,
    pub(super) always: Option<Always>,
    pub(super) digest_of: Option<Vec<String>>,
    pub(super) pairs_at: Option<String>,
    pub(super) name: Option<String>,
    pub(super) value: Option<String>,
    pub(super) object_at: Option<String>,
    pub(super) columns: Option<BTreeMap<String, String>>,
    pub(super) named_at: Option<Vec<[String; 2]>>,
    pub(super) text_at: Option<String>,
    pub(super) between: Option<String>,
    pub(super) name_ends: Option<String>,
    pub(super) names: Option<Vec<String>>,
    pub(super) there: Option<String>,
    pub(super) counted: Option<bool>,
    pub(super) own_key: Option<bool>,
    pub(super) around: Option<Whole>,
    pub(super) first_of: Option<Vec<FieldKeys>>,
    pub(super) keep: Option<Vec<String>>,
}

#[derive(Clone, Default, Debug)]
pub(super) struct FieldKeys(pub(super) LongField);

impl<'de> Deserialize<'de> for FieldKeys {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either;

        impl<'de> Visitor<'de> for Either {
            type Value = FieldKeys;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    r#"where the field stands, such as "$.number", or a table such as { at = "$.number" }"#,
                )
            }

            fn visit_str<E: de::Error>(self, at: &str) -> Result<FieldKeys, E> {
                Ok(FieldKeys(LongField { at: Some(at.to_owned()), ..LongField::default() }))
            }

            fn visit_map<M: MapAccess<'de>>(self, map: M) -> Result<FieldKeys, M::Error> {
                LongField::deserialize(de::value::MapAccessDeserializer::new(map)).map(FieldKeys)
            }
        }

        deserializer.deserialize_any(Either)
    }
}

impl<'de> Deserialize<'de> for SecretKeys {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Reference {
            file: Option<String>,
            environment: Option<String>,
            credential: Option<String>,
        }

        struct ReferenceOnly;

        impl<'de> Visitor<'de> for ReferenceOnly {
            type Value = SecretKeys;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(r#"where the secret is kept, such as { environment = "TILL_KEY" }"#)
            }

            /// A secret that was typed in: the error must not repeat it.
            fn visit_str<E: de::Error>(self, _secret: &str) -> Result<SecretKeys, E> {
                Err(E::custom(
                    "is a secret typed into the file; expected is where it is kept: { environment = \"NAME\" }, \
                     { file = \"PATH\" } or { credential = \"NAME\" }. Move it there, and have it replaced if others \
                     could read this file",
                ))
            }

            fn visit_map<M: MapAccess<'de>>(self, map: M) -> Result<SecretKeys, M::Error> {
                let Reference { file, environment, credential } =
                    Reference::deserialize(de::value::MapAccessDeserializer::new(map))?;
                Ok(SecretKeys { file, environment, credential })
            }
        }

        deserializer.deserialize_any(ReferenceOnly)
    }
}

/// A whole number, still of any size.
#[derive(Clone, Copy, Debug)]
pub(super) struct Whole(pub(super) i64);

impl<'de> Deserialize<'de> for Whole {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Number;

        impl Visitor<'_> for Number {
            type Value = Whole;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a whole number, without quotes")
            }

            fn visit_i64<E: de::Error>(self, number: i64) -> Result<Whole, E> {
                Ok(Whole(number))
            }

            fn visit_u64<E: de::Error>(self, number: u64) -> Result<Whole, E> {
                Ok(Whole(i64::try_from(number).unwrap_or(i64::MAX)))
            }
        }

        deserializer.deserialize_i64(Number)
    }
}

/// A value that is the same in every row, as text.
#[derive(Clone, Debug)]
pub(super) struct Always(pub(super) String);

impl<'de> Deserialize<'de> for Always {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Scalar;

        impl Visitor<'_> for Scalar {
            type Value = Always;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a text in quotes, a whole number, true or false")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Always, E> {
                Ok(Always(text.to_owned()))
            }

            fn visit_bool<E: de::Error>(self, value: bool) -> Result<Always, E> {
                Ok(Always(value.to_string()))
            }

            fn visit_i64<E: de::Error>(self, number: i64) -> Result<Always, E> {
                Ok(Always(number.to_string()))
            }

            fn visit_u64<E: de::Error>(self, number: u64) -> Result<Always, E> {
                Ok(Always(number.to_string()))
            }
        }

        deserializer.deserialize_any(Scalar)
    }
}
