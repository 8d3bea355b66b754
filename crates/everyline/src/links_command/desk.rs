//! The ledger, opened to change links: what is there that can be linked, and what a change would lead to.
//!
//! What a change would raise is asked of the matcher, before and after, so that a warning here is what the next round
//! finds. Must not know how a change is asked for, or told. Start reading at [`Desk`]; [`Desk::effects`] weighs a change.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use ledger::{Ledger, LedgerError, LinkPart, OwnerLink, OwnerRule, Setting, Signed};
use links::{Proposal, Vocabulary};
use matcher::{Facts, Whole};
use model::book::{LinkRow, LinkScope, Offer, Variant};
use model::finding::{Evidence, UnlinkedOffer};
use model::reading::Readings;
use model::{Book, Check, Finding, GoodRule, ListingId, Options, ShopId, Sku, SupplierId};

use super::proposals;
use super::said::Skus;
use crate::arguments::{ShopArguments, SignedArguments};
use crate::clock;
use crate::live::judge::{Prepared, Question};
use crate::opened::{Opened, of_ledger};
use crate::readings;
use crate::terminal::user;
use crate::trouble::Trouble;

/// The ledger, and what it holds of a shop.
pub(super) struct Desk {
    pub(super) ledger: Ledger,
    pub(super) shop: ShopId,
    pub(super) zone: Tz,
    pub(super) now: DateTime<Utc>,
    /// The last change that was known before anything was read.
    pub(super) seen: i64,
    prepared: Prepared,
    /// What option text is read by.
    vocabulary: Arc<Vocabulary>,
    /// What the storefront offers; where that is not known, what was bought.
    pub(super) offers: Vec<Offer>,
    /// Of the offers and the variants.
    readings: Readings,
    /// Whom the configuration and the tables name.
    pub(super) suppliers: BTreeSet<SupplierId>,
    /// The owner's links that stand.
    pub(super) links: Vec<OwnerLink>,
    /// The owner's rules that stand.
    pub(super) rules: Vec<OwnerRule>,
}

/// What a change of links would lead to.
pub(super) struct Effects {
    /// What it would raise, or raise otherwise, of links and offers.
    pub(super) raised: Vec<Finding>,
    /// The offers that would then have no link in force, or another than the intended one.
    not_in_force: BTreeMap<(ListingId, Options), UnlinkedOffer>,
}

impl Effects {
    /// What it would raise of one check.
    pub(super) fn of(&self, check: Check) -> impl Iterator<Item = &Finding> {
        self.raised.iter().filter(move |finding| finding.check == check)
    }

    /// Why an offer would not be linked in force; `None` where it would be.
    pub(super) fn not_in_force(&self, offer: &Offer) -> Option<&UnlinkedOffer> {
        self.not_in_force.get(&(offer.listing_id.clone(), offer.options.clone()))
    }

    /// The offers, by listing and options, that contradict what they would then lead to.
    pub(super) fn contradicted(&self) -> BTreeSet<(&ListingId, &Options)> {
        let mismatches = self.of(Check::LinkMismatch).filter_map(|finding| match &finding.evidence {
            Evidence::Mismatch(mismatch) => Some((&mismatch.listing_id, &mismatch.offer.options)),
            _ => None,
        });
        mismatches.collect()
    }
}

impl Desk {
    /// Opens the ledger of a configuration, and reads what is known of a shop.
    pub(super) async fn open(asked: &ShopArguments) -> Result<Self, Trouble> {
        let Opened { ledger, shop, settings } = Opened::of(asked).await?;
        let question = Question { shop, settings, as_of: None, now: clock::now() };
        Self::of(ledger, question).await.map_err(of_ledger)
    }

    /// Reads what is known of a shop in a ledger.
    pub(super) async fn of(ledger: Ledger, question: Question) -> Result<Self, LedgerError> {
        let Question { shop, settings, now, .. } = &question;
        let seen = ledger.last_link_change(shop).await?;
        let links = ledger.owner_links(shop).await?;
        let rules = ledger.owner_rules(shop).await?;
        let prepared = Prepared::of(&ledger, &question).await?;
        let book = &prepared.book;
        let readings = prepared.facts().readings;
        let (offers, of_offers) = match &book.offers {
            Some(offers) => (offers.clone(), readings.offers.clone()),
            None => {
                let offers = bought(book);
                let read = |offer: &Offer| {
                    links::read_options(&settings.vocabulary, Some(&offer.options), offer.title.as_deref())
                };
                let readings = offers.iter().map(read).collect();
                (offers, readings)
            }
        };
        let readings =
            Readings { offers: of_offers, variants: readings.variants.clone(), ..Readings::default() };
        let mut suppliers = settings.suppliers.clone();
        let of_sources = prepared.standings.all.iter().filter_map(|standing| standing.supplier.clone());
        suppliers.extend(of_sources);
        suppliers.extend(book.variants.iter().flatten().map(|row| row.supplier.clone()));
        suppliers.extend(book.submissions.iter().flatten().map(|row| row.supplier.clone()));
        let vocabulary = Arc::clone(&settings.vocabulary);
        Ok(Self {
            ledger,
            shop: shop.clone(),
            zone: settings.zone,
            now: *now,
            seen,
            prepared,
            vocabulary,
            offers,
            readings,
            suppliers,
            links,
            rules,
        })
    }

