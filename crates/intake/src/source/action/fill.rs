//! What placeholders stand for, of one offer and the SKU that it is to have.
//!
//! Must not know requests. Start reading at [`Filling`].

use model::Sku;
use serde_json::Value;

use super::{Found, OfferKey};
use crate::source::declare::{Fill, NoValue, Placeholder, object_of, option_of};

/// Whole numbers up to this one are read exactly where they are written with a point or an exponent: 2 to the power of 53
/// (IEEE 754, binary64).
const EXACT_UP_TO: f64 = 9_007_199_254_740_992.0;

/// One change.
pub(super) struct Filling<'f> {
    pub(super) offer: &'f OfferKey,
    pub(super) found: &'f Found,
    pub(super) sku: Option<&'f Sku>,
    /// What stands for a SKU where there is none.
    pub(super) no_sku: Option<&'f str>,
}

impl Filling<'_> {
    fn sku(&self, sku: Option<&Sku>) -> Value {
        let text = sku.map(Sku::as_str).or(self.no_sku);
        text.map_or(Value::Null, |text| Value::String(text.to_owned()))
    }
}

impl Fill for Filling<'_> {
    fn value(&self, placeholder: &Placeholder) -> Result<Value, NoValue> {
        let not_known = || NoValue::NotKnown(placeholder.to_string());
        Ok(match placeholder {
            Placeholder::ListingId => Value::String(self.offer.listing_id.as_str().to_owned()),
            Placeholder::Options => object_of(&self.offer.options),
            Placeholder::Option(name) => {
                let value = option_of(&self.offer.options, name).ok_or_else(not_known)?;
                Value::String(value.to_owned())
            }
            Placeholder::Sku => self.sku(self.sku),
            Placeholder::OldSku => self.sku(self.found.sku.as_ref()),
            Placeholder::Record(name) => {
                let taken = self.found.taken.iter().find(|(known, _)| known == name);
                let value = taken.map(|(_, value)| value).ok_or_else(not_known)?;
                if !is_exact(value) {
                    return Err(NoValue::NotExact(placeholder.to_string()));
                }
                value.clone()
            }
        })
    }
}

/// Whether all numbers in a value are as they were written: an id must not come back as another one.
fn is_exact(value: &Value) -> bool {
    match value {
        Value::Number(number) => {
            !number.is_f64() || number.as_f64().is_some_and(|float| float.abs() < EXACT_UP_TO)
        }
        Value::Array(list) => list.iter().all(is_exact),
        Value::Object(members) => members.values().all(is_exact),
        Value::Null | Value::Bool(_) | Value::String(_) => true,
    }
}
