//! The findings as CSV (RFC 4180), a row per thing named, for a spreadsheet.
//!
//! Must not know how a finding is reached. No text cell is one that a spreadsheet would run: see [`harmless`].

use ::csv::{QuoteStyle, Terminator, WriterBuilder};
use chrono::{DateTime, SecondsFormat, Utc};
use chrono_tz::Tz;
use model::finding::{Evidence, NamedLine, NamedOffer, Reason};
use model::{Finding, ListingId, Options, Outcome};

use crate::clean::{clean, is_hidden};
use crate::say::say;

/// The columns, in their order. An empty cell is 'does not apply' or 'not known'.
///
/// - `check`, `id`, `supplier`, `act_before`, `cutoff_passed`, `first_seen`, `say`: the finding's, on each of its
///   rows. `say` is the whole finding's sentence.
/// - `order_id`: the finding's order; of a supplier order on hold or not begun, the orders that it is for, `;`
///   between them.
/// - `line_id`, `listing_id`, `sku`, `options`, `quantity`, `units`, `reason`: of the order line or offer that the
///   row names; `options` as a JSON object, as in the exchange files. Of a submission line, `quantity` and `units`.
/// - `submission_id`, `submission_line_id`, `variant_id`: of what the supplier was asked to make.
/// - `value_amount`, `value_currency`: the finding's value at risk, on its first row only, so that a column can
///   be added up.
///
/// Times are RFC 3339 with the offset of the shop's zone.
pub const COLUMNS: [&str; 20] = [
    "check",
    "id",
    "order_id",
    "line_id",
    "listing_id",
    "sku",
    "options",
    "quantity",
    "units",
    "reason",
    "supplier",
    "submission_id",
    "submission_line_id",
    "variant_id",
    "act_before",
    "cutoff_passed",
    "first_seen",
    "value_amount",
    "value_currency",
    "say",
];

/// What one row says beyond its finding.
#[derive(Default)]
struct Row {
    line_id: String,
    listing_id: String,
    sku: String,
    options: String,
    quantity: String,
    units: String,
    reason: &'static str,
    supplier: Option<String>,
    submission_id: Option<String>,
    submission_line_id: String,
    variant_id: String,
}

/// A row per order line named; per submission line named, where a check names such; per offer named. A finding
/// that names none of them has one row. With a header, also where nothing was found; lines end in CR LF.
///
/// Every text cell is quoted and made harmless: what a spreadsheet would run gets an apostrophe in front, and
/// control characters are replaced ([`crate::json()`] has the exact texts).
pub fn csv(outcome: &Outcome, zone: Tz) -> String {
    let mut writer = WriterBuilder::new()
        .quote_style(QuoteStyle::Always)
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    let mut write = |record: &[String]| writer.write_record(record).expect(WRITTEN_TO_MEMORY);
    write(&COLUMNS.map(str::to_owned));
    for finding in &outcome.findings {
        let said = say(finding, zone);
        for (index, row) in rows(finding).into_iter().enumerate() {
            write(&record(finding, row, index == 0, &said, zone));
        }
    }
    let bytes = writer.into_inner().expect(WRITTEN_TO_MEMORY);
    String::from_utf8(bytes).expect("only texts were written")
}

const WRITTEN_TO_MEMORY: &str = "rows have as many cells as there are columns, and memory takes them all";

fn record(finding: &Finding, row: Row, first: bool, said: &str, zone: Tz) -> [String; COLUMNS.len()] {
    let time =
        |moment: DateTime<Utc>| moment.with_timezone(&zone).to_rfc3339_opts(SecondsFormat::AutoSi, false);
    let value = finding.value_at_risk.filter(|_| first).map(|value| value.to_string());
    let (amount, currency) = match value.as_deref().and_then(|value| value.split_once('\u{a0}')) {
        Some((amount, currency)) => (amount.to_owned(), currency.to_owned()),
        None => (String::new(), String::new()),
    };
    let supplier = row.supplier.unwrap_or_else(|| shown(finding.supplier.as_ref()));
    let submission_id = row.submission_id.unwrap_or_else(|| shown(finding.submission_id.as_ref()));
    [
        finding.check.word().to_owned(),
        finding.id.to_string(),
        harmless(&order_ids(finding)),
        harmless(&row.line_id),
        harmless(&row.listing_id),
        harmless(&row.sku),
        harmless(&row.options),
        row.quantity,
        row.units,
        row.reason.to_owned(),
        harmless(&supplier),
        harmless(&submission_id),
        harmless(&row.submission_line_id),
        harmless(&row.variant_id),
        finding.act_before.map(time).unwrap_or_default(),
        finding.cutoff_passed.to_string(),
        time(finding.first_seen),
        amount,
        currency,
        harmless(said),
    ]
}

