//! The geometry of a vessel: slots fixed to the vessel, and the names that the cook's
//! view gives them. Turning the vessel moves no piece from its slot; it changes which
//! name the slot has. So every turn is exact, and turns compose as a group.

use serde::{Deserialize, Serialize};

use crate::grammar::Turn;
use crate::plan::{Layout, Place};

/// Number of a slot, fixed to the vessel: row by row from the back, each row from the
/// left, as the vessel stood at first; on a clock face the hour less one.
pub type Slot = u8;

/// A set of slots (a vessel has at most sixteen).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct Slots(pub u16);

impl Slots {
    pub const NONE: Slots = Slots(0);

    pub fn first(n: u8) -> Slots {
        Slots(if n >= 16 { u16::MAX } else { (1 << n) - 1 })
    }

    pub fn one(slot: Slot) -> Slots {
        Slots(1u16.checked_shl(u32::from(slot)).unwrap_or(0))
    }

    pub fn has(self, slot: Slot) -> bool {
        self.0 & Slots::one(slot).0 != 0
    }

    pub fn or(self, other: Slots) -> Slots {
        Slots(self.0 | other.0)
    }

    pub fn and(self, other: Slots) -> Slots {
        Slots(self.0 & other.0)
    }

    pub fn without(self, other: Slots) -> Slots {
        Slots(self.0 & !other.0)
    }

    pub fn len(self) -> u32 {
        self.0.count_ones()
    }

    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The only slot, if there is exactly one.
    pub fn single(self) -> Option<Slot> {
        (self.len() == 1).then(|| self.0.trailing_zeros() as Slot)
    }

    pub fn iter(self) -> impl Iterator<Item = Slot> {
        (0..16).filter(move |s| self.has(*s))
    }

    /// The image of the set under a map of slots.
    pub fn map(self, f: impl Fn(Slot) -> Slot) -> Slots {
        self.iter()
            .fold(Slots::NONE, |all, s| all.or(Slots::one(f(s))))
    }
}

impl FromIterator<Slot> for Slots {
    fn from_iter<I: IntoIterator<Item = Slot>>(slots: I) -> Slots {
        slots
            .into_iter()
            .fold(Slots::NONE, |all, s| all.or(Slots::one(s)))
    }
}

/// A vessel's layout as the cook sees it after some quarter turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Frame {
    pub layout: Layout,
    /// Clockwise quarter turns since it was first used, 0 to 3.
    pub quarters: u8,
}

/// What can be told apart: a heap, rows and columns, or a ring of twelve hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Rows { rows: u8, columns: u8 },
    Ring,
}

fn form(layout: Layout) -> Form {
    let (rows, columns) = match layout {
        Layout::Heap => (1, 1),
        Layout::LeftRight => (1, 2),
        Layout::FrontBack => (2, 1),
        Layout::Row3 => (1, 3),
        Layout::Grid { rows, columns } => (rows.clamp(1, 4), columns.clamp(1, 4)),
        Layout::Clock => return Form::Ring,
    };
    Form::Rows { rows, columns }
}

/// Clockwise quarter turns of a call; none where the direction was not said.
pub fn quarters(turn: Turn) -> u8 {
    match turn {
        Turn::QuarterClockwise => 1,
        Turn::Half => 2,
        Turn::QuarterCounterclockwise => 3,
        Turn::Quarter => 0,
    }
}

impl Frame {
    pub fn new(layout: Layout) -> Frame {
        Frame {
            layout,
            quarters: 0,
        }
    }

    pub fn turned(self, quarters: u8) -> Frame {
        Frame {
            quarters: (self.quarters + quarters % 4) % 4,
            ..self
        }
    }

    /// How many slots it has.
    pub fn count(self) -> u8 {
        match form(self.layout) {
            Form::Rows { rows, columns } => rows * columns,
            Form::Ring => 12,
        }
    }

    pub fn all(self) -> Slots {
        Slots::first(self.count())
    }

    /// Nothing to tell apart.
    pub fn is_heap(self) -> bool {
        self.count() == 1
    }

    /// Rows and columns as the cook sees them now; none for a ring.
    pub fn seen(self) -> Option<(u8, u8)> {
        match form(self.layout) {
            Form::Rows { rows, columns } if self.quarters.is_multiple_of(2) => {
                Some((rows, columns))
            }
            Form::Rows { rows, columns } => Some((columns, rows)),
            Form::Ring => None,
        }
    }

    /// Row and column, as seen now, of a slot of a rowed layout.
    fn cell(self, slot: Slot) -> Option<(u8, u8)> {
        let Form::Rows {
            mut rows,
            mut columns,
        } = form(self.layout)
        else {
            return None;
        };
        if slot >= rows * columns {
            return None;
        }
        let (mut r, mut c) = (slot / columns, slot % columns);
        for _ in 0..self.quarters {
            // Clockwise from above: what lay at the back goes to the right.
            (r, c) = (c, rows - 1 - r);
            (rows, columns) = (columns, rows);
        }
        Some((r, c))
    }

    fn slot_at_cell(self, row: u8, column: u8) -> Option<Slot> {
        (0..self.count()).find(|s| self.cell(*s) == Some((row, column)))
    }

    fn hour(self, slot: Slot) -> u8 {
        (slot + 3 * self.quarters) % 12 + 1
    }

