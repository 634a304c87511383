//! The inside of a pan as a solid: straight or sloping wall, round or not.

/// Millimetres, inside. Volumes in millilitres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pan {
    pub floor: Floor,
    pub depth_mm: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Floor {
    /// Diameter at the floor and at the rim; equal for a straight wall.
    Round {
        floor_mm: f64,
        rim_mm: f64,
    },
    Sides {
        a_mm: f64,
        b_mm: f64,
    },
}

impl Pan {
    pub fn floor_area_mm2(self) -> f64 {
        match self.floor {
            Floor::Round { floor_mm, .. } => std::f64::consts::PI * floor_mm * floor_mm / 4.0,
            Floor::Sides { a_mm, b_mm } => a_mm * b_mm,
        }
    }

    /// Volume below a level. The wall is taken to go on above the rim, so that an
    /// overflow is seen as a level above the depth.
    pub fn volume_ml(self, level_mm: f64) -> f64 {
        let h = level_mm.max(0.0);
        let mm3 = match self.floor {
            Floor::Round { floor_mm, rim_mm } => {
                let r0 = floor_mm / 2.0;
                let r = r0 + (rim_mm - floor_mm) / 2.0 * h / self.depth_mm;
                // A cone cut off: (pi h / 3)(r0² + r0 r + r²).
                std::f64::consts::PI * h / 3.0 * (r0 * r0 + r0 * r + r * r)
            }
            Floor::Sides { a_mm, b_mm } => a_mm * b_mm * h,
        };
        mm3 / 1000.0
    }

    /// The level at which `filled` millilitres stand, where some of the volume below
    /// each level is taken by `displaced(level)`. Found by halving: both only grow.
    pub fn level_mm(self, filled_ml: f64, displaced: impl Fn(f64) -> f64) -> f64 {
        let (mut low, mut high) = (0.0, 10.0 * self.depth_mm);
        for _ in 0..80 {
            let middle = (low + high) / 2.0;
            if self.volume_ml(middle) - displaced(middle) < filled_ml {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low + high) / 2.0
    }
}
