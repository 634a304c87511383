//! Salt: how much to weigh, how strong it is in the end, what limits it.
//!
//! At equilibrium the water in the meat and the liquid around it are equally salty, so
//! that salt is shared over both waters. A gradient brine is taken out before that.

use super::tables;

/// How the salt comes to the meat. Liquid in grams of water in it (buttermilk is nine
/// tenths water; the difference is below what a kitchen scale and a spoon tell apart).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    /// The pieces lie in it.
    Bath { liquid_g: f64 },
    /// A marinade that coats them: less liquid than meat.
    Coating { liquid_g: f64 },
    /// Salt alone.
    Dry,
}

impl Way {
    fn liquid_g(self) -> f64 {
        match self {
            Way::Bath { liquid_g } | Way::Coating { liquid_g } => liquid_g,
            Way::Dry => 0.0,
        }
    }
}

/// What is wanted. Percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// Salt in the meat in the end, of the mass of the raw meat.
    InMeat(f64),
    /// Salt in the liquid at the beginning, of the mass of liquid and salt.
    InLiquid(f64),
    /// So many grams, whatever comes of it.
    Salt(f64),
}

/// A brine worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Brine {
    pub salt_g: f64,
    /// Of the liquid before the meat is in, percent of mass; none without liquid.
    pub start_percent: Option<f64>,
    /// Of all water at equilibrium, percent of water and salt.
    pub even_percent: f64,
    /// Salt in the meat at equilibrium, percent of the raw meat.
    pub meat_percent: f64,
}

/// `meat_g` of meat with `water_percent` of water in it. None where there is no water
/// to share the salt, or no salt.
pub fn brine(way: Way, wanted: Wanted, meat_g: f64, water_percent: f64) -> Option<Brine> {
    let liquid = way.liquid_g();
    let meat_water = meat_g * water_percent / 100.0;
    let water = meat_water + liquid;
    let salt_g = match wanted {
        Wanted::InMeat(percent) => percent / water_percent * water,
        Wanted::InLiquid(percent) if percent < 100.0 => liquid * percent / (100.0 - percent),
        Wanted::InLiquid(_) => return None,
        Wanted::Salt(g) => g,
    };
    let fit = |x: f64| x.is_finite() && x > 0.0;
    if !fit(salt_g) || !fit(water) || !fit(meat_g) {
        return None;
    }
    Some(Brine {
        salt_g,
        start_percent: (liquid > 0.0).then(|| 100.0 * salt_g / (liquid + salt_g)),
        even_percent: 100.0 * salt_g / (water + salt_g),
        meat_percent: salt_g / water * water_percent,
    })
}

/// Above this much salt in the meat most people send it back. Common practice, no source.
pub const TOO_SALTY_PERCENT: f64 = 2.5;

/// A liquid of so much salt does not dissolve it at that temperature.
pub fn is_oversaturated(percent: f64, celsius: f64) -> bool {
    tables::saturation(celsius).is_some_and(|most| percent > most)
}

/// Millilitres of `water_g` of water with `salt_g` of salt in it, at 20 °C; none beyond
/// the table.
pub fn volume_ml(water_g: f64, salt_g: f64) -> Option<f64> {
    let mass = water_g + salt_g;
    Some(mass / tables::brine_density(100.0 * salt_g / mass)?)
}
