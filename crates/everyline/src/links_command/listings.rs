//! Listings for the page: where each offer leads and could lead, and what the owner accepts of that.
//!
//! The words and the order are those of `links check` and `links propose`; `grid` lays the offers out. Must not know how a
//! page looks. Start reading at [`Looked`].

mod grid;

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use digest::{Clock, say};
use ledger::{Ledger, LedgerError, Setting, Signed, Step};
use links::{Answer, Proposal};
use model::book::{LinkScope, Offer, Variant};
use model::finding::{Evidence, Part, Reason, UnlinkedOffer};
use model::{Finding, ListingId, Options, Reading, Sku};
use sha2::{Digest, Sha256};
use web::view::{
    LinkChange, LinkState, LinkTally, Listing, ListingFinding, ListingInShort, Moment, OfferLink, Proposed,
    Sending, Shelf, Words, listing_page,
};

use super::check::{Checked, State, checked, sold};
use super::desk::Desk;
use super::{intended, unlinked};
use crate::live::judge::{Question, elsewhere};
use crate::order::{proposal, quoted, variant_said};

/// The most offers of a listing that are shown, and for which anything is proposed.
const OFFERS: usize = 1_000;

/// The most findings of a listing that are told one by one.
const FINDINGS: usize = 30;

/// Why something was not kept.
pub enum NotKept {
    /// There is no such listing.
    NoListing,
    /// What is proposed is another than what was shown, or nothing any more.
    Otherwise,
    /// The change is not the last one of the listing.
    NotTheLast,
    /// The ledger could not be used, or something was changed meanwhile.
    Ledger(LedgerError),
}

impl From<LedgerError> for NotKept {
    fn from(error: LedgerError) -> Self {
        Self::Ledger(error)
    }
}

/// What is known of the links of a shop.
pub struct Looked {
    desk: Arc<Desk>,
    /// What stands behind commands that are named.
    behind: String,
}

impl Looked {
    /// Reads it.
    ///
    /// # Errors
    /// Where the ledger cannot be read.
    pub async fn of(ledger: Ledger, question: Question, behind: String) -> Result<Self, LedgerError> {
        Ok(Self { desk: Arc::new(Desk::of(ledger, question).await?), behind })
    }

    /// The last change of links that was known when it was read.
    pub fn seen(&self) -> i64 {
        self.desk.seen
    }

    /// All listings.
    pub async fn shelf(&self) -> Shelf {
        let desk = Arc::clone(&self.desk);
        elsewhere(move || shelf(&desk)).await
    }

    /// One listing; `None` where there is none.
    ///
    /// # Errors
    /// Where the ledger cannot be read.
    pub async fn listing(&self, listing_id: &ListingId) -> Result<Option<Listing>, LedgerError> {
        let (desk, id, behind) = (Arc::clone(&self.desk), listing_id.clone(), self.behind.clone());
        let seen = self.desk.ledger.skus_seen_since_read(&self.desk.shop).await?;
        let of_listing = seen.into_iter().filter(|seen| seen.listing_id == *listing_id);
        let sent: Sent = of_listing.map(|seen| (seen.options, seen.sku)).collect();
        let Some(mut listing) = elsewhere(move || listing(&desk, &id, (&sent, &behind))).await else {
            return Ok(None);
        };
        listing.last_change = self.last_change(listing_id).await?;
        Ok(Some(listing))
    }

    /// Keeps what was proposed for an offer, or for all of the listing; the number of the change.
    ///
    /// # Errors
    /// Where it is another than what was shown, or the ledger cannot be used.
    pub async fn accept(
        &self,
        listing_id: &ListingId,
        (offer, shown): (Option<&str>, &str),
        signed: &Signed,
    ) -> Result<i64, NotKept> {
        let (desk, id) = (Arc::clone(&self.desk), listing_id.clone());
        let acceptable = elsewhere(move || {
            let findings = desk.findings();
            let offers: Vec<&Offer> = desk.offers_of(&id).collect();
            (!offers.is_empty()).then(|| Offered::of(&desk, &id, &findings, listed(&desk, &id, &findings)))
        })
        .await;
        let Some(offered) = acceptable else { return Err(NotKept::NoListing) };
        let mut meant: Vec<&Acceptable> = offered.acceptable.iter().collect();
        if let Some(key) = offer {
            meant.retain(|one| one.key == key);
        }
        if meant.is_empty() || proof(&meant) != shown {
            return Err(NotKept::Otherwise);
        }
        let settings: Vec<Setting> = meant.iter().map(|one| one.setting.clone()).collect();
        let kept = self.desk.ledger.set_links(&self.desk.shop, &settings, signed, self.desk.seen).await?;
        kept.ok_or(NotKept::Otherwise)
    }

