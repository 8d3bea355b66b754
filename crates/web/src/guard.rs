//! What every request passes: by which name the server is called, who asks, whether they may, whether what they ask for is
//! declared; and what every answer bears.
//!
//! Must not know what a route answers. Start reading at [`around`], then [`answer`].

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::multipart::MultipartError;
use axum::extract::{FromRequest as _, FromRequestParts, Multipart, RawPathParams, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use futures_util::StreamExt as _;

use crate::access::{Visitor, is_from_elsewhere};
use crate::app::App;
use crate::asked::Asked;
use crate::page::{self, frame};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Form, May, Route};
use crate::visit::Visit;

/// Where a connection comes from.
#[derive(Clone, Copy, Debug)]
pub struct Peer(pub SocketAddr);

/// The field of a form that shows it to be ours.
pub const STAMP: &str = "stamp";

/// What every answer bears: only what is ours is shown, nothing is run that stands in a page, nobody else may show a page of
/// ours or use what we answer, and nothing is kept by anybody.
///
/// Source: OWASP HTTP Headers Cheat Sheet, as far as it fits a page on a local network. No Strict-Transport-Security: whoever
/// puts TLS in front says it there.
const HEADERS: [(HeaderName, &str); 9] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
         form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-embedder-policy"), "require-corp"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(), microphone=(), geolocation=(), payment=(), usb=(), display-capture=(), accelerometer=(), \
         gyroscope=(), magnetometer=()",
    ),
    (header::CACHE_CONTROL, "no-store"),
];

/// Around everything: by which name it is called, how many at once, how long, and what each answer bears.
pub async fn around(app: Arc<App>, request: Request, next: Next) -> Response {
    let asks = Asks::of(&request);
    let mut answer = if let Err(problem) = has_one_host(&request) {
        asks.bare(&problem)
    } else if !app.access.knows_host(called(&request)) {
        // Without the frame: whoever calls it so is shown nothing of what is here.
        let problem = Problem::new(
            StatusCode::MISDIRECTED_REQUEST,
            "this server does not go by the name in the address",
            "call it by its address or as localhost, or add the name to hosts under [page] of the configuration",
        );
        asks.bare(&problem)
    } else if let Ok(_room) = Arc::clone(&app.requests).try_acquire_owned() {
        match tokio::time::timeout(app.answered_within, next.run(request)).await {
            Ok(answer) => answer,
            Err(_) => asks.bare(&Problem::new(
                StatusCode::GATEWAY_TIMEOUT,
                "the answer took longer than is waited for",
                "try again in a moment",
            )),
        }
    } else {
        let problem = Problem::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "too much is asked for at once",
            "try again in a moment",
        );
        asks.bare(&problem.with(header::RETRY_AFTER, HeaderValue::from_static("2")))
    };
    app.metrics.count(answer.status());
    let headers = answer.headers_mut();
    for (name, value) in HEADERS {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    headers.insert(header::VARY, HeaderValue::from_static("Cookie, Authorization"));
    answer
}

/// That the request says once by which name it calls the server. Source: RFC 9112, section 3.2.
fn has_one_host(request: &Request) -> Result<(), Problem> {
    match request.headers().get_all(header::HOST).iter().count() {
        1 => Ok(()),
        _ => Err(Problem::new(
            StatusCode::BAD_REQUEST,
            "the request does not say once by which name it calls this server",
            "say it in one header line, Host",
        )),
    }
}

/// By which name the server is called. A whole address in the request line counts, not the header line. Source: RFC 9112,
/// section 3.2.2.
fn called(request: &Request) -> Option<&str> {
    match request.uri().authority() {
        Some(authority) => Some(authority.as_str()),
        None => request.headers().get(header::HOST)?.to_str().ok(),
    }
}

