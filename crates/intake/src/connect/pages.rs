//! How one page leads to the next: what an answer offers is tried, and stands only where another page came of it.
//!
//! Must not know how changes are asked for. Start reading at [`Tries::pages`].

use url::Url;

use super::answer::{Lean, Signs};
use super::names::NAMES;
use super::tries::{Came, Parameters, Tries, Verdict, with};
use crate::propose::quoted;
use crate::source::declare::{At, Found, MAX_PAGE_SIZE};
use crate::source::http::Json;

/// How one page leads to the next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Style {
    Link,
    Address { at: String },
    Cursor { at: String, ask: String },
    Number { ask: String, first: u64 },
    Offset { ask: String, size_ask: String, size: usize },
}

/// A style that was tried, and what came of it.
#[derive(Debug)]
pub(super) struct Proven {
    pub(super) style: Style,
    /// How many records the next page had.
    pub(super) records: usize,
    /// The next page.
    pub(super) page: Box<Json>,
}

/// What came of looking for pages.
#[derive(Debug)]
pub(super) enum Paged {
    Proven(Proven),
    /// A clause: why the first answer is all.
    Whole(String),
    /// A clause: why it is not, where no way to the next page was found.
    NotFound(String),
    /// Nothing says that there are more.
    NoSign,
    /// It was not tried, or not to its end.
    NotTried,
}

impl Paged {
    fn proven(style: Style, page: Box<Json>, lean: &Lean) -> Self {
        Self::Proven(Proven { style, records: lean.keys(&page.body).len(), page })
    }
}

impl Style {
    /// As the configuration writes it.
    pub(super) fn toml(&self) -> String {
        match self {
            Self::Link => "{ by = \"link\" }".to_owned(),
            Self::Address { at } => format!("{{ by = \"url\", at = {} }}", quoted(at)),
            Self::Cursor { at, ask } => {
                format!("{{ by = \"cursor\", at = {}, ask = {} }}", quoted(at), quoted(ask))
            }
            Self::Number { ask, first } => {
                format!("{{ by = \"number\", ask = {}, first = {first} }}", quoted(ask))
            }
            Self::Offset { ask, size_ask, size } => format!(
                "{{ by = \"offset\", ask = {}, size_ask = {}, size = {size} }}",
                quoted(ask),
                quoted(size_ask)
            ),
        }
    }

    /// The parameters that it sets; a fixed one of the same name has to go.
    pub(super) fn asks(&self) -> Vec<&str> {
        match self {
            Self::Link | Self::Address { .. } => Vec::new(),
            Self::Cursor { ask, .. } | Self::Number { ask, .. } => vec![ask],
            Self::Offset { ask, size_ask, .. } => vec![ask, size_ask],
        }
    }

    /// The address of the page behind `page`, which is so many pages behind the first one, `base`.
    pub(super) fn behind(&self, base: &Url, page: &Json, behind_first: u64, lean: &Lean) -> Option<Url> {
        let said = |at: &str| match At::parse(at).ok()?.one(&page.body) {
            Found::One(serde_json::Value::String(text)) if !text.is_empty() => Some(text.clone()),
            Found::One(serde_json::Value::Number(number)) => Some(number.to_string()),
            _ => None,
        };
        let set = |parameters: Parameters| with(base, parameters.iter());
        match self {
            Self::Link => page.next_link().ok().flatten(),
            Self::Address { at } => page.address.join(&said(at)?).ok(),
            Self::Cursor { at, ask } => Some(set(vec![(ask.clone(), said(at)?)])),
            Self::Number { ask, first } => {
                Some(set(vec![(ask.clone(), (first + behind_first + 1).to_string())]))
            }
            Self::Offset { ask, size_ask, size } => {
                let records = lean.keys(&page.body).len() as u64;
                // As a poll asks: the next page begins with the last record of this one.
                let step = (*size as u64).saturating_sub(1).max(1);
                let offset = behind_first * step + records.checked_sub(1)?;
                Some(set(vec![(ask.clone(), offset.to_string()), (size_ask.clone(), size.to_string())]))
            }
        }
    }
}

/// How the records of another answer stand to those of the first.
pub(super) fn compared(first: &[String], other: &[String]) -> Verdict {
    if first == other {
        Verdict::Ignored
    } else if !other.is_empty() && other.iter().all(|key| !first.contains(key)) {
        Verdict::Obeyed
    } else {
        Verdict::Other
    }
}

/// Whether the records of another answer go on from the last of the first.
fn goes_on(first: &[String], other: &[String]) -> Verdict {
    match (first.last(), other.split_first()) {
        (Some(last), Some((head, rest))) if last == head && compared(first, rest) == Verdict::Obeyed => {
            Verdict::Obeyed
        }
        _ if first == other => Verdict::Ignored,
        _ => Verdict::Other,
    }
}

