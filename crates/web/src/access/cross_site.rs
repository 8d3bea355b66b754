//! Whether a request was made by a page of somebody else.
//!
//! Must not know what it asks for. Start reading at [`is_from_elsewhere`].

use axum::http::{HeaderMap, header};

/// Whether a browser says that a page of another origin made the request. A browser that says nothing of it, and a program,
/// do not.
///
/// Sources: Fetch Metadata Request Headers (W3C), section 2.1, where `none` is somebody who typed the address; RFC 6454,
/// section 7, for browsers that send `Origin` alone.
pub fn is_from_elsewhere(headers: &HeaderMap) -> bool {
    let value = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    if let Some(site) = value("sec-fetch-site") {
        return !matches!(site, "same-origin" | "none");
    }
    match (headers.get(header::ORIGIN), value("host")) {
        (None, _) => false,
        (Some(origin), Some(host)) => {
            let own = origin.to_str().ok().and_then(|origin| origin.split_once("://"));
            own.is_none_or(|(_, origin)| !origin.eq_ignore_ascii_case(host))
        }
        (Some(_), None) => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_request_that_another_page_made_is_known_by_what_the_browser_says_of_it() {
        for (lines, want) in [
            (&[("host", "127.0.0.1:8765")][..], false),
            (&[("sec-fetch-site", "same-origin")], false),
            (&[("sec-fetch-site", "none")], false),
            (&[("sec-fetch-site", "same-site")], true),
            (&[("sec-fetch-site", "cross-site")], true),
            (&[("host", "127.0.0.1:8765"), ("origin", "http://127.0.0.1:8765")], false),
            (&[("host", "127.0.0.1:8765"), ("origin", "http://127.0.0.1:9999")], true),
            (&[("host", "127.0.0.1:8765"), ("origin", "https://evil.example")], true),
            (&[("host", "127.0.0.1:8765"), ("origin", "null")], true),
            (&[("origin", "http://127.0.0.1:8765")], true),
        ] {
            let mut headers = HeaderMap::new();
            for (name, value) in lines {
                headers.insert(*name, value.parse().unwrap());
            }
            assert_eq!(is_from_elsewhere(&headers), want, "{lines:?}");
        }
    }
}
