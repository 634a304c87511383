//! More or less food than the plan was written for.

use crate::plan::quantity::{self, Reading};
use crate::plan::{Id, Ingredient, Item, Plan, Scales};

/// What is really there. Items by identifier; what is not named stays as in the plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bought {
    pub portions: Option<f64>,
    pub pieces: Vec<(Id, u32)>,
    /// Mass of all pieces of an item together, grams.
    pub mass_g: Vec<(Id, f64)>,
}

/// As many pieces of one item, and portions, as there may be.
pub const PIECES_MOST: u32 = 200;
pub const PORTIONS_MOST: u32 = 500;

/// By how much an item is more than in the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factor {
    pub pieces: f64,
    pub mass: f64,
    pub surface: f64,
}

const SAME: Factor = Factor {
    pieces: 1.0,
    mass: 1.0,
    surface: 1.0,
};

/// Surface grows with the two-thirds power of mass for bodies of one shape, and with
/// the number of them.
fn factor(pieces: f64, mass: f64) -> Factor {
    Factor {
        pieces,
        mass,
        surface: pieces * (mass / pieces).powf(2.0 / 3.0),
    }
}

impl Bought {
    /// From the words of a command line: portions, `chop=8`, `shoulder=1.9 kg`.
    ///
    /// # Errors
    /// Everything that is wrong with them, each with what to write instead.
    pub fn read(
        plan: &Plan,
        portions: Option<&str>,
        pieces: &[String],
        mass: &[String],
    ) -> Result<Bought, Vec<String>> {
        let mut bought = Bought::default();
        let mut wrong = Vec::new();
        if let Some(text) = portions {
            match text.trim().parse::<f64>() {
                Ok(n) if n > 0.0 && n <= f64::from(PORTIONS_MOST) && plan.portions.is_some() => {
                    bought.portions = Some(n);
                }
                Ok(n) if n > 0.0 && n <= f64::from(PORTIONS_MOST) => wrong.push(
                    "--portions: the plan does not say for how many it is written; write `portions: 4` into it".to_owned(),
                ),
                _ => wrong.push(format!("--portions: `{text}` is no number of portions; write: 6")),
            }
        }
        for text in pieces {
            match named(plan, text, "--pieces", "chop=8", |t| {
                quantity::count(t, PIECES_MOST)
            }) {
                Ok(found) => bought.pieces.push(found),
                Err(why) => wrong.push(why),
            }
        }
        for text in mass {
            match named(plan, text, "--mass", "shoulder=1.9 kg", quantity::mass) {
                Ok((id, g)) => {
                    let known = plan.items.iter().find(|i| i.id == id);
                    if known.is_some_and(|i| i.piece_mass_g.is_none()) {
                        wrong.push(format!(
                            "--mass: the plan has no mass of `{id}` to compare with; write `mass:` into it"
                        ));
                    }
                    bought.mass_g.push((id, g));
                }
                Err(why) => wrong.push(why),
            }
        }
        if wrong.is_empty() {
            Ok(bought)
        } else {
            Err(wrong)
        }
    }

    /// The plan's portions against those wanted.
    pub fn portions_factor(&self, plan: &Plan) -> f64 {
        match (self.portions, plan.portions) {
            (Some(wanted), Some(written)) if written > 0 => wanted / f64::from(written),
            _ => 1.0,
        }
    }

    pub fn of_item(&self, item: &Item, plan: &Plan) -> Factor {
        let pieces = self.pieces.iter().find(|(id, _)| *id == item.id);
        let mass = self.mass_g.iter().find(|(id, _)| *id == item.id);
        let n = pieces.map(|(_, n)| f64::from(*n) / f64::from(item.pieces));
        let planned = item.piece_mass_g.map(|g| g * f64::from(item.pieces));
        let m = mass.zip(planned).map(|((_, g), planned)| g / planned);
        match (n, m) {
            (Some(n), Some(m)) => factor(n, m),
            // More pieces of the same size.
            (Some(n), None) => factor(n, n),
            // The same number of larger pieces.
            (None, Some(m)) => factor(1.0, m),
            (None, None) => {
                let p = self.portions_factor(plan);
                factor(p, p)
            }
        }
    }

