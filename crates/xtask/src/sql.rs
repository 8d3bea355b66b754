//! `cargo xtask sql`: the descriptions of the ledger's queries, from which they are checked when they are compiled.
//!
//! Must not know the queries. Start reading at [`renew`].

use std::path::Path;
use std::process::Command;

use anyhow::{Context, ensure};

use crate::root;

/// Writes `.sqlx/` anew, from a database made by the migrations.
///
/// # Errors
/// Where a query does not fit the tables; the compiler has said which.
pub fn renew() -> anyhow::Result<()> {
    let root = root()?;
    install()?;
    let folder = tempfile::tempdir().context("no temporary folder could be made")?;
    let database = format!("sqlite://{}", folder.path().join("ledger").display());
    let run = |arguments: &[&str]| run(&root, &database, arguments);
    run(&["sqlx", "database", "create"])?;
    run(&["sqlx", "migrate", "run", "--source", "migrations"])?;
    run(&["sqlx", "prepare", "--workspace", "--", "--lib", "--package", "ledger"])
}

fn run(root: &Path, database: &str, arguments: &[&str]) -> anyhow::Result<()> {
    let status = Command::new(env!("CARGO"))
        .args(arguments)
        .env("DATABASE_URL", database)
        .current_dir(root)
        .status()
        .with_context(|| format!("cargo {} could not be started", arguments.join(" ")))?;
    ensure!(status.success(), "cargo {} failed ({status})", arguments.join(" "));
    Ok(())
}

fn install() -> anyhow::Result<()> {
    let is_there = Command::new(env!("CARGO")).args(["sqlx", "--version"]).output();
    if is_there.is_ok_and(|output| output.status.success()) {
        return Ok(());
    }
    let wanted =
        ["install", "--quiet", "--locked", "sqlx-cli", "--no-default-features", "--features", "sqlite"];
    let status = Command::new(env!("CARGO")).args(wanted).status()?;
    ensure!(status.success(), "sqlx-cli could not be installed ({status})");
    Ok(())
}
