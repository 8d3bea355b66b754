//! Sentences of the rules that can be read in two ways, and how the oracle reads them.
//!
//! Every constant is `true` where the oracle takes the words as they stand. Set to `false`, the oracle takes
//! the other reading, which is named beside it.

/// 'A line whose SKU is in none of them is then named after the grace only', where neither variants nor
/// submissions were given. Otherwise: without submissions nothing stands in for the variants table, and the
/// line is named at once.
pub const UNKNOWN_SKU_WAITS_WITHOUT_SUBMISSIONS: bool = false;

/// The same of a line with a link that is only intended. Otherwise: named 'at once', as the sentence on such
/// links says.
pub const UNKNOWN_SKU_WAITS_THOUGH_INTENDED: bool = false;

/// The same sentence speaks of 'a line whose SKU …': a line that has no SKU is named at once. Otherwise: it
/// waits too.
pub const NO_SKU_DOES_NOT_WAIT: bool = true;

/// 'Orders that a skipped row names … and those merged with them': one step. Otherwise: all orders of their
/// group.
pub const NOT_JUDGED_IS_ONE_STEP: bool = false;

/// Any submission line that exists merges the orders that it refers to. Otherwise: only one that can serve a
/// line.
pub const ANY_LINE_MERGES: bool = false;

/// 'No line of its orders is linked to a variant of which the same is read': the same as of the line, in all
/// that is read of the line. Otherwise: exactly the same as of the variant that was sent.
pub const SAME_AS_OF_THE_LINE: bool = true;

/// 'Where a submission is `dispatched` and has no parcel lines, all its lines count', whatever a line's own
/// status. Otherwise: the line's status beats its submission's, in both directions.
pub const DISPATCHED_BY_SUBMISSION: bool = true;

/// '`parcel_gap` after the first parcel': without a parcel there is no such moment. Otherwise: the last
/// change stands for it (of the line, else of the submission, else its receipt), and for the last parcel of
/// `dispatch-unmarked`.
pub const PARCELS_ALONE_START_THE_GAP: bool = true;

/// 'A line's [grace] is the longest of its parts'': own stock in a set is a part. Otherwise: of those that
/// suppliers make.
pub const OWN_PARTS_HAVE_GRACES: bool = false;

/// 'An order's the longest of its linked lines'': also of those without demand. Otherwise: of those with
/// demand.
pub const LINES_WITHOUT_DEMAND_HAVE_GRACES: bool = true;

/// `stray-submission` of a line that asks for no units. Otherwise: nothing.
pub const NO_UNITS_ARE_STRAY: bool = false;

/// 'A tie replaces the references', so that what was written is no sample's reference any more, even where
/// the order tied to is not there yet. Otherwise: what was written still makes it a sample.
pub const A_TIED_LINE_IS_NO_SAMPLE: bool = true;

/// 'A link in force': the first that answers decides, also where an intended part breaks it. Otherwise: an
/// offer is linked by what is in force without a broken intention.
pub const BROKEN_INTENTION_UNLINKS: bool = true;

/// 'An offer's options and its variant's contradict each other': any variant of a set. Otherwise: all of
/// them.
pub const MISMATCH_OF_ANY_PART: bool = false;

/// 'A link leads to a variant that is unknown or not available': any link. Otherwise: one that an offer is
/// linked by.
pub const UNUSED_LINKS_ARE_UNUSABLE: bool = true;

/// 'Two offers of one listing lead to the same variant': as any part. Otherwise: the same things are all
/// their parts, one finding, by the first.
pub const SHARED_IN_SETS: bool = false;
