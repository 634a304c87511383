//! What was played, laid on the microphone's time line.

use std::collections::VecDeque;

/// Pieces that follow within this many samples of each other follow at once: the times
/// that a device tells jitter, the sound does not.
const JITTER: i64 = 480;
/// The microphone's line is set right when it has left the clock's by this much. One
/// part in ten thousand between two crystals is 6 ms a minute.
const SLIP: i64 = 640;
/// No more than this is kept, 20 s.
const MOST: usize = 320_000;

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
        if self.sound.is_empty() {
            self.first = at;
        } else if gap > JITTER {
            let gap = usize::try_from(gap).unwrap_or(MOST).min(MOST);
            self.sound.extend(std::iter::repeat_n(0, gap));
        }
        self.sound.extend(samples);
        let surplus = self.sound.len().saturating_sub(MOST);
        self.sound.drain(..surplus);
        self.first += surplus as i64;
    }

    /// The microphone is about to be read from where the clock says `at`. It delivers in
    /// lumps; only what stays ahead is believed, and only while nothing sounds.
    pub fn keep_up(&mut self, at: i64, silent: bool) {
        let Some(line) = self.line else {
            self.line = Some(at);
            return;
        };
        self.ahead += 0.02 * ((at - line) as f64 - self.ahead);
        let lost = (at - line).abs() > 10 * SLIP;
        if (silent && self.ahead.abs() > SLIP as f64) || lost {
            self.line = Some(at);
            self.ahead = 0.0;
        }
    }

    /// The next samples; answers whether there is any sound in them.
    pub fn take(&mut self, into: &mut [f32]) -> bool {
        let line = self.line.unwrap_or(0);
        self.line = Some(line + into.len() as i64);
        let behind = usize::try_from(line - self.first).unwrap_or(0);
        let stale = behind.min(self.sound.len());
        self.sound.drain(..stale);
        self.first += stale as i64;
        let mut any = false;
        for (n, to) in into.iter_mut().enumerate() {
            let index = line + n as i64 - self.first;
            let sample = usize::try_from(index).ok().and_then(|i| self.sound.get(i));
            *to = sample.map_or(0.0, |&s| f32::from(s) / 32_768.0);
            any |= sample.is_some_and(|&s| s.unsigned_abs() > 30);
        }
        any
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(far: &mut Far, n: usize) -> Vec<i32> {
        let mut into = vec![0.0; n];
        far.take(&mut into);
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

    #[test]
    fn what_comes_late_does_not_grow_for_ever() {
        let mut far = Far::default();
        for n in 0..10_000 {
            far.push(n * 160, &[1; 160]);
        }
        assert!(far.sound.len() <= MOST);
    }
}
