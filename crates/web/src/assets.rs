//! The style, the script and the mark, which the program has in itself.
//!
//! Each bears a digest of what it holds in its path, so that it can be kept for good. Must not know pages. Start reading at
//! [`style`].

use std::sync::LazyLock;

use axum::http::{HeaderValue, header};
use axum::response::IntoResponse;
use sha2::{Digest, Sha256};

use crate::asked::{Parameter, Takes};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Form, May, Replying, Route};
use crate::visit::Visit;

struct Asset {
    name: &'static str,
    kind: &'static str,
    text: &'static str,
}

const ALL: [Asset; 3] = [
    Asset { name: "page.css", kind: "text/css; charset=utf-8", text: include_str!("../assets/page.css") },
    Asset {
        name: "page.js",
        kind: "text/javascript; charset=utf-8",
        text: include_str!("../assets/page.js"),
    },
    Asset { name: "mark.svg", kind: "image/svg+xml", text: include_str!("../assets/mark.svg") },
];

/// Where each is.
static PATHS: LazyLock<[String; 3]> = LazyLock::new(|| {
    ALL.map(|asset| {
        let digest = data_encoding::HEXLOWER.encode(&Sha256::digest(asset.text)[..8]);
        format!("/assets/{digest}/{}", asset.name)
    })
});

/// Where the style is.
pub fn style() -> &'static str {
    &PATHS[0]
}

/// Where the script is.
pub fn script() -> &'static str {
    &PATHS[1]
}

/// Where the mark is.
pub fn mark() -> &'static str {
    &PATHS[2]
}

const PLACES: &[Parameter] = &[
    Parameter::must("digest", Takes::Text(64), "a digest of what it holds"),
    Parameter::must("name", Takes::Text(64), "its name"),
];

/// The routes.
pub fn routes() -> Vec<Route> {
    let mut route =
        Route::other("/assets/{digest}/{name}", "the style, the script and the mark of the pages", show)
            .for_those_who(May::Anybody)
            .at(PLACES);
    route.form = Form::Other;
    vec![route]
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let (digest, name) = (visit.asked.text("digest"), visit.asked.text("name"));
        let wanted = format!("/assets/{}/{}", digest.unwrap_or_default(), name.unwrap_or_default());
        let place = PATHS.iter().position(|path| *path == wanted).ok_or_else(Problem::nothing_there)?;
        let kept = HeaderValue::from_static("public, max-age=31536000, immutable");
        let headers = [
            (header::CONTENT_TYPE, HeaderValue::from_static(ALL[place].kind)),
            (header::CACHE_CONTROL, kept),
        ];
        Ok(Reply::Whole((headers, ALL[place].text).into_response()))
    })
}
