//! Trying parameters at a service, few at a time: each request is counted, and what is ignored by it all at once is found
//! with one.
//!
//! Must not know what a parameter is for. Start reading at [`Tries::narrow`].

use std::sync::Arc;

use url::Url;

use crate::source::http::{Answer, Client, Few, Json, Trouble, Validators};

/// How many candidates are tried one by one where they cannot be tried together.
const MAX_SINGLES: usize = 4;

/// Parameters of one candidate: names and values.
pub(super) type Parameters = Vec<(String, String)>;

/// What an answer to a try means.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Verdict {
    /// It is what was asked for.
    Obeyed,
    /// It is the same as without.
    Ignored,
    /// It is neither.
    Other,
    /// It says that none of the candidates is what is looked for.
    Never,
}

/// What comes of a request.
pub(super) enum Came {
    Json(Box<Json>),
    /// The service does not take it so.
    Refused,
    /// Nothing more is to be asked.
    Stopped,
}

/// What asks, and how far it may go.
pub(super) struct Tries<'c> {
    pub(super) client: &'c Client,
    pub(super) few: &'c Arc<Few>,
    /// Why nothing more is asked, other than that as many requests were made as may be.
    pub(super) stopped: Option<Trouble>,
}

impl Tries<'_> {
    /// Whether one more may be made.
    pub(super) fn may_go_on(&self) -> bool {
        self.stopped.is_none() && self.few.left() > 0
    }

    /// Asks once.
    pub(super) async fn ask(&mut self, url: &Url) -> Came {
        if !self.may_go_on() {
            return Came::Stopped;
        }
        match self.client.get(url, &Validators::default()).await {
            Ok(Answer::Json(json)) => Came::Json(json),
            Ok(Answer::Unchanged { .. }) => Came::Refused,
            Err(Trouble::NoMore) => Came::Stopped,
            // A parameter that it does not know may well break it.
            Err(
                Trouble::Refused { .. }
                | Trouble::Html { .. }
                | Trouble::NotJson { .. }
                | Trouble::Cut
                | Trouble::Elsewhere { .. }
                | Trouble::Redirects { .. }
                | Trouble::TooLarge { .. }
                | Trouble::TooMany { .. }
                | Trouble::Busy { status: 500 | 501, .. },
            ) => Came::Refused,
            Err(trouble) => {
                self.stopped = Some(trouble);
                Came::Stopped
            }
        }
    }

    async fn judged(&mut self, base: &Url, of: &[&Parameters], judge: &Judge<'_>) -> Option<Judged> {
        let all = of.iter().flat_map(|parameters| parameters.iter());
        match self.ask(&with(base, all)).await {
            Came::Json(json) => match judge(&json) {
                Verdict::Obeyed => Some(Judged::Obeyed(json)),
                Verdict::Ignored | Verdict::Never => Some(Judged::Ignored),
                Verdict::Other => Some(Judged::Other),
            },
            Came::Refused => Some(Judged::Other),
            Came::Stopped => None,
        }
    }

    /// Which of the candidates is obeyed by itself, and the answer to it: they are asked together first, and then by
    /// halves; where the answer to all together is neither the same nor what was asked for, the first ones one by one.
    pub(super) async fn narrow(
        &mut self,
        base: &Url,
        candidates: &[Parameters],
        judge: &Judge<'_>,
    ) -> Option<(usize, Box<Json>)> {
        let mut range = 0..candidates.len();
        let mut is_known = false;
        loop {
            let of: Vec<&Parameters> = candidates.get(range.clone())?.iter().collect();
            if of.is_empty() {
                return None;
            }
            if !is_known {
                match self.judged(base, &of, judge).await? {
                    Judged::Obeyed(json) if of.len() == 1 => return Some((range.start, json)),
                    Judged::Obeyed(_) => {}
                    Judged::Ignored => return None,
                    Judged::Other if of.len() == 1 => return None,
                    Judged::Other => return self.one_by_one(base, candidates, range, judge).await,
                }
            }
            // One of these is obeyed: of the first half, or of the second one.
            let middle = range.start + of.len().div_ceil(2);
            let half: Vec<&Parameters> = candidates.get(range.start..middle)?.iter().collect();
            match self.judged(base, &half, judge).await? {
                Judged::Obeyed(json) if half.len() == 1 => return Some((range.start, json)),
                Judged::Obeyed(_) => (range, is_known) = (range.start..middle, true),
                Judged::Ignored => {
                    range.start = middle;
                    // A last one was only ever asked beside others.
                    is_known = range.len() > 1;
                }
                Judged::Other => return self.one_by_one(base, candidates, range, judge).await,
            }
        }
    }

    async fn one_by_one(
        &mut self,
        base: &Url,
        candidates: &[Parameters],
        range: std::ops::Range<usize>,
        judge: &Judge<'_>,
    ) -> Option<(usize, Box<Json>)> {
        for at in range.take(MAX_SINGLES) {
            if let Judged::Obeyed(json) = self.judged(base, &[candidates.get(at)?], judge).await? {
                return Some((at, json));
            }
        }
        None
    }
}

/// A verdict, with the answer where it is the one that was looked for.
enum Judged {
    Obeyed(Box<Json>),
    Ignored,
    Other,
}

/// What judges an answer.
pub(super) type Judge<'j> = dyn Fn(&Json) -> Verdict + Send + Sync + 'j;

/// An address with these parameters, each once; one that it has already is replaced.
pub(super) fn with<'p>(base: &Url, parameters: impl Iterator<Item = &'p (String, String)>) -> Url {
    let mut all: Vec<(String, String)> =
        base.query_pairs().map(|(name, value)| (name.into_owned(), value.into_owned())).collect();
    for (name, value) in parameters {
        match all.iter_mut().find(|(known, _)| known == name) {
            Some((_, known)) => known.clone_from(value),
            None => all.push((name.clone(), value.clone())),
        }
    }
    let mut url = base.clone();
    url.set_query(None);
    if !all.is_empty() {
        url.query_pairs_mut().extend_pairs(&all);
    }
    url
}
