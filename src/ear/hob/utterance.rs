//! The search of one utterance, and what speaks for its result.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::distance::{nearest_stretch, phone_distance};
use super::evidence::{Evidence, Evidences, Weights};
use super::stream::FRAME;
use crate::ear::lexicon::{Lexicon, Sounds};
use crate::ear::net::{Frame, Told};
use crate::ear::search::{Beam, Found, FreePhones, Limits, PhoneGraph, Standing, WordGraph, fit};
use crate::grammar::Grammar;

mod doubt;
pub use doubt::Opinion;
use doubt::ask;

/// Sentences kept for comparison.
const BEST: usize = 24;
/// How far below the loudest speech of an utterance the background is, dB: people who
/// talk elsewhere in the room. Common practice, no source.
const BACKGROUND: f32 = 18.0;
/// Samples next to foreground speech that belong to it: final consonants are soft.
const SKIRT: usize = 1_920;
/// Where the probability of speech is no higher, nobody near speaks.
const NOBODY: f32 = 0.1;
/// Alternatives handed on.
const MOST_READINGS: usize = 5;
/// A grammar made ready to be searched.
pub struct Search {
    grammar: Grammar,
    graph: Arc<PhoneGraph>,
    sounds: BTreeMap<String, Vec<Sounds>>,
    limits: Limits,
}

/// One way to understand an utterance.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    pub words: String,
    /// Probability from 0 to 1 that it, or another wording of the same call, was said.
    pub confidence: f32,
}

impl Search {
    /// Also answers the words that have no sound; the sentences with them cannot be heard.
    ///
    /// # Errors
    /// No word of the grammar has a sound.
    pub fn new(grammar: &Grammar, lexicon: &mut Lexicon) -> Result<(Self, Vec<String>), String> {
        let words = WordGraph::of(grammar.acceptor());
        let sounds = lexicon.sounds(words.words.iter().map(String::as_str));
        let mute: Vec<String> = sounds
            .iter()
            .filter(|(_, ways)| ways.is_empty())
            .map(|(word, _)| (*word).to_owned())
            .collect();
        if mute.len() == sounds.len() {
            return Err("no word of the grammar has a sound in English".to_owned());
        }
        let graph = Arc::new(PhoneGraph::new(&words, &sounds));
        let sounds = sounds.into_iter().map(|(w, s)| (w.to_owned(), s)).collect();
        let search = Self {
            grammar: grammar.clone(),
            graph,
            sounds,
            limits: Limits::default(),
        };
        Ok((search, mute))
    }

    pub fn grammar(&self) -> &Grammar {
        &self.grammar
    }

    /// The share of the phones of `words`, from 0 to 1, that some stretch of `heard` has in
    /// their order; nothing for words that are not in the grammar.
    pub fn share_within(&self, words: &str, heard: &[u8]) -> Option<f32> {
        let ways: Option<Vec<&[Sounds]>> = words
            .split(' ')
            .map(|word| self.sounds.get(word).map(Vec::as_slice))
            .collect();
        let (distance, phones) = nearest_stretch(&ways?, heard);
        Some((1.0 - distance as f32 / phones.max(1) as f32).max(0.0))
    }

    /// Nodes and arcs of the phone graph.
    pub fn size(&self) -> (usize, usize) {
        self.graph.size()
    }
}

/// What an utterance comes to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Understood {
    /// Best first, one a call; empty when no whole sentence fits at all.
    pub readings: Vec<Reading>,
    pub evidence: Evidences,
    /// Others talked too, so that it was weighed as the second network heard it alone.
    pub others: bool,
    /// All that was compared, best first: how both networks are joined is fitted on it.
    pub compared: Vec<Compared>,
}

/// A sentence, and its log probability after each network.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Compared {
    pub words: String,
    pub first: f32,
    pub second: f32,
    /// The third opinion, where it was asked.
    pub told: Option<Told>,
    /// What that gains more than the sentence that was best before it.
    pub third: f32,
}

/// One utterance, frame by frame.
pub struct Utterance {
    search: Arc<Search>,
    beam: Beam,
    free: FreePhones,
    /// Samples of a frame.
    hop: usize,
    frames: Vec<Frame>,
    /// Level of each frame, dB.
    levels: Vec<f32>,
}

impl Utterance {
    pub fn new(search: Arc<Search>) -> Self {
        Self::of_frames(search, FRAME as usize)
    }

