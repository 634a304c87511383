//! Is somebody speaking? One answer every 16 ms.

/// Samples a frame: what the detector takes.
pub const FRAME: usize = 256;

/// Seconds a frame at 16 kHz.
pub const FRAME_S: f64 = FRAME as f64 / 16_000.0;

/// Gives each frame of 256 samples at 16 kHz a score: 0 surely not, 1 surely speech.
///
/// The default is a small network (`earshot`); a recogniser that scores speech itself
/// can stand in.
pub trait SpeechDetector: Send {
    fn score(&mut self, frame: &[i16; FRAME]) -> f32;
    fn reset(&mut self);
}

/// The default detector.
#[derive(Default)]
pub struct Earshot(Box<earshot::Detector>);

impl SpeechDetector for Earshot {
    fn score(&mut self, frame: &[i16; FRAME]) -> f32 {
        self.0.predict_i16(frame)
    }

    fn reset(&mut self) {
        self.0.reset();
    }
}

/// What one frame was like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Activity {
    /// The detector's score, 0 to 1.
    pub score: f32,
    /// Level, dB below full scale (0 is the loudest there is, silence -100).
    pub level: f32,
    /// The room's noise as tracked so far, same unit.
    pub floor: f32,
}

impl Activity {
    /// Speech is under way once it is, until both say no: hence the two thresholds.
    pub fn is_speech(&self, under_way: bool) -> bool {
        let (score, above) = if under_way { (0.35, 3.0) } else { (0.5, 5.0) };
        self.score >= score && self.level >= self.floor + above && self.level >= AUDIBLE
    }
}

/// Nothing quieter is taken for speech: a whisper across a room is near -60 dB, the
/// self-noise of a plain 16-bit input near -80 dB. Common practice, no source.
const AUDIBLE: f32 = -66.0;

/// Follows the level's minimum over the last two seconds (minimum statistics after
/// R. Martin, IEEE Trans. Speech Audio Proc. 9 (2001) 504, in its plainest form):
/// between words even fast speech falls to the noise for a moment.
#[derive(Debug)]
pub struct NoiseFloor {
    /// Frames in a quarter of a second.
    window: u32,
    smooth: Option<f32>,
    /// Minimum of each finished quarter of a second, newest last.
    minima: std::collections::VecDeque<f32>,
    now: f32,
    frames: u32,
}

const WINDOWS: usize = 8;
/// The minimum of a fluctuating level lies below its mean by about this much.
const BIAS: f32 = 2.0;
const UNKNOWN: f32 = -70.0;

impl NoiseFloor {
    /// For frames of this many samples at 16 kHz.
    pub fn of_frames(samples: usize) -> Self {
        Self {
            window: 4_000_usize.div_ceil(samples.max(1)) as u32,
            smooth: None,
            minima: std::collections::VecDeque::with_capacity(WINDOWS + 1),
            now: 0.0,
            frames: 0,
        }
    }

    /// Takes a frame's level in dB, answers the floor in dB.
    pub fn push(&mut self, level: f32) -> f32 {
        let smooth = self.smooth.map_or(level, |s| 0.7 * s + 0.3 * level);
        self.smooth = Some(smooth);
        self.now = if self.frames == 0 {
            smooth
        } else {
            self.now.min(smooth)
        };
        self.frames += 1;
        if self.frames == self.window {
            self.minima.push_back(self.now);
            if self.minima.len() > WINDOWS {
                self.minima.pop_front();
            }
            self.frames = 0;
        }
        // A stream may begin in the middle of a word: until half a second has been
        // heard its level says nothing about the noise.
        if self.minima.len() < 2 {
            return UNKNOWN;
        }
        let low = self
            .minima
            .iter()
            .copied()
            .fold(self.now.max(smooth), f32::min);
        low + BIAS
    }
}

/// Scores frames and follows the noise.
pub struct ActivityMeter {
    detector: Box<dyn SpeechDetector>,
    floor: NoiseFloor,
}

