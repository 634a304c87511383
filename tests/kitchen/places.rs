//! The engine's knowledge of places against physical pieces.
//!
//! The model below knows nothing of slots, frames or sets: a vessel is a table of
//! pieces as the cook sees it, and a move moves pieces. Told moves go to both.

use std::sync::{Arc, OnceLock};

use hobcall::grammar::{Call, Order, Spot, Subject, Turn};
use hobcall::kitchen::whereabouts::Where;
use hobcall::kitchen::{At, Input, Question, Reply, Say, State, decide, replies};
use hobcall::plan::{Layout, Place, Plan};
use proptest::prelude::*;

/// Six samples, so that every piece can be named, in vessels of every layout.
const PLAN: &str = "
plan: Six named chops
units: celsius
items:
  chop: {pieces: 6, class: whole cut}
samples:
  red chop: {of: chop}
  blue chop: {of: chop}
  green chop: {of: chop}
  white chop: {of: chop}
  black chop: {of: chop}
  brown chop: {of: chop}
vessels:
  long pan: {kind: skillet, places: left middle right}
  small pan: {kind: skillet, places: left right}
  deep pan: {kind: pot, places: front back}
  rack: {kind: rack, places: grid 2 x 3}
  square: {kind: tray, places: grid 2 x 2}
  dial: {kind: plate, places: clock}
  tub: {kind: bowl}
steps:
  look: {say: Look at them, hands on: 1 min}
";

const SAMPLES: [&str; 6] = [
    "red_chop",
    "blue_chop",
    "green_chop",
    "white_chop",
    "black_chop",
    "brown_chop",
];

fn plan() -> Arc<Plan> {
    static ONCE: OnceLock<Arc<Plan>> = OnceLock::new();
    ONCE.get_or_init(|| Arc::new(crate::support::plan(PLAN)))
        .clone()
}

/// A vessel as it is seen: rows from the back, columns from the left. A clock face
/// is one row of twelve, one o'clock first.
#[derive(Clone, Debug)]
struct Table {
    rows: Vec<Vec<Option<usize>>>,
    /// Rows and columns as planned, whose words the cook has.
    planned: (usize, usize),
    ring: bool,
    heap: Vec<usize>,
    is_heap: bool,
}

impl Table {
    fn new(layout: Layout) -> Table {
        let (rows, columns) = match layout {
            Layout::Heap => (1, 1),
            Layout::LeftRight => (1, 2),
            Layout::FrontBack => (2, 1),
            Layout::Row3 => (1, 3),
            Layout::Grid { rows, columns } => (rows.into(), columns.into()),
            Layout::Clock => (1, 12),
        };
        Table {
            rows: vec![vec![None; columns]; rows],
            planned: (rows, columns),
            ring: layout == Layout::Clock,
            heap: Vec::new(),
            is_heap: layout == Layout::Heap,
        }
    }

    fn quarter_clockwise(&mut self) {
        if self.ring {
            self.rows[0].rotate_right(3);
            return;
        }
        let (r, c) = (self.rows.len(), self.rows[0].len());
        let mut new = vec![vec![None; r]; c];
        for (i, row) in self.rows.iter().enumerate() {
            for (k, cell) in row.iter().enumerate() {
                new[k][r - 1 - i] = *cell;
            }
        }
        self.rows = new;
    }

    fn turn(&mut self, quarters: usize) {
        for _ in 0..quarters {
            self.quarter_clockwise();
        }
    }

    /// Every place by its exact name, with its row and column.
    fn names(&self) -> Vec<(Place, usize, usize)> {
        let (r, c) = (self.rows.len(), self.rows[0].len());
        let mut all = Vec::new();
        for i in 0..r {
            for k in 0..c {
                let place = match (r, c) {
                    _ if self.ring => Place::Hour(k as u8 + 1),
                    (1, 1) => continue,
                    (1, 2) => [Place::Left, Place::Right][k],
                    (2, 1) => [Place::Back, Place::Front][i],
                    (1, 3) => [Place::Left, Place::Middle, Place::Right][k],
                    (3, 1) => [Place::Back, Place::Middle, Place::Front][i],
                    _ => Place::Cell {
                        row: i as u8,
                        column: k as u8,
                    },
                };
                all.push((place, i, k));
            }
        }
        all
    }

    fn pieces(&self) -> Vec<usize> {
        if self.is_heap {
            return self.heap.clone();
        }
        self.rows.iter().flatten().flatten().copied().collect()
    }

