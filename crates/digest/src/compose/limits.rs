//! How much of each list is told, so that a message stays as small as mail programs show it.
//!
//! Must not know what stands in the lists. Start reading at [`within`].

use super::Composed;

/// The largest page of HTML, and the largest text: some mail programs cut a mail off at about 100 kB (common practice, no
/// published source).
const PART_BYTES: usize = 98_000;

/// How many of each list are told.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Limits {
    /// Things to do, of each urgency: what somebody reads through at breakfast.
    pub(super) now: usize,
    pub(super) repair: usize,
    pub(super) watch: usize,
    /// Things that an alert tells; the digest has the rest.
    pub(super) alert: usize,
    /// Orders under one cause: the thing to do is the same for all.
    pub(super) orders_per_cause: usize,
    /// What was put aside.
    pub(super) set_aside: usize,
    /// What settled: good to know, and nothing to do.
    pub(super) settled: usize,
    /// Shops that are told one by one in the overview.
    pub(super) shops: usize,
    /// Sources, notes and messages: more than anyone reads.
    pub(super) sources: usize,
    pub(super) notes: usize,
    pub(super) messages: usize,
}

impl Limits {
    /// Where nothing is unusually long.
    const USUAL: Self = Self {
        now: 25,
        repair: 12,
        watch: 15,
        alert: 20,
        orders_per_cause: 10,
        set_aside: 10,
        settled: 5,
        shops: 60,
        sources: 40,
        notes: 12,
        messages: 10,
    };

    fn halved(self) -> Self {
        Self {
            now: self.now / 2,
            repair: self.repair / 2,
            watch: self.watch / 2,
            alert: self.alert / 2,
            orders_per_cause: self.orders_per_cause / 2,
            set_aside: self.set_aside / 2,
            settled: self.settled / 2,
            shops: self.shops / 2,
            sources: self.sources / 2,
            notes: self.notes / 2,
            messages: self.messages / 2,
        }
    }
}

/// Composes with the usual limits, and with half of them again and again until it is small enough. What has no list is small:
/// with none left it always is.
pub(super) fn within(compose: impl Fn(Limits) -> Composed) -> Composed {
    let mut limits = Limits::USUAL;
    loop {
        let composed = compose(limits);
        let is_small = composed.html.len() <= PART_BYTES && composed.text.len() <= PART_BYTES;
        let fewer = limits.halved();
        if is_small || fewer == limits {
            return composed;
        }
        limits = fewer;
    }
}
