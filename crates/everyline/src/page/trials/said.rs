//! A mapping in sentences, with what may be said of it; and what was said, taken.
//!
//! What may be chosen has values by which it comes back: `SOURCE:KIND:TABLE.COLUMN:NUMBER`, of numbers that belong to one state
//! of the mapping. Must not know how a mapping is found. Start reading at [`source`]; [`take`] is the way back.

use std::collections::BTreeMap;

use digest::and;
use intake::propose::{FoundList, How, MissingTable, ProposedField, ProposedTable, SampleColumn};
use toml_edit::{Item, Value};
use web::view::{
    TrialChoice, TrialField, TrialFile, TrialFurther, TrialPoint, TrialSource, TrialTable, TrialWord, Words,
};

use crate::propose::points::{key, meanings, question};
use crate::trial::{Read, ReadSource, Said, Side, words_of};

/// Columns of a table that one can choose from. More stand in the list of no field; a mapping by hand takes them.
const COLUMNS: usize = 150;

/// What is not kept, as far as it is listed.
const NOT_KEPT: usize = 60;

/// Words of a field whose meaning can be changed.
const WORDS: usize = 25;

/// Open points at once; the others come after them.
const POINTS: usize = 30;

/// Letters of a name and of an example.
const LETTERS: usize = 48;

/// What a field is called: at the beginning of a sentence.
fn name(table: &str, column: &str) -> &'static str {
    match (table, column) {
        ("orders", "order_id") => "The order's number",
        ("order_lines", "order_id") => "The order to which a line belongs",
        ("orders", "placed_at") => "When an order was placed",
        ("orders", "paid_at") => "When an order was paid",
        ("orders", "status") => "How an order stands",
        ("orders", "promised_by") => "By when dispatch was promised",
        ("orders", "ship_to_country") => "The country to which it goes",
        ("order_lines", "line_id") => "What tells the lines of an order apart",
        (_, "listing_id") => "The listing",
        ("order_lines" | "offers" | "links", "sku") => "Your SKU",
        (_, "sku") => "The supplier's SKU",
        (_, "title") => "The title",
        ("order_lines" | "offers", "options") => "What a customer can choose",
        (_, "options") => "Size, colour and the like",
        ("order_lines", "quantity") => "How many were bought",
        (_, "cancelled_quantity") => "How many of them were cancelled",
        (_, "unit_price") => "The price of one",
        (_, "price") => "The price",
        (_, "currency") => "The currency",
        (_, "buyable") => "Whether it is on sale",
        (_, "supplier") => "The supplier",
        (_, "variant_id") => "The supplier's code of what it makes",
        (_, "product") => "What the supplier makes",
        (_, "unit_cost") => "What one costs you",
        (_, "available") => "Whether the supplier has it",
        ("submissions", "submission_id") => "The supplier order's number",
        (_, "submission_id") => "The supplier order to which it belongs",
        (_, "order_ref") => "Which of your orders it is for",
        (_, "order_line_ref") => "Which line of your order it is for",
        ("submissions", "status") => "How a supplier order stands",
        (_, "status") => "How a line stands",
        (_, "received_at") => "When the supplier got it",
        (_, "replaces") => "What it makes again",
        ("submission_lines", "line_id") => "What tells the lines of a supplier order apart",
        ("submission_lines", "quantity") => "How many were sent to be made",
        ("parcel_lines", "quantity") => "How many are in the parcel",
        ("links", "units") => "How many of it one needs",
        (_, "quantity") => "How many",
        (_, "parcel_id") => "The parcel's number",
        (_, "submission_line_id") => "Which line of the supplier order is in the parcel",
        (_, "dispatched_at") => "When it was dispatched",
        (_, "carrier") => "Who carries it",
        (_, "tracking_number") => "The number by which it is followed",
        (_, "updated_at") => "When it was changed last",
        _ => "Something more",
    }
}

fn table_name(table: &str) -> &'static str {
    match table {
        "orders" => "Orders",
        "order_lines" => "Lines of orders",
        "offers" => "What is on sale",
        "variants" => "What the supplier makes",
        "submissions" => "Supplier orders",
        "submission_lines" => "Lines of supplier orders",
        "parcels" => "Parcels",
        "parcel_lines" => "What is in the parcels",
        "links" => "Which SKU leads to what",
        "listing_products" => "What listings sell",
        _ => "More",
    }
}

