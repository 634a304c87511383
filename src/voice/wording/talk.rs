//! Words for refusals, help, undo, and how the tool talks.

use crate::kitchen::{Hint, No, Say};
use crate::plan::Units;
use crate::voice::numbers;

use super::{WordingCtx, choice, list, places, questions, sentence, sentences, span, tasting};

pub fn word(say: &Say, ctx: &WordingCtx) -> String {
    match say {
        Say::Dropped { held: Some(held) } => {
            sentence(&format!("not taken, {}", questions::held(held)))
        }
        Say::Dropped { held: None } => "Left open. I am not sure until you tell me.".to_owned(),
        Say::NotUnderstood { open: true } => "Sorry.".to_owned(),
        Say::NotUnderstood { open: false } => "Say that again?".to_owned(),
        Say::Quiet => "No more reminders.".to_owned(),
        Say::SpeakUp => "Reminders are on.".to_owned(),
        Say::Asleep => "Holding. Say carry on.".to_owned(),
        Say::Awake => "Listening.".to_owned(),
        Say::Called => "Yes?".to_owned(),
        Say::ByName { name, on: true } => {
            sentence(&format!("from now on say {name} before a call"))
        }
        Say::ByName { on: false, .. } => "No name needed.".to_owned(),
        Say::VoiceSet {
            volume,
            speed,
            at_end,
        } => match (volume, speed, at_end) {
            (_, _, true) => "No further.".to_owned(),
            (1.., _, _) => "Louder.".to_owned(),
            (..=-1, _, _) => "Softer.".to_owned(),
            (_, 1.., _) => "Faster.".to_owned(),
            _ => "Slower.".to_owned(),
        },
        Say::UnitsSet(Units::Celsius) => "Celsius.".to_owned(),
        Say::UnitsSet(Units::Fahrenheit) => "Fahrenheit.".to_owned(),
        Say::Noted { text: true } => "Noted.".to_owned(),
        Say::Noted { text: false } if ctx.keeps_notes => "Go ahead.".to_owned(),
        // Nothing is kept but the moment.
        Say::Noted { text: false } => "Moment noted.".to_owned(),
        Say::TakenBack { what, marks } => {
            let parts: Vec<String> = what.iter().map(|s| in_short(s, ctx)).collect();
            let mut said = vec![if parts.is_empty() {
                "taken back".to_owned()
            } else {
                format!("taken back, {}", list(&parts))
            }];
            said.extend(marks.iter().map(places::mark));
            sentences(&said)
        }
        Say::Help { asking, hints } => {
            let mut can: Vec<&str> = hints.iter().map(|h| hint(*h)).collect();
            if let Some(asking) = asking {
                return sentence(&format!("you can say {}", questions::answers(asking)));
            }
            can.dedup();
            sentence(&format!("you can say: {}", choice(&can)))
        }
        Say::Refused(no) => refused(no, ctx),
        Say::StepAgain { say } => sentence(say),
        _ => String::new(),
    }
}

/// A thing said, in the few words that name it: "flipped, left skillet".
pub fn in_short(say: &Say, ctx: &WordingCtx) -> String {
    let text = match say {
        Say::StepBegins { name, .. } => format!("start of {name}"),
        Say::StepEnds { name, .. } => format!("end of {name}"),
        Say::Noted { .. } => "the note".to_owned(),
        Say::Ended => "the end of the cook".to_owned(),
        say => {
            let said = super::say(say, ctx);
            said.split(['.', '?']).next().unwrap_or_default().to_owned()
        }
    };
    let mut chars = text.chars();
    chars
        .next()
        .map(|c| c.to_lowercase().chain(chars).collect())
        .unwrap_or_default()
}

/// A call as the cook says it.
pub fn hint(hint: Hint) -> &'static str {
    match hint {
        Hint::Next => "next",
        Hint::Done => "done",
        Hint::Flipped => "flipped",
        Hint::Reading => "reading one fifty",
        Hint::HowLong => "how long",
        Hint::Timer => "timer four minutes",
        Hint::WhereIs => "where is everything",
        Hint::OutTo => "out to the rack",
        Hint::ScratchThat => "scratch that",
        Hint::SayAgain => "say again",
        Hint::Status => "where are we",
        Hint::CarryOn => "carry on",
        Hint::YesOrNo => "yes",
        Hint::StopTimer => "stop the timer",
        Hint::Quiet => "quiet",
        Hint::ChopsIn => "in they go",
        Hint::EndCook => "end the cook",
        Hint::ServingSheet => "serving sheet",
        Hint::NextTaster => "next taster",
        Hint::Pick => "taster one and the three digits",
        Hint::CantTell => "can't tell",
        Hint::Result => "result",
    }
}

