//! `everyline links set`: the owner says where an offer, a SKU or a listing leads, or which product a good is.
//!
//! Owns the ways of saying it, and what is said back. What a change would lead to is `desk`'s to tell, the words for what is
//! there `target`'s. Start reading at [`run`].

use std::collections::BTreeSet;

use digest::clean;
use ledger::{LinkPart, Setting, Signed};
use model::book::{LinkScope, Offer};
use model::{Options, Sku};

use super::desk::{Desk, Effects, of_change, signed};
use super::said::{changes, counted, paragraph, steps};
use super::target::{self, Amiss};
use super::warned::{NOTHING_KEPT, refuse_contradiction, tell_raised};
use super::{proposed, rule};
use crate::arguments::SetLinksArguments;
use crate::exit::Exit;
use crate::opened::{self, of_ledger};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// How many changes a command shows.
const SHOWN_AT_MOST: usize = 40;

/// Runs the command.
///
/// # Errors
/// Where what is named is not there, the offer and the variant contradict each other, or the configuration or the ledger
/// cannot be used.
pub fn run(asked: &SetLinksArguments) -> Result<Exit, Trouble> {
    opened::run(async {
        if let Some(number) = asked.undo {
            return undo(asked, number).await;
        }
        let desk = Desk::open(&asked.of).await?;
        let done = if asked.proposed {
            proposed::run(&desk, asked).await
        } else if let Some(said) = &asked.product {
            rule::asked_for(&desk, asked, said).await
        } else if asked.remove {
            remove(&desk, asked).await
        } else {
            link(&desk, asked).await
        };
        desk.ledger.close().await;
        write_data(&done?)?;
        Ok(Exit::Nothing)
    })
}

pub(super) fn amiss(amiss: Amiss) -> Trouble {
    let Amiss { found, expected, hint, .. } = amiss;
    Trouble::new(NOTHING_KEPT, format!("{found}; expected is {expected}")).help(hint)
}

/// Takes a change back.
async fn undo(asked: &SetLinksArguments, number: i64) -> Result<Exit, Trouble> {
    let failed = "nothing was taken back";
    let desk = Desk::open(&asked.of).await?;
    let signed = signed(&asked.signed, desk.now, failed)?;
    let undo = desk.ledger.undo_links(&desk.shop, number, &signed).await;
    let undo = undo.map_err(|error| of_change(failed, error))?;
    let made = desk.ledger.link_changes(&desk.shop).await.map_err(of_ledger)?;
    let undone_at =
        made.iter().find(|change| change.note.number == number).map(|change| change.note.signed.at);
    let runs = desk.ledger.sku_runs(&desk.shop).await.map_err(of_ledger)?;
    let was_sent = runs.iter().any(|run| undone_at.is_some_and(|at| run.signed.at >= at));
    let steps_made = made.into_iter().find(|change| change.note.number == undo).map(|change| change.steps);
    let mut text = paragraph(&format!(
        "Change {number} is taken back, by change {undo}. What stood before stands again:"
    ));
    text += &steps(&steps_made.unwrap_or_default(), SHOWN_AT_MOST, &desk.skus());
    if was_sent {
        text += &paragraph(
            "SKUs that `everyline links send` has changed at the storefront since stay as they are there. `everyline links \
             send --put-back FILE` puts them back, by the file that the run wrote (beside the ledger, where nothing else \
             was said).",
        );
    }
    desk.ledger.close().await;
    write_data(&text)?;
    Ok(Exit::Nothing)
}

/// What a link is to be for, as it was asked.
fn scope(desk: &Desk, asked: &SetLinksArguments) -> Result<LinkScope, Trouble> {
    if let Some(typed) = &asked.sku {
        return target::sku(desk, typed).map(LinkScope::Sku).map_err(amiss);
    }
    let listing_id = target::listing(desk, one_listing(asked)?).map_err(amiss)?;
    // A listing with nothing to choose is one offer, and is linked as one: so no SKU outranks what is said of it.
    let is_one = desk.offers_of(&listing_id).all(|offer| offer.options.is_empty());
    if asked.options.is_empty() && !is_one {
        return Ok(LinkScope::Listing(listing_id));
    }
    let offer = target::offer(desk, &listing_id, &asked.options).map_err(amiss)?;
    Ok(LinkScope::Offer(listing_id, offer.options.clone()))
}

