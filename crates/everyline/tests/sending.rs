//! What is told to whom, from exported tables to a receiver on this machine: once, under one identifier, whatever is killed
//! on the way; grouped; and never an all-clear where a source is behind.
//!
//! Start reading at [`Shop`].

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::future::poll_fn;
use std::path::Path;
use std::pin::pin;
use std::sync::Arc;
use std::task::Poll;

use chrono::{DateTime, TimeDelta, Utc};
use everyline::configuration::Configuration;
use everyline::live::rounds::Watch;
use everyline::live::world::Told as Clock;
use everyline::sending::{Sender, Told};
use intake::source::http::World;
use ledger::{Ledger, Which};
use serde_json::Value;
use tempfile::TempDir;
use wiremock::matchers::method;
use wiremock::{Mock, MockServer, ResponseTemplate};

/// A signing secret that is none: the text `everyline tests` in base64, four times.
const SECRET: &str = "whsec_ZXZlcnlsaW5lIHRlc3RzZXZlcnlsaW5lIHRlc3Rz";

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// A shop whose tables lie in a folder, with a clock that is told and recipients on this machine.
struct Shop {
    folder: TempDir,
    clock: Arc<Clock>,
    receiver: MockServer,
}

impl Shop {
    async fn new(now: &str, recipients: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let receiver = MockServer::start().await;
        std::fs::write(folder.path().join("secret"), SECRET).unwrap();
        std::fs::write(folder.path().join("address"), format!("{}/hook", receiver.uri())).unwrap();
        std::fs::create_dir(folder.path().join("tables")).unwrap();
        let text = format!(
            "zone = \"Europe/Oslo\"\n[sources.files]\nrole = \"storefront\"\nfolder = \"tables\"\n\
             stale_after = \"30 days\"\n[suppliers.alder-print]\ncut_off = {{ after_receipt = \"6 h\" }}\n{recipients}"
        );
        std::fs::write(folder.path().join("everyline.toml"), text).unwrap();
        Self { folder, clock: Arc::new(Clock::new(utc(now))), receiver }
    }

    fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    /// Orders placed at a moment, each with a linked line that was sent at once and one without a link.
    fn part_sent(&self, orders: usize, placed: &str) {
        let mut tables: BTreeMap<&str, String> = [
            ("orders", "order_id,placed_at,status\n"),
            ("order_lines", "order_id,line_id,listing_id,sku,title,quantity\n"),
            ("variants", "supplier,variant_id,sku,product\nalder-print,AP-1,KIT-1,Apron\n"),
            ("submissions", "supplier,submission_id,order_ref,status,received_at\n"),
            ("submission_lines", "supplier,submission_id,line_id,variant_id,quantity\n"),
        ]
        .map(|(name, text)| (name, text.to_owned()))
        .into();
        for number in 0..orders {
            let order = format!("KK-{number}");
            let _ = writeln!(tables.get_mut("orders").unwrap(), "{order},{placed},open");
            let lines = tables.get_mut("order_lines").unwrap();
            let _ = writeln!(lines, "{order},1,L-1,KIT-1,Kittiwake apron,1");
            let _ = writeln!(lines, "{order},2,L-{number},NEW-{number},Puffin tote bag {number},1");
            let submissions = tables.get_mut("submissions").unwrap();
            let _ = writeln!(submissions, "alder-print,S-{number},{order},received,{placed}");
            let sent = tables.get_mut("submission_lines").unwrap();
            let _ = writeln!(sent, "alder-print,S-{number},1,AP-1,1");
        }
        for (name, text) in tables {
            std::fs::write(self.path("tables").join(format!("{name}.csv")), text).unwrap();
        }
    }

    async fn open(&self) -> (Configuration, Ledger) {
        let configuration = Configuration::read(&self.path("everyline.toml")).unwrap();
        let ledger = Ledger::open(&configuration.ledger).await.unwrap();
        (configuration, ledger)
    }

