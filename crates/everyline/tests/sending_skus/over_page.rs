//! The same on the page that `everyline watch` serves: shown, confirmed, done behind the page, and put back; with the faults
//! of the till, and with the program stopped and ended by force.
//!
//! Start reading at [`Watching`] and the names of the tests.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Stdio};

use ledger::{SkuChange, SkuState};
use model::ShopId;
use serde_json::Value;
use simshop::live::Fault;
use tokio::task::{block_in_place, yield_now};

use crate::over_http::{Counter, OFFERS, changing, reading};

/// `everyline watch`, and a browser that looks at its page.
struct Watching {
    child: Child,
    address: String,
}

/// A plan, as a browser has it before it presses anything.
struct Shown {
    text: String,
    cookie: String,
    form: String,
}

const PAGE: &str = "\n[page]\nlisten = \"127.0.0.1:0\"\n";

impl Watching {
    fn start(counter: &Counter) -> Self {
        let mut command = counter.command(&["watch"]);
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        let mut log = BufReader::new(child.stderr.take().unwrap());
        let address = block_in_place(|| {
            let mut said = String::new();
            loop {
                let before = said.len();
                assert!(log.read_line(&mut said).unwrap() > 0, "it ended: {said}");
                if let Some((_, rest)) = said[before..].split_once("the page is at http://") {
                    break rest.split('/').next().unwrap().to_owned();
                }
            }
        });
        // So that it never waits for somebody who reads what it says.
        std::thread::spawn(move || std::io::copy(&mut log, &mut std::io::sink()));
        Self { child, address }
    }

    fn ask(&self, method: &str, path: &str, headers: &str, body: &str) -> (u16, String, String) {
        block_in_place(|| {
            let mut stream = TcpStream::connect(&self.address).unwrap();
            let (address, length) = (&self.address, body.len());
            write!(
                stream,
                "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Length: {length}\r\n{headers}\r\n{body}"
            )
            .unwrap();
            let mut answer = String::new();
            // Whoever is ended by force may end in the middle of an answer.
            let _ = stream.read_to_string(&mut answer);
            let (head, body) = answer.split_once("\r\n\r\n").unwrap_or_default();
            let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
            (status, head.to_owned(), body.to_owned())
        })
    }

    #[track_caller]
    fn get(&self, path: &str) -> String {
        let (status, _, body) = self.ask("GET", path, "", "");
        assert_eq!(status, 200, "{path}: {body}");
        body
    }

    #[track_caller]
    fn json(&self, path: &str) -> Value {
        serde_json::from_str(&self.get(path)).unwrap()
    }

    /// Looks at a plan: `back` is the run that is to be put back.
    #[track_caller]
    fn look(&self, back: Option<i64>) -> Shown {
        let path = back.map_or_else(|| "/send".to_owned(), |run| format!("/send?back={run}"));
        let (status, head, text) = self.ask("GET", &path, "", "");
        assert_eq!(status, 200, "{text}");
        let cookie = head.split("set-cookie: ").nth(1).unwrap_or_default();
        let cookie = cookie.split(';').next().unwrap().to_owned();
        let fields = text.split_once("action=\"/send\"").map_or("", |(_, form)| form);
        let fields = fields.split("</form>").next().unwrap().split("type=\"hidden\" name=\"").skip(1);
        let fields = fields.map(|field| {
            let (name, rest) = field.split_once("\" value=\"").unwrap();
            format!("{name}={}", rest.split('"').next().unwrap())
        });
        Shown { form: fields.collect::<Vec<_>>().join("&"), cookie, text }
    }

    /// Presses the button; answers where that leads.
    fn press(&self, shown: &Shown) -> String {
        assert!(!shown.form.is_empty(), "there is nothing to press: {}", shown.text);
        let kind = "Content-Type: application/x-www-form-urlencoded\r\nSec-Fetch-Site: same-origin\r\n";
        let headers = format!("{kind}Cookie: {}\r\n", shown.cookie);
        let (_, head, _) = self.ask("POST", "/send", &headers, &shown.form);
        let place = head.split("location: ").nth(1).unwrap_or_default();
        place.split("\r\n").next().unwrap().to_owned()
    }

