//! `cargo xtask mail`: mails go through a mail server that is not ours, and events to readers that are not ours.
//!
//! The server is aiosmtpd, with certificates of trustme; mails are read by Python's `email`, events by the CloudEvents SDK, and
//! signatures by the library of Standard Webhooks. What is sent goes through `digest::deliver`, by `crates/digest/examples/send.rs`.
//! Looked at are both ways of encryption, the sign-in, the header lines, both parts, hostile texts, the same octets in two
//! tries, and what is said of refusals. Must not know how mails are written. Start reading at [`run`].

use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

use anyhow::{Context, bail, ensure};
use serde_json::{Value, json};

use crate::pip::Environment;
use crate::{root, tell};

/// What is not ours.
const OTHERS: Environment = Environment {
    packages: &["aiosmtpd==1.4.6", "cloudevents==2.2.0", "standardwebhooks==1.1.0", "trustme==1.2.1"],
    folder: "mail-server",
};

/// The program that runs them.
const PROGRAM: &str = include_str!("mail/server.py");

/// How long the servers may take to start, and to say what they have received.
const ANSWERING: Duration = Duration::from_secs(60);

const USER: &str = "digest@kittiwake.example";

const FROM: &str = "Kittiwake Kitchen – Öland <digest@kittiwake.example>";

const TO: &str = "Ida <owner@kittiwake.example>";

/// Must stand nowhere but where somebody signs in.
const PASSWORD: &str = "moss-and-stone-7731";

/// `moss-and-stone-7731-moss-and-stone` in base64.
const SECRET: &str = "whsec_bW9zcy1hbmQtc3RvbmUtNzczMS1tb3NzLWFuZC1zdG9uZQ==";

/// The header lines that a mail has, and no others.
const NAMES: [&str; 9] = [
    "Date",
    "From",
    "To",
    "Subject",
    "Message-ID",
    "Auto-Submitted",
    "Content-Language",
    "MIME-Version",
    "Content-Type",
];

/// Texts by which somebody would like more than a text to become of them.
const HOSTILE: [&str; 9] = [
    "x\r\nBcc: other@shop.example\r\n\r\nbody",
    "x\nBcc: other@shop.example",
    "x\rBcc: other@shop.example",
    "a\u{0}b\u{1b}[2J",
    "gro\u{202e}ssap",
    "=?utf-8?q?x=0D=0ABcc:_other@shop.example?=",
    ".\r\n.\r\nQUIT\r\n",
    "Käse – 順番 – 👩‍🍳",
    "",
];

/// Sends, and looks at what others have read.
///
/// # Errors
/// Where something is another than is said at the head of this file, or anything cannot be run.
pub fn run() -> anyhow::Result<()> {
    let post = Post { program: built()?, others: Others::start()? };
    let message = json!({
        "id": "digest-2026-11-26-owner@kittiwake",
        "kind": "digest",
        "written_at": "2026-11-26T06:00:05Z",
        "day": "2026-11-26",
        "subject": "2 orders go out incomplete – first by 14:00",
        "text": "Order KK-1042 goes out without the apron.\n\nLink it – “Large, moss” – by 14:00.\n",
        "html": "<!doctype html>\n<html lang=\"en\"><p>Order KK-1042 goes out without the apron – link it.</p></html>\n",
        "data": { "findings": [{ "check": "part-sent", "order_id": "KK-1042" }] },
        "link": "http://127.0.0.1:8090/",
    });
    post.mails(&message)?;
    post.hostile_mails(&message)?;
    post.refusals(&message)?;
    post.events(&message)
}

/// What sends, and what receives.
struct Post {
    program: PathBuf,
    others: Others,
}

impl Post {
    /// Both servers, two tries each.
    fn mails(&self, message: &Value) -> anyhow::Result<()> {
        let mut octets = Vec::new();
        for starttls in [false, true, false, true] {
            self.sent(message, &self.others.destination(starttls, TO))?.expect("sent", "(250")?;
            let mail = self.others.received()?;
            let parts = json!([
                { "type": "text/plain", "charset": "utf-8", "says": message["text"] },
                { "type": "text/html", "charset": "utf-8", "says": message["html"] },
            ]);
            for (what, want) in [
                ("encrypted", json!(true)),
                ("user", json!(USER)),
                ("sender", json!("digest@kittiwake.example")),
                ("recipients", json!(["owner@kittiwake.example"])),
                ("faults", json!([])),
                ("names", json!(NAMES)),
                ("from", json!([["Kittiwake Kitchen – Öland", "digest@kittiwake.example"]])),
                ("to", json!([["Ida", "owner@kittiwake.example"]])),
                ("subject", message["subject"].clone()),
                ("date", json!("2026-11-26T06:00:05+00:00")),
                ("id", json!("<digest-2026-11-26-owner=40kittiwake@kittiwake.example>")),
                ("auto_submitted", json!("auto-generated")),
                ("language", json!("en")),
                ("kind", json!("multipart/alternative")),
                ("parts", parts),
                ("best", json!("text/html")),
            ] {
                ensure!(mail[what] == want, "{what} is {}; expected is {want}", mail[what]);
            }
            octets.push(mail["octets"].clone());
        }
        ensure!(octets.windows(2).all(|pair| pair[0] == pair[1]), "two tries differ: {octets:?}");
        tell(&format!("{} mails, encrypted in both ways, read as they were sent", octets.len()));
        Ok(())
    }

