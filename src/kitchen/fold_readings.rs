//! Readings: taken down, and corrected.

use crate::plan::{Celsius, Span};

use super::core::{Core, Taken};
use super::kit::Kit;
use super::{At, Measured, Reading};

impl Core {
    pub(super) fn read(&mut self, kit: &Kit, reading: &Reading, at: At) {
        if let Some(v) = reading.vessel.as_ref().and_then(|v| kit.vessel_ix(v)) {
            self.address_vessel(kit, v, at);
            self.whereabouts.confirm(v);
        }
        self.readings.push(Taken {
            at,
            reading: reading.clone(),
            corrected: false,
            offset: match reading.kind {
                Measured::Core | Measured::Medium | Measured::Cooling => self.offset,
                Measured::Ice | Measured::Boil => 0.0,
            },
        });
        if let Some(item) = &reading.item {
            self.cooling_read(item, at);
        }
    }

    /// The value of reading number `of` was misheard.
    pub(super) fn reread(&mut self, of: u32, called: Span<f64>, celsius: Span<Celsius>, at: At) {
        let found = self
            .readings
            .iter()
            .rev()
            .position(|t| t.reading.number == of);
        let Some(back) = found else { return };
        let i = self.readings.len() - 1 - back;
        self.readings.change(i, |t| {
            t.reading.called = called;
            t.reading.celsius = celsius;
            t.corrected = true;
        });
        let item = self.readings.get(i).and_then(|t| t.reading.item.clone());
        if let Some(item) = item {
            self.cooling_read(&item, at);
        }
    }
}
