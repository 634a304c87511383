//! Where oils begin to smoke: ranges, since sources and refinements differ.

use std::sync::OnceLock;

use crate::plan::Celsius;

use super::units::from_fahrenheit;

/// The lowest and the highest smoke point found for an oil.
#[derive(Debug, Clone, PartialEq)]
pub struct Smoke {
    pub oil: String,
    pub lo: Celsius,
    pub hi: Celsius,
}

/// One row for each oil of `data/doneness/oil_smoke.csv`, by its first word.
pub fn smokes() -> &'static [Smoke] {
    static ALL: OnceLock<Vec<Smoke>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all: Vec<Smoke> = Vec::new();
        for line in include_str!("../../data/doneness/oil_smoke.csv")
            .lines()
            .skip(1)
        {
            let mut cells = line.split(',');
            let (Some(name), Some(f)) = (cells.next(), cells.next()) else {
                continue;
            };
            let (Some(oil), Ok(f)) = (name.split(' ').next(), f.parse::<f64>()) else {
                continue;
            };
            let at = from_fahrenheit(f);
            match all.iter_mut().find(|s| s.oil == oil) {
                Some(s) => {
                    s.lo = Celsius(s.lo.0.min(at.0));
                    s.hi = Celsius(s.hi.0.max(at.0));
                }
                None => all.push(Smoke {
                    oil: oil.to_owned(),
                    lo: at,
                    hi: at,
                }),
            }
        }
        all
    })
}

/// By the oil's name, any spelling of case; none for one that is not in the table.
pub fn smoke(oil: &str) -> Option<&'static Smoke> {
    let oil = oil.trim().to_lowercase();
    smokes().iter().find(|s| oil.split(' ').any(|w| w == s.oil))
}

/// For a refined oil that the plan does not name: the lowest and the highest smoke point
/// of the refined frying oils in the table (unrefined, virgin and butter left out).
pub fn unnamed() -> (Celsius, Celsius) {
    (from_fahrenheit(385.0), from_fahrenheit(489.0))
}
