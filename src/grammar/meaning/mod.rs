//! Tags → a [`Call`]. The tags are a small language of their own, written after the
//! words that they mark: names and numbers are laid down as they are said, and the
//! act of the sentence picks up what belongs to it. `grammars/en.jsgf` lists them.
//!
//! | file | what |
//! | --- | --- |
//! | `act` | the act with what it picks up → the call |
//! | `tasting` | the calls of a blind tasting |
//! | `picked` | numbers, durations, names and spots, as an act picks them up |
//! | `words` | single words of a tag → values |

mod act;
mod picked;
mod tasting;
mod words;

use std::collections::VecDeque;

use super::automaton::Tag;
use super::call::{Call, Heat, Order, Spot, Subject};
use super::number::Sum;
use crate::plan::{Id, Place, Units};
use crate::tasting::Test;
use words::{flag, level, place, small, test};

/// Why a reading of a sentence is no call: a slip in a grammar, or a grammar whose
/// tags are not this project's.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the tags make no call: {0}")]
pub struct NoCall(pub String);

type Result<T> = std::result::Result<T, NoCall>;

/// The call that the tags of one reading make.
pub fn call(tags: &[Tag]) -> Result<Call> {
    let mut said = Said::default();
    for tag in tags {
        said.take(&tag.text)?;
    }
    let call = said.call()?;
    said.nothing_left()?;
    Ok(call)
}

/// What has been laid down and not yet picked up.
#[derive(Default)]
struct Said<'a> {
    act: Option<(&'a str, &'a str)>,
    named: VecDeque<Subject>,
    number: Sum,
    low: Option<i64>,
    /// Thousandths of a second.
    time: Option<i64>,
    row: Option<u8>,
    column: Option<u8>,
    from: Option<Id>,
    spots: VecDeque<Spot>,
    order: Option<Order>,
    level: Option<Heat>,
    oil: bool,
    test: Option<Test>,
    tasters: Option<u16>,
    taster: Option<u16>,
    share: Option<(u8, u8)>,
    power: Option<u8>,
    attribute: Option<String>,
    guess: bool,
    scale: Option<Units>,
}

fn no<T>(why: impl Into<String>) -> Result<T> {
    Err(NoCall(why.into()))
}

impl<'a> Said<'a> {
    fn take(&mut self, tag: &'a str) -> Result<()> {
        if self.number.take(tag) {
            return Ok(());
        }
        let (word, rest) = tag.split_once(' ').unwrap_or((tag, ""));
        let name = || rest.to_string();
        match word {
            "to" => self.low = Some(self.number()?),
            "seconds" => self.add_time(1)?,
            "minutes" => self.add_time(60)?,
            "hours" => self.add_time(3600)?,
            "vessel" => self.named.push_back(Subject::Vessel(name())),
            "sample" => self.named.push_back(Subject::Sample(name())),
            "item" => self.named.push_back(Subject::Item(name())),
            "step" => self.named.push_back(Subject::Step(name())),
            "clock" => self.named.push_back(Subject::Clock(name())),
            "all" => self.named.push_back(Subject::All),
            "place" => self.named.push_back(Subject::Place(place(rest)?)),
            "hour" => {
                let hour = small(rest, 1, 12)?;
                self.named.push_back(Subject::Place(Place::Hour(hour)));
            }
            "row" => {
                self.row = Some(small(rest, 0, 3)?);
                self.cell();
            }
            "column" => {
                self.column = Some(small(rest, 0, 3)?);
                self.cell();
            }
            "oil" => self.oil = true,
            "from" => self.from = Some(self.vessel()?),
            "spot" => {
                let spot = self.spot()?;
                self.spots.push_back(spot);
            }
            "order" => {
                self.order = Some(match rest {
                    "kept" => Order::Kept,
                    "reversed" => Order::Reversed,
                    _ => return no(format!("unknown order {rest:?}")),
                })
            }
            "level" => self.level = Some(level(rest)?),
            "test" => self.test = Some(test(rest)?),
            "tasters" => self.tasters = Some(self.whole()?),
            "taster" => self.taster = Some(self.whole()?),
            "share" => self.share = Some((self.whole()?, small(rest, 1, 100)?)),
            "power" => self.power = Some(self.whole()?),
            "attribute" => self.attribute = Some(name()),
            "guess" => self.guess = true,
            "scale" => {
                self.scale = Some(match flag(rest, "celsius", "fahrenheit")? {
                    true => Units::Celsius,
                    false => Units::Fahrenheit,
                });
            }
            _ if self.act.is_none() => self.act = Some((word, rest)),
            _ => return no(format!("a second act {tag:?}")),
        }
        Ok(())
    }

    /// Whatever was said and not used would be silently lost.
    fn nothing_left(&self) -> Result<()> {
        let left = !self.named.is_empty()
            || self.number.value().is_some()
            || self.low.is_some()
            || self.time.is_some()
            || self.row.is_some()
            || self.column.is_some()
            || self.from.is_some()
            || !self.spots.is_empty()
            || self.order.is_some()
            || self.level.is_some()
            || self.oil
            || self.test.is_some()
            || self.tasters.is_some()
            || self.taster.is_some()
            || self.share.is_some()
            || self.power.is_some()
            || self.attribute.is_some()
            || self.guess
            || self.scale.is_some();
        match left {
            true => no("part of the sentence belongs to nothing"),
            false => Ok(()),
        }
    }

    /// A place of a grid, once both its row and its column are known.
    fn cell(&mut self) {
        if let (Some(row), Some(column)) = (self.row, self.column) {
            (self.row, self.column) = (None, None);
            self.named
                .push_back(Subject::Place(Place::Cell { row, column }));
        }
    }
}
