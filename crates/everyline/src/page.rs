//! The page: what the crate `web` asks for, answered from the ledger and from what the last rounds found.
//!
//! Must not know what a page shows. Start reading at [`PageDesk`]; [`open`] serves it.

mod listings;
mod sending;
mod sources;
mod trends;
mod trials;

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use chrono::{DateTime, SubsecRound, Utc};
use intake::source::http::World;
use ledger::{Ledger, LedgerError, SetAside};
use model::{OrderId, ShopId};
use secrecy::ExposeSecret;
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, SemaphorePermit, watch};
use tokio::task::JoinHandle;
use tracing::{info, warn};
use web::access::{Role, Wanted};
use web::{Access, Answer, App, Aside, Desk, Fault, Round, Shop, view};

use crate::audit::USUAL_CONFIGURATION;
use crate::configuration::{Configuration, Page, Recipient, Settings};
use crate::live::judge::{DoneByHand, Judged, Prepared, Question, elsewhere};
use crate::live::near::Near;
use crate::live::rounds::Happening;
use crate::order::{self, Ahead, NotShown, quoted};
use crate::sending::{secret, sources_read};
use crate::trial::Trials;

/// What single orders of each shop are looked up by.
type NearOfShops = BTreeMap<ShopId, Arc<(Near, Ahead)>>;

/// What the pages ask. It is told of each round.
pub struct PageDesk {
    ledger: Ledger,
    world: Arc<dyn World>,
    shops: BTreeMap<ShopId, Arc<Settings>>,
    /// What stands behind commands that a page names, for all shops.
    behind: String,
    rounds: Mutex<BTreeMap<ShopId, Arc<Round>>>,
    /// The listings of each shop as they were looked at last.
    shelves: Mutex<BTreeMap<ShopId, listings::Kept>>,
    /// Who is told.
    recipients: BTreeMap<String, Recipient>,
    /// Files that are tried.
    trials: Arc<Trials>,
    /// Where the configuration and the ledger are.
    file: PathBuf,
    ledger_at: PathBuf,
    /// What single orders are looked up by, of each shop.
    near: Arc<Mutex<NearOfShops>>,
    changes: watch::Sender<u64>,
    /// What is sent.
    sends: Arc<sending::Sends>,
    /// What happened on each day.
    trends: trends::Trends,
    /// One order at a time: each takes as much memory as what is known of its shop.
    orders: Semaphore,
}

impl PageDesk {
    /// A desk of which nothing is known yet. `file` is the configuration's.
    pub fn new(configuration: &Configuration, file: &Path, ledger: Ledger, world: Arc<dyn World>) -> Self {
        let shops = configuration.shops.iter();
        let shops = shops.map(|(shop, settings)| (shop.clone(), Arc::new(settings.clone()))).collect();
        let behind = match file == Path::new(USUAL_CONFIGURATION) {
            true => String::new(),
            false => format!(" --config {}", quoted(&file.display().to_string())),
        };
        let changes = watch::Sender::new(0);
        Self {
            ledger,
            world,
            shops,
            behind,
            rounds: Mutex::default(),
            shelves: Mutex::default(),
            recipients: configuration.sending.recipients.clone(),
            trials: Arc::new(Trials::new(&configuration.ledger)),
            file: file.to_owned(),
            ledger_at: configuration.ledger.clone(),
            near: Arc::default(),
            sends: sending::Sends::new(changes.clone()),
            changes,
            trends: trends::Trends::default(),
            orders: Semaphore::new(1),
        }
    }

    /// The same, where files that are tried are looked at no longer than this.
    #[must_use]
    pub fn trying_for(mut self, span: Duration) -> Self {
        if let Some(trials) = Arc::get_mut(&mut self.trials) {
            trials.worked_for = span;
        }
        self
    }

    /// Hears of what happens in a round.
    pub fn hear(&self, happening: &Happening<'_>) {
        if let Happening::Judged { shop, judged, prepared, .. } = happening {
            let Some(settings) = self.shops.get(*shop) else { return };
            let round = Arc::new(round(shop, settings, judged, self.now()));
            let (at, changes) = ((round.judged_at, round.outcome.as_of), self.changes.clone());
            self.trends.count(&self.ledger, &round.shop, settings, at, move || {
                changes.send_modify(|number| *number += 1);
            });
            self.rounds
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .insert((*shop).clone(), Arc::clone(&round));
            self.changed();
            self.keep_near(Arc::clone(settings), round, Arc::clone(prepared), judged.by_hand.clone());
        }
    }

