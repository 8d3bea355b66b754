//! The header line `Link`, for the next page.
//!
//! Source: RFC 8288, section 3 and appendix B.2; quoted strings as in RFC 9110, 5.6.4. Unlike the appendix, a line that
//! cannot be read is an error: taken for the last page it would lose all others. Start reading at [`next_link`].

use thiserror::Error;
use url::Url;

/// A line that does not say clearly what comes next.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum LinkError {
    /// It is not as RFC 8288 has it.
    #[error("its header line Link is not written as RFC 8288 has it")]
    Unreadable,
    /// Two that differ.
    #[error("its header line Link names two next pages")]
    Two,
}

/// One link.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
struct Link {
    target: String,
    /// Of several the first counts.
    rel: Option<String>,
    anchor: Option<String>,
}

/// The address of the next page (`rel="next"`), given the values of the lines and the address that was asked, against
/// which relative addresses are resolved; `None` where there is none. Links whose context is another resource do not
/// count.
///
/// # Errors
/// [`LinkError`].
pub fn next_link<'v>(
    values: impl IntoIterator<Item = &'v str>,
    asked: &Url,
) -> Result<Option<Url>, LinkError> {
    let mut next: Option<Url> = None;
    for value in values {
        for link in links(value).ok_or(LinkError::Unreadable)? {
            let rel = link.rel.as_deref().unwrap_or_default();
            if !rel.split_ascii_whitespace().any(|rel| rel.eq_ignore_ascii_case("next")) {
                continue;
            }
            let anchor = link.anchor.as_deref().map(|anchor| asked.join(anchor));
            if anchor.is_some_and(|anchor| anchor.as_ref() != Ok(asked)) {
                continue;
            }
            let target = asked.join(&link.target).map_err(|_| LinkError::Unreadable)?;
            match &next {
                Some(other) if *other != target => return Err(LinkError::Two),
                _ => next = Some(target),
            }
        }
    }
    Ok(next)
}

/// All links of a line; `None` where it is not as it should be.
fn links(value: &str) -> Option<Vec<Link>> {
    let mut links = Vec::new();
    let mut rest = value;
    loop {
        rest = rest.trim_start_matches([' ', '\t', ',']);
        if rest.is_empty() {
            return Some(links);
        }
        let (target, behind) = rest.strip_prefix('<')?.split_once('>')?;
        let mut link = Link { target: target.to_owned(), ..Link::default() };
        rest = behind.trim_start_matches([' ', '\t']);
        while let Some(behind) = rest.strip_prefix(';') {
            let parameter = parameter(behind)?;
            rest = parameter.rest;
            let kept = match parameter.name.to_ascii_lowercase().as_str() {
                "rel" => &mut link.rel,
                "anchor" => &mut link.anchor,
                _ => continue,
            };
            if kept.is_none() {
                *kept = Some(parameter.value);
            }
        }
        if !rest.is_empty() && !rest.starts_with(',') {
            return None;
        }
        links.push(link);
    }
}

struct Parameter<'v> {
    /// Empty where nothing stands between two semicolons.
    name: &'v str,
    value: String,
    rest: &'v str,
}

fn parameter(text: &str) -> Option<Parameter<'_>> {
    let text = text.trim_start_matches([' ', '\t']);
    let end = text.find(|letter: char| " \t=;,".contains(letter)).unwrap_or(text.len());
    let (name, rest) = text.split_at(end);
    let rest = rest.trim_start_matches([' ', '\t']);
    let Some(rest) = rest.strip_prefix('=') else {
        return Some(Parameter { name, value: String::new(), rest });
    };
    let rest = rest.trim_start_matches([' ', '\t']);
    let (value, rest) = match rest.strip_prefix('"') {
        Some(quoted) => quoted_string(quoted)?,
        None => {
            let end = rest.find([';', ',']).unwrap_or(rest.len());
            let (value, rest) = rest.split_at(end);
            (value.trim_end_matches([' ', '\t']).to_owned(), rest)
        }
    };
    Some(Parameter { name, value, rest: rest.trim_start_matches([' ', '\t']) })
}