/// Fields that may be there or not, and whose place somebody can say. Source: README.md, 'The tables'.
fn may_be_there(table: &str) -> &'static [&'static str] {
    match table {
        "orders" => &["paid_at", "currency", "promised_by", "ship_to_country", "updated_at"],
        "order_lines" => &["listing_id", "sku", "title", "options", "cancelled_quantity", "unit_price"],
        "offers" => &["sku", "title", "price", "currency", "buyable"],
        "variants" => &["sku", "product", "options", "unit_cost", "currency", "available"],
        "submissions" => &["order_ref", "replaces", "updated_at"],
        "submission_lines" => &["order_ref", "order_line_ref", "variant_id", "sku", "status", "unit_cost"],
        "parcels" => &["carrier", "tracking_number"],
        _ => &[],
    }
}

fn can_be_nowhere(field: &ProposedField) -> bool {
    may_be_there(field.table).contains(&field.column)
        || matches!((field.table, field.column), ("order_lines" | "submission_lines", "line_id"))
}

fn shown(text: &str) -> String {
    digest::isolated(&digest::cut(text, LETTERS)).to_string()
}

/// `the column "Bestellnr."`, or a place of a document.
fn place(name: &str) -> String {
    if name.starts_with('$') {
        format!("the place {}", shown(name))
    } else {
        format!("the column “{}”", shown(name))
    }
}

/// A field in a sentence.
fn sentence(source: &ReadSource, table: &ProposedTable, field: &ProposedField) -> String {
    let name = name(field.table, field.column);
    let value = source.value(field);
    if value.is_none() && field.how == How::Open {
        return format!("{name} is not known yet.");
    }
    let text = value.map(ToString::to_string).unwrap_or_default();
    if text.contains("counted = true") {
        return format!("{name}: they are counted, for nothing in the file says it.");
    }
    let places: Vec<String> = places_of(table, field).iter().map(|name| place(name)).collect();
    let mut sentence = match places.is_empty() {
        true => format!("{name} stands in no column"),
        false => format!("{name} is taken from {}", and(places)),
    };
    let words: Vec<String> = words_of(source, field)
        .into_iter()
        .filter_map(|(word, meaning)| {
            let meaning = meaning.filter(|meaning| !meaning.is_empty())?;
            Some(format!("“{}” means {meaning}", shown(&word)))
        })
        .collect();
    if !words.is_empty() {
        let (some, more) = words.split_at(words.len().min(6));
        sentence += &format!(": {}", some.join(", "));
        if !more.is_empty() {
            sentence += &format!(" and {} more", more.len());
        }
    } else if field.column == "options" {
        let names: Vec<String> =
            value.map(kept_names).unwrap_or_default().iter().map(|name| shown(name)).collect();
        if !names.is_empty() {
            sentence += &format!(": {}", and(names));
        }
    }
    let examples = examples(table, field);
    if !examples.is_empty() && words.is_empty() {
        let examples: Vec<String> = examples.iter().map(|example| shown(example)).collect();
        sentence += &format!(", for example {}", examples.join(", "));
    }
    sentence + "."
}

/// The names of the places of a field; choices may stand in several that are one.
fn places_of(table: &ProposedTable, field: &ProposedField) -> Vec<String> {
    let mut names = Vec::new();
    for (at, name) in field.at.iter().zip(&field.places) {
        let of =
            |at: &str| table.columns.iter().find(|column| column.at == at).map(|column| column.name.clone());
        let several: Option<Vec<String>> = at.split(", ").map(of).collect();
        match several {
            Some(several) if several.len() > 1 => names.extend(several),
            _ => names.push(name.clone()),
        }
    }
    names
}

/// Values of the first place of a field.
fn examples<'t>(table: &'t ProposedTable, field: &ProposedField) -> &'t [String] {
    let column = table.columns.iter().find(|column| Some(&column.at) == field.at.first());
    column.map(|column| column.examples.as_slice()).unwrap_or_default()
}

/// The names of options that are kept.
fn kept_names(value: &Item) -> Vec<String> {
    let Some(keys) = value.as_inline_table() else { return Vec::new() };
    if let Some(columns) = keys.get("columns").and_then(Value::as_inline_table) {
        return columns.iter().map(|(name, _)| name.to_owned()).collect();
    }
    let kept = keys.get("keep").and_then(Value::as_array);
    kept.into_iter().flatten().filter_map(|name| name.as_str().map(str::to_owned)).collect()
}

