//! `cargo xtask bench audit`: everyline beside other ways to the answer, in turns, in one run.
//!
//! The others judge by a simpler rule, which stands in crates/xtask/bench; where they find something else than
//! everyline is counted. Start reading at [`run`].

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, bail, ensure};

use crate::bench::measure::measure;
use crate::bench::report::Column::{Number, Text};
use crate::bench::report::{self, Runs};
use crate::bench::{AuditArguments, Programs, RowOrder, books, folder, machine, say, succeed};
use crate::{root, tell};

/// Longer than any of them should take on a slow machine.
const LIMIT: Duration = Duration::from_secs(900);

/// Who has a try.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Contender {
    Everyline,
    DuckDb,
    Polars,
    /// Only reads and splits.
    Split,
}

impl Contender {
    const ALL: [Self; 4] = [Self::Everyline, Self::DuckDb, Self::Polars, Self::Split];

    fn name(self) -> &'static str {
        match self {
            Self::Everyline => "everyline",
            Self::DuckDb => "DuckDB, 2 threads",
            Self::Polars => "Polars, streaming, 2 threads",
            Self::Split => "only splitting, simd-csv, 2 threads",
        }
    }

    /// The exit codes of an audit that was done.
    fn is_done(self, code: Option<i32>) -> bool {
        code == Some(0) || (self == Self::Everyline && code == Some(1))
    }
}

/// What is needed for every run.
struct Place {
    programs: Programs,
    python: PathBuf,
    answers: PathBuf,
    as_of: String,
}

/// Measures, and prints what came of it.
///
/// # Errors
/// Where something cannot be built or run.
pub fn run(arguments: &AuditArguments) -> anyhow::Result<()> {
    let place = Place {
        programs: Programs::build()?,
        python: python()?,
        answers: folder()?.join("answers"),
        as_of: books::as_of(),
    };
    fs::create_dir_all(&place.answers).context("no folder for the answers could be made")?;
    let orders = arguments.orders.to_string();
    let row_orders = RowOrder::asked(arguments.only);
    for row_order in &row_orders {
        place.programs.bench(&["books", "--orders", &orders, "--only", row_order.word()])?;
        // What comes first would otherwise read from the disk, and the others from memory.
        place.measure(Contender::Split, arguments.orders, *row_order)?;
    }
    let mut all: Vec<(Contender, RowOrder, Runs)> = Vec::new();
    for row_order in &row_orders {
        all.extend(Contender::ALL.map(|contender| {
            let book = format!("{orders} orders, {}", row_order.word());
            (contender, *row_order, Runs { name: contender.name().to_owned(), book, measured: Vec::new() })
        }));
    }
    let load_before = machine::load();
    for round in 1..=arguments.runs {
        tell(&format!("round {round} of {}", arguments.runs));
        for (contender, row_order, runs) in &mut all {
            runs.measured.push(place.measure(*contender, arguments.orders, *row_order)?);
        }
    }
    let load = format!("{load_before} before, {} after", machine::load());
    let own_peak = machine::own_peak();
    let runs: Vec<Runs> = all.into_iter().map(|(_, _, runs)| runs).collect();
    say(&report::comparison(&runs, Contender::Everyline.name()));
    say(&place.answers_compared(row_orders[0])?);
    for contender in [Contender::Everyline, Contender::DuckDb, Contender::Polars] {
        if !place.has_one_answer(contender, &row_orders)? {
            say(&format!("{} answers the shuffled book in another way.\n", contender.name()));
        }
    }
    say(&format!(
        "Medians; runs in turns: {}. {}.\n{}. Load {load}; no peak shows below {own_peak}, this program's own.",
        arguments.runs,
        machine::describe(),
        machine::said_by(Command::new(&place.python).args([
            "-c",
            "import sys, duckdb, polars; print('Python', sys.version.split()[0], end=', '); \
             print('DuckDB', duckdb.__version__, end=', '); print('Polars', polars.__version__)",
        ]))
    ));
    Ok(())
}

/// A Python of its own below target/, with the packages that are compared.
fn python() -> anyhow::Result<PathBuf> {
    let place = folder()?.join("venv");
    let python = place.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    let ready = || {
        let mut import = Command::new(&python);
        import.args(["-c", "import duckdb, polars"]).output().is_ok_and(|output| output.status.success())
    };
    if !ready() {
        tell(&format!("installing duckdb and polars into {}", place.display()));
        succeed(Command::new("python3").args(["-m", "venv"]).arg(&place))?;
        succeed(Command::new(&python).args(["-m", "pip", "install", "--quiet", "duckdb", "polars"]))?;
        ensure!(ready(), "duckdb and polars were installed into {} and do not work", place.display());
    }
    Ok(python)
}

