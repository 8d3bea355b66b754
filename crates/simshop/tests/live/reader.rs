//! A tiny reader that follows the mappings of the configuration and nothing else: so it shows that these are whole
//! and right. It has no retries, limits or marks. Start reading at [`Reader::read`].

use std::collections::{BTreeMap, BTreeSet};
use std::net::SocketAddr;

use chrono::{DateTime, SecondsFormat, Utc};
use data_encoding::BASE64;
use rust_decimal::Decimal;
use serde_json::{Map, Value};
use simshop::live::{Serving, World};

use crate::http::{Answer, get};

/// Table to key to row, as JSON Lines of exchange files have it.
pub type Tables = BTreeMap<String, BTreeMap<String, Map<String, Value>>>;

/// The columns that name a row.
pub fn key_columns(table: &str) -> &'static [&'static str] {
    match table {
        "orders" => &["order_id"],
        "order_lines" => &["order_id", "line_id"],
        "offers" => &["listing_id", "options"],
        "variants" => &["supplier", "variant_id"],
        "submissions" => &["supplier", "submission_id"],
        "submission_lines" => &["supplier", "submission_id", "line_id"],
        "parcels" => &["supplier", "parcel_id"],
        "parcel_lines" => &["supplier", "parcel_id", "submission_line_id"],
        _ => panic!("no table {table}"),
    }
}

pub fn key(table: &str, row: &Map<String, Value>) -> String {
    let columns =
        key_columns(table).iter().map(|column| row.get(*column).unwrap_or(&Value::Null).to_string());
    columns.collect::<Vec<_>>().join(" ")
}

pub struct Reader {
    configuration: toml::Table,
    secrets: BTreeMap<&'static str, String>,
    /// What has been read.
    pub tables: Tables,
    /// For each order the texts of which a digest would be made.
    pub digested: BTreeMap<String, Vec<String>>,
    /// All answers as they came.
    pub raw: String,
}

impl Reader {
    pub fn new(world: &World, serving: &Serving) -> Self {
        Self {
            configuration: world.configuration(serving).parse().expect("the configuration is TOML"),
            secrets: world.secrets().into_iter().collect(),
            tables: Tables::new(),
            digested: BTreeMap::new(),
            raw: String::new(),
        }
    }

    /// Asks each source for everything, or where changes can be asked for, for those since a moment. What a source
    /// can only give as a whole replaces what was there.
    pub async fn read(&mut self, since: Option<DateTime<Utc>>) -> Result<(), String> {
        let sources = self.configuration["sources"].as_table().unwrap().clone();
        for source in sources.values() {
            let requests = source["requests"].as_table().unwrap();
            let mut brought = Tables::new();
            let (own, for_each): (Vec<_>, Vec<_>) =
                requests.values().partition(|request| request.get("for_each").is_none());
            for request in own.into_iter().chain(for_each) {
                let rows = self.request(source, request, &brought, since).await?;
                for (table, rows) in rows {
                    if request.get("changes").is_none() && request.get("for_each").is_none() {
                        let supplier = source.get("supplier").and_then(toml::Value::as_str);
                        self.tables
                            .entry(table.clone())
                            .or_default()
                            .retain(|_, row| row.get("supplier").and_then(Value::as_str) != supplier);
                    }
                    self.tables.entry(table.clone()).or_default().extend(rows.clone());
                    brought.entry(table).or_default().extend(rows);
                }
            }
        }
        Ok(())
    }

    async fn request(
        &mut self,
        source: &toml::Value,
        request: &toml::Value,
        brought: &Tables,
        since: Option<DateTime<Utc>>,
    ) -> Result<Tables, String> {
        let path = text(request, "path");
        let paths: Vec<String> = match request.get("for_each").and_then(toml::Value::as_str) {
            None => vec![path.to_owned()],
            Some(table) => {
                let rows = brought.get(table).into_iter().flat_map(BTreeMap::values);
                let filled = |row: &Map<String, Value>| {
                    row.iter().fold(path.to_owned(), |path, (column, value)| {
                        path.replace(&format!("{{{column}}}"), value.as_str().unwrap_or_default())
                    })
                };
                rows.map(filled).collect()
            }
        };
        let mut all = Tables::new();
        for path in paths {
            self.pages(source, request, &path, since, &mut all).await?;
        }
        Ok(all)
    }