    fn of_frames(search: Arc<Search>, hop: usize) -> Self {
        Self {
            hop,
            beam: Beam::new(Arc::clone(&search.graph), search.limits),
            search,
            free: FreePhones::default(),
            frames: Vec::new(),
            levels: Vec::new(),
        }
    }

    /// The same utterance as a second network heard it, in frames of `hop` samples.
    pub fn heard_as(&self, frames: Vec<Frame>, hop: usize) -> Self {
        let mut again = Self::of_frames(Arc::clone(&self.search), hop);
        for (t, frame) in frames.into_iter().enumerate() {
            let at = (t * hop + hop / 2) / FRAME as usize;
            let level = self.levels.get(at).or(self.levels.last());
            again.push(frame, level.copied().unwrap_or(0.0));
        }
        again
    }

    /// Takes a frame and its level in dB, whatever the reference.
    pub fn push(&mut self, frame: Frame, level: f32) {
        self.levels.push(level);
        self.beam.push(&frame.logp);
        self.free.push(&frame.logp);
        self.frames.push(frame);
    }

    pub fn standing(&self) -> Standing {
        self.beam.standing()
    }

    /// Where the search stands after both networks: `again` is the same as the second heard
    /// it. Neither ends an utterance alone that the other finds unfinished.
    pub fn standing_with(&self, again: &Self, weights: &Weights) -> Standing {
        let most = self.search.limits.width;
        let (first, second) = (self.standing(), again.standing());
        let of = |s: &Standing, weight: f32| weight * s.complete.clamp(-most, most);
        let [a, b] = weights.networks;
        Standing {
            complete: (of(&first, a) + of(&second, b)) / (a + b),
            ..second
        }
    }

    /// Best words so far, finished or not.
    pub fn words(&self) -> String {
        self.spell(&self.beam.best_words())
    }

    /// Whatever the grammar says.
    pub fn heard_phones(&self) -> &[u8] {
        &self.free.phones
    }

    fn spell(&self, words: &[u32]) -> String {
        let words: Vec<&str> = words
            .iter()
            .filter_map(|&w| self.search.graph.words.get(w as usize))
            .map(String::as_str)
            .collect();
        words.join(" ")
    }

    /// The level of the loudest speech so far: of the third loudest frame, so that a
    /// knock does not count.
    fn foreground(&self) -> f32 {
        let mut loud: Vec<f32> = self
            .levels
            .iter()
            .zip(&self.frames)
            .filter(|(_, f)| f.speech > 0.5)
            .map(|(&l, _)| l)
            .collect();
        loud.sort_by(|a, b| b.total_cmp(a));
        loud.get(2).copied().unwrap_or(f32::NEG_INFINITY)
    }

    /// Mean level of the frames with speech, dB.
    pub fn level(&self) -> Option<f32> {
        let spoken = self.levels.iter().zip(&self.frames);
        let (sum, count) = spoken
            .filter(|(_, f)| f.speech > 0.5)
            .fold((0.0, 0.0), |(sum, n), (&l, _)| (sum + l, n + 1.0));
        (count > 0.0).then(|| sum / count)
    }

    /// Whether the last frames are far below the speech before them.
    pub fn in_background(&self) -> bool {
        let floor = self.foreground() - BACKGROUND;
        self.levels
            .iter()
            .rev()
            .take(SKIRT / self.hop)
            .all(|&l| l < floor)
    }

    /// Whether somebody near may be speaking next to sample `at`.
    fn may_speak(&self, at: usize) -> bool {
        let from = at.saturating_sub(SKIRT) / self.hop;
        let to = self.frames.len().min((at + SKIRT) / self.hop + 1);
        let around = self.frames.get(from..to);
        around.is_some_and(|f| f.iter().any(|f| f.speech > NOBODY))
    }

    /// From the first speech of somebody near to the end of the last, in samples.
    pub fn near(&self) -> Option<Range<usize>> {
        let first = self.frames.iter().position(near)?;
        let last = self.frames.iter().rposition(near)?;
        Some(first * self.hop..(last + 1) * self.hop)
    }

    /// Frames with phones, from sample `from` on, where `again`, the same as the second
    /// network heard it, knows of nobody near: so much is said by others.
    pub fn of_others(&self, again: &Self, from: usize) -> usize {
        let frames = self.frames.iter().enumerate().skip(from / self.hop);
        frames
            .filter(|(t, f)| heard(f) && !again.may_speak(t * self.hop + self.hop / 2))
            .count()
    }