/// What is open, with what may be said.
pub fn points(read: &Read) -> (Vec<TrialPoint>, u64) {
    let mut points: Vec<TrialPoint> = Vec::new();
    for (number, source) in read.sources.iter().enumerate() {
        points.extend(source.unread.iter().map(|file| of_unread(number, source, file)));
        points
            .extend(source.proposal.missing.iter().filter_map(|missing| of_missing(number, source, missing)));
        // What several fields ask in the same words is asked once.
        let mut same: BTreeMap<(String, Vec<String>), (usize, Vec<String>)> = BTreeMap::new();
        for field in source.open() {
            let about = Words::ours(format!("{}:", name(field.table, field.column)));
            let own = key(field);
            if source.value(field).is_some() {
                for (place, (word, meaning)) in words_of(source, field).into_iter().enumerate() {
                    if meaning.is_none() {
                        points.push(TrialPoint {
                            question: Words::ours(format!("what does “{}” mean?", shown(&word))),
                            about: vec![about.clone()],
                            choices: word_choices(number, field, place, None),
                        });
                    }
                }
                continue;
            }
            let asked = question(field);
            let text = field.question.clone().unwrap_or_else(|| field.why.clone());
            if !are_ways(&asked.choices) {
                points.push(TrialPoint {
                    question: Words::ours(text),
                    about: vec![about],
                    choices: place_choices(number, source, field),
                });
                continue;
            }
            let labels: Vec<String> = asked.choices.iter().map(|(label, _)| label.clone()).collect();
            let (place, keys) =
                same.entry((text.clone(), labels.clone())).or_insert_with(|| (points.len(), Vec::new()));
            keys.push(own);
            let keys = keys.join("+");
            let choices = labels.iter().enumerate().map(|(choice, label)| TrialChoice {
                value: format!("{number}:c:{keys}:{choice}"),
                label: Words::ours(label),
                is_chosen: false,
            });
            let choices = choices.collect();
            match points.get_mut(*place) {
                Some(point) => {
                    point.about.push(about);
                    point.choices = choices;
                }
                None => points.push(TrialPoint { question: Words::ours(text), about: vec![about], choices }),
            }
        }
    }
    let in_all = points.len() as u64;
    points.truncate(POINTS);
    (points, in_all)
}

/// A file of which nothing is read.
fn of_unread(number: usize, source: &ReadSource, file: &str) -> TrialPoint {
    let mut choices = Vec::new();
    for missing in &source.proposal.missing {
        let lists = missing.lists.iter().enumerate();
        choices.extend(lists.filter(|(_, list)| list.place.file == file).map(|(place, list)| {
            let at = list.place.at.as_ref().map(|at| format!(", at {}", shown(at))).unwrap_or_default();
            TrialChoice {
                value: format!("{number}:t:{}:{place}", missing.table),
                label: Words::ours(format!("{}{at}", table_name(missing.table))),
                is_chosen: false,
            }
        }));
    }
    let place = source.proposal.unused.iter().position(|name| name == file).unwrap_or_default();
    choices.push(TrialChoice {
        value: format!("{number}:f:file:{place}"),
        label: Words::ours("nothing that is needed: leave it out"),
        is_chosen: false,
    });
    TrialPoint {
        question: Words::ours("nothing is read of it yet. What is in it?"),
        about: vec![Words::ours(format!("{}:", digest::isolated(file)))],
        choices,
    }
}

/// A table that was not found, or of which was said where it is; what may be in a file of which nothing is read is asked of
/// that file.
fn of_missing(number: usize, source: &ReadSource, missing: &MissingTable) -> Option<TrialPoint> {
    let table = missing.table;
    let is_read = |list: &FoundList| !source.proposal.unused.contains(&list.place.file);
    let mut choices: Vec<TrialChoice> = missing
        .lists
        .iter()
        .enumerate()
        .filter(|(_, list)| is_read(list))
        .map(|(place, list)| TrialChoice {
            value: format!("{number}:t:{table}:{place}"),
            label: Words::outside(digest::cut(list.words(), 3 * LETTERS)),
            is_chosen: missing.said == Some(Some(list.place.clone())),
        })
        .collect();
    if choices.is_empty() && missing.said.is_none() {
        return None;
    }
    choices.push(TrialChoice {
        value: format!("{number}:x:{table}:0"),
        label: Words::ours("nowhere: it is not in the files"),
        is_chosen: missing.said == Some(None),
    });
    Some(TrialPoint {
        question: Words::ours("nothing was found for it by itself; which list of the files is it?"),
        about: vec![Words::ours(format!("{}:", table_name(table)))],
        choices,
    })
}

