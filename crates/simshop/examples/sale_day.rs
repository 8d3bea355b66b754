//! Writes the book of the sale as CSV into a folder, with its configuration and the list of what is planted.
//!
//! `cargo run -p simshop --example sale_day -- fixtures/sale-day`

use std::path::PathBuf;
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let Some(dir) = env::args_os().nth(1).map(PathBuf::from) else {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "name the folder to write to"));
    };
    let planted = simshop::sale_day();
    simshop::write_csv(&planted.book, &dir)?;
    fs::write(dir.join("everyline.toml"), &planted.configuration)?;
    fs::write(dir.join("PLANTED.md"), simshop::planted_table(&planted))
}
