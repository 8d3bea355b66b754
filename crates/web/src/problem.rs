//! What is answered where something cannot be answered: a page of its own for a browser, problem details (RFC 9457) for a
//! program.
//!
//! Must not know what was asked for. Start reading at [`Problem`].

use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use crate::desk::Fault;

/// Why there is no answer, and what to do.
#[derive(Clone, Debug)]
pub struct Problem {
    /// The status.
    pub status: StatusCode,
    /// Why, as a sentence without a full stop.
    pub detail: String,
    /// What to do next, likewise; empty where there is nothing.
    pub todo: String,
    /// Header lines that belong to it.
    pub headers: Vec<(HeaderName, HeaderValue)>,
}

impl Problem {
    /// One with a status.
    pub fn new(status: StatusCode, detail: impl Into<String>, todo: impl Into<String>) -> Self {
        Self { status, detail: detail.into(), todo: todo.into(), headers: Vec::new() }
    }

    /// That what was asked for is not what can be.
    pub fn bad(detail: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, detail, "put the address right, or go back to the queue")
    }

    /// That there is nothing at this address.
    pub fn nothing_there() -> Self {
        Self::new(StatusCode::NOT_FOUND, "there is nothing at this address", "begin at the queue")
    }

    /// That it may not be done by whoever asks.
    pub fn forbidden(detail: impl Into<String>, todo: impl Into<String>) -> Self {
        Self::new(StatusCode::FORBIDDEN, detail, todo)
    }

    /// The same with a header line.
    #[must_use]
    pub fn with(mut self, name: HeaderName, value: HeaderValue) -> Self {
        self.headers.push((name, value));
        self
    }

    /// What it is called.
    pub fn title(&self) -> &'static str {
        match self.status {
            StatusCode::BAD_REQUEST => "That cannot be asked so",
            StatusCode::UNAUTHORIZED => "Please sign in",
            StatusCode::FORBIDDEN => "That is not allowed",
            StatusCode::NOT_FOUND => "Nothing is there",
            StatusCode::METHOD_NOT_ALLOWED => "Not in this way",
            StatusCode::NOT_ACCEPTABLE => "Not in that form",
            StatusCode::REQUEST_TIMEOUT | StatusCode::GATEWAY_TIMEOUT => "That took too long",
            StatusCode::CONFLICT | StatusCode::UNPROCESSABLE_ENTITY => "That cannot be done",
            StatusCode::PAYLOAD_TOO_LARGE => "That is too much at once",
            StatusCode::UNSUPPORTED_MEDIA_TYPE => "That form is not understood",
            StatusCode::MISDIRECTED_REQUEST => "That is not the address of this page",
            StatusCode::TOO_MANY_REQUESTS => "Please wait a little",
            StatusCode::SERVICE_UNAVAILABLE => "Not at the moment",
            _ => "Something went wrong",
        }
    }

    /// As problem details. Source: RFC 9457; without a `type` it is `about:blank`.
    pub fn details(&self) -> Response {
        let body = json!({
            "title": self.title(),
            "status": self.status.as_u16(),
            "detail": digest::clean(format!("{}.", self.detail)),
            "todo": digest::clean(self.todo.as_str()),
        });
        let headers = [(header::CONTENT_TYPE, "application/problem+json")];
        self.dressed((self.status, headers, body.to_string()).into_response())
    }

    /// An answer with its header lines.
    pub fn dressed(&self, mut answer: Response) -> Response {
        for (name, value) in &self.headers {
            answer.headers_mut().insert(name.clone(), value.clone());
        }
        answer
    }
}

impl From<Fault> for Problem {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::NotThere { what, todo } => Self::new(StatusCode::NOT_FOUND, what, todo),
            // Source: RFC 9110, section 15.5.10: it is in conflict with what stands, and whoever asks may look and ask again.
            Fault::Meanwhile { why, todo } => Self::new(StatusCode::CONFLICT, why, todo),
            Fault::Refused { why, todo } => Self::new(StatusCode::UNPROCESSABLE_ENTITY, why, todo),
            Fault::Trouble { why } => Self::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                why,
                "try again in a moment; `everyline status` says how everyline itself is",
            ),
        }
    }
}
