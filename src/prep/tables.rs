//! The figures of `data/prep/`, read once. Each file says where its rows are from.

use std::sync::OnceLock;

const BRINE: &str = include_str!("../../data/prep/brine.csv");
const SOLUBILITY: &str = include_str!("../../data/prep/nacl_solubility.csv");
const SPOONS: &str = include_str!("../../data/prep/volume_mass.csv");
const PHYSICAL: &str = include_str!("../../data/prep/physical.csv");
const TRADE: &str = include_str!("../../data/prep/trade.csv");

/// Millilitres of the US customary spoon and cup (UCUM, in `volume_mass.csv`).
pub const TEASPOON_ML: f64 = 4.92892159375;
pub const TABLESPOON_ML: f64 = 3.0 * TEASPOON_ML;
pub const CUP_ML: f64 = 48.0 * TEASPOON_ML;

/// The cells of a line; a cell in double quotes may hold commas.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => {
                if let Some(cell) = cells.last_mut() {
                    cell.push(c);
                }
            }
        }
    }
    cells
}

/// Two columns of numbers; rows where either is blank are passed over.
fn columns(text: &str, x: usize, y: usize) -> Vec<(f64, f64)> {
    text.lines()
        .skip(1)
        .filter_map(|line| {
            let cells = cells(line);
            Some((cells.get(x)?.parse().ok()?, cells.get(y)?.parse().ok()?))
        })
        .collect()
}

/// Straight between the rows; none outside them.
fn between(rows: &[(f64, f64)], x: f64) -> Option<f64> {
    rows.windows(2).find_map(|pair| match *pair {
        [(x0, y0), (x1, y1)] if (x0..=x1).contains(&x) && x1 > x0 => {
            Some(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
        }
        _ => None,
    })
}

/// Density of a salt solution at 20 °C, g/mL, by its strength in percent of mass; none
/// above 26 %, which is about saturation.
pub fn brine_density(percent: f64) -> Option<f64> {
    static ROWS: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    between(ROWS.get_or_init(|| columns(BRINE, 0, 1)), percent)
}

/// The strongest brine that there is, percent of mass, at a temperature; none outside
/// -21 to 109 °C.
pub fn saturation(celsius: f64) -> Option<f64> {
    static ROWS: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    between(ROWS.get_or_init(|| columns(SOLUBILITY, 0, 1)), celsius)
}

fn keyed(text: &str, key: &str) -> Option<f64> {
    text.lines().skip(1).find_map(|line| {
        let cells = cells(line);
        (cells.first()? == key).then(|| cells.get(1)?.parse().ok())?
    })
}

/// A row of `physical.csv`. `NaN` for a key that the file does not have, which the
/// tests rule out for every key that is used.
fn physical(key: &str) -> f64 {
    keyed(PHYSICAL, key).unwrap_or(f64::NAN)
}

/// A row of `trade.csv`: common practice, no source.
pub fn trade(key: &str) -> f64 {
    keyed(TRADE, key).unwrap_or(f64::NAN)
}

/// Food, g/mL: raw lean meat; bone and fat are within a few percent of it.
pub fn food_density() -> f64 {
    physical("food_density") / 1000.0
}

/// Water in raw lean meat, percent of mass.
pub fn meat_water() -> f64 {
    physical("meat_water")
}

/// Frying oil at a temperature, g/mL.
pub fn oil_density(celsius: f64) -> f64 {
    physical("oil_relative_density_20c") * 0.9982 + physical("oil_density_slope") * (celsius - 20.0)
}

/// The diffusion coefficient of salt in raw meat, m²/s: the lowest and the highest figure.
pub fn salt_diffusion() -> (f64, f64) {
    (
        physical("salt_diffusion_low"),
        physical("salt_diffusion_high"),
    )
}

/// The longest that meat stays in a wet brine, hours, refrigerated.
pub fn brine_most_hours() -> f64 {
    physical("brine_most_hours")
}

/// Things whose spoons and cups are in the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stuff {
    TableSalt,
    DenseFlakeSalt,
    LightFlakeSalt,
    Flour,
    Cornstarch,
    BakingPowder,
    BakingSoda,
    Buttermilk,
    Milk,
    Water,
    Sugar,
    Oil,
}