/// The text behind an opening quote up to the closing one, and what follows.
fn quoted_string(text: &str) -> Option<(String, &str)> {
    let mut value = String::new();
    let mut letters = text.char_indices();
    while let Some((at, letter)) = letters.next() {
        match letter {
            '"' => return Some((value, &text[at + 1..])),
            '\\' => value.push(letters.next()?.1),
            letter => value.push(letter),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(values: &[&str]) -> Result<Option<String>, LinkError> {
        let asked = Url::parse("http://example.com/TheBook/chapter3?a=1").unwrap();
        next_link(values.iter().copied(), &asked).map(|next| next.map(String::from))
    }

    fn link(target: &str, rel: &str, anchor: Option<&str>) -> Link {
        Link { target: target.into(), rel: Some(rel.into()), anchor: anchor.map(str::to_owned) }
    }

    /// Source: RFC 8288, section 3.5.
    #[test]
    fn the_examples_of_rfc_8288_are_read() {
        for (value, want) in [
            (
                r#"<http://example.com/TheBook/chapter2>; rel="previous"; title="previous chapter""#,
                vec![link("http://example.com/TheBook/chapter2", "previous", None)],
            ),
            (r#"</>; rel="http://example.net/foo""#, vec![link("/", "http://example.net/foo", None)]),
            (
                r##"</terms>; rel="copyright"; anchor="#foo""##,
                vec![link("/terms", "copyright", Some("#foo"))],
            ),
            (
                "</TheBook/chapter2>; rel=\"previous\"; title*=UTF-8'de'letztes%20Kapitel, \
                 </TheBook/chapter4>; rel=\"next\"; title*=UTF-8'de'n%c3%a4chstes%20Kapitel",
                vec![link("/TheBook/chapter2", "previous", None), link("/TheBook/chapter4", "next", None)],
            ),
            (
                r#"<http://example.org/>; rel="start http://example.net/relation/other""#,
                vec![link("http://example.org/", "start http://example.net/relation/other", None)],
            ),
            (
                r#"<https://example.org/>; rel="start", <https://example.org/index>; rel="index""#,
                vec![
                    link("https://example.org/", "start", None),
                    link("https://example.org/index", "index", None),
                ],
            ),
        ] {
            assert_eq!(links(value), Some(want), "{value}");
        }
    }

    #[test]
    fn the_next_page_is_found_however_it_is_written() {
        for (values, want) in [
            (&["</p?n=2>; rel=\"next\""][..], Some("http://example.com/p?n=2")),
            (&["<?n=2>;rel=next"], Some("http://example.com/TheBook/chapter3?n=2")),
            (&["<https://other.example/p>; REL = \"last NEXT\""], Some("https://other.example/p")),
            (
                &["<a,b;c>; title=\"x, \\\"y\\\"; rel=last\"; rel=next"],
                Some("http://example.com/TheBook/a,b;c"),
            ),
            (&["</1>; rel=prev", "</3>; rel=next"], Some("http://example.com/3")),
            (&["</3>; rel=next, , </3>; rel=\"next\","], Some("http://example.com/3")),
            (&["</3>; rel=next; rel=prev"], Some("http://example.com/3")),
            (&["</3>; rel=next; anchor=\"?a=1\""], Some("http://example.com/3")),
            (&["</3>; ; rel=next; crossorigin"], Some("http://example.com/3")),
            (&["</3>; rel=prev; rel=next"], None),
            (&["</3>; rel=next; anchor=\"/other\""], None),
            (&["</3>"], None),
            (&["</3>; rel=nextpage"], None),
            (&[""], None),
            (&[], None),
        ] {
            assert_eq!(next(values).unwrap().as_deref(), want, "{values:?}");
        }
    }

    #[test]
    fn a_line_that_is_not_clear_is_no_last_page() {
        for (values, want) in [
            (&["</3; rel=next"][..], LinkError::Unreadable),
            (&["/3; rel=next"], LinkError::Unreadable),
            (&["</3>; rel=\"next"], LinkError::Unreadable),
            (&["</3> rel=next"], LinkError::Unreadable),
            (&["<http://[>; rel=next"], LinkError::Unreadable),
            (&["</3>; rel=next", "</4>; rel=next"], LinkError::Two),
        ] {
            assert_eq!(next(values), Err(want), "{values:?}");
        }
    }
}