    /// What is known of the shop.
    pub(super) fn prepared(&self) -> &Prepared {
        &self.prepared
    }

    /// What option text is read by.
    pub(super) fn vocabulary(&self) -> &Vocabulary {
        &self.vocabulary
    }

    /// The offers, each with what it says.
    pub(super) fn read_offers(&self) -> impl Iterator<Item = (&Offer, &model::Reading)> {
        self.offers.iter().zip(&self.readings.offers)
    }

    /// What the suppliers make; `None` where that is not known of all of them.
    pub(super) fn variants(&self) -> Option<&[Variant]> {
        self.prepared.book.variants.as_deref()
    }

    /// The variant of a part, where it is known.
    pub(super) fn variant(&self, part: &LinkPart) -> Option<&Variant> {
        let variants = self.variants()?.iter();
        variants
            .filter(|row| row.supplier == part.supplier)
            .find(|row| Some(&row.variant_id) == part.variant_id.as_ref())
    }

    /// Whether what is on sale is known, rather than what was bought.
    pub(super) fn knows_offers(&self) -> bool {
        self.prepared.book.offers.is_some()
    }

    /// What the variants of a product say, one reading for each.
    pub(super) fn readings_of<'d>(
        &'d self,
        supplier: &'d SupplierId,
        product: &'d str,
    ) -> impl Iterator<Item = &'d model::Reading> {
        let rows = self.variants().unwrap_or_default().iter().zip(&self.readings.variants);
        rows.filter(move |(row, _)| row.supplier == *supplier && row.product.as_deref() == Some(product))
            .map(|(_, reading)| reading)
    }

    /// By what else offers and variants are known.
    pub(super) fn skus(&self) -> Skus<'_> {
        Skus::of(&self.offers, self.variants().unwrap_or_default())
    }

    /// What is found of offers and links where the owner's links are these.
    fn found(&self, owner_links: Vec<LinkRow>) -> Vec<Finding> {
        let known = &self.prepared.book;
        let stands_in = known.variants.is_none();
        let book = Book {
            offers: Some(self.offers.clone()),
            variants: known.variants.clone(),
            links: known.links.clone(),
            owner_links,
            submissions: known.submissions.clone().filter(|_| stands_in),
            submission_lines: known.submission_lines.clone().filter(|_| stands_in),
            ..Book::default()
        };
        let readings = Readings { links: readings::held(&book, &self.vocabulary), ..self.readings.clone() };
        let facts = Facts::of_tables(&readings, &[]);
        let part = matcher::reconcile_offers(&book, facts, &self.prepared.rules, self.now);
        part.outcome(&Whole::of(&book), self.now).findings
    }

    /// What is found now of offers and links.
    pub(super) fn findings(&self) -> Vec<Finding> {
        self.found(self.prepared.book.owner_links.clone())
    }

    /// What settings would lead to.
    pub(super) fn effects(&self, settings: &[Setting]) -> Effects {
        let before: BTreeMap<_, _> =
            self.findings().into_iter().map(|finding| (finding.id, finding.evidence)).collect();
        let mut rows = self.prepared.book.owner_links.clone();
        for setting in settings {
            let Setting::Link { scope, parts } = setting else { continue };
            rows.retain(|row| row.scope != *scope);
            rows.extend(parts.iter().map(|part| LinkRow {
                scope: scope.clone(),
                supplier: part.supplier.clone(),
                variant_id: part.variant_id.clone(),
                units: part.units,
                in_force: part.in_force,
            }));
        }
        let mut after = self.found(rows);
        let mut not_in_force = BTreeMap::new();
        for finding in &after {
            if let Evidence::Unlinked(unlinked) = &finding.evidence {
                not_in_force.extend(unlinked.offers.iter().map(|offer| {
                    ((unlinked.listing_id.clone(), offer.offer.options.clone()), offer.clone())
                }));
            }
        }
        after.retain(|finding| before.get(&finding.id) != Some(&finding.evidence));
        Effects { raised: after, not_in_force }
    }

    /// The offers that a link for this decides: those for which nothing of a higher rank answers.
    pub(super) fn decided_by(&self, scope: &LinkScope) -> Vec<&Offer> {
        let book = &self.prepared.book;
        let scopes: BTreeSet<&LinkScope> =
            book.links.iter().flatten().chain(&book.owner_links).map(|row| &row.scope).collect();
        let has = |scope: LinkScope| scopes.contains(&scope);
        let by_offer = |offer: &Offer| has(LinkScope::Offer(offer.listing_id.clone(), offer.options.clone()));
        let by_sku = |offer: &Offer| offer.sku.clone().is_some_and(|sku| has(LinkScope::Sku(sku)));
        let is_decided = |offer: &&Offer| match scope {
            LinkScope::Offer(listing_id, options) => {
                offer.listing_id == *listing_id && offer.options == *options
            }
            LinkScope::Sku(sku) => offer.sku.as_ref() == Some(sku) && !by_offer(offer),
            LinkScope::Listing(listing_id) => {
                offer.listing_id == *listing_id && !by_offer(offer) && !by_sku(offer)
            }
        };
        self.offers.iter().filter(is_decided).collect()
    }

    /// The offers of a listing.
    pub(super) fn offers_of<'d>(&'d self, listing_id: &'d ListingId) -> impl Iterator<Item = &'d Offer> {
        self.offers.iter().filter(move |offer| offer.listing_id == *listing_id)
    }

    /// Whether an offer or an order line bears a SKU.
    pub(super) fn bears(&self, sku: &Sku) -> bool {
        let is_it = |other: &Option<Sku>| other.as_ref() == Some(sku);
        self.offers.iter().any(|offer| is_it(&offer.sku))
            || self.prepared.book.order_lines.iter().any(|line| is_it(&line.sku))
    }

    /// What is proposed for some offers, by some rules; `None` where the variants are not known.
    pub(super) fn proposals(&self, offers: &[Offer], rules: &[GoodRule]) -> Option<Vec<Proposal>> {
        let book = (&self.prepared.book, self.prepared.facts(), &self.prepared.rules);
        self.variants().is_some().then(|| proposals((&self.vocabulary, rules), book, self.now, offers))
    }

    /// The rules that stand, without who made them.
    pub(super) fn good_rules(&self) -> Vec<GoodRule> {
        self.rules.iter().map(|rule| rule.rule.clone()).collect()
    }

    /// Keeps settings as one change; its number, or `None` where nothing is another than it was.
    pub(super) async fn keep(
        &self,
        settings: &[Setting],
        signed: &Signed,
        failed: &str,
    ) -> Result<Option<i64>, Trouble> {
        let kept = self.ledger.set_links(&self.shop, settings, signed, self.seen).await;
        kept.map_err(|error| of_change(failed, error))
    }
}

