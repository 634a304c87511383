//! One group of keys, read key by key; what nobody asked for is reported at the end.

use super::names::short;
use super::problem::{Desk, Fault, Mark, nearest};
use super::quantity::Reading;
use super::tree::{Entry, Node, Value};

pub(super) struct Table<'t> {
    /// Where problems with the group as a whole belong: its name.
    at: Mark,
    /// For messages: "the step `brine`".
    what: String,
    /// For marks: `steps/brine`.
    path: String,
    entries: &'t [Entry],
    known: Vec<&'static str>,
}

impl<'t> Table<'t> {
    /// `None`, with a problem, when the node is no group of keys.
    pub(super) fn open(
        node: &'t Node,
        at: Mark,
        what: impl Into<String>,
        path: impl Into<String>,
        desk: &mut Desk<'_>,
    ) -> Option<Table<'t>> {
        let what = what.into();
        let path = path.into();
        let entries: &[Entry] = match &node.value {
            Value::Map(entries) => entries,
            Value::Nothing => &[],
            other => {
                desk.problem(
                    node.at,
                    format!("{what} is {}", other.kind()),
                    "keys below it, each `key: value` on a line of its own, indented",
                );
                return None;
            }
        };
        desk.marks.put(path.clone(), at);
        Some(Table {
            at,
            what,
            path,
            entries,
            known: Vec::new(),
        })
    }

    /// The node behind a key, if it is there with a value; an empty one is a problem.
    pub(super) fn node(&mut self, key: &'static str, desk: &mut Desk<'_>) -> Option<&'t Node> {
        self.known.push(key);
        let entry = self.entries.iter().find(|entry| entry.key == key)?;
        if entry.value.value == Value::Nothing {
            desk.problem(
                entry.at,
                format!("`{key}` has no value"),
                format!("a value after `{key}:`, or leave the line out"),
            );
            return None;
        }
        desk.marks.put(self.path_of(key), entry.value.at);
        Some(&entry.value)
    }

    pub(super) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}/{key}", self.path)
        }
    }

    /// Plain words behind a key.
    pub(super) fn text(
        &mut self,
        key: &'static str,
        desk: &mut Desk<'_>,
    ) -> Option<(String, Mark)> {
        let node = self.node(key, desk)?;
        text_of(node, key, desk).map(|text| (text, node.at))
    }

    /// A value that a reader of quantities understands.
    pub(super) fn read<T>(
        &mut self,
        key: &'static str,
        desk: &mut Desk<'_>,
        reader: impl Fn(&str) -> Reading<T>,
    ) -> Option<T> {
        let (text, at) = self.text(key, desk)?;
        match reader(&text) {
            Ok(value) => Some(value),
            Err(fault) => {
                desk.problem(at, format!("`{key}`: {}", fault.what), fault.write_instead);
                None
            }
        }
    }

    /// One of a few words.
    pub(super) fn choose<T: Copy>(
        &mut self,
        key: &'static str,
        desk: &mut Desk<'_>,
        choices: &[(&'static str, T)],
    ) -> Option<T> {
        self.read(key, desk, |text| choose(text, choices))
    }

    /// One text or a list of texts.
    pub(super) fn texts(&mut self, key: &'static str, desk: &mut Desk<'_>) -> Vec<(String, Mark)> {
        let Some(node) = self.node(key, desk) else {
            return Vec::new();
        };
        let path = self.path_of(key);
        let nodes = match &node.value {
            Value::List(nodes) => nodes.as_slice(),
            _ => std::slice::from_ref(node),
        };
        let mut texts = Vec::new();
        for (index, node) in nodes.iter().enumerate() {
            desk.marks.put(format!("{path}/{index}"), node.at);
            if let Some(text) = text_of(node, key, desk) {
                texts.push((text, node.at));
            }
        }
        texts
    }

    /// A key that must be there.
    /// `instead` is the line to write, with what else may stand there.
    pub(super) fn missing(&self, key: &str, instead: &str, desk: &mut Desk<'_>) {
        if !self.has(key) {
            desk.problem(self.at, format!("{} has no `{key}`", self.what), instead);
        }
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|entry| entry.key == key)
    }

    /// Where a key itself stands, for problems with its being there at all.
    pub(super) fn key_at(&self, key: &str) -> Mark {
        self.entries
            .iter()
            .find(|entry| entry.key == key)
            .map_or(self.at, |entry| entry.at)
    }

    /// Reports every key that nobody asked for.
    pub(super) fn close(self, desk: &mut Desk<'_>) {
        for entry in self.entries {
            if self.known.contains(&entry.key.as_str()) {
                continue;
            }
            let key = short(&entry.key);
            // `{mass: 1,5 kg}`: inside braces a comma begins the next key.
            if entry.value.value == Value::Nothing && key.starts_with(|c: char| c.is_ascii_digit())
            {
                desk.problem(
                    entry.at,
                    format!("`{key}` stands where a key must stand, after a comma"),
                    "a point for the decimals, and text with a comma in double quotes",
                );
                continue;
            }
            match nearest(&entry.key, self.known.iter().copied()) {
                Some(meant) => desk.problem(
                    entry.at,
                    format!("{} knows no key `{key}`", self.what),
                    format!("`{meant}`"),
                ),
                None => desk.problem(
                    entry.at,
                    format!("{} knows no key `{key}`", self.what),
                    format!("one of: {}", self.known.join(", ")),
                ),
            }
        }
    }
}

/// The things of a section by name: `items:`, then a name on each line.
pub(super) fn named<'t>(node: &'t Node, section: &str, desk: &mut Desk<'_>) -> Vec<&'t Entry> {
    match &node.value {
        Value::Map(entries) => entries.iter().collect(),
        other => {
            desk.problem(
                node.at,
                format!("`{section}` is {}", other.kind()),
                format!("a name for each of the {section}, indented, with a colon, and its keys below it"),
            );
            Vec::new()
        }
    }
}

pub(super) fn choose<T: Copy>(text: &str, choices: &[(&'static str, T)]) -> Reading<T> {
    let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some((_, value)) = choices
        .iter()
        .find(|(word, _)| word.eq_ignore_ascii_case(&plain))
    {
        return Ok(*value);
    }
    let words = || choices.iter().map(|(word, _)| *word);
    let instead = match nearest(&plain, words()) {
        Some(meant) => meant.to_owned(),
        None => words().collect::<Vec<_>>().join(" or "),
    };
    Err(Fault::new(
        format!("`{}` is not one of its words", short(text)),
        instead,
    ))
}

pub(super) fn text_of(node: &Node, key: &str, desk: &mut Desk<'_>) -> Option<String> {
    match &node.value {
        Value::Text(text) => Some(text.trim().to_owned()),
        Value::Nothing => {
            desk.problem(
                node.at,
                format!("`{key}` has an empty place"),
                "a value there, or leave it out",
            );
            None
        }
        other => {
            desk.problem(
                node.at,
                format!("`{key}` is {}", other.kind()),
                format!("`{key}:` and words after it on the same line"),
            );
            None
        }
    }
}
