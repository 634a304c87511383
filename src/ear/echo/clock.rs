//! The clock that plays held against the one that records.
//!
//! Two sound devices, or a sound server between two of its own, run apart by some parts in
//! ten thousand, and an echo that comes a sample later every half second is learnt anew all
//! the time. Where the echo is in what the canceller was given tells how far they are
//! apart; a Kalman filter holds the offset and the drift, and what was played is read so
//! much later that the echo stays in its place.

use std::collections::VecDeque;

use super::BLOCK;
use super::far::Far;
use super::lag::{Finder, WINDOW};

/// Blocks between two looks, a quarter of a second.
const LOOK: u32 = 25;
/// So many blocks of a window sound at least.
const SOUNDING: usize = 50;
/// Blocks of a window, rounded up, and their samples.
const BLOCKS: usize = WINDOW.div_ceil(BLOCK);
pub const LOOKED: usize = BLOCKS * BLOCK;

/// Variance of a lag that was found, samples squared. Between the recordings of five sessions
/// through a sound server one scatters by 0.05 to 0.1 samples; but looks overlap by three
/// quarters and tell the less, and a cook who speaks makes it more.
const FOUND: f64 = 0.02;
/// The drift of two clocks that nothing is known of yet, samples a second: 100 ppm.
const DRIFT: f64 = 1.6;
/// No faster than 500 ppm.
const FASTEST: f64 = 8.0;
/// How the drift changes by itself, (samples a second)² a second: a sound server sets it
/// anew every few seconds (0 to 180 ppm within 30 s, in the same sessions).
const TURNS: f64 = 0.01;
/// How the offset does, samples squared a second.
const WANDERS: f64 = 0.01;
/// How much a reply's told time is off from that of the one before, samples: 0 to 5 in those
/// sessions, but for their first two replies, between which it is up to 120.
const TOLD: f64 = 6.0;
/// Blocks of silence before a new stream.
const PAUSE: u32 = 10;
/// A drift of less than 10 ppm is left to the canceller.
const LEFT: f64 = 0.16;
/// An offset of less than this as well, samples.
const NEAR: f64 = 0.25;
/// Two looks that find the echo elsewhere agree within so many samples.
const SAME: f64 = 2.0;
/// So many standard deviations are certain.
const CERTAIN: f64 = 2.5;
/// The most that what was played is read late or early, samples.
pub const MOST: f64 = 1_500.0;

pub struct Clock {
    finder: Finder,
    /// What was recorded last, and for each block of it whether what was played sounds.
    near: VecDeque<f32>,
    sounds: VecDeque<bool>,
    far: Vec<f32>,
    silent: u32,
    until_look: u32,
    /// Where the echo is to stay, samples after what was played; nothing yet.
    anchor: Option<f64>,
    drifts: Drift,
    /// How far from what was expected an echo was found that is not believed yet.
    elsewhere: Option<f64>,
    /// What was played is to be read so late next.
    late: Late,
}

/// So many samples late, and so many more with every sample.
#[derive(Debug, Clone, Copy, Default)]
pub struct Late {
    pub by: f64,
    pub slope: f64,
}

impl Default for Clock {
    fn default() -> Self {
        Self {
            finder: Finder::default(),
            near: VecDeque::new(),
            sounds: VecDeque::new(),
            far: vec![0.0; LOOKED],
            silent: PAUSE,
            until_look: LOOK,
            anchor: None,
            drifts: Drift::default(),
            elsewhere: None,
            late: Late::default(),
        }
    }
}

impl Clock {
    /// How late what was played is to be read now.
    pub fn late(&self) -> Late {
        self.late
    }

    /// What was played is laid `by` samples later on the microphone's line from now on,
    /// which does not sound later for that.
    pub fn moved(&mut self, by: i64) {
        let by = by as f64;
        self.near.clear();
        self.sounds.clear();
        if self.anchor.is_some() && (self.late.by + by).abs() <= MOST {
            self.drifts.offset += by;
            self.late.by += by;
        }
    }

    /// Nothing was given to the canceller for a block: what follows does not join on.
    pub fn rests(&mut self) {
        self.near.clear();
        self.sounds.clear();
        self.silent = PAUSE;
        self.step();
    }

    /// What was recorded, and whether what was taken last from `far`, for it, sounds.
    pub fn take(&mut self, near: &[f32; BLOCK], sounds: bool, far: &Far) {
        if sounds && self.silent >= PAUSE {
            // What sounded before may lie elsewhere.
            self.sounds.iter_mut().for_each(|s| *s = false);
            self.drifts.unsure += TOLD * TOLD;
        }
        self.silent = if sounds {
            0
        } else {
            self.silent.saturating_add(1)
        };
        self.near.extend(near);
        self.sounds.push_back(sounds);
        while self.sounds.len() > BLOCKS {
            self.sounds.pop_front();
            self.near.drain(..BLOCK);
        }
        self.step();
        self.until_look = self.until_look.saturating_sub(1);
        if self.until_look == 0 {
            self.until_look = LOOK;
            self.look(far);
        }
    }

    /// A block passes.
    fn step(&mut self) {
        if self.anchor.is_none() {
            return;
        }
        self.drifts.pass(BLOCK as f64 / RATE);
        self.late.by += self.late.slope * BLOCK as f64;
        if self.late.by.abs() > MOST {
            // What is kept does not reach so far: the canceller begins anew, and so does this.
            self.anchor = None;
            self.drifts = Drift::default();
            self.elsewhere = None;
            self.late = Late::default();
        }
    }

