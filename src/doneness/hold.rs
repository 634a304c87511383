//! The published hold tables: how long the coldest piece has to stay at a temperature.
//! By lookup only; `data/doneness/README.md` has the sources and the rules of reading.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use crate::plan::{Celsius, FoodClass};

use super::units::fahrenheit;

/// Rows printed to a tenth of a minute may stand for 3 s more.
const MINUTE_ROW_S: u32 = 3;

/// Which published table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// Chicken or turkey, 7 log.
    Poultry,
    /// Meat, 6.5 log.
    Meat,
}

/// A row of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    pub table: Table,
    /// The temperature the row stands for, °F: the one asked for, rounded down.
    pub row_f: u32,
    /// Seconds at it or above; 0 is what the table calls instantaneous.
    pub hold_s: u32,
    /// The fat column, percent; none for meat.
    pub fat: Option<u32>,
}

/// Why the tables have no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRow {
    /// Below the first row, °F: no time at this temperature is published.
    Below(u32),
    /// No table is carried for this class of food.
    NoTable,
    /// The number is no temperature.
    NotANumber,
}

/// The poultry table: by fat column and temperature, the longer of chicken and turkey.
fn poultry() -> &'static BTreeMap<(u32, u32), u32> {
    static ROWS: OnceLock<BTreeMap<(u32, u32), u32>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let mut rows = BTreeMap::new();
        for line in include_str!("../../data/doneness/fsis_poultry_7log.csv")
            .lines()
            .skip(1)
        {
            let cells: Vec<&str> = line.split(',').collect();
            let [_, fat, f, _, hold, unit] = cells[..] else {
                continue;
            };
            let (Ok(fat), Ok(f), Ok(hold)) = (fat.parse(), f.parse(), hold.parse::<f64>()) else {
                continue;
            };
            // Seconds rows have tenths; up to the whole second.
            let hold = hold.ceil() as u32 + if unit == "min" { MINUTE_ROW_S } else { 0 };
            let longest: &mut u32 = rows.entry((fat, f)).or_insert(hold);
            *longest = hold.max(*longest);
        }
        rows
    })
}

/// The meat table, 6.5 log. Rows of 240 s and more are whole minutes.
fn meat() -> &'static BTreeMap<u32, u32> {
    static ROWS: OnceLock<BTreeMap<u32, u32>> = OnceLock::new();
    ROWS.get_or_init(|| {
        include_str!("../../data/doneness/fsis_meat_6p5log.csv")
            .lines()
            .skip(1)
            .filter_map(|line| {
                let mut cells = line.split(',');
                let f = cells.next()?.parse().ok()?;
                let hold = cells.nth(1)?.parse::<u32>().ok()?;
                let printed_in_minutes = hold >= 240;
                Some((f, hold + if printed_in_minutes { MINUTE_ROW_S } else { 0 }))
            })
            .collect()
    })
}

/// Fat column for a stated share: rounded up; not stated or above 12 %: 12.
pub fn fat_column(percent: Option<f64>) -> u32 {
    match percent {
        Some(p) if p.is_finite() && p >= 0.0 => (p.ceil() as u32).clamp(1, 12),
        _ => 12,
    }
}

/// Above the last row the last row holds.
pub fn hold(class: FoodClass, at: Celsius, fat_percent: Option<f64>) -> Result<Row, NoRow> {
    if !at.0.is_finite() {
        return Err(NoRow::NotANumber);
    }
    // A hair for the conversion of a whole degree there and back, no more.
    let f = (fahrenheit(at) + 1e-9).floor().clamp(0.0, 1_000.0) as u32;
    let (table, fat, first, row) = match class {
        FoodClass::Poultry => {
            let fat = fat_column(fat_percent);
            let column = poultry().range((fat, 0)..=(fat, f));
            let first = poultry().range((fat, 0)..).next().map(|(k, _)| k.1);
            let row = column.last().map(|(k, s)| (k.1, *s));
            (Table::Poultry, Some(fat), first, row)
        }
        FoodClass::WholeCutMeat => {
            let first = meat().keys().next().copied();
            let row = meat().range(..=f).next_back().map(|(k, s)| (*k, *s));
            (Table::Meat, None, first, row)
        }
        _ => return Err(NoRow::NoTable),
    };
    match row {
        Some((row_f, hold_s)) => Ok(Row {
            table,
            row_f,
            hold_s,
            fat,
        }),
        None => Err(NoRow::Below(first.unwrap_or(0))),
    }
}

/// How a hold stands by the readings so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    pub done: bool,
    /// Seconds still needed, if the coldest stays as it is; none below the table.
    pub left_s: Option<f64>,
}

/// Clocks a hold from the coldest readings, (seconds, °C), in order of time, up to
/// `now_s`. For every reading: the row of the lowest from there on, against the time since
/// then; the best of them counts. Times at different rows are never added up.
pub fn held(class: FoodClass, fat: Option<f64>, coldest: &[(f64, Celsius)], now_s: f64) -> Held {
    let mut lowest = f64::INFINITY;
    let mut left_s: Option<f64> = None;
    for (since, c) in coldest.iter().rev() {
        lowest = lowest.min(c.0);
        let Ok(row) = hold(class, Celsius(lowest), fat) else {
            break;
        };
        let left = (f64::from(row.hold_s) - (now_s - since).max(0.0)).max(0.0);
        left_s = Some(left_s.map_or(left, |l| l.min(left)));
    }
    Held {
        done: left_s == Some(0.0),
        left_s,
    }
}
