//! From addresses to the source that reads them: what they answer, how pages follow each other, how changes are asked for.
//!
//! Few requests are made ([`MAX_REQUESTS`], of all kinds together); nothing is kept. A way of paging stands in what is
//! proposed only where a further page came of it, and a parameter for changes only where the answer obeyed it; what was not
//! found, or not tried, is said in a note. `given` splits addresses, `answer` is what is looked at of an answer, `tries`
//! asks, `pages` and `changes` say what for, `names` has the names that are usual, and `write` makes lines of
//! configuration. Must not know the command line, nor how a sign-in works. Start reading at [`connect`].

mod answer;
mod changes;
mod given;
mod names;
mod pages;
mod tries;
mod write;

use std::sync::Arc;

use chrono_tz::Tz;
use serde_json::Value;
use thiserror::Error;

pub use given::{Given, GivenError, Target};

use crate::export::{Export, Form, Kind};
use crate::propose::{Asked, Proposal, ProposedRequest, Sample, propose_answers};
use crate::source::declare::At;
use crate::source::http::{Answer, Client, Few, Json, Trouble, Validators};
use answer::{CountAt, Lean, Signs};
use changes::Changing;
use pages::{Paged, Style};
use tries::{Came, Tries};

/// How many requests are made for one proposal, over all addresses: further tries, redirections and requests for tokens
/// count too. It is as many as a person makes who tries a service by hand, and no service minds so few.
pub const MAX_REQUESTS: u32 = 10;

/// Why nothing is proposed.
#[derive(Debug, Error)]
pub enum ConnectError {
    /// An address did not answer.
    #[error("{name} gave no answer that can be read: {trouble}")]
    NoAnswer {
        /// What the address is called.
        name: String,
        /// Why.
        trouble: Trouble,
    },
    /// No table was found.
    #[error("no table was found in what came of {names}: orders need an id and a time for each")]
    NoTable {
        /// What the addresses are called.
        names: String,
    },
}

/// What was found.
#[derive(Debug)]
pub struct Connected {
    /// The mapping; its requests have their paths, and how they are asked, and its source still needs its address.
    pub proposal: Proposal,
    /// How each request is asked, in the order of the proposal's.
    pub ways: Vec<Way>,
    /// How many requests were made.
    pub requests: u32,
}

/// How a request is asked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Way {
    /// The name of the request.
    pub request: String,
    /// The path under the address of the source.
    pub path: String,
    /// Parameters that are always the same.
    pub query: Vec<(String, String)>,
    /// How pages follow each other, as a value of configuration; `None`: one answer is all.
    pub pages: Option<String>,
    /// How changes are asked for, likewise; `None`: all is read each time.
    pub changes: Option<String>,
    /// Where it is said how many records there are, as a line of configuration.
    pub count: Option<String>,
    /// What was found and what was not, in sentences.
    pub notes: Vec<String>,
}

/// An address that answered, and what was found of it.
struct Seen<'t> {
    target: &'t Target,
    first: Json,
    /// What came of it, with further pages.
    value: Value,
    lean: Option<Lean>,
    signs: Signs,
    paged: Option<Paged>,
    changing: Option<Changing>,
}

/// Asks addresses, and proposes how to read them at every poll.
///
/// `client` must ask through `few`, which counts; `asked.folder` is not used. `known` are parameters for changes that the
/// same service is known to obey elsewhere: they are tried first.
///
/// # Errors
/// [`ConnectError`].
pub async fn connect(
    client: &Client,
    few: &Arc<Few>,
    given: &Given,
    asked: &Asked,
    known: &[String],
) -> Result<Connected, ConnectError> {
    let began = few.left();
    let mut seen = first_answers(client, few, given).await?;
    let mut proposal = proposed(&seen, asked);
    if proposal.requests.is_empty() {
        let names: Vec<&str> = given.targets.iter().map(|target| target.name.as_str()).collect();
        return Err(ConnectError::NoTable { names: names.join(", ") });
    }
    let zone = asked.zone.unwrap_or(Tz::UTC);
    for one in &mut seen {
        one.lean = request_of(&proposal, one.target).and_then(|request| Lean::of(request, zone));
        if let Some(lean) = &one.lean {
            one.signs = Signs::of(&one.first, lean);
        }
    }
    let mut tries = Tries { client, few, stopped: None };
    try_all(&mut tries, &mut seen, known).await;
    read_on(&mut tries, &mut seen).await;
    // More records say more, but what was tried stays what it was tried for.
    let again = proposed(&seen, asked);
    if is_the_same(&proposal, &again) {
        proposal = again;
    }
    let mut ways = Vec::new();
    for request in &mut proposal.requests {
        let Some(one) = seen.iter().find(|one| is_of(request, one.target)) else { continue };
        let way = write::way(&request.name, one, tries.stopped.as_ref());
        request.head = write::head(&way);
        ways.push(way);
    }
    let requests = began - few.left();
    proposal.notes.push(format!(
        "Asked with {requests} of at most {MAX_REQUESTS} requests; what stands under pages, changes and count was tried \
         with them."
    ));
    Ok(Connected { proposal, ways, requests })
}

