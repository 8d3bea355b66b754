//! What a proposed mapping leaves open: the questions, and the answers written into it.
//!
//! Only what is answered is changed; the rest of the mapping stays as it is, with its comments. Must not know how a
//! mapping is found, or whom it asks. Start reading at [`settle`].

use std::collections::{BTreeMap, BTreeSet};

use intake::propose::{How, ListPlace, MissingTable, Proposal, ProposedField, text_of_tables};
use toml_edit::{DocumentMut, Item, TableLike, Value};

use crate::trouble::Trouble;

/// What is asked, and what may be said.
pub struct Question {
    /// What it is about, and why it is asked.
    pub text: String,
    /// The field: `table.column`.
    pub field: String,
    /// The word of which it is asked what it means; `None`: it is asked where the field stands.
    pub word: Option<String>,
    /// What may be chosen: in words, and the value that makes.
    pub choices: Vec<(String, String)>,
}

/// `table.column` of a field, by which it is answered.
pub fn key(field: &ProposedField) -> String {
    format!("{}.{}", field.table, field.column)
}

/// The fields of a proposal that are not known and that the mapping does not have.
pub fn open<'p>(document: &DocumentMut, proposal: &'p Proposal) -> Vec<&'p ProposedField> {
    let mut open = Vec::new();
    for request in &proposal.requests {
        for table in &request.tables {
            let fields = fields(document, &proposal.name, &request.name, table.table);
            let has = |column: &str| fields.is_some_and(|fields| fields.get(column).is_some());
            let lacks_words = |field: &ProposedField| {
                let written = fields.and_then(|fields| fields.get(field.column)).map(ToString::to_string);
                field
                    .unknown_words
                    .iter()
                    .any(|word| written.as_ref().is_none_or(|text| !text.contains(word.as_str())))
            };
            open.extend(table.fields.iter().filter(|field| {
                !has(field.column) && field.how == How::Open || has(field.column) && lacks_words(field)
            }));
        }
    }
    open
}

fn fields<'d>(document: &'d DocumentMut, source: &str, request: &str, table: &str) -> Option<&'d Item> {
    document
        .get("sources")?
        .get(source)?
        .get("requests")?
        .get(request)?
        .get("tables")?
        .get(table)?
        .get("fields")
}

/// What is asked of a field.
pub fn question(field: &ProposedField) -> Question {
    let asked = field.question.clone().unwrap_or_else(|| field.why.clone());
    Question {
        text: format!("{}.{}: {asked}", field.table, field.column),
        field: key(field),
        word: None,
        choices: field.choices.clone(),
    }
}

/// The tables that the mapping does not have and that may be in the files.
pub fn missing<'p>(document: &DocumentMut, proposal: &'p Proposal) -> Vec<&'p MissingTable> {
    let has = |table: &str| {
        let requests = requests(document, &proposal.name);
        requests.is_some_and(|requests| {
            requests.iter().any(|(_, request)| request.get("tables").and_then(|all| all.get(table)).is_some())
        })
    };
    let is_open = |missing: &&MissingTable| missing.said.is_none() && !has(missing.table);
    proposal.missing.iter().filter(is_open).collect()
}

fn requests<'d>(document: &'d DocumentMut, source: &str) -> Option<&'d dyn TableLike> {
    document.get("sources")?.get(source)?.get("requests")?.as_table_like()
}

/// What is asked of a table: which of [`MissingTable::lists`] it is, in the words of the list.
pub fn question_of_table(missing: &MissingTable) -> Question {
    Question {
        text: format!(
            "{}: nothing was found for this table. Is it one of these lists? Nothing leaves it out.",
            missing.table
        ),
        field: missing.table.to_owned(),
        word: None,
        choices: missing.lists.iter().map(|list| (list.words(), list.words())).collect(),
    }
}

/// Which list the owner names for each table that was not found; `None`: it is in none.
pub type NamedLists = BTreeMap<String, Option<ListPlace>>;

/// Reads the files again, with the lists that are named.
type Again<'a> = dyn Fn(&NamedLists) -> Result<Proposal, Trouble> + 'a;

