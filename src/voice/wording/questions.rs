//! Words for questions. Asked again they say what to say.

use crate::kitchen::{Asking, Held, Lies, SureWhy};
use crate::plan::Units;
use crate::voice::numbers;

use super::{
    WordingCtx, about, choice, doneness, exact, list, places, readings, sentence, tasting,
};

/// The question; `times` is 1 the first time, and from 2 on it names the answers.
pub fn ask(asking: &Asking, times: u32, ctx: &WordingCtx) -> String {
    let question = question(asking, ctx);
    if times < 2 {
        return question;
    }
    let answers = answers(asking);
    if answers.is_empty() {
        return question;
    }
    format!("{question} {}", sentence(&format!("say {answers}")))
}

/// What can be said in answer.
pub fn answers(asking: &Asking) -> String {
    match asking {
        Asking::Which { options, .. } => choice(options),
        Asking::WhichWay { .. } => "clockwise or counterclockwise".to_owned(),
        Asking::Sure { .. }
        | Asking::ChangedPlaces { .. }
        | Asking::OutOfHearing
        | Asking::UseOffset { .. } => "yes or no".to_owned(),
        Asking::Verdict { .. } => "yes, or the taster and the digits again".to_owned(),
        Asking::PickOne { .. } => "the three digits".to_owned(),
        Asking::HowManyTaste => "a number".to_owned(),
        Asking::NumberAgain { .. } => "the number, or cancel".to_owned(),
        Asking::CoreOrMedium { oil: true, .. } => "core or oil".to_owned(),
        Asking::CoreOrMedium { .. } => "core or water".to_owned(),
        Asking::Order { .. } => "same order, reversed, or where it lies".to_owned(),
        Asking::Where { places: p, .. } | Asking::WhichPlace { places: p, .. } => {
            let names: Vec<String> = p.iter().map(places::place).collect();
            match names.as_slice() {
                [] => "its place".to_owned(),
                [first, .., last] if names.len() > 6 => format!("its place, {first} to {last}"),
                _ => choice(&names),
            }
        }
    }
}

/// The call in short, as it is read back: "flipped", "reading one six two".
pub fn held(held: &Held) -> String {
    match held {
        Held::Done(Some(what)) => format!("{what} done"),
        Held::Done(None) => "done".to_owned(),
        Held::Start(Some(what)) => format!("start {what}"),
        Held::Start(None) => "start".to_owned(),
        Held::Flipped => "flipped".to_owned(),
        Held::Turned => "turned".to_owned(),
        Held::Swapped => "swapped".to_owned(),
        Held::MovedOut { to } => format!("out to the {to}"),
        Held::Stacked => "stacked".to_owned(),
        Held::Reading {
            called,
            unit,
            about,
        } => {
            let about = about.as_ref().map(|a| format!("{a} ")).unwrap_or_default();
            format!("{about}reading {}", readings::called_in(*called, *unit))
        }
        Held::Extend { ms, less: false } => format!("{} more", exact(*ms)),
        Held::Extend { ms, less: true } => format!("{} less", exact(*ms)),
        Held::StopTimer => "stop the timer".to_owned(),
        Held::Timer { name, ms } => {
            let name = name.as_ref().map(|n| format!("{n} ")).unwrap_or_default();
            format!("{name}timer, {}", exact(*ms))
        }
        Held::In { what } => match what {
            Some(what) => format!("{what} in"),
            None => "in".to_owned(),
        },
        Held::Did(deed) => places::deed(*deed).to_owned(),
        Held::Put { sample } => sample.clone(),
        Held::HowLong => "how long".to_owned(),
        Held::IsItDone => "is it done".to_owned(),
        Held::WhatIsAt { place } => format!("what is at the {}", places::place(place)),
        Held::Tasting(kind) => tasting::test(*kind).to_owned(),
        Held::Answer(fact) => tasting::answer(fact),
        Held::ServingSheet => "serving sheet".to_owned(),
        Held::EndCook => "end the cook".to_owned(),
        Held::ScratchThat => "scratch that".to_owned(),
        Held::BackOne => "back one".to_owned(),
        Held::Heard(words) if words.is_empty() => "that".to_owned(),
        Held::Heard(words) => words.clone(),
    }
}

