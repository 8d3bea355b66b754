//! What sending would change: for each offer with an intended link the SKU that it bears, the one that it is to bear, or why
//! it is not sent, in words.
//!
//! Pure: what the ledger holds is handed in. Must not know how a SKU is changed, or how a plan is shown. Start reading at
//! [`Plan::of`].

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use ledger::{PlannedSku, SeenSku};
use matcher::{NoSku, WantedSku, skus_for_intended};
use model::book::{LinkScope, Offer};
use model::{Book, ListingId, Options, SourceId, SupplierId, VariantId};

/// Most variants that are named because they bear one SKU.
const NAMED_AT_MOST: usize = 3;

/// The offers with an intended link, and what is to be done at each.
#[derive(Clone, Default, Debug)]
pub struct Plan {
    /// The offers of which the SKU is to be changed, by listing and options.
    pub changes: Vec<Planned>,
    /// Those of which it is not, though the owner intends a link for them.
    pub not_sent: Vec<NotSent>,
    /// How many bear the SKU already, or are linked otherwise.
    pub in_force: usize,
    /// How many are the shop's own stock, and need none.
    pub own_stock: usize,
    /// Of those that count as in force, how many were changed since the source was read last, and when the last was.
    pub not_read_since: Option<(usize, DateTime<Utc>)>,
}

/// An offer of which the SKU is to be changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Planned {
    /// The source that the offer is of.
    pub source: SourceId,
    /// The title of the listing.
    pub title: Option<String>,
    /// What is to be changed.
    pub sku: PlannedSku,
}

/// An offer of which the SKU is not changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NotSent {
    /// The listing; `None` where a link serves no offer.
    pub listing_id: Option<ListingId>,
    /// Which offer of it.
    pub options: Option<Options>,
    /// The title of the listing.
    pub title: Option<String>,
    /// The SKU that it bears.
    pub sku: Option<String>,
    /// Why, and what to do: sentences.
    pub why: String,
    /// Whether it waits for nobody: it is sent by itself once the offer is on sale.
    pub is_off_sale: bool,
}

/// What the ledger holds beside the book.
#[derive(Clone, Copy, Debug)]
pub struct Beside<'a> {
    /// The source of each offer.
    pub sources: &'a BTreeMap<(ListingId, Options), SourceId>,
    /// What was seen at offers since they were read.
    pub seen: &'a [SeenSku],
}

impl Plan {
    /// The plan of a book, of some of its listings or, where none is named, all.
    pub fn of(book: &Book, beside: Beside<'_>, listings: &[String]) -> Self {
        let is_meant = |id: &ListingId| listings.is_empty() || listings.iter().any(|one| one == id.as_str());
        let seen: BTreeMap<(&ListingId, &Options), &SeenSku> =
            beside.seen.iter().map(|seen| ((&seen.listing_id, &seen.options), seen)).collect();
        let of_offer = |offer: &Offer| seen.get(&(&offer.listing_id, &offer.options)).copied();
        let mut now = Book {
            offers: book.offers.clone(),
            variants: book.variants.clone(),
            links: book.links.clone(),
            owner_links: book.owner_links.clone(),
            ..Book::default()
        };
        for offer in now.offers.iter_mut().flatten() {
            if let Some(seen) = of_offer(offer) {
                offer.sku.clone_from(&seen.sku);
            }
        }
        let mut plan = Self::default();
        let offers = now.offers.as_deref().unwrap_or_default();
        let mut served: BTreeSet<LinkScope> = BTreeSet::new();
        for wanted in skus_for_intended(&now) {
            let Some(offer) = offers.get(wanted.offer) else { continue };
            served.insert(wanted.scope);
            if !is_meant(&offer.listing_id) {
                continue;
            }
            match wanted.sku {
                WantedSku::AsItIs => {
                    plan.in_force += 1;
                    if let Some(seen) = of_offer(offer) {
                        let (count, last) = plan.not_read_since.unwrap_or((0, seen.at));
                        plan.not_read_since = Some((count + 1, last.max(seen.at)));
                    }
                }
                WantedSku::No(NoSku::OwnStock) => plan.own_stock += 1,
                WantedSku::No(why) => plan.not_sent.push(NotSent {
                    listing_id: Some(offer.listing_id.clone()),
                    options: Some(offer.options.clone()),
                    title: offer.title.clone(),
                    sku: offer.sku.as_ref().map(ToString::to_string),
                    why: said(&why),
                    is_off_sale: why == NoSku::OffSale,
                }),
                WantedSku::Other(sku) => {
                    let key = (offer.listing_id.clone(), offer.options.clone());
                    let Some(source) = beside.sources.get(&key) else { continue };
                    plan.changes.push(Planned {
                        source: source.clone(),
                        title: offer.title.clone(),
                        sku: PlannedSku {
                            listing_id: key.0,
                            options: key.1,
                            old: offer.sku.clone(),
                            new: Some(sku),
                        },
                    });
                }
            }
        }
        plan.not_sent.extend(serving_nothing(book, &served, &is_meant));
        plan.changes.sort_by(|one, other| {
            (&one.sku.listing_id, &one.sku.options).cmp(&(&other.sku.listing_id, &other.sku.options))
        });
        plan.not_sent.sort_by(|one, other| {
            (&one.listing_id, &one.options, &one.why).cmp(&(&other.listing_id, &other.options, &other.why))
        });
        plan
    }
}

