//! What the program answers of a folder, in the words of the cases.
//!
//! Holds what every answer of its sort has, so that the cases need not repeat it. Must not know what a case is about.
//! Start reading at [`of`].

use std::fs::File;
use std::io;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::Stdio;
use std::time::Duration;

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;

use crate::content::written;
use crate::folder::Made;

/// The moment of all audits that set none: three hours after the orders of the book.
const AS_OF: &str = "2026-11-25T12:00:00Z";

/// The code of a run that judges nothing.
const REFUSED: i32 = 2;

/// A run that takes longer hangs. Far more than the slowest needs.
const PATIENCE: Duration = Duration::from_secs(120);

/// Somebody who may read only what everybody may.
const NOBODY: u32 = 65534;

/// How many orders of those that are not judged an answer holds.
const SHOWN_ORDERS: usize = 20;

const ERROR: &str = "error: the tables in DIR were not audited\ncause: ";
const HELP_WITH_ROWS: &str = "\nhelp:  mend these rows and run it again; with --skip-bad-rows they are left out, \
                              and the orders that they name are not judged\n";
const HELP_WITH_FOLDER: &str =
    "\nhelp:  `everyline audit --help` names the tables, and the columns that they need\n";

/// What came of a case.
pub struct Answer {
    /// In the words of the cases.
    pub text: String,
    /// Where the two paths do not answer the same.
    pub differs: Vec<String>,
}

/// What a run wrote, and its code.
#[derive(PartialEq, Eq)]
struct Run {
    code: Option<i32>,
    stdout: String,
    stderr: String,
}

/// The answer of the audits of a folder. An error says why the program cannot be run here.
pub fn of(folder: &Made, arguments: &[String]) -> Result<Answer, String> {
    let mut differs = Vec::new();
    let has_format = arguments.iter().any(|word| word == "--format");
    let as_lines: &[&str] = if has_format { &[] } else { &["--format", "jsonl"] };
    let as_object: &[&str] = if has_format { &[] } else { &["--format", "json"] };
    let strict = both_paths(folder, arguments, as_lines, &mut differs)?;
    let mut text = format!("=> {}\n{}", code(&strict), said(&strict));
    if strict.code == Some(REFUSED) {
        let skipping = [as_object, &["--skip-bad-rows"]].concat();
        let mut skipping = both_paths(folder, arguments, &skipping, &mut differs)?;
        let bad_rows = strict.bad_rows();
        let told_again = bad_rows.as_ref().map(|rows| format!("left out: {rows}\n")).unwrap_or_default();
        match skipping.stderr.strip_prefix(&told_again) {
            Some(rest) => skipping.stderr = rest.to_owned(),
            None => skipping.stderr.insert_str(0, "the rows are not told again:\n"),
        }
        if bad_rows.is_some() || skipping != strict {
            text.push_str(&format!("=> {} with --skip-bad-rows\n{}", code(&skipping), said(&skipping)));
        }
    }
    Ok(Answer { text: text.trim_end_matches('\n').to_owned(), differs })
}

/// What the plain path answers, which is the judge; where the path of large books answers otherwise, that is told.
fn both_paths(
    folder: &Made,
    arguments: &[String],
    more: &[&str],
    differs: &mut Vec<String>,
) -> Result<Run, String> {
    let run = run(folder, arguments, more)?;
    let plain = self::run(folder, arguments, &[more, &["--plain"]].concat())?;
    if run.code != plain.code {
        differs.push(format!("with {more:?}: {} and, by the plain path, {}", code(&run), code(&plain)));
    }
    for (one, other) in [(&run.stdout, &plain.stdout), (&run.stderr, &plain.stderr)] {
        if one != other {
            let same = one.lines().zip(other.lines()).take_while(|(one, other)| one == other).count();
            let next = |text: &str| text.lines().nth(same).unwrap_or("(no more)").to_owned();
            differs.push(format!("with {more:?}:\n{}\nand, by the plain path,\n{}", next(one), next(other)));
        }
    }
    Ok(plain)
}

fn run(folder: &Made, arguments: &[String], more: &[&str]) -> Result<Run, String> {
    let dir = folder.path.display().to_string();
    let mut command = std::process::Command::new(cargo_bin!("everyline"));
    command.arg("audit").args(arguments.iter().map(|word| word.replace("DIR", &dir)));
    command.args(more).arg("--from").arg(&folder.path);
    if !arguments.iter().any(|word| word == "--as-of") {
        command.args(["--as-of", AS_OF]);
    }
    command.env_remove("NO_COLOR").env_remove("COLUMNS").env_remove("CLICOLOR_FORCE").stdin(Stdio::null());
    if folder.is_closed && may_read_all(&folder.path) {
        command.uid(NOBODY).gid(NOBODY);
    }
    let output = match assert_cmd::Command::from_std(command).timeout(PATIENCE).output() {
        Err(error) if folder.is_closed && error.kind() == io::ErrorKind::PermissionDenied => {
            return Err(
                "whoever runs this may read everything, and nobody else may run the program".to_owned()
            );
        }
        output => output.unwrap(),
    };
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap().replace(&dir, "DIR");
    Ok(Run { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) })
}