    /// Keeps what single orders are looked up by. For a large shop that takes a moment, in which the last one serves.
    fn keep_near(
        &self,
        settings: Arc<Settings>,
        round: Arc<Round>,
        prepared: Arc<Prepared>,
        by_hand: Vec<DoneByHand>,
    ) {
        let (kept, ledger, behind) =
            (Arc::clone(&self.near), self.ledger.clone(), self.behind(&round.shop.id));
        tokio::spawn(async move {
            let shop = round.shop.id.clone();
            // Where they cannot be read, whoever looks at such an order is told so.
            let rules = ledger.owner_rules(&shop).await;
            let made = move || {
                let near = Near::of(&prepared)?;
                let ahead = rules.map(|rules| {
                    let rules: Vec<_> = rules.into_iter().map(|rule| rule.rule).collect();
                    let words = (&*settings.vocabulary, &rules[..]);
                    Ahead::of_findings(words, &prepared.book, &round.outcome.findings, &by_hand, &behind)
                });
                Some(Arc::new((near, ahead.unwrap_or_default())))
            };
            let near = elsewhere(made).await;
            let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
            match near {
                Some(near) => kept.insert(shop, near),
                None => kept.remove(&shop),
            };
        });
    }

    fn near_of(&self, shop: &ShopId) -> Option<Arc<(Near, Ahead)>> {
        self.near.lock().unwrap_or_else(PoisonError::into_inner).get(shop).cloned()
    }

    fn changed(&self) {
        self.changes.send_modify(|number| *number += 1);
    }

    fn round_of(&self, shop: &ShopId) -> Option<Arc<Round>> {
        self.rounds.lock().unwrap_or_else(PoisonError::into_inner).get(shop).cloned()
    }

    /// Waits for its turn with what takes as much memory as all that is known of a shop.
    async fn alone(&self) -> Result<SemaphorePermit<'_>, Fault> {
        self.orders.acquire().await.map_err(|_| Fault::Trouble { why: "it ends".to_owned() })
    }

    /// What is in force for a shop; `todo` is what to do where there is none.
    fn settings_of(&self, shop: &ShopId, todo: &str) -> Result<Arc<Settings>, Fault> {
        self.shops.get(shop).cloned().ok_or_else(|| Fault::NotThere {
            what: "there is no such shop".to_owned(),
            todo: todo.to_owned(),
        })
    }

    /// What stands behind a command that is named for a shop.
    fn behind(&self, shop: &ShopId) -> String {
        match self.shops.len() {
            1 => self.behind.clone(),
            _ => format!(" --shop {shop}{}", self.behind),
        }
    }

    async fn look(&self, shop: &ShopId, order: &OrderId) -> Result<view::Order, Fault> {
        let settings = self.settings_of(shop, "begin at the queue")?;
        let Some(round) = self.round_of(shop) else {
            return Err(Fault::NotThere {
                what: "the shop has not been looked at yet".to_owned(),
                todo: "try again in a moment".to_owned(),
            });
        };
        let question = Question { shop: shop.clone(), settings, as_of: None, now: self.now() };
        let found = &round.outcome.findings;
        if let Some(near) = self.near_of(shop)
            && let Some(order) = order::look_near((&near.0, &near.1), &self.ledger, &question, order, found)
                .await
                .map_err(not_shown)?
        {
            return Ok(order);
        }
        let _alone = self.alone().await?;
        let behind = self.behind(shop);
        order::look(&self.ledger, &question, order, found, &behind).await.map_err(not_shown)
    }
}

fn not_shown(why: NotShown) -> Fault {
    match why {
        NotShown::Unknown { cause, help } => Fault::NotThere { what: cause, todo: help },
        NotShown::Ledger(error) => of_ledger(&error),
    }
}

fn round(shop: &ShopId, settings: &Settings, judged: &Judged, now: DateTime<Utc>) -> Round {
    Round {
        shop: Shop { id: shop.clone(), zone: settings.zone },
        judged_at: now,
        outcome: judged.outcome.clone(),
        sources: sources_read(&judged.standings),
    }
}

fn of_ledger(error: &LedgerError) -> Fault {
    match error {
        LedgerError::NoSuchFinding { .. } => Fault::NotThere {
            what: "no such finding stands".to_owned(),
            todo: "look at the queue: its cause may be gone meanwhile".to_owned(),
        },
        // What is the matter in full is said where everyline runs; a path has no place on a page.
        _ => {
            warn!("the page could not use the ledger: {error}");
            Fault::Trouble { why: "the ledger could not be used".to_owned() }
        }
    }
}

impl Desk for PageDesk {
    fn now(&self) -> DateTime<Utc> {
        self.world.now().trunc_subsecs(0)
    }

    fn shops(&self) -> Vec<Shop> {
        self.shops.iter().map(|(id, settings)| Shop { id: id.clone(), zone: settings.zone }).collect()
    }

    fn rounds(&self) -> Vec<Arc<Round>> {
        self.rounds.lock().unwrap_or_else(PoisonError::into_inner).values().cloned().collect()
    }

    fn changes(&self) -> watch::Receiver<u64> {
        self.changes.subscribe()
    }

