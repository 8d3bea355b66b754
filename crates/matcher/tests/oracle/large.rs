//! A large order, of which no brute force can tell what serves what, and the proof that the crate's answer is one
//! that the rules allow.
//!
//! The ties are taken from the crate's finding. The oracle says of each in which way it may be, and that no
//! more units can be tied; all that follows from them it judges by itself. Start reading at [`proof`].

use std::collections::{BTreeSet, VecDeque};
use std::fmt::Write;

use model::finding::Evidence;

use crate::oracle::case::{Case, as_of};
use crate::oracle::judging;
use crate::oracle::matching::{self, Need, Tied};
use crate::oracle::sending::Sent;
use crate::oracle::world::World;
use crate::oracle::{compared, notation};

const LINES: usize = 200;

/// What an order line says, and the variants that one unit of it needs, each with how many of it.
struct Wanted {
    says: String,
    parts: Vec<(String, usize)>,
}

/// An order of 200 lines: 80 of one variant, 70 of twelve others, 20 sets, 20 that nothing links, 10 of own
/// stock. Some of it is sent by line, some without a line reference, some wrongly, twice, in part or not at all.
pub fn order() -> Case {
    let mut rows = String::from(
        "order A paid=-90m
         link sku=SET0 to=alder/V1 units=2
         link sku=SET0 to=brook/W0
         link sku=SET1 to=alder/V0
         link sku=SET1 to=brook/W1 units=3
         link sku=BOX to=own
         variant brook/W0
         variant brook/W1
         variant brook/X0 reads=tote,S,moss
         variant brook/X1 reads=tote,M,moss
         submission alder/S1 ref=A
         submission alder/S2 ref=A
         submission brook/S3 ref=A
        ",
    );
    for variant in 0..13 {
        writeln!(rows, "variant alder/V{variant} sku=K{variant} reads=apron,{variant}").expect("a string");
    }
    let mut sent = Vec::new();
    for line in 0..LINES {
        let Wanted { says, parts } = wanted(line);
        let quantity = 1 + line % 3;
        let cancelled = usize::from(line % 17 == 0);
        writeln!(rows, "line A/{line} {says} quantity={quantity} cancelled={cancelled}").expect("a string");
        let is_set = parts.len() > 1;
        for (variant, units) in parts {
            let units = units * quantity;
            match line / 2 % 12 {
                0..=3 => sent.push((Some(line), variant, units)),
                4..=6 => sent.push((None, variant, units)),
                7 => {}
                8 => sent.push((Some(line), variant, units - 1)),
                9 => sent.extend([(Some(line), variant.clone(), units), (None, variant, 1)]),
                10 if !is_set => sent.push((Some(line), "alder/V5".into(), units)),
                11 if wanted(line + 1).parts.len() == 1 => sent.push((Some(line + 1), variant, units)),
                _ => sent.push((None, variant, units)),
            }
        }
    }
    for (at, (line, variant, units)) in sent.into_iter().enumerate() {
        let (supplier, variant) = variant.split_once('/').expect("a supplier and a variant");
        let submission = if supplier == "brook" { "S3" } else { ["S1", "S2"][at % 2] };
        let line = line.map(|line| format!(" line={line}")).unwrap_or_default();
        writeln!(rows, "sent {supplier}/{submission}/{at}{line} variant={variant} quantity={units}")
            .expect("a string");
    }
    notation::case(&rows)
}

fn wanted(line: usize) -> Wanted {
    let one = |says: String, variant: String| Wanted { says, parts: vec![(variant, 1)] };
    match line % 10 {
        0..=3 => one("sku=K0".into(), "alder/V0".into()),
        4..=6 => one(format!("sku=K{}", 1 + line % 12), format!("alder/V{}", 1 + line % 12)),
        7 if line % 20 == 7 => {
            Wanted { says: "sku=SET0".into(), parts: vec![("alder/V1".into(), 2), ("brook/W0".into(), 1)] }
        }
        7 => Wanted { says: "sku=SET1".into(), parts: vec![("alder/V0".into(), 1), ("brook/W1".into(), 3)] },
        8 if line % 20 == 8 => one("reads=tote,S,moss".into(), "brook/X0".into()),
        8 => one("reads=tote,M,moss".into(), "brook/X1".into()),
        _ if line % 20 == 9 => Wanted { says: "sku=BOX".into(), parts: Vec::new() },
        _ => one(format!("sku=K{}", 1 + line % 12), format!("alder/V{}", 1 + line % 12)),
    }
}

