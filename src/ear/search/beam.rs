//! Connectionist temporal classification (Graves and others 2006) along the phone
//! graph: every sentence is scored by the sum over all its alignments, frame by frame,
//! the hopeless ones dropped.
//!
//! A token stands for the words heard so far and the phone that was begun last. Words
//! are part of what tells tokens apart, so that two sentences which end in the same
//! place of the grammar ("fifteen", "fifty") both survive and can be compared.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
use std::sync::Arc;

use super::graph::{NO_WORD, PhoneGraph};
use super::log_add;

/// What the search may spend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Tokens that survive a frame.
    pub tokens: usize,
    /// How far behind the best (natural logarithm) a token may fall.
    pub width: f32,
    /// What a frame of foreign sound before or after the sentence costs at least.
    pub foreign: f32,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            tokens: 500,
            width: 14.0,
            foreign: 5.0,
        }
    }
}

const NO_ARC: u32 = u32::MAX;
const NO_HISTORY: u32 = u32::MAX;
const NEVER: f32 = f32::NEG_INFINITY;

#[derive(Debug, Clone, Copy)]
struct Token {
    /// The arc whose phone was begun last.
    arc: u32,
    history: u32,
    /// Log probability of all alignments that end in a blank, in the phone, and in either;
    /// the last is worked out when a frame is through, for it is asked for many times.
    blank: f32,
    phone: f32,
    total: f32,
}

#[derive(Debug, Clone, Copy)]
struct History {
    before: u32,
    word: u32,
}

/// A sentence with its log probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Word numbers of the graph.
    pub words: Vec<u32>,
    pub score: f32,
}

/// Where the best of the search stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Log probability of the best whole sentence against the best unfinished one; 0 or
    /// more when the best can end here.
    pub complete: f32,
    /// In how many ways, by the next phone, the best whole sentence may go on.
    pub ways_on: usize,
    /// Some word is complete.
    pub any_word: bool,
}

impl Standing {
    /// Before anything was heard.
    pub const NOTHING: Self = Self {
        complete: NEVER,
        ways_on: usize::MAX,
        any_word: false,
    };
}

#[derive(Default, Clone)]
struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        for &b in bytes {
            self.write_u32(b.into());
        }
    }
    fn write_u32(&mut self, n: u32) {
        self.0 = (self.0.rotate_left(5) ^ u64::from(n)).wrapping_mul(0x517c_c1b7_2722_0a95);
    }
}

type Quick<K, V> = HashMap<K, V, BuildHasherDefault<Mix>>;

/// One utterance being searched.
pub struct Beam {
    graph: Arc<PhoneGraph>,
    limits: Limits,
    tokens: Vec<Token>,
    next: Vec<Token>,
    place: Quick<(u32, u32), u32>,
    histories: Vec<History>,
    known: Quick<(u32, u32), u32>,
}

impl Beam {
    pub fn new(graph: Arc<PhoneGraph>, limits: Limits) -> Self {
        let mut beam = Self {
            graph,
            limits,
            tokens: Vec::new(),
            next: Vec::new(),
            place: Quick::default(),
            histories: Vec::new(),
            known: Quick::default(),
        };
        beam.start();
        beam
    }

    /// Begins another utterance.
    pub fn start(&mut self) {
        self.histories.clear();
        self.known.clear();
        self.tokens.clear();
        self.tokens.push(Token {
            arc: NO_ARC,
            history: NO_HISTORY,
            blank: 0.0,
            phone: NEVER,
            total: 0.0,
        });
    }

    /// Takes a frame: natural logarithm of each class's probability, blank first.
    pub fn push(&mut self, logp: &[f32]) {
        let of = |phone: u8| logp.get(usize::from(phone)).copied().unwrap_or(NEVER);
        let blank = of(0);
        let loudest = logp.iter().skip(1).copied().fold(NEVER, f32::max);
        let foreign = blank.max(loudest - self.limits.foreign);
        let graph = Arc::clone(&self.graph);
        let best = self.tokens.iter().map(|t| t.total).fold(NEVER, f32::max);
        // Nothing can gain more in a frame than its likeliest class.
        let hopeless = best + blank.max(loudest) - self.limits.width - 4.0;
        let tokens = std::mem::take(&mut self.tokens);
        self.next.clear();
        self.place.clear();
        for token in &tokens {
            let total = token.total;
            let (node, last) = match graph.arc(token.arc) {
                Some(arc) => (arc.target, arc.phone),
                None => (graph.start, 0),
            };
            let outside = token.arc == NO_ARC || graph.can_end(node);
            let rest = total + if outside { foreign } else { blank };
            let stay = if last == 0 {
                NEVER
            } else {
                token.phone + of(last)
            };
            if rest.max(stay) > hopeless {
                let to = self.token(token.arc, token.history);
                to.blank = log_add(to.blank, rest);
                to.phone = log_add(to.phone, stay);
            }
            for number in graph.leaving(node) {
                let Some(arc) = graph.arc(number) else {
                    continue;
                };
                let from = if arc.phone == last {
                    token.blank
                } else {
                    total
                };
                let score = from + of(arc.phone) + arc.weight;
                if score <= hopeless {
                    continue;
                }
                let history = if arc.word == NO_WORD {
                    token.history
                } else {
                    self.history(token.history, arc.word)
                };
                let to = self.token(number, history);
                to.phone = log_add(to.phone, score);
            }
        }
        self.prune();
        self.next = tokens;
    }

