//! What the commands on the ledger begin with: the configuration, the ledger, and something to run on.
//!
//! Start reading at [`Opened`].

use std::future::Future;
use std::path::Path;
use std::sync::Arc;

use ledger::{Ledger, LedgerError};
use model::ShopId;

use crate::arguments::ShopArguments;
use crate::configuration::{Configuration, Settings};
use crate::trouble::Trouble;

/// How many threads ask and judge.
const THREADS: usize = 2;

/// The ledger, and the shop that is meant.
pub struct Opened {
    /// What `everyline watch` fills.
    pub ledger: Ledger,
    /// The shop.
    pub shop: ShopId,
    /// What is in force for it.
    pub settings: Arc<Settings>,
}

impl Opened {
    /// Reads the configuration, and opens the ledger that it names.
    ///
    /// # Errors
    /// Where the configuration cannot be used, the shop is not clear, or there is no ledger.
    pub async fn of(asked: &ShopArguments) -> Result<Self, Trouble> {
        Self::from(&asked.config, asked.shop.as_deref()).await
    }

    /// The same, of a file and a shop.
    ///
    /// # Errors
    /// As [`Self::of`].
    pub async fn from(config: &Path, shop: Option<&str>) -> Result<Self, Trouble> {
        let configuration = Configuration::read(config)?;
        let (shop, settings) = configuration.shop(shop)?;
        let path = &configuration.ledger;
        if !path.exists() {
            return Err(Trouble::new("there is nothing to look at yet", format!("{} is not there", path.display()))
                .help("`everyline watch` makes the ledger and fills it; --config names the configuration that says where it is"));
        }
        let ledger = Ledger::open(path).await.map_err(of_ledger)?;
        Ok(Self { ledger, shop: shop.clone(), settings: Arc::new(settings.clone()) })
    }
}

/// An error of the ledger, as people read it.
pub fn of_ledger(error: LedgerError) -> Trouble {
    Trouble::new("the ledger could not be used", error)
}

/// Runs something to its end.
///
/// # Errors
/// What it ends with, or where the system gives no threads.
pub fn run<T>(work: impl Future<Output = Result<T, Trouble>>) -> Result<T, Trouble> {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(THREADS).enable_all().build();
    let runtime = runtime.map_err(|error| Trouble::new("nothing was done", error))?;
    runtime.block_on(work)
}
