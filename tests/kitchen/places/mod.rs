//! The engine's knowledge of places against physical pieces.
//!
//! | file | what |
//! | --- | --- |
//! | `world` | the pieces as they lie, which knows nothing of slots, frames or sets |
//! | `both` | the engine beside the world, and whether it says what is so |
//! | `moves` | moves told whole or by half, which go to both |

mod both;
mod moves;
mod world;

use std::sync::{Arc, OnceLock};

use both::Both;
use hobcall::plan::Plan;
use proptest::prelude::*;

/// Six samples, so that every piece can be named, in vessels of every layout.
const PLAN: &str = "
plan: Six named chops
units: celsius
items:
  chop: {pieces: 6, class: whole cut}
samples:
  red chop: {of: chop}
  blue chop: {of: chop}
  green chop: {of: chop}
  white chop: {of: chop}
  black chop: {of: chop}
  brown chop: {of: chop}
vessels:
  long pan: {kind: skillet, places: left middle right}
  small pan: {kind: skillet, places: left right}
  deep pan: {kind: pot, places: front back}
  rack: {kind: rack, places: grid 2 x 3}
  square: {kind: tray, places: grid 2 x 2}
  dial: {kind: plate, places: clock}
  tub: {kind: bowl}
steps:
  look: {say: Look at them, hands on: 1 min}
";

const SAMPLES: [&str; 6] = [
    "red_chop",
    "blue_chop",
    "green_chop",
    "white_chop",
    "black_chop",
    "brown_chop",
];

fn plan() -> Arc<Plan> {
    static ONCE: OnceLock<Arc<Plan>> = OnceLock::new();
    ONCE.get_or_init(|| Arc::new(crate::support::plan(PLAN)))
        .clone()
}

pub struct Draw<'a> {
    pub from: &'a [u32],
    pub at: usize,
}

impl Draw<'_> {
    pub fn n(&mut self, below: usize) -> usize {
        let v = self.from.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        v as usize % below.max(1)
    }

    pub fn of<T: Clone>(&mut self, all: &[T]) -> Option<T> {
        let i = self.n(all.len());
        all.get(i).cloned()
    }
}

fn numbers() -> impl Strategy<Value = Vec<u32>> {
    proptest::collection::vec(any::<u32>(), 20..160)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 500,
        failure_persistence: None,
        max_shrink_iters: 4_000,
        ..ProptestConfig::default()
    })]

    /// Whatever is told whole, the answer is what a look into the pans would show.
    #[test]
    fn told_moves_agree_with_the_pieces(from in numbers()) {
        let mut draw = Draw { from: &from, at: 0 };
        let mut both = Both::new();
        while draw.at < from.len() {
            both.told_move(&mut draw);
            prop_assert!(both.state.question().is_none(), "{:#?}", both.log);
            both.agree()?;
        }
    }

    /// With moves half told, what is said is never wrong, and a sample that is not
    /// known any more is asked about.
    #[test]
    fn half_told_moves_are_never_claimed(from in numbers()) {
        let mut draw = Draw { from: &from, at: 0 };
        let mut both = Both::new();
        while draw.at < from.len() {
            match draw.n(5) {
                0 | 1 => {
                    both.told_move(&mut draw);
                }
                2 => both.answer(&mut draw),
                _ => {
                    let lost = both.half_told_move(&mut draw);
                    prop_assert!(
                        !lost || both.state.question().is_some(),
                        "no question: {:#?}",
                        both.log
                    );
                }
            }
            both.sound()?;
        }
    }
}
