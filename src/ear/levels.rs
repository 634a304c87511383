//! Watches the sound itself: too loud, dead, or drowned in noise. What is said about it
//! is the voice's business.

use super::source::RATE;
use super::{EarEvent, Heard};

/// The same trouble is not told again within this many samples (three minutes).
const APART: u64 = 180 * RATE as u64;
/// Exact zeros for this long come from a muted input: every real one has some noise.
const DEAD_AFTER: u64 = 20 * RATE as u64;
/// Clipped samples out of a second that make speech hard to recognise.
const CLIPPED_A_SECOND: u32 = 160;
/// So many such seconds out of the last [`OF_SECONDS`]: one bang on the counter is not the
/// microphone's fault.
const LOUD_SECONDS: u32 = 3;
const OF_SECONDS: u64 = 10;
/// So many such utterances, none understood, within [`LATELY`]: the cook tries again and
/// again. One alone may be somebody who talks elsewhere.
const TRIES: usize = 2;
const LATELY: f64 = 45.0;

/// What is wrong with the sound, as a cook can mend it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// Somebody speaks, and the room's noise is nearly as loud.
    MostlyNoise,
    /// The loudest parts are cut off.
    Clipping,
    /// Nothing at all arrives: a muted microphone.
    Dead,
}

/// When a trouble was told last.
#[derive(Debug, Default)]
struct Told(Option<u64>);

impl Told {
    fn tell(&mut self, at: u64, trouble: Trouble, on: &mut dyn FnMut(EarEvent)) {
        if self.0.is_none_or(|last| at.saturating_sub(last) >= APART) {
            self.0 = Some(at);
            on(EarEvent::Sound(trouble));
        }
    }
}

/// Watches a microphone's samples as they come, before anything is taken out of them.
#[derive(Debug, Default)]
pub struct InputWatch {
    taken: u64,
    zeros: u64,
    dead: bool,
    clipped: u32,
    second: u64,
    loud_seconds: Vec<u64>,
    told_clipping: Told,
    told_dead: Told,
}

impl InputWatch {
    pub fn feed(&mut self, samples: &[i16], on: &mut dyn FnMut(EarEvent)) {
        for &x in samples {
            self.zeros = if x == 0 { self.zeros + 1 } else { 0 };
            if x == i16::MAX || x <= -i16::MAX {
                self.clipped += 1;
            }
        }
        self.taken += samples.len() as u64;
        // Once for each silence: an input that mutes itself is not nagged about.
        let dead = self.zeros > DEAD_AFTER;
        if dead && !self.dead {
            self.told_dead.tell(self.taken, Trouble::Dead, on);
        }
        self.dead = dead;
        if self.taken - self.second >= u64::from(RATE) {
            if self.clipped > CLIPPED_A_SECOND {
                self.loud_seconds.push(self.taken);
            }
            let now = self.taken;
            self.loud_seconds
                .retain(|at| now - at < OF_SECONDS * u64::from(RATE));
            if self.loud_seconds.len() as u32 >= LOUD_SECONDS {
                self.told_clipping.tell(now, Trouble::Clipping, on);
                self.loud_seconds.clear();
            }
            self.clipped = 0;
            self.second = now;
        }
    }
}

/// How loud an utterance was, and the room while it lasted; dB with one reference.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Levels {
    /// Mean of the frames with speech.
    pub speech: f32,
    pub noise: f32,
}

/// Below this confidence the kitchen takes a call for not understood, whatever its words.
const UNDERSTOOD: f32 = 0.25;

/// Watches what becomes of utterances in noise.
#[derive(Debug)]
pub struct NoiseWatch {
    /// Speech that rises less than this above the noise is hard to tell from it, dB.
    hardly_above: f32,
    /// When utterances ended, seconds of stream, that were not understood near the noise.
    unheard: Vec<f64>,
    told: Told,
}

impl NoiseWatch {
    pub fn below(hardly_above: f32) -> Self {
        Self {
            hardly_above,
            unheard: Vec::new(),
            told: Told::default(),
        }
    }

