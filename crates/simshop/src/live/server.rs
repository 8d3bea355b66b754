//! Three listeners on loopback, and what every request passes: it is counted, meets its faults, and has to sign in.
//!
//! Must not know what an answer holds. Start reading at [`Serving::start`], then [`gate`].

use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::time::Duration;

use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{Html, IntoResponse, Response};
use axum::{Json, Router};
use chrono::{DateTime, TimeDelta, Utc};
use hyper::service::{Service, service_fn};
use hyper_util::rt::TokioIo;
use hyper_util::service::TowerToHyperService;
use serde_json::json;
use tokio::net::TcpListener;
use tokio::task::{AbortHandle, JoinSet};

use super::fault::{Fault, Met, RetryAfter, Source};
use super::{World, alder, brook, till};

/// The user name at alder-print.
pub(super) const ALDER_USER: &str = "kittiwake";

/// No answer of these servers is longer; one that is to be cut is held in memory.
const LONGEST_ANSWER: usize = 4 << 20;

/// So long after a connection that could not be accepted.
const BETWEEN_TRIES: Duration = Duration::from_millis(20);

/// On which ports to listen; 0 is a free one.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Ports {
    /// Of the storefront.
    pub till: u16,
    /// Of alder-print.
    pub alder: u16,
    /// Of brook-print.
    pub brook: u16,
}

/// The three servers at work, on loopback. They end, with all their connections, when this is dropped.
#[derive(Debug)]
pub struct Serving {
    /// The storefront.
    pub till: SocketAddr,
    /// The supplier alder-print.
    pub alder: SocketAddr,
    /// The supplier brook-print.
    pub brook: SocketAddr,
    listening: Vec<AbortHandle>,
}

impl Serving {
    pub(super) async fn start(world: &World, ports: Ports) -> io::Result<Self> {
        let till = listener(ports.till).await?;
        let alder = listener(ports.alder).await?;
        let brook = listener(ports.brook).await?;
        Ok(Self {
            till: till.local_addr()?,
            alder: alder.local_addr()?,
            brook: brook.local_addr()?,
            listening: vec![
                listen(till, world, Source::Till),
                listen(alder, world, Source::Alder),
                listen(brook, world, Source::Brook),
            ],
        })
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        for listening in &self.listening {
            listening.abort();
        }
    }
}

async fn listener(port: u16) -> io::Result<TcpListener> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await
}

fn listen(listener: TcpListener, world: &World, source: Source) -> AbortHandle {
    let routes = match source {
        Source::Till => till::router(world.clone()),
        Source::Alder => alder::router(world.clone()),
        Source::Brook => brook::router(world.clone()),
    };
    let routes = routes
        .fallback(|| async { super::page::refusal(StatusCode::NOT_FOUND, "there is nothing here") })
        .layer(from_fn_with_state((world.clone(), source), gate));
    tokio::spawn(accept(listener, routes)).abort_handle()
}

/// Serves each connection in a task of its own, which ends with this one.
///
/// Not `axum::serve`: its connections outlive it, and it cannot end one without an answer.
async fn accept(listener: TcpListener, routes: Router) {
    let mut connections = JoinSet::new();
    loop {
        while connections.try_join_next().is_some() {}
        // What cannot be accepted comes again.
        let Ok((stream, _)) = listener.accept().await else {
            tokio::time::sleep(BETWEEN_TRIES).await;
            continue;
        };
        let routes = TowerToHyperService::new(routes.clone());
        let service = service_fn(move |request: hyper::Request<hyper::body::Incoming>| {
            let answer = routes.call(request.map(Body::new));
            async move {
                let answer = answer.await.map_err(io::Error::other)?;
                if answer.extensions().get::<HangUp>().is_some() {
                    return Err(io::Error::from(io::ErrorKind::ConnectionAborted));
                }
                Ok(answer)
            }
        });
        connections.spawn(async move {
            let connection = hyper::server::conn::http1::Builder::new();
            // A connection that breaks is what the other side sees; there is nobody to tell here.
            drop(connection.serve_connection(TokioIo::new(stream), service).await);
        });
    }
}

/// Marks an answer that is not to be sent.
#[derive(Clone, Copy)]
struct HangUp;

