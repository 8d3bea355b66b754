//! Rows that are less than a line, or more: a piece each, or what is said of all of an order.
//!
//! Must not know names. Start reading at [`Sheet::are_pieces`] and [`without_heads`].

use std::collections::BTreeSet;

use super::sheet::Sheet;

impl Sheet<'_> {
    /// Whether the numbers of a column count rows: each is 1, or one more than that of the row before it, of the same order.
    pub(super) fn counts_rows(&self, column: usize) -> bool {
        let Some(numbers) = &self.profiles[column].whole else { return false };
        if self.list.parent.is_none() {
            return false;
        }
        let mut before: Option<(i64, usize)> = None;
        let mut again = 0;
        for (row, (number, parent)) in numbers.iter().zip(&self.list.parent_of).enumerate() {
            let Some(number) = *number else { return false };
            let goes_on = before.is_some_and(|(last, of)| of == *parent && number == last + 1);
            if number != 1 && !(goes_on && self.is_as_before(row, column)) {
                return false;
            }
            again += usize::from(number > 1);
            before = Some((number, *parent));
        }
        again >= 3
    }

    /// Whether a row says the same as the one before it, but for one column and one more: of one thing, another piece.
    fn is_as_before(&self, row: usize, column: usize) -> bool {
        let (all, same) = self.alike(row, row - 1, column);
        same > 0 && same + 1 >= all
    }

    /// Whether rows of an order stand there several times, each as one piece: the same in all, or counted by one column.
    pub(super) fn are_pieces(&self) -> bool {
        if self.list.parent.is_none() {
            return false;
        }
        let told: Vec<usize> =
            (0..self.list.columns.len()).filter(|index| !self.counts_rows(*index)).collect();
        let mut seen: BTreeSet<(usize, Vec<&Option<String>>)> = BTreeSet::new();
        let mut again = 0;
        for (row, parent) in self.list.parent_of.iter().enumerate() {
            let own = told.iter().map(|index| &self.list.columns[*index].values[row]).collect();
            again += usize::from(!seen.insert((*parent, own)));
        }
        again >= 3
    }
}

/// Of rows of which the first of each order says what is said of all of it, and nothing of a line: a column that all lines
/// have and none of these.
pub(super) fn without_heads(sheet: &Sheet<'_>) -> Option<usize> {
    let columns = &sheet.list.columns;
    let own: Vec<usize> = (0..columns.len()).filter(|index| !sheet.repeated.contains(index)).collect();
    let filled = |row: usize| own.iter().filter(|index| columns[**index].values[row].is_some()).count();
    let rows = sheet.list.records.len();
    // One may say which kind of row it is.
    let is_head = |row: &usize| filled(*row) <= 1;
    let heads = (0..rows).filter(is_head).count();
    if own.len() < 4 || heads < 3 || heads * 5 > rows * 4 {
        return None;
    }
    let tells = |index: &usize| {
        let values = &columns[*index].values;
        (0..rows).all(|row| values[row].is_some() != is_head(&row))
    };
    own.iter().copied().find(tells)
}
