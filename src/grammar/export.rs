//! A grammar as JSGF text for other programs: nothing but what can be said.

use std::fmt::Write;

use super::jsgf::{Node, Source};

/// The rules in `start`, and all that they use, under one public rule `<call>`.
pub fn jsgf(source: &Source, start: &[String]) -> String {
    let sayable = sayable(source);
    let mut needed = vec![false; source.rules.len()];
    let mut open: Vec<usize> = start
        .iter()
        .filter_map(|name| source.index.get(name).copied())
        .filter(|&i| sayable[i])
        .collect();
    let tops = open.clone();
    for &i in &open {
        needed[i] = true;
    }
    while let Some(i) = open.pop() {
        source.rules[i].body.visit(&mut |node| {
            if let Node::Rule(name, _) = node
                && let Some(&to) = source.index.get(name)
                && sayable[to]
                && !needed[to]
            {
                needed[to] = true;
                open.push(to);
            }
        });
    }
    let writer = Writer { source, sayable };
    let mut text = String::from("#JSGF V1.0;\ngrammar hobcall;\n");
    let tops: Vec<String> = tops.iter().map(|&i| writer.name(i)).collect();
    let _ = writeln!(text, "public <call> = {};", tops.join(" | "));
    for (i, _) in needed.iter().enumerate().filter(|(_, n)| **n) {
        let mut body = String::new();
        writer.node(&source.rules[i].body, &mut body);
        let _ = writeln!(text, "{} = {};", writer.name(i), body);
    }
    text
}

/// For each rule whether there is anything that it can match.
fn sayable(source: &Source) -> Vec<bool> {
    let mut known = vec![false; source.rules.len()];
    loop {
        let mut changed = false;
        for i in (0..source.rules.len()).rev() {
            if !known[i] && can_say(source, &known, &source.rules[i].body) {
                known[i] = true;
                changed = true;
            }
        }
        if !changed {
            return known;
        }
    }
}

fn can_say(source: &Source, known: &[bool], node: &Node) -> bool {
    match node {
        Node::Void => false,
        Node::Word(_) | Node::Null | Node::Optional(_) | Node::Star(_) => true,
        Node::Rule(name, _) => source.index.get(name).is_some_and(|&i| known[i]),
        Node::Seq(parts) => parts.iter().all(|n| can_say(source, known, n)),
        Node::Alt(parts) => parts
            .iter()
            .any(|(w, n)| *w > 0.0 && can_say(source, known, n)),
        Node::Plus(n) | Node::Tagged(n, _) => can_say(source, known, n),
    }
}

struct Writer<'a> {
    source: &'a Source,
    sayable: Vec<bool>,
}

impl Writer<'_> {
    /// Names of other programs' grammars may hold anything; these hold only letters,
    /// digits and lines, and the number keeps them apart.
    fn name(&self, index: usize) -> String {
        let plain: String = self.source.rules[index]
            .name
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
            .collect();
        format!("<r{index}_{plain}>")
    }

    fn node(&self, node: &Node, out: &mut String) {
        match node {
            Node::Word(word) => out.push_str(&spelled(&word.to_lowercase())),
            Node::Null => out.push_str("<NULL>"),
            Node::Void => out.push_str("<VOID>"),
            Node::Rule(name, _) => match self.source.index.get(name) {
                Some(&i) => out.push_str(&self.name(i)),
                None => out.push_str("<VOID>"),
            },
            Node::Seq(parts) => {
                let said: Vec<&Node> = parts.iter().filter(|n| !self.silent(n)).collect();
                for (i, part) in said.iter().enumerate() {
                    if i > 0 {
                        out.push(' ');
                    }
                    self.grouped(part, out);
                }
                if said.is_empty() {
                    out.push_str("<NULL>");
                }
            }
            Node::Alt(parts) => {
                let weighted = parts.iter().any(|(w, _)| *w != 1.0);
                let parts = parts
                    .iter()
                    .filter(|(w, n)| *w > 0.0 && can_say(self.source, &self.sayable, n));
                for (i, (weight, part)) in parts.enumerate() {
                    if i > 0 {
                        out.push_str(" | ");
                    }
                    if weighted {
                        let _ = write!(out, "/{weight}/ ");
                    }
                    self.node(part, out);
                }
            }
            Node::Optional(inner) | Node::Star(inner)
                if !can_say(self.source, &self.sayable, inner) =>
            {
                out.push_str("<NULL>");
            }
            Node::Optional(inner) => {
                out.push('[');
                self.node(inner, out);
                out.push(']');
            }
            Node::Star(inner) => {
                out.push('(');
                self.node(inner, out);
                out.push_str(")*");
            }
            Node::Plus(inner) => {
                out.push('(');
                self.node(inner, out);
                out.push_str(")+");
            }
            Node::Tagged(inner, _) => self.grouped(inner, out),
        }
    }

    /// Whether nothing can be said here but silence.
    fn silent(&self, node: &Node) -> bool {
        match node {
            Node::Null => true,
            Node::Optional(inner) | Node::Star(inner) => {
                self.silent(inner) || !can_say(self.source, &self.sayable, inner)
            }
            Node::Tagged(inner, _) | Node::Plus(inner) => self.silent(inner),
            Node::Seq(parts) => parts.iter().all(|n| self.silent(n)),
            Node::Word(_) | Node::Void | Node::Rule(..) | Node::Alt(_) => false,
        }
    }

    /// Alternatives inside a sequence need brackets.
    fn grouped(&self, node: &Node, out: &mut String) {
        match node {
            Node::Alt(_) => {
                out.push('(');
                self.node(node, out);
                out.push(')');
            }
            Node::Tagged(inner, _) => self.grouped(inner, out),
            _ => self.node(node, out),
        }
    }
}

/// A word, in quotes where the format needs them.
fn spelled(word: &str) -> String {
    let special = word
        .chars()
        .any(|c| c.is_whitespace() || ";=|*+<>()[]{}/\"\\".contains(c));
    match special || word == "public" || word == "grammar" || word == "import" {
        true => format!("\"{}\"", word.replace('\\', "\\\\").replace('"', "\\\"")),
        false => word.to_string(),
    }
}
