//! A grammar in the library's finite-state text format.

use std::collections::HashMap;
use std::fmt::Write;

use crate::grammar::Automaton;

/// `names`: the dictionary's name of each word of the grammar that can be heard; arcs
/// with other words are left out, and with them their sentences.
///
/// The states are the grammar's and one more, where all sentences end. Every way on
/// from a state is as likely as the next, as with JSGF alternatives without weights;
/// weights of the grammar come on top.
pub fn text(graph: &Automaton, names: &HashMap<String, String>) -> String {
    let end = graph.states();
    let mut out = String::new();
    // Writing to a String does not fail.
    let _ = writeln!(
        out,
        "FSG_BEGIN calls\nN {}\nS {}\nF {end}",
        end + 1,
        graph.start()
    );
    for state in 0..end {
        let fan = graph.arcs(state).len() + usize::from(graph.is_final(state).is_some());
        let even = 1.0 / fan.max(1) as f64;
        for arc in graph.arcs(state) {
            if let Some(name) = names.get(graph.word(arc.word)) {
                let p = (even * f64::from(arc.weight).exp()).clamp(1e-9, 1.0);
                let _ = writeln!(out, "T {state} {} {p:e} {name}", arc.target);
            }
        }
        if graph.is_final(state).is_some() {
            let _ = writeln!(out, "T {state} {end} 1.0");
        }
    }
    out.push_str("FSG_END\n");
    out
}
