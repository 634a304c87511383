//! What is heard again by the second pass, and what it knows of others who talk.

use std::ops::Range;
use std::time::{Duration, Instant};

use super::{FRAME, HobListener};
use crate::ear::EarEvent;
use crate::ear::hob::utterance::Utterance;
use crate::ear::net::{Frame, SECOND_HOP};

/// So many frames with phones, where the second pass knows of nobody near, are talk of others.
const OTHERS: usize = 4;
/// Frames of silence that do not count towards the wait for more when others talk into it:
/// the second pass then misses the end of speech by up to a quarter of a second.
const MISSED: u64 = 4;
/// Samples before and after the speech of who is near that are heard with it when others talk.
const AROUND: (usize, usize) = (4_800, 3_840);

/// An utterance as the second pass heard it.
pub(super) struct Review {
    pub utterance: Utterance,
    /// Others talk too; without them, then.
    pub others: bool,
    /// The samples that were heard.
    pub heard: Range<u64>,
    /// Samples taken then.
    pub at: u64,
    pub took: Duration,
}

impl HobListener {
    /// The second pass hears what was said so far. It is asked as soon as the cook seems
    /// to have ended, so that its answer is there when the wait for more is over.
    pub(super) fn review(&mut self, on: &mut dyn FnMut(EarEvent)) {
        let Some(utterance) = &self.utterance else {
            return;
        };
        let began = Instant::now();
        match self.second.hear(&self.stream.sound_from(self.began)) {
            Ok(frames) => {
                let again = utterance.heard_as(frames, SECOND_HOP);
                let others = utterance.of_others(&again, 0) >= OTHERS;
                let near = again.near().filter(|_| others);
                let ended = near.as_ref().map(|near| near.end);
                let over = ended.filter(|&at| utterance.of_others(&again, at) >= OTHERS);
                let utterance = match near {
                    Some(near) => again.only_within(&near),
                    None => again,
                };
                self.review = Some(Review {
                    utterance,
                    others,
                    heard: self.began..self.stream.taken(),
                    at: self.stream.taken(),
                    took: began.elapsed(),
                });
                self.heed(over);
            }
            Err(why) => on(EarEvent::Advice(format!(
                "the second network failed: {why}"
            ))),
        }
    }

    /// Others talk on after the end of who is near, a sample of the utterance: to the cook
    /// that is a pause.
    fn heed(&mut self, over: Option<usize>) {
        match over {
            Some(end) => {
                let until = self.began + end as u64;
                let pause = self.stream.heard_up_to().saturating_sub(until) / FRAME;
                let pause = pause.saturating_sub(MISSED) as u32;
                if pause > self.ends.silent() {
                    self.elsewhere = true;
                    self.ends.silence(pause);
                    self.to = until;
                }
            }
            None if self.elsewhere => {
                self.elsewhere = false;
                self.ends.silence(0);
            }
            None => {}
        }
    }

    /// Whether all that was said was said by others.
    pub(super) fn nobody(&self) -> bool {
        let heard = self.review.as_ref();
        heard.is_some_and(|r| r.others && r.utterance.near().is_none())
    }

    /// Where others talk, the second pass hears who is near once more, and that alone.
    pub(super) fn hear_alone(&mut self, on: &mut dyn FnMut(EarEvent)) {
        let Some((utterance, review)) = self.utterance.as_ref().zip(self.review.as_ref()) else {
            return;
        };
        let Some(near) = review.utterance.near().filter(|_| review.others) else {
            return;
        };
        let sound = self.stream.sound_from(self.began);
        let from = near.start.saturating_sub(AROUND.0) / SECOND_HOP;
        let to = (near.end + AROUND.1).min(sound.len()) / SECOND_HOP;
        let alone = sound.get(from * SECOND_HOP..to * SECOND_HOP);
        match self.second.hear(alone.unwrap_or_default()) {
            Ok(heard) => {
                let classes = heard.first().map_or(0, |f| f.logp.len());
                let before = std::iter::repeat_n(Frame::silence(classes), from);
                let again = utterance.heard_as(before.chain(heard).collect(), SECOND_HOP);
                let only = utterance.only_within(&(from * SECOND_HOP..to * SECOND_HOP));
                self.utterance = Some(only);
                if let Some(review) = &mut self.review {
                    review.utterance = again;
                    let sample = |answer: usize| self.began + (answer * SECOND_HOP) as u64;
                    review.heard = sample(from)..sample(to);
                }
                self.from = self.began + near.start as u64;
            }
            Err(why) => on(EarEvent::Advice(format!(
                "the second network failed: {why}"
            ))),
        }
    }
}
