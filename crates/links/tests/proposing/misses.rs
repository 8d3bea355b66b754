//! What is not right of a corpus, by the reason that the proposals give: the largest kinds first, with examples.
//!
//! `cargo test -p links@0.1.0 --test proposing -- --nocapture` prints it. Must not know what is right. Start reading at
//! [`Misses`].

use std::collections::BTreeMap;
use std::fmt;

use links::Why;

/// How many examples of a kind are shown, of different listings.
const EXAMPLES_AT_MOST: usize = 3;

/// Most kinds that are shown.
const KINDS_AT_MOST: usize = 24;

/// One kind of miss.
#[derive(Default)]
struct Kind {
    count: usize,
    /// An example of each of the first listings.
    examples: BTreeMap<String, String>,
}

/// The misses of one corpus by what is true, what was answered, and why.
#[derive(Default)]
pub struct Misses(BTreeMap<(&'static str, &'static str, String), Kind>);

impl Misses {
    pub fn take(
        &mut self,
        truth: &'static str,
        said: &'static str,
        why: &[Why],
        listing: &str,
        example: String,
    ) {
        let kind = self.0.entry((truth, said, stage(why))).or_default();
        kind.count += 1;
        if kind.examples.len() < EXAMPLES_AT_MOST {
            kind.examples.entry(listing.to_owned()).or_insert(example);
        }
    }
}

impl fmt::Display for Misses {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut kinds: Vec<_> = self.0.iter().collect();
        kinds.sort_by_key(|(_, kind)| std::cmp::Reverse(kind.count));
        for ((truth, said, stage), kind) in kinds.iter().take(KINDS_AT_MOST) {
            writeln!(out, "  {} of {truth}, answered {said}: {stage}", kind.count)?;
            for (listing, example) in &kind.examples {
                writeln!(out, "    {listing} {example}")?;
            }
        }
        if let Some(more) = kinds.len().checked_sub(KINDS_AT_MOST).filter(|more| *more > 0) {
            writeln!(out, "  and {more} kinds more")?;
        }
        Ok(())
    }
}

/// The name of the reason that decided.
fn stage(why: &[Why]) -> String {
    let decides = |why: &&Why| !matches!(why, Why::Reads(_) | Why::Slip { .. } | Why::More(_));
    let why = why.iter().find(decides).or(why.first());
    let named = why.map_or_else(String::new, |why| format!("{why:?}"));
    named.split(|sign: char| !sign.is_alphanumeric()).next().unwrap_or_default().to_owned()
}