    /// One round of asking and judging.
    async fn round(&self) {
        let (configuration, ledger) = self.open().await;
        let (_stop, stopped) = tokio::sync::watch::channel(false);
        let world: Arc<dyn World> = self.clock.clone();
        let mut watch = Watch::new(&configuration, ledger.clone(), world, stopped).await.unwrap();
        watch.round(&mut |_| {}).await;
        ledger.close().await;
    }

    /// Does all that is due; answers what was told of it.
    async fn drain(&self) -> Vec<String> {
        let (configuration, ledger) = self.open().await;
        let sender = Sender::new(ledger.clone(), Arc::new(configuration), self.clock.clone());
        let mut told = Vec::new();
        while sender.step(&mut |what| told.push(format!("{what:?}"))).await.unwrap() {}
        ledger.close().await;
        told
    }

    async fn at(&self, now: &str) -> Vec<String> {
        self.clock.set(utc(now));
        self.round().await;
        self.drain().await
    }

    async fn answers(&self, status: u16) {
        self.receiver.reset().await;
        Mock::given(method("POST")).respond_with(ResponseTemplate::new(status)).mount(&self.receiver).await;
    }

    /// What was received: its identifier and its body.
    async fn received(&self) -> Vec<(String, Value)> {
        let requests = self.receiver.received_requests().await.unwrap();
        requests
            .iter()
            .map(|request| {
                let id = request.headers.get("webhook-id").unwrap().to_str().unwrap().to_owned();
                (id, serde_json::from_slice(&request.body).unwrap())
            })
            .collect()
    }

    async fn subjects(&self) -> Vec<String> {
        let received = self.received().await;
        received.iter().map(|(_, body)| body["subject"].as_str().unwrap_or_default().to_owned()).collect()
    }
}

const OWNER: &str = "[recipients.owner]\nwebhook = { file = \"address\" }\nsecrets = [{ file = \"secret\" }]\nat = \"07:00\"\n";

fn owner(more: &str) -> String {
    format!("{OWNER}{more}\n")
}

/// 07:00 in Oslo is 06:00 UTC in winter.
#[tokio::test]
async fn a_morning_brings_one_digest_and_the_rest_of_the_day_none() {
    let shop = Shop::new("2026-11-25T05:00:00Z", &owner("alerts = false")).await;
    shop.answers(200).await;
    shop.part_sent(2, "2026-11-25T04:30:00Z");
    for now in
        ["2026-11-25T05:59:00Z", "2026-11-25T06:00:00Z", "2026-11-25T06:01:00Z", "2026-11-25T11:00:00Z"]
    {
        shop.at(now).await;
    }
    let received = shop.received().await;
    assert_eq!(received.len(), 1, "{:?}", shop.subjects().await);
    let (id, body) = &received[0];
    assert!(id.starts_with("digest-2026-11-25-owner-"), "{id}");
    assert_eq!(body["type"], "everyline.digest");
    shop.at("2026-11-26T06:00:00Z").await;
    assert_eq!(shop.received().await.len(), 2);
}

#[tokio::test]
async fn a_digest_that_no_day_was_young_enough_for_is_taken_in_by_the_next() {
    let shop = Shop::new("2026-11-25T06:00:00Z", &owner("alerts = false")).await;
    shop.answers(200).await;
    shop.part_sent(1, "2026-11-25T04:30:00Z");
    shop.at("2026-11-25T06:00:00Z").await;
    // It was stopped on the 26th until three in the afternoon.
    shop.at("2026-11-26T14:00:00Z").await;
    assert_eq!(shop.received().await.len(), 1);
    shop.at("2026-11-27T06:00:00Z").await;
    let received = shop.received().await;
    assert_eq!(received.len(), 2);
    assert_eq!(received[1].1["data"]["taken_in"], serde_json::json!(["2026-11-26"]));
}