    /// Takes a change back that is the last one of this listing.
    ///
    /// # Errors
    /// Where it is not, or the ledger cannot be used.
    pub async fn undo(&self, listing_id: &ListingId, change: i64, signed: &Signed) -> Result<(), NotKept> {
        let last = self.last_change(listing_id).await?;
        if last.is_none_or(|last| last.number != change) {
            return Err(NotKept::NotTheLast);
        }
        self.desk.ledger.undo_links(&self.desk.shop, change, signed).await?;
        Ok(())
    }

    /// The last change of a listing that stands and takes nothing back.
    async fn last_change(&self, listing_id: &ListingId) -> Result<Option<LinkChange>, LedgerError> {
        let changes = self.desk.ledger.link_changes(&self.desk.shop).await?;
        let skus: HashSet<_> =
            self.desk.offers_of(listing_id).filter_map(|offer| offer.sku.clone()).collect();
        let is_its = |step: &&Step| match step {
            Step::Link { scope: LinkScope::Offer(id, _) | LinkScope::Listing(id), .. } => id == listing_id,
            Step::Link { scope: LinkScope::Sku(sku), .. } => skus.contains(sku),
            Step::Rule { .. } => false,
        };
        let last = changes.iter().rev().find(|change| {
            let stands = change.note.undone_by.is_none() && change.note.undoes.is_none();
            stands && change.steps.iter().any(|step| is_its(&step))
        });
        let clock = Clock::of_a_reader(self.desk.zone, self.desk.now);
        Ok(last.map(|change| {
            let links = change.steps.iter().filter(is_its).count();
            let signed = &change.note.signed;
            LinkChange {
                number: change.note.number,
                by: Words::outside(&signed.by),
                at: Moment::new(signed.at, &clock),
                why: signed.why.as_ref().map(Words::outside),
                links: links as u64,
                others: (change.steps.len() - links) as u64,
            }
        }))
    }
}

fn state(state: State) -> LinkState {
    match state {
        State::NotOnSale => LinkState::NotOnSale,
        State::Linked | State::OwnStock => LinkState::Linked,
        State::LossMaking => LinkState::BelowCost,
        State::Intended => LinkState::Intended,
        State::Unusable => LinkState::LeadsNowhere,
        State::Contradictory => LinkState::Contradictory,
        State::Unlinked => LinkState::Unlinked,
    }
}

/// What is not known of offers and variants.
fn doubt(desk: &Desk) -> Option<Words> {
    let words = match (desk.knows_offers(), desk.variants()) {
        (true, Some(_)) => return None,
        (false, _) => "what is on sale has not been read; these are the offers that were bought",
        (true, None) => {
            "not all suppliers' variants have been read: nothing is proposed, and whether a link leads to something that \
             can be had is not known"
        }
    };
    Some(Words::ours(words))
}

fn shelf(desk: &Desk) -> Shelf {
    let findings = desk.findings();
    let listings = checked(desk.read_offers(), &desk.prepared().book, &findings);
    let in_short = listings.iter().map(|listing| ListingInShort {
        listing_id: listing.listing_id.clone(),
        title: Words::outside(listing.title.unwrap_or_default()),
        page: listing_page(desk.shop.as_str(), listing.listing_id),
        sold: listing.sold,
        sold_without: listing.sold_unlinked,
        tally: tally(listing),
    });
    Shelf { as_of: as_of(desk), doubt: doubt(desk), listings: in_short.collect() }
}

fn as_of(desk: &Desk) -> Moment {
    Moment::new(desk.prepared().standings.as_of, &Clock::of_a_reader(desk.zone, desk.now))
}

