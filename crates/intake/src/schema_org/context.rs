//! What the names of a JSON-LD document mean: contexts, and from a name to a term of schema.org.
//!
//! Nothing is fetched: of contexts at an address that of schema.org alone is known, and what others define is not read.
//! Must not know what a term means. Start reading at [`Context`]. Source: JSON-LD 1.1 (W3C), sections 3.1 and 4.1, as
//! far as it is needed here.

use std::collections::HashMap;
use std::rc::Rc;

use serde_json::Value;

use super::terms::known;

/// How many steps a definition may lead through others; published contexts need three.
const MAX_STEPS: usize = 8;

/// How many contexts of one list are looked at; published documents have two or three.
const MAX_CONTEXTS: usize = 16;

/// How long a definition may be, in bytes: longer than any address that is in use.
const MAX_DEFINITION_BYTES: usize = 2_048;

/// The addresses of schema.org, under which its terms stand.
const SCHEMA_ORG: [&str; 4] =
    ["https://schema.org", "http://schema.org", "https://www.schema.org", "http://www.schema.org"];

/// A name in a document.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Name {
    /// A keyword of JSON-LD, with its `@`.
    Keyword(&'static str),
    /// A property of schema.org that is read.
    Term(&'static str),
    /// Anything else.
    Other,
}

/// The keywords that are looked at.
const KEYWORDS: [&str; 8] = ["@id", "@type", "@value", "@graph", "@list", "@set", "@included", "@context"];

/// What names mean in a part of a document.
#[derive(Default, Debug)]
pub(super) struct Context {
    /// What names are defined as here; `None`: nothing.
    own: HashMap<String, Option<String>>,
    /// The vocabulary of names that are not defined, where it is said here.
    vocabulary: Option<String>,
    around: Option<Rc<Self>>,
}

impl Context {
    /// That of a document that says none.
    pub(super) fn none() -> Rc<Self> {
        Rc::new(Self::default())
    }

    /// That of a document of which the owner says that it is schema.org's.
    pub(super) fn stated() -> Rc<Self> {
        Rc::new(Self { vocabulary: Some(format!("{}/", SCHEMA_ORG[0])), ..Self::default() })
    }

    /// What names mean in an object with this `@context`.
    pub(super) fn with(self: &Rc<Self>, context: &Value) -> Rc<Self> {
        match context {
            Value::Null => Self::none(),
            Value::String(address) if is_schema_org(address) => {
                let vocabulary = Some(format!("{}/", SCHEMA_ORG[0]));
                Rc::new(Self { vocabulary, around: Some(self.clone()), ..Self::default() })
            }
            Value::Array(several) => {
                several.iter().take(MAX_CONTEXTS).fold(self.clone(), |context, one| context.with(one))
            }
            Value::Object(definitions) => {
                let mut own = HashMap::new();
                let mut vocabulary = None;
                for (name, definition) in definitions {
                    let said = match definition {
                        Value::String(text) => Some(text.clone()),
                        Value::Object(longer) => match longer.get("@id") {
                            Some(Value::String(text)) => Some(text.clone()),
                            // Says how values are written, and leaves the name what it is.
                            _ => continue,
                        },
                        Value::Null => None,
                        _ => continue,
                    };
                    if said.as_ref().is_some_and(|text| text.len() > MAX_DEFINITION_BYTES) {
                        continue;
                    }
                    match name.as_str() {
                        "@vocab" => vocabulary = Some(said.unwrap_or_default()),
                        name if name.starts_with('@') => {}
                        name => {
                            own.insert(name.to_owned(), said);
                        }
                    }
                }
                Rc::new(Self { own, vocabulary, around: Some(self.clone()) })
            }
            _ => self.clone(),
        }
    }

    /// What the name of a property means.
    pub(super) fn name(&self, name: &str) -> Name {
        let keyword = |name: &str| KEYWORDS.into_iter().find(|keyword| *keyword == name);
        if let Some(keyword) = keyword(name) {
            return Name::Keyword(keyword);
        }
        let whole = self.whole(name, true, 0);
        if let Some(keyword) = whole.as_deref().and_then(keyword) {
            return Name::Keyword(keyword);
        }
        whole.as_deref().and_then(local).and_then(known).map_or(Name::Other, Name::Term)
    }

    /// A class or a member of an enumeration: its name where schema.org has it, otherwise as it was written.
    pub(super) fn word(&self, text: &str) -> String {
        let whole = self.whole(text, true, 0);
        whole.as_deref().and_then(local).unwrap_or(text).to_owned()
    }

    /// Whether the name of a class is one of schema.org.
    pub(super) fn is_of_schema_org(&self, text: &str) -> bool {
        self.whole(text, true, 0).as_deref().and_then(local).is_some()
    }

    /// An id, whole where it was shortened.
    pub(super) fn id(&self, text: &str) -> String {
        if text.starts_with("_:") { text.to_owned() } else { self.whole(text, false, 0).unwrap_or_default() }
    }

    /// The whole IRI of a name; with `by_vocabulary` also of one that is not defined. `None`: it means nothing.
    fn whole(&self, name: &str, by_vocabulary: bool, steps: usize) -> Option<String> {
        if name.starts_with('@') || steps > MAX_STEPS {
            return Some(name.to_owned());
        }
        if by_vocabulary && let Some(definition) = self.definition(name) {
            return match definition {
                Some(text) if text != name => self.whole(text, true, steps + 1),
                Some(_) => self.in_vocabulary(name),
                None => None,
            };
        }
        let Some((prefix, rest)) = name.split_once(':') else {
            return if by_vocabulary { self.in_vocabulary(name) } else { Some(name.to_owned()) };
        };
        if rest.starts_with("//") {
            return Some(name.to_owned());
        }
        match self.definition(prefix) {
            Some(Some(start)) => Some(format!("{}{rest}", self.whole(start, false, steps + 1)?)),
            Some(None) => None,
            // The usual prefix, which many leave undefined.
            None if prefix == "schema" => Some(format!("{}/{rest}", SCHEMA_ORG[0])),
            None => Some(name.to_owned()),
        }
    }

    fn in_vocabulary(&self, name: &str) -> Option<String> {
        let vocabulary = self.chain().find_map(|context| context.vocabulary.as_deref())?;
        // Some leave out the slash at the end.
        let slash = if is_schema_org(vocabulary) && !vocabulary.ends_with('/') { "/" } else { "" };
        Some(format!("{vocabulary}{slash}{name}"))
    }

    fn definition(&self, name: &str) -> Option<Option<&str>> {
        self.chain().find_map(|context| context.own.get(name)).map(Option::as_deref)
    }

    /// This one and those around it.
    fn chain(&self) -> impl Iterator<Item = &Self> {
        std::iter::successors(Some(self), |context| context.around.as_deref())
    }
}

/// Whether an address is that of schema.org as a context or vocabulary.
fn is_schema_org(address: &str) -> bool {
    let plain = address.trim_end_matches(['/', '#']).to_ascii_lowercase();
    let plain = plain.strip_suffix("/docs/jsonldcontext.jsonld").unwrap_or(&plain);
    SCHEMA_ORG.contains(&plain)
}

/// The name of a term of schema.org out of its whole IRI.
pub(super) fn local(whole: &str) -> Option<&str> {
    let rest = SCHEMA_ORG.iter().find_map(|start| whole.strip_prefix(start))?;
    let name = rest.strip_prefix('/')?;
    (!name.is_empty() && name.bytes().all(|byte| byte.is_ascii_alphanumeric())).then_some(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_name_means_the_same_in_every_spelling() {
        for (context, name) in [
            (json!("https://schema.org"), "orderNumber"),
            (json!("http://schema.org/"), "orderNumber"),
            (json!(["https://schema.org", {"shop": "https://shop.example/"}]), "orderNumber"),
            (json!({"@vocab": "https://schema.org/"}), "orderNumber"),
            (json!({"@vocab": "http://schema.org"}), "orderNumber"),
            (json!({"s": "https://schema.org/"}), "s:orderNumber"),
            (json!({"number": "https://schema.org/orderNumber"}), "number"),
            (json!({"s": "http://schema.org/", "number": {"@id": "s:orderNumber"}}), "number"),
            (json!({"@vocab": "https://schema.org/", "number": "orderNumber"}), "number"),
            (json!({}), "https://schema.org/orderNumber"),
            (json!({}), "schema:orderNumber"),
            (json!({"@vocab": "https://schema.org/", "orderNumber": {"@type": "@id"}}), "orderNumber"),
        ] {
            let found = Context::none().with(&context).name(name);
            assert_eq!(found, Name::Term("orderNumber"), "{context} {name}");
        }
    }

    #[test]
    fn a_name_of_another_vocabulary_means_nothing() {
        for (context, name) in [
            (json!({}), "orderNumber"),
            (json!(null), "orderNumber"),
            (json!("https://words.example/"), "orderNumber"),
            (json!({"@vocab": "https://words.example/"}), "orderNumber"),
            (json!(["https://schema.org", {"orderNumber": null}]), "orderNumber"),
            (json!(["https://schema.org", {"orderNumber": "https://words.example/n"}]), "orderNumber"),
            (json!(["https://schema.org", null]), "orderNumber"),
            (json!("https://schema.org"), "customer"),
            (json!({"schema": "https://words.example/"}), "schema:orderNumber"),
        ] {
            assert_eq!(Context::none().with(&context).name(name), Name::Other, "{context} {name}");
        }
    }

    #[test]
    fn keywords_may_have_other_names() {
        let context = Context::none().with(&json!(["https://schema.org", {"id": "@id", "kind": "@type"}]));
        assert_eq!(context.name("id"), Name::Keyword("@id"));
        assert_eq!(context.name("kind"), Name::Keyword("@type"));
    }

    #[test]
    fn definitions_that_lead_to_each_other_end() {
        let context = Context::none().with(&json!({"a": "b", "b": "a", "c": "c:x", "x": "x:x"}));
        for name in ["a", "b", "c", "x", "c:y", "x:y"] {
            assert_eq!(context.name(name), Name::Other, "{name}");
        }
    }

    #[test]
    fn ids_and_words_are_made_whole() {
        let context = Context::none().with(&json!(["https://schema.org", {"shop": "https://shop.example/"}]));
        assert_eq!(context.id("shop:1001"), "https://shop.example/1001");
        assert_eq!(context.id("_:b0"), "_:b0");
        assert_eq!(context.id("1001"), "1001");
        for text in [
            "OrderProcessing",
            "https://schema.org/OrderProcessing",
            "schema:OrderProcessing",
            "http://schema.org/OrderProcessing",
        ] {
            assert_eq!(context.word(text), "OrderProcessing", "{text}");
        }
        assert_eq!(context.word("https://words.example/Order"), "https://words.example/Order");
        assert!(!context.is_of_schema_org("https://words.example/Order"));
    }
}
