//! Words around the blind tasting. Codes digit by digit; a result in counts and odds, and
//! no claim that the numbers do not carry.

use crate::kitchen::TastingSay;
use crate::tasting::{
    Code, Fact, HowMany, Limits, Odds, Outcome, Reach, Refusal, Samples, Tally, Test, Verdict,
    Which,
};
use crate::voice::numbers;

use super::{choice, list, sentence, sentences};

/// Stands on the screen for what was said to whoever plates.
pub const PLATE_UNSEEN: &str = "(a plate, said aloud only; `hobcall panel sheet` prints them all)";

pub fn code(code: Code) -> String {
    numbers::digits(f64::from(code.number()))
}

fn n(number: impl Into<u64>) -> String {
    numbers::plain(number.into())
}

pub fn taster(number: u16) -> String {
    format!("taster {}", n(number))
}

/// "tasters three and four".
pub fn tasters(all: &[u16]) -> String {
    match all {
        [one] => taster(*one),
        // Said whole, a long list is not listened to.
        many if many.len() > 4 => format!("{} tasters", n(many.len() as u64)),
        many => {
            let names: Vec<String> = many.iter().map(|t| n(*t)).collect();
            format!("tasters {}", list(&names))
        }
    }
}

fn how_many(tasters: u64) -> String {
    match tasters {
        1 => "one taster".to_owned(),
        many => format!("{} tasters", n(many)),
    }
}

fn percent(share: f64) -> String {
    format!(
        "{} percent",
        n((share * 100.0).round().clamp(0.0, 100.0) as u64)
    )
}

pub fn test(test: Test) -> &'static str {
    match test {
        Test::Triangle => "triangle test",
        Test::DuoTrio => "duo trio",
        Test::PairedPreference => "preference test",
        Test::PairedDifference => "difference test",
    }
}

/// What the taster is asked.
fn asked(test: Test, attribute: Option<&str>) -> String {
    match test {
        Test::Triangle => "which is the odd one?".to_owned(),
        Test::DuoTrio => "which is the same as the reference?".to_owned(),
        Test::PairedPreference => "which do you like better?".to_owned(),
        Test::PairedDifference => format!("which is {}?", attribute.unwrap_or("the one")),
    }
}

pub fn word(say: &TastingSay) -> String {
    match say {
        TastingSay::Opened {
            test: kind,
            samples,
            attribute,
            tasters,
            reach,
        } => opened(
            *kind,
            samples,
            attribute.as_deref(),
            *tasters,
            reach.as_ref(),
        ),
        TastingSay::Plate {
            taster: number,
            reference,
            servings,
            portions,
            last,
        } => {
            let mut parts = Vec::new();
            if !portions.is_empty() {
                let cut: Vec<String> = portions
                    .iter()
                    .map(|(count, what)| format!("{} of {what}", n(*count as u64)))
                    .collect();
                parts.push(format!("portions, {}", list(&cut)));
                // ISO 4120:2021 5.3 to 5.7: nothing but the taste may tell them apart.
                parts.push("alike in dish, size and warmth".to_owned());
                parts.push("dim the light if they look different".to_owned());
            }
            let mut plate: Vec<String> = Vec::new();
            plate.extend(reference.as_ref().map(|r| format!("reference, {r}")));
            plate.extend(
                servings
                    .iter()
                    .map(|(c, what)| format!("{}, {what}", code(*c))),
            );
            let mut plate = plate.into_iter();
            if let Some(first) = plate.next() {
                parts.push(format!("{}: {first}", taster(*number)));
            }
            parts.extend(plate);
            if *last {
                parts.push("that was the last plate".to_owned());
            }
            sentences(&parts)
        }
        TastingSay::Card {
            card,
            test: kind,
            attribute,
        } => {
            let codes: Vec<String> = card.codes.iter().map(|c| code(*c)).collect();
            let reference = if card.reference {
                "first the reference, then "
            } else {
                ""
            };
            sentences(&[
                format!("{}: {reference}{}", taster(card.taster), codes.join(", ")),
                asked(*kind, attribute.as_deref()),
            ])
        }
        TastingSay::Recorded { fact, waiting } => recorded(fact, *waiting),
        TastingSay::Result {
            outcome,
            tally,
            samples,
            attribute,
        } => result(outcome, tally, samples, attribute.as_deref()),
        TastingSay::Key { sample, codes } => {
            let mut said = vec![format!("the {sample}")];
            for of_one in codes.chunk_by(|a, b| a.0 == b.0) {
                let held: Vec<String> = of_one.iter().map(|(_, c)| code(*c)).collect();
                let who = of_one.first().map_or(0, |(t, _)| *t);
                said.push(format!("{}, {}", taster(who), list(&held)));
            }
            sentences(&said)
        }
        TastingSay::HowMany {
            test: kind,
            share,
            power,
            needs,
        } => needed(*kind, *share, *power, needs.as_ref()),
        TastingSay::StillOpen { waiting } => match waiting.as_slice() {
            [] => "A tasting is open. All have answered. Say result.".to_owned(),
            some => sentences(&[
                "a tasting is open".to_owned(),
                format!("waiting for {}", tasters(some)),
            ]),
        },
    }
}