impl Place {
    /// Has one audit a book, and takes care that it is done.
    fn measure(
        &self,
        contender: Contender,
        orders: usize,
        row_order: RowOrder,
    ) -> anyhow::Result<super::measure::Measured> {
        let book = books::folder(orders, row_order)?;
        let answer = self.answer(contender, row_order);
        let mut command = match contender {
            Contender::Everyline => {
                self.programs.audit(&book, Some(&books::configuration(&book)), &self.as_of)
            }
            Contender::DuckDb => self.script("audit_duckdb.py", &book, &answer)?,
            Contender::Polars => self.script("audit_polars.py", &book, &answer)?,
            Contender::Split => {
                let mut command = Command::new(&self.programs.xtask);
                command.args(["bench", "split"]).arg(&book);
                command
            }
        };
        let output =
            if contender == Contender::Everyline { answer } else { self.answers.join("standard-output.txt") };
        let measured = measure(&mut command, &output, LIMIT)?;
        let Some(status) = measured.status else {
            bail!("{} took longer than {} s", contender.name(), LIMIT.as_secs());
        };
        let said = &measured.last_words;
        ensure!(contender.is_done(status.code()), "{} ended with {status}: {said}", contender.name());
        Ok(measured)
    }

    fn script(&self, name: &str, book: &Path, answer: &Path) -> anyhow::Result<Command> {
        let mut command = Command::new(&self.python);
        command.arg(root()?.join("crates/xtask/bench").join(name)).arg(book).arg(&self.as_of).arg(answer);
        command.env("POLARS_MAX_THREADS", "2");
        Ok(command)
    }

    fn answer(&self, contender: Contender, row_order: RowOrder) -> PathBuf {
        self.answers.join(format!("{contender:?}-{}.jsonl", row_order.word()).to_lowercase())
    }

    /// Whether one finds the same on both books; of everyline, byte for byte.
    fn has_one_answer(&self, contender: Contender, row_orders: &[RowOrder]) -> anyhow::Result<bool> {
        let answers: Vec<PathBuf> = row_orders.iter().map(|order| self.answer(contender, *order)).collect();
        let [first, second] = answers.as_slice() else { return Ok(true) };
        Ok(if contender == Contender::Everyline {
            fs::read(first)? == fs::read(second)?
        } else {
            findings(first)? == findings(second)?
        })
    }

    /// How many findings of each check there are, and how many of them everyline has too.
    fn answers_compared(&self, row_order: RowOrder) -> anyhow::Result<String> {
        let read = |contender| findings(&self.answer(contender, row_order));
        let ours = read(Contender::Everyline)?;
        let others = [read(Contender::DuckDb)?, read(Contender::Polars)?];
        let checks: BTreeSet<&String> = ours.keys().chain(others.iter().flat_map(BTreeMap::keys)).collect();
        let none = BTreeSet::new();
        let rows = checks.into_iter().map(|check| {
            let of_ours = ours.get(check).unwrap_or(&none);
            let mut row = vec![check.clone(), of_ours.len().to_string()];
            for other in &others {
                let of_other = other.get(check).unwrap_or(&none);
                row.push(of_other.len().to_string());
                row.push(of_other.intersection(of_ours).count().to_string());
            }
            row
        });
        let head = [
            Text("check"),
            Number("everyline"),
            Number("DuckDB"),
            Number("of these everyline's"),
            Number("Polars"),
            Number("of these everyline's"),
        ];
        Ok(report::markdown(&head, rows.collect()))
    }
}

/// The findings of a file of JSON Lines by check: of each, what it is about.
fn findings(answer: &Path) -> anyhow::Result<BTreeMap<String, BTreeSet<String>>> {
    let trouble = || format!("{} cannot be read", answer.display());
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for line in BufReader::new(File::open(answer).with_context(trouble)?).lines() {
        let finding: serde_json::Value =
            serde_json::from_str(&line.with_context(trouble)?).with_context(trouble)?;
        let check = finding["check"].as_str().with_context(trouble)?.to_owned();
        // Findings about the catalogue have none of these; their identity tells them apart.
        let subject = if finding["order_id"].is_null() && finding["submission_id"].is_null() {
            finding["id"].to_string()
        } else {
            format!("{} {} {}", finding["order_id"], finding["supplier"], finding["submission_id"])
        };
        found.entry(check).or_default().insert(subject);
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_are_told_apart_by_what_they_are_about() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("answer.jsonl");
        let lines = [
            r#"{"check":"late","id":"1","order_id":"a","supplier":null,"submission_id":null,"lines":[{}]}"#,
            r#"{"check":"late","order_id":"b"}"#,
            r#"{"check":"late","order_id":"b"}"#,
            r#"{"check":"held","order_id":null,"supplier":"s","submission_id":"1"}"#,
            r#"{"check":"held","order_id":null,"supplier":"s","submission_id":"2"}"#,
            r#"{"check":"offer-unlinked","id":"2","order_id":null,"supplier":null,"submission_id":null}"#,
            r#"{"check":"offer-unlinked","id":"3","order_id":null,"supplier":null,"submission_id":null}"#,
        ];
        fs::write(&path, lines.join("\n")).unwrap();
        let counted: Vec<(String, usize)> =
            findings(&path).unwrap().into_iter().map(|(check, subjects)| (check, subjects.len())).collect();
        let expected = [("held", 2), ("late", 2), ("offer-unlinked", 2)];
        assert_eq!(counted, expected.map(|(check, count)| (check.to_owned(), count)));
    }
}
