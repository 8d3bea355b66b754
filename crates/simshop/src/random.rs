//! Numbers that look random and are the same on every machine and with every version of every library.
//!
//! A fixture must stay what it is for years. The general crates promise their raw streams at most, not how they
//! draw from a range or a list, so a generator of ten lines stands here instead of a dependency.

/// The generator SplitMix64: Steele, Lea and Flood, 'Fast splittable pseudorandom number generators' (2014).
#[derive(Clone, Debug)]
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`, both included. The bias is under 2^-40 for the small ranges used here.
    pub(crate) fn between(&mut self, low: u64, high: u64) -> u64 {
        let span = u128::from(high - low) + 1;
        low + ((u128::from(self.next()) * span) >> 64) as u64
    }

    pub(crate) fn index(&mut self, len: usize) -> usize {
        self.between(0, len as u64 - 1) as usize
    }

    /// An index, as often as its weight says.
    pub(crate) fn weighted(&mut self, weights: &[u64]) -> usize {
        let mut left = self.between(1, weights.iter().sum());
        for (index, weight) in weights.iter().enumerate() {
            if left <= *weight {
                return index;
            }
            left -= weight;
        }
        weights.len() - 1
    }
}

#[cfg(test)]
mod tests {
    use super::Random;

    /// The first values for the seed 1234567, from memory.
    #[test]
    fn the_stream_is_splitmix64() {
        let mut random = Random::new(1_234_567);
        let first: Vec<u64> = (0..3).map(|_| random.next()).collect();
        assert_eq!(first, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
    }

    #[test]
    fn a_range_is_met_from_end_to_end_and_never_left() {
        let mut random = Random::new(7);
        let mut met = [0_u32; 5];
        for _ in 0..1_000 {
            met[random.between(3, 7) as usize - 3] += 1;
        }
        assert!(met.iter().all(|count| *count > 150), "{met:?}");
        let drawn: Vec<usize> = (0..300).map(|_| random.weighted(&[1, 0, 2])).collect();
        assert!(!drawn.contains(&1) && drawn.contains(&0) && drawn.contains(&2));
    }
}
