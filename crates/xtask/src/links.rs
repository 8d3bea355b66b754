//! `cargo xtask links`: how many of the links proposed for the corpora are right, beside the likeness of texts.
//!
//! The other way is rapidfuzz with scipy's assignment, `links/fuzzy.py`. Of its scores, that is believed which suits a
//! corpus best, chosen with the truth in view: in its favour. Both are judged here, by the same count; the true variants
//! stand in `truth.csv` of each corpus. Must not know how links are proposed. Start reading at [`run`].

use std::env::consts::EXE_EXTENSION;
use std::fmt::{self, Write as _};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, ensure};
use serde_json::Value;

use crate::pip::Environment;
use crate::rest::finished;
use crate::{root, tell};

/// What is not ours.
pub const OTHERS: Environment = Environment {
    packages: &["numpy==2.4.6", "rapidfuzz==3.14.6", "scipy==1.17.1"],
    folder: "fuzzy-matching",
};

/// The program that asks them.
pub const PROGRAM: &str = include_str!("links/fuzzy.py");

/// A scorer of rapidfuzz, and which text of an offer it compares.
pub type Way = (&'static str, &'static str);

/// What somebody would try. In a trial on five corpora, with the titles, `token_ratio` did as well as `token_set_ratio`, and
/// `ratio` and `token_sort_ratio` did worse.
const WAYS: [Way; 4] =
    [BEST, ("token_set_ratio", "title and options"), ("WRatio", "options"), ("WRatio", "title and options")];

/// The one that does best on all corpora together.
pub const BEST: Way = ("token_set_ratio", "options");

/// Of our links proposed, so many must be right.
const RIGHT: f64 = 0.99;

/// How long any of the programs may take; each takes seconds.
const LIMIT: Duration = Duration::from_secs(300);

/// A variant by its supplier and id.
type Key = (String, String);

/// Judges both, and says what came of it.
///
/// # Errors
/// Where ours is not better than each of the others in both figures on every corpus, or not right enough; where
/// anything cannot be run.
pub fn run() -> anyhow::Result<()> {
    let program = built(&["propose"], false)?.join("propose").with_extension(EXE_EXTENSION);
    let python = OTHERS.python()?;
    let mut faults = String::new();
    let mut all = Answered::default();
    for folder in corpora()? {
        let answered = Answered::of(&program, &python, &folder)?;
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        faults.push_str(&answered.judged(&name)?);
        all.add(answered);
    }
    faults.push_str(&all.judged("all")?);
    ensure!(faults.is_empty(), "{}", faults.trim_end());
    Ok(())
}

/// A link that was proposed for an offer.
#[derive(Clone, PartialEq, Debug)]
struct Link {
    to: Key,
    /// How like the texts are, of 100.
    score: f64,
}

/// The truth of some offers, and what was proposed for them.
#[derive(Default)]
struct Answered {
    /// The variant of each offer; none, where only the owner can tell it or nobody makes it.
    truth: Vec<Option<Key>>,
    ours: Vec<Option<Link>>,
    /// By [`WAYS`].
    others: [Vec<Option<Link>>; WAYS.len()],
}

impl Answered {
    fn of(program: &Path, python: &Path, folder: &Path) -> anyhow::Result<Self> {
        let ended = finished(Command::new(program).arg(folder), LIMIT)?.expect(0)?;
        let mut answered =
            Self { truth: truth(folder)?, ours: proposed(&ended.stdout)?, others: Default::default() };
        for ((scorer, text), others) in WAYS.into_iter().zip(&mut answered.others) {
            let mut command = Command::new(python);
            command.args(["-c", PROGRAM]).arg(folder).args([scorer, text]);
            *others = proposed(&finished(&mut command, LIMIT)?.expect(0)?.stdout)?;
        }
        for links in answered.others.iter().chain([&answered.ours]) {
            ensure!(
                links.len() == answered.truth.len(),
                "not every offer of {} was answered",
                folder.display()
            );
        }
        Ok(answered)
    }

    fn add(&mut self, more: Self) {
        self.truth.extend(more.truth);
        self.ours.extend(more.ours);
        for (others, more) in self.others.iter_mut().zip(more.others) {
            others.extend(more);
        }
    }

