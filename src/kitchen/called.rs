//! Called by name: what counts while calls must begin with the name, and what without it.

use crate::grammar::Call;

use super::decide::{answers_alarm, mends_talk};
use super::manners::NAMED_FOR;
use super::{At, State};

impl State {
    /// Whether calls must begin with the name now.
    pub fn goes_by_name(&self) -> bool {
        self.core.by_name
    }

    /// The words of that name.
    pub fn name(&self) -> &str {
        let named = self.kit.plan.hearing.address.as_deref();
        named.unwrap_or(DEFAULT_NAME)
    }

    /// Whether speech that began at `at` comes shortly after the name alone.
    pub fn was_just_called(&self, at: At) -> bool {
        let since = self.core.named.map(|named| at.since(named));
        since.is_some_and(|ms| ms <= NAMED_FOR)
    }
}

/// Of a plan that gives none; the grammar has the same.
const DEFAULT_NAME: &str = "hobcall";

/// Whether a call counts that began to be said at `at`, with the name before it or not.
/// Without it only what answers an alarm that sounds, or a question that is open, and
/// what follows the name. "Quiet" counts always: it mends what the tool itself does.
pub fn heeds(state: &State, call: &Call, named: bool, at: At) -> bool {
    let core = &state.core;
    if !core.by_name || named || state.was_just_called(at) || *call == Call::Quiet {
        return true;
    }
    if core.asleep && *call == Call::CarryOn {
        return true;
    }
    let alarm = core.sounding().next().is_some() && answers_alarm(call);
    alarm || core.question.is_some() && answers_question(call)
}

fn answers_question(call: &Call) -> bool {
    matches!(
        call,
        Call::Yes
            | Call::No { .. }
            | Call::Cancel
            | Call::Answer { .. }
            | Call::Number { .. }
            | Call::InOrder { .. }
            | Call::Way { .. }
            | Call::Kind { .. }
    )
}

/// Whether a cook who talks over the tool may be believed soon: it answers what the tool asks, or
/// mends what it has just done or how it talks. Any other question would have its answer in the
/// place of what the tool is saying.
pub fn cuts_in(call: &Call) -> bool {
    matches!(
        call,
        Call::Yes
            | Call::No { .. }
            | Call::Cancel
            | Call::ScratchThat
            | Call::StopTimer { .. }
            | Call::SayAgain
    ) || mends_talk(call)
}

/// `words` without the name at their beginning, where it stands there: "Chef, next!" is
/// "next" to a tool that is called chef.
pub fn without_name<'w>(words: &'w str, name: &str) -> Option<&'w str> {
    let mut rest = words;
    for part in name.split([' ', '-']) {
        rest = rest.trim_start_matches(|c: char| !c.is_alphanumeric());
        let head = rest.get(..part.len())?;
        if !head.eq_ignore_ascii_case(part) {
            return None;
        }
        rest = rest.get(part.len()..)?;
    }
    if rest.starts_with(|c: char| c.is_alphanumeric() || c == '\'') {
        return None;
    }
    Some(rest.trim_start_matches(|c: char| !c.is_alphanumeric()))
}

#[cfg(test)]
mod tests {
    use super::{cuts_in, without_name};
    use crate::grammar::{Call, Grammar};

    #[test]
    fn answers_and_mending_cut_in_other_questions_do_not() {
        let grammar = Grammar::of_language("en").unwrap();
        for (words, soon) in [
            ("yes", true),
            ("no", true),
            ("scratch that", true),
            ("stop the timer", true),
            ("quiet", true),
            ("say that again", true),
            ("how long is left", false),
            ("what's next", false),
            ("next", false),
        ] {
            let calls: Vec<Call> = grammar.calls(words);
            assert!(!calls.is_empty(), "{words}");
            assert_eq!(calls.iter().any(cuts_in), soon, "{words}");
        }
    }

    #[test]
    fn the_name_is_taken_off_the_beginning_only() {
        for (words, name, rest) in [
            ("chef next", "chef", Some("next")),
            ("Chef, next!", "chef", Some("next!")),
            ("chef", "chef", Some("")),
            ("  Chef? ", "chef", Some("")),
            ("sous-chef next", "sous-chef", Some("next")),
            ("sous chef next", "sous-chef", Some("next")),
            ("chefs next", "chef", None),
            ("chef's next", "chef", None),
            ("next chef", "chef", None),
            ("sous next", "sous chef", None),
            ("", "chef", None),
            ("\u{e9}t\u{e9}", "ch", None),
        ] {
            assert_eq!(without_name(words, name), rest, "{words:?} {name:?}");
        }
    }
}
