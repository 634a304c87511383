//! From the player's 16 kHz mono to whatever the device asks for. Runs in the audio
//! callback: every buffer is made beforehand.

use std::time::{Duration, Instant};

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler};

use super::player::{BLOCK, Player};
use super::synth::SAMPLE_RATE;

pub struct Feed {
    player: Player,
    channels: usize,
    rate: u32,
    line: Line,
    epoch: Instant,
    resample: Option<Resample>,
    scratch: [i16; BLOCK],
    /// Samples of `scratch` that are used up and that are valid.
    used: usize,
    valid: usize,
}

struct Resample {
    engine: Fft<f32>,
    input: Vec<f32>,
    output: Vec<f32>,
    used: usize,
    valid: usize,
    /// Seconds by which the output is late.
    delay: f64,
}

impl Feed {
    /// # Errors
    /// A sample rate that cannot be made from 16 kHz.
    pub fn new(player: Player, rate: u32, channels: u16, epoch: Instant) -> Result<Feed, String> {
        let resample = if rate == SAMPLE_RATE {
            None
        } else {
            let wrong = |e: &dyn std::fmt::Display| {
                format!("the speaker wants {rate} samples a second, which cannot be made: {e}")
            };
            let engine = Fft::<f32>::new(
                SAMPLE_RATE as usize,
                rate as usize,
                BLOCK,
                1,
                FixedSync::Input,
            )
            .map_err(|e| wrong(&e))?;
            let output = vec![0.0; engine.output_frames_max()];
            let delay = engine.output_delay() as f64 / f64::from(rate);
            Some(Resample {
                engine,
                input: vec![0.0; BLOCK],
                output,
                used: 0,
                valid: 0,
                delay,
            })
        };
        Ok(Feed {
            player,
            channels: usize::from(channels.max(1)),
            rate,
            line: Line::default(),
            epoch,
            resample,
            scratch: [0; BLOCK],
            used: 0,
            valid: 0,
        })
    }

    /// Fills the device's interleaved buffer; every channel gets the same sound. `delay`
    /// is how long after now the device says that the first frame sounds.
    pub fn fill<T: Copy>(&mut self, out: &mut [T], delay: Duration, sample: impl Fn(i16) -> T) {
        let frames = out.len() / self.channels;
        let length = frames as f64 / f64::from(self.rate);
        // A device that claims more than two seconds is wrong.
        let delay = delay.min(Duration::from_secs(2));
        let now = self.epoch.elapsed() + delay;
        let at = self.line.place(now.as_secs_f64(), length);
        for (i, frame) in out.chunks_mut(self.channels).enumerate() {
            let value = self.next(at + i as f64 / f64::from(self.rate));
            frame.fill(sample(value));
        }
    }

    /// The next sample at the device's rate, which sounds at `at`.
    fn next(&mut self, at: f64) -> i16 {
        let Some(r) = &mut self.resample else {
            if self.used >= self.valid {
                self.player.fill(&mut self.scratch, at);
                (self.used, self.valid) = (0, BLOCK);
            }
            let value = self.scratch.get(self.used).copied().unwrap_or(0);
            self.used += 1;
            return value;
        };
        while r.used >= r.valid {
            self.player.fill(&mut self.scratch, at + r.delay);
            for (to, from) in r.input.iter_mut().zip(&self.scratch) {
                *to = f32::from(*from) / 32_768.0;
            }
            let room = r.output.len();
            let made = match (
                InterleavedSlice::new(&r.input, 1, BLOCK),
                InterleavedSlice::new_mut(&mut r.output, 1, room),
            ) {
                (Ok(input), Ok(mut output)) => r
                    .engine
                    .process_into_buffer(&input, &mut output, None)
                    .map_or(0, |(_, made)| made),
                _ => 0,
            };
            if made == 0 {
                return 0;
            }
            (r.used, r.valid) = (0, made);
        }
        let value = r.output.get(r.used).copied().unwrap_or(0.0);
        r.used += 1;
        (value * 32_767.0).clamp(-32_768.0, 32_767.0) as i16
    }
}

/// When samples sound: counted, so that they follow one another without gaps, and
/// drawn slowly towards the clock, which callbacks meet with some jitter.
#[derive(Default)]
struct Line {
    next: Option<f64>,
}

