//! What a cook does and how much of it is told.

use super::both::Both;
use super::{Draw, SAMPLES};
use hobcall::grammar::{Call, Order, Spot, Subject, Turn};
use hobcall::kitchen::Question;
use hobcall::plan::Place;

impl Both {
    /// A move of which everything is told.
    pub fn told_move(&mut self, draw: &mut Draw) {
        match draw.n(8) {
            0 | 1 => {
                let (piece, vessel) = (draw.n(6), draw.n(7));
                let free = self.world.tables[vessel].free();
                let spot = draw.of(&free);
                if spot.is_none() && !self.world.tables[vessel].is_heap {
                    return;
                }
                if self.world.tables[vessel].is_heap && self.world.vessel_of(piece) == Some(vessel)
                {
                    return;
                }
                let place = spot.map(|s| self.world.tables[vessel].words(s.0));
                if place == Some(None) {
                    return;
                }
                self.world.put(piece, vessel, spot.map(|(_, i, k)| (i, k)));
                self.call(Call::Put {
                    piece: SAMPLES[piece].into(),
                    vessel: Some(self.id(vessel)),
                    place: place.flatten(),
                });
            }
            2 => {
                let Some(v) = self.filled(draw) else { return };
                // With "which way?" open, a way is the answer and no second turn.
                if matches!(self.state.question(), Some(Question::WhichWay { .. })) {
                    return;
                }
                let (turn, quarters) = [
                    (Turn::Half, 2),
                    (Turn::QuarterClockwise, 1),
                    (Turn::QuarterCounterclockwise, 3),
                ][draw.n(3)];
                self.world.tables[v].turn(quarters);
                self.call(Call::Turned {
                    vessel: Some(self.id(v)),
                    turn,
                });
            }
            3 => {
                let Some(v) = self.filled(draw) else { return };
                for p in self.world.tables[v].pieces() {
                    self.world.flips[p] += 1;
                }
                self.call(Call::Flipped {
                    what: Some(Subject::Vessel(self.id(v))),
                });
            }
            4 => {
                let piece = draw.n(6);
                if self.world.vessel_of(piece).is_some() {
                    self.world.flips[piece] += 1;
                    self.call(Call::Flipped {
                        what: Some(Subject::Sample(SAMPLES[piece].into())),
                    });
                }
            }
            5 => {
                // Two places, of one vessel or of two; either may be empty.
                let (Some(va), Some(vb)) = (self.filled(draw), self.filled(draw)) else {
                    return;
                };
                let (a, b) = (
                    draw.of(&self.world.tables[va].names()),
                    draw.of(&self.world.tables[vb].names()),
                );
                let (Some(a), Some(b)) = (a, b) else { return };
                if (va, a.0) == (vb, b.0) {
                    return;
                }
                let (Some(wa), Some(wb)) = (
                    self.world.tables[va].words(a.0),
                    self.world.tables[vb].words(b.0),
                ) else {
                    return;
                };
                let pa = self.world.tables[va].rows[a.1][a.2];
                let pb = self.world.tables[vb].rows[b.1][b.2];
                self.world.tables[va].rows[a.1][a.2] = pb;
                self.world.tables[vb].rows[b.1][b.2] = pa;
                self.call(Call::Swap {
                    a: Spot::Place {
                        vessel: Some(self.id(va)),
                        place: wa,
                    },
                    b: Spot::Place {
                        vessel: Some(self.id(vb)),
                        place: wb,
                    },
                });
            }
            6 => {
                let (a, b) = (draw.n(6), draw.n(6));
                let (Some(va), Some(vb)) = (self.world.vessel_of(a), self.world.vessel_of(b))
                else {
                    return;
                };
                if a == b {
                    return;
                }
                let exchange = |p: usize| match p {
                    p if p == a => b,
                    p if p == b => a,
                    p => p,
                };
                let mut both = vec![va, vb];
                both.dedup();
                for v in both {
                    let t = &mut self.world.tables[v];
                    for cell in t.rows.iter_mut().flatten() {
                        *cell = cell.map(exchange);
                    }
                    for p in &mut t.heap {
                        *p = exchange(*p);
                    }
                }
                self.call(Call::Swap {
                    a: Spot::Sample(SAMPLES[a].into()),
                    b: Spot::Sample(SAMPLES[b].into()),
                });
            }
            _ => self.move_out(draw, true),
        }
    }

