//! Samples in, events out: the gate and the recogniser joined. No thread and no clock
//! of its own, so that a file is heard exactly as a microphone is.

use std::time::{Duration, Instant};

use super::activity::{Earshot, FRAME};
use super::gate::{Extent, Gate, Patience, Step, quiet_room};
use super::levels::NoiseWatch;
use super::listening::Listening;
use super::recogniser::{Hypothesis, Recogniser};
use super::source::RATE;
use super::{Alternative, EarEvent, Heard};
use crate::grammar::Grammar;

/// The recogniser is fed in pieces of this many samples, whatever the source delivers,
/// so that the same sound is always heard the same way.
const PIECE: usize = 1_600;

/// After this many frames without speech (0.13 s) the recogniser is asked what it has,
/// and gets no more until speech goes on. A stop consonant closes the mouth for as long;
/// asking then costs time but changes nothing.
const PAUSE: u32 = 8;

/// Speech that rises less than this above the noise is hard to tell from it, dB.
const HARDLY_ABOVE: f32 = 9.0;

pub struct Listener {
    gate: Gate,
    recogniser: Box<dyn Recogniser>,
    grammar: Option<Grammar>,
    /// To be set when the utterance under way is over.
    next_grammar: Option<Grammar>,
    /// Samples that do not fill a frame yet.
    rest: Vec<i16>,
    /// Sound of the utterance that the recogniser has not got yet.
    piece: Vec<i16>,
    /// Silence since the pause began, to be fed if speech goes on; `None` in speech.
    held: Option<Vec<i16>>,
    partial: String,
    extent: Extent,
    watch: NoiseWatch,
    /// Time spent recognising the utterance under way.
    computing: Duration,
    /// When our own voice sounded last, seconds.
    ours_until: f64,
}

impl Listener {
    pub fn new(recogniser: Box<dyn Recogniser>, patience: Patience) -> Self {
        Self {
            gate: Gate::new(Box::new(Earshot::default()), patience),
            recogniser,
            grammar: None,
            next_grammar: None,
            rest: Vec::with_capacity(FRAME),
            piece: Vec::with_capacity(PIECE),
            held: None,
            partial: String::new(),
            extent: Extent::NOTHING,
            watch: NoiseWatch::below(HARDLY_ABOVE),
            computing: Duration::ZERO,
            ours_until: f64::NEG_INFINITY,
        }
    }

    fn step(&mut self, step: Step, frame: &[i16], on: &mut dyn FnMut(EarEvent)) {
        match step {
            Step::Idle => {}
            Step::Began { at, sound } => {
                self.computing = Duration::ZERO;
                self.partial.clear();
                self.extent = Extent::NOTHING;
                self.piece.clear();
                self.held = None;
                on(EarEvent::SpeechBegan { at: seconds(at) });
                let ok = self.recogniser.start();
                self.report(ok, on);
                self.sound(&sound, on);
            }
            Step::On => self.on(frame, on),
            Step::Ended { from, to } => {
                let heard = self.decide(from, to, on);
                if !heard.over_us {
                    self.watch.utterance(self.gate.levels, true, &heard, on);
                }
                on(EarEvent::Heard(heard));
                self.after_utterance(on);
            }
            Step::Dropped => {
                let at = self.position();
                on(EarEvent::Heard(Heard::nothing(at, at)));
                self.after_utterance(on);
            }
        }
    }

    /// One more frame of the utterance, speech or a pause in it.
    fn on(&mut self, frame: &[i16], on: &mut dyn FnMut(EarEvent)) {
        let silent = self.gate.silent_frames();
        if let Some(held) = &mut self.held {
            held.extend_from_slice(frame);
            if silent == 0
                && let Some(held) = self.held.take()
            {
                self.sound(&held, on);
            }
            return;
        }
        self.sound(frame, on);
        if silent >= PAUSE {
            let began = Instant::now();
            self.feed_rest(on);
            let words = self.recogniser.partial();
            self.so_far(words, on);
            self.computing += began.elapsed();
            self.held = Some(Vec::new());
        }
    }

    fn feed_rest(&mut self, on: &mut dyn FnMut(EarEvent)) {
        let piece = std::mem::take(&mut self.piece);
        let fed = self.recogniser.feed(&piece);
        self.report(fed, on);
    }

    /// Takes note of the words so far.
    fn so_far(&mut self, words: Option<String>, on: &mut dyn FnMut(EarEvent)) {
        let words = words.unwrap_or_default();
        if words == self.partial {
            return;
        }
        if let Some(grammar) = &self.grammar {
            self.extent = Extent::of(&words, grammar);
        }
        self.partial.clone_from(&words);
        on(EarEvent::Partial {
            words,
            at: seconds(self.gate.position()),
        });
    }

    fn after_utterance(&mut self, on: &mut dyn FnMut(EarEvent)) {
        self.extent = Extent::NOTHING;
        if let Some(grammar) = self.next_grammar.take() {
            let words = self.set_grammar(grammar);
            match words {
                Ok(words) => unheard(&words, on),
                Err(why) => on(EarEvent::Advice(why)),
            }
        }
    }

