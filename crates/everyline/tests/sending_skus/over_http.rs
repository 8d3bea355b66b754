//! A storefront whose SKUs are changed, over real HTTP: simshop's till, with its faults; the real program, ended by force too.
//!
//! Start reading at [`Counter`] and the names of the tests.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::{Child, Stdio};

use everyline::live::world::Machine;
use intake::source::http::World as _;
use ledger::{Ledger, SkuChange, SkuState};
use model::book::Offer;
use model::{ListingId, Options, ShopId, Sku};
use simshop::live::{Fault, Plan, RetryAfter, Serving, Source, Target, World};
use tokio::task::{block_in_place, yield_now};

use crate::shop::{Run, Shop};

/// How many offers are linked anew.
pub const OFFERS: usize = 3;

/// How many requests an undisturbed change of one offer takes: it is read, changed, and read again.
const REQUESTS_OF_ONE: u64 = 3;

pub type Key = (ListingId, Options);

/// A storefront with its servers, and the program beside it.
pub struct Counter {
    pub shop: Shop,
    pub world: World,
    _serving: Serving,
    /// The offers that are linked anew: the SKU that each bears, and the one that it is to bear.
    pub wanted: BTreeMap<Key, (Option<Sku>, Sku)>,
}

pub fn changing() -> Target {
    Source::Till.endpoint("sku")
}

pub fn reading() -> Target {
    Source::Till.endpoint("offer")
}

impl Counter {
    async fn open() -> Self {
        Self::open_with("").await
    }

    /// With more in its configuration.
    pub async fn open_with(more: &str) -> Self {
        let world = World::new(1, Plan::new());
        world.advance_to(Machine.now());
        let serving = world.serve().await.unwrap();
        let shop = Shop::of(&format!("{}{more}", world.configuration(&serving)));
        let mut counter = Self { shop, world, _serving: serving, wanted: BTreeMap::new() };
        counter.round();
        counter.link();
        counter
    }

    /// Means some offers to lead to variants that no offer leads to.
    fn link(&mut self) {
        let book = self.world.truth().book;
        let bears = |sku: &Sku| book.offers.iter().flatten().any(|offer| offer.sku.as_ref() == Some(sku));
        let free = book.variants.iter().flatten().filter_map(|variant| {
            let sku = variant.sku.clone().or_else(|| Sku::new(variant.variant_id.as_str()))?;
            let of_this = |other: &&model::book::Variant| {
                other.sku.clone().or_else(|| Sku::new(other.variant_id.as_str())).as_ref() == Some(&sku)
            };
            let is_alone = book.variants.iter().flatten().filter(of_this).count() == 1;
            (variant.available && is_alone && !bears(&sku)).then_some((variant, sku))
        });
        let offers = book.offers.iter().flatten().filter(|offer| offer.buyable);
        let mut table = "listing_id,options,supplier,variant_id\n".to_owned();
        for (offer, (variant, sku)) in offers.zip(free).take(OFFERS) {
            let options = serde_json::to_string(&offer.options).unwrap().replace('"', "\"\"");
            table +=
                &format!("{},\"{options}\",{},{}\n", offer.listing_id, variant.supplier, variant.variant_id);
            self.wanted.insert((offer.listing_id.clone(), offer.options.clone()), (offer.sku.clone(), sku));
        }
        assert_eq!(self.wanted.len(), OFFERS);
        self.shop.write("wanted.csv", &table);
        self.run(&["links", "import", "wanted.csv", "--yes", "--despite-contradiction"]).says(0, &[]);
    }

    pub fn run(&self, arguments: &[&str]) -> Run {
        block_in_place(|| {
            let output = self.command(arguments).output().unwrap();
            let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
            Run { out: text(&output.stdout), err: text(&output.stderr), code: output.status.code().unwrap() }
        })
    }

    pub fn command(&self, arguments: &[&str]) -> std::process::Command {
        let mut command = self.shop.command(arguments);
        command.envs(self.world.secrets());
        command
    }

    pub fn send(&self, arguments: &[&str]) -> Run {
        self.run(&[&["links", "send", "--by", "kim"], arguments].concat())
    }

    #[track_caller]
    fn round(&self) {
        self.world.advance_to(Machine.now());
        let run = self.run(&["watch", "--once"]);
        assert!(run.code < 2, "{run:?}");
    }

    pub fn stands(&self) -> BTreeMap<Key, Option<Sku>> {
        let offers = self.world.truth().book.offers.unwrap().into_iter();
        offers.map(|Offer { listing_id, options, sku, .. }| ((listing_id, options), sku)).collect()
    }

    pub async fn ledger(&self) -> Ledger {
        Ledger::open(&self.shop.path().join("everyline.db")).await.unwrap()
    }

