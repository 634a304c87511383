//! Tags → a [`Call`]. The tags are a small language of their own, written after the
//! words that they mark: names and numbers are laid down as they are said, and the
//! act of the sentence picks up what belongs to it. `grammars/en.jsgf` lists them.

use std::collections::VecDeque;
use std::time::Duration;

use super::automaton::Tag;
use super::call::{
    Call, Degrees, Heat, Order, ReadingKind, Spot, Subject, TastingCall, Thing, Turn,
};
use super::number::Sum;
use crate::plan::{Id, Place, Span};
use crate::tasting::{Code, Test};

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
            _ if self.act.is_none() => self.act = Some((word, rest)),
            _ => return no(format!("a second act {tag:?}")),
        }
        Ok(())
    }

    fn call(&mut self) -> Result<Call> {
        let Some((act, variant)) = self.act else {
            return no("no act");
        };
        Ok(match act {
            "next" => Call::Next,
            "done" => Call::Done {
                what: self.subject(),
            },
            "start" => Call::Start {
                what: self.must_name()?,
            },
            "whats_next" => Call::WhatsNext,
            "say_again" => Call::SayAgain,
            "back_one" => Call::BackOne,
            "status" => Call::Status,
            "flipped" => Call::Flipped {
                what: self.subject(),
            },
            "turned" => Call::Turned {
                vessel: self.vessel().ok(),
                turn: turn(variant)?,
            },
            "basted" => Call::Basted {
                what: self.subject(),
            },
            "stirred" => Call::Stirred {
                what: self.subject(),
            },
            "in" => Call::In {
                what: self.thing(),
                vessel: self.vessel().ok(),
                place: self.place(),
            },
            "put" => Call::Put {
                piece: self.sample()?,
                vessel: self.vessel().ok(),
                place: self.place(),
            },
            "swap" => match (self.spots.pop_front(), self.spots.pop_front()) {
                (Some(a), Some(b)) => Call::Swap { a, b },
                _ => return no("a swap of fewer than two"),
            },
            "out_to" => Call::OutTo {
                from: self.from.take(),
                to: self.vessel()?,
                order: self.order.take(),
            },
            "stacked" => Call::Stacked {
                vessel: self.vessel().ok(),
            },
            "heat" => match self.level.take() {
                Some(level) => Call::Heat {
                    vessel: self.vessel().ok(),
                    level,
                },
                None => return no("heat without a level"),
            },
            "lid" => Call::Lid {
                vessel: self.vessel().ok(),
                on: flag(variant, "on", "off")?,
            },
            "reading" => Call::Reading {
                about: self.subject(),
                kind: kind(variant)?,
                value: self.value()?,
            },
            "is_it_done" => Call::IsItDone {
                what: self.subject(),
            },
            "believe" => Call::Believe {
                what: self.subject(),
            },
            "use_offset" => Call::UseOffset,
            "units" => Call::Units {
                celsius: flag(variant, "celsius", "fahrenheit")?,
            },
            "how_long" => Call::HowLong {
                what: self.subject(),
            },
            "timer" => Call::Timer {
                duration: self.duration()?,
                name: match self.subject() {
                    None => None,
                    Some(Subject::Clock(name)) => Some(name),
                    Some(other) => return no(format!("a timer named by {other:?}")),
                },
            },
            "extend" => Call::Extend {
                duration: self.duration()?,
                less: flag(variant, "less", "more")?,
                which: self.subject(),
            },
            "stop_timer" => Call::StopTimer {
                which: self.subject(),
            },
            "timers" => Call::Timers,
            "what_time" => Call::WhatTime,
            "how_much" => Call::HowMuch {
                oil: flag(variant, "oil", "salt")?,
            },
            "weighs" => Call::Weighs {
                grams: self.value()?.hi
                    * match variant {
                        "kg" => 1000.0,
                        // International pound, 1959.
                        "lb" => 453.59237,
                        _ => 1.0,
                    },
                item: match self.thing() {
                    Some(Thing::Item(id)) => id,
                    _ => return no("no item"),
                },
            },
            "late" => Call::Late,
            "when_eat" => Call::WhenDoWeEat,
            "when_start" => Call::WhenStart {
                what: self.subject(),
                oil: variant == "oil",
            },
            "where_is" => Call::WhereIs {
                piece: self.sample()?,
            },
            "what_is_at" => Call::WhatIsAt {
                vessel: self.vessel().ok(),
                place: match self.place() {
                    Some(place) => place,
                    None => return no("no place"),
                },
            },
            "map" => Call::Map,
            "tasting" => Call::Tasting {
                what: self.tasting(variant)?,
            },
            "scratch_that" => Call::ScratchThat,
            "no" => Call::No {
                value: match self.number.value() {
                    None => None,
                    Some(_) => Some(self.value()?),
                },
            },
            "yes" => Call::Yes,
            "cancel" => Call::Cancel,
            "answer" => Call::Answer {
                subject: self.must_name()?,
            },
            "number" => Call::Number {
                value: self.value()?,
            },
            "in_order" => match self.order.take() {
                Some(order) => Call::InOrder { order },
                None => return no("no order"),
            },
            "way" => Call::Way {
                clockwise: flag(variant, "clockwise", "counterclockwise")?,
            },
            "kind" => Call::Kind {
                kind: kind(variant)?,
            },
            "quiet" => Call::Quiet,
            "speak_up" => Call::SpeakUp,
            "louder" => Call::Louder,
            "softer" => Call::Softer,
            "slower" => Call::Slower,
            "faster" => Call::Faster,
            "hold_on" => Call::HoldOn,
            "carry_on" => Call::CarryOn,
            "note" => Call::Note { text: None },
            "help" => Call::Help,
            "end_cook" => Call::EndCook,
            _ => return no(format!("unknown act {act:?}")),
        })
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
            || self.guess;
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

    fn tasting(&mut self, variant: &str) -> Result<TastingCall> {
        Ok(match variant {
            "open" => TastingCall::Open {
                test: match self.test.take() {
                    Some(test) => test,
                    None => return no("a tasting of no kind"),
                },
                samples: std::iter::from_fn(|| self.sample().ok()).collect(),
                tasters: self.tasters.take(),
                attribute: self.attribute.take(),
            },
            "how_many" => TastingCall::HowMany {
                test: self.test.take(),
                share: self.share.take(),
                power: self.power.take(),
            },
            "sheet" => TastingCall::Sheet,
            "next" => TastingCall::NextTaster,
            "pick" => {
                // How the pick was put into words says nothing that the test does not.
                self.attribute = None;
                TastingCall::Pick {
                    taster: self.taster.take(),
                    code: Code::new(self.whole()?).map_err(|e| NoCall(e.to_string()))?,
                    guess: std::mem::take(&mut self.guess),
                }
            }
            "cant_tell" => TastingCall::CantTell {
                taster: self.taster.take(),
            },
            "leaves" => match self.taster.take() {
                Some(taster) => TastingCall::Leaves { taster },
                None => return no("no taster"),
            },
            "result" => TastingCall::Result,
            "which_is" => TastingCall::WhichIs {
                sample: self.sample().ok(),
            },
            _ => return no(format!("unknown call of a tasting {variant:?}")),
        })
    }

    /// The number before, which must be whole and fit.
    fn whole<T: TryFrom<i64>>(&mut self) -> Result<T> {
        let thousandths = self.number()?;
        match T::try_from(thousandths / 1000) {
            Ok(n) if thousandths % 1000 == 0 => Ok(n),
            _ => no(format!("{thousandths} thousandths are no such number")),
        }
    }

    fn number(&mut self) -> Result<i64> {
        match std::mem::take(&mut self.number).value() {
            Some(n) => Ok(n),
            None => no("no number"),
        }
    }

    /// Degrees. The second end may leave out the hundreds of the first ("one sixty to
    /// sixty five"): it is then the nearest number that ends so. A range may be said
    /// from either end.
    fn value(&mut self) -> Result<Span<Degrees>> {
        let mut high = self.number()?;
        let low = self.low.take().unwrap_or(high);
        const HUNDRED: i64 = 100_000;
        if high < HUNDRED && low >= HUNDRED {
            let same = low - low % HUNDRED + high;
            high = match low - same > HUNDRED / 2 {
                true => same + HUNDRED,
                false => same,
            };
        }
        let degrees = |thousandths: i64| thousandths as f64 / 1000.0;
        Ok(Span {
            lo: degrees(low.min(high)),
            hi: degrees(low.max(high)),
        })
    }

    fn add_time(&mut self, seconds: i64) -> Result<()> {
        let number = self.number()?;
        let sum = number
            .checked_mul(seconds)
            .and_then(|t| t.checked_add(self.time.unwrap_or(0)));
        match sum {
            Some(t) => {
                self.time = Some(t);
                Ok(())
            }
            None => no("more time than there is"),
        }
    }

    fn duration(&mut self) -> Result<Duration> {
        match self.time.take().map(u64::try_from) {
            Some(Ok(ms)) if ms > 0 => Ok(Duration::from_millis(ms)),
            _ => no("no duration"),
        }
    }

    /// Takes the first name for which `pick` has a use.
    fn pick<T>(&mut self, pick: impl Fn(&Subject) -> Option<T>) -> Option<T> {
        let at = self.named.iter().position(|s| pick(s).is_some())?;
        let subject = self.named.remove(at)?;
        pick(&subject)
    }

    fn subject(&mut self) -> Option<Subject> {
        self.named.pop_front()
    }

    fn must_name(&mut self) -> Result<Subject> {
        self.subject().map_or_else(|| no("nothing named"), Ok)
    }

    fn vessel(&mut self) -> Result<Id> {
        let vessel = self.pick(|s| match s {
            Subject::Vessel(id) => Some(id.clone()),
            _ => None,
        });
        vessel.map_or_else(|| no("no vessel"), Ok)
    }

    fn sample(&mut self) -> Result<Id> {
        let sample = self.pick(|s| match s {
            Subject::Sample(id) => Some(id.clone()),
            _ => None,
        });
        sample.map_or_else(|| no("no sample"), Ok)
    }

    fn place(&mut self) -> Option<Place> {
        self.pick(|s| match s {
            Subject::Place(place) => Some(*place),
            _ => None,
        })
    }

    fn thing(&mut self) -> Option<Thing> {
        if std::mem::take(&mut self.oil) {
            return Some(Thing::Oil);
        }
        self.pick(|s| match s {
            Subject::Item(id) => Some(Thing::Item(id.clone())),
            Subject::Sample(id) => Some(Thing::Sample(id.clone())),
            _ => None,
        })
    }

    fn spot(&mut self) -> Result<Spot> {
        if let Ok(sample) = self.sample() {
            return Ok(Spot::Sample(sample));
        }
        match self.place() {
            Some(place) => Ok(Spot::Place {
                vessel: self.vessel().ok(),
                place,
            }),
            None => no("no spot"),
        }
    }
}

