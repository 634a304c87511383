//! Characters to tokens, with positions. Lexical rules of section 2 of the W3C note.

use crate::grammar::error::{Error, Pos, Result};
use crate::grammar::limits;

#[derive(Debug, Clone, PartialEq)]
pub enum Token {
    Word(String),
    /// The words of a quoted token; one or more.
    Quoted(Vec<String>),
    /// `<name>` without the brackets.
    Rule(String),
    /// `{…}` without the braces, escapes resolved, trimmed.
    Tag(String),
    /// `/n/`
    Weight(f32),
    /// One of `; = | * + ( ) [ ]`.
    Mark(char),
}

#[derive(Debug, Clone, PartialEq)]
pub struct Spanned {
    pub token: Token,
    pub pos: Pos,
}

/// What the self-identifying header says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Header {
    pub encoding: Option<String>,
    pub locale: Option<String>,
}

pub struct Lexer<'a> {
    file: &'a str,
    rest: std::iter::Peekable<std::str::Chars<'a>>,
    pos: Pos,
}

impl<'a> Lexer<'a> {
    pub fn new(file: &'a str, text: &'a str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        Lexer {
            file,
            rest: text.chars().peekable(),
            pos: Pos { line: 1, column: 1 },
        }
    }

    /// Reads `#JSGF V1.0 [encoding [locale]];` and then every token up to the end.
    pub fn run(mut self) -> Result<(Header, Vec<Spanned>)> {
        let header = self.header()?;
        let mut tokens = Vec::new();
        while let Some(token) = self.token()? {
            tokens.push(token);
        }
        Ok((header, tokens))
    }

    fn bump(&mut self) -> Option<char> {
        let c = self.rest.next()?;
        if c == '\n' {
            self.pos.line += 1;
            self.pos.column = 1;
        } else {
            self.pos.column += 1;
        }
        Some(c)
    }

    fn peek(&mut self) -> Option<char> {
        self.rest.peek().copied()
    }

    fn peek_second(&mut self) -> Option<char> {
        let mut ahead = self.rest.clone();
        ahead.next();
        ahead.next()
    }

    fn fail<T>(&self, pos: Pos, what: impl Into<String>, write: impl Into<String>) -> Result<T> {
        Err(Error::at(self.file, pos, what, write))
    }

    fn header(&mut self) -> Result<Header> {
        self.blank()?;
        let pos = self.pos;
        let mut line = String::new();
        while let Some(c) = self.peek() {
            if c == ';' || c == '\n' || line.len() > limits::TOKEN_CHARS {
                break;
            }
            line.push(c);
            self.bump();
        }
        let mut words = line.split_whitespace();
        if words.next() != Some("#JSGF") {
            return self.fail(
                pos,
                "this is not a JSGF grammar: the header is missing",
                "begin the file with `#JSGF V1.0;`",
            );
        }
        match words.next() {
            Some(v) if v.eq_ignore_ascii_case("V1.0") => {}
            other => {
                return self.fail(
                    pos,
                    format!(
                        "the header names version {:?} of the format",
                        other.unwrap_or("none")
                    ),
                    "write `#JSGF V1.0;`",
                );
            }
        }
        let header = Header {
            encoding: words.next().map(str::to_string),
            locale: words.next().map(str::to_string),
        };
        if let Some(extra) = words.next() {
            return self.fail(
                pos,
                format!("the header has {extra:?} after encoding and locale"),
                "write `#JSGF V1.0 UTF-8 en;`",
            );
        }
        // Many grammars end the header with its line; the note asks for `;`.
        if self.peek() == Some(';') {
            self.bump();
        }
        Ok(header)
    }

    /// White space and comments.
    fn blank(&mut self) -> Result<()> {
        loop {
            match (self.peek(), self.peek_second()) {
                (Some(c), _) if c.is_whitespace() => {
                    self.bump();
                }
                (Some('/'), Some('/')) => {
                    while self.peek().is_some_and(|c| c != '\n') {
                        self.bump();
                    }
                }
                (Some('/'), Some('*')) => {
                    let pos = self.pos;
                    self.bump();
                    self.bump();
                    while (self.peek(), self.peek_second()) != (Some('*'), Some('/')) {
                        if self.bump().is_none() {
                            return self.fail(
                                pos,
                                "this comment is never closed",
                                "close it with `*/`",
                            );
                        }
                    }
                    self.bump();
                    self.bump();
                }
                _ => return Ok(()),
            }
        }
    }