/// Whether even what is closed opens, as it does for the administrator.
fn may_read_all(path: &Path) -> bool {
    let mut closed = vec![path.to_owned()];
    closed.extend(path.read_dir().into_iter().flatten().flatten().map(|entry| entry.path()));
    closed.iter().all(|path| File::open(path).is_ok())
}

fn code(run: &Run) -> String {
    run.code.map_or("it was stopped".to_owned(), |code| code.to_string())
}

/// What a run said, without what all of its sort say.
fn said(run: &Run) -> String {
    let mut said = run.cause().map_or_else(|| run.stderr.clone(), |cause| shortened(&cause));
    if !said.is_empty() && !said.ends_with('\n') {
        said.push('\n');
    }
    said.push_str(&found(&run.stdout));
    written(&said)
}

/// Rows one below the other of which the same is said, told once.
fn shortened(cause: &str) -> String {
    let mut short = String::new();
    let mut lines = cause.lines().peekable();
    while let Some(line) = lines.next() {
        short.push_str(&format!("{line}\n"));
        let Some((file, number, said)) = parts(line) else { continue };
        let mut last = number;
        while lines.next_if(|next| parts(next) == Some((file, last + 1, said))).is_some() {
            last += 1;
        }
        if last > number {
            short.push_str(&format!("and so on to line {last}\n"));
        }
    }
    short
}

/// The file, the line and what is said of it.
fn parts(line: &str) -> Option<(&str, u64, &str)> {
    let (file, rest) = line.split_once(", line ")?;
    let end = rest.find(|c: char| !c.is_ascii_digit())?;
    Some((file, rest[..end].parse().ok()?, &rest[end..]))
}

/// The findings, by check and what each is about; a page as it is.
fn found(stdout: &str) -> String {
    let object: Option<Value> = serde_json::from_str(stdout).ok();
    let object = object.filter(|object| object["as_of"].is_string());
    let lines: Option<Vec<Value>> = stdout.lines().map(|line| serde_json::from_str(line).ok()).collect();
    let findings = match (&object, lines) {
        (Some(object), _) => object["findings"].as_array().cloned().unwrap(),
        (None, Some(lines)) => lines,
        (None, None) => return stdout.to_owned(),
    };
    let mut found: String = findings
        .iter()
        .map(|finding| {
            let about = ["order_id", "submission_id", "listing_id"].map(|name| finding[name].as_str());
            let about = about.into_iter().flatten().next().map_or("-".to_owned(), id);
            format!("found: {} {about}\n", finding["check"].as_str().unwrap())
        })
        .collect();
    let not_judged = object.as_ref().and_then(|object| object["orders_not_judged"].as_array());
    if let Some(orders) = not_judged.filter(|orders| !orders.is_empty()) {
        let shown = orders.iter().take(SHOWN_ORDERS).map(|order| id(order.as_str().unwrap()));
        let shown = shown.collect::<Vec<_>>().join(", ");
        let more = if orders.len() > SHOWN_ORDERS {
            format!(" and so on, {} in all", orders.len())
        } else {
            String::new()
        };
        found.push_str(&format!("not judged: {shown}{more}\n"));
    }
    found
}

/// An id; in quotes, where it is not plain.
fn id(id: &str) -> String {
    let is_plain = id.chars().all(|c| c.is_ascii_graphic());
    if is_plain { id.to_owned() } else { format!("{id:?}") }
}

impl Run {
    /// The cause of an audit that was refused, its further lines not indented.
    fn cause(&self) -> Option<String> {
        let cause = self.stderr.strip_prefix(ERROR)?;
        let cause = cause.strip_suffix(HELP_WITH_ROWS).or_else(|| cause.strip_suffix(HELP_WITH_FOLDER))?;
        assert_eq!(
            (self.code, self.stdout.as_str()),
            (Some(REFUSED), ""),
            "nothing is judged beside an error"
        );
        Some(cause.replace("\n       ", "\n"))
    }

    /// The rows that cannot be read, where they are the cause.
    fn bad_rows(&self) -> Option<String> {
        self.cause().filter(|_| self.stderr.ends_with(HELP_WITH_ROWS))
    }
}
