//! `everyline source propose --url`: from addresses to a source that is ready to be read.
//!
//! Must not know how it is found out. Start reading at [`propose`].

use intake::connect::{Connected, Way};
use serde_json::{Value, json};

use super::samples::{answers, fields, may_be_written, of_fields, role, write, written, zone};
use super::{Meant, sign_in, under};
use crate::arguments::{ProposeArguments, ProposeFormat, ShopArguments, SignInArguments};
use crate::exit::Exit;
use crate::opened;
use crate::propose::service::{Addresses, NotConnected, Ready};
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// Proposes a source for addresses.
///
/// # Errors
/// Where an address cannot be used or does not answer, no table is found, or the configuration cannot be written.
pub fn propose(asked: &ProposeArguments) -> Result<Exit, Trouble> {
    may_be_written(asked)?;
    let ready = Ready::of(&Addresses {
        urls: &asked.urls,
        name: asked.name.as_deref(),
        role: role(asked)?,
        zone: asked.zone.as_deref().map(zone).transpose()?,
        out: asked.out.as_deref(),
        is_added: asked.add,
        sign_in: asked.sign_in.as_deref(),
        headers: &asked.headers,
        beside: asked.beside.as_deref(),
        answers: answers(&asked.answers)?,
    })?;
    let Some(connected) = opened::run(connected(&ready, asked))? else { return Ok(Exit::Incomplete) };
    let text = ready.file(&connected)?;
    if let Some(out) = &asked.out {
        write(out, &text)?;
    }
    match (asked.format, &asked.out) {
        (ProposeFormat::Json, _) => write_data(&as_json(&connected))?,
        (ProposeFormat::Text, None) => write_data(&text)?,
        (ProposeFormat::Text, Some(out)) => {
            let mut said = of_fields(&connected.proposal);
            for way in &connected.ways {
                said += &under(&format!("request {}, at {}", way.request, way.path), "", "  ");
                for note in &way.notes {
                    said += &under(note, "  ", "    ");
                }
                said.push('\n');
            }
            for note in &connected.proposal.notes {
                said += &under(note, "", "");
            }
            said += &under(&written(&connected.proposal, out), "", "");
            let config = out.display();
            let next = match ready.is_whole(&text) {
                Ok(()) => format!("everyline source check {} --config {config}", ready.name),
                Err(trouble) => {
                    said += &under(&format!("It cannot be used yet: {}", trouble.cause()), "", "");
                    format!("say what is open with --answer and --replace, or in {config}")
                }
            };
            said += &under(&format!("Next: {next}"), "", "");
            write_data(&said)?;
        }
    }
    Ok(Exit::Nothing)
}

/// What was found; `None` where somebody had to sign in first and did not.
async fn connected(ready: &Ready, asked: &ProposeArguments) -> Result<Option<Connected>, Trouble> {
    let trouble = match ready.connect().await {
        Ok(connected) => return Ok(Some(connected)),
        Err(NotConnected::Trouble(trouble)) => return Err(trouble),
        Err(NotConnected::SignedOut(trouble)) => trouble,
    };
    // Standard output is the answer, where that is for a program or is the mapping itself.
    let may_be_told = asked.format == ProposeFormat::Text && asked.out.is_some();
    let (Some(oauth), Some(service), true) = (ready.by_somebody(), ready.service(), may_be_told) else {
        return Err(trouble);
    };
    let meant = Meant {
        shop: ready.shop.clone(),
        settings: ready.settings.clone(),
        name: ready.name.clone(),
        source: ready.source.clone(),
    };
    let of = ShopArguments { config: asked.out.clone().unwrap_or_default(), shop: None };
    let by_browser = SignInArguments { source: ready.name.to_string(), port: None, paste: false, of };
    if sign_in::by_somebody(&meant, service, oauth, &by_browser).await? != Exit::Nothing {
        return Ok(None);
    }
    match ready.connect().await {
        Ok(connected) => Ok(Some(connected)),
        Err(NotConnected::Trouble(trouble) | NotConnected::SignedOut(trouble)) => Err(trouble),
    }
}

fn as_json(connected: &Connected) -> String {
    let requests: Vec<Value> = connected.ways.iter().map(of_way).collect();
    let whole = json!({
        "fields": fields(&connected.proposal),
        "requests": requests,
        "requests_made": connected.requests,
        "notes": connected.proposal.notes,
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn of_way(way: &Way) -> Value {
    let query: serde_json::Map<String, Value> =
        way.query.iter().map(|(name, value)| (name.clone(), Value::from(value.as_str()))).collect();
    json!({
        "request": way.request,
        "path": way.path,
        "query": query,
        "pages": way.pages,
        "changes": way.changes,
        "count": way.count,
        "notes": way.notes,
    })
}
