//! Places in an answer, as JSONPath (RFC 9535).
//!
//! Must not know which field stands there. Start reading at [`At`]; [`Records`] is where the records of a table stand.

use std::fmt;

use serde_json::Value;
use serde_json_path::{JsonPath, NormalizedPath, PathElement};

use super::error::DeclarationError;
use crate::bad_row::shown;

/// A place in an answer.
#[derive(Clone)]
pub struct At {
    /// As it was written.
    text: String,
    path: JsonPath,
}

/// What stands at a place where one value may.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Found<'v> {
    /// Nothing, or null: not known.
    Nothing,
    /// This.
    One(&'v Value),
    /// So many values, two or more.
    Several(usize),
}

impl At {
    /// What an error says was expected.
    pub(super) const EXPECTED: &str = r#"a JSONPath (RFC 9535), such as "$.number""#;

    /// Reads a JSONPath.
    pub(crate) fn parse(text: &str) -> Result<Self, DeclarationError> {
        let path = JsonPath::parse(text).map_err(|error| {
            // The crate counts from 0.
            let place = error.position() + 1;
            DeclarationError::found(
                format!("{}, which is no JSONPath from about character {place} on", shown(text)),
                Self::EXPECTED,
            )
        })?;
        Ok(Self { text: text.to_owned(), path })
    }

    /// As it was written.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The one value that stands there; several that are the same are one, such as the currency of each line.
    pub(crate) fn one<'v>(&self, value: &'v Value) -> Found<'v> {
        let nodes = self.path.query(value);
        match nodes.first() {
            Some(first) if nodes.iter().skip(1).any(|node| node != &first) => Found::Several(nodes.len()),
            None | Some(Value::Null) => Found::Nothing,
            Some(node) => Found::One(node),
        }
    }

    /// Where the first value stands that stands there, as a JSON Pointer (RFC 6901).
    pub(crate) fn pointer(&self, value: &Value) -> Option<String> {
        self.path.query_located(value).locations().next().map(|path| path.to_json_pointer())
    }

    /// All values that stand there, in the order of RFC 9535.
    pub(crate) fn all<'v>(&self, value: &'v Value) -> Vec<&'v Value> {
        self.path.query(value).all()
    }
}

impl fmt::Display for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl fmt::Debug for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.text, f)
    }
}

/// Where the records of a table stand.
///
/// A path such as `$.orders[*]` finds nothing in an empty list, and nothing in an answer that has no such list at
/// all, an account of an error for instance. The two are told apart by what the path finds without its end.
#[derive(Clone, Debug)]
pub(crate) struct Records {
    pub(crate) at: At,
    /// Of a path that ends in a selector of many: the lists from which it selects.
    lists: Option<Lists>,
    /// Whether the path passes over some of what stands in a list by its place alone.
    is_slice: bool,
    /// Which of its steps select many, where each step leads one level down.
    many: Option<Vec<usize>>,
}

/// A record around others, and the name under which it stands where it does in an object.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Outer<'v> {
    pub(crate) value: &'v Value,
    pub(crate) key: Option<&'v str>,
}

#[derive(Clone, Debug)]
struct Lists {
    at: At,
    /// What must be there for the lists to be missed, where these in turn stand in a list.
    around: Option<Box<Records>>,
}

/// What stands where records are expected.
#[derive(PartialEq, Debug)]
pub(crate) enum FoundRecords<'v> {
    /// These; there may be none in a list that is there.
    These(Vec<&'v Value>),
    /// Null stands where the list should.
    Null,
    /// The list is not there.
    NoList,
    /// Something else stands where the list should.
    NotAList,
}

