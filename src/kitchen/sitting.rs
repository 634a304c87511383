//! The tasting of this cook as it stands: the pure room's [`Tasting`], and how far whoever
//! plates and whoever asks have got.

use std::sync::Arc;

use crate::tasting::{Closed, Fact, Open, Tasting};

use super::At;
use super::manners::PLATING_FOR;

#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sitting {
    pub tasting: Option<Arc<Tasting>>,
    /// The taster spoken of last.
    pub taster: Option<u16>,
    /// The plate of the serving sheet that was said last, and when.
    plate: Option<(u16, At)>,
}

impl Sitting {
    pub fn open(&self) -> Option<&Open> {
        match self.tasting.as_deref() {
            Some(Tasting::Open(open)) => Some(open),
            _ => None,
        }
    }

    pub fn closed(&self) -> Option<&Closed> {
        match self.tasting.as_deref() {
            Some(Tasting::Closed(closed)) => Some(closed),
            _ => None,
        }
    }

    /// The plate of this taster was said last, so lately that nobody can have come in
    /// without the one who plates noticing.
    pub fn plating(&self, now: At) -> Option<u16> {
        let (taster, told) = self.plate.filter(|_| self.open().is_some())?;
        (now.since(told) <= PLATING_FOR).then_some(taster)
    }

    /// A plate that is still to be said, after a break too long to go on unasked.
    pub fn left_off(&self, now: At) -> Option<u16> {
        let (taster, _) = self.plate?;
        let open = self.open()?;
        (self.plating(now).is_none() && taster < open.opened().tasters).then_some(taster + 1)
    }

    /// A tasting is open and tasters may hear: nothing may be said that tells which is which.
    pub fn is_blind(&self, now: At) -> bool {
        self.open().is_some() && self.plating(now).is_none()
    }

    /// Total: a fact that does not fit changes nothing.
    pub fn apply(&mut self, fact: &Fact) {
        let mut tasting = self.tasting.take().map(Arc::unwrap_or_clone);
        let fits = Tasting::step(&mut tasting, fact).is_ok();
        self.tasting = tasting.map(Arc::new);
        if fits {
            match fact {
                Fact::Opened(_) | Fact::Closed => self.taster = None,
                Fact::Picked { taster, .. } | Fact::CantTell { taster } | Fact::Left { taster } => {
                    self.taster = Some(*taster);
                }
            }
            self.plate = None;
        }
    }

    pub fn tell_plate(&mut self, taster: u16, at: At) {
        self.plate = Some((taster, at));
    }

    pub fn tell_card(&mut self, taster: u16) {
        self.taster = Some(taster);
        self.plate = None;
    }

    /// The serving sheet is put away, said to the end or not.
    pub fn sheet_away(&mut self) {
        self.plate = None;
    }

    /// Who tastes next: the first without an answer after the one spoken of last.
    pub fn next_waiting(&self) -> Option<u16> {
        let waiting = self.open()?.waiting();
        let after = self.taster.unwrap_or(0);
        let next = waiting.iter().find(|t| **t > after);
        next.or(waiting.first()).copied()
    }
}
