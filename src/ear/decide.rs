//! From what was heard to one call, one short question, or nothing. Pure.
//!
//! The ear gives each alternative a probability from sound alone; the kitchen knows
//! what is likely now (a reading far from the last one is not). Both are joined after
//! Bayes; what no alternative explains keeps its own share. How much evidence a call
//! then needs, by what a mistake costs, is the kitchen's rule.

use super::Heard;
use crate::grammar::{Call, Grammar};

/// A call with the words for it; of a grammar that is not ours, whatever stands for one.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice<C = Call> {
    pub call: C,
    pub words: String,
    /// Probability from 0 to 1 that this was said.
    pub confidence: f32,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Decision<C = Call> {
    /// Not for us: talk, noise, music.
    Nothing,
    /// Perhaps for us; the words it came nearest to, best first. Worth a "say again"
    /// when an answer is awaited, else nothing.
    NotUnderstood {
        heard: Vec<String>,
    },
    Take(Choice<C>),
    /// Two remain that cannot be told apart by ear: ask which, once.
    Between(Choice<C>, Choice<C>),
}

/// Below this share nothing is believed.
const BELIEVED: f32 = 0.35;
/// From here on it may have been for us.
const PERHAPS: f32 = 0.15;
/// The second must have this much of the best to be worth a question…
const CLOSE: f32 = 0.4;
/// …and both together must be this sure.
const BOTH: f32 = 0.6;

/// Decides on one utterance. `meanings`: the calls that words make, as the grammar
/// says; `weigh`: how likely a call is here and now against others, 1 for "as any",
/// less for what hardly makes sense.
pub fn decide<C: PartialEq>(
    heard: &Heard,
    meanings: impl Fn(&str) -> Vec<C>,
    weigh: impl Fn(&C) -> f32,
) -> Decision<C> {
    let mut choices: Vec<Choice<C>> = Vec::new();
    let mut sure = 0.0;
    for alternative in &heard.alternatives {
        let calls = meanings(&alternative.words);
        let confidence = share(alternative.confidence) / calls.len().max(1) as f32;
        sure += share(alternative.confidence);
        for call in calls {
            let confidence = confidence * sane(weigh(&call));
            match choices.iter_mut().find(|c| c.call == call) {
                Some(known) => known.confidence += confidence,
                None => choices.push(Choice {
                    call,
                    words: alternative.words.clone(),
                    confidence,
                }),
            }
        }
    }
    let unexplained = (1.0 - sure).max(0.0);
    let all: f32 = unexplained + choices.iter().map(|c| c.confidence).sum::<f32>();
    if all > 0.0 {
        choices.iter_mut().for_each(|c| c.confidence /= all);
    }
    choices.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    let heard = choices.iter().map(|c| c.words.clone()).collect();
    let total: f32 = choices.iter().map(|c| c.confidence).sum();
    let mut choices = choices.into_iter();
    let (Some(best), second) = (choices.next(), choices.next()) else {
        return Decision::Nothing;
    };
    match second {
        Some(second)
            if second.confidence >= CLOSE * best.confidence
                && best.confidence + second.confidence >= BOTH =>
        {
            Decision::Between(best, second)
        }
        _ if best.confidence >= BELIEVED => Decision::Take(best),
        _ if total >= PERHAPS => Decision::NotUnderstood { heard },
        _ => Decision::Nothing,
    }
}

/// The same for any grammar, by its tags, or where it has none by the words themselves: what
/// `hobcall hear` and the bench tell of.
pub fn by_tags(heard: &Heard, grammar: &Grammar) -> Decision<Vec<String>> {
    let meanings = |words: &str| {
        let mut all: Vec<Vec<String>> = Vec::new();
        for tags in grammar.tags(words) {
            let meaning = if tags.is_empty() {
                vec![words.to_owned()]
            } else {
                tags
            };
            if !all.contains(&meaning) {
                all.push(meaning);
            }
        }
        all
    };
    decide(heard, meanings, |_| 1.0)
}

fn share(confidence: f32) -> f32 {
    if confidence.is_nan() {
        0.0
    } else {
        confidence.clamp(0.0, 1.0)
    }
}

