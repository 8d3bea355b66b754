//! The keys of `change_sku`: every value read, and all that a change needs there.
//!
//! Must not know the network. Start reading at [`change_sku`].

use chrono_tz::Tz;
use serde_json::Value;

use super::{fault_of_path, is_header_value, pages, sounds_secret, without_secrets};
use crate::bad_row::shown;
use crate::source::declare::action::{
    AnswerKeys, ChangeSkuKeys, Form, FromRecord, Placeholder, ReadKeys, Text,
};
use crate::source::declare::at::{At, Records};
use crate::source::declare::error::DeclarationError;
use crate::source::declare::fields::lists_out;
use crate::source::declare::template::Template;
use crate::source::declare::{Answer, ChangeSku, Next, Pages, Reads, Request, Role};
use crate::tables::{Column, Table};

/// What a body is said to be that says nothing else.
const JSON: &str = "application/json";

pub(super) fn change_sku(
    keys: &ChangeSkuKeys,
    role: &Role,
    requests: &[Request],
    zone: Tz,
) -> Result<ChangeSku, DeclarationError> {
    if *role != Role::Storefront {
        return Err(DeclarationError::new(
            "is of a storefront's offers, and the role of the source is supplier; expected is it under a storefront",
        ));
    }
    let needed = |key, such_as: &str| {
        DeclarationError::new(format!("has no {key}; expected is one, such as {such_as}"))
    };
    let method = keys.method.as_deref().ok_or_else(|| needed("method", "method = \"PUT\""))?;
    let method = read_method(method).map_err(|error| error.under("method"))?;
    let path = keys.path.as_deref().ok_or_else(|| needed("path", "path = \"offers/{record.id}\""))?;
    let path = read_path(path).map_err(|error| error.under("path"))?;
    let mut query = Vec::new();
    for (name, value) in &keys.query {
        let value = read_parameter(name, value).map_err(|error| error.under(name).under("query"))?;
        query.push((name.clone(), value));
    }
    let body = keys.body.as_ref().map(read_body).transpose().map_err(|error| error.under("body"))?;
    let content_type = keys.content_type.as_deref().unwrap_or(JSON);
    check_content_type(content_type, body.is_some()).map_err(|error| error.under("content_type"))?;
    let mut record = Vec::new();
    for (name, value) in &keys.record {
        let under = |error: DeclarationError| error.under(name).under("record");
        if name.is_empty() || name.contains(['{', '}']) {
            return Err(under(DeclarationError::new(
                "is a name that no placeholder can have; expected is one such as id",
            )));
        }
        let around = value.around.map(lists_out).transpose().map_err(under)?.unwrap_or_default();
        let at = At::parse(&value.at).map_err(|error| under(error.under("at")))?;
        record.push((name.clone(), FromRecord { around, at }));
    }
    let answer = keys.answer.as_ref().ok_or_else(|| {
        DeclarationError::new(
            "has no answer, and by nothing else could a change be told that was not made; expected is what the answer to a \
             change says, such as answer = [{ at = \"$.sku\", is = \"{sku}\" }], or answer = \"empty\" where it says nothing",
        )
    })?;
    let answer = read_answer(answer).map_err(|error| error.under("answer"))?;
    let reads = match &keys.read {
        Some(read) => self::read(read, requests, zone).map_err(|error| error.under("read"))?,
        None => all_offers(requests)?,
    };
    let change = ChangeSku {
        method,
        path,
        query,
        body,
        content_type: content_type.to_owned(),
        no_sku: keys.no_sku.clone(),
        record,
        answer,
        reads,
    };
    says_enough(&change)?;
    Ok(change)
}

fn read_method(text: &str) -> Result<&'static str, DeclarationError> {
    let known = ["PUT", "PATCH", "POST"];
    known.into_iter().find(|known| *known == text).ok_or_else(|| {
        DeclarationError::found(shown(text), r#""PUT", "PATCH" or "POST", as the storefront documents it"#)
    })
}

fn read_path(text: &str) -> Result<Text, DeclarationError> {
    const EXPECTED: &str = r#"a path under the address of the source, such as "offers/{record.id}"; nothing is sent anywhere else"#;
    // The names of options may have blanks and slashes in them.
    let path = Text::parse(text)?;
    match fault_of_path(&path.plain()) {
        None => Ok(path),
        Some(found) => {
            Err(DeclarationError::found(format!("{}, which {found}", without_secrets(text)), EXPECTED))
        }
    }
}

