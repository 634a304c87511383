//! A JSGF text as a tree.

use std::collections::HashMap;

use crate::grammar::error::Pos;

/// One grammar text, checked: every reference has its rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    pub file: String,
    /// Full name as declared, with its package: `com.example.kitchen`.
    pub name: String,
    /// From the header; both may be absent.
    pub encoding: Option<String>,
    pub locale: Option<String>,
    pub rules: Vec<Rule>,
    pub index: HashMap<String, usize>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    pub name: String,
    pub public: bool,
    pub body: Node,
    pub pos: Pos,
}

/// A rule expansion (section 4 of the W3C note).
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// One spoken word as written; a quoted token of several words is a `Seq` of them.
    Word(String),
    Rule(String, Pos),
    /// Matched without anything being said.
    Null,
    /// Can never be said.
    Void,
    Seq(Vec<Node>),
    /// Alternatives with their weights, 1 where none is written.
    Alt(Vec<(f32, Node)>),
    Optional(Box<Node>),
    /// `*`: any number of times, `+`: at least once.
    Star(Box<Node>),
    Plus(Box<Node>),
    Tagged(Box<Node>, String),
}

impl Source {
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.index.get(name).and_then(|&i| self.rules.get(i))
    }

    pub fn public_names(&self) -> impl Iterator<Item = &str> {
        self.rules
            .iter()
            .filter(|r| r.public)
            .map(|r| r.name.as_str())
    }
}

impl Node {
    /// Calls `f` on this node and on every node under it.
    pub fn visit<'a>(&'a self, f: &mut impl FnMut(&'a Node)) {
        f(self);
        match self {
            Node::Word(_) | Node::Rule(..) | Node::Null | Node::Void => {}
            Node::Seq(parts) => parts.iter().for_each(|n| n.visit(f)),
            Node::Alt(parts) => parts.iter().for_each(|(_, n)| n.visit(f)),
            Node::Optional(n) | Node::Star(n) | Node::Plus(n) | Node::Tagged(n, _) => n.visit(f),
        }
    }
}
