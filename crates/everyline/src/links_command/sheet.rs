//! `everyline links sheet`: a new listing's whole offer table, as a grid to look at and as a table `offers`.
//!
//! Owns what the command line and the configuration come to. Must not know how a table is filled in, which is
//! `links::sheet`'s. Start reading at [`run`]; `picked` says what is sold, `cannot` why there is no table, `page` and
//! `table` how one is shown and written, `led` whether its rows lead where they say.

mod cannot;
mod led;
mod page;
mod picked;
mod table;

use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::Path;

use links::sheet::{Sheet, Wanted, fill_in};
use model::ListingId;
use model::book::Variant;
use rust_decimal::Decimal;

use super::{Known, KnownFrom, exit};
use crate::arguments::{OffersArguments, SheetFormat, SheetLinksArguments};
use crate::exit::Exit;
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// What did not happen where something is in the way.
const NOTHING_FILLED_IN: &str = "no offer table was filled in";

/// Runs the command.
///
/// # Errors
/// Where what is wanted is not made or not clear, a price cannot be found, or the tables, the configuration, the ledger or
/// the file cannot be used.
pub fn run(asked: &SheetLinksArguments) -> Result<Exit, Trouble> {
    if let Some(out) = &asked.out {
        may_be_written(out)?;
    }
    let known = Known::read_any(&of_tables(asked), NOTHING_FILLED_IN)?;
    let variants = variants(&known)?;
    let wanted = wanted(asked, &known, variants)?;
    let offers = known.book().offers.as_deref().unwrap_or_default();
    let sheet = fill_in(&known.vocabulary, variants, offers, &wanted)
        .map_err(|cannot| cannot::told(&cannot, &wanted, known.book()))?;
    refuse_fractions(&sheet, &wanted)?;
    let warnings = led::warnings(&sheet, &known, variants);
    let format = format(asked);
    let written = match format {
        SheetFormat::Table => None,
        SheetFormat::Csv => Some(table::csv(&sheet, variants)),
        SheetFormat::Jsonl => Some(table::jsonl(&sheet, variants)),
    };
    let out_of_table = asked.out.as_deref().filter(|_| written.is_some());
    let shown = || page::page(&sheet, variants, &wanted, out_of_table);
    match (&asked.out, written) {
        (Some(out), Some(written)) => {
            write_new(out, &written)?;
            write_data(&shown())?;
        }
        (Some(out), None) => {
            write_new(out, &shown())?;
            tell(&format!("written to {}", out.display()));
        }
        (None, written) => write_data(&written.unwrap_or_else(shown))?,
    }
    if format == SheetFormat::Csv {
        table::warn_of_formulas(&sheet);
    }
    warnings.iter().for_each(|warning| tell(&format!("warning: {warning}")));
    let is_settled = sheet.rows.iter().all(|row| row.off.as_ref().is_none_or(|off| !off.is_open()));
    Ok(exit(known.skipped, is_settled && warnings.is_empty()))
}

/// Where the tables stand that the sheet is made from.
fn of_tables(asked: &SheetLinksArguments) -> OffersArguments {
    OffersArguments {
        from: asked.from.clone(),
        listings: Vec::new(),
        skip_bad_rows: asked.skip_bad_rows,
        config: asked.config.clone(),
        shop: asked.shop.clone(),
    }
}

fn variants(known: &Known) -> Result<&[Variant], Trouble> {
    let missing = match &known.from {
        KnownFrom::Folder(_) => Trouble::new(NOTHING_FILLED_IN, "there is no table variants")
            .help("put what the suppliers make into the folder, as variants.csv; `everyline audit --help` names its columns"),
        KnownFrom::Ledger(_) => Trouble::new(NOTHING_FILLED_IN, "not all suppliers' variants have been read")
            .help("`everyline status` says up to when each source was read; --from DIR takes them from files instead"),
    };
    known.book().variants.as_deref().ok_or(missing)
}

