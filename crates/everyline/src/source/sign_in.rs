//! `everyline source sign-in`: somebody signs in to a source in a browser, once, and everyline keeps what it is given for that.
//!
//! No browser is started: the address to open is printed, and the browser comes back to a port of this machine, or somebody
//! pastes where it was sent. Must not know what a code or a token is. Start reading at [`sign_in`].

use std::io::BufRead;
use std::net::Ipv4Addr;
use std::sync::Arc;
use std::time::Duration;

use intake::source::declare::{OAuth, Origin, Service, SignIn};
use intake::source::http::World;
use intake::source::oauth::{Begun, Code, NotAnswered};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio::task::JoinSet;

use super::{Meant, limits, under, words};
use crate::arguments::SignInArguments;
use crate::exit::Exit;
use crate::live::world::Machine;
use crate::terminal::{self, tell, write_data};
use crate::trouble::Trouble;

/// How long somebody has to sign in: to find a password, and to read what is asked for.
const PATIENCE: Duration = Duration::from_secs(5 * 60);

/// How long a connection may take to say what it wants: browsers open some that say nothing.
const TO_ASK: Duration = Duration::from_secs(10);

/// How long until it is listened again where that failed.
const TO_TRY_AGAIN: Duration = Duration::from_millis(100);

/// How many connections are listened to at once.
const CONNECTIONS: usize = 16;

/// The longest head of a request that is read: a code and a state stand in its first line.
const MAX_HEAD_BYTES: usize = 16 * 1024;

/// What a browser may do with the page: show it, and nothing else.
const PAGE_HEAD: &str = "Content-Type: text/html; charset=utf-8\r\nCache-Control: no-store\r\nReferrer-Policy: no-referrer\r\n\
                         Content-Security-Policy: default-src 'none'\r\nX-Content-Type-Options: nosniff\r\nConnection: close";

/// Signs in to a source, or says that nobody has to.
///
/// # Errors
/// Where it cannot be listened for the browser, or standard output cannot be written.
pub async fn sign_in(meant: &Meant, asked: &SignInArguments) -> Result<Exit, Trouble> {
    let Origin::Service(service) = &meant.source.origin else {
        return nobody_has_to(meant, "it is a folder");
    };
    match &service.sign_in {
        None => nobody_has_to(meant, "no sign_in is declared"),
        Some(SignIn::Header { .. } | SignIn::Basic { .. }) => {
            nobody_has_to(meant, "its secret is all that it takes")
        }
        Some(SignIn::OAuth(oauth)) if !oauth.needs_somebody() => {
            let text =
                format!("Nobody has to sign in to source {}: it has its tokens by itself.", meant.name);
            write_data(&under(&text, "", ""))?;
            tried(meant, service).await
        }
        Some(SignIn::OAuth(oauth)) => match by_somebody(meant, service, oauth, asked).await? {
            Exit::Nothing => tried(meant, service).await,
            not => Ok(not),
        },
    }
}

fn nobody_has_to(meant: &Meant, why: &str) -> Result<Exit, Trouble> {
    let text = format!(
        "Nobody has to sign in to source {}: {why}. `everyline source check {}` tries it.",
        meant.name, meant.name
    );
    write_data(&under(&text, "", ""))?;
    Ok(Exit::Nothing)
}

