//! Where each marked piece was over time, and a map of the vessels at each move.

use crate::kitchen::whereabouts::Side;
use crate::kitchen::{At, Event, MarkView, State, VesselView};

use super::names::{self, Names};
use super::taken::taken;

/// A marked piece at one place for a while.
#[derive(Debug, Clone, PartialEq)]
pub struct Stay {
    pub sample: String,
    pub name: String,
    pub from: At,
    /// None while it is still there.
    pub to: Option<At>,
    /// None where it has not been placed yet.
    pub vessel: Option<String>,
    /// In words: "left", "left or middle"; empty where the vessel has no places.
    pub place: String,
    pub side: Side,
    pub sure: bool,
    /// By the plan; the cook had not spoken of it.
    pub by_plan: bool,
}

/// The vessels that a move changed, as they were after it.
#[derive(Debug, Clone, PartialEq)]
pub struct MapRow {
    pub at: At,
    /// Number of the event in the journal, from 0.
    pub event: usize,
    pub why: String,
    pub vessels: Vec<VesselView>,
    pub marks: Vec<MarkView>,
}

#[derive(Debug, Default)]
pub struct Places {
    stays: Vec<Stay>,
    maps: Vec<MapRow>,
    before: Option<(Vec<VesselView>, Vec<MarkView>)>,
}

impl Places {
    pub fn after(&mut self, state: &State, number: usize, event: &Event, names: &Names) {
        let (vessels, marks) = (state.vessels(), state.marks());
        for mark in &marks {
            self.stay(mark, &vessels, event.at, names);
        }
        if let Some((vessels_before, marks_before)) = &self.before {
            let turned = |id: &str| {
                marks.iter().zip(marks_before).any(|(a, b)| {
                    a.side != b.side
                        && (a.vessel.as_deref() == Some(id) || b.vessel.as_deref() == Some(id))
                })
            };
            let changed: Vec<VesselView> = vessels
                .iter()
                .zip(vessels_before)
                .filter(|(now, then)| now != then || turned(&now.id))
                .map(|(now, _)| now.clone())
                .collect();
            if !changed.is_empty() {
                self.maps.push(MapRow {
                    at: event.at,
                    event: number,
                    why: taken(&event.what, names),
                    vessels: changed,
                    marks: marks.clone(),
                });
            }
        }
        self.before = Some((vessels, marks));
    }

    fn stay(&mut self, mark: &MarkView, vessels: &[VesselView], at: At, names: &Names) {
        let now = Stay {
            sample: mark.sample.clone(),
            name: mark.name.clone(),
            from: at,
            to: None,
            vessel: mark.vessel.as_deref().map(|v| names.name(v)),
            place: place_words(mark, vessels),
            side: mark.side,
            sure: mark.sure,
            by_plan: mark.by_plan,
        };
        let last = self
            .stays
            .iter_mut()
            .rev()
            .find(|s| s.sample == mark.sample);
        match last {
            Some(last)
                if Stay {
                    from: last.from,
                    ..now.clone()
                } == *last => {}
            Some(last) => {
                last.to = Some(at);
                self.stays.push(now);
            }
            None => self.stays.push(now),
        }
    }

    pub fn rows(self) -> (Vec<Stay>, Vec<MapRow>) {
        (self.stays, self.maps)
    }
}

/// "left", "left or middle", or nothing where the vessel has no places.
pub fn place_words(mark: &MarkView, vessels: &[VesselView]) -> String {
    let grid = mark
        .vessel
        .as_ref()
        .and_then(|id| vessels.iter().find(|v| v.id == *id))
        .and_then(|v| v.grid);
    match mark.place {
        Some(place) => names::place(place, grid),
        None => mark
            .perhaps
            .iter()
            .map(|p| names::place(*p, grid))
            .collect::<Vec<_>>()
            .join(" or "),
    }
}
