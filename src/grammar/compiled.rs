//! A grammar ready for use: compiled rules, and every question one may ask of them.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use super::active::ActiveSet;
use super::automaton::{Automaton, Parse, Prefix};
use super::call::Call;
use super::error::{Error, Pos, Result};
use super::jsgf::{self, Source};
use super::typed::{self, Speller};
use super::{export, meaning, names};
use crate::plan::Plan;

/// A compiled grammar. Clones are cheap and share everything; it can be used from
/// several threads.
#[derive(Debug, Clone)]
pub struct Grammar {
    inner: Arc<Inner>,
}

#[derive(Debug)]
struct Inner {
    source: Source,
    warnings: Vec<Error>,
    /// The rules that a sentence may be made of.
    start: Vec<String>,
    graph: Automaton,
    acceptor: OnceLock<Automaton>,
    speller: OnceLock<Speller>,
    abbreviations: OnceLock<BTreeMap<String, Vec<String>>>,
}

impl Grammar {
    /// Any JSGF text; a sentence may be said by any of its public rules. `file` is
    /// for messages only.
    ///
    /// # Errors
    /// The first thing wrong with the text, with its place and what to write.
    pub fn from_jsgf(text: &str, file: &str) -> Result<Grammar> {
        let (source, warnings) = jsgf::read(file, text)?;
        let start: Vec<String> = source.public_names().map(str::to_string).collect();
        Grammar::build(source, warnings, start)
    }

    /// As [`Grammar::from_jsgf`], from the bytes of a file: a byte order mark or the
    /// encoding named in the header is followed, else UTF-8.
    pub fn from_bytes(bytes: &[u8], file: &str) -> Result<Grammar> {
        Grammar::from_jsgf(&jsgf::text_of(file, bytes)?, file)
    }

    /// The calls of one language (`en`, `ko`) with the names that a plan gives to its
    /// things.
    ///
    /// # Errors
    /// No grammar for the language, or a name in the plan that cannot be said.
    pub fn for_plan(language: &str, plan: &Plan) -> Result<Grammar> {
        let (source, warnings) = names::with_plan(language, plan)?;
        let start: Vec<String> = source.public_names().map(str::to_string).collect();
        Grammar::build(source, warnings, start)
    }

    /// The calls of one language with no plan: no names but the general ones.
    pub fn of_language(language: &str) -> Result<Grammar> {
        let (file, text) = names::embedded(language)?;
        Grammar::from_jsgf(text, file)
    }

    fn build(source: Source, warnings: Vec<Error>, start: Vec<String>) -> Result<Grammar> {
        let graph = Automaton::compile(&source, &start)?;
        if graph.is_empty() {
            return Err(Error::at(
                &source.file,
                Pos::default(),
                format!(
                    "nothing can be said: <{}> matches nothing",
                    start.join(">, <")
                ),
                "give one of the public rules words that can be said",
            ));
        }
        Ok(Grammar {
            inner: Arc::new(Inner {
                source,
                warnings,
                start,
                graph,
                acceptor: OnceLock::new(),
                speller: OnceLock::new(),
                abbreviations: OnceLock::new(),
            }),
        })
    }

    /// All problems of a text in one go, slips of the pen included; empty if it is sound.
    pub fn problems(text: &str, file: &str) -> Vec<Error> {
        let mut problems = jsgf::problems(file, text);
        if problems.is_empty() {
            problems.extend(Grammar::from_jsgf(text, file).err());
        }
        problems
    }

    /// The same grammar with only some of its rules active. Rules that it lacks are left
    /// out: a language need not have words for every kind of answer.
    ///
    /// # Errors
    /// None of the rules exists, or none can be said.
    pub fn restricted(&self, active: &ActiveSet) -> Result<Grammar> {
        let names = active.names();
        let known: Vec<&String> = names.iter().filter(|n| self.has_rule(n)).collect();
        match known.is_empty() {
            true => self.starting_at(names),
            false => self.starting_at(&known),
        }
    }

    /// The same grammar with sentences made of the given rules, public or not: the
    /// numbers alone, say.
    pub fn starting_at<S: AsRef<str>>(&self, rules: &[S]) -> Result<Grammar> {
        Grammar::build(
            self.inner.source.clone(),
            self.inner.warnings.clone(),
            rules.iter().map(|r| r.as_ref().to_string()).collect(),
        )
    }

    pub fn has_rule(&self, name: &str) -> bool {
        self.inner.source.index.contains_key(name)
    }

    /// Full name as declared.
    pub fn name(&self) -> &str {
        &self.inner.source.name
    }

    /// Language tag of the header (`en`, `en-US`, `ko`), if it has one.
    pub fn locale(&self) -> Option<&str> {
        self.inner.source.locale.as_deref()
    }

    /// The public rules that are active.
    pub fn active(&self) -> &[String] {
        &self.inner.start
    }

    /// Slips of the pen that are no reason to refuse the grammar.
    pub fn warnings(&self) -> &[Error] {
        &self.inner.warnings
    }

    /// The graph with tags: one arc for each word and meaning.
    pub fn automaton(&self) -> &Automaton {
        &self.inner.graph
    }

    /// The graph for a decoder: no tags, each word leaves a state at most once, as few
    /// states as can be. Made on first use.
    pub fn acceptor(&self) -> &Automaton {
        self.inner.acceptor.get_or_init(|| {
            // A graph that cannot be determined within the limits serves as it is.
            self.inner
                .graph
                .determined()
                .unwrap_or_else(|| self.inner.graph.clone())
        })
    }