fn tally(listing: &Checked<'_>) -> LinkTally {
    let mut tally = LinkTally::default();
    for (offer, _) in &listing.offers {
        tally.add(state_of(listing, offer));
    }
    tally
}

fn state_of(listing: &Checked<'_>, offer: &Offer) -> LinkState {
    state(listing.states.get(&offer.options).copied().unwrap_or(State::Linked))
}

/// The offers of a listing that are shown, the worst first, then by options.
fn in_order<'a>(listing: &Checked<'a>) -> Vec<(&'a Offer, &'a Reading, LinkState)> {
    let offers = listing.offers.iter();
    let mut offers: Vec<_> =
        offers.map(|(offer, reading)| (*offer, *reading, state_of(listing, offer))).collect();
    offers.sort_by(|one, other| other.2.cmp(&one.2).then_with(|| one.0.options.cmp(&other.0.options)));
    offers.truncate(OFFERS);
    offers
}

/// The same offers, without what is said of them.
fn listed(desk: &Desk, listing_id: &ListingId, findings: &[Finding]) -> Vec<Offer> {
    let own = desk.read_offers().filter(|(offer, _)| offer.listing_id == *listing_id);
    let listings = checked(own, &desk.prepared().book, findings);
    let listing = listings.iter().find(|listing| listing.listing_id == listing_id);
    listing
        .map(|listing| in_order(listing).into_iter().map(|(offer, ..)| offer.clone()).collect())
        .unwrap_or_default()
}

fn listing(desk: &Desk, listing_id: &ListingId, (sent, behind): (&Sent, &str)) -> Option<Listing> {
    let findings = desk.findings();
    let own = desk.read_offers().filter(|(offer, _)| offer.listing_id == *listing_id);
    let listings = checked(own, &desk.prepared().book, &findings);
    let listing = listings.into_iter().find(|listing| listing.listing_id == listing_id)?;
    let offers = in_order(&listing);
    let offered =
        Offered::of(desk, listing_id, &findings, offers.iter().map(|(offer, ..)| (*offer).clone()).collect());
    let sold = sold(&desk.prepared().book);
    let led = led(desk, listing_id);
    let said = Said::of(&listing.findings);
    let links: Vec<OfferLink> = offers
        .iter()
        .zip(&offered.proposals)
        .map(|((offer, _, state), made)| {
            let key = key(offer);
            let of_unlinked = said.unlinked.get(&offer.options);
            let is_open =
                *state == LinkState::Unlinked && of_unlinked.is_some_and(|offer| offer.intended.is_empty());
            let shown = offered.acceptable.iter().find(|one| one.key == key).map(|one| proof(&[one]));
            OfferLink {
                options: options(offer),
                sku: offer.sku.as_ref().map(|sku| Words::outside(sku.as_str())),
                sold: sold.get(&(listing_id, &offer.options)).copied().unwrap_or(0),
                state: *state,
                leads_to: leads_to(led.get(&offer.options), of_unlinked.copied()),
                intended: of_unlinked
                    .map(|offer| offer.intended.iter().map(|part| Words::ours(part_said(part))).collect())
                    .unwrap_or_default(),
                why: match sent_sku(sent, offer) {
                    Some(sku) => vec![Words::ours(sku)],
                    None => why(desk, offer, *state, &said, led.contains_key(&offer.options)),
                },
                proposal: made.as_ref().filter(|_| is_open).map(|made| {
                    let of = (listing_id, &offer.options);
                    proposal(made, desk.variants().unwrap_or_default(), of, behind)
                }),
                shown: shown.filter(|_| is_open),
                key,
            }
        })
        .collect();
    let intended = links.iter().filter(|offer| offer.state == LinkState::Intended).count();
    let intended_and_sent = offers
        .iter()
        .filter(|(offer, _, state)| *state == LinkState::Intended && sent_sku(sent, offer).is_some());
    let sent = intended_and_sent.count() as u64;
    let acceptable: Vec<&Acceptable> = offered.acceptable.iter().collect();
    Some(Listing {
        shop: desk.shop.as_str().to_owned(),
        listing_id: listing_id.clone(),
        title: Words::outside(listing.title.unwrap_or_default()),
        as_of: as_of(desk),
        doubt: doubt(desk),
        sold: listing.sold,
        sold_without: listing.sold_unlinked,
        tally: tally(&listing),
        findings: told(&listing.findings, desk),
        grids: grid::drawn(desk.vocabulary(), &offers, &links),
        offers_in_all: listing.offers.len() as u64,
        offers: links,
        proposed: (!acceptable.is_empty())
            .then(|| Proposed { offers: acceptable.len() as u64, shown: proof(&acceptable) }),
        last_change: None,
        sending: (intended > 0).then(|| Sending {
            offers: intended as u64,
            sent,
            command: command(listing_id, behind),
        }),
    })
}

