//! `everyline source sign-in`, from outside: a browser that comes back, one that does not, and what is said when a sign-in is
//! lost.
//!
//! The token address and the source are one server on loopback. Start reading at [`Home`].

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

use serde_json::json;
use tempfile::TempDir;
use wiremock::matchers::{body_string_contains, header, method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

/// A folder with a configuration, and the server that it speaks of.
struct Home {
    folder: TempDir,
    server: MockServer,
}

/// What a run wrote, and its code.
#[derive(Debug)]
struct Run {
    stdout: String,
    stderr: String,
    code: i32,
}

impl Run {
    #[track_caller]
    fn says(&self, code: i32, texts: &[&str]) {
        let all =
            format!("{}\n{}", self.stdout, self.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        for text in texts {
            assert!(all.contains(text), "{text:?} in\n{}\n{}", self.stdout, self.stderr);
        }
        assert_eq!(self.code, code, "{}\n{}", self.stdout, self.stderr);
    }
}

fn granted(access: &str) -> ResponseTemplate {
    let body = json!({
        "access_token": access, "token_type": "Bearer", "expires_in": 3600, "refresh_token": format!("{access}-refresh"),
    });
    ResponseTemplate::new(200).set_body_json(body)
}

impl Home {
    /// A source to which somebody signs in, at a server that gives tokens for a code and takes them.
    async fn new() -> Self {
        let home = Self::with(
            "grant = \"authorization_code\"\nauthorize_address = \"ADDRESS/authorize\"\nscope = \"orders\"",
        );
        let home = home.await;
        home.answers("authorization_code", granted("moss-access")).await;
        home.takes("moss-access").await;
        home
    }

    async fn with(keys: &str) -> Self {
        let server = MockServer::start().await;
        let folder = tempfile::tempdir().unwrap();
        let keys = keys.replace("ADDRESS", &server.uri());
        let configuration = format!(
            r#"
            [sources.till]
            role = "storefront"
            address = "{address}/api/"
            [sources.till.sign_in]
            token_address = "{address}/token"
            client_id = "kittiwake"
            {keys}
            [sources.till.requests.orders]
            path = "orders"
            [sources.till.requests.orders.tables.orders]
            at = "$.orders[*]"
            fields = {{ order_id = "$.number", placed_at = "$.made", status = "$.state" }}
            [sources.till.requests.orders.tables.order_lines]
            within = "orders"
            at = "$.lines[*]"
            fields = {{ line_id = "$.id", quantity = "$.count" }}
            "#,
            address = server.uri(),
        );
        fs::write(folder.path().join("everyline.toml"), configuration).unwrap();
        Self { folder, server }
    }

    async fn answers(&self, grant: &str, answer: ResponseTemplate) {
        let asked = Mock::given(method("POST")).and(path("/token"));
        asked
            .and(body_string_contains(format!("grant_type={grant}")))
            .respond_with(answer)
            .mount(&self.server)
            .await;
    }

    /// The source takes this token alone.
    async fn takes(&self, access: &str) {
        let asked = Mock::given(method("GET")).and(path("/api/orders"));
        let is_good = header("authorization", format!("Bearer {access}").as_str());
        let answer = ResponseTemplate::new(200).set_body_json(json!({ "orders": [] }));
        asked.and(is_good).respond_with(answer).mount(&self.server).await;
        let asked = Mock::given(method("GET")).and(path("/api/orders"));
        asked.respond_with(ResponseTemplate::new(401)).with_priority(9).mount(&self.server).await;
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_everyline"));
        command.current_dir(self.path()).args(arguments).stdin(Stdio::null());
        command.env_remove("NO_COLOR").env_remove("COLUMNS").env_remove("TILL_SECRET");
        command
    }

    fn run(&self, arguments: &[&str]) -> Run {
        let output = self.command(arguments).output().unwrap();
        Run {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            code: output.status.code().unwrap(),
        }
    }

    fn begin(&self, more: &[&str]) -> Begun {
        let mut command = self.command(&[&["source", "sign-in", "till"], more].concat());
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = Ending(command.spawn().unwrap());
        let mut out = BufReader::new(child.0.stdout.take().unwrap());
        let mut said = String::new();
        loop {
            let before = said.len();
            assert!(out.read_line(&mut said).unwrap() > 0, "it ended: {said}");
            let address = said[before..].trim().to_owned();
            if address.starts_with("http://") {
                return Begun { child, out, said, address };
            }
        }
    }

    /// Signs in as somebody with a browser does.
    fn sign_in(&self) -> Run {
        let begun = self.begin(&[]);
        let page = begun.comes_back(&format!("code=moss-code&state={}", begun.of("state")));
        assert!(page.starts_with("HTTP/1.1 200") && page.contains("everyline is signed in"), "{page}");
        assert!(!page.contains("moss"), "{page}");
        begun.ended()
    }

    fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(self.path()).unwrap();
        let mut names: Vec<_> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }
}

/// A child that ends with the test.
struct Ending(Child);

impl Drop for Ending {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A sign-in that waits for somebody.
struct Begun {
    child: Ending,
    out: BufReader<ChildStdout>,
    said: String,
    address: String,
}

impl Begun {
    /// A parameter of the address that is to be opened.
    fn of(&self, name: &str) -> String {
        let query = self.address.split_once('?').unwrap().1;
        let mut pairs = query.split('&').filter_map(|pair| pair.split_once('='));
        pairs.find(|(known, _)| *known == name).unwrap().1.to_owned()
    }

    fn port(&self) -> u16 {
        let redirect = self.of("redirect_uri");
        let port = redirect.split("%3A").nth(2).unwrap().split("%2F").next().unwrap();
        port.parse().unwrap()
    }

    fn asks(&self, target: &str) -> String {
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port())).unwrap();
        write!(stream, "GET {target} HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n").unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    fn comes_back(&self, query: &str) -> String {
        self.asks(&format!("/signed-in?{query}"))
    }

    fn ended(mut self) -> Run {
        let mut stderr = String::new();
        self.child.0.stderr.take().unwrap().read_to_string(&mut stderr).unwrap();
        self.out.read_to_string(&mut self.said).unwrap();
        let code = self.child.0.wait().unwrap().code().unwrap();
        Run { stdout: std::mem::take(&mut self.said), stderr, code }
    }
}

const KEPT: &str = "everyline.db.till@shop.tokens";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn somebody_signs_in_with_a_browser_and_the_source_can_be_read() {
    let home = Home::new().await;
    home.run(&["config", "check"]).says(0, &["which is not there yet", "`everyline source sign-in till`"]);
    let run = home.sign_in();
    run.says(0, &["Signed in.", KEPT, "Request orders was tried, and works.", "`everyline watch`"]);
    assert_eq!(home.names(), [KEPT, &format!("{KEPT}.lock"), "everyline.toml"]);
    assert!(fs::read_to_string(home.path().join(KEPT)).unwrap().contains("moss-access-refresh"));
    let check = home.run(&["source", "check", "till"]);
    check.says(0, &["none is needed, for the client is a public one", "sign-in works"]);
    home.run(&["config", "check"]).says(0, &["which is there"]);
    for run in [run, check] {
        assert!(!format!("{run:?}").contains("moss"), "{run:?}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_browser_that_asks_for_other_things_is_waited_for_and_half_requests_hold_nobody_up() {
    let home = Home::new().await;
    let begun = home.begin(&[]);
    let _silent = TcpStream::connect((Ipv4Addr::LOCALHOST, begun.port())).unwrap();
    assert!(begun.asks("/favicon.ico").starts_with("HTTP/1.1 404"));
    let page = begun.comes_back(&format!("state={}&code=moss-code", begun.of("state")));
    assert!(page.contains("everyline is signed in"), "{page}");
    begun.ended().says(0, &["Signed in."]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_not_allowed_and_what_belongs_to_another_sign_in_have_words_and_leave_nothing() {
    let home = Home::new().await;
    for (query, want) in [
        (
            "error=access_denied&error_description=moss&state=STATE",
            "it was not allowed there (access_denied)",
        ),
        ("error=invalid_scope&state=STATE", "the service answered with invalid_scope"),
        ("code=moss-code&state=moss", "the answer does not belong to this sign-in: its state is another"),
        ("code=moss-code", "the answer does not belong to this sign-in: its state is another"),
        ("state=STATE", "there is no code in the answer"),
    ] {
        let begun = home.begin(&[]);
        let page = begun.comes_back(&query.replace("STATE", &begun.of("state")));
        assert!(page.contains("everyline is not signed in") && !page.contains("moss"), "{page}");
        let run = begun.ended();
        run.says(3, &["error: source till is not signed in", want, "`everyline source sign-in till`"]);
        assert!(!format!("{run:?}").contains("moss"), "{run:?}");
        assert!(!home.path().join(KEPT).exists());
    }
    assert_eq!(home.server.received_requests().await.unwrap().len(), 0);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn without_a_browser_here_the_address_is_pasted() {
    let home = Home::new().await;
    let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap().local_addr().unwrap().port();
    let mut begun = home.begin(&["--paste", "--port", &free.to_string()]);
    assert_eq!(begun.port(), free);
    assert!(TcpStream::connect((Ipv4Addr::LOCALHOST, free)).is_err());
    let state = begun.of("state");
    let mut input = begun.child.0.stdin.take().unwrap();
    writeln!(input, "what").unwrap();
    writeln!(input, "http://127.0.0.1:{free}/signed-in?code=moss-code&state={state}").unwrap();
    begun.ended().says(0, &["paste all of it", "Signed in."]);
    // Nothing is pasted.
    let mut begun = home.begin(&["--paste"]);
    drop(begun.child.0.stdin.take());
    begun.ended().says(3, &["it is no address to which the browser was sent"]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_would_keep_a_sign_in_from_working_is_said_before_anybody_signs_in() {
    let home = Home::new().await;
    let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    home.run(&["source", "sign-in", "till", "--port", &port]).says(2, &["--port"]);

    let text = fs::read_to_string(home.path().join("everyline.toml")).unwrap();
    let with = |more: &str| {
        let keys = format!("client_id = \"kittiwake\"\n{more}");
        fs::write(home.path().join("everyline.toml"), text.replace("client_id = \"kittiwake\"", &keys))
            .unwrap();
        home.run(&["source", "sign-in", "till"])
    };
    with("secret = { environment = \"TILL_SECRET\" }")
        .says(3, &["is not signed in", "the environment variable TILL_SECRET is not set"]);
    with("tokens = \"nowhere/tokens\"")
        .says(3, &["is not signed in", "nowhere/tokens", "could not be written"]);
    assert!(home.server.received_requests().await.unwrap().is_empty());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_code_that_is_refused_and_a_service_that_cannot_answer_are_said() {
    for (answer, wants) in [
        (
            ResponseTemplate::new(400)
                .set_body_json(json!({ "error": "invalid_grant", "error_description": "moss" })),
            ["the code was refused (invalid_grant)", "`everyline source sign-in till` again"],
        ),
        (
            ResponseTemplate::new(401).set_body_json(json!({ "error": "invalid_client" })),
            ["the token address refused the client (invalid_client)", "client_id"],
        ),
        (
            ResponseTemplate::new(503).set_body_string("moss"),
            ["cannot answer now (status 503)", "`everyline source sign-in till` again"],
        ),
        (
            ResponseTemplate::new(200).set_body_raw("<html>moss", "text/html"),
            ["HTML where JSON was expected", "token_address"],
        ),
    ] {
        let home =
            Home::with("grant = \"authorization_code\"\nauthorize_address = \"ADDRESS/authorize\"").await;
        home.answers("authorization_code", answer).await;
        let begun = home.begin(&[]);
        let page = begun.comes_back(&format!("code=moss-code&state={}", begun.of("state")));
        assert!(page.contains("everyline is not signed in"), "{page}");
        let run = begun.ended();
        run.says(3, &wants);
        assert!(!format!("{run:?}").contains("moss"), "{run:?}");
        assert_eq!(home.names(), [&format!("{KEPT}.lock"), "everyline.toml"]);
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn where_nobody_has_to_sign_in_that_is_said() {
    let home =
        Home::with("grant = \"client_credentials\"\nsecret = { file = \"till-secret\" }\nscope = \"orders\"")
            .await;
    fs::write(home.path().join("till-secret"), "moss-and-stone\n").unwrap();
    home.answers("client_credentials", granted("moss-access")).await;
    home.takes("moss-access").await;
    let run = home.run(&["source", "sign-in", "till"]);
    run.says(0, &["Nobody has to sign in to source till", "Request orders was tried, and works."]);
    home.run(&["config", "check"]).says(0, &["access tokens that it has by itself from http://127.0.0.1:"]);
    assert_eq!(home.names(), ["everyline.toml", "till-secret"]);

    let text = fs::read_to_string(home.path().join("everyline.toml")).unwrap();
    let begin = text.find("            [sources.till.sign_in]").unwrap();
    let end = text.find("            [sources.till.requests.orders]").unwrap();
    fs::write(home.path().join("everyline.toml"), format!("{}{}", &text[..begin], &text[end..])).unwrap();
    home.run(&["source", "sign-in", "till"]).says(0, &["Nobody has to sign in", "no sign_in is declared"]);
}

/// A finding at once, though the source was read a moment ago: nothing mends it but somebody.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sign_in_that_is_taken_back_is_found_at_once_and_settles_with_the_next_one() {
    let home = Home::new().await;
    home.sign_in().says(0, &["Signed in."]);
    let run = home.run(&["watch", "--once"]);
    assert!(!run.stdout.contains("source-stale"), "{run:?}");
    let kept = fs::read(home.path().join(KEPT)).unwrap();

    home.server.reset().await;
    home.takes("other-access").await;
    home.answers(
        "refresh_token",
        ResponseTemplate::new(400).set_body_json(json!({ "error": "invalid_grant" })),
    )
    .await;
    let run = home.run(&["watch", "--once"]);
    let advice = "Sign in anew with `everyline source sign-in till`";
    run.says(3, &["source-stale", "the sign-in was taken back or has run out (invalid_grant)", advice]);
    home.run(&["findings"]).says(1, &["source-stale", advice]);
    home.run(&["status"]).says(0, &["FAILS since", advice]);
    assert_eq!(fs::read(home.path().join(KEPT)).unwrap(), kept);

    home.answers("authorization_code", granted("other-access")).await;
    home.sign_in().says(0, &["Request orders was tried, and works."]);
    let run = home.run(&["watch", "--once"]);
    assert!(run.stdout.contains("settled"), "{run:?}");
    for name in home.names().iter().filter(|name| *name != KEPT) {
        let bytes = fs::read(home.path().join(name)).unwrap();
        assert!(!String::from_utf8_lossy(&bytes).contains("-access"), "{name}");
    }
}

/// Its stand-in: a service that cannot answer has not taken anything back.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_token_address_that_cannot_answer_is_no_finding_yet() {
    let home = Home::new().await;
    home.sign_in().says(0, &["Signed in."]);
    home.run(&["watch", "--once"]);
    home.server.reset().await;
    home.takes("other-access").await;
    home.answers("refresh_token", ResponseTemplate::new(429).insert_header("retry-after", "3600")).await;
    let run = home.run(&["watch", "--once"]);
    run.says(3, &["no access token could be had: the token address cannot answer now (status 429)"]);
    assert!(!run.stdout.contains("source-stale"), "{run:?}");
}