    fn token(&mut self, arc: u32, history: u32) -> &mut Token {
        let fresh = self.next.len() as u32;
        let place = *self.place.entry((arc, history)).or_insert(fresh) as usize;
        if place == self.next.len() {
            self.next.push(Token {
                arc,
                history,
                blank: NEVER,
                phone: NEVER,
                total: NEVER,
            });
        }
        &mut self.next[place]
    }

    fn history(&mut self, before: u32, word: u32) -> u32 {
        let fresh = self.histories.len() as u32;
        let number = *self.known.entry((before, word)).or_insert(fresh);
        if number == fresh {
            self.histories.push(History { before, word });
        }
        number
    }

    /// `next` becomes `tokens`, without those too far behind.
    fn prune(&mut self) {
        for token in &mut self.next {
            token.total = log_add(token.blank, token.phone);
        }
        let best = self.next.iter().map(|t| t.total).fold(NEVER, f32::max);
        let floor = best - self.limits.width;
        self.next.retain(|t| t.total >= floor);
        if self.next.len() > self.limits.tokens {
            self.next
                .select_nth_unstable_by(self.limits.tokens, |a, b| b.total.total_cmp(&a.total));
            self.next.truncate(self.limits.tokens);
        }
        self.tokens = std::mem::take(&mut self.next);
    }

    fn node(&self, token: &Token) -> u32 {
        self.graph
            .arc(token.arc)
            .map_or(self.graph.start, |a| a.target)
    }

    /// Whole sentences that may end here, best first, at most `n`.
    pub fn found(&self, n: usize) -> Vec<Found> {
        let mut scores: HashMap<u32, f32> = HashMap::new();
        for token in &self.tokens {
            if token.history != NO_HISTORY && self.graph.can_end(self.node(token)) {
                let score = scores.entry(token.history).or_insert(NEVER);
                *score = log_add(*score, token.total);
            }
        }
        let mut found: Vec<(u32, f32)> = scores.into_iter().collect();
        found.sort_unstable_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        found.truncate(n);
        found
            .into_iter()
            .map(|(history, score)| Found {
                words: self.words(history),
                score,
            })
            .collect()
    }

    /// Words of the best token, whole sentence or not.
    pub fn best_words(&self) -> Vec<u32> {
        let best = self
            .tokens
            .iter()
            .max_by(|a, b| a.total.total_cmp(&b.total));
        best.map_or_else(Vec::new, |t| self.words(t.history))
    }

    pub fn standing(&self) -> Standing {
        let words = |t: &&Token| t.history != NO_HISTORY;
        let ended = |t: &&Token| words(t) && self.graph.can_end(self.node(t));
        let whole = self
            .tokens
            .iter()
            .filter(ended)
            .max_by(|a, b| a.total.total_cmp(&b.total));
        // The same words where the grammar wants more of them are no rival, but a way on.
        let mut waiting: Vec<u32> = Vec::new();
        let mut part = NEVER;
        for token in self.tokens.iter().filter(|t| !ended(t)) {
            let node = self.node(token);
            if whole.is_some_and(|w| w.history == token.history) && self.graph.is_between(node) {
                waiting.push(node);
            } else {
                part = part.max(token.total);
            }
        }
        waiting.extend(whole.map(|w| self.node(w)));
        waiting.sort_unstable();
        waiting.dedup();
        Standing {
            complete: whole.map_or(NEVER, |w| w.total - part.max(-1e30)),
            ways_on: waiting.iter().map(|&n| self.graph.ways_on(n)).sum(),
            any_word: self.tokens.iter().any(|t| words(&t)),
        }
    }

    fn words(&self, mut history: u32) -> Vec<u32> {
        let mut words = Vec::new();
        while let Some(h) = self.histories.get(history as usize) {
            words.push(h.word);
            history = h.before;
        }
        words.reverse();
        words
    }

    pub fn graph(&self) -> &PhoneGraph {
        &self.graph
    }
}
