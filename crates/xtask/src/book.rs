//! Books of any size, with known faults, for trying things out and for measuring.
//!
//! Start reading at [`write()`].

use std::fs;
use std::path::Path;

use anyhow::Context;
use simshop::{Form, Tables, catalogue_book, random_book, random_orders};

use crate::tell;

/// Writes a book of so many orders into a folder, order by order, with the configuration to audit it with.
///
/// # Errors
/// Where the folder cannot be written.
pub fn write(folder: &Path, orders: usize, seed: u64, form: Form) -> anyhow::Result<()> {
    let trouble = || format!("the book could not be written into {}", folder.display());
    fs::create_dir_all(folder).with_context(trouble)?;
    let mut tables = Tables::create(folder, form).with_context(trouble)?;
    tables.append(&catalogue_book()).with_context(trouble)?;
    let mut planted = 0;
    for (order, plants) in random_orders(seed, orders) {
        tables.append(&order).with_context(trouble)?;
        planted += plants.len();
    }
    tables.finish().with_context(trouble)?;
    let small = random_book(seed, 1);
    let configuration = folder.join("everyline.toml");
    fs::write(&configuration, &small.configuration).with_context(trouble)?;
    tell(&format!("{orders} orders, {planted} findings planted among them; audit them with"));
    tell(&format!(
        "  everyline audit --from {} --config {} --as-of {}",
        folder.display(),
        configuration.display(),
        small.as_of.to_rfc3339()
    ));
    Ok(())
}
