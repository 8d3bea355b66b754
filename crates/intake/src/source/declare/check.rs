//! From the keys of a source to a [`Source`]: every value read, and every value fitting the others.
//!
//! Must not know the network. Start reading at [`Declaration::check`]; `tables` checks what the tables of the requests
//! need of each other, `oauth` the keys of a grant.

mod action;
mod oauth;
mod tables;

use std::collections::BTreeMap;
use std::num::NonZeroU32;
use std::path::PathBuf;
use std::time::Duration;

use chrono_tz::Tz;
use model::SupplierId;
use url::{Host, Url};

use super::at::At;
use super::error::DeclarationError;
use super::file::FileForm;
use super::keys::{ChangesKeys, Declaration, PagesKeys, RequestKeys, SecretKeys, SignInKeys, Whole};
use super::secret::SecretReference;
use super::sku_table::SkuTable;
use super::template::Template;
use super::vocabulary::Vocabulary;
use super::when_form::MomentForm;
use super::{
    Changes, Count, DEFAULT_AT_MOST, DEFAULT_EVERY, DEFAULT_FOLDER_STALE_AFTER, DEFAULT_OVERLAP,
    DEFAULT_STALE_AFTER, MAX_PAGE_SIZE, Next, Origin, Pages, Rate, Request, Role, Service, SignIn, Source,
};
use crate::bad_row::shown;
use crate::tables::Table;

const A_SPAN: &str = r#"a span of time of more than zero, such as "60 s" or "5 min""#;

impl Declaration {
    /// Checks the keys of a source. `shop_zone` is the shop's zone, in which dates without a time are read.
    ///
    /// # Errors
    /// The first key that cannot be used, with its path under `[sources.NAME]`.
    pub fn check(&self, shop_zone: Tz) -> Result<Source, DeclarationError> {
        let role = self.role()?;
        let every =
            self.every.as_deref().map_or(Ok(DEFAULT_EVERY), span).map_err(|error| error.under("every"))?;
        let origin = match (&self.folder, &self.address) {
            (Some(folder), None) if self.requests.is_empty() => Origin::Folder(self.folder(folder)?),
            (Some(folder), None) => Origin::Exports(self.folder(folder)?, self.files(&role, shop_zone)?),
            (None, Some(address)) => Origin::Service(Box::new(self.service(address, &role, shop_zone)?)),
            (Some(_), Some(_)) => {
                return Err(DeclarationError::new("has both address and folder; expected is one of them"));
            }
            (None, None) => {
                return Err(DeclarationError::new("has neither address nor folder; expected is one of them"));
            }
        };
        let stale_after = self.stale_after(every)?;
        let sku_table = self.sku_table(&role)?;
        Ok(Source { role, every, stale_after, origin, sku_table })
    }

    fn sku_table(&self, role: &Role) -> Result<Option<SkuTable>, DeclarationError> {
        match (&self.sku_table, role) {
            (None, _) => Ok(None),
            (Some(keys), Role::Storefront) => {
                keys.check().map(Some).map_err(|error| error.under("sku_table"))
            }
            (Some(_), Role::Supplier(_)) => Err(DeclarationError::new(
                "has sku_table, and its role is supplier; expected is it beside the role storefront alone",
            )),
        }
    }

    fn stale_after(&self, every: Duration) -> Result<Duration, DeclarationError> {
        let Some(text) = &self.stale_after else {
            let usual = if self.folder.is_some() { DEFAULT_FOLDER_STALE_AFTER } else { DEFAULT_STALE_AFTER };
            return Ok(usual.max(every.saturating_mul(3)));
        };
        let stale_after = span(text).map_err(|error| error.under("stale_after"))?;
        if stale_after < every {
            let every = humantime::format_duration(every);
            let expected = format!("a span of time that is not shorter than every, {every}");
            return Err(DeclarationError::found(shown(text), expected).under("stale_after"));
        }
        Ok(stale_after)
    }

