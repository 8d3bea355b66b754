//! Runs a program and says how long it took and how much memory it held.
//!
//! Must not know what the program does. Start reading at [`measure`].

use std::fs::File;
use std::io::{Read, Seek};
use std::path::Path;
use std::process::{Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::Context;
use wait4::Wait4;

/// How often it is asked whether the program has ended: no time that is told is exacter than this.
const ASKED_EVERY: Duration = Duration::from_millis(1);

/// What running a program took.
#[derive(Clone, Debug)]
pub struct Measured {
    /// From the start to the end, by the wall's clock.
    pub wall: Duration,
    /// Of all its threads together, in the program and in the system for it.
    pub processor: Duration,
    /// The most memory that was resident, in bytes; never less than the peak of the process that measures.
    pub peak_bytes: u64,
    /// How it ended; `None` where it was stopped because it took too long.
    pub status: Option<ExitStatus>,
    /// The last line that it wrote to standard error.
    pub last_words: String,
}

/// Runs a program, with its standard output into a file, and ends it where it takes longer than `limit`.
///
/// # Errors
/// Where it cannot be started, or the file not be written.
pub fn measure(command: &mut Command, answer: &Path, limit: Duration) -> anyhow::Result<Measured> {
    let shown = format!("{command:?}");
    let written = || format!("the answer could not be written into {}", answer.display());
    let mut words = tempfile::tempfile().context("no temporary file could be made")?;
    command
        .stdin(Stdio::null())
        .stdout(File::create(answer).with_context(written)?)
        .stderr(words.try_clone()?);
    let started = Instant::now();
    let mut child = command.spawn().with_context(|| format!("{shown} could not be started"))?;
    let (used, in_time) = loop {
        if let Some(used) = child.try_wait4()? {
            break (used, true);
        }
        if started.elapsed() > limit {
            child.kill()?;
            break (child.wait4()?, false);
        }
        thread::sleep(ASKED_EVERY);
    };
    let wall = started.elapsed();
    words.rewind()?;
    let mut text = Vec::new();
    words.read_to_end(&mut text)?;
    let text = String::from_utf8_lossy(&text);
    Ok(Measured {
        wall,
        processor: used.rusage.utime + used.rusage.stime,
        peak_bytes: used.rusage.maxrss,
        status: in_time.then_some(used.status),
        last_words: text.lines().last().unwrap_or_default().to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_program_that_ends_is_told_with_its_status_its_answer_and_its_last_words() {
        let folder = tempfile::tempdir().unwrap();
        let answer = folder.path().join("answer");
        let limit = Duration::from_secs(60);
        let good = measure(Command::new(env!("CARGO")).arg("--version"), &answer, limit).unwrap();
        assert!(good.status.unwrap().success());
        assert!(good.peak_bytes > 0);
        assert!(std::fs::read_to_string(&answer).unwrap().starts_with("cargo "));
        let bad =
            measure(Command::new(env!("CARGO")).args(["bench", "--unheard-of"]), &answer, limit).unwrap();
        assert!(!bad.status.unwrap().success());
        assert!(!bad.last_words.is_empty());
    }

    /// The canary: a program that would never end is ended.
    #[cfg(unix)]
    #[test]
    fn a_program_that_takes_too_long_is_ended() {
        let folder = tempfile::tempdir().unwrap();
        let mut endless = Command::new("sh");
        endless.args(["-c", "while :; do :; done"]);
        let stopped =
            measure(&mut endless, &folder.path().join("answer"), Duration::from_millis(20)).unwrap();
        assert_eq!(stopped.status, None);
    }
}