/// What stands at the storefront since it was read, by listing and options.
type Sent = HashMap<Options, Option<Sku>>;

/// What is to be said of an offer of which the SKU was changed since the storefront was read.
fn sent_sku(sent: &Sent, offer: &Offer) -> Option<String> {
    let seen = sent.get(&offer.options)?;
    let has = match seen {
        _ if *seen == offer.sku => return None,
        Some(sku) => format!("it has the SKU {sku} there now"),
        None => "it has no SKU there now".to_owned(),
    };
    Some(format!("sent: {has}; in force once the storefront has been read again"))
}

/// What a customer chooses, by the names of the options.
fn options(offer: &Offer) -> Words {
    Words::outside(offer.options.named())
}

/// What tells an offer from all others of a shop, whatever stands in it.
fn key(offer: &Offer) -> String {
    let options: BTreeMap<&str, &str> = offer.options.folded().collect();
    in_short(&serde_json::json!([offer.listing_id.as_str(), options]))
}

/// The first 12 bytes of a digest, written as hexadecimal numbers.
fn in_short(value: &serde_json::Value) -> String {
    let digest = Sha256::digest(value.to_string());
    digest.iter().take(12).map(|byte| format!("{byte:02x}")).collect()
}

/// What is wrong, told once.
fn told(findings: &[&Finding], desk: &Desk) -> Vec<ListingFinding> {
    let told = findings.iter().take(FINDINGS);
    told.map(|finding| ListingFinding { check: finding.check, words: Words::ours(say(finding, desk.zone)) })
        .collect()
}

/// What the findings of a listing say of its offers.
struct Said<'a> {
    unlinked: HashMap<&'a Options, &'a UnlinkedOffer>,
}

impl<'a> Said<'a> {
    fn of(findings: &[&'a Finding]) -> Self {
        let evidence = findings.iter().filter_map(|finding| match &finding.evidence {
            Evidence::Unlinked(evidence) => Some(&evidence.offers),
            _ => None,
        });
        let unlinked = evidence.flatten().map(|offer| (&offer.offer.options, offer));
        Self { unlinked: unlinked.collect() }
    }
}

/// The variants that the offers of a listing lead to.
fn led<'d>(desk: &'d Desk, listing_id: &ListingId) -> HashMap<&'d Options, Vec<&'d Variant>> {
    let book = &desk.prepared().book;
    let offers = book.offers.as_deref().unwrap_or_default();
    let variants = desk.variants().unwrap_or_default();
    let mut led: HashMap<&Options, Vec<&Variant>> = HashMap::new();
    for (offer, variant) in matcher::links_of_offers(book) {
        let (Some(offer), Some(variant)) = (offers.get(offer), variants.get(variant)) else { continue };
        if offer.listing_id == *listing_id {
            led.entry(&offer.options).or_default().push(variant);
        }
    }
    led
}

fn leads_to(led: Option<&Vec<&Variant>>, unlinked: Option<&UnlinkedOffer>) -> Vec<Words> {
    match unlinked {
        Some(offer) => offer.in_force.iter().map(|part| Words::ours(part_said(part))).collect(),
        None => led.into_iter().flatten().map(|variant| variant_said(variant)).collect(),
    }
}

/// `alder-print AP-77`, `2 x alder-print AP-77`.
fn part_said(part: &Part) -> String {
    let Some(variant_id) = part.variant_id.as_ref().filter(|_| !part.supplier.is_own()) else {
        return "what you pack yourself".to_owned();
    };
    let name = format!("{} {variant_id}", part.supplier);
    if part.units == 1 { name } else { format!("{} x {name}", part.units) }
}

