//! A vessel is a table of pieces as the cook sees it, and a move moves pieces.

use hobcall::plan::{Layout, Place, Plan};

/// A vessel as it is seen: rows from the back, columns from the left. A clock face
/// is one row of twelve, one o'clock first.
#[derive(Clone, Debug)]
pub struct Table {
    pub rows: Vec<Vec<Option<usize>>>,
    /// Rows and columns as planned, whose words the cook has.
    pub planned: (usize, usize),
    pub ring: bool,
    pub heap: Vec<usize>,
    pub is_heap: bool,
}

impl Table {
    pub fn new(layout: Layout) -> Table {
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

    pub fn quarter_clockwise(&mut self) {
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

    pub fn turn(&mut self, quarters: usize) {
        for _ in 0..quarters {
            self.quarter_clockwise();
        }
    }

    /// Every place by its exact name, with its row and column.
    pub fn names(&self) -> Vec<(Place, usize, usize)> {
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

    pub fn pieces(&self) -> Vec<usize> {
        if self.is_heap {
            return self.heap.clone();
        }
        self.rows.iter().flatten().flatten().copied().collect()
    }

    pub fn is_empty(&self) -> bool {
        self.pieces().is_empty()
    }

    pub fn take(&mut self, piece: usize) {
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
    pub fn words(&self, place: Place) -> Option<Place> {
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

    pub fn free(&self) -> Vec<(Place, usize, usize)> {
        self.names()
            .into_iter()
            .filter(|(_, i, k)| self.rows[*i][*k].is_none())
            .collect()
    }

    pub fn place_of(&self, piece: usize) -> Option<Place> {
        self.names()
            .into_iter()
            .find(|(_, i, k)| self.rows[*i][*k] == Some(piece))
            .map(|(p, ..)| p)
    }
}

pub struct World {
    pub tables: Vec<Table>,
    /// Sides turned over so far; even is the first side.
    pub flips: [u32; 6],
}

impl World {
    pub fn new(plan: &Plan) -> World {
        World {
            tables: plan.vessels.iter().map(|v| Table::new(v.places)).collect(),
            flips: [0; 6],
        }
    }

    pub fn vessel_of(&self, piece: usize) -> Option<usize> {
        self.tables.iter().position(|t| t.pieces().contains(&piece))
    }

    pub fn put(&mut self, piece: usize, vessel: usize, cell: Option<(usize, usize)>) {
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
