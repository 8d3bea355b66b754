//! Rows as everyline has read them, column by column, for an owner to look at.
//!
//! Must not know where they came from, or which columns are to be shown. Start reading at [`tables`].

use std::collections::BTreeMap;

use chrono::SecondsFormat;
use chrono_tz::Tz;
use model::book::{
    LinkRow, LinkScope, ListingProduct, Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission,
    SubmissionLine, SubmissionStatus, Tie, Variant,
};
use model::{Book, Currency, Money, Options, OrderId, When};
use rust_decimal::Decimal;

/// The columns of a row, in the documented order of its table; `None` where it is not known.
pub type Cells = Vec<(&'static str, Option<String>)>;

/// A table, as far as it is to be shown.
pub struct Shown {
    /// Its name.
    pub table: &'static str,
    /// How many rows it has in all.
    pub count: usize,
    /// The columns that name a row.
    pub key: &'static [&'static str],
    /// The first of its rows, by key.
    pub first: Vec<Cells>,
}

/// All tables that are there, of each so many rows. Times are told in the shop's zone.
pub fn tables(book: &Book, records: usize, zone: Tz) -> Vec<Shown> {
    let when = |when: Option<When>| when.map(|when| told(when, zone));
    let currencies: BTreeMap<&OrderId, Currency> =
        book.orders.iter().filter_map(|order| Some((&order.order_id, order.currency?))).collect();
    let mut all = vec![
        shown("orders", &["order_id"], &book.orders, records, |row| order(row, &when)),
        shown("order_lines", &["order_id", "line_id"], &book.order_lines, records, |row| {
            order_line(row, currencies.get(&row.order_id).copied(), &when)
        }),
    ];
    let mut add = |table: Option<Shown>| all.extend(table);
    add(book.offers.as_deref().map(|rows| shown("offers", &["listing_id"], rows, records, offer)));
    add(book.variants.as_deref().map(|rows| shown("variants", &["variant_id"], rows, records, variant)));
    add(book
        .listing_products
        .as_deref()
        .map(|rows| shown("listing_products", &["listing_id"], rows, records, listing_product)));
    add(book.links.as_deref().map(|rows| shown("links", &[], rows, records, link)));
    add(book
        .submissions
        .as_deref()
        .map(|rows| shown("submissions", &["submission_id"], rows, records, |row| submission(row, &when))));
    add(book.submission_lines.as_deref().map(|rows| {
        let key = &["submission_id", "line_id"];
        shown("submission_lines", key, rows, records, |row| submission_line(row, &when))
    }));
    add(book
        .parcels
        .as_deref()
        .map(|rows| shown("parcels", &["parcel_id"], rows, records, |row| parcel(row, &when))));
    add(book
        .parcel_lines
        .as_deref()
        .map(|rows| shown("parcel_lines", &["parcel_id", "submission_line_id"], rows, records, parcel_line)));
    add(book.ties.as_deref().map(|rows| shown("ties", &["order_id", "line_id"], rows, records, tie)));
    all
}

fn shown<T>(
    table: &'static str,
    key: &'static [&'static str],
    rows: &[T],
    records: usize,
    cells: impl Fn(&T) -> Cells,
) -> Shown {
    Shown { table, count: rows.len(), key, first: rows.iter().take(records).map(cells).collect() }
}

type Told<'a> = &'a dyn Fn(Option<When>) -> Option<String>;

fn order(row: &Order, when: Told<'_>) -> Cells {
    let status = match row.status {
        OrderStatus::Unpaid => "unpaid",
        OrderStatus::Open => "open",
        OrderStatus::Dispatched => "dispatched",
        OrderStatus::Cancelled => "cancelled",
    };
    vec![
        ("order_id", text(&row.order_id)),
        ("placed_at", when(Some(row.placed_at))),
        ("paid_at", when(row.paid_at)),
        ("status", text(status)),
        ("currency", row.currency.and_then(text)),
        ("promised_by", when(row.promised_by)),
        ("ship_to_country", row.ship_to_country.clone()),
        ("ship_to_digest", row.ship_to_digest.as_ref().map(|_| "kept as a digest".to_owned())),
        ("updated_at", when(row.updated_at)),
    ]
}

