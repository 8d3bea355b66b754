//! `cargo xtask fuzz`: everything that reads what somebody else wrote, fed with what nobody would write.
//!
//! The targets and their seeds are in `crates/everyline/fuzz`; what is found on the way goes under `target`, so that
//! the seeds stay few. Start reading at [`run`].

use std::fs;
use std::path::Path;
use std::process::Command;

use anyhow::{Context, ensure};

use crate::{root, tell};

/// How much memory a target may take, in megabytes; an input that takes more is a find.
const MEMORY_MB: u32 = 2048;

/// How long one input may take, in seconds; likewise.
const SECONDS_AN_INPUT: u32 = 10;

/// The longest input, in bytes.
const INPUT_BYTES: u32 = 8192;

/// Runs every target, or one, for so many seconds.
///
/// # Errors
/// Where a target cannot be built, or one of its inputs breaks it; the path of that input has been said.
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
        // The flags by which a target sees which branches it takes are not for the stable compiler otherwise.
        .env("RUSTC_BOOTSTRAP", "1")
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
    for target in targets {
        tell(&format!("{target}: {seconds} seconds"));
        one(&target, seconds, &home, &scratch)?;
    }
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
    let kept = scratch.join("corpus").join(target);
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
    let runs = said.lines().find_map(|line| line.strip_prefix("stat::number_of_executed_units:"));
    tell(&format!("{target}: {} inputs", runs.map_or("no", str::trim)));
    let end: Vec<&str> = said.lines().rev().take(30).collect();
    let end: Vec<&str> = end.into_iter().rev().collect();
    ensure!(output.status.success(), "{target} broke ({}):\n{}", output.status, end.join("\n"));
    Ok(())
}

/// The machine that is built for, as the compiler calls it.
fn host() -> anyhow::Result<String> {
    let output = Command::new("rustc").arg("-vV").output().context("rustc could not be started")?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let host = said.lines().find_map(|line| line.strip_prefix("host: ").map(str::to_owned));
    host.context("rustc does not say for which machine it builds")
}
