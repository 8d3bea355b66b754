//! Which product a good is, in the owner's word: asked for by itself, or following from the answer to one offer.
//!
//! Must not know how a rule is kept. Start reading at [`asked_for`] and [`answer`].

use std::collections::BTreeSet;

use digest::clean;
use ledger::{LinkPart, Product, Setting};
use links::{Answer, Proposal, Why};
use model::book::{LinkScope, Offer};
use model::{Good, GoodRule, ListingId, Options, text};

use super::desk::Desk;
use super::said::{counted, paragraph};
use super::set::{amiss, keep, one_listing};
use super::target;
use super::warned::NOTHING_KEPT;
use crate::arguments::SetLinksArguments;
use crate::configuration::nearest;
use crate::terminal::tell;
use crate::trouble::Trouble;

/// A good by its name: of the rules, or of what is on sale.
pub(super) fn known_good(desk: &Desk, name: &str) -> Result<Good, Trouble> {
    let wanted = text::fold(name);
    let is_it = |good: &Good| text::fold(&good.to_string()) == wanted;
    if let Some(rule) = desk.rules.iter().find(|rule| is_it(&rule.rule.good)) {
        return Ok(rule.rule.good.clone());
    }
    let proposals = desk.proposals(&desk.offers, &desk.good_rules()).unwrap_or_default();
    let goods: BTreeSet<Good> = proposals.into_iter().map(|proposal| proposal.good).collect();
    if let Some(good) = goods.iter().find(|good| is_it(good)) {
        return Ok(good.clone());
    }
    let names: Vec<String> = goods
        .iter()
        .map(ToString::to_string)
        .chain(desk.rules.iter().map(|rule| rule.rule.good.to_string()))
        .collect();
    let near = nearest(&wanted, names.iter().map(String::as_str));
    let near = near.map(|near| format!("; the nearest is '{near}'")).unwrap_or_default();
    Err(Trouble::new(
        NOTHING_KEPT,
        format!("nothing on sale is such a good, and no rule is for it: {name:?}{near}"),
    )
    .help("name an offer of it instead, with --listing and --option"))
}

/// Keeps which product a good is.
pub(super) async fn asked_for(desk: &Desk, asked: &SetLinksArguments, said: &str) -> Result<String, Trouble> {
    let product = target::product(desk, said).map_err(amiss)?;
    let good = match &asked.good {
        Some(name) => known_good(desk, name)?,
        None => good_of_offer(desk, asked)?,
    };
    let rule =
        GoodRule { good: good.clone(), supplier: product.supplier.clone(), product: product.product.clone() };
    let others: BTreeSet<&str> = desk
        .readings_of(&rule.supplier, &rule.product)
        .filter_map(|reading| reading.product_type.as_deref())
        .filter(|kind| good.product_type.as_deref().is_some_and(|good| good != *kind))
        .collect();
    if !others.is_empty() {
        let others = others.into_iter().collect::<Vec<_>>().join(" and a ");
        let said = format!(
            "'{good}' is another kind of product than '{}', which says that it is a {others}",
            rule.product
        );
        if !asked.despite_contradiction {
            return Err(Trouble::new(NOTHING_KEPT, clean(said))
                .help("if it is right all the same, say so with --despite-contradiction"));
        }
        tell(&format!("warning: kept although {said}"));
    }
    let before = desk.proposals(&desk.offers, &desk.good_rules()).unwrap_or_default();
    let after = proposed_by(desk, &desk.offers, &rule).unwrap_or_default();
    let mut text = keep(desk, asked, &[setting_of(&rule)]).await?;
    let of_good: Vec<(&Proposal, &Proposal)> =
        before.iter().zip(&after).filter(|(_, after)| after.good == good).collect();
    let is_proposed = |proposal: &Proposal| matches!(proposal.answer, Answer::Proposed(_));
    let now = of_good.iter().filter(|(_, after)| is_proposed(after)).count();
    let newly = of_good.iter().filter(|(before, after)| is_proposed(after) && before.answer != after.answer);
    let newly = newly.count();
    text += &paragraph(&format!(
        "{} on sale now {} such a good; {} proposed by it, {newly} of them otherwise than before. The rule changes no \
         link: `everyline links set --proposed` keeps what is proposed.",
        counted(of_good.len(), "offer", "offers"),
        if of_good.len() == 1 { "is" } else { "are" },
        match now {
            1 => "1 is".to_owned(),
            many => format!("{many} are"),
        },
    ));
    if now == 0 && !of_good.is_empty() {
        tell(
            "warning: nothing is proposed by it: look with `everyline links propose` whether the product comes in those \
             sizes and colours, and whether listing_products lets those listings sell it",
        );
    }
    Ok(text)
}

