//! Samples in, events out. No clock of its own, and no thread but the one that weighs doubts (`early`).

use std::collections::VecDeque;
use std::sync::Arc;
use std::time::{Duration, Instant};

use super::Networks;
use super::distance::share_within;
use super::ends::{BEFORE, Ends, Turn, Waits};
use super::evidence::Weights;
use super::stream::{AGAIN, FRAME, PIECE, Slice, Stream};
use super::utterance::{Search, Understood, Utterance};
use crate::ear::activity::NoiseFloor;
use crate::ear::levels::{Levels, NoiseWatch};
use crate::ear::lexicon::Lexicon;
use crate::ear::net::{Frame, SecondPass, ThirdOpinion};
use crate::ear::search::{FreePhones, Standing};
use crate::ear::{Alternative, EarEvent, Heard, Listening};
use crate::grammar::Grammar;
use crate::plan::Pronounced;

mod again;
mod anew;
mod early;
mod twice;
use again::Review;
use anew::{FORGET, NO_BEGINNING_LOST};
use early::{Asked, Early};
use twice::Refused;

const RATE: f64 = 16_000.0;
/// Frames kept while nobody speaks.
const KEPT: usize = BEFORE + 8;
/// Below this probability nothing was said for us: in the fitting sets fewer wrong calls and near
/// misses pass than with 0.4, at a cost of one right call in two hundred (README of training).
const LIKELY: f32 = 0.5;
/// A call of so few phones ("undo", "core two") is no surer for being refused twice.
const SHORT: f32 = 8.0;
/// An utterance is heard by a network that began within so many frames before it: in
/// training it heard at most seven seconds on end, and after five of talk without a
/// pause it hears less and less (of readers' sentences of ten to fifteen seconds nothing
/// after the sixth).
const FRESH: u64 = 50;
/// Fewer phones than this were no words: in an extractor fan alone the network hears none.
const WORDY: usize = 3;
/// Mean speech that rises less than this above the noise is hard to tell from it, dB: of
/// synthetic calls in a fan, those that rose less than 0 dB were mostly not understood,
/// those above 5 dB all were.
const HARDLY_ABOVE: f32 = 3.0;
/// After so many silent frames the second pass hears the utterance, and when the wait for
/// more is nearly over: the end of a soft last sound may lie in that silence.
const LISTENED: [u32; 5] = [2, 4, 6, 9, 13];
/// When an utterance has gone on for so many frames, and then every few, the second pass
/// hears it although no pause came: what goes on may be talk of others, whom only it can
/// tell from the cook. Each time it hears all of it, so in long talk the times lie a share
/// of its length apart.
const GOES_ON: u32 = 36;
const REGULARLY: u32 = 12;
const SHARE: u32 = 6;
/// More samples than this at once have waited: the machine is behind, and hears what an
/// early answer would need only where the answer is still early.
const LATE: usize = 8_000;

pub struct HobListener {
    stream: Stream,
    lexicon: Lexicon,
    search: Option<Arc<Search>>,
    /// To be set when the utterance under way is over.
    next: Option<Arc<Search>>,
    utterance: Option<Utterance>,
    ends: Ends,
    second: SecondPass,
    third: ThirdOpinion,
    /// What the second pass heard of the utterance under way.
    review: Option<Review>,
    /// What the third opinion was asked about it.
    asked: Option<Asked>,
    /// First sample of the utterance's first frame.
    began: u64,
    /// Frame of the utterance at which the second pass hears it without a pause.
    look: u32,
    weights: Weights,
    /// What the second pass says alone, where others talk.
    alone: Weights,
    /// What is heard now is talk of others, after the second pass.
    elsewhere: bool,
    /// Frames that begin before this sample are not listened to.
    deaf_until: u64,
    /// Frames that begin before this sample belong to an utterance that is decided.
    decided_until: u64,
    /// The room's noise is known up to this sample.
    measured_until: u64,
    rest: Vec<i16>,
    /// Samples that came with those that are listened to now, and after them.
    waiting: usize,
    fresh: Vec<Slice>,
    kept: VecDeque<(Frame, f32)>,
    quiet: u32,
    floor: NoiseFloor,
    /// The room's noise as tracked so far, dB.
    noise: f32,
    watch: NoiseWatch,
    refused: Refused,
    /// First and past the last sample of speech.
    from: u64,
    to: u64,
    partial: String,
    computing: Duration,
    /// When our own voice sounded last, seconds.
    ours_until: f64,
    /// Phones of the last utterance, whatever the grammar says.
    heard: Vec<u8>,
    /// Of the last utterance and how sure of it, for calibration.
    pub last: Option<(Understood, f32)>,
}

