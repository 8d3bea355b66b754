//! The router: the table of routes, behind the guard.
//!
//! Must not know what a route does. Start reading at [`service`].

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::Method;
use axum::middleware::{Next, from_fn};
use axum::routing::{MethodFilter, MethodRouter, on};
use tokio::sync::{Semaphore, watch};

use crate::access::Access;
use crate::boards::Boards;
use crate::desk::Desk;
use crate::guard;
use crate::metrics::Metrics;
use crate::route::Route;
use crate::routes::routes;

/// The most requests that are answered at once; more wait for nothing but each other on a small machine.
const AT_ONCE: usize = 64;

/// The most browsers and programs that are told of changes at once.
const TOLD: usize = 64;

/// How long an answer may take.
const ANSWERED_WITHIN: Duration = Duration::from_secs(30);

/// The server: what it serves, to whom, and within which limits.
pub struct App {
    /// What the pages ask.
    pub(crate) desk: Arc<dyn Desk>,
    /// Who may do what.
    pub(crate) access: Access,
    /// What was counted of requests.
    pub(crate) metrics: Metrics,
    /// What is to be done, in order.
    pub(crate) boards: Boards,
    /// Ends what goes on for ever.
    pub(crate) stop: watch::Receiver<bool>,
    pub(crate) requests: Arc<Semaphore>,
    pub(crate) listeners: Arc<Semaphore>,
    pub(crate) answered_within: Duration,
}

impl App {
    /// A server of this desk, which ends once `stop` says so.
    pub fn new(desk: Arc<dyn Desk>, access: Access, stop: watch::Receiver<bool>) -> Self {
        Self {
            desk,
            access,
            metrics: Metrics::default(),
            boards: Boards::default(),
            stop,
            requests: Arc::new(Semaphore::new(AT_ONCE)),
            listeners: Arc::new(Semaphore::new(TOLD)),
            answered_within: ANSWERED_WITHIN,
        }
    }

    /// The same, with room for so many requests at once, each of which may take so long.
    #[must_use]
    pub fn within(self, at_once: usize, answered_within: Duration) -> Self {
        Self {
            requests: Arc::new(Semaphore::new(at_once)),
            listeners: Arc::new(Semaphore::new(at_once)),
            answered_within,
            ..self
        }
    }
}

/// What answers requests.
pub fn service(app: App) -> Router {
    let app = Arc::new(app);
    let mut router = Router::new();
    let mut by_path: BTreeMap<&'static str, Vec<Arc<Route>>> = BTreeMap::new();
    for route in routes() {
        by_path.entry(route.path).or_default().push(Arc::new(route));
    }
    for (path, routes) in by_path {
        let mut methods = MethodRouter::new();
        for route in routes {
            let app = Arc::clone(&app);
            let filter = filter(&route.method);
            let most = DefaultBodyLimit::max(route.most);
            let answer = move |request: Request| guard::answer(Arc::clone(&app), Arc::clone(&route), request);
            methods = methods.merge(on(filter, answer).layer(most));
        }
        router = router.route(path, methods);
    }
    let (nothing, not_so, around) = (Arc::clone(&app), Arc::clone(&app), app);
    router
        .fallback(move |request: Request| guard::nothing_there(Arc::clone(&nothing), request))
        .method_not_allowed_fallback(move |request: Request| guard::not_so(Arc::clone(&not_so), request))
        .layer(from_fn(move |request: Request, next: Next| guard::around(Arc::clone(&around), request, next)))
}

fn filter(method: &Method) -> MethodFilter {
    MethodFilter::try_from(method.clone()).unwrap_or(MethodFilter::GET)
}
