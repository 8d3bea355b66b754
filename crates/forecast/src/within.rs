//! Within how long so many of all supplier orders go, from past ones, of which some still wait.
//!
//! Must not know suppliers, calendars or clocks. Start reading at [`within`].

use model::waits::Waits;

/// The hours within which at least so many of a hundred go; `None` where too many still wait for that to be known.
///
/// The product-limit estimate: at each length, of those that waited as long the share that went is taken off; one that still
/// waits counts for as long as it was seen, and no longer. Where none waits it is the plain percentile: the least length by
/// which so many were over. Hours as they are counted in [`Waits`].
/// Source: Kaplan and Meier, Nonparametric Estimation from Incomplete Observations, Journal of the American Statistical
/// Association 53 (1958), 457-481.
pub fn within(waits: &Waits, of_a_hundred: u32) -> Option<u32> {
    let mut at_risk = waits.over() + waits.open();
    let mut waiting = 1.0_f64;
    // A share is a product of fractions: what is as much as wanted but for rounding is as much.
    let wanted = 1.0 - f64::from(of_a_hundred.min(100)) / 100.0 + 1e-9;
    for (hours, ended) in waits.by_hours() {
        if ended.over > 0 {
            waiting *= (at_risk - ended.over) as f64 / at_risk as f64;
            if waiting <= wanted {
                return Some(hours);
            }
        }
        at_risk -= ended.over + ended.open;
    }
    None
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;
    use proptest::prelude::*;

    use super::*;

    fn waits(over: &[i64], open: &[i64]) -> Waits {
        let mut waits = Waits::default();
        over.iter().for_each(|hours| waits.add_over(TimeDelta::hours(*hours)));
        open.iter().for_each(|hours| waits.add_open(TimeDelta::hours(*hours)));
        waits
    }

    /// Source: Freireich and others (1963), as in Cox and Oakes, Analysis of Survival Data (1984), table 1.1: weeks in
    /// remission of 21 patients under 6-mercaptopurine, 12 of them censored, and of 21 without, none of them. The medians
    /// that text books give are 23 and 8. Written down from memory.
    #[test]
    fn a_published_data_set_has_its_published_medians() {
        let treated =
            waits(&[6, 6, 6, 7, 10, 13, 16, 22, 23], &[6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]);
        assert_eq!(within(&treated, 50), Some(23));
        let others = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23];
        assert_eq!(within(&waits(&others, &[]), 50), Some(8));
        assert_eq!(within(&treated, 90), None, "more than a tenth was never seen to its end");
    }

    #[test]
    fn what_still_waits_is_not_left_out_and_makes_it_longer() {
        assert_eq!(within(&waits(&[10, 20, 30, 40], &[]), 50), Some(20));
        assert_eq!(within(&waits(&[10, 20, 30, 40], &[35, 35, 35, 35]), 50), Some(40));
        assert_eq!(within(&waits(&[10], &[100, 100, 100]), 50), None);
        assert_eq!(within(&waits(&[], &[5]), 50), None);
        assert_eq!(within(&Waits::default(), 50), None);
        assert_eq!(within(&waits(&[0, 0], &[]), 90), Some(0));
    }

    proptest! {
        /// Beside a plain percentile: sorted, and counted off.
        #[test]
        fn where_none_waits_it_is_the_plain_percentile(
            mut over in proptest::collection::vec(0_i64..200, 1..60),
            percent in 1_u32..100,
        ) {
            over.sort_unstable();
            let place = (over.len() * percent as usize).div_ceil(100).max(1) - 1;
            prop_assert_eq!(within(&waits(&over, &[]), percent), u32::try_from(over[place]).ok());
        }

        #[test]
        fn one_more_that_waits_never_makes_it_shorter(
            over in proptest::collection::vec(0_i64..50, 1..30),
            open in proptest::collection::vec(0_i64..50, 0..30),
            more in 0_i64..60,
        ) {
            let before = within(&waits(&over, &open), 50);
            let after = within(&waits(&over, &[open, vec![more]].concat()), 50);
            prop_assert!(after.is_none() || before.is_some_and(|before| Some(before) <= after));
        }
    }
}
