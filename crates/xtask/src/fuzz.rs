//! `cargo xtask fuzz`: everything that reads what somebody else wrote, fed with what nobody would write.
//!
//! The targets and their seeds are in `crates/everyline/fuzz`; what is found on the way goes under `target`, so that
//! the seeds stay few. Start reading at [`run`].

use std::fs;
use std::path::Path;
use std::process::Command;

use anyhow::{Context, bail, ensure};

use crate::{root, tell};

/// How much memory a target may take, in megabytes; an input that takes more is a find.
const MEMORY_MB: u32 = 2048;

/// How long one input may take, in seconds; likewise.
const SECONDS_AN_INPUT: u32 = 10;

/// The longest input, in bytes.
const INPUT_BYTES: u32 = 8192;

/// What a target has found is kept, and tried again at the start of the next run; a run of fewer seconds than this
/// begins with the seeds alone, or it would be over before it has begun.
const SHORT_RUN: u32 = 60;

/// Runs every target, or one, for so many seconds.
///
/// # Errors
/// Where a target cannot be built, or one of its inputs breaks it; its error says where that input is. The other
/// targets run all the same.
pub fn run(seconds: u32, only: Option<&str>) -> anyhow::Result<()> {
    let root = root()?;
    let home = root.join("crates/everyline/fuzz");
    let scratch = root.join("target/fuzz");
    install()?;
    let built = Command::new(env!("CARGO"))
        .args(["fuzz", "build", "--sanitizer", "none", "--no-trace-compares", "--codegen-units", "16"])
        .arg("--fuzz-dir")
        .arg(&home)
        .arg("--target-dir")
        .arg(&scratch)
        .current_dir(&root)
        .status()
        .context("cargo fuzz could not be started")?;
    ensure!(built.success(), "the targets could not be built ({built})");
    let mut targets: Vec<String> = Vec::new();
    for entry in fs::read_dir(home.join("fuzz_targets"))? {
        let path = entry?.path();
        targets.extend(path.file_stem().map(|stem| stem.to_string_lossy().into_owned()));
    }
    targets.sort();
    targets.retain(|target| only.is_none_or(|only| only == target.as_str()));
    ensure!(!targets.is_empty(), "no target is called {:?}", only.unwrap_or_default());
    let mut broken = Vec::new();
    for target in targets {
        tell(&format!("{target}: {seconds} seconds"));
        if let Err(error) = one(&target, seconds, &home, &scratch) {
            tell(&format!("{error:#}"));
            broken.push(target);
        }
    }
    ensure!(broken.is_empty(), "broken: {}", broken.join(", "));
    Ok(())
}

fn install() -> anyhow::Result<()> {
    let is_there = Command::new(env!("CARGO")).args(["fuzz", "--version"]).output();
    if is_there.is_ok_and(|output| output.status.success()) {
        return Ok(());
    }
    let status =
        Command::new(env!("CARGO")).args(["install", "--quiet", "--locked", "cargo-fuzz"]).status()?;
    ensure!(status.success(), "cargo-fuzz could not be installed ({status})");
    Ok(())
}

fn one(target: &str, seconds: u32, home: &Path, scratch: &Path) -> anyhow::Result<()> {
    let found = scratch.join("found").join(target);
    let is_short = seconds < SHORT_RUN;
    let kept = scratch.join(if is_short { "short" } else { "corpus" }).join(target);
    if is_short && kept.exists() {
        fs::remove_dir_all(&kept)?;
    }
    fs::create_dir_all(&found)?;
    fs::create_dir_all(&kept)?;
    let program = scratch.join(host()?).join("release").join(target);
    let output = Command::new(&program)
        .arg(format!("-max_total_time={seconds}"))
        .arg(format!("-max_len={INPUT_BYTES}"))
        .arg(format!("-rss_limit_mb={MEMORY_MB}"))
        .arg(format!("-timeout={SECONDS_AN_INPUT}"))
        .arg("-print_final_stats=1")
        .arg(format!("-artifact_prefix={}/", found.display()))
        .arg(&kept)
        .arg(home.join("corpus").join(target))
        .output()
        .with_context(|| format!("{} could not be started", program.display()))?;
    let said = String::from_utf8_lossy(&output.stderr);
    let told = |name: &str| said.lines().find_map(|line| line.strip_prefix(name)).map_or("no", str::trim);
    let runs = told("stat::number_of_executed_units:");
    tell(&format!("{target}: {runs} inputs, {} a second", told("stat::average_exec_per_sec:")));
    if output.status.success() {
        return Ok(());
    }
    // What broke it stands in front of the stack, the path of the input behind it.
    let is_why = |line: &&str| !line.contains("panicked at") && !line.starts_with("==");
    let why: Vec<&str> =
        said.lines().skip_while(is_why).take_while(|line| !line.starts_with("stack")).collect();
    let input = said.rsplit_once("Test unit written to ").and_then(|(_, path)| path.lines().next());
    bail!("{target} broke ({}) by {}:\n{}", output.status, input.unwrap_or("no input"), why.join("\n"))
}

/// The machine that is built for, as the compiler calls it.
fn host() -> anyhow::Result<String> {
    let output = Command::new("rustc").arg("-vV").output().context("rustc could not be started")?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let host = said.lines().find_map(|line| line.strip_prefix("host: ").map(str::to_owned));
    host.context("rustc does not say for which machine it builds")
}