fn read_parameter(name: &str, text: &str) -> Result<Text, DeclarationError> {
    if sounds_secret(name) {
        return Err(DeclarationError::new(
            "holds a secret by its name, and addresses are written into logs; expected is how to sign in, under sign_in",
        ));
    }
    Text::parse(text)
}

/// A table, or a text of JSON.
fn read_body(value: &Value) -> Result<Form, DeclarationError> {
    const EXPECTED: &str = r#"JSON whose placeholders stand in quotes, such as '{ "sku": "{sku}" }', or a table such as { sku = "{sku}" }"#;
    let read: Value;
    let value = match value {
        Value::String(text) => {
            read = serde_json::from_str(text).map_err(|error| {
                let found = format!("no JSON from line {}, column {} on", error.line(), error.column());
                DeclarationError::found(found, EXPECTED)
            })?;
            &read
        }
        Value::Object(_) | Value::Array(_) => value,
        _ => return Err(DeclarationError::found("neither a text nor a table", EXPECTED)),
    };
    let form = Form::read(value)?;
    match form.names().into_iter().find(|name| sounds_secret(name)) {
        None => Ok(form),
        Some(name) => Err(DeclarationError::new(format!(
            "holds a secret by the name {}; expected is how to sign in, under sign_in",
            shown(name)
        ))),
    }
}

fn check_content_type(text: &str, has_body: bool) -> Result<(), DeclarationError> {
    if !is_header_value(text) || !text.to_ascii_lowercase().contains("json") {
        let expected = r#"a kind of JSON, such as "application/json" or "application/merge-patch+json""#;
        return Err(DeclarationError::found(shown(text), expected));
    }
    if !has_body && text != JSON {
        return Err(DeclarationError::new("stands there and no body; expected is body too"));
    }
    Ok(())
}

fn read_answer(keys: &AnswerKeys) -> Result<Answer, DeclarationError> {
    const EXPECTED: &str = r#"a list such as [{ at = "$.sku", is = "{sku}" }], or "empty""#;
    match keys {
        AnswerKeys::Word(word) if word == "empty" => Ok(Answer::Empty),
        AnswerKeys::Word(word) => Err(DeclarationError::found(shown(word), EXPECTED)),
        AnswerKeys::Looks(wanted) if wanted.is_empty() => {
            Err(DeclarationError::found("a list of nothing", EXPECTED))
        }
        AnswerKeys::Looks(wanted) => {
            let read = wanted.iter().enumerate().map(|(index, wanted)| {
                let at = At::parse(&wanted.at).map_err(|error| error.under("at").in_entry(index + 1))?;
                let is = Form::read(&wanted.is).map_err(|error| error.under("is").in_entry(index + 1))?;
                Ok((at, is))
            });
            read.collect::<Result<_, _>>().map(Answer::Looks)
        }
    }
}

/// Whether a change says what it must: the SKU, the offer, and nothing that is not taken.
fn says_enough(change: &ChangeSku) -> Result<(), DeclarationError> {
    let wanted = match &change.answer {
        Answer::Empty => Vec::new(),
        Answer::Looks(wanted) => wanted.iter().flat_map(|(_, is)| is.placeholders()).collect(),
    };
    for placeholder in change.asked_by().chain(wanted) {
        if let Placeholder::Record(name) = placeholder
            && change.record.iter().all(|(known, _)| known != name)
        {
            return Err(DeclarationError::new(format!(
                "has {placeholder} in it, and nothing under record is {name}; expected is where it stands in the record of \
                 an offer, such as record = {{ {name} = \"$.{name}\" }}"
            )));
        }
    }
    let asked: Vec<&Placeholder> = change.asked_by().collect();
    if !asked.contains(&&Placeholder::Sku) {
        return Err(DeclarationError::new("says the SKU nowhere; expected is {sku} in body, path or query"));
    }
    if !asked.iter().any(|asked| **asked == Placeholder::ListingId || asked.tells_offers_apart()) {
        return Err(DeclarationError::new(
            "says nowhere of which offer; expected is {listing_id}, {options}, {option.NAME}, {record.NAME} or {old_sku} in \
             path, query or body",
        ));
    }
    Ok(())
}

