//! datasette: installed by name into an environment of its own, started as a child on loopback, and ended with its handle.
//!
//! Must not know what it serves. Start reading at [`Datasette::start`].

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use anyhow::{Context, ensure};
use serde_json::Value;

use crate::pip::Environment;

/// As what it is installed.
const DATASETTE: Environment = Environment { packages: &["datasette==0.65.5"], folder: "connect-server" };

/// How long it may take until it answers.
const ANSWERING: Duration = Duration::from_secs(60);

/// The program that fills a file, serves it, and changes it.
const PROGRAM: &str = include_str!("served.py");

/// What it says in front of its address.
const RUNNING: &str = "Uvicorn running on ";

/// A running server; it ends when this is dropped.
pub struct Datasette {
    child: Child,
    python: PathBuf,
    database: PathBuf,
    /// Where it is, with a slash at the end.
    pub address: String,
}

impl Datasette {
    /// Fills a file with tables of rows, and serves it.
    ///
    /// # Errors
    /// Where it cannot be installed or started, or does not say in time where it is.
    pub fn start(database: &Path, tables: &Value) -> anyhow::Result<Self> {
        let python = DATASETTE.python()?;
        told(&python, "fill", database, tables)?;
        let mut child = Command::new(&python)
            .args(["-c", PROGRAM, "serve"])
            .arg(database)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .context("datasette could not be started")?;
        let (said, lines) = channel();
        let output = child.stderr.take();
        // From here on it is ended whatever happens.
        let mut server = Self { child, python, database: database.to_owned(), address: String::new() };
        let output = output.context("what datasette says cannot be read")?;
        thread::spawn(move || {
            for line in BufReader::new(output).lines().map_while(Result::ok) {
                if let Some((_, address)) = line.split_once(RUNNING) {
                    let address = address.split(' ').next().unwrap_or_default().to_owned();
                    // Nobody may be there any more to hear it.
                    let _ = said.send(address);
                }
            }
        });
        let address = lines.recv_timeout(ANSWERING).context("datasette did not say in time where it is")?;
        ensure!(
            address.starts_with("http://127.0.0.1:"),
            "datasette is at {address:?}, which is not loopback"
        );
        let stem = database.file_stem().unwrap_or_default().to_string_lossy();
        server.address = format!("{address}/{stem}/");
        Ok(server)
    }

    /// Changes one row: `{ "table": …, "where": { … }, "become": { … } }`.
    ///
    /// # Errors
    /// Where it is not one row that changes.
    pub fn tell(&self, change: &Value) -> anyhow::Result<()> {
        told(&self.python, "change", &self.database, change)
    }
}

impl Drop for Datasette {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn told(python: &Path, command: &str, database: &Path, what: &Value) -> anyhow::Result<()> {
    let mut child = Command::new(python)
        .args(["-c", PROGRAM, command])
        .arg(database)
        .stdin(Stdio::piped())
        .spawn()
        .context("python could not be started")?;
    let mut input = child.stdin.take().context("python cannot be told anything")?;
    input.write_all(what.to_string().as_bytes())?;
    drop(input);
    let status = child.wait()?;
    ensure!(status.success(), "{command} of {} ended with {status}", database.display());
    Ok(())
}