fn opened(
    kind: Test,
    samples: &Samples,
    attribute: Option<&str>,
    tasters: u16,
    reach: Option<&Reach>,
) -> String {
    let name = match attribute {
        Some(attribute) => format!("{}, which is {attribute}", test(kind)),
        None => test(kind).to_owned(),
    };
    let mut parts = vec![format!(
        "{name}, {} against {}, {}",
        samples.test,
        samples.control,
        how_many(tasters.into())
    )];
    // Said before anyone tastes, so that nobody is surprised by it afterwards.
    parts.extend(reach.map(|reach| match reach.critical {
        Some(needed) => format!(
            "it takes {} of {} to show a difference",
            n(needed),
            n(reach.tasters)
        ),
        None => format!(
            "so few cannot show a difference, whatever they answer, it takes at least {}",
            n(reach.fewest)
        ),
    }));
    parts.push("say serving sheet when the tasters are out of hearing".to_owned());
    sentences(&parts)
}

fn recorded(fact: &Fact, waiting: usize) -> String {
    let mut parts = vec![match fact {
        Fact::Picked {
            taster: t,
            code: c,
            guess,
        } => format!(
            "recorded, {}, {}{}",
            taster(*t),
            code(*c),
            if *guess { ", a guess" } else { "" }
        ),
        Fact::CantTell { taster: t } => format!("{}, recorded as a guess", taster(*t)),
        Fact::Left { taster: t } => format!("{} goes without an answer", taster(*t)),
        Fact::Opened(_) | Fact::Closed => String::new(),
    }];
    parts.push(match waiting {
        0 => "all have answered, say result".to_owned(),
        more => format!("{} to go", n(more as u64)),
    });
    sentences(&parts)
}

/// An answer as it is read back: "taster two: four one seven".
pub fn answer(fact: &Fact) -> String {
    match fact {
        Fact::Picked {
            taster: t,
            code: c,
            guess,
        } => {
            let guess = if *guess { ", a guess" } else { "" };
            format!("{}{guess}: {}", taster(*t), code(*c))
        }
        Fact::Left { taster: t } => format!("{} goes without an answer", taster(*t)),
        Fact::CantTell { taster: t } => format!("{} can't tell", taster(*t)),
        Fact::Opened(_) | Fact::Closed => String::new(),
    }
}

/// The question that makes an answer final.
pub fn verdict(fact: &Fact) -> String {
    format!("{} Yes?", sentence(&answer(fact)))
}

pub fn pick_one(number: u16, codes: &[Code]) -> String {
    let codes: Vec<String> = codes.iter().map(|c| code(*c)).collect();
    let which = format!(
        "{}, which one all the same, {}?",
        taster(number),
        choice(&codes)
    );
    format!("{} It counts as a guess.", sentence(&which))
}