impl ActivityMeter {
    pub fn new(detector: Box<dyn SpeechDetector>) -> Self {
        Self {
            detector,
            floor: NoiseFloor::of_frames(FRAME),
        }
    }

    pub fn push(&mut self, frame: &[i16; FRAME]) -> Activity {
        let level = level(frame);
        Activity {
            score: self.detector.score(frame),
            level,
            floor: self.floor.push(level),
        }
    }

    /// Forgets the past: another stream follows.
    pub fn reset(&mut self) {
        self.detector.reset();
        self.floor = NoiseFloor::of_frames(FRAME);
    }
}

/// Level of samples in dB of full scale, at least -100. The first difference stands
/// for the samples: rumble of a hood or a hand on the counter carries no speech.
pub fn level(samples: &[i16]) -> f32 {
    let power: f64 = samples
        .windows(2)
        .map(|w| match w {
            [a, b] => {
                let d = f64::from(*b) - 0.9 * f64::from(*a);
                d * d
            }
            _ => 0.0,
        })
        .sum::<f64>()
        / samples.len().max(1) as f64;
    (10.0 * (power / (32768.0 * 32768.0)).max(1e-10).log10()) as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Deterministic noise, uniform from -1 to 1 (a 64-bit linear congruential
    /// generator with Knuth's MMIX constants).
    fn noise(n: usize, amplitude: f32, seed: u64) -> Vec<i16> {
        let mut s = seed;
        (0..n)
            .map(|_| {
                s = s
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                (((s >> 33) as f32 / (1u64 << 30) as f32 - 1.0) * amplitude) as i16
            })
            .collect()
    }

    #[test]
    fn the_level_of_known_signals() {
        assert_eq!(level(&[0; 256]), -100.0);
        // A 1 kHz sine of amplitude A: power A²/2, and the difference filter's gain
        // there is |1 - 0.9 e^(-jw)|² = 1 + 0.81 - 1.8 cos(2π/16) = 0.1470.
        let sine: Vec<i16> = (0..16_000)
            .map(|n| (16_384.0 * (std::f64::consts::TAU * f64::from(n) / 16.0).sin()) as i16)
            .collect();
        let want = 10.0 * (0.25_f64 / 2.0 * 0.1470).log10();
        assert!(
            (f64::from(level(&sine)) - want).abs() < 0.05,
            "{}",
            level(&sine)
        );
    }

    #[test]
    fn the_floor_follows_the_noise_up_and_down_within_seconds() {
        let mut floor = NoiseFloor::of_frames(FRAME);
        let first = floor.push(level(&noise(FRAME, 100.0, 7)));
        assert_eq!(first, UNKNOWN, "an unknown room is taken to be quiet");
        let mut run = |amplitude: f32, seconds: f64| {
            noise((seconds * 16_000.0) as usize, amplitude, 7)
                .chunks_exact(FRAME)
                .map(|frame| floor.push(level(frame)))
                .last()
                .unwrap()
        };
        let quiet = run(100.0, 3.0);
        let loud = run(3_000.0, 3.0);
        let quiet_again = run(100.0, 3.0);
        let truth = level(&noise(16_000, 100.0, 7));
        assert!((quiet - truth).abs() < 2.0, "{quiet} for {truth}");
        // 30 times the amplitude is 29.5 dB.
        assert!((loud - quiet - 29.5).abs() < 1.5, "{loud} after {quiet}");
        assert!((quiet_again - quiet).abs() < 1.0);
    }

    #[test]
    fn noise_and_silence_are_not_speech() {
        for amplitude in [0.0, 3.0, 300.0, 10_000.0] {
            let mut meter = ActivityMeter::new(Box::new(Earshot::default()));
            let spoken = noise(80_000, amplitude, 3)
                .as_chunks::<FRAME>()
                .0
                .iter()
                .filter(|f| meter.push(f).is_speech(false))
                .count();
            // Under 2 percent of 312.
            assert!(spoken <= 6, "{spoken} of 312 frames at {amplitude}");
        }
    }
}
