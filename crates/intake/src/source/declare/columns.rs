//! What each column of a table takes, which columns name a row, and which a row has from the one above it.
//!
//! Must not know how a field is declared. Start reading at [`Kind`]. Source: README.md, 'The tables'.

use crate::build::{ORDER_STATUSES, SUBMISSION_STATUSES};
use crate::tables::{Column, Table};

/// What a column takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// An id: never a number with a fraction.
    Id,
    /// A text, or the name of a thing.
    Text,
    /// A whole number.
    Number,
    /// An amount of money.
    Amount,
    /// A currency.
    Currency,
    /// A time or a day.
    Time,
    /// One of these words.
    Word(&'static [&'static str]),
    /// The options.
    Options,
    /// The digest of an address.
    Digest,
}

const TRUE_OR_FALSE: &[&str] = &["true", "false"];
const ORDER_WORDS: &[&str] = &words::<_, 4>(ORDER_STATUSES);
const SUBMISSION_WORDS: &[&str] = &words::<_, 6>(SUBMISSION_STATUSES);

const fn words<T, const N: usize>(list: &[(&'static str, T)]) -> [&'static str; N] {
    let mut words = [""; N];
    let mut at = 0;
    while at < N {
        words[at] = list[at].0;
        at += 1;
    }
    words
}

/// What a column of a table takes.
pub(super) fn kind(table: Table, column: Column) -> Kind {
    use Column::*;
    match column {
        OrderId | LineId | ListingId | SubmissionId | SubmissionLineId | ParcelId | VariantId | Supplier
        | Sku | OrderLineRef | Replaces => Kind::Id,
        AgeGroup | OrderRef | Carrier | Product | ProductType | ShipToCountry | Title | TrackingNumber
        | Words => Kind::Text,
        Quantity | CancelledQuantity | Units => Kind::Number,
        Price | UnitCost | UnitPrice => Kind::Amount,
        Currency => Kind::Currency,
        DispatchedAt | PaidAt | PlacedAt | PromisedBy | ReceivedAt | UpdatedAt => Kind::Time,
        Status if table == Table::Orders => Kind::Word(ORDER_WORDS),
        Status => Kind::Word(SUBMISSION_WORDS),
        Available | Buyable | InForce => Kind::Word(TRUE_OR_FALSE),
        Options => Kind::Options,
        ShipToDigest => Kind::Digest,
    }
}

/// The columns that name a row of a table, the options apart.
pub(crate) fn key_columns(table: Table) -> &'static [Column] {
    use Column::*;
    match table {
        Table::Orders => &[OrderId],
        Table::OrderLines => &[OrderId, LineId],
        Table::Offers => &[ListingId],
        Table::Variants => &[Supplier, VariantId],
        Table::ListingProducts => &[ListingId, Supplier, Product],
        Table::Links => &[ListingId, Sku, Supplier, VariantId],
        Table::Submissions => &[Supplier, SubmissionId],
        Table::SubmissionLines => &[Supplier, SubmissionId, LineId],
        Table::Parcels => &[Supplier, ParcelId],
        Table::ParcelLines => &[Supplier, ParcelId, SubmissionLineId],
        Table::Ties => &[OrderId, LineId, Supplier, SubmissionId, SubmissionLineId],
        Table::GoodRules => &[ProductType, AgeGroup, Words],
    }
}

/// The columns that a row has from the row of another table to which it belongs; none where it belongs to none.
pub(crate) fn belongs_by(table: Table, parent: Table) -> &'static [Column] {
    use Column::*;
    match (table, parent) {
        (Table::OrderLines | Table::Ties, Table::Orders) => &[OrderId],
        (Table::Ties, Table::OrderLines) => &[OrderId, LineId],
        (Table::SubmissionLines | Table::Parcels | Table::Ties, Table::Submissions) => {
            &[Supplier, SubmissionId]
        }
        (Table::ParcelLines, Table::Parcels) => &[Supplier, ParcelId],
        (Table::Links, Table::Variants) => &[Supplier, VariantId],
        (Table::Offers | Table::Links | Table::ListingProducts, Table::Offers | Table::ListingProducts)
            if table != parent =>
        {
            &[ListingId]
        }
        _ => &[],
    }
}

/// The columns that a row has from the row for which it was asked: of its own table, or of one to which it belongs.
pub(crate) fn asked_by(table: Table, asked: Table) -> &'static [Column] {
    if table == asked { key_columns(table) } else { belongs_by(table, asked) }
}

/// The tables to which rows of a table can belong.
pub(super) fn parents(table: Table) -> impl Iterator<Item = Table> {
    Table::ALL.into_iter().filter(move |parent| !belongs_by(table, *parent).is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_what_rows_have_from_others_are_columns_of_both() {
        for table in Table::ALL {
            assert!(key_columns(table).iter().all(|column| table.position(*column).is_some()), "{table:?}");
            for parent in Table::ALL {
                for column in belongs_by(table, parent) {
                    assert!(table.position(*column).is_some(), "{table:?} in {parent:?}: {column:?}");
                    assert!(key_columns(parent).contains(column), "{table:?} in {parent:?}: {column:?}");
                }
            }
        }
    }

    #[test]
    fn the_words_of_a_status_are_those_of_the_tables() {
        assert_eq!(
            kind(Table::Orders, Column::Status),
            Kind::Word(&["unpaid", "open", "dispatched", "cancelled"])
        );
        let Kind::Word(words) = kind(Table::SubmissionLines, Column::Status) else { panic!() };
        assert!(words.iter().eq(SUBMISSION_STATUSES.iter().map(|(word, _)| word)));
    }
}
