//! The places of a vessel and what a cook calls them.

use super::model::{Layout, Place};

impl Layout {
    /// Every place, back row first, left to right; a clock from twelve on round.
    /// Empty for a heap.
    pub fn places(&self) -> Vec<Place> {
        match *self {
            Layout::Heap => Vec::new(),
            Layout::LeftRight => vec![Place::Left, Place::Right],
            Layout::FrontBack => vec![Place::Back, Place::Front],
            Layout::Row3 => vec![Place::Left, Place::Middle, Place::Right],
            Layout::Grid { rows, columns } => (0..rows)
                .flat_map(|row| (0..columns).map(move |column| Place::Cell { row, column }))
                .collect(),
            Layout::Clock => std::iter::once(12).chain(1..12).map(Place::Hour).collect(),
        }
    }

    pub fn has(&self, place: Place) -> bool {
        self.places().contains(&place)
    }

    /// The words for a place of this layout ("back left", "three o'clock"), all that
    /// a cook may use, the one that the tool says first. Empty for a place that
    /// the layout lacks.
    pub fn names_of(&self, place: Place) -> Vec<String> {
        if !self.has(place) {
            return Vec::new();
        }
        match (*self, place) {
            (Layout::Grid { rows, columns }, Place::Cell { row, column }) => {
                let row = along(&["back", "middle", "front"], row, rows);
                let column = along(&["left", "middle", "right"], column, columns);
                match (row.as_str(), column.as_str()) {
                    ("", only) | (only, "") => vec![only.to_owned()],
                    ("middle", "middle") => vec!["middle".to_owned(), "center".to_owned()],
                    (row, column) => vec![format!("{row} {column}"), format!("{column} {row}")],
                }
            }
            (_, Place::Left) => vec!["left".to_owned()],
            (_, Place::Right) => vec!["right".to_owned()],
            (_, Place::Front) => vec!["front".to_owned()],
            (_, Place::Back) => vec!["back".to_owned()],
            (_, Place::Middle) => vec!["middle".to_owned(), "center".to_owned()],
            (_, Place::Hour(hour)) => HOURS
                .get(usize::from(hour.saturating_sub(1)))
                .map(|word| vec![format!("{word} o'clock")])
                .unwrap_or_default(),
            (_, Place::Cell { .. }) => Vec::new(),
        }
    }

    /// The place that these words name in this layout: "back left", "left back",
    /// "3 o'clock". `None` when the layout has no such place.
    pub fn place_named(&self, words: &str) -> Option<Place> {
        let mut words = words
            .to_lowercase()
            .replace('’', "'")
            .replace("centre", "center")
            .split_whitespace()
            .map(str::to_owned)
            .collect::<Vec<_>>();
        if let Some(first) = words.first_mut()
            && let Ok(hour) = first.parse::<usize>()
            && let Some(word) = hour.checked_sub(1).and_then(|i| HOURS.get(i))
        {
            *first = (*word).to_owned();
        }
        let words = words.join(" ");
        self.places()
            .into_iter()
            .find(|place| self.names_of(*place).contains(&words))
    }

    /// As written in a plan: `left right`, `grid 2 x 3`.
    pub fn written(&self) -> String {
        match self {
            Layout::Heap => "heap".to_owned(),
            Layout::LeftRight => "left right".to_owned(),
            Layout::FrontBack => "front back".to_owned(),
            Layout::Row3 => "left middle right".to_owned(),
            Layout::Grid { rows, columns } => format!("grid {rows} x {columns}"),
            Layout::Clock => "clock".to_owned(),
        }
    }
}

const HOURS: [&str; 12] = [
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

/// The name of one row or column among `of`: none when there is but one, the two
/// ends for two, with the middle for three, and "far" ends for four.
fn along(names: &[&str; 3], index: u8, of: u8) -> String {
    let [low, middle, high] = names;
    match (of, index) {
        (0 | 1, _) => String::new(),
        (2, 0) | (3, 0) | (4, 1) => (*low).to_owned(),
        (3, 1) => (*middle).to_owned(),
        (2, 1) | (3, 2) | (4, 2) => (*high).to_owned(),
        (4, 0) => format!("far {low}"),
        _ => format!("far {high}"),
    }
}
