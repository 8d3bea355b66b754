//! Writes the large invented shop of the bench `proposing` into a folder, as `offers.csv`, `variants.csv` and
//! `listing_products.csv`.
//!
//! It is how `cargo xtask bench links` gives several programs the same tables. Start reading at [`main`].
//!
//!     cargo run -p links@0.1.0 --example large_shop -- FOLDER SEED

#[expect(dead_code, reason = "how large it is, the bench alone says")]
#[path = "../benches/proposing/shop.rs"]
mod shop;

use std::error::Error;
use std::path::PathBuf;

use shop::Shop;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("into which folder?")?);
    let shop = Shop::of(arguments.next().ok_or("by which seed?")?.parse()?);

    let mut offers = csv::Writer::from_path(folder.join("offers.csv"))?;
    offers.write_record(["listing_id", "title", "options"])?;
    for offer in &shop.offers {
        let options = serde_json::to_string(&offer.options)?;
        let title = offer.title.as_deref().unwrap_or_default();
        offers.write_record([offer.listing_id.as_str(), title, &options])?;
    }
    offers.flush()?;

    let mut variants = csv::Writer::from_path(folder.join("variants.csv"))?;
    variants.write_record(["supplier", "variant_id", "product", "options"])?;
    for variant in &shop.variants {
        let options = serde_json::to_string(&variant.options)?;
        let product = variant.product.as_deref().unwrap_or_default();
        variants.write_record([variant.supplier.as_str(), variant.variant_id.as_str(), product, &options])?;
    }
    variants.flush()?;

    let mut listing_products = csv::Writer::from_path(folder.join("listing_products.csv"))?;
    listing_products.write_record(["listing_id", "supplier", "product"])?;
    for pick in &shop.listing_products {
        listing_products.write_record([pick.listing_id.as_str(), pick.supplier.as_str(), &pick.product])?;
    }
    listing_products.flush()?;
    Ok(())
}
