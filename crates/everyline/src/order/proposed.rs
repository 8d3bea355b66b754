//! Which supplier variant a line without a link could be linked to, as `everyline links propose` says it.
//!
//! Must not know how a proposal is made, or shown. Start reading at [`of`].

use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

use ledger::{Ledger, LedgerError};
use links::{Answer, Proposal as Made};
use matcher::OrderAccount;
use model::book::{Offer, OrderLine, Variant};
use model::finding::NamedVariant;
use model::{Book, Finding, GoodRule, LineId, ListingId, Options, Sku};
use web::view::{Proposal, ProposalStatus, Words};

use super::lines::variant as named;
use crate::links_command::{proposals, proposals_beside};
use crate::live::judge::{DoneByHand, Prepared, Question, elsewhere};

/// The most variants that are named where only the owner can tell.
const CHOICES: usize = 6;

/// The most offers of a listing that are looked at for the sake of one order; larger ones are left to `links propose`.
const OFFERS: usize = 5_000;

/// The most offers for which something is proposed before anybody asks.
const OFFERS_AHEAD: usize = 20_000;

/// The proposals for the lines that nobody makes because they are not linked. `behind` stands behind commands.
pub async fn of(
    ledger: &Ledger,
    question: &Question,
    prepared: &Arc<Prepared>,
    lines: &[OrderLine],
    account: &OrderAccount,
    behind: &str,
) -> Result<BTreeMap<LineId, Proposal>, LedgerError> {
    let open = open_lines(lines, account);
    if open.is_empty() || prepared.book.variants.as_ref().is_none_or(Vec::is_empty) {
        return Ok(BTreeMap::new());
    }
    let rules = ledger.owner_rules(&question.shop).await?;
    let (prepared, vocabulary) = (Arc::clone(prepared), Arc::clone(&question.settings.vocabulary));
    let (behind, now) = (behind.to_owned(), question.now);
    let proposed = move || {
        let book = &prepared.book;
        let offers = offers(book, open.iter().filter_map(offer));
        if offers.len() > OFFERS {
            return BTreeMap::new();
        }
        let rules: Vec<_> = rules.into_iter().map(|rule| rule.rule).collect();
        let of_book = (book, prepared.facts(), &prepared.rules);
        let made = proposals((&vocabulary, &rules), of_book, now, &offers);
        Ahead::of(book, &offers, &made, &behind).of_lines(&open).0
    };
    Ok(elsewhere(proposed).await)
}

/// What is proposed for offers that lines without a link were bought as.
#[derive(Clone, Default, Debug)]
pub struct Ahead(BTreeMap<(ListingId, Options), Proposal>);

impl Ahead {
    /// For all lines that findings name as not linked, before anybody looks at their orders. Larger listings, and those
    /// beyond the first many, are left out.
    pub fn of_findings(
        words: (&links::Vocabulary, &[GoodRule]),
        book: &Book,
        findings: &[Finding],
        by_hand: &[DoneByHand],
        behind: &str,
    ) -> Self {
        let named = findings.iter().flat_map(|finding| &finding.lines);
        let open = named.filter(|line| line.intended.is_empty() && !line.counts_as_linked());
        let bought = open.filter_map(|line| {
            Some(sold_as(
                line.listing_id.as_ref()?,
                line.options.as_ref()?,
                line.sku.as_ref(),
                line.title.as_ref(),
            ))
        });
        let mut of_listing: BTreeMap<ListingId, Vec<Offer>> = BTreeMap::new();
        for offer in offers(book, bought) {
            of_listing.entry(offer.listing_id.clone()).or_default().push(offer);
        }
        let mut all = Vec::new();
        for offers in of_listing.into_values().filter(|offers| offers.len() <= OFFERS) {
            if all.len() + offers.len() <= OFFERS_AHEAD {
                all.extend(offers);
            }
        }
        Self::of(book, &all, &proposals_beside(words, book, by_hand, &all), behind)
    }

    fn of(book: &Book, offers: &[Offer], made: &[Made], behind: &str) -> Self {
        let variants = book.variants.as_deref().unwrap_or_default();
        let proposed = offers.iter().zip(made).map(|(offer, made)| {
            let (listing, options) = (&offer.listing_id, &offer.options);
            ((listing.clone(), options.clone()), view(made, variants, (listing, options), behind))
        });
        Self(proposed.collect())
    }

    /// The proposals for lines; and whether there is one for each of which it is known what was bought.
    pub fn of_lines(&self, lines: &[OrderLine]) -> (BTreeMap<LineId, Proposal>, bool) {
        let (mut found, mut has_all) = (BTreeMap::new(), true);
        for line in lines {
            let (Some(listing), Some(options)) = (&line.listing_id, &line.options) else { continue };
            match self.0.get(&(listing.clone(), options.clone())) {
                Some(proposal) => {
                    found.insert(line.line_id.clone(), proposal.clone());
                }
                None => has_all = false,
            }
        }
        (found, has_all)
    }
}

/// The lines for which a variant is to be proposed.
pub fn open_lines(lines: &[OrderLine], account: &OrderAccount) -> Vec<OrderLine> {
    lines.iter().filter(|line| is_open(line, account)).cloned().collect()
}

/// Whether nobody makes a line because it is not linked, and the owner intends no link for it.
fn is_open(line: &OrderLine, account: &OrderAccount) -> bool {
    account.lines.iter().any(|served| {
        served.account.line_id == line.line_id
            && served.account.uncovered > 0
            && served.named.intended.is_empty()
            && !served.named.counts_as_linked()
    })
}

