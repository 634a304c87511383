//! Typed lines → sentences of the grammar. A typed line is a spoken one with digits,
//! abbreviations and punctuation; what each stands for is looked for in the grammar
//! itself, so that a new language brings its own.
//!
//! The rule `<typed>` of a grammar lists what is only ever typed, tagged with what it
//! stands for: `min {minutes}`. It is never spoken and never active.

use std::collections::{BTreeMap, BTreeSet};

use super::automaton::{Automaton, State};
use super::call::Call;
use super::compiled::Grammar;
use super::error::Result;
use super::jsgf::{Node, Source};
use super::limits;
use super::number::thousandths;

/// Tries at fitting one line; far more than any line needs.
const MOST_TRIES: usize = 20_000;

/// Spells digits the way the rule `<number>` says them.
#[derive(Debug, Default)]
pub struct Speller {
    numbers: Option<Automaton>,
}

impl Speller {
    pub fn new(source: &Source) -> Result<Speller> {
        let numbers = match source.index.contains_key("number") {
            true => Some(Automaton::compile(source, &["number".to_string()])?),
            false => None,
        };
        Ok(Speller { numbers })
    }

    /// Every wording of a value in thousandths, shortest first.
    pub fn say(&self, value: i64) -> Vec<String> {
        self.numbers
            .as_ref()
            .map_or_else(Vec::new, |n| n.sentences_worth(value))
    }

    /// The spoken words of a name as written in a plan: "Pot #2" is "pot two".
    pub fn words(&self, name: &str) -> Vec<String> {
        let mut words = Vec::new();
        for piece in pieces(name) {
            match piece {
                Piece::Word(word) => words.push(word),
                Piece::Number(value) => {
                    let said = self.say(value).into_iter().next().unwrap_or_default();
                    words.extend(said.split_whitespace().map(str::to_string));
                }
                Piece::Sign(_) | Piece::Negative => {}
            }
        }
        words
    }
}

#[derive(Debug, Clone, PartialEq)]
enum Piece {
    /// Lower case, with inner apostrophes.
    Word(String),
    /// Thousandths.
    Number(i64),
    Sign(char),
    /// A number below zero: no cook calls one, and it must not lose its sign.
    Negative,
}

/// Signs that may be left out without changing what a line means.
const SILENT: &str = ".,!?;:'\"()…-";

/// Cuts a line where letters, digits and signs meet.
fn pieces(line: &str) -> Vec<Piece> {
    let chars: Vec<char> = line
        .chars()
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '\u{2018}' | '\u{2019}' => '\'',
            '\u{2012}'..='\u{2015}' => '-',
            _ => c,
        })
        .collect();
    let mut pieces = Vec::new();
    let mut i = 0;
    let at = |i: usize| chars.get(i).copied().unwrap_or(' ');
    while i < chars.len() {
        let begin = i;
        if at(i).is_ascii_digit() {
            while at(i).is_ascii_digit() {
                i += 1;
            }
            if matches!(at(i), '.' | ',') && at(i + 1).is_ascii_digit() {
                i += 1;
                while at(i).is_ascii_digit() {
                    i += 1;
                }
            }
            let text: String = chars[begin..i].iter().collect();
            match thousandths(&text.replace(',', ".")) {
                Some(value) => pieces.push(Piece::Number(value)),
                None => pieces.push(Piece::Word(text)),
            }
        } else if at(i).is_alphanumeric() {
            // Apostrophes belong to the word only between its letters.
            let inside = |i: usize| {
                let c = at(i);
                c.is_alphanumeric() && !c.is_ascii_digit()
                    || c == '\'' && at(i + 1).is_alphanumeric()
            };
            while inside(i) {
                i += 1;
            }
            pieces.push(Piece::Word(chars[begin..i].iter().collect()));
        } else {
            let range = matches!(pieces.last(), Some(Piece::Number(_)));
            match at(i) {
                '-' | '\u{2212}' if at(i + 1).is_ascii_digit() && !range => {
                    pieces.push(Piece::Negative);
                }
                c if !c.is_whitespace() => pieces.push(Piece::Sign(c)),
                _ => {}
            }
            i += 1;
        }
    }
    pieces
}

/// The sentence that a typed line stands for, if one fits.
pub fn sentence(grammar: &Grammar, line: &str) -> Option<String> {
    let pieces = pieces(line);
    if pieces.len() > limits::SENTENCE_WORDS {
        return None;
    }
    let fit = Fit::new(grammar);
    let ways: Vec<Vec<Vec<u32>>> = pieces.iter().map(|p| fit.ways(p)).collect();
    let graph = grammar.automaton();
    let mut search = Search {
        graph,
        ways: &ways,
        words: Vec::new(),
        tries: 0,
    };
    search.from(0, &BTreeSet::from([0])).then(|| {
        let words: Vec<&str> = search.words.iter().map(|&w| graph.word(w)).collect();
        words.join(" ")
    })
}