    fn sound(&mut self, samples: &[i16], on: &mut dyn FnMut(EarEvent)) {
        self.piece.extend_from_slice(samples);
        let mut used = 0;
        let piece = std::mem::take(&mut self.piece);
        let began = Instant::now();
        for whole in piece.chunks_exact(PIECE) {
            let ok = self.recogniser.feed(whole);
            self.report(ok, on);
            used += PIECE;
        }
        if used > 0 {
            let words = self.recogniser.partial();
            self.so_far(words, on);
        }
        self.computing += began.elapsed();
        self.piece.extend(piece.into_iter().skip(used));
    }

    fn decide(&mut self, from: u64, to: u64, on: &mut dyn FnMut(EarEvent)) -> Heard {
        let began = Instant::now();
        if self.held.take().is_none() {
            self.feed_rest(on);
        }
        let found = match self.recogniser.finish() {
            Ok(found) => found,
            Err(why) => {
                on(EarEvent::Advice(why));
                Vec::new()
            }
        };
        let last = began.elapsed();
        self.computing += last;
        let (words, confidence, alternatives) = self.choose(found);
        Heard {
            words,
            confidence,
            alternatives,
            from: seconds(from),
            to: seconds(to),
            decided_after: seconds(self.gate.position() - to) + last.as_secs_f64(),
            compute_s: self.computing.as_secs_f64(),
            over_us: seconds(from) < self.ours_until,
            ours: None,
        }
    }

    /// Only whole sentences count: recognisers hand back unfinished paths unasked.
    fn choose(&self, found: Vec<Hypothesis>) -> (String, f32, Vec<Alternative>) {
        let rejected = found.first().is_none_or(|h| h.words.is_empty());
        let alternatives: Vec<Alternative> = found
            .into_iter()
            .filter(|h| !h.words.is_empty())
            .filter(|h| self.grammar.as_ref().is_some_and(|g| g.accepts(&h.words)))
            .map(|h| Alternative {
                words: h.words,
                confidence: h.confidence,
            })
            .collect();
        match alternatives.first() {
            Some(best) if !rejected => (best.words.clone(), best.confidence, alternatives),
            _ => (String::new(), 0.0, alternatives),
        }
    }

    fn report(&self, result: Result<(), String>, on: &mut dyn FnMut(EarEvent)) {
        if let Err(why) = result {
            on(EarEvent::Advice(format!(
                "{}: {why}",
                self.recogniser.name()
            )));
        }
    }
}

impl Listening for Listener {
    fn engine(&self) -> &'static str {
        self.recogniser.name()
    }

    fn position(&self) -> f64 {
        seconds(self.gate.position() + self.rest.len() as u64)
    }

    fn set_grammar(&mut self, grammar: Grammar) -> Result<Vec<String>, String> {
        if self.gate.in_speech() {
            self.next_grammar = Some(grammar);
            return Ok(Vec::new());
        }
        self.next_grammar = None;
        let unheard = self.recogniser.set_grammar(&grammar)?;
        self.grammar = Some(grammar);
        Ok(unheard)
    }

    fn feed(&mut self, samples: &[i16], deaf: bool, on: &mut dyn FnMut(EarEvent)) {
        self.rest.extend_from_slice(samples);
        let rest = std::mem::take(&mut self.rest);
        let (frames, left) = rest.as_chunks::<FRAME>();
        for frame in frames {
            let step = if deaf {
                self.gate.skip()
            } else {
                self.gate.push(frame, self.extent)
            };
            self.step(step, frame, on);
        }
        self.rest.extend_from_slice(left);
    }

    fn our_voice_until(&mut self, at: f64) {
        self.ours_until = at;
    }

    fn end(&mut self, on: &mut dyn FnMut(EarEvent)) {
        if !self.rest.is_empty() {
            let mut last = [0; FRAME];
            for (to, from) in last.iter_mut().zip(&self.rest) {
                *to = *from;
            }
            self.rest.clear();
            let step = self.gate.push(&last, self.extent);
            self.step(step, &last, on);
        }
        if self.gate.in_speech() && self.held.is_none() {
            self.sound(&quiet_room(PAUSE as usize), on);
        }
        let step = self.gate.end();
        self.step(step, &[], on);
    }

    fn reset(&mut self, on: &mut dyn FnMut(EarEvent)) {
        self.end(on);
        self.gate.reset();
    }
}

/// Says which words of a grammar cannot be heard.
pub(super) fn unheard(words: &[String], on: &mut dyn FnMut(EarEvent)) {
    if !words.is_empty() {
        on(EarEvent::Advice(format!(
            "these words cannot be heard: {}; give them another name",
            words.join(", ")
        )));
    }
}

fn seconds(samples: u64) -> f64 {
    samples as f64 / f64::from(RATE)
}