/// Lets somebody sign in, and keeps what is given for it. Says what came of it.
///
/// # Errors
/// As [`sign_in`].
pub async fn by_somebody(
    meant: &Meant,
    service: &Service,
    oauth: &OAuth,
    asked: &SignInArguments,
) -> Result<Exit, Trouble> {
    // What is missing is said before somebody signs in for nothing.
    if let Err((what, to_do)) = words::secret(service) {
        return not_signed_in(meant, &what, &to_do);
    }
    let port = asked.port.unwrap_or(0);
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await;
    let at = listener.and_then(|listener| Ok((listener.local_addr()?.port(), listener)));
    let (port, listener) = at.map_err(|error| {
        Trouble::new(format!("the browser could not come back to port {port} of this machine"), error)
            .help("give another one with --port, which the service must know, or leave --port out")
    })?;
    let begun = match Begun::new(oauth, port) {
        Ok(begun) => begun,
        Err(error) => {
            return not_signed_in(meant, &error.to_string(), "Correct it under sign_in of the source.");
        }
    };
    if let Err(trouble) = begun.is_kept(&limits()).await {
        return not_signed_in(meant, &trouble.to_string(), trouble.help());
    }
    // What is pasted does not come to the port.
    let listener = (!asked.paste).then_some(listener);
    write_data(&invitation(meant, &begun, asked))?;
    let waited_for = async {
        match &listener {
            Some(listener) => came_back(listener, &begun).await,
            None => (pasted(&begun).await, None),
        }
    };
    let came = tokio::time::timeout(PATIENCE, waited_for).await;
    let Ok((answered, browser)) = came else {
        let what = format!("nobody came back within {} minutes", PATIENCE.as_secs() / 60);
        return not_signed_in(meant, &what, "Run it again, and open the address that it prints then.");
    };
    let ended = match answered {
        Ok(code) => tokens_for(begun, service, code).await,
        Err(not) => Err((not.to_string(), to_do(not).to_owned())),
    };
    if let Some(browser) = browser {
        answer(browser, "200 OK", &page(ended.is_ok())).await;
    }
    let (is_renewable, file) = match ended {
        Ok(kept) => kept,
        Err((what, to_do)) => {
            return not_signed_in(meant, &what, &to_do.replace(SOURCE, meant.name.as_str()));
        }
    };
    let mut text = format!("\nSigned in. What is needed for that is kept in {file}, for its owner alone.");
    if !is_renewable {
        text += " The service has given nothing to renew it with: somebody has to sign in again when it runs out. Many \
                 give it for a scope of its own; look for offline access in what it documents.";
    }
    write_data(&under(&text, "", ""))?;
    Ok(Exit::Nothing)
}

/// What stands for the name of the source in what is to be done.
const SOURCE: &str = "SOURCE";

/// The tokens for a code: whether they can be renewed, and where they are.
async fn tokens_for(begun: Begun, service: &Service, code: Code) -> Result<(bool, String), (String, String)> {
    let file = begun.file().display().to_string();
    let secret = service.sign_in.as_ref().map(|sign_in| sign_in.read_secret(&terminal::variable));
    let secret = secret
        .transpose()
        .map_err(|error| (error.to_string(), "Put it there, and run it again.".to_owned()))?;
    let world: Arc<dyn World> = Arc::new(Machine);
    match begun.finish(code, secret.flatten(), limits(), world).await {
        Ok(Ok(is_renewable)) => Ok((is_renewable, file)),
        Ok(Err(trouble)) => Err(words::of_token(&trouble, SOURCE)),
        Err(error) => Err((error.to_string(), "Correct it under sign_in of the source.".to_owned())),
    }
}

/// Asks for the first page of the first request.
async fn tried(meant: &Meant, service: &Service) -> Result<Exit, Trouble> {
    let reader = match meant.reader(service) {
        Ok(reader) => reader,
        Err((what, to_do)) => return did_not_work(meant, &what, &to_do),
    };
    let Some(request) = reader.requests().next() else { return Ok(Exit::Nothing) };
    if let Err(error) = reader.preview(request).await {
        let (what, to_do) = words::of(&error, true, meant.settings.zone);
        return did_not_work(meant, &format!("request {}: {what}", request.name), &to_do);
    }
    let name = &meant.name;
    let text = format!(
        "Request {} was tried, and works. `everyline source check {name}` tries all of them, and `everyline watch` goes on \
         with them by itself, within a quarter of an hour where it is running.",
        request.name
    );
    write_data(&under(&text, "", ""))?;
    Ok(Exit::Nothing)
}

fn not_signed_in(meant: &Meant, what: &str, to_do: &str) -> Result<Exit, Trouble> {
    told(format!("source {} is not signed in", meant.name), what, to_do)
}

fn did_not_work(meant: &Meant, what: &str, to_do: &str) -> Result<Exit, Trouble> {
    told(format!("source {} was tried, and does not work", meant.name), what, to_do)
}

fn told(error: String, what: &str, to_do: &str) -> Result<Exit, Trouble> {
    tell(&Trouble::new(error, what).help(to_do).to_string());
    Ok(Exit::Incomplete)
}

/// What is to be done, with the address on a line of its own, which is not broken.
fn invitation(meant: &Meant, begun: &Begun, asked: &SignInArguments) -> String {
    let name = &meant.name;
    let minutes = PATIENCE.as_secs() / 60;
    let open = if asked.paste {
        format!("To sign in to source {name}, open this address in any browser, and allow what it asks for:")
    } else {
        format!(
            "To sign in to source {name}, open this address in a browser on this machine, and allow what it asks for:"
        )
    };
    let then = if asked.paste {
        format!(
            "Then the browser is sent to a page that it cannot show. Copy the address of that page, paste it here within \
             {minutes} minutes, and press Enter. It begins with {}, which the service must know as an address to come back to.",
            begun.redirect()
        )
    } else {
        format!(
            "The browser then comes back to {}, which the service must know as an address to come back to (--port says \
             another port). This is waited for, for {minutes} minutes; Ctrl-C ends it. Where the browser runs on another \
             machine, begin again with --paste.",
            begun.redirect()
        )
    };
    format!("{}\n{}\n\n{}", under(&open, "", ""), begun.address(), under(&then, "", ""))
}

