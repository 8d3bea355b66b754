//! datasette: installed by name into an environment of its own, started as a child on loopback, and ended with its handle.
//!
//! Must not know what it serves. Start reading at [`Datasette::start`].

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use anyhow::{Context, ensure};
use serde_json::Value;

use crate::rest::finished;
use crate::{root, tell};

/// As what it is installed.
const PACKAGE: &str = "datasette==0.65.5";

/// How long making the environment or installing may take.
const INSTALLING: Duration = Duration::from_secs(300);

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
        let python = installed()?;
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

/// The Python of an environment in which it is; it is made and installed, where it is not there yet.
fn installed() -> anyhow::Result<PathBuf> {
    let is_there = Command::new("python3").args(["-c", "import ensurepip, venv"]).output();
    ensure!(
        is_there.is_ok_and(|output| output.status.success()),
        "no python3 with venv can be run; this check asks a server that runs on Python: install Python 3.9 or later, with \
         its venv; the other checks do without"
    );
    let folder = root()?.join("target/connect-server");
    let python = folder.join("bin/python");
    let said = folder.join("installed");
    if fs::read_to_string(&said).is_ok_and(|installed| installed == PACKAGE) && python.exists() {
        return Ok(python);
    }
    tell(&format!("installing {PACKAGE} into {}", folder.display()));
    let mut venv = Command::new("python3");
    venv.args(["-m", "venv", "--clear"]).arg(&folder);
    finished(&mut venv, INSTALLING)?.expect(0)?;
    let mut pip = Command::new(&python);
    pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", PACKAGE]);
    finished(&mut pip, INSTALLING)?.expect(0).context("it needs the package registry the first time")?;
    fs::write(&said, PACKAGE)?;
    Ok(python)
}
