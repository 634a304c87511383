//! Where oils begin to smoke: ranges, since sources and refinements differ.

use std::sync::OnceLock;

use crate::plan::{Celsius, Span};

use super::units::from_fahrenheit;

/// The lowest and the highest smoke point found for an oil.
#[derive(Debug, Clone, PartialEq)]
pub struct Smoke {
    /// As a cook names it: "peanut", "extra virgin olive". Without such a word it is the
    /// refined oil.
    pub oil: String,
    pub range: Span<Celsius>,
}

/// The oils of `data/doneness/oil_smoke.csv`, each once.
pub fn smokes() -> &'static [Smoke] {
    static ALL: OnceLock<Vec<Smoke>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all: Vec<Smoke> = Vec::new();
        for line in include_str!("../../data/doneness/oil_smoke.csv")
            .lines()
            .skip(1)
        {
            let mut cells = line.split(',');
            let (Some(oil), Some(Ok(f))) = (cells.next(), cells.next().map(str::parse::<f64>))
            else {
                continue;
            };
            let at = from_fahrenheit(f);
            match all.iter_mut().find(|s| s.oil == oil) {
                Some(s) => {
                    s.range.lo = Celsius(s.range.lo.0.min(at.0));
                    s.range.hi = Celsius(s.range.hi.0.max(at.0));
                }
                None => all.push(Smoke {
                    oil: oil.to_owned(),
                    range: Span { lo: at, hi: at },
                }),
            }
        }
        all
    })
}

/// Words that say no more than the table's plain name does.
const PLAIN: [&str; 3] = ["oil", "refined", "processed"];

/// By the oil's name, in any case and with or without "oil". Every word has to be one of
/// the table's: an "unrefined" or "virgin" that it does not know may smoke far lower, so
/// there is none for it.
pub fn smoke(oil: &str) -> Option<&'static Smoke> {
    let lower = oil.to_lowercase();
    let mut words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty() && !PLAIN.contains(w))
        .collect();
    words.sort_unstable();
    smokes().iter().find(|s| {
        let mut own: Vec<&str> = s.oil.split(' ').collect();
        own.sort_unstable();
        own == words
    })
}

/// For a refined oil that the plan does not name: the lowest and the highest smoke point
/// of the refined frying oils in one chart (Institute of Shortening and Edible Oils, reprinted).
pub fn unnamed() -> Span<Celsius> {
    Span {
        lo: from_fahrenheit(385.0),
        hi: from_fahrenheit(489.0),
    }
}