fn order_ids(finding: &Finding) -> String {
    match (&finding.order_id, &finding.evidence) {
        (Some(order_id), _) => order_id.to_string(),
        (None, Evidence::Waiting(waiting)) => {
            waiting.order_ids.iter().map(ToString::to_string).collect::<Vec<_>>().join(";")
        }
        (None, _) => String::new(),
    }
}

fn rows(finding: &Finding) -> Vec<Row> {
    let rows: Vec<Row> = match &finding.evidence {
        Evidence::Surplus(_) | Evidence::Cancelled(_) | Evidence::Stray(_) => submission_lines(finding),
        Evidence::Wrong(wrong) => wrong
            .sent
            .iter()
            .map(|sent| Row {
                units: sent.units.to_string(),
                supplier: Some(sent.variant.supplier.to_string()),
                submission_id: Some(sent.submission_id.to_string()),
                submission_line_id: sent.submission_line_id.to_string(),
                variant_id: sent.variant.variant_id.to_string(),
                ..finding.lines.first().map(order_line).unwrap_or_default()
            })
            .collect(),
        Evidence::Waiting(waiting) => waiting
            .submission_line_ids
            .iter()
            .map(|line_id| Row { submission_line_id: line_id.to_string(), ..Row::default() })
            .collect(),
        Evidence::Unlinked(unlinked) => unlinked
            .offers
            .iter()
            .map(|unlinked_offer| Row {
                reason: unlinked_offer.reason.map(reason).unwrap_or_default(),
                ..offer(&unlinked.listing_id, &unlinked_offer.offer)
            })
            .collect(),
        Evidence::Mismatch(mismatch) => mismatch
            .variants
            .iter()
            .map(|mismatched| Row {
                supplier: Some(mismatched.variant.supplier.to_string()),
                variant_id: mismatched.variant.variant_id.to_string(),
                ..offer(&mismatch.listing_id, &mismatch.offer)
            })
            .collect(),
        Evidence::Unusable(unusable) => {
            let link = || Row {
                listing_id: shown(unusable.listing_id.as_ref()),
                sku: shown(unusable.sku.as_ref()),
                options: unusable.options.as_ref().map(options).unwrap_or_default(),
                ..Row::default()
            };
            let offered = || unusable.offers.iter().map(|offered| offer(&offered.listing_id, &offered.offer));
            unusable
                .parts
                .iter()
                .flat_map(|part| {
                    let named: Vec<Row> =
                        if unusable.offers.is_empty() { vec![link()] } else { offered().collect() };
                    named.into_iter().map(|row| Row {
                        supplier: Some(part.supplier.to_string()),
                        variant_id: part.variant_id.to_string(),
                        ..row
                    })
                })
                .collect()
        }
        Evidence::Shared(shared) => shared
            .offers
            .iter()
            .map(|sharing| Row {
                supplier: Some(shared.variant.supplier.to_string()),
                variant_id: shared.variant.variant_id.to_string(),
                ..offer(&shared.listing_id, &sharing.offer)
            })
            .collect(),
        Evidence::Loss(loss) => vec![offer(&loss.listing_id, &loss.offer)],
        Evidence::Gap(_)
        | Evidence::PartDispatched(_)
        | Evidence::Late(_)
        | Evidence::Unmarked(_)
        | Evidence::Address(_)
        | Evidence::Source(_) => Vec::new(),
    };
    if !rows.is_empty() {
        return rows;
    }
    if finding.lines.is_empty() {
        return vec![Row::default()];
    }
    finding.lines.iter().map(order_line).collect()
}