pub(super) fn one_listing(asked: &SetLinksArguments) -> Result<&str, Trouble> {
    match &asked.listings[..] {
        [only] => Ok(only),
        _ => Err(Trouble::new(NOTHING_KEPT, "several listings are named")
            .help("name one; with --proposed there can be several")),
    }
}

/// Keeps where one thing leads.
async fn link(desk: &Desk, asked: &SetLinksArguments) -> Result<String, Trouble> {
    let scope = scope(desk, asked)?;
    let mut parts: Vec<LinkPart> = Vec::new();
    for said in &asked.to {
        let part = target::part(desk, said, asked.in_force).map_err(amiss)?;
        if parts
            .iter()
            .any(|there| (&there.supplier, &there.variant_id) == (&part.supplier, &part.variant_id))
        {
            return Err(Trouble::new(NOTHING_KEPT, format!("{said} is named twice"))
                .help("write how many of it one unit needs as =UNITS, such as alder-print:BOX=2"));
        }
        parts.push(part);
    }
    let mut settings = vec![Setting::Link { scope: scope.clone(), parts: parts.clone() }];
    let effects = desk.effects(&settings);
    refuse_contradiction(&effects, asked.despite_contradiction)?;
    if !asked.despite_contradiction {
        refuse_own_stock_of_suppliers(desk, &scope, &parts)?;
    }
    let answer = if asked.no_rule { None } else { rule::answer(desk, &scope, &parts) };
    if let Some(answer) = &answer {
        settings.push(rule::setting_of(answer));
    }
    let mut text = keep(desk, asked, &settings).await?;
    tell_raised(&effects, desk.zone);
    if desk.variants().is_none() {
        tell(
            "warning: not all suppliers' variants have been read: whether this one is there was not looked at",
        );
    }
    text += &paragraph(&state(desk, &scope, &parts, &effects));
    text += &match &answer {
        Some(answer) => paragraph(&rule::because_it_was_asked(answer)),
        None => rule::differs_from_rule(desk, &scope, &parts),
    };
    Ok(text)
}

/// An error where a whole listing would be own stock though SKUs of it lead to suppliers: all of it would be left out of
/// every check.
fn refuse_own_stock_of_suppliers(desk: &Desk, scope: &LinkScope, parts: &[LinkPart]) -> Result<(), Trouble> {
    let LinkScope::Listing(listing_id) = scope else { return Ok(()) };
    if !parts.iter().all(|part| part.supplier.is_own()) {
        return Ok(());
    }
    let borne: BTreeSet<&str> =
        desk.variants().into_iter().flatten().filter_map(|row| row.sku.as_ref()).map(Sku::folded).collect();
    let offers: Vec<&Offer> = desk.offers_of(listing_id).collect();
    let leads = |offer: &&&Offer| offer.sku.as_ref().is_some_and(|sku| borne.contains(sku.folded()));
    let led = offers.iter().filter(leads).count();
    if led == 0 {
        return Ok(());
    }
    let cause = format!(
        "SKUs of {led} of the {} of listing {} lead to a supplier; as own stock all of them would be left out of every check",
        counted(offers.len(), "offer", "offers"),
        clean(listing_id.as_str())
    );
    Err(Trouble::new(NOTHING_KEPT, cause).help(
        "for one offer add --option NAME=VALUE; if you pack all of them yourself, say so with --despite-contradiction",
    ))
}

/// Keeps settings, and says what changed.
pub(super) async fn keep(
    desk: &Desk,
    asked: &SetLinksArguments,
    settings: &[Setting],
) -> Result<String, Trouble> {
    let by: Signed = signed(&asked.signed, desk.now, NOTHING_KEPT)?;
    let changed = changes(settings, &desk.links, &desk.rules);
    let Some(number) = desk.keep(settings, &by, NOTHING_KEPT).await? else {
        return Ok("It stands so already; nothing was changed.\n".to_owned());
    };
    let mut text = paragraph(&format!(
        "Kept as change {number}, by {}. `everyline links set --undo {number}` takes it back.",
        clean(by.by.as_str())
    ));
    text += &steps(&changed, SHOWN_AT_MOST, &desk.skus());
    Ok(text)
}

