use serde::{Deserialize, Serialize};

use super::code::Code;
use super::design::{Card, Design, OpenError, Opened};
use super::outcome::{ALPHA, CountError, Outcome};
use super::sheet::Sheet;
use super::test::Which;

/// What the journal keeps of a tasting; the state is the fold of these.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "tasting")]
pub enum Fact {
    Opened(Opened),
    /// The choice is final. `guess`: the taster said so with the pick.
    Picked {
        taster: u16,
        code: Code,
        guess: bool,
    },
    /// "can't tell", before or after the pick: the pick counts as a guess, and is
    /// asked for all the same.
    CantTell {
        taster: u16,
    },
    /// The taster goes without an answer and is counted out, so that the others
    /// can end.
    Left {
        taster: u16,
    },
    Closed,
}

/// Why a fact does not fit. The tasting is as it was before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[serde(rename_all = "snake_case")]
pub enum Refusal {
    #[error(transparent)]
    Open(#[from] OpenError),
    #[error("no tasting is open; open one first")]
    NotOpen,
    #[error("a tasting is already open; end it before opening another")]
    AlreadyOpen,
    #[error("all have answered, but the tasting is not closed; close it first")]
    NotClosed,
    #[error("the tasting is closed; answers are no longer taken")]
    AlreadyClosed,
    #[error("there is no taster {taster}; the tasters are 1 to {tasters}")]
    UnknownTaster { taster: u16, tasters: u16 },
    #[error("code {0} is on no card; say the three digits again")]
    UnknownCode(Code),
    #[error(
        "code {code} is on the card of taster {owner}, not of taster {taster}; say the taster and the digits again"
    )]
    OthersCode { code: Code, owner: u16, taster: u16 },
    #[error("taster {taster} has already answered {code}; an answer is not changed")]
    AlreadyAnswered { taster: u16, code: Code },
    #[error("taster {0} has left the tasting")]
    HasLeft(u16),
    #[error("not all have answered; still waiting for {} taster(s): {}", .0.len(), list(.0))]
    StillTasting(Vec<u16>),
}

fn list(tasters: &[u16]) -> String {
    let names: Vec<String> = tasters.iter().map(u16::to_string).collect();
    names.join(", ")
}

/// The fact number `at` (from 0) of a journal does not fit those before it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("tasting fact {at}: {refusal}")]
pub struct ReplayError {
    pub at: usize,
    pub refusal: Refusal,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Seat {
    picked: Option<Code>,
    guess: bool,
    left: bool,
}

impl Seat {
    fn waiting(&self) -> bool {
        self.picked.is_none() && !self.left
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Book {
    design: Design,
    seats: Vec<Seat>,
}

impl Book {
    /// The seat of a taster counted from 1.
    fn index(&self, taster: u16) -> Option<usize> {
        let index = usize::from(taster).checked_sub(1)?;
        (index < self.seats.len()).then_some(index)
    }

    fn seats(&self) -> impl Iterator<Item = (u16, &Seat)> {
        (1..).zip(&self.seats)
    }
}

/// A tasting under way: takes answers, tells nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Open {
    book: Book,
}

/// A tasting in which nobody is left to answer: tells everything, takes nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closed {
    book: Book,
}

/// An answer while the tasting is open: what was said, not whether it was right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Given {
    pub taster: u16,
    pub code: Code,
    pub guess: bool,
}

/// An answer with what it turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    pub taster: u16,
    pub code: Code,
    /// What the code held.
    pub sample: Which,
    /// Right; in a preference test, a vote for the test sample.
    pub hit: bool,
    pub guess: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    pub answers: u32,
    /// Right answers; in a preference test, votes for the test sample.
    pub hits: u32,
    /// Answers given as guesses. They count like any other: that is what makes
    /// the guessing chance known.
    pub guesses: u32,
    /// Hits among them.
    pub lucky: u32,
    /// Tasters who left without an answer.
    pub left: u32,
}

