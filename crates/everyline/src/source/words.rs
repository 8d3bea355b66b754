//! What is wrong with a source, and what to do about it, as two sentences.
//!
//! Says no secret. Must not know where it is printed. Start reading at [`of`].

use chrono_tz::Tz;
use intake::source::declare::{SecretError, SecretReference, Service, SignIn};
use intake::source::http::Trouble;
use intake::source::oauth::Lost;
use intake::source::poll::{Changed, LimitMet, PollError};

use crate::terminal;

/// What an error of reading says, where nothing is kept and somebody wants to know what to correct: what is the matter,
/// a clause; and what to do, in sentences. Times are told in the shop's zone.
pub fn of(error: &PollError, signs_in: bool, zone: Tz) -> (String, String) {
    let (what, to_do) = what_and_to_do(error, signs_in, zone);
    match error.place().and_then(|place| place.row.as_deref()) {
        Some(row) => (format!("for {row}: {what}"), to_do),
        None => (what, to_do),
    }
}

fn what_and_to_do(error: &PollError, signs_in: bool, zone: Tz) -> (String, String) {
    match error {
        PollError::Unreachable { trouble, .. } => of_trouble(trouble, zone),
        PollError::SignIn { status, .. } => {
            let what = format!("the sign-in was refused (status {status})");
            let to_do = if signs_in {
                "Check the secret under sign_in of the source, that it has not run out, and that it may read this."
            } else {
                "It wants to know who asks: declare sign_in under the source."
            };
            (what, to_do.to_owned())
        }
        PollError::SignedOut { place, lost } => (lost.to_string(), lost.help(place.source.as_str())),
        PollError::NoToken { trouble, .. } => {
            (format!("no access token could be had: {trouble}"), trouble.help().to_owned())
        }
        PollError::Refused { status, .. } => {
            let what = format!("the source refused the request (status {status})");
            let check = match status {
                404 | 410 => "the address of the source and the path of the request",
                405 | 406 | 415 => "the path and the headers",
                304 => "whether something in between keeps answers that it should not,",
                301..=308 => "the address, which has been moved without saying where to,",
                _ => "query, pages and changes of the request",
            };
            (what, format!("Check {check} with what the source documents."))
        }
        PollError::Changed { changed, .. } => of_changed(changed),
        PollError::Limit { limit, .. } => {
            let to_do = match limit {
                LimitMet::Pages(_) => {
                    "Ask for larger pages, with size_ask and size under `pages` of the request."
                }
                LimitMet::Redirects(_) => {
                    "Give the address to which it leads in the end as that of the source."
                }
                LimitMet::Bytes(_) | LimitMet::Values(_) | LimitMet::Rows(_) => {
                    "Ask for smaller pages, with size_ask and size under `pages` of the request."
                }
            };
            (limit.to_string(), to_do.to_owned())
        }
        PollError::Repeats { .. } => (
            "it is the first page again".to_owned(),
            "Check `pages` of the request with what the source documents.".to_owned(),
        ),
        PollError::Elsewhere { origin, .. } => (
            format!("it leads to {origin}, another place than the source's own, and is not followed"),
            "If that is where the source is now, give that as its address.".to_owned(),
        ),
        PollError::NoAddress { no_address, .. } => {
            (no_address.to_string(), "Check path and query of the request.".to_owned())
        }
        other => (
            other.to_string().trim_end_matches('.').to_owned(),
            "Compare the request with what the source documents.".to_owned(),
        ),
    }
}

