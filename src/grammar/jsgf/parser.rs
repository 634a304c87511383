//! Tokens to the tree of a grammar. Syntax of sections 3 and 4 of the W3C note:
//! `*`, `+` and tags bind to the one expansion before them, then comes the
//! sequence, and `|` binds loosest.

use std::collections::HashMap;

use super::ast::{Node, Rule, Source};
use super::lexer::{Header, Lexer, Spanned, Token};
use crate::grammar::error::{Error, Pos, Result};
use crate::grammar::limits;

/// Reads a grammar text without looking at what its names refer to.
pub fn parse(file: &str, text: &str) -> Result<Source> {
    if text.len() > limits::TEXT_BYTES {
        return Err(Error::at(
            file,
            Pos::default(),
            format!("the grammar has {} bytes", text.len()),
            format!("keep it under {} bytes", limits::TEXT_BYTES),
        ));
    }
    let (header, tokens) = Lexer::new(file, text).run()?;
    let end = end_of(text);
    Parser {
        file,
        tokens,
        next: 0,
        end,
        depth: 0,
    }
    .grammar(header)
}

fn end_of(text: &str) -> Pos {
    let line = text.lines().count().max(1) as u32;
    let column = text.lines().last().map_or(0, |l| l.chars().count()) as u32 + 1;
    Pos { line, column }
}

struct Parser<'a> {
    file: &'a str,
    tokens: Vec<Spanned>,
    next: usize,
    end: Pos,
    depth: usize,
}