fn odds(odds: Odds) -> String {
    match (odds.times, odds.of) {
        (0, _) => "never".to_owned(),
        (times, of) if times >= of => "every time".to_owned(),
        (1, of) => format!("one time in {}", n(of)),
        (times, of) => format!("{} times in {}", n(times), n(of)),
    }
}

fn result(outcome: &Outcome, tally: &Tally, samples: &Samples, attribute: Option<&str>) -> String {
    if outcome.answers == 0 {
        return "Nobody answered, so nothing is shown.".to_owned();
    }
    let mut parts = vec![counted(outcome, samples, attribute)];
    parts.push(match outcome.test {
        Test::PairedPreference => format!(
            "with no preference at all it is as lopsided {}",
            odds(outcome.chance)
        ),
        _ => format!(
            "guessing alone does that or better {}",
            odds(outcome.chance)
        ),
    });
    parts.extend(judged(outcome, samples, attribute));
    parts.extend(discriminators(outcome));
    if tally.guesses > 0 {
        let all = match (tally.guesses, tally.answers) {
            (g, a) if g == a => "all of them were".to_owned(),
            (1, _) => "one of them was".to_owned(),
            (g, _) => format!("{} of them were", n(g)),
        };
        let right = match tally.lucky {
            0 => "none".to_owned(),
            lucky => n(lucky),
        };
        parts.push(format!("{all} said to be a guess, {right} right"));
    }
    if tally.left > 0 {
        parts.push(format!("{} left without an answer", n(tally.left)));
    }
    sentences(&parts)
}

/// "three of five picked the odd one".
fn counted(outcome: &Outcome, samples: &Samples, attribute: Option<&str>) -> String {
    let of = |hits: u32| format!("{} of {}", n(hits), n(outcome.answers));
    let others = outcome.answers - outcome.hits.min(outcome.answers);
    match outcome.test {
        Test::Triangle => format!("{} picked the odd one", of(outcome.hits)),
        Test::DuoTrio => format!(
            "{} found the one that is the same as the reference",
            of(outcome.hits)
        ),
        Test::PairedPreference if outcome.hits >= others => {
            format!("{} liked the {} better", of(outcome.hits), samples.test)
        }
        Test::PairedPreference => format!("{} liked the {} better", of(others), samples.control),
        Test::PairedDifference => format!(
            "{} picked the {} as {}",
            of(outcome.hits),
            samples.test,
            attribute.unwrap_or("it")
        ),
    }
}

fn judged(outcome: &Outcome, samples: &Samples, attribute: Option<&str>) -> Vec<String> {
    match outcome.verdict {
        Verdict::NoAnswers => Vec::new(),
        Verdict::TooFew { fewest, .. } => vec![format!(
            "{} can never show a difference, whatever they answer, it takes at least {}",
            how_many(outcome.answers.into()),
            n(fewest)
        )],
        Verdict::Shown { ahead } => vec![match (outcome.test, ahead) {
            (Test::PairedPreference, Some(which)) => {
                format!(
                    "that shows that the {} is liked better",
                    samples.name(which)
                )
            }
            (Test::PairedDifference, _) => format!(
                "that shows that the {} is {}",
                samples.name(Which::Test),
                attribute.unwrap_or("different")
            ),
            _ => "that shows a difference".to_owned(),
        }],
        Verdict::NotShown { notices } => {
            let needed = outcome
                .critical
                .map(|c| format!(", {} would have", n(c)))
                .unwrap_or_default();
            vec![
                format!(
                    "that does not show {}{needed}",
                    match outcome.test {
                        Test::PairedPreference => "a preference",
                        _ => "a difference",
                    }
                ),
                "nor does it show that they are the same".to_owned(),
                format!(
                    "{} overlook most of what fewer than {} perceive",
                    how_many(outcome.answers.into()),
                    percent(notices)
                ),
            ]
        }
    }
}