    /// Whether these are the words of a whole sentence.
    pub fn accepts(&self, words: &str) -> bool {
        self.inner.graph.accepts(words.split_whitespace())
    }

    /// All readings of a sentence, likeliest first; none if it is not of the grammar.
    pub fn parse(&self, words: &str) -> Vec<Parse> {
        self.inner.graph.parse(words.split_whitespace())
    }

    /// The tags of each reading, as written in the grammar.
    pub fn tags(&self, words: &str) -> Vec<Vec<String>> {
        self.parse(words)
            .into_iter()
            .map(|p| p.tags.into_iter().map(|t| t.text).collect())
            .collect()
    }

    /// What the words call, by the tags of this project's grammars: one call, or more
    /// where the words leave it open ("left" as a place of two kinds of vessel), or
    /// none where they are not of the grammar.
    pub fn calls(&self, words: &str) -> Vec<Call> {
        let mut calls = Vec::new();
        for parse in self.parse(words) {
            if let Ok(call) = meaning::call(&parse.tags)
                && !calls.contains(&call)
            {
                calls.push(call);
            }
        }
        calls
    }

    /// As [`Grammar::calls`], telling of readings whose tags make no call.
    pub fn meanings(&self, words: &str) -> Vec<std::result::Result<Call, meaning::NoCall>> {
        self.parse(words)
            .iter()
            .map(|p| meaning::call(&p.tags))
            .collect()
    }

    /// Sentences with more than one call, each with its calls: names of a plan that
    /// collide with one another or with the words of the calls. One shortest sentence
    /// for each way in which readings come apart, at most `limit`.
    pub fn double_meanings(&self, limit: usize) -> Vec<(String, Vec<Call>)> {
        self.inner
            .graph
            .double_ways(usize::MAX)
            .into_iter()
            .filter_map(|words| {
                let calls = self.calls(&words);
                (calls.len() > 1).then_some((words, calls))
            })
            .take(limit)
            .collect()
    }

    /// A typed line to the sentence that it stands for: case, punctuation, digits and
    /// abbreviations resolved. `None` if no sentence fits.
    pub fn typed(&self, line: &str) -> Option<String> {
        typed::sentence(self, line)
    }

    /// What a typed line calls. The text after the word for a note is kept as typed.
    pub fn calls_typed(&self, line: &str) -> Vec<Call> {
        typed::calls(self, line)
    }

    /// Whether a sentence can begin with these words, end there, and go on with what.
    pub fn prefix(&self, words: &str) -> Prefix<'_> {
        self.inner.graph.prefix(words.split_whitespace())
    }

    /// Every word that can be said, each once, in the order of the grammar.
    pub fn vocabulary(&self) -> Vec<&str> {
        self.inner
            .graph
            .words()
            .iter()
            .map(String::as_str)
            .collect()
    }

    /// The active rules as one self-contained JSGF text with one public rule `<call>`:
    /// lower case, no tags, no rule that cannot be said.
    pub fn to_jsgf(&self) -> String {
        export::jsgf(&self.inner.source, &self.inner.start)
    }

    /// Phrases for a recogniser that learns word pairs from examples: every sentence if
    /// there are at most `limit`, else few in which every pair of neighbouring words
    /// occurs. Add its word for "anything else" (`[unk]`) if it has one.
    ///
    /// # Errors
    /// Even the few are more than `limit`.
    pub fn phrases(&self, limit: usize) -> Result<Vec<String>> {
        let all = self.sentences(limit.saturating_add(1));
        let loops = all.iter().any(|s| s.split(' ').count() >= LONG);
        if all.len() <= limit && !loops {
            return Ok(all);
        }
        self.acceptor().covering(limit).ok_or_else(|| {
            Error::at(
                &self.inner.source.file,
                Pos::default(),
                format!("more than {limit} phrases are needed to cover the grammar"),
                "activate fewer rules, or allow more phrases",
            )
        })
    }

    /// The first `limit` sentences, each once; repeats are followed up to 30 words.
    pub fn sentences(&self, limit: usize) -> Vec<String> {
        self.acceptor()
            .all_sentences(limit, LONG)
            .into_iter()
            .filter(|s| !s.is_empty())
            .collect()
    }

    /// A sentence drawn at random; the same for the same seed.
    pub fn sentence(&self, seed: u64) -> String {
        self.inner.graph.random_sentence(seed, 20).join(" ")
    }

    /// Every wording of `value` by the rule `<number>`, shortest first; none for a
    /// number that has no wording, or a grammar without that rule.
    pub fn say_number(&self, value: f64) -> Vec<String> {
        super::number::thousandths(&value.to_string())
            .map_or_else(Vec::new, |v| self.speller().say(v))
    }

    pub(super) fn speller(&self) -> &Speller {
        self.inner
            .speller
            .get_or_init(|| Speller::new(&self.inner.source).unwrap_or_default())
    }

    pub(super) fn abbreviations(&self) -> &BTreeMap<String, Vec<String>> {
        self.inner
            .abbreviations
            .get_or_init(|| typed::abbreviations(&self.inner.source))
    }
}

/// Longest sentence that enumeration follows, in words.
const LONG: usize = 30;