    /// Everything out of one vessel into an empty one, in an order that is kept or
    /// reversed. `exact`: only where that tells every place.
    fn move_out(&mut self, draw: &mut Draw, exact: bool) {
        let Some(from) = self.filled(draw) else {
            return;
        };
        let to = draw.n(7);
        if to == from || !self.world.tables[to].is_empty() {
            return;
        }
        let order = [Order::Kept, Order::Reversed][draw.n(2)];
        let (a, b) = (&self.world.tables[from], &self.world.tables[to]);
        let mut pieces = a.pieces();
        if order == Order::Reversed {
            pieces.reverse();
        }
        let alike = a.rows.len() == b.rows.len()
            && a.rows[0].len() == b.rows[0].len()
            && a.ring == b.ring
            && !a.is_heap
            && !b.is_heap;
        let room: usize = b.rows.iter().map(Vec::len).sum();
        let cells: Vec<(usize, usize)> = if b.is_heap {
            vec![(0, 0); pieces.len()]
        } else if alike && !(a.ring && order == Order::Reversed) {
            // The very same places, or those of the half turned picture.
            let mut image = a.clone();
            if order == Order::Reversed {
                image.turn(2);
            }
            self.world.tables[to].rows = image.rows;
            Vec::new()
        } else if a.is_heap || a.ring || b.ring || pieces.len() != room {
            if exact || a.is_heap || a.ring || b.ring || pieces.len() > room {
                return;
            }
            // In order, with gaps anywhere.
            let mut cells: Vec<_> = b.names().into_iter().map(|(_, i, k)| (i, k)).collect();
            while cells.len() > pieces.len() {
                let i = draw.n(cells.len());
                cells.remove(i);
            }
            cells
        } else {
            b.names().into_iter().map(|(_, i, k)| (i, k)).collect()
        };
        let moved = self.world.tables[from].pieces();
        for p in &moved {
            self.world.tables[from].take(*p);
        }
        for (p, (i, k)) in pieces.iter().zip(cells) {
            if self.world.tables[to].is_heap {
                self.world.tables[to].heap.push(*p);
            } else {
                self.world.tables[to].rows[i][k] = Some(*p);
            }
        }
        self.call(Call::OutTo {
            from: Some(self.id(from)),
            to: self.id(to),
            order: Some(order),
        });
    }