    /// The utterance without all that is said outside of a range of samples.
    pub fn only_within(&self, near: &Range<usize>) -> Self {
        let mut only = Self::of_frames(Arc::clone(&self.search), self.hop);
        for (t, (frame, &level)) in self.frames.iter().zip(&self.levels).enumerate() {
            let frame = match near.contains(&(t * self.hop + self.hop / 2)) {
                true => frame.clone(),
                false => Frame::silence(frame.logp.len()),
            };
            only.push(frame, level);
        }
        only
    }

    /// The utterance again without what is said in the background, if anything is.
    fn foreground_only(&self) -> Option<Self> {
        let floor = self.foreground() - BACKGROUND;
        let skirt = SKIRT / self.hop;
        let loud = |t: usize| {
            let around = t.saturating_sub(skirt)..(t + skirt + 1).min(self.levels.len());
            self.levels
                .get(around)
                .is_some_and(|l| l.iter().any(|&l| l >= floor))
        };
        let far: Vec<bool> = (0..self.frames.len()).map(|t| !loud(t)).collect();
        if !far
            .iter()
            .zip(&self.frames)
            .any(|(&far, f)| far && heard(f))
        {
            return None;
        }
        let mut again = Self::of_frames(Arc::clone(&self.search), self.hop);
        for ((frame, &level), far) in self.frames.iter().zip(&self.levels).zip(far) {
            let frame = match far {
                true => Frame::silence(frame.logp.len()),
                false => frame.clone(),
            };
            again.push(frame, level);
        }
        Some(again)
    }

    /// What this utterance comes to, and `again`: the same as the second network heard it.
    pub fn understand(&self, again: &Self, weights: &Weights, third: Opinion) -> Understood {
        let near = (self.foreground_only(), again.foreground_only());
        let first = near.0.as_ref().unwrap_or(self);
        let second = near.1.as_ref().unwrap_or(again);
        let mut found = first.compared(second);
        let score = |(words, c): &(Vec<u32>, Compared)| weights.joint(c, words.len());
        found.sort_by(|a, b| score(b).total_cmp(&score(a)));
        let Some((best, _)) = found.first().cloned() else {
            return Understood::default();
        };
        let evidence = |words: &[u32], told| Evidences {
            first: first.evidence(words),
            second: second.evidence(words),
            third: told,
            words: words.len(),
        };
        let mut known = evidence(&best, None);
        let scores: Vec<f32> = found.iter().map(score).collect();
        if self.are_in_doubt(&found, &scores, weights.sure(&known)) {
            ask(&mut found, third);
            found.sort_by(|a, b| score(b).total_cmp(&score(a)));
            if let Some((leads, compared)) = found.first() {
                known.third = compared.told;
                if *leads != best {
                    known = evidence(leads, compared.told);
                }
            }
        }
        let sure = weights.sure(&known);
        let scores: Vec<f32> = found.iter().map(score).collect();
        // Wordings of one call stand up for each other.
        let mut readings: Vec<(String, Reading)> = Vec::new();
        for ((_, one), share) in found.iter().zip(weights.shares(&scores)) {
            let words = one.words.clone();
            let call = self.call(&words);
            let confidence = sure * share;
            match readings.iter_mut().find(|(c, _)| *c == call) {
                Some((_, reading)) => reading.confidence += confidence,
                None => readings.push((call, Reading { words, confidence })),
            }
        }
        readings.sort_by(|a, b| b.1.confidence.total_cmp(&a.1.confidence));
        readings.truncate(MOST_READINGS);
        Understood {
            readings: readings.into_iter().map(|(_, r)| r).collect(),
            evidence: known,
            others: false,
            compared: found.into_iter().map(|(_, c)| c).collect(),
        }
    }

    /// The best sentences of both networks, each with what both say of it.
    fn compared(&self, second: &Self) -> Vec<(Vec<u32>, Compared)> {
        let (ours, theirs) = (self.beam.found(BEST), second.beam.found(BEST));
        let of = |list: &[Found], words: &[u32]| {
            let found = list.iter().find(|f| f.words == words);
            found.map(|f| f.score)
        };
        let mut all: Vec<&Found> = ours.iter().collect();
        all.extend(theirs.iter().filter(|f| of(&ours, &f.words).is_none()));
        all.into_iter()
            .filter_map(|f| {
                let compared = Compared {
                    words: self.spell(&f.words),
                    first: of(&ours, &f.words).or_else(|| self.score(&f.words))?,
                    second: of(&theirs, &f.words).or_else(|| second.score(&f.words))?,
                    told: None,
                    third: 0.0,
                };
                Some((f.words.clone(), compared))
            })
            .collect()
    }