    fn is_there(&self) -> Answer<'_, ()> {
        Box::pin(async {
            for shop in self.shops.keys().take(1) {
                self.ledger.rounds(shop).await.map_err(|error| of_ledger(&error))?;
            }
            Ok(())
        })
    }

    fn asides(&self) -> Answer<'_, BTreeMap<String, BTreeMap<String, Aside>>> {
        Box::pin(async move {
            let asides = self.ledger.asides(self.now()).await.map_err(|error| of_ledger(&error))?;
            let aside = |(id, SetAside { note, until })| (id, Aside { note, until });
            let of_shop = |(shop, own): (ShopId, BTreeMap<String, SetAside>)| {
                (shop.to_string(), own.into_iter().map(aside).collect())
            };
            Ok(asides.into_iter().map(of_shop).collect())
        })
    }

    fn set_aside<'a>(&'a self, shop: &'a ShopId, finding: &'a str, aside: &'a Aside) -> Answer<'a, ()> {
        Box::pin(async move {
            let aside = SetAside { note: aside.note.clone(), until: aside.until };
            let kept = self.ledger.set_aside(shop, finding, &aside, self.now()).await;
            kept.map_err(|error| of_ledger(&error))?;
            self.changed();
            Ok(())
        })
    }

    fn take_back<'a>(&'a self, shop: &'a ShopId, finding: &'a str) -> Answer<'a, ()> {
        Box::pin(async move {
            let taken = self.ledger.take_back(shop, finding, self.now()).await;
            if !taken.map_err(|error| of_ledger(&error))? {
                return Err(Fault::NotThere {
                    what: "that is not set aside".to_owned(),
                    todo: "look at the queue: it may stand there again already".to_owned(),
                });
            }
            self.changed();
            Ok(())
        })
    }

    fn order<'a>(&'a self, shop: &'a ShopId, order: &'a OrderId) -> Answer<'a, view::Order> {
        Box::pin(self.look(shop, order))
    }
}

/// A page that is served.
pub struct Served {
    /// Where.
    pub address: SocketAddr,
    /// Ends once it was told to stop.
    pub task: JoinHandle<()>,
}

impl Served {
    /// As a browser on this machine has it.
    pub fn url(&self) -> String {
        let mut address = self.address;
        if address.ip().is_unspecified() {
            address.set_ip(match address {
                SocketAddr::V4(_) => std::net::Ipv4Addr::LOCALHOST.into(),
                SocketAddr::V6(_) => std::net::Ipv6Addr::LOCALHOST.into(),
            });
        }
        format!("http://{address}/")
    }
}

/// Serves the page until `stop` says so; an error is why not, in words.
///
/// # Errors
/// Where the address cannot be had, a secret cannot be read, or anybody on the network could act.
pub async fn open(
    page: &Page,
    listen: SocketAddr,
    desk: Arc<PageDesk>,
    stop: watch::Receiver<bool>,
) -> Result<Served, String> {
    let wanted = wanted(page)?;
    // Before anybody can connect.
    Access::checked(listen, &wanted).map_err(|unfit| unfit.to_string())?;
    let listener = TcpListener::bind(listen).await.map_err(|error| format!("{listen}: {error}"))?;
    let address = listener.local_addr().map_err(|error| error.to_string())?;
    let access = Access::checked(address, &wanted).map_err(|unfit| unfit.to_string())?;
    let sends = Arc::clone(&desk.sends);
    sends.ends_with(stop.clone());
    let service = web::service(App::new(desk, access, stop.clone()));
    let task = tokio::spawn(async move {
        web::serve(listener, service, stop).await;
        // What is being sent ends between two offers.
        sends.ended().await;
    });
    Ok(Served { address, task })
}

/// The same for the daemon: without the page it goes on, and says so.
pub async fn open_or_warn(
    configuration: &Configuration,
    desk: &Arc<PageDesk>,
    stop: watch::Receiver<bool>,
) -> Option<Served> {
    let page = &configuration.page;
    match open(page, page.listen?, Arc::clone(desk), stop).await {
        Ok(served) => {
            info!("the page is at {}", served.url());
            Some(served)
        }
        Err(why) => {
            warn!(
                "the page is not served: {}; everything else goes on. `listen` under [page] of the configuration says where \
                 it is to be, \"off\" that it is not",
                digest::clean(why)
            );
            None
        }
    }
}

/// How the page may be reached, with its secrets.
///
/// # Errors
/// Where one cannot be had.
pub fn wanted(page: &Page) -> Result<Wanted, String> {
    let mut wanted =
        Wanted { hosts: page.hosts.clone(), is_behind_tls: page.behind_tls, ..Wanted::default() };
    for (role, reference) in [(Role::Act, &page.password_hash), (Role::Look, &page.look_password_hash)] {
        if let Some(reference) = reference {
            wanted.passwords.push((role, secret(reference)?.expose_secret().to_owned()));
        }
    }
    for (role, reference) in &page.tokens {
        wanted.tokens.push((*role, secret(reference)?.expose_secret().to_owned()));
    }
    Ok(wanted)
}
