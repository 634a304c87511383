//! The engine as a fold: nothing panics, the journal gives the state, "scratch that"
//! restores, and ticking only when asked loses nothing.
//!
//! | file | what |
//! | --- | --- |
//! | `draw_calls` | any call at all, out of a list of numbers |
//! | `draw_events` | any event at all, out of the same |

mod draw_calls;
mod draw_events;

use std::sync::Arc;

use draw_calls::Draw;
use hobcall::grammar::Call;
use hobcall::kitchen::*;
use hobcall::plan::{Plan, Units};
use hobcall::voice::wording::{self, WordingCtx};
use proptest::prelude::*;

/// Two pans, an overnight wait, a limit, a rest, two samples and a grid.
const PLAN: &str = "
plan: Two loaves and four chops
units: fahrenheit
items:
  chop: {pieces: 4, class: whole cut, piece mass: 200 g, thickness: 25 mm}
samples:
  test chop: {of: chop, mark: a pick}
  plain chop: {of: chop, mark: a notch}
vessels:
  tub: {kind: bowl}
  left skillet: {kind: skillet, places: left right}
  right skillet: {kind: skillet, places: front back}
  rack: {kind: rack, places: grid 2 x 2}
steps:
  brine: {say: Brine them, vessel: tub, holds: chops, wait: 2 h .. 3 h}
  mix: {after: start, say: Mix the salt, hands on: 5 min}
  fry left:
    after: [brine, mix]
    say: Two in
    vessel: left skillet
    holds: [test chop at left, 1 chop at right]
    flip every: 2 min
    until: {core: 145 F}
    out to: rack
    rest: 3 min .. 5 min
  fry right:
    after: [brine, mix]
    say: Two in
    vessel: right skillet
    holds: [plain chop, 1 chop]
    flip every: 3 min
    until: {time: 8 min .. 10 min}
    out to: rack
  slice: {after: [fry left, fry right], say: Slice them}
";

fn plan() -> Arc<Plan> {
    use std::sync::OnceLock;
    static ONCE: OnceLock<Arc<Plan>> = OnceLock::new();
    ONCE.get_or_init(|| Arc::new(crate::support::plan(PLAN)))
        .clone()
}

fn ctx() -> WordingCtx {
    let mut ctx = WordingCtx::new(Units::Fahrenheit);
    ctx.wall = jiff::civil::date(2026, 11, 25)
        .at(18, 30, 0, 0)
        .to_zoned_datetime(jiff::tz::TimeZone::UTC)
        .ok()
        .map(|z| (At(0), z));
    ctx
}

/// Applies events as the loop does: what is said is worded, what is kept is JSON.
fn take(state: &mut State, events: Vec<Event>, kept: &mut Vec<Event>) {
    for event in events {
        let before = state.clone();
        state.apply(&event);
        for reply in replies(&before, &event, state) {
            let said = wording::word(&reply, &ctx());
            assert!(!said.text.trim().is_empty(), "no words for {reply:?}");
        }
        kept.push(event);
    }
}

fn numbers(most: usize) -> impl Strategy<Value = Vec<u32>> {
    proptest::collection::vec(any::<u32>(), 1..most)
}