/// Whether the crate's ties are such as may be, as many as can be, and all else follows from them.
pub fn proof(case: &Case) -> Result<(), String> {
    let world = World::new(&case.book, case.facts(), &case.rules, as_of());
    let needs = matching::needs(&world);
    let tied = ties(case, &world, &needs)?;
    let pairs: Vec<Vec<(usize, u8)>> = (0..world.sent.len())
        .map(|sent| {
            let ways = needs.iter().map(|need| matching::way(&world, need, &world.sent[sent]));
            ways.enumerate().filter_map(|(need, way)| Some((need, way?))).collect()
        })
        .collect();
    if let Some(tie) = tied.iter().find(|tie| !pairs[tie.sent].contains(&(tie.need, tie.way))) {
        return Err(format!("not in this way: {tie:?}"));
    }
    let mut still_needed: Vec<u64> = needs.iter().map(|need| need.units).collect();
    let mut left_over: Vec<u64> = world.sent.iter().map(Sent::quantity).collect();
    for tie in &tied {
        if tie.units > still_needed[tie.need].min(left_over[tie.sent]) {
            return Err(format!("more than there is: {tie:?}"));
        }
        still_needed[tie.need] -= tie.units;
        left_over[tie.sent] -= tie.units;
    }
    if let Some(need) = one_more(&pairs, &tied, &still_needed, &left_over) {
        return Err(format!("one more could be tied to {:?}", needs[need].line));
    }
    for way in 1..=4 {
        if !tied.iter().any(|tie| tie.way == way) {
            return Err(format!("nothing is tied in way {way}: the order proves too little"));
        }
    }
    compared::differences_from(&judging::judge_matched(&world, &needs, &tied), case)
}

/// The ties that the crate names beside what is missing.
fn ties(case: &Case, world: &World<'_>, needs: &[Need]) -> Result<Vec<Tied>, String> {
    let outcome = compared::outcome(case);
    let gap = outcome.findings.iter().find_map(|finding| match &finding.evidence {
        Evidence::Gap(gap) => Some(gap),
        _ => None,
    });
    let mut tied = Vec::new();
    for line in &gap.ok_or("nothing is missing")?.sent {
        let made = Some((line.supplier.clone(), line.variant_id.clone()));
        let mut of_line = (0..needs.len()).filter(|need| needs[*need].line.1 == line.line_id);
        // Where something else was sent than what is needed, the line needs one thing alone.
        let need = of_line.clone().find(|need| needs[*need].part == made).or_else(|| of_line.next());
        let key = (line.supplier.clone(), line.submission_id.clone(), line.submission_line_id.clone());
        let sent = world.sent.iter().position(|sent| sent.key() == key);
        let (Some(need), Some(sent)) = (need, sent) else { return Err(format!("{line:?} is of nothing")) };
        tied.push(Tied { need, sent, way: line.way, units: line.units });
    }
    tied.sort_by_key(|tie| (tie.need, tie.sent));
    Ok(tied)
}

/// A need that could have one unit more if others were served by something else. There is none where as many
/// units are tied as can be. Source: Berge (1957), augmenting paths.
fn one_more(
    pairs: &[Vec<(usize, u8)>],
    tied: &[Tied],
    still_needed: &[u64],
    left_over: &[u64],
) -> Option<usize> {
    let mut next: VecDeque<usize> = (0..pairs.len()).filter(|sent| left_over[*sent] > 0).collect();
    let mut reached: BTreeSet<usize> = next.iter().copied().collect();
    while let Some(sent) = next.pop_front() {
        for (need, _) in &pairs[sent] {
            if still_needed[*need] > 0 {
                return Some(*need);
            }
            for tie in tied.iter().filter(|tie| tie.need == *need) {
                if reached.insert(tie.sent) {
                    next.push_back(tie.sent);
                }
            }
        }
    }
    None
}