/// The requests that bring all offers, where they do.
fn all_offers(requests: &[Request]) -> Result<Reads, DeclarationError> {
    let brings: Vec<&Request> = requests.iter().filter(|request| brings_offers(request)).collect();
    if let Some(request) = brings.iter().find(|request| request.for_each.is_some()) {
        return Err(DeclarationError::new(format!(
            "has no read, and request {} brings offers only for each row of another; expected is read too, how one offer is \
             asked for, such as read = {{ path = \"offers/{{listing_id}}\", at = \"$.offer\" }}",
            request.name
        )));
    }
    if brings.is_empty() {
        return Err(no_offers());
    }
    Ok(Reads::All(brings.into_iter().cloned().collect()))
}

fn brings_offers(request: &Request) -> bool {
    request.tables.iter().any(|mapping| mapping.table == Table::Offers)
}

fn no_offers() -> DeclarationError {
    DeclarationError::new(
        "stands in a source of which no request brings offers; expected is one too, for no SKU is changed that was not read",
    )
}

/// A request for one offer, whose fields are those of the request that brings all of them.
fn read(keys: &ReadKeys, requests: &[Request], zone: Tz) -> Result<Reads, DeclarationError> {
    let mut brings = requests.iter().filter(|request| brings_offers(request));
    let like = match (&keys.request, brings.next(), brings.next()) {
        (_, None, _) => return Err(no_offers()),
        (Some(name), Some(_), _) => {
            let named = requests.iter().find(|request| request.name == *name && brings_offers(request));
            named.ok_or_else(|| {
                DeclarationError::found(shown(name), "the name of a request that brings offers")
                    .under("request")
            })?
        }
        (None, Some(only), None) => only,
        (None, Some(one), Some(other)) => {
            return Err(DeclarationError::new(format!(
                "does not say whose fields it has, of {} and {}; expected is request too, such as request = {}",
                one.name,
                other.name,
                shown(&one.name)
            )));
        }
    };
    let path = read_path(&keys.path).map_err(|error| error.under("path"))?;
    known_before(&path).map_err(|error| error.under("path"))?;
    let template = Template::parse(&keys.path).map_err(|error| error.under("path"))?;
    let mut query = Vec::new();
    for (name, value) in &keys.query {
        let under = |error: DeclarationError| error.under(name).under("query");
        known_before(&read_parameter(name, value).map_err(under)?).map_err(under)?;
        query.push((name.clone(), Template::parse(value).map_err(under)?));
    }
    let Some(mapping) = like.tables.iter().find(|mapping| mapping.table == Table::Offers) else {
        return Err(no_offers());
    };
    let mut mapping = mapping.clone();
    mapping.records = Records::parse(&keys.at).map_err(|error| error.under("at"))?;
    // What the record of one offer does not say of its listing, the question says.
    (mapping.within, mapping.inherits, mapping.hands_on) = (None, vec![Column::ListingId], None);
    let pages = keys.pages.as_ref().map_or_else(
        || Ok(Pages { next: Next::None, size: None }),
        |keys| pages(keys).map_err(|error| error.under("pages")),
    )?;
    super::parameters_differ(&query, &pages, None)?;
    let request = Request {
        name: "change_sku.read".to_owned(),
        path: template,
        query,
        file: None,
        vocabulary: None,
        for_each: None,
        pages,
        changes: None,
        count: None,
        tables: vec![mapping],
        supplier: None,
        zone,
    };
    if request.columns().all(|column| column != "listing_id") {
        return Err(DeclarationError::new(
            "says nowhere of which listing; expected is {listing_id} in path or query",
        ));
    }
    Ok(Reads::One(Box::new(request)))
}

/// Whether all that a request says is known before an offer was read.
fn known_before(text: &Text) -> Result<(), DeclarationError> {
    let later = text.placeholders().find(|placeholder| {
        !matches!(placeholder, Placeholder::ListingId | Placeholder::Options | Placeholder::Option(_))
    });
    match later {
        None => Ok(()),
        Some(placeholder) => Err(DeclarationError::new(format!(
            "has {placeholder} in it, which is not known before the offer is read; expected is {{listing_id}}, {{options}} \
             or {{option.NAME}}"
        ))),
    }
}