fn order_line(row: &OrderLine, currency: Option<Currency>, when: Told<'_>) -> Cells {
    vec![
        ("order_id", text(&row.order_id)),
        ("line_id", text(&row.line_id)),
        ("listing_id", row.listing_id.as_ref().and_then(text)),
        ("sku", row.sku.as_ref().and_then(text)),
        ("title", row.title.clone()),
        ("options", row.options.as_ref().map(options)),
        ("quantity", text(row.quantity)),
        ("cancelled_quantity", text(row.cancelled_quantity)),
        ("unit_price", money(row.unit_price, currency)),
        ("updated_at", when(row.updated_at)),
    ]
}

fn offer(row: &Offer) -> Cells {
    vec![
        ("listing_id", text(&row.listing_id)),
        ("sku", row.sku.as_ref().and_then(text)),
        ("title", row.title.clone()),
        ("options", Some(options(&row.options))),
        ("price", money(row.price, row.currency)),
        ("currency", row.currency.and_then(text)),
        ("buyable", text(row.buyable)),
    ]
}

fn variant(row: &Variant) -> Cells {
    vec![
        ("supplier", text(&row.supplier)),
        ("variant_id", text(&row.variant_id)),
        ("sku", row.sku.as_ref().and_then(text)),
        ("product", row.product.clone()),
        ("options", row.options.as_ref().map(options)),
        ("unit_cost", money(row.unit_cost, row.currency)),
        ("currency", row.currency.and_then(text)),
        ("available", text(row.available)),
    ]
}

fn listing_product(row: &ListingProduct) -> Cells {
    vec![
        ("listing_id", text(&row.listing_id)),
        ("supplier", text(&row.supplier)),
        ("product", text(&row.product)),
    ]
}

fn link(row: &LinkRow) -> Cells {
    let (listing_id, sku, chosen) = match &row.scope {
        LinkScope::Offer(listing_id, chosen) => (text(listing_id), None, Some(options(chosen))),
        LinkScope::Sku(sku) => (None, text(sku), None),
        LinkScope::Listing(listing_id) => (text(listing_id), None, None),
    };
    vec![
        ("listing_id", listing_id),
        ("sku", sku),
        ("options", chosen),
        ("supplier", text(&row.supplier)),
        ("variant_id", row.variant_id.as_ref().and_then(text)),
        ("units", text(row.units)),
        ("in_force", text(row.in_force)),
    ]
}

fn submission(row: &Submission, when: Told<'_>) -> Cells {
    vec![
        ("supplier", text(&row.supplier)),
        ("submission_id", text(&row.submission_id)),
        ("order_ref", row.order_ref.clone()),
        ("status", text(status(row.status))),
        ("received_at", when(Some(row.received_at))),
        ("replaces", row.replaces.clone()),
        ("updated_at", when(row.updated_at)),
    ]
}

fn submission_line(row: &SubmissionLine, when: Told<'_>) -> Cells {
    vec![
        ("supplier", text(&row.supplier)),
        ("submission_id", text(&row.submission_id)),
        ("line_id", text(&row.line_id)),
        ("order_ref", row.order_ref.clone()),
        ("order_line_ref", row.order_line_ref.as_ref().and_then(text)),
        ("variant_id", row.variant_id.as_ref().and_then(text)),
        ("sku", row.sku.as_ref().and_then(text)),
        ("quantity", text(row.quantity)),
        ("status", row.status.map(status).and_then(text)),
        // In the currency of the variant, which the table does not have.
        ("unit_cost", row.unit_cost.and_then(text)),
        ("updated_at", when(row.updated_at)),
    ]
}

