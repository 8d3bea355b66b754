//! Whether an answer looks as it is declared to look.
//!
//! Must not know how it was had. Start reading at [`differs`].

use serde_json::Value;

use crate::bad_row::shown;
use crate::source::declare::{Answer, At, Fill, Found, NoValue};
use crate::source::mapping::scalar_text;

/// What an answer must say, with the values of one change in it; `None`: nothing at all.
pub(super) type Wanted<'d> = Option<Vec<(&'d At, Value)>>;

/// What the answer to a change must say.
///
/// # Errors
/// Where that is not known.
pub(super) fn wanted<'d>(answer: &'d Answer, fill: &dyn Fill) -> Result<Wanted<'d>, NoValue> {
    match answer {
        Answer::Empty => Ok(None),
        Answer::Looks(wanted) => {
            wanted.iter().map(|(at, is)| Ok((at, is.filled(fill)?))).collect::<Result<_, _>>().map(Some)
        }
    }
}

/// How an answer differs from what it must say: a clause; `None` where it does not. `is_secret` says of a text that it must
/// not be shown.
pub(super) fn differs(
    wanted: &Wanted<'_>,
    body: Option<&Value>,
    is_secret: &dyn Fn(&str) -> bool,
) -> Option<String> {
    let (wanted, body) = match (wanted, body) {
        (None, None) => return None,
        (None, Some(_)) => return Some("the answer has a body, and is declared to be empty".to_owned()),
        (Some(_), None) => return Some("the answer is empty".to_owned()),
        (Some(wanted), Some(body)) => (wanted, body),
    };
    wanted.iter().find_map(|(at, is)| {
        let found = found_instead(at, body, is, is_secret)?;
        Some(format!("{found} at {at} of the answer, and {} was expected", in_words(is, is_secret)))
    })
}

/// What stands there instead: a clause up to its verb.
fn found_instead(at: &At, body: &Value, wanted: &Value, is_secret: &dyn Fn(&str) -> bool) -> Option<String> {
    match at.one(body) {
        Found::Several(many) => Some(format!("{many} different values stand")),
        // No SKU may be null, an empty text, or not there at all.
        Found::Nothing if is_nothing(wanted) => None,
        Found::Nothing => Some("nothing stands".to_owned()),
        Found::One(found) if is_same(wanted, found) || (is_nothing(wanted) && is_nothing(found)) => None,
        Found::One(found) => Some(format!("{} stands", in_words(found, is_secret))),
    }
}

fn is_nothing(value: &Value) -> bool {
    value.is_null() || value.as_str() == Some("")
}

/// Whether two values say the same: a number and the text of it do, as a source may write an id in both ways.
fn is_same(wanted: &Value, found: &Value) -> bool {
    let is_scalar = |value: &Value| value.is_string() || value.is_number();
    wanted == found || (is_scalar(wanted) && is_scalar(found) && scalar_text(wanted) == scalar_text(found))
}

/// A value as an owner is told of it: what is nested is not shown.
fn in_words(value: &Value, is_secret: &dyn Fn(&str) -> bool) -> String {
    match value {
        Value::Null => "nothing".to_owned(),
        Value::Array(_) | Value::Object(_) => "an object or a list".to_owned(),
        value => match scalar_text(value) {
            Some(text) if is_secret(&text) => "what holds a secret, and is not shown,".to_owned(),
            Some(text) => shown(&text),
            None => "something".to_owned(),
        },
    }
}
