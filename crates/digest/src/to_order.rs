//! What is still to be ordered of lines that are linked, and where: `1 x AP-9 from alder-print`.
//!
//! Must not know why it was not sent, nor until when it can be. Start reading at [`still_to_order`].

use std::collections::BTreeMap;

use model::finding::{NamedLine, SentLine};
use model::{LineId, SupplierId, VariantId};

use crate::words::{listed, unique};

/// Units of a supplier's variant.
type Missing<'a> = (&'a SupplierId, &'a VariantId, u64);

/// What suppliers have to make for the units of these lines that nobody makes, in the suppliers' units, each
/// supplier and variant once: `1 x AP-9 and 2 x BX-1 from alder-print`. Of a set of which a part was sent, only
/// what was not; `sent` is what suppliers have of the lines.
///
/// `None` where that cannot be told of every line: its link is not known, or something else was sent for a set,
/// of which nobody knows for which part it stands.
pub fn still_to_order<'a>(
    lines: impl IntoIterator<Item = &'a NamedLine>,
    sent: &[SentLine],
) -> Option<String> {
    let mut sent_for: BTreeMap<&LineId, Vec<&SentLine>> = BTreeMap::new();
    for sent in sent {
        sent_for.entry(&sent.line_id).or_default().push(sent);
    }
    let mut all_missing: Vec<Missing<'_>> = Vec::new();
    for line in lines {
        let sent = sent_for.get(&line.line_id).map(Vec::as_slice).unwrap_or_default();
        all_missing.extend(missing(line, sent)?);
    }
    let mut units_of: BTreeMap<(&SupplierId, &VariantId), u64> = BTreeMap::new();
    for (supplier, variant_id, units) in &all_missing {
        let sum = units_of.entry((supplier, variant_id)).or_default();
        *sum = sum.saturating_add(*units);
    }
    let variants = unique(all_missing.iter().map(|(supplier, variant_id, _)| (*supplier, *variant_id)));
    let suppliers = unique(variants.iter().map(|(supplier, _)| *supplier));
    let order_at = |supplier: &&SupplierId| {
        let of_supplier: Vec<_> = variants.iter().filter(|(of, _)| of == supplier).collect();
        let text = listed(&of_supplier, |variant| format!("{}\u{a0}x {}", units_of[*variant], variant.1));
        format!("{text} from {supplier}")
    };
    (!suppliers.is_empty()).then(|| listed(&suppliers, order_at).to_string())
}

