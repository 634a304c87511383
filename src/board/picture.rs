//! The state → what the page shows, as plain data. Pure.

use serde::Serialize;

use crate::grammar::Heat;
use crate::kitchen::whereabouts::Side;
use crate::kitchen::{ClockKey, Deed, MarkView, State, StepPhase, VesselView};
use crate::plan::{Step, Until};
use crate::record::names::{self, Names};
use crate::record::written;
use crate::voice::wording;

/// Everything on the page. Times are milliseconds of cook time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Picture {
    pub title: String,
    pub ended: bool,
    pub asleep: bool,
    pub quiet: bool,
    /// A tasting is open: nothing is shown that could tell which is which.
    pub blind: bool,
    /// The open question, as it was asked.
    pub question: Option<String>,
    pub steps: Vec<StepCard>,
    /// What can begin now.
    pub ready: Vec<String>,
    pub clocks: Vec<ClockCard>,
    pub vessels: Vec<VesselCard>,
    pub talk: Vec<TalkLine>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepCard {
    pub name: String,
    pub say: String,
    pub until: Vec<String>,
    /// The core that is believed, where one was read.
    pub believed: Option<String>,
    /// When it will be at its target, four times of five between these.
    pub ready_ms: Option<(i64, i64)>,
    pub resting: bool,
    pub flips: u32,
    pub began_ms: Option<i64>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockCard {
    pub name: String,
    pub kind: &'static str,
    pub from_ms: i64,
    pub ends_ms: i64,
    pub latest_ms: Option<i64>,
    pub sounds: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VesselCard {
    pub name: String,
    /// Rows from the back and columns from the left; both 0 for a clock face.
    pub rows: u8,
    pub columns: u8,
    pub cells: Vec<Cell>,
    /// Marked pieces in it of which the place is not sure.
    pub marked_somewhere: Vec<String>,
    /// The others.
    pub somewhere: String,
    pub stacked: bool,
    pub heat: Option<&'static str>,
    pub lid: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    pub place: String,
    pub text: String,
    /// A marked piece lies here.
    pub marked: bool,
    /// Which side of it is down, where that is known.
    pub side: Option<&'static str>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TalkLine {
    /// `cook` or `hob`.
    pub who: &'static str,
    pub at_ms: i64,
    pub text: String,
}

pub fn picture(
    state: &State,
    talk: impl Iterator<Item = TalkLine>,
    asked: Option<&str>,
) -> Picture {
    let names = Names::of(state.plan());
    let blind = is_blind(state);
    let mut steps: Vec<StepCard> = Vec::new();
    let mut ready = Vec::new();
    for view in state.steps() {
        let Some(step) = state.plan().steps.iter().find(|s| s.id == view.id) else {
            continue;
        };
        match view.phase {
            StepPhase::Running | StepPhase::Resting => {
                let running = view.phase == StepPhase::Running;
                let belief = state.belief_of(&view.id).filter(|_| running);
                steps.push(StepCard {
                    believed: (belief.as_ref().and_then(|b| b.core))
                        .map(|c| written::temperature(c, state.units())),
                    ready_ms: (belief.and_then(|b| b.ready)).map(|(low, high)| (low.0, high.0)),
                    name: names.name(&view.id),
                    say: step.say.clone(),
                    until: until(step, state),
                    resting: view.phase == StepPhase::Resting,
                    flips: view.flips,
                    began_ms: view.began.map(|a| a.0),
                })
            }
            StepPhase::Ready => ready.push(names.name(&view.id)),
            StepPhase::Waiting | StepPhase::Done => {}
        }
    }
    // What was begun last is what the hands are at; what rests needs none.
    steps.sort_by_key(|s| (s.resting, std::cmp::Reverse(s.began_ms)));
    Picture {
        title: state.plan().title.clone(),
        ended: state.has_ended(),
        asleep: state.is_asleep(),
        quiet: state.is_quiet(),
        blind,
        question: asked.filter(|_| !blind).map(str::to_owned),
        steps,
        ready,
        clocks: clocks(state, &names),
        vessels: if blind { Vec::new() } else { vessels(state) },
        talk: if blind { Vec::new() } else { talk.collect() },
    }
}

/// Whether a tasting is open; then neither pieces nor words are shown, since a screen stays
/// when the tasters come in.
fn is_blind(state: &State) -> bool {
    state.is_tasting()
}

fn until(step: &Step, state: &State) -> Vec<String> {
    let units = state.units();
    step.until
        .iter()
        .filter_map(|u| match u {
            Until::Time(_) => None,
            Until::Core(core) => Some(format!("core {}", written::temperature(*core, units))),
            Until::Medium(w) => Some(format!(
                "{} to {}",
                written::degrees(w.lo, units),
                written::temperature(w.hi, units)
            )),
            Until::Word(word) => Some(word.clone()),
        })
        .collect()
}

fn clocks(state: &State, names: &Names) -> Vec<ClockCard> {
    let mut all: Vec<ClockCard> = state
        .clocks()
        .iter()
        .map(|clock| ClockCard {
            name: crate::record::clocks::name(state, clock, names),
            kind: match clock.key {
                ClockKey::Wait(_) => "wait",
                ClockKey::Flip(_) => "flip",
                ClockKey::Rest(_) => "rest",
                ClockKey::Voice(_) => "timer",
            },
            from_ms: clock.from.0,
            ends_ms: clock.ends.0,
            latest_ms: clock.latest.map(|a| a.0),
            sounds: clock.sounds,
        })
        .collect();
    all.extend(state.cooling().iter().filter_map(|c| {
        let leg = c.legs.iter().find(|l| l.there.is_none())?;
        let to = written::temperature(leg.to, state.units());
        Some(ClockCard {
            name: format!("{} to {to}", names.name(&c.item)),
            kind: "cooling",
            from_ms: c.from.0,
            ends_ms: leg.by.0,
            latest_ms: None,
            sounds: false,
        })
    }));
    all.sort_by_key(|c| (!c.sounds, c.ends_ms));
    all
}

fn vessels(state: &State) -> Vec<VesselCard> {
    let marks = state.marks();
    let stove = state.stove();
    let is_mark = |name: &String| marks.iter().any(|m| m.name == *name);
    state
        .vessels()
        .into_iter()
        .zip(stove)
        .filter(|(v, _)| !v.somewhere.is_empty() || v.places.iter().any(|(_, p)| !p.is_empty()))
        .map(|(v, stove)| VesselCard {
            cells: cells(&v, &marks),
            rows: v.grid.map_or(0, |g| g.0),
            columns: v.grid.map_or(0, |g| g.1),
            marked_somewhere: (v.somewhere.iter())
                .filter(|name| is_mark(name))
                .cloned()
                .collect(),
            somewhere: counted(
                &(v.somewhere.iter())
                    .filter(|name| !is_mark(name))
                    .cloned()
                    .collect::<Vec<_>>(),
            ),
            stacked: v.stacked,
            heat: stove
                .heat
                .filter(|h| *h != Heat::Off)
                .map(|h| wording::deed(Deed::Heat(h))),
            lid: stove.lid,
            name: v.name,
        })
        .collect()
}

fn cells(vessel: &VesselView, marks: &[MarkView]) -> Vec<Cell> {
    vessel
        .places
        .iter()
        .map(|(place, pieces)| {
            let mark = marks
                .iter()
                .find(|m| m.vessel.as_ref() == Some(&vessel.id) && pieces.contains(&m.name));
            Cell {
                place: place.map_or_else(String::new, |p| names::place(p, vessel.grid)),
                text: counted(pieces),
                marked: mark.is_some(),
                side: mark.and_then(|m| match m.side {
                    Side::First => Some("first side down"),
                    Side::Second => Some("second side down"),
                    Side::Unsure => None,
                }),
            }
        })
        .collect()
}

/// Like names once, with their number.
fn counted(pieces: &[String]) -> String {
    let mut out: Vec<(&str, usize)> = Vec::new();
    for piece in pieces {
        match out.iter_mut().find(|(name, _)| name == piece) {
            Some((_, n)) => *n += 1,
            None => out.push((piece, 1)),
        }
    }
    out.iter()
        .map(|(name, n)| match n {
            1 => (*name).to_owned(),
            n => format!("{n} × {name}"),
        })
        .collect::<Vec<_>>()
        .join(", ")
}
