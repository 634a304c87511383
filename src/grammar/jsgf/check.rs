//! What the syntax cannot see: references without a rule, recursion that no
//! automaton can follow, rules that nothing reaches.

use super::ast::{Node, Source};
use crate::grammar::error::{Error, Pos};
use crate::grammar::typed;

/// Turns qualified names of the grammar's own rules (`<kitchen.number>`,
/// `<com.example.kitchen.number>`) into their short form.
pub fn resolve(source: &mut Source) {
    let full = source.name.clone();
    let last = full.rsplit('.').next().unwrap_or(&full).to_string();
    let known = source.index.clone();
    let short = |name: &str| -> Option<String> {
        if known.contains_key(name) {
            return None;
        }
        [full.as_str(), last.as_str()].iter().find_map(|own| {
            let rest = name.strip_prefix(own)?.strip_prefix('.')?;
            known.contains_key(rest).then(|| rest.to_string())
        })
    };
    for rule in &mut source.rules {
        rename(&mut rule.body, &short);
    }
}

fn rename(node: &mut Node, short: &impl Fn(&str) -> Option<String>) {
    match node {
        Node::Rule(name, _) => {
            if let Some(new) = short(name) {
                *name = new;
            }
        }
        Node::Word(_) | Node::Null | Node::Void => {}
        Node::Seq(parts) => parts.iter_mut().for_each(|n| rename(n, short)),
        Node::Alt(parts) => parts.iter_mut().for_each(|(_, n)| rename(n, short)),
        Node::Optional(n) | Node::Star(n) | Node::Plus(n) | Node::Tagged(n, _) => rename(n, short),
    }
}

/// Rules that the rule at `index` refers to, with the places of the references.
pub fn references(source: &Source, index: usize) -> impl Iterator<Item = (usize, Pos)> {
    let mut found = Vec::new();
    if let Some(rule) = source.rules.get(index) {
        rule.body.visit(&mut |node| {
            if let Node::Rule(name, pos) = node
                && let Some(&to) = source.index.get(name)
            {
                found.push((to, *pos));
            }
        });
    }
    found.into_iter()
}

/// Nobody reads more than these, and looking for the name that was meant takes time.
const MOST_ERRORS: usize = 50;

/// Undefined references, no public rule, bad recursion; in the order of the text.
pub fn errors(source: &Source) -> Vec<Error> {
    let mut errors = Vec::new();
    for rule in &source.rules {
        rule.body.visit(&mut |node| {
            if let Node::Rule(name, pos) = node
                && !source.index.contains_key(name)
                && errors.len() < MOST_ERRORS
            {
                errors.push(Error::at(
                    &source.file,
                    *pos,
                    format!("the rule <{name}> is not defined"),
                    match nearest(source, name) {
                        Some(near) => format!("write `<{near}>`, or define `<{name}> = …;`"),
                        None => format!("define it: `<{name}> = …;`"),
                    },
                ));
            }
        });
    }
    if !source.rules.iter().any(|r| r.public) {
        let first = source.rules.first();
        errors.push(Error::at(
            &source.file,
            first.map_or(Pos::default(), |r| r.pos),
            "no rule is public, so nothing can be said",
            format!(
                "write `public` before a rule: `public <{}> = …;`",
                first.map_or("call", |r| r.name.as_str())
            ),
        ));
    }
    errors.extend(bad_recursion(source));
    errors.sort_by_key(|e| (e.line, e.column));
    errors
}

/// The known rule whose name looks most like `name`, if any is close.
fn nearest<'a>(source: &'a Source, name: &str) -> Option<&'a str> {
    source
        .rules
        .iter()
        .map(|r| r.name.as_str())
        .filter(|k| k.eq_ignore_ascii_case(name) || within_one_edit(k, name))
        .min_by_key(|k| (!k.eq_ignore_ascii_case(name), k.len()))
}

fn within_one_edit(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let same_head = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let same_tail = a
        .iter()
        .rev()
        .zip(b.iter().rev())
        .take_while(|(x, y)| x == y)
        .count();
    let longer = a.len().max(b.len());
    longer.saturating_sub(same_head + same_tail) <= 1 && longer.abs_diff(a.len().min(b.len())) <= 1
}

/// Strongly connected groups of rules: for each rule the number of its group
/// (the index of one of its members). Tarjan's algorithm with a stack of its own,
/// so that a long chain of rules does not use up the thread's.
pub fn groups(source: &Source) -> Vec<usize> {
    let n = source.rules.len();
    let edges: Vec<Vec<usize>> = (0..n)
        .map(|i| references(source, i).map(|(to, _)| to).collect())
        .collect();
    components(&edges)
}

fn components(edges: &[Vec<usize>]) -> Vec<usize> {
    const NEW: usize = usize::MAX;
    let n = edges.len();
    let (mut order, mut low) = (vec![NEW; n], vec![NEW; n]);
    let mut group = vec![NEW; n];
    let mut open = Vec::new();
    let mut count = 0;
    for root in 0..n {
        if order[root] != NEW {
            continue;
        }
        let mut walk = vec![(root, 0)];
        while let Some((v, edge)) = walk.pop() {
            if edge == 0 {
                order[v] = count;
                low[v] = count;
                count += 1;
                open.push(v);
            }
            if let Some(&w) = edges[v].get(edge) {
                walk.push((v, edge + 1));
                if order[w] == NEW {
                    walk.push((w, 0));
                } else if group[w] == NEW {
                    low[v] = low[v].min(order[w]);
                }
                continue;
            }
            if low[v] == order[v] {
                while let Some(w) = open.pop() {
                    group[w] = v;
                    if w == v {
                        break;
                    }
                }
            }
            if let Some(&(parent, _)) = walk.last() {
                low[parent] = low[parent].min(low[v]);
            }
        }
    }
    group
}

