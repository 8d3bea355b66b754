//! Why nobody makes something, as the owner has to act on it: the clause that says so, and what mends it.
//!
//! Must not know in which finding it stands. Start reading at [`things_and_why`].

use std::fmt::{Display, Write as _, from_fn};

use model::finding::{NamedLine, Part, Reason, UnlinkedOffer};
use model::{Sku, SupplierId, VariantId};

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
    /// Its supplier cannot make it now.
    NotMade,
    /// The link of what it was bought of came after it.
    CameBefore,
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
    /// Whether its link is in force for what is bought from now on.
    fn came_before_link(&self) -> bool {
        false
    }
    /// What of it its supplier cannot make now.
    fn not_made_now(&self) -> &[Part] {
        &[]
    }
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

    fn came_before_link(&self) -> bool {
        self.came_before_link
    }

    fn not_made_now(&self) -> &[Part] {
        &self.not_made_now
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
        let is_intended = !thing.intended().is_empty();
        let is_broken = thing.reason() == Some(Reason::BrokenLink) && !is_intended;
        match thing.reason() {
            None if is_intended => Self::Elsewhere,
            Some(_) if !thing.not_made_now().is_empty() && !is_broken => Self::NotMade,
            Some(_) if thing.came_before_link() => Self::CameBefore,
            Some(_) if is_intended => Self::Intended,
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
        matches!(self, Self::NotSent | Self::Short | Self::CameBefore)
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
            (Self::NotMade | Self::NotSent | Self::Short | Self::CameBefore, _) => None,
        }
    }

    /// What to do about the link, where other things need something else.
    pub fn repair_among_others(self) -> Option<&'static str> {
        match self {
            Self::NoLink => Some("link what is not linked"),
            Self::Intended | Self::Elsewhere => Some("put the intended link in force"),
            Self::Ambiguous => Some("link what shares a SKU"),
            Self::Broken => Some("mend the broken link"),
            Self::NotMade | Self::NotSent | Self::Short | Self::CameBefore => None,
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
        (Why::NotMade, _) => {
            let parts = unique(things.iter().flat_map(|thing| thing.not_made_now()).map(name_of_part));
            let suppliers = unique(parts.iter().map(|(supplier, _)| *supplier));
            match suppliers[..] {
                [supplier] => {
                    let ids: Vec<&VariantId> = parts.iter().filter_map(|(_, id)| *id).collect();
                    write!(f, "which {supplier} cannot make now ({})", listed(&ids, |id| *id))
                }
                _ => write!(
                    f,
                    "which cannot be made now ({})",
                    listed(&parts, |(supplier, variant_id)| part_name(supplier, *variant_id))
                ),
            }
        }
        (Why::CameBefore, Some(only)) => write!(
            f,
            "which came before its link to {} was in force, so that it is not sent by itself",
            listed(only.intended(), part)
        ),
        (Why::CameBefore, None) => f.write_str(
            "which came before their links were in force, so that they are not sent by themselves",
        ),
        (Why::NotSent, _) => write!(f, "which {are} linked and {were} not sent"),
        (Why::Short, _) => f.write_str("of which only a part was sent"),
    })
}

fn name_of_part(part: &Part) -> (&SupplierId, Option<&VariantId>) {
    (&part.supplier, part.variant_id.as_ref())
}

/// `whose link leads to alder-print AP-77, which alder-print does not have`. What the shop packs itself is never
/// what is missing; where a set has several other parts, it is not known which of them is.
fn which_is_broken<T: Linkable>(things: &[&T]) -> String {
    let made: Vec<Vec<&Part>> = things
        .iter()
        .map(|thing| thing.leads_to().iter().filter(|part| !part.supplier.is_own()).collect())
        .collect();
    let parts = unique(made.iter().flatten().map(|part| name_of_part(part)));
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
