//! Tables that were not found, and the lists of the samples that may be them: what an owner is asked who knows it.
//!
//! Looks at values alone, and chooses nothing. Must not know how columns are weighed. Start reading at [`missing`].

use super::level::Level;
use super::plan::{All, Planned, Shaped};
use super::sheet::Sheet;
use super::{FoundList, ListPlace, MissingTable, ProposedRole};

/// How many names of a list are shown.
const NAMES: usize = 6;

/// How many lists are offered for one table.
const LISTS: usize = 12;

/// The tables that a source may have and that were not found, each with the lists that may be it; those of which the owner
/// said which list they are stand here too, and those of which there is none do not.
pub(super) fn missing(all: &All<'_, '_>, planned: &[Planned<'_>], samples: &[Shaped]) -> Vec<MissingTable> {
    let has = |level: Level| planned.iter().any(|planned| planned.level == level);
    let has_orders = planned.iter().any(|planned| planned.level == super::plan::orders_of(&all.asked.role));
    let levels: &[Level] = match (&all.asked.role, !has_orders) {
        (ProposedRole::Storefront, true) => &[Level::Orders],
        (ProposedRole::Supplier(_), true) => &[Level::Submissions, Level::Variants],
        (ProposedRole::Storefront, false) => &[Level::OrderLines, Level::Offers],
        (ProposedRole::Supplier(_), false) => {
            &[Level::SubmissionLines, Level::Parcels, Level::ParcelLines, Level::Variants]
        }
    };
    let mut found = Vec::new();
    for level in levels.iter().copied() {
        let said = all.asked.answers.lists.get(level.table().name());
        let is_said = matches!(said, Some(Some(_)));
        // What is in parcels is asked where these are known.
        if has(level) && !is_said || level == Level::ParcelLines && !has(Level::Parcels) {
            continue;
        }
        let mut lists = Vec::new();
        for (index, (file, sheet)) in
            all.sheets.iter().enumerate().filter(|(index, _)| !all.is_joined(*index))
        {
            let is_of = |other: &&Planned<'_>| {
                other.file == *file && other.sheet.list.at == sheet.list.at && other.level != level
            };
            // A file of which nothing is read is known to its owner, whatever it is like.
            let is_unused =
                sheet.list.parent.is_none() && !planned.iter().any(|planned| planned.file == *file);
            let is_another = planned.iter().any(|other| is_of(&other));
            if is_another || !is_unused && !may_be(all, index, sheet, level) {
                continue;
            }
            let is_table = samples[*file].is_table;
            let at = (!is_table).then(|| sheet.list.at.clone());
            let place = ListPlace { file: samples[*file].name.clone(), at };
            if lists.iter().any(|known: &FoundList| known.place == place) {
                continue;
            }
            let named = sheet.list.columns.iter().filter(|column| column.at.is_some());
            lists.push(FoundList {
                place,
                names: named.map(|column| column.path.join(".")).take(NAMES).collect(),
                records: sheet.list.records.len() as u64,
            });
        }
        lists.truncate(LISTS);
        let said = said.cloned();
        if !lists.is_empty() || is_said {
            found.push(MissingTable {
                table: level.table().name(),
                lists,
                said,
                is_needed: is_needed(level),
            });
        }
    }
    found
}

/// Whether nothing can be judged without it.
fn is_needed(level: Level) -> bool {
    matches!(level, Level::Orders | Level::OrderLines | Level::Submissions | Level::SubmissionLines)
}

/// Whether a list has, by its values, what records of a table need.
fn may_be(all: &All<'_, '_>, index: usize, sheet: &Sheet<'_>, level: Level) -> bool {
    if sheet.list.columns.len() < 2 || sheet.list.records.len() < 2 {
        return false;
    }
    let any = |is: &dyn Fn(usize) -> bool| (0..sheet.profiles.len()).any(is);
    let names = |column: usize| {
        let profile = &sheet.profiles[column];
        let is_code = profile.with_digit > 0.5 && profile.with_blank == 0.0 && profile.mean_length >= 2.0;
        profile.may_be_id() && is_code && profile.fill() > 0.5 && profile.distinct * 2 > profile.filled
    };
    let is_time = |column: usize| sheet.profiles[column].times.is_some();
    let is_amount = |column: usize| {
        let profile = &sheet.profiles[column];
        profile.times.is_none() && profile.range().is_some_and(|(least, most)| least >= 0 && most <= 5_000)
    };
    let is_price =
        |column: usize| sheet.profiles[column].times.is_none() && sheet.profiles[column].amounts.is_some();
    let is_text =
        |column: usize| sheet.profiles[column].with_letter > 0.9 && sheet.profiles[column].distinct > 1;
    match level {
        Level::Orders | Level::Submissions => any(&names) && any(&is_time),
        Level::OrderLines | Level::SubmissionLines => any(&is_amount),
        Level::ParcelLines => any(&is_amount) && sheet.list.parent.is_some_and(|parent| all.has_time(parent)),
        Level::Parcels => any(&names) && any(&is_time),
        Level::Offers | Level::Variants => {
            // A catalogue has no times of orders in each of its records, and stands in no order.
            let is_alone = all.around(index).iter().all(|at| !all.has_time(*at));
            is_alone && any(&names) && (any(&is_price) || any(&is_text))
        }
        Level::Links => false,
    }
}