fn order_line(line: &NamedLine) -> Row {
    Row {
        line_id: line.line_id.to_string(),
        listing_id: shown(line.listing_id.as_ref()),
        sku: shown(line.sku.as_ref()),
        options: line.options.as_ref().map(options).unwrap_or_default(),
        quantity: line.quantity.to_string(),
        units: line.units.to_string(),
        reason: line.reason.map(reason).unwrap_or_default(),
        ..Row::default()
    }
}

fn submission_lines(finding: &Finding) -> Vec<Row> {
    finding
        .submission_lines
        .iter()
        .map(|line| Row {
            quantity: line.quantity.to_string(),
            units: line.units.to_string(),
            submission_line_id: line.line_id.to_string(),
            variant_id: shown(line.variant_id.as_ref()),
            ..Row::default()
        })
        .collect()
}

fn offer(listing_id: &ListingId, offer: &NamedOffer) -> Row {
    Row {
        listing_id: listing_id.to_string(),
        sku: shown(offer.sku.as_ref()),
        options: options(&offer.options),
        ..Row::default()
    }
}

fn shown(value: Option<&impl ToString>) -> String {
    value.map(ToString::to_string).unwrap_or_default()
}

fn options(options: &Options) -> String {
    serde_json::to_string(options).expect("a map of text to text always serialises")
}

fn reason(reason: Reason) -> &'static str {
    match reason {
        Reason::NoLink => "no-link",
        Reason::AmbiguousLink => "ambiguous-link",
        Reason::BrokenLink => "broken-link",
        Reason::NotSent => "not-sent",
        Reason::Short => "short",
    }
}

/// A text cell without control characters, and with an apostrophe in front where a spreadsheet would take it for
/// a formula: where its first character that shows is `=`, `+`, `-` or `@`, in any width, or where it begins
/// with a tab or a line end. A text that happens to be a negative number gets one too; the columns of numbers
/// hold numbers only and do not pass here.
///
/// Source: OWASP, CSV Injection (its list of leading characters).
pub fn harmless(cell: &str) -> String {
    let shown = cell.trim_start_matches(|c: char| c.is_whitespace() || c.is_control() || is_hidden(c));
    let first = shown.chars().next().map(|c| model::text::fold(c.encode_utf8(&mut [0; 4])));
    let runs = first.is_some_and(|first| first.starts_with(['=', '+', '-', '@']))
        || cell.starts_with(['\t', '\r', '\n']);
    if runs { format!("'{}", clean(cell)) } else { clean(cell).into_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: OWASP, CSV Injection: leading characters and the two examples.
    #[test]
    fn a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe() {
        for (cell, want) in [
            ("=1+2\";=1+2", "'=1+2\";=1+2"),
            ("=1+2'\" ;,=1+2", "'=1+2'\" ;,=1+2"),
            ("+1", "'+1"),
            ("-1", "'-1"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "' =1"),
            ("\r=1", "' =1"),
            ("\n=1", "' =1"),
            ("\tplain", "' plain"),
            ("  =1", "'  =1"),
            ("\u{a0}\u{feff}=1", "'\u{a0}=1"),
            ("\u{0}=1", "'\u{fffd}=1"),
            ("\u{ff1d}1", "'\u{ff1d}1"),
            ("\u{ff0b}1", "'\u{ff0b}1"),
            ("\u{ff0d}1", "'\u{ff0d}1"),
            ("\u{ff20}A", "'\u{ff20}A"),
            ("\u{fe62}1", "'\u{fe62}1"),
            ("KK-1007", "KK-1007"),
            ("a=b", "a=b"),
            ("'=1", "'=1"),
            ("", ""),
        ] {
            assert_eq!(harmless(cell), want, "{cell:?}");
        }
    }

    /// Source: OWASP, CSV Injection: both examples as they stand in the file.
    #[test]
    fn cells_are_quoted_as_the_published_examples_are() {
        for (cell, want) in
            [("=1+2\";=1+2", "\"'=1+2\"\";=1+2\""), ("=1+2'\" ;,=1+2", "\"'=1+2'\"\" ;,=1+2\"")]
        {
            let mut writer = WriterBuilder::new().quote_style(QuoteStyle::Always).from_writer(Vec::new());
            writer.write_record([harmless(cell)]).unwrap();
            assert_eq!(String::from_utf8(writer.into_inner().unwrap()).unwrap(), format!("{want}\n"));
        }
    }
}