    /// Says what came of it, and answers what should be otherwise.
    fn judged(&self, name: &str) -> anyhow::Result<String> {
        let mut faults = String::new();
        let ours = Count::of(&self.ours, &self.truth, 0.0);
        tell(&format!("{name}\n  everyline: {ours}"));
        if ours.precision() < RIGHT {
            writeln!(faults, "{name}: fewer than {} of the links proposed are right", percent(RIGHT))?;
        }
        for ((scorer, text), others) in WAYS.into_iter().zip(&self.others) {
            let counts =
                || (0..=100_u8).map(|least| (least, Count::of(others, &self.truth, f64::from(least))));
            let best = counts().max_by(|(_, one), (_, other)| one.balance().total_cmp(&other.balance()));
            let (least, best) = best.context("there is no score")?;
            let strict =
                counts().filter(|(_, count)| count.precision() >= RIGHT).map(|(_, count)| count.recall());
            let strict = strict.fold(0.0, f64::max);
            tell(&format!(
                "  {scorer} of {text}, scores from {least}: {best}; at most {} where {} must be right",
                percent(strict),
                percent(RIGHT)
            ));
            if !ours.is_better_than(best) {
                writeln!(faults, "{name}: not better in both figures than {scorer} of {text}")?;
            }
        }
        Ok(faults)
    }
}

/// How many links are there.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
struct Count {
    proposed: u32,
    /// Of those proposed.
    right: u32,
    /// With a true variant.
    possible: u32,
}

impl Count {
    /// Counts links with a score of at least `least`.
    fn of(links: &[Option<Link>], truth: &[Option<Key>], least: f64) -> Self {
        let mut count = Self::default();
        for (link, truth) in links.iter().zip(truth) {
            let link = link.as_ref().filter(|link| link.score >= least);
            count.proposed += u32::from(link.is_some());
            count.possible += u32::from(truth.is_some());
            count.right += u32::from(link.is_some_and(|link| truth.as_ref() == Some(&link.to)));
        }
        count
    }

    /// Of those proposed, how many are right, in parts of one; of none, all are.
    fn precision(self) -> f64 {
        if self.proposed == 0 { 1.0 } else { f64::from(self.right) / f64::from(self.proposed) }
    }

    /// Of those possible, how many are proposed right, in parts of one.
    fn recall(self) -> f64 {
        if self.possible == 0 { 1.0 } else { f64::from(self.right) / f64::from(self.possible) }
    }

    /// Both in one: their harmonic mean.
    fn balance(self) -> f64 {
        f64::from(2 * self.right) / f64::from((self.proposed + self.possible).max(1))
    }

    fn is_better_than(self, other: Self) -> bool {
        self.precision() > other.precision() && self.recall() > other.recall()
    }
}

impl fmt::Display for Count {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { proposed, right, possible } = self;
        let (precision, recall) = (percent(self.precision()), percent(self.recall()));
        write!(
            formatter,
            "{right} of {proposed} proposed are right ({precision}), of {possible} possible {recall}"
        )
    }
}

fn percent(part: f64) -> String {
    format!("{:.2} %", 100.0 * part)
}

/// The links of JSON Lines, one an offer.
fn proposed(lines: &str) -> anyhow::Result<Vec<Option<Link>>> {
    let link = |line: &str| -> anyhow::Result<Option<Link>> {
        let line: Value = serde_json::from_str(line).with_context(|| format!("no proposal: {line}"))?;
        let text = |key: &str| line[key].as_str().map(str::to_owned);
        let to = text("supplier").zip(text("variant_id"));
        Ok(to.map(|to| Link { to, score: line["score"].as_f64().unwrap_or(100.0) }))
    };
    lines.lines().map(link).collect()
}

/// The true variant of each offer of a corpus; the offers stand in the same order.
fn truth(folder: &Path) -> anyhow::Result<Vec<Option<Key>>> {
    let path = folder.join("truth.csv");
    let trouble = || format!("{} cannot be read", path.display());
    let mut reader = csv::Reader::from_path(&path).with_context(trouble)?;
    let columns = reader.headers().with_context(trouble)?.clone();
    let place = |name: &str| columns.iter().position(|column| column == name).with_context(trouble);
    let (status, supplier, variant_id) = (place("status")?, place("supplier")?, place("variant_id")?);
    let key = |row: Result<csv::StringRecord, csv::Error>| -> anyhow::Result<Option<Key>> {
        let row = row.with_context(trouble)?;
        let is_possible = &row[status] == "proposed";
        Ok(is_possible.then(|| (row[supplier].to_owned(), row[variant_id].to_owned())))
    };
    reader.records().map(key).collect()
}

