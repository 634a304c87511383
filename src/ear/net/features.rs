//! Sound → 48 log-mel bands every 10 ms, as the network was trained on.
//!
//! Pre-emphasis 0.97, periodic Hann window of 400 samples every 160, 512-point
//! transform, power, 48 triangles on the HTK mel scale (2595 log10(1 + f/700), HTK
//! Book section 5.4) from 60 to 7800 Hz, logarithm, and one fixed mean and deviation a
//! band. Nothing looks at the whole utterance, so it streams.

use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};

/// Bands of one feature frame.
pub const BANDS: usize = 48;
/// Samples from one frame to the next.
pub const HOP: usize = 160;
const WINDOW: usize = 400;
const FFT: usize = 512;
const RATE: f64 = 16_000.0;
const LOWEST: f64 = 60.0;
const HIGHEST: f64 = 7_800.0;
const PRE_EMPHASIS: f32 = 0.97;
/// Added to the power before the logarithm; samples are scaled to ±1.
const FLOOR: f32 = 1e-6;

pub type Bands = [f32; BANDS];

/// One triangle: weights of the spectrum's bins from `first` on.
struct Triangle {
    first: usize,
    weights: Vec<f32>,
}

pub struct Features {
    fft: Arc<dyn RealToComplex<f32>>,
    window: Vec<f32>,
    triangles: Vec<Triangle>,
    mean: Bands,
    scale: Bands,
    /// Pre-emphasised samples from the beginning of the next frame on.
    held: Vec<f32>,
    /// The last sample before them, not emphasised.
    last: f32,
    frame: Vec<f32>,
    spectrum: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl Features {
    /// `mean` and `std`: of each band's logarithm over the training sound.
    pub fn new(mean: Bands, std: Bands) -> Self {
        let fft = RealFftPlanner::<f32>::new().plan_fft_forward(FFT);
        let window = (0..WINDOW)
            .map(|n| {
                let turn = std::f64::consts::TAU * n as f64 / WINDOW as f64;
                (0.5 - 0.5 * turn.cos()) as f32
            })
            .collect();
        Self {
            window,
            triangles: triangles(),
            mean,
            scale: std.map(|s| 1.0 / s.max(1e-3)),
            held: Vec::with_capacity(4 * WINDOW),
            last: 0.0,
            frame: fft.make_input_vec(),
            spectrum: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Takes 16 kHz samples; every frame that they complete is appended to `out`.
    pub fn push(&mut self, samples: &[i16], out: &mut Vec<Bands>) {
        for &s in samples {
            let x = f32::from(s) / 32_768.0;
            self.held.push(x - PRE_EMPHASIS * self.last);
            self.last = x;
        }
        let mut used = 0;
        while let Some(sound) = self.held.get(used..used + WINDOW) {
            for ((to, &x), &w) in self.frame.iter_mut().zip(sound).zip(&self.window) {
                *to = x * w;
            }
            // The transform uses its input as scratch.
            self.frame.iter_mut().skip(WINDOW).for_each(|x| *x = 0.0);
            if self
                .fft
                .process_with_scratch(&mut self.frame, &mut self.spectrum, &mut self.scratch)
                .is_ok()
            {
                out.push(self.bands());
            }
            used += HOP;
        }
        self.held.drain(..used);
    }

    pub fn reset(&mut self) {
        self.held.clear();
        self.last = 0.0;
    }

    fn bands(&self) -> Bands {
        let mut bands = [0.0; BANDS];
        for (n, (band, triangle)) in bands.iter_mut().zip(&self.triangles).enumerate() {
            let power: f32 = self
                .spectrum
                .iter()
                .skip(triangle.first)
                .zip(&triangle.weights)
                .map(|(bin, w)| bin.norm_sqr() * w)
                .sum();
            *band = ((power + FLOOR).ln() - self.mean[n]) * self.scale[n];
        }
        bands
    }
}

fn mel(hz: f64) -> f64 {
    2595.0 * (1.0 + hz / 700.0).log10()
}

fn hz(mel: f64) -> f64 {
    700.0 * (10f64.powf(mel / 2595.0) - 1.0)
}

fn triangles() -> Vec<Triangle> {
    let edge =
        |n: usize| hz(mel(LOWEST) + (mel(HIGHEST) - mel(LOWEST)) * n as f64 / (BANDS + 1) as f64);
    (0..BANDS)
        .map(|n| {
            let (low, top, high) = (edge(n), edge(n + 1), edge(n + 2));
            let weight = |bin: usize| {
                let f = bin as f64 * RATE / FFT as f64;
                (((f - low) / (top - low)).min((high - f) / (high - top))).max(0.0) as f32
            };
            let first = (0..=FFT / 2).find(|&b| weight(b) > 0.0).unwrap_or(0);
            Triangle {
                first,
                weights: (first..=FFT / 2)
                    .map(weight)
                    .take_while(|&w| w > 0.0)
                    .collect(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same sound by NumPy (`numpy.fft.rfft`, double precision, the formulas of the
    /// module's head): `tests/data/features.json`, made by `scripts/features-reference.py`.
    #[derive(serde::Deserialize)]
    struct Reference {
        frames: Vec<Vec<f32>>,
    }

    /// The reference's sound: a sweep in a little noise from a plain generator.
    fn sound() -> Vec<i16> {
        let mut seed = 12_345u32;
        (0..4_000)
            .map(|n| {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let noise = f64::from(seed >> 16) / 65_536.0 - 0.5;
                let t = f64::from(n) / RATE;
                let sweep = (std::f64::consts::TAU * (200.0 * t + 8_000.0 * t * t)).sin();
                (8_000.0 * sweep + 600.0 * noise).round() as i16
            })
            .collect()
    }

    fn plain() -> Features {
        Features::new([0.0; BANDS], [1.0; BANDS])
    }

    #[test]
    fn agree_with_numpy() {
        let want: Reference =
            serde_json::from_str(include_str!("../../../tests/data/features.json")).unwrap();
        let mut got = Vec::new();
        plain().push(&sound(), &mut got);
        assert_eq!(got.len(), want.frames.len());
        for (t, (got, want)) in got.iter().zip(&want.frames).enumerate() {
            for (n, (g, w)) in got.iter().zip(want).enumerate() {
                assert!((g - w).abs() < 1e-3, "frame {t} band {n}: {g}, NumPy {w}");
            }
        }
    }

    #[test]
    fn piece_sizes_do_not_matter() {
        let sound = sound();
        let mut whole = Vec::new();
        plain().push(&sound, &mut whole);
        let (mut features, mut pieces) = (plain(), Vec::new());
        for piece in sound.chunks(37) {
            features.push(piece, &mut pieces);
        }
        assert_eq!(whole, pieces);
    }

    #[test]
    fn silence_is_the_floor() {
        let mut got = Vec::new();
        plain().push(&[0; 1_600], &mut got);
        assert_eq!(got.len(), 8);
        assert!(
            got.iter()
                .flatten()
                .all(|b| (b - 1e-6f32.ln()).abs() < 1e-6)
        );
    }
}