    pub async fn changes(&self) -> Vec<SkuChange> {
        let ledger = self.ledger().await;
        let changes = ledger.sku_changes(&ShopId::from("shop"), None).await.unwrap();
        ledger.close().await;
        changes
    }

    /// Looks whether the journal knows what stands at the storefront, or that it is not known; and whether no SKU is one
    /// that was neither there nor planned.
    pub async fn assert_known(&self, context: &str) {
        let stands = self.stands();
        let mut last: BTreeMap<Key, SkuChange> = BTreeMap::new();
        for change in self.changes().await {
            if change.state() != SkuState::Planned {
                last.insert((change.planned.listing_id.clone(), change.planned.options.clone()), change);
            }
        }
        for (key, (old, new)) in &self.wanted {
            let truth = &stands[key];
            assert!(truth == old || truth.as_ref() == Some(new), "{context}: {key:?} is {truth:?}");
            match last.get(key).map(SkuChange::state) {
                None => assert_eq!(truth, old, "{context}: {key:?}"),
                Some(SkuState::Confirmed) => assert_eq!(truth.as_ref(), Some(new), "{context}: {key:?}"),
                Some(SkuState::Refused) => assert_eq!(truth, old, "{context}: {key:?}"),
                Some(SkuState::Asked | SkuState::NotKnown | SkuState::Planned) => {}
                Some(SkuState::Elsewhere) => panic!("{context}: {key:?} is said to be elsewhere"),
            }
        }
        // The storefront was never told to set what stood there, and other offers were never touched.
        for change in self.world.sku_changes() {
            assert_ne!(change.from, change.to, "{context}");
            assert!(self.wanted.contains_key(&(change.listing_id, change.options)), "{context}");
        }
    }

    /// Looks whether all of it was done, each offer once.
    pub async fn assert_done(&self, context: &str) {
        self.assert_known(context).await;
        for (key, (_, new)) in &self.wanted {
            assert_eq!(self.stands()[key].as_ref(), Some(new), "{context}: {key:?}");
        }
        assert_eq!(self.world.sku_changes().len(), OFFERS, "{context}");
        assert!(self.changes().await.iter().all(|change| !change.state().is_in_doubt()), "{context}");
    }

    pub fn put_back_file(&self, run: i64) -> PathBuf {
        self.shop.path().join(format!("everyline.db.skus-shop-{run}.jsonl"))
    }

    /// Starts sending, and answers once the till was asked for so many offers, by reading or changing; or it ended.
    async fn begin_sending(&self, requests: u64) -> Child {
        let before = self.asked();
        let mut command = self.command(&["links", "send", "--by", "kim", "--yes"]);
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        while self.asked() < before + requests && child.try_wait().unwrap().is_none() {
            yield_now().await;
        }
        child
    }