    /// All pages of one path.
    async fn pages(
        &mut self,
        source: &toml::Value,
        request: &toml::Value,
        path: &str,
        since: Option<DateTime<Utc>>,
        all: &mut Tables,
    ) -> Result<(), String> {
        let base = text(source, "address").strip_prefix("http://").unwrap();
        let (address, root) = base.split_once('/').unwrap();
        let address: SocketAddr = address.parse().unwrap();
        let mut query: Vec<(String, String)> = Vec::new();
        if let (Some(changes), Some(since)) = (request.get("changes"), since) {
            let since = match text(changes, "form") {
                "rfc3339" => since.to_rfc3339(),
                "epoch_seconds" => since.timestamp().to_string(),
                "epoch_milliseconds" => since.timestamp_millis().to_string(),
                form => panic!("{form}"),
            };
            query.push((text(changes, "ask").to_owned(), since));
        }
        let pages = request.get("pages");
        if let Some(pages) = pages {
            query.push((text(pages, "size_ask").to_owned(), pages["size"].as_integer().unwrap().to_string()));
        }
        let mut seen = BTreeSet::new();
        let mut offset = 0;
        let mut next = Some(format!("/{root}{path}{}", written(&query)));
        while let Some(target) = next.take() {
            let answer = self.ask(source, address, &target).await?;
            let body = answer.json().ok_or("not JSON")?;
            let before = seen.len();
            let records = self.rows(source, request, &body, &mut seen, all)?;
            let said = count(request, &answer, &body);
            let by = pages.map(|pages| (pages, text(pages, "by")));
            match by {
                None => {}
                Some((_, "link")) => {
                    let link = answer.header("link").unwrap();
                    let link = link.split(", ").find(|link| link.ends_with("; rel=\"next\""));
                    let link = link.map(|link| link.trim_start_matches('<').split('>').next().unwrap());
                    next = link.map(|link| {
                        link.strip_prefix(&format!("http://{address}")).unwrap_or(link).to_owned()
                    });
                }
                Some((pages, "cursor")) => {
                    next = scalar(&found(&body, text(pages, "at"))).map(|cursor| {
                        let mut query = query.clone();
                        query.push((text(pages, "ask").to_owned(), cursor));
                        format!("/{root}{path}{}", written(&query))
                    });
                }
                Some((pages, "offset")) => {
                    let size = pages["size"].as_integer().unwrap();
                    offset += size;
                    if records as i64 == size {
                        let mut query = query.clone();
                        query.push((text(pages, "ask").to_owned(), offset.to_string()));
                        next = Some(format!("/{root}{path}{}", written(&query)));
                    }
                }
                Some((_, by)) => panic!("{by}"),
            }
            if next.is_some() && seen.len() == before {
                return Err("a page brought nothing new and is followed".to_owned());
            }
            if next.is_none() && said.is_some_and(|said| said != seen.len() as i64) {
                return Err(format!("{path}: {said:?} were counted and {} came", seen.len()));
            }
        }
        Ok(())
    }

    async fn ask(&mut self, source: &toml::Value, address: SocketAddr, path: &str) -> Result<Answer, String> {
        let sign_in = &source["sign_in"];
        let secret = &self.secrets[text(&sign_in["secret"], "environment")];
        let header = match sign_in.get("user").and_then(toml::Value::as_str) {
            Some(user) => {
                let basic = BASE64.encode(format!("{user}:{secret}").as_bytes());
                ("Authorization".to_owned(), format!("Basic {basic}"))
            }
            None => {
                let before = sign_in.get("before").and_then(toml::Value::as_str).unwrap_or_default();
                (text(sign_in, "header").to_owned(), format!("{before}{secret}"))
            }
        };
        let answer = get(address, path, &[header]).await.map_err(|error| error.to_string())?;
        if answer.status != 200 {
            return Err(format!("{path}: status {}", answer.status));
        }
        self.raw.push_str(&String::from_utf8_lossy(&answer.body));
        Ok(answer)
    }

