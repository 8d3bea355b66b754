//! One order of a shop as its last round saw it, without reading the whole ledger again.
//!
//! Must not know how an order is shown. Start reading at [`Near`].

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use ledger::{Connected, Ledger, LedgerError, OrderHistory};
use matcher::{Facts, Group, OrderAccount};
use model::{OrderId, Rules, ShopId};

use super::judge::Prepared;
use crate::configuration::Settings;
use crate::readings;

/// What a round leaves behind, by which single orders are looked up until the next.
#[derive(Clone, Debug)]
pub struct Near {
    near: matcher::Near,
    rules: Rules,
    behind: matcher::Behind,
    /// What has come since is newer.
    asked_at: DateTime<Utc>,
}

/// An order with what became of its units.
#[derive(Clone, Debug)]
pub struct Found {
    /// The orders that submissions connect with it, itself among them: of all orders, a reference of these means no others.
    pub orders: Vec<OrderId>,
    /// The order, of its submissions those that the round knew.
    pub history: OrderHistory,
    /// What became of its units; `None` where the order is newer than the round.
    pub account: Option<OrderAccount>,
}

impl Near {
    /// Of what a round judged. `None` where the shop has no table of variants: its orders are looked up in the whole ledger.
    pub fn of(prepared: &Prepared) -> Option<Self> {
        let Prepared { book, rules, whole, standings, .. } = prepared;
        let near = matcher::Near::of_part(book, rules, standings.as_of, *whole)?;
        Some(Self {
            near,
            rules: rules.clone(),
            behind: prepared.facts().behind.clone(),
            asked_at: prepared.asked_at,
        })
    }

    /// The moment for which it holds.
    pub fn as_of(&self) -> DateTime<Utc> {
        self.near.as_of()
    }

    /// Looks an order up. What is set aside at `now` says so.
    ///
    /// # Errors
    /// Where the ledger cannot be read.
    pub async fn order(
        &self,
        ledger: &Ledger,
        (shop, settings): (&ShopId, &Arc<Settings>),
        order_id: &OrderId,
        now: DateTime<Utc>,
    ) -> Result<Looked, LedgerError> {
        let Some(Group { orders, submissions, own }) = self.group(ledger, shop, order_id).await? else {
            return Ok(Looked::TooLarge);
        };
        let connected = Connected { orders: &orders, submissions: &submissions, own: &own };
        let Some((history, mut book)) = ledger.order_near(shop, order_id, &connected, now).await? else {
            return Ok(Looked::Unknown);
        };
        self.near.add_goods(&mut book);
        let readings = readings::read_book(&book, &settings.vocabulary);
        let cut_offs =
            forecast::cut_offs(book.submissions.as_deref().unwrap_or_default(), &settings.cut_offs);
        let changes = BTreeMap::new();
        let facts = Facts {
            readings: &readings,
            cut_offs: &cut_offs,
            behind: &self.behind,
            // An account does not speak of addresses.
            address_changes: &changes,
        };
        let as_of = self.near.as_of();
        let account =
            matcher::account_of_order(&book, facts, &self.rules, as_of, self.near.whole(), order_id);
        Ok(Looked::Found(Box::new(Found { orders, history, account })))
    }

    /// With what an order is connected: as the round saw it, or as it was when it was closed. `None` where that is too much, or
    /// cannot be told: it was closed when the round began, and is open since.
    async fn group(
        &self,
        ledger: &Ledger,
        shop: &ShopId,
        order_id: &OrderId,
    ) -> Result<Option<Group>, LedgerError> {
        if self.near.knows(order_id) {
            return Ok(self.near.group(order_id));
        }
        if let Some((orders, submissions)) = ledger.closed_with(shop, order_id).await? {
            return Ok(Some(Group { orders, own: submissions.clone(), submissions }));
        }
        let seen = ledger.first_seen(shop, order_id).await?;
        let is_newer = seen.is_none_or(|seen| seen >= self.asked_at);
        Ok(is_newer.then(|| Group { orders: vec![order_id.clone()], ..Group::default() }))
    }
}

/// What comes of looking an order up.
#[derive(Clone, Debug)]
pub enum Looked {
    /// It is kept.
    Found(Box<Found>),
    /// It is not.
    Unknown,
    /// Merged submissions connect it with so many others that the whole ledger is to be asked.
    TooLarge,
}
