//! What was planned against what happened.

use maud::{Markup, html};

use crate::plan::show;
use crate::record::compare;
use crate::record::planned::given;
use crate::record::plot::timeline;
use crate::record::story::Story;
use crate::record::written;

use super::{figure, table, text};

pub fn section(story: &Story) -> Option<Markup> {
    let rows = story.steps.iter().map(|row| {
        let step = story.plan.steps.iter().find(|s| s.id == row.id);
        let planned = step.and_then(given);
        let took = row.took();
        let off = planned.zip(took).map(|(p, took)| {
            let (lo, hi) = (
                crate::record::planned::ms(p.lo),
                crate::record::planned::ms(p.hi),
            );
            match took {
                t if t < lo => written::difference(t - lo),
                t if t > hi => written::difference(t - hi),
                _ => "within".to_owned(),
            }
        });
        let mut remarks = Vec::new();
        if row.began_early {
            remarks.push("begun before what it waits for was done");
        }
        if row.ended_early {
            remarks.push("ended early, on a yes");
        }
        let at =
            |at: Option<crate::kitchen::At>| at.map(|a| written::time(a.0)).unwrap_or_default();
        let cells = vec![
            text(&row.name),
            text(at(row.began)),
            text(at(row.ended)),
            text(planned.map_or("not given".to_owned(), |p| show::span(p, show::duration))),
            text(took.map(written::length).unwrap_or_default()),
            text(off.unwrap_or_default()),
            text(if row.flips > 0 {
                row.flips.to_string()
            } else {
                String::new()
            }),
            text(remarks.join("; ")),
        ];
        (false, cells)
    });
    let rows: Vec<_> = rows.collect();
    let label = format!("Planned and real times of the {} steps", rows.len());
    Some(html! {
        (figure(
            timeline::svg(&label, &compare::bars(std::slice::from_ref(story))),
            Some("Hollow: the plan, as its day is laid from the begin of the cook. Solid: what happened. A line behind a bar is its rest; a dashed line has no planned end."),
        ))
        @if let Some(rows) = compare::bars_after_the_wait(story) {
            h3 { "After the long wait" }
            (figure(
                timeline::svg("The steps after the longest wait", &rows),
                Some("The same, from the end of the longest time without a call. The plan is laid so that both begin together."),
            ))
        }
        (table(&["Step", "#Began", "#Ended", "#Planned", "#Took", "#Off", "#Flips", "Remarks"], &rows))
    })
}