/// What every request passes.
async fn gate(State((world, source)): State<(World, Source)>, mut request: Request, next: Next) -> Response {
    let endpoint = request.uri().path().rsplit('/').next().unwrap_or_default().to_owned();
    let (met, signed_in) = {
        let mut inner = world.lock();
        inner.asked.count(source, &endpoint);
        let met = inner.plan.meet(source, &endpoint);
        (met, is_signed_in(source, request.headers(), &inner.secrets))
    };
    let delay = met.delay();
    if !delay.is_zero() {
        tokio::time::sleep(delay).await;
    }
    let date = world.now() + met.skew();
    let mut answer = match instead(&met, date) {
        Some(answer) => answer,
        None if !signed_in => refused(source),
        None => {
            request.extensions_mut().insert(met.clone());
            let answer = next.run(request).await;
            let delay = met.delay_after();
            if !delay.is_zero() {
                tokio::time::sleep(delay).await;
            }
            match afterwards(&met) {
                Some(instead) => instead,
                None if met.has(Fault::Cut) => cut(answer).await,
                None => answer,
            }
        }
    };
    if let Ok(date) = HeaderValue::from_str(&http_date(date)) {
        answer.headers_mut().insert(header::DATE, date);
    }
    answer
}

fn hang_up() -> Response {
    let mut answer = Response::new(Body::empty());
    answer.extensions_mut().insert(HangUp);
    answer
}

/// What comes instead of the answer, after what was asked for was done.
fn afterwards(met: &Met) -> Option<Response> {
    if met.has(Fault::LostAfter) {
        return Some(hang_up());
    }
    let broken = (StatusCode::INTERNAL_SERVER_ERROR, "something broke here");
    met.has(Fault::BrokenAfter).then(|| broken.into_response())
}

/// What comes instead of the answer, and nothing is done.
fn instead(met: &Met, date: DateTime<Utc>) -> Option<Response> {
    if met.has(Fault::Dropped) {
        return Some(hang_up());
    }
    if let Some(retry_after) = met.retry_after() {
        let retry_after = match retry_after {
            RetryAfter::Seconds(seconds) => seconds.to_string(),
            RetryAfter::Date(seconds) => http_date(date + TimeDelta::seconds(seconds.into())),
        };
        let problem = Json(json!({ "problem": "slower, please" }));
        let headers = [(header::RETRY_AFTER, retry_after)];
        return Some((StatusCode::TOO_MANY_REQUESTS, headers, problem).into_response());
    }
    if met.has(Fault::Unavailable) {
        return Some((StatusCode::SERVICE_UNAVAILABLE, "back soon").into_response());
    }
    if met.has(Fault::Broken) {
        return Some((StatusCode::INTERNAL_SERVER_ERROR, "something broke here").into_response());
    }
    met.has(Fault::Html).then(|| {
        Html("<!doctype html><html><title>Closed for cleaning</title><p>We are back in an hour.</html>")
            .into_response()
    })
}

/// What alder-print wants behind `Basic` (RFC 7617).
pub(super) fn basic_sign_in([_, alder, _]: &[String; 3]) -> String {
    data_encoding::BASE64.encode(format!("{ALDER_USER}:{alder}").as_bytes())
}

fn is_signed_in(source: Source, headers: &HeaderMap, secrets: &[String; 3]) -> bool {
    let [till, _, brook] = secrets;
    let header = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    match source {
        Source::Till => {
            header("authorization").and_then(|value| value.strip_prefix("Bearer ")) == Some(till.as_str())
        }
        Source::Alder => {
            header("authorization").and_then(|value| value.strip_prefix("Basic "))
                == Some(basic_sign_in(secrets).as_str())
        }
        Source::Brook => header("x-press-key") == Some(brook.as_str()),
    }
}

fn refused(source: Source) -> Response {
    let mut answer = super::page::refusal(StatusCode::UNAUTHORIZED, "who is asking?");
    let scheme = match source {
        Source::Till => "Bearer",
        Source::Alder => "Basic realm=\"works\"",
        Source::Brook => return answer,
    };
    answer.headers_mut().insert(header::WWW_AUTHENTICATE, HeaderValue::from_static(scheme));
    answer
}

/// The first half of an answer's body, under the same headers.
async fn cut(answer: Response) -> Response {
    let (mut parts, body) = answer.into_parts();
    let bytes = to_bytes(body, LONGEST_ANSWER).await.unwrap_or_default();
    parts.headers.remove(header::CONTENT_LENGTH);
    Response::from_parts(parts, Body::from(bytes.slice(..bytes.len() / 2)))
}

/// As HTTP writes a time (RFC 9110, section 5.6.7).
fn http_date(moment: DateTime<Utc>) -> String {
    moment.format("%a, %d %b %Y %H:%M:%S GMT").to_string()
}