impl Open {
    pub fn new(opened: Opened) -> Result<Open, OpenError> {
        let design = Design::new(opened)?;
        let seats = vec![Seat::default(); usize::from(design.opened().tasters)];
        let book = Book { design, seats };
        Ok(Open { book })
    }

    pub fn opened(&self) -> &Opened {
        self.book.design.opened()
    }

    pub fn cards(&self) -> impl Iterator<Item = Card> {
        self.book.design.cards()
    }

    /// The key, for whoever plates and nobody else: print it, or say it out of the
    /// tasters' hearing.
    pub fn plater_sheet(&self) -> Sheet {
        self.book.design.plater_sheet()
    }

    pub fn taster_of(&self, code: Code) -> Option<u16> {
        self.book.design.taster_of(code)
    }

    /// Who has neither answered nor left, in order.
    pub fn waiting(&self) -> Vec<u16> {
        let waiting = self.book.seats().filter(|(_, seat)| seat.waiting());
        waiting.map(|(taster, _)| taster).collect()
    }

    /// Answers so far, by taster.
    pub fn given(&self) -> impl Iterator<Item = Given> {
        self.book.seats().filter_map(|(taster, seat)| {
            seat.picked.map(|code| Given {
                taster,
                code,
                guess: seat.guess,
            })
        })
    }

    /// Whether this taster has said "can't tell" and owes a pick all the same.
    pub fn owes_a_guess(&self, taster: u16) -> bool {
        self.book
            .seats()
            .any(|(t, s)| t == taster && s.waiting() && s.guess)
    }

    /// The fact to record for a pick; without a taster, the code tells whose it is.
    pub fn pick(&self, taster: Option<u16>, code: Code, guess: bool) -> Result<Fact, Refusal> {
        // A taster who is not there is a plainer mistake than a code that is not theirs.
        if let Some(taster) = taster {
            self.known(taster)?;
        }
        let owner = self.taster_of(code).ok_or(Refusal::UnknownCode(code))?;
        let taster = taster.unwrap_or(owner);
        self.unanswered(taster)?;
        if taster != owner {
            return Err(Refusal::OthersCode {
                code,
                owner,
                taster,
            });
        }
        Ok(Fact::Picked {
            taster,
            code,
            guess,
        })
    }

    /// The fact to record for "can't tell".
    pub fn cant_tell(&self, taster: u16) -> Result<Fact, Refusal> {
        let seat = self.known(taster)?;
        if seat.left {
            return Err(Refusal::HasLeft(taster));
        }
        Ok(Fact::CantTell { taster })
    }

    /// The fact to record when a taster goes without an answer.
    pub fn leave(&self, taster: u16) -> Result<Fact, Refusal> {
        self.unanswered(taster)?;
        Ok(Fact::Left { taster })
    }

    /// The fact to record to end the tasting.
    pub fn close(&self) -> Result<Fact, Refusal> {
        let waiting = self.waiting();
        if waiting.is_empty() {
            Ok(Fact::Closed)
        } else {
            Err(Refusal::StillTasting(waiting))
        }
    }

    fn known(&self, taster: u16) -> Result<&Seat, Refusal> {
        let seat = self.book.index(taster).and_then(|i| self.book.seats.get(i));
        seat.ok_or(Refusal::UnknownTaster {
            taster,
            tasters: self.opened().tasters,
        })
    }

    fn unanswered(&self, taster: u16) -> Result<(), Refusal> {
        let seat = self.known(taster)?;
        match seat.picked {
            Some(code) => Err(Refusal::AlreadyAnswered { taster, code }),
            None if seat.left => Err(Refusal::HasLeft(taster)),
            None => Ok(()),
        }
    }

    fn seat(&mut self, taster: u16) -> Option<&mut Seat> {
        let index = self.book.index(taster)?;
        self.book.seats.get_mut(index)
    }
}

impl Closed {
    pub fn opened(&self) -> &Opened {
        self.book.design.opened()
    }

