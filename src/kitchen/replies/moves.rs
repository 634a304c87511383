//! Replies to moves, and the reminders at the moments when marks get lost.

use crate::grammar::{Order, Turn};
use crate::kitchen::PieceId;
use crate::kitchen::reply::{Mark, Moment, Reply, Say};
use crate::kitchen::whereabouts::Side;
use crate::plan::{Place, Sample, VesselKind};
use crate::voice::Urgency;

use super::{Telling, reply};

/// Whether the mark is seen now and will not be after a flip.
fn mark_goes_down(sample: &Sample, down: Side) -> bool {
    sample.mark_hidden_by_flip && down == Side::First
}

impl Telling<'_> {
    pub(super) fn turned(&self, vessel: &str, turn: Turn) -> Vec<Reply> {
        let mut all = vec![reply(Say::Turned {
            vessel: self.vessel_name(vessel),
            turn,
        })];
        let heap = |v| {
            self.after
                .core
                .whereabouts
                .frame(v)
                .is_none_or(|f| f.is_heap())
        };
        if let Some(v) = self.kit().vessel_ix(vessel).filter(|v| !heap(*v)) {
            all.extend(self.remind(Moment::AfterTurn, self.marks_in(v)));
        }
        all
    }

    pub(super) fn swapped_places(
        &self,
        vessel_a: &str,
        a: Place,
        vessel_b: &str,
        b: Place,
    ) -> Vec<Reply> {
        let (Some(va), Some(vb)) = (
            self.kit().vessel_ix(vessel_a),
            self.kit().vessel_ix(vessel_b),
        ) else {
            return Vec::new();
        };
        let mut marks = self.marks_in(va);
        if vb != va {
            marks.extend(self.marks_in(vb));
        }
        let name = |v, p| crate::voice::wording::place(&self.place_in(v, p));
        let (a, b) = match va == vb {
            true => (
                name(va, a),
                format!("{}, {}", name(vb, b), self.vessel_name_ix(vb)),
            ),
            false => (
                format!("{}, {}", self.vessel_name_ix(va), name(va, a)),
                format!("{}, {}", self.vessel_name_ix(vb), name(vb, b)),
            ),
        };
        vec![reply(Say::Swapped {
            a,
            b,
            marks: self.changed(marks),
        })]
    }

    /// Of these marks, those whose place is another than before.
    pub(super) fn changed(&self, marks: Vec<Mark>) -> Vec<Mark> {
        let before = Telling {
            before: self.before,
            after: self.before,
        };
        let was: Vec<Mark> = self.kit().marked().map(|(_, p)| before.mark(p)).collect();
        marks.into_iter().filter(|m| !was.contains(m)).collect()
    }

    pub(super) fn swapped_pieces(&self, a: &PieceId, b: &PieceId) -> Vec<Reply> {
        let (Some(a), Some(b)) = (self.kit().piece_ix(a), self.kit().piece_ix(b)) else {
            return Vec::new();
        };
        let marks = [a, b]
            .into_iter()
            .filter(|p| self.kit().sample_of(*p).is_some())
            .map(|p| self.mark(p))
            .collect();
        vec![reply(Say::Swapped {
            a: self.piece_name(a),
            b: self.piece_name(b),
            marks,
        })]
    }

    pub(super) fn moved_out(&self, from: &str, to: &str, order: Option<Order>) -> Vec<Reply> {
        let marks = self
            .kit()
            .vessel_ix(to)
            .map(|v| self.changed(self.marks_in(v)))
            .unwrap_or_default();
        vec![reply(Say::MovedOut {
            from: self.vessel_name(from),
            to: self.vessel_name(to),
            order,
            marks,
        })]
    }

    pub(super) fn order_told(&self, order: Order) -> Vec<Reply> {
        let marks: Vec<Mark> = self.kit().marked().map(|(_, p)| self.mark(p)).collect();
        vec![reply(Say::OrderTold {
            order,
            marks: self.changed(marks),
        })]
    }

    // ---- reminders

    fn remind(&self, moment: Moment, marks: Vec<Mark>) -> Option<Reply> {
        if marks.is_empty() || self.after.core.quiet || self.after.core.asleep {
            return None;
        }
        Some(Reply {
            urgency: Urgency::Reminder,
            say: Say::Reminder { moment, marks },
        })
    }

    /// The step is about to be emptied into another vessel.
    pub(super) fn remind_before_transfer(&self, ix: usize) -> Option<Reply> {
        let step = self.kit().step(ix)?;
        step.out_to.as_ref()?;
        let vessel = self.kit().vessel_ix(step.vessel.as_ref()?)?;
        self.remind(Moment::BeforeTransfer, self.marks_in(vessel))
    }

    pub(super) fn remind_at_flip(&self, step: &str) -> Option<Reply> {
        let step = self.kit().step(self.kit().step_ix(step)?)?;
        let vessel = self.kit().vessel_ix(step.vessel.as_ref()?)?;
        let marks = self
            .kit()
            .marked()
            .filter(|(sample, piece)| {
                let piece = self.after.core.whereabouts.pieces.get(*piece);
                piece.is_some_and(|p| {
                    p.lie.is_some_and(|l| l.vessel == vessel) && mark_goes_down(sample, p.side)
                })
            })
            .map(|(_, p)| self.mark(p))
            .collect();
        self.remind(Moment::MarkGoesDown, marks)
    }

    /// A step begins that plates, or that carries the pieces elsewhere by hand.
    pub(super) fn remind_at_step(&self, ix: usize) -> Option<Reply> {
        let step = self.kit().step(ix)?;
        let plates = |id: &String| {
            let vessel = self.kit().vessel_ix(id).and_then(|v| self.kit().vessel(v));
            vessel.is_some_and(|v| matches!(v.kind, VesselKind::Plate))
        };
        // What lay where before this step put it elsewhere is what the cook needs.
        let before = Telling {
            before: self.before,
            after: self.before,
        };
        if step.out_to.as_ref().is_some_and(plates) || step.vessel.as_ref().is_some_and(plates) {
            let held = self.samples_of_step(ix);
            let marks: Vec<Mark> = self
                .kit()
                .marked()
                .filter(|(_, p)| held.is_empty() || held.contains(p))
                .map(|(_, p)| before.mark(p))
                .filter(|m| m.lies != crate::kitchen::reply::Lies::NotPlaced)
                .collect();
            return self.remind(Moment::Plating, marks);
        }
        if step.out_to.is_some() && !crate::kitchen::kit::tends_itself(step) {
            return self.remind_before_transfer(ix);
        }
        None
    }
}