    /// Adds the rows of one answer; returns how many records the first table has there.
    fn rows(
        &mut self,
        source: &toml::Value,
        request: &toml::Value,
        body: &Value,
        seen: &mut BTreeSet<String>,
        all: &mut Tables,
    ) -> Result<usize, String> {
        let tables = request["tables"].as_table().unwrap();
        let mut records = 0;
        for (name, table) in tables.iter().filter(|(_, table)| table.get("within").is_none()) {
            for record in found(body, text(table, "at")) {
                records += 1;
                let key = self.row(source, tables, name, record, &Map::new(), all)?;
                seen.insert(key);
            }
        }
        Ok(records)
    }

    /// Adds a record's row and those within it; returns its key.
    fn row(
        &mut self,
        source: &toml::Value,
        tables: &toml::Table,
        name: &str,
        record: &Value,
        parents: &Map<String, Value>,
        all: &mut Tables,
    ) -> Result<String, String> {
        let mut row = Map::new();
        for column in key_columns_taken(name) {
            if let Some(value) = parents.get(*column) {
                row.insert((*column).to_owned(), value.clone());
            }
        }
        if let Some(supplier) = source.get("supplier").and_then(toml::Value::as_str) {
            row.insert("supplier".to_owned(), supplier.into());
        }
        let currency = record.get("currency").or(parents.get("currency")).and_then(Value::as_str);
        for (column, field) in tables[name]["fields"].as_table().unwrap() {
            if let Some(texts) = field.get("digest_of").and_then(toml::Value::as_array) {
                let texts = texts.iter().filter_map(|at| scalar(&found(record, at.as_str()?))).collect();
                let order = row.get("order_id").or(record.get("number")).and_then(Value::as_str).unwrap();
                self.digested.insert(order.to_owned(), texts);
            } else if let Some(value) = field_of(column, field, record, currency)? {
                row.insert(column.clone(), value);
            }
        }
        for (inner, table) in tables.iter() {
            if table.get("within").and_then(toml::Value::as_str) == Some(name) {
                for record in found(record, text(table, "at")) {
                    self.row(source, tables, inner, record, &row, all)?;
                }
            }
        }
        let key = key(name, &row);
        all.entry(name.to_owned()).or_default().insert(key.clone(), row);
        Ok(key)
    }
}

/// Which columns a row takes from what it stands within.
fn key_columns_taken(table: &str) -> &'static [&'static str] {
    match table {
        "parcels" => &["submission_id"],
        _ => key_columns(table),
    }
}

fn field_of(
    column: &str,
    field: &toml::Value,
    record: &Value,
    currency: Option<&str>,
) -> Result<Option<Value>, String> {
    if column == "options" {
        return Ok(Some(Value::Object(options(field, record))));
    }
    let at = field.as_str().or(field.get("at").and_then(toml::Value::as_str)).unwrap();
    let values = found(record, at);
    let value = match values.as_slice() {
        [] | [Value::Null] => return Ok(None),
        [value] => *value,
        _ => return Err(format!("{at} finds several")),
    };
    let said = scalar(&values).ok_or_else(|| format!("{column}: {value} is no scalar"))?;
    let wrong = || format!("{column}: {said} does not fit");
    if let Some(words) = field.get("words") {
        let word = words.get(&said).and_then(toml::Value::as_str).ok_or_else(wrong)?;
        return Ok(Some(word.parse::<bool>().map_or(word.into(), Value::Bool)));
    }
    Ok(Some(match column {
        "buyable" | "available" => value.as_bool().ok_or_else(wrong)?.into(),
        "quantity" | "cancelled_quantity" => value.as_u64().ok_or_else(wrong)?.into(),
        "unit_price" | "price" | "unit_cost" => {
            let amount: Decimal = said.parse().map_err(|_| wrong())?;
            let digits = match field.get("money").and_then(toml::Value::as_str) {
                Some("minor") => u32::from(currency.unwrap().parse::<model::Currency>().unwrap().digits()),
                _ => 0,
            };
            (amount / Decimal::from(10_i64.pow(digits))).normalize().to_string().into()
        }
        _ if column.ends_with("_at") || column == "promised_by" => {
            let number = || said.parse::<i64>().map_err(|_| wrong());
            let time = match field.get("time").and_then(toml::Value::as_str) {
                Some("epoch_seconds") => DateTime::from_timestamp(number()?, 0),
                Some("epoch_milliseconds") => DateTime::from_timestamp_millis(number()?),
                _ => DateTime::parse_from_rfc3339(&said).ok().map(|time| time.to_utc()),
            };
            time.ok_or_else(wrong)?.to_rfc3339_opts(SecondsFormat::AutoSi, true).into()
        }
        _ => said.into(),
    }))
}

