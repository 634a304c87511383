//! The rows as CSV (RFC 4180, UTF-8, one header line), a file for each kind. Times are
//! seconds of cook time, temperatures degrees Celsius beside what was called.

use crate::kitchen::At;

use super::export::side;
use super::names::Names;
use super::story::Story;

/// File names and their text.
///
/// # Errors
/// The CSV writer's own; writing to memory, it has none.
pub fn sheets(story: &Story) -> Result<Vec<(&'static str, String)>, csv::Error> {
    let names = Names::of(&story.plan);
    let vessel = |id: &Option<String>| id.as_deref().map(|v| names.name(v)).unwrap_or_default();
    Ok(vec![
        (
            "calls.csv",
            sheet(
                &["at_s", "call", "heard", "taken", "said", "taken_back"],
                story.lines.iter().map(|l| {
                    vec![
                        s(l.at),
                        l.call.map(|c| c.to_string()).unwrap_or_default(),
                        l.heard.clone().unwrap_or_default(),
                        l.taken.join("; "),
                        l.said.join(" "),
                        yes(l.taken_back),
                    ]
                }),
            )?,
        ),
        (
            "steps.csv",
            sheet(
                &[
                    "step",
                    "planned_from_s",
                    "planned_to_s",
                    "began_s",
                    "food_in_s",
                    "ended_s",
                    "flips",
                    "began_early",
                    "ended_early",
                ],
                story.steps.iter().map(|r| {
                    vec![
                        r.name.clone(),
                        s(At(r.planned.from)),
                        o(r.planned.to.map(At)),
                        o(r.began),
                        o(r.food_in),
                        o(r.ended),
                        r.flips.to_string(),
                        yes(r.began_early),
                        yes(r.ended_early),
                    ]
                }),
            )?,
        ),
        (
            "clocks.csv",
            sheet(
                &[
                    "clock",
                    "from_s",
                    "ends_s",
                    "latest_s",
                    "moved",
                    "rang_s",
                    "answered_s",
                    "closed_s",
                ],
                story.clocks.iter().map(|c| {
                    vec![
                        c.name.clone(),
                        s(c.from),
                        s(c.ends),
                        o(c.latest),
                        yes(c.moved),
                        o(c.rang),
                        o(c.answered),
                        o(c.closed),
                    ]
                }),
            )?,
        ),
        (
            "readings.csv",
            sheet(
                &[
                    "at_s",
                    "number",
                    "vessel",
                    "piece",
                    "kind",
                    "called_low",
                    "called_high",
                    "unit",
                    "celsius_low",
                    "celsius_high",
                    "offset_celsius",
                    "target_celsius",
                    "not_believed",
                ],
                story.readings.iter().map(|r| {
                    vec![
                        s(r.at),
                        r.number.to_string(),
                        vessel(&r.vessel),
                        r.piece.clone().unwrap_or_default(),
                        super::page::kind(r.kind).to_owned(),
                        r.called.lo.to_string(),
                        r.called.hi.to_string(),
                        super::written::unit(r.called_in).to_owned(),
                        format!("{:.2}", r.celsius.lo.0),
                        format!("{:.2}", r.celsius.hi.0),
                        format!("{:.2}", r.offset_c),
                        r.target.map(|t| format!("{:.2}", t.0)).unwrap_or_default(),
                        story.judged.why(r.number).unwrap_or_default().to_owned(),
                    ]
                }),
            )?,
        ),
        (
            "believed.csv",
            sheet(
                &[
                    "at_s",
                    "vessel",
                    "core_celsius",
                    "low_celsius",
                    "high_celsius",
                ],
                story.judged.believed.iter().map(|b| {
                    vec![
                        s(b.at),
                        names.name(&b.vessel),
                        format!("{:.2}", b.core.0),
                        format!("{:.2}", b.low.0),
                        format!("{:.2}", b.high.0),
                    ]
                }),
            )?,
        ),
        (
            "stove.csv",
            sheet(
                &["at_s", "vessel", "what"],
                story
                    .stove
                    .iter()
                    .map(|r| vec![s(r.at), vessel(&r.vessel), r.what.clone()]),
            )?,
        ),
        (
            "places.csv",
            sheet(
                &[
                    "piece",
                    "from_s",
                    "to_s",
                    "vessel",
                    "place",
                    "side_down",
                    "sure",
                    "by_plan",
                ],
                story.stays.iter().map(|r| {
                    vec![
                        r.name.clone(),
                        s(r.from),
                        o(r.to),
                        r.vessel.clone().unwrap_or_default(),
                        r.place.clone(),
                        side(r.side).to_owned(),
                        yes(r.sure),
                        yes(r.by_plan),
                    ]
                }),
            )?,
        ),
        (
            "notes.csv",
            sheet(
                &["at_s", "note"],
                story
                    .notes
                    .iter()
                    .map(|n| vec![s(n.at), n.text.clone().unwrap_or_default()]),
            )?,
        ),
    ])
}

fn sheet(header: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Result<String, csv::Error> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(header)?;
    for row in rows {
        writer.write_record(row)?;
    }
    let bytes = writer.into_inner().map_err(|e| e.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn s(at: At) -> String {
    format!("{:.3}", at.0 as f64 / 1000.0)
}

fn o(at: Option<At>) -> String {
    at.map(s).unwrap_or_default()
}

fn yes(on: bool) -> String {
    if on { "yes" } else { "no" }.to_owned()
}