/// What is to be said of an offer, beside its state.
fn why(desk: &Desk, offer: &Offer, state: LinkState, said: &Said<'_>, is_led: bool) -> Vec<Words> {
    let words = match (said.unlinked.get(&offer.options), state) {
        (Some(unlinked), LinkState::LeadsNowhere) if !unlinked.intended.is_empty() => {
            "intended, and not sent: the supplier does not have that, or cannot make it now"
        }
        (Some(unlinked), _) if !unlinked.intended.is_empty() => {
            "intended, not in force yet: the SKU at the storefront does not lead there until it is sent"
        }
        (Some(unlinked), _) => match unlinked.reason {
            Some(Reason::AmbiguousLink) => "its SKU is shared by several supplier variants",
            Some(Reason::BrokenLink) => "its link leads to something that the supplier does not have",
            Some(_) if offer.sku.is_none() => "it has no SKU, and nothing else says where it leads",
            Some(_) => "nothing says where it leads: its SKU is none of a supplier's",
            None => "it leads elsewhere than you mean",
        },
        (None, LinkState::Linked) if !is_led && desk.variants().is_some() && desk.knows_offers() => {
            "you pack it yourself, or there is nothing to make"
        }
        _ => return Vec::new(),
    };
    vec![Words::ours(words)]
}

/// What is proposed for the offers of a listing, in their order, and what of it can be accepted.
struct Offered {
    /// `None` where the variants are not known.
    proposals: Vec<Option<Proposal>>,
    acceptable: Vec<Acceptable>,
}

/// A proposal that can be accepted: the offer has no link, and does not contradict the variant.
struct Acceptable {
    key: String,
    variant: (String, String),
    setting: Setting,
}

impl Offered {
    fn of(desk: &Desk, listing_id: &ListingId, findings: &[Finding], offers: Vec<Offer>) -> Self {
        let proposals = match desk.knows_offers() {
            // Goods are told apart by what else a listing sells, so all of it is looked at.
            true => {
                let all: Vec<Offer> = desk.offers_of(listing_id).cloned().collect();
                let made = desk.proposals(&all, &desk.good_rules()).unwrap_or_default();
                let mut made: HashMap<Options, Proposal> =
                    all.into_iter().map(|offer| offer.options).zip(made).collect();
                offers.iter().map(|offer| made.remove(&offer.options)).collect()
            }
            false => vec![None; offers.len()],
        };
        let unlinked = unlinked(findings);
        let variants = desk.variants().unwrap_or_default();
        let mut acceptable = Vec::new();
        for (offer, proposal) in offers.iter().zip(&proposals) {
            let Some(Proposal { answer: Answer::Proposed(place), .. }) = proposal else { continue };
            let Some(variant) = variants.get(*place) else { continue };
            if !unlinked.contains(&(&offer.listing_id, &offer.options)) {
                continue;
            }
            acceptable.push(Acceptable {
                key: key(offer),
                variant: (variant.supplier.to_string(), variant.variant_id.to_string()),
                setting: intended(offer, variant),
            });
        }
        let settings: Vec<Setting> = acceptable.iter().map(|one| one.setting.clone()).collect();
        if !settings.is_empty() {
            let effects = desk.effects(&settings);
            let contradicted = effects.contradicted();
            acceptable.retain(|one| {
                !matches!(&one.setting, Setting::Link { scope: LinkScope::Offer(listing_id, options), .. }
                    if contradicted.contains(&(listing_id, options)))
            });
        }
        Self { proposals, acceptable }
    }
}

/// What shows that what is accepted is what was looked at.
fn proof(acceptable: &[&Acceptable]) -> String {
    let mut all: Vec<_> = acceptable.iter().map(|one| (&one.key, &one.variant.0, &one.variant.1)).collect();
    all.sort_unstable();
    in_short(&serde_json::json!(all))
}

/// What to type to see what would be changed; `None` where the id could turn out otherwise on a terminal than it looks here.
fn command(listing_id: &ListingId, behind: &str) -> Option<String> {
    let id = listing_id.as_str();
    (digest::clean(id) == id).then(|| format!("everyline links send --listing={}{behind}", quoted(id)))
}
