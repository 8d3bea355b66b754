//! Parcels of which the orders of a supplier themselves say when they went, and under which number.
//!
//! Must not know how columns are chosen. Start reading at [`Maker::parcels_of_records`].

use super::fields::{Maker, told};
use super::level::Level;
use super::lexicon::Meaning;
use super::score::Chosen;
use super::value::LIKELY_SCORE;
use super::{How, ProposedTable};
use crate::tables::{Column, Table};

impl Maker<'_, '_> {
    /// Parcels of which the submissions themselves say when they went and under which number.
    pub(super) fn parcels_of_records(&self) -> Option<ProposedTable> {
        if self.planned.level != Level::Submissions
            || self.all.iter().any(|planned| planned.level == Level::Parcels)
        {
            return None;
        }
        let answers = &self.asked.answers;
        if answers.lists.get(Table::Parcels.name()).is_some_and(Option::is_none) {
            return None;
        }
        let chosen = |meaning: Meaning, column: Column| match answers.places.get(&format!(
            "{}.{}",
            Table::Parcels.name(),
            column.name()
        )) {
            Some(place) => self.named(place).map(told),
            None => self.planned.chosen.get(meaning).cloned(),
        };
        let own = self.planned.chosen.get("submission_id").cloned();
        let id = match answers.places.get("submissions.submission_id") {
            Some(place) => self.named(place).map(told)?,
            None => own?,
        };
        let gone = chosen("dispatched_at", Column::DispatchedAt)?;
        let tracking = chosen("tracking_number", Column::TrackingNumber);
        let least = |chosen: &Chosen, least: f64| chosen.evidence.score >= least;
        let parcel = match (chosen("parcel_id", Column::ParcelId), &tracking) {
            (Some(parcel), _) if least(&parcel, 6.0) => parcel,
            (_, Some(tracking)) if least(tracking, 3.0) || tracking.evidence.by_values >= 2.0 => {
                tracking.clone()
            }
            _ => return None,
        };
        if !least(&gone, 3.0) {
            return None;
        }
        let named = self.sheet().list.columns[parcel.column].at.clone()?;
        let when = self.sheet().list.columns[gone.column].at.clone()?;
        let here = |at: &str| format!("@{}", at.strip_prefix('$').unwrap_or(at));
        // What is not there is not the same as null (RFC 9535, 2.3.5.2.2).
        let there = |at: &str| format!("{0} && {0} != null && {0} != ''", here(at));
        let list = self.planned.at.strip_suffix("[*]").or(self.planned.at.strip_suffix(".*"))?;
        let at =
            format!("{list}[?{} && {} && {} && {}]", here(&named), there(&named), here(&when), there(&when));
        let mut fields = Vec::new();
        let mut add = |column: Column, chosen: &Chosen| {
            let mut draft = self.value(column, chosen);
            if column == Column::ParcelId {
                draft.how = draft.how.min(How::Likely);
                draft.why = format!("{}; no other column tells parcels apart", draft.why);
            }
            let mut field = self.field(column, draft);
            field.table = Table::Parcels.name();
            fields.push(field);
        };
        add(Column::ParcelId, &parcel);
        add(Column::SubmissionId, &id);
        add(Column::DispatchedAt, &gone);
        if let Some(carrier) = chosen("carrier", Column::Carrier).filter(|found| least(found, LIKELY_SCORE)) {
            add(Column::Carrier, &carrier);
        }
        if let Some(tracking) = &tracking {
            add(Column::TrackingNumber, tracking);
        }
        let columns = self.columns();
        Some(ProposedTable { table: Table::Parcels.name(), within: None, at, fields, columns })
    }
}
