//! `cargo xtask bench page`: how long the pages of the queue and of an order take with very many orders in the ledger, while
//! exports come in and are read.
//!
//! `everyline watch` as it is shipped serves fifty shops; `wrk` asks it, a fixed number of times a second. Must not know what
//! a page shows. Start reading at [`run`].

use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, ensure};
use serde_json::Value;
use simshop::{Form, random_orders};

use crate::bench::report::Column::{Number, Text};
use crate::bench::{Programs, folder, machine, report, say};
use crate::rest::finished;
use crate::signin::Ending;
use crate::{book, tell};

/// Shops of one installation: somebody who looks after fifty.
const SHOPS: usize = 50;

/// Over so many days the orders of each came: with 20,000 of them some 18 a day, and 900 of all shops.
const DAYS: u32 = 1_095;

/// Connections of wrk; a browser keeps six.
const CONNECTIONS: usize = 20;

/// Requests a second, over all connections.
const RATE: usize = 50;

/// How long each page is asked for.
const ASKED_FOR: Duration = Duration::from_secs(60);

/// How long the first reading of all exports may take, and the first round after a start.
const FILLED_WITHIN: Duration = Duration::from_secs(3_600);
const READY_WITHIN: Duration = Duration::from_secs(600);

/// How often an export of so many new orders comes in, of one shop after the other.
const EXPORT_EVERY: Duration = Duration::from_secs(2);
const MORE_ORDERS: usize = 50;

/// Orders that are asked for, of each shop.
const ORDERS_ASKED: usize = 200;

/// What wrk does.
const LUA: &str = include_str!("page.lua");

/// Measures both pages with so many orders in all, without and with exports coming in, and prints what happened.
///
/// # Errors
/// Where something cannot be built, written or started, or where a page does not answer.
pub fn run(orders: usize) -> anyhow::Result<()> {
    ensure!(
        Command::new("wrk").arg("-v").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok(),
        "wrk is not installed; install it with the system's package manager"
    );
    let programs = Programs::build()?;
    let place = folder()?.join(format!("page-{orders}"));
    let address = free_address()?;
    let ids = filled(&programs, &place, orders / SHOPS, address)?;
    let script = place.join("page.lua");
    fs::write(&script, LUA)?;
    let (queue, single) = (place.join("queue.txt"), place.join("orders.txt"));
    fs::write(&queue, "/queue\n")?;
    fs::write(&single, ids.join("\n"))?;

    let watch = command(&programs, &place, &["watch"]).spawn().context("everyline could not be started")?;
    let _watch = Ending(watch);
    ready(address)?;
    let mut rows = Vec::new();
    for is_read in [false, true] {
        for (name, addresses) in [("queue", &queue), ("order", &single)] {
            tell(&format!("{name}{}", if is_read { ", while exports are read" } else { "" }));
            let done = AtomicBool::new(false);
            let exports = AtomicU64::new(0);
            let answer = thread::scope(|scope| {
                if is_read {
                    scope.spawn(|| export(&place, &done, &exports));
                }
                let answer = wrk(&script, addresses, address);
                done.store(true, Ordering::Relaxed);
                answer
            })?;
            rows.push(row(name, is_read.then(|| exports.into_inner()), &answer));
        }
    }
    let head = [
        Text("page"),
        Text("meanwhile"),
        Number("requests a second"),
        Number("failed"),
        Number("p50 ms"),
        Number("p90 ms"),
        Number("p99 ms"),
        Number("longest ms"),
    ];
    say(&report::markdown(&head, rows));
    say(&format!(
        "{orders} orders of {SHOPS} shops in a ledger of {:.1} GB. {}. Load {} after.",
        report::megabytes(fs::metadata(place.join("ledger.sqlite"))?.len()) / 1e3,
        machine::describe(),
        machine::load()
    ));
    Ok(())
}

fn row(page: &str, exports: Option<u64>, answer: &Value) -> Vec<String> {
    let number = |name: &str| answer[name].as_f64().unwrap_or(f64::NAN);
    vec![
        page.to_owned(),
        exports.map_or("shops are judged".to_owned(), |exports| {
            format!("shops are judged, {exports} exports come in")
        }),
        format!("{:.1}", number("requests") / number("seconds")),
        format!("{}", number("failed")),
        format!("{:.1}", number("p50")),
        format!("{:.1}", number("p90")),
        format!("{:.1}", number("p99")),
        format!("{:.1}", number("most")),
    ]
}

