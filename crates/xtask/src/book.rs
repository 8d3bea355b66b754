//! Books of any size, with known faults, for trying things out and for measuring.
//!
//! Start reading at [`write()`].

use std::fs;
use std::path::Path;

use anyhow::Context;
use simshop::{Form, RandomOrders, Tables, catalogue_book, random_book, random_orders};

use crate::tell;

/// The name of the configuration beside the tables.
pub const CONFIGURATION: &str = "everyline.toml";

/// Writes a book of so many orders into a folder, with the configuration to audit it with, and says how to.
///
/// # Errors
/// Where the folder cannot be written.
pub fn write(folder: &Path, orders: usize, seed: u64, form: Form) -> anyhow::Result<()> {
    let planted = write_tables(folder, orders, seed, form)?;
    tell(&format!("{orders} orders, {planted} findings planted among them; audit them with"));
    tell(&format!(
        "  everyline audit --from {} --config {} --as-of {}",
        folder.display(),
        folder.join(CONFIGURATION).display(),
        random_book(seed, 1).as_of.to_rfc3339()
    ));
    Ok(())
}

/// Writes a book order by order, with its configuration, and tells how many findings are planted in it.
///
/// # Errors
/// Where the folder cannot be written.
pub fn write_tables(folder: &Path, orders: usize, seed: u64, form: Form) -> anyhow::Result<usize> {
    write_orders(folder, random_orders(seed, orders), seed, form)
}

/// The same of these orders.
///
/// # Errors
/// Where the folder cannot be written.
pub fn write_orders(folder: &Path, orders: RandomOrders, seed: u64, form: Form) -> anyhow::Result<usize> {
    let trouble = || format!("the book could not be written into {}", folder.display());
    let mut tables = Tables::create(folder, form).with_context(trouble)?;
    tables.append(&catalogue_book()).with_context(trouble)?;
    let mut planted = 0;
    for (order, plants) in orders {
        tables.append(&order).with_context(trouble)?;
        planted += plants.len();
    }
    tables.finish().with_context(trouble)?;
    fs::write(folder.join(CONFIGURATION), random_book(seed, 1).configuration).with_context(trouble)?;
    Ok(planted)
}