    /// `spoken`: it was speech, as far as can be told, and not a clink.
    pub fn utterance(
        &mut self,
        levels: Levels,
        spoken: bool,
        heard: &Heard,
        on: &mut dyn FnMut(EarEvent),
    ) {
        if !heard.words.is_empty() && heard.confidence >= UNDERSTOOD {
            self.unheard.clear();
            return;
        }
        if !spoken || levels.speech - levels.noise >= self.hardly_above {
            return;
        }
        self.unheard.retain(|at| heard.to - at < LATELY);
        self.unheard.push(heard.to);
        if self.unheard.len() >= TRIES {
            self.unheard.clear();
            let at = (heard.to.max(0.0) * f64::from(RATE)) as u64;
            self.told.tell(at, Trouble::MostlyNoise, on);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn watch(feed: impl Fn(&mut InputWatch, &mut dyn FnMut(EarEvent))) -> Vec<EarEvent> {
        let mut told = Vec::new();
        feed(&mut InputWatch::default(), &mut |e| told.push(e));
        told
    }

    /// A second of a loud square wave, `clipped` samples of it at the end of the scale.
    fn second(clipped: usize) -> Vec<i16> {
        let mut sound = vec![9_000; RATE as usize];
        sound[..clipped].fill(i16::MAX);
        sound
    }

    #[test]
    fn a_muted_microphone_is_told_once() {
        let told = watch(|w, on| {
            for _ in 0..600 {
                w.feed(&vec![0; RATE as usize], on);
            }
        });
        assert_eq!(told, [EarEvent::Sound(Trouble::Dead)]);
        // Every real input has some noise, and pauses in a stream are short.
        let told = watch(|w, on| {
            for _ in 0..60 {
                w.feed(&vec![0; 19 * RATE as usize], on);
                w.feed(&[1], on);
            }
        });
        assert_eq!(told, []);
    }

    #[test]
    fn lasting_clipping_is_told_and_then_not_for_three_minutes() {
        let told = watch(|w, on| {
            for _ in 0..170 {
                w.feed(&second(400), on);
            }
        });
        assert_eq!(told, [EarEvent::Sound(Trouble::Clipping)]);
        let told = watch(|w, on| {
            for _ in 0..200 {
                w.feed(&second(400), on);
            }
        });
        assert_eq!(told.len(), 2);
    }

    #[test]
    fn a_bang_and_a_loud_voice_are_no_clipping() {
        let told = watch(|w, on| {
            for n in 0..300 {
                w.feed(&second(if n % 20 == 0 { 4_000 } else { 100 }), on);
            }
        });
        assert_eq!(told, []);
    }

    fn near_noise() -> Levels {
        Levels {
            speech: -40.0,
            noise: -45.0,
        }
    }

    #[test]
    fn two_tries_that_drown_are_told_and_not_again_for_three_minutes() {
        let mut watch = NoiseWatch::below(9.0);
        let mut told = Vec::new();
        for n in 0..40 {
            let at = f64::from(n) * 5.0;
            let nothing = Heard::nothing(at, at + 1.0);
            watch.utterance(near_noise(), true, &nothing, &mut |e| told.push((at, e)));
        }
        let times: Vec<f64> = told.iter().map(|(at, _)| *at).collect();
        assert_eq!(times, [5.0, 185.0]);
        assert!(
            told.iter()
                .all(|(_, e)| *e == EarEvent::Sound(Trouble::MostlyNoise))
        );
    }

    #[test]
    fn talk_above_the_noise_clinks_and_single_tries_are_not_told() {
        let mut watch = NoiseWatch::below(9.0);
        let mut told = Vec::new();
        let mut hear = |at: f64, levels: Levels, spoken: bool, words: &str| {
            let mut heard = Heard::nothing(at, at + 1.0);
            heard.words = words.to_owned();
            heard.confidence = 0.9;
            watch.utterance(levels, spoken, &heard, &mut |e| told.push(e));
        };
        let clear = Levels {
            speech: -20.0,
            noise: -60.0,
        };
        for n in 0..20 {
            hear(f64::from(n) * 3.0, clear, true, "");
            hear(f64::from(n) * 3.0 + 1.0, near_noise(), false, "");
        }
        // Far apart, or with a call understood between them.
        for n in 0..20 {
            hear(100.0 + f64::from(n) * 46.0, near_noise(), true, "");
        }
        for n in 0..20 {
            hear(2_000.0 + f64::from(n) * 4.0, near_noise(), true, "");
            hear(2_002.0 + f64::from(n) * 4.0, near_noise(), true, "next");
        }
        assert_eq!(told, []);
    }
}