    /// A move of which something is not told. The world does one of the things that
    /// the words may mean. Gives whether the engine must be left with a question.
    pub fn half_told_move(&mut self, draw: &mut Draw) -> bool {
        let before: Vec<bool> = (0..6).map(|p| self.known(p)).collect();
        match draw.n(7) {
            0 => {
                // Put somewhere in a vessel, where is not said.
                let (piece, vessel) = (draw.n(6), draw.n(7));
                if self.world.vessel_of(piece) == Some(vessel) {
                    return false;
                }
                let free = self.world.tables[vessel].free();
                let spot = draw.of(&free);
                if spot.is_none() && !self.world.tables[vessel].is_heap {
                    return false;
                }
                self.world.put(piece, vessel, spot.map(|(_, i, k)| (i, k)));
                self.call(Call::Put {
                    piece: SAMPLES[piece].into(),
                    vessel: Some(self.id(vessel)),
                    place: None,
                });
            }
            1 => {
                // "on the left" of a grid: one of a column.
                let piece = draw.n(6);
                let vessel = [3, 4][draw.n(2)];
                let last = self.world.tables[vessel].rows[0].len() - 1;
                let rows = self.world.tables[vessel].rows.len();
                if last == 0 || rows == 1 || self.world.vessel_of(piece) == Some(vessel) {
                    return false;
                }
                let (place, column) = [(Place::Left, 0), (Place::Right, last)][draw.n(2)];
                let free: Vec<_> = self.world.tables[vessel]
                    .free()
                    .into_iter()
                    .filter(|(_, _, k)| *k == column)
                    .collect();
                let Some((_, i, k)) = draw.of(&free) else {
                    return false;
                };
                self.world.put(piece, vessel, Some((i, k)));
                self.call(Call::Put {
                    piece: SAMPLES[piece].into(),
                    vessel: Some(self.id(vessel)),
                    place: Some(place),
                });
            }
            2 => {
                // Where another lies: that one has moved, nobody said where to.
                let Some(v) = self.filled(draw) else {
                    return false;
                };
                let (piece, other) = (draw.n(6), draw.of(&self.world.tables[v].pieces()));
                let Some(other) = other else { return false };
                let Some(place) = self.world.tables[v].place_of(other) else {
                    return false;
                };
                let Some(words) = self.world.tables[v].words(place) else {
                    return false;
                };
                if other == piece || !self.known(other) {
                    return false;
                }
                let own = self.world.vessel_of(piece);
                let own_cell = own.and_then(|o| {
                    let p = self.world.tables[o].place_of(piece)?;
                    self.world.tables[o].names().into_iter().find(|n| n.0 == p)
                });
                let cell = self.world.tables[v]
                    .names()
                    .into_iter()
                    .find(|n| n.0 == place);
                let Some((_, i, k)) = cell else { return false };
                let free = self.world.tables[v].free();
                match (own, own_cell, draw.n(2)) {
                    (Some(o), Some((_, oi, ok)), 0) => {
                        // They changed places.
                        self.world.tables[o].rows[oi][ok] = Some(other);
                        self.world.tables[v].rows[i][k] = Some(piece);
                    }
                    _ => {
                        let Some((_, fi, fk)) = draw.of(&free) else {
                            return false;
                        };
                        self.world.tables[v].rows[fi][fk] = Some(other);
                        self.world.tables[v].rows[i][k] = None;
                        if let Some(o) = own {
                            let table = &mut self.world.tables[o];
                            for cell in table.rows.iter_mut().flatten() {
                                if *cell == Some(piece) {
                                    *cell = None;
                                }
                            }
                            table.heap.retain(|p| *p != piece);
                        }
                        self.world.tables[v].rows[i][k] = Some(piece);
                    }
                }
                self.call(Call::Put {
                    piece: SAMPLES[piece].into(),
                    vessel: Some(self.id(v)),
                    place: Some(words),
                });
            }
            3 => {
                // A quarter turn, the way not said.
                let Some(v) = self.filled(draw) else {
                    return false;
                };
                let quarters = [1, 3][draw.n(2)];
                self.clockwise = quarters == 1;
                self.world.tables[v].turn(quarters);
                self.call(Call::Turned {
                    vessel: Some(self.id(v)),
                    turn: Turn::Quarter,
                });
            }
            4 => {
                // Out to another vessel, the order not said; it may hold others.
                let (Some(from), to) = (self.filled(draw), draw.n(7)) else {
                    return false;
                };
                if from == to {
                    return false;
                }
                let pieces = self.world.tables[from].pieces();
                let mut free = self.world.tables[to].free();
                if !self.world.tables[to].is_heap && free.len() < pieces.len() {
                    return false;
                }
                for p in pieces {
                    let spot = if self.world.tables[to].is_heap {
                        None
                    } else {
                        let at = draw.n(free.len());
                        let (_, i, k) = free.remove(at);
                        Some((i, k))
                    };
                    self.world.put(p, to, spot);
                }
                self.call(Call::OutTo {
                    from: Some(self.id(from)),
                    to: self.id(to),
                    order: None,
                });
            }
            5 => {
                self.move_out(draw, false);
            }
            _ => {
                let Some(v) = self.filled(draw) else {
                    return false;
                };
                // A heap on a place: where each lies is gone until it is told.
                self.call(Call::Stacked {
                    vessel: Some(self.id(v)),
                });
            }
        }
        (0..6).any(|p| before[p] && !self.known(p))
    }

    /// Answers the open question as it is.
    pub fn answer(&mut self, draw: &mut Draw) {
        let Some(question) = self.state.question().cloned() else {
            return;
        };
        let at = |both: &Both, piece: usize| {
            let v = both.world.vessel_of(piece)?;
            Some((v, both.world.tables[v].place_of(piece)?))
        };
        let words = |both: &Both, piece: usize| {
            let (v, place) = at(both, piece)?;
            Some((v, both.world.tables[v].words(place)?))
        };
        match question {
            Question::Where { sample } => {
                let piece = SAMPLES.iter().position(|s| *s == sample).unwrap();
                if let Some((v, place)) = words(self, piece) {
                    self.call(Call::Put {
                        piece: sample,
                        vessel: Some(self.id(v)),
                        place: Some(place),
                    });
                }
            }
            Question::Order { samples, .. } => {
                let piece = SAMPLES.iter().position(|s| *s == samples[0]).unwrap();
                if let Some((v, place)) = words(self, piece) {
                    self.call(Call::Put {
                        piece: samples[0].clone(),
                        vessel: Some(self.id(v)),
                        place: Some(place),
                    });
                }
            }
            Question::WhichWay { .. } => {
                let clockwise = self.clockwise;
                self.call(if draw.n(2) == 0 {
                    Call::Way { clockwise }
                } else {
                    Call::Status
                });
            }
            Question::ChangedPlaces { other, .. } => {
                let other = other.index as usize;
                let Question::ChangedPlaces {
                    vessel_before,
                    place_before,
                    ..
                } = self.state.question().cloned().unwrap()
                else {
                    return;
                };
                let yes = at(self, other)
                    .is_some_and(|(v, p)| self.id(v) == vessel_before && p == place_before);
                self.call(if yes {
                    Call::Yes
                } else {
                    Call::No { value: None }
                });
            }
            _ => {}
        }
    }
}