impl HobListener {
    /// # Errors
    /// The embedded pronouncing tables are damaged.
    pub fn new(networks: Networks, waits: Waits) -> Result<Self, String> {
        Ok(Self {
            stream: Stream::new(networks.first),
            lexicon: Lexicon::english()?,
            search: None,
            next: None,
            utterance: None,
            ends: Ends::new(waits),
            second: networks.second,
            third: networks.third,
            review: None,
            asked: None,
            began: 0,
            look: GOES_ON,
            weights: Weights::default(),
            alone: Weights::second_alone(),
            elsewhere: false,
            deaf_until: 0,
            decided_until: 0,
            measured_until: 0,
            rest: Vec::new(),
            waiting: 0,
            fresh: Vec::new(),
            kept: VecDeque::with_capacity(KEPT + 1),
            quiet: 0,
            floor: NoiseFloor::of_frames(FRAME as usize),
            noise: 0.0,
            watch: NoiseWatch::below(HARDLY_ABOVE),
            refused: Refused::default(),
            from: 0,
            to: 0,
            partial: String::new(),
            computing: Duration::ZERO,
            ours_until: f64::NEG_INFINITY,
            heard: Vec::new(),
            last: None,
        })
    }

    fn restart(&mut self) {
        self.stream.restart();
        self.floor = NoiseFloor::of_frames(FRAME as usize);
        self.ends.reset();
        self.elsewhere = false;
        self.refused = Refused::default();
        self.kept.clear();
        self.quiet = 0;
    }

    fn piece(&mut self, piece: &[i16], on: &mut dyn FnMut(EarEvent)) {
        let began = Instant::now();
        let mut fresh = std::mem::take(&mut self.fresh);
        let ok = self.stream.push(piece, &mut fresh);
        self.computing += began.elapsed();
        self.frames(ok, fresh, on);
        if self.quiet >= FORGET && self.utterance.is_none() {
            self.forget(on);
        }
    }

    /// Whether something was to be heard again.
    fn frames(
        &mut self,
        ok: Result<(), String>,
        mut fresh: Vec<Slice>,
        on: &mut dyn FnMut(EarEvent),
    ) -> bool {
        if let Err(why) = ok {
            on(EarEvent::Advice(format!("the ear's network failed: {why}")));
        }
        let mut back = None;
        for slice in fresh.drain(..) {
            back = self.frame(slice, on);
            if back.is_some() {
                break;
            }
        }
        fresh.clear();
        self.fresh = fresh;
        if let Some(back) = back {
            self.again(back, on);
        }
        back.is_some()
    }

    fn keep(&mut self, frame: Frame, level: f32) {
        if self.kept.len() == KEPT {
            self.kept.pop_front();
        }
        self.kept.push_back((frame, level));
    }