#[tokio::test]
async fn what_was_put_right_since_the_last_digest_is_named() {
    let shop = Shop::new("2026-11-25T06:00:00Z", &owner("alerts = false")).await;
    shop.answers(200).await;
    shop.part_sent(2, "2026-11-25T04:30:00Z");
    shop.at("2026-11-25T06:00:00Z").await;
    let orders = shop.path("tables/orders.csv");
    let text = std::fs::read_to_string(&orders).unwrap();
    std::fs::write(
        orders,
        text.replace("KK-1,2026-11-25T04:30:00Z,open", "KK-1,2026-11-25T04:30:00Z,cancelled"),
    )
    .unwrap();
    shop.at("2026-11-25T12:00:00Z").await;
    shop.at("2026-11-26T06:00:00Z").await;
    let received = shop.received().await;
    let settled = &received[1].1["data"]["shops"][0]["settled"];
    assert_eq!(settled.as_array().unwrap().len(), 1, "{settled}");
    assert_eq!((&settled[0]["check"], &settled[0]["order_id"]), (&"part-sent".into(), &"KK-1".into()));
    assert_eq!(received[0].1["data"]["shops"][0]["settled"], serde_json::json!([]));
}

#[tokio::test]
async fn a_burst_of_400_findings_is_one_alert_and_is_not_told_again() {
    let shop = Shop::new("2026-11-25T10:00:00Z", &owner("digest = false")).await;
    shop.answers(200).await;
    shop.part_sent(400, "2026-11-25T10:00:00Z");
    for minute in 1..9 {
        shop.at(&format!("2026-11-25T10:0{minute}:00Z")).await;
    }
    let subjects = shop.subjects().await;
    assert_eq!(subjects.len(), 1, "{subjects:?}");
    assert_eq!(subjects[0], "400 orders go out incomplete, act by 17:00 today");
    // Twelve more are another burst.
    shop.part_sent(412, "2026-11-25T10:00:00Z");
    shop.at("2026-11-25T10:10:00Z").await;
    shop.at("2026-11-25T10:12:00Z").await;
    let subjects = shop.subjects().await;
    assert_eq!(subjects.len(), 2);
    assert!(subjects[1].starts_with("12 orders"), "{subjects:?}");
}

#[tokio::test]
async fn more_alerts_than_were_asked_for_wait_and_come_together() {
    let shop = Shop::new("2026-11-25T10:00:00Z", &owner("digest = false\nalerts_an_hour = \"1\"")).await;
    shop.answers(200).await;
    for (orders, minute) in [(1, "00"), (2, "10"), (3, "20")] {
        shop.part_sent(orders, "2026-11-25T09:50:00Z");
        shop.at(&format!("2026-11-25T10:{minute}:00Z")).await;
        let minute: u32 = minute.parse().unwrap();
        shop.at(&format!("2026-11-25T10:{:02}:00Z", minute + 2)).await;
    }
    assert_eq!(shop.received().await.len(), 1);
    shop.at("2026-11-25T11:05:00Z").await;
    let received = shop.received().await;
    assert_eq!(received.len(), 2);
    assert_eq!(
        received[1].1["data"]["data"]["findings"]
            .as_array()
            .or(received[1].1["data"]["findings"].as_array())
            .unwrap()
            .len(),
        2
    );
}

#[tokio::test]
async fn a_receiver_that_is_away_gets_the_same_message_later_and_one_that_refuses_none() {
    let shop = Shop::new("2026-11-25T06:00:00Z", &owner("alerts = false")).await;
    shop.part_sent(1, "2026-11-25T04:30:00Z");
    shop.answers(503).await;
    let told = shop.at("2026-11-25T06:00:00Z").await;
    assert!(told[0].contains("NotSent"), "{told:?}");
    let first = shop.received().await;
    shop.answers(200).await;
    shop.at("2026-11-25T06:00:30Z").await;
    assert!(shop.received().await.is_empty(), "it is not tried at once");
    shop.at("2026-11-25T06:01:30Z").await;
    let second = shop.received().await;
    assert_eq!((&first[0].0, &first[0].1), (&second[0].0, &second[0].1));

    shop.answers(410).await;
    shop.at("2026-11-26T06:00:00Z").await;
    shop.answers(200).await;
    shop.at("2026-11-26T11:00:00Z").await;
    assert!(shop.received().await.is_empty(), "what was refused for good is not tried again");
    // It is said in the next one.
    shop.at("2026-11-27T06:00:00Z").await;
    let undelivered = shop.received().await[0].1["data"]["undelivered"].clone();
    assert_eq!(undelivered[0]["what"], "the digest of Thu 26 Nov", "{undelivered}");
    assert_eq!(undelivered[0]["is_given_up"], true);
}