fn question(asking: &Asking, ctx: &WordingCtx) -> String {
    match asking {
        Asking::Which { held: h, options } => {
            format!("{} Which, {}?", sentence(&held(h)), choice(options))
        }
        Asking::WhichWay { vessel } => {
            format!(
                "{} Clockwise or counterclockwise?",
                sentence(&format!("{vessel}, a quarter turn"))
            )
        }
        Asking::Sure { held: h, why } => sure(h, why, ctx),
        Asking::NumberAgain {
            corrected: true, ..
        } => "What is the right number?".to_owned(),
        Asking::NumberAgain {
            called,
            or: Some(other),
            ..
        } => format!(
            "{}, or {}? Say the number.",
            capital(&readings::read_back_span(*called)),
            readings::read_back_span(*other)
        ),
        Asking::NumberAgain { called, unit, .. } => format!(
            "Heard {}. That cannot be. Say the number again.",
            readings::called_in(*called, *unit)
        ),
        Asking::CoreOrMedium { oil, called, unit } => format!(
            "Heard {}. Core or {}?",
            readings::called_in(*called, *unit),
            if *oil { "oil" } else { "water" }
        ),
        Asking::Order { to, samples } => format!(
            "In what order on the {to}: the same, reversed, or where is the {}?",
            list(samples)
        ),
        Asking::Where { sample, lies, .. } => match lies {
            Lies::NotSure { vessel } => {
                format!("Not sure of the {sample} any more. Where in the {vessel} is it?")
            }
            Lies::OneOf { vessel, places: p } if p.len() <= 3 => {
                let names: Vec<String> = p.iter().map(places::place).collect();
                format!("Where is the {sample} in the {vessel}, {}?", choice(&names))
            }
            Lies::OneOf { vessel, .. } => format!("Where is the {sample} on the {vessel}?"),
            Lies::Stacked { vessel } => {
                format!("Where does the {sample} lie when the {vessel} is unstacked?")
            }
            _ => format!("Where is the {sample}?"),
        },
        Asking::WhichPlace { vessel, places: p } => {
            let names: Vec<String> = p.iter().map(places::place).collect();
            format!("{vessel}: which, {}?", choice(&names))
        }
        Asking::Verdict { fact } => tasting::verdict(fact),
        Asking::PickOne { taster, codes } => tasting::pick_one(*taster, codes),
        Asking::OutOfHearing => "This tells which is which. Tasters out of hearing?".to_owned(),
        Asking::UseOffset { celsius } => doneness::use_offset(*celsius, ctx),
        Asking::HowManyTaste => "How many tasters?".to_owned(),
        Asking::ChangedPlaces { moved, other } => {
            if moved == other {
                format!("Another {other} was there. Did they change places?")
            } else {
                format!("The {other} was there. Did they change places?")
            }
        }
    }
}

fn sure(h: &Held, why: &SureWhy, ctx: &WordingCtx) -> String {
    match why {
        SureWhy::HeardBadly => format!("{}? Yes or no.", capital(&held(h))),
        SureWhy::TimeLeft { step, ms } => {
            format!("{} has {} left. End it anyway?", capital(step), about(*ms))
        }
        SureWhy::Unmet { step, goal } => match goal {
            Some(goal) => format!(
                "{} runs {}. End it anyway?",
                capital(step),
                readings::goal(goal, ctx)
            ),
            None => format!("{} has not met its end. End it anyway?", capital(step)),
        },
        SureWhy::Early { step, waits_for } => {
            format!(
                "{} waits for {}. Start it anyway?",
                capital(step),
                list(waits_for)
            )
        }
        SureWhy::Unfinished { steps } => {
            let steps = match steps.as_slice() {
                [one] => format!("{one} is"),
                [a, b] => format!("{a} and {b} are"),
                [first, rest @ ..] => {
                    let more = numbers::plain(rest.len() as u64);
                    format!("{first} and {more} more steps are")
                }
                [] => "steps are".to_owned(),
            };
            format!("{} not done. End the cook?", capital(&steps))
        }
        SureWhy::TastingOpen { waiting } => match waiting.as_slice() {
            [] => "The tasting is not closed. End the cook?".to_owned(),
            some => format!(
                "{} End the cook?",
                sentence(&format!("the tasting waits for {}", tasting::tasters(some)))
            ),
        },
        SureWhy::StillCooling { line } => format!(
            "{} End the cook?",
            sentence(&super::cooling::line(line, ctx))
        ),
        SureWhy::OtherUnit { said } => {
            let Held::Reading { called, .. } = h else {
                return format!("{}? Yes or no.", capital(&held(h)));
            };
            let other = match said {
                Units::Celsius => Units::Fahrenheit,
                Units::Fahrenheit => Units::Celsius,
            };
            format!(
                "Heard {}. That cannot be. {}?",
                readings::called_in(*called, Some(*said)),
                capital(&readings::called_in(*called, Some(other)))
            )
        }
        SureWhy::EndsTheCook => "End the cook?".to_owned(),
        SureWhy::LongAgo { ms, what } => {
            let what = what
                .as_ref()
                .map(|s| super::talk::in_short(s, ctx))
                .unwrap_or_else(|| "the last call".to_owned());
            format!("{}, {} ago. Take it back?", capital(&what), about(*ms))
        }
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|c| c.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}
