//! `cargo xtask connect`: from the addresses of a server that is not ours to what everyline finds there, with no line of
//! configuration written by hand.
//!
//! Two general servers that others made for whoever needs one have the fixture's tables, as an invented shop would call
//! them: json-server with lines within orders, datasette with a table for each. `everyline source propose --url` adds
//! their sources to the configuration that the fixture has; a round reads them; and the findings must be those of files
//! with the same rows. Then a row is changed at the server, and another round must see it. Must not know the rules of an
//! audit. Start reading at [`run`]; `book` has the rows.

mod book;
mod datasette;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, ensure};
use serde_json::{Value, json};

use crate::rest::server::Server;
use crate::rest::tables::Told;
use crate::rest::{Ended, built, finished, found};
use crate::{root, tell};
use book::{Book, Lines};
use datasette::Datasette;

/// How long any run of everyline may take; a round in debug takes some seconds.
const A_RUN: Duration = Duration::from_secs(300);

/// How many findings are shown of each side that the other does not have.
const SHOWN: usize = 5;

/// Before every order of the fixture: without it, a ledger reports those of the last 30 days alone.
const SINCE: &str = "2026-11-01";

/// What becomes of an order between two rounds, and when: later than every change in the fixture.
const CHANGED: (&str, &str, &str) = ("KK-10443", "cancelled", "2026-11-26T16:00:00Z");

/// What a person says of a supplier whose words are in no list, or whose server has numbers of its own.
const ANSWERS: [&str; 3] = ["variants.variant_id=article", "variants.sku=sku", "submission_lines.sku=sku"];

/// The suppliers: the source, its supplier, and whether it has dispatched anything.
const SUPPLIERS: [(&str, &str, bool); 3] =
    [("alder", "alder-print", true), ("brook", "brook-print", true), ("cairn", "cairn-print", false)];

/// Connects to both servers, and compares what is found with what is found in files.
///
/// # Errors
/// Where it is not the same; both are said. Where anything cannot be run.
pub fn run() -> anyhow::Result<()> {
    let fixture = root()?.join("fixtures/sale-day");
    let everyline = built()?;
    let scratch = tempfile::tempdir().context("no temporary folder could be made")?;
    of_json_server(&everyline, &fixture, &scratch.path().join("json-server"))?;
    of_datasette(&everyline, &fixture, &scratch.path().join("datasette"))
}

fn of_json_server(everyline: &Path, fixture: &Path, scratch: &Path) -> anyhow::Result<()> {
    let mut book = Book::read(fixture, Lines::Within)?;
    let shop = Shop::new("json-server", everyline, fixture, scratch)?;
    let records = scratch.join("db.json");
    fs::write(&records, book.records()?.to_string())?;
    let server = Server::start(&records)?;
    let at = |path: &str| format!("{}{path}", server.address());
    shop.propose("till", None, &[at("purchases"), at("catalogue")])?;
    for (source, supplier, has_parcels) in SUPPLIERS {
        let mut urls = vec![at(&format!("jobs?press={supplier}")), at(&format!("articles?press={supplier}"))];
        if has_parcels {
            urls.push(at(&format!("parcels?press={supplier}")));
        }
        shop.propose(source, Some(supplier), &urls)?;
    }
    shop.says("changes = { ask = \"updated_at_gte\", form = \"rfc3339\"")?;
    server.asked();
    let before = shop.read_and_compared(&book)?;
    let (order, status, moment) = CHANGED;
    let number = book.change(order, status, moment)?;
    server.tell(&Told {
        method: "PATCH",
        path: format!("/purchases/{number}"),
        body: json!({ "status": status, "updated_at": moment }),
    })?;
    server.asked();
    let after = shop.read_and_compared(&book)?;
    let asked = server.asked();
    ensure!(
        asked.iter().any(|line| line.contains("/purchases?updated_at_gte=")),
        "orders were asked for from the beginning again: {asked:?}"
    );
    shop.told(&before, &after)
}

fn of_datasette(everyline: &Path, fixture: &Path, scratch: &Path) -> anyhow::Result<()> {
    let mut book = Book::read(fixture, Lines::Apart)?;
    let shop = Shop::new("datasette", everyline, fixture, scratch)?;
    let server = Datasette::start(&scratch.join("shop.db"), &book.records()?)?;
    // Records as objects are what a person asks it for; and pages of so many that there are several.
    let at = |path: &str, of: &str| format!("{}{path}.json?_shape=objects&_size=250{of}", server.address);
    shop.propose("till", None, &["purchases", "purchase_lines"].map(|path| at(path, "")))?;
    for (source, supplier, has_parcels) in SUPPLIERS {
        let mut paths = vec!["jobs", "job_lines", "articles"];
        if has_parcels {
            paths.extend(["parcels", "parcel_lines"]);
        }
        let of = format!("&press={supplier}");
        let urls: Vec<String> = paths.into_iter().map(|path| at(path, &of)).collect();
        shop.propose(source, Some(supplier), &urls)?;
    }
    shop.says("pages = { by = \"link\" }")?;
    shop.says("changes = { ask = \"updated_at__gte\", form = \"rfc3339\"")?;
    shop.says("count = \"$.filtered_table_rows_count\"")?;
    let before = shop.read_and_compared(&book)?;
    let (order, status, moment) = CHANGED;
    book.change(order, status, moment)?;
    server.tell(&json!({
        "table": "purchases",
        "where": { "order_no": order },
        "become": { "status": status, "updated_at": moment },
    }))?;
    let after = shop.read_and_compared(&book)?;
    shop.told(&before, &after)
}

