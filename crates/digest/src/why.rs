//! Why nobody makes something, as the owner has to act on it: the clause that says so, and what mends it.
//!
//! Must not know in which finding it stands. Start reading at [`things_and_why`].

use std::fmt::{Display, Write as _, from_fn};

use model::Sku;
use model::finding::{NamedLine, Part, Reason, UnlinkedOffer};

use crate::words::{line, listed, offer, part, part_name, sku_name, unique};

/// What is said with everything that has no link: the one cause that needs no supplier.
pub const PACKED_BY_THE_SHOP: &str = "you pack it yourself? say so once";

/// Why nobody makes it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Why {
    /// Nothing says which variant it is.
    NoLink,
    /// The owner has said which variant it is, and that is not in force yet.
    Intended,
    /// Its SKU is shared by several variants.
    Ambiguous,
    /// Its link leads to a variant that the supplier does not have.
    Broken,
    /// Its link leads elsewhere than the owner means.
    Elsewhere,
    /// It is linked, and no supplier has any of it.
    NotSent,
    /// It is linked, and suppliers have too few.
    Short,
}

/// Something that has a link, or should have one.
pub trait Linkable {
    /// Its name in a sentence, with its units.
    fn name(&self) -> impl Display;
    /// How many units it stands for.
    fn units(&self) -> u64;
    /// Its SKU.
    fn sku(&self) -> Option<&Sku>;
    /// Why nobody makes it, where that is known.
    fn reason(&self) -> Option<Reason>;
    /// Where its link leads, also a broken one.
    fn leads_to(&self) -> &[Part];
    /// Where the owner means its link to lead, where that is not in force yet.
    fn intended(&self) -> &[Part];
}

impl Linkable for NamedLine {
    fn name(&self) -> impl Display {
        line(self)
    }

    fn units(&self) -> u64 {
        self.units
    }

    fn sku(&self) -> Option<&Sku> {
        self.sku.as_ref()
    }

    fn reason(&self) -> Option<Reason> {
        self.reason
    }

    fn leads_to(&self) -> &[Part] {
        &self.needs
    }

    fn intended(&self) -> &[Part] {
        &self.intended
    }
}

impl Linkable for UnlinkedOffer {
    fn name(&self) -> impl Display {
        offer(&self.offer)
    }

    fn units(&self) -> u64 {
        1
    }

    fn sku(&self) -> Option<&Sku> {
        self.offer.sku.as_ref()
    }

    fn reason(&self) -> Option<Reason> {
        self.reason
    }

    fn leads_to(&self) -> &[Part] {
        &self.in_force
    }

    fn intended(&self) -> &[Part] {
        &self.intended
    }
}

impl Why {
    /// Why nobody makes this.
    pub fn of(thing: &impl Linkable) -> Self {
        match thing.reason() {
            Some(_) if !thing.intended().is_empty() => Self::Intended,
            None if !thing.intended().is_empty() => Self::Elsewhere,
            Some(Reason::NoLink) => Self::NoLink,
            Some(Reason::AmbiguousLink) => Self::Ambiguous,
            Some(Reason::BrokenLink) => Self::Broken,
            Some(Reason::Short) => Self::Short,
            Some(Reason::NotSent) | None => Self::NotSent,
        }
    }

    /// The things by why, in the order of [`Why`], each in the order given.
    pub fn groups<'a, T: Linkable>(things: impl IntoIterator<Item = &'a T>) -> Vec<(Self, Vec<&'a T>)> {
        let mut groups: Vec<(Self, Vec<&T>)> = Vec::new();
        for thing in things {
            let why = Self::of(thing);
            match groups.binary_search_by_key(&why, |(why, _)| *why) {
                Ok(at) => groups[at].1.push(thing),
                Err(at) => groups.insert(at, (why, vec![thing])),
            }
        }
        groups
    }

    /// Whether its link is in order, and only the supplier order is missing.
    pub fn is_linked(self) -> bool {
        matches!(self, Self::NotSent | Self::Short)
    }

    /// What to do about the link, where it is all that there is to mend; of one thing or of several.
    pub fn repair(self, one: bool) -> Option<&'static str> {
        match (self, one) {
            (Self::NoLink, true) => Some("link it"),
            (Self::NoLink, false) => Some("link them"),
            (Self::Intended, true) => Some("put its link in force"),
            (Self::Intended, false) => Some("put their links in force"),
            (Self::Ambiguous, true) => Some("link it to the right one"),
            (Self::Ambiguous, false) => Some("link each to the right one"),
            (Self::Broken, true) => Some("mend its link"),
            (Self::Broken, false) => Some("mend their links"),
            (Self::Elsewhere, true) => Some("put the intended link in force"),
            (Self::Elsewhere, false) => Some("put the intended links in force"),
            (Self::NotSent | Self::Short, _) => None,
        }
    }

    /// What to do about the link, where other things need something else.
    pub fn repair_among_others(self) -> Option<&'static str> {
        match self {
            Self::NoLink => Some("link what is not linked"),
            Self::Intended | Self::Elsewhere => Some("put the intended link in force"),
            Self::Ambiguous => Some("link what shares a SKU"),
            Self::Broken => Some("mend the broken link"),
            Self::NotSent | Self::Short => None,
        }
    }
}