impl Records {
    /// Reads a JSONPath of records.
    pub(super) fn parse(text: &str) -> Result<Self, DeclarationError> {
        let at = At::parse(text)?;
        let steps = steps(text);
        let lists = match steps.split_last() {
            Some((last, before)) if selects_many(last) => {
                let lists = end_of(text, before);
                let around = before.iter().rposition(|step| selects_many(step));
                let around = around.map(|step| end_of(text, &before[..=step]));
                // A part of a path is a path, but for steps that this reading takes apart wrongly; then the
                // lists are not looked at.
                JsonPath::parse(lists).ok().map(|path| Lists {
                    at: At { text: lists.to_owned(), path },
                    around: around.and_then(|around| Self::parse(around).ok()).map(Box::new),
                })
            }
            _ => None,
        };
        let many = (0..steps.len()).filter(|at| selects_many(steps[*at])).collect();
        let leads_down = steps.iter().all(|step| !step.starts_with(".."));
        let many = Some(many).filter(|_| leads_down);
        Ok(Self { at, lists, is_slice: steps.iter().any(|step| is_slice(step)), many })
    }

    /// Where the list stands in which the records are, where the path says it.
    pub(crate) fn list(&self) -> &str {
        self.lists.as_ref().map_or(self.at.as_str(), |lists| lists.at.as_str())
    }

    /// The records of an answer, or of the record around them.
    pub(crate) fn find<'v>(&self, value: &'v Value) -> FoundRecords<'v> {
        let records = self.at.all(value);
        let Some(lists) = &self.lists else {
            return FoundRecords::These(records);
        };
        let found = lists.at.all(value);
        if found.iter().any(|list| !matches!(list, Value::Array(_) | Value::Object(_) | Value::Null)) {
            return FoundRecords::NotAList;
        }
        if found.iter().any(|list| !list.is_null()) {
            return FoundRecords::These(records);
        }
        if !found.is_empty() {
            return FoundRecords::Null;
        }
        match &lists.around {
            Some(around) if around.finds_an_empty_list(value) => FoundRecords::These(records),
            _ => FoundRecords::NoList,
        }
    }

    /// The names under which the records stand in an object, in the order of [`Self::find`].
    pub(crate) fn keys(&self, value: &Value) -> Vec<Option<String>> {
        let name = |path: &NormalizedPath<'_>| match path.last() {
            Some(PathElement::Name(name)) => Some((*name).to_owned()),
            Some(PathElement::Index(_)) | None => None,
        };
        self.at.path.query_located(value).locations().map(name).collect()
    }

    /// For each record of [`Self::find`], those around it, the nearest first; the whole answer is the last.
    pub(crate) fn around<'v>(&self, value: &'v Value) -> Vec<Vec<Outer<'v>>> {
        let Some((_, before)) = self.many.as_deref().and_then(<[usize]>::split_last) else {
            return Vec::new();
        };
        let ends: Vec<usize> = before.iter().map(|step| step + 1).collect();
        let outer = |path: &NormalizedPath<'_>| {
            let mut found = vec![Outer { value, key: None }];
            let (mut at, mut value) = (0, value);
            for element in path.iter() {
                let member = match element {
                    PathElement::Name(name) => {
                        value.as_object().and_then(|object| object.get_key_value(*name))
                    }
                    PathElement::Index(_) => None,
                };
                let (next, key) = match (element, member) {
                    (PathElement::Index(index), _) => (value.get(*index), None),
                    (_, Some((key, member))) => (Some(member), Some(key.as_str())),
                    (_, None) => (None, None),
                };
                let Some(next) = next else { break };
                value = next;
                at += 1;
                if ends.contains(&at) {
                    found.push(Outer { value, key });
                }
            }
            found.reverse();
            found
        };
        let nodes = self.at.path.query_located(value);
        nodes.locations().map(outer).collect()
    }

    /// Whether what [`Self::find`] finds is all that there is.
    pub(crate) fn says_all(&self, value: &Value) -> bool {
        let is_there = match (&self.lists, self.find(value)) {
            (None, FoundRecords::These(records)) => !records.is_empty(),
            (Some(lists), FoundRecords::These(_)) => lists.at.all(value).iter().all(|list| !list.is_null()),
            _ => false,
        };
        is_there && !self.is_slice
    }

    fn finds_an_empty_list(&self, value: &Value) -> bool {
        matches!(self.find(value), FoundRecords::These(records) if records.is_empty())
    }
}

