//! The record as one HTML file: no network, no script, everything in it. Text goes in
//! through `maud`, which escapes it; only the plots are put in as they are, and the plotting
//! library escapes theirs.
//!
//! - [`steps`]: planned against happened
//! - [`heat`]: readings, curves, the stove
//! - [`pieces`]: where each marked piece was
//! - [`safety`]: the published minimums beside what was reached
//! - [`tasting`]: the blind tasting and what it showed
//! - [`talk`]: clocks, notes and every call

mod heat;
mod pieces;
mod safety;
mod steps;
mod talk;
mod tasting;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::kitchen::Measured;

use super::compare;
use super::plot::Drawn;
use super::story::{Ending, Story};
use super::written;

const STYLE: &str = include_str!("style.css");

/// One page for one cook or several, in the order given. `source` names each journal.
pub fn page(stories: &[(String, Story)]) -> String {
    let title = match stories {
        [(_, story)] => story.plan.title.clone(),
        [(_, story), ..] => format!("{}: {} cooks", story.plan.title, stories.len()),
        [] => String::new(),
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @if stories.len() > 1 {
                        h1 { (title) }
                        (compare::side_by_side(stories))
                    }
                    @for (n, (source, story)) in stories.iter().enumerate() {
                        (one(n, source, story, stories.len()))
                    }
                }
            }
        }
    }
    .into_string()
}

fn one(n: usize, source: &str, story: &Story, of: usize) -> Markup {
    let sections = [
        ("steps", "Planned and happened", steps::section(story)),
        ("heat", "Temperatures", heat::section(story)),
        ("safety", "Safety", safety::section(story)),
        ("stove", "Heat and oil", heat::stove(story)),
        ("clocks", "Clocks", talk::clocks(story)),
        (
            "pieces",
            "Where the marked pieces were",
            pieces::section(story),
        ),
        ("tasting", "Tasting", tasting::section(story)),
        ("notes", "Notes", talk::notes(story)),
        ("calls", "Every call", talk::calls(story)),
    ];
    let sections: Vec<_> = sections
        .into_iter()
        .filter_map(|(id, name, body)| Some((format!("c{}-{id}", n + 1), name, body?)))
        .collect();
    html! {
        article {
            header {
                @if of > 1 { p { b { "Cook " (n + 1) " of " (of) } } }
                h1 { (story.plan.title) }
                (head(source, story))
                nav aria-label={ "Parts of cook " (n + 1) } {
                    ul {
                        @for (id, name, _) in &sections {
                            li { a href={ "#" (id) } { (name) } }
                        }
                    }
                }
            }
            @for (id, name, body) in &sections {
                section id=(id) {
                    h2 { (name) }
                    (body)
                }
            }
        }
    }
}

fn head(source: &str, story: &Story) -> Markup {
    let length = written::length(story.ending.at().0);
    html! {
        p {
            @if let Some(began) = &story.began {
                (began.strftime("%A, %-d %B %Y, %H:%M %Z").to_string()) ". "
            }
            @match story.ending {
                Ending::Ended(_) => { "It took " (length) "." }
                Ending::Open(_) => {
                    b { "This cook has not been ended." }
                    " The record goes as far as the journal, " (length)
                    " in: it is still running, or it was cut off."
                }
            }
        }
        @if let Some(bytes) = story.torn {
            p {
                "The last line of the journal was cut short (" (bytes)
                " bytes). It had not been answered, so nothing that was answered is missing."
            }
        }
        @for sample in &story.plan.samples {
            p {
                b { (sample.names.first().unwrap_or(&sample.id)) }
                @if let Some(mark) = &sample.mark { ": " (mark) }
            }
        }
        p.soft { "Plan " (story.plan_file) ", journal " (source) ". Times are hours, minutes and seconds since the cook began." }
    }
}

/// A plot, or why there is none.
pub(super) fn figure(drawn: Drawn, caption: Option<&str>) -> Markup {
    html! {
        figure {
            @match drawn {
                Ok(svg) => (PreEscaped(svg)),
                Err(why) => p { "No plot: " (why) },
            }
            @if let Some(caption) = caption { figcaption { (caption) } }
        }
    }
}

/// A table whose cells carry their column's name, so that a narrow screen can stack them.
/// Columns whose name begins with `#` hold figures.
pub(super) fn table(columns: &[&str], rows: &[(bool, Vec<Markup>)]) -> Markup {
    let name = |column: &str| column.trim_start_matches('#').to_owned();
    let class = |column: &str| column.starts_with('#').then_some("n");
    html! {
        table {
            thead { tr { @for c in columns { th scope="col" class=[class(c)] { (name(c)) } } } }
            tbody {
                @for (back, cells) in rows {
                    tr class=[back.then_some("back")] {
                        @for (c, cell) in columns.iter().zip(cells) {
                            td class=[class(c)] data-l=(name(c)) { (cell) }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn text(text: impl AsRef<str>) -> Markup {
    html! { (text.as_ref()) }
}

/// What a reading was taken of.
pub fn kind(kind: Measured) -> &'static str {
    match kind {
        Measured::Core => "core",
        Measured::Medium => "medium",
        Measured::Ice => "ice water",
        Measured::Boil => "boiling water",
        Measured::Cooling => "cooling",
    }
}
