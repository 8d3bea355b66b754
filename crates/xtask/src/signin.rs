//! `cargo xtask signin`: somebody signs in at an OAuth 2.0 server that is not ours, and is signed out.
//!
//! The server is oauth2-mock-server, which was made by others for whoever needs some authorization server; a source beside it
//! takes its tokens alone. This task is the browser. Looked at are the program's outcomes: that nobody has signed in, the
//! sign-in by code with PKCE, a round, a token that has run out, a sign-in that was taken back with its finding and its advice,
//! signing in anew; and that no token is in anything that the program writes but the file for it. Must not know how tokens are
//! had. Start reading at [`run`].

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, bail, ensure};
use serde_json::Value;

use crate::npm::Package;
use crate::rest::{Ended, built, finished};
use crate::tell;

/// The last line of versions that runs on every Node.js that is kept.
const IDENTITY: Package = Package {
    name: "oauth2-mock-server",
    version: "8.2.3",
    folder: "signin-server",
    node: "20.19, 22.12, 24 or later",
};

/// The program that starts it, and the source beside it.
const PROGRAM: &str = include_str!("signin/server.mjs");

/// How the source is read.
const SOURCES: &str = include_str!("signin/sources.toml");

/// How long any run of everyline may take.
const A_RUN: Duration = Duration::from_secs(60);

/// How long a server may take until it answers, and to answer.
const ANSWERING: Duration = Duration::from_secs(30);

/// What must be said wherever somebody has to sign in.
const ADVICE: &str = "`everyline source sign-in till`";

/// Signs in, and is signed out.
///
/// # Errors
/// Where an outcome is another than is said at the head of this file, or anything cannot be run.
pub fn run() -> anyhow::Result<()> {
    let everyline = built()?;
    let folder = tempfile::tempdir().context("no temporary folder could be made")?;
    let servers = Servers::start()?;
    let text = SOURCES
        .replace("SOURCE_PORT", &servers.source.to_string())
        .replace("IDENTITY_PORT", &servers.identity.to_string());
    fs::write(folder.path().join("everyline.toml"), text)?;
    fs::write(folder.path().join("alder.secret"), "stone-and-moss\n")?;
    let mut shop = Shop { everyline, folder: folder.path().to_owned(), written: String::new() };

    shop.asked(&["config", "check"])?.expect(0)?.says("which is not there yet")?;
    // Nobody has signed in.
    shop.asked(&["source", "check", "till"])?.expect(3)?.says(ADVICE)?;
    shop.asked(&["watch", "--once"])?.expect(3)?.says("nobody has signed in yet")?.says("source-stale")?;
    shop.asked(&["source", "sign-in", "alder"])?.expect(0)?.says("Nobody has to sign in")?;
    // Each process has tokens of its own.
    let asked = servers.asked()?;
    let want = ["token client_credentials", "GET /api/jobs 200"].repeat(2);
    ensure!(asked == want, "a client's own sign-in asked for {asked:?}; expected is {want:?}");

    let first = shop.signs_in()?;
    let asked = servers.asked()?;
    let want = ["authorize kittiwake orders till", "token authorization_code", "GET /api/orders 200"];
    ensure!(asked == want, "signing in asked for {asked:?}; expected is {want:?}");
    tell("signed in with a code and PKCE");

    shop.asked(&["watch", "--once"])?.says("settled")?.was_read()?;
    shop.asked(&["order", "KK-1"])?.says("KK-1")?;
    let asked = servers.asked()?;
    ensure!(asked.contains(&"GET /api/orders 200".to_owned()), "no orders were read: {asked:?}");
    ensure!(!asked.iter().any(|line| line == "token refresh_token"), "a good token was renewed: {asked:?}");

    servers.tell("/told/run-out")?;
    shop.asked(&["watch", "--once"])?.was_read()?;
    let asked = servers.asked()?;
    let orders: Vec<&str> = asked
        .iter()
        .map(String::as_str)
        .filter(|line| !line.contains("jobs") && !line.contains("client"))
        .collect();
    let want = ["GET /api/orders 401", "token refresh_token", "GET /api/orders 200"];
    ensure!(orders == want, "a token that has run out led to {orders:?}; expected is {want:?}");
    let second = shop.tokens()?;
    ensure!(first != second, "the tokens that are kept are the old ones");
    tell("renewed");

    servers.tell("/told/revoke")?;
    shop.asked(&["watch", "--once"])?
        .expect(3)?
        .says("source-stale")?
        .says("was taken back")?
        .says(ADVICE)?;
    shop.asked(&["findings"])?.says("source-stale")?.says(ADVICE)?;
    shop.asked(&["status"])?.says("FAILS since")?.says(ADVICE)?;
    ensure!(shop.tokens()? == second, "the tokens were touched by a sign-in that was taken back");
    tell("signed out, found, and told what to do");

    servers.tell("/told/allow")?;
    let third = shop.signs_in()?;
    shop.asked(&["watch", "--once"])?.says("settled")?;
    shop.shows_none_of([first, second, third].iter().flatten())
}