/// What is the matter with a sign-in that was tried, and what to do; `source` is what the source is called.
pub fn of_token(trouble: &Trouble, source: &str) -> (String, String) {
    let to_do = match trouble {
        // A code is good for a few minutes, and for one time.
        Trouble::SignedOut { lost } if **lost == Lost::Revoked => {
            format!("The code was used or too old: run `everyline source sign-in {source}` again.")
        }
        Trouble::SignedOut { lost } => lost.help(source),
        Trouble::NoToken { trouble } => {
            format!("{} Then run `everyline source sign-in {source}` again.", trouble.help())
        }
        _ => format!("Run `everyline source sign-in {source}` again."),
    };
    let what = match trouble {
        Trouble::SignedOut { lost } if **lost == Lost::Revoked => {
            "the code was refused (invalid_grant)".to_owned()
        }
        other => other.to_string(),
    };
    (what, to_do)
}

fn of_trouble(trouble: &Trouble, zone: Tz) -> (String, String) {
    let (what, to_do) = match trouble {
        Trouble::Busy { status, not_before } => {
            let until = not_before.map(|moment| {
                let moment = moment.with_timezone(&zone).format("%a %-d %b %Y at %H:%M");
                format!(", and wants not to be asked before {moment}, {zone} time")
            });
            let what = format!("the source cannot answer now (status {status}){}", until.unwrap_or_default());
            let to_do = match status {
                429 => {
                    "It was asked too often. Try again later; if it stays so, lower at_most of the source."
                }
                _ => "Try again later; if it stays so, tell whoever runs the source.",
            };
            (what, to_do)
        }
        Trouble::NoToken { trouble: inner } => (trouble.to_string(), inner.help()),
        Trouble::Cut => {
            (trouble.to_string(), "Try again later; if it stays so, tell whoever runs the source.")
        }
        Trouble::NoMore => (trouble.to_string(), "Try again with fewer addresses at once."),
        Trouble::TimedOut { .. } => (
            trouble.to_string(),
            "Try again later; if it stays so, ask for smaller pages, with size_ask and size under `pages`.",
        ),
        _ => (trouble.to_string(), "Check the address of the source, and that this machine has a way to it."),
    };
    (what, to_do.to_owned())
}

fn of_changed(changed: &Changed) -> (String, String) {
    let to_do = match changed {
        Changed::Misfit(misfit) => {
            let whole = misfit.to_string();
            let what = whole.strip_suffix(misfit.hint.as_str()).unwrap_or(&whole);
            return (what.trim_end().trim_end_matches('.').to_owned(), misfit.hint.clone());
        }
        Changed::Html { .. } | Changed::NotJson { .. } => {
            "Check the address of the source and the path of the request; a source is asked for JSON alone."
        }
        Changed::Link(_) | Changed::NextAddress | Changed::NextTooLong { .. } => {
            "Check `pages` of the request with what the source documents."
        }
        Changed::Count { .. } => "Check count_header of the request with what the source documents.",
    };
    (changed.to_string(), to_do.to_owned())
}

/// Where the secret of a sign-in is; none where nobody signs in, or a public client does.
///
/// # Errors
/// What is the matter with it, and what to do.
pub fn secret(service: &Service) -> Result<Option<String>, (String, String)> {
    let Some(secret) = service.sign_in.as_ref().and_then(SignIn::secret) else { return Ok(None) };
    match secret.read(&terminal::variable) {
        Ok(_) => Ok(Some(match secret {
            SecretReference::Environment(name) => format!("the environment variable {name} is set"),
            SecretReference::File(path) => format!("the file {} is there", path.display()),
            SecretReference::Credential(name) => format!("the credential {name} is there"),
        })),
        Err(error) => Err((error.to_string(), to_have(secret, &error))),
    }
}

fn to_have(secret: &SecretReference, error: &SecretError) -> String {
    match (secret, error) {
        (SecretReference::Environment(_), _) => {
            "Set it where everyline runs; a service has an environment of its own.".to_owned()
        }
        (SecretReference::Credential(name), SecretError::NoCredentials(_)) => format!(
            "To try it by hand, set CREDENTIALS_DIRECTORY to a folder with a file {name} in it."
        ),
        _ => "Put the secret on one line, with nothing else, into that file, which the user must be able to read \
              under whom everyline runs."
            .to_owned(),
    }
}
