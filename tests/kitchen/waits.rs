//! One clock for a wait: the kitchen, the schedule and what is said count it from when the
//! hands are free.

use hobcall::grammar::{Call, Subject};
use hobcall::kitchen::{At, Input, StepPhase, What};
use hobcall::prep::day;

use super::support::{Cook, plan};

const MIN: f64 = 60.0;

/// Ten minutes of work and an hour of waiting, twice, for one pair of hands; then five minutes.
const TWO_TUBS: &str = "
plan: Two tubs
units: celsius
items:
  chop: {also called: chops, pieces: 4, class: other}
vessels:
  red tub: {kind: bowl}
  blue tub: {kind: bowl}
steps:
  salting: {after: start, say: Salt two chops, vessel: red tub, holds: 2 chops, hands on: 10 min, wait: 1 h .. 2 h}
  soaking: {after: start, say: Soak two chops, vessel: blue tub, holds: 2 chops, hands on: 10 min, wait: 1 h .. 2 h}
  drying: {after: [salting, soaking], say: Dry them, hands on: 5 min}
";

fn wait_of(cook: &Cook, step: &str) -> (i64, i64, Option<i64>) {
    let clock = cook
        .state
        .clocks()
        .into_iter()
        .find(|c| format!("{:?}", c.key).contains(step))
        .unwrap_or_else(|| panic!("no clock of {step}"));
    let min = |at: At| at.0 / 60_000;
    (min(clock.from), min(clock.ends), clock.latest.map(min))
}

#[test]
fn a_wait_counts_from_the_end_of_the_work() {
    let mut cook = Cook::with(TWO_TUBS);
    assert!(
        cook.said[0]
            .1
            .text
            .ends_with("Salt two chops. Ten minutes of work, then one to two hours."),
        "{}",
        cook.said[0].1.text
    );
    assert_eq!(wait_of(&cook, "salting"), (10, 70, Some(130)));
    assert_eq!(
        cook.says("how long on the salting"),
        "Salting, an hour and ten minutes left."
    );
    // Left alone it is due after work and wait, not before.
    let said = cook.waits(71.0 * MIN);
    let (at, _) = said.iter().find(|(_, t)| t.contains("may end")).unwrap();
    assert_eq!(*at, 70.0 * MIN, "{said:?}");
}

#[test]
fn going_on_begins_the_wait_at_once() {
    let mut cook = Cook::with(TWO_TUBS);
    cook.waits(4.0 * MIN);
    let said = cook.says("next");
    assert!(
        said.starts_with("Salting, one to two hours from now. Soak two chops."),
        "{said}"
    );
    assert_eq!(wait_of(&cook, "salting"), (4, 64, Some(124)));
    // "done" to the work is not "done" to the hour that has not begun: nothing is asked.
    cook.waits(3.0 * MIN);
    assert_eq!(cook.says("done"), "Soaking, one to two hours from now.");
    assert_eq!(wait_of(&cook, "soaking"), (7, 67, Some(127)));
    // After the work it is about the wait.
    assert_eq!(
        cook.says("soaking done"),
        "Soaking has an hour left. End it anyway?"
    );
}

#[test]
fn work_that_takes_its_time_leaves_the_wait_where_the_plan_has_it() {
    let mut cook = Cook::with(TWO_TUBS);
    cook.waits(12.0 * MIN);
    let said = cook.says("next");
    assert!(said.starts_with("Soak two chops."), "{said}");
    assert_eq!(wait_of(&cook, "salting"), (10, 70, Some(130)));
    // "chops in" says when exactly.
    cook.waits(2.0 * MIN);
    cook.says("chops into the blue tub");
    assert_eq!(wait_of(&cook, "soaking"), (14, 74, Some(134)));
}

#[test]
fn what_the_cook_added_and_took_back_stays_right() {
    let mut cook = Cook::with(TWO_TUBS);
    cook.says("ten more minutes on the salting");
    assert_eq!(wait_of(&cook, "salting").1, 80);
    cook.waits(5.0 * MIN);
    cook.says("next");
    assert_eq!(wait_of(&cook, "salting").1, 75);
    cook.says("scratch that");
    assert_eq!(wait_of(&cook, "salting").1, 80);
    assert_eq!(wait_of(&cook, "salting").0, 10);
}