fn parcel(row: &Parcel, when: Told<'_>) -> Cells {
    vec![
        ("supplier", text(&row.supplier)),
        ("parcel_id", text(&row.parcel_id)),
        ("submission_id", text(&row.submission_id)),
        ("dispatched_at", when(Some(row.dispatched_at))),
        ("carrier", row.carrier.clone()),
        ("tracking_number", row.tracking_number.clone()),
    ]
}

fn parcel_line(row: &ParcelLine) -> Cells {
    vec![
        ("supplier", text(&row.supplier)),
        ("parcel_id", text(&row.parcel_id)),
        ("submission_line_id", text(&row.submission_line_id)),
        ("quantity", text(row.quantity)),
    ]
}

fn tie(row: &Tie) -> Cells {
    vec![
        ("order_id", text(&row.order_id)),
        ("line_id", text(&row.line_id)),
        ("supplier", text(&row.supplier)),
        ("submission_id", text(&row.submission_id)),
        ("submission_line_id", row.submission_line_id.as_ref().and_then(text)),
    ]
}

fn text(value: impl ToString) -> Option<String> {
    Some(value.to_string())
}

/// RFC 3339 with the offset that the shop has then; a day given without a time is the date alone.
fn told(when: When, zone: Tz) -> String {
    let begins = when.begins().with_timezone(&zone);
    if When::day(begins.date_naive(), zone) == Some(when) {
        return format!("{}, the whole day", begins.date_naive());
    }
    let told = |moment: chrono::DateTime<Tz>| moment.to_rfc3339_opts(SecondsFormat::AutoSi, false);
    match when.ends() {
        ends if ends == when.begins() => told(begins),
        ends => format!("from {} to {}", told(begins), told(ends.with_timezone(&zone))),
    }
}

fn money(amount: Option<Decimal>, currency: Option<Currency>) -> Option<String> {
    let amount = amount?;
    Some(match currency {
        Some(currency) => Money::new(amount, currency).to_string(),
        None => format!("{amount}, of a currency that is not known"),
    })
}

fn options(options: &Options) -> String {
    if options.is_empty() {
        return "nothing to choose".to_owned();
    }
    options.named()
}

fn status(status: SubmissionStatus) -> &'static str {
    match status {
        SubmissionStatus::Received => "received",
        SubmissionStatus::Held => "held",
        SubmissionStatus::Making => "making",
        SubmissionStatus::Dispatched => "dispatched",
        SubmissionStatus::Cancelled => "cancelled",
        SubmissionStatus::Rejected => "rejected",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: IANA time zone database, Europe/Oslo: summer time ends on 2026-10-25 at 01:00 UTC.
    #[test]
    fn a_time_has_the_offset_that_the_shop_has_then_and_a_day_has_none() {
        let zone = Tz::Europe__Oslo;
        for (text, want) in [
            ("2026-10-25T00:30:00Z", "2026-10-25T02:30:00+02:00"),
            ("2026-10-25T01:30:00.250Z", "2026-10-25T02:30:00.250+01:00"),
            ("2026-10-25", "2026-10-25, the whole day"),
        ] {
            assert_eq!(told(When::parse(text, zone).unwrap(), zone), want);
        }
        let (one, other) = ("2026-11-24T08:00:00Z", "2026-11-24T09:00:00Z");
        let span = [one, other].map(|text| When::parse(text, zone).unwrap().begins());
        let told = told(When::between(span[0], span[1]).unwrap(), zone);
        assert_eq!(told, "from 2026-11-24T09:00:00+01:00 to 2026-11-24T10:00:00+01:00");
    }

    #[test]
    fn money_has_the_digits_of_its_currency_and_says_where_that_is_not_known() {
        let amount = |text: &str| model::money::parse_amount(text);
        assert_eq!(money(amount("24.1"), "EUR".parse().ok()).unwrap(), "24.10\u{a0}EUR");
        assert_eq!(money(amount("1200"), "JPY".parse().ok()).unwrap(), "1200\u{a0}JPY");
        assert_eq!(money(amount("24.1"), None).unwrap(), "24.1, of a currency that is not known");
        assert_eq!(money(None, "EUR".parse().ok()), None);
    }
}
