//! What a developer runs: `cargo xtask check` before a commit, `cargo xtask bench` to measure, and the commands
//! that write generated files.
//!
//! Must not know the rules of an audit. Start reading at [`Task`].

mod arrows;
mod bench;
mod book;
mod browser;
mod check;
mod connect;
mod fuzz;
mod generated;
mod interface;
mod links;
mod mail;
mod npm;
mod pip;
mod rest;
mod signin;
mod sql;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::Context;
use clap::{Parser, Subcommand};

/// What a developer runs.
#[derive(Parser)]
#[command(name = "cargo xtask", bin_name = "cargo xtask")]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand)]
enum Task {
    /// Everything that must hold before a commit, but for the tests: format, lints, which crate uses which,
    /// documentation, generated files, what breaks readers, servers and libraries that are not ours
    Check,
    /// Write fixtures/, the simulated shop's books
    Fixtures {
        /// Only compare, and name the files that differ
        #[arg(long)]
        check: bool,
    },
    /// Write crates/digest/schema/, the JSON Schema of what an audit writes
    Schema {
        /// Only compare, and name the files that differ
        #[arg(long)]
        check: bool,
    },
    /// Measure how long an audit takes, and how much memory; and proposing links
    #[command(subcommand)]
    Bench(bench::Bench),
    /// Feed everything that reads with what nobody would write
    Fuzz {
        /// For how long each target runs
        #[arg(long, default_value_t = 600)]
        seconds: u32,
        /// Only this one
        target: Option<String>,
    },
    /// Read a REST server that is not ours, json-server, and compare with files (needs Node.js)
    Rest,
    /// Find out how to read two servers that are not ours, json-server and datasette, from their addresses alone, read them,
    /// and compare with files (needs Node.js and Python)
    Connect,
    /// Sign in at an OAuth 2.0 server that is not ours, oauth2-mock-server, be signed out, and see what is said (needs
    /// Node.js)
    Signin,
    /// Send mails through a server that is not ours, aiosmtpd, and events, and have others read them (needs Python)
    Mail,
    /// Look at the pages in a real browser, as their owner uses them (needs Node.js, and Chromium, which it may install)
    Browser,
    /// Hold the page's JSON against its OpenAPI document, by schemathesis (needs Python)
    Interface,
    /// Propose links for the corpora, and count how many are right beside rapidfuzz's (needs Python)
    Links,
    /// Write .sqlx/, the descriptions of the ledger's queries
    Sql,
    /// Write a book of any size, with known faults, into a folder
    Book {
        /// The folder
        folder: PathBuf,
        /// How many orders
        #[arg(long, default_value_t = 10_000)]
        orders: usize,
        /// Which book: the same number gives the same one
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// As JSON Lines rather than CSV
        #[arg(long)]
        jsonl: bool,
    },
}

fn main() -> ExitCode {
    let done = match Arguments::parse().task {
        Task::Check => check::run(),
        Task::Fixtures { check } => generated::run(generated::FIXTURES, check),
        Task::Bench(bench) => bench::run(bench),
        Task::Fuzz { seconds, target } => fuzz::run(seconds, target.as_deref()),
        Task::Rest => rest::run(),
        Task::Connect => connect::run(),
        Task::Signin => signin::run(),
        Task::Mail => mail::run(),
        Task::Browser => browser::run(),
        Task::Interface => interface::run(),
        Task::Links => links::run(),
        Task::Sql => sql::renew(),
        Task::Book { folder, orders, seed, jsonl } => book::write(
            &folder,
            orders,
            seed,
            if jsonl { simshop::Form::JsonLines } else { simshop::Form::Csv },
        ),
        Task::Schema { check } => generated::run(generated::SCHEMA, check),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tell(&format!("error: {error:#}"));
            ExitCode::FAILURE
        }
    }
}

#[expect(clippy::print_stderr, reason = "what a developer reads")]
fn tell(text: &str) {
    eprintln!("{text}");
}

/// The folder of the workspace.
fn root() -> anyhow::Result<PathBuf> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).map(Path::to_owned).context("this crate is not two folders below the workspace")
}
