//! Identifiers of a plan → the names that the cook knows.

use std::collections::HashMap;

use crate::kitchen::{PieceId, PlaceIn};
use crate::plan::{Id, Layout, Place, Plan};
use crate::voice::wording;

pub struct Names {
    names: HashMap<Id, String>,
    /// The marked samples of each item, in the order in which pieces are numbered.
    marked: HashMap<Id, Vec<String>>,
    layouts: HashMap<Id, Layout>,
}

impl Names {
    pub fn of(plan: &Plan) -> Names {
        let first = |id: &Id, names: &[String]| {
            (
                id.clone(),
                names.first().cloned().unwrap_or_else(|| id.clone()),
            )
        };
        let mut names = HashMap::new();
        names.extend(plan.items.iter().map(|t| first(&t.id, &t.names)));
        names.extend(plan.samples.iter().map(|t| first(&t.id, &t.names)));
        names.extend(plan.vessels.iter().map(|t| first(&t.id, &t.names)));
        names.extend(plan.steps.iter().map(|t| first(&t.id, &t.names)));
        let mut marked: HashMap<Id, Vec<String>> = HashMap::new();
        for sample in &plan.samples {
            marked
                .entry(sample.of.clone())
                .or_default()
                .push(first(&sample.id, &sample.names).1);
        }
        let layouts = plan.vessels.iter().map(|v| (v.id.clone(), v.places));
        Names {
            names,
            marked,
            layouts: layouts.collect(),
        }
    }

    /// The name of an identifier; what is none comes back with spaces for underscores.
    pub fn name(&self, id: &str) -> String {
        self.names
            .get(id)
            .cloned()
            .unwrap_or_else(|| id.replace('_', " "))
    }

    /// A place in the words that the plan's layout of the vessel has for it; by row and
    /// column where the layout, perhaps turned, has none.
    pub fn place_in(&self, vessel: &str, place: Place) -> String {
        let layout = self.layouts.get(vessel);
        let named = layout.and_then(|l| l.names_of(place).into_iter().next());
        match (named, place) {
            (Some(name), _) => name,
            (None, Place::Cell { row, column }) => format!(
                "row {} from the back, column {} from the left",
                row.saturating_add(1),
                column.saturating_add(1)
            ),
            (None, place) => self::place(place, None),
        }
    }

    /// "test chop", or "chop 3": pieces count from 1, the marked ones first.
    pub fn piece(&self, piece: &PieceId) -> String {
        let ix = usize::try_from(piece.index).unwrap_or(usize::MAX);
        match self.marked.get(&piece.item).and_then(|m| m.get(ix)) {
            Some(sample) => sample.clone(),
            None => format!(
                "{} {}",
                self.name(&piece.item),
                piece.index.saturating_add(1)
            ),
        }
    }
}

/// A place as the cook sees it in a vessel with these rows and columns, in the words that
/// the tool says.
pub fn place(place: Place, grid: Option<(u8, u8)>) -> String {
    let (rows, columns) = grid.unwrap_or((0, 0));
    wording::place(&PlaceIn {
        place,
        rows,
        columns,
    })
}
