//! Files in the repository that a program writes: the simulated shop's books and the JSON Schema.
//!
//! Nothing here may differ from run to run. Start reading at [`run`]; [`FIXTURES`] and [`SCHEMA`] say what is
//! written where.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use anyhow::{Context, bail};

use crate::{root, tell};

/// A folder of generated files.
pub struct Generated {
    /// Below the workspace.
    folder: &'static str,
    /// What writes it.
    command: &'static str,
    /// Writes it into an empty folder.
    write: fn(&Path) -> anyhow::Result<()>,
}

/// A whole sale day of the simulated shop: its tables as CSV, its configuration, and what is planted in them.
pub const FIXTURES: Generated =
    Generated { folder: "fixtures/sale-day", command: "cargo xtask fixtures", write: write_sale_day };

/// The JSON Schema of `--format json` and of a line of `--format jsonl`.
pub const SCHEMA: Generated =
    Generated { folder: "crates/digest/schema", command: "cargo xtask schema", write: write_schema };

fn write_sale_day(folder: &Path) -> anyhow::Result<()> {
    let planted = simshop::sale_day();
    simshop::write_csv(&planted.book, folder)?;
    fs::write(folder.join("everyline.toml"), &planted.configuration)?;
    fs::write(folder.join("PLANTED.md"), simshop::planted_table(&planted))?;
    Ok(())
}

fn write_schema(folder: &Path) -> anyhow::Result<()> {
    fs::write(folder.join("audit.schema.json"), format!("{:#}\n", digest::schema()))?;
    fs::write(folder.join("finding.schema.json"), format!("{:#}\n", digest::finding_schema()))?;
    Ok(())
}

/// Writes the files in place of those that are there; with `check`, compares them instead.
///
/// # Errors
/// Where they cannot be written, or differ: which, and what to run.
pub fn run(generated: Generated, check: bool) -> anyhow::Result<()> {
    let there = root()?.join(generated.folder);
    let fresh = tempfile::tempdir().context("no temporary folder could be made")?;
    (generated.write)(fresh.path())
        .with_context(|| format!("{} could not be generated", generated.folder))?;
    let (fresh, old) = (files(fresh.path())?, files(&there)?);
    if check {
        let differing = differing(&old, &fresh);
        if !differing.is_empty() {
            let names: Vec<String> =
                differing.iter().map(|name| format!("\n  {}/{name}", generated.folder)).collect();
            bail!("not up to date, run `{}` and commit:{}", generated.command, names.concat());
        }
        return Ok(());
    }
    for name in old.keys().filter(|name| !fresh.contains_key(*name)) {
        fs::remove_file(there.join(name)).with_context(|| format!("{name} could not be removed"))?;
    }
    for (name, bytes) in &fresh {
        let path = there.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(&path, bytes).with_context(|| format!("{} could not be written", path.display()))?;
    }
    tell(&format!("{}: {} files written", generated.folder, fresh.len()));
    Ok(())
}

/// The names of the files that are in one alone, or differ.
fn differing(old: &BTreeMap<String, Vec<u8>>, fresh: &BTreeMap<String, Vec<u8>>) -> BTreeSet<String> {
    old.keys().chain(fresh.keys()).filter(|name| old.get(*name) != fresh.get(*name)).cloned().collect()
}

/// Every file below a folder, by its path from there; none where there is no such folder.
fn files(folder: &Path) -> anyhow::Result<BTreeMap<String, Vec<u8>>> {
    let mut found = BTreeMap::new();
    if !folder.exists() {
        return Ok(found);
    }
    for entry in fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.file_type()?.is_dir() {
            let below = files(&entry.path())?;
            found.extend(below.into_iter().map(|(inner, bytes)| (format!("{name}/{inner}"), bytes)));
        } else {
            found.insert(name, fs::read(entry.path())?);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_differs_is_missing_or_is_left_behind_is_named() {
        let folder = |files: &[(&str, &str)]| {
            files.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect()
        };
        let old = folder(&[("same", "1"), ("edited", "2"), ("left behind", "3")]);
        let fresh = folder(&[("same", "1"), ("edited", "4"), ("missing", "5")]);
        let names: Vec<String> = differing(&old, &fresh).into_iter().collect();
        assert_eq!(names, ["edited", "left behind", "missing"]);
        assert!(differing(&old, &old).is_empty());
    }

    #[test]
    fn the_sale_day_is_the_same_in_every_run() {
        let write = || {
            let folder = tempfile::tempdir().unwrap();
            (FIXTURES.write)(folder.path()).unwrap();
            files(folder.path()).unwrap()
        };
        let (first, second) = (write(), write());
        assert!(first.contains_key("orders.csv"), "{:?}", first.keys());
        assert!(differing(&first, &second).is_empty());
    }
}