    fn hostile_mails(&self, message: &Value) -> anyhow::Result<()> {
        let long = ["a".repeat(10_000), "ü".repeat(10_000)];
        let texts: Vec<&str> = HOSTILE.into_iter().chain(long.iter().map(String::as_str)).collect();
        for text in &texts {
            let mut message = message.clone();
            for key in ["id", "subject", "text"] {
                message[key] = json!(text);
            }
            message["html"] = json!(format!("<p>{text}</p>"));
            self.sent(&message, &self.others.destination(false, TO))?.expect("sent", "(250")?;
            let mail = self.others.received()?;
            let shown = |what: &str| mail[what].to_string();
            ensure!(mail["names"] == json!(NAMES), "{text:?}: {}", shown("names"));
            ensure!(mail["faults"] == json!([]), "{text:?}: {}", shown("faults"));
            ensure!(
                mail["recipients"] == json!(["owner@kittiwake.example"]),
                "{text:?}: {}",
                shown("recipients")
            );
            ensure!(
                mail["longest"].as_u64().is_some_and(|longest| longest <= 998),
                "{text:?}: {}",
                shown("longest")
            );
            let kinds: Vec<&Value> =
                mail["parts"].as_array().into_iter().flatten().map(|part| &part["type"]).collect();
            ensure!(kinds == [&json!("text/plain"), &json!("text/html")], "{text:?}: {kinds:?}");
            let is_unfit = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
            let says: Vec<&str> = ["/subject", "/parts/0/says", "/parts/1/says"]
                .iter()
                .filter_map(|place| mail.pointer(place)?.as_str())
                .collect();
            ensure!(says.len() == 3 && !says[0].contains('\n'), "{text:?}: {says:?}");
            ensure!(!says.iter().any(|says| says.contains(is_unfit)), "{text:?}: {says:?}");
        }
        tell(&format!("{} hostile texts, each a text", texts.len()));
        Ok(())
    }

    fn refusals(&self, message: &Value) -> anyhow::Result<()> {
        let to = |who: &str| self.others.destination(true, &format!("{who}@kittiwake.example"));
        self.sent(message, &to("full"))?.expect("give_up", "the mailbox is full")?;
        self.sent(message, &to("later"))?.expect("try_again", "does not take it now (451")?;
        for starttls in [false, true] {
            let mut untrusted = self.others.destination(starttls, TO);
            untrusted["mail"]["root"] = Value::Null;
            self.sent(message, &untrusted)?
                .expect("try_again", "nobody whom this machine trusts has signed it")?;
            let mut locked_out = self.others.destination(starttls, TO);
            locked_out["mail"]["password"] = json!("stone");
            self.sent(message, &locked_out)?
                .expect("try_again", "refuses the user name or the password (535)")?;
        }
        self.others.received_nothing_more()?;
        tell("refusals are told apart");
        Ok(())
    }

    fn events(&self, message: &Value) -> anyhow::Result<()> {
        for later in [0, 60] {
            self.sent(message, &self.others.receiver(SECRET, later))?.expect("sent", "(202)")?;
            let event = self.others.received()?;
            for (what, want) in [
                ("specversion", json!("1.0")),
                ("id", json!("digest-2026-11-26-owner=40kittiwake")),
                ("webhook_id", json!("digest-2026-11-26-owner=40kittiwake")),
                ("source", json!("/everyline/kittiwake")),
                ("type", json!("everyline.digest")),
                ("subject", message["subject"].clone()),
                ("time", json!("2026-11-26T06:00:05+00:00")),
                ("datacontenttype", json!("application/json")),
                ("data", message["data"].clone()),
            ] {
                ensure!(event[what] == want, "{what} is {}; expected is {want}", event[what]);
            }
        }
        // The canary: the library does look at the secret, and at the time.
        let other = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
        self.sent(message, &self.others.receiver(other, 0))?
            .expect("try_again", "check the secret at both ends")?;
        self.sent(message, &self.others.receiver(SECRET, -3_600))?
            .expect("try_again", "Message timestamp too old")?;
        self.others.received_nothing_more()?;
        tell("events are read and their signatures hold");
        Ok(())
    }

