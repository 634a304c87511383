//! Where a given sentence lies in the sound, and how well each of its words fits: the
//! best alignment (Viterbi 1967) of the sentence alone.

use super::graph::{NO_WORD, PhoneGraph};

/// One word in the sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WordFit {
    pub word: u32,
    /// First frame, and past the last.
    pub from: u32,
    pub to: u32,
    /// Log probability lost against the likeliest classes, over these frames.
    pub loss: f32,
    /// The same, the worst single phone.
    pub worst: f32,
    pub phones: u32,
}

/// Result of [`fit`].
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Fit {
    pub words: Vec<WordFit>,
    /// Loss before, between and after the words.
    pub outside: f32,
}

const NEVER: f32 = f32::NEG_INFINITY;

/// Aligns the only sentence of `graph` (a graph of one sentence, any ways to say its
/// words) with `frames`; `None` when they are too few.
pub fn fit(graph: &PhoneGraph, frames: &[&[f32]], foreign: f32) -> Option<Fit> {
    let (nodes, arcs) = graph.size();
    // States: a blank at each node, then a phone on each arc.
    let states = nodes + arcs;
    let mut enter: Vec<Vec<u32>> = vec![Vec::new(); arcs];
    let mut coming: Vec<Vec<u32>> = vec![Vec::new(); nodes];
    for node in 0..nodes as u32 {
        for a in graph.leaving(node) {
            enter.get_mut(a as usize)?.push(node);
            coming.get_mut(graph.arc(a)?.target as usize)?.push(a);
        }
    }
    let mut score = vec![NEVER; states];
    *score.get_mut(graph.start as usize)? = 0.0;
    let mut back: Vec<u32> = Vec::with_capacity(frames.len() * states);
    for logp in frames {
        let of = |c: u8| logp.get(usize::from(c)).copied().unwrap_or(NEVER);
        let loudest = logp.iter().skip(1).copied().fold(NEVER, f32::max);
        let mut next = vec![NEVER; states];
        for (state, slot) in next.iter_mut().enumerate() {
            let (mut best, mut from) = (score[state], state as u32);
            let mut offer = |s: u32| {
                let v = score.get(s as usize).copied().unwrap_or(NEVER);
                if v > best {
                    (best, from) = (v, s);
                }
            };
            let own = if state < nodes {
                for &a in coming.get(state)? {
                    offer(nodes as u32 + a);
                }
                let outside = state as u32 == graph.start || graph.can_end(state as u32);
                if outside {
                    of(0).max(loudest - foreign)
                } else {
                    of(0)
                }
            } else {
                let arc = graph.arc((state - nodes) as u32)?;
                for &node in enter.get(state - nodes)? {
                    offer(node);
                    for &a in coming.get(node as usize)? {
                        if graph.arc(a)?.phone != arc.phone {
                            offer(nodes as u32 + a);
                        }
                    }
                }
                of(arc.phone)
            };
            *slot = best + own;
            back.push(from);
        }
        score = next;
    }
    let ends = (0..states).filter(|&s| {
        let node = if s < nodes {
            s as u32
        } else {
            graph.arc((s - nodes) as u32).map_or(0, |a| a.target)
        };
        graph.can_end(node)
    });
    let last = ends.max_by(|&a, &b| score[a].total_cmp(&score[b]))?;
    if score[last] == NEVER {
        return None;
    }
    let mut path = vec![0usize; frames.len()];
    let mut state = last;
    for t in (0..frames.len()).rev() {
        path[t] = state;
        state = *back.get(t * states + state)? as usize;
    }
    Some(measure(graph, frames, &path, nodes))
}

fn measure(graph: &PhoneGraph, frames: &[&[f32]], path: &[usize], nodes: usize) -> Fit {
    let mut out = Fit::default();
    let mut word = WordFit {
        word: NO_WORD,
        from: 0,
        to: 0,
        loss: 0.0,
        worst: 0.0,
        phones: 0,
    };
    let mut phone_loss = 0.0;
    for (t, (&state, logp)) in path.iter().zip(frames).enumerate() {
        let best = logp.iter().copied().fold(NEVER, f32::max);
        let class = |c: u8| logp.get(usize::from(c)).copied().unwrap_or(NEVER);
        if state < nodes {
            let loss = (best - class(0)).min(10.0);
            if graph.is_between(state as u32) {
                out.outside += loss;
            } else {
                word.loss += loss;
                phone_loss += loss;
                word.worst = word.worst.max(phone_loss);
            }
            continue;
        }
        let Some(arc) = graph.arc((state - nodes) as u32) else {
            continue;
        };
        if t == 0 || path.get(t - 1) != Some(&state) {
            if word.phones == 0 {
                word.from = t as u32;
            }
            word.phones += 1;
            phone_loss = 0.0;
        }
        let loss = (best - class(arc.phone)).min(10.0);
        word.loss += loss;
        phone_loss += loss;
        word.worst = word.worst.max(phone_loss);
        word.to = t as u32 + 1;
        if arc.word != NO_WORD && path.get(t + 1) != Some(&state) {
            word.word = arc.word;
            out.words.push(word);
            word = WordFit {
                word: NO_WORD,
                from: 0,
                to: 0,
                loss: 0.0,
                worst: 0.0,
                phones: 0,
            };
        }
    }
    out
}