/// A cook of random calls, a third of them after some time in which only due ticks
/// happen. Gives the state and all events.
fn random_cook(from: &[u32], calls: usize) -> (State, Vec<Event>, At) {
    let mut draw = Draw { from, at: 0 };
    let mut state = State::new(plan());
    let mut kept = Vec::new();
    let mut now = At(0);
    let begin = decide(&state, &Input::Begin, now);
    take(&mut state, begin, &mut kept);
    for _ in 0..calls {
        let wait = draw.of(&[1_000, 1_000, 5_000, 20_000, 125_000, 3_600_000]);
        let until = now.plus(wait);
        while let Some(due) = next_due(&state, now).filter(|d| *d <= until) {
            now = now.max(due);
            let events = decide(&state, &Input::Tick, now);
            assert!(!events.is_empty(), "a tick at next_due says something");
            take(&mut state, events, &mut kept);
        }
        now = until;
        let input = match draw.n(12) {
            0 => Input::NotUnderstood {
                heard: vec!["mumble".into()],
            },
            1 => Input::Resumed { away_ms: wait },
            _ => Input::Call {
                call: draw.call(),
                heard: "words".into(),
                confidence: draw.of(&[1.0, 1.0, 1.0, 0.9, 0.6, 0.4, 0.1, f32::NAN]),
            },
        };
        let events = decide(&state, &input, now);
        take(&mut state, events, &mut kept);
    }
    (state, kept, now)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, max_global_rejects: 100_000, max_shrink_iters: 3_000, ..ProptestConfig::default() })]

    #[test]
    fn no_sequence_of_events_panics(from in numbers(400)) {
        let mut draw = Draw { from: &from, at: 0 };
        let mut state = State::new(plan());
        let mut kept = Vec::new();
        for _ in 0..from.len() {
            let event = Event {
                at: At(draw.of(&[i64::MIN, -1, 0, 1_000, 60_000, 10_000_000, i64::MAX])),
                call: draw.maybe(|d| d.of(&[0, 1, 2, 3, 4, 5, 6, 7, 8, u32::MAX])),
                heard: draw.maybe(|_| "words".to_owned()),
                what: draw.what(),
            };
            take(&mut state, vec![event], &mut kept);
            let _ = next_due(&state, At(0));
            let _ = decide(&state, &Input::Tick, At(i64::MAX));
            let _ = (state.steps(), state.clocks(), state.vessels(), wording::map(&state));
        }
    }

    #[test]
    fn the_journal_gives_the_state(from in numbers(300)) {
        let (state, events, _) = random_cook(&from, from.len() / 4);
        let mut again = State::new(plan());
        for event in &events {
            let line = serde_json::to_string(event).unwrap();
            let read: Event = serde_json::from_str(&line).unwrap();
            prop_assert_eq!(&read, event);
            again.apply(&read);
        }
        prop_assert!(again == state);
    }

    #[test]
    fn scratch_that_restores(from in numbers(200)) {
        let (mut state, mut kept, now) = random_cook(&from, from.len() / 8);
        prop_assume!(!state.is_asleep() && !state.has_ended());
        let mut draw = Draw { from: &from, at: 7 };
        let before = state.clone();
        let now = now.plus(1_000);
        let call = Input::Call {
            call: draw.call(),
            heard: "words".into(),
            confidence: 1.0,
        };
        let events = decide(&state, &call, now);
        let changes = events.iter().any(|e| e.what.is_undoable());
        let settles = events.iter().any(|e| matches!(e.what, What::Settled { .. }));
        prop_assume!(changes && !settles);
        prop_assume!(!events.iter().any(|e| matches!(e.what, What::Ended)));
        take(&mut state, events, &mut kept);
        // A question that the call ended with is dropped first, then the call.
        for _ in 0..2 {
            let events = decide(
                &state,
                &Input::Call {
                    call: Call::ScratchThat,
                    heard: "scratch that".into(),
                    confidence: 1.0,
                },
                now.plus(1_000),
            );
            let undone = events.iter().any(|e| matches!(e.what, What::Undone { .. }));
            take(&mut state, events, &mut kept);
            if undone {
                break;
            }
        }
        let story: Vec<_> = kept.iter().map(|e| (e.at.0, e.call, &e.what)).collect();
        prop_assert!(state.is_like(&before), "{story:#?}");
    }

    #[test]
    fn a_tick_has_work_at_next_due_and_not_before(from in numbers(200)) {
        let (state, _, now) = random_cook(&from, from.len() / 8);
        match next_due(&state, now) {
            None => {
                let late = decide(&state, &Input::Tick, now.plus(1_000_000_000));
                prop_assert!(late.is_empty());
            }
            Some(due) => {
                prop_assert!(decide(&state, &Input::Tick, due.plus(-1)).is_empty());
                prop_assert!(!decide(&state, &Input::Tick, due).is_empty());
                prop_assert!(!decide(&state, &Input::Tick, due.plus(5_000)).is_empty());
            }
        }
    }
}
