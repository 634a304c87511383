//! YAML → a small tree in which every key and value knows its place.
//!
//! A plan needs mappings, lists and plain text, nothing else of YAML. Anchors,
//! aliases, tags and further documents are refused, so that nothing in a file can
//! be larger than it looks; depth and node count are bounded for the same reason.

use std::collections::BTreeMap;

use saphyr_parser::{Event, Marker, Parser, ScalarStyle, ScanError, Span as YamlSpan, StrInput};

use super::problem::{Desk, Mark};

/// Deeper than any plan: plan / section / thing / key / list / value is six.
const DEEPEST: usize = 12;
const MOST_NODES: usize = 20_000;

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    pub(super) at: Mark,
    pub(super) value: Value,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// A key with nothing behind it.
    Nothing,
    Text(String),
    List(Vec<Node>),
    Map(Vec<Entry>),
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entry {
    pub(super) key: String,
    pub(super) at: Mark,
    pub(super) value: Node,
}

impl Value {
    /// What it is, in words for a message.
    pub(super) fn kind(&self) -> &'static str {
        match self {
            Value::Nothing => "nothing",
            Value::Text(_) => "text",
            Value::List(_) => "a list",
            Value::Map(_) => "a group of keys",
        }
    }
}

/// Why reading stopped; the problem itself lies on the desk already.
struct Stop;

/// Reads the one document of a file. `None` means that it is not YAML enough to go
/// on; anything less is noted on the desk and the tree is returned.
pub(super) fn parse(text: &str, desk: &mut Desk<'_>) -> Option<Node> {
    let mut builder = Builder {
        parser: Parser::new_from_str(text),
        text,
        widths: text.split('\n').map(|line| line.chars().count()).collect(),
        nodes: 0,
        desk,
    };
    builder.document().ok().flatten()
}

struct Builder<'t, 'd, 'f> {
    parser: Parser<'t, StrInput<'t>>,
    text: &'t str,
    /// Letters in each line.
    widths: Vec<usize>,
    nodes: usize,
    desk: &'d mut Desk<'f>,
}

impl<'t> Builder<'t, '_, '_> {
    fn document(&mut self) -> Result<Option<Node>, Stop> {
        let mut root = None;
        while let Some((event, span)) = self.next()? {
            match event {
                Event::Nothing | Event::StreamStart | Event::DocumentEnd => {}
                Event::StreamEnd => break,
                Event::DocumentStart(_) if root.is_some() => {
                    self.desk.problem(
                        self.mark(&span.start),
                        "a second document in the file",
                        "one plan a file",
                    );
                    return Err(Stop);
                }
                Event::DocumentStart(_) => {
                    let Some((event, span)) = self.next()? else {
                        break;
                    };
                    root = Some(self.node(event, span, 0)?);
                }
                _ => {}
            }
        }
        if root.is_none() {
            self.desk.problem(
                Mark::START,
                "the file is empty",
                "a plan; its first line is `plan: ` and the title",
            );
        }
        Ok(root)
    }

    fn next(&mut self) -> Result<Option<(Event<'t>, YamlSpan)>, Stop> {
        match self.parser.next_event() {
            None => Ok(None),
            Some(Ok(pair)) => Ok(Some(pair)),
            Some(Err(error)) => {
                self.syntax(&error);
                Err(Stop)
            }
        }
    }

    fn node(&mut self, event: Event<'t>, span: YamlSpan, depth: usize) -> Result<Node, Stop> {
        let at = self.mark(&span.start);
        self.nodes += 1;
        if self.nodes > MOST_NODES || depth > DEEPEST {
            self.desk.problem(
                at,
                if depth > DEEPEST {
                    format!("nested more than {DEEPEST} deep")
                } else {
                    format!("more than {MOST_NODES} keys and values")
                },
                "a plan of steps, as the plan language has them",
            );
            return Err(Stop);
        }
        let (anchor, tagged) = match &event {
            Event::Scalar(_, _, anchor, tag) => (*anchor, tag.is_some()),
            Event::SequenceStart(anchor, tag) | Event::MappingStart(anchor, tag) => {
                (*anchor, tag.is_some())
            }
            _ => (0, false),
        };
        if anchor != 0 || matches!(event, Event::Alias(_)) {
            self.desk.problem(
                at,
                "anchors (&) and aliases (*) are not part of the plan language",
                "the value itself, in each place",
            );
            return Err(Stop);
        }
        if tagged {
            self.desk.problem(
                at,
                "tags (!) are not part of the plan language",
                "the value without its tag",
            );
        }
        let value = match event {
            Event::Scalar(text, ScalarStyle::Plain, ..)
                if matches!(&*text, "" | "~" | "null" | "Null" | "NULL") =>
            {
                Value::Nothing
            }
            Event::Scalar(text, ..) => Value::Text(text.into_owned()),
            Event::SequenceStart(..) => self.list(depth)?,
            Event::MappingStart(..) => self.map(depth)?,
            _ => Value::Nothing,
        };
        Ok(Node { at, value })
    }

    /// The parser's place as an editor counts it. At the very end of a file the parser
    /// may stand on a line that is not there; the last letter is meant.
    fn mark(&self, marker: &Marker) -> Mark {
        let line = marker.line().max(1);
        match self.widths.get(line - 1) {
            Some(width) => Mark {
                line,
                column: (marker.col() + 1).min(width + 1),
            },
            None => Mark {
                line: self.widths.len().max(1),
                column: self.widths.last().map_or(1, |width| width + 1),
            },
        }
    }

    fn list(&mut self, depth: usize) -> Result<Value, Stop> {
        let mut nodes = Vec::new();
        while let Some((event, span)) = self.next()? {
            if event == Event::SequenceEnd {
                break;
            }
            nodes.push(self.node(event, span, depth + 1)?);
        }
        Ok(Value::List(nodes))
    }

    fn map(&mut self, depth: usize) -> Result<Value, Stop> {
        let mut entries: Vec<Entry> = Vec::new();
        let mut first_line: BTreeMap<String, usize> = BTreeMap::new();
        while let Some((event, span)) = self.next()? {
            if event == Event::MappingEnd {
                break;
            }
            let key = self.node(event, span, depth + 1)?;
            let Some((event, span)) = self.next()? else {
                break;
            };
            let value = self.node(event, span, depth + 1)?;
            let name = match key.value {
                Value::Text(name) => name,
                other => {
                    self.desk.problem(
                        key.at,
                        format!("{} where a key must stand", other.kind()),
                        "a key in words, then a colon",
                    );
                    continue;
                }
            };
            if let Some(first) = first_line.get(&name) {
                self.desk.problem(
                    key.at,
                    format!("`{name}` stands here a second time; the first is on line {first}"),
                    "it once, or another name",
                );
                continue;
            }
            first_line.insert(name.clone(), key.at.line);
            entries.push(Entry {
                key: name,
                at: key.at,
                value,
            });
        }
        Ok(Value::Map(entries))
    }

    /// The parser's own error, with a hint from the line that it stopped on.
    fn syntax(&mut self, error: &ScanError) {
        let at = self.mark(error.marker());
        let written = self.text.split('\n').nth(at.line - 1).unwrap_or_default();
        let hint = if written.contains('\t') {
            "spaces instead of tabs"
        } else if written.matches(": ").count() > 1 {
            "the text after the first colon in double quotes"
        } else if written.matches('"').count() % 2 == 1 {
            "the closing quotation mark"
        } else {
            "the line so that it lines up with its neighbours, text with a colon in double quotes"
        };
        self.desk
            .problem(at, format!("not YAML here ({})", error.info()), hint);
    }
}