/// The owner's intended links that decide no offer.
fn serving_nothing<'a>(
    book: &'a Book,
    served: &BTreeSet<LinkScope>,
    is_meant: &impl Fn(&ListingId) -> bool,
) -> Vec<NotSent> {
    let intended =
        book.owner_links.iter().filter(|row| !row.in_force && !row.supplier.is_own()).map(|row| &row.scope);
    let scopes: BTreeSet<&'a LinkScope> = intended.filter(|scope| !served.contains(*scope)).collect();
    let is_served_otherwise = |scope: &LinkScope| {
        book.offers.iter().flatten().any(|offer| match scope {
            LinkScope::Offer(listing_id, options) => {
                offer.listing_id == *listing_id && offer.options == *options
            }
            LinkScope::Sku(sku) => offer.sku.as_ref() == Some(sku),
            LinkScope::Listing(listing_id) => offer.listing_id == *listing_id,
        })
    };
    let left = scopes.into_iter().filter(|scope| !is_served_otherwise(scope)).filter_map(|scope| {
        let (listing_id, options) = match scope {
            LinkScope::Offer(listing_id, options) => (Some(listing_id), Some(options)),
            LinkScope::Listing(listing_id) => (Some(listing_id), None),
            // Once an offer bears another SKU, a link for its old one serves no offer: it has done what it is for.
            LinkScope::Sku(_) => return None,
        };
        if listing_id.is_some_and(|id| !is_meant(id)) {
            return None;
        }
        Some(NotSent {
            listing_id: listing_id.cloned(),
            options: options.cloned(),
            title: None,
            sku: None,
            is_off_sale: false,
            why: "No such offer is known. Wait until the storefront has been read (`everyline status`), or take the \
                  link away with `everyline links set --remove`."
                .to_owned(),
        })
    });
    left.collect()
}

