//! Rule tree → net: every reference is replaced by what its rule says, and each
//! piece becomes word arcs and silent arcs between two states.

use std::collections::HashMap;

use super::Mark;
use crate::grammar::error::{Error, Pos, Result};
use crate::grammar::jsgf::{self, Node, Source};
use crate::grammar::limits;

/// The net while silent arcs are still in it. Sentences go from state 0 to state 1.
pub struct Net {
    pub words: Vec<String>,
    pub marks: Marks,
    pub arcs: Vec<Vec<NetArc>>,
}

pub const START: u32 = 0;
pub const END: u32 = 1;

#[derive(Debug, Clone, Copy)]
pub struct NetArc {
    pub word: Option<u32>,
    /// After the word, or instead of one.
    pub marks: u32,
    pub weight: f32,
    pub target: u32,
}

/// Marks and lists of them, each kept once; number 0 is the empty list.
pub struct Marks {
    marks: Vec<Mark>,
    mark_index: HashMap<Mark, u32>,
    lists: Vec<Vec<u32>>,
    list_index: HashMap<Vec<u32>, u32>,
}

impl Marks {
    fn new() -> Self {
        Marks {
            marks: Vec::new(),
            mark_index: HashMap::new(),
            lists: vec![Vec::new()],
            list_index: HashMap::from([(Vec::new(), 0)]),
        }
    }

    fn id(&mut self, list: Vec<u32>) -> u32 {
        if let Some(&id) = self.list_index.get(&list) {
            return id;
        }
        let id = self.lists.len() as u32;
        self.lists.push(list.clone());
        self.list_index.insert(list, id);
        id
    }

    /// The list `a` followed by the list `b`.
    pub fn join(&mut self, a: u32, b: u32) -> u32 {
        match (a, b) {
            (0, x) | (x, 0) => x,
            _ => {
                let mut list = self.lists[a as usize].clone();
                list.extend_from_slice(&self.lists[b as usize]);
                self.id(list)
            }
        }
    }

    fn before(&mut self, mark: Mark, rest: u32) -> u32 {
        let next = self.marks.len() as u32;
        let index = *self.mark_index.entry(mark.clone()).or_insert(next);
        if index == next {
            self.marks.push(mark);
        }
        let first = self.id(vec![index]);
        self.join(first, rest)
    }

    /// Number of marks in a list.
    pub fn length(&self, list: u32) -> usize {
        self.lists.get(list as usize).map_or(0, Vec::len)
    }

    pub fn list(&self, list: u32) -> Vec<Mark> {
        let list = self.lists.get(list as usize).into_iter().flatten();
        list.filter_map(|&m| self.marks.get(m as usize).cloned())
            .collect()
    }
}

pub fn net(source: &Source, start: &[String]) -> Result<Net> {
    let mut build = Build {
        source,
        recursive: jsgf::recursive(source),
        lengths: vec![None; source.rules.len()],
        word_index: HashMap::new(),
        net: Net {
            words: Vec::new(),
            marks: Marks::new(),
            arcs: vec![Vec::new(), Vec::new()],
        },
        arc_count: 0,
        open: Vec::new(),
        depth: 0,
        at: Pos::default(),
    };
    for name in start {
        let Some(rule) = source.rule(name) else {
            return Err(Error::at(
                &source.file,
                Pos::default(),
                format!("there is no rule <{name}> to begin with"),
                "name one of the grammar's rules",
            ));
        };
        build.node(&Node::Rule(name.clone(), rule.pos), START, END, 0)?;
    }
    Ok(build.net)
}

/// A rule that is being expanded.
struct Open {
    rule: usize,
    entry: u32,
    exit: u32,
    trailing: u32,
}

struct Build<'a> {
    source: &'a Source,
    recursive: Vec<bool>,
    /// Words that a rule says, where known.
    lengths: Vec<Option<Length>>,
    word_index: HashMap<String, u32>,
    net: Net,
    arc_count: usize,
    open: Vec<Open>,
    depth: usize,
    /// The reference being expanded, for error messages.
    at: Pos,
}

/// How many words an expansion says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Length {
    Fixed(u32),
    Varies,
    /// It cannot be said at all.
    Never,
}

