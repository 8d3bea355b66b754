//! `everyline config password`: the hash of a password of the page.
//!
//! Must not know who signs in. Start reading at [`run`].

use std::io::{self, BufRead, IsTerminal};

use console::Term;

use crate::exit::Exit;
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// Runs the command. The password is never shown, kept or printed.
///
/// # Errors
/// Where it cannot be read, or is too short.
pub fn run() -> Result<Exit, Trouble> {
    let password = asked().map_err(|error| Trouble::new("the password could not be read", error))?;
    let hash = web::access::password::hash(&password).map_err(|why| {
        Trouble::new("no hash was made", why).help("run it again with another password; nothing was kept")
    })?;
    write_data(&format!("{hash}\n"))?;
    Ok(Exit::Nothing)
}

/// Typed twice on a terminal, without being shown; otherwise one line.
fn asked() -> io::Result<String> {
    if !io::stdin().is_terminal() {
        let mut line = String::new();
        io::stdin().lock().read_line(&mut line)?;
        return Ok(line.trim_end_matches(['\r', '\n']).to_owned());
    }
    let terminal = Term::stderr();
    let ask = |what: &str| {
        terminal.write_str(what)?;
        terminal.read_secure_line()
    };
    let password = ask("Password of the page: ")?;
    if ask("The same again: ")? != password {
        return Err(io::Error::other("the two are not the same"));
    }
    Ok(password)
}
