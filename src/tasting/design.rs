use std::collections::BTreeSet;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::code::Code;
use super::seed::Draw;
use super::sheet::{Row, Serving, Sheet};
use super::test::{Samples, Test, Which};

/// More than this does not fit around the three-digit codes that a voice can carry.
pub const MAX_TASTERS: u16 = 100;

/// Up to this many codes on the table, every two differ in two digits at least.
const CODES_KEPT_APART: usize = 24;

/// Everything that a tasting is set up from; the journal keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Opened {
    pub test: Test,
    pub samples: Samples,
    /// How many taste, 1 to [`MAX_TASTERS`]; they are numbered from 1.
    pub tasters: u16,
    /// Any number; it must not be one that a taster could guess.
    pub seed: u64,
    /// What a paired difference test asks for, as it is asked ("saltier", "more tender").
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attribute: Option<String>,
}

impl Opened {
    pub fn new(test: Test, samples: Samples, tasters: u16, seed: u64) -> Self {
        Opened {
            test,
            samples,
            tasters,
            seed,
            attribute: None,
        }
    }

    /// The seed of one tasting of a cook: the same for ever from the cook's seed and the
    /// number of the tasting, from 0, and another for every tasting.
    pub fn seed_of(cook_seed: u64, number: u32) -> u64 {
        Draw::derived(cook_seed, number)
    }

    pub fn more_of(mut self, attribute: impl Into<String>) -> Self {
        self.attribute = Some(attribute.into());
        self
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[serde(rename_all = "snake_case")]
pub enum OpenError {
    #[error("a tasting needs tasters; say how many there are, from 1 to {MAX_TASTERS}")]
    NoTasters,
    #[error(
        "{0} tasters are too many for distinct codes; at most {MAX_TASTERS}, in groups if need be"
    )]
    TooManyTasters(u16),
    #[error("a sample has no name; give both samples one")]
    SampleWithoutName,
    #[error("both samples are called \"{0}\"; give them different names")]
    SameName(String),
    #[error(
        "a paired difference test needs something to compare; say what, such as saltier or crisper"
    )]
    NoAttribute,
    #[error("this seed leaves no codes to deal; take another seed")]
    NoCodesLeft,
}

/// One taster's servings with the key. Private to the design.
#[derive(Clone, PartialEq, Eq)]
struct Dealt {
    codes: Vec<Code>,
    order: &'static [Which],
}

/// What a taster may see: codes in the order in which to taste them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Card {
    /// From 1.
    pub taster: u16,
    /// Served first, openly, in a duo-trio test.
    pub reference: bool,
    pub codes: Vec<Code>,
}

/// Codes and serving orders, dealt from the seed.
///
/// Codes are random three-digit numbers, each used once in the whole tasting, so
/// that a code alone tells whose it is (ISO 4120:2021 5.5 prefers new codes for
/// every taster). They are made for being called across a kitchen:
/// - no zero ("zero", "oh", and "one thirty" against "one thirteen") and no digit
///   twice in a code (a doubled digit is easily dropped);
/// - no digit twice on a card, so that one digit heard right tells the codes of a
///   card apart;
/// - no counting up or down by ones;
/// - as long as there are few ([`CODES_KEPT_APART`]), any two codes on the table
///   differ in two digits, so that one misheard digit makes no other taster's code.
///
/// None of this depends on which sample a code gets, so it gives nothing away.
///
/// Orders are dealt in groups of six (triangle) or two: each group gets every
/// order once, at random; an incomplete last group gets different ones.
#[derive(Clone, PartialEq, Eq)]
pub struct Design {
    opened: Opened,
    dealt: Vec<Dealt>,
}

impl Design {
    pub fn new(opened: Opened) -> Result<Design, OpenError> {
        check(&opened)?;
        let mut draw = Draw::new(opened.seed);
        let mut codes = CodeDealer::new(&opened);
        let mut group: Vec<&'static [Which]> = Vec::new();
        let mut dealt = Vec::new();
        for _ in 0..opened.tasters {
            if group.is_empty() {
                group = opened.test.orders().to_vec();
                draw.shuffle(&mut group);
            }
            let codes = codes.deal(&mut draw).ok_or(OpenError::NoCodesLeft)?;
            // Never empty here: it was just filled.
            let order = group.pop().ok_or(OpenError::NoCodesLeft)?;
            dealt.push(Dealt { codes, order });
        }
        Ok(Design { opened, dealt })
    }

