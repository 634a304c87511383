//! The journal folded into rows. What was taken back stays visible among the calls and is
//! left out of everything that is said to have happened.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::ZonedDateTime;

use crate::journal::Cook;
use crate::kitchen::{At, Deed, Event, Measured, Question, State, What};
use crate::plan::{self, Celsius, Id, Plan, Problem, Step, Units, Until};
use crate::voice::wording;

use super::clocks::{ClockRow, Clocks};
use super::judged::Judged;
use super::names::Names;
use super::places::{MapRow, Places, Stay};
use super::planned::{Planned, planned};
use super::replay::{replay, wall};
use super::taken::taken;

pub use crate::plan::Span;

/// A cook as it happened.
#[derive(Debug, Clone)]
pub struct Story {
    pub plan: Arc<Plan>,
    pub plan_file: String,
    pub units: Units,
    /// When it began, by the kitchen's wall clock.
    pub began: Option<ZonedDateTime>,
    pub ending: Ending,
    /// Bytes at the end of the journal that were cut short, never acknowledged.
    pub torn: Option<usize>,
    pub lines: Vec<LineRow>,
    pub steps: Vec<StepRow>,
    pub clocks: Vec<ClockRow>,
    pub readings: Vec<ReadingRow>,
    pub judged: Judged,
    pub stove: Vec<StoveRow>,
    pub stays: Vec<Stay>,
    pub maps: Vec<MapRow>,
    pub notes: Vec<NoteRow>,
    /// What is so at the end.
    pub state: State,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// The cook ended it.
    Ended(At),
    /// The journal goes as far as this: still running, or cut off.
    Open(At),
}

impl Ending {
    pub fn at(self) -> At {
        match self {
            Ending::Ended(at) | Ending::Open(at) => at,
        }
    }
}

/// A call (or something unasked) with all that came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct LineRow {
    pub at: At,
    /// Numbers of its events in the journal, first and last.
    pub events: (usize, usize),
    pub call: Option<u32>,
    pub heard: Option<String>,
    pub taken: Vec<String>,
    pub said: Vec<String>,
    /// The cook took it back later.
    pub taken_back: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct StepRow {
    pub id: Id,
    pub name: String,
    pub planned: Planned,
    pub began: Option<At>,
    pub food_in: Option<At>,
    /// When its hands-on time was over and its wait began.
    pub waits_from: Option<At>,
    pub ended: Option<At>,
    pub flips: u32,
    pub began_early: bool,
    pub ended_early: bool,
}

