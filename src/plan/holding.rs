//! `holds: [3 chops at left and right, test chop at middle]`: what goes where.

use super::model::*;
use super::names::short;
use super::problem::{Desk, Mark};
use super::quantity;
use super::registry::{Kind, Registry};
use super::table::Table;
use super::things::MOST_PIECES;

/// One line of `holds`, before "all the others" is worked out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Written {
    pub(super) what: Named,
    pub(super) places: Vec<Place>,
    pub(super) at: Mark,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Named {
    /// A number of unmarked pieces; `None` means all that are not named beside it.
    Pieces {
        item: Id,
        count: Option<u32>,
    },
    Sample(Id),
}

pub(super) fn read(
    table: &mut Table<'_>,
    layout: Option<Layout>,
    registry: &Registry,
    items: &[Item],
    desk: &mut Desk<'_>,
) -> Vec<Written> {
    table
        .texts("holds", desk)
        .into_iter()
        .filter_map(|(text, at)| one(&text, at, layout, registry, items, desk))
        .collect()
}

fn one(
    text: &str,
    at: Mark,
    layout: Option<Layout>,
    registry: &Registry,
    items: &[Item],
    desk: &mut Desk<'_>,
) -> Option<Written> {
    let (thing, places) = match text.rsplit_once(" at ") {
        Some((thing, places)) => (thing.trim(), Some(places)),
        None => (text, None),
    };
    let (count, name) = match thing.split_once(' ') {
        Some((first, rest)) if first.starts_with(|c: char| c.is_ascii_digit() || c == '-') => {
            match quantity::count(first, MOST_PIECES) {
                Ok(count) => (Some(count), rest.trim()),
                Err(fault) => {
                    desk.problem(
                        at,
                        format!("`holds`: {}", fault.what),
                        format!("{}, then what: 3 chops", fault.write_instead),
                    );
                    return None;
                }
            }
        }
        _ => (None, thing.strip_prefix("all ").unwrap_or(thing)),
    };
    let what = match registry.find(name, &[Kind::Item, Kind::Sample]) {
        Ok(Some((Kind::Sample, id))) => {
            if let Some(count @ 2..) = count {
                desk.problem(
                    at,
                    format!("`holds`: the sample `{name}` is one piece, not {count}"),
                    name,
                );
                return None;
            }
            Named::Sample(id)
        }
        Ok(Some((_, id))) => Named::Pieces { item: id, count },
        Ok(None) => return None,
        Err(fault) => {
            desk.problem(at, format!("`holds`: {}", fault.what), fault.write_instead);
            return None;
        }
    };
    let places = match places {
        None => Vec::new(),
        Some(places) => places_of(places, at, layout, desk)?,
    };
    let pieces = match &what {
        Named::Sample(_) => Some(1),
        Named::Pieces { count: Some(n), .. } => Some(*n),
        Named::Pieces { item, count: None } => items
            .iter()
            .find(|i| i.id == *item)
            .filter(|i| i.pieces == 1)
            .map(|_| 1),
    };
    if !places.is_empty() && pieces != u32::try_from(places.len()).ok() {
        desk.problem(
            at,
            format!(
                "`holds`: `{}` has {} place{} for {}",
                short(text),
                places.len(),
                if places.len() == 1 { "" } else { "s" },
                pieces.map_or("an unsaid number of pieces".to_owned(), |n| format!(
                    "{n} piece{}",
                    if n == 1 { "" } else { "s" }
                )),
            ),
            "a place for each piece (2 chops at left and right), or no places",
        );
        return None;
    }
    Some(Written { what, places, at })
}

fn places_of(
    words: &str,
    at: Mark,
    layout: Option<Layout>,
    desk: &mut Desk<'_>,
) -> Option<Vec<Place>> {
    // The vessel is missing or wrong; that has its own problem.
    let layout = layout?;
    let mut places = Vec::new();
    for words in words.replace(" and ", ",").split(',') {
        let words = words.trim();
        let words = words.strip_prefix("the ").unwrap_or(words);
        match layout.place_named(words) {
            Some(place) if places.contains(&place) => {
                desk.problem(
                    at,
                    format!("`holds`: two pieces at `{}`", short(words)),
                    "a place for each piece",
                );
                return None;
            }
            Some(place) => places.push(place),
            None => {
                let has: Vec<String> = layout
                    .places()
                    .into_iter()
                    .filter_map(|place| layout.names_of(place).into_iter().next())
                    .collect();
                desk.problem(
                    at,
                    format!("`holds`: the vessel has no place `{}`", short(words)),
                    if has.is_empty() {
                        "`places: left right` (or another layout) in the vessel".to_owned()
                    } else {
                        has.join(" or ")
                    },
                );
                return None;
            }
        }
    }
    Some(places)
}

/// Puts every piece by name: samples by themselves, the rest counted.
pub(super) fn spell_out(written: &[Written], items: &[Item], samples: &[Sample]) -> Vec<Holding> {
    let mut holds = Vec::new();
    let named = |id: &Id| written.iter().any(|w| w.what == Named::Sample(id.clone()));
    for line in written {
        let place = |index: usize| line.places.get(index).copied();
        match &line.what {
            Named::Sample(id) => holds.push(Holding {
                what: What::Sample(id.clone()),
                place: place(0),
            }),
            Named::Pieces {
                item,
                count: Some(count),
            } => {
                if line.places.is_empty() {
                    holds.push(pieces(item, *count, None));
                }
                holds.extend(line.places.iter().map(|p| pieces(item, 1, Some(*p))));
            }
            Named::Pieces { item, count: None } => {
                let of: Vec<&Sample> = samples.iter().filter(|s| s.of == *item).collect();
                let counted: u32 = written
                    .iter()
                    .filter_map(|w| match &w.what {
                        Named::Pieces {
                            item: other,
                            count: Some(n),
                        } if other == item => Some(*n),
                        _ => None,
                    })
                    .sum();
                let all = items.iter().find(|i| i.id == *item).map_or(0, |i| i.pieces);
                let marked = u32::try_from(of.len()).unwrap_or(u32::MAX);
                let plain = all.saturating_sub(marked).saturating_sub(counted);
                // A lone piece that is itself the sample keeps the place told for it.
                let mut place = place(0);
                if plain > 0 {
                    holds.push(pieces(item, plain, place.take()));
                }
                for sample in of.into_iter().filter(|s| !named(&s.id)) {
                    holds.push(Holding {
                        what: What::Sample(sample.id.clone()),
                        place: place.take(),
                    });
                }
            }
        }
    }
    holds
}

fn pieces(item: &Id, count: u32, place: Option<Place>) -> Holding {
    Holding {
        what: What::Pieces {
            item: item.clone(),
            count,
        },
        place,
    }
}