    fn token(&mut self) -> Result<Option<Spanned>> {
        self.blank()?;
        let pos = self.pos;
        let Some(c) = self.peek() else {
            return Ok(None);
        };
        let token = match c {
            ';' | '=' | '|' | '*' | '+' | '(' | ')' | '[' | ']' => {
                self.bump();
                Token::Mark(c)
            }
            '<' => Token::Rule(self.rule_name(pos)?),
            '{' => Token::Tag(self.tag(pos)?),
            '"' => Token::Quoted(self.quoted(pos)?),
            '/' => Token::Weight(self.weight(pos)?),
            '>' | '}' => {
                return self.fail(
                    pos,
                    format!("`{c}` closes nothing"),
                    format!("remove it, or quote the word that holds it: \"{c}\""),
                );
            }
            _ => Token::Word(self.word(pos)?),
        };
        Ok(Some(Spanned { token, pos }))
    }

    fn word(&mut self, pos: Pos) -> Result<String> {
        let mut word = String::new();
        while let Some(c) = self.peek() {
            if c.is_whitespace() || ";=|*+<>()[]{}/\"".contains(c) {
                break;
            }
            word.push(c);
            self.bump();
        }
        self.fits(pos, &word)?;
        Ok(word)
    }

    fn fits(&self, pos: Pos, text: &str) -> Result<()> {
        if text.chars().count() > limits::TOKEN_CHARS {
            return self.fail(
                pos,
                format!("more than {} characters in one piece", limits::TOKEN_CHARS),
                "use shorter words, names and tags",
            );
        }
        Ok(())
    }

    fn rule_name(&mut self, pos: Pos) -> Result<String> {
        self.bump();
        let mut name = String::new();
        loop {
            match self.bump() {
                Some('>') => break,
                Some(c) if c == '<' || c == '\n' || c == ';' && self.peek() == Some('\n') => {
                    return self.fail(
                        pos,
                        "this rule name is not closed",
                        format!("write `<{}>`", name.trim()),
                    );
                }
                Some(c) => name.push(c),
                None => {
                    return self.fail(
                        pos,
                        "this rule name is not closed",
                        format!("write `<{}>`", name.trim()),
                    );
                }
            }
        }
        self.fits(pos, &name)?;
        let name = name.trim();
        if name.is_empty() || name.contains(char::is_whitespace) {
            return self.fail(
                pos,
                format!("`<{name}>` is no rule name"),
                "name the rule with one word, such as `<number>`",
            );
        }
        Ok(name.to_string())
    }

    fn tag(&mut self, pos: Pos) -> Result<String> {
        self.bump();
        let mut tag = String::new();
        // Braces may nest in tags that hold program text; only the outer pair ends the tag.
        let mut depth = 1;
        loop {
            match self.bump() {
                Some('\\') => match self.bump() {
                    Some(c @ ('{' | '}' | '\\')) => tag.push(c),
                    Some(c) => {
                        tag.push('\\');
                        tag.push(c);
                    }
                    None => {}
                },
                Some('{') => {
                    depth += 1;
                    tag.push('{');
                }
                Some('}') if depth == 1 => break,
                Some('}') => {
                    depth -= 1;
                    tag.push('}');
                }
                Some(c) => tag.push(c),
                None => {
                    return self.fail(
                        pos,
                        "this tag is never closed",
                        "close it with `}`; a brace inside a tag is written `\\}`",
                    );
                }
            }
        }
        self.fits(pos, &tag)?;
        Ok(tag.trim().to_string())
    }

    fn quoted(&mut self, pos: Pos) -> Result<Vec<String>> {
        self.bump();
        let mut text = String::new();
        loop {
            match self.bump() {
                Some('"') => break,
                Some('\\') => match self.bump() {
                    Some(c @ ('"' | '\\')) => text.push(c),
                    Some(c) => {
                        text.push('\\');
                        text.push(c);
                    }
                    None => {}
                },
                Some(c) => text.push(c),
                None => {
                    return self.fail(
                        pos,
                        "this quoted token is never closed",
                        "close it with `\"`",
                    );
                }
            }
        }
        self.fits(pos, &text)?;
        let words: Vec<String> = text.split_whitespace().map(str::to_string).collect();
        if words.is_empty() || words.len() > limits::QUOTED_WORDS {
            return self.fail(
                pos,
                format!("a quoted token of {} words", words.len()),
                format!(
                    "write 1 to {} words between the quotes",
                    limits::QUOTED_WORDS
                ),
            );
        }
        Ok(words)
    }

    fn weight(&mut self, pos: Pos) -> Result<f32> {
        self.bump();
        let mut text = String::new();
        while let Some(c) = self.peek() {
            if c == '/' || c == '\n' || text.len() > 40 {
                break;
            }
            text.push(c);
            self.bump();
        }
        let value = text.trim().trim_end_matches(['f', 'F', 'd', 'D']);
        match value.parse::<f32>() {
            Ok(w) if self.peek() == Some('/') && w.is_finite() && w >= 0.0 => {
                self.bump();
                Ok(w)
            }
            _ => self.fail(
                pos,
                format!("`/{}` is no weight", text.trim()),
                "write a number from 0 up between two slashes, such as `/10/`",
            ),
        }
    }
}