    /// Answers how far back to hear again with a fresh mind, when an utterance begins or
    /// has ended here.
    fn frame(&mut self, slice: Slice, on: &mut dyn FnMut(EarEvent)) -> Option<usize> {
        let Slice { at, frame, level } = slice;
        if at < self.decided_until {
            return None;
        }
        if at < self.deaf_until {
            self.keep(frame, level);
            return None;
        }
        if at >= self.measured_until {
            self.noise = self.floor.push(level);
            self.measured_until = at + FRAME;
        }
        let began = Instant::now();
        if let Some(utterance) = &mut self.utterance {
            utterance.push(frame.clone(), level);
        } else {
            self.keep(frame.clone(), level);
        }
        let utterance = self.utterance.as_ref();
        let far = self.elsewhere || utterance.is_some_and(Utterance::in_background);
        let turn = self
            .ends
            .push(&frame, far, || match (utterance, &self.review) {
                (Some(_), Some(again)) if again.others => again.utterance.standing(),
                (Some(u), Some(again)) => u.standing_with(&again.utterance, &self.weights),
                (Some(u), None) => u.standing(),
                (None, _) => Standing::NOTHING,
            });
        match turn {
            Turn::Idle => self.quiet = self.quiet.saturating_add(1),
            Turn::Began(_) if at > self.stream.origin() + FRESH * FRAME => return Some(AGAIN),
            Turn::Began(frames) => {
                self.quiet = 0;
                self.computing = Duration::ZERO;
                self.partial.clear();
                let of = self.kept.len().min(frames);
                // Speech began somewhere in its first frame.
                let first = (at + FRAME / 2).saturating_sub((frames - BEFORE) as u64 * FRAME);
                self.from = first.max(self.stream.origin());
                self.to = at + FRAME;
                let mut utterance = self.search.clone().map(Utterance::new);
                let skip = self.kept.len() - of;
                self.began = (at + FRAME).saturating_sub(of as u64 * FRAME);
                self.review = None;
                self.asked = None;
                self.look = GOES_ON;
                for (frame, level) in self.kept.drain(..).skip(skip) {
                    if let Some(u) = &mut utterance {
                        u.push(frame, level);
                    }
                }
                self.utterance = utterance;
                self.computing += began.elapsed();
                on(EarEvent::SpeechBegan {
                    at: self.from as f64 / RATE,
                });
                return None;
            }
            Turn::On => {
                if self.ends.silent() == 0 {
                    self.to = at + FRAME;
                    self.review = None;
                    self.asked = None;
                    let frames = self.ends.frames();
                    if frames >= self.look && self.waiting <= LATE {
                        self.look = frames + REGULARLY.max(frames / SHARE);
                        self.review(on);
                        if self.nobody() {
                            self.computing += began.elapsed();
                            // A call may be beginning.
                            self.decided_until = at.saturating_sub(BEFORE as u64 * FRAME);
                            self.decide(on);
                            return Some(NO_BEGINNING_LOST);
                        }
                    }
                } else if self.ends.nearly_over()
                    || (LISTENED.contains(&self.ends.silent()) && self.waiting <= LATE)
                {
                    self.review(on);
                    self.ask_early();
                }
                self.partial(at, on);
            }
            Turn::Ended => {
                self.computing += began.elapsed();
                self.decided_until = at + FRAME;
                self.decide(on);
                return Some(NO_BEGINNING_LOST);
            }
        }
        self.computing += began.elapsed();
        None
    }

    fn partial(&mut self, at: u64, on: &mut dyn FnMut(EarEvent)) {
        if let Some(utterance) = &self.utterance {
            let words = utterance.words();
            if words != self.partial {
                self.partial.clone_from(&words);
                on(EarEvent::Partial {
                    words,
                    at: at as f64 / RATE,
                });
            }
        }
    }

    fn decide(&mut self, on: &mut dyn FnMut(EarEvent)) {
        if self.review.is_none() {
            self.review(on);
        }
        let began = Instant::now();
        self.hear_alone(on);
        self.elsewhere = false;
        let Some(utterance) = self.utterance.take() else {
            return;
        };
        self.ends.reset();
        let review = self.review.take();
        let again = review.as_ref().map_or(&utterance, |r| &r.utterance);
        let others = review.as_ref().is_some_and(|r| r.others);
        let weights = if others { &self.alone } else { &self.weights };
        let early = Early::new(self.asked.take().filter(|_| !others));
        let third = |sentences: &[&str]| {
            let heard = &review.as_ref()?.heard;
            let now = || self.third.of(&self.sound_of(heard), sentences).ok();
            early.answer(sentences, self.stream.taken()).or_else(now)
        };
        let mut understood = utterance.understand(again, weights, &third);
        understood.others = others;
        // Sound went on to come while the second pass was at work.
        let (waited, third_still) = early.waited();
        let still = review.as_ref().map_or(Duration::ZERO, |r| {
            let since = self.stream.taken().saturating_sub(r.at) as f64 / RATE;
            r.took.saturating_sub(Duration::from_secs_f64(since))
        });
        let levels = Levels {
            speech: utterance.level().unwrap_or(self.noise),
            noise: self.noise,
        };
        let spoken = utterance.heard_phones().len() >= WORDY;
        self.heard = again.heard_phones().to_vec();
        let last = began.elapsed().saturating_sub(waited) + still.max(third_still);
        self.computing += last;
        let mut alternatives: Vec<Alternative> = understood
            .readings
            .iter()
            .map(|r| Alternative {
                words: r.words.clone(),
                confidence: r.confidence,
            })
            .collect();
        // The evidence for the call as a whole decides whether it was for us; how it is
        // shared among alternatives is for the kitchen to weigh.
        let sure: f32 = alternatives.iter().map(|a| a.confidence).sum();
        let short = understood.evidence.second.phones <= SHORT;
        let time = |sample: u64| sample as f64 / RATE;
        let taken = if sure >= LIKELY {
            self.refused = Refused::default();
            true
        } else {
            let spoken = time(self.from)..time(self.to);
            !short && self.refused.twice(&mut alternatives, spoken)
        };
        let best = alternatives.first().filter(|_| taken);
        let heard = Heard {
            words: best.map_or_else(String::new, |b| b.words.clone()),
            confidence: best.map_or(0.0, |b| b.confidence),
            from: time(self.from),
            to: time(self.to),
            decided_after: self.stream.taken().saturating_sub(self.to) as f64 / RATE
                + last.as_secs_f64(),
            compute_s: self.computing.as_secs_f64(),
            over_us: time(self.from) < self.ours_until,
            ours: None,
            alternatives,
        };
        self.last = Some((understood, sure));
        if !heard.over_us {
            self.watch.utterance(levels, spoken, &heard, on);
        }
        on(EarEvent::Heard(heard));
        self.after();
    }

