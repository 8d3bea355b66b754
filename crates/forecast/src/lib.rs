//! When a supplier works, and until when it can still change or hold what it was asked to make.
//!
//! Pure: must not know the machine's clock, files or the configuration's spelling; time and configuration are
//! arguments. Start reading at [`CutOff`].

mod calendar;
mod cut_off;

pub use calendar::Calendar;
pub use cut_off::{CutOff, cut_offs};
