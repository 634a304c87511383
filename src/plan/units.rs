//! The units of the plan language, with their sizes.

pub(super) struct Dimension {
    pub(super) name: &'static str,
    /// Spelling, canonical spelling, size in base units.
    pub(super) units: &'static [(&'static str, &'static str, f64)],
    pub(super) example: &'static str,
}

pub(super) const TIME: Dimension = Dimension {
    name: "a time",
    units: &[
        ("s", "s", 1e3),
        ("sec", "s", 1e3),
        ("second", "s", 1e3),
        ("seconds", "s", 1e3),
        ("min", "min", 6e4),
        ("minute", "min", 6e4),
        ("minutes", "min", 6e4),
        ("h", "h", 3.6e6),
        ("hr", "h", 3.6e6),
        ("hour", "h", 3.6e6),
        ("hours", "h", 3.6e6),
        ("d", "d", 8.64e7),
        ("day", "d", 8.64e7),
        ("days", "d", 8.64e7),
    ],
    example: "90 s, 12 min, 1 h 30 min or 2 d",
};

pub(super) const TEMPERATURE: Dimension = Dimension {
    name: "a temperature",
    units: &[
        ("F", "F", 1.0),
        ("°F", "F", 1.0),
        ("C", "C", 1.0),
        ("°C", "C", 1.0),
    ],
    example: "145 F or 63 C",
};

pub(super) const MASS: Dimension = Dimension {
    name: "a mass",
    units: &[
        ("g", "g", 1.0),
        ("kg", "kg", 1e3),
        ("oz", "oz", 28.349523125),
        ("lb", "lb", 453.59237),
        ("lbs", "lb", 453.59237),
    ],
    example: "250 g, 1.5 kg or 1 lb 4 oz",
};

pub(super) const LENGTH: Dimension = Dimension {
    name: "a length",
    units: &[
        ("mm", "mm", 1.0),
        ("cm", "cm", 10.0),
        ("m", "m", 1e3),
        ("in", "in", 25.4),
        ("inch", "in", 25.4),
        ("inches", "in", 25.4),
        ("ft", "ft", 304.8),
    ],
    example: "25 mm, 2.5 cm or 1 1/2 in",
};

pub(super) const VOLUME: Dimension = Dimension {
    name: "a volume",
    units: &[
        ("ml", "ml", 1.0),
        ("mL", "ml", 1.0),
        ("l", "l", 1e3),
        ("L", "l", 1e3),
        ("tsp", "tsp", 4.92892159375),
        ("tbsp", "tbsp", 14.78676478125),
        ("cup", "cup", 236.5882365),
        ("cups", "cup", 236.5882365),
        ("qt", "qt", 946.352946),
        ("gal", "gal", 3785.411784),
    ],
    example: "500 ml, 2 l, 2 tbsp or 1 1/2 cups",
};

pub(super) const PIECES: Dimension = Dimension {
    name: "a number of pieces",
    units: &[("piece", "piece", 1.0), ("pieces", "piece", 1.0)],
    example: "3 pieces",
};

/// All that an ingredient can be measured in; told apart by [`amount`].
pub(super) const AMOUNT: Dimension = Dimension {
    name: "an amount",
    units: &[
        ("g", "g", 1.0),
        ("kg", "kg", 1e3),
        ("oz", "oz", 28.349523125),
        ("lb", "lb", 453.59237),
        ("lbs", "lb", 453.59237),
        ("ml", "ml", 1.0),
        ("mL", "ml", 1.0),
        ("l", "l", 1e3),
        ("L", "l", 1e3),
        ("tsp", "tsp", 4.92892159375),
        ("tbsp", "tbsp", 14.78676478125),
        ("cup", "cup", 236.5882365),
        ("cups", "cup", 236.5882365),
        ("qt", "qt", 946.352946),
        ("gal", "gal", 3785.411784),
        ("piece", "piece", 1.0),
        ("pieces", "piece", 1.0),
    ],
    example: "18 g, 2 tbsp, 1 1/2 cups or 3 pieces",
};

pub(super) const ALTITUDE: Dimension = Dimension {
    name: "a height",
    units: &[("m", "m", 1.0), ("ft", "ft", 0.3048)],
    example: "300 m or 1000 ft",
};

pub(super) const PERCENT: Dimension = Dimension {
    name: "a share",
    units: &[("%", "%", 1.0), ("percent", "%", 1.0)],
    example: "8 %",
};
