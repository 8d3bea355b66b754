//! The work on a storefront in memory that fails, lies, changes beside us, or takes the program down with it, at every step.
//!
//! Start reading at [`Till`] and [`Bench`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, Utc};
use ledger::{LinkPart, Setting, Signed};
use model::book::LinkScope;
use model::{Options, SourceId};
use tempfile::TempDir;
use tokio::sync::Notify;

use super::super::put_back;
use super::*;
use crate::live::world::Told;

/// What goes wrong at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Wrong {
    /// The program ends there.
    Crash,
    /// Nothing comes back. Of a change it is not known whether it was made.
    Silence,
    /// It cannot be reached at all: nothing was asked.
    Away,
    /// A change is answered as done, and is not made.
    Lie,
}

/// At which step something goes wrong: a step is the moment before an effect, and the moment after it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Fault {
    at: usize,
    for_ever: bool,
    wrong: Wrong,
}

/// A storefront in memory. What it is asked goes on in it whether anybody listens or not.
#[derive(Default)]
struct State {
    skus: BTreeMap<String, Option<Sku>>,
    /// Each SKU that ever stood at an offer.
    stood: BTreeMap<String, BTreeSet<String>>,
    /// Changes that were made, by offer.
    made: BTreeMap<String, usize>,
    /// Changes that were asked for though they stood there already.
    needless: usize,
    steps: usize,
    /// Changes that are made after the next reading.
    late: Vec<(String, Option<Sku>)>,
    makes_late: bool,
}

#[derive(Clone)]
struct Till {
    state: Arc<Mutex<State>>,
    fault: Option<Fault>,
    crash: Arc<Notify>,
    stopping: Option<(usize, Arc<watch::Sender<bool>>)>,
}

fn name_of(offer: &PlannedSku) -> String {
    format!("{} ({})", offer.listing_id, offer.options)
}