/// An error of the ledger about a change of links.
pub(super) fn of_change(failed: &str, error: LedgerError) -> Trouble {
    match error {
        LedgerError::NoSuchChange { .. }
        | LedgerError::TakenBack { .. }
        | LedgerError::ChangedSince { .. }
        | LedgerError::ChangedMeanwhile { .. } => Trouble::new(failed, error),
        error => of_ledger(error),
    }
}

/// Who says something, and why.
pub(super) fn signed(asked: &SignedArguments, now: DateTime<Utc>, failed: &str) -> Result<Signed, Trouble> {
    let by = match &asked.by {
        Some(by) => Some(by.trim().to_owned()).filter(|by| !by.is_empty()),
        None => user(),
    };
    let Some(by) = by else {
        let cause = match &asked.by {
            Some(_) => "the name after --by is empty",
            None => "this machine has no name for the user who runs it",
        };
        return Err(Trouble::new(failed, cause).help("say with --by who says so: it is kept with the change"));
    };
    let why = asked.why.as_deref().map(str::trim).filter(|why| !why.is_empty()).map(str::to_owned);
    Ok(Signed { by, why, at: now })
}

/// What was bought, each once, as if it were on sale.
fn bought(book: &Book) -> Vec<Offer> {
    let mut offers: BTreeMap<(&ListingId, &Options), Offer> = BTreeMap::new();
    for line in &book.order_lines {
        if let (Some(listing_id), Some(options)) = (&line.listing_id, &line.options) {
            offers.insert(
                (listing_id, options),
                Offer {
                    listing_id: listing_id.clone(),
                    sku: line.sku.clone(),
                    title: line.title.clone(),
                    options: options.clone(),
                    price: None,
                    currency: None,
                    buyable: true,
                },
            );
        }
    }
    offers.into_values().collect()
}
