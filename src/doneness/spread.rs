//! How like pieces differ: the expected order statistics of a normal sample.

/// Expected normal order statistics of samples of 1 to 6 (upper halves, any table of
/// normal scores; from memory, checked by integration in `tests/doneness`).
const SCORES: [&[f64]; 6] = [
    &[0.0],
    &[-0.564_19, 0.564_19],
    &[-0.846_28, 0.0, 0.846_28],
    &[-1.029_38, -0.297_01, 0.297_01, 1.029_38],
    &[-1.162_96, -0.495_02, 0.0, 0.495_02, 1.162_96],
    &[
        -1.267_21, -0.641_76, -0.201_55, 0.201_55, 0.641_76, 1.267_21,
    ],
];

/// Where `pieces` like pieces stand about their mean, in standard deviations, the
/// slowest first. More than six are told by six of them, spread as wide as so many would
/// be: the lowest of a sample moves by about 0.36 with each doubling.
pub fn scores(pieces: u32) -> Vec<f64> {
    let n = pieces.max(1) as usize;
    match SCORES.get(n - 1) {
        Some(few) => few.to_vec(),
        None => {
            let wider = 1.0 + 0.362 * (n as f64 / 6.0).log2() / 1.267_21;
            SCORES[5].iter().map(|s| s * wider).collect()
        }
    }
}
