//! `cargo xtask rest`: everyline reads a REST server that is not ours, and finds what it finds in files.
//!
//! The server is json-server, which serves any records and was made by others for whoever needs some API; what it is
//! given are the tables of the fixture. It is read as the README's chapter 'Connect a source' says, once with an
//! interruption by force; then some of it is changed through its own API, and it is read again. Must not know the rules of an audit. Start reading at [`run`].

pub mod server;
pub mod tables;

use std::fs::{self, File};
use std::io::{Read, Seek};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, bail, ensure};
use serde_json::Value;

use crate::{root, tell};
use server::Server;
use tables::{Change, Tables};

/// How the server is read; ADDRESS stands for where it is.
const SOURCES: &str = include_str!("rest/sources.toml");

/// How long any run of everyline may take; a round in debug takes some seconds.
const A_RUN: Duration = Duration::from_secs(300);

/// Before every order of the fixture: without it, a ledger reports those of the last 30 days alone.
const SINCE: &str = "2026-11-01";

/// After how many requests the first round is ended by force; alone it makes some 330.
const INTERRUPTED_AFTER: usize = 100;

/// Later than every change in the fixture.
const CHANGED: (&str, &str) = ("updated_at", "2026-11-26T16:00:00Z");

/// What happens between two rounds: each adds findings, settles some, or changes what they say.
const CHANGES: [Change; 12] = [
    // An order is cancelled whose shirts are being made.
    Change::Become("orders", &[("order_id", "KK-10443")], &[("status", "cancelled"), CHANGED]),
    // A new order, of which the mug alone is sent.
    Change::Come(
        "orders",
        &[
            ("order_id", "KK-10701"),
            ("placed_at", "2026-11-26T12:00:00Z"),
            ("paid_at", "2026-11-26T12:01:00Z"),
            ("status", "open"),
            ("currency", "EUR"),
            CHANGED,
        ],
    ),
    Change::Come(
        "order_lines",
        &[
            ("order_id", "KK-10701"),
            ("line_id", "1"),
            ("listing_id", "KL-04"),
            ("sku", "BK OYSTERCATCHER.LOW.WHITE"),
            ("title", "Oystercatcher mug, 100 % kitchen-proof"),
            ("options", r#"{"Colour":"White","Mug":"Low mug 11 oz"}"#),
            ("quantity", "1"),
            ("cancelled_quantity", "0"),
            ("unit_price", "14.00"),
        ],
    ),
    Change::Come(
        "order_lines",
        &[
            ("order_id", "KK-10701"),
            ("line_id", "2"),
            ("listing_id", "KL-02"),
            ("sku", "al-puffin-tee-moss-xl"),
            ("title", "Puffin T-shirt, “the clown of the cliff”"),
            ("options", r#"{"Colour":"Moss","Size":"XL"}"#),
            ("quantity", "2"),
            ("cancelled_quantity", "0"),
            ("unit_price", "26.00"),
        ],
    ),
    Change::Come(
        "submissions",
        &[
            ("supplier", "brook-print"),
            ("submission_id", "bp.1126.0000901"),
            ("order_ref", "BP/KK-10701"),
            ("status", "received"),
            ("received_at", "2026-11-26T12:30:00Z"),
            CHANGED,
        ],
    ),
    Change::Come(
        "submission_lines",
        &[
            ("supplier", "brook-print"),
            ("submission_id", "bp.1126.0000901"),
            ("line_id", "1"),
            ("sku", "BK OYSTERCATCHER.LOW.WHITE"),
            ("quantity", "1"),
            ("unit_cost", "5.20"),
        ],
    ),
    // A supplier cancels, a second time, what was sent a second time.
    Change::Become(
        "submissions",
        &[("supplier", "alder-print"), ("submission_id", "A1125-0000059")],
        &[("status", "cancelled"), CHANGED],
    ),
    // Another takes two posters for one.
    Change::Become(
        "submission_lines",
        &[("submission_id", "CAIRN/1126/0000462"), ("line_id", "1")],
        &[("quantity", "2")],
    ),
    Change::Become("submissions", &[("submission_id", "CAIRN/1126/0000462")], &[CHANGED]),
    // A variant is no longer made, and a wrong link is taken out.
    Change::Become("variants", &[("variant_id", "alv-30217")], &[("available", "false")]),
    Change::Become("offers", &[("sku", "KK-CURLEW-TOTE-MOSS")], &[("price", "7.00")]),
    Change::Go("links", &[("variant_id", "alv-29412")]),
];

/// Reads the server in two rounds, and compares each with files.
///
/// # Errors
/// Where what is found of the server is not what is found of files; both are said. Where anything cannot be run.
pub fn run() -> anyhow::Result<()> {
    let fixture = root()?.join("fixtures/sale-day");
    let mut tables = Tables::read(&fixture)?;
    let everyline = built()?;
    let scratch = tempfile::tempdir().context("no temporary folder could be made")?;
    let records = scratch.path().join("db.json");
    fs::write(&records, tables.records()?.to_string())?;
    let server = Server::start(&records)?;

    let configuration = scratch.path().join("everyline.toml");
    let own = fs::read_to_string(fixture.join("everyline.toml"))?;
    fs::write(&configuration, own + &SOURCES.replace("ADDRESS", &server.address()))?;
    let shop = Shop { everyline, configuration };
    shop.asked(&["config", "check"])?.expect(0)?;
    for source in ["till", "alder", "brook", "cairn"] {
        shop.asked(&["source", "check", source])?.expect(0)?;
    }
    server.asked();

    shop.interrupted(&server)?;
    server.asked();
    shop.asked(&["watch", "--once"])?.expect(1)?;
    let asked = server.asked();
    ensure!(asked.len() > INTERRUPTED_AFTER, "only {} pages were read: {asked:#?}", asked.len());
    // What the owner ties is in no source.
    let columns = ["order_id", "line_id", "submission_id", "submission_line_id", "supplier"];
    for [order, line, submission, submission_line, supplier] in tables.cells("ties", columns)? {
        let tie = ["tie", order, line, submission, submission_line, "--supplier", supplier];
        let given: Vec<&str> = tie.into_iter().filter(|text| !text.is_empty()).collect();
        shop.asked(&given)?.expect(0)?;
    }
    let before = shop.compared(&fixture)?;
    tell(&format!("{} requests, {} findings, as in files", asked.len(), before.len()));

    for change in CHANGES {
        server.tell(&tables.change(change)?)?;
    }
    let changed = scratch.path().join("changed");
    fs::create_dir(&changed)?;
    tables.write(&changed)?;
    server.asked();
    shop.asked(&["watch", "--once"])?.expect(1)?;
    let asked = server.asked();
    let whole = asked.iter().find(|line| line.contains("/orders") && !line.contains("updated_at_gte="));
    ensure!(whole.is_none(), "orders were asked for from the beginning again: {whole:?}");
    let after = shop.compared(&changed)?;
    ensure!(before != after, "the changes have changed nothing, so that nothing was checked by them");
    tell(&format!(
        "after {} changes: {} requests, {} findings, as in files",
        CHANGES.len(),
        asked.len(),
        after.len()
    ));
    Ok(())
}

/// The built program, with a configuration.
struct Shop {
    everyline: PathBuf,
    configuration: PathBuf,
}

impl Shop {
    /// Runs a command of everyline.
    fn asked(&self, arguments: &[&str]) -> anyhow::Result<Ended> {
        let mut command = Command::new(&self.everyline);
        finished(command.args(arguments).arg("--config").arg(&self.configuration), A_RUN)
    }

    /// Begins a round, and ends it by force in the midst of it: the next one must lose and double nothing.
    fn interrupted(&self, server: &Server) -> anyhow::Result<()> {
        let mut command = Command::new(&self.everyline);
        command
            .args(["watch", "--once", "--quiet", "--config"])
            .arg(&self.configuration)
            .stdin(Stdio::null());
        let mut round = command.spawn().context("everyline could not be started")?;
        let waited = server.wait_for(INTERRUPTED_AFTER);
        let ended = round.kill().and_then(|()| round.wait());
        waited?;
        ended.context("a round could not be ended")?;
        Ok(())
    }

    /// Audits what was read of the server, and files, and answers what both find.
    fn compared(&self, files: &Path) -> anyhow::Result<Vec<Value>> {
        let as_of = simshop::sale_day().as_of.to_rfc3339();
        let audit = ["audit", "--since", SINCE, "--as-of", &as_of, "--format", "jsonl"];
        let files = files.display().to_string();
        let of_files = found(&self.asked(&[&audit[..], &["--from", &files]].concat())?.expect(1)?.stdout)?;
        let of_server = found(&self.asked(&audit)?.expect(1)?.stdout)?;
        let only = |these: &[Value], those: &[Value]| {
            let lines = these.iter().filter(|finding| !those.contains(finding));
            lines.map(|finding| format!("\n  {finding}")).collect::<String>()
        };
        let (of_files_only, of_server_only) = (only(&of_files, &of_server), only(&of_server, &of_files));
        ensure!(
            of_files_only.is_empty() && of_server_only.is_empty(),
            "what is found of the server is not what is found of the files\nof the files alone:{of_files_only}\nof the \
             server alone:{of_server_only}"
        );
        ensure!(of_files == of_server, "the findings of the server and of the files stand in another order");
        Ok(of_files)
    }
}

/// The findings of an audit, without when they were first seen, which files do not know, and the sentence, which follows
/// from that and the rest: it names the year of another year's dates.
///
/// # Errors
/// Where a line is no finding, or one of a source.
pub fn found(lines: &str) -> anyhow::Result<Vec<Value>> {
    let mut found = Vec::new();
    for line in lines.lines() {
        let mut finding: Value = serde_json::from_str(line).with_context(|| format!("no finding: {line}"))?;
        let check = finding["check"].as_str().unwrap_or_default();
        ensure!(!check.starts_with("source-"), "a source is not read as it should be: {line}");
        for key in ["first_seen", "say"] {
            let removed = finding.as_object_mut().and_then(|finding| finding.remove(key));
            ensure!(removed.is_some(), "has no {key}: {line}");
        }
        found.push(finding);
    }
    Ok(found)
}

/// What came of running a program.
pub struct Ended {
    /// How it is called.
    shown: String,
    /// How it ended.
    pub status: ExitStatus,
    /// What it answered.
    pub stdout: String,
    /// What it said beside its answer.
    pub stderr: String,
}

impl Ended {
    /// Itself, where it ended with this code.
    ///
    /// # Errors
    /// Where it ended with another; what it wrote is said.
    pub fn expect(self, code: i32) -> anyhow::Result<Self> {
        let Self { shown, status, stdout, stderr } = &self;
        ensure!(
            status.code() == Some(code),
            "{shown} ended with {status}; expected is the code {code}\n{stdout}\n{stderr}"
        );
        Ok(self)
    }
}

/// Runs a program to its end, which is made where it takes longer than `limit`.
///
/// # Errors
/// Where it cannot be started, or took too long.
pub fn finished(command: &mut Command, limit: Duration) -> anyhow::Result<Ended> {
    let shown = format!("{command:?}");
    let file = || tempfile::tempfile().context("no temporary file could be made");
    let (stdout, stderr) = (file()?, file()?);
    command.stdin(Stdio::null()).stdout(stdout.try_clone()?).stderr(stderr.try_clone()?);
    let started = Instant::now();
    let mut child = command.spawn().with_context(|| format!("{shown} could not be started"))?;
    let status = loop {
        if let Some(status) = child.try_wait()? {
            break status;
        }
        if started.elapsed() > limit {
            child.kill()?;
            child.wait()?;
            bail!("{shown} was not done after {} s\n{}", limit.as_secs(), text(stderr)?);
        }
        thread::sleep(Duration::from_millis(10));
    };
    Ok(Ended { shown, status, stdout: text(stdout)?, stderr: text(stderr)? })
}

fn text(mut file: File) -> anyhow::Result<String> {
    file.rewind()?;
    let mut text = String::new();
    file.read_to_string(&mut text)?;
    Ok(text)
}

/// Builds everyline, and answers where it is.
///
/// # Errors
/// Where it cannot be built.
pub fn built() -> anyhow::Result<PathBuf> {
    let root = root()?;
    let status = Command::new(env!("CARGO"))
        .args(["build", "--quiet", "-p", "everyline"])
        .current_dir(&root)
        .status()
        .context("cargo could not be started")?;
    ensure!(status.success(), "everyline could not be built ({status})");
    let metadata = cargo_metadata::MetadataCommand::new().current_dir(&root).no_deps().exec()?;
    let built = metadata.target_directory.into_std_path_buf().join("debug/everyline");
    Ok(built.with_extension(std::env::consts::EXE_EXTENSION))
}
