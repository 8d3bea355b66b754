//! `cargo xtask bench links`: proposing links for a large shop, beside the likeness of texts, in one run.
//!
//! The shop is that of the bench `proposing` in `crates/links`. The other way is rapidfuzz with scipy's assignment, as
//! `cargo xtask links` judges it. It would take minutes, so that it has a part of the listings. Start reading at [`run`].

use std::env::consts::EXE_EXTENSION;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, ensure};

use crate::bench::measure::measure;
use crate::bench::report::Column::{Number, Text};
use crate::bench::report::{markdown, median, megabytes};
use crate::bench::{folder, machine, say};
use crate::links::{BEST, OTHERS, PROGRAM, built};
use crate::tell;

/// Which of the invented shops.
const SEED: &str = "1";

/// Of so many listings, rapidfuzz has one. Odd, for every second listing has its products picked, which makes it far less
/// work.
const EVERY: &str = "11";

/// Longer than any of them should take on a slow machine.
const LIMIT: Duration = Duration::from_secs(1_800);

/// In how many seconds ours should be done.
const AIM: f64 = 5.0;

/// What a program took.
struct Took {
    /// From the tables in memory to the answer, as it says itself.
    seconds: f64,
    /// With starting, reading and writing.
    wall: f64,
    peak_megabytes: f64,
    offers: usize,
    /// Of these.
    answered: usize,
}

/// Measures, and prints what came of it.
///
/// # Errors
/// Where something cannot be built or run.
pub fn run(runs: u16) -> anyhow::Result<()> {
    let python = OTHERS.python()?;
    tell("building in release: the examples of links");
    let programs = built(&["large_shop", "propose"], true)?;
    let program = |name: &str| Command::new(programs.join(name).with_extension(EXE_EXTENSION));
    let shop = folder()?.join("links");
    fs::create_dir_all(&shop).with_context(|| format!("{} cannot be made", shop.display()))?;
    let written =
        program("large_shop").arg(&shop).arg(SEED).status().context("the shop could not be written")?;
    ensure!(written.success(), "the shop could not be written into {}: {written}", shop.display());

    let load_before = machine::load();
    let mut ours = Vec::new();
    for round in 1..=runs {
        tell(&format!("round {round} of {runs}"));
        ours.push(took(program("propose").arg(&shop), &shop)?);
    }
    let (scorer, text) = BEST;
    tell(&format!("rapidfuzz, one of {EVERY} listings"));
    let mut others = Command::new(&python);
    let others = took(others.args(["-c", PROGRAM]).arg(&shop).args([scorer, text, EVERY]), &shop)?;
    ensure!(others.answered > 0, "rapidfuzz has answered nothing");

    let of_ours = |figure: fn(&Took) -> f64| median(ours.iter().map(figure).collect());
    let seconds = of_ours(|took| took.seconds);
    let offers = others.offers;
    let others_for_all = others.seconds * offers as f64 / others.answered as f64;
    let row = |name: &str, answered: usize, took: f64, for_all: f64, wall: f64, peak: f64| {
        let ratio = for_all / seconds;
        let mut row = vec![name.to_owned(), answered.to_string()];
        row.extend([took, for_all, wall].map(|seconds| format!("{seconds:.2}")));
        row.extend([format!("{peak:.0}"), format!("{ratio:.1}")]);
        row
    };
    let head = [
        Text("name"),
        Number("offers"),
        Number("s"),
        Number("s for all offers"),
        Number("with reading and writing s"),
        Number("peak MB"),
        Number("s for all / everyline's"),
    ];
    let (wall, peak) = (of_ours(|took| took.wall), of_ours(|took| took.peak_megabytes));
    let name = format!("rapidfuzz, {scorer} of {text}, all cores");
    let rows = vec![
        row("everyline", offers, seconds, seconds, wall, peak),
        row(&name, others.answered, others.seconds, others_for_all, others.wall, others.peak_megabytes),
    ];
    say(&markdown(&head, rows));
    let aim = if seconds < AIM { "reached" } else { "not reached" };
    say(&format!(
        "everyline: median of {runs} runs; the aim, {AIM} s, is {aim}. rapidfuzz: one run on one of {EVERY} listings, and from \
         that reckoned for all. {}.\nLoad {load_before} before, {} after.",
        machine::describe(),
        machine::load()
    ));
    Ok(())
}

/// Runs a program that answers each offer in a line and says at the end how many seconds it took.
fn took(command: &mut Command, shop: &Path) -> anyhow::Result<Took> {
    let answer = shop.join("answer.jsonl");
    let measured = measure(command, &answer, LIMIT)?;
    let said = &measured.last_words;
    let status =
        measured.status.with_context(|| format!("{command:?} took longer than {} s", LIMIT.as_secs()))?;
    ensure!(status.success(), "{command:?} ended with {status}: {said}");
    let answer = fs::read_to_string(&answer).context("an answer cannot be read")?;
    Ok(Took {
        seconds: said.parse().with_context(|| format!("no seconds: {said}"))?,
        wall: measured.wall.as_secs_f64(),
        peak_megabytes: megabytes(measured.peak_bytes),
        offers: answer.lines().count(),
        answered: answer.lines().filter(|line| *line != "null").count(),
    })
}