/// What each address answers first, for a mapping that there is already: nothing else is tried.
///
/// # Errors
/// As [`connect`].
pub async fn proposed_again(
    client: &Client,
    few: &Arc<Few>,
    given: &Given,
    asked: &Asked,
) -> Result<Proposal, ConnectError> {
    Ok(proposed(&first_answers(client, few, given).await?, asked))
}

async fn first_answers<'t>(
    client: &Client,
    few: &Arc<Few>,
    given: &'t Given,
) -> Result<Vec<Seen<'t>>, ConnectError> {
    let mut seen = Vec::new();
    for (number, target) in given.targets.iter().enumerate() {
        let rest = (given.targets.len() - number) as u32;
        let mut came = client.get(&target.url, &Validators::default()).await;
        // Once more, where the others can still be asked too.
        if let Err(trouble) = &came
            && trouble.may_pass()
            && few.left() > rest
        {
            let now = client.world().now();
            let wait = trouble.not_before().map(|moment| (moment - now).to_std().unwrap_or_default());
            let wait = wait.unwrap_or(client.limits().first_wait);
            if wait <= client.limits().longest_retry_after {
                client.world().sleep(wait).await;
                came = client.get(&target.url, &Validators::default()).await;
            }
        }
        let no_answer = |trouble| ConnectError::NoAnswer { name: target.name.clone(), trouble };
        let first = match came {
            Ok(Answer::Json(json)) => *json,
            Ok(Answer::Unchanged { .. }) => return Err(no_answer(Trouble::Refused { status: 304 })),
            Err(trouble) => return Err(no_answer(trouble)),
        };
        let value = first.body.clone();
        let signs = Signs::default();
        seen.push(Seen { target, first, value, lean: None, signs, paged: None, changing: None });
    }
    Ok(seen)
}

fn proposed(seen: &[Seen<'_>], asked: &Asked) -> Proposal {
    let form = Form { kind: Kind::Json, encoding: None, separator: None, sheet: None, header_row: None };
    let sample = |one: &Seen<'_>| Sample {
        name: one.target.name.clone(),
        export: Export {
            form: form.clone(),
            value: one.value.clone(),
            header: None,
            lines: Vec::new(),
            passed_over: Vec::new(),
        },
    };
    propose_answers(&seen.iter().map(sample).collect::<Vec<_>>(), asked)
}

fn is_of(request: &ProposedRequest, target: &Target) -> bool {
    let mut fields = request.tables.iter().flat_map(|table| &table.fields);
    fields.next().is_some_and(|field| field.file == target.name)
}

fn request_of<'p>(proposal: &'p Proposal, target: &Target) -> Option<&'p ProposedRequest> {
    proposal.requests.iter().find(|request| is_of(request, target))
}

/// Whether two proposals find the same tables at the same places, with the same keys and times of change.
fn is_the_same(one: &Proposal, other: &Proposal) -> bool {
    let places = |proposal: &Proposal| -> Vec<(String, &'static str, String, Vec<String>)> {
        let requests = proposal.requests.iter();
        let tables = requests.flat_map(|request| request.tables.iter().map(move |table| (request, table)));
        tables
            .map(|(request, table)| {
                let tried = table.fields.iter().filter(|field| field.column == "updated_at");
                let at = tried.flat_map(|field| field.at.clone()).collect();
                (request.name.clone(), table.table, table.at.clone(), at)
            })
            .collect()
    };
    places(one) == places(other)
}

/// How much there is to gain of trying an address: what most is missing of, then what most depends on.
fn gain(one: &Seen<'_>) -> (bool, u64, usize) {
    let records = one.lean.as_ref().map_or(0, |lean| lean.keys(&one.first.body).len());
    let missing = one.signs.counts.iter().map(|(_, count)| count.saturating_sub(records as u64)).max();
    let order = ["orders", "submissions", "order_lines", "submission_lines", "parcels", "parcel_lines"];
    let table = one.lean.as_ref().map_or("", |lean| lean.table);
    let rank = order.iter().position(|known| *known == table).unwrap_or(order.len());
    (one.signs.of_more(records).is_some(), missing.unwrap_or_default(), order.len() - rank)
}

