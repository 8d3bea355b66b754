//! When a supplier works, until when it can still change or hold what it was asked to make, and within how long what it was
//! asked for goes.
//!
//! Pure: must not know the machine's clock, files or the configuration's spelling; time and configuration are
//! arguments. Start reading at [`CutOff`].

mod calendar;
mod cut_off;
mod within;

pub use calendar::Calendar;
pub use cut_off::{CutOff, cut_offs};
pub use within::within;