/// As a plan names them.
pub const STUFF: &[(&str, Stuff)] = &[
    ("table salt", Stuff::TableSalt),
    ("dense flake salt", Stuff::DenseFlakeSalt),
    ("light flake salt", Stuff::LightFlakeSalt),
    ("flour", Stuff::Flour),
    ("cornstarch", Stuff::Cornstarch),
    ("baking powder", Stuff::BakingPowder),
    ("baking soda", Stuff::BakingSoda),
    ("buttermilk", Stuff::Buttermilk),
    ("milk", Stuff::Milk),
    ("water", Stuff::Water),
    ("sugar", Stuff::Sugar),
    ("oil", Stuff::Oil),
];

impl Stuff {
    pub fn is_salt(self) -> bool {
        matches!(
            self,
            Stuff::TableSalt | Stuff::DenseFlakeSalt | Stuff::LightFlakeSalt
        )
    }

    /// Its row in the table: name, measure, millilitres of that measure.
    fn row(self) -> (&'static str, &'static str, f64) {
        match self {
            Stuff::TableSalt => ("salt table", "tsp", TEASPOON_ML),
            Stuff::DenseFlakeSalt => ("salt compacted flake", "tsp", TEASPOON_ML),
            Stuff::LightFlakeSalt => ("salt hollow flake", "tsp", TEASPOON_ML),
            Stuff::Flour => ("flour all-purpose", "cup", CUP_ML),
            Stuff::Cornstarch => ("cornstarch", "cup", CUP_ML),
            Stuff::BakingPowder => ("baking powder double-acting", "tsp", TEASPOON_ML),
            Stuff::BakingSoda => ("baking soda", "tsp", TEASPOON_ML),
            Stuff::Buttermilk => ("buttermilk", "cup", CUP_ML),
            Stuff::Milk => ("milk whole", "cup", CUP_ML),
            Stuff::Water => ("water", "cup", CUP_ML),
            Stuff::Sugar => ("sugar granulated", "cup", CUP_ML),
            Stuff::Oil => ("oil canola", "cup", CUP_ML),
        }
    }

    /// What a millilitre of it weighs.
    pub fn density(self) -> Density {
        let (name, measure, ml) = self.row();
        SPOONS
            .lines()
            .skip(1)
            .map(cells)
            .find(|row| {
                // Names before the bracket: "salt hollow flake (light kosher style)".
                row.first()
                    .is_some_and(|n| n == name || n.starts_with(&format!("{name} (")))
                    && row.get(1).is_some_and(|m| m == measure)
            })
            .map_or(Density::UNKNOWN, |row| {
                let number = |i: usize| row.get(i).and_then(|c| c.parse::<f64>().ok());
                let (low, high) = (number(4), number(5));
                let middle = low.zip(high).map(|(a, b)| (a + b) / 2.0);
                let value = number(2).or(middle).unwrap_or(f64::NAN);
                Density {
                    likely: value / ml,
                    low: low.unwrap_or(value) / ml,
                    high: high.unwrap_or(value) / ml,
                }
            })
    }
}

/// Grams a millilitre, as measured with a spoon or cup.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Density {
    pub likely: f64,
    pub low: f64,
    pub high: f64,
}

impl Density {
    const UNKNOWN: Density = Density {
        likely: f64::NAN,
        low: f64::NAN,
        high: f64::NAN,
    };

    /// Whether a spoon of it is worth its range: more than a tenth either way.
    pub fn is_rough(self) -> bool {
        self.high / self.low > 1.1
    }
}