impl Build<'_> {
    fn fail<T>(&self, what: impl Into<String>, write: &str) -> Result<T> {
        Err(Error::at(&self.source.file, self.at, what, write))
    }

    fn state(&mut self) -> Result<u32> {
        if self.net.arcs.len() >= limits::STATES {
            return self.fail(
                format!(
                    "the grammar grows beyond {} states when its rules are expanded",
                    limits::STATES
                ),
                "repeat less, and nest fewer rules that each occur several times",
            );
        }
        self.net.arcs.push(Vec::new());
        Ok(self.net.arcs.len() as u32 - 1)
    }

    fn arc(&mut self, from: u32, arc: NetArc) -> Result<()> {
        self.arc_count += 1;
        if self.arc_count > limits::ARCS {
            return self.fail(
                format!(
                    "the grammar grows beyond {} arcs when its rules are expanded",
                    limits::ARCS
                ),
                "repeat less, and nest fewer rules that each occur several times",
            );
        }
        self.net.arcs[from as usize].push(arc);
        Ok(())
    }

    fn silent(&mut self, from: u32, target: u32, marks: u32, weight: f32) -> Result<()> {
        self.arc(
            from,
            NetArc {
                word: None,
                marks,
                weight,
                target,
            },
        )
    }

    fn word(&mut self, word: &str) -> u32 {
        let key = word.to_lowercase();
        if let Some(&i) = self.word_index.get(&key) {
            return i;
        }
        let i = self.net.words.len() as u32;
        self.net.words.push(word.to_string());
        self.word_index.insert(key, i);
        i
    }

    /// Puts `node` between two states. `trailing` is what has to be marked when it
    /// ends: it travels to the last word, so that words can share what follows them.
    ///
    /// Each kind of node has a function of its own, for this one calls itself and
    /// should take little of the stack.
    fn node(&mut self, node: &Node, from: u32, to: u32, trailing: u32) -> Result<()> {
        self.depth += 1;
        if self.depth > limits::DEPTH {
            return self.too_deep();
        }
        let done = match node {
            Node::Word(word) => self.say(word, from, to, trailing),
            Node::Null => self.silent(from, to, trailing, 0.0),
            Node::Void => Ok(()),
            Node::Seq(parts) => self.sequence(parts, from, to, trailing),
            Node::Alt(parts) => self.alternatives(parts, from, to, trailing),
            Node::Optional(inner) => self.optional(inner, from, to, trailing),
            Node::Star(inner) => self.repeat(inner, false, from, to, trailing),
            Node::Plus(inner) => self.repeat(inner, true, from, to, trailing),
            Node::Tagged(inner, text) => self.tagged(inner, text, from, to, trailing),
            Node::Rule(name, pos) => self.rule(name, *pos, from, to, trailing),
        };
        self.depth -= 1;
        done
    }

    fn optional(&mut self, inner: &Node, from: u32, to: u32, trailing: u32) -> Result<()> {
        self.silent(from, to, trailing, 0.0)?;
        self.node(inner, from, to, trailing)
    }

    fn too_deep(&self) -> Result<()> {
        self.fail(
            "rules are nested too deeply",
            "use fewer rules inside rules inside rules",
        )
    }

    fn say(&mut self, word: &str, from: u32, to: u32, trailing: u32) -> Result<()> {
        let word = Some(self.word(word));
        let arc = NetArc {
            word,
            marks: trailing,
            weight: 0.0,
            target: to,
        };
        self.arc(from, arc)
    }

    fn sequence(&mut self, parts: &[Node], from: u32, to: u32, trailing: u32) -> Result<()> {
        let Some((last, parts)) = parts.split_last() else {
            return self.silent(from, to, trailing, 0.0);
        };
        let mut here = from;
        for part in parts {
            let next = self.state()?;
            self.node(part, here, next, 0)?;
            here = next;
        }
        self.node(last, here, to, trailing)
    }

    fn repeat(
        &mut self,
        inner: &Node,
        at_least_once: bool,
        from: u32,
        to: u32,
        trailing: u32,
    ) -> Result<()> {
        let (begin, end) = (self.state()?, self.state()?);
        self.silent(from, begin, 0, 0.0)?;
        self.node(inner, begin, end, 0)?;
        self.silent(end, begin, 0, 0.0)?;
        let leave = if at_least_once { end } else { begin };
        self.silent(leave, to, trailing, 0.0)
    }

    fn tagged(
        &mut self,
        inner: &Node,
        text: &str,
        from: u32,
        to: u32,
        trailing: u32,
    ) -> Result<()> {
        let text = text.to_string();
        match self.length(inner, self.depth) {
            Length::Fixed(back) => {
                let marks = self.net.marks.before(Mark::Tag { text, back }, trailing);
                self.node(inner, from, to, marks)
            }
            Length::Varies => {
                let inside = self.state()?;
                let open = self.net.marks.before(Mark::Open, 0);
                self.silent(from, inside, open, 0.0)?;
                let marks = self.net.marks.before(Mark::Close { text }, trailing);
                self.node(inner, inside, to, marks)
            }
            Length::Never => Ok(()),
        }
    }

    fn alternatives(
        &mut self,
        parts: &[(f32, Node)],
        from: u32,
        to: u32,
        trailing: u32,
    ) -> Result<()> {
        let most = parts.iter().map(|(w, _)| *w).fold(0.0, f32::max);
        for (weight, part) in parts.iter().filter(|(w, _)| *w > 0.0) {
            if *weight == most {
                self.node(part, from, to, trailing)?;
            } else {
                let inside = self.state()?;
                self.silent(from, inside, 0, (weight / most).ln())?;
                self.node(part, inside, to, trailing)?;
            }
        }
        Ok(())
    }

    fn rule(&mut self, name: &str, pos: Pos, from: u32, to: u32, trailing: u32) -> Result<()> {
        let outer = std::mem::replace(&mut self.at, pos);
        let Some(&index) = self.source.index.get(name) else {
            return self.fail(format!("the rule <{name}> is not defined"), "define it");
        };
        let source = self.source;
        let body = &source.rules[index].body;
        let done = match self.recursive[index] {
            false => self.node(body, from, to, trailing),
            true => self.recursive_rule(index, from, to, trailing),
        };
        if done.is_ok() {
            self.at = outer;
        }
        done
    }

    /// A rule that is already open is not expanded again: the way leads back to its entry.
    fn recursive_rule(&mut self, index: usize, from: u32, to: u32, trailing: u32) -> Result<()> {
        let source = self.source;
        let rule = &source.rules[index];
        match self.open.iter().find(|o| o.rule == index) {
            Some(o) if o.exit == to && o.trailing == trailing => {
                let entry = o.entry;
                self.silent(from, entry, 0, 0.0)
            }
            Some(_) => self.fail(
                format!(
                    "the rule <{}> calls itself in the middle of what it says",
                    rule.name
                ),
                "a rule may call itself only as the last thing of an alternative",
            ),
            None => {
                let entry = self.state()?;
                self.silent(from, entry, 0, 0.0)?;
                self.open.push(Open {
                    rule: index,
                    entry,
                    exit: to,
                    trailing,
                });
                self.node(&rule.body, entry, to, trailing)?;
                self.open.pop();
                Ok(())
            }
        }
    }

    fn length(&mut self, node: &Node, depth: usize) -> Length {
        // Deeper than this nothing can be expanded either, and is refused there.
        if depth > limits::DEPTH {
            return Length::Varies;
        }
        let depth = depth + 1;
        match node {
            Node::Word(_) => Length::Fixed(1),
            Node::Null => Length::Fixed(0),
            Node::Void => Length::Never,
            Node::Rule(name, _) => {
                let source = self.source;
                let Some(&index) = source.index.get(name) else {
                    return Length::Never;
                };
                if self.recursive[index] {
                    return Length::Varies;
                }
                if let Some(known) = self.lengths[index] {
                    return known;
                }
                let length = self.length(&source.rules[index].body, depth);
                self.lengths[index] = Some(length);
                length
            }
            Node::Seq(parts) => {
                let mut sum = Length::Fixed(0);
                for part in parts {
                    sum = match (sum, self.length(part, depth)) {
                        (Length::Never, _) | (_, Length::Never) => Length::Never,
                        (Length::Fixed(a), Length::Fixed(b)) => match a.checked_add(b) {
                            Some(n) => Length::Fixed(n),
                            None => Length::Varies,
                        },
                        _ => Length::Varies,
                    };
                }
                sum
            }
            Node::Alt(parts) => {
                let mut all = Length::Never;
                for (_, part) in parts {
                    all = either(all, self.length(part, depth));
                }
                all
            }
            Node::Optional(inner) => {
                let inner = self.length(inner, depth);
                either(Length::Fixed(0), inner)
            }
            Node::Star(inner) => match self.length(inner, depth) {
                Length::Never | Length::Fixed(0) => Length::Fixed(0),
                _ => Length::Varies,
            },
            Node::Plus(inner) => match self.length(inner, depth) {
                Length::Fixed(0) => Length::Fixed(0),
                Length::Never => Length::Never,
                _ => Length::Varies,
            },
            Node::Tagged(inner, _) => self.length(inner, depth),
        }
    }
}

fn either(a: Length, b: Length) -> Length {
    match (a, b) {
        (Length::Never, x) | (x, Length::Never) => x,
        (Length::Fixed(a), Length::Fixed(b)) if a == b => Length::Fixed(a),
        _ => Length::Varies,
    }
}