    fn is_empty(&self) -> bool {
        self.pieces().is_empty()
    }

    fn take(&mut self, piece: usize) {
        self.heap.retain(|p| *p != piece);
        for cell in self.rows.iter_mut().flatten() {
            if *cell == Some(piece) {
                *cell = None;
            }
        }
    }

    /// The place as the cook can call it: a corner has the same words however the
    /// vessel stands; of three rows of two that were two rows of three, the middle row
    /// has none.
    fn words(&self, place: Place) -> Option<Place> {
        let Place::Cell { row, column } = place else {
            return Some(place);
        };
        let seen = (self.rows.len(), self.rows[0].len());
        if seen == self.planned {
            return Some(place);
        }
        let word = |i: u8, seen: usize, planned: usize| match usize::from(i) {
            0 => Some(0),
            i if i + 1 == seen => Some(planned as u8 - 1),
            _ => None,
        };
        Some(Place::Cell {
            row: word(row, seen.0, self.planned.0)?,
            column: word(column, seen.1, self.planned.1)?,
        })
    }

    fn free(&self) -> Vec<(Place, usize, usize)> {
        self.names()
            .into_iter()
            .filter(|(_, i, k)| self.rows[*i][*k].is_none())
            .collect()
    }

    fn place_of(&self, piece: usize) -> Option<Place> {
        self.names()
            .into_iter()
            .find(|(_, i, k)| self.rows[*i][*k] == Some(piece))
            .map(|(p, ..)| p)
    }
}

struct World {
    tables: Vec<Table>,
    /// Sides turned over so far; even is the first side.
    flips: [u32; 6],
}

impl World {
    fn new(plan: &Plan) -> World {
        World {
            tables: plan.vessels.iter().map(|v| Table::new(v.places)).collect(),
            flips: [0; 6],
        }
    }

    fn vessel_of(&self, piece: usize) -> Option<usize> {
        self.tables.iter().position(|t| t.pieces().contains(&piece))
    }

    fn put(&mut self, piece: usize, vessel: usize, cell: Option<(usize, usize)>) {
        if let Some(old) = self.vessel_of(piece) {
            self.tables[old].take(piece);
        }
        let table = &mut self.tables[vessel];
        match cell {
            _ if table.is_heap => table.heap.push(piece),
            Some((i, k)) => table.rows[i][k] = Some(piece),
            None => {}
        }
    }
}

struct Draw<'a> {
    from: &'a [u32],
    at: usize,
}

impl Draw<'_> {
    fn n(&mut self, below: usize) -> usize {
        let v = self.from.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        v as usize % below.max(1)
    }

    fn of<T: Clone>(&mut self, all: &[T]) -> Option<T> {
        let i = self.n(all.len());
        all.get(i).cloned()
    }
}

struct Both {
    plan: Arc<Plan>,
    state: State,
    world: World,
    now: At,
    log: Vec<String>,
    /// The way of the last quarter turn that was not told.
    clockwise: bool,
}

impl Both {
    fn new() -> Both {
        let plan = plan();
        let mut both = Both {
            world: World::new(&plan),
            state: State::new(plan.clone()),
            plan,
            now: At(0),
            log: Vec::new(),
            clockwise: true,
        };
        both.give(&Input::Begin);
        both
    }

    fn give(&mut self, input: &Input) -> Vec<Reply> {
        let mut all = Vec::new();
        for event in decide(&self.state, input, self.now) {
            let before = self.state.clone();
            self.state.apply(&event);
            all.extend(replies(&before, &event, &self.state));
        }
        all
    }

    fn call(&mut self, call: Call) -> Vec<Reply> {
        self.now = self.now.plus(2_000);
        self.log.push(format!("{call:?}"));
        if self.log.len() > 60 {
            self.log.drain(..30);
        }
        let replies = self.give(&Input::Call {
            call,
            heard: String::new(),
            confidence: 1.0,
        });
        for r in &replies {
            self.log.push(format!("      {:?}", r.say));
        }
        replies
    }

    fn id(&self, vessel: usize) -> String {
        self.plan.vessels[vessel].id.clone()
    }

    fn where_is(&self, piece: usize) -> Where {
        self.state
            .whereabouts_of(SAMPLES[piece])
            .expect("a sample of the plan")
    }

