//! Which supplier variant a line without a link could be linked to, as `everyline links propose` says it.
//!
//! Must not know how a proposal is made, or shown. Start reading at [`of`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use ledger::{Ledger, LedgerError};
use links::{Answer, Proposal as Made};
use matcher::OrderAccount;
use model::book::{Offer, OrderLine, Variant};
use model::finding::NamedVariant;
use model::finding::Reason;
use model::{Book, LineId, ListingId, Options};
use web::view::{Proposal, ProposalStatus, Words};

use super::lines::variant as named;
use crate::links_command::proposals;
use crate::live::judge::{Prepared, Question, elsewhere};

/// The most variants that are named where only the owner can tell.
const CHOICES: usize = 6;

/// The most offers of a listing that are looked at for the sake of one order; larger ones are left to `links propose`.
const OFFERS: usize = 5_000;

/// The proposals for the lines that nobody makes because they are not linked. `behind` stands behind commands.
pub async fn of(
    ledger: &Ledger,
    question: &Question,
    prepared: &Arc<Prepared>,
    lines: &[OrderLine],
    account: &OrderAccount,
    behind: &str,
) -> Result<BTreeMap<LineId, Proposal>, LedgerError> {
    let open: Vec<OrderLine> = lines.iter().filter(|line| is_open(line, account)).cloned().collect();
    if open.is_empty() || prepared.book.variants.as_ref().is_none_or(Vec::is_empty) {
        return Ok(BTreeMap::new());
    }
    let rules = ledger.owner_rules(&question.shop).await?;
    let (prepared, vocabulary) = (Arc::clone(prepared), Arc::clone(&question.settings.vocabulary));
    let (behind, now) = (behind.to_owned(), question.now);
    let proposed = move || {
        let book = &prepared.book;
        let offers = offers(book, &open);
        if offers.len() > OFFERS {
            return BTreeMap::new();
        }
        let variants = book.variants.as_deref().unwrap_or_default();
        let rules: Vec<_> = rules.into_iter().map(|rule| rule.rule).collect();
        let of_book = (book, prepared.facts(), &prepared.rules);
        let proposals = proposals((&vocabulary, &rules), of_book, now, &offers);
        let of_line = |line: &OrderLine| {
            let (listing, options) = (line.listing_id.as_ref()?, line.options.as_ref()?);
            let place =
                offers.iter().position(|offer| offer.listing_id == *listing && offer.options == *options)?;
            let proposal = view(proposals.get(place)?, variants, (listing, options), &behind);
            Some((line.line_id.clone(), proposal))
        };
        open.iter().filter_map(of_line).collect()
    };
    Ok(elsewhere(proposed).await)
}

/// Whether a variant is to be proposed for any of the lines.
pub fn is_wanted(lines: &[OrderLine], account: &OrderAccount) -> bool {
    lines.iter().any(|line| is_open(line, account))
}

/// Whether nobody makes a line because it is not linked, and the owner intends no link for it.
fn is_open(line: &OrderLine, account: &OrderAccount) -> bool {
    account.lines.iter().any(|served| {
        served.account.line_id == line.line_id
            && served.account.uncovered > 0
            && served.named.intended.is_empty()
            && matches!(
                served.named.reason,
                Some(Reason::NoLink | Reason::AmbiguousLink | Reason::BrokenLink)
            )
    })
}

/// The offers of the listings of these lines, with those that were bought and are not on sale any more: goods are told apart
/// by what else a listing sells.
fn offers(book: &Book, lines: &[OrderLine]) -> Vec<Offer> {
    let listings: BTreeSet<&ListingId> = lines.iter().filter_map(|line| line.listing_id.as_ref()).collect();
    let on_sale = book.offers.iter().flatten().filter(|offer| listings.contains(&offer.listing_id));
    let mut offers: Vec<Offer> = on_sale.cloned().collect();
    for line in lines {
        let (Some(listing_id), Some(options)) = (&line.listing_id, &line.options) else { continue };
        if !offers.iter().any(|offer| offer.listing_id == *listing_id && offer.options == *options) {
            offers.push(Offer {
                listing_id: listing_id.clone(),
                sku: line.sku.clone(),
                title: line.title.clone(),
                options: options.clone(),
                price: None,
                currency: None,
                buyable: true,
            });
        }
    }
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
    Proposal { status, variants: variants_said, why: why.collect(), command }
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