    pub fn sheet(&self) -> Sheet {
        self.book.design.plater_sheet()
    }

    pub fn sample_of(&self, code: Code) -> Option<Which> {
        self.book.design.reveal(code).map(|(sample, _)| sample)
    }

    /// By taster; those who left have none.
    pub fn answers(&self) -> impl Iterator<Item = Answer> {
        self.book.seats().filter_map(|(taster, seat)| {
            let code = seat.picked?;
            let (sample, hit) = self.book.design.reveal(code)?;
            Some(Answer {
                taster,
                code,
                sample,
                hit,
                guess: seat.guess,
            })
        })
    }

    pub fn tally(&self) -> Tally {
        let count = |keep: &dyn Fn(&Answer) -> bool| self.answers().filter(keep).count() as u32;
        Tally {
            answers: count(&|_| true),
            hits: count(&|a| a.hit),
            guesses: count(&|a| a.guess),
            lucky: count(&|a| a.guess && a.hit),
            left: self.book.seats.iter().filter(|seat| seat.left).count() as u32,
        }
    }

    /// Judged at [`ALPHA`].
    pub fn outcome(&self) -> Result<Outcome, CountError> {
        let tally = self.tally();
        Outcome::of(self.opened().test, tally.answers, tally.hits, ALPHA)
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tasting {
    Open(Open),
    Closed(Closed),
}

impl Tasting {
    pub fn open(opened: Opened) -> Result<Tasting, OpenError> {
        Open::new(opened).map(Tasting::Open)
    }

    /// The tasting that these facts make, the first being [`Fact::Opened`]; none
    /// if there are none.
    pub fn replay<'a>(
        facts: impl IntoIterator<Item = &'a Fact>,
    ) -> Result<Option<Tasting>, ReplayError> {
        let mut tasting = None;
        for (at, fact) in facts.into_iter().enumerate() {
            Tasting::step(&mut tasting, fact).map_err(|refusal| ReplayError { at, refusal })?;
        }
        Ok(tasting)
    }

    /// One step of the fold from nothing: opens if `tasting` is `None` or closed.
    pub fn step(tasting: &mut Option<Tasting>, fact: &Fact) -> Result<(), Refusal> {
        match (tasting.as_mut(), fact) {
            (None | Some(Tasting::Closed(_)), Fact::Opened(opened)) => {
                *tasting = Some(Tasting::open(opened.clone())?);
                Ok(())
            }
            (None, _) => Err(Refusal::NotOpen),
            (Some(running), _) => running.apply(fact),
        }
    }

    /// Takes a fact in. Every fact is checked again here, so that a journal edited
    /// by hand cannot close a tasting early or change an answer.
    pub fn apply(&mut self, fact: &Fact) -> Result<(), Refusal> {
        let Tasting::Open(open) = self else {
            return Err(Refusal::AlreadyClosed);
        };
        match *fact {
            Fact::Opened(_) => return Err(Refusal::AlreadyOpen),
            Fact::Picked {
                taster,
                code,
                guess,
            } => {
                open.pick(Some(taster), code, guess)?;
                if let Some(seat) = open.seat(taster) {
                    seat.picked = Some(code);
                    seat.guess |= guess;
                }
            }
            Fact::CantTell { taster } => {
                open.cant_tell(taster)?;
                if let Some(seat) = open.seat(taster) {
                    seat.guess = true;
                }
            }
            Fact::Left { taster } => {
                open.leave(taster)?;
                if let Some(seat) = open.seat(taster) {
                    seat.left = true;
                }
            }
            Fact::Closed => {
                open.close()?;
                let book = open.book.clone();
                *self = Tasting::Closed(Closed { book });
            }
        }
        Ok(())
    }

    /// The key, for the cook who asks "which is the test": not before all have answered.
    pub fn key(&self) -> Result<&Closed, Refusal> {
        match self {
            Tasting::Closed(closed) => Ok(closed),
            Tasting::Open(open) => open.close().and(Err(Refusal::NotClosed)),
        }
    }
}