/// What is wanted, by the command line, else by the configuration.
fn wanted<'k>(
    asked: &SheetLinksArguments,
    known: &'k Known,
    variants: &[Variant],
) -> Result<Wanted<'k>, Trouble> {
    let named = |what: &str, text: &str| match text.trim() {
        "" => Err(Trouble::new(NOTHING_FILLED_IN, format!("the text after --{what} is empty"))
            .help(format!("write the {what} behind it, or leave it out"))),
        text => Ok(text.to_owned()),
    };
    if asked.listing.trim().is_empty() {
        return Err(Trouble::new(NOTHING_FILLED_IN, "the id after --listing is empty").help(
            "write the listing's id as the storefront has it; of one that is not there yet, an id of yours",
        ));
    }
    let listing_id = ListingId::new(asked.listing.as_str());
    let picks = picked::picks(&asked.products, &listing_id, known.book(), variants)?;
    let sku_parts: Vec<String> =
        asked.sku_parts.iter().map(|part| named("sku-part", part)).collect::<Result<_, _>>()?;
    picked::refuse_unborne(&sku_parts, &picks, variants)?;
    let set = &known.sheet;
    Ok(Wanted {
        listing_id,
        title: asked.title.as_deref().map(|title| named("title", title)).transpose()?,
        picks,
        sku_parts,
        sizes: picked::list(&asked.sizes, "size")?,
        colours: picked::list(&asked.colours, "colour")?,
        currency: asked.currency,
        margin: asked.margin.or(set.margin),
        rounding: asked.round.unwrap_or(set.rounding),
        one_price_for: asked.one_price_for.map_or(set.one_price_for, Into::into),
        price: asked.price,
        fees: &known.rules().fees,
        wording: &set.wording,
    })
}

/// A fixed price has no more digits than its currency.
fn refuse_fractions(sheet: &Sheet, wanted: &Wanted<'_>) -> Result<(), Trouble> {
    let digits = u32::from(sheet.currency.digits());
    let prices = wanted.picks.iter().filter_map(|pick| pick.price).chain(wanted.price);
    let too_fine = |price: &Decimal| price.normalize().scale() > digits;
    match prices.into_iter().find(too_fine) {
        Some(price) => {
            let cause = format!(
                "the price {price} has more digits behind the point than {} has, which is {digits}",
                sheet.currency
            );
            Err(Trouble::new(NOTHING_FILLED_IN, cause).help("write a price that a customer can pay"))
        }
        None => Ok(()),
    }
}

fn format(asked: &SheetLinksArguments) -> SheetFormat {
    let by_name = |out: &Path| match out.extension() {
        Some(ending) if ending.eq_ignore_ascii_case("jsonl") => SheetFormat::Jsonl,
        _ => SheetFormat::Csv,
    };
    asked.format.unwrap_or_else(|| asked.out.as_deref().map_or(SheetFormat::Table, by_name))
}

fn is_there(out: &Path) -> Trouble {
    Trouble::new("nothing was written", format!("{} is there already", out.display())).help(
        "give another name after --out; what stands in that file may be all that there is of other listings",
    )
}

/// Looks before anything is read: that a file is there is known at once.
fn may_be_written(out: &Path) -> Result<(), Trouble> {
    if out.symlink_metadata().is_ok() { Err(is_there(out)) } else { Ok(()) }
}

/// Writes a file that was not there; where it cannot be written as a whole, there is none.
fn write_new(out: &Path, text: &str) -> Result<(), Trouble> {
    let trouble = |error: std::io::Error| {
        Trouble::new(format!("{} could not be written", out.display()), error)
            .help("check that its folder is there, that you may write into it, and that there is space left")
    };
    let mut file: File = match OpenOptions::new().write(true).create_new(true).open(out) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => return Err(is_there(out)),
        Err(error) => return Err(trouble(error)),
    };
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(|error| {
        // It is ours, and half of a table would pass for one.
        let _ = std::fs::remove_file(out);
        trouble(error)
    })
}