/// Asks for each table that was not found, looks anew where one is named, and adds it to the mapping. Answers what is
/// proposed with what was said, and how many tables stay open without which nothing can be judged.
///
/// # Errors
/// Where no answer can be read, the files cannot be read again, or the mapping cannot be added to.
pub fn settle_tables(
    document: &mut DocumentMut,
    proposal: Proposal,
    ask: &mut dyn FnMut(&Question) -> Result<Option<String>, Trouble>,
    again: &Again<'_>,
) -> Result<(Proposal, usize), Trouble> {
    let (mut proposal, mut left) = (proposal, 0);
    let mut said: NamedLists = BTreeMap::new();
    loop {
        // Where one table is known, another may be asked that stands in it.
        let open = missing(document, &proposal).into_iter().find(|open| !said.contains_key(open.table));
        let Some(open) = open.cloned() else { return Ok((proposal, left)) };
        let answer = ask(&question_of_table(&open))?;
        let named = open.lists.iter().find(|list| answer.as_ref() == Some(&list.words()));
        let place = named.map(|list| list.place.clone());
        said.insert(open.table.to_owned(), place.clone());
        if place.is_none() {
            left += usize::from(open.is_needed);
            continue;
        }
        proposal = again(&said)?;
        add_tables(document, &proposal, open.table)?;
    }
}

/// Adds a table that the proposal has to the mapping, with those within it.
fn add_tables(document: &mut DocumentMut, proposal: &Proposal, table: &str) -> Result<(), Trouble> {
    let mut text = document.to_string();
    for request in &proposal.requests {
        let mut tables = BTreeSet::from([table]);
        tables.extend(request.tables.iter().filter(|own| own.within == Some(table)).map(|own| own.table));
        let tables: Vec<&str> = tables.into_iter().collect();
        if !request.tables.iter().any(|own| own.table == table) {
            continue;
        }
        let file = |request: &str| -> Option<String> {
            let document: DocumentMut = request.parse().ok()?;
            Some(document.get("file")?.as_str()?.to_owned())
        };
        let own = file(&request.head);
        let known = requests(document, &proposal.name).and_then(|requests| {
            let is_same = |known: &Item| {
                let form = known.get("file").and_then(Item::as_str);
                form.is_some() && form == own.as_deref()
            };
            requests.iter().find(|(_, known)| is_same(known)).map(|(name, _)| name.to_owned())
        });
        text += &text_of_tables(&proposal.name, request, known.as_deref(), &tables);
    }
    *document = text.parse().map_err(|error: toml_edit::TomlError| {
        Trouble::new(
            format!("the table {table} could not be added to the mapping"),
            error.message().to_owned(),
        )
        .help("add it by hand, as `everyline source propose` writes it")
    })?;
    Ok(())
}

/// Asks each open point, and writes what is said into the mapping. Answers how many stay open.
///
/// # Errors
/// Where no answer can be read.
pub fn settle(
    document: &mut DocumentMut,
    proposal: &Proposal,
    ask: &mut dyn FnMut(&Question) -> Result<Option<String>, Trouble>,
) -> Result<usize, Trouble> {
    let mut left = 0;
    let asked: Vec<ProposedField> = open(document, proposal).into_iter().cloned().collect();
    for field in &asked {
        let request = proposal
            .requests
            .iter()
            .find(|request| {
                request.tables.iter().any(|table| {
                    table.table == field.table
                        && table.fields.iter().any(|known| known.column == field.column)
                })
            })
            .map(|request| request.name.clone())
            .unwrap_or_default();
        if !field.unknown_words.is_empty() {
            for word in &field.unknown_words {
                let text = format!("{}.{}: what does {word:?} mean?", field.table, field.column);
                let choices =
                    meanings(field).iter().map(|meaning| ((*meaning).to_owned(), (*meaning).to_owned()));
                let word_asked = Some(word.clone());
                let asked =
                    Question { text, field: key(field), word: word_asked, choices: choices.collect() };
                let answer = ask(&asked)?;
                match answer {
                    Some(meaning)
                        if set_word(document, (&proposal.name, &request), field, word, &meaning) => {}
                    _ => left += 1,
                }
            }
            continue;
        }
        let answer = ask(&question(field))?;
        let value = answer.and_then(|answer| value_of(&answer));
        match value {
            Some(value) => set(document, (&proposal.name, &request), field, value),
            None => left += 1,
        }
    }
    Ok(left)
}