    /// Sends a message to a destination.
    fn sent(&self, message: &Value, destination: &Value) -> anyhow::Result<Outcome> {
        let order = json!({ "message": message, "destination": destination });
        let mut child = Command::new(&self.program)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .context("the example cannot be started")?;
        let mut input = child.stdin.take().context("the example cannot be told anything")?;
        input.write_all(order.to_string().as_bytes())?;
        drop(input);
        // It has time-outs of its own.
        let ended = child.wait_with_output()?;
        let stderr = String::from_utf8_lossy(&ended.stderr);
        ensure!(ended.status.success(), "the example ended with {}\n{stderr}", ended.status);
        let answer = String::from_utf8(ended.stdout)?;
        ensure!(!answer.contains(PASSWORD), "the password stands in {answer}");
        Ok(Outcome(serde_json::from_str(&answer).with_context(|| format!("the example answered {answer}"))?))
    }
}

/// What came of sending.
struct Outcome(Value);

impl Outcome {
    fn expect(&self, outcome: &str, says: &str) -> anyhow::Result<()> {
        let said = self.0[outcome].as_str();
        ensure!(
            said.is_some_and(|said| said.contains(says)),
            "{outcome}, {says:?} was expected; it was {}",
            self.0
        );
        Ok(())
    }
}

/// The servers and readers; they end when this is dropped.
struct Others {
    child: Child,
    told: Value,
    lines: Receiver<String>,
}

impl Others {
    fn start() -> anyhow::Result<Self> {
        let mut child = Command::new(OTHERS.python()?)
            .args(["-W", "ignore", "-c", PROGRAM, USER, PASSWORD, SECRET])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .context("python could not be started")?;
        let output = child.stdout.take();
        let (said, lines) = channel();
        // From here on it is ended whatever happens.
        let mut others = Self { child, told: Value::Null, lines };
        let output = output.context("what the mail server says cannot be read")?;
        thread::spawn(move || {
            for line in BufReader::new(output).lines().map_while(Result::ok) {
                if said.send(line).is_err() {
                    break;
                }
            }
        });
        others.told = others.received().context("the mail server did not start")?;
        Ok(others)
    }

    /// What was read in the next mail or event.
    fn received(&self) -> anyhow::Result<Value> {
        let line =
            self.lines.recv_timeout(ANSWERING).context("the mail server did not say what it received")?;
        serde_json::from_str(&line).with_context(|| format!("the mail server said {line}"))
    }

    /// What was received was said before it was answered.
    fn received_nothing_more(&self) -> anyhow::Result<()> {
        match self.lines.try_recv() {
            Ok(line) => bail!("more was received than was sent: {line}"),
            Err(_) => Ok(()),
        }
    }

    fn destination(&self, starttls: bool, to: &str) -> Value {
        let (scheme, port) = if starttls { ("smtp", "starttls") } else { ("smtps", "implicit") };
        json!({ "mail": {
            "address": format!("{scheme}://localhost:{}", self.told[port]),
            "starttls": starttls,
            "root": self.told["root"],
            "user": USER,
            "password": PASSWORD,
            "from": FROM,
            "to": to,
        } })
    }

    /// The receiver of events, at so many seconds after it was started.
    fn receiver(&self, secret: &str, later: i64) -> Value {
        let now = self.told["now"].as_i64().unwrap_or_default() + later;
        json!({ "events": {
            "address": format!("http://127.0.0.1:{}/hooks/moss", self.told["receiver"]),
            "source": "/everyline/kittiwake",
            "secret": secret,
            "at": now,
        } })
    }
}

impl Drop for Others {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Builds the example, and answers where it is.
fn built() -> anyhow::Result<PathBuf> {
    let root = root()?;
    let status = Command::new(env!("CARGO"))
        .args(["build", "--quiet", "-p", concat!("digest@", env!("CARGO_PKG_VERSION")), "--example", "send"])
        .current_dir(&root)
        .status()
        .context("cargo could not be started")?;
    ensure!(status.success(), "the example could not be built ({status})");
    let metadata = cargo_metadata::MetadataCommand::new().current_dir(&root).no_deps().exec()?;
    let built = metadata.target_directory.into_std_path_buf().join("debug/examples/send");
    Ok(built.with_extension(std::env::consts::EXE_EXTENSION))
}
