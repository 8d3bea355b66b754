//! What a route answers, before it is an answer of HTTP.
//!
//! Must not know who asked. Start reading at [`Reply`].

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use crate::page::frame::Page;
use crate::problem::Problem;

/// An answer.
pub enum Reply {
    /// A page; it is framed for whoever asked.
    Page(Box<Page>),
    /// A whole answer.
    Whole(Response),
}

impl Reply {
    /// A view as JSON.
    ///
    /// # Errors
    /// Where it cannot be written as JSON, which no view can be.
    pub fn json<T: Serialize>(view: &T) -> Result<Self, Problem> {
        let body = serde_json::to_string(view).map_err(|error| {
            Problem::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                format!("it could not be written as JSON: {error}"),
                "",
            )
        })?;
        Ok(Self::Whole(([(header::CONTENT_TYPE, "application/json")], body).into_response()))
    }

    /// A text of a kind.
    pub fn text(kind: &'static str, text: impl Into<String>) -> Self {
        Self::Whole(([(header::CONTENT_TYPE, kind)], text.into()).into_response())
    }

    /// Nothing more to say.
    pub fn done() -> Self {
        Self::Whole(StatusCode::NO_CONTENT.into_response())
    }

    /// Look there now; `path` is one of ours.
    pub fn look_at(path: &str) -> Self {
        let mut answer = StatusCode::SEE_OTHER.into_response();
        // What cannot stand in a header line cannot be one of our paths.
        let place = HeaderValue::from_str(path).unwrap_or(HeaderValue::from_static("/"));
        answer.headers_mut().insert(header::LOCATION, place);
        Self::Whole(answer)
    }
}
