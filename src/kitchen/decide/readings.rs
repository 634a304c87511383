//! Called temperatures: kept raw, asked about when they cannot be.

use crate::doneness::units::of_units;
use crate::grammar::{Call, ReadingKind, Subject};
use crate::kitchen::focus::Pick;
use crate::kitchen::kit::StepIx;
use crate::kitchen::manners::ROOM_SENSE_C;
use crate::kitchen::meaning;
use crate::kitchen::whereabouts::VesselIx;
use crate::kitchen::{Doubt, Measured, NumberDoubt, Question, Reading, Refusal, What};
use crate::plan::{Celsius, Span, Units, Until};

use super::Desk;

fn in_celsius(value: Span<f64>, units: Units) -> Span<Celsius> {
    Span {
        lo: of_units(value.lo, units),
        hi: of_units(value.hi, units),
    }
}

impl Desk<'_> {
    pub(super) fn reading(
        &mut self,
        call: &Call,
        about: Option<&Subject>,
        kind: ReadingKind,
        value: Span<f64>,
        said: Option<Units>,
    ) {
        let units = said.unwrap_or(self.core.units);
        let in_c = in_celsius(value, units);
        let probe = matches!(kind, ReadingKind::Ice | ReadingKind::Boil);
        let cools = match self.cooling_read(call, about, kind) {
            Ok(cools) => cools,
            Err(asked) => return self.ask(asked),
        };
        let (vessel, piece) = if probe {
            (None, None)
        } else if let Some((_, piece)) = &cools {
            (None, *piece)
        } else {
            match self.probed(call, about) {
                Some(found) => found,
                None => return,
            }
        };
        let step = vessel
            .and_then(|v| self.core.step_in(self.kit, v))
            .and_then(|s| self.kit.step(s));
        let of = |in_c| match kind {
            _ if cools.is_some() => Some(Measured::Cooling),
            ReadingKind::Core | ReadingKind::Cooling => Some(Measured::Core),
            ReadingKind::Medium => Some(Measured::Medium),
            ReadingKind::Ice => Some(Measured::Ice),
            ReadingKind::Boil => Some(Measured::Boil),
            ReadingKind::Unstated if piece.is_some() => Some(Measured::Core),
            ReadingKind::Unstated => meaning::kind_of(self.kit, step, in_c),
        };
        // The call with its vessel filled in, for a question that holds it.
        let in_full = || {
            let mut of = call.clone();
            if let (Call::Reading { about, .. }, Some(v)) = (&mut of, vessel) {
                *about = about
                    .take()
                    .or_else(|| Some(Subject::Vessel(self.kit.vessel_id(v))));
            }
            of
        };
        let measured = of(in_c);
        let can_be = match measured {
            Some(m) => self.can_be(m, vessel, in_c),
            None => [Measured::Core, Measured::Medium]
                .into_iter()
                .any(|m| self.can_be(m, vessel, in_c)),
        };
        if said.is_some() {
            let other = match units {
                Units::Celsius => Units::Fahrenheit,
                Units::Fahrenheit => Units::Celsius,
            };
            let in_other = in_celsius(value, other);
            let fits = of(in_other).is_some_and(|m| self.can_be(m, vessel, in_other));
            // A core that can only be one in the other unit is no reading of the oil.
            let strays = measured == Some(Measured::Medium)
                && of(in_other) == Some(Measured::Core)
                && step.is_none_or(|s| meaning::window_of(self.kit, s).is_none());
            if fits && (!can_be || strays) {
                let mut of = in_full();
                if let Call::Reading { unit, .. } = &mut of {
                    *unit = Some(other);
                }
                return self.sure(&of, Doubt::OtherUnit { said: units });
            }
        }
        if !can_be {
            let mut of = in_full();
            if let Call::Reading { kind, .. } = &mut of
                && *kind == ReadingKind::Unstated
                && measured == Some(Measured::Medium)
            {
                *kind = ReadingKind::Medium;
            }
            return self.ask(Question::NumberAgain {
                of,
                why: NumberDoubt::OutOfSense,
            });
        }
        let Some(measured) = measured else {
            let of = in_full();
            return self.ask(Question::CoreOrMedium { of });
        };
        // Nothing is in there whose core could be read: no step, or one that heats oil only.
        let reads_cores = step.is_some_and(|s| {
            let core = s.until.iter().any(|u| matches!(u, Until::Core(_)));
            core || self.kit.plan.items.is_empty()
        });
        if let (Measured::Core, Some(v), false) = (measured, vessel, reads_cores)
            && self.core.whereabouts.in_vessel(v).next().is_none()
        {
            return self.refuse(call, Refusal::VesselEmpty(self.kit.vessel_id(v)));
        }
        self.emit(What::Reading(Reading {
            number: self.call.unwrap_or(0),
            vessel: vessel.map(|v| self.kit.vessel_id(v)),
            piece: piece.and_then(|p| self.kit.piece_id(p)),
            item: cools.map(|(item, _)| item),
            kind: measured,
            called: value,
            units,
            celsius: in_c,
        }));
        if let Some(off) = meaning::probe_off(self.kit, measured, in_c)
            && meaning::worth_adding(off)
        {
            self.ask(Question::UseOffset { celsius: off });
        }
    }

    /// Whether it can be; food in oil is not hotter than the oil.
    fn can_be(&self, measured: Measured, vessel: Option<VesselIx>, in_c: Span<Celsius>) -> bool {
        let bounded = vessel
            .filter(|_| measured == Measured::Core)
            .and_then(|v| meaning::medium_now(&self.core, &self.kit.vessel_id(v), self.now))
            .is_some_and(|m| in_c.lo.0 + self.core.offset > m.0 + 1e-9);
        !bounded
            && in_c.lo.0.is_finite()
            && in_c.hi.0.is_finite()
            && meaning::makes_sense(measured, in_c)
    }

    /// "it is ninety five in here".
    pub(super) fn room(&mut self, call: &Call, value: Span<f64>, said: Option<Units>) {
        let units = said.unwrap_or(self.core.units);
        let celsius = in_celsius(value, units).hi;
        if !(ROOM_SENSE_C.0..=ROOM_SENSE_C.1).contains(&celsius.0) {
            return self.ask(Question::NumberAgain {
                of: call.clone(),
                why: NumberDoubt::OutOfSense,
            });
        }
        self.emit(What::Room {
            called: value,
            units,
            celsius,
        });
    }

    /// "use the offset": that of the last reading in ice or boiling water.
    pub(super) fn use_offset(&mut self, call: &Call) {
        let checked = self
            .core
            .readings
            .iter()
            .rev()
            .find_map(|t| meaning::probe_off(self.kit, t.reading.kind, t.reading.celsius));
        match checked {
            Some(celsius) => self.emit(What::OffsetUsed { celsius }),
            None => self.refuse(call, Refusal::NoProbeCheck),
        }
    }

    /// The vessel and the piece that were probed; none after a refusal or a question.
    #[allow(clippy::type_complexity)]
    fn probed(
        &mut self,
        call: &Call,
        about: Option<&Subject>,
    ) -> Option<(Option<VesselIx>, Option<usize>)> {
        match about {
            Some(Subject::Sample(id)) => {
                let Some(piece) = self.kit.sample_piece(id) else {
                    self.refuse(call, Refusal::UnknownName);
                    return None;
                };
                let lie = self.core.whereabouts.pieces.get(piece).and_then(|p| p.lie);
                Some((lie.map(|l| l.vessel), Some(piece)))
            }
            Some(Subject::Place(place)) => {
                let probed = self.probeable();
                if let Some(v) = self.named_by_side(probed.iter().copied(), *place) {
                    return Some((Some(v), None));
                }
                let v = self.one_vessel(call, &probed)?;
                let v = v?;
                let slots = self
                    .core
                    .whereabouts
                    .frame(v)?
                    .slots_at(self.seen(v, *place));
                let (surely, maybe) = self.core.whereabouts.at(v, slots);
                let piece = match (surely.as_slice(), maybe.is_empty()) {
                    ([one], true) => Some(*one),
                    _ => None,
                };
                Some((Some(v), piece))
            }
            Some(Subject::Item(_) | Subject::All | Subject::Clock(_)) | None => {
                let probed = self.probeable();
                Some((self.one_vessel(call, &probed)?, None))
            }
            Some(subject) => match self.vessel_of(subject) {
                Ok(v) => Some((Some(v), None)),
                Err(why) => {
                    self.refuse(call, why);
                    None
                }
            },
        }
    }

    /// One of several vessels, none when there are none; asks when it is not clear.
    #[allow(clippy::option_option)]
    fn one_vessel(&mut self, call: &Call, vessels: &[VesselIx]) -> Option<Option<VesselIx>> {
        let steps: Vec<StepIx> = vessels
            .iter()
            .filter_map(|v| self.core.step_in(self.kit, *v))
            .collect();
        match self.pick_step(&steps, false) {
            Pick::None => Some(vessels.first().copied()),
            Pick::One(ix) => Some(
                self.kit
                    .step(ix)
                    .and_then(|s| s.vessel.as_ref())
                    .and_then(|v| self.kit.vessel_ix(v)),
            ),
            Pick::Ask(several) => {
                let options = several
                    .iter()
                    .filter_map(|s| self.kit.step(*s)?.vessel.clone())
                    .map(Subject::Vessel)
                    .collect();
                self.ask(Question::Which {
                    of: call.clone(),
                    options,
                });
                None
            }
        }
    }

    /// Vessels of running steps: those that end by a temperature, else those on the
    /// heat, else all.
    fn probeable(&self) -> Vec<VesselIx> {
        let of = |wants: bool| -> Vec<VesselIx> {
            self.core
                .running()
                .filter_map(|s| self.kit.step(s))
                .filter(|s| {
                    !wants
                        || s.until
                            .iter()
                            .any(|u| matches!(u, Until::Core(_) | Until::Medium(_)))
                })
                .filter_map(|s| s.vessel.as_ref().and_then(|v| self.kit.vessel_ix(v)))
                .collect()
        };
        let wanting = of(true);
        if !wanting.is_empty() {
            return wanting;
        }
        let all = of(false);
        let hot: Vec<VesselIx> = all.iter().copied().filter(|v| self.is_hot(*v)).collect();
        if hot.is_empty() { all } else { hot }
    }

    /// The last reading was misheard.
    pub(super) fn correct(&mut self, call: &Call, value: Span<f64>) {
        let Some(taken) = self.core.readings.last().cloned() else {
            return self.refuse(call, Refusal::NothingToCorrect);
        };
        let celsius = in_celsius(value, taken.reading.units);
        let vessel = taken.reading.vessel.as_ref();
        let vessel = vessel.and_then(|v| self.kit.vessel_ix(v));
        if !self.can_be(taken.reading.kind, vessel, celsius) {
            // What stands stays until a number is called that can be.
            let mut of = self.call_of(&taken.reading);
            if let Call::Reading { value: v, .. } = &mut of {
                *v = value;
            }
            return self.ask(Question::NumberAgain {
                of,
                why: NumberDoubt::Corrected,
            });
        }
        self.emit(What::Corrected {
            of: taken.reading.number,
            called: value,
            celsius,
        });
    }

    pub(super) fn units(&mut self, celsius: bool) {
        let units = if celsius {
            Units::Celsius
        } else {
            Units::Fahrenheit
        };
        self.emit(What::UnitsSet { units });
    }

    pub(super) fn is_it_done(&mut self, call: &Call, what: Option<&Subject>) {
        // A named piece answers for itself where its pan is read.
        if let (Call::IsItDone { .. }, Some(Subject::Sample(id))) = (call, what)
            && self.cooks_to_a_core(id)
        {
            return self.emit(What::Queried {
                query: call.clone(),
            });
        }
        let probed = self.probeable();
        let vessel = match what {
            Some(Subject::Item(_) | Subject::All | Subject::Clock(_)) | None => {
                match self.one_vessel(call, &probed) {
                    None => return,
                    Some(v) => v,
                }
            }
            Some(subject) => match self.vessel_of(subject) {
                Ok(v) => Some(v),
                Err(why) => return self.refuse(call, why),
            },
        };
        let Some(v) = vessel else {
            return self.refuse(call, Refusal::NothingUnderWay);
        };
        let what = Some(Subject::Vessel(self.kit.vessel_id(v)));
        self.emit(What::Queried {
            query: match call {
                Call::Believe { .. } => Call::Believe { what },
                _ => Call::IsItDone { what },
            },
        });
    }
}
