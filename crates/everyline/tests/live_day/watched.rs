//! The real `everyline watch`, driven by hand: its clock is told, and after each round it says so.
//!
//! Start reading at [`Watched::start`].

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use chrono::{DateTime, SecondsFormat, Utc};
use simshop::live::{Serving, World};
use tempfile::TempDir;

/// The process, its folder, and all that it said.
pub struct Watched {
    pub home: TempDir,
    child: Child,
    time: Option<ChildStdin>,
    out: BufReader<ChildStdout>,
    /// Standard output so far.
    pub said: String,
}

impl Watched {
    /// Starts it on a world's servers, in a folder of its own.
    pub fn start(world: &World, serving: &Serving) -> Self {
        let home = tempfile::tempdir().unwrap();
        std::fs::write(home.path().join("everyline.toml"), world.configuration(serving)).unwrap();
        Self::start_in(home, world)
    }

    /// Starts it again, on what it left.
    pub fn start_in(home: TempDir, world: &World) -> Self {
        let log =
            std::fs::OpenOptions::new().create(true).append(true).open(home.path().join("log")).unwrap();
        let mut child = command(home.path(), world)
            .args(["watch", "--told-time"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(log)
            .spawn()
            .unwrap();
        let (time, out) = (child.stdin.take(), BufReader::new(child.stdout.take().unwrap()));
        Self { home, child, time, out, said: String::new() }
    }

    /// Begins a round, at a moment.
    pub fn begin(&mut self, at: DateTime<Utc>) {
        let at = at.to_rfc3339_opts(SecondsFormat::Secs, true);
        writeln!(self.time.as_mut().unwrap(), "{at}").unwrap();
    }

    /// One round, at a moment.
    pub fn round(&mut self, at: DateTime<Utc>) {
        self.begin(at);
        let at = at.to_rfc3339_opts(SecondsFormat::Secs, true);
        loop {
            let mut line = String::new();
            let read = self.out.read_line(&mut line).unwrap();
            assert!(read > 0, "it ended:\n{}\n{}", self.said, self.log());
            if line.trim_end() == format!("round {at}") {
                return;
            }
            self.said.push_str(&line);
        }
    }

    /// What it wrote to standard error.
    pub fn log(&self) -> String {
        std::fs::read_to_string(self.home.path().join("log")).unwrap()
    }

    /// Ends it in good order; gives back its folder, and all that it said.
    pub fn end(mut self) -> (TempDir, String) {
        drop(self.time.take());
        self.out.read_to_string(&mut self.said).unwrap();
        assert!(self.child.wait().unwrap().success(), "{}", self.log());
        (self.home, self.said)
    }

    /// Ends it at once, wherever it is; gives back its folder.
    pub fn kill(mut self) -> TempDir {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.home
    }
}

/// The program in a folder, with the secrets of a world.
pub fn command(home: &Path, world: &World) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_everyline"));
    command.current_dir(home).envs(world.secrets()).env_remove("COLUMNS").env_remove("NO_COLOR");
    command
}