/// Ends whatever is done at each place at which it may be interrupted, one after the other, and begins again with what is on
/// the disk.
#[tokio::test]
async fn a_crash_at_any_step_neither_loses_a_digest_nor_gives_it_two_identifiers() {
    let mut crashes = 0;
    for kind in ["digest", "alert"] {
        for at_poll in 1.. {
            let more = if kind == "digest" { "alerts = false" } else { "digest = false" };
            let shop = Shop::new("2026-11-25T05:58:00Z", &owner(more)).await;
            shop.answers(200).await;
            shop.part_sent(1, "2026-11-25T05:30:00Z");
            shop.round().await;
            shop.clock.set(utc("2026-11-25T06:00:30Z"));
            shop.round().await;
            let was_ended = {
                let (configuration, ledger) = shop.open().await;
                let sender = Sender::new(ledger.clone(), Arc::new(configuration), shop.clock.clone());
                let mut tell = |_: Told| {};
                let mut work = pin!(async { while sender.step(&mut tell).await.unwrap() {} });
                let mut polls = 0;
                let was_ended = poll_fn(|context| {
                    polls += 1;
                    if polls > at_poll {
                        return Poll::Ready(true);
                    }
                    work.as_mut().poll(context).map(|()| false)
                });
                was_ended.await
            };
            // Whatever was under way is over; the ledger is opened anew, and a minute later all is done.
            shop.clock.set(utc("2026-11-25T06:02:00Z"));
            shop.drain().await;
            let received = shop.received().await;
            let mut ids: Vec<&String> = received.iter().map(|(id, _)| id).collect();
            ids.dedup();
            assert_eq!(ids.len(), 1, "{kind}, ended at {at_poll}: {ids:?}");
            let (_, ledger) = shop.open().await;
            let all = ledger.messages(Which::Since(utc("2026-11-25T00:00:00Z"))).await.unwrap();
            ledger.close().await;
            assert!(all.len() == 1 && all[0].sent_at.is_some(), "{kind}, ended at {at_poll}");
            if !was_ended {
                break;
            }
            crashes += 1;
        }
    }
    assert!(crashes > 10, "only {crashes} places were tried");
}

