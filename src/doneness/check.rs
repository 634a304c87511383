//! The probe in ice water and in boiling water: what it is off by.

use crate::plan::Celsius;

/// ISA pressure at a height, kPa: 101.325·(1 − 0.0065·h/288.15)^5.25588, to 11 km.
pub fn pressure_kpa(altitude_m: f64) -> f64 {
    let h = if altitude_m.is_finite() {
        altitude_m.clamp(-500.0, 11_000.0)
    } else {
        0.0
    };
    101.325 * (1.0 - 0.0065 * h / 288.15).powf(5.255_88)
}

/// Boiling point of water at a pressure, by the backward saturation equation of region 4
/// of IAPWS-IF97 (coefficients from memory; checked against its printed values 372.7559 K
/// at 0.1 MPa and 453.0356 K at 1 MPa).
pub fn boiling_at_kpa(kpa: f64) -> Celsius {
    let beta = (kpa / 1000.0).powf(0.25);
    let e = beta * beta - 17.073_846_940_092 * beta + 14.915_108_613_530;
    let f = 1_167.052_145_276_7 * beta * beta + 12_020.824_702_470 * beta - 4_823.265_736_159_1;
    let g = -724_213.167_032_06 * beta * beta - 3_232_555.032_233_3 * beta + 405_113.405_420_57;
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let n10 = 650.175_348_447_98;
    let root = ((n10 + d) * (n10 + d) - 4.0 * (-0.238_555_575_678_49 + n10 * d)).sqrt();
    Celsius((n10 + d - root) / 2.0 - 273.15)
}

/// Boiling point of water in a kitchen at a height, in ordinary weather (0.3 °C for each
/// 10 hPa otherwise).
pub fn boiling_point(altitude_m: f64) -> Celsius {
    boiling_at_kpa(pressure_kpa(altitude_m))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bath {
    Ice,
    Boil,
}

/// A checked probe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// Degrees Celsius to add to what it reads.
    pub add: f64,
    /// What it should have read.
    pub should: Celsius,
    /// Within what the Food Code asks of a thermometer (4-203.11: ±1 °C).
    pub within_code: bool,
}

/// What a probe in a bath is off by; none when the reading is too far from the bath for
/// a probe that is merely off (more than 10 °C).
pub fn offset(bath: Bath, reads: Celsius, altitude_m: f64) -> Option<Offset> {
    let should = match bath {
        Bath::Ice => Celsius(0.0),
        Bath::Boil => boiling_point(altitude_m),
    };
    let add = should.0 - reads.0;
    (add.is_finite() && add.abs() <= 10.0).then_some(Offset {
        add,
        should,
        within_code: add.abs() <= 1.0 + 1e-9,
    })
}
