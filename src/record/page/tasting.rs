//! The blind tasting: while it is open only who has answered, and when it is closed the key,
//! the answers and the verdict, in the words that were said.

use maud::{Markup, html};

use crate::record::story::Story;
use crate::tasting::{Closed, Open, Opened, Tasting, Test};

use super::{table, text};

pub fn section(story: &Story) -> Option<Markup> {
    Some(match story.state.tasting()? {
        Tasting::Open(open) => under_way(open),
        Tasting::Closed(closed) => over(story, closed),
    })
}

fn set_up(opened: &Opened) -> Markup {
    html! {
        p {
            @match opened.test {
                Test::Triangle => "Triangle test (the odd one of three)",
                Test::DuoTrio => "Duo-trio test (the one that is the same as the reference)",
                Test::PairedPreference => "Paired preference (the one liked better)",
                Test::PairedDifference => {
                    "Paired difference (the one that is "
                    (opened.attribute.as_deref().unwrap_or("more so")) ")"
                }
            }
            ", " (opened.samples.test) " against " (opened.samples.control) ", "
            (opened.tasters) " tasters."
        }
    }
}

fn under_way(open: &Open) -> Markup {
    let waiting: Vec<String> = open.waiting().iter().map(u16::to_string).collect();
    html! {
        (set_up(open.opened()))
        p {
            "The tasting is open: what each code holds is told when it is closed. "
            @if waiting.is_empty() {
                "All have answered."
            } @else {
                "Still to answer: " (waiting.join(", ")) "."
            }
        }
    }
}

fn over(story: &Story, closed: &Closed) -> Markup {
    let samples = &closed.opened().samples;
    let verdict: Vec<&str> = story
        .lines
        .iter()
        .rev()
        .find(|l| {
            l.taken
                .iter()
                .any(|t| t.starts_with("tasting") && t.contains("closed"))
        })
        .map(|l| l.said.iter().map(String::as_str).collect())
        .unwrap_or_default();
    let tally = closed.tally();
    let sheet = closed.sheet();
    let rows: Vec<_> = sheet
        .rows
        .iter()
        .map(|row| {
            let served: Vec<String> = row
                .servings
                .iter()
                .map(|s| format!("{} ({})", s.code.number(), samples.name(s.sample)))
                .collect();
            let answer = closed.answers().find(|a| a.taster == row.taster);
            let named = answer.map_or("no answer".to_owned(), |a| a.code.number().to_string());
            let remarks = match answer {
                Some(a) if a.guess => format!("{}, a guess", hit(closed, a.hit)),
                Some(a) => hit(closed, a.hit).to_owned(),
                None => String::new(),
            };
            let cells = vec![
                text(row.taster.to_string()),
                text(served.join(", ")),
                text(named),
                text(remarks),
            ];
            (false, cells)
        })
        .collect();
    html! {
        (set_up(closed.opened()))
        @for line in verdict { p { b { (line) } } }
        @if let Ok(outcome) = closed.outcome() {
            p {
                (tally.hits) " of " (tally.answers) " answers "
                @if closed.opened().test == Test::PairedPreference {
                    "for " (samples.test)
                } @else {
                    "right"
                }
                ", " (tally.guesses) " of them guesses. The chance that guessing alone does so well is "
                (format!("{:.4}", outcome.p)) "."
                @if let Some(needed) = outcome.critical {
                    " At a level of " (outcome.alpha) " it takes " (needed) "."
                } @else {
                    " So few tasters cannot reach a level of " (outcome.alpha) "."
                }
            }
        }
        (table(&["#Taster", "Served, in order", "Named", "Turned out"], &rows))
    }
}

fn hit(closed: &Closed, hit: bool) -> &'static str {
    match (closed.opened().test, hit) {
        (Test::PairedPreference, true) => "for the test sample",
        (Test::PairedPreference, false) => "for the control",
        (_, true) => "right",
        (_, false) => "wrong",
    }
}
