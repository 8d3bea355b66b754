//! A new listing's offer table. `price` finds prices.

pub mod price;

pub use price::{Ending, Margin, NoPrice, NotAnEnding, Reckoning, Rounding, Sum};