/// A rule may call itself only as the very last thing of an alternative, and only
/// after something was said.
fn bad_recursion(source: &Source) -> Vec<Error> {
    let group = groups(source);
    let nullable = nullable(source);
    let mut errors = Vec::new();
    let mut silent: Vec<Vec<(usize, Pos)>> = vec![Vec::new(); source.rules.len()];
    for (i, rule) in source.rules.iter().enumerate() {
        let mut walk = Walk {
            source,
            group: &group,
            nullable: &nullable,
            rule: i,
            silent: &mut silent,
            errors: &mut errors,
        };
        walk.node(&rule.body, true, true);
    }
    let edges: Vec<Vec<usize>> = silent
        .iter()
        .map(|list| list.iter().map(|&(to, _)| to).collect())
        .collect();
    let loops = components(&edges);
    for (i, list) in silent.iter().enumerate() {
        if let Some(&(_, pos)) = list
            .iter()
            .find(|&&(to, _)| to == i || loops[to] == loops[i])
        {
            errors.retain(|e| (e.line, e.column) != (pos.line, pos.column));
            errors.push(Error::at(
                &source.file,
                pos,
                format!(
                    "the rule <{}> begins with itself (left recursion)",
                    source.rules[i].name
                ),
                "say the word first and the rule last, or repeat with `+` or `*`",
            ));
        }
    }
    errors
}

/// For each rule whether it can be matched with nothing said.
fn nullable(source: &Source) -> Vec<bool> {
    let mut known = vec![false; source.rules.len()];
    // Rules are written bottom-up or top-down, and walking both ways settles either
    // in two rounds. A hostile order could need as many rounds as there are rules;
    // what is then missed here is still refused when the rules are expanded.
    for _ in 0..64 {
        let mut changed = false;
        let order = (0..source.rules.len()).chain((0..source.rules.len()).rev());
        for i in order {
            if !known[i] && can_be_silent(source, &known, &source.rules[i].body) {
                known[i] = true;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    known
}

fn can_be_silent(source: &Source, known: &[bool], node: &Node) -> bool {
    match node {
        Node::Word(_) | Node::Void => false,
        Node::Null | Node::Optional(_) | Node::Star(_) => true,
        Node::Rule(name, _) => source.index.get(name).is_some_and(|&i| known[i]),
        Node::Seq(parts) => parts.iter().all(|n| can_be_silent(source, known, n)),
        Node::Alt(parts) => parts.iter().any(|(_, n)| can_be_silent(source, known, n)),
        Node::Plus(n) | Node::Tagged(n, _) => can_be_silent(source, known, n),
    }
}

struct Walk<'a> {
    source: &'a Source,
    group: &'a [usize],
    nullable: &'a [bool],
    rule: usize,
    /// References to the own group that can come before any word.
    silent: &'a mut Vec<Vec<(usize, Pos)>>,
    errors: &'a mut Vec<Error>,
}

impl Walk<'_> {
    fn node(&mut self, node: &Node, first: bool, last: bool) {
        match node {
            Node::Word(_) | Node::Null | Node::Void => {}
            Node::Rule(name, pos) => {
                let Some(&to) = self.source.index.get(name) else {
                    return;
                };
                if self.group[to] != self.group[self.rule] {
                    return;
                }
                if first {
                    self.silent[self.rule].push((to, *pos));
                }
                if !last {
                    self.errors.push(Error::at(
                        &self.source.file,
                        *pos,
                        format!(
                            "the rule <{}> calls itself in the middle of what it says",
                            self.source.rules[self.rule].name
                        ),
                        "a rule may call itself only as the last thing of an alternative; \
                         else repeat with `+` or `*`",
                    ));
                }
            }
            Node::Seq(parts) => {
                let mut first = first;
                for (i, part) in parts.iter().enumerate() {
                    self.node(part, first, last && i + 1 == parts.len());
                    first = first && can_be_silent(self.source, self.nullable, part);
                }
            }
            Node::Alt(parts) => parts.iter().for_each(|(_, n)| self.node(n, first, last)),
            Node::Optional(n) => self.node(n, first, last),
            // After a repeat or before a tag something still follows.
            Node::Star(n) | Node::Plus(n) | Node::Tagged(n, _) => self.node(n, first, false),
        }
    }
}

/// Rules that no public rule uses: most likely a slip of the pen, never a reason to
/// refuse a grammar.
pub fn unreachable(source: &Source) -> Vec<Error> {
    let mut seen: Vec<bool> = source
        .rules
        .iter()
        .map(|r| r.public || r.name == typed::RULE)
        .collect();
    let mut open: Vec<usize> = (0..seen.len()).filter(|&i| seen[i]).collect();
    while let Some(i) = open.pop() {
        for (to, _) in references(source, i) {
            if !seen[to] {
                seen[to] = true;
                open.push(to);
            }
        }
    }
    source
        .rules
        .iter()
        .zip(&seen)
        .filter(|(_, seen)| !**seen)
        .map(|(rule, _)| {
            Error::at(
                &source.file,
                rule.pos,
                format!("no public rule uses <{}>", rule.name),
                "use it, make it public, or remove it",
            )
        })
        .collect()
}
