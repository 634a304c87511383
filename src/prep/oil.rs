//! Oil in a pan: how deep before and after the food, cold and hot, and what is left to
//! the rim.

use super::pan::Pan;
use super::tables::{food_density, oil_density, trade};

/// Like pieces that lie flat on the floor. They sink: raw food is heavier than oil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pieces {
    pub count: u32,
    pub mass_g: f64,
    pub thickness_mm: f64,
}

impl Pieces {
    pub fn volume_ml(self) -> f64 {
        f64::from(self.count) * self.mass_g / food_density()
    }

    /// What they push away when the oil stands at a level: they are as wide above as below.
    fn displaced_ml(self, level_mm: f64) -> f64 {
        self.volume_ml() * (level_mm / self.thickness_mm).clamp(0.0, 1.0)
    }
}

/// How much oil is meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pour {
    /// So deep before the food is in, cold.
    Depth { mm: f64 },
    /// So many millilitres, cold.
    Volume { ml: f64 },
    /// So that it ends so far up the pieces, hot; 0.5 is halfway.
    UpThePieces { share: f64 },
}

/// The oil of a pan worked out. Levels in millimetres above the floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oil {
    /// To pour, cold (20 °C).
    pub pour_ml: f64,
    pub cold_mm: f64,
    pub hot_mm: f64,
    /// With the food in, hot.
    pub with_food_mm: f64,
    /// How far up the pieces it comes then; 1 and more: they are under.
    pub up_the_pieces: f64,
    /// To add (cold) so that it ends halfway up; none when it does.
    pub add_for_half_ml: Option<f64>,
    /// From the oil to the rim, hot, with the food in; below nothing when it runs over.
    pub headroom_mm: f64,
    pub danger: Danger,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Danger {
    /// No more than a third of the pan.
    Usual,
    /// More than a third: water from the food makes it foam up to the rim.
    MayBoilOver,
    RunsOver,
}

/// How much larger oil is at a temperature than at 20 °C.
pub fn expansion(celsius: f64) -> f64 {
    oil_density(20.0) / oil_density(celsius)
}

pub fn oil(pan: Pan, pieces: Pieces, pour: Pour, frying_c: f64) -> Oil {
    let swell = expansion(frying_c);
    // Cold oil that stands, hot and with the food in, at a level.
    let for_level = |mm: f64| (pan.volume_ml(mm) - pieces.displaced_ml(mm)).max(0.0) / swell;
    let pour_ml = match pour {
        Pour::Depth { mm } => pan.volume_ml(mm),
        Pour::Volume { ml } => ml,
        Pour::UpThePieces { share } => for_level(share * pieces.thickness_mm),
    };
    let with_food_mm = pan.level_mm(pour_ml * swell, |mm| pieces.displaced_ml(mm));
    let half = for_level(pieces.thickness_mm / 2.0);
    let headroom_mm = pan.depth_mm - with_food_mm;
    Oil {
        pour_ml,
        cold_mm: pan.level_mm(pour_ml, |_| 0.0),
        hot_mm: pan.level_mm(pour_ml * swell, |_| 0.0),
        with_food_mm,
        up_the_pieces: with_food_mm / pieces.thickness_mm,
        // A spoon more or less is nothing.
        add_for_half_ml: (half - pour_ml > 15.0).then_some(half - pour_ml),
        headroom_mm,
        danger: if headroom_mm <= 0.0 {
            Danger::RunsOver
        } else if with_food_mm > trade("pan_share_most") * pan.depth_mm {
            Danger::MayBoilOver
        } else {
            Danger::Usual
        },
    }
}