/// The folders of the corpora.
fn corpora() -> anyhow::Result<Vec<PathBuf>> {
    let all = root()?.join("crates/links/tests/corpus");
    let mut folders = Vec::new();
    for entry in fs::read_dir(&all).with_context(|| format!("{} cannot be read", all.display()))? {
        folders.push(entry?.path());
    }
    ensure!(!folders.is_empty(), "there are no corpora in {}", all.display());
    folders.sort();
    Ok(folders)
}

/// Builds examples of links, and answers in which folder they are.
///
/// # Errors
/// Where they cannot be built.
pub fn built(examples: &[&str], is_release: bool) -> anyhow::Result<PathBuf> {
    let root = root()?;
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["build", "--quiet", "-p", concat!("links@", env!("CARGO_PKG_VERSION"))]);
    cargo.args(examples.iter().flat_map(|example| ["--example", example])).current_dir(&root);
    cargo.args(is_release.then_some("--release"));
    let status = cargo.status().context("cargo could not be started")?;
    ensure!(status.success(), "the examples of links could not be built ({status})");
    let metadata = cargo_metadata::MetadataCommand::new().current_dir(&root).no_deps().exec()?;
    let profile = if is_release { "release" } else { "debug" };
    Ok(metadata.target_directory.into_std_path_buf().join(profile).join("examples"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(id: &str) -> Key {
        ("alder".to_owned(), id.to_owned())
    }

    #[test]
    fn a_link_is_right_where_it_leads_to_the_true_variant_and_is_believed() {
        let lines = [
            r#"{"supplier":"alder","variant_id":"1","score":80.0}"#,
            r#"{"supplier":"alder","variant_id":"2","score":60.0}"#,
            r#"{"supplier":"alder","variant_id":"9"}"#,
            "null",
            r#"{"supplier":null,"variant_id":null}"#,
            r#"{"supplier":"alder","variant_id":"6","score":90.0}"#,
        ];
        let links = proposed(&lines.join("\n")).unwrap();
        let truth = [Some(key("1")), Some(key("2")), Some(key("3")), Some(key("4")), None, None];
        assert_eq!(Count::of(&links, &truth, 0.0), Count { proposed: 4, right: 2, possible: 4 });
        assert_eq!(Count::of(&links, &truth, 70.0), Count { proposed: 3, right: 1, possible: 4 });
        let said = "2 of 4 proposed are right (50.00 %), of 4 possible 50.00 %";
        assert_eq!(Count::of(&links, &truth, 0.0).to_string(), said);
    }

    #[test]
    fn better_is_what_is_better_in_both_figures() {
        let ours = Count { proposed: 90, right: 90, possible: 100 };
        for (other, is_better) in [
            (Count { proposed: 91, right: 89, possible: 100 }, true),
            (Count { proposed: 50, right: 50, possible: 100 }, false),
            (Count { proposed: 99, right: 95, possible: 100 }, false),
            (ours, false),
        ] {
            assert_eq!(ours.is_better_than(other), is_better, "{other}");
        }
    }

    /// The canary: proposals of which too few are right, and others that do as well, are named.
    #[test]
    fn what_should_be_otherwise_is_named() {
        let link = |id: &str| Some(Link { to: key(id), score: 100.0 });
        let mut answered = Answered {
            truth: vec![Some(key("1")), Some(key("2"))],
            ours: vec![link("1"), link("2")],
            others: [
                vec![link("1"), link("1")],
                vec![link("2"), link("2")],
                vec![link("1"), None],
                vec![link("2"), None],
            ],
        };
        let [_, _, third, _] =
            WAYS.map(|(scorer, text)| format!("not better in both figures than {scorer} of {text}"));
        assert_eq!(answered.judged("moss").unwrap(), format!("moss: {third}\n"));
        answered.ours = vec![link("2"), link("2")];
        let faults = answered.judged("moss").unwrap();
        assert!(faults.starts_with("moss: fewer than 99.00 % of the links proposed are right\n"), "{faults}");
        assert_eq!(faults.lines().count(), 4, "{faults}");
    }

    #[test]
    fn every_offer_of_every_corpus_has_a_truth() {
        for folder in corpora().unwrap() {
            let offers = csv::Reader::from_path(folder.join("offers.csv")).unwrap().into_records().count();
            let truth = truth(&folder).unwrap();
            assert_eq!(truth.len(), offers, "{}", folder.display());
            assert!(truth.iter().any(Option::is_some) && truth.iter().any(Option::is_none));
        }
    }
}
