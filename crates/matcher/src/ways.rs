//! In which way, if any, a unit of a submission line may be tied to a unit of an order line.

use std::cell::OnceCell;

use model::Reading;
use model::reading::Kind;

use crate::assign::Way;
use crate::catalogue::VariantIndex;
use crate::world::{LineIndex, SubmissionLineView, World};

/// What of a submission line's orders decides, the same for all their lines.
pub(crate) struct Offered<'w, 'a> {
    world: &'w World<'a>,
    line: &'w SubmissionLineView<'a>,
    variant: VariantIndex,
    /// Every line that it names is linked, and none of them to its variant.
    names_only_lines_linked_elsewhere: bool,
    /// Asked for only where one of its orders has a line without a link.
    linked: OnceCell<Linked<'w>>,
}

/// What the lines of a submission line's orders are linked to.
struct Linked<'w> {
    /// Some line is linked to its variant.
    to_its_variant: bool,
    /// What is read of the variants, each reading once.
    readings: Vec<&'w Reading>,
}

impl<'w, 'a> Offered<'w, 'a> {
    /// `None` where the submission line cannot serve anything.
    pub(crate) fn new(world: &'w World<'a>, line: &'w SubmissionLineView<'a>) -> Option<Self> {
        let variant = line.variant.filter(|_| line.serves())?;
        Some(Self {
            world,
            line,
            variant,
            names_only_lines_linked_elsewhere: line.named.iter().all(|named| {
                let link = &world.lines[*named].link;
                link.is_linked() && link.part_of(variant).is_none()
            }),
            linked: OnceCell::new(),
        })
    }

    fn linked(&self) -> &Linked<'w> {
        self.linked.get_or_init(|| {
            let world = self.world;
            let lines = self.line.orders.iter().flat_map(|order| world.orders[*order].lines.clone());
            let links = lines.map(|line| &world.lines[line].link).filter(|link| link.is_linked());
            let mut variants: Vec<VariantIndex> =
                links.flat_map(|link| link.parts.iter().filter_map(|part| part.variant)).collect();
            variants.sort_unstable();
            variants.dedup();
            let mut readings: Vec<&Reading> =
                variants.iter().map(|variant| world.catalogue.get(*variant).reading).collect();
            readings.sort_unstable();
            readings.dedup();
            Linked { to_its_variant: variants.binary_search(&self.variant).is_ok(), readings }
        })
    }

    /// The way for one part (`None`: the unknown need of a line without a link) of a line of its orders.
    pub(crate) fn way(&self, line: LineIndex, part: Option<VariantIndex>) -> Option<Way> {
        let names_it = self.line.named.binary_search(&line).is_ok();
        match part {
            Some(part) if part == self.variant => {
                if names_it {
                    Some(Way::ByReference)
                } else {
                    self.names_only_lines_linked_elsewhere.then_some(Way::ByVariant)
                }
            }
            Some(_) => {
                let is_none_of_the_parts = self.world.lines[line].link.part_of(self.variant).is_none();
                (names_it && is_none_of_the_parts).then_some(Way::Wrongly)
            }
            None => self.way_without_link(names_it, self.world.lines[line].reading),
        }
    }

    fn way_without_link(&self, names_it: bool, wanted: &Reading) -> Option<Way> {
        let sent = self.world.catalogue.get(self.variant).reading;
        if names_it {
            if wanted.contradicts(sent) {
                return Some(Way::Wrongly);
            }
            return (!self.linked().to_its_variant).then_some(Way::ByHand);
        }
        let by_hand = self.line.names_no_line
            && wanted.product_type.is_some()
            && !self.linked().to_its_variant
            && !self.linked().readings.iter().any(|linked| wanted.is_said_by(linked))
            && Kind::ALL.into_iter().all(|kind| self.is_the_same(kind, wanted, sent));
        by_hand.then_some(Way::ByHand)
    }

    /// Whether the variant is read to be what the line is read to be. What is read of the variant alone must be
    /// the only one in which its product comes; and if that is for whom it is, it must be for adults, who are
    /// meant where nothing is said (common practice, no published source).
    fn is_the_same(&self, kind: Kind, wanted: &Reading, sent: &Reading) -> bool {
        match (wanted.of(kind), sent.of(kind)) {
            (None, None) => true,
            (Some(wanted), Some(sent)) => wanted == sent,
            (Some(_), None) => false,
            (None, Some(sent)) => {
                (kind != Kind::AgeGroup || sent == "adult")
                    && self.world.catalogue.comes_in_one(self.variant, kind)
            }
        }
    }
}