    pub fn asked(&self) -> u64 {
        self.world.requests(changing()) + self.world.requests(reading())
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_dry_run_writes_nothing_anywhere() {
    let counter = Counter::open().await;
    let (requests, stands) = (counter.world.requests(Source::Till), counter.stands());
    counter
        .send(&[])
        .says(1, &["3 offers to send", "Nothing was changed. To do it: everyline links send --yes"]);
    let lines = counter.send(&["--format", "jsonl"]).says(1, &[]).json_lines();
    assert_eq!(lines.iter().filter(|line| line["status"] == "to-send").count(), OFFERS);
    let first = counter.wanted.keys().next().unwrap().0.to_string();
    let said = format!("To do it: everyline links send --listing {first} --yes");
    counter.send(&["--listing", &first]).says(1, &[&said]);
    assert_eq!((counter.world.requests(Source::Till), counter.stands()), (requests, stands));
    assert_eq!(counter.changes().await, []);
    assert!(!counter.put_back_file(1).exists());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_intended_is_brought_into_force_and_put_back() {
    let counter = Counter::open().await;
    let before = counter.stands();
    let run = counter
        .send(&["--yes", "--why", "sale"])
        .says(0, &["till: 3 done.", "To put it back: everyline links send"]);
    assert!(run.out.contains("  done"), "{}", run.out);
    counter.assert_done("sent").await;
    assert_eq!(counter.asked(), OFFERS as u64 * REQUESTS_OF_ONE);
    let again = counter.send(&["--yes"]).says(0, &["0 offers to send", "3 linked already"]);
    assert!(again.out.contains("changed since the storefront was read"), "{}", again.out);
    counter.round();
    let read = counter.send(&["--yes"]).says(0, &["3 linked already"]);
    assert!(!read.out.contains("changed since the storefront was read"), "{}", read.out);
    assert_eq!(counter.world.sku_changes().len(), OFFERS);
    let checked = counter.run(&["links", "check", "--format", "jsonl"]).json_lines();
    for key in counter.wanted.keys() {
        let named = checked.iter().filter(|finding| finding["check"] == "offer-unlinked").any(|finding| {
            finding["evidence"]["offers"].as_array().unwrap().iter().any(|offer| {
                finding["evidence"]["listing_id"] == key.0.as_str()
                    && offer["options"] == serde_json::to_value(&key.1).unwrap()
            })
        });
        assert!(!named, "{key:?}");
    }

    let file = counter.put_back_file(1).display().to_string();
    let asked = counter.asked();
    counter.send(&["--put-back", &file]).says(1, &["3 offers to send", "Nothing was changed."]);
    assert_eq!(counter.asked() - asked, OFFERS as u64, "what would be refused now is looked at");
    assert_eq!(counter.world.sku_changes().len(), OFFERS);
    counter.send(&["--put-back", &file, "--yes"]).says(0, &["till: 3 done.", "The links are still intended"]);
    assert_eq!(counter.stands(), before);
    // That is a run too, and has a file of its own.
    assert!(counter.put_back_file(2).exists());
    let runs = counter.ledger().await.sku_runs(&ShopId::from("shop")).await.unwrap();
    assert_eq!(runs.iter().map(|run| run.puts_back).collect::<Vec<_>>(), [None, Some(1)]);
    assert_eq!((runs[0].signed.by.as_str(), runs[0].signed.why.as_deref()), ("kim", Some("sale")));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn whatever_the_till_answers_what_was_changed_is_known_and_it_goes_on_from_there() {
    let second = RetryAfter::Seconds(1);
    for (target, fault, code) in [
        (changing(), Fault::Dropped, 3),
        (changing(), Fault::LostAfter, 0),
        (changing(), Fault::BrokenAfter, 0),
        (changing(), Fault::Broken, 3),
        (changing(), Fault::OtherSku, 0),
        (changing(), Fault::Cut, 0),
        (changing(), Fault::TooManyRequests(second), 0),
        (reading(), Fault::Dropped, 0),
        (reading(), Fault::TooManyRequests(second), 0),
    ] {
        let counter = Counter::open().await;
        let context = format!("{target:?} {fault:?}");
        counter.world.switch_on_for(target, 1, fault);
        let run = counter.send(&["--yes"]);
        assert_eq!(run.code, code, "{context}: {run:?}");
        counter.assert_known(&context).await;
        counter.world.switch_all_off();
        counter.send(&["--yes"]).says(0, &[]);
        counter.assert_done(&context).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_the_till_never_does_is_said_and_nothing_is_asked_for_twice() {
    for fault in [Fault::Dropped, Fault::Broken] {
        let counter = Counter::open().await;
        let before = counter.stands();
        counter.world.switch_on(changing(), fault);
        for _ in 0..2 {
            counter.send(&["--yes"]).says(3, &["till: 3 not known."]);
            counter.assert_known(&format!("{fault:?}")).await;
        }
        assert_eq!(counter.stands(), before);
        // Each run asks once for each offer: it first sees that the run before came to nothing.
        assert_eq!(counter.world.requests(changing()), 2 * OFFERS as u64);
        counter.world.switch_all_off();
        counter.send(&["--yes"]).says(0, &[]);
        counter.assert_done(&format!("{fault:?}")).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_program_that_is_killed_at_each_request_goes_on_from_there() {
    for requests in 1..=OFFERS as u64 * REQUESTS_OF_ONE {
        let counter = Counter::open().await;
        let context = format!("killed at request {requests}");
        let mut child = counter.begin_sending(requests).await;
        child.kill().unwrap();
        child.wait().unwrap();
        counter.assert_known(&context).await;
        let file = counter.put_back_file(1);
        assert!(file.exists() || counter.world.sku_changes().is_empty(), "{context}");
        let run = counter.send(&["--yes"]).says(0, &[]);
        counter.assert_done(&context).await;
        // Also the file is named of the run that was killed, where that changed something.
        let changes = counter.changes().await;
        let is_of_first = |change: &&SkuChange| change.run == 1 && change.state() == SkuState::Confirmed;
        // It may have come to its end before it was killed.
        if (1..OFFERS).contains(&changes.iter().filter(is_of_first).count()) {
            run.says(0, &["To put back what run 1 changed", "everyline.db.skus-shop-1.jsonl"]);
        }
        // Whatever each run changed, its file puts it back.
        let before = counter
            .world
            .sku_changes()
            .into_iter()
            .map(|change| ((change.listing_id, change.options), change.from));
        let before: BTreeMap<Key, Option<Sku>> = before.collect();
        // Putting back is a run as well, and has a file of its own.
        let files: Vec<PathBuf> =
            [1, 2].map(|run| counter.put_back_file(run)).into_iter().filter(|file| file.exists()).collect();
        for file in files {
            counter.send(&["--put-back", &file.display().to_string(), "--yes"]).says(0, &[]);
        }
        let stands = counter.stands();
        assert!(before.iter().all(|(key, old)| stands[key] == *old), "{context}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn it_is_stopped_between_two_offers() {
    let counter = Counter::open().await;
    let mut child = counter.begin_sending(2).await;
    let id = child.id().to_string();
    let told = std::process::Command::new("kill").args(["-INT", &id]).status().unwrap();
    assert!(told.success());
    let ended = block_in_place(|| child.wait().unwrap());
    counter.assert_known("stopped").await;
    let states: Vec<SkuState> = counter.changes().await.iter().map(SkuChange::state).collect();
    assert!(states.iter().all(|state| !state.is_in_doubt()), "{states:?}");
    assert_eq!(ended.code(), Some(if states.contains(&SkuState::Planned) { 3 } else { 0 }), "{states:?}");
    counter.send(&["--yes"]).says(0, &[]);
    counter.assert_done("stopped").await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_do_not_send_at_once_and_whoever_watches_is_not_in_the_way() {
    let counter = Counter::open().await;
    let ledger = counter.ledger().await;
    let watching = ledger.watch().unwrap();
    let sending = ledger.send_skus().unwrap();
    counter.send(&["--yes"]).says(2, &["nothing was changed", "another everyline is changing SKUs"]);
    counter.send(&[]).says(1, &["3 offers to send"]);
    assert!(counter.world.sku_changes().is_empty());
    drop(sending);
    counter.send(&["--yes"]).says(0, &[]);
    counter.assert_done("beside a watch").await;
    drop(watching);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_offer_that_was_changed_beside_us_is_left_and_no_file_is_written_over() {
    let counter = Counter::open().await;
    // Sent and put back: the ledger still has what the source said when it was read.
    counter.send(&["--yes", "--put-back-file", "back.jsonl"]).says(0, &["--put-back back.jsonl"]);
    let done = counter.world.sku_changes().len();
    let run = counter.send(&["--put-back", "back.jsonl", "--yes", "--put-back-file", "back.jsonl"]);
    run.says(2, &["nothing was changed", "back.jsonl, which puts everything back, cannot be written"]);
    assert_eq!(counter.world.sku_changes().len(), done);
    // A file of another shop, and one that is none.
    let text = counter.shop.read("back.jsonl");
    counter.shop.write("other.jsonl", &text.replacen("\"shop\":\"shop\"", "\"shop\":\"second\"", 1));
    counter.send(&["--put-back", "other.jsonl", "--yes"]).says(2, &["the file is of shop \"second\""]);
    counter.shop.write("none.jsonl", &text.replacen("\"options\":{", "\"options\":[", 1));
    counter
        .send(&["--put-back", "none.jsonl", "--yes"])
        .says(2, &["nothing was put back", "none.jsonl, line 2"]);
    // Somebody gives one of the offers a SKU of their own: by a file that says so.
    let first = text.lines().nth(1).unwrap();
    let row: serde_json::Value = serde_json::from_str(first).unwrap();
    let mut theirs = row.clone();
    theirs["old_sku"] = "THEIRS".into();
    // Neither a part of the file nor one that says otherwise than the ledger is believed.
    counter
        .shop
        .write("part.jsonl", &text.lines().take(2).map(|line| format!("{line}\n")).collect::<String>());
    counter.send(&["--put-back", "part.jsonl", "--yes"]).says(2, &["is not whole: it has 1 of 3 offers"]);
    counter.shop.write("edited.jsonl", &text.replacen(first, &theirs.to_string(), 1));
    let edited = counter.send(&["--put-back", "edited.jsonl", "--yes"]);
    edited.says(2, &["the file says something else than the ledger knows of run 1"]);
    let head = text.lines().next().unwrap().replacen("\"run\":1", "\"run\":77", 1);
    let head = head.replacen("\"offers\":3", "\"offers\":1", 1);
    counter.shop.write("theirs.jsonl", &format!("{head}\n{theirs}\n"));
    counter.send(&["--put-back", "theirs.jsonl", "--yes"]).says(0, &["till: 1 done."]);
    counter.send(&["--put-back", "back.jsonl", "--yes"]).says(
        1,
        &["not done", "it was changed meanwhile: it has the SKU THEIRS now", "till: 2 done, 1 not done."],
    );
    let key = (ListingId::from(row["listing_id"].as_str().unwrap()), counter.wanted.keys());
    let mut theirs = key.1.filter(|(listing, options)| {
        *listing == key.0 && serde_json::to_value(options).unwrap() == row["options"]
    });
    assert_eq!(counter.stands()[theirs.next().unwrap()], Sku::new("THEIRS"));
}