/// Whether what may be said are ways to read one place, not several places.
fn are_ways(choices: &[(String, String)]) -> bool {
    let at = |value: &str| value.parse::<Value>().ok()?.as_inline_table()?.get("at").map(|at| at.to_string());
    let mut places = choices.iter().map(|(_, value)| at(value));
    match places.next() {
        Some(Some(first)) if choices.len() > 1 => places.all(|other| other.as_ref() == Some(&first)),
        _ => false,
    }
}

/// The table of a field.
fn table_of<'r>(source: &'r ReadSource, field: &ProposedField) -> Option<&'r ProposedTable> {
    let mut tables = source.proposal.requests.iter().flat_map(|request| &request.tables);
    tables.find(|table| {
        table
            .fields
            .iter()
            .any(|own| (own.table, own.column, &own.file) == (field.table, field.column, &field.file))
    })
}

fn place_choices(number: usize, source: &ReadSource, field: &ProposedField) -> Vec<TrialChoice> {
    let own = key(field);
    let Some(table) = table_of(source, field).filter(|table| !table.columns.is_empty()) else {
        return Vec::new();
    };
    let is_known = field.how != How::Open || source.value(field).is_some();
    let mut choices = Vec::new();
    let is_own = |column: &SampleColumn| is_known && field.at.first() == Some(&column.at);
    if is_known && !table.columns.iter().any(is_own) {
        choices.push(TrialChoice { value: String::new(), label: Words::ours("as it says"), is_chosen: true });
    }
    for (place, column) in table.columns.iter().enumerate() {
        if place < COLUMNS || is_own(column) {
            choices.push(TrialChoice {
                value: format!("{number}:p:{own}:{place}"),
                label: Words::outside(&column.name),
                is_chosen: is_own(column),
            });
        }
    }
    if can_be_nowhere(field) {
        let label = if field.column == "line_id" {
            "nowhere: they are counted"
        } else {
            "nowhere: it is not in the file"
        };
        choices.push(TrialChoice {
            value: format!("{number}:n:{own}:0"),
            label: Words::ours(label),
            is_chosen: false,
        });
    }
    choices
}

fn word_choices(number: usize, field: &ProposedField, place: usize, known: Option<&str>) -> Vec<TrialChoice> {
    let choice = |meaning: &&str| TrialChoice {
        value: format!("{number}:w:{}:{place}:{meaning}", key(field)),
        label: Words::ours(said_meaning(meaning)),
        is_chosen: known == Some(meaning),
    };
    let nothing = (known == Some("")).then(|| TrialChoice {
        value: String::new(),
        label: Words::ours("nothing by itself"),
        is_chosen: true,
    });
    nothing.into_iter().chain(meanings(field).iter().map(choice)).collect()
}

fn said_meaning(meaning: &str) -> &str {
    match meaning {
        "unpaid" => "not paid yet",
        "open" => "open: paid, and to be made",
        "received" => "received: the supplier has it",
        "held" => "held: the supplier waits for something",
        "making" => "being made",
        "rejected" => "rejected: the supplier does not make it",
        "true" => "yes",
        "false" => "no",
        other => other,
    }
}

/// A source with its tables.
pub fn source(number: usize, side: &Side, source: &ReadSource) -> TrialSource {
    let of = match side.role.supplier() {
        None => Words::ours("Your storefront"),
        Some(supplier) => Words::ours(format!("The supplier {}", shown(supplier))),
    };
    let files = side.files.iter().zip(&source.rows);
    let requests = source.proposal.requests.iter();
    let tables = requests.flat_map(|request| {
        let last = request.tables.len().saturating_sub(1);
        request.tables.iter().enumerate().map(move |(place, table)| {
            // What is not kept is of the whole file, and said once.
            let ignored: &[String] = if place == last { &request.ignored } else { &[] };
            of_table(number, source, table, ignored)
        })
    });
    TrialSource {
        source: side.source.clone(),
        of,
        supplier: side.role.supplier().map(Words::outside),
        files: files
            .map(|(file, rows)| TrialFile { name: Words::outside(&file.name), rows: *rows })
            .collect(),
        notes: source.proposal.notes.iter().map(Words::ours).collect(),
        tables: tables.collect(),
    }
}