    /// Log probability of one sentence, summed over all its alignments; nothing when it is
    /// too long for the sound.
    fn score(&self, words: &[u32]) -> Option<f32> {
        let limits = Limits {
            width: f32::INFINITY,
            ..self.search.limits
        };
        let mut beam = Beam::new(Arc::new(self.only(words)), limits);
        for frame in &self.frames {
            beam.push(&frame.logp);
        }
        beam.found(1).first().map(|f| f.score)
    }

    /// The phone graph of one sentence.
    fn only(&self, words: &[u32]) -> PhoneGraph {
        let line = WordGraph::line(&self.search.graph.words, words);
        let sounds = words
            .iter()
            .filter_map(|&w| self.search.graph.words.get(w as usize))
            .filter_map(|w| Some((w.as_str(), self.search.sounds.get(w)?.clone())))
            .collect();
        PhoneGraph::new(&line, &sounds)
    }

    /// What the words mean, to tell calls apart; the words themselves without tags.
    fn call(&self, words: &str) -> String {
        let tags = self.search.grammar.tags(words);
        match tags.first() {
            Some(first) if !first.is_empty() => format!("{tags:?}"),
            _ => words.to_owned(),
        }
    }

    fn evidence(&self, words: &[u32]) -> Evidence {
        let graph = self.only(words);
        let frames: Vec<&[f32]> = self.frames.iter().map(|f| &*f.logp).collect();
        let Some(fit) = fit(&graph, &frames, self.search.limits.foreign) else {
            return Evidence {
                loss: f32::MAX,
                ..Evidence::default()
            };
        };
        let phones: u32 = fit.words.iter().map(|w| w.phones).sum();
        let loss: f32 = fit.words.iter().map(|w| w.loss).sum();
        let spoken = fit.words.first().zip(fit.words.last());
        let (from, to) = spoken.map_or((0, 0), |(a, b)| (a.from as usize, b.to as usize));
        let speech = better_half(self.frames.get(from..to).unwrap_or_default());
        let worst_word = fit
            .words
            .iter()
            .map(|w| w.loss / w.phones.max(1) as f32)
            .fold(0.0, f32::max);
        Evidence {
            loss: loss / phones.max(1) as f32,
            worst_word: worst_word / (1.0 + (words.len().max(1) as f32).ln()),
            worst_phone: fit.words.iter().map(|w| w.worst).fold(0.0, f32::max),
            outside: fit.outside,
            mismatch: self.mismatch(words),
            phones: phones as f32,
            speech,
        }
    }

    /// Distance of the phones heard from the nearest way to say the words, in shares of
    /// its length.
    fn mismatch(&self, words: &[u32]) -> f32 {
        let mut said: Vec<u8> = Vec::new();
        for &word in words {
            let ways = self
                .search
                .graph
                .words
                .get(word as usize)
                .and_then(|w| self.search.sounds.get(w));
            // The nearest way is chosen word by word, against the whole: the rest of the
            // sentence is the same for all ways.
            let nearest = ways.into_iter().flatten().min_by_key(|way| {
                let mut longer = said.clone();
                longer.extend_from_slice(way);
                let upto = longer.len().min(self.free.phones.len());
                phone_distance(&longer, self.free.phones.get(..upto).unwrap_or_default())
            });
            said.extend_from_slice(nearest.map_or(&[], |w| &**w));
        }
        phone_distance(&said, &self.free.phones) as f32 / said.len().max(1) as f32
    }
}

/// Mean probability of speech in the surer half of the frames: soft beginnings and ends
/// are hard to tell from the room.
fn better_half(frames: &[Frame]) -> f32 {
    let mut speech: Vec<f32> = frames.iter().map(|f| f.speech).collect();
    speech.sort_by(|a, b| b.total_cmp(a));
    speech.truncate(frames.len().div_ceil(2));
    speech.iter().sum::<f32>() / speech.len().max(1) as f32
}

/// Whether somebody near speaks.
fn near(frame: &Frame) -> bool {
    frame.speech > 0.5 || (frame.speech > 0.2 && heard(frame))
}

/// Whether a phone is likelier than none.
fn heard(frame: &Frame) -> bool {
    frame.logp.first().is_some_and(|&blank| blank < -0.7)
}

#[cfg(test)]
mod tests;