/// What is wrong with things, as a clause behind them: `which is not linked to a supplier variant`. `one` says
/// that a single thing stands before it.
pub fn which<T: Linkable>(why: Why, things: &[&T], one: bool) -> impl Display {
    let (are, were) = if one { ("is", "was") } else { ("are", "were") };
    let only = if let [only] = things { Some(*only) } else { None };
    from_fn(move |f| match (why, only) {
        (Why::NoLink, _) => write!(f, "which {are} not linked to a supplier variant"),
        (Why::Intended, Some(only)) => {
            write!(f, "whose link to {} is intended and not in force yet", listed(only.intended(), part))
        }
        (Why::Intended, None) => f.write_str("whose links are intended and not in force yet"),
        (Why::Ambiguous, Some(only)) => match only.sku() {
            Some(sku) => write!(f, "whose {} is shared by several supplier variants", sku_name(sku)),
            None => f.write_str("whose SKU is shared by several supplier variants"),
        },
        (Why::Ambiguous, None) => f.write_str("whose SKUs are each shared by several supplier variants"),
        (Why::Broken, _) => f.write_str(&which_is_broken(things)),
        (Why::Elsewhere, Some(only)) => write!(
            f,
            "which leads to {} and not to {} as intended",
            listed(only.leads_to(), part),
            listed(only.intended(), part)
        ),
        (Why::Elsewhere, None) => f.write_str("which lead elsewhere than intended"),
        (Why::NotSent, _) => write!(f, "which {are} linked and {were} not sent"),
        (Why::Short, _) => f.write_str("of which only a part was sent"),
    })
}

/// `whose link leads to alder-print AP-77, which alder-print does not have`. What the shop packs itself is never
/// what is missing; where a set has several other parts, it is not known which of them is.
fn which_is_broken<T: Linkable>(things: &[&T]) -> String {
    let made: Vec<Vec<&Part>> = things
        .iter()
        .map(|thing| thing.leads_to().iter().filter(|part| !part.supplier.is_own()).collect())
        .collect();
    let parts = unique(made.iter().flatten().map(|part| (&part.supplier, part.variant_id.as_ref())));
    let suppliers = unique(parts.iter().map(|(supplier, _)| *supplier));

    let link = if things.len() == 1 { "whose link leads" } else { "whose links lead" };
    let leads_to =
        format!("{link} to {}", listed(&parts, |(supplier, variant_id)| part_name(supplier, *variant_id)));
    let all_named = made.iter().all(|parts| !parts.is_empty());
    let all_broken = made.iter().all(|parts| parts.len() == 1);
    match (all_named, all_broken, &suppliers[..]) {
        (false, ..) if things.len() == 1 => format!("{link} to a variant that the supplier does not have"),
        (false, ..) => format!("{link} to variants that the suppliers do not have"),
        (_, true, [supplier]) => format!("{leads_to}, which {supplier} does not have"),
        (_, true, _) => format!("{leads_to}, which the suppliers do not have"),
        (_, false, [supplier]) => format!("{leads_to}, not all of which {supplier} has"),
        (_, false, _) => format!("{leads_to}, not all of which the suppliers have"),
    }
}

/// The things with why nobody makes them, those of one reason together.
pub fn things_and_why<'a, T: Linkable + 'a>(things: impl IntoIterator<Item = &'a T>) -> String {
    let mut text = String::new();
    for (why, things) in Why::groups(things) {
        if !text.is_empty() {
            text += ", and ";
        }
        let one = things.iter().map(|thing| thing.units()).eq([1]);
        let _ = write!(text, "{}, {}", listed(&things, |thing| thing.name()), which(why, &things, one));
    }
    text
}
