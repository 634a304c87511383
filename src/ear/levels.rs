//! Watches the sound itself: too loud, dead, or drowned in noise.

use super::gate::Levels;
use super::source::RATE;
use super::{EarEvent, Heard};

/// The same advice is not given again within this many samples.
const APART: u64 = 120 * RATE as u64;
/// Exact zeros for this long come from a muted input: every real one has some noise.
const DEAD_AFTER: u64 = 20 * RATE as u64;
/// Clipped samples out of a second that make speech hard to recognise.
const CLIPPED_A_SECOND: u32 = 160;

#[derive(Debug, Default)]
pub struct LevelWatch {
    taken: u64,
    zeros: u64,
    clipped: u32,
    second: u64,
    last: [Option<u64>; 3],
    unheard_in_noise: u32,
}

#[derive(Clone, Copy)]
enum Kind {
    Clipping,
    Dead,
    Noise,
}

impl LevelWatch {
    pub fn feed(&mut self, samples: &[i16], on: &mut dyn FnMut(EarEvent)) {
        for &x in samples {
            self.zeros = if x == 0 { self.zeros + 1 } else { 0 };
            if x == i16::MAX || x <= -i16::MAX {
                self.clipped += 1;
            }
        }
        self.taken += samples.len() as u64;
        if self.zeros > DEAD_AFTER {
            self.advise(
                Kind::Dead,
                "the microphone gives nothing but silence; is it muted?",
                on,
            );
        }
        if self.taken - self.second >= u64::from(RATE) {
            if self.clipped > CLIPPED_A_SECOND {
                self.advise(
                    Kind::Clipping,
                    "the sound is clipping; turn the microphone down or move it away",
                    on,
                );
            }
            self.clipped = 0;
            self.second = self.taken;
        }
    }

    /// Two utterances in a row that were not understood and hardly rose above the noise.
    pub fn utterance(&mut self, levels: Levels, heard: &Heard, on: &mut dyn FnMut(EarEvent)) {
        if heard.words.is_empty() && levels.speech - levels.noise < 9.0 {
            self.unheard_in_noise += 1;
        } else {
            self.unheard_in_noise = 0;
        }
        if self.unheard_in_noise >= 2 {
            self.unheard_in_noise = 0;
            self.advise(
                Kind::Noise,
                "I hear mostly noise; come closer or say it again",
                on,
            );
        }
    }

    fn advise(&mut self, kind: Kind, text: &str, on: &mut dyn FnMut(EarEvent)) {
        let Some(last) = self.last.get_mut(kind as usize) else {
            return;
        };
        if last.is_none_or(|at| self.taken - at >= APART) {
            *last = Some(self.taken);
            on(EarEvent::Advice(text.to_owned()));
        }
    }
}
