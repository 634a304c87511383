//! Where each marked piece was over time, and the vessels after each move.

use maud::{Markup, PreEscaped, html};

use crate::record::export::side;
use crate::record::plot::vessel;
use crate::record::story::Story;
use crate::record::written;

use super::{table, text};

pub fn section(story: &Story) -> Option<Markup> {
    if story.stays.is_empty() && story.maps.is_empty() {
        return None;
    }
    let rows: Vec<_> = story
        .stays
        .iter()
        .filter(|s| s.vessel.is_some())
        .map(|s| {
            let to = s.to.map_or("stays".to_owned(), |to| written::time(to.0));
            let mut remarks = Vec::new();
            if !s.sure {
                remarks.push("not sure");
            }
            if s.by_plan {
                remarks.push("by the plan, not told");
            }
            let cells = vec![
                text(&s.name),
                text(written::time(s.from.0)),
                text(to),
                text(s.vessel.clone().unwrap_or_default()),
                text(&s.place),
                text(format!("{} down", side(s.side))),
                text(remarks.join("; ")),
            ];
            (false, cells)
        })
        .collect();
    let maps: Vec<_> = story
        .maps
        .iter()
        .map(|m| {
            let drawn: Vec<_> = m.vessels.iter().map(|v| vessel::svg(v, &m.marks)).collect();
            (m, drawn)
        })
        .collect();
    Some(html! {
        @if !rows.is_empty() {
            (table(&["Piece", "#From", "#To", "Vessel", "Place", "Side", "Remarks"], &rows))
        }
        @if !maps.is_empty() {
            h3 { "The vessels after each move" }
            p.soft { "Seen from where the cook stands, the back at the top. A marked piece has a thick frame." }
            div.maps {
                @for (m, drawn) in &maps {
                    figure {
                        @for svg in drawn {
                            @match svg {
                                Ok(svg) => (PreEscaped(svg)),
                                Err(why) => p { "No map: " (why) },
                            }
                        }
                        figcaption { (written::time(m.at.0)) " " (m.why) }
                    }
                }
            }
        }
    })
}
