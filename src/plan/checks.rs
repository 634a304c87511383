//! What only shows when the whole plan is known.

use std::time::Duration;

use super::model::*;
use super::order::Order;
use super::problem::Desk;
use super::steps::DraftStep;
use super::things::Draft;

pub(super) struct Whole<'a> {
    pub(super) items: &'a [Draft<Item>],
    pub(super) samples: &'a [Draft<Sample>],
    pub(super) vessels: &'a [Draft<Vessel>],
    pub(super) steps: &'a [Draft<DraftStep>],
    pub(super) order: &'a Order,
}

impl Whole<'_> {
    pub(super) fn check(&self, desk: &mut Desk<'_>) {
        self.samples_and_pieces(desk);
        for draft in self.steps {
            self.one_step(draft, desk);
        }
        self.at_once(desk);
        self.never_used(desk);
        self.needs(desk);
    }

    fn vessel(&self, id: &Id) -> Option<&Vessel> {
        self.vessels.iter().map(|d| &d.thing).find(|v| v.id == *id)
    }

    fn name_of(&self, index: usize) -> &str {
        self.steps
            .get(index)
            .and_then(|d| d.thing.step.names.first())
            .map_or("", String::as_str)
    }

    fn samples_and_pieces(&self, desk: &mut Desk<'_>) {
        for item in self.items.iter().filter(|d| d.whole) {
            let of: Vec<_> = self
                .samples
                .iter()
                .filter(|s| s.thing.of == item.thing.id)
                .collect();
            if of.len() > item.thing.pieces as usize {
                desk.problem(
                    desk.marks.nearest(&format!("{}/pieces", item.path)),
                    format!(
                        "{} samples of `{}`, which has {} piece{}",
                        of.len(),
                        item.thing.names.first().map_or("", String::as_str),
                        item.thing.pieces,
                        plural(item.thing.pieces),
                    ),
                    format!("`pieces: {}` or more, or fewer samples", of.len()),
                );
            }
        }
    }

    fn one_step(&self, draft: &Draft<DraftStep>, desk: &mut Desk<'_>) {
        let step = &draft.thing.step;
        let at = |key: &str, desk: &Desk<'_>| desk.marks.nearest(&format!("{}/{key}", draft.path));
        let told = |key: &str, desk: &Desk<'_>| {
            desk.marks.exact(&format!("{}/{key}", draft.path)).is_some()
        };
        if step.vessel.is_none() && !told("vessel", desk) {
            for key in [
                "holds",
                "flip every",
                "out to",
                "until/core",
                "until/medium",
            ] {
                if told(key, desk) {
                    let name = key.rsplit('/').next().unwrap_or(key);
                    desk.problem(
                        at(key, desk),
                        format!("`{name}` without a vessel"),
                        "`vessel:` and its name in this step",
                    );
                }
            }
        }
        if step.vessel.is_some() && step.vessel == step.out_to {
            desk.problem(
                at("out to", desk),
                "`out to` is the vessel that the step is in",
                "another vessel, or no `out to`",
            );
        }
        let time = step.until.iter().find_map(|u| match u {
            Until::Time(span) => Some(*span),
            _ => None,
        });
        if told("wait", desk) && told("until/time", desk) {
            desk.problem(
                at("until/time", desk),
                "`wait` and `until: {time}` both set the length of the step",
                "only one of them",
            );
        }
        if told("takes", desk) && (step.wait.is_some() || time.is_some()) {
            desk.problem(
                at("takes", desk),
                "`takes` is for a step without a clock, and this one has one",
                "no `takes` here",
            );
        }
        if step.cools && step.holds.is_empty() {
            desk.problem(
                at("cools", desk),
                "`cools` in a step that holds nothing",
                "`holds:` and what cools in it, such as `holds: stock`",
            );
        }
        for (key, span) in [("wait", step.wait), ("until/time", time)] {
            if let Some(span) = span
                && span.hi == Duration::ZERO
            {
                desk.problem(
                    at(key, desk),
                    "a clock of no length",
                    "the time, such as 10 min, or leave the line out",
                );
            }
        }
        if let (Some(every), Some(length)) = (step.flip_every, time.or(step.wait))
            && every >= length.hi
            && length.hi > Duration::ZERO
        {
            desk.problem(
                at("flip every", desk),
                "`flip every` is as long as the step or longer, so nothing is ever flipped",
                "a shorter time, or a longer step",
            );
        }
        for until in &step.until {
            if let Until::Medium(window) = until
                && window.lo == window.hi
            {
                desk.problem(
                    at("until/medium", desk),
                    "`medium` is a single temperature, which nothing meets exactly",
                    "a window, such as 340 F .. 350 F",
                );
            }
        }
        self.too_hot(draft, desk);
        for other in &step.finish_with {
            let index = |id: &Id| self.steps.iter().position(|d| d.thing.step.id == *id);
            if let (Some(a), Some(b)) = (index(&step.id), index(other))
                && !self.order.at_once(a, b)
            {
                desk.problem(
                    at("finish with", desk),
                    if a == b {
                        "`finish with` names the step itself".to_owned()
                    } else {
                        format!(
                            "`{}` cannot end together with a step that waits for it",
                            self.name_of(b)
                        )
                    },
                    "a step that may be under way at the same time",
                );
            }
        }
        self.holdings(draft, desk);
    }

    /// Pieces and places of one step.
    /// A window that reaches past what the vessel's medium may reach.
    fn too_hot(&self, draft: &Draft<DraftStep>, desk: &mut Desk<'_>) {
        let step = &draft.thing.step;
        let window = step.until.iter().find_map(|u| match u {
            Until::Medium(window) => Some(*window),
            _ => None,
        });
        let vessel = step.vessel.as_ref().and_then(|id| self.vessel(id));
        let (Some(window), Some(vessel)) = (window, vessel) else {
            return;
        };
        let at = desk.marks.nearest(&format!("{}/until/medium", draft.path));
        if vessel
            .medium
            .limit
            .is_some_and(|l| window.hi.0 > l.0 + 1e-9)
        {
            desk.problem(
                at,
                "the window reaches above the vessel's `limit`",
                "a window below it, or a higher `limit:` at the vessel",
            );
        } else if vessel
            .medium
            .smoke
            .is_some_and(|s| window.hi.0 > s.lo.0 + 1e-9)
        {
            desk.warn(
                at,
                "the window reaches into the range in which the vessel's oil begins to smoke",
                "a window below it, or another oil",
            );
        }
    }

    fn holdings(&self, draft: &Draft<DraftStep>, desk: &mut Desk<'_>) {
        let step = &draft.thing.step;
        let at = desk.marks.nearest(&format!("{}/holds", draft.path));
        for (index, line) in draft.thing.holds.iter().enumerate() {
            let twice = draft
                .thing
                .holds
                .iter()
                .take(index)
                .find(|earlier| earlier.what == line.what);
            if twice.is_some() {
                desk.problem(line.at, "`holds` names the same thing twice", "it once");
            }
            let clash = draft
                .thing
                .holds
                .iter()
                .take(index)
                .any(|earlier| earlier.places.iter().any(|p| line.places.contains(p)));
            if clash {
                desk.problem(
                    line.at,
                    "`holds` puts two pieces in one place",
                    "a place for each piece",
                );
            }
        }
        for item in self.items.iter().filter(|d| d.whole) {
            let (plain, _) = held(step, &item.thing, self.samples);
            let samples = self
                .samples
                .iter()
                .filter(|s| s.thing.of == item.thing.id)
                .count() as u32;
            let free = item.thing.pieces.saturating_sub(samples);
            if plain > free {
                let name = item.thing.names.first().map_or("", String::as_str);
                desk.problem(
                    at,
                    format!(
                        "`holds` has {plain} of `{name}`, but of {} piece{} {} marked and {free} not",
                        item.thing.pieces,
                        plural(item.thing.pieces),
                        if samples == 1 { "1 is".to_owned() } else { format!("{samples} are") },
                    ),
                    format!("{free} at most, and each marked one by its own name"),
                );
            }
        }
        if let Some(vessel) = step.vessel.as_ref().and_then(|id| self.vessel(id)) {
            let places = vessel.places.places().len();
            let pieces: u32 = step
                .holds
                .iter()
                .map(|h| match &h.what {
                    What::Pieces { count, .. } => *count,
                    What::Sample(_) => 1,
                })
                .sum();
            if places > 0 && pieces as usize > places {
                desk.warn(
                    at,
                    format!(
                        "{pieces} pieces in a vessel with {places} places: where each one is cannot be told"
                    ),
                    "`places:` with a place for each piece, or two batches",
                );
            }
            if step.holds.is_empty() && self.reads_core(step) {
                self.filled_before(draft, vessel, desk);
            }
        }
    }

    fn reads_core(&self, step: &Step) -> bool {
        step.until.iter().any(|u| matches!(u, Until::Core(_)))
    }

    /// A core temperature needs a piece: one put in by this step or an earlier one.
    fn filled_before(&self, draft: &Draft<DraftStep>, vessel: &Vessel, desk: &mut Desk<'_>) {
        let Some(me) = self
            .steps
            .iter()
            .position(|d| d.thing.step.id == draft.thing.step.id)
        else {
            return;
        };
        if !draft.whole {
            return;
        }
        let filled = self.steps.iter().enumerate().any(|(index, other)| {
            let step = &other.thing.step;
            self.order.precedes(index, me)
                && (!other.whole
                    || (step.vessel.as_ref() == Some(&vessel.id) && !step.holds.is_empty())
                    || step.out_to.as_ref() == Some(&vessel.id))
        });
        if !filled {
            desk.problem(
                desk.marks.nearest(&format!("{}/until/core", draft.path)),
                format!(
                    "a core temperature, but nothing is in `{}`",
                    vessel.names.first().map_or("", String::as_str)
                ),
                "`holds:` and what goes in, here or in an earlier step",
            );
        }
    }

    /// One vessel for two steps, one piece in two places.
    fn at_once(&self, desk: &mut Desk<'_>) {
        for (b, second) in self.steps.iter().enumerate() {
            for (a, first) in self.steps.iter().enumerate().take(b) {
                if !self.order.at_once(a, b) {
                    continue;
                }
                let (first, one) = (&first.thing.step, &second.thing.step);
                if let (Some(x), Some(y)) = (&first.vessel, &one.vessel)
                    && x == y
                    && self.vessel(x).is_some_and(|v| !shared(v.kind))
                {
                    desk.problem(
                        desk.marks.nearest(&format!("{}/vessel", second.path)),
                        format!(
                            "`{}` and `{}` may be in this vessel at the same time",
                            self.name_of(a),
                            self.name_of(b)
                        ),
                        format!("`after: {}`, or another vessel", self.name_of(a)),
                    );
                }
                for sample in samples_in(first) {
                    if samples_in(one).any(|other| other == sample) && first.vessel != one.vessel {
                        let name = self
                            .samples
                            .iter()
                            .find(|s| s.thing.id == *sample)
                            .and_then(|s| s.thing.names.first())
                            .map_or("", String::as_str);
                        desk.problem(
                            desk.marks.nearest(&format!("{}/holds", second.path)),
                            format!(
                                "`{name}` would be in two vessels at once: `{}` and `{}`",
                                self.name_of(a),
                                self.name_of(b)
                            ),
                            "it in one of them, the others with their number (3 chops)",
                        );
                    }
                }
            }
        }
        for item in self.items.iter().filter(|d| d.whole) {
            let weights: Vec<u32> = self
                .steps
                .iter()
                .enumerate()
                .map(|(index, d)| {
                    let (plain, marked) = held(&d.thing.step, &item.thing, self.samples);
                    let begins = self.order.sorted.contains(&index);
                    if begins {
                        plain.saturating_add(marked)
                    } else {
                        0
                    }
                })
                .collect();
            let (most, steps) = self.order.heaviest_at_once(&weights);
            let name = item.thing.names.first().map_or("", String::as_str);
            if most > item.thing.pieces && steps.len() > 1 {
                let last = steps.iter().max().and_then(|&i| self.steps.get(i));
                let names: Vec<&str> = steps.iter().map(|&i| self.name_of(i)).collect();
                desk.problem(
                    last.map_or(item.at, |d| {
                        desk.marks.nearest(&format!("{}/holds", d.path))
                    }),
                    format!(
                        "{most} of `{name}` in use at once (in `{}`), but there are {}",
                        names.join("`, `"),
                        item.thing.pieces
                    ),
                    "how many go into each, such as 3 chops",
                );
            }
        }
    }

    fn never_used(&self, desk: &mut Desk<'_>) {
        for vessel in self.vessels {
            let used = self.steps.iter().any(|d| {
                let step = &d.thing.step;
                step.vessel.as_ref() == Some(&vessel.thing.id)
                    || step.out_to.as_ref() == Some(&vessel.thing.id)
            });
            if !used {
                desk.warn(
                    vessel.at,
                    "no step uses this vessel",
                    "`vessel:` or `out to:` in a step, or leave the vessel out",
                );
            }
        }
        for sample in self.samples {
            let used = self
                .steps
                .iter()
                .any(|d| samples_in(&d.thing.step).any(|id| *id == sample.thing.id));
            if !used {
                desk.warn(
                    sample.at,
                    "no step puts this sample anywhere, so nobody knows where it starts",
                    "`holds:` with its name in the first step that handles it",
                );
            }
        }
    }
}

/// Vessels that several steps use at once without getting in each other's way.
fn shared(kind: VesselKind) -> bool {
    matches!(
        kind,
        VesselKind::Fridge | VesselKind::Oven | VesselKind::Rack | VesselKind::Board
    )
}

fn samples_in(step: &Step) -> impl Iterator<Item = &Id> {
    step.holds.iter().filter_map(|h| match &h.what {
        What::Sample(id) => Some(id),
        What::Pieces { .. } => None,
    })
}

/// Unmarked and marked pieces of an item that a step holds.
fn held(step: &Step, item: &Item, samples: &[Draft<Sample>]) -> (u32, u32) {
    let plain = step
        .holds
        .iter()
        .map(|h| match &h.what {
            What::Pieces { item: id, count } if *id == item.id => *count,
            _ => 0,
        })
        .fold(0u32, u32::saturating_add);
    let marked = samples_in(step)
        .filter(|id| {
            samples
                .iter()
                .any(|s| s.thing.id == **id && s.thing.of == item.id)
        })
        .count();
    (plain, u32::try_from(marked).unwrap_or(u32::MAX))
}

fn plural(n: u32) -> &'static str {
    if n == 1 { "" } else { "s" }
}
