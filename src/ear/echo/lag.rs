//! By how much the echo comes after what was played.

use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// Samples looked at at once, a second.
pub const WINDOW: usize = 16_384;
/// The longest that an echo may be late, 160 ms: so much less of what was played is looked
/// at, so that its end is in the microphone's sound too.
const LATEST: usize = 2_560;
/// A peak stands so many standard deviations above the rest: the highest of [`LATEST`]
/// random ones stands at 4.
const SURE: f32 = 12.0;

/// Generalised cross-correlation with phase transform (Knapp and Carter, "The generalized
/// correlation method for estimation of time delay", 1976): all frequencies count the same,
/// so that a voice, which is nearly periodic, has one peak.
pub struct Finder {
    forward: Arc<dyn RealToComplex<f32>>,
    back: Arc<dyn ComplexToReal<f32>>,
    time: Vec<f32>,
    near: Vec<Complex<f32>>,
    far: Vec<Complex<f32>>,
}

impl Default for Finder {
    fn default() -> Self {
        let mut plan = RealFftPlanner::new();
        let forward = plan.plan_fft_forward(WINDOW);
        Self {
            back: plan.plan_fft_inverse(WINDOW),
            time: forward.make_input_vec(),
            near: forward.make_output_vec(),
            far: forward.make_output_vec(),
            forward,
        }
    }
}

impl Finder {
    /// By how many samples, with their fraction, `far`'s echo in `near` is late; both from
    /// one time on, of which the first [`WINDOW`] are looked at. Nothing where no lag stands
    /// out.
    pub fn find(&mut self, near: &[f32], far: &[f32]) -> Option<f64> {
        self.time.copy_from_slice(near.get(..WINDOW)?);
        self.forward.process(&mut self.time, &mut self.near).ok()?;
        self.time.fill(0.0);
        let whole = WINDOW - LATEST;
        self.time
            .get_mut(..whole)?
            .copy_from_slice(far.get(..whole)?);
        self.forward.process(&mut self.time, &mut self.far).ok()?;
        for (near, far) in self.near.iter_mut().zip(&self.far) {
            let cross = *near * far.conj();
            *near = cross / (cross.norm() + f32::MIN_POSITIVE);
        }
        // A real signal has no phase at zero and at half the rate.
        for edge in [0, WINDOW / 2] {
            if let Some(bin) = self.near.get_mut(edge) {
                *bin = Complex::default();
            }
        }
        self.back.process(&mut self.near, &mut self.time).ok()?;
        let lags = self.time.get(..LATEST)?;
        let spread = (lags.iter().map(|x| x * x).sum::<f32>() / LATEST as f32).sqrt();
        let (peak, &height) = (lags.iter().enumerate())
            .take(LATEST - 1)
            .skip(1)
            .max_by(|a, b| a.1.total_cmp(b.1))?;
        if height < SURE * spread {
            return None;
        }
        let (before, after) = (*lags.get(peak - 1)?, *lags.get(peak + 1)?);
        Some(peak as f64 + f64::from(beside(before, height, after)))
    }
}

/// Where between the samples the peak is, -0.5 to 0.5: with all frequencies alike it is
/// sin(pi x) / (pi x), of which two neighbours tell the place.
fn beside(before: f32, height: f32, after: f32) -> f32 {
    let towards = |next: f32| (next / (height + next)).clamp(0.0, 0.5);
    if after > before {
        towards(after)
    } else {
        -towards(before)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hiss(n: usize, mut seed: u32) -> Vec<f32> {
        let mut next = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 8) as f32 / 8_388_608.0 - 1.0
        };
        (0..n).map(|_| next()).collect()
    }

    /// Of noise made at eight times the rate each eighth sample is taken, so that a lag of
    /// eighths is known exactly.
    #[test]
    fn a_lag_is_found_with_its_fraction() {
        let fine = hiss(8 * WINDOW + 8 * 1_000, 1);
        // Below half the lower rate: the mean of eight has its first zero at the lower rate.
        let mean: Vec<f32> = fine.windows(8).map(|w| w.iter().sum()).collect();
        let every_eighth = |from: usize| -> Vec<f32> {
            let taken = mean.iter().skip(from).step_by(8);
            taken.copied().take(WINDOW).collect()
        };
        let others = hiss(WINDOW, 2);
        let far = every_eighth(8 * 900);
        let mut finder = Finder::default();
        for eighths in [0, 1, 3, 4, 6, 7] {
            // As loud again is what has nothing to do with it.
            let near: Vec<f32> = (every_eighth(8 * 500 - eighths).iter().zip(&others))
                .map(|(x, o)| x + 1.6 * o)
                .collect();
            let lag = finder.find(&near, &far).unwrap();
            let off = lag - 400.0 - eighths as f64 / 8.0;
            assert!(off.abs() < 0.15, "{off} with {eighths}");
        }
    }

    #[test]
    fn in_strange_sound_no_lag_is_found() {
        let far = hiss(WINDOW, 1);
        for seed in 2..30 {
            assert_eq!(Finder::default().find(&hiss(WINDOW, seed), &far), None);
        }
    }
}