    /// The name that the cook's view gives to a slot; none in a heap.
    pub fn place(self, slot: Slot) -> Option<Place> {
        let Some((rows, columns)) = self.seen() else {
            return (slot < 12).then(|| Place::Hour(self.hour(slot)));
        };
        let (row, column) = self.cell(slot)?;
        Some(match (rows, columns) {
            (1, 1) => return None,
            (1, 2) => [Place::Left, Place::Right][usize::from(column)],
            (2, 1) => [Place::Back, Place::Front][usize::from(row)],
            (1, 3) => [Place::Left, Place::Middle, Place::Right][usize::from(column)],
            (3, 1) => [Place::Back, Place::Middle, Place::Front][usize::from(row)],
            _ => Place::Cell { row, column },
        })
    }

    /// A called place as it is seen now. Cells are called by the words of the layout as
    /// it was planned ("front left" of two rows of three); a quarter turn makes it three
    /// rows of two, where the same words mean another cell. Words that the turned
    /// vessel has no place for stay as they are, and fit nothing.
    pub fn as_seen(self, called: Place) -> Place {
        let Place::Cell { row, column } = called else {
            return called;
        };
        let (Form::Rows { rows, columns }, Some((seen_rows, seen_columns))) =
            (form(self.layout), self.seen())
        else {
            return called;
        };
        if (rows, columns) == (seen_rows, seen_columns) {
            return called;
        }
        // First, last and the middle of three have words of their own; the inner ones
        // of four are counted from the first.
        let same_word = |i: u8, of: u8, seen: u8| match i {
            0 => Some(0),
            i if i + 1 == of => Some(seen - 1),
            i if of == 3 => (seen == 3).then_some(i),
            i => (seen == 4).then_some(i),
        };
        let unfit = Place::Cell {
            row: u8::MAX,
            column: u8::MAX,
        };
        match (
            same_word(row, rows, seen_rows),
            same_word(column, columns, seen_columns),
        ) {
            (Some(row), Some(column)) => Place::Cell { row, column },
            _ => unfit,
        }
    }

    /// Every slot that the words fit: "left" in a grid is a whole column. Empty when
    /// this vessel, as it stands now, has no such place.
    pub fn slots_at(self, place: Place) -> Slots {
        let Some((rows, columns)) = self.seen() else {
            let hours: &[u8] = match place {
                Place::Hour(h) => &[h],
                Place::Back => &[11, 12, 1],
                Place::Right => &[2, 3, 4],
                Place::Front => &[5, 6, 7],
                Place::Left => &[8, 9, 10],
                Place::Middle | Place::Cell { .. } => &[],
            };
            return (0..12).filter(|s| hours.contains(&self.hour(*s))).collect();
        };
        let middle = |n: u8| (n >= 3 && n % 2 == 1).then_some(n / 2);
        let fits = |r: u8, c: u8| match place {
            Place::Left => columns > 1 && c == 0,
            Place::Right => columns > 1 && c == columns - 1,
            Place::Back => rows > 1 && r == 0,
            Place::Front => rows > 1 && r == rows - 1,
            Place::Middle => {
                let (mr, mc) = (middle(rows), middle(columns));
                (mr.is_some() || mc.is_some())
                    && mr.is_none_or(|m| m == r)
                    && mc.is_none_or(|m| m == c)
            }
            Place::Cell { row, column } => (row, column) == (r, c) && rows * columns > 1,
            Place::Hour(_) => false,
        };
        (0..self.count())
            .filter(|s| self.cell(*s).is_some_and(|(r, c)| fits(r, c)))
            .collect()
    }

    /// The slots in the order in which a cook reads them off: back row first, each
    /// from left to right. A ring has no first, so it has no such order.
    pub fn in_order(self) -> Option<Vec<Slot>> {
        let (rows, columns) = self.seen()?;
        Some(
            (0..rows)
                .flat_map(|r| (0..columns).map(move |c| (r, c)))
                .filter_map(|(r, c)| self.slot_at_cell(r, c))
                .collect(),
        )
    }

    /// The slot that a half turn of the vessel would bring under the name that `slot`
    /// has now.
    pub fn opposite(self, slot: Slot) -> Slot {
        let turned = self.turned(2);
        (0..self.count())
            .find(|s| turned.seat(*s) == self.seat(slot))
            .unwrap_or(slot)
    }

    /// Where a slot lies in the cook's view, as a value to compare.
    fn seat(self, slot: Slot) -> (u8, u8) {
        self.cell(slot).unwrap_or((self.hour(slot), 0))
    }

    /// Whether two vessels show the same places now.
    pub fn looks_like(self, other: Frame) -> bool {
        self.seen() == other.seen()
    }

    /// The slot of `other` under the same name, for vessels that look alike.
    pub fn same_place_in(self, slot: Slot, other: Frame) -> Option<Slot> {
        (0..other.count()).find(|s| other.seat(*s) == self.seat(slot))
    }

    /// Every place name, in reading order.
    pub fn places(self) -> Vec<Place> {
        self.in_order()
            .unwrap_or_else(|| (0..12).collect())
            .into_iter()
            .filter_map(|s| self.place(s))
            .collect()
    }
}

#[cfg(test)]
#[path = "places_tests.rs"]
mod tests;