impl Line {
    /// The time of a buffer of `length` seconds that the clock puts at `now`.
    fn place(&mut self, now: f64, length: f64) -> f64 {
        /// More than this is no jitter but a gap in the sound, seconds.
        const JUMP: f64 = 0.1;
        const PULL: f64 = 0.02;
        let at = match self.next {
            Some(next) if (now - next).abs() < JUMP => next + PULL * (now - next),
            // Never before what has been played.
            Some(next) => now.max(next),
            None => now,
        };
        self.next = Some(at + length);
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::voice::player::{Block, RING};
    use crossbeam_channel::bounded;
    use std::sync::Arc;
    use std::sync::atomic::AtomicU64;

    /// Feeds a 1 kHz tone through, returns what the device got, one channel.
    fn through(rate: u32, channels: u16, callback: usize) -> Vec<i16> {
        let (ring, from) = bounded(RING);
        let (marks, _m) = bounded(64);
        let live = Arc::new(AtomicU64::new(1));
        let player = Player::new(from, live, marks, Vec::new());
        let mut feed = Feed::new(player, rate, channels, Instant::now()).unwrap();
        let mut phase = 0u32;
        for i in 0..30 {
            let mut samples = [0i16; BLOCK];
            for s in &mut samples {
                *s = (10_000.0 * (std::f32::consts::TAU * phase as f32 / 16.0).sin()) as i16;
                phase += 1;
            }
            ring.send(Block {
                generation: 1,
                first: i == 0,
                last: i == 29,
                len: BLOCK as u16,
                samples,
            })
            .unwrap();
        }
        let mut got = Vec::new();
        let mut out = vec![0i16; callback * usize::from(channels)];
        while got.len() < rate as usize * 35 / 100 {
            feed.fill(&mut out, Duration::ZERO, |s| s);
            for frame in out.chunks(usize::from(channels)) {
                assert!(frame.iter().all(|s| *s == frame[0]));
                got.push(frame[0]);
            }
        }
        got
    }

    #[test]
    fn sixteen_kilohertz_passes_untouched() {
        let got = through(16_000, 1, 213);
        for (i, s) in got[..4800].iter().enumerate() {
            let want = (10_000.0 * (std::f32::consts::TAU * i as f32 / 16.0).sin()) as i16;
            assert!(s.abs_diff(want) <= 30, "{i}: {s} {want}");
        }
        assert!(got[4800..].iter().all(|s| *s == 0));
    }

    #[test]
    fn other_rates_keep_pitch_level_and_length() {
        for (rate, channels) in [
            (48_000, 2),
            (44_100, 2),
            (22_050, 1),
            (8_000, 1),
            (96_000, 6),
        ] {
            let got = through(rate, channels, 480);
            // The middle, past the filter's delay.
            let middle = &got[rate as usize / 10..rate as usize / 4];
            let crossings = middle.windows(2).filter(|w| w[0] < 0 && w[1] >= 0).count() as f64;
            let hertz = crossings / (middle.len() as f64 / f64::from(rate));
            assert!((hertz - 1000.0).abs() < 10.0, "{rate}: {hertz} Hz");
            let power =
                middle.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / middle.len() as f64;
            let level = power.sqrt() * std::f64::consts::SQRT_2;
            assert!((level - 10_000.0).abs() < 300.0, "{rate}: {level}");
        }
    }

    #[test]
    fn the_line_has_no_gaps_under_jitter_and_follows_the_clock() {
        let mut line = Line::default();
        let mut at = 0.0f64;
        let mut seen = Vec::new();
        for i in 0..2000 {
            // A clock 50 ppm fast, callbacks early or late by up to 10 ms.
            let jitter = f64::from((i * 7919) % 21 - 10) / 1000.0;
            seen.push(line.place(at * 1.000_05 + jitter, 0.04));
            at += 0.04;
        }
        for pair in seen.windows(2) {
            assert!((pair[1] - pair[0] - 0.04).abs() < 0.000_5);
        }
        assert!((seen[1999] - 1999.0 * 0.04 * 1.000_05).abs() < 0.01);
        // A second of standstill is a jump, never backwards.
        let after = line.place(at + 1.0, 0.04);
        assert!((after - at - 1.0).abs() < 1e-9);
        assert!(line.place(0.0, 0.04) >= after);
    }
}