fn options(field: &toml::Value, record: &Value) -> Map<String, Value> {
    let kept = |name: &str| {
        field
            .get("keep")
            .is_none_or(|keep| keep.as_array().unwrap().iter().any(|kept| kept.as_str() == Some(name)))
    };
    let mut pairs: Vec<(String, String)> = Vec::new();
    if let Some(at) = field.get("pairs_at").and_then(toml::Value::as_str) {
        for pair in found(record, at) {
            let side = |side| scalar(&found(pair, text(field, side)));
            pairs.extend(side("name").zip(side("value")));
        }
    }
    if let Some(at) = field.get("object_at").and_then(toml::Value::as_str) {
        for (name, value) in found(record, at).into_iter().filter_map(Value::as_object).flatten() {
            pairs.extend(value.as_str().map(|value| (name.clone(), value.to_owned())));
        }
    }
    for (name, at) in field.get("columns").and_then(toml::Value::as_table).into_iter().flatten() {
        pairs.extend(scalar(&found(record, at.as_str().unwrap())).map(|value| (name.clone(), value)));
    }
    pairs.into_iter().filter(|(name, _)| kept(name)).map(|(name, value)| (name, value.into())).collect()
}

fn count(request: &toml::Value, answer: &Answer, body: &Value) -> Option<i64> {
    let by_header = request.get("count_header").and_then(toml::Value::as_str);
    let by_path = request.get("count").and_then(toml::Value::as_str);
    let said = by_header.and_then(|name| answer.header(name)).map(str::to_owned);
    said.or_else(|| scalar(&found(body, by_path?)))?.parse().ok()
}

fn written(query: &[(String, String)]) -> String {
    let encoded = |text: &str| {
        let byte = |byte: u8| match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                char::from(byte).to_string()
            }
            _ => format!("%{byte:02X}"),
        };
        text.bytes().map(byte).collect::<String>()
    };
    let pairs = query.iter().map(|(name, value)| format!("{name}={}", encoded(value)));
    let pairs = pairs.collect::<Vec<_>>().join("&");
    if pairs.is_empty() { pairs } else { format!("?{pairs}") }
}

fn text<'a>(table: &'a toml::Value, key: &str) -> &'a str {
    table.get(key).and_then(toml::Value::as_str).unwrap_or_else(|| panic!("{key} lacks in {table}"))
}

/// Names and `[*]` alone: all that the mappings need of JSONPath.
fn found<'a>(value: &'a Value, path: &str) -> Vec<&'a Value> {
    let rest = path.strip_prefix('$').unwrap();
    let steps = rest.replace("[*]", ".*");
    let mut found = vec![value];
    for step in steps.split('.').filter(|step| !step.is_empty()) {
        found = match step {
            "*" => found.into_iter().filter_map(Value::as_array).flatten().collect(),
            name => found.into_iter().filter_map(|value| value.get(name)).collect(),
        };
    }
    found
}

/// The only value, as text; `None` where it is null, not there, or no scalar.
fn scalar(values: &[&Value]) -> Option<String> {
    match values {
        [Value::String(text)] => Some(text.clone()),
        [value @ (Value::Number(_) | Value::Bool(_))] => Some(value.to_string()),
        _ => None,
    }
}