/// The share of tasters who truly perceive the difference, with its limits. Of two or
/// three answers it says nothing that the verdict has not.
fn discriminators(outcome: &Outcome) -> Option<String> {
    if matches!(outcome.verdict, Verdict::TooFew { .. } | Verdict::NoAnswers) {
        return None;
    }
    let Limits {
        low,
        estimate,
        high,
        ..
    } = outcome.discriminators;
    let what = match outcome.test {
        Test::PairedPreference => "more than an even split prefer it",
        _ => "truly can tell",
    };
    Some(format!(
        "best guess, {} {what}, somewhere from {} to {}",
        percent(estimate),
        n((low * 100.0).floor().max(0.0) as u64),
        percent((high * 100.0).ceil() / 100.0)
    ))
}

fn needed(kind: Test, share: (u8, u8), power: u8, needs: Option<&HowMany>) -> String {
    let who = match share {
        (a, b) if a == b => "everyone".to_owned(),
        (1, 2) => "half of them".to_owned(),
        (1, 3) => "a third of them".to_owned(),
        (2, 3) => "two thirds of them".to_owned(),
        (1, 4) => "a quarter of them".to_owned(),
        (3, 4) => "three quarters of them".to_owned(),
        (a, b) => percent(f64::from(a) / f64::from(b)),
    };
    let Some(needs) = needs else {
        return format!("More than a kitchen holds, if only {who} can tell.");
    };
    let mut parts = vec![
        format!(
            "{} for a {}, if {who} can tell",
            how_many(needs.first.into()),
            test(kind)
        ),
        format!(
            "they notice it {} times in a hundred, and take guessing for a difference at most five times in a hundred",
            n(power.max((needs.power * 100.0).floor() as u8))
        ),
    ];
    if needs.steady > needs.first {
        parts.push(format!("from {} on, every number does", n(needs.steady)));
    }
    sentences(&parts)
}

/// Why the tasting does not take a call.
pub fn refused(why: &Refusal) -> String {
    use crate::tasting::OpenError;
    match why {
        Refusal::Open(OpenError::NoTasters) => {
            "How many tasters? Say a number from one.".to_owned()
        }
        Refusal::Open(OpenError::TooManyTasters(_)) => {
            "At most one hundred tasters, in groups if need be.".to_owned()
        }
        Refusal::Open(OpenError::NoAttribute) => {
            "More of what? Say which is saltier, or crisper, or juicier.".to_owned()
        }
        Refusal::Open(why) => sentence(&why.to_string()),
        Refusal::NotOpen => "No tasting is open. Say triangle test with six tasters.".to_owned(),
        Refusal::AlreadyOpen => "A tasting is open already.".to_owned(),
        Refusal::NotClosed => "All have answered. Say result.".to_owned(),
        Refusal::AlreadyClosed => "The tasting is closed. Answers are no longer taken.".to_owned(),
        Refusal::UnknownTaster { tasters: all, .. } => {
            sentence(&format!("the tasters are one to {}", n(*all)))
        }
        Refusal::UnknownCode(c) => sentences(&[
            format!("{} is on no card", code(*c)),
            "say the three digits again".to_owned(),
        ]),
        Refusal::OthersCode {
            code: c,
            owner,
            taster: t,
        } => sentences(&[
            format!(
                "{} is on the card of {}, not of {}",
                code(*c),
                taster(*owner),
                taster(*t)
            ),
            "say the taster and the digits again".to_owned(),
        ]),
        Refusal::AlreadyAnswered { taster: t, code: c } => sentences(&[
            format!("{} has answered {}", taster(*t), code(*c)),
            "an answer is not changed".to_owned(),
        ]),
        Refusal::HasLeft(t) => sentence(&format!("{} has left", taster(*t))),
        Refusal::StillTasting(waiting) => {
            sentence(&format!("not yet, waiting for {}", tasters(waiting)))
        }
    }
}

/// "which is the test" while a tasting is open.
pub fn wait(waiting: &[u16]) -> String {
    match waiting {
        [] => "Wait. All have answered, say result first.".to_owned(),
        some => sentences(&[
            "wait until all have answered".to_owned(),
            format!("still {}", tasters(some)),
        ]),
    }
}
