//! Tells browsers and programs that something may look different now. Nothing of what is in it.
//!
//! Server-sent events (HTML, section 9.2). Must not know what changed. Start reading at [`routes`].

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use tokio::sync::{OwnedSemaphorePermit, watch};

use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::serve::stopped;
use crate::visit::Visit;

/// How often a connection says that it is there, so that it is not taken for a dead one, and a dead one is found.
const SIGN_OF_LIFE: Duration = Duration::from_secs(25);

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![Route::other(
        "/events",
        "tells, as server-sent events, that something may look different now",
        listen,
    )]
}

/// What goes on while somebody listens.
struct Listening {
    changes: watch::Receiver<u64>,
    stop: watch::Receiver<bool>,
    is_new: bool,
    _room: OwnedSemaphorePermit,
}

fn listen(visit: Visit) -> Replying {
    Box::pin(async move {
        let room = Arc::clone(&visit.app.listeners).try_acquire_owned().map_err(|_| {
            Problem::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "too many are told of changes already",
                "close a few of the pages; this one can be loaded anew by hand",
            )
        })?;
        let (changes, stop) = (visit.desk().changes(), visit.app.stop.clone());
        let events = events(Listening { changes, stop, is_new: true, _room: room });
        let alive = KeepAlive::new().interval(SIGN_OF_LIFE);
        Ok(Reply::Whole(Sse::new(events).keep_alive(alive).into_response()))
    })
}

/// An event at the beginning, so that whoever comes again learns what they missed, and one for each change.
fn events(listening: Listening) -> impl Stream<Item = Result<Event, Infallible>> {
    stream::unfold(listening, |mut listening| async move {
        if !listening.is_new {
            tokio::select! {
                changed = listening.changes.changed() => changed.ok()?,
                () = stopped(&mut listening.stop) => return None,
            }
        }
        listening.is_new = false;
        let number = *listening.changes.borrow_and_update();
        let event = Event::default().event("changed").id(number.to_string()).data(number.to_string());
        Some((Ok(event), listening))
    })
}