/// What a line was bought as, as if it were on sale.
fn offer(line: &OrderLine) -> Option<Offer> {
    Some(sold_as(line.listing_id.as_ref()?, line.options.as_ref()?, line.sku.as_ref(), line.title.as_ref()))
}

fn sold_as(listing_id: &ListingId, options: &Options, sku: Option<&Sku>, title: Option<&String>) -> Offer {
    Offer {
        listing_id: listing_id.clone(),
        sku: sku.cloned(),
        title: title.cloned(),
        options: options.clone(),
        price: None,
        currency: None,
        buyable: true,
    }
}

/// The offers of the listings of what was bought, with those that are not on sale any more: goods are told apart by what
/// else a listing sells.
fn offers(book: &Book, bought: impl Iterator<Item = Offer>) -> Vec<Offer> {
    let bought: Vec<Offer> = bought.collect();
    let listings: HashSet<&ListingId> = bought.iter().map(|offer| &offer.listing_id).collect();
    let on_sale = book.offers.iter().flatten().filter(|offer| listings.contains(&offer.listing_id));
    let mut offers: Vec<Offer> = on_sale.cloned().collect();
    let mut known: HashSet<(ListingId, Options)> =
        offers.iter().map(|offer| (offer.listing_id.clone(), offer.options.clone())).collect();
    offers.extend(
        bought
            .iter()
            .filter(|offer| known.insert((offer.listing_id.clone(), offer.options.clone())))
            .cloned(),
    );
    offers
}

/// A proposal as it is shown; `of` is the offer, `behind` stands behind commands.
pub fn view(made: &Made, variants: &[Variant], of: (&ListingId, &Options), behind: &str) -> Proposal {
    let name = |place: &usize| variants.get(*place).map(variant_said);
    let (status, variants_said, command) = match &made.answer {
        Answer::Proposed(place) => (
            ProposalStatus::Proposed,
            name(place).into_iter().collect(),
            variants.get(*place).and_then(|variant| command(variant, of, behind)),
        ),
        Answer::Choose(places) => {
            let mut named: Vec<Words> = places.iter().filter_map(name).take(CHOICES).collect();
            if places.len() > CHOICES {
                named.push(Words::ours(format!("{} more", places.len() - CHOICES)));
            }
            (ProposalStatus::Choose, named, None)
        }
        Answer::Nothing => (ProposalStatus::None, Vec::new(), None),
    };
    let why = made.why.iter().map(|why| Words::ours(why.to_string()));
    let not_made_now = match &made.answer {
        Answer::Proposed(place) => variants.get(*place).is_some_and(|variant| !variant.available),
        Answer::Choose(_) | Answer::Nothing => false,
    };
    Proposal { status, variants: variants_said, why: why.collect(), not_made_now, command }
}

/// `alder-print Apron, moss (AP-77)`.
pub fn variant_said(variant: &Variant) -> Words {
    let shown = NamedVariant {
        supplier: variant.supplier.clone(),
        variant_id: variant.variant_id.clone(),
        sku: variant.sku.clone(),
        product: variant.product.clone(),
        options: variant.options.clone(),
    };
    Words::ours(format!("{} {}", variant.supplier, named(&shown)))
}

/// What to type to link it so; `None` where something in it could turn out otherwise on a terminal than it looks here.
fn command(variant: &Variant, (listing, options): (&ListingId, &Options), behind: &str) -> Option<String> {
    let mut words = vec![
        format!("{}:{}", variant.supplier, variant.variant_id),
        "--listing".to_owned(),
        listing.to_string(),
    ];
    for (name, value) in options.iter() {
        words.extend(["--option".to_owned(), format!("{name}={value}")]);
    }
    // A word that begins so would be taken for something else.
    if words[0].starts_with('-') || words.iter().any(|word| digest::clean(word.as_str()) != word.as_str()) {
        return None;
    }
    let words: Vec<String> = words.iter().map(|word| quoted(word)).collect();
    Some(format!("everyline links set {}{behind}", words.join(" ")))
}

/// A word as a shell takes it.
pub fn quoted(word: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "/._-:=".contains(c);
    match !word.is_empty() && word.chars().all(is_plain) {
        true => word.to_owned(),
        false => format!("'{}'", word.replace('\'', r"'\''")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn variant(id: &str) -> Variant {
        Variant {
            supplier: "alder-print".into(),
            variant_id: id.into(),
            sku: None,
            product: Some("Apron".to_owned()),
            options: None,
            unit_cost: None,
            currency: None,
            available: true,
        }
    }

    #[test]
    fn a_command_is_named_only_where_a_terminal_takes_it_as_it_looks() {
        let options = |value: &str| Options::from_pairs([("Size", value)]).unwrap();
        let listing = ListingId::new("KL-1");
        assert_eq!(
            command(&variant("alv-1"), (&listing, &options("L; rm 'x'")), " --shop kk").unwrap(),
            r"everyline links set alder-print:alv-1 --listing KL-1 --option 'Size=L; rm '\''x'\''' --shop kk"
        );
        for value in ["L\u{1b}[2J", "L\nrm", "L\u{202e}x"] {
            assert_eq!(command(&variant("alv-1"), (&listing, &options(value)), ""), None);
        }
    }
}