/// Pages that an answer speaks of first, then changes, then pages that nothing is said of.
async fn try_all(tries: &mut Tries<'_>, seen: &mut [Seen<'_>], known: &[String]) {
    let mut order: Vec<usize> = (0..seen.len()).filter(|at| seen[*at].lean.is_some()).collect();
    order.sort_by_key(|at| std::cmp::Reverse(gain(&seen[*at])));
    let (mut styles, mut parameters): (Vec<Style>, Vec<String>) = (Vec::new(), known.to_vec());
    for is_thorough in [false, true] {
        for at in &order {
            let one = &mut seen[*at];
            let Some(lean) = &one.lean else { continue };
            if !matches!(one.paged, None | Some(Paged::NotTried)) {
                continue;
            }
            let base = &one.target.url;
            let paged = tries.pages(base, &one.first, lean, &one.signs, &styles, is_thorough).await;
            if let Paged::Proven(proven) = &paged
                && !styles.contains(&proven.style)
            {
                styles.push(proven.style.clone());
            }
            one.paged = Some(paged);
        }
        if is_thorough {
            return;
        }
        for at in &order {
            let one = &mut seen[*at];
            let Some(lean) = &one.lean else { continue };
            let base = &one.target.url;
            let changing = tries.changes(base, &one.first, lean, &one.signs, &parameters).await;
            if let Changing::Obeyed(obeyed) = &changing
                && !parameters.contains(&obeyed.template())
            {
                parameters.push(obeyed.template());
            }
            one.changing = Some(changing);
        }
    }
}

/// Takes the pages that came, and what is left of the requests for further ones: more records say more of the mapping.
async fn read_on(tries: &mut Tries<'_>, seen: &mut [Seen<'_>]) {
    let mut open: Vec<(usize, Style, Option<Json>, u64)> = Vec::new();
    for (at, one) in seen.iter_mut().enumerate() {
        let (Some(Paged::Proven(proven)), Some(lean)) = (&one.paged, &one.lean) else { continue };
        join(&mut one.value, &proven.page.body, lean);
        let next = proven.style.behind(&one.target.url, &proven.page, 1, lean);
        if let Some(next) = next
            && let Came::Json(page) = tries.ask(&next).await
        {
            join(&mut one.value, &page.body, lean);
            open.push((at, proven.style.clone(), Some(*page), 2));
        }
    }
    while tries.may_go_on() && open.iter().any(|(.., page, _)| page.is_some()) {
        for (at, style, page, number) in &mut open {
            let Some(last) = page.take() else { continue };
            let one = &mut seen[*at];
            let Some(lean) = &one.lean else { continue };
            let Some(next) = style.behind(&one.target.url, &last, *number, lean) else { continue };
            let Came::Json(came) = tries.ask(&next).await else { continue };
            *number += 1;
            if join(&mut one.value, &came.body, lean) > 0 {
                *page = Some(*came);
            }
        }
    }
}

/// Adds the records of a page that are not there yet. Answers how many.
fn join(value: &mut Value, page: &Value, lean: &Lean) -> usize {
    let known: std::collections::BTreeSet<String> = lean.keys(value).into_iter().collect();
    let list = lean.at.as_str().strip_suffix("[*]").and_then(|list| At::parse(list).ok());
    let Some(pointer) = list.and_then(|list| list.pointer(value)) else { return 0 };
    let Some(Value::Array(records)) = value.pointer_mut(&pointer) else { return 0 };
    let before = records.len();
    let keys = lean.keys(page);
    let new = lean.at.all(page).into_iter().zip(keys).filter(|(_, key)| !known.contains(key));
    records.extend(new.map(|(record, _)| record.clone()));
    records.len() - before
}

/// Where it is said how many records there are, where that fits all that came.
fn count(one: &Seen<'_>) -> Option<CountAt> {
    let lean = one.lean.as_ref()?;
    let records = lean.keys(&one.first.body).len() as u64;
    let fits = |(at, count): &&(CountAt, u64)| {
        let of = |signs: &Signs| signs.counts.iter().find(|(known, _)| known == at).map(|(_, count)| *count);
        let fits_pages = match &one.paged {
            // On every page the same, and more than one page has.
            Some(Paged::Proven(proven)) => {
                *count > records && of(&Signs::of(&proven.page, lean)) == Some(*count)
            }
            Some(Paged::NotFound(_) | Paged::NotTried) => *count > records,
            Some(Paged::Whole(_) | Paged::NoSign) | None => {
                *count == records && !at.may_be_of_page(records as usize)
            }
        };
        // Of what changed, it must count what changed.
        let fits_changes = match &one.changing {
            Some(Changing::Obeyed(obeyed)) => of(&obeyed.signs).is_some_and(|some| {
                some < *count
                    && if obeyed.came.0 < records as usize {
                        some == obeyed.came.0 as u64
                    } else {
                        some >= obeyed.came.0 as u64
                    }
            }),
            _ => true,
        };
        fits_pages && fits_changes
    };
    one.signs.counts.iter().find(fits).map(|(at, _)| at.clone())
}
