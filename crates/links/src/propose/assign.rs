//! The optimal one-to-one assignment between goods and products, and how much of it is beyond doubt.
//!
//! Owns no meaning: weights in, pairs out. Source: Kuhn, The Hungarian Method for the Assignment Problem (1955), in
//! the form with potentials and shortest augmenting paths (Jonker and Volgenant, 1987). Start reading at [`forced`].

/// Most rows or columns of one problem; a listing with more goods of one type than that is not told apart.
pub(super) const AT_MOST: usize = 64;

/// What every optimal assignment has in common for a row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Forced {
    /// It has this column in each.
    To(usize),
    /// It is left without a column in each.
    Left,
    /// They differ.
    Open,
}

/// What all optimal assignments have in common. `weights[row][column]`: `None` where the two must not be paired,
/// otherwise how much speaks for the pair, above zero. The sum of weights is the most that it can be.
pub(super) fn forced(weights: &[Vec<Option<u32>>]) -> Vec<Forced> {
    let columns = weights.iter().map(Vec::len).max().unwrap_or(0);
    if weights.len() > AT_MOST || columns > AT_MOST {
        return vec![Forced::Open; weights.len()];
    }
    let (best, total) = solve(weights);
    let mut tried = weights.to_vec();
    let mut rows = Vec::new();
    for (row, column) in best.iter().enumerate() {
        rows.push(match column {
            Some(column) => {
                let weight = tried[row][*column].take();
                let is_forced = solve(&tried).1 < total;
                tried[row][*column] = weight;
                if is_forced { Forced::To(*column) } else { Forced::Open }
            }
            None => {
                let could_have =
                    (0..weights[row].len()).any(|column| with(weights, row, column) == Some(total));
                if could_have { Forced::Open } else { Forced::Left }
            }
        });
    }
    rows
}

/// The best sum with a pair in it.
fn with(weights: &[Vec<Option<u32>>], row: usize, column: usize) -> Option<u64> {
    let weight = weights[row][column]?;
    let mut rest = weights.to_vec();
    rest[row].iter_mut().for_each(|weight| *weight = None);
    rest.iter_mut().for_each(|row| row[column] = None);
    Some(u64::from(weight) + solve(&rest).1)
}

/// An assignment with the greatest sum: each row's column, and the sum.
fn solve(weights: &[Vec<Option<u32>>]) -> (Vec<Option<usize>>, u64) {
    let rows = weights.len();
    let real = weights.iter().map(Vec::len).max().unwrap_or(0);
    // One more column for each row, of no weight: a row may stay alone.
    let columns = real + rows;
    let heaviest = i64::from(weights.iter().flatten().flatten().copied().max().unwrap_or(0));
    let never = (heaviest + 1) * i64::try_from(columns + 1).unwrap_or(i64::MAX / 2);
    let cost = |row: usize, column: usize| -> i64 {
        match weights[row].get(column).copied().flatten() {
            Some(weight) => heaviest - i64::from(weight),
            None if column >= real => heaviest,
            None => never,
        }
    };
    let mut row_potential = vec![0_i64; rows + 1];
    let mut column_potential = vec![0_i64; columns + 1];
    // The row, counted from 1, of each column, counted from 1; 0 is none.
    let mut row_of = vec![0_usize; columns + 1];
    for row in 1..=rows {
        row_of[0] = row;
        let mut at = 0;
        let mut least = vec![i64::MAX; columns + 1];
        let mut way = vec![0_usize; columns + 1];
        let mut done = vec![false; columns + 1];
        while row_of[at] != 0 {
            done[at] = true;
            let from = row_of[at];
            let mut step = i64::MAX;
            let mut next = 0;
            for column in 1..=columns {
                if done[column] {
                    continue;
                }
                let reduced = cost(from - 1, column - 1) - row_potential[from] - column_potential[column];
                if reduced < least[column] {
                    (least[column], way[column]) = (reduced, at);
                }
                if least[column] < step {
                    (step, next) = (least[column], column);
                }
            }
            for column in 0..=columns {
                if done[column] {
                    row_potential[row_of[column]] += step;
                    column_potential[column] -= step;
                } else {
                    least[column] = least[column].saturating_sub(step);
                }
            }
            at = next;
        }
        while at != 0 {
            row_of[at] = row_of[way[at]];
            at = way[at];
        }
    }
    let mut best = vec![None; rows];
    let mut total = 0;
    for (column, row) in row_of.iter().skip(1).take(real).enumerate() {
        if let Some(row) = row.checked_sub(1)
            && let Some(weight) = weights[row].get(column).copied().flatten()
        {
            best[row] = Some(column);
            total += u64::from(weight);
        }
    }
    (best, total)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The best sum by trying all.
    fn brute(weights: &[Vec<Option<u32>>], row: usize, taken: &mut Vec<bool>) -> u64 {
        let Some(line) = weights.get(row) else { return 0 };
        let mut best = brute(weights, row + 1, taken);
        for (column, weight) in line.iter().enumerate() {
            if let Some(weight) = weight.filter(|_| !taken[column]) {
                taken[column] = true;
                best = best.max(u64::from(weight) + brute(weights, row + 1, taken));
                taken[column] = false;
            }
        }
        best
    }

    fn matrix() -> impl Strategy<Value = Vec<Vec<Option<u32>>>> {
        (0_usize..5, 0_usize..5).prop_flat_map(|(rows, columns)| {
            proptest::collection::vec(
                proptest::collection::vec(proptest::option::of(1_u32..9), columns),
                rows,
            )
        })
    }

    proptest! {
        #[test]
        fn no_assignment_has_a_greater_sum(weights in matrix()) {
            let columns = weights.first().map_or(0, Vec::len);
            let (best, total) = solve(&weights);
            prop_assert_eq!(total, brute(&weights, 0, &mut vec![false; columns]));
            let mut taken = best.iter().flatten().collect::<Vec<_>>();
            let count = taken.len();
            taken.sort_unstable();
            taken.dedup();
            prop_assert_eq!(taken.len(), count);
        }

        #[test]
        fn a_forced_pair_is_in_every_optimum(weights in matrix()) {
            let columns = weights.first().map_or(0, Vec::len);
            let total = brute(&weights, 0, &mut vec![false; columns]);
            for (row, forced) in forced(&weights).into_iter().enumerate() {
                let optimal: Vec<usize> = (0..columns).filter(|column| with(&weights, row, *column) == Some(total)).collect();
                let mut alone = weights.clone();
                alone[row].iter_mut().for_each(|weight| *weight = None);
                let may_be_left = solve(&alone).1 == total;
                match forced {
                    Forced::To(column) => prop_assert!(optimal == [column] && !may_be_left),
                    Forced::Left => prop_assert!(optimal.is_empty()),
                    Forced::Open => prop_assert!(optimal.len() + usize::from(may_be_left) > 1),
                }
            }
        }
    }

    #[test]
    fn two_goods_of_which_one_is_named_leave_the_other_product_to_the_other() {
        let weights = [vec![Some(1), Some(1)], vec![Some(1), Some(100)]];
        assert_eq!(forced(&weights), [Forced::To(0), Forced::To(1)]);
    }

    #[test]
    fn two_goods_of_which_none_is_named_stay_open() {
        assert_eq!(forced(&[vec![Some(1), Some(1)], vec![Some(1), Some(1)]]), [Forced::Open, Forced::Open]);
        assert_eq!(forced(&[vec![Some(1)], vec![Some(1)]]), [Forced::Open, Forced::Open]);
    }
}
