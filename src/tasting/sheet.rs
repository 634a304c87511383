use std::fmt;

use serde::{Deserialize, Serialize};

use super::code::Code;
use super::test::{Samples, Which};

/// Which code gets which sample: for whoever plates, out of the tasters' sight.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    pub samples: Samples,
    /// Taster 1 first.
    pub rows: Vec<Row>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
    /// From 1.
    pub taster: u16,
    /// Served first and openly, if the test has a reference.
    pub reference: Option<Which>,
    /// In the order in which they are tasted.
    pub servings: Vec<Serving>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Serving {
    pub code: Code,
    pub sample: Which,
}

impl Sheet {
    /// How many portions of this sample to cut, references included.
    pub fn portions(&self, which: Which) -> usize {
        let portions = |row: &Row| {
            let coded = row.servings.iter().filter(|s| s.sample == which).count();
            coded + usize::from(row.reference == Some(which))
        };
        self.rows.iter().map(portions).sum()
    }

    /// The codes to put this sample under, in the tasters' order: for plating one
    /// sample at a time.
    pub fn codes_of(&self, which: Which) -> impl Iterator<Item = Code> {
        let servings = self.rows.iter().flat_map(|row| &row.servings);
        servings.filter_map(move |s| (s.sample == which).then_some(s.code))
    }
}

/// A table for printing, one taster a line.
impl fmt::Display for Sheet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = |which| self.samples.name(which);
        let width = name(Which::Control)
            .chars()
            .count()
            .max(name(Which::Test).chars().count());
        writeln!(f, "FOR THE PLATER ONLY")?;
        for which in [Which::Control, Which::Test] {
            writeln!(f, "{:>3} x {}", self.portions(which), name(which))?;
        }
        writeln!(f)?;
        for row in &self.rows {
            let mut line = format!("taster {:>3}", row.taster);
            if let Some(which) = row.reference {
                line += &format!("   reference {:width$}", name(which));
            }
            for Serving { code, sample } in &row.servings {
                line += &format!("   {code} {:width$}", name(*sample));
            }
            writeln!(f, "{}", line.trim_end())?;
        }
        Ok(())
    }
}
