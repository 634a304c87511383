//! Any rate and any number of channels → 16 kHz mono.

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler};

use super::RATE;

/// Rates outside this are refused: below it there is no speech band left, above it
/// the number is more likely a broken header than a recording.
const RATES: std::ops::RangeInclusive<u32> = 4_000..=768_000;

/// Streaming conversion of interleaved samples from -1 to 1.
///
/// The filter's delay is cut from the front and paid back by [`ToMono16k::flush`], so
/// sample `n` of the output is at `n / 16000` s of the input.
pub struct ToMono16k {
    channels: usize,
    /// `None` when the input has the right rate already.
    fft: Option<Fft<f32>>,
    /// Mono samples not yet resampled.
    waiting: Vec<f32>,
    block: Vec<f32>,
    /// Output samples still to be cut: the filter's delay.
    cut: usize,
    came: u64,
    went: u64,
    from: u32,
}

impl ToMono16k {
    /// `from`: samples a second; `channels`: interleaved, at least 1.
    pub fn new(from: u32, channels: usize) -> Result<Self, String> {
        if !RATES.contains(&from) {
            return Err(format!(
                "a sample rate of {from} Hz is not usable; {} to {} Hz are",
                RATES.start(),
                RATES.end()
            ));
        }
        if channels == 0 || channels > 256 {
            return Err(format!("{channels} channels are not usable; 1 to 256 are"));
        }
        let fft = if from == RATE {
            None
        } else {
            // 20 ms blocks.
            Some(
                Fft::<f32>::new(
                    from as usize,
                    RATE as usize,
                    (from / 50) as usize,
                    1,
                    FixedSync::Input,
                )
                .map_err(|e| format!("{from} Hz cannot be resampled: {e}"))?,
            )
        };
        let cut = fft.as_ref().map_or(0, |f| f.output_delay());
        let block = vec![0.0; fft.as_ref().map_or(0, |f| f.output_frames_max())];
        Ok(Self {
            channels,
            fft,
            waiting: Vec::new(),
            block,
            cut,
            came: 0,
            went: 0,
            from,
        })
    }

    /// Converts interleaved samples and appends the result to `out`.
    pub fn push(&mut self, interleaved: &[f32], out: &mut Vec<i16>) -> Result<(), String> {
        let scale = 1.0 / self.channels as f32;
        let frames = interleaved
            .chunks_exact(self.channels)
            .map(|f| f.iter().sum::<f32>() * scale);
        self.came += (interleaved.len() / self.channels) as u64;
        if self.fft.is_none() {
            out.extend(frames.map(to_i16));
            return Ok(());
        }
        self.waiting.extend(frames);
        self.run(out, u64::MAX)
    }

    /// Appends what the filter still holds. Nothing may be pushed afterwards.
    pub fn flush(&mut self, out: &mut Vec<i16>) -> Result<(), String> {
        let Some(fft) = &self.fft else {
            return Ok(());
        };
        let due = self.came * u64::from(RATE) / u64::from(self.from);
        let step = fft.input_frames_max();
        while self.went < due {
            self.waiting.resize(self.waiting.len() + step, 0.0);
            self.run(out, due)?;
        }
        Ok(())
    }

    fn run(&mut self, out: &mut Vec<i16>, due: u64) -> Result<(), String> {
        let Some(fft) = &mut self.fft else {
            return Ok(());
        };
        let mut used = 0;
        loop {
            let need = fft.input_frames_next();
            let Some(input) = self.waiting.get(used..used + need) else {
                break;
            };
            let capacity = self.block.len();
            let input = InterleavedSlice::new(input, 1, need).map_err(|e| e.to_string())?;
            let mut output = InterleavedSlice::new_mut(&mut self.block, 1, capacity)
                .map_err(|e| e.to_string())?;
            let (read, written) = fft
                .process_into_buffer(&input, &mut output, None)
                .map_err(|e| e.to_string())?;
            used += read;
            let skip = self.cut.min(written);
            self.cut -= skip;
            let left = usize::try_from(due - self.went).unwrap_or(usize::MAX);
            let fresh = self.block.iter().take(written).skip(skip).take(left);
            let before = out.len();
            out.extend(fresh.copied().map(to_i16));
            self.went += (out.len() - before) as u64;
        }
        self.waiting.drain(..used);
        Ok(())
    }
}

