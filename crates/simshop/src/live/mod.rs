//! A storefront and two suppliers as real HTTP servers on loopback, on a clock that the caller moves, with faults
//! that can be switched and a truth that is known at every moment.
//!
//! The three APIs are of this project's own invention and differ in all that APIs differ in: sign-in, paging, times,
//! money, words, and what stands inside of what. Must not know how anybody reads them. Start reading at [`World`];
//! the module `story` tells what happens, `state` holds it, `till`, `alder` and `brook` answer.

mod alder;
mod brook;
mod configuration;
mod fault;
mod page;
mod people;
mod server;
mod shelf;
mod state;
mod story;
mod till;

use std::collections::{BTreeMap, VecDeque};
use std::io;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use chrono::{DateTime, Utc};
use model::{Book, Check, OrderId};

pub use fault::{Fault, Plan, RetryAfter, Source, Target};
pub use server::{Ports, Serving};
pub use shelf::SkuChange;

use crate::plant::{PlantedLine, Subject, TimeLeft};
use fault::Asked;
use state::{Event, State};

/// A shop, its two suppliers, and the time by their clocks. A clone is the same world.
#[derive(Clone, Debug)]
pub struct World(Arc<Mutex<Inner>>);

#[derive(Debug)]
struct Inner {
    now: DateTime<Utc>,
    state: State,
    /// What is still to happen.
    ahead: VecDeque<(DateTime<Utc>, Event)>,
    mistakes: Vec<Mistake>,
    private: Vec<String>,
    secrets: [String; 3],
    plan: Plan,
    asked: Asked,
    sku_changes: Vec<SkuChange>,
}

/// What is the case at one virtual moment.
#[derive(Clone, Debug)]
pub struct Truth {
    /// The moment.
    pub now: DateTime<Utc>,
    /// What a perfect reader of all three APIs has by the mappings of [`World::configuration`], as exchange files would
    /// say it; each table in the order of its key. `ship_to_digest` depends on the reader's key and is left out:
    /// [`Self::ship_to`] has its texts. Tables that no API gives are `None`: links, listing products, ties.
    pub book: Book,
    /// For each order the texts of its address, in the order in which the mapping names them.
    pub ship_to: BTreeMap<OrderId, Vec<String>>,
    /// The paid orders of which a supplier has some lines, or is about to take them, and nobody has the others; by order.
    pub part_sent: Vec<PartSent>,
    /// The paid orders of which no line leads to a supplier; by order.
    pub unsent: Vec<Unsent>,
    /// What else went wrong with submissions so far, by moment; none of it is put right later. What the offers and
    /// the promises raise is not here.
    pub mistakes: Vec<Mistake>,
}

/// An order of which some lines are made and the others by nobody.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PartSent {
    /// The order.
    pub order_id: OrderId,
    /// The lines that nobody makes, by line id, with the units that are owed.
    pub lines: Vec<PlantedLine>,
    /// The earliest cut-off of its live submissions, also where it has passed; `None` while there is none.
    pub first_cut_off: Option<DateTime<Utc>>,
    /// Until when it can be put right: the earliest cut-off that is still ahead.
    pub time_left: TimeLeft,
}

/// An order of which all lines are made by nobody.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unsent {
    /// The order.
    pub order_id: OrderId,
    /// Its lines, by line id, with the units that are owed.
    pub lines: Vec<PlantedLine>,
}

/// Something that a supplier did wrong, or was made to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mistake {
    /// The rule that raises it: `over-sent`, `wrong-variant`, `sent-after-cancel`, `stray-submission`, `held`,
    /// `address-changed` (only for whoever read the order before and after).
    pub check: Check,
    /// What it is about.
    pub subject: Subject,
    /// It is raised for moments after this, its grace included.
    pub since: DateTime<Utc>,
}

impl World {
    /// The world on the morning of its sale day, before anything has happened. The same seed, the same day.
    pub fn new(seed: u64, plan: Plan) -> Self {
        let story = story::tell(seed);
        let secrets = story.secrets;
        let sign_in = server::basic_sign_in(&secrets);
        let private = story.private.into_iter().chain(secrets.iter().cloned()).chain([sign_in]).collect();
        Self(Arc::new(Mutex::new(Inner {
            now: Self::begins(),
            state: story.opening,
            ahead: story.events.into(),
            mistakes: story.mistakes,
            private,
            secrets,
            plan,
            asked: Asked::default(),
            sku_changes: Vec::new(),
        })))
    }

    /// When the clock stands at first: Wednesday 25 November 2026, midnight at the shop.
    pub fn begins() -> DateTime<Utc> {
        story::local(0, 0, 0)
    }

