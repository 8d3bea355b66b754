//! `cargo xtask bench`: how long an audit takes and how much memory it holds, beside other ways to the answer; and
//! how long proposing links takes; and how long pages take.
//!
//! What is measured is always a process of its own, built in release; what needs memory besides is another one,
//! for a child's peak begins at that of the process which started it. Must not know how an audit is done.
//! Start reading at [`Bench`].

mod audit;
mod books;
mod growth;
mod hostile;
mod links;
mod machine;
mod measure;
mod page;
mod report;
mod shuffle;
mod split;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, ensure};
use clap::{Args, Subcommand, ValueEnum};

use crate::{root, tell};

/// What to measure.
#[derive(Subcommand)]
pub enum Bench {
    /// Time everyline, DuckDB, Polars and a mere splitting of the files in turns, on a book in order and on the
    /// same one shuffled
    Audit(AuditArguments),
    /// Time everyline on books of growing size, on large orders and on hostile books
    Growth {
        /// Only the books whose name holds this
        #[arg(long, value_name = "TEXT")]
        only: Option<String>,
    },
    /// Time proposing links for a large shop, beside rapidfuzz with scipy's assignment
    Links {
        /// How many times ours is run; rapidfuzz is run once
        #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u16).range(1..))]
        runs: u16,
    },
    /// Time the pages of the queue and of an order with very many orders in the ledger, while exports are read (needs wrk)
    Page {
        /// How many orders fifty shops have together
        #[arg(long, default_value_t = ORDERS)]
        orders: usize,
    },
    /// Write the books that the others measure with, where they are not there yet
    Books {
        /// How many orders
        #[arg(long, default_value_t = ORDERS)]
        orders: usize,
        /// Only this one
        #[arg(long)]
        only: Option<RowOrder>,
    },
    /// Write the large orders and the hostile books
    HostileBooks,
    /// Read a book's CSV files and split them into cells, with two threads; nothing is kept
    Split {
        /// The folder
        folder: PathBuf,
    },
}

const ORDERS: usize = 1_000_000;

/// How to measure an audit.
#[derive(Args)]
pub struct AuditArguments {
    /// How many orders the books have
    #[arg(long, default_value_t = ORDERS)]
    orders: usize,
    /// How many times everything is run
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u16).range(1..))]
    runs: u16,
    /// Only on this book
    #[arg(long)]
    only: Option<RowOrder>,
}

/// In which order a book's tables have their rows.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum RowOrder {
    /// Order by order, as they came in
    Sorted,
    /// Every table by itself in an order without meaning
    Shuffled,
}

impl RowOrder {
    /// The one that is asked for, or both.
    fn asked(only: Option<Self>) -> Vec<Self> {
        only.map_or(vec![Self::Sorted, Self::Shuffled], |only| vec![only])
    }

    fn word(self) -> &'static str {
        match self {
            Self::Sorted => "sorted",
            Self::Shuffled => "shuffled",
        }
    }
}

/// Does what is asked for.
///
/// # Errors
/// Where something cannot be built, written or run.
pub fn run(bench: Bench) -> anyhow::Result<()> {
    match bench {
        Bench::Audit(arguments) => audit::run(&arguments),
        Bench::Growth { only } => growth::run(only.as_deref()),
        Bench::Links { runs } => links::run(runs),
        Bench::Page { orders } => page::run(orders),
        Bench::Books { orders, only } => {
            RowOrder::asked(only).into_iter().try_for_each(|row_order| books::write(orders, row_order))
        }
        Bench::HostileBooks => hostile::write_all(&folder()?.join("growth")),
        Bench::Split { folder } => split::run(&folder),
    }
}

/// Where everything that a bench writes stands.
fn folder() -> anyhow::Result<PathBuf> {
    Ok(root()?.join("target/bench"))
}

/// The programs as they are shipped, and this one, which runs as slowly as it was built: copies, so that a build
/// in the meantime does not change what is measured.
struct Programs {
    everyline: PathBuf,
    xtask: PathBuf,
}

impl Programs {
    fn build() -> anyhow::Result<Self> {
        tell("building in release: everyline, xtask");
        let mut cargo = Command::new(env!("CARGO"));
        succeed(cargo.args(["build", "--quiet", "--release", "-p", "everyline", "-p", "xtask"]))?;
        let place = folder()?.join("programs");
        fs::create_dir_all(&place).with_context(|| format!("{} cannot be made", place.display()))?;
        let program = |name: &str| -> anyhow::Result<PathBuf> {
            let name = Path::new(name).with_extension(std::env::consts::EXE_EXTENSION);
            let (built, copy) = (root()?.join("target/release").join(&name), place.join(&name));
            fs::copy(&built, &copy).with_context(|| format!("{} cannot be copied", built.display()))?;
            Ok(copy)
        };
        Ok(Self { everyline: program("everyline")?, xtask: program("xtask")? })
    }

    /// The command that audits a folder.
    fn audit(&self, book: &Path, configuration: Option<&Path>, as_of: &str) -> Command {
        let mut command = Command::new(&self.everyline);
        command.args(["audit", "--format", "jsonl", "--as-of", as_of, "--from"]).arg(book);
        if let Some(configuration) = configuration {
            command.arg("--config").arg(configuration);
        }
        command
    }

    /// Has a part of this bench done by a process of its own.
    fn bench(&self, arguments: &[&str]) -> anyhow::Result<()> {
        succeed(Command::new(&self.xtask).arg("bench").args(arguments))
    }
}

/// Runs a command in the workspace; what it says is seen as it says it.
fn succeed(command: &mut Command) -> anyhow::Result<()> {
    let shown = format!("{command:?}");
    let status =
        command.current_dir(root()?).status().with_context(|| format!("{shown} could not be started"))?;
    ensure!(status.success(), "{shown} ended with {status}");
    Ok(())
}

#[expect(clippy::print_stdout, reason = "what is pasted into DEVELOPERS.md")]
fn say(text: &str) {
    println!("{text}");
}