/// Answers a route.
pub async fn answer(app: Arc<App>, route: Arc<Route>, request: Request) -> Response {
    let asks = Asks { wants_json: route.form != Form::Page, ..Asks::of(&request) };
    let Some(who) = app.access.visitor(request.headers()) else {
        return asks.problem(&app, None, &not_signed_in("the token is none that is known"));
    };
    if may_come_back(&app, &route, &who, request.headers()) {
        return page::sign_in::come_back(&asks.path);
    }
    let new_cookie = who.new_cookie.clone();
    // Before anything is looked at: what changes meanwhile is told once more, and not missed.
    let seen = *app.desk.changes().borrow();
    let mut answer = match visit(&app, &route, who.clone(), request).await {
        Ok(visit) => match (route.run)(visit).await {
            Ok(Reply::Page(page)) => Html(frame::framed(&app, &who, &asks.path, &page, seen)).into_response(),
            Ok(Reply::Whole(answer)) => answer,
            Err(problem) => asks.problem(&app, Some(&who), &problem),
        },
        Err(problem) if problem.status == StatusCode::UNAUTHORIZED && !asks.wants_json => {
            let page = page::sign_in::page(&asks.path, None, &who.stamp);
            let body = Html(frame::framed(&app, &who, &asks.path, &page, seen));
            problem.dressed((StatusCode::UNAUTHORIZED, body).into_response())
        }
        Err(problem) => asks.problem(&app, Some(&who), &problem),
    };
    // A page has a form, whose stamp goes with the cookie.
    if let Some(cookie) = new_cookie
        && route.form == Form::Page
        && !answer.headers().contains_key(header::SET_COOKIE)
    {
        answer.headers_mut().insert(header::SET_COOKIE, cookie.line);
    }
    answer
}

/// Whether somebody followed a link from elsewhere, in a mail for instance, so that their browser kept the cookie back: then
/// they come again from our own page, and are known.
fn may_come_back(app: &App, route: &Route, who: &Visitor, headers: &HeaderMap) -> bool {
    let value = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    app.access.has_passwords()
        && route.form == Form::Page
        && route.method == Method::GET
        && route.may > who.may
        && who.cookie.is_none()
        && is_from_elsewhere(headers)
        && value("sec-fetch-mode") == Some("navigate")
}

/// A request that may be answered.
async fn visit(app: &Arc<App>, route: &Route, who: Visitor, request: Request) -> Result<Visit, Problem> {
    let (mut parts, body) = request.into_parts();
    if who.may < route.may {
        return Err(match who.may {
            May::Anybody => not_signed_in("this page asks who you are"),
            _ => Problem::forbidden(
                "whoever signed in as you did may look and change nothing",
                "sign in with the password of somebody who may",
            ),
        });
    }
    let changes = !matches!(parts.method, Method::GET | Method::HEAD);
    if changes && is_from_elsewhere(&parts.headers) {
        return Err(Problem::forbidden(
            "another page wanted this done in your name",
            "nothing was done; do it here, if you want it",
        ));
    }
    accepts(route, &parts.headers)?;
    let mut asked = Asked::read(parts.uri.query().unwrap_or_default(), &[route.parameters])?;
    read_places(route, &mut parts, &mut asked).await?;
    let path = parts.uri.path_and_query().map(|path| path.as_str().to_owned()).unwrap_or_default();
    let peer = peer(&parts);
    let mut visit = Visit {
        app: Arc::clone(app),
        who,
        asked,
        form: Asked::default(),
        body: Bytes::new(),
        files: None,
        path,
        peer,
    };
    if route.takes_files {
        if let Err(problem) = check_length(route, &parts.headers) {
            read_away(body, route.most.saturating_mul(READ_AWAY)).await;
            return Err(problem);
        }
        visit.files = Some(read_stamp(app, route, &visit.who, Request::from_parts(parts, body)).await?);
    } else if changes {
        visit.body = read_body(route, &parts.headers, body).await?;
        if route.form == Form::Page {
            visit.form = read_form(app, route, &visit.who, &visit.body)?;
        }
    }
    Ok(visit)
}

/// How many times what is taken is read of what is not.
const READ_AWAY: usize = 4;

