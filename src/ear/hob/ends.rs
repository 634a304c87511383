//! Where utterances begin and end: the network's own ear for speech, and the grammar's
//! knowledge of what may still come.

use crate::ear::net::Frame;
use crate::ear::search::Standing;

/// How long a pause ends an utterance, in frames of 30 ms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waits {
    /// The words are a whole sentence and nothing longer is possible.
    pub complete: u32,
    /// They are a whole sentence that may go on in one or two ways…
    pub seldom: u32,
    /// …in several…
    pub open: u32,
    /// …in so many that to stop here is the exception ("reading one …").
    pub often: u32,
    /// They are a whole sentence, and something unfinished is about as likely.
    pub doubtful: u32,
    /// They want more.
    pub unfinished: u32,
    /// Nobody calls for longer than this; what goes on is talk.
    pub longest: u32,
}

impl Default for Waits {
    fn default() -> Self {
        // Stops close the mouth for up to 150 ms inside a word; people pause for up to
        // half a second inside "two forty … eight". Common practice, no source.
        Self {
            complete: 3,
            seldom: 5,
            open: 7,
            often: 8,
            doubtful: 8,
            unfinished: 23,
            longest: 360,
        }
    }
}

/// What a frame changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    Idle,
    /// Speech began; the last so many frames, this one included, belong to it.
    Began(usize),
    On,
    /// It has ended with this frame.
    Ended,
}

/// Frames from before the first frame of speech that still belong to it.
pub const BEFORE: usize = 10;
/// So many of the last [`OF`] frames of speech make a beginning.
const ONSET: usize = 2;
const OF: usize = 4;
/// Probability of speech to begin, and to go on.
const BEGIN: f32 = 0.5;
const GO_ON: f32 = 0.4;
/// A phone this likely is speech, whatever the level says.
const PHONE: f32 = 0.7;
/// This many frames without a phone end an utterance even in babble.
const PHONELESS: u32 = 30;
/// Natural logarithm by which a whole sentence must lead what is unfinished…
const LEAD: f32 = 1.0;
/// …and by which it may lie behind it and still be what was meant.
const BEHIND: f32 = 3.0;

#[derive(Debug, Default)]
pub struct Ends {
    waits: Waits,
    recent: [bool; OF],
    under_way: Option<UnderWay>,
}

#[derive(Debug, Clone, Copy)]
struct UnderWay {
    frames: u32,
    silent: u32,
    /// So long a silence ends it, as the words stand.
    wait: u32,
    phoneless: u32,
    spoken: u32,
}

impl Ends {
    pub fn new(waits: Waits) -> Self {
        Self {
            waits,
            ..Self::default()
        }
    }

    pub fn in_speech(&self) -> bool {
        self.under_way.is_some()
    }

    /// Frames since the last speech of the utterance under way.
    pub fn silent(&self) -> u32 {
        self.under_way.map_or(0, |u| u.silent)
    }

    /// Frames of the utterance under way.
    pub fn frames(&self) -> u32 {
        self.under_way.map_or(0, |u| u.frames)
    }

    /// The last so many frames were silent, whatever it seemed.
    pub fn silence(&mut self, frames: u32) {
        if let Some(on) = &mut self.under_way {
            on.silent = frames;
        }
    }

    /// Whether one more silent frame ends the utterance under way, as the words stand.
    pub fn nearly_over(&self) -> bool {
        self.under_way.is_some_and(|u| u.silent + 1 == u.wait)
    }

    /// No more than so many frames of silence are missing to the end.
    pub fn over_within(&self, frames: u32) -> bool {
        (self.under_way).is_some_and(|u| u.silent > 0 && u.silent + frames >= u.wait)
    }

    /// Takes a frame; `far`: it is far below the speech before it; `standing` of the
    /// search including it.
    pub fn push(&mut self, frame: &Frame, far: bool, standing: impl FnOnce() -> Standing) -> Turn {
        let phone = frame
            .logp
            .first()
            .is_some_and(|blank| 1.0 - blank.exp() > PHONE)
            && !far;
        let Some(on) = &mut self.under_way else {
            self.recent.rotate_left(1);
            if let Some(last) = self.recent.last_mut() {
                *last = frame.speech > BEGIN || phone;
            }
            let count = self.recent.iter().filter(|&&s| s).count();
            if count < ONSET {
                return Turn::Idle;
            }
            let since = OF - self.recent.iter().position(|&s| s).unwrap_or(0);
            self.recent = [false; OF];
            self.under_way = Some(UnderWay {
                frames: since as u32,
                silent: 0,
                wait: self.waits.unfinished,
                phoneless: 0,
                spoken: count as u32,
            });
            return Turn::Began(since + BEFORE);
        };
        on.frames += 1;
        if (frame.speech > GO_ON && !far) || phone {
            on.silent = 0;
            on.spoken += 1;
        } else {
            on.silent += 1;
        }
        on.phoneless = if phone { 0 } else { on.phoneless + 1 };
        if on.silent == 0 && on.phoneless < PHONELESS && on.frames < self.waits.longest {
            return Turn::On;
        }
        let standing = standing();
        let wait = if standing.complete < -BEHIND {
            self.waits.unfinished
        } else if standing.complete < LEAD {
            self.waits.doubtful
        } else {
            match standing.ways_on {
                0 => self.waits.complete,
                1..=3 => self.waits.seldom,
                4..=8 => self.waits.open,
                _ => self.waits.often,
            }
        };
        on.wait = wait;
        let over = on.silent >= wait
            || on.phoneless >= PHONELESS + wait
            || on.frames >= self.waits.longest;
        if over {
            self.under_way = None;
            Turn::Ended
        } else {
            Turn::On
        }
    }

