/// SplitMix64 (Steele, Lea and Flood 2014; public-domain reference code by Vigna).
/// The journal keeps only the seed, so this generator and the order in which
/// [`super::design`] draws from it are part of the journal's format: changing
/// either would relabel the samples of every tasting on record.
#[derive(Debug, Clone)]
pub(super) struct Draw(u64);

impl Draw {
    pub(super) fn new(seed: u64) -> Self {
        Draw(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// The seed of the `number`th thing that is drawn for under one journal seed.
    pub(super) fn derived(seed: u64, number: u32) -> u64 {
        Draw(seed.wrapping_add(u64::from(number).wrapping_mul(0xD1B5_4A32_D192_ED03))).next()
    }

    /// Uniform over `0..n`; draws above the last full multiple of `n` are thrown
    /// away, so that no remainder is favoured. `n` must not be 0.
    fn below(&mut self, n: u64) -> u64 {
        let surplus = (u64::MAX % n + 1) % n;
        loop {
            let draw = self.next();
            if draw <= u64::MAX - surplus {
                return draw % n;
            }
        }
    }

    /// Fisher-Yates, from the end.
    pub(super) fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            let j = self.below(i as u64 + 1) as usize;
            items.swap(i, j);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosetta Code, "Pseudo-random numbers/Splitmix64": the first five for seed
    /// 1234567, and the counts of floor(5 x / 2^64) for the first 100000 of seed
    /// 987654321 (the counts from memory).
    #[test]
    fn published_sequence() {
        let mut draw = Draw::new(1_234_567);
        let first: Vec<u64> = (0..5).map(|_| draw.next()).collect();
        assert_eq!(
            first,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
        let mut draw = Draw::new(987_654_321);
        let mut counts = [0; 5];
        for _ in 0..100_000 {
            counts[((u128::from(draw.next()) * 5) >> 64) as usize] += 1;
        }
        assert_eq!(counts, [20027, 19892, 20073, 19978, 20030]);
    }

    #[test]
    fn shuffles_reach_every_order_about_equally() {
        let mut draw = Draw::new(5);
        let mut seen = std::collections::BTreeMap::new();
        for _ in 0..24_000 {
            let mut items = [0, 1, 2, 3];
            draw.shuffle(&mut items);
            *seen.entry(items).or_insert(0u32) += 1;
        }
        assert_eq!(seen.len(), 24);
        // Chi-square with 23 degrees of freedom: 49.7 is its 0.999 quantile
        // (any table of the distribution; from memory).
        let chi2: f64 = seen
            .values()
            .map(|n| (f64::from(*n) - 1e3).powi(2) / 1e3)
            .sum();
        assert!(chi2 < 49.7, "{chi2}");
    }
}