/// Reads what is not taken: a browser that still sends would see no more than that the connection ended, and not why.
async fn read_away(body: Body, most: usize) {
    let mut coming = body.into_data_stream();
    let mut read = 0;
    while let Some(Ok(more)) = coming.next().await {
        read += more.len();
        if read > most {
            return;
        }
    }
}

/// The files of a form, of which no more than the stamp was read, which has to be the first.
async fn read_stamp(app: &App, route: &Route, who: &Visitor, request: Request) -> Result<Multipart, Problem> {
    let mut files = Multipart::from_request(request, &()).await.map_err(|_| {
        Problem::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "the body is not of the kind that is read here, multipart/form-data",
            "say Content-Type",
        )
    })?;
    let unread = |error: MultipartError| match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => too_much(route),
        _ => Problem::bad("the form has no stamp at its beginning"),
    };
    let stamp = match files.next_field().await.map_err(unread)? {
        Some(mut first) if first.name() == Some(STAMP) && first.file_name().is_none() => {
            let mut stamp = Vec::new();
            while let Some(more) = first.chunk().await.map_err(unread)? {
                stamp.extend_from_slice(&more);
                if stamp.len() > STAMP_BYTES {
                    return Err(not_ours());
                }
            }
            String::from_utf8(stamp).unwrap_or_default()
        }
        _ => return Err(not_ours()),
    };
    // A program has no cookie that somebody else could make it send.
    if !who.is_program && !app.access.is_stamped(who, Some(&stamp)) {
        return Err(not_ours());
    }
    Ok(files)
}

/// The stamp of forms, declared with their fields.
const STAMPED: &[crate::asked::Parameter] = &[crate::asked::Parameter::may(
    STAMP,
    crate::asked::Takes::Text(STAMP_BYTES),
    "what shows the form to be ours",
)];

/// Bytes of the longest stamp.
const STAMP_BYTES: usize = 100;

fn not_ours() -> Problem {
    Problem::forbidden(
        "the form is not of a page that you have open, or of one from before everyline was started again",
        "go back, load the page anew, and do it again; nothing was done",
    )
}

fn read_form(app: &App, route: &Route, who: &Visitor, body: &Bytes) -> Result<Asked, Problem> {
    let text = std::str::from_utf8(body).map_err(|_| Problem::bad("the form is not UTF-8"))?;
    let form = Asked::read(text, &[STAMPED, route.fields])?;
    // A program has no cookie that somebody else could make it send.
    if !who.is_program && !app.access.is_stamped(who, form.text(STAMP)) {
        return Err(not_ours());
    }
    Ok(form)
}

/// What stands in the path, in its places.
async fn read_places(route: &Route, parts: &mut Parts, asked: &mut Asked) -> Result<(), Problem> {
    if route.places.is_empty() {
        return Ok(());
    }
    let read = RawPathParams::from_request_parts(parts, &()).await;
    let read = read.map_err(|_| Problem::bad("the path is not UTF-8"))?;
    for (name, value) in &read {
        let Some(place) = route.places.iter().find(|place| place.name == name) else { continue };
        asked.put(place, value)?;
    }
    Ok(())
}

/// A body of the right kind, and not too long.
async fn read_body(route: &Route, headers: &HeaderMap, body: Body) -> Result<Bytes, Problem> {
    let wanted = match route.form {
        Form::Page => Some("application/x-www-form-urlencoded"),
        Form::Json if route.body.is_some() => Some("application/json"),
        _ => None,
    };
    if let Some(wanted) = wanted {
        let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let kind = kind.split(';').next().unwrap_or_default().trim();
        if !kind.eq_ignore_ascii_case(wanted) {
            return Err(Problem::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                format!("the body is not of the kind that is read here, {wanted}"),
                "say Content-Type",
            ));
        }
    }
    check_length(route, headers)?;
    // It is cut off at the limit, whatever its length was said to be.
    to_bytes(body, route.most).await.map_err(|_| too_much(route))
}