    fn after(&mut self) {
        if let Some(next) = self.next.take() {
            self.search = Some(next);
        }
    }
}

impl Listening for HobListener {
    fn engine(&self) -> &'static str {
        "hob"
    }

    fn position(&self) -> f64 {
        (self.stream.taken() + self.rest.len() as u64) as f64 / RATE
    }

    fn pronounce(&mut self, said: &[Pronounced]) -> Result<(), String> {
        said.iter().try_for_each(|p| {
            self.lexicon
                .pronounce(p)
                .map_err(|why| format!("how {:?} is said: {why}", p.word))
        })
    }

    fn set_grammar(&mut self, grammar: Grammar) -> Result<Vec<String>, String> {
        let (search, mute) = Search::new(&grammar, &mut self.lexicon)?;
        if self.utterance.is_some() {
            self.next = Some(Arc::new(search));
        } else {
            self.search = Some(Arc::new(search));
            self.next = None;
        }
        Ok(mute)
    }

    fn feed(&mut self, samples: &[i16], deaf: bool, on: &mut dyn FnMut(EarEvent)) {
        self.rest.extend_from_slice(samples);
        if deaf {
            self.deaf_until = self.stream.taken() + self.rest.len() as u64;
            // What was said before we began to speak stands.
            if self.utterance.is_some() {
                self.decide(on);
            }
        }
        let rest = std::mem::take(&mut self.rest);
        let pieces = rest.chunks_exact(PIECE);
        self.rest = pieces.remainder().to_vec();
        self.waiting = rest.len();
        for piece in pieces {
            self.waiting -= PIECE;
            self.piece(piece, on);
        }
        self.waiting = 0;
    }

    fn our_voice_until(&mut self, at: f64) {
        self.ours_until = at;
    }

    fn said_in(&mut self, words: &str, sound: &[i16]) -> Option<f32> {
        let heard = self.second.hear(sound).ok()?;
        let mut phones = FreePhones::default();
        heard.iter().for_each(|frame| phones.push(&frame.logp));
        let called = self.search.as_ref()?.share_within(words, &phones.phones)?;
        // Residual sound is forced into the words of a call; what was heard of it is not.
        let whole = share_within(&self.heard, &phones.phones);
        Some(called.max(whole))
    }

    fn end(&mut self, on: &mut dyn FnMut(EarEvent)) {
        let rest = std::mem::take(&mut self.rest);
        let began = Instant::now();
        let mut fresh = std::mem::take(&mut self.fresh);
        let ok = self
            .stream
            .push(&rest, &mut fresh)
            .and_then(|()| self.stream.flush(&mut fresh));
        self.computing += began.elapsed();
        if self.frames(ok, fresh, on) {
            let mut fresh = std::mem::take(&mut self.fresh);
            let ok = self.stream.flush(&mut fresh);
            self.frames(ok, fresh, on);
        }
        if self.utterance.is_some() {
            self.decide(on);
        }
        self.restart();
    }

    fn reset(&mut self, on: &mut dyn FnMut(EarEvent)) {
        self.end(on);
    }
}

#[cfg(test)]
mod tests;
