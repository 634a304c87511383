//! Two samples + a seed → blind codes and serving orders; answers → exact p-values.
//!
//! | file | idea |
//! | --- | --- |
//! | `test` | the four forced-choice tests, what guessing does in each, their serving orders |
//! | `code` | a three-digit blind code, and which codes a voice can carry |
//! | `seed` | the generator that turns the journal's seed into codes and orders, for ever the same |
//! | `design` | a seed → every taster's card, with the key locked inside |
//! | `sheet` | the key on paper, for whoever plates |
//! | `session` | [`Fact`]s → a running [`Tasting`], [`Open`] until all have answered, then [`Closed`] |
//! | `binomial` | exact tails and exact limits of a binomial share |
//! | `power` | what a number of tasters can show, and how many a wish needs |
//! | `outcome` | counts → p-value, share of discriminators, a [`Verdict`] that claims no more than it may |
//!
//! Which sample a code holds can be read in two places only: on the plater's
//! [`Sheet`], and from a [`Closed`] tasting. An [`Open`] one has no method that tells:
//!
//! ```compile_fail,E0599
//! # use hobcall::tasting::{Code, Open, Opened, Samples, Test};
//! let open = Open::new(Opened::new(Test::Triangle, Samples::new("plain chop", "test chop"), 3, 7)).unwrap();
//! open.sample_of(Code::new(417).unwrap());
//! ```
//!
//! Its fields cannot be reached:
//!
//! ```compile_fail,E0616
//! # use hobcall::tasting::{Open, Opened, Samples, Test};
//! let open = Open::new(Opened::new(Test::Triangle, Samples::new("plain chop", "test chop"), 3, 7)).unwrap();
//! let key = open.book;
//! ```
//!
//! And a [`Closed`] one cannot be made but by answering:
//!
//! ```
//! use hobcall::tasting::{Fact, Opened, Samples, Tasting, Test};
//! let opened = Opened::new(Test::Triangle, Samples::new("plain chop", "test chop"), 1, 7);
//! let mut tasting = Tasting::open(opened).unwrap();
//! let Tasting::Open(open) = &tasting else { unreachable!() };
//! let code = open.cards().next().unwrap().codes[0];
//! assert!(open.close().is_err(), "nobody has answered yet");
//! let picked = open.pick(Some(1), code, false).unwrap();
//! tasting.apply(&picked).unwrap();
//! tasting.apply(&Fact::Closed).unwrap();
//! let closed = tasting.key().unwrap();
//! assert!(closed.sample_of(code).is_some());
//! ```

mod binomial;
mod code;
mod design;
mod outcome;
mod power;
mod seed;
mod session;
mod sheet;
mod test;

pub use binomial::{Limits, limits, upper_tail};
pub use code::{Code, NotACode};
pub use design::{Card, Design, MAX_TASTERS, OpenError, Opened};
pub use outcome::{ALPHA, CountError, Odds, Outcome, Verdict};
pub use power::{
    HowMany, LONGEST_SEARCH, PlanError, Reach, USUAL_POWER, critical_count, how_many, p_value,
    power, what_can,
};
pub use session::{Answer, Closed, Fact, Given, Open, Refusal, ReplayError, Tally, Tasting};
pub use sheet::{Row, Serving, Sheet};
pub use test::{Samples, Test, Which};