/// The steps of a path behind its `$`, as they are written.
fn steps(text: &str) -> Vec<&str> {
    let mut starts = Vec::new();
    let (mut depth, mut quote, mut escaped) = (0_u32, None, false);
    let mut before = '$';
    for (at, letter) in text.char_indices() {
        match quote {
            Some(_) if escaped => escaped = false,
            Some(_) if letter == '\\' => escaped = true,
            Some(opened) if letter == opened => quote = None,
            Some(_) => {}
            None => match letter {
                '"' | '\'' => quote = Some(letter),
                '[' => {
                    // `..[` is one step, and `.` before it has begun it.
                    if depth == 0 && before != '.' {
                        starts.push(at);
                    }
                    depth += 1;
                }
                ']' | ')' => depth = depth.saturating_sub(1),
                '(' => depth += 1,
                '.' if depth == 0 && before != '.' => starts.push(at),
                _ => {}
            },
        }
        before = letter;
    }
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    starts.iter().zip(ends).map(|(start, end)| &text[*start..end]).collect()
}

/// Whether a step selects all members, some by a filter, or a slice.
fn selects_many(step: &str) -> bool {
    if step.trim() == ".*" {
        return true;
    }
    let inside = step.trim().strip_prefix('[').map(str::trim_start);
    inside.is_some_and(|inside| inside.starts_with(['*', '?'])) || is_slice(step)
}

fn is_slice(step: &str) -> bool {
    let inside = step.trim().strip_prefix('[').and_then(|step| step.strip_suffix(']'));
    inside.is_some_and(|inside| {
        inside.contains(':') && inside.bytes().all(|byte| b"-: \t\r\n0123456789".contains(&byte))
    })
}

/// The path up to the end of these steps of it.
fn end_of<'t>(text: &'t str, steps: &[&'t str]) -> &'t str {
    let end = steps.last().map_or(1, |last| last.as_ptr() as usize - text.as_ptr() as usize + last.len());
    &text[..end.min(text.len())]
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_path_is_taken_apart_into_its_steps() {
        for (text, want) in [
            ("$", vec![]),
            ("$[*]", vec!["[*]"]),
            ("$.orders[*]", vec![".orders", "[*]"]),
            ("$..orders[*].lines", vec!["..orders", "[*]", ".lines"]),
            ("$..[*]", vec!["..[*]"]),
            ("$['a.b[0]'].c", vec!["['a.b[0]']", ".c"]),
            (r#"$["a\"]"][?@.kind == '].x'].y"#, vec![r#"["a\"]"]"#, "[?@.kind == '].x']", ".y"]),
            ("$.a[?@.b[0] > 1][1:3]", vec![".a", "[?@.b[0] > 1]", "[1:3]"]),
            ("$.a[?length(@.b) > 1]", vec![".a", "[?length(@.b) > 1]"]),
        ] {
            assert_eq!(steps(text), want, "{text}");
            assert!(At::parse(text).is_ok(), "{text}");
        }
    }

    #[test]
    fn an_empty_list_is_told_from_no_list() {
        let body = json!({
            "orders": [], "nothing": null, "text": "down for repair", "by_id": {}, "shops": [{"orders": []}, {}],
            "no_shops": []
        });
        let none = || FoundRecords::These(vec![]);
        for (text, want) in [
            ("$.orders[*]", none()),
            ("$.orders[?@.kind == 'a']", none()),
            ("$.orders[0:5]", none()),
            ("$.by_id.*", none()),
            ("$.sorders[*]", FoundRecords::NoList),
            ("$.nothing[*]", FoundRecords::Null),
            ("$.text[*]", FoundRecords::NotAList),
            ("$.shops[*].orders[*]", none()),
            ("$.shops[*].others[*]", FoundRecords::NoList),
            ("$.no_shops[*].orders[*]", none()),
            ("$.sorders[*].orders[*]", FoundRecords::NoList),
            ("$.none", none()),
        ] {
            assert_eq!(Records::parse(text).unwrap().find(&body), want, "{text}");
        }
        assert_eq!(Records::parse("$[*]").unwrap().find(&json!({"error": "no"})).len(), 1);
        assert_eq!(Records::parse("$[*]").unwrap().find(&json!("no")), FoundRecords::NotAList);
    }

    impl FoundRecords<'_> {
        fn len(&self) -> usize {
            match self {
                Self::These(records) => records.len(),
                _ => 0,
            }
        }
    }
}
