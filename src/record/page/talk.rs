//! Clocks, notes, and every call as it was heard and as it was taken.

use maud::{Markup, html};

use crate::kitchen::At;
use crate::record::story::Story;
use crate::record::written;

use super::{table, text};

pub fn clocks(story: &Story) -> Option<Markup> {
    if story.clocks.is_empty() {
        return None;
    }
    let at = |at: Option<At>| at.map(|a| written::time(a.0)).unwrap_or_default();
    let rows: Vec<_> = story
        .clocks
        .iter()
        .map(|c| {
            let answered = match (c.rang, c.answered) {
                (Some(rang), Some(answered)) => {
                    format!("after {}", written::length(answered.since(rang)))
                }
                (Some(_), None) => "not answered".to_owned(),
                (None, _) => String::new(),
            };
            let mut length = written::length(c.ends.since(c.from));
            if c.moved {
                length.push_str(" (moved)");
            }
            let cells = vec![
                text(&c.name),
                text(written::time(c.from.0)),
                text(length),
                text(written::time(c.ends.0)),
                text(at(c.latest)),
                text(at(c.rang)),
                text(answered),
                text(c.closed.map_or("runs".to_owned(), |a| written::time(a.0))),
            ];
            (false, cells)
        })
        .collect();
    Some(table(
        &[
            "Clock",
            "#From",
            "#Length",
            "#Due",
            "#At the latest",
            "#Called out",
            "Answered",
            "#Gone",
        ],
        &rows,
    ))
}

pub fn notes(story: &Story) -> Option<Markup> {
    if story.notes.is_empty() {
        return None;
    }
    Some(html! {
        ul {
            @for note in &story.notes {
                li {
                    (written::time(note.at.0)) " "
                    @match &note.text {
                        Some(text) => (text),
                        None => span.soft { "(marked, without words)" },
                    }
                }
            }
        }
    })
}

pub fn calls(story: &Story) -> Option<Markup> {
    if story.lines.is_empty() {
        return None;
    }
    let rows: Vec<_> = story
        .lines
        .iter()
        .map(|l| {
            let heard = match &l.heard {
                Some(heard) => html! { (heard) },
                None => html! { span.soft { "(unasked)" } },
            };
            let taken = html! {
                @if l.taken_back { b { "taken back: " } }
                (l.taken.join("; "))
            };
            let cells = vec![
                text(written::time(l.at.0)),
                heard,
                taken,
                html! { @if !l.said.is_empty() { span.said { (l.said.join(" ")) } } },
            ];
            (l.taken_back, cells)
        })
        .collect();
    Some(table(&["#At", "Heard", "Taken as", "Answered"], &rows))
}
