//! Where words go: data to standard output, what people should know to standard error; how wide, in which
//! colour, and how far along.
//!
//! The only place that looks at the environment. Must not know what is said. Start reading at [`write_data`].

use std::ffi::OsString;
use std::io::{self, BufWriter, IsTerminal, Write};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::arguments::Colour;
use crate::trouble::Trouble;

/// Columns where neither the environment nor a terminal says how many there are.
const USUAL_WIDTH: usize = 80;

/// Writes a text to standard output. A reader that has gone away, as `head` does, has what it wanted.
///
/// # Errors
/// Where it cannot be written for any other reason.
pub fn write_data(text: &str) -> Result<(), Trouble> {
    write_texts([text])
}

/// Writes texts to standard output, one after the other, as they come. As [`write_data`].
///
/// # Errors
/// As [`write_data`].
pub fn write_texts<T: AsRef<str>>(texts: impl IntoIterator<Item = T>) -> Result<(), Trouble> {
    let mut out = BufWriter::new(io::stdout().lock());
    let written = texts.into_iter().try_for_each(|text| out.write_all(text.as_ref().as_bytes()));
    match written.and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Trouble::new("the answer could not be written in full", error)
                .help("check that there is space left where standard output goes, and run it again"))
        }
        _ => Ok(()),
    }
}

/// Says something to people, on standard error. What came from outside in it cannot drive the terminal.
pub fn tell(text: &str) {
    let lines: Vec<_> = text.split('\n').map(digest::clean).collect();
    // Where nobody can be told, there is nobody to tell that to.
    let _ = writeln!(io::stderr().lock(), "{}", lines.join("\n"));
}

/// Whether standard output gets colour: on a terminal, where `NO_COLOR` is not set to anything.
pub fn colour(asked: Colour) -> bool {
    match asked {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => io::stdout().is_terminal() && environment("NO_COLOR").is_none(),
    }
}

/// How many columns a table may take.
pub fn width() -> usize {
    environment("COLUMNS")
        .and_then(|columns| columns.parse().ok())
        .filter(|columns| *columns > 0)
        .or_else(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0)))
        .unwrap_or(USUAL_WIDTH)
}

/// A variable of the environment, as it stands; `None` where it is not set.
pub fn variable(name: &str) -> Option<OsString> {
    std::env::var_os(name)
}

/// What the system calls the user who runs this; `None` where it has no name for them.
pub fn user() -> Option<String> {
    whoami::username().ok().map(|name| name.trim().to_owned()).filter(|name| !name.is_empty())
}

#[expect(clippy::disallowed_methods, reason = "the binary may look at the environment, and does so here")]
fn environment(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}

/// A bar on standard error that says how much has been read; nothing where that is no terminal.
pub struct ReadingBar(ProgressBar);

impl ReadingBar {
    /// A bar that is not shown before its first [`Self::set`]; never, where `quiet`.
    pub fn new(quiet: bool) -> Self {
        let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(None, target);
        if let Ok(style) = ProgressStyle::with_template("reading {wide_bar} {bytes} of {total_bytes}") {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// So many bytes of so many have been read.
    pub fn set(&self, bytes_read: u64, bytes_total: u64) {
        self.0.set_length(bytes_total);
        self.0.set_position(bytes_read);
    }

    /// Takes the bar away.
    pub fn clear(self) {
        self.0.finish_and_clear();
    }
}

/// From now on what is logged goes to standard error, a line each, without colour: `2026-11-26T10:02:00Z WARN …`.
pub fn log(level: tracing::Level) {
    let subscriber = tracing_subscriber::fmt()
        .with_max_level(level)
        .with_ansi(false)
        .with_target(false)
        .with_writer(io::stderr)
        .finish();
    // Where somebody logs already, it goes where theirs goes.
    let _ = tracing::subscriber::set_global_default(subscriber);
}