impl Tries<'_> {
    /// Finds how pages follow each other. `learned` are ways that held for other addresses of the same service; with
    /// `is_thorough`, usual parameters are tried where nothing is said of pages, and a usual number of records came.
    pub(super) async fn pages(
        &mut self,
        base: &Url,
        first: &Json,
        lean: &Lean,
        signs: &Signs,
        learned: &[Style],
        is_thorough: bool,
    ) -> Paged {
        let keys = lean.keys(&first.body);
        let of_more = signs.of_more(keys.len());
        if of_more.is_none() {
            if let Some(why) = signs.of_whole(keys.len()) {
                return Paged::Whole(why);
            }
            if !NAMES.usual.size.contains(&keys.len()) {
                return Paged::NoSign;
            }
            if !is_thorough {
                return Paged::NotTried;
            }
        }
        if keys.is_empty() {
            return Paged::NoSign;
        }
        let mut styles: Vec<Style> = learned.to_vec();
        styles.extend(offered(base, signs, keys.len()));
        let mut tried: Vec<Style> = Vec::new();
        for style in styles {
            if tried.contains(&style) {
                continue;
            }
            tried.push(style.clone());
            if let Some(proven) = self.try_style(base, first, &keys, lean, style).await {
                return Paged::Proven(proven);
            }
            if !self.may_go_on() {
                return Paged::NotTried;
            }
        }
        if let Some(paged) = self.usual_cursors(base, &keys, lean, signs).await {
            return paged;
        }
        // Where a way is named, others are not guessed.
        let is_named = signs.link.is_some() || !signs.addresses.is_empty() || !signs.cursors.is_empty();
        if !is_named && let Some(paged) = self.usual_pages(base, &keys, lean).await {
            return paged;
        }
        match of_more {
            _ if !self.may_go_on() => Paged::NotTried,
            Some(why) => Paged::NotFound(why),
            None => Paged::NoSign,
        }
    }

    async fn try_style(
        &mut self,
        base: &Url,
        first: &Json,
        keys: &[String],
        lean: &Lean,
        style: Style,
    ) -> Option<Proven> {
        let url = style.behind(base, first, 0, lean)?;
        let Came::Json(page) = self.ask(&url).await else { return None };
        let other = lean.keys(&page.body);
        let verdict = match style {
            Style::Offset { .. } => goes_on(keys, &other),
            _ => compared(keys, &other),
        };
        (verdict == Verdict::Obeyed).then(|| Proven { style, records: other.len(), page })
    }

    /// A cursor of which it is not said how it is handed back.
    async fn usual_cursors(
        &mut self,
        base: &Url,
        keys: &[String],
        lean: &Lean,
        signs: &Signs,
    ) -> Option<Paged> {
        for (at, name, cursor) in &signs.cursors {
            let names = cursor_names(name);
            let candidates: Vec<Parameters> =
                names.iter().map(|name| vec![(name.clone(), cursor.clone())]).collect();
            let judge = |json: &Json| compared(keys, &lean.keys(&json.body));
            if let Some((found, page)) = self.narrow(base, &candidates, &judge).await {
                let style = Style::Cursor { at: at.clone(), ask: names.get(found)?.clone() };
                return Some(Paged::proven(style, page, lean));
            }
        }
        None
    }

    /// Numbers of pages and of records, by the names that are usual.
    async fn usual_pages(&mut self, base: &Url, keys: &[String], lean: &Lean) -> Option<Paged> {
        let second = |name: &String| vec![(name.clone(), "2".to_owned())];
        let candidates: Vec<Parameters> = NAMES.ask.page.iter().map(second).collect();
        let is_part = std::sync::atomic::AtomicBool::new(false);
        let judge = |json: &Json| {
            let other = lean.keys(&json.body);
            if !other.is_empty() && other.len() < keys.len() && other.iter().all(|key| keys.contains(key)) {
                is_part.store(true, std::sync::atomic::Ordering::SeqCst);
                return Verdict::Never;
            }
            compared(keys, &other)
        };
        let found = self.narrow(base, &candidates, &judge).await;
        if is_part.load(std::sync::atomic::Ordering::SeqCst) && found.is_none() {
            return Some(Paged::Whole(
                "a page that was asked for holds nothing that the answer without pages does not".to_owned(),
            ));
        }
        if let Some((found, second)) = found {
            let ask = NAMES.ask.page.get(found)?;
            // Whether the first page is 0 or 1 is seen of page 1.
            let Came::Json(one) = self.ask(&with(base, [(ask.clone(), "1".to_owned())].iter())).await else {
                return Some(Paged::NotTried);
            };
            let style = |first| Style::Number { ask: ask.clone(), first };
            return match compared(keys, &lean.keys(&one.body)) {
                Verdict::Ignored => Some(Paged::proven(style(1), second, lean)),
                Verdict::Obeyed => Some(Paged::proven(style(0), one, lean)),
                Verdict::Other | Verdict::Never => None,
            };
        }
        if keys.len() < 2 || keys.len() > MAX_PAGE_SIZE as usize {
            return None;
        }
        let candidates: Vec<Parameters> = NAMES
            .ask
            .offset
            .iter()
            .map(|[ask, size]| {
                vec![(ask.clone(), (keys.len() - 1).to_string()), (size.clone(), keys.len().to_string())]
            })
            .collect();
        let judge = |json: &Json| goes_on(keys, &lean.keys(&json.body));
        let (found, page) = self.narrow(base, &candidates, &judge).await?;
        let [ask, size_ask] = NAMES.ask.offset.get(found)?.clone();
        Some(Paged::proven(Style::Offset { ask, size_ask, size: keys.len() }, page, lean))
    }
}