/// Full scale is 32768; what lies outside is clipped, what is not a number is silence.
fn to_i16(x: f32) -> i16 {
    // A float-to-int cast saturates and turns NaN into 0.
    (x * 32768.0).round() as i16
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    fn tone(rate: u32, channels: usize, hz: f64, seconds: f64) -> Vec<f32> {
        (0..(f64::from(rate) * seconds) as usize)
            .flat_map(|n| {
                let x = 0.5 * (TAU * hz * n as f64 / f64::from(rate)).sin();
                std::iter::repeat_n(x as f32, channels)
            })
            .collect()
    }

    /// A tone comes out as the same tone, in place: 440 Hz at half scale, compared with
    /// its own formula by correlation with sine and cosine.
    #[test]
    fn a_tone_keeps_its_pitch_level_and_place_at_every_rate() {
        for rate in [8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000] {
            for channels in [1, 2, 6] {
                let mut conv = ToMono16k::new(rate, channels).unwrap();
                let mut out = Vec::new();
                // Odd-sized pieces, as callbacks give them.
                for piece in tone(rate, channels, 440.0, 1.0).chunks(213 * channels) {
                    conv.push(piece, &mut out).unwrap();
                }
                conv.flush(&mut out).unwrap();
                assert_eq!(out.len(), 16_000, "{rate} Hz, {channels} channels");
                // 396 whole periods, away from the edges.
                let (mut sine, mut cosine, mut power) = (0.0, 0.0, 0.0);
                for (n, &x) in out.iter().enumerate().skip(800).take(14_400) {
                    let angle = TAU * 440.0 * n as f64 / 16_000.0;
                    let x = f64::from(x) / 16_384.0;
                    sine += x * angle.sin() / 7_200.0;
                    cosine += x * angle.cos() / 7_200.0;
                    power += x * x / 7_200.0;
                }
                let level = sine.hypot(cosine);
                let late = cosine.atan2(sine) / (TAU * 440.0) * 16_000.0;
                let what = format!("{rate} Hz, {channels} channels");
                assert!((level - 1.0).abs() < 0.01, "{what}: level {level}");
                // The filter's delay is cut in whole samples.
                assert!(late.abs() < 1.0, "{what}: {late} samples off");
                let rest = power - level * level;
                assert!(rest.abs() < 1e-4, "{what}: {rest} is not the tone");
            }
        }
    }

    #[test]
    fn what_lies_above_8_khz_does_not_fold_back() {
        let mut conv = ToMono16k::new(48_000, 1).unwrap();
        let mut out = Vec::new();
        conv.push(&tone(48_000, 1, 12_000.0, 1.0), &mut out)
            .unwrap();
        conv.flush(&mut out).unwrap();
        let loudest = out[800..15_200].iter().map(|x| x.unsigned_abs()).max();
        assert!(loudest < Some(16), "12 kHz came through at {loudest:?}");
    }

    #[test]
    fn nonsense_rates_and_samples_are_met_calmly() {
        assert!(ToMono16k::new(0, 1).is_err());
        assert!(ToMono16k::new(u32::MAX, 1).is_err());
        assert!(ToMono16k::new(16_000, 0).is_err());
        let mut out = Vec::new();
        let mut conv = ToMono16k::new(16_000, 1).unwrap();
        conv.push(&[f32::NAN, f32::INFINITY, -7.0, 1.0], &mut out)
            .unwrap();
        assert_eq!(out, [0, i16::MAX, i16::MIN, i16::MAX]);
    }
}
