//! What was played, laid on the microphone's time line.

use std::collections::VecDeque;

use super::clock::{LOOKED, Late, MOST as LATE};
use super::stretch::{self, REACH};

/// Pieces that follow within this many samples of each other follow at once: the times
/// that a device tells jitter, the sound does not.
const JITTER: i64 = 480;
/// The microphone's line is set right when it has left the clock's by this much. One
/// part in ten thousand between two crystals is 6 ms a minute.
const SLIP: i64 = 640;
/// No more than this is kept, 20 s.
const MOST: usize = 320_000;
/// So much is kept of what was taken: it may be read late, and again.
const KEPT: i64 = LATE as i64 + (REACH + LOOKED) as i64;

/// What is no louder is silence.
const SILENT: f32 = 30.0 / 32_768.0;

#[derive(Debug, Default)]
pub struct Far {
    /// Sample number on the clock's line of the first in `sound`.
    first: i64,
    sound: VecDeque<i16>,
    /// The next sample that the microphone is at.
    line: Option<i64>,
    /// Mean of how far the clock is ahead of `line`.
    ahead: f64,
}

impl Far {
    /// Lays `samples`, of which the first was played at sample number `at`.
    pub fn push(&mut self, at: i64, samples: &[i16]) {
        let end = self.first + self.sound.len() as i64;
        let gap = at - end;
        let all_taken = self.line.is_some_and(|line| end <= line);
        if self.sound.is_empty() || (all_taken && gap < 0) {
            self.sound.clear();
            self.first = at;
        } else if gap > JITTER || all_taken {
            let gap = usize::try_from(gap).unwrap_or(MOST).min(MOST);
            self.sound.extend(std::iter::repeat_n(0, gap));
        }
        self.sound.extend(samples);
        let surplus = self.sound.len().saturating_sub(MOST);
        self.sound.drain(..surplus);
        self.first += surplus as i64;
    }

    /// The microphone is about to be read from where the clock says `at`. It delivers in
    /// lumps; only what stays ahead is believed, and only while nothing sounds. Answers, if
    /// the line was set right, by how many samples it had been wrong while sound was
    /// delivered; what was lost on the way does not count.
    pub fn keep_up(&mut self, at: i64, silent: bool) -> Option<i64> {
        let Some(line) = self.line else {
            self.line = Some(at);
            return None;
        };
        self.ahead += 0.02 * ((at - line) as f64 - self.ahead);
        let lost = (at - line).abs() > 10 * SLIP;
        let left = silent && self.ahead.abs() > SLIP as f64;
        (left || lost).then(|| {
            self.line = Some(at);
            self.ahead = 0.0;
            if lost { 0 } else { at - line }
        })
    }

    /// The next samples, read late; answers whether there is any sound in them.
    pub fn take(&mut self, into: &mut [f32], late: Late) -> bool {
        let line = self.line.unwrap_or(0);
        self.line = Some(line + into.len() as i64);
        let behind = usize::try_from(line - KEPT - self.first).unwrap_or(0);
        let stale = behind.min(self.sound.len());
        self.sound.drain(..stale);
        self.first += stale as i64;
        self.read_again(into, late);
        into.iter().any(|x| x.abs() > SILENT)
    }

    /// The samples taken last.
    pub fn read_again(&self, into: &mut [f32], late: Late) {
        let from = self.line.unwrap_or(0) - into.len() as i64 - self.first;
        let from = from as f64 - late.by;
        let sample = |index: i64| {
            let sample = usize::try_from(index).ok().and_then(|i| self.sound.get(i));
            sample.map_or(0.0, |&s| f32::from(s) / 32_768.0)
        };
        for (n, to) in into.iter_mut().enumerate() {
            let n = n as f64;
            *to = stretch::read(from + n - late.slope * n, sample);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(far: &mut Far, n: usize) -> Vec<i32> {
        let mut into = vec![0.0; n];
        far.take(&mut into, Late::default());
        into.iter().map(|x| (x * 32_768.0) as i32).collect()
    }

    #[test]
    fn lies_where_it_was_played() {
        let mut far = Far::default();
        far.keep_up(1_000, true);
        far.push(1_003, &[100, 200]);
        assert_eq!(taken(&mut far, 8), [0, 0, 0, 100, 200, 0, 0, 0]);
        far.push(1_600, &[300]);
        let later = taken(&mut far, 600);
        assert_eq!(later.iter().position(|&s| s == 300), Some(592));
    }

    #[test]
    fn jitter_makes_no_hole() {
        let mut far = Far::default();
        far.keep_up(0, true);
        far.push(0, &[1_000; 160]);
        far.push(250, &[1_000; 160]);
        far.push(300, &[1_000; 160]);
        assert!(taken(&mut far, 480).iter().all(|&s| s == 1_000));
    }

    #[test]
    fn a_lost_second_of_microphone_is_made_up_for() {
        let mut far = Far::default();
        far.keep_up(0, true);
        taken(&mut far, 160);
        far.keep_up(16_000, false);
        far.push(16_010, &[500]);
        assert_eq!(taken(&mut far, 20)[10], 500);
    }

    /// As in one piece between two that are told apart: the second begins where it is told.
    #[test]
    fn what_follows_a_silence_lies_where_it_was_played() {
        let mut far = Far::default();
        far.keep_up(0, true);
        far.push(0, &[1_000; 160]);
        taken(&mut far, 200);
        far.push(300, &[2_000; 160]);
        let later = taken(&mut far, 200);
        assert_eq!(later.iter().position(|&s| s == 2_000), Some(100));
    }

    #[test]
    fn what_was_taken_is_read_again_later() {
        let mut far = Far::default();
        far.keep_up(0, true);
        let ramp: Vec<i16> = (0..400).map(|n| n * 10).collect();
        far.push(0, &ramp);
        taken(&mut far, 320);
        let mut into = [0.0; 160];
        let slope = 0.5;
        far.read_again(&mut into, Late { by: 4.0, slope });
        assert_eq!(into[0] * 32_768.0, 1_560.0);
        assert_eq!(into[100] * 32_768.0, 2_060.0);
    }

    #[test]
    fn what_comes_late_does_not_grow_for_ever() {
        let mut far = Far::default();
        for n in 0..10_000 {
            far.push(n * 160, &[1; 160]);
        }
        assert!(far.sound.len() <= MOST);
    }
}
