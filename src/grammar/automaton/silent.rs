//! Takes the silent arcs out of a net. What a silent stretch marks is put before the
//! next word, or at the end of the sentence.

use std::collections::{BTreeMap, HashMap};

use super::build::{END, Marks, Net, START};
use super::{Arc, Automaton, Final};
use crate::grammar::error::{Error, Pos, Result};
use crate::grammar::jsgf::Source;
use crate::grammar::limits;

pub fn remove(source: &Source, mut net: Net) -> Result<Automaton> {
    // Only these are left: where sentences begin and where words arrive.
    let mut number: Vec<Option<u32>> = vec![None; net.arcs.len()];
    let mut kept = vec![START];
    number[START as usize] = Some(0);
    for arc in net.arcs.iter().flatten().filter(|a| a.word.is_some()) {
        let slot = &mut number[arc.target as usize];
        if slot.is_none() {
            *slot = Some(kept.len() as u32);
            kept.push(arc.target);
        }
    }
    let mut automaton = Automaton {
        words: std::mem::take(&mut net.words),
        arcs: Vec::with_capacity(kept.len()),
        finals: Vec::with_capacity(kept.len()),
        ..Automaton::default()
    };
    automaton.index_words();
    let mut steps = 0;
    let mut arc_count = 0;
    let most_steps = limits::SILENT_STEPS + limits::SILENT_STEPS_A_STATE * kept.len();
    for &state in &kept {
        let reached = closure(&mut net, state, &mut steps, most_steps);
        let mut arcs = Vec::new();
        let mut finals = Vec::new();
        for (&(at, before), &weight) in &reached {
            if at == END {
                finals.push(Final {
                    weight,
                    marks: before,
                });
            }
            for arc in &net.arcs[at as usize] {
                if let (Some(word), Some(target)) = (arc.word, number[arc.target as usize]) {
                    arcs.push(Arc {
                        word,
                        weight: weight + arc.weight,
                        target,
                        before,
                        after: arc.marks,
                    });
                }
            }
        }
        arc_count += arcs.len();
        if steps > most_steps || arc_count > limits::ARCS {
            return Err(Error::at(
                &source.file,
                Pos::default(),
                "the grammar has too many ways to say nothing",
                "use fewer optional parts and repeats side by side, and no tag on what can be empty",
            ));
        }
        automaton.arcs.push(arcs);
        automaton.finals.push(finals);
    }
    automaton.keep_marks(&net.marks);
    Ok(automaton)
}

impl Automaton {
    /// Numbers the lists of marks anew: only those that are on an arc or an end.
    fn keep_marks(&mut self, all: &Marks) {
        let mut new: HashMap<u32, u32> = HashMap::from([(0, 0)]);
        let mut kept = vec![Vec::new()];
        let mut renumber = |list: &mut u32| {
            *list = *new.entry(*list).or_insert_with(|| {
                kept.push(all.list(*list));
                kept.len() as u32 - 1
            });
        };
        for arc in self.arcs.iter_mut().flatten() {
            renumber(&mut arc.before);
            renumber(&mut arc.after);
        }
        for end in self.finals.iter_mut().flatten() {
            renumber(&mut end.marks);
        }
        self.marks = kept;
    }
}

/// Where silence leads from `from`: state and marks on the way, with the best weight.
/// A loop that only repeats its tags in silence is walked once.
fn closure(
    net: &mut Net,
    from: u32,
    steps: &mut usize,
    most_steps: usize,
) -> BTreeMap<(u32, u32), f32> {
    let mut best = BTreeMap::from([((from, 0), 0.0f32)]);
    let mut path = vec![(from, 0u32, 0.0f32, 0usize)];
    while let Some(&mut (state, marks, weight, ref mut next)) = path.last_mut() {
        let Some(arc) = net.arcs[state as usize].get(*next).copied() else {
            path.pop();
            continue;
        };
        *next += 1;
        *steps += 1;
        if *steps > most_steps {
            break;
        }
        if arc.word.is_some() || path.iter().any(|&(s, ..)| s == arc.target) {
            continue;
        }
        let marks = net.marks.join(marks, arc.marks);
        *steps += net.marks.length(marks);
        let weight = weight + arc.weight;
        match best.get(&(arc.target, marks)) {
            Some(&known) if known >= weight => continue,
            _ => {
                best.insert((arc.target, marks), weight);
            }
        }
        path.push((arc.target, marks, weight, 0));
    }
    best
}