    pub fn opened(&self) -> &Opened {
        &self.opened
    }

    /// What the tasters may see, taster 1 first.
    pub fn cards(&self) -> impl Iterator<Item = Card> {
        (1..).zip(&self.dealt).map(|(taster, dealt)| Card {
            taster,
            reference: self.opened.test.has_reference(),
            codes: dealt.codes.clone(),
        })
    }

    /// The key, for whoever plates and nobody else.
    pub fn plater_sheet(&self) -> Sheet {
        let rows = (1..).zip(&self.dealt).map(|(taster, dealt)| Row {
            taster,
            reference: self.opened.test.has_reference().then_some(Which::Control),
            servings: dealt
                .codes
                .iter()
                .zip(dealt.order)
                .map(|(code, sample)| Serving {
                    code: *code,
                    sample: *sample,
                })
                .collect(),
        });
        Sheet {
            samples: self.opened.samples.clone(),
            rows: rows.collect(),
        }
    }

    /// Whose code this is, if anyone's.
    pub fn taster_of(&self, code: Code) -> Option<u16> {
        (1..)
            .zip(&self.dealt)
            .find_map(|(taster, dealt)| dealt.codes.contains(&code).then_some(taster))
    }

    /// What the code holds, and whether picking it is a hit. Only a closed tasting asks.
    pub(super) fn reveal(&self, code: Code) -> Option<(Which, bool)> {
        self.dealt.iter().find_map(|dealt| {
            let mut servings = dealt.codes.iter().zip(dealt.order);
            let (_, sample) = servings.find(|(c, _)| **c == code)?;
            Some((*sample, self.opened.test.is_hit(dealt.order, *sample)))
        })
    }
}

/// Says nothing about the key, wherever it is printed.
impl fmt::Debug for Design {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Design")
            .field("test", &self.opened.test)
            .field("cards", &self.cards().collect::<Vec<_>>())
            .finish_non_exhaustive()
    }
}

fn check(opened: &Opened) -> Result<(), OpenError> {
    let Samples { control, test } = &opened.samples;
    let (control, test) = (control.trim(), test.trim());
    if opened.tasters == 0 {
        return Err(OpenError::NoTasters);
    }
    if opened.tasters > MAX_TASTERS {
        return Err(OpenError::TooManyTasters(opened.tasters));
    }
    if control.is_empty() || test.is_empty() {
        return Err(OpenError::SampleWithoutName);
    }
    if control.to_lowercase() == test.to_lowercase() {
        return Err(OpenError::SameName(control.to_owned()));
    }
    let attribute = opened.attribute.as_deref().map_or("", str::trim);
    if opened.test == Test::PairedDifference && attribute.is_empty() {
        return Err(OpenError::NoAttribute);
    }
    Ok(())
}

struct CodeDealer {
    per_card: usize,
    keep_apart: bool,
    used: BTreeSet<Code>,
}

impl CodeDealer {
    fn new(opened: &Opened) -> Self {
        let per_card = opened.test.codes_per_taster();
        CodeDealer {
            per_card,
            keep_apart: usize::from(opened.tasters) * per_card <= CODES_KEPT_APART,
            used: BTreeSet::new(),
        }
    }

    fn free(&self, code: Code) -> bool {
        let clear = |other: &Code| code.distance(*other) >= 2;
        let apart = !self.keep_apart || self.used.iter().all(clear);
        !code.is_run() && !self.used.contains(&code) && apart
    }

    /// The digits 1 to 9 shuffled and cut in threes, until all codes are free.
    /// At the fullest table about one shuffle in thirty is, so the limit is there
    /// for the proof that this ends, not for use.
    fn deal(&mut self, draw: &mut Draw) -> Option<Vec<Code>> {
        let mut digits = [1, 2, 3, 4, 5, 6, 7, 8, 9];
        for _ in 0..1_000_000 {
            draw.shuffle(&mut digits);
            let (threes, _) = digits.as_chunks::<3>();
            let codes = threes.iter().take(self.per_card);
            let codes: Vec<Code> = codes.filter_map(|d| Code::from_digits(*d).ok()).collect();
            if codes.iter().all(|code| self.free(*code)) {
                self.used.extend(&codes);
                return Some(codes);
            }
        }
        None
    }
}