    /// By what to multiply an ingredient; none to taste.
    pub fn of_ingredient(&self, ingredient: &Ingredient, plan: &Plan) -> Option<f64> {
        let factor = match &ingredient.with {
            Some(id) => plan
                .items
                .iter()
                .find(|i| i.id == *id)
                .map_or(SAME, |item| self.of_item(item, plan)),
            None => self.of_everything(plan),
        };
        match ingredient.scales {
            Scales::Linear => Some(factor.mass),
            Scales::Surface => Some(factor.surface),
            // A pan of oil is a pan of oil, whatever lies in it.
            Scales::Vessel => Some(1.0),
            Scales::ToTaste => None,
        }
    }

    /// Portions if they were said, else all items together by mass, else by pieces.
    fn of_everything(&self, plan: &Plan) -> Factor {
        if self.portions.is_some() && plan.portions.is_some() {
            let p = self.portions_factor(plan);
            return factor(p, p);
        }
        let mean = |of: fn(Factor) -> f64| {
            let weigh = |item: &Item| item.piece_mass_g.unwrap_or(1.0) * f64::from(item.pieces);
            let all: f64 = plan.items.iter().map(weigh).sum();
            let now: f64 = plan
                .items
                .iter()
                .map(|i| weigh(i) * of(self.of_item(i, plan)))
                .sum();
            if all > 0.0 { now / all } else { 1.0 }
        };
        Factor {
            pieces: mean(|f| f.pieces),
            mass: mean(|f| f.mass),
            surface: mean(|f| f.surface),
        }
    }

    /// The plan with as many and as heavy pieces as there are. Steps that hold all
    /// pieces of an item hold the new number.
    pub fn apply(&self, plan: &Plan) -> Plan {
        let mut scaled = plan.clone();
        for item in &mut scaled.items {
            let f = self.of_item(item, plan);
            let before = item.pieces;
            let after = (f64::from(before) * f.pieces).round().clamp(1.0, 10_000.0) as u32;
            if let Some(g) = &mut item.piece_mass_g {
                *g *= f.mass * f64::from(before) / f64::from(after);
            }
            // Like bodies: a length grows with the cube root of the mass.
            let each = f.mass / f.pieces;
            if let Some(mm) = &mut item.thickness_mm {
                *mm *= each.cbrt();
            }
            item.pieces = after;
            for step in &mut scaled.steps {
                for holding in &mut step.holds {
                    if let crate::plan::What::Pieces { item: id, count } = &mut holding.what
                        && *id == item.id
                        && before > 0
                    {
                        let share = f64::from(*count) * f64::from(after) / f64::from(before);
                        *count = share.round().clamp(1.0, 10_000.0) as u32;
                    }
                }
            }
        }
        scaled
    }
}

/// `chop=8`: an item by any of its names, and a value.
fn named<T>(
    plan: &Plan,
    text: &str,
    option: &str,
    example: &str,
    value: impl Fn(&str) -> Reading<T>,
) -> Result<(Id, T), String> {
    let Some((name, amount)) = text.split_once('=') else {
        return Err(format!("{option}: `{text}` has no `=`; write: {example}"));
    };
    let name = name.trim().to_lowercase();
    let item = plan
        .items
        .iter()
        .find(|i| i.id == name || i.names.iter().any(|n| n.to_lowercase() == name));
    let Some(item) = item else {
        let known: Vec<&str> = plan.items.iter().map(|i| i.id.as_str()).collect();
        return Err(format!(
            "{option}: the plan has no item `{name}`; write one of: {}",
            known.join(", ")
        ));
    };
    match value(amount) {
        Ok(value) => Ok((item.id.clone(), value)),
        Err(fault) => Err(format!(
            "{option}: {}; write: {}",
            fault.what, fault.write_instead
        )),
    }
}
