//! Sound read between its samples.

use std::sync::OnceLock;

/// Samples on each side that a value between two of them is made of.
pub const REACH: usize = 8;
/// Places between two samples.
const PLACES: usize = 256;

type Kernel = [f32; 2 * REACH];

/// The value at sample number `at` of `sound`, which answers a sample by its number. At a
/// whole number it is that sample.
pub fn read(at: f64, sound: impl Fn(i64) -> f32) -> f32 {
    let place = (at * PLACES as f64).round() as i64;
    let (whole, part) = (
        place.div_euclid(PLACES as i64),
        place.rem_euclid(PLACES as i64),
    );
    if part == 0 {
        return sound(whole);
    }
    let first = whole + 1 - REACH as i64;
    let kernel = kernels().get(part as usize);
    kernel.map_or(0.0, |kernel| {
        (first..).zip(kernel).map(|(n, k)| k * sound(n)).sum()
    })
}

/// A sinc in a Hann window for each place.
fn kernels() -> &'static [Kernel] {
    static KERNELS: OnceLock<Vec<Kernel>> = OnceLock::new();
    KERNELS.get_or_init(|| {
        let kernel = |part: usize| {
            let part = part as f64 / PLACES as f64;
            std::array::from_fn(|n| {
                let x = (n as f64 + 1.0 - REACH as f64 - part) * std::f64::consts::PI;
                let window = 0.5 + 0.5 * (x / REACH as f64).cos();
                let sinc = if x == 0.0 { 1.0 } else { x.sin() / x };
                (sinc * window) as f32
            })
        };
        (0..PLACES).map(kernel).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tone of 3 kHz against its own formula, anywhere between its samples.
    #[test]
    fn a_tone_is_read_between_its_samples() {
        let tone = |at: f64| (std::f64::consts::TAU * 3_000.0 / 16_000.0 * at).sin();
        for n in 0..1_000 {
            let at = f64::from(n) * 1.237;
            let off = f64::from(read(at, |n| tone(n as f64) as f32)) - tone(at);
            assert!(off.abs() < 0.01, "{off} at {at}");
        }
    }

    #[test]
    fn a_sample_is_read_as_it_is() {
        assert_eq!(read(-3.0, |n| n as f32 + 0.1), -2.9);
    }
}
