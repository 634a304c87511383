//! What is wrong with a plan, where, and what to write instead.

use std::collections::BTreeMap;
use std::fmt;

/// A place in the file as an editor counts it: both from 1, columns in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Mark {
    pub line: usize,
    pub column: usize,
}

impl Mark {
    pub const START: Mark = Mark { line: 1, column: 1 };
}

/// One thing wrong, with its place and its remedy. `Display` gives
/// `file:line:column: what; write: ...`, which editors turn into a link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    pub file: String,
    /// From 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
    pub what: String,
    pub write_instead: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}:{}:{}: {}; write: {}",
            self.file, self.line, self.column, self.what, self.write_instead
        )
    }
}

impl std::error::Error for Problem {}

/// What is wrong with one value, before anyone knows where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    pub what: String,
    pub write_instead: String,
}

impl Fault {
    pub fn new(what: impl Into<String>, write_instead: impl Into<String>) -> Fault {
        Fault {
            what: what.into(),
            write_instead: write_instead.into(),
        }
    }
}

/// Where each key of the plan stands, so that rooms which judge a finished plan
/// (quantities, schedule, safety) can point at the line they mean.
///
/// A path is `items/chop/thickness`, `steps/fry_left/holds/0`, or a shorter
/// prefix of one: section, identifier, key, index.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Marks(BTreeMap<String, Mark>);

impl Marks {
    pub(super) fn put(&mut self, path: impl Into<String>, at: Mark) {
        self.0.entry(path.into()).or_insert(at);
    }

    /// The mark of `path`, or of the nearest thing around it that the file has.
    pub fn nearest(&self, path: &str) -> Mark {
        let mut path = path;
        loop {
            if let Some(at) = self.0.get(path) {
                return *at;
            }
            match path.rfind('/') {
                Some(slash) => path = &path[..slash],
                None => return Mark::START,
            }
        }
    }

    /// The last thing of the file that stands at `at` or before it, and whether it stands
    /// right there.
    pub fn path_at(&self, at: Mark) -> Option<(&str, bool)> {
        let key = |mark: &Mark| (mark.line, mark.column);
        self.0
            .iter()
            .filter(|(_, mark)| key(mark) <= key(&at))
            .max_by_key(|(_, mark)| key(mark))
            .map(|(path, mark)| (path.as_str(), key(mark) == key(&at)))
    }

    /// The mark of exactly this path, if the file has it.
    pub fn exact(&self, path: &str) -> Option<Mark> {
        self.0.get(path).copied()
    }
}

/// Collects problems while a plan is read; nothing stops at the first.
#[derive(Debug)]
pub(super) struct Desk<'a> {
    file: &'a str,
    problems: Vec<Problem>,
    pub(super) warnings: Vec<Problem>,
    pub(super) marks: Marks,
}

/// More than a cook reads at once; a file with this many is not nearly a plan.
const MOST_PROBLEMS: usize = 200;

impl<'a> Desk<'a> {
    pub(super) fn new(file: &'a str) -> Desk<'a> {
        Desk {
            file,
            problems: Vec::new(),
            warnings: Vec::new(),
            marks: Marks::default(),
        }
    }

    fn make(&self, at: Mark, what: String, write_instead: String) -> Problem {
        Problem {
            file: self.file.to_owned(),
            line: at.line,
            column: at.column,
            what: one_line(&what),
            write_instead: one_line(&write_instead),
        }
    }

    pub(super) fn problem(
        &mut self,
        at: Mark,
        what: impl Into<String>,
        write_instead: impl Into<String>,
    ) {
        if self.problems.len() < MOST_PROBLEMS {
            let problem = self.make(at, what.into(), write_instead.into());
            self.problems.push(problem);
        }
    }

    pub(super) fn fault(&mut self, at: Mark, fault: Fault) {
        self.problem(at, fault.what, fault.write_instead);
    }

    pub(super) fn warn(
        &mut self,
        at: Mark,
        what: impl Into<String>,
        write_instead: impl Into<String>,
    ) {
        if self.warnings.len() < MOST_PROBLEMS {
            let warning = self.make(at, what.into(), write_instead.into());
            self.warnings.push(warning);
        }
    }

    pub(super) fn count(&self) -> usize {
        self.problems.len()
    }

    /// The problems in file order, each once.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
        self.problems
            .sort_by(|a, b| (a.line, a.column, &a.what).cmp(&(b.line, b.column, &b.what)));
        self.problems.dedup();
        self.problems
    }
}

/// What a file holds may be shown in a message, but not fill the screen.
fn one_line(text: &str) -> String {
    const MOST: usize = 400;
    let mut out: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .take(MOST)
        .collect();
    if text.chars().count() > MOST {
        out.push_str("...");
    }
    out
}

/// The known word nearest to a mistyped one, if any is near enough to be meant.
pub(super) fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let plain = |text: &str| text.to_lowercase().replace(['_', '-'], " ");
    let word = plain(word);
    known
        .into_iter()
        .map(|k| (strsim::damerau_levenshtein(&word, &plain(k)), k))
        .filter(|(distance, k)| *distance <= 1 + k.chars().count() / 3)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k)
}