    /// When the sale day is over: midnight. Orders come in no longer; most submissions are not begun.
    pub fn sale_ends() -> DateTime<Utc> {
        story::local(1, 0, 0)
    }

    /// When everything that will be dispatched has been.
    pub fn ends() -> DateTime<Utc> {
        story::local(5, 0, 0)
    }

    /// The second within which several orders come in, one after the other, and half a minute later are paid.
    pub fn shared_second() -> DateTime<Utc> {
        story::shared_second()
    }

    /// The time by the world's clock.
    pub fn now(&self) -> DateTime<Utc> {
        self.lock().now
    }

    /// Moves the clock; all that happens up to and including the moment happens. An earlier moment changes nothing.
    pub fn advance_to(&self, moment: DateTime<Utc>) {
        let mut inner = self.lock();
        while inner.ahead.front().is_some_and(|(at, _)| *at <= moment) {
            if let Some((at, event)) = inner.ahead.pop_front() {
                inner.state.apply(at, event);
            }
        }
        inner.now = inner.now.max(moment);
    }

    /// When the next thing happens; `None` where all has.
    pub fn next_event(&self) -> Option<DateTime<Utc>> {
        self.lock().ahead.front().map(|(at, _)| *at)
    }

    /// What is the case now.
    pub fn truth(&self) -> Truth {
        let inner = self.lock();
        let (part_sent, unsent) = inner.state.with_unlinked_lines(inner.now);
        let ship_to = inner.state.sales.values().map(|sale| {
            let texts = vec![sale.person.street.clone(), sale.person.place.to_owned()];
            (sale.order.order_id.clone(), texts)
        });
        Truth {
            now: inner.now,
            book: inner.state.book(),
            ship_to: ship_to.collect(),
            part_sent,
            unsent,
            mistakes: inner.mistakes.iter().filter(|mistake| mistake.since < inner.now).cloned().collect(),
        }
    }

    /// Starts the three servers on loopback, each on a free port. They end with the value.
    ///
    /// # Errors
    /// Where no port can be had.
    pub async fn serve(&self) -> io::Result<Serving> {
        self.serve_on(Ports::default()).await
    }

    /// As [`World::serve`], on these ports; 0 is a free one.
    ///
    /// # Errors
    /// Where a port cannot be had.
    pub async fn serve_on(&self, ports: Ports) -> io::Result<Serving> {
        Serving::start(self, ports).await
    }

    /// What everyline has to be told to read the three servers: zone, sources and suppliers, in TOML. The secrets
    /// come from the environment, under the names of [`World::secrets`].
    pub fn configuration(&self, serving: &Serving) -> String {
        configuration::of(serving)
    }

    /// The secrets that the servers want: for each the environment variable that the configuration names, and the value.
    pub fn secrets(&self) -> Vec<(&'static str, String)> {
        let [till, alder, brook] = self.lock().secrets.clone();
        vec![
            (configuration::TILL_SECRET, till),
            (configuration::ALDER_SECRET, alder),
            (configuration::BROOK_SECRET, brook),
        ]
    }

    /// Every name, mail and street address, every text that a customer typed, and every secret, also as it is written in a header, that the servers send
    /// or want in this world: none of it may be found in anything that a reader keeps.
    pub fn private_texts(&self) -> Vec<String> {
        self.lock().private.clone()
    }

    /// From now on every request of the target meets the fault, until it is switched off.
    pub fn switch_on(&self, target: impl Into<Target>, fault: Fault) {
        self.lock().plan.add(target.into(), 0, None, fault);
    }

    /// The next `times` requests of the target meet the fault.
    pub fn switch_on_for(&self, target: impl Into<Target>, times: u64, fault: Fault) {
        self.lock().plan.add(target.into(), 0, Some(times), fault);
    }

    /// The fault is over, however it began.
    pub fn switch_off(&self, target: impl Into<Target>, fault: Fault) {
        self.lock().plan.remove(target.into(), fault);
    }

    /// All faults are over, those planned for later too.
    pub fn switch_all_off(&self) {
        self.lock().plan.clear();
    }

    /// How many requests reached the target so far, whatever was answered.
    pub fn requests(&self, target: impl Into<Target>) -> u64 {
        self.lock().asked.of(target.into())
    }

    /// The changes of SKUs that the till was asked for and made so far, in their order; those of the story are not among
    /// them.
    pub fn sku_changes(&self) -> Vec<SkuChange> {
        self.lock().sku_changes.clone()
    }

    /// The state is whole between any two statements that hold the lock, so a poisoned one is as good.
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