/// A ledger with the books of all shops, and the paths of some of their orders' pages.
fn filled(
    programs: &Programs,
    place: &Path,
    orders: usize,
    address: SocketAddr,
) -> anyhow::Result<Vec<String>> {
    let mut configuration = format!("ledger = \"ledger.sqlite\"\n[page]\nlisten = \"{address}\"\n");
    let mut pages = Vec::new();
    let is_filled = place.join("filled").exists();
    for number in 1..=SHOPS {
        let shop = format!("shop-{number}");
        let exports = exports_of(place, &shop);
        if !is_filled {
            tell(&format!("writing {orders} orders of {shop}"));
            let sold = random_orders(number as u64, orders).over_days(DAYS);
            book::write_orders(&exports, sold, number as u64, Form::Csv)?;
            fs::rename(exports.join(book::CONFIGURATION), place.join(format!("{shop}.toml")))?;
        }
        let own = fs::read_to_string(place.join(format!("{shop}.toml")))?;
        configuration += &format!("[shops.{shop}]\n");
        for line in own.lines() {
            match line.strip_prefix('[').and_then(|line| line.strip_suffix(']')) {
                Some(table) => configuration += &format!("[shops.{shop}.{table}]\n"),
                None => configuration += &format!("{line}\n"),
            }
        }
        for (name, folder) in [("exports", &exports), ("recent", &recent_of(place, &shop))] {
            fs::create_dir_all(folder)?;
            configuration += &format!(
                "[shops.{shop}.sources.{name}]\nrole = \"storefront\"\nfolder = \"{}\"\n",
                folder.strip_prefix(place)?.display()
            );
        }
        let step = (orders / ORDERS_ASKED).max(1);
        pages.extend((1..=orders).step_by(step).map(|order| format!("/orders/KK-{order:07}?shop={shop}")));
    }
    fs::write(place.join("everyline.toml"), configuration)?;
    if !is_filled {
        tell("reading all exports into the ledger");
        let started = Instant::now();
        finished(&mut command(programs, place, &["watch", "--once", "--quiet"]), FILLED_WITHIN)?;
        tell(&format!("read in {:.0} s", started.elapsed().as_secs_f64()));
        fs::write(place.join("filled"), "")?;
    }
    Ok(pages)
}

fn exports_of(place: &Path, shop: &str) -> PathBuf {
    place.join("exports").join(shop)
}

/// Where exports of the last orders come in.
fn recent_of(place: &Path, shop: &str) -> PathBuf {
    place.join("recent").join(shop)
}

fn command(programs: &Programs, place: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(&programs.everyline);
    command.current_dir(place).args(words).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

fn free_address() -> anyhow::Result<SocketAddr> {
    Ok(TcpListener::bind("127.0.0.1:0")?.local_addr()?)
}

/// Waits until every shop was judged once.
fn ready(address: SocketAddr) -> anyhow::Result<()> {
    let started = Instant::now();
    loop {
        let judged = figures(address).map(|text| text.matches("everyline_judged_timestamp_seconds{").count());
        if judged.is_ok_and(|judged| judged == SHOPS) {
            return Ok(());
        }
        ensure!(started.elapsed() < READY_WITHIN, "the shops were not judged within {READY_WITHIN:?}");
        thread::sleep(Duration::from_millis(500));
    }
}

fn figures(address: SocketAddr) -> anyhow::Result<String> {
    let mut stream = TcpStream::connect_timeout(&address, Duration::from_secs(5))?;
    stream.set_read_timeout(Some(Duration::from_secs(30)))?;
    write!(stream, "GET /metrics HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n")?;
    let mut text = String::new();
    stream.read_to_string(&mut text)?;
    Ok(text)
}

/// Asks, and answers what wrk wrote.
fn wrk(script: &Path, addresses: &Path, address: SocketAddr) -> anyhow::Result<Value> {
    let each = CONNECTIONS * 1000 / RATE;
    let output = Command::new("wrk")
        .args(["--threads", "1", "--timeout", "10s"])
        .args(["--connections", &CONNECTIONS.to_string()])
        .args(["--duration", &format!("{}s", ASKED_FOR.as_secs())])
        .arg("--script")
        .arg(script)
        .arg(format!("http://{address}/"))
        .env("EACH", each.to_string())
        .env("ADDRESSES", addresses)
        .output()
        .context("wrk could not be started")?;
    let text = String::from_utf8_lossy(&output.stdout);
    let line = text
        .lines()
        .find(|line| line.starts_with('{'))
        .with_context(|| format!("wrk said nothing: {}{text}", String::from_utf8_lossy(&output.stderr)))?;
    Ok(serde_json::from_str(line)?)
}

/// Lets exports with more orders come in, of one shop after the other, until it is done.
fn export(place: &Path, done: &AtomicBool, exports: &AtomicU64) {
    let mut round = 0;
    while !done.load(Ordering::Relaxed) {
        let shop = format!("shop-{}", round % SHOPS + 1);
        round += 1;
        let (from, to) = (exports_of(place, &shop), recent_of(place, &shop));
        if let Err(error) = add_orders(&from, &to, round) {
            tell(&format!("an export of {shop} could not be written: {error:#}"));
            return;
        }
        exports.fetch_add(1, Ordering::Relaxed);
        let until = Instant::now() + EXPORT_EVERY;
        while Instant::now() < until && !done.load(Ordering::Relaxed) {
            thread::sleep(Duration::from_millis(50));
        }
    }
}

/// An export of the last orders, under ids of their own.
fn add_orders(exports: &Path, recent: &Path, round: usize) -> anyhow::Result<()> {
    let id = |line: &str| line.split(',').next().unwrap_or_default().to_owned();
    let mut again: BTreeSet<String> = BTreeSet::new();
    for table in ["orders", "order_lines"] {
        let text = fs::read_to_string(exports.join(format!("{table}.csv")))?;
        let own: Vec<&str> = text.lines().filter(|line| line.starts_with("KK-")).collect();
        if again.is_empty() {
            again = own.iter().rev().take(MORE_ORDERS).map(|line| id(line)).collect();
        }
        let head = text.lines().next().unwrap_or_default();
        let more = own.iter().filter(|line| again.contains(&id(line)));
        let more: String = more.map(|line| line.replacen("KK-", &format!("N{round}-"), 1) + "\n").collect();
        let (file, beside) = (recent.join(format!("{table}.csv")), recent.join(format!("{table}.part")));
        fs::write(&beside, format!("{head}\n{more}"))?;
        fs::rename(&beside, &file)?;
    }
    Ok(())
}
