//! Cuts a stream into utterances: where speech begins, and when it has ended.

use std::collections::VecDeque;

use super::activity::{ActivityMeter, FRAME, SpeechDetector};
use super::levels::Levels;
use crate::grammar::Grammar;

/// Sound from before the first frame of speech that still belongs to the utterance:
/// the detector is late by a few frames, and "f" and "s" begin below its threshold.
const PRE_ROLL: usize = 5;
/// This many of the last [`ONSET_OF`] frames make a beginning.
const ONSET: usize = 3;
const ONSET_OF: usize = 5;
/// Less speech than this is a knock or a clink, not a word ("no" takes 150 ms).
const SHORTEST: u32 = 6;
/// Nobody calls for longer than this; what goes on is talk, and is cut.
const LONGEST: u32 = frames(12.0);

const fn frames(seconds: f64) -> u32 {
    (seconds / super::activity::FRAME_S) as u32
}

/// How the words heard so far stand in the grammar; decides how long to wait for more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Extent {
    /// They are a whole sentence.
    pub can_end: bool,
    /// More words may follow.
    pub can_continue: bool,
}

impl Extent {
    /// Before the first word.
    pub const NOTHING: Extent = Extent {
        can_end: false,
        can_continue: true,
    };

    pub fn of(words: &str, grammar: &Grammar) -> Self {
        let prefix = grammar.prefix(words);
        Self {
            can_end: prefix.can_end,
            can_continue: prefix.can_go_on(),
        }
    }
}

/// How long a pause ends an utterance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patience {
    /// After words that are complete and cannot go on, seconds.
    pub complete: f64,
    /// After words that are complete but could go on.
    pub open: f64,
    /// After words that want more.
    pub unfinished: f64,
}

impl Default for Patience {
    fn default() -> Self {
        // A stop consonant inside a word closes the mouth for up to 150 ms; people pause
        // up to half a second inside "two forty … eight".
        Self {
            complete: 0.26,
            open: 0.48,
            unfinished: 0.85,
        }
    }
}

impl Patience {
    fn frames(&self, extent: Extent) -> u32 {
        frames(match extent {
            Extent {
                can_end: true,
                can_continue: false,
            } => self.complete,
            Extent { can_end: true, .. } => self.open,
            Extent { .. } => self.unfinished,
        })
    }
}

/// What a frame changed.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Nobody speaks.
    Idle,
    /// An utterance began; `sound` reaches back before it and includes this frame.
    Began { at: u64, sound: Vec<i16> },
    /// The utterance goes on with this frame.
    On,
    /// It ended with this frame. Sample numbers of the first and past the last speech.
    Ended { from: u64, to: u64 },
    /// It was only a knock.
    Dropped,
}

/// The gate works on frames of [`FRAME`] samples; sample numbers count from 0.
pub struct Gate {
    meter: ActivityMeter,
    patience: Patience,
    /// The last frames.
    before: VecDeque<[i16; FRAME]>,
    recent: VecDeque<bool>,
    /// Number of the next sample.
    next: u64,
    under_way: Option<UnderWay>,
    /// Of the last utterance: mean level of its speech frames and of the noise, dB.
    pub levels: Levels,
}

struct UnderWay {
    from: u64,
    /// Past the last frame of speech.
    to: u64,
    spoken: u32,
    silent: u32,
    frames: u32,
    level_sum: f32,
}

impl Gate {
    pub fn new(detector: Box<dyn SpeechDetector>, patience: Patience) -> Self {
        Self {
            meter: ActivityMeter::new(detector),
            patience,
            before: VecDeque::with_capacity(PRE_ROLL + ONSET_OF),
            recent: VecDeque::with_capacity(ONSET_OF),
            next: 0,
            under_way: None,
            levels: Levels::default(),
        }
    }

    /// Number of the next sample.
    pub fn position(&self) -> u64 {
        self.next
    }

    pub fn in_speech(&self) -> bool {
        self.under_way.is_some()
    }

    /// Frames since the last speech of the utterance under way.
    pub fn silent_frames(&self) -> u32 {
        self.under_way.as_ref().map_or(0, |u| u.silent)
    }

    /// Takes a frame. `extent`: how the words heard so far stand in the grammar.
    pub fn push(&mut self, frame: &[i16; FRAME], extent: Extent) -> Step {
        let activity = self.meter.push(frame);
        if self.before.len() == PRE_ROLL + ONSET_OF {
            self.before.pop_front();
        }
        self.before.push_back(*frame);
        let at = self.next;
        self.next += FRAME as u64;
        let Some(on) = &mut self.under_way else {
            return self.idle(at, activity.is_speech(false), activity.level);
        };
        on.frames += 1;
        if activity.is_speech(true) {
            on.spoken += 1;
            on.silent = 0;
            on.to = self.next;
            on.level_sum += activity.level;
        } else {
            on.silent += 1;
        }
        let over = on.silent >= self.patience.frames(extent) || on.frames >= LONGEST;
        self.levels = Levels {
            speech: on.level_sum / on.spoken.max(1) as f32,
            noise: activity.floor,
        };
        if over { self.end() } else { Step::On }
    }

    fn idle(&mut self, at: u64, speech: bool, level: f32) -> Step {
        if self.recent.len() == ONSET_OF {
            self.recent.pop_front();
        }
        self.recent.push_back(speech);
        let spoken = self.recent.iter().filter(|&&s| s).count();
        if spoken < ONSET {
            return Step::Idle;
        }
        let first = self.recent.iter().position(|&s| s).unwrap_or(0);
        let reach = (self.recent.len() - 1 - first) as u64;
        let from = at - reach * FRAME as u64;
        let mut sound = quiet_room(PRE_ROLL + ONSET_OF - self.before.len());
        sound.extend(self.before.iter().flatten());
        self.recent.clear();
        self.under_way = Some(UnderWay {
            from,
            to: self.next,
            spoken: spoken as u32,
            silent: 0,
            frames: reach as u32 + 1,
            level_sum: level * spoken as f32,
        });
        Step::Began { at: from, sound }
    }

    /// Ends what is under way now: the stream is over.
    pub fn end(&mut self) -> Step {
        match self.under_way.take() {
            None => Step::Idle,
            Some(u) => {
                // The next utterance may reach back into this pause, not into the words.
                let words = self.before.len().saturating_sub(u.silent as usize);
                self.before.drain(..words);
                if u.spoken < SHORTEST {
                    Step::Dropped
                } else {
                    Step::Ended {
                        from: u.from,
                        to: u.to,
                    }
                }
            }
        }
    }

    /// Passes over a frame unheard (we are speaking ourselves); what was under way is
    /// forgotten. The noise is not followed meanwhile.
    pub fn skip(&mut self) -> Step {
        self.next += FRAME as u64;
        self.before.clear();
        self.recent.clear();
        match self.under_way.take() {
            Some(_) => Step::Dropped,
            None => Step::Idle,
        }
    }

    /// Another stream follows; sample numbers go on.
    pub fn reset(&mut self) {
        self.meter.reset();
        self.before.clear();
        self.recent.clear();
        self.under_way = None;
    }
}

/// What a silent room sounds like to a good microphone, some 75 dB below full scale:
/// stands for the sound before a stream began and after it ended. Digital silence
/// would not do; recognisers take its sudden end for a consonant.
pub fn quiet_room(frames: usize) -> Vec<i16> {
    // The MMIX generator of D. Knuth, always from the same seed.
    let mut state = 1_u64;
    (0..frames * FRAME)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 60) as i16 - 8
        })
        .collect()
}