/// Two tubs, one after the other with ten minutes of work each, an hour from the second, and
/// five minutes: 85 minutes by hand.
#[test]
fn the_schedule_counts_as_the_kitchen_does() {
    let day = day::lay(&plan(TWO_TUBS), &[], None).unwrap();
    assert_eq!(day.soonest, 85 * 60);
    let mut cook = Cook::with(TWO_TUBS);
    cook.put(&Input::Serve {
        at: At(85 * 60_000),
    });
    for minute in [0, 5, 10] {
        cook.now = At(minute * 60_000);
        assert_eq!(
            cook.says("am i late"),
            format!(
                "On time. We eat in {}.",
                [
                    "an hour and twenty five minutes",
                    "an hour and twenty minutes",
                    "an hour and fifteen minutes"
                ][(minute / 5) as usize]
            ),
            "at {minute}"
        );
    }
}

/// Every shipped plan, played to the second as its day was laid for the soonest serving: at no
/// moment is it late. (The day is tight along its critical steps, so any clock of the kitchen
/// that counts otherwise than the schedule shows.)
#[test]
fn a_plan_played_on_time_is_never_late() {
    for text in [
        include_str!("../../plans/overnight-lamb-shoulder.yaml"),
        include_str!("../../plans/pork-chops-two-brines.yaml"),
        include_str!("../../plans/two-caramels.yaml"),
        include_str!("../../plans/crumbed-cutlets.yaml"),
        include_str!("../../plans/aubergine-salted-or-peppered.yaml"),
        TWO_TUBS,
    ] {
        played_on_time(text);
    }
}

fn played_on_time(text: &str) {
    let plan = plan(text);
    let day = day::lay(&plan, &[], None).unwrap_or_else(|why| panic!("{}: {why:?}", plan.title));
    // What is to be done and when: an end before a begin of the same moment, but for a step
    // that takes no time.
    let mut script: Vec<(i64, u8, usize)> = day
        .rows
        .iter()
        .flat_map(|r| {
            let end = if r.ends > r.advised { 0 } else { 2 };
            [(r.advised, 1, r.step), (r.ends, end, r.step)]
        })
        .collect();
    script.sort_unstable();
    let mut cook = Cook::of(plan.clone());
    cook.put(&Input::Serve {
        at: At(day.soonest * 1000),
    });
    for (at, turn, step) in script {
        let begin = turn == 1;
        let left = (at * 1000 - cook.now.0) as f64 / 1000.0;
        cook.waits(left);
        let id = plan.steps[step].id.clone();
        let phase = cook.state.steps()[step].phase;
        let what = Subject::Step(id.clone());
        match (begin, phase) {
            (true, StepPhase::Ready | StepPhase::Waiting) => {
                cook.calls(Call::Start { what });
            }
            (false, StepPhase::Running) => {
                cook.calls(Call::Done { what: Some(what) });
            }
            _ => continue,
        }
        // A core that nobody has read: the cook is sure.
        if cook.state.question().is_some() {
            cook.says("yes");
        }
        let now = cook.state.steps()[step].phase;
        let reached = match begin {
            true => now == StepPhase::Running,
            false => matches!(now, StepPhase::Done | StepPhase::Resting),
        };
        assert!(reached, "{}: {id} at {at} s is {now:?}", plan.title);
        let said = cook.says("am i late");
        assert!(
            said.starts_with("On time.") || said.contains("All steps are done"),
            "{}: {id} at {at} s: {said}",
            plan.title
        );
    }
    let late = |e: &&hobcall::kitchen::Event| matches!(e.what, What::DayLaid { eat, .. } if eat > At(day.soonest * 1000));
    assert_eq!(cook.events.iter().find(late), None, "{}", plan.title);
    assert!(
        cook.state
            .steps()
            .iter()
            .all(|s| s.phase == StepPhase::Done),
        "{}",
        plan.title
    );
    let _ = text;
}