/// Findings with references as the proposed mappings have them: they cut off what a supplier puts around the numbers of
/// orders, and files have it still.
fn cut(mut findings: Vec<Value>) -> Vec<Value> {
    let references =
        findings.iter_mut().filter_map(|finding| finding["evidence"].get_mut("order_refs")?.as_array_mut());
    for reference in references.flatten() {
        let text = reference.as_str().unwrap_or_default();
        let text = text.strip_prefix("BP/").unwrap_or(text);
        *reference = Value::from(text.strip_suffix("@kittiwake").unwrap_or(text));
    }
    findings
}

/// The built program, and a configuration to which sources are added.
struct Shop {
    name: &'static str,
    everyline: PathBuf,
    scratch: PathBuf,
    configuration: PathBuf,
}

impl Shop {
    fn new(name: &'static str, everyline: &Path, fixture: &Path, scratch: &Path) -> anyhow::Result<Self> {
        fs::create_dir(scratch)?;
        let configuration = scratch.join("everyline.toml");
        fs::copy(fixture.join("everyline.toml"), &configuration)?;
        let (everyline, scratch) = (everyline.to_owned(), scratch.to_owned());
        Ok(Self { name, everyline, scratch, configuration })
    }

    fn run(&self, arguments: &[&str]) -> anyhow::Result<Ended> {
        finished(Command::new(&self.everyline).args(arguments).current_dir(&self.scratch), A_RUN)
    }

    /// Runs a command with the configuration.
    fn asked(&self, arguments: &[&str]) -> anyhow::Result<Ended> {
        let configuration = self.configuration.display().to_string();
        self.run(&[arguments, &["--config", &configuration]].concat())
    }

    /// Adds the source of addresses to the configuration, which must hold together with it.
    fn propose(&self, source: &str, supplier: Option<&str>, urls: &[String]) -> anyhow::Result<()> {
        let configuration = self.configuration.display().to_string();
        let mut arguments = vec!["source", "propose", "--name", source, "--add", "--out", &configuration];
        match supplier {
            Some(supplier) => {
                arguments.extend(["--role", "supplier", "--supplier", supplier]);
                arguments.extend(ANSWERS.iter().flat_map(|answer| ["--answer", answer]));
            }
            None => arguments.extend(["--role", "storefront"]),
        }
        arguments.extend(urls.iter().flat_map(|url| ["--url", url]));
        self.run(&arguments)?.expect(0)?;
        self.asked(&["config", "check"])?.expect(0)?;
        self.asked(&["source", "check", source])?.expect(0)?;
        self.asked(&["source", "preview", source])?.expect(0)?;
        Ok(())
    }

    /// Whether the configuration says something.
    fn says(&self, text: &str) -> anyhow::Result<()> {
        let configuration = fs::read_to_string(&self.configuration)?;
        ensure!(configuration.contains(text), "of {} was not found: {text}\n{configuration}", self.name);
        Ok(())
    }

    /// Reads the server once, and compares what is found with what is found in files of the same rows.
    fn read_and_compared(&self, book: &Book) -> anyhow::Result<Vec<Value>> {
        self.asked(&["watch", "--once"])?.expect(1)?;
        let files = tempfile::tempdir_in(&self.scratch)?;
        book.write(files.path())?;
        let as_of = simshop::sale_day().as_of.to_rfc3339();
        let audit = ["audit", "--since", SINCE, "--as-of", &as_of, "--format", "jsonl"];
        let folder = files.path().display().to_string();
        let of_files = self.asked(&[&audit[..], &["--from", &folder]].concat())?.expect(1)?;
        let of_server = self.asked(&audit)?.expect(1)?;
        let (of_files, of_server) = (cut(found(&of_files.stdout)?), cut(found(&of_server.stdout)?));
        let only = |these: &[Value], those: &[Value]| {
            let lines = these.iter().filter(|finding| !those.contains(finding)).take(SHOWN);
            lines.map(|finding| format!("\n  {finding}")).collect::<String>()
        };
        let (of_files_only, of_server_only) = (only(&of_files, &of_server), only(&of_server, &of_files));
        ensure!(
            of_files_only.is_empty() && of_server_only.is_empty() && of_files.len() == of_server.len(),
            "what is found of {} is not what is found of the files\nof the files alone:{of_files_only}\nof the server \
             alone:{of_server_only}",
            self.name
        );
        Ok(of_files)
    }

    fn told(&self, before: &[Value], after: &[Value]) -> anyhow::Result<()> {
        ensure!(before != after, "the change has changed nothing, so that nothing was checked by it");
        tell(&format!(
            "{}: read from its addresses alone; {} findings, as in files, and {} after a change",
            self.name,
            before.len(),
            after.len()
        ));
        Ok(())
    }
}
