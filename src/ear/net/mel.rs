//! Sound → 80 log-mel bands every 10 ms of a whole utterance, as the second pass was
//! trained on.
//!
//! Periodic Hann window of 400 samples centred on every 160th (the ends reflected),
//! 400-point transform, power, 80 triangles of equal area on the mel scale of Slaney's
//! Auditory Toolbox from 0 to 8000 Hz, logarithm to base 10, everything more than 80 dB
//! below the loudest raised to it, and scaled to about -1 to 1.

use realfft::RealFftPlanner;

/// Bands of one feature frame.
pub const BANDS: usize = 80;
const HOP: usize = 160;
const FFT: usize = 400;
const RATE: f64 = 16_000.0;

/// 16 kHz samples → bands, band after band: `BANDS` rows of `samples / 160` numbers.
pub fn log_mel(samples: &[i16]) -> Vec<f32> {
    let frames = samples.len() / HOP;
    let bank = triangles();
    let fft = RealFftPlanner::<f32>::new().plan_fft_forward(FFT);
    let mut frame = fft.make_input_vec();
    let mut spectrum = fft.make_output_vec();
    let mut scratch = fft.make_scratch_vec();
    let window: Vec<f32> = (0..FFT)
        .map(|n| (0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / FFT as f64).cos()) as f32)
        .collect();
    let mut out = vec![0.0; BANDS * frames];
    for t in 0..frames {
        for (n, (x, w)) in frame.iter_mut().zip(&window).enumerate() {
            let at = reflected(t * HOP + n, samples.len());
            *x = w * f32::from(samples.get(at).copied().unwrap_or(0)) / 32_768.0;
        }
        // The buffers are of the transform's own sizes, which is all that can fail.
        let _ = fft.process_with_scratch(&mut frame, &mut spectrum, &mut scratch);
        let power: Vec<f32> = spectrum.iter().map(|c| c.norm_sqr()).collect();
        for (band, (first, weights)) in bank.iter().enumerate() {
            let sum: f32 = power
                .iter()
                .skip(*first)
                .zip(weights)
                .map(|(p, w)| p * w)
                .sum();
            if let Some(o) = out.get_mut(band * frames + t) {
                *o = sum.max(1e-10).log10();
            }
        }
    }
    let loudest = out.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    for o in &mut out {
        *o = (o.max(loudest - 8.0) + 4.0) / 4.0;
    }
    out
}

/// Sample number `at - FFT / 2`, mirrored at the first and the last sample.
fn reflected(at: usize, len: usize) -> usize {
    let last = len.saturating_sub(1) as isize;
    let at = (at as isize - FFT as isize / 2).abs();
    if at > last {
        (2 * last - at).max(0) as usize
    } else {
        at as usize
    }
}

/// First bin and weights of each band.
fn triangles() -> Vec<(usize, Vec<f32>)> {
    const LINEAR: f64 = 200.0 / 3.0;
    let step = 6.4_f64.ln() / 27.0;
    let hertz = |mel: f64| {
        if mel >= 15.0 {
            1_000.0 * (step * (mel - 15.0)).exp()
        } else {
            mel * LINEAR
        }
    };
    let highest = 15.0 + (RATE / 2.0 / 1_000.0).ln() / step;
    let edge = |n: usize| hertz(highest * n as f64 / (BANDS + 1) as f64);
    (0..BANDS)
        .map(|band| {
            let (low, mid, high) = (edge(band), edge(band + 1), edge(band + 2));
            let weight = |bin: usize| {
                let f = bin as f64 * RATE / FFT as f64;
                ((f - low) / (mid - low))
                    .min((high - f) / (high - mid))
                    .max(0.0)
                    * 2.0
                    / (high - low)
            };
            let bins: Vec<f32> = (0..=FFT / 2).map(|bin| weight(bin) as f32).collect();
            let first = bins.iter().position(|&w| w > 0.0).unwrap_or(0);
            let past = bins
                .iter()
                .rposition(|&w| w > 0.0)
                .map_or(first, |last| last + 1);
            (first, bins.get(first..past).unwrap_or_default().to_vec())
        })
        .collect()
}