/// The good that an offer is.
fn good_of_offer(desk: &Desk, asked: &SetLinksArguments) -> Result<Good, Trouble> {
    let listing_id = target::listing(desk, one_listing(asked)?).map_err(amiss)?;
    let offers: Vec<Offer> = desk.offers_of(&listing_id).cloned().collect();
    let Some(proposals) = desk.proposals(&offers, &desk.good_rules()) else {
        return Err(Trouble::new(NOTHING_KEPT, "not all suppliers' variants have been read")
            .help("`everyline status` says up to when each source was read"));
    };
    let goods: Vec<&Good> = if asked.options.is_empty() {
        let goods: BTreeSet<&Good> = proposals.iter().map(|proposal| &proposal.good).collect();
        goods.into_iter().collect()
    } else {
        let offer = target::offer(desk, &listing_id, &asked.options).map_err(amiss)?;
        let at = offers.iter().position(|there| there.options == offer.options);
        at.and_then(|at| proposals.get(at)).map(|proposal| &proposal.good).into_iter().collect()
    };
    match goods[..] {
        [only] => Ok(only.clone()),
        _ => {
            let names: Vec<String> = goods.iter().map(|good| format!("'{good}'")).collect();
            Err(Trouble::new(
                NOTHING_KEPT,
                format!("listing {listing_id} sells several goods: {}", names.join(", ")),
            )
            .help("say which with --good, or by an offer of it with --option"))
        }
    }
}

/// The rule that follows from the answer to an offer that was for the owner to decide because several products could be
/// meant.
pub(super) fn answer(desk: &Desk, scope: &LinkScope, parts: &[LinkPart]) -> Option<GoodRule> {
    let (LinkScope::Offer(listing_id, options), [part]) = (scope, parts) else { return None };
    let variant = desk.variant(part).filter(|_| part.units == 1)?;
    let (offers, at) = listing_of(desk, listing_id, options)?;
    let asked = desk.proposals(&offers, &desk.good_rules())?.into_iter().nth(at)?;
    let is_about_products = |why: &Why| matches!(why, Why::SeveralProducts(_) | Why::SeveralGoods(_));
    if !matches!(asked.answer, Answer::Choose(_)) || !asked.why.iter().any(is_about_products) {
        return None;
    }
    let rule = GoodRule {
        good: asked.good.clone(),
        supplier: variant.supplier.clone(),
        product: variant.product.clone()?,
    };
    // A rule that would say another variant of it for this very offer, or none, is not what was meant.
    let then = proposed_by(desk, &offers, &rule)?.into_iter().nth(at)?;
    let is_it = |place: &usize| desk.variants().and_then(|all| all.get(*place)) == Some(variant);
    let agrees = match &then.answer {
        Answer::Proposed(place) => is_it(place),
        Answer::Choose(places) => places.iter().any(is_it),
        Answer::Nothing => false,
    };
    let is_by_rule = then.why.iter().any(|why| matches!(why, Why::ByRule(_)));
    (agrees && (is_by_rule || then.answer != asked.answer)).then_some(rule)
}

/// The offers of a listing, and where among them one stands.
fn listing_of(desk: &Desk, listing_id: &ListingId, options: &Options) -> Option<(Vec<Offer>, usize)> {
    let offers: Vec<Offer> = desk.offers_of(listing_id).cloned().collect();
    let at = offers.iter().position(|offer| offer.options == *options)?;
    Some((offers, at))
}

/// What is proposed once a rule stands as well.
fn proposed_by(desk: &Desk, offers: &[Offer], rule: &GoodRule) -> Option<Vec<Proposal>> {
    let mut rules = desk.good_rules();
    rules.retain(|there| there.good != rule.good);
    rules.push(rule.clone());
    desk.proposals(offers, &rules)
}

pub(super) fn setting_of(rule: &GoodRule) -> Setting {
    let product = Product { supplier: rule.supplier.clone(), product: rule.product.clone() };
    Setting::Rule { good: rule.good.clone(), product: Some(product) }
}

pub(super) fn because_it_was_asked(rule: &GoodRule) -> String {
    format!(
        "Several products could be meant here, so your answer is also kept as a rule: each '{}' is '{}' of {}, in this \
         and in later listings, unless you say otherwise of an offer. `everyline links propose` goes by it. To take \
         away the rule alone: everyline links set --good '{0}' --remove",
        clean(rule.good.to_string()),
        clean(rule.product.as_str()),
        rule.supplier
    )
}

/// Says it where the owner says of one offer what a rule does not.
pub(super) fn differs_from_rule(desk: &Desk, scope: &LinkScope, parts: &[LinkPart]) -> String {
    let differs = || {
        let (LinkScope::Offer(listing_id, options), [part]) = (scope, parts) else { return None };
        let product = desk.variant(part)?.product.as_deref()?;
        let (offers, at) = listing_of(desk, listing_id, options)?;
        let proposal = desk.proposals(&offers, &desk.good_rules())?.into_iter().nth(at)?;
        if !proposal.why.iter().any(|why| matches!(why, Why::ByRule(_))) {
            return None;
        }
        let rule = desk.rules.iter().find(|rule| rule.rule.good == proposal.good)?;
        (rule.rule.product != product).then(|| {
            paragraph(&format!(
                "Your rule says that each '{}' is '{}': it stands for the others; this offer goes by what you say here.",
                clean(proposal.good.to_string()),
                clean(rule.rule.product.as_str())
            ))
        })
    };
    differs().unwrap_or_default()
}