impl Till {
    fn with<T>(&self, work: impl FnOnce(&mut State) -> T) -> T {
        work(&mut self.state.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// What goes wrong at this step, if anything does.
    async fn step(&self) -> Option<Wrong> {
        let step = self.with(|state| {
            state.steps += 1;
            state.steps - 1
        });
        if let Some((at, stop)) = &self.stopping
            && *at == step
        {
            let _ = stop.send(true);
        }
        let fault = self.fault?;
        let is_now = if fault.for_ever { step >= fault.at } else { step == fault.at };
        if is_now && fault.wrong == Wrong::Crash {
            self.crash.notify_one();
            std::future::pending::<()>().await;
        }
        is_now.then_some(fault.wrong)
    }
}

impl State {
    fn set(&mut self, offer: String, sku: Option<Sku>) {
        let stands = sku.as_ref().map(ToString::to_string).unwrap_or_default();
        self.stood.entry(offer.clone()).or_default().insert(stands);
        *self.made.entry(offer.clone()).or_default() += 1;
        self.skus.insert(offer, sku);
    }
}

impl Shelf for Till {
    async fn read(&mut self, offer: &PlannedSku) -> Result<Seen, NotReached> {
        let not_read = || NotReached("nothing came back".to_owned());
        match self.step().await {
            None | Some(Wrong::Lie) => {}
            Some(_) => return Err(not_read()),
        }
        let seen = self.with(|state| state.skus.get(&name_of(offer)).cloned());
        self.with(|state| {
            for (offer, sku) in std::mem::take(&mut state.late) {
                state.set(offer, sku);
            }
        });
        match self.step().await {
            None | Some(Wrong::Lie) => {}
            Some(_) => return Err(not_read()),
        }
        Ok(seen.map_or(Seen::Missing, |sku| Seen::Found(Found::of(sku))))
    }

    async fn change(
        &mut self,
        offer: &PlannedSku,
        found: &Found,
        sku: Option<&Sku>,
    ) -> Result<Asked, NotReached> {
        match self.step().await {
            None => {}
            Some(Wrong::Away) => return Err(NotReached("it is away".to_owned())),
            Some(Wrong::Lie) => return Ok(Asked::Confirmed),
            Some(_) => return Ok(Asked::NotKnown("lost before it was made".to_owned())),
        }
        assert_eq!(found.sku, offer.old, "{}", name_of(offer));
        self.with(|state| {
            if state.skus.get(&name_of(offer)) == Some(&sku.cloned()) {
                state.needless += 1;
            }
            if state.makes_late {
                state.late.push((name_of(offer), sku.cloned()));
            } else {
                state.set(name_of(offer), sku.cloned());
            }
        });
        match self.step().await {
            None if !self.with(|state| state.makes_late) => Ok(Asked::Confirmed),
            _ => Ok(Asked::NotKnown("lost after it was made".to_owned())),
        }
    }
}

/// A ledger, a storefront, and what is wanted of it.
struct Bench {
    _home: TempDir,
    file: std::path::PathBuf,
    ledger: Ledger,
    till: Till,
    shop: ShopId,
    source: SourceId,
    world: Told,
    wanted: Vec<PlannedSku>,
}

fn sku(text: &str) -> Option<Sku> {
    Sku::new(text)
}

fn wanted(place: usize) -> PlannedSku {
    PlannedSku {
        listing_id: "L1".into(),
        options: Options::from_pairs([("Size", place.to_string())]).unwrap(),
        // One of them has none before.
        old: sku(&if place == 1 { String::new() } else { format!("OLD-{place}") }),
        new: sku(&format!("NEW-{place}")),
    }
}

impl Bench {
    fn signed(&self) -> Signed {
        Signed { by: "kim".to_owned(), why: None, at: self.world.now() }
    }

    /// The changes of a run that was begun, and has done nothing yet.
    async fn begun(&self, wanted: &[PlannedSku]) -> Vec<SkuChange> {
        let run = (&self.source, None);
        let number = self.ledger.begin_sku_run(&self.shop, run, &self.signed(), wanted).await.unwrap();
        self.ledger.sku_changes(&self.shop, Some(number)).await.unwrap()
    }

    async fn of(offers: usize) -> Self {
        let home = tempfile::tempdir().unwrap();
        let ledger = Ledger::open(&home.path().join("everyline.db")).await.unwrap();
        let wanted: Vec<PlannedSku> = (0..offers).map(wanted).collect();
        let mut state = State::default();
        for one in &wanted {
            state.set(name_of(one), one.old.clone());
        }
        state.made.clear();
        let till =
            Till { state: Arc::new(Mutex::new(state)), fault: None, crash: Arc::default(), stopping: None };
        Self {
            file: home.path().join("back.jsonl"),
            _home: home,
            ledger,
            till,
            shop: "kittiwake".into(),
            source: "till".into(),
            world: Told::new(DateTime::<Utc>::UNIX_EPOCH),
            wanted,
        }
    }

    async fn changes(&self) -> Vec<SkuChange> {
        self.ledger.sku_changes(&self.shop, None).await.unwrap()
    }

    /// What a run would change, as the command decides it: by what was seen last, and nothing that is in doubt.
    async fn planned(&self, wanted: &[PlannedSku]) -> Vec<PlannedSku> {
        let mut stands: BTreeMap<String, Option<Sku>> =
            self.wanted.iter().map(|one| (name_of(one), one.old.clone())).collect();
        let mut in_doubt = BTreeSet::new();
        for change in self.changes().await {
            for step in &change.steps {
                if let Some(seen) = &step.seen {
                    stands.insert(name_of(&change.planned), seen.clone());
                }
            }
            if change.state().is_in_doubt() {
                in_doubt.insert(name_of(&change.planned));
            }
        }
        let open = wanted.iter().filter(|one| !in_doubt.contains(&name_of(one)));
        open.map(|one| PlannedSku { old: stands[&name_of(one)].clone(), ..one.clone() })
            .filter(|one| one.old != one.new)
            .collect()
    }

    /// One run of the command; `None` where the program ended on the way.
    async fn run(&self, fault: Option<Fault>, wanted: &[PlannedSku]) -> Option<Carried> {
        let (_going, stop) = watch::channel(false);
        self.run_until(fault, wanted, &stop).await
    }

    async fn run_until(
        &self,
        fault: Option<Fault>,
        wanted: &[PlannedSku],
        stop: &watch::Receiver<bool>,
    ) -> Option<Carried> {
        let mut till = Till { fault, ..self.till.clone() };
        till.with(|state| state.steps = 0);
        let crash = Arc::clone(&till.crash);
        let whole = async {
            let mut work = Work {
                ledger: &self.ledger,
                shop: &self.shop,
                shelf: &mut till,
                world: &self.world,
                stop,
                last_link_change: None,
            };
            let settled = work.settle(&self.changes().await, &mut |_| {}).await.unwrap();
            if settled.left.is_some() {
                return settled;
            }
            let planned = self.planned(wanted).await;
            if planned.is_empty() {
                return settled;
            }
            let signed = self.signed();
            let begun = self.ledger.begin_sku_run(&self.shop, (&self.source, None), &signed, &planned).await;
            let number = begun.unwrap();
            let changes = self.ledger.sku_changes(&self.shop, Some(number)).await.unwrap();
            let run = ledger::SkuRun { number, source: self.source.clone(), signed, puts_back: None };
            if !self.file.exists() {
                put_back::write(&self.file, &self.shop, &run, &changes).unwrap();
            }
            work.carry_out(&changes, &mut |_| {}).await.unwrap()
        };
        tokio::select! {
            biased;
            carried = whole => Some(carried),
            () = crash.notified() => None,
        }
    }

    fn stands(&self) -> BTreeMap<String, Option<Sku>> {
        self.till.with(|state| state.skus.clone())
    }

    /// Looks whether the journal knows what stands at the storefront, or that it is not known.
    async fn assert_known(&self, context: &str) {
        let mut last: BTreeMap<String, SkuChange> = BTreeMap::new();
        for change in self.changes().await {
            // What was never asked for says nothing of what stands there.
            if change.state() != SkuState::Planned {
                last.insert(name_of(&change.planned), change);
            }
        }
        let stands = self.stands();
        for one in &self.wanted {
            let (name, truth) = (name_of(one), &stands[&name_of(one)]);
            let Some(change) = last.get(&name) else {
                assert_eq!(*truth, one.old, "{context}: {name} was changed, and the journal does not know");
                continue;
            };
            match change.state() {
                SkuState::Confirmed => assert_eq!(*truth, change.planned.new, "{context}: {name}"),
                SkuState::Refused | SkuState::Elsewhere => {
                    let seen = change.steps.iter().rev().find_map(|step| step.seen.clone());
                    assert_eq!(Some(truth), seen.as_ref(), "{context}: {name}");
                }
                SkuState::Asked | SkuState::NotKnown => {
                    assert!([&change.planned.old, &change.planned.new].contains(&truth), "{context}: {name}");
                }
                SkuState::Planned => {}
            }
        }
        self.till.with(|state| {
            assert_eq!(state.needless, 0, "{context}: something was asked for that stood there");
            for (name, stood) in &state.stood {
                let one = self.wanted.iter().find(|one| name_of(one) == *name).unwrap();
                let known: BTreeSet<String> = [&one.old, &one.new]
                    .map(|sku| sku.as_ref().map(ToString::to_string).unwrap_or_default())
                    .into();
                assert!(stood.is_subset(&known), "{context}: {name} was {stood:?}");
            }
        });
    }

    /// Runs it without faults until nothing is left to do.
    async fn finish(&self, wanted: &[PlannedSku], context: &str) {
        for _ in 0..3 {
            self.run(None, wanted).await.unwrap();
        }
        self.assert_known(context).await;
        for one in wanted {
            assert_eq!(self.stands()[&name_of(one)], one.new, "{context}: {}", name_of(one));
        }
        assert!(self.changes().await.iter().all(|change| !change.state().is_in_doubt()), "{context}");
        assert_eq!(self.planned(wanted).await, [], "{context}");
    }

    /// What puts the first run back.
    async fn back(&self) -> Vec<PlannedSku> {
        let file = put_back::read(&self.file).unwrap();
        let known = self.ledger.sku_changes(&self.shop, Some(file.head.run)).await.unwrap();
        file.reversed(Some(&known)).0
    }
}

/// How many steps an undisturbed run of so many offers takes: reading, changing and reading again, each before and after.
const STEPS_OF_ONE: usize = 6;

const OFFERS: usize = 3;

fn faults() -> Vec<Fault> {
    let mut faults = Vec::new();
    for wrong in [Wrong::Crash, Wrong::Silence, Wrong::Away, Wrong::Lie] {
        for at in 0..OFFERS * STEPS_OF_ONE {
            faults.extend([false, true].map(|for_ever| Fault { at, for_ever, wrong }));
        }
    }
    faults
}

#[tokio::test]
async fn an_undisturbed_run_changes_each_offer_once() {
    let bench = Bench::of(OFFERS).await;
    let carried = bench.run(None, &bench.wanted).await.unwrap();
    assert_eq!(bench.till.with(|state| state.steps), OFFERS * STEPS_OF_ONE);
    assert!(carried.ended.iter().all(|ended| ended.state == SkuState::Confirmed), "{carried:?}");
    assert_eq!(carried.left, None);
    bench.assert_known("undisturbed").await;
    bench.finish(&bench.wanted, "undisturbed").await;
    bench.till.with(|state| assert!(state.made.values().all(|made| *made == 1), "{:?}", state.made));
}

#[tokio::test]
async fn whatever_fails_at_whichever_step_what_was_changed_is_known_and_it_goes_on_from_there() {
    for fault in faults() {
        let bench = Bench::of(OFFERS).await;
        let context = format!("{fault:?}");
        let carried = bench.run(Some(fault), &bench.wanted).await;
        assert_eq!(carried.is_none(), fault.wrong == Wrong::Crash, "{context}");
        bench.assert_known(&context).await;
        if fault.for_ever {
            // Nothing better comes of trying again while it lasts, and nothing worse.
            bench.run(Some(Fault { at: 0, ..fault }), &bench.wanted).await;
            bench.assert_known(&context).await;
        }
        bench.finish(&bench.wanted, &context).await;
        bench
            .till
            .with(|state| assert!(state.made.values().all(|made| *made == 1), "{context}: {:?}", state.made));
    }
}

#[tokio::test]
async fn a_crash_at_each_step_of_each_try_ends_well() {
    let bench = Bench::of(OFFERS).await;
    for at in (0..OFFERS * STEPS_OF_ONE).chain(0..4) {
        let fault = Fault { at, for_ever: false, wrong: Wrong::Crash };
        bench.run(Some(fault), &bench.wanted).await;
        bench.assert_known(&format!("try {at}")).await;
    }
    bench.finish(&bench.wanted, "all tries").await;
}

#[tokio::test]
async fn what_a_run_changed_is_put_back_whatever_failed_in_it_and_in_putting_it_back() {
    for fault in faults() {
        let bench = Bench::of(OFFERS).await;
        let context = format!("{fault:?}");
        bench.run(Some(fault), &bench.wanted).await;
        // Whatever became of it; the rest is not sent.
        bench.run(None, &[]).await.unwrap();
        let back = bench.back().await;
        bench.run(Some(fault), &back).await;
        for _ in 0..3 {
            bench.run(None, &back).await.unwrap();
        }
        for one in &bench.wanted {
            assert_eq!(bench.stands()[&name_of(one)], one.old, "{context}: {}", name_of(one));
        }
        bench.till.with(|state| assert_eq!(state.needless, 0, "{context}"));
    }
}

#[tokio::test]
async fn a_whole_run_is_put_back_by_its_file_alone() {
    let bench = Bench::of(OFFERS).await;
    bench.run(None, &bench.wanted).await.unwrap();
    let (back, left) = put_back::read(&bench.file).unwrap().reversed(None);
    assert_eq!((back.len(), left), (OFFERS, 0));
    bench.finish_back(&back).await;
}

impl Bench {
    async fn finish_back(&self, back: &[PlannedSku]) {
        let carried = self.run(None, back).await.unwrap();
        assert!(carried.ended.iter().all(|ended| ended.state == SkuState::Confirmed), "{carried:?}");
        for one in &self.wanted {
            assert_eq!(self.stands()[&name_of(one)], one.old);
        }
    }
}

#[tokio::test]
async fn an_offer_that_was_changed_beside_us_is_left_as_it_is() {
    let bench = Bench::of(OFFERS).await;
    let (first, second) = (name_of(&bench.wanted[0]), name_of(&bench.wanted[1]));
    bench.till.with(|state| {
        state.skus.insert(first.clone(), sku("THEIRS"));
        state.skus.insert(second.clone(), bench.wanted[1].new.clone());
    });
    let carried = bench.run(None, &bench.wanted).await.unwrap();
    let states: Vec<SkuState> = carried.ended.iter().map(|ended| ended.state).collect();
    assert_eq!(states, [SkuState::Refused, SkuState::Confirmed, SkuState::Confirmed]);
    assert_eq!(carried.ended[0].why.as_deref(), Some("it was changed meanwhile: it has the SKU THEIRS now"));
    bench.till.with(|state| assert_eq!(state.made.get(&first).or(state.made.get(&second)), None));
    // Of these, only the one that the run set is put back, and only while it bears that.
    let back = bench.back().await;
    assert_eq!(back.len(), 1);
    bench.till.with(|state| state.skus.insert(name_of(&back[0]), sku("THEIRS TOO")));
    let changes = bench.begun(&back).await;
    let (_going, stop) = watch::channel(false);
    let mut till = bench.till.clone();
    let mut work = Work {
        ledger: &bench.ledger,
        shop: &bench.shop,
        shelf: &mut till,
        world: &bench.world,
        stop: &stop,
        last_link_change: None,
    };
    let carried = work.carry_out(&changes, &mut |_| {}).await.unwrap();
    assert_eq!(carried.ended[0].state, SkuState::Refused);
    assert_eq!(bench.stands()[&name_of(&back[0])], sku("THEIRS TOO"));
}

#[tokio::test]
async fn a_change_that_is_made_late_is_not_asked_for_twice() {
    let bench = Bench::of(1).await;
    bench.till.with(|state| state.makes_late = true);
    let carried = bench.run(None, &bench.wanted).await.unwrap();
    assert_eq!(carried.ended[0].state, SkuState::NotKnown);
    bench.till.with(|state| state.makes_late = false);
    let settled = bench.run(None, &bench.wanted).await.unwrap();
    assert_eq!(settled.ended[0].state, SkuState::Confirmed);
    bench.till.with(|state| assert_eq!(state.made.values().sum::<usize>(), 1));
}

#[tokio::test]
async fn a_storefront_that_sets_another_sku_is_told_of() {
    let bench = Bench::of(1).await;
    let name = name_of(&bench.wanted[0]);
    let begun = bench.begun(&bench.wanted).await;
    let step = SkuStep { state: SkuState::Asked, at: bench.world.now(), seen: None, why: None };
    bench.ledger.note_sku(&bench.shop, (begun[0].run, 0), &step).await.unwrap();
    for (stands, want) in [(Some(sku("ELSE")), SkuState::Elsewhere), (None, SkuState::Elsewhere)] {
        bench.till.with(|state| match &stands {
            Some(stands) => state.skus.insert(name.clone(), stands.clone()),
            None => state.skus.remove(&name),
        });
        let verdict =
            after(&bench.wanted[0], bench.till.clone().read(&bench.wanted[0]).await, &Asked::Confirmed);
        assert_eq!(verdict.state, want);
    }
    bench.run(None, &[]).await.unwrap();
    assert_eq!(bench.changes().await[0].state(), SkuState::Elsewhere);
}

#[tokio::test]
async fn it_stops_between_two_offers_and_leaves_nothing_in_doubt() {
    for at in 0..STEPS_OF_ONE {
        let bench = Bench::of(OFFERS).await;
        let (stopping, stop) = watch::channel(false);
        let till = Till { stopping: Some((at, Arc::new(stopping))), ..bench.till.clone() };
        let bench = Bench { till, ..bench };
        let carried = bench.run_until(None, &bench.wanted, &stop).await.unwrap();
        assert_eq!((carried.ended.len(), carried.left), (1, Some(Left::Stopped)));
        let states: Vec<SkuState> = bench.changes().await.iter().map(SkuChange::state).collect();
        assert_eq!(states, [SkuState::Confirmed, SkuState::Planned, SkuState::Planned]);
    }
}

#[tokio::test]
async fn whoever_does_not_answer_is_not_asked_for_ever() {
    let bench = Bench::of(UNREAD_IN_A_ROW + 2).await;
    let fault = Fault { at: 0, for_ever: true, wrong: Wrong::Silence };
    let carried = bench.run(Some(fault), &bench.wanted).await.unwrap();
    assert_eq!((carried.ended.len(), carried.left), (UNREAD_IN_A_ROW, Some(Left::Unreachable)));
    bench.till.with(|state| assert!(state.made.is_empty()));
}

#[tokio::test]
async fn once_links_were_changed_nothing_more_is_sent() {
    let bench = Bench::of(2).await;
    let signed = bench.signed();
    let changes = bench.begun(&bench.wanted).await;
    let known = bench.ledger.last_link_change(&bench.shop).await.unwrap();
    let link = LinkPart {
        supplier: "alder-print".into(),
        variant_id: Some("V-1".into()),
        units: 1,
        in_force: false,
    };
    let setting = Setting::Link { scope: LinkScope::Listing("L-1".into()), parts: vec![link] };
    bench.ledger.set_links(&bench.shop, &[setting], &signed, known).await.unwrap();
    let (_going, stop) = watch::channel(false);
    let mut till = bench.till.clone();
    let mut work = Work {
        ledger: &bench.ledger,
        shop: &bench.shop,
        shelf: &mut till,
        world: &bench.world,
        stop: &stop,
        last_link_change: Some(known),
    };
    let carried = work.carry_out(&changes, &mut |_| {}).await.unwrap();
    assert_eq!((carried.ended.len(), carried.left), (0, Some(Left::LinksChanged)));
    bench.till.with(|state| assert!(state.made.is_empty()));
}

#[tokio::test]
async fn what_cannot_be_noted_is_not_asked_for() {
    let bench = Bench::of(1).await;
    let changes = bench.begun(&bench.wanted).await;
    bench.ledger.clone().close().await;
    let (_going, stop) = watch::channel(false);
    let mut till = bench.till.clone();
    let mut work = Work {
        ledger: &bench.ledger,
        shop: &bench.shop,
        shelf: &mut till,
        world: &bench.world,
        stop: &stop,
        last_link_change: None,
    };
    assert!(work.carry_out(&changes, &mut |_| {}).await.is_err());
    bench.till.with(|state| assert!(state.made.is_empty()));
}

#[tokio::test]
async fn what_would_be_left_is_foreseen_by_reading_alone() {
    let bench = Bench::of(OFFERS).await;
    bench.till.with(|state| {
        state.skus.insert(name_of(&bench.wanted[0]), sku("THEIRS"));
        state.skus.insert(name_of(&bench.wanted[1]), bench.wanted[1].new.clone());
    });
    let mut foreseen = Foreseen::default();
    foresee(&mut bench.till.clone(), bench.wanted.iter(), &mut foreseen).await;
    let left = [
        (0, "it was changed meanwhile: it has the SKU THEIRS now".to_owned()),
        (1, "it has that SKU already".to_owned()),
    ];
    assert_eq!((foreseen.looked_at, &foreseen.left[..], foreseen.unread.len()), (OFFERS, &left[..], 0));
    bench.till.with(|state| assert!(state.made.is_empty()));
    assert_eq!(bench.changes().await, []);

    let silent = Bench::of(UNREAD_IN_A_ROW + 2).await;
    let mut till =
        Till { fault: Some(Fault { at: 0, for_ever: true, wrong: Wrong::Silence }), ..silent.till.clone() };
    let mut foreseen = Foreseen::default();
    foresee(&mut till, silent.wanted.iter(), &mut foreseen).await;
    assert_eq!(
        (foreseen.looked_at, foreseen.left.len(), foreseen.unread.len()),
        (UNREAD_IN_A_ROW, 0, UNREAD_IN_A_ROW)
    );
}