    /// The engine says exactly what is so.
    fn agree(&mut self) -> Result<(), TestCaseError> {
        for (piece, sample) in SAMPLES.iter().enumerate() {
            let so = match self.world.vessel_of(piece) {
                None => Where::NotPlaced,
                Some(vessel) => Where::Known {
                    vessel,
                    place: self.world.tables[vessel].place_of(piece),
                },
            };
            prop_assert_eq!(self.where_is(piece), so, "{}: {:#?}", sample, self.log);
            let Some(vessel) = self.world.vessel_of(piece) else {
                continue;
            };
            // And says the side, and the other way round.
            let call = Call::WhereIs {
                piece: (*sample).into(),
            };
            let side = self.call(call).into_iter().find_map(|r| match r.say {
                Say::WhereIs { side, .. } => Some(format!("{side:?}")),
                _ => None,
            });
            // Of a piece that was never turned over no side is said.
            let down = match self.world.flips[piece] {
                0 => "Unsure",
                n => ["First", "Second"][n as usize % 2],
            };
            prop_assert_eq!(side.as_deref(), Some(down));
            let table = &self.world.tables[vessel];
            if let Some(place) = table.place_of(piece).and_then(|p| table.words(p)) {
                let call = Call::WhatIsAt {
                    vessel: Some(self.id(vessel)),
                    place,
                };
                let at = self.call(call).into_iter().find_map(|r| match r.say {
                    Say::WhatIsAt { surely, maybe, .. } => Some((surely, maybe)),
                    _ => None,
                });
                let name = sample.replace('_', " ");
                prop_assert_eq!(at, Some((vec![name], vec![])), "{:#?}", self.log);
            }
        }
        Ok(())
    }

    /// What the engine says may be less than what is so, never against it.
    fn sound(&self) -> Result<(), TestCaseError> {
        for (piece, sample) in SAMPLES.iter().enumerate() {
            let vessel = self.world.vessel_of(piece);
            let place = vessel.and_then(|v| self.world.tables[v].place_of(piece));
            let fine = match self.where_is(piece) {
                Where::NotPlaced => vessel.is_none(),
                Where::Known {
                    vessel: v,
                    place: p,
                } => Some(v) == vessel && p == place,
                Where::OneOf { vessel: v, places } => {
                    Some(v) == vessel && place.is_some_and(|p| places.contains(&p))
                }
                Where::NotSure { .. } => true,
            };
            prop_assert!(
                fine,
                "{sample} is said {:?}, is {vessel:?} {place:?}: {:#?}",
                self.where_is(piece),
                self.log
            );
        }
        Ok(())
    }

    fn known(&self, piece: usize) -> bool {
        matches!(self.where_is(piece), Where::Known { .. } | Where::NotPlaced)
    }

    /// A vessel with something in it.
    fn filled(&self, draw: &mut Draw) -> Option<usize> {
        let all: Vec<usize> = (0..self.world.tables.len())
            .filter(|v| !self.world.tables[*v].is_empty())
            .collect();
        draw.of(&all)
    }

    /// A move of which everything is told.
    fn told_move(&mut self, draw: &mut Draw) {
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
    fn half_told_move(&mut self, draw: &mut Draw) -> bool {
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
    fn answer(&mut self, draw: &mut Draw) {
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

fn numbers() -> impl Strategy<Value = Vec<u32>> {
    proptest::collection::vec(any::<u32>(), 20..160)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 500,
        failure_persistence: None,
        max_shrink_iters: 4_000,
        ..ProptestConfig::default()
    })]

    /// Whatever is told whole, the answer is what a look into the pans would show.
    #[test]
    fn told_moves_agree_with_the_pieces(from in numbers()) {
        let mut draw = Draw { from: &from, at: 0 };
        let mut both = Both::new();
        while draw.at < from.len() {
            both.told_move(&mut draw);
            prop_assert!(both.state.question().is_none(), "{:#?}", both.log);
            both.agree()?;
        }
    }

    /// With moves half told, what is said is never wrong, and a sample that is not
    /// known any more is asked about.
    #[test]
    fn half_told_moves_are_never_claimed(from in numbers()) {
        let mut draw = Draw { from: &from, at: 0 };
        let mut both = Both::new();
        while draw.at < from.len() {
            match draw.n(5) {
                0 | 1 => {
                    both.told_move(&mut draw);
                }
                2 => both.answer(&mut draw),
                _ => {
                    let lost = both.half_told_move(&mut draw);
                    prop_assert!(
                        !lost || both.state.question().is_some(),
                        "no question: {:#?}",
                        both.log
                    );
                }
            }
            both.sound()?;
        }
    }
}
