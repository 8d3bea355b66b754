//! How well it went over some weeks, counted.
//!
//! Must not know how it is counted or told. Start reading at [`Rates`].

use chrono::TimeDelta;

/// So many of so many.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Share {
    /// Those of which it is so.
    pub good: u64,
    /// All that were counted.
    pub of: u64,
}

/// How well it went with the orders placed in a span of time. An order counts where it is live and owes something; orders
/// placed before findings were reported do not.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Rates {
    /// Orders of which, now, nothing is missing or wrong at the suppliers. In full: 'order fill rate' (common practice, no
    /// published source).
    pub orders_in_full: Share,
    /// Lines likewise: 'line fill rate'.
    pub lines_in_full: Share,
    /// Orders in which nothing was ever missing, wrong, too many or late: 'perfect orders'.
    pub perfect: Share,
    /// Of orders with a promise that is past: those in full that were never late. 'On time in full'.
    pub on_time_in_full: Share,
    /// From a finding about an order to its being gone, of those that went in the span: the median.
    pub median_repair: Option<TimeDelta>,
    /// How many did.
    pub repairs: u64,
}

impl Share {
    /// Counts more of them, so many of which are good.
    pub fn add(&mut self, of: u64, good: u64) {
        self.of += of;
        self.good += good;
    }
}
