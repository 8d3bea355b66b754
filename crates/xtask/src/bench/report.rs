//! Numbers as a table in Markdown.
//!
//! Must not know what was measured. Start reading at [`Runs`].

use std::time::Duration;

use crate::bench::measure::Measured;

use Column::{Number, Text};

/// The same program on the same book, several times.
pub struct Runs {
    /// The program.
    pub name: String,
    /// The book.
    pub book: String,
    /// What each run took; not empty.
    pub measured: Vec<Measured>,
}

impl Runs {
    fn wall(&self) -> f64 {
        median(self.seconds(|run| run.wall))
    }

    fn processor(&self) -> f64 {
        median(self.seconds(|run| run.processor))
    }

    fn peak(&self) -> f64 {
        median(self.measured.iter().map(|run| megabytes(run.peak_bytes)).collect())
    }

    fn seconds(&self, of: impl Fn(&Measured) -> Duration) -> Vec<f64> {
        self.measured.iter().map(|run| of(run).as_secs_f64()).collect()
    }
}

/// In 10^6 bytes.
pub fn megabytes(bytes: u64) -> f64 {
    bytes as f64 / 1e6
}

/// The one in the middle, or between the two in the middle.
pub fn median(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    let middle = numbers.len() / 2;
    match numbers.len() {
        0 => f64::NAN,
        length if length % 2 == 1 => numbers[middle],
        _ => f64::midpoint(numbers[middle - 1], numbers[middle]),
    }
}

/// The table of all runs; ratios are to the runs of `base` on the same book.
pub fn comparison(all: &[Runs], base: &str) -> String {
    let rows = all.iter().map(|runs| {
        let walls = runs.seconds(|run| run.wall);
        let least = walls.iter().copied().fold(f64::INFINITY, f64::min);
        let most = walls.iter().copied().fold(0.0, f64::max);
        let of_base = all.iter().find(|other| other.name == base && other.book == runs.book);
        let ratio = |of: fn(&Runs) -> f64| {
            of_base.map_or("-".to_owned(), |base| format!("{:.2}", of(runs) / of(base)))
        };
        vec![
            runs.name.clone(),
            runs.book.clone(),
            format!("{:.2}", runs.wall()),
            format!("{least:.2}..{most:.2}"),
            format!("{:.2}", runs.processor()),
            format!("{:.0}", runs.peak()),
            ratio(Runs::wall),
            ratio(Runs::peak),
        ]
    });
    let wall_ratio = format!("wall / {base}'s");
    let peak_ratio = format!("peak / {base}'s");
    let head = [
        Text("name"),
        Text("book"),
        Number("wall s"),
        Number("min..max"),
        Number("processor s"),
        Number("peak MB"),
        Number(&wall_ratio),
        Number(&peak_ratio),
    ];
    markdown(&head, rows.collect())
}

/// What stands over a column, and what it holds.
#[derive(Clone, Copy, Debug)]
pub enum Column<'a> {
    /// Begins at the left.
    Text(&'a str),
    /// Ends at the right.
    Number(&'a str),
}

/// A table in Markdown.
pub fn markdown(head: &[Column<'_>], rows: Vec<Vec<String>>) -> String {
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    let (names, rules) = head
        .iter()
        .map(|column| match column {
            Text(name) => ((*name).to_owned(), "---".to_owned()),
            Number(name) => ((*name).to_owned(), "---:".to_owned()),
        })
        .unzip();
    let mut table = line(names) + &line(rules);
    for row in rows {
        table.push_str(&line(row.into_iter().map(|cell| cell.replace('|', "\\|")).collect()));
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_in_the_middle() {
        for (numbers, expected) in
            [(vec![3.0], 3.0), (vec![9.0, 1.0, 2.0], 2.0), (vec![4.0, 1.0, 3.0, 2.0], 2.5)]
        {
            assert_eq!(median(numbers.clone()), expected, "{numbers:?}");
        }
    }

    #[test]
    fn a_table_holds_medians_and_ratios_to_the_base_on_the_same_book() {
        let runs = |name: &str, book: &str, seconds: [u64; 3], peak_bytes| Runs {
            name: name.to_owned(),
            book: book.to_owned(),
            measured: seconds
                .map(|wall| Measured {
                    wall: Duration::from_secs(wall),
                    processor: Duration::from_secs(2 * wall),
                    peak_bytes,
                    status: None,
                    last_words: String::new(),
                })
                .to_vec(),
        };
        let all = [
            runs("ours", "a", [2, 1, 9], 10_000_000),
            runs("theirs", "a", [5, 5, 6], 25_000_000),
            runs("ours", "b", [1, 1, 1], 10_000_000),
            runs("theirs", "c", [1, 1, 1], 10_000_000),
        ];
        let table = comparison(&all, "ours");
        let lines: Vec<&str> = table.lines().collect();
        assert_eq!(
            lines[0],
            "| name | book | wall s | min..max | processor s | peak MB | wall / ours's | peak / ours's |"
        );
        assert_eq!(lines[1], "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |");
        assert_eq!(lines[2], "| ours | a | 2.00 | 1.00..9.00 | 4.00 | 10 | 1.00 | 1.00 |");
        assert_eq!(lines[3], "| theirs | a | 5.00 | 5.00..6.00 | 10.00 | 25 | 2.50 | 2.50 |");
        assert_eq!(lines[5], "| theirs | c | 1.00 | 1.00..1.00 | 2.00 | 10 | - | - |");
    }
}