fn too_much(route: &Route) -> Problem {
    if route.takes_files {
        return Problem::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            format!("the files have together more than {} MB", route.most >> 20),
            "nothing was kept; give fewer days at once, or use `everyline audit --from DIR --map FILE`",
        );
    }
    Problem::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        format!("the body has more than {} bytes", route.most),
        "say less at once",
    )
}

/// Whether the body says of itself that it is too long.
fn check_length(route: &Route, headers: &HeaderMap) -> Result<(), Problem> {
    let said =
        headers.get(header::CONTENT_LENGTH).and_then(|length| length.to_str().ok()?.parse::<usize>().ok());
    match said.is_some_and(|said| said > route.most) {
        true => Err(too_much(route)),
        false => Ok(()),
    }
}

/// Whether whoever asks for JSON takes JSON.
fn accepts(route: &Route, headers: &HeaderMap) -> Result<(), Problem> {
    if route.form != Form::Json {
        return Ok(());
    }
    let mut lines = headers.get_all(header::ACCEPT).iter().filter_map(|line| line.to_str().ok()).peekable();
    if lines.peek().is_none() {
        return Ok(());
    }
    let taken = |part: &str| {
        let mut words = part.split(';').map(str::trim);
        let kind = words.next().unwrap_or_default().to_ascii_lowercase();
        let is_refused = words.any(|word| matches!(word, "q=0" | "q=0.0" | "q=0.00" | "q=0.000"));
        matches!(kind.as_str(), "*/*" | "application/*" | "application/json") && !is_refused
    };
    if lines.any(|line| line.split(',').any(taken)) {
        return Ok(());
    }
    Err(Problem::new(
        StatusCode::NOT_ACCEPTABLE,
        "this is answered as application/json alone",
        "say Accept: application/json",
    ))
}

fn not_signed_in(why: &str) -> Problem {
    // RFC 9110, section 15.5.2, wants a scheme to be named.
    Problem::new(StatusCode::UNAUTHORIZED, why, "sign in, or give a token that is known")
        .with(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer realm=\"everyline\""))
}

fn peer(parts: &Parts) -> Option<IpAddr> {
    parts.extensions.get::<Peer>().map(|peer| peer.0.ip())
}

/// Where nothing is.
pub async fn nothing_there(app: Arc<App>, request: Request) -> Response {
    let asks = Asks::of(&request);
    let who = app.access.visitor(request.headers());
    asks.problem(&app, who.as_ref(), &Problem::nothing_there())
}

/// Where something is, and is asked for in another way.
pub async fn not_so(app: Arc<App>, request: Request) -> Response {
    let asks = Asks::of(&request);
    let who = app.access.visitor(request.headers());
    let problem = Problem::new(
        StatusCode::METHOD_NOT_ALLOWED,
        format!("{} cannot be done at this address", digest::cut(request.method().as_str(), 20)),
        "the header line Allow names what can",
    );
    asks.problem(&app, who.as_ref(), &problem)
}

/// Who asks, as far as it decides in which form they are answered.
struct Asks {
    wants_json: bool,
    path: String,
}

impl Asks {
    fn of(request: &Request) -> Self {
        let path = request.uri().path_and_query().map(|path| path.as_str().to_owned()).unwrap_or_default();
        Self { wants_json: request.uri().path().starts_with("/api/"), path }
    }

    /// A problem, to somebody who may see the frame.
    fn problem(&self, app: &App, who: Option<&Visitor>, problem: &Problem) -> Response {
        let Some(who) = who.filter(|_| !self.wants_json) else { return self.bare(problem) };
        let seen = *app.desk.changes().borrow();
        let body = Html(frame::framed(app, who, &self.path, &page::problem::page(problem), seen));
        problem.dressed((problem.status, body).into_response())
    }

    /// A problem, without the frame.
    fn bare(&self, problem: &Problem) -> Response {
        if self.wants_json {
            return problem.details();
        }
        problem.dressed((problem.status, Html(page::problem::bare(problem))).into_response())
    }
}