#[tokio::test]
async fn while_a_source_is_behind_a_digest_waits_a_while_and_then_says_that_not_all_is_known() {
    let shop = Shop::new("2026-11-25T05:00:00Z", &owner("alerts = false")).await;
    shop.answers(200).await;
    let file = shop.path("everyline.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let press = "[sources.press]\nrole = \"supplier\"\nsupplier = \"alder-print\"\nfolder = \"press\"\n";
    std::fs::write(&file, text.replace("[suppliers.", &format!("{press}[suppliers."))).unwrap();
    shop.part_sent(0, "2026-11-25T04:30:00Z");
    shop.at("2026-11-25T06:00:00Z").await;
    assert!(shop.received().await.is_empty());
    let (configuration, ledger) = shop.open().await;
    // One sender, as the daemon has it: the wait counts from when it began.
    let sender = Sender::new(ledger.clone(), Arc::new(configuration), shop.clock.clone());
    for minutes in [5, 14, 16] {
        shop.clock.set(utc("2026-11-25T06:00:00Z") + TimeDelta::minutes(minutes));
        while sender.step(&mut |_| {}).await.unwrap() {}
        assert_eq!(shop.received().await.is_empty(), minutes < 15, "{minutes}");
    }
    ledger.close().await;
    let subjects = shop.subjects().await;
    assert!(subjects[0].starts_with("Not known yet"), "{subjects:?}");
}

#[tokio::test]
async fn a_source_that_answers_otherwise_keeps_the_all_clear_from_somebody_who_did_not_ask_for_sources() {
    let shop = Shop::new("2026-11-25T05:00:00Z", &owner("alerts = false\nchecks = [\"part-sent\"]")).await;
    shop.answers(200).await;
    shop.part_sent(0, "2026-11-25T04:30:00Z");
    shop.round().await;
    std::fs::write(shop.path("tables/orders.csv"), "number,when\nKK-1,soon\n").unwrap();
    for now in ["2026-11-25T05:55:00Z", "2026-11-25T06:00:00Z", "2026-11-25T06:20:00Z"] {
        shop.at(now).await;
    }
    let (_, body) = &shop.received().await[0];
    assert_eq!(body["data"]["is_known"], false, "{body}");
    assert_eq!(body["data"]["shops"][0]["findings"], serde_json::json!([]));
    assert!(body["subject"].as_str().unwrap().starts_with("Not known yet"), "{body}");
}

#[tokio::test]
async fn the_heartbeat_follows_a_whole_good_round_only() {
    let heartbeat = "[digest]\nheartbeat = { file = \"address\" }\n";
    let shop = Shop::new("2026-11-25T05:00:00Z", heartbeat).await;
    Mock::given(method("GET")).respond_with(ResponseTemplate::new(200)).mount(&shop.receiver).await;
    shop.part_sent(1, "2026-11-25T04:30:00Z");
    let (configuration, ledger) = shop.open().await;
    let sender = Sender::new(ledger.clone(), Arc::new(configuration), shop.clock.clone());
    let beats = async || {
        while sender.step(&mut |_| {}).await.unwrap() {}
        shop.receiver.received_requests().await.unwrap().len()
    };
    assert_eq!(beats().await, 0, "before the first round");
    shop.round().await;
    assert_eq!(beats().await, 1);
    assert_eq!(beats().await, 1, "once a round");
    shop.clock.set(utc("2026-11-25T05:02:00Z"));
    assert_eq!(beats().await, 1, "no round since");
    shop.round().await;
    assert_eq!(beats().await, 2);
    ledger.close().await;
}

/// The program itself: killed while it sends, again and again.
#[cfg(unix)]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_program_killed_at_any_moment_of_a_morning_sends_one_identifier() {
    use std::io::Write;
    use std::process::{Command, Stdio};

    let shop = Shop::new("2026-11-25T05:00:00Z", &owner("alerts = false")).await;
    shop.answers(200).await;
    shop.part_sent(3, "2026-11-25T04:30:00Z");
    let start = |folder: &Path| {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("everyline"));
        command.args(["watch", "--told-time", "--quiet", "--config", "everyline.toml"]).current_dir(folder);
        command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
    };
    for wait in (0..16).map(|step| std::time::Duration::from_millis(step * 12)) {
        let mut child = start(shop.folder.path());
        let mut input = child.stdin.take().unwrap();
        let _ = writeln!(input, "2026-11-25T06:00:10Z");
        tokio::time::sleep(wait).await;
        child.kill().unwrap();
        child.wait().unwrap();
    }
    let mut child = start(shop.folder.path());
    let mut input = child.stdin.take().unwrap();
    let _ = writeln!(input, "2026-11-25T06:05:00Z\n");
    drop(input);
    assert!(child.wait().unwrap().success());
    let received = shop.received().await;
    let mut ids: Vec<&String> = received.iter().map(|(id, _)| id).collect();
    ids.dedup();
    assert_eq!(ids.len(), 1, "{ids:?}");
}
