//! The phrase table: folded words to what they mean, longest phrase first.
//!
//! Must not know what the meanings are for. Start reading at [`Phrases::longest`].

use std::collections::HashMap;

use crate::text::{Joint, Text};

type WordId = u32;
type Node = u32;

/// Stands for any whole number in a phrase.
const NUMBER: WordId = 0;
/// Stands for a slash without blanks between two words of a phrase.
const SLASH: WordId = 1;
const FIRST_WORD: WordId = 2;
const ROOT: Node = 0;

/// Phrases as a tree of words. `M` is what a phrase means; a phrase may mean several things.
#[derive(Clone, Debug)]
pub(crate) struct Phrases<M> {
    ids: HashMap<Box<str>, WordId>,
    /// By the word that a phrase begins with. Every other node has few words behind it.
    first: Vec<Option<Node>>,
    behind: Vec<Vec<(WordId, Node)>>,
    meanings: Vec<Vec<M>>,
}

/// The words of a text as the phrase table knows them.
pub(crate) struct Known(Vec<(Option<WordId>, bool)>);

impl<M: PartialEq> Phrases<M> {
    /// A table without phrases.
    pub(crate) fn new() -> Self {
        Self {
            ids: HashMap::new(),
            first: vec![None; FIRST_WORD as usize],
            behind: vec![Vec::new()],
            meanings: vec![Vec::new()],
        }
    }

    /// What a phrase means, to be looked at and added to. Phrases are folded and without accents; `#` is any
    /// whole number, a slash between words is itself.
    pub(crate) fn entry(&mut self, phrase: &str) -> &mut Vec<M> {
        let mut node = ROOT;
        for piece in phrase.split_whitespace() {
            if piece == "#" {
                node = self.child(node, NUMBER);
                continue;
            }
            let text = Text::of(piece);
            for index in 0..text.words().len() {
                if text.joint(index) == Joint::Slash {
                    node = self.child(node, SLASH);
                }
                let word = self.word(text.key(index));
                node = self.child(node, word);
            }
        }
        &mut self.meanings[node as usize]
    }

    fn word(&mut self, key: &str) -> WordId {
        if let Some(id) = self.ids.get(key) {
            return *id;
        }
        let id = self.first.len() as WordId;
        self.ids.insert(key.into(), id);
        self.first.push(None);
        id
    }

    fn child(&mut self, node: Node, word: WordId) -> Node {
        if let Some(child) = self.next(node, word) {
            return child;
        }
        let child = self.meanings.len() as Node;
        self.meanings.push(Vec::new());
        self.behind.push(Vec::new());
        match node {
            ROOT => self.first[word as usize] = Some(child),
            _ => self.behind[node as usize].push((word, child)),
        }
        child
    }

    fn next(&self, node: Node, word: WordId) -> Option<Node> {
        match node {
            ROOT => self.first[word as usize],
            _ => {
                self.behind[node as usize].iter().find(|(behind, _)| *behind == word).map(|(_, child)| *child)
            }
        }
    }

    /// Looks the words of a text up, once for all questions about it.
    pub(crate) fn know(&self, text: &Text<'_>) -> Known {
        let words = 0..text.words().len();
        let known = words.map(|index| {
            let key = text.key(index);
            (self.ids.get(key).copied(), key.bytes().all(|byte| byte.is_ascii_digit()))
        });
        Known(known.collect())
    }

    /// The longest phrase that begins at a word and has a meaning that is wanted: where it ends, and all its
    /// meanings. Phrases run over blanks and hyphens, never over what parts.
    pub(crate) fn longest(
        &self,
        text: &Text<'_>,
        known: &Known,
        from: usize,
        wanted: impl Fn(&M) -> bool,
    ) -> Option<(usize, &[M])> {
        let (word, is_number) = known.0.get(from).copied()?;
        let by_word = word.and_then(|word| self.longest_from(word, text, known, from, &wanted));
        let by_number = is_number.then(|| self.longest_from(NUMBER, text, known, from, &wanted)).flatten();
        match (by_word, by_number) {
            (Some(by_word), Some(by_number)) if by_number.0 > by_word.0 => Some(by_number),
            (by_word, by_number) => by_word.or(by_number),
        }
    }

    fn longest_from(
        &self,
        first: WordId,
        text: &Text<'_>,
        known: &Known,
        from: usize,
        wanted: impl Fn(&M) -> bool,
    ) -> Option<(usize, &[M])> {
        let mut node = self.next(ROOT, first)?;
        let mut found = None;
        let mut end = from + 1;
        loop {
            let meanings = &self.meanings[node as usize];
            if meanings.iter().any(&wanted) {
                found = Some((end, meanings.as_slice()));
            }
            let Some((word, is_number)) = known.0.get(end) else { return found };
            match text.joint(end) {
                Joint::Blank | Joint::Hyphen => (),
                Joint::Slash => match self.next(node, SLASH) {
                    Some(next) => node = next,
                    None => return found,
                },
                Joint::Parted | Joint::SpacedSlash | Joint::Colon | Joint::And => return found,
            }
            let by_word = word.and_then(|word| self.next(node, word));
            let by_number = || is_number.then(|| self.next(node, NUMBER)).flatten();
            let Some(next) = by_word.or_else(by_number) else { return found };
            node = next;
            end += 1;
        }
    }

    /// Whether a word stands in a phrase.
    pub(crate) fn knows(&self, word: &str) -> bool {
        self.ids.contains_key(word)
    }

    /// What a phrase means, given as its words.
    pub(crate) fn exactly<'w>(&self, words: impl Iterator<Item = &'w str>) -> &[M] {
        let mut node = ROOT;
        for word in words {
            let next = self.ids.get(word).and_then(|word| self.next(node, *word));
            match next {
                Some(next) => node = next,
                None => return &[],
            }
        }
        &self.meanings[node as usize]
    }
}