    /// Forgets what is under way.
    pub fn reset(&mut self) {
        self.recent = [false; OF];
        self.under_way = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(speech: f32, blank: f32) -> Frame {
        Frame {
            logp: vec![blank.ln(), (1.0 - blank).ln()].into(),
            speech,
        }
    }

    fn speech() -> Frame {
        frame(0.95, 0.1)
    }

    fn silence() -> Frame {
        frame(0.02, 0.99)
    }

    fn standing(complete: f32, ways_on: usize) -> Standing {
        Standing {
            complete,
            ways_on,
            any_word: true,
        }
    }

    /// Frames of silence until the utterance ends.
    fn patience(standing: Standing) -> u32 {
        let mut ends = Ends::default();
        for _ in 0..20 {
            ends.push(&speech(), false, || standing);
        }
        assert!(ends.in_speech());
        for n in 1..200 {
            if ends.push(&silence(), false, || standing) == Turn::Ended {
                return n;
            }
        }
        panic!("it never ends");
    }

    #[test]
    fn a_complete_call_is_answered_early_and_half_a_call_is_waited_for() {
        let waits = Waits::default();
        assert_eq!(patience(standing(5.0, 0)), waits.complete);
        assert_eq!(patience(standing(5.0, 2)), waits.seldom);
        assert_eq!(patience(standing(5.0, 6)), waits.open);
        assert_eq!(patience(standing(5.0, 12)), waits.often);
        assert_eq!(patience(standing(-5.0, 12)), waits.unfinished);
        // Complete, but what is unfinished is about as likely.
        assert_eq!(patience(standing(0.1, 0)), waits.doubtful);
    }

    #[test]
    fn a_pause_that_was_not_heard_here_counts_as_one() {
        let mut ends = Ends::default();
        let done = standing(5.0, 0);
        for _ in 0..20 {
            ends.push(&speech(), false, || done);
        }
        ends.silence(2);
        // Others go on; the cook is silent for the third frame.
        assert_eq!(ends.push(&speech(), true, || done), Turn::Ended);
        ends.silence(9);
        assert_eq!(ends.silent(), 0, "nothing is under way");
    }

    #[test]
    fn it_begins_with_speech_and_reaches_back() {
        let mut ends = Ends::default();
        for _ in 0..50 {
            assert_eq!(
                ends.push(&silence(), false, || Standing::NOTHING),
                Turn::Idle
            );
        }
        assert_eq!(
            ends.push(&speech(), false, || Standing::NOTHING),
            Turn::Idle
        );
        let Turn::Began(frames) = ends.push(&speech(), false, || Standing::NOTHING) else {
            panic!("did not begin")
        };
        assert!(frames > BEFORE);
    }

    #[test]
    fn one_odd_frame_begins_nothing() {
        let mut ends = Ends::default();
        for n in 0..100 {
            let odd = if n % 10 == 0 { speech() } else { silence() };
            assert_eq!(ends.push(&odd, false, || Standing::NOTHING), Turn::Idle);
        }
    }

    #[test]
    fn talk_without_end_is_cut() {
        let mut ends = Ends::default();
        let mut turns = (0..2_000).map(|_| ends.push(&speech(), false, || standing(-9.0, 12)));
        assert!(turns.any(|t| t == Turn::Ended));
    }

    #[test]
    fn steady_babble_does_not_hold_a_call_open() {
        let mut ends = Ends::default();
        let done = standing(9.0, 0);
        for _ in 0..20 {
            ends.push(&speech(), false, || done);
        }
        // The level says speech, no phone is heard.
        let babble = frame(0.9, 0.95);
        assert!((0..60).any(|_| ends.push(&babble, false, || done) == Turn::Ended));
    }
}
