//! `cargo xtask check`: what must hold before a commit, but for the tests.
//!
//! Runs every step, also after one has failed, so that one run names everything. Start reading at [`run`].

use std::process::Command;

use anyhow::{Context, bail, ensure};

use crate::{arrows, browser, connect, fuzz, generated, interface, links, mail, rest, root, signin, tell};

/// A step's name, what it does, what to run where it fails, and the step.
type Step = (&'static str, &'static str, &'static str, fn() -> anyhow::Result<()>);

const STEPS: [Step; 14] = [
    ("format", "every file is as rustfmt writes it", "cargo fmt", || {
        cargo(&["fmt", "--all", "--check"], &[])?;
        cargo(&["fmt", "--check", "--manifest-path", "crates/everyline/fuzz/Cargo.toml"], &[])
    }),
    ("lints", "clippy has nothing to say of any target", "cargo clippy --workspace --all-targets", || {
        cargo(&["clippy", "--quiet", "--workspace", "--all-targets", "--", "-D", "warnings"], &[])
    }),
    ("arrows", "crates use only what they may", "cargo test -p xtask", || {
        let (crates, arrows) = arrows::of_the_workspace()?;
        let faults = arrows::faults(&crates, &arrows);
        ensure!(faults.is_empty(), "{}", faults.join("\n"));
        Ok(())
    }),
    (
        "documentation",
        "every public item is documented, and every link leads somewhere",
        "RUSTDOCFLAGS=-Dwarnings cargo doc --no-deps --workspace",
        || cargo(&["doc", "--quiet", "--no-deps", "--workspace"], &[("RUSTDOCFLAGS", "-Dwarnings")]),
    ),
    ("fixtures", "the simulated shop's books are what would be written now", "cargo xtask fixtures", || {
        generated::run(generated::FIXTURES, true)
    }),
    ("schema", "the JSON Schema is what would be written now", "cargo xtask schema", || {
        generated::run(generated::SCHEMA, true)
    }),
    (
        "fuzz",
        "no seed breaks what reads it, nor what is found from it in a moment",
        "cargo xtask fuzz",
        || fuzz::run(FUZZ_SECONDS, None),
    ),
    (
        "rest",
        "of json-server, a REST server that is not ours, is found what is found in files",
        "cargo xtask rest",
        rest::run,
    ),
    (
        "connect",
        "two servers that are not ours are read from their addresses alone, and of them is found what is found in files",
        "cargo xtask connect",
        connect::run,
    ),
    (
        "signin",
        "at an OAuth 2.0 server that is not ours somebody signs in, is renewed, and is signed out with words",
        "cargo xtask signin",
        signin::run,
    ),
    (
        "mail",
        "mails go through a server that is not ours, and others read in them and in events what was sent",
        "cargo xtask mail",
        mail::run,
    ),
    (
        "links",
        "of the links proposed for the corpora, more are right than by rapidfuzz, and nearly all",
        "cargo xtask links",
        links::run,
    ),
    (
        "browser",
        "the pages hold in Chromium: their owner's ways, by keys and on a phone, in light and dark, and what nobody may do",
        "cargo xtask browser",
        browser::run,
    ),
    (
        "interface",
        "the page's JSON is what its OpenAPI document says, as schemathesis sees it",
        "cargo xtask interface",
        interface::run,
    ),
];

/// How long each fuzz target runs: a little longer than its seeds take.
const FUZZ_SECONDS: u32 = 5;

/// Runs all steps.
///
/// # Errors
/// Where any has failed; which, and what to run, has been said.
pub fn run() -> anyhow::Result<()> {
    let mut failed = Vec::new();
    for (name, what, remedy, step) in STEPS {
        tell(&format!("{name}: {what}"));
        if let Err(error) = step() {
            tell(&format!("{name} failed: {error:#}\nto see or mend it: {remedy}\n"));
            failed.push(name);
        }
    }
    if failed.is_empty() {
        tell("all steps hold");
        return Ok(());
    }
    bail!("{} of {} steps failed: {}", failed.len(), STEPS.len(), failed.join(", "))
}

/// Runs cargo in the workspace; what it says is seen as it says it.
fn cargo(arguments: &[&str], environment: &[(&str, &str)]) -> anyhow::Result<()> {
    let shown = format!("cargo {}", arguments.join(" "));
    let status = Command::new(env!("CARGO"))
        .args(arguments)
        .envs(environment.iter().copied())
        .current_dir(root()?)
        .status()
        .with_context(|| format!("{shown} could not be started"))?;
    ensure!(status.success(), "{shown} ended with {status}");
    Ok(())
}
