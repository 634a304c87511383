//! The third opinion, asked while the listener still waits for more: it takes about as long.

use std::cell::RefCell;
use std::ops::Range;
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use super::{HobListener, RATE};
use crate::ear::net::{ThirdOpinion, Told};

/// Frames before the end of the wait in which it is asked: at once, unless words are missing.
const BEFORE_THE_END: u32 = 8;

type Answer = (Result<Vec<Told>, String>, Duration);

/// A question that another thread is at work on.
pub(super) struct Asked {
    sentences: Vec<String>,
    /// Samples taken then.
    at: u64,
    thread: JoinHandle<Answer>,
}

impl Asked {
    fn new(third: &ThirdOpinion, sound: Vec<i16>, sentences: Vec<String>, at: u64) -> Self {
        let (third, these) = (third.clone(), sentences.clone());
        let thread = thread::spawn(move || {
            let began = Instant::now();
            let these: Vec<&str> = these.iter().map(String::as_str).collect();
            (third.of(&sound, &these), began.elapsed())
        });
        Self {
            sentences,
            at,
            thread,
        }
    }

    fn covers(&self, sentences: &[&str]) -> bool {
        (sentences.iter()).all(|s| self.sentences.iter().any(|asked| asked == s))
    }
}

/// What the decision is given of it.
#[derive(Default)]
pub(super) struct Early {
    asked: RefCell<Option<Asked>>,
    waited: RefCell<(Duration, Duration)>,
}

impl Early {
    pub fn new(asked: Option<Asked>) -> Self {
        Self {
            asked: RefCell::new(asked),
            waited: RefCell::default(),
        }
    }

    /// The answer, if these sentences were asked about; `taken`: samples by now.
    pub fn answer(&self, sentences: &[&str], taken: u64) -> Option<Vec<Told>> {
        let asked = self.asked.borrow_mut().take();
        let asked = asked.filter(|a| a.covers(sentences))?;
        let began = Instant::now();
        let (told, took) = asked.thread.join().ok()?;
        let told = told.ok()?;
        let meanwhile = Duration::from_secs_f64(taken.saturating_sub(asked.at) as f64 / RATE);
        *self.waited.borrow_mut() = (began.elapsed(), took.saturating_sub(meanwhile));
        let of = |s: &&str| {
            let n = asked.sentences.iter().position(|asked| asked == s);
            n.and_then(|n| told.get(n).copied())
        };
        sentences.iter().map(of).collect()
    }

    /// How long the answer was waited for here, and how long it would have been had the
    /// sound come no faster than it was spoken.
    pub fn waited(&self) -> (Duration, Duration) {
        *self.waited.borrow()
    }
}

impl HobListener {
    /// Asks when the utterance is about to end as it stands, unless the same was asked.
    pub(super) fn ask_early(&mut self) {
        let Some((utterance, review)) = self.utterance.as_ref().zip(self.review.as_ref()) else {
            return;
        };
        if review.others || !self.ends.over_within(BEFORE_THE_END) {
            return;
        }
        let question = RefCell::new(None);
        let note = |sentences: &[&str]| {
            if !self.asked.as_ref().is_some_and(|a| a.covers(sentences)) {
                let sentences: Vec<String> = sentences.iter().map(|&s| s.to_owned()).collect();
                *question.borrow_mut() = Some(sentences);
            }
            None
        };
        utterance.understand(&review.utterance, &self.weights, &note);
        if let Some(sentences) = question.take() {
            let sound = self.sound_of(&review.heard);
            let asked = Asked::new(&self.third, sound, sentences, self.stream.taken());
            self.asked = Some(asked);
        }
    }

    /// The sound of these samples.
    pub(super) fn sound_of(&self, heard: &Range<u64>) -> Vec<i16> {
        let mut sound = self.stream.sound_from(heard.start);
        let since = self.stream.taken().saturating_sub(heard.end);
        sound.truncate(sound.len().saturating_sub(since as usize));
        sound
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::hob::english;

    #[test]
    fn what_was_asked_early_is_answered_for_some_of_it_in_any_order_and_once() {
        let third = english().unwrap().third;
        let sound: Vec<i16> = (0..16_000).map(|n| (n % 89 * 40) as i16).collect();
        let sentences = ["next", "done", "undo that"].map(str::to_owned).to_vec();
        let early = |at| {
            Early::new(Some(Asked::new(
                &third,
                sound.clone(),
                sentences.clone(),
                at,
            )))
        };
        let these = ["undo that", "next"];
        let asked = early(0);
        // Ten seconds of sound have come since, which is longer than it takes.
        let told = asked.answer(&these, 160_000).unwrap();
        let alone = third.of(&sound, &these).unwrap();
        assert_eq!(told.len(), alone.len());
        for (told, alone) in told.iter().zip(alone) {
            assert!(
                (told.heard - alone.heard).abs() < 1e-3,
                "{told:?} {alone:?}"
            );
            assert!(
                (told.expected - alone.expected).abs() < 1e-3,
                "{told:?} {alone:?}"
            );
        }
        assert_eq!(asked.waited().1, Duration::ZERO);
        assert_eq!(asked.answer(&these, 160_000), None);
        let late = early(500);
        late.answer(&these, 500).unwrap();
        assert!(late.waited().1 > Duration::ZERO);
        assert_eq!(early(0).answer(&["flipped"], 0), None);
    }
}