/// What a word of a field may mean.
pub fn meanings(field: &ProposedField) -> &'static [&'static str] {
    match (field.table, field.column) {
        ("orders", _) => &["unpaid", "open", "dispatched", "cancelled"],
        (_, "status") => &["received", "held", "making", "dispatched", "cancelled", "rejected"],
        _ => &["true", "false"],
    }
}

/// What was said as a value of the mapping: a value of TOML, or a place as it stands.
fn value_of(answer: &str) -> Option<Value> {
    let answer = answer.trim();
    if answer.is_empty() {
        return None;
    }
    match answer.parse::<Value>() {
        Ok(value) if value.is_inline_table() || value.is_str() => Some(value),
        _ if answer.starts_with('$') => Some(Value::from(answer)),
        // The name of a column.
        _ => Some(Value::from(format!("$['{}']", answer.replace('\\', "\\\\").replace('\'', "\\'")))),
    }
}

fn set(document: &mut DocumentMut, (source, request): (&str, &str), field: &ProposedField, value: Value) {
    let fields = &mut document["sources"][source]["requests"][request]["tables"][field.table]["fields"];
    fields[field.column] = Item::Value(value);
}

/// Adds what a word means, in the one place of the field that lists words.
fn set_word(
    document: &mut DocumentMut,
    (source, request): (&str, &str),
    field: &ProposedField,
    word: &str,
    meaning: &str,
) -> bool {
    let fields = &mut document["sources"][source]["requests"][request]["tables"][field.table]["fields"];
    let Some(value) = fields.get_mut(field.column) else { return false };
    if let Some(words) = value.get_mut("words").and_then(Item::as_table_like_mut) {
        words.insert(word, Item::Value(Value::from(meaning)));
        return true;
    }
    // A place of whose words none is known yet has no list of them.
    let words = || Value::InlineTable([(word, Value::from(meaning))].into_iter().collect());
    if let Some(place) = value.as_inline_table_mut().filter(|place| place.contains_key("at")) {
        place.insert("words", words());
        return true;
    }
    let places = value.get_mut("first_of").and_then(Item::as_array_mut);
    for place in places.into_iter().flat_map(|places| places.iter_mut()) {
        let Some(place) = place.as_inline_table_mut() else { continue };
        if let Some(known) = place.get_mut("words").and_then(Value::as_inline_table_mut) {
            known.insert(word, Value::from(meaning));
            return true;
        }
        if place.contains_key("at") && !place.contains_key("there") {
            place.insert("words", words());
            return true;
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::Configuration;
    use intake::export::{Stated, read_bytes};
    use intake::propose::{Answers, Asked, Beside, ProposedRole, Sample, text};

    const ORDERS: &str = "Order No,Date,State,Item,SKU,Qty\n\
        1,02/11/2026,paid,mug,M-1,1\n1,02/11/2026,paid,cap,C-1,2\n2,03/11/2026,paid,mug,M-1,1\n\
        3,04/11/2026,wobbly,cap,C-1,1\n4,05/11/2026,paid,mug,M-2,1\n";

    fn proposal() -> Proposal {
        let export = read_bytes("orders.csv", ORDERS.into(), &Stated::default()).unwrap();
        let asked = Asked {
            name: "shop".into(),
            role: ProposedRole::Storefront,
            zone: None,
            folder: ".".into(),
            beside: Beside::default(),
            answers: Answers::default(),
        };
        intake::propose::propose(&[Sample { name: "orders.csv".into(), export }], &asked)
    }

    #[test]
    fn what_is_open_is_asked_and_what_is_said_is_written_beside_the_remarks() {
        let proposal = proposal();
        let mut document: DocumentMut = text(&proposal).parse().unwrap();
        let mut asked = Vec::new();
        let left = settle(&mut document, &proposal, &mut |question| {
            asked.push(question.text.clone());
            Ok(Some(match question.choices.first() {
                Some((label, value)) if label == "the day first" => value.clone(),
                _ => "cancelled".to_owned(),
            }))
        });
        assert_eq!(left.unwrap(), 0, "{asked:?}");
        assert!(asked.iter().any(|text| text.starts_with("orders.placed_at: Day and month")), "{asked:?}");
        assert!(asked.iter().any(|text| text.contains("what does \"wobbly\" mean")), "{asked:?}");
        let written = document.to_string();
        assert!(written.contains("time = \"%d/%m/%Y\""), "{written}");
        assert!(written.contains("wobbly = \"cancelled\""), "{written}");
        assert!(written.contains("# A mapping that everyline proposes"), "{written}");
        Configuration::parse(&written, "shop.toml").map_err(|trouble| trouble.to_string()).unwrap();
        assert!(open(&document, &proposal).is_empty());
    }

    #[test]
    fn a_table_that_was_not_found_is_asked_for_and_added_to_the_mapping() {
        let runs: Vec<String> = (1..9)
            .map(|run| {
                format!(
                    r#"{{"run_no": "R-{run}00", "your_order": "W-{run}5", "status": "making", "received_at": "2026-11-0{run}T08:30:00Z",
                    "items": [{{"line_no": 1, "product_code": "TE{run}1", "quantity": 3}}],
                    "zz": [{{"q": "P{run}07", "w": "2026-11-1{run}T10:00:00Z", "v": "2026-11-1{run}T11:00:00Z"}}]}}"#
                )
            })
            .collect();
        let export =
            read_bytes("runs.json", format!("[{}]", runs.join(",")).into(), &Stated::default()).unwrap();
        let samples = [Sample { name: "runs.json".into(), export }];
        let again = |lists: &NamedLists| {
            let asked = Asked {
                name: "press".into(),
                role: ProposedRole::Supplier("press".into()),
                zone: None,
                folder: ".".into(),
                beside: Beside::default(),
                answers: Answers { lists: lists.clone(), ..Answers::default() },
            };
            Ok(intake::propose::propose(&samples, &asked))
        };
        let proposal = again(&BTreeMap::new()).unwrap();
        let mut document: DocumentMut = text(&proposal).parse().unwrap();
        let mut asked = Vec::new();
        let (settled, left) = settle_tables(
            &mut document,
            proposal,
            &mut |question| {
                asked.push(question.field.clone());
                let zz = question.choices.iter().find(|(label, _)| label.contains("zz[*] of runs.json: 8"));
                Ok(zz.map(|(_, value)| value.clone()).filter(|_| question.field == "parcels"))
            },
            &again,
        )
        .unwrap();
        assert_eq!((asked.first().map(String::as_str), left), (Some("parcels"), 0), "{asked:?}");
        // What is not clear of it is asked as any other.
        let left = settle(&mut document, &settled, &mut |question| {
            Ok(Some(if question.field.ends_with("dispatched_at") { "$.v" } else { "$.q" }.to_owned()))
        });
        assert_eq!(left.unwrap(), 0);
        let written = document.to_string();
        assert!(written.contains("[sources.press.requests.submissions.tables.parcels]"), "{written}");
        Configuration::parse(&written, "press.toml").map_err(|trouble| trouble.to_string()).unwrap();
        // A table that is not named stays out, also where a number is said that no list has.
        let mut document: DocumentMut = text(&again(&BTreeMap::new()).unwrap()).parse().unwrap();
        let before = document.to_string();
        let proposal = again(&BTreeMap::new()).unwrap();
        settle_tables(&mut document, proposal.clone(), &mut |_| Ok(None), &again).unwrap();
        assert_eq!(document.to_string(), before);
        settle_tables(&mut document, proposal, &mut |_| Ok(Some("0".to_owned())), &again).unwrap();
        assert_eq!(document.to_string(), before);
    }

    #[test]
    fn what_is_not_said_stays_open() {
        let proposal = proposal();
        let before = text(&proposal);
        let mut document: DocumentMut = before.parse().unwrap();
        let left = settle(&mut document, &proposal, &mut |_| Ok(None)).unwrap();
        assert_eq!(left, 2);
        assert_eq!(document.to_string(), before);
    }
}