    /// Waits until nothing is being sent.
    async fn over(&self) {
        while !self.json("/api/sent")["running"].is_null() {
            yield_now().await;
        }
    }

    /// Sends whatever there is to send, as it is shown, until there is nothing more to press.
    async fn send_all(&self) {
        for _ in 0..4 {
            let shown = self.look(None);
            if shown.form.is_empty() {
                return;
            }
            self.press(&shown);
            self.over().await;
        }
        panic!("there is always something to press: {}", self.look(None).text);
    }

    fn signal(&self, signal: &str) {
        let id = self.child.id().to_string();
        assert!(std::process::Command::new("kill").args([signal, &id]).status().unwrap().success());
    }

    fn end(mut self) {
        self.signal("-INT");
        assert!(block_in_place(|| self.child.wait().unwrap()).success());
    }

    fn kill(mut self) {
        self.child.kill().unwrap();
        block_in_place(|| self.child.wait().unwrap());
    }
}

impl Counter {
    /// Waits until the till was asked so often for single offers, or nothing is being sent any more.
    async fn asked_for(&self, watching: &Watching, requests: u64) {
        while self.asked() < requests && !watching.json("/api/sent")["running"].is_null() {
            yield_now().await;
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_is_written_before_it_is_confirmed_and_then_what_was_shown_once() {
    let counter = Counter::open_with(PAGE).await;
    let before = counter.stands();
    let watching = Watching::start(&counter);
    let shown = watching.look(None);
    for (old, new) in counter.wanted.values() {
        let old = old.as_ref().map_or("no SKU".to_owned(), ToString::to_string);
        for sku in [old, new.to_string()] {
            assert!(shown.text.contains(&sku), "{sku} is not shown: {}", shown.text);
        }
    }
    let json = watching.json("/api/send");
    assert_eq!((&json["offers"], &json["source"]), (&OFFERS.into(), &"till".into()));
    let waits = watching.json("/api/sources");
    assert_eq!(waits["shops"][0]["waits"]["in_doubt"], 0);
    assert_eq!((counter.asked(), counter.changes().await.len()), (0, 0), "looking asks for nothing");

    // The plan becomes another: somebody means one offer no longer.
    let table = counter.shop.read("wanted.csv");
    let (listing, _) = counter.wanted.keys().next().unwrap();
    let first = table.lines().nth(1).unwrap();
    let mut remove = vec!["links".to_owned(), "set".to_owned(), "--remove".to_owned()];
    remove.extend(["--listing".to_owned(), listing.to_string()]);
    for (name, value) in counter.wanted.keys().next().unwrap().1.iter() {
        remove.extend(["--option".to_owned(), format!("{name}={value}")]);
    }
    let remove: Vec<&str> = remove.iter().map(String::as_str).collect();
    counter.run(&remove).says(0, &[]);
    assert_eq!(watching.press(&shown), "/send?shop=shop&source=till&said=otherwise");
    assert_eq!((counter.asked(), counter.changes().await.len()), (0, 0), "a stale plan does nothing");
    counter.shop.write("again.csv", &format!("{}\n{first}\n", table.lines().next().unwrap()));
    counter.run(&["links", "import", "again.csv", "--yes", "--despite-contradiction"]).says(0, &[]);

    // Pressed twice at once, and a third time behind it.
    let shown = watching.look(None);
    std::thread::scope(|scope| {
        let places = [0, 1].map(|_| scope.spawn(|| watching.press(&shown)));
        for place in places {
            assert_eq!(block_in_place(|| place.join().unwrap()), "/sent/shop/1");
        }
    });
    watching.over().await;
    counter.assert_done("confirmed").await;
    assert_eq!(watching.press(&shown), "/sent/shop/1", "what was done is not done again");
    let run = watching.json("/api/sent/shop/1");
    assert_eq!((&run["of"]["tally"]["done"], &run["of"]["by"]), (&OFFERS.into(), &"the page".into()));
    assert_eq!(counter.world.sku_changes().len(), OFFERS);
    let page = watching.get(&format!("/listings/shop/{listing}"));
    assert!(page.contains("it has the SKU") || page.contains("is-linked"), "{page}");

    // Put back: shown with what the storefront has now, and done once it is confirmed.
    let asked = counter.asked();
    let back = watching.look(Some(1));
    assert!(back.text.contains(&format!("{OFFERS} of {OFFERS} offers")), "{}", back.text);
    assert_eq!(counter.asked() - asked, OFFERS as u64, "each is looked at once");
    assert_eq!(counter.world.sku_changes().len(), OFFERS);
    assert_eq!(watching.press(&back), "/sent/shop/2");
    watching.over().await;
    assert_eq!(counter.stands(), before);
    assert_eq!(watching.json("/api/sent/shop/2")["of"]["puts_back"], 1);
    assert_eq!(watching.json("/api/sent/shop/1")["of"]["put_back_by"], 2);
    assert!(counter.put_back_file(1).exists() && counter.put_back_file(2).exists());
    let again = watching.look(Some(1));
    assert!(again.text.contains("It would be left as it is: it has that SKU already."), "{}", again.text);
    // A form of before does nothing by now.
    assert_eq!(watching.press(&shown), "/send?shop=shop&source=till&said=otherwise");
    assert_eq!(counter.stands(), before);
    watching.end();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn whatever_the_till_answers_what_was_changed_is_known_and_the_page_goes_on_from_there() {
    for (target, fault) in [
        (changing(), Fault::Dropped),
        (changing(), Fault::LostAfter),
        (changing(), Fault::BrokenAfter),
        (changing(), Fault::OtherSku),
        (reading(), Fault::Dropped),
    ] {
        let counter = Counter::open_with(PAGE).await;
        let context = format!("{target:?} {fault:?}");
        let watching = Watching::start(&counter);
        counter.world.switch_on_for(target, 1, fault);
        assert_eq!(watching.press(&watching.look(None)), "/sent/shop/1", "{context}");
        watching.over().await;
        counter.assert_known(&context).await;
        counter.world.switch_all_off();
        watching.send_all().await;
        counter.assert_done(&context).await;
        watching.end();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_stays_in_doubt_is_told_and_looked_at_without_being_asked_for_again() {
    let counter = Counter::open_with(PAGE).await;
    let before = counter.stands();
    let watching = Watching::start(&counter);
    counter.world.switch_on(changing(), Fault::Dropped);
    watching.press(&watching.look(None));
    watching.over().await;
    let run = watching.json("/api/sent/shop/1");
    assert_eq!(run["of"]["tally"]["not_known"], OFFERS, "{run:#}");
    assert_eq!(watching.json("/api/sources")["shops"][0]["waits"]["in_doubt"], OFFERS);
    counter.world.switch_all_off();
    // The till cannot even be read: nothing is asked for, and it stays in doubt.
    counter.world.switch_on(reading(), Fault::Dropped);
    let shown = watching.look(None);
    assert!(shown.text.contains("of an earlier run it is not known what became of it"), "{}", shown.text);
    let changes = counter.world.requests(changing());
    assert_eq!(watching.press(&shown), "/sent?shop=shop");
    watching.over().await;
    assert_eq!((counter.world.requests(changing()), counter.stands()), (changes, before));
    let sent = watching.json("/api/sent");
    assert_eq!(sent["in_doubt"], OFFERS, "{sent:#}");
    let looked_at = sent["looked_at"].as_array().unwrap();
    assert!(looked_at.len() == OFFERS && looked_at.iter().all(|one| one["state"] == "not-known"), "{sent:#}");
    counter.world.switch_all_off();
    watching.send_all().await;
    counter.assert_done("in doubt").await;
    watching.end();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_offer_that_was_changed_meanwhile_is_left_and_said_so() {
    let counter = Counter::open_with(PAGE).await;
    let watching = Watching::start(&counter);
    watching.press(&watching.look(None));
    watching.over().await;
    // Somebody gives one of the offers a SKU of their own: by a file that says so.
    let text = counter.shop.read("everyline.db.skus-shop-1.jsonl");
    let mut lines = text.lines();
    let head = lines.next().unwrap().replacen("\"run\":1", "\"run\":77", 1);
    let mut theirs: Value = serde_json::from_str(lines.next().unwrap()).unwrap();
    theirs["old_sku"] = "THEIRS".into();
    counter
        .shop
        .write("theirs.jsonl", &format!("{}\n{theirs}\n", head.replacen("\"offers\":3", "\"offers\":1", 1)));
    counter.send(&["--put-back", "theirs.jsonl", "--yes"]).says(0, &["till: 1 done."]);
    let said = "It was changed meanwhile: it has the SKU THEIRS now. It would be left as it is.";
    let file = counter.put_back_file(1).display().to_string();
    counter.send(&["--put-back", &file]).says(1, &["2 offers to send, 1 not sent", said]);
    let shown = watching.look(Some(1));
    assert!(
        shown.text.contains("It would be left as it is: it was changed meanwhile: it has the SKU"),
        "{}",
        shown.text
    );
    let place = watching.press(&shown);
    watching.over().await;
    let run = watching.json(&format!("/api{place}"));
    assert_eq!(
        (&run["of"]["tally"]["done"], &run["of"]["tally"]["not_done"]),
        (&2.into(), &1.into()),
        "{run:#}"
    );
    assert!(counter.stands().values().any(|sku| sku.as_ref().is_some_and(|sku| sku.as_str() == "THEIRS")));
    watching.end();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_program_that_is_stopped_ends_between_two_offers_and_goes_on_when_it_is_there_again() {
    let counter = Counter::open_with(PAGE).await;
    let watching = Watching::start(&counter);
    watching.press(&watching.look(None));
    counter.asked_for(&watching, 2).await;
    watching.end();
    counter.assert_known("stopped").await;
    let states: Vec<SkuState> = counter.changes().await.iter().map(SkuChange::state).collect();
    assert!(states.iter().all(|state| !state.is_in_doubt()), "{states:?}");
    let watching = Watching::start(&counter);
    if states.contains(&SkuState::Planned) {
        assert_eq!(watching.json("/api/sent/shop/1")["left_because"], "It ended before its end.");
    }
    watching.send_all().await;
    counter.assert_done("stopped").await;
    watching.end();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_program_that_is_killed_in_the_middle_knows_what_it_changed_and_puts_all_of_it_back() {
    for requests in [1, 2, 3, 5, 8] {
        let counter = Counter::open_with(PAGE).await;
        let before = counter.stands();
        let context = format!("killed at request {requests}");
        let watching = Watching::start(&counter);
        watching.press(&watching.look(None));
        counter.asked_for(&watching, requests).await;
        watching.kill();
        counter.assert_known(&context).await;
        let watching = Watching::start(&counter);
        watching.send_all().await;
        counter.assert_done(&context).await;
        for run in (1..=counter.ledger().await.sku_runs(&ShopId::from("shop")).await.unwrap().len()).rev() {
            let shown = watching.look(Some(i64::try_from(run).unwrap()));
            if !shown.form.is_empty() {
                watching.press(&shown);
                watching.over().await;
            }
        }
        assert_eq!(counter.stands(), before, "{context}");
        watching.end();
    }
}