fn to_do(not: NotAnswered) -> &'static str {
    match not {
        NotAnswered::Denied => {
            "Run `everyline source sign-in SOURCE` again, and allow it there, as somebody who may."
        }
        NotAnswered::Error(_) => {
            "Check client_id, scope, parameters and the address to come back to with what the service knows of this client, \
             and run `everyline source sign-in SOURCE` again."
        }
        NotAnswered::OtherState => {
            "Run `everyline source sign-in SOURCE` again, and open the address that it prints then; if you did, somebody may \
             have tried to sign you in as somebody else."
        }
        NotAnswered::NoCode | NotAnswered::NoAddress => {
            "Run `everyline source sign-in SOURCE` again; with --paste, paste the whole address to which the browser was sent."
        }
    }
}

/// Waits for the browser; answers what it came back with, and the connection on which it waits for a page.
async fn came_back(listener: &TcpListener, begun: &Begun) -> (Result<Code, NotAnswered>, Option<TcpStream>) {
    let mut open = JoinSet::new();
    loop {
        tokio::select! {
            Ok((stream, _)) = listener.accept(), if open.len() < CONNECTIONS => {
                open.spawn(async move { tokio::time::timeout(TO_ASK, asked_for(stream)).await.ok().flatten() });
            }
            Some(asked) = open.join_next() => {
                let Ok(Some((target, stream))) = asked else { continue };
                if Begun::is_return(&target) {
                    return (begun.answered(&target), Some(stream));
                }
                answer(stream, "404 Not Found", "").await;
            }
            // The system lacks what it takes for a connection; it may have it a moment later.
            else => tokio::time::sleep(TO_TRY_AGAIN).await,
        }
    }
}

/// What a connection asks for by GET: path and query.
async fn asked_for(mut stream: TcpStream) -> Option<(String, TcpStream)> {
    let mut head = Vec::new();
    let mut buffer = [0; 2048];
    while !head.windows(4).any(|window| window == b"\r\n\r\n") {
        let read = stream.read(&mut buffer).await.ok().filter(|read| *read > 0)?;
        head.extend_from_slice(&buffer[..read]);
        if head.len() > MAX_HEAD_BYTES {
            return None;
        }
    }
    let head = String::from_utf8(head).ok()?;
    let mut words = head.lines().next()?.split(' ');
    match (words.next(), words.next()) {
        (Some("GET"), Some(target)) => Some((target.to_owned(), stream)),
        _ => None,
    }
}

/// Answers a browser. One that has gone needs no answer.
async fn answer(mut stream: TcpStream, status: &str, page: &str) {
    let text = format!("HTTP/1.1 {status}\r\n{PAGE_HEAD}\r\nContent-Length: {}\r\n\r\n{page}", page.len());
    let written = async {
        stream.write_all(text.as_bytes()).await?;
        stream.shutdown().await
    };
    let _ = tokio::time::timeout(TO_ASK, written).await;
}

/// What the browser shows: nothing of what it came with.
fn page(is_signed_in: bool) -> String {
    let (title, text) = if is_signed_in {
        ("Signed in", "everyline is signed in. You can close this page.")
    } else {
        ("Not signed in", "everyline is not signed in. Where it was begun, it says why, and what to do.")
    };
    format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">\
         <title>{title}</title><p>{text}</p></html>\n"
    )
}

/// Waits for an address to be pasted. What is no address is passed over, and said.
async fn pasted(begun: &Begun) -> Result<Code, NotAnswered> {
    let (lines, mut pasted) = mpsc::unbounded_channel();
    // Not a task of the runtime, which would wait for the line at its end.
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines().map_while(Result::ok) {
            if lines.send(line).is_err() {
                break;
            }
        }
    });
    while let Some(line) = pasted.recv().await {
        match begun.answered(&line) {
            Err(NotAnswered::NoAddress) => {
                tell("That is not the address to which the browser was sent; paste all of it.");
            }
            answered => return answered,
        }
    }
    Err(NotAnswered::NoAddress)
}
