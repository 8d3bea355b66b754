//! `cargo xtask interface`: what the page's JSON is said to be, and what it is.
//!
//! Said it is in `/api/openapi.json`; held against that is a running server, by schemathesis, a general package of the Python
//! Package Index: it makes requests of the document that should be answered, and others that should be refused. Must not know
//! what can be asked for. Start reading at [`run`], then in `interface/asked.py`.

use std::process::Command;
use std::time::Duration;

use anyhow::{Context, ensure};

use crate::pip::Environment;
use crate::rest::{built, finished};
use crate::{root, tell};

/// What is not ours.
const OTHERS: Environment = Environment { packages: &["schemathesis==4.32.5"], folder: "interface" };

/// How long all of it may take. The program that asks sets itself less, and ends what it has started.
const ALL: Duration = Duration::from_secs(300);

/// Asks, and says what is another than the document says.
///
/// # Errors
/// Where anything is, or cannot be run.
pub fn run() -> anyhow::Result<()> {
    let python = OTHERS.python()?;
    let everyline = built()?;
    let scratch = tempfile::tempdir().context("no temporary folder could be made")?;
    let mut asking = Command::new(python);
    asking
        .arg(root()?.join("crates/xtask/src/interface/asked.py"))
        .arg(everyline)
        .arg(scratch.path())
        .current_dir(scratch.path());
    let ended = finished(&mut asking, ALL)?;
    ensure!(
        ended.status.success(),
        "the page's JSON is not what its document says:\n{}\n{}",
        ended.stdout,
        ended.stderr
    );
    tell(ended.stdout.trim());
    Ok(())
}
