//! Brings the rows of a CSV file into an order without meaning.
//!
//! Start reading at [`shuffle`].

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;

use anyhow::Context;
use fastrand::Rng;
use simd_csv::Splitter;

/// Writes a file with the header first and the other records in an order that `seed` decides.
///
/// The file is held in memory; the largest of a million orders has 280 MB.
///
/// # Errors
/// Where one cannot be read or the other not be written.
pub fn shuffle(from: &Path, to: &Path, seed: u64) -> anyhow::Result<()> {
    let bytes = fs::read(from).with_context(|| format!("{} cannot be read", from.display()))?;
    let trouble = || format!("{} cannot be written", to.display());
    let mut writer = BufWriter::new(File::create(to).with_context(trouble)?);
    let mut write = |record: &[u8]| -> anyhow::Result<()> {
        writer.write_all(record).with_context(trouble)?;
        writer.write_all(b"\n").with_context(trouble)
    };
    let mut splitter = Splitter::from_reader(bytes.as_slice());
    write(splitter.byte_headers()?)?;
    let mut records: Vec<(usize, usize)> = Vec::new();
    while let Some((position, record)) = splitter.split_record_with_position()? {
        records.push((usize::try_from(position)?, record.len()));
    }
    Rng::with_seed(seed).shuffle(&mut records);
    for (position, length) in records {
        write(&bytes[position..position + length])?;
    }
    writer.flush().with_context(trouble)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_stays_first_every_record_stays_whole_and_a_seed_has_one_order() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        let records: Vec<String> =
            (0..100).map(|number| format!("{number},\"a\n\"\"{number}\"\"\"")).collect();
        fs::write(path("in"), format!("id,text\n{}\n", records.join("\n"))).unwrap();
        let shuffled = |name: &str, seed| {
            shuffle(&path("in"), &path(name), seed).unwrap();
            fs::read_to_string(path(name)).unwrap()
        };
        let text = shuffled("out", 1);
        assert!(text.starts_with("id,text\n") && text.ends_with("\"\n"));
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let read: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let mut sorted = read.clone();
        sorted.sort_by_key(|record| record[0].parse::<u32>().unwrap());
        assert_ne!(read, sorted);
        for (number, record) in sorted.iter().enumerate() {
            assert_eq!(record, vec![number.to_string(), format!("a\n\"{number}\"")]);
        }
        assert_eq!(sorted.len(), records.len());
        assert_eq!(text, shuffled("again", 1));
        assert_ne!(text, shuffled("other", 2));
    }
}
