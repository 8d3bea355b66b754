//! The books of the simulated shop that audits are measured with: in order and shuffled, of any size.
//!
//! A book is written once and kept, until what the shop would write for it is something else. Start reading at
//! [`write()`].

use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

use anyhow::Context;
use simshop::{Form, catalogue_book, random_book, random_orders};

use crate::bench::RowOrder;
use crate::bench::shuffle::shuffle;
use crate::{book, tell};

/// Which of the shop's books, and which order of its rows.
const SEED: u64 = 1;

/// By so many orders a book is recognised.
const ORDERS_COMPARED: usize = 1_000;

/// The name of the file that says what a folder holds.
const STAMP: &str = "stamp.txt";

/// The moment for which the books are audited.
pub fn as_of() -> String {
    random_book(SEED, 1).as_of.to_rfc3339()
}

/// Where the book stands, or will.
///
/// # Errors
/// Where the workspace is not found.
pub fn folder(orders: usize, row_order: RowOrder) -> anyhow::Result<PathBuf> {
    Ok(super::folder()?.join(format!("{}-{orders}", row_order.word())))
}

/// The configuration that a book of these is audited with.
pub fn configuration(folder: &Path) -> PathBuf {
    folder.join(book::CONFIGURATION)
}

/// Writes a book as CSV, unless it is there.
///
/// # Errors
/// Where it cannot be written.
pub fn write(orders: usize, row_order: RowOrder) -> anyhow::Result<()> {
    let folder = folder(orders, row_order)?;
    let stamp = stamp(orders, row_order);
    if fs::read_to_string(folder.join(STAMP)).is_ok_and(|there| there == stamp) {
        return Ok(());
    }
    tell(&format!("writing a book into {}", folder.display()));
    let trouble = || format!("the book could not be written into {}", folder.display());
    if folder.exists() {
        fs::remove_dir_all(&folder).with_context(trouble)?;
    }
    match row_order {
        RowOrder::Sorted => {
            book::write_tables(&folder, orders, SEED, Form::Csv)?;
        }
        RowOrder::Shuffled => {
            write(orders, RowOrder::Sorted)?;
            shuffle_all(&self::folder(orders, RowOrder::Sorted)?, &folder)?;
        }
    }
    fs::write(folder.join(STAMP), stamp).with_context(trouble)
}

/// Takes over a folder, with the rows of each of its tables in another order.
fn shuffle_all(from: &Path, to: &Path) -> anyhow::Result<()> {
    fs::create_dir_all(to).with_context(|| format!("{} cannot be made", to.display()))?;
    fs::copy(configuration(from), configuration(to)).context("the configuration cannot be copied")?;
    for entry in fs::read_dir(from).with_context(|| format!("{} cannot be read", from.display()))? {
        let path = entry?.path();
        if let (Some("csv"), Some(name)) = (path.extension().and_then(|word| word.to_str()), path.file_name())
        {
            shuffle(&path, &to.join(name), SEED)?;
        }
    }
    Ok(())
}

/// What a folder holds, in words; it changes with what the shop writes.
fn stamp(orders: usize, row_order: RowOrder) -> String {
    let mut hasher = DefaultHasher::new();
    format!("{:?}", catalogue_book()).hash(&mut hasher);
    random_book(SEED, 1).configuration.hash(&mut hasher);
    for order in random_orders(SEED, orders).take(ORDERS_COMPARED) {
        format!("{order:?}").hash(&mut hasher);
    }
    format!("{orders} orders as CSV, seed {SEED}, {}, {:016x}\n", row_order.word(), hasher.finish())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stamp_is_of_one_book_alone() {
        let stamps =
            [stamp(20, RowOrder::Sorted), stamp(20, RowOrder::Shuffled), stamp(30, RowOrder::Sorted)];
        assert!(stamps[0] != stamps[1] && stamps[0] != stamps[2], "{stamps:?}");
        assert_eq!(stamps[0], stamp(20, RowOrder::Sorted));
    }

    #[test]
    fn a_shuffled_folder_has_the_same_rows_and_the_configuration() {
        let folder = tempfile::tempdir().unwrap();
        let (sorted, shuffled) = (folder.path().join("sorted"), folder.path().join("shuffled"));
        book::write_tables(&sorted, 50, SEED, Form::Csv).unwrap();
        shuffle_all(&sorted, &shuffled).unwrap();
        let lines = |folder: &Path, name: &str| {
            let text = fs::read_to_string(folder.join(name)).unwrap();
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            lines.sort();
            lines
        };
        for name in
            ["orders.csv", "order_lines.csv", "links.csv", "ties.csv", "parcel_lines.csv", "everyline.toml"]
        {
            assert_eq!(lines(&sorted, name), lines(&shuffled, name), "{name}");
        }
    }
}