    fn role(&self) -> Result<Role, DeclarationError> {
        match (self.role.as_str(), &self.supplier) {
            ("storefront", None) => Ok(Role::Storefront),
            ("storefront", Some(_)) => Err(DeclarationError::new(
                "has supplier, and its role is storefront; expected is it beside the role supplier alone",
            )),
            ("supplier", None) => Err(DeclarationError::new(
                "has the role supplier and no supplier; expected is its name too, such as supplier = \"alder-print\"",
            )),
            ("supplier", Some(name)) if name == SupplierId::OWN || name.trim().is_empty() => {
                Err(DeclarationError::found(shown(name), "the name of a supplier other than the shop itself")
                    .under("supplier"))
            }
            ("supplier", Some(name)) => Ok(Role::Supplier(SupplierId::new(name.as_str()))),
            (other, _) => {
                Err(DeclarationError::found(shown(other), r#""storefront" or "supplier""#).under("role"))
            }
        }
    }

    /// A folder has no keys but `role`, `supplier`, `every`, `stale_after`, `sku_table` and requests of files beside it.
    fn folder(&self, folder: &str) -> Result<PathBuf, DeclarationError> {
        let given = [
            ("at_most", self.at_most.is_some()),
            ("headers", !self.headers.is_empty()),
            ("sign_in", self.sign_in.is_some()),
            ("change_sku", self.change_sku.is_some()),
        ];
        if let Some((key, _)) = given.into_iter().find(|(_, is_given)| *is_given) {
            return Err(DeclarationError::new(format!(
                "has {key} beside folder; expected beside it are role, supplier, every, stale_after, requests and sku_table alone"
            )));
        }
        if folder.is_empty() {
            return Err(DeclarationError::found("empty", "the path of a folder").under("folder"));
        }
        Ok(PathBuf::from(folder))
    }

    /// The requests that are files of the folder.
    fn files(&self, role: &Role, shop_zone: Tz) -> Result<Vec<Request>, DeclarationError> {
        let requests = self.all_requests(role, shop_zone)?;
        match requests.iter().find(|request| request.file.is_none()) {
            None => Ok(requests),
            Some(request) => {
                let error =
                    DeclarationError::new("stands beside folder; expected is file, the name of a file in it");
                Err(error.under("path").under(&request.name).under("requests"))
            }
        }
    }

    fn all_requests(&self, role: &Role, shop_zone: Tz) -> Result<Vec<Request>, DeclarationError> {
        let supplier = match role {
            Role::Storefront => None,
            Role::Supplier(supplier) => Some(supplier),
        };
        let requests = self.requests.iter().map(|(name, keys)| {
            request(name, keys, supplier, shop_zone).map_err(|error| error.under(name).under("requests"))
        });
        requests.collect()
    }

    fn service(&self, address: &str, role: &Role, shop_zone: Tz) -> Result<Service, DeclarationError> {
        let address = read_address(address).map_err(|error| error.under("address"))?;
        let at_most = self
            .at_most
            .as_deref()
            .map_or(Ok(DEFAULT_AT_MOST), rate)
            .map_err(|error| error.under("at_most"))?;
        let mut headers = Vec::new();
        for (name, value) in &self.headers {
            check_header(name, value).map_err(|error| error.under("headers"))?;
            headers.push((name.clone(), value.clone()));
        }
        let sign_in =
            self.sign_in.as_ref().map(sign_in).transpose().map_err(|error| error.under("sign_in"))?;
        if self.requests.is_empty() {
            return Err(DeclarationError::new(
                "has no requests; expected is at least one, such as [sources.NAME.requests.orders]",
            ));
        }
        let mut requests = self.all_requests(role, shop_zone)?;
        if let Some(request) = requests.iter().find(|request| request.file.is_some()) {
            let error =
                DeclarationError::new("stands beside address; expected is path, or a folder for files");
            return Err(error.under("file").under(&request.name).under("requests"));
        }
        tables::together(&mut requests)?;
        let change_sku = self.change_sku.as_ref();
        let change_sku =
            change_sku.map(|keys| action::change_sku(keys, role, &requests, shop_zone)).transpose();
        let change_sku = change_sku.map_err(|error| error.under("change_sku"))?.map(Box::new);
        Ok(Service { address, at_most, headers, sign_in, requests, change_sku })
    }
}

fn span(text: &str) -> Result<Duration, DeclarationError> {
    match humantime::parse_duration(text) {
        Ok(span) if !span.is_zero() => Ok(span),
        _ => Err(DeclarationError::found(shown(text), A_SPAN)),
    }
}

/// The part of an address in which nobody puts a secret, as errors show it.
fn without_secrets(text: &str) -> String {
    match text.split_once(['?', '#', '@']) {
        Some((_, _)) if text.contains('@') => "an address with an @ in it".to_owned(),
        Some((open, _)) => shown(&format!("{open}…")),
        None => shown(text),
    }
}

fn read_address(text: &str) -> Result<Url, DeclarationError> {
    const EXPECTED: &str = r#"an address that begins with https:// (http:// on loopback alone), such as "https://shop.example/api/""#;
    let mut url = safe_address(text, EXPECTED)?;
    if url.query().is_some() || url.fragment().is_some() {
        return Err(DeclarationError::found(
            format!("{}, which has a ? or a # in it", without_secrets(text)),
            "an address alone; parameters stand under query of a request",
        ));
    }
    if !url.path().ends_with('/') {
        let path = format!("{}/", url.path());
        url.set_path(&path);
    }
    Ok(url)
}

/// An address to which a secret may go: encrypted, or on loopback.
fn safe_address(text: &str, expected: &str) -> Result<Url, DeclarationError> {
    let url = Url::parse(text).map_err(|error| {
        DeclarationError::found(format!("{}, which is no address: {error}", without_secrets(text)), expected)
    })?;
    if !url.username().is_empty() || url.password().is_some() {
        return Err(DeclarationError::new(
            "has a user or a password in it; expected is an address without, and how to sign in under sign_in",
        ));
    }
    let on_loopback = match url.host() {
        Some(Host::Domain(name)) => name == "localhost",
        Some(Host::Ipv4(address)) => address.is_loopback(),
        Some(Host::Ipv6(address)) => address.is_loopback(),
        None => false,
    };
    match url.scheme() {
        "https" => {}
        "http" if on_loopback => {}
        "http" => {
            return Err(DeclarationError::found(
                format!("{}, which is not encrypted and not on loopback", without_secrets(text)),
                expected,
            ));
        }
        _ => return Err(DeclarationError::found(without_secrets(text), expected)),
    }
    Ok(url)
}

fn rate(text: &str) -> Result<Rate, DeclarationError> {
    let read = || {
        let (count, per) = text.split_once(" per ")?;
        let per = match per.trim() {
            "second" => 1,
            "minute" => 60,
            "hour" => 3_600,
            _ => return None,
        };
        Some(Rate { requests: count.trim().parse().ok()?, per: Duration::from_secs(per) })
    };
    read().ok_or_else(|| {
        DeclarationError::found(
            shown(text),
            r#"a number of requests per second, per minute or per hour, such as "4 per second""#,
        )
    })
}

/// Whether a name is that of something secret.
fn sounds_secret(name: &str) -> bool {
    let plain = name.to_ascii_lowercase().replace(['-', '_'], "");
    ["authorization", "cookie", "secret", "token", "password", "apikey"]
        .iter()
        .any(|word| plain.contains(word))
}

/// Source: RFC 9110, sections 5.1 and 5.5.
fn check_header(name: &str, value: &str) -> Result<(), DeclarationError> {
    if !is_header_name(name) {
        let text = format!("has {} in it; expected is the name of a header, such as \"Accept\"", shown(name));
        return Err(DeclarationError::new(text));
    }
    if sounds_secret(name) {
        return Err(DeclarationError::new(
            "holds a secret by its name; expected are headers without secrets, and how to sign in under sign_in",
        )
        .under(name));
    }
    if !is_header_value(value) {
        return Err(DeclarationError::found(shown(value), "printable ASCII").under(name));
    }
    Ok(())
}

fn is_header_name(name: &str) -> bool {
    let is_token = |byte: u8| byte.is_ascii_alphanumeric() || b"!#$%&'*+-.^_`|~".contains(&byte);
    !name.is_empty() && name.bytes().all(is_token)
}

fn is_header_value(value: &str) -> bool {
    value.bytes().all(|byte| (0x20..0x7f).contains(&byte))
}

fn sign_in(keys: &SignInKeys) -> Result<SignIn, DeclarationError> {
    if keys.grant.is_some() {
        return oauth::sign_in(keys);
    }
    if let Some(key) = oauth::first_key_of_a_grant(keys) {
        return Err(DeclarationError::new(format!(
            "has {key} and no grant; expected is grant = \"client_credentials\" or \"authorization_code\" beside it"
        )));
    }
    let needed = || {
        let text =
            "has no secret; expected is where it is kept, such as secret = { environment = \"TILL_KEY\" }";
        DeclarationError::new(text)
    };
    let secret = || {
        let keys = keys.secret.as_ref().ok_or_else(needed)?;
        secret(keys).map_err(|error| error.under("secret"))
    };
    match (&keys.header, &keys.user) {
        (Some(name), None) => {
            // What stands there may be a secret.
            if !is_header_name(name) {
                let text = "is no name of a header; expected is one without blanks and colons, such as \"Authorization\"";
                return Err(DeclarationError::new(text).under("header"));
            }
            let before = keys.before.clone().unwrap_or_default();
            if !is_header_value(&before) {
                return Err(
                    DeclarationError::new("has other characters than printable ASCII in it").under("before")
                );
            }
            Ok(SignIn::Header { name: name.clone(), before, secret: secret()? })
        }
        (None, Some(_)) if keys.before.is_some() => {
            Err(DeclarationError::new("has before beside user; expected is it beside header alone"))
        }
        (None, Some(user)) if user.is_empty() || user.contains(':') || user.contains(char::is_control) => {
            let text = "is empty or has a colon or a line break in it; expected is a user alone (RFC 7617), the password is the secret";
            Err(DeclarationError::new(text).under("user"))
        }
        (None, Some(user)) => Ok(SignIn::Basic { user: user.clone(), secret: secret()? }),
        (Some(_), Some(_)) => Err(DeclarationError::new("has both header and user; expected is one of them")),
        (None, None) => {
            Err(DeclarationError::new("has neither header nor user nor grant; expected is one of them"))
        }
    }
}

pub(super) fn secret(keys: &SecretKeys) -> Result<SecretReference, DeclarationError> {
    let is_name = |name: &str, expected: &str, key: &str| {
        if name.is_empty() || name.contains(['/', '=', '\0']) || name == "." || name == ".." {
            return Err(DeclarationError::new(format!("is no name; expected is {expected}")).under(key));
        }
        Ok(name.to_owned())
    };
    match (&keys.file, &keys.environment, &keys.credential) {
        (Some(path), None, None) if path.is_empty() => {
            Err(DeclarationError::found("empty", "the path of the file with the secret").under("file"))
        }
        (Some(path), None, None) => Ok(SecretReference::File(PathBuf::from(path))),
        (None, Some(name), None) => {
            let name =
                is_name(name, r#"the name of an environment variable, such as "TILL_KEY""#, "environment")?;
            Ok(SecretReference::Environment(name))
        }
        (None, None, Some(name)) => {
            let name =
                is_name(name, r#"the name of a systemd credential, such as "till-key""#, "credential")?;
            Ok(SecretReference::Credential(name))
        }
        _ => Err(DeclarationError::new(
            "does not say one place; expected is one of file, environment and credential",
        )),
    }
}

/// One request, without what it needs of the others.
fn request(
    name: &str,
    keys: &RequestKeys,
    supplier: Option<&SupplierId>,
    shop_zone: Tz,
) -> Result<Request, DeclarationError> {
    let for_each =
        keys.for_each.as_deref().map(tables::known).transpose().map_err(|error| error.under("for_each"))?;
    let file = keys.file.as_deref().map(|file| FileForm::of(keys, file)).transpose()?;
    let path = match (&keys.path, &file) {
        (Some(path), _) => read_path(path, for_each).map_err(|error| error.under("path"))?,
        (None, Some(_)) => Template::plain(""),
        (None, None) => {
            return Err(DeclarationError::new(
                "has no path; expected is one, such as path = \"orders\", or, in a folder, file = \"orders.csv\"",
            ));
        }
    };
    if file.is_none() {
        let of_files = [
            ("separator", keys.separator.is_some()),
            ("encoding", keys.encoding.is_some()),
            ("sheet", keys.sheet.is_some()),
            ("header_row", keys.header_row.is_some()),
            ("group", keys.group.is_some()),
            ("numbered", keys.numbered.is_some()),
        ];
        if let Some((key, _)) = of_files.into_iter().find(|(_, is_given)| *is_given) {
            return Err(DeclarationError::new(format!(
                "has {key}, which is for a file; expected is file too"
            )));
        }
    }
    let mut query = Vec::new();
    for (parameter, value) in &keys.query {
        query.push((
            parameter.clone(),
            read_parameter(parameter, value, for_each)
                .map_err(|error| error.under(parameter).under("query"))?,
        ));
    }
    let pages = keys.pages.as_ref().map_or_else(
        || Ok(Pages { next: Next::None, size: None }),
        |keys| pages(keys).map_err(|error| error.under("pages")),
    )?;
    let changes = keys.changes.as_ref().map(changes).transpose().map_err(|error| error.under("changes"))?;
    let count = match (&keys.count, &keys.count_header) {
        (Some(_), Some(_)) => {
            return Err(DeclarationError::new("has both count and count_header; expected is one of them"));
        }
        (Some(at), None) => Some(Count::At(At::parse(at).map_err(|error| error.under("count"))?)),
        (None, Some(header)) => {
            if !is_header_name(header) {
                let expected = "the name of a header, such as \"X-Total-Count\"";
                return Err(DeclarationError::found(shown(header), expected).under("count_header"));
            }
            Some(Count::Header(header.clone()))
        }
        (None, None) => None,
    };
    parameters_differ(&query, &pages, changes.as_ref())?;
    let vocabulary = vocabulary(keys, supplier)?;
    let tables = match vocabulary {
        Some(vocabulary) if keys.tables.is_empty() => {
            tables::of_request(&vocabulary.tables()?, for_each, supplier, shop_zone)?
        }
        _ => tables::of_request(&keys.tables, for_each, supplier, shop_zone)?,
    };
    if vocabulary.is_none() {
        tables::keep_by_name(&tables)?;
    }
    Ok(Request {
        name: name.to_owned(),
        path,
        query,
        file,
        vocabulary,
        for_each,
        pages,
        changes,
        count,
        tables,
        supplier: supplier.cloned(),
        zone: shop_zone,
    })
}

/// The vocabulary of a request.
fn vocabulary(
    keys: &RequestKeys,
    supplier: Option<&SupplierId>,
) -> Result<Option<Vocabulary>, DeclarationError> {
    let Some(name) = &keys.vocabulary else { return Ok(None) };
    let vocabulary = Vocabulary::parse(name).map_err(|error| error.under("vocabulary"))?;
    if supplier.is_some() {
        let text =
            "is of a shop's orders, and the role of the source is supplier; expected is tables instead";
        return Err(DeclarationError::new(text).under("vocabulary"));
    }
    // Those of tables; a document of a vocabulary is JSON.
    let of_tables = [
        ("separator", keys.separator.is_some()),
        ("sheet", keys.sheet.is_some()),
        ("header_row", keys.header_row.is_some()),
        ("group", keys.group.is_some()),
        ("numbered", keys.numbered.is_some()),
    ];
    match of_tables.into_iter().find(|(_, is_given)| *is_given) {
        None => Ok(Some(vocabulary)),
        Some((key, _)) => {
            Err(DeclarationError::new(format!("has both vocabulary and {key}; expected is one of them")))
        }
    }
}

fn read_path(text: &str, for_each: Option<Table>) -> Result<Template, DeclarationError> {
    const EXPECTED: &str = r#"a path under the address, such as "orders" or "orders/{order_id}/lines""#;
    if let Some(found) = fault_of_path(text) {
        return Err(DeclarationError::found(format!("{}, which {found}", without_secrets(text)), EXPECTED));
    }
    let template = Template::parse(text)?;
    columns_are_known(&template, for_each)?;
    Ok(template)
}

/// What a path has that none may have, where it has something: a clause behind `which`.
fn fault_of_path(text: &str) -> Option<&'static str> {
    let is_step = text.split('/').any(|segment| segment == "." || segment == "..");
    if text.starts_with('/') {
        Some("begins with a slash")
    } else if text.contains("://") {
        Some("is a whole address")
    } else if text.contains(['?', '#']) {
        Some("has a ? or a # in it: parameters stand under query")
    } else if is_step || text.to_ascii_lowercase().contains("%2e") {
        Some("has a step of dots in it")
    } else if text.contains(['\\', ' ']) || text.contains(char::is_control) {
        Some("has a blank or a backslash in it")
    } else {
        None
    }
}

/// Curly brackets are part of a parameter where it is asked once.
fn read_parameter(name: &str, text: &str, for_each: Option<Table>) -> Result<Template, DeclarationError> {
    if sounds_secret(name) {
        return Err(DeclarationError::new(
            "holds a secret by its name, and addresses are written into logs; expected is how to sign in, under sign_in",
        ));
    }
    if for_each.is_none() {
        return Ok(Template::plain(text));
    }
    let template = Template::parse(text)?;
    columns_are_known(&template, for_each)?;
    Ok(template)
}

fn columns_are_known(template: &Template, for_each: Option<Table>) -> Result<(), DeclarationError> {
    for name in template.columns() {
        let Some(table) = for_each else {
            return Err(DeclarationError::new(format!(
                "has {{{name}}} in it and the request no for_each; expected is for_each too, the table of whose rows it is"
            )));
        };
        if let Err(error) = tables::known_column(table, name) {
            return Err(DeclarationError::new(format!("has {{{name}}} in it, which {}", error.text)));
        }
    }
    Ok(())
}

fn pages(keys: &PagesKeys) -> Result<Pages, DeclarationError> {
    let size = match (&keys.size_ask, keys.size) {
        (Some(ask), Some(size)) => Some((parameter("size_ask", ask)?, page_size(size)?)),
        (None, None) => None,
        (Some(_), None) => {
            return Err(DeclarationError::new(
                "has size_ask and no size; expected is size too, such as size = 100",
            ));
        }
        (None, Some(_)) => {
            return Err(DeclarationError::new(
                "has size and no size_ask; expected is size_ask too, the parameter that asks for it",
            ));
        }
    };
    let by = keys.by.as_str();
    let needed: &[&str] = match by {
        "link" => &[],
        "url" => &["at"],
        "cursor" => &["at", "ask"],
        "number" => &["ask"],
        "offset" => &["ask", "size_ask", "size"],
        _ => {
            let expected = r#""link", "url", "cursor", "number" or "offset""#;
            return Err(DeclarationError::found(shown(by), expected).under("by"));
        }
    };
    let given = [("at", keys.at.is_some()), ("ask", keys.ask.is_some()), ("first", keys.first.is_some())];
    if let Some(missing) = needed.iter().find(|key| match **key {
        "at" => keys.at.is_none(),
        "ask" => keys.ask.is_none(),
        _ => size.is_none(),
    }) {
        return Err(DeclarationError::new(format!(
            "are by {by} and have no {missing}; expected is {} beside it",
            needed.join(", ")
        )));
    }
    let may_stand = |key: &str| needed.contains(&key) || (key == "first" && by == "number");
    if let Some((key, _)) = given.iter().find(|(key, is_given)| *is_given && !may_stand(key)) {
        return Err(DeclarationError::new(format!("are by {by} and have {key}; expected is no {key}")));
    }
    let at = || At::parse(keys.at.as_deref().unwrap_or_default()).map_err(|error| error.under("at"));
    let ask = || parameter("ask", keys.ask.as_deref().unwrap_or_default());
    let next = match by {
        "link" => Next::Link,
        "url" => Next::Url { at: at()? },
        "cursor" => Next::Cursor { at: at()?, ask: ask()? },
        "number" => Next::Number { ask: ask()?, first: first(keys.first)? },
        _ => Next::Offset { ask: ask()? },
    };
    Ok(Pages { next, size })
}

fn parameter(key: &str, name: &str) -> Result<String, DeclarationError> {
    if name.is_empty() {
        return Err(DeclarationError::found("empty", "the name of a parameter").under(key));
    }
    Ok(name.to_owned())
}

fn page_size(size: Whole) -> Result<NonZeroU32, DeclarationError> {
    let number = u32::try_from(size.0).ok().filter(|size| *size <= MAX_PAGE_SIZE).and_then(NonZeroU32::new);
    number.ok_or_else(|| {
        DeclarationError::found(size.0, format!("a number of records from 1 to {MAX_PAGE_SIZE}"))
            .under("size")
    })
}

fn first(first: Option<Whole>) -> Result<u32, DeclarationError> {
    match first {
        None => Ok(1),
        Some(Whole(0)) => Ok(0),
        Some(Whole(1)) => Ok(1),
        Some(Whole(other)) => {
            Err(DeclarationError::found(other, "the number of the first page, 0 or 1").under("first"))
        }
    }
}

fn changes(keys: &ChangesKeys) -> Result<Changes, DeclarationError> {
    Ok(Changes {
        ask: parameter("ask", &keys.ask)?,
        form: MomentForm::parse(&keys.form).map_err(|error| error.under("form"))?,
        overlap: keys
            .overlap
            .as_deref()
            .map_or(Ok(DEFAULT_OVERLAP), span)
            .map_err(|error| error.under("overlap"))?,
    })
}

/// A parameter that is set twice means nothing that anybody could rely on.
fn parameters_differ(
    query: &[(String, Template)],
    pages: &Pages,
    changes: Option<&Changes>,
) -> Result<(), DeclarationError> {
    let next = match &pages.next {
        Next::Cursor { ask, .. } | Next::Number { ask, .. } | Next::Offset { ask } => {
            Some(("pages.ask", ask))
        }
        Next::None | Next::Link | Next::Url { .. } => None,
    };
    let size = pages.size.as_ref().map(|(ask, _)| ("pages.size_ask", ask));
    let since = changes.map(|changes| ("changes.ask", &changes.ask));
    let fixed = query.iter().map(|(name, _)| ("query", name));
    let mut seen: BTreeMap<&str, &str> = BTreeMap::new();
    for (key, name) in fixed.chain(next).chain(size).chain(since) {
        if let Some(other) = seen.insert(name, key) {
            return Err(DeclarationError::new(format!(
                "sets the parameter {} in both {other} and {key}; expected is it once",
                shown(name)
            )));
        }
    }
    Ok(())
}