/// The built program, and its folder.
struct Shop {
    everyline: PathBuf,
    folder: PathBuf,
    /// All that it has written to its outputs.
    written: String,
}

impl Shop {
    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(&self.everyline);
        command.args(arguments).arg("--config").arg(self.folder.join("everyline.toml"));
        command.env("COLUMNS", "1000");
        command
    }

    /// Runs a command of everyline.
    fn asked(&mut self, arguments: &[&str]) -> anyhow::Result<Ended> {
        let ended = finished(&mut self.command(arguments), A_RUN)?;
        self.written += &format!("{}\n{}\n", ended.stdout, ended.stderr);
        Ok(ended)
    }

    /// Signs in as somebody with a browser would. Answers the tokens that are kept then.
    fn signs_in(&mut self) -> anyhow::Result<Vec<String>> {
        let mut command = self.command(&["source", "sign-in", "till"]);
        let child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn();
        let mut child = Ending(child.context("everyline could not be started")?);
        let output = child.0.stdout.take().context("what everyline says cannot be read")?;
        let lines = said_by(output);
        let began = Instant::now();
        let address = loop {
            let line =
                lines.recv_timeout(ANSWERING).context("everyline did not say which address to open")?;
            self.written += &format!("{line}\n");
            if line.starts_with("http://") {
                break line;
            }
            ensure!(began.elapsed() < ANSWERING, "everyline did not say which address to open");
        };
        let (head, _) = browsed(&address)?;
        let moved = head.lines().find_map(|line| {
            let (name, value) = line.split_once(": ")?;
            name.eq_ignore_ascii_case("location").then(|| value.to_owned())
        });
        let moved = moved.with_context(|| format!("the server did not send the browser back: {head}"))?;
        let (head, page) = browsed(&moved)?;
        ensure!(
            head.starts_with("HTTP/1.1 200") && page.contains("everyline is signed in"),
            "the browser was shown {head}\n{page}"
        );
        let status = child.0.wait()?;
        for line in lines.try_iter() {
            self.written += &format!("{line}\n");
        }
        let mut stderr = String::new();
        child.0.stderr.take().context("what everyline says cannot be read")?.read_to_string(&mut stderr)?;
        self.written += &stderr;
        ensure!(status.success(), "signing in ended with {status}\n{stderr}");
        self.tokens()
    }

    /// The tokens that are kept, in a file of its owner alone.
    fn tokens(&self) -> anyhow::Result<Vec<String>> {
        let path = self.folder.join("till.tokens");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(&path)?.permissions().mode() & 0o777;
            ensure!(mode == 0o600, "{} has the mode {mode:o}", path.display());
        }
        let kept: Value = serde_json::from_slice(&fs::read(&path)?)?;
        let token =
            |key: &str| kept[key].as_str().map(str::to_owned).with_context(|| format!("no {key} is kept"));
        Ok(vec![token("access_token")?, token("refresh_token")?])
    }

    /// Looks through everything that was written, but for the file of the tokens.
    fn shows_none_of<'t>(&self, tokens: impl Iterator<Item = &'t String>) -> anyhow::Result<()> {
        let mut all = vec![("its outputs".to_owned(), self.written.clone().into_bytes())];
        for entry in fs::read_dir(&self.folder)? {
            let path = entry?.path();
            if path.file_name().is_some_and(|name| name != "till.tokens") {
                all.push((path.display().to_string(), fs::read(&path)?));
            }
        }
        for token in tokens {
            for (place, bytes) in &all {
                let is_there = bytes.windows(token.len()).any(|window| window == token.as_bytes());
                ensure!(!is_there, "a token stands in {place}");
            }
        }
        Ok(())
    }
}