/// The ways that an answer, or its own address, offers, the surest first.
fn offered(base: &Url, signs: &Signs, records: usize) -> Vec<Style> {
    let mut styles = Vec::new();
    if signs.link.is_some() {
        styles.push(Style::Link);
    }
    styles.extend(signs.addresses.iter().map(|(at, _)| Style::Address { at: at.clone() }));
    let has_cursor = !signs.cursors.is_empty();
    let given = |names: &[String]| {
        base.query_pairs()
            .find(|(name, _)| names.iter().any(|known| known == name))
            .map(|(name, value)| (name.into_owned(), value.parse::<u64>().ok()))
    };
    let is_first = |number: u64| number <= 1;
    if let Some((ask, Some(first))) = given(&NAMES.ask.page)
        && is_first(first)
    {
        styles.push(Style::Number { ask, first });
    }
    if let Some((name, page)) = &signs.page
        && is_first(*page)
        && !has_cursor
    {
        let echoed = NAMES.ask.page.contains(name).then(|| name.clone());
        let names = echoed.into_iter().chain(NAMES.ask.page.first().cloned());
        styles.extend(names.map(|ask| Style::Number { ask, first: *page }));
    }
    if let Some(next) = signs.next_number
        && next.checked_sub(1).is_some_and(is_first)
        && let Some(ask) = NAMES.ask.page.first()
    {
        styles.push(Style::Number { ask: ask.clone(), first: next - 1 });
    }
    if let Some((ask, 0)) = &signs.offset
        && records > 1
        && records <= MAX_PAGE_SIZE as usize
    {
        let size_ask = signs.size.as_ref().map(|(name, _)| name.clone());
        let usual = NAMES.ask.offset.iter().find(|[known, _]| known == ask).map(|[_, size]| size.clone());
        if let Some(size_ask) = size_ask.or(usual) {
            styles.push(Style::Offset { ask: ask.clone(), size_ask, size: records });
        }
    }
    styles
}

/// By what parameters a cursor that has this name in the answer may be handed back, the likeliest first.
fn cursor_names(name: &str) -> Vec<String> {
    let lower = name.to_ascii_lowercase();
    let bare = ["next_", "next-", "next"].iter().find_map(|front| {
        let rest = lower.strip_prefix(front).filter(|rest| !rest.is_empty())?;
        let own = name.get(name.len() - rest.len()..)?;
        let mut letters = own.chars();
        let first = letters.next()?;
        Some(first.to_ascii_lowercase().to_string() + letters.as_str())
    });
    let mut names: Vec<String> = bare.into_iter().collect();
    names.push(name.to_owned());
    names.extend(NAMES.ask.cursor.iter().cloned());
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|name| seen.insert(name.clone()));
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cursor_is_handed_back_by_the_name_that_it_bears_first() {
        assert_eq!(cursor_names("next_cursor")[0], "cursor");
        assert_eq!(cursor_names("nextPageToken")[0], "pageToken");
        assert_eq!(cursor_names("after")[..2], ["after", "cursor"]);
    }

    #[test]
    fn a_page_is_another_only_where_none_of_its_records_came_before() {
        let keys = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(compared(&keys("a b"), &keys("c d")), Verdict::Obeyed);
        assert_eq!(compared(&keys("a b"), &keys("a b")), Verdict::Ignored);
        assert_eq!(compared(&keys("a b"), &keys("b c")), Verdict::Other);
        assert_eq!(compared(&keys("a b"), &[]), Verdict::Other);
        assert_eq!(goes_on(&keys("a b"), &keys("b c")), Verdict::Obeyed);
        assert_eq!(goes_on(&keys("a b"), &keys("c d")), Verdict::Other);
        assert_eq!(goes_on(&keys("a b"), &keys("b")), Verdict::Other);
    }
}