fn refused(no: &No, ctx: &WordingCtx) -> String {
    let say = |hint: &str| {
        if ctx.full() {
            format!(" Say {hint}.")
        } else {
            String::new()
        }
    };
    match no {
        No::NotBegun => "The cook has not begun.".to_owned(),
        No::CookEnded => "The cook has ended. Nothing more is recorded.".to_owned(),
        No::NothingUnderWay => format!("Nothing is under way.{}", say("next to begin")),
        No::AlreadyUnderWay(step) => sentence(&format!("{step} is under way already")),
        No::AlreadyDone { step, ago } => format!(
            "{}{}",
            sentence(&format!("{step} was done {}", numbers::ago(span(*ago)))),
            say("back one to open the last step again")
        ),
        No::NotUnderWay(step) => format!(
            "{}{}",
            sentence(&format!("{step} has not begun")),
            say(&format!("start {step}"))
        ),
        No::VesselBusy(step) => format!(
            "{}{}",
            sentence(&format!("{step} has that pan")),
            say(&format!("{step} done first"))
        ),
        No::VesselIdle(vessel) => sentence(&format!("no step is under way in the {vessel}")),
        No::NoStepFor(Some(name)) => sentence(&format!("no step fits {name} now")),
        No::NoStepFor(None) => "Which pan or step? Say it with its name.".to_owned(),
        No::NoTimer => "No timer is running.".to_owned(),
        No::NoSuchClock(Some(name)) => sentence(&format!("no clock runs for {name}")),
        No::NoSuchClock(None) => "No clock runs for that.".to_owned(),
        No::OnlyStepClocks => format!(
            "Only the clocks of steps run; they stop with their step.{}",
            say("done to end one")
        ),
        No::NothingToScratch => "Nothing to take back.".to_owned(),
        No::NoQuestion => "Nothing was asked.".to_owned(),
        No::NoProbeCheck => "Check the probe first: say ice reading, or boil reading.".to_owned(),
        No::NothingToCorrect => "No reading to correct.".to_owned(),
        No::NoSuchPlace { vessel, places: p } => {
            let names: Vec<String> = p.iter().map(places::place).collect();
            match names.as_slice() {
                [] => sentence(&format!("the {vessel} has no places to tell apart")),
                [first, .., last] if names.len() > 6 => {
                    sentence(&format!("the {vessel} goes from {first} to {last}"))
                }
                _ => sentence(&format!("the {vessel} has {}", list(&names))),
            }
        }
        No::PieceNotPlaced(sample) => {
            sentence(&format!("I was not told yet where the {sample} is"))
        }
        No::VesselEmpty(vessel) => sentence(&format!("the {vessel} is empty as far as I was told")),
        No::NothingAt { vessel, place } => sentence(&format!(
            "nothing that I was told of is at the {} of the {vessel}",
            places::place(place)
        )),
        No::WhichPieces(item) => format!(
            "{}{}",
            sentence(&format!("no step puts {item} in anything now")),
            say("start and the name of the step")
        ),
        No::NothingToFlip => "No pan with anything to flip is under way.".to_owned(),
        No::NotBack => "No step has ended yet.".to_owned(),
        No::TimerTooLong => "A timer runs from a second to a week.".to_owned(),
        No::NoPortions => "The plan does not say for how many it is written.".to_owned(),
        No::HowMany(most) => sentence(&format!(
            "it can be one to {}",
            numbers::plain(u64::from(*most))
        )),
        No::UnknownName => "That name is not in this plan.".to_owned(),
        No::OneOfSeveral { sample, vessel } => format!(
            "{}{}",
            sentence(&format!("the {sample} is not alone in the {vessel}")),
            say(&format!("{vessel} done for all"))
        ),
        No::SameThing => "That is one and the same.".to_owned(),
        No::NotAsleep => "Listening already.".to_owned(),
        No::Tasting(why) => tasting::refused(why),
        No::WouldTell { waiting } => tasting::wait(waiting),
        No::NothingToCompare => {
            "Nothing to compare: a tasting needs a marked piece and a plain one, or two marked."
                .to_owned()
        }
        No::VerdictStands { taster: Some(t) } => sentence(&format!(
            "the answer of {} stands, an answer that was recorded is not changed",
            tasting::taster(*t)
        )),
        No::VerdictStands { taster: None } => {
            "The tasting is closed, and its answers stand.".to_owned()
        }
        No::NoTasting => format!(
            "There has been no tasting.{}",
            say("triangle test, with the number of tasters")
        ),
    }
}