    fn look(&mut self, far: &Far) {
        let sounding = self.sounds.iter().filter(|&&s| s).count();
        let Some(begun) = self.sounds.iter().position(|&s| s) else {
            return;
        };
        if self.sounds.len() < BLOCKS || sounding < SOUNDING {
            return;
        }
        let ages = (self.sounds.iter().rev().enumerate()).filter(|(_, sounds)| **sounds);
        let mean = ages.map(|(n, _)| n).sum::<usize>() as f64 / sounding as f64;
        let age = (mean + 0.5) * BLOCK as f64 / RATE;
        // As it would have been read, had all been known that is known now: a window in which
        // the echo moves by samples has a blunt peak.
        let slope = self.drifts.drift / RATE;
        let by = self.drifts.offset - slope * LOOKED as f64;
        far.read_again(&mut self.far, Late { by, slope });
        self.far
            .iter_mut()
            .take(begun * BLOCK)
            .for_each(|x| *x = 0.0);
        let near = self.near.make_contiguous();
        let Some(lag) = self.finder.find(near, &self.far) else {
            return;
        };
        let off = lag - *self.anchor.get_or_insert(lag);
        let expected = CERTAIN * (self.drifts.unsure + FOUND).sqrt() + 1.0;
        if off.abs() <= expected {
            self.elsewhere = None;
            self.drifts.found(off, age);
            self.follow();
        } else if self.elsewhere.is_some_and(|e| (e - off).abs() < SAME) {
            self.elsewhere = None;
            self.drifts.jumped(off);
            self.follow();
        } else {
            self.elsewhere = Some(off);
        }
    }

    /// Reads what was played as late as is known for certain.
    fn follow(&mut self) {
        let Drift { offset, drift, .. } = self.drifts;
        let certain = CERTAIN * self.drifts.drift_unsure.sqrt();
        let moves = drift.abs() > certain.max(LEFT);
        self.late.slope = if moves { drift / RATE } else { 0.0 };
        if moves || (offset - self.late.by).abs() > NEAR + CERTAIN * self.drifts.unsure.sqrt() {
            self.late.by = offset;
        }
    }
}

/// Samples a second.
const RATE: f64 = super::RATE as f64;

/// How far two clocks are apart, in samples, and by how much more each second.
#[derive(Debug)]
struct Drift {
    offset: f64,
    drift: f64,
    /// Variances of both, and their covariance.
    unsure: f64,
    drift_unsure: f64,
    both: f64,
}

impl Default for Drift {
    fn default() -> Self {
        Self {
            offset: 0.0,
            drift: 0.0,
            unsure: FOUND,
            drift_unsure: DRIFT * DRIFT,
            both: 0.0,
        }
    }
}

impl Drift {
    /// `s` seconds pass.
    fn pass(&mut self, s: f64) {
        self.offset += self.drift * s;
        self.unsure += s * (2.0 * self.both + s * self.drift_unsure + WANDERS);
        self.both += s * self.drift_unsure;
        self.drift_unsure += s * TURNS;
    }

    /// The offset was `off` from what was expected, `age` seconds ago.
    fn found(&mut self, off: f64, age: f64) {
        let with_offset = self.unsure - age * self.both;
        let with_drift = self.both - age * self.drift_unsure;
        let total = with_offset - age * with_drift + FOUND;
        let (gain, drift_gain) = (with_offset / total, with_drift / total);
        self.offset += gain * off;
        self.drift = (self.drift + drift_gain * off).clamp(-FASTEST, FASTEST);
        self.unsure -= gain * with_offset;
        self.drift_unsure -= drift_gain * with_drift;
        self.both -= gain * with_drift;
    }

    /// The offset is another by `off`, and the drift what it was.
    fn jumped(&mut self, off: f64) {
        self.offset += off;
        self.unsure = 4.0 * FOUND;
        self.both = 0.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drift_is_known_after_five_seconds_and_through_a_silence() {
        let (at_first, drift) = (3.0, 2.0);
        let mut drifts = Drift::default();
        let mut now = 0.0;
        let mut pass = |drifts: &mut Drift, s: f64| {
            for _ in 0..(s * 100.0) as usize {
                drifts.pass(0.01);
                now += 0.01;
            }
            at_first + drift * now
        };
        for _ in 0..20 {
            let truly = pass(&mut drifts, 0.25);
            let age = 0.5;
            let off = (truly - age * drift) - (drifts.offset - age * drifts.drift);
            drifts.found(off, age);
        }
        assert!((drifts.drift - drift).abs() < 0.1, "{drifts:?}");
        let truly = pass(&mut drifts, 20.0);
        assert!((drifts.offset - truly).abs() < 2.0, "{drifts:?} {truly}");
        let before = drifts.drift;
        drifts.jumped(-40.0);
        drifts.found(0.1, 0.5);
        assert!((drifts.drift - before).abs() < 0.2, "{drifts:?}");
    }

    /// The line is set right by more than the canceller would follow at once.
    #[test]
    fn where_the_line_is_set_right_the_echo_stays() {
        let mut clock = Clock::default();
        clock.moved(640);
        assert_eq!(clock.late().by, 0.0);
        clock.anchor = Some(800.0);
        clock.moved(640);
        assert_eq!(clock.late().by, 640.0);
        // What is kept does not reach so far.
        clock.moved(1_000);
        assert_eq!(clock.late().by, 640.0);
    }
}