/// Whether it is in force, and if not, what would make it so.
fn state(desk: &Desk, scope: &LinkScope, parts: &[LinkPart], effects: &Effects) -> String {
    let offers = desk.decided_by(scope);
    let open: Vec<&Offer> =
        offers.iter().copied().filter(|offer| effects.not_in_force(offer).is_some()).collect();
    if parts.iter().all(|part| part.supplier.is_own()) {
        return "It is own stock: no supplier is asked for it, and it is left out of every check.".to_owned();
    }
    if parts.iter().all(|part| part.in_force) {
        return "It counts as in force, for you say so.".to_owned();
    }
    let several = match scope {
        LinkScope::Offer(..) => String::new(),
        _ => format!(" It decides {}.", counted(offers.len(), "offer", "offers")),
    };
    let [first, rest @ ..] = &open[..] else {
        return match offers.len() {
            0 => format!("It is intended, not seen in force yet.{several}"),
            _ => format!("It is in force already: the storefront is seen to lead there.{several}"),
        };
    };
    let now = effects.not_in_force(first).map(|unlinked| match (&first.sku, &unlinked.in_force[..]) {
        (Some(sku), []) => format!("its SKU {sku} leads nowhere"),
        (None, []) => "it has no SKU".to_owned(),
        (_, led) => {
            let parts: Vec<String> = led
                .iter()
                .map(|part| match &part.variant_id {
                    Some(variant_id) => {
                        let sku = desk.skus().behind(&part.supplier, variant_id);
                        format!("{variant_id}{sku} of {}", part.supplier)
                    }
                    None => part.supplier.to_string(),
                })
                .collect();
            format!("it leads to {}", parts.join(" and "))
        }
    });
    let now = now.filter(|_| rest.is_empty()).map(|now| format!(" (now {now})")).unwrap_or_default();
    format!(
        "It is intended: it counts as in force once the SKU at the storefront, or the supplier, is seen to lead \
         there{}.{several}",
        clean(now)
    )
}

/// Takes away what the owner said of one thing.
async fn remove(desk: &Desk, asked: &SetLinksArguments) -> Result<String, Trouble> {
    if let Some(name) = &asked.good {
        let good = rule::known_good(desk, name)?;
        if !desk.rules.iter().any(|rule| rule.rule.good == good) {
            return Err(Trouble::new("nothing was taken away", format!("there is no rule for '{good}'"))
                .help("`everyline links export --rules --format table` lists your rules"));
        }
        return keep(desk, asked, &[Setting::Rule { good, product: None }]).await;
    }
    let scope = owned_scope(desk, asked)?;
    let settings = [Setting::Link { scope: scope.clone(), parts: Vec::new() }];
    let effects = desk.effects(&settings);
    let mut text = keep(desk, asked, &settings).await?;
    let offers = desk.decided_by(&scope);
    let linked: Vec<&&Offer> = offers.iter().filter(|offer| effects.not_in_force(offer).is_none()).collect();
    if !linked.is_empty() {
        text += &paragraph(&format!(
            "{} of it still linked, by the SKU or by what a source says: everyline takes nothing away there.",
            match linked.len() {
                1 => "1 offer is".to_owned(),
                many => format!("{many} offers are"),
            }
        ));
    }
    Ok(text)
}

/// What a link of the owner's is for, also where that is no longer on sale.
fn owned_scope(desk: &Desk, asked: &SetLinksArguments) -> Result<LinkScope, Trouble> {
    let none = |what: String| {
        Trouble::new("nothing was taken away", format!("you have made no link for {what}")).help(
            "`everyline links export --format table` lists your links; what the storefront or a supplier brings is \
             changed there",
        )
    };
    let typed = match &asked.sku {
        Some(typed) => Sku::new(typed.as_str()).map(LinkScope::Sku),
        None if asked.options.is_empty() => Some(LinkScope::Listing(one_listing(asked)?.into())),
        None => {
            let pairs = asked.options.iter().filter_map(|said| said.split_once('='));
            let options = Options::from_pairs(pairs).ok();
            options.map(|options| LinkScope::Offer(asked.listings[0].as_str().into(), options))
        }
    };
    if let Some(typed) = typed.as_ref()
        && let Some(link) = desk.links.iter().find(|link| link.scope == *typed)
    {
        return Ok(link.scope.clone());
    }
    // What is not on sale any more, and was never linked, is named as it was typed.
    let scope = scope(desk, asked).ok().or(typed);
    let link = desk.links.iter().find(|link| Some(&link.scope) == scope.as_ref());
    let what = || scope.as_ref().map_or_else(|| "that".to_owned(), ToString::to_string);
    link.map(|link| link.scope.clone()).ok_or_else(|| none(what()))
}
