//! Serves connections, within limits, until it is stopped.
//!
//! Not `axum::serve`: it knows no limits of header lines and of how long they take. Must not know what is answered. Start
//! reading at [`serve`].

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper::service::{Service as _, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinSet;

use crate::guard::Peer;

/// The most connections at once; a browser opens six for a page, and keeps some.
const CONNECTIONS: usize = 256;

/// Bytes of the request line and the header lines together.
const HEAD: usize = 16 * 1024;

/// Header lines of one request.
const HEADER_LINES: usize = 64;

/// How long the head of a request may take, and a connection may do nothing between two.
const HEAD_WITHIN: Duration = Duration::from_secs(20);

/// How long the end waits for answers that are under way.
const LAST_ANSWERS: Duration = Duration::from_secs(3);

/// How long nobody is let in after the system gave no connection: it has too many open files, for instance.
const AFTER_TROUBLE: Duration = Duration::from_millis(200);

/// Serves whoever connects, until `stop` says so; then lets answers come to their end.
pub async fn serve(listener: TcpListener, router: Router, mut stop: watch::Receiver<bool>) {
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    let mut connections = JoinSet::new();
    loop {
        let connection = tokio::select! {
            connection = listener.accept() => connection,
            () = stopped(&mut stop) => break,
            Some(_) = connections.join_next() => continue,
        };
        let Ok((stream, peer)) = connection else {
            tokio::time::sleep(AFTER_TROUBLE).await;
            continue;
        };
        // Where there is no room the connection is closed: the browser tries again, and whoever is there is served.
        let Ok(place) = Arc::clone(&room).try_acquire_owned() else { continue };
        let (router, stop) = (router.clone(), stop.clone());
        connections.spawn(async move {
            one(stream, Peer(peer), router, stop).await;
            drop(place);
        });
    }
    let last = async { while connections.join_next().await.is_some() {} };
    let _ = tokio::time::timeout(LAST_ANSWERS, last).await;
    connections.shutdown().await;
}

async fn one(stream: TcpStream, peer: Peer, router: Router, mut stop: watch::Receiver<bool>) {
    let service = TowerToHyperService::new(router);
    let service = service_fn(move |mut request: hyper::Request<hyper::body::Incoming>| {
        request.extensions_mut().insert(peer);
        service.call(request)
    });
    let mut builder = http1::Builder::new();
    builder
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN)
        .max_headers(HEADER_LINES)
        .max_buf_size(HEAD);
    let connection = builder.serve_connection(TokioIo::new(stream), service);
    tokio::pin!(connection);
    let ended = tokio::select! {
        ended = connection.as_mut() => ended,
        () = stopped(&mut stop) => {
            connection.as_mut().graceful_shutdown();
            connection.await
        }
    };
    // Whoever hangs up is nobody's trouble.
    if let Err(error) = ended {
        tracing::debug!("a connection to the page ended: {error}");
    }
}

/// Waits until it is to end; also where nobody is left to say so.
pub(crate) async fn stopped(stop: &mut watch::Receiver<bool>) {
    let _ = stop.wait_for(|stopped| *stopped).await;
}