fn small(text: &str, from: u8, to: u8) -> Result<u8> {
    match text.parse::<u8>() {
        Ok(n) if (from..=to).contains(&n) => Ok(n),
        _ => no(format!("{text:?} is not {from} to {to}")),
    }
}

fn flag(text: &str, yes: &str, not: &str) -> Result<bool> {
    match text {
        t if t == yes => Ok(true),
        t if t == not => Ok(false),
        _ => no(format!("{text:?} is neither {yes:?} nor {not:?}")),
    }
}

fn place(text: &str) -> Result<Place> {
    Ok(match text {
        "left" => Place::Left,
        "right" => Place::Right,
        "front" => Place::Front,
        "back" => Place::Back,
        "middle" => Place::Middle,
        _ => return no(format!("unknown place {text:?}")),
    })
}

fn test(text: &str) -> Result<Test> {
    Ok(match text {
        "triangle" => Test::Triangle,
        "duo_trio" => Test::DuoTrio,
        "preference" => Test::PairedPreference,
        "difference" => Test::PairedDifference,
        _ => return no(format!("unknown test {text:?}")),
    })
}

fn turn(text: &str) -> Result<Turn> {
    Ok(match text {
        "half" => Turn::Half,
        "quarter" => Turn::Quarter,
        "quarter_clockwise" => Turn::QuarterClockwise,
        "quarter_counterclockwise" => Turn::QuarterCounterclockwise,
        _ => return no(format!("unknown turn {text:?}")),
    })
}

fn level(text: &str) -> Result<Heat> {
    Ok(match text {
        "off" => Heat::Off,
        "low" => Heat::Low,
        "medium_low" => Heat::MediumLow,
        "medium" => Heat::Medium,
        "medium_high" => Heat::MediumHigh,
        "high" => Heat::High,
        "up" => Heat::Up,
        "down" => Heat::Down,
        _ => return no(format!("unknown level {text:?}")),
    })
}

fn kind(text: &str) -> Result<ReadingKind> {
    Ok(match text {
        "" => ReadingKind::Unstated,
        "core" => ReadingKind::Core,
        "medium" => ReadingKind::Medium,
        "ice" => ReadingKind::Ice,
        "boil" => ReadingKind::Boil,
        _ => return no(format!("unknown kind of reading {text:?}")),
    })
}
