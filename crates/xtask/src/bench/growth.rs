//! `cargo xtask bench growth`: what becomes of everyline's time and memory as books and orders grow.
//!
//! Start reading at [`run`].

use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::Context;

use crate::bench::measure::{Measured, measure};
use crate::bench::report::Column::{Number, Text};
use crate::bench::{Programs, RowOrder, books, folder, hostile, machine, report, say};
use crate::tell;

/// A person waits no longer.
const LIMIT: Duration = Duration::from_secs(120);

/// The sizes of ordinary books, in orders.
const SIZES: [usize; 3] = [10_000, 100_000, 1_000_000];

/// A book that is audited.
struct Growing {
    name: String,
    folder: PathBuf,
    configuration: Option<PathBuf>,
}

/// Measures every book whose name holds `only`, once, and prints what happened.
///
/// # Errors
/// Where something cannot be built, written or started; an audit that fails or takes too long is told in its row.
pub fn run(only: Option<&str>) -> anyhow::Result<()> {
    let programs = Programs::build()?;
    let below = folder()?.join("growth");
    let mut growing = Vec::new();
    let asked = |name: &str| only.is_none_or(|only| name.contains(only));
    for orders in SIZES {
        let name = format!("{orders} ordinary orders");
        if asked(&name) {
            programs.bench(&["books", "--orders", &orders.to_string(), "--only", "sorted"])?;
            let folder = books::folder(orders, RowOrder::Sorted)?;
            growing.push(Growing { name, configuration: Some(books::configuration(&folder)), folder });
        }
    }
    programs.bench(&["hostile-books"])?;
    growing.extend(hostile::ALL.iter().filter(|hostile| asked(&hostile.to_string())).map(|hostile| {
        Growing { name: hostile.to_string(), folder: hostile.folder(&below), configuration: None }
    }));
    let answer = below.join("answer.jsonl");
    let mut rows = Vec::new();
    for book in growing {
        tell(&book.name);
        let mut command = programs.audit(&book.folder, book.configuration.as_deref(), &books::as_of());
        let measured = measure(&mut command, &answer, LIMIT)?;
        rows.push(row(book.name, &measured, lines(&answer)?));
    }
    fs::remove_file(&answer).or_else(|error| match error.kind() {
        std::io::ErrorKind::NotFound => Ok(()),
        _ => Err(error),
    })?;
    let head = [
        Text("book"),
        Text("ended"),
        Number("wall s"),
        Number("processor s"),
        Number("peak MB"),
        Number("findings"),
        Text("last line of standard error"),
    ];
    say(&report::markdown(&head, rows));
    say(&format!(
        "One run each. {}. Load {} after; no peak shows below {}, this program's own.",
        machine::describe(),
        machine::load(),
        machine::own_peak()
    ));
    Ok(())
}

fn row(name: String, measured: &Measured, findings: usize) -> Vec<String> {
    let ended = match measured.status {
        Some(status) => status.to_string(),
        None => format!("stopped after {} s", LIMIT.as_secs()),
    };
    vec![
        name,
        ended,
        format!("{:.2}", measured.wall.as_secs_f64()),
        format!("{:.2}", measured.processor.as_secs_f64()),
        format!("{:.0}", report::megabytes(measured.peak_bytes)),
        findings.to_string(),
        measured.last_words.clone(),
    ]
}

/// How many lines a file has, however long they are.
fn lines(path: &Path) -> anyhow::Result<usize> {
    let trouble = || format!("{} cannot be read", path.display());
    let mut reader = BufReader::new(File::open(path).with_context(trouble)?);
    let mut count = 0;
    loop {
        let bytes = reader.fill_buf().with_context(trouble)?;
        if bytes.is_empty() {
            return Ok(count);
        }
        count += bytes.iter().filter(|&&byte| byte == b'\n').count();
        let length = bytes.len();
        reader.consume(length);
    }
}