impl StepRow {
    /// How long it took, milliseconds.
    pub fn took(&self) -> Option<i64> {
        Some(self.ended?.since(self.began?))
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    pub at: At,
    pub number: u32,
    pub vessel: Option<Id>,
    pub piece: Option<String>,
    pub kind: Measured,
    /// As called, corrections included.
    pub called: Span<f64>,
    pub called_in: Units,
    /// As the probe read it.
    pub celsius: Span<Celsius>,
    /// Degrees Celsius that were added to it, the probe being off.
    pub offset_c: f64,
    /// What was understood first, where the cook corrected it.
    pub first: Option<Span<f64>>,
    /// The step under way in its vessel.
    pub step: Option<Id>,
    /// The core that ends that step.
    pub target: Option<Celsius>,
    /// The medium that ends it.
    pub window: Option<Span<Celsius>>,
}

/// Heat, lid and oil.
#[derive(Debug, Clone, PartialEq)]
pub struct StoveRow {
    pub at: At,
    pub vessel: Option<Id>,
    pub what: String,
    pub oil: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct NoteRow {
    pub at: At,
    pub text: Option<String>,
}

/// Tells a cook.
///
/// # Errors
/// The problems of the plan that the journal holds, if this program reads plans otherwise
/// than the one that wrote it.
pub fn story(cook: &Cook<Event>) -> Result<Story, Vec<Problem>> {
    let told = replay(cook)?;
    let plan = Arc::new(plan::read(&cook.header.plan, &cook.header.plan_file)?.plan);
    let names = Names::of(&plan);
    let undone = taken_back(cook);
    let mut teller = Teller::new(&plan, cook.header.seed, &names);
    for (number, (_, event)) in cook.events.iter().enumerate() {
        if !is_taken_back(event, &undone) && !matches!(event.what, What::Undone { .. }) {
            teller.event(number, event);
        }
    }
    let mut said: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    // The record may be made while the tasters are still at it.
    let blind = told.state.is_tasting();
    for line in told.said {
        let text = match line.for_the_plater && blind {
            true => wording::PLATE_UNSEEN.to_owned(),
            false => line.text,
        };
        said.entry(line.event).or_default().push(text);
    }
    let last = cook.events.last().map_or(At(0), |(_, e)| e.at);
    let ended = cook.events.iter().find(|(_, e)| e.what == What::Ended);
    let (stays, maps) = teller.places.rows();
    Ok(Story {
        units: told.state.units(),
        plan_file: cook.header.plan_file.clone(),
        began: cook
            .sessions
            .first()
            .map(|s| wall(&s.anchor, cook.header.zone.as_deref()).1),
        ending: ended.map_or(Ending::Open(last), |(_, e)| Ending::Ended(e.at)),
        torn: cook.torn.as_ref().map(|t| t.bytes.len()),
        lines: lines(cook, &names, &undone, &said),
        steps: step_rows(&plan, &told.state, &teller.turns, &names),
        clocks: teller.clocks.rows(),
        readings: teller.readings,
        judged: teller.judged,
        stove: teller.stove,
        stays,
        maps,
        notes: teller.notes,
        state: told.state,
        plan,
    })
}

/// The numbers of the calls that were taken back.
fn taken_back(cook: &Cook<Event>) -> BTreeSet<u32> {
    cook.events
        .iter()
        .filter_map(|(_, e)| match &e.what {
            What::Undone { of } => Some(of),
            _ => None,
        })
        .flatten()
        .copied()
        .collect()
}

fn is_taken_back(event: &Event, undone: &BTreeSet<u32>) -> bool {
    event.call.is_some_and(|call| undone.contains(&call))
}

fn lines(
    cook: &Cook<Event>,
    names: &Names,
    undone: &BTreeSet<u32>,
    said: &BTreeMap<usize, Vec<String>>,
) -> Vec<LineRow> {
    let mut rows: Vec<LineRow> = Vec::new();
    for (number, (_, event)) in cook.events.iter().enumerate() {
        let words = said.get(&number).cloned().unwrap_or_default();
        let what = taken(&event.what, names);
        match rows.last_mut() {
            Some(row) if event.call.is_some() && row.call == event.call => {
                row.events.1 = number;
                row.taken.push(what);
                row.said.extend(words);
                row.heard = row.heard.take().or_else(|| event.heard.clone());
            }
            _ => rows.push(LineRow {
                at: event.at,
                events: (number, number),
                call: event.call,
                heard: event.heard.clone().or_else(|| misheard(&event.what)),
                taken: vec![what],
                said: words,
                taken_back: is_taken_back(event, undone),
            }),
        }
    }
    rows
}

/// What was heard, of an utterance that was no call.
fn misheard(what: &What) -> Option<String> {
    match what {
        What::NotUnderstood { alternatives } => alternatives.first().cloned(),
        _ => None,
    }
}

/// What of a step only the events tell.
#[derive(Debug, Clone, Copy, Default)]
struct Turns {
    food_in: Option<At>,
    began_early: bool,
    ended_early: bool,
}

fn step_rows(
    plan: &Plan,
    state: &State,
    turns: &BTreeMap<Id, Turns>,
    names: &Names,
) -> Vec<StepRow> {
    let planned = planned(plan);
    state
        .steps()
        .into_iter()
        .zip(planned)
        .map(|(view, planned)| {
            let turns = turns.get(&view.id).copied().unwrap_or_default();
            StepRow {
                name: names.name(&view.id),
                id: view.id,
                planned,
                began: view.began,
                food_in: turns.food_in,
                waits_from: view.waits_from,
                ended: view.ended,
                flips: view.flips,
                began_early: turns.began_early,
                ended_early: turns.ended_early,
            }
        })
        .collect()
}

/// Folds what really happened, row by row.
struct Teller<'a> {
    names: &'a Names,
    state: State,
    turns: BTreeMap<Id, Turns>,
    clocks: Clocks,
    places: Places,
    readings: Vec<ReadingRow>,
    judged: Judged,
    stove: Vec<StoveRow>,
    notes: Vec<NoteRow>,
}

impl<'a> Teller<'a> {
    fn new(plan: &Arc<Plan>, seed: u64, names: &'a Names) -> Teller<'a> {
        Teller {
            names,
            state: State::new(plan.clone()).seeded(seed),
            turns: BTreeMap::new(),
            clocks: Clocks::default(),
            places: Places::default(),
            readings: Vec::new(),
            judged: Judged::default(),
            stove: Vec::new(),
            notes: Vec::new(),
        }
    }

    fn event(&mut self, number: usize, event: &Event) {
        let at = event.at;
        match &event.what {
            What::StepStarted { step, early } => {
                let turns = Turns {
                    began_early: *early,
                    ..Turns::default()
                };
                self.turns.insert(step.clone(), turns);
            }
            What::StepEnded { step, early } => {
                self.turns.entry(step.clone()).or_default().ended_early = *early;
            }
            What::FoodIn { step } => {
                self.turns.entry(step.clone()).or_default().food_in = Some(at);
            }
            What::OilIn { vessel } => self.stove.push(StoveRow {
                at,
                vessel: vessel.clone(),
                what: "oil in".to_owned(),
                oil: true,
            }),
            What::Did { deed, about } => self.did(*deed, about.as_ref(), at),
            What::Reading(reading) => {
                let step = self.step_in(reading.vessel.as_deref());
                let row = ReadingRow {
                    at,
                    number: reading.number,
                    vessel: reading.vessel.clone(),
                    piece: match (&reading.piece, &reading.item) {
                        (Some(p), _) => Some(self.names.piece(p)),
                        (None, item) => item.as_ref().map(|i| self.names.name(i)),
                    },
                    kind: reading.kind,
                    called: reading.called,
                    called_in: reading.units,
                    celsius: reading.celsius,
                    offset_c: match reading.kind {
                        Measured::Core | Measured::Medium | Measured::Cooling => {
                            self.state.probe_offset()
                        }
                        Measured::Ice | Measured::Boil => 0.0,
                    },
                    first: None,
                    step: step.map(|s| s.id.clone()),
                    target: step.and_then(target),
                    window: step.and_then(window),
                };
                self.readings.push(row);
            }
            What::Corrected {
                of,
                called,
                celsius,
            } => {
                let found = self.readings.iter_mut().rev().find(|r| r.number == *of);
                if let Some(row) = found {
                    row.first = row.first.or(Some(row.called));
                    row.called = *called;
                    row.celsius = *celsius;
                }
            }
            What::Noted { text } => self.notes.push(NoteRow {
                at,
                text: text.clone(),
            }),
            _ => {}
        }
        self.state.apply(event);
        if matches!(event.what, What::Reading(_) | What::Corrected { .. }) {
            self.judge(at);
        }
        self.clocks.after(&self.state, at, self.names);
        // While a question about a place is open its answer is moments away.
        let waits = self
            .state
            .question()
            .is_some_and(|q| matches!(q, Question::Order { .. } | Question::ChangedPlaces { .. }));
        if !waits {
            self.places.after(&self.state, number, event, self.names);
        }
    }

    /// What the last reading left to be believed.
    fn judge(&mut self, at: At) {
        let Some(id) = self.readings.last().and_then(|r| r.step.clone()) else {
            return;
        };
        let plan = self.state.plan();
        let Some(step) = plan.steps.iter().find(|s| s.id == id) else {
            return;
        };
        let of = |r: &&ReadingRow| r.step.as_ref() == Some(&id);
        let numbers: Vec<u32> = self.readings.iter().filter(of).map(|r| r.number).collect();
        self.judged.after(&self.state, step, at, &numbers);
    }

    fn did(&mut self, deed: Deed, about: Option<&crate::grammar::Subject>, at: At) {
        let vessel = match about {
            Some(crate::grammar::Subject::Vessel(v)) => Some(v.clone()),
            _ => None,
        };
        self.stove.push(StoveRow {
            at,
            vessel,
            what: wording::deed(deed).to_owned(),
            oil: false,
        });
    }

    fn step_in(&self, vessel: Option<&str>) -> Option<&Step> {
        let vessel = vessel?;
        let plan = self.state.plan();
        self.state
            .steps()
            .iter()
            .filter(|s| s.phase == crate::kitchen::StepPhase::Running)
            .filter_map(|s| plan.steps.iter().find(|p| p.id == s.id))
            .find(|s| s.vessel.as_deref() == Some(vessel))
    }
}

fn target(step: &Step) -> Option<Celsius> {
    step.until.iter().find_map(|u| match u {
        Until::Core(target) => Some(*target),
        _ => None,
    })
}

fn window(step: &Step) -> Option<Span<Celsius>> {
    step.until.iter().find_map(|u| match u {
        Until::Medium(window) => Some(*window),
        _ => None,
    })
}