/// What is missing of one line; what the shop packs itself is not.
///
/// The units of the line that nobody makes are those that its scarcest part leaves open. So all units that the line
/// is for are these and the ones for which enough was sent of every part.
fn missing<'a>(line: &'a NamedLine, sent: &[&SentLine]) -> Option<Vec<Missing<'a>>> {
    let parts: Vec<Missing<'a>> = line
        .parts()
        .iter()
        .filter(|part| !part.supplier.is_own())
        .map(|part| Some((&part.supplier, part.variant_id.as_ref()?, u64::from(part.units))))
        .collect::<Option<_>>()?;
    let mut units_sent = vec![0_u64; parts.len()];
    for sent in sent {
        let is_for =
            |part: &Missing<'_>| (*part.0 == sent.supplier && *part.1 == sent.variant_id) || parts.len() == 1;
        let part = parts.iter().position(is_for)?;
        units_sent[part] = units_sent[part].saturating_add(sent.units);
    }
    let whole: Option<Vec<u64>> =
        parts.iter().zip(&units_sent).map(|((.., per_unit), sent)| sent.checked_div(*per_unit)).collect();
    let needed = line.units.saturating_add(whole?.into_iter().min()?);
    let missing = parts.iter().zip(units_sent).map(|((supplier, variant_id, per_unit), sent)| {
        (*supplier, *variant_id, needed.saturating_mul(*per_unit).saturating_sub(sent))
    });
    Some(missing.filter(|(.., units)| *units > 0).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::finding::{Part, Reason};
    use proptest::prelude::*;

    fn line(line_id: &str, units: u64, needs: &[(&str, &str, u32)]) -> NamedLine {
        let part = |(supplier, variant_id, units): &(&str, &str, u32)| Part {
            supplier: (*supplier).into(),
            variant_id: (!variant_id.is_empty()).then(|| (*variant_id).into()),
            units: *units,
        };
        NamedLine {
            line_id: line_id.into(),
            listing_id: None,
            sku: None,
            title: None,
            options: None,
            quantity: 1,
            units,
            reason: Some(Reason::NotSent),
            needs: needs.iter().map(part).collect(),
            intended: Vec::new(),
            came_before_link: false,
            not_made_now: Vec::new(),
            unconfirmed: false,
        }
    }

    fn sent(line_id: &str, supplier: &str, variant_id: &str, units: u64) -> SentLine {
        SentLine {
            line_id: line_id.into(),
            supplier: supplier.into(),
            submission_id: "S-1".into(),
            submission_line_id: "1".into(),
            variant_id: variant_id.into(),
            units,
            way: 1,
        }
    }

    fn check(lines: &[NamedLine], sent: &[SentLine], want: Option<&str>) {
        let text = still_to_order(lines, sent).map(|text| text.replace('\u{a0}', " "));
        assert_eq!(text.as_deref(), want);
    }

    #[test]
    fn what_was_not_sent_at_all_is_ordered_whole_and_by_supplier() {
        let apron = ("alder-print", "AP-9", 1);
        let boxes = ("alder-print", "BX-1", 2);
        let cap = ("brook-print", "B-2", 1);
        let own = ("own", "", 1);
        let many: Vec<NamedLine> =
            (1..=5).map(|number| line("1", 1, &[("alder-print", &format!("AP-{number}"), 1)])).collect();
        for (lines, want) in [
            (&[line("1", 1, &[apron])][..], Some("1 x AP-9 from alder-print")),
            (&[line("1", 3, &[boxes])], Some("6 x BX-1 from alder-print")),
            (&[line("1", 1, &[apron, boxes])], Some("1 x AP-9 and 2 x BX-1 from alder-print")),
            (
                &[line("1", 2, &[apron, boxes, cap])],
                Some("2 x AP-9 and 4 x BX-1 from alder-print and 2 x B-2 from brook-print"),
            ),
            (
                &[line("1", 2, &[boxes]), line("2", 1, &[cap]), line("3", 1, &[apron, boxes])],
                Some("6 x BX-1 and 1 x AP-9 from alder-print and 1 x B-2 from brook-print"),
            ),
            (&[line("1", 1, &[apron, own])], Some("1 x AP-9 from alder-print")),
            (&many, Some("1 x AP-1, 1 x AP-2, 1 x AP-3 and 2 more from alder-print")),
            (&[line("1", 1, &[])], None),
            (&[line("1", 1, &[apron]), line("2", 1, &[])], None),
            (&[], None),
        ] {
            check(lines, &[], want);
        }
    }

    #[test]
    fn of_what_was_sent_in_part_only_the_rest_is_ordered() {
        let set = line("1", 1, &[("alder-print", "AP-9", 1), ("brook-print", "B-2", 2)]);
        let pair = line("1", 1, &[("alder-print", "AP-9", 2)]);
        for (line, sent, want) in [
            (&pair, &[sent("1", "alder-print", "AP-9", 3)][..], Some("1 x AP-9 from alder-print")),
            (&pair, &[sent("1", "alder-print", "AP-8", 1)], Some("1 x AP-9 from alder-print")),
            (&pair, &[sent("2", "alder-print", "AP-9", 1)], Some("2 x AP-9 from alder-print")),
            (&set, &[sent("1", "alder-print", "AP-9", 1)], Some("2 x B-2 from brook-print")),
            (&set, &[sent("1", "brook-print", "B-2", 2)], Some("1 x AP-9 from alder-print")),
            (
                &set,
                &[sent("1", "brook-print", "B-2", 1)],
                Some("1 x AP-9 from alder-print and 1 x B-2 from brook-print"),
            ),
            (&set, &[sent("1", "brook-print", "AP-9", 1)], None),
        ] {
            check(std::slice::from_ref(line), sent, want);
        }
    }

    proptest! {
        /// The units that nobody makes are counted as DEVELOPERS.md says: the most, over the parts, of the units
        /// still untied, divided by the units of the part and rounded up.
        #[test]
        fn what_was_sent_and_what_is_to_be_ordered_are_together_what_was_bought(
            bought in 1_u64..9,
            parts in prop::collection::vec((1_u32..5, 0_u64..40), 1..4),
        ) {
            let ids = ["V-0", "V-1", "V-2", "V-3"];
            let needs: Vec<_> =
                parts.iter().zip(ids).map(|((units, _), id)| ("alder-print", id, *units)).collect();
            let needed = |units: u32| bought * u64::from(units);
            let tied: Vec<u64> = parts.iter().map(|(units, sent)| *sent.min(&needed(*units))).collect();
            let uncovered = parts
                .iter()
                .zip(&tied)
                .map(|((units, _), sent)| (needed(*units) - sent).div_ceil(u64::from(*units)))
                .max()
                .unwrap();
            prop_assume!(uncovered > 0);
            let line = line("1", uncovered, &needs);
            let sent: Vec<_> =
                tied.iter().zip(ids).map(|(units, id)| sent("1", "alder-print", id, *units)).collect();
            let missing = missing(&line, &sent.iter().collect::<Vec<_>>()).unwrap();
            for (((units, _), sent), id) in parts.iter().zip(tied).zip(ids) {
                let of_part = missing.iter().find(|(_, variant_id, _)| variant_id.as_str() == id);
                prop_assert_eq!(sent + of_part.map_or(0, |(.., units)| *units), needed(*units));
            }
        }
    }
}