impl Parser<'_> {
    fn peek(&self) -> Option<&Token> {
        self.tokens.get(self.next).map(|t| &t.token)
    }

    fn pos(&self) -> Pos {
        self.tokens.get(self.next).map_or(self.end, |t| t.pos)
    }

    fn take(&mut self) -> Option<Token> {
        let token = self.tokens.get(self.next)?.token.clone();
        self.next += 1;
        Some(token)
    }

    fn take_mark(&mut self, mark: char) -> bool {
        let found = self.peek() == Some(&Token::Mark(mark));
        if found {
            self.next += 1;
        }
        found
    }

    fn take_keyword(&mut self, word: &str) -> bool {
        let found = matches!(self.peek(), Some(Token::Word(w)) if w == word);
        if found {
            self.next += 1;
        }
        found
    }

    fn fail<T>(&self, pos: Pos, what: impl Into<String>, write: impl Into<String>) -> Result<T> {
        Err(Error::at(self.file, pos, what, write))
    }

    fn end_statement(&mut self, after: &str) -> Result<()> {
        if self.take_mark(';') {
            return Ok(());
        }
        let found = self.found();
        self.fail(
            self.pos(),
            format!("{found} where {after} should end"),
            "end it with `;`",
        )
    }

    fn found(&self) -> String {
        match self.peek() {
            None => "the text ends".to_string(),
            Some(Token::Word(w)) => format!("the word {w:?} stands"),
            Some(Token::Quoted(w)) => format!("the words {:?} stand", w.join(" ")),
            Some(Token::Rule(r)) => format!("`<{r}>` stands"),
            Some(Token::Tag(t)) => format!("the tag {{{t}}} stands"),
            Some(Token::Weight(w)) => format!("the weight /{w}/ stands"),
            Some(Token::Mark(c)) => format!("`{c}` stands"),
        }
    }

    fn grammar(mut self, header: Header) -> Result<Source> {
        if !self.take_keyword("grammar") {
            return self.fail(
                self.pos(),
                "the grammar has no name",
                "write `grammar kitchen;` after the header",
            );
        }
        let name = match self.peek() {
            Some(Token::Word(name)) => name.clone(),
            _ => {
                return self.fail(
                    self.pos(),
                    "the grammar has no name",
                    "write `grammar kitchen;`",
                );
            }
        };
        self.next += 1;
        self.end_statement("the grammar's name")?;
        let mut source = Source {
            file: self.file.to_string(),
            name,
            encoding: header.encoding,
            locale: header.locale,
            rules: Vec::new(),
            index: HashMap::new(),
        };
        while self.peek().is_some() {
            if matches!(self.peek(), Some(Token::Word(w)) if w == "import") {
                self.import(&source.name)?;
                continue;
            }
            let rule = self.rule()?;
            if let Some(first) = source.rule(&rule.name) {
                let what = format!(
                    "the rule <{}> is defined again; the first is in line {}",
                    rule.name, first.pos.line
                );
                return self.fail(
                    rule.pos,
                    what,
                    "join the two with `|` or give one another name",
                );
            }
            if source.rules.len() >= limits::RULES {
                return self.fail(
                    rule.pos,
                    format!("more than {} rules", limits::RULES),
                    "use fewer rules",
                );
            }
            source.index.insert(rule.name.clone(), source.rules.len());
            source.rules.push(rule);
        }
        if source.rules.is_empty() {
            return self.fail(
                self.end,
                "the grammar has no rule",
                "write `public <call> = next | done;`",
            );
        }
        Ok(source)
    }

    /// An import of the grammar's own rules says nothing new; any other would need
    /// a second file, and one file is all that a grammar may depend on here.
    fn import(&mut self, own: &str) -> Result<()> {
        let pos = self.pos();
        self.next += 1;
        match self.take() {
            Some(Token::Rule(name)) => {
                let local = name
                    .strip_prefix(own)
                    .is_some_and(|rest| rest.starts_with('.'));
                if !local {
                    return self.fail(
                        pos,
                        format!("<{name}> would be imported from another grammar"),
                        "copy the rule into this file and remove the import",
                    );
                }
            }
            _ => {
                return self.fail(
                    pos,
                    "`import` names no rule",
                    "remove it; rules of other grammars are copied into the file",
                );
            }
        }
        self.end_statement("the import")
    }

    fn rule(&mut self) -> Result<Rule> {
        let public = self.take_keyword("public");
        let pos = self.pos();
        let Some(Token::Rule(name)) = self.peek().cloned() else {
            let found = self.found();
            return self.fail(
                pos,
                format!("{found} where a rule should begin"),
                "write `<name> = …;` or `public <name> = …;`",
            );
        };
        self.next += 1;
        if name == "NULL" || name == "VOID" {
            return self.fail(
                pos,
                format!("<{name}> has a fixed meaning and cannot be defined"),
                "give the rule another name",
            );
        }
        if !self.take_mark('=') {
            let found = self.found();
            return self.fail(
                self.pos(),
                format!("{found} after the name of the rule <{name}>"),
                format!("write `<{name}> = …;`"),
            );
        }
        let body = self.alternatives()?;
        if !self.take_mark(';') {
            let found = self.found();
            return self.fail(
                self.pos(),
                format!("{found} inside the rule <{name}>"),
                "end the rule with `;`, or close the bracket",
            );
        }
        Ok(Rule {
            name,
            public,
            body,
            pos,
        })
    }

    fn alternatives(&mut self) -> Result<Node> {
        if self.depth >= limits::NESTING {
            return self.fail(
                self.pos(),
                format!("brackets are nested more than {} deep", limits::NESTING),
                "give the inner part a rule of its own",
            );
        }
        self.depth += 1;
        let mut list = vec![self.weighted()?];
        while self.take_mark('|') {
            list.push(self.weighted()?);
        }
        self.depth -= 1;
        Ok(match list.len() {
            // A lone alternative cannot be more or less likely than others.
            1 => list.pop().map_or(Node::Void, |(w, n)| match w {
                0.0 => Node::Void,
                _ => n,
            }),
            _ => Node::Alt(list),
        })
    }

    fn weighted(&mut self) -> Result<(f32, Node)> {
        let weight = match self.peek() {
            Some(Token::Weight(w)) => {
                let w = *w;
                self.next += 1;
                w
            }
            _ => 1.0,
        };
        Ok((weight, self.sequence()?))
    }

    fn sequence(&mut self) -> Result<Node> {
        let mut parts = Vec::new();
        while let Some(part) = self.tagged()? {
            parts.push(part);
        }
        match parts.len() {
            0 => {
                let found = self.found();
                self.fail(
                    self.pos(),
                    format!("{found} where something to say should be"),
                    "write a word or a rule here, or `<NULL>` for nothing",
                )
            }
            1 => Ok(parts.pop().unwrap_or(Node::Null)),
            _ => Ok(Node::Seq(parts)),
        }
    }

    fn tagged(&mut self) -> Result<Option<Node>> {
        let Some(mut node) = self.atom()? else {
            return Ok(None);
        };
        let mut repeated = false;
        // Each one wraps the last, so they count as nesting for whoever walks the tree.
        let mut wraps = 0;
        loop {
            let pos = self.pos();
            if wraps >= limits::WRAPS {
                return self.fail(
                    pos,
                    format!("more than {} tags on one expansion", limits::WRAPS),
                    "join them into fewer tags",
                );
            }
            match self.peek() {
                Some(Token::Mark(c @ ('*' | '+'))) => {
                    if repeated {
                        return self.fail(
                            pos,
                            format!("a second repeat sign `{c}` on the same expansion"),
                            "keep one of the signs",
                        );
                    }
                    repeated = true;
                    node = match c {
                        '*' => Node::Star(Box::new(node)),
                        _ => Node::Plus(Box::new(node)),
                    };
                    self.next += 1;
                }
                Some(Token::Tag(tag)) => {
                    node = Node::Tagged(Box::new(node), tag.clone());
                    self.next += 1;
                }
                _ => return Ok(Some(node)),
            }
            wraps += 1;
        }
    }

    fn atom(&mut self) -> Result<Option<Node>> {
        let pos = self.pos();
        let node = match self.peek() {
            Some(Token::Word(w)) => Node::Word(w.clone()),
            Some(Token::Quoted(words)) if words.len() == 1 => Node::Word(words.concat()),
            Some(Token::Quoted(words)) => {
                Node::Seq(words.iter().cloned().map(Node::Word).collect())
            }
            Some(Token::Rule(name)) => match name.as_str() {
                "NULL" => Node::Null,
                "VOID" => Node::Void,
                _ => Node::Rule(name.clone(), pos),
            },
            Some(Token::Mark('(')) => {
                self.next += 1;
                let inner = self.alternatives()?;
                return self.close(pos, ')', inner).map(Some);
            }
            Some(Token::Mark('[')) => {
                self.next += 1;
                let inner = self.alternatives()?;
                return self
                    .close(pos, ']', Node::Optional(Box::new(inner)))
                    .map(Some);
            }
            Some(Token::Weight(_)) => {
                return self.fail(
                    pos,
                    "a weight stands inside a sequence",
                    "write the weight first in its alternative: `/10/ next | /1/ done`",
                );
            }
            Some(Token::Mark(c @ ('*' | '+'))) => {
                let c = *c;
                return self.fail(
                    pos,
                    format!("`{c}` repeats nothing"),
                    format!("write it right after what is repeated: `next{c}`"),
                );
            }
            Some(Token::Tag(t)) => {
                let t = t.clone();
                return self.fail(
                    pos,
                    format!("the tag {{{t}}} stands on nothing"),
                    format!("write it after what it marks, or `<NULL> {{{t}}}`"),
                );
            }
            _ => return Ok(None),
        };
        self.next += 1;
        Ok(Some(node))
    }

    fn close(&mut self, opened: Pos, bracket: char, node: Node) -> Result<Node> {
        if self.take_mark(bracket) {
            return Ok(node);
        }
        let found = self.found();
        self.fail(
            self.pos(),
            format!(
                "{found} inside a bracket opened at {}:{}",
                opened.line, opened.column
            ),
            format!("close it with `{bracket}`"),
        )
    }
}
