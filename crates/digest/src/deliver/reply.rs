//! What a server says in its own words, where it may be shown.
//!
//! Must not know whose words they are. Start reading at [`shown`].

use data_encoding::BASE64;

use super::Message;
use crate::clean::cut;

/// Columns of a server's words: their first sentence.
const SHOWN_COLUMNS: usize = 160;

/// So many characters of a message in a server's words are no chance, and it gives back what it was sent.
const ECHO_CHARACTERS: usize = 24;

/// A server's words in quotation marks, in one line and cut; `None` where there are none, and where they hold one of the
/// secrets or a piece of what the message says.
pub(super) fn shown(words: &str, secrets: &[&str], message: &Message) -> Option<String> {
    let words = cut(words, SHOWN_COLUMNS);
    if words.is_empty() || holds_secret(&words, secrets) || is_echo(&words, message) {
        return None;
    }
    Some(format!("\"{words}\""))
}

fn holds_secret(words: &str, secrets: &[&str]) -> bool {
    // Any start of it too: the words may have been cut in the middle of it.
    secrets.iter().filter(|secret| !secret.is_empty()).any(|secret| {
        let start: String = secret.chars().take(SECRET_START_CHARACTERS).collect();
        let coded = BASE64.encode(secret.as_bytes());
        let coded_start: String = coded.chars().take(SECRET_START_CHARACTERS).collect();
        words.contains(&start) || words.contains(&coded_start)
    })
}

/// So much of the start of a secret is the secret.
const SECRET_START_CHARACTERS: usize = 8;

fn is_echo(words: &str, message: &Message) -> bool {
    let characters: Vec<char> = words.chars().collect();
    characters.windows(ECHO_CHARACTERS).any(|window| {
        let piece: String = window.iter().collect();
        message.says().iter().any(|text| text.contains(&piece))
    })
}