/// What a typed line calls. A line that begins like the call for a note keeps the
/// rest as its text.
pub fn calls(grammar: &Grammar, line: &str) -> Vec<Call> {
    if let Some(words) = sentence(grammar, line) {
        return grammar.calls(&words);
    }
    let line = line.trim();
    for (i, _) in line.match_indices(char::is_whitespace).take(8) {
        let (head, rest) = line.split_at(i);
        let Some(words) = sentence(grammar, head) else {
            continue;
        };
        if grammar.calls(&words) == [Call::Note { text: None }] {
            let text = rest.trim_matches(|c: char| c.is_whitespace() || ":,-".contains(c));
            return vec![Call::Note {
                text: Some(text.to_string()),
            }];
        }
    }
    Vec::new()
}

/// How pieces can be said with the words of a grammar.
struct Fit<'a> {
    graph: &'a Automaton,
    speller: &'a Speller,
    abbreviations: &'a BTreeMap<String, Vec<String>>,
    /// Words by their spelling without apostrophes.
    plain: BTreeMap<String, Vec<u32>>,
}

impl<'a> Fit<'a> {
    fn new(grammar: &'a Grammar) -> Self {
        let graph = grammar.automaton();
        let mut plain: BTreeMap<String, Vec<u32>> = BTreeMap::new();
        for (i, word) in graph.words().iter().enumerate() {
            let key = word.to_lowercase().replace('\'', "");
            plain.entry(key).or_default().push(i as u32);
        }
        Fit {
            graph,
            speller: grammar.speller(),
            abbreviations: grammar.abbreviations(),
            plain,
        }
    }

    fn indices(&self, text: &str) -> Option<Vec<u32>> {
        text.split_whitespace()
            .map(|w| self.graph.word_index(w))
            .collect()
    }

    fn ways(&self, piece: &Piece) -> Vec<Vec<u32>> {
        match piece {
            Piece::Number(value) => self
                .speller
                .say(*value)
                .iter()
                .filter_map(|words| self.indices(words))
                .collect(),
            Piece::Negative => Vec::new(),
            Piece::Sign(sign) => {
                let mut ways = self.stands_for(&sign.to_string());
                if SILENT.contains(*sign) {
                    ways.push(Vec::new());
                }
                ways
            }
            Piece::Word(word) => {
                let mut ways: Vec<Vec<u32>> = Vec::new();
                if let Some(i) = self.graph.word_index(word) {
                    ways.push(vec![i]);
                }
                let plain = word.replace('\'', "");
                for &i in self.plain.get(&plain).into_iter().flatten() {
                    if !ways.contains(&vec![i]) {
                        ways.push(vec![i]);
                    }
                }
                ways.extend(self.stands_for(word));
                if ways.is_empty() {
                    ways.extend(self.split(word));
                }
                ways
            }
        }
    }

    fn stands_for(&self, typed: &str) -> Vec<Vec<u32>> {
        self.abbreviations
            .get(typed)
            .into_iter()
            .flatten()
            .filter_map(|words| self.indices(words))
            .collect()
    }

    /// A word that is several words written together, in the fewest words.
    fn split(&self, word: &str) -> Option<Vec<u32>> {
        let ends: Vec<usize> = word
            .char_indices()
            .map(|(i, _)| i)
            .skip(1)
            .chain([word.len()])
            .take(64)
            .collect();
        let mut best: BTreeMap<usize, Vec<u32>> = BTreeMap::from([(0, Vec::new())]);
        for &end in &ends {
            let found = best
                .iter()
                .filter_map(|(&begin, words)| {
                    let piece = word.get(begin..end)?;
                    let mut words = words.clone();
                    words.push(self.graph.word_index(piece)?);
                    Some(words)
                })
                .min_by_key(Vec::len);
            if let Some(words) = found {
                best.insert(end, words);
            }
        }
        best.remove(&word.len()).filter(|w| !w.is_empty())
    }
}

struct Search<'a> {
    graph: &'a Automaton,
    ways: &'a [Vec<Vec<u32>>],
    words: Vec<u32>,
    tries: usize,
}

impl Search<'_> {
    /// Whether the pieces from `at` on can be said from `states`; leaves their words.
    fn from(&mut self, at: usize, states: &BTreeSet<State>) -> bool {
        self.tries += 1;
        if self.tries > MOST_TRIES {
            return false;
        }
        let Some(ways) = self.ways.get(at) else {
            let ends = states.iter().any(|&s| self.graph.is_final(s).is_some());
            return ends && !self.words.is_empty();
        };
        for way in ways {
            let mut next = states.clone();
            for &word in way {
                next = self.graph.step(&next, word);
            }
            if next.is_empty() {
                continue;
            }
            let length = self.words.len();
            self.words.extend(way);
            if self.from(at + 1, &next) {
                return true;
            }
            self.words.truncate(length);
        }
        false
    }
}

/// What the rule `<typed>` lists: typed → the wordings that it stands for.
pub fn abbreviations(source: &Source) -> BTreeMap<String, Vec<String>> {
    let mut list: BTreeMap<String, Vec<String>> = BTreeMap::new();
    if let Some(rule) = source.rule(RULE) {
        rule.body.visit(&mut |node| {
            if let Node::Tagged(typed, stands_for) = node
                && let Node::Word(typed) = &**typed
            {
                list.entry(typed.to_lowercase())
                    .or_default()
                    .push(stands_for.clone());
            }
        });
    }
    list
}

/// Name of the rule that holds what is only typed.
pub const RULE: &str = "typed";