/// Why it is not sent, and what to do.
fn said(why: &NoSku) -> String {
    let variant = |(supplier, id): (&SupplierId, &VariantId)| format!("{id} of {supplier}");
    match why {
        NoSku::OwnStock => "You pack it yourself: it needs no SKU.".to_owned(),
        NoSku::OffSale => "It is not on sale. It is sent once it is.".to_owned(),
        NoSku::Set => "It is a set, and one SKU names one thing. Set it at the supplier, then say so with \
                       `everyline links set … --in-force`."
            .to_owned(),
        NoSku::Units(units) => format!(
            "One unit needs {units} of the variant, and a SKU means one. Set it at the supplier, then say so with \
             `everyline links set … --in-force`."
        ),
        NoSku::UnknownVariant(supplier, id) => format!(
            "The variant {} is not known. Link the offer anew with `everyline links set`.",
            variant((supplier, id))
        ),
        NoSku::NotAvailable(supplier, id) => format!(
            "The supplier does not make {} now. Link another with `everyline links set`, or wait until it does.",
            variant((supplier, id))
        ),
        NoSku::Shared(sku, others) => {
            let mut names: Vec<String> =
                others.iter().take(NAMED_AT_MOST).map(|(supplier, id)| variant((supplier, id))).collect();
            if let Some(more) = others.len().checked_sub(NAMED_AT_MOST).filter(|more| *more > 0) {
                names.push(format!("{more} more"));
            }
            format!(
                "Its SKU {sku} is also that of {}, so that it would lead nowhere. Give each a SKU of its own at the \
                 supplier.",
                names.join(" and ")
            )
        }
        NoSku::Outranked(scope) => format!(
            "A link for {scope} leads elsewhere and is asked first, whatever SKU stands here. Change it where it is \
             made, or say that yours is in force with `everyline links set … --in-force`."
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::Sku;
    use model::book::{LinkRow, Variant};

    fn offer(listing: &str, bears: &str) -> Offer {
        Offer {
            listing_id: listing.into(),
            sku: Sku::new(bears),
            title: Some("Fern apron".to_owned()),
            options: Options::new(),
            price: None,
            currency: None,
            buyable: true,
        }
    }

    fn intended(listing: &str, variant: &str) -> LinkRow {
        LinkRow {
            scope: LinkScope::Offer(listing.into(), Options::new()),
            supplier: "alder-print".into(),
            variant_id: Some(variant.into()),
            units: 1,
            in_force: false,
        }
    }

    fn book() -> Book {
        let variant = |id: &str| Variant {
            supplier: "alder-print".into(),
            variant_id: id.into(),
            sku: None,
            product: None,
            options: None,
            unit_cost: None,
            currency: None,
            available: true,
        };
        Book {
            offers: Some(vec![offer("L2", "OLD"), offer("L1", ""), offer("L3", "V1")]),
            variants: Some(vec![variant("V1"), variant("V2")]),
            owner_links: vec![
                intended("L1", "V1"),
                intended("L2", "V2"),
                intended("L3", "V1"),
                intended("L9", "V1"),
                intended("L3", "V1"),
            ],
            ..Book::default()
        }
    }

    fn plan(seen: &[SeenSku], listings: &[&str]) -> Plan {
        let book = book();
        let offers = book.offers.iter().flatten();
        let sources =
            offers.map(|offer| ((offer.listing_id.clone(), offer.options.clone()), "till".into())).collect();
        let listings: Vec<String> = listings.iter().map(|id| (*id).to_owned()).collect();
        Plan::of(&book, Beside { sources: &sources, seen }, &listings)
    }

    fn seen(listing: &str, sku: &str) -> SeenSku {
        SeenSku {
            listing_id: listing.into(),
            options: Options::new(),
            sku: Sku::new(sku),
            at: DateTime::<Utc>::UNIX_EPOCH,
        }
    }

    fn changes(plan: &Plan) -> Vec<(String, String, String)> {
        let text = |sku: &Option<Sku>| sku.as_ref().map(ToString::to_string).unwrap_or_default();
        let changes = plan.changes.iter().map(|change| &change.sku);
        changes.map(|sku| (sku.listing_id.to_string(), text(&sku.old), text(&sku.new))).collect()
    }

    fn row(listing: &str, old: &str, new: &str) -> (String, String, String) {
        (listing.to_owned(), old.to_owned(), new.to_owned())
    }

    #[test]
    fn offers_are_planned_by_listing_with_the_sku_that_they_bear() {
        let all = plan(&[], &[]);
        assert_eq!(changes(&all), [row("L1", "", "V1"), row("L2", "OLD", "V2")]);
        assert_eq!((all.in_force, all.not_read_since), (1, None));
        assert_eq!(all.not_sent.len(), 1, "{:?}", all.not_sent);
        assert!(all.not_sent[0].why.starts_with("No such offer is known."));
        assert_eq!(changes(&plan(&[], &["L2"])), [row("L2", "OLD", "V2")]);
        assert_eq!(plan(&[], &["L2"]).not_sent, []);
    }

    #[test]
    fn what_was_seen_since_the_source_was_read_counts() {
        let done = plan(&[seen("L2", "V2")], &[]);
        assert_eq!(changes(&done), [row("L1", "", "V1")]);
        assert_eq!((done.in_force, done.not_read_since), (2, Some((1, DateTime::<Utc>::UNIX_EPOCH))));
        let third = plan(&[seen("L2", "THIRD")], &[]);
        assert_eq!(changes(&third), [row("L1", "", "V1"), row("L2", "THIRD", "V2")]);
    }
}
