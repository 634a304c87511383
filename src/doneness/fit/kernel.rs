//! The conduction terms that a fit needs, by Biot number.

use crate::doneness::conduction;
use crate::plan::Shape;

/// λ₁², C₁, λ₂²/λ₁² and C₂ by ln Bi, tabulated once for a shape.
#[derive(Debug, Clone)]
pub struct Kernel {
    rows: Vec<[f64; 4]>,
}

const LN_BI: (f64, f64) = (-3.0, 6.0);
const ROWS: usize = 91;

impl Kernel {
    fn new(shape: Shape) -> Kernel {
        let step = (LN_BI.1 - LN_BI.0) / (ROWS - 1) as f64;
        Kernel {
            rows: (0..ROWS)
                .map(|i| {
                    let biot = (LN_BI.0 + step * i as f64).exp();
                    let first = conduction::term(shape, biot, 0);
                    let second = conduction::term(shape, biot, 1);
                    [
                        first.lambda * first.lambda,
                        first.c,
                        (second.lambda / first.lambda).powi(2),
                        second.c,
                    ]
                })
                .collect(),
        }
    }

    pub fn of(shape: Shape) -> &'static Kernel {
        use std::sync::OnceLock;
        static SLAB: OnceLock<Kernel> = OnceLock::new();
        static CYLINDER: OnceLock<Kernel> = OnceLock::new();
        static SPHERE: OnceLock<Kernel> = OnceLock::new();
        match shape {
            Shape::Slab => SLAB.get_or_init(|| Kernel::new(shape)),
            Shape::Cylinder => CYLINDER.get_or_init(|| Kernel::new(shape)),
            Shape::Sphere => SPHERE.get_or_init(|| Kernel::new(shape)),
        }
    }

    pub fn at(&self, ln_bi: f64) -> [f64; 4] {
        let step = (LN_BI.1 - LN_BI.0) / (ROWS - 1) as f64;
        let pos = ((ln_bi - LN_BI.0) / step).clamp(0.0, (ROWS - 1) as f64 - 1e-9);
        let i = pos as usize;
        let f = pos - i as f64;
        let (a, b) = (self.rows[i], self.rows[i + 1]);
        std::array::from_fn(|i| a[i] + f * (b[i] - a[i]))
    }
}