fn sane(weight: f32) -> f32 {
    if weight.is_nan() {
        1.0
    } else {
        weight.clamp(1e-3, 1e3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::Alternative;

    fn heard(alternatives: &[(&str, f32)]) -> Heard {
        let alternatives: Vec<Alternative> = alternatives
            .iter()
            .map(|&(words, confidence)| Alternative {
                words: words.to_owned(),
                confidence,
            })
            .collect();
        Heard {
            alternatives,
            ..Heard::nothing(0.0, 1.0)
        }
    }

    fn on(alternatives: &[(&str, f32)], weigh: impl Fn(&Call) -> f32) -> Decision {
        let ours = Grammar::of_language("en").unwrap();
        decide(&heard(alternatives), |w| ours.calls(w), weigh)
    }

    fn evenly(_: &Call) -> f32 {
        1.0
    }

    fn near(last: f64) -> impl Fn(&Call) -> f32 {
        move |call| match call {
            Call::Reading { value, .. } if (value.lo - last).abs() > 60.0 => 0.05,
            _ => 1.0,
        }
    }

    #[test]
    fn a_clear_call_is_taken_as_it_is() {
        let Decision::Take(choice) = on(&[("flipped", 0.9)], evenly) else {
            panic!("not taken")
        };
        assert_eq!(choice.words, "flipped");
        assert!((choice.confidence - 0.9).abs() < 1e-5);
    }

    #[test]
    fn teens_against_tens_are_asked() {
        let two = [("reading one fifteen", 0.44), ("reading one fifty", 0.46)];
        let Decision::Between(a, b) = on(&two, evenly) else {
            panic!("not asked")
        };
        assert_eq!(a.words, "reading one fifty");
        assert_eq!(b.words, "reading one fifteen");
    }

    #[test]
    fn unless_the_kitchen_knows_better() {
        let two = [("reading one fifteen", 0.44), ("reading two fifty", 0.46)];
        let Decision::Take(choice) = on(&two, near(110.0)) else {
            panic!("not taken")
        };
        assert_eq!(choice.words, "reading one fifteen");
        assert!(choice.confidence > 0.7);
    }

    #[test]
    fn an_unlikely_call_alone_loses_to_what_is_unexplained() {
        let Decision::NotUnderstood { .. } = on(&[("reading four hundred", 0.7)], near(60.0))
        else {
            // 0.7 × 0.05 against 0.3 is about 0.10.
            let other = on(&[("reading four hundred", 0.7)], near(60.0));
            assert_eq!(other, Decision::Nothing);
            return;
        };
    }

    #[test]
    fn a_foreign_grammar_is_decided_on_by_its_tags_or_words() {
        let text = "#JSGF V1.0; grammar g; public <g> = (stop | halt) {stop} | shop | hop;";
        let grammar = Grammar::from_jsgf(text, "g").unwrap();
        let Decision::Take(choice) = by_tags(
            &heard(&[("halt", 0.3), ("stop", 0.3), ("shop", 0.2)]),
            &grammar,
        ) else {
            panic!("the two wordings do not count together")
        };
        assert_eq!(choice.words, "halt");
        let two = by_tags(&heard(&[("hop", 0.5), ("shop", 0.4)]), &grammar);
        assert!(matches!(two, Decision::Between(a, b) if a.words == "hop" && b.words == "shop"));
    }

    #[test]
    fn wordings_of_one_call_count_together() {
        let two = [("scratch that", 0.4), ("undo that", 0.3)];
        let Decision::Take(choice) = on(&two, evenly) else {
            panic!("not taken")
        };
        assert!((choice.confidence - 0.7).abs() < 1e-5);
    }

    #[test]
    fn talk_and_rubbish_are_nothing() {
        assert_eq!(on(&[], evenly), Decision::Nothing);
        assert_eq!(on(&[("flipped", 0.05)], evenly), Decision::Nothing);
        assert_eq!(on(&[("flipped", f32::NAN)], evenly), Decision::Nothing);
        assert_eq!(on(&[("no such sentence", 0.9)], evenly), Decision::Nothing);
        let weights = [f32::NAN, f32::INFINITY, -1.0];
        for w in weights {
            let _ = on(&[("flipped", 0.5)], |_| w);
        }
    }
}