fn of_table(number: usize, source: &ReadSource, table: &ProposedTable, ignored: &[String]) -> TrialTable {
    let mut fields: Vec<&ProposedField> = table.fields.iter().collect();
    // What is open comes first, then what is to be looked at.
    fields.sort_by_key(|field| how(source, field));
    let further = may_be_there(table.table)
        .iter()
        .filter(|column| {
            !table.columns.is_empty() && !table.fields.iter().any(|field| field.column == **column)
        })
        .map(|column| {
            let places = table.columns.iter().enumerate().take(COLUMNS).map(|(place, known)| TrialChoice {
                value: format!("{number}:p:{}.{column}:{place}", table.table),
                label: Words::outside(&known.name),
                is_chosen: false,
            });
            TrialFurther { name: Words::ours(name(table.table, column)), places: places.collect() }
        });
    TrialTable {
        table: table.table,
        name: Words::ours(table_name(table.table)),
        file: Words::outside(table.fields.first().map(|field| field.file.as_str()).unwrap_or_default()),
        fields: fields.into_iter().map(|field| of_field(number, source, table, field)).collect(),
        further: further.collect(),
        not_kept: ignored.iter().take(NOT_KEPT).map(Words::outside).collect(),
        not_kept_in_all: ignored.len() as u64,
    }
}

/// How sure a field is, with what was said.
fn how(source: &ReadSource, field: &ProposedField) -> How {
    match field.how {
        How::Open if source.value(field).is_some() => How::Likely,
        how => how,
    }
}

fn of_field(number: usize, source: &ReadSource, table: &ProposedTable, field: &ProposedField) -> TrialField {
    let how = how(source, field);
    let words = words_of(source, field).into_iter().enumerate().take(WORDS);
    let words = words.map(|(place, (word, meaning))| TrialWord {
        word: Words::outside(&word),
        meanings: word_choices(number, field, place, meaning.as_deref()),
    });
    TrialField {
        field: key(field),
        name: Words::ours(name(field.table, field.column)),
        sentence: Words::ours(sentence(source, table, field)),
        how: how.word(),
        why: Words::ours(&field.why),
        // What words mean is asked word by word.
        doubt: field
            .question
            .as_ref()
            .filter(|_| how == How::Likely && field.unknown_words.is_empty())
            .map(Words::ours),
        places: place_choices(number, source, field),
        words: words.collect(),
    }
}

/// Takes what was chosen; `None` where it is nothing that could be.
pub fn take(read: &Read, answer: &str, all: &mut [Said]) -> Option<()> {
    let mut parts = answer.split(':');
    let source: usize = parts.next()?.parse().ok()?;
    let (kind, keys, number) = (parts.next()?, parts.next()?, parts.next()?.parse::<usize>().ok()?);
    let meaning = parts.next();
    if parts.next().is_some() {
        return None;
    }
    let (read, said) = (read.sources.get(source)?, all.get_mut(source)?);
    if kind == "f" && meaning.is_none() {
        said.left_out.insert(read.proposal.unused.get(number)?.clone());
        return Some(());
    }
    if matches!(kind, "t" | "x") && meaning.is_none() {
        let missing = read.proposal.missing.iter().find(|missing| missing.table == keys)?;
        let list = match kind {
            "t" => Some(missing.lists.get(number)?.place.clone()),
            _ => None,
        };
        // What was said of its fields is of another list.
        let prefix = format!("{keys}.");
        said.places.retain(|own, _| !own.starts_with(&prefix));
        said.words.retain(|own, _| !own.starts_with(&prefix));
        said.choices.retain(|own, _| !own.starts_with(&prefix));
        said.lists.insert(keys.to_owned(), list);
        return Some(());
    }
    for own in keys.split('+') {
        let (table_name, column) = own.split_once('.')?;
        let mut tables = read.proposal.requests.iter().flat_map(|request| &request.tables);
        let table = tables.find(|table| table.table == table_name)?;
        let field = table.fields.iter().find(|field| field.column == column);
        match (kind, meaning) {
            ("p", None) => {
                field.map(|_| ()).or_else(|| may_be_there(table.table).contains(&column).then_some(()))?;
                let place = table.columns.get(number)?.at.clone();
                said.choices.remove(own);
                said.words.remove(own);
                said.places.insert(own.to_owned(), place);
            }
            ("n", None) => {
                field.filter(|field| can_be_nowhere(field))?;
                said.places.insert(own.to_owned(), String::new());
            }
            ("c", None) => {
                let (label, _) = field?.choices.get(number)?;
                said.choices.insert(own.to_owned(), label.clone());
            }
            ("w", Some(meaning)) => {
                let field = field.filter(|field| meanings(field).contains(&meaning))?;
                let (word, _) = words_of(read, field).into_iter().nth(number)?;
                said.words.entry(own.to_owned()).or_default().insert(word, meaning.to_owned());
            }
            _ => return None,
        }
    }
    Some(())
}