impl Ended {
    /// Itself, where this stands in what it wrote.
    fn says(self, text: &str) -> anyhow::Result<Self> {
        let is_said = self.stdout.contains(text) || self.stderr.contains(text);
        ensure!(is_said, "{text:?} is not in\n{}\n{}", self.stdout, self.stderr);
        Ok(self)
    }

    /// Itself, where a round read everything: it ended with findings, or without any.
    fn was_read(self) -> anyhow::Result<Self> {
        let code = self.status.code();
        ensure!(matches!(code, Some(0 | 1)), "a round ended with {code:?}\n{}\n{}", self.stdout, self.stderr);
        Ok(self)
    }
}

/// Asks for a page as a browser does, and answers its head and what it shows.
fn browsed(address: &str) -> anyhow::Result<(String, String)> {
    let rest =
        address.strip_prefix("http://127.0.0.1:").with_context(|| format!("{address} is elsewhere"))?;
    let (port, path) = rest.split_once('/').with_context(|| format!("{address} has no path"))?;
    asked_over(port.parse()?, &format!("GET /{path}"))
}

/// One request, and its answer: head and body.
fn asked_over(port: u16, request: &str) -> anyhow::Result<(String, String)> {
    let socket = (Ipv4Addr::LOCALHOST, port).into();
    let mut connection = TcpStream::connect_timeout(&socket, ANSWERING)?;
    connection.set_read_timeout(Some(ANSWERING))?;
    connection.set_write_timeout(Some(ANSWERING))?;
    write!(
        connection,
        "{request} HTTP/1.1\r\nHost: {socket}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"
    )?;
    let mut answer = Vec::new();
    connection.read_to_end(&mut answer)?;
    let answer = String::from_utf8_lossy(&answer).into_owned();
    match answer.split_once("\r\n\r\n") {
        Some((head, body)) => Ok((head.to_owned(), body.to_owned())),
        None => bail!("{request} was answered with {answer:?}"),
    }
}

/// The lines that something says, as they come.
fn said_by(output: impl Read + Send + 'static) -> Receiver<String> {
    let (said, lines) = channel();
    thread::spawn(move || {
        for line in BufReader::new(output).lines().map_while(Result::ok) {
            if said.send(line).is_err() {
                break;
            }
        }
    });
    lines
}

/// A child that ends when this is dropped.
pub struct Ending(pub Child);

impl Drop for Ending {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The authorization server and the source; they end when this is dropped.
struct Servers {
    _child: Ending,
    identity: u16,
    source: u16,
    lines: Receiver<String>,
}

impl Servers {
    fn start() -> anyhow::Result<Self> {
        let folder: PathBuf = IDENTITY.installed()?;
        let mut child = started(&folder)?;
        let output = child.0.stdout.take().context("what oauth2-mock-server says cannot be read")?;
        let lines = said_by(output);
        let port = || -> anyhow::Result<u16> {
            let line = lines.recv_timeout(ANSWERING);
            let line = line.context("oauth2-mock-server did not say in time on which port it listens")?;
            line.parse().with_context(|| format!("oauth2-mock-server said {line:?} instead of its port"))
        };
        let (identity, source) = (port()?, port()?);
        Ok(Self { _child: child, identity, source, lines })
    }

    /// What both were asked since this was called last.
    fn asked(&self) -> anyhow::Result<Vec<String>> {
        // What was said before this was said stands before it.
        self.tell("/told/mark")?;
        let mut asked = Vec::new();
        loop {
            let line =
                self.lines.recv_timeout(ANSWERING).context("the servers do not say what they were asked")?;
            if line == "mark" {
                return Ok(asked);
            }
            asked.push(line);
        }
    }

    /// Tells the source of a change.
    fn tell(&self, path: &str) -> anyhow::Result<()> {
        let (head, _) = asked_over(self.source, &format!("POST {path}"))?;
        ensure!(head.starts_with("HTTP/1.1 204"), "{path} was answered with {head}");
        Ok(())
    }
}

fn started(folder: &Path) -> anyhow::Result<Ending> {
    let child = Command::new("node")
        .args(["--input-type=module", "-e", PROGRAM])
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn();
    Ok(Ending(child.context("node could not be started")?))
}
