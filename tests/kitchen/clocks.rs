//! Clocks, alarms and the manners of speaking unasked.

use crate::support::{Cook, frying, text};
use hobcall::kitchen::{At, ClockKey, Input};
use hobcall::voice::Urgency;

/// Nothing but a step in the cook's hands.
const BARE: &str = "
plan: Chopping
units: celsius
items:
  onion: {pieces: 4, class: other}
vessels:
  board: {kind: board}
steps:
  chopping: {say: Chop the onions, vessel: board, holds: onion, hands on: 20 min}
";

const OVERNIGHT: &str = "
plan: Overnight
units: fahrenheit
items:
  shoulder: {class: whole cut, pieces: 1}
vessels:
  tray: {kind: tray}
steps:
  curing: {say: Into the fridge, vessel: tray, holds: shoulder, wait: 12 h .. 16 h}
  rinsing: {say: Rinse it, hands on: 5 min}
";

#[test]
fn a_timer_rings_again_with_growing_urgency_until_it_is_stopped() {
    let mut cook = Cook::with(BARE);
    assert_eq!(cook.says("timer four minutes"), "Timer, four minutes.");
    let heard = cook.waits(20.0 * 60.0);
    // Set at 0:00, up at 4:00; told again after 20 s, 60 s, 2 min, then every 5 min.
    let times: Vec<f64> = heard.iter().map(|(t, _)| *t).collect();
    assert_eq!(times, [240.0, 260.0, 300.0, 360.0, 660.0, 960.0]);
    assert_eq!(heard[0].1, "Four minute timer is up.");
    assert_eq!(heard[1].1, "Four minute timer is up, twenty seconds over.");
    assert_eq!(heard[3].1, "Four minute timer is up, two minutes over.");
    let unanswered: Vec<u8> = cook
        .said
        .iter()
        .filter(|(_, u)| u.urgency == Urgency::Alarm)
        .map(|(_, u)| u.unanswered)
        .collect();
    assert_eq!(unanswered, [0, 1, 2, 3, 4, 5]);
    assert_eq!(cook.says("stop the timer"), "Four minute timer stopped.");
    assert!(cook.waits(3600.0).is_empty());
    assert!(cook.state.clocks().is_empty());
}

#[test]
fn any_fitting_call_answers_a_timer_and_does_nothing_else() {
    for words in ["done", "stop the timer", "quiet", "stop"] {
        let mut cook = Cook::with(BARE);
        cook.says("timer one minute");
        assert_eq!(cook.waits(61.0).len(), 1);
        assert_eq!(cook.says(words), "One minute timer stopped.", "{words}");
        assert!(cook.waits(600.0).is_empty(), "{words}");
        assert!(
            cook.says("status").starts_with("Chopping, under way"),
            "{words} to a timer is not about the step"
        );
        assert!(!cook.state.is_quiet(), "{words}");
    }
}

#[test]
fn named_timers_are_asked_for_by_name() {
    let mut cook = Cook::with(BARE);
    assert_eq!(
        cook.says("rice timer ten minutes"),
        "Rice timer, ten minutes."
    );
    cook.waits(5.0);
    assert_eq!(
        cook.says("egg timer six minutes"),
        "Egg timer, six minutes."
    );
    cook.waits(55.0);
    assert_eq!(
        cook.says("timers"),
        "Egg timer, five minutes left. Rice timer, nine minutes left."
    );
    assert_eq!(
        cook.says("how long on the rice"),
        "Rice timer, nine minutes left."
    );
    // A new time for the same name is the same timer.
    cook.says("rice timer two minutes");
    assert_eq!(cook.state.clocks().len(), 2);
    assert_eq!(cook.says("stop the rice timer"), "Rice timer stopped.");
    assert_eq!(cook.says("how long on the rice"), "No clock runs for rice.");
}

#[test]
fn two_timers_without_a_name_go_by_their_minutes() {
    let mut cook = Cook::with(BARE);
    cook.says("timer four minutes");
    cook.waits(200.0);
    cook.says("timer ten minutes");
    cook.waits(150.0);
    assert_eq!(
        cook.hears(0.0),
        [] as [String; 0],
        "the four minute timer rang in between"
    );
    cook.says("stop the timer");
    cook.says("timer four minutes");
    cook.waits(130.0);
    assert_eq!(
        cook.says("stop the timer"),
        "Stop the timer. Which, ten minute timer or four minute timer?"
    );
    assert_eq!(cook.says("ten"), "Ten minute timer stopped.");
    assert_eq!(cook.state.clocks().len(), 1);
}

#[test]
fn more_time_goes_to_what_rings_or_to_what_was_spoken_of() {
    let mut cook = Cook::with(BARE);
    cook.says("rice timer ten minutes");
    cook.says("egg timer three minutes");
    // The egg was spoken of last.
    assert_eq!(
        cook.says("two more minutes"),
        "Egg timer, five minutes now."
    );
    assert_eq!(
        cook.says("two more minutes on the rice"),
        "Rice timer, twelve minutes now."
    );
    assert_eq!(
        cook.says("one minute less"),
        "Rice timer, eleven minutes now."
    );
    assert_eq!(cook.hears(300.0), ["Egg timer is up."]);
    cook.waits(5.0);
    assert_eq!(cook.says("two more minutes"), "Egg timer, two minutes now.");
    assert_eq!(cook.hears(121.0), ["Egg timer is up."]);
    assert_eq!(cook.says("stop the timer"), "Egg timer stopped.");
}

#[test]
fn more_time_goes_to_the_timer_set_last_however_long_ago() {
    let mut cook = Cook::with(BARE);
    cook.says("rice timer twenty minutes");
    cook.says("egg timer thirty minutes");
    cook.waits(10.0 * 60.0);
    assert_eq!(
        cook.says("two more minutes"),
        "Egg timer, twenty two minutes now."
    );
    // Another is about to ring, and that one was not spoken of for long.
    cook.waits(9.5 * 60.0);
    assert_eq!(
        cook.says("two more minutes"),
        "Rice timer, two minutes thirty now."
    );
}

#[test]
fn after_a_few_seconds_away_it_only_goes_on() {
    let mut cook = Cook::with(OVERNIGHT);
    cook.says("next");
    cook.says("rice timer ten minutes");
    cook.waits(60.0);
    cook.now = cook.now.plus(5_000);
    let said = cook.put(&Input::Resumed { away_ms: 5_000 });
    assert_eq!(text(&said), "Going on. Curing, twelve hours left.");
}

#[test]
fn alarms_that_fall_together_are_one_sentence_and_one_breath() {
    let mut cook = Cook::with(BARE);
    cook.says("rice timer two minutes");
    cook.waits(1.0);
    cook.says("egg timer two minutes");
    let heard = cook.waits(125.0);
    assert_eq!(heard.len(), 1, "{heard:?}");
    assert_eq!(heard[0].1, "Rice timer is up; and egg timer is up.");

    // Nothing unasked within three seconds of an answer.
    let mut cook = Cook::with(BARE);
    cook.says("timer one minute");
    cook.waits(59.0);
    cook.says("status");
    let heard = cook.waits(10.0);
    assert_eq!(heard.iter().map(|h| h.0).collect::<Vec<_>>(), [62.0]);
}

#[test]
fn both_flips_at_once_are_one_call_and_flipped_asks_which() {
    let mut cook = frying();
    // Left at 2:30, right at 4:00; a late left flip makes them fall together.
    cook.waits(45.0);
    cook.says("middle");
    assert_eq!(cook.hears(46.0), ["Flip, left skillet."]);
    cook.waits(29.0);
    assert_eq!(
        cook.says("flipped"),
        "Flipped, left skillet. Next flip in two minutes."
    );
    assert_eq!(cook.hears(60.0)[0], "Flip, right skillet.");
    assert!(
        cook.says("right skillet flipped")
            .starts_with("Flipped, right skillet.")
    );
    cook.waits(59.0);
    assert_eq!(cook.hears(3.0), ["Flip, left skillet."]);
    cook.says("two more minutes");
    let heard = cook.hears(125.0);
    assert_eq!(
        heard[0], "Flip, right skillet and left skillet.",
        "{heard:?}"
    );
    assert_eq!(
        cook.says("flipped"),
        "Flipped. Which, left skillet or right skillet?"
    );
    assert_eq!(
        cook.says("both"),
        "Flipped, left skillet. Next flip in two minutes. \
         Flipped, right skillet. Next flip in three minutes."
    );
}

#[test]
fn food_that_is_done_or_about_to_come_out_is_not_flipped() {
    let mut cook = frying();
    // The right pan: nine minutes, a flip every three; none at nine.
    let heard = cook.hears(9.0 * 60.0 + 1.0);
    assert!(heard.iter().any(|h| h.starts_with("Flip, right skillet")));
    cook.says("right skillet flipped");
    cook.waits(1.0);
    let more = cook.hears(180.0);
    assert!(
        !more.iter().any(|h| h.starts_with("Flip, right skillet")),
        "{more:?}"
    );
    // The left pan: its target has been read.
    cook.says("left skillet flipped");
    cook.says("left skillet reading one forty six");
    assert!(
        !cook
            .hears(300.0)
            .iter()
            .any(|h| h.contains("left skillet") && h.to_lowercase().contains("flip"))
    );
}

#[test]
fn quiet_answers_alarms_first_and_silences_reminders_second() {
    let mut cook = frying();
    cook.waits(91.0);
    assert_eq!(cook.says("quiet"), "OK.");
    assert!(!cook.state.is_quiet());
    assert!(cook.hears(60.0).is_empty(), "the flip is known");
    assert_eq!(cook.says("quiet"), "No more reminders.");
    assert!(cook.state.is_quiet());
    assert_eq!(
        cook.says("turned the left skillet"),
        "Turned, left skillet.",
        "no reminder of the marks"
    );
    assert_eq!(
        cook.hears(30.0),
        ["Flip, right skillet."],
        "an alarm still sounds"
    );
    cook.says("speak up");
    assert!(cook.says("turned the left skillet").contains("test chop"));
}

#[test]
fn asleep_only_alarms_speak_and_only_what_answers_them_is_heard() {
    let mut cook = frying();
    assert_eq!(cook.says("hold on"), "Holding. Say carry on.");
    assert_eq!(cook.says("next"), "", "kitchen talk");
    assert_eq!(cook.says("end the cook"), "");
    assert_eq!(cook.hears(91.0), ["Flip, left skillet."]);
    assert!(cook.says("flipped").starts_with("Flipped, left skillet."));
    assert_eq!(cook.says("status"), "");
    assert_eq!(cook.says("carry on"), "Listening.");
    assert!(!cook.says("status").is_empty());
}

#[test]
fn an_overnight_window_opens_softly_nears_its_limit_and_reaches_it() {
    let mut cook = Cook::with(OVERNIGHT);
    let heard = cook.waits(17.0 * 3600.0);
    let hours: Vec<(f64, &str)> = heard
        .iter()
        .map(|(t, s)| (t / 3600.0, s.as_str()))
        .collect();
    assert_eq!(
        hours[0],
        (12.0, "Curing may end now, four hours to the limit.")
    );
    // Told twice more and then left alone until a tenth of the window is left.
    assert_eq!(hours[1].0, 12.0 + 1.0 / 60.0);
    assert_eq!(hours[2].0, 12.0 + 5.0 / 60.0);
    assert_eq!(hours[3].1, "Curing, twenty five minutes to the limit.");
    assert!((hours[3].0 - 15.6).abs() < 1e-9);
    assert_eq!(hours[4], (16.0, "Curing is at its limit, end it now."));
    assert!(hours[5].1.starts_with("Curing, time is up"), "{hours:?}");
    assert_eq!(
        cook.says("done"),
        "Done, curing. Rinse it.",
        "late is no reason to ask"
    );
}

#[test]
fn clock_times_are_said_where_the_end_is_far() {
    let mut cook = Cook::with(OVERNIGHT);
    // Half past six in the evening, the night the clocks go back one hour (Europe,
    // last Sunday of October): twelve hours later it is half past five.
    let begun: jiff::ZonedDateTime = "2026-10-24T18:30:00[Europe/Berlin]".parse().unwrap();
    cook.ctx.wall = Some((At(0), begun));
    assert_eq!(
        cook.says("how long"),
        "Curing, twelve hours left, until five thirty in the morning."
    );
    assert_eq!(cook.says("what time is it"), "Six thirty in the evening.");
    assert_eq!(cook.says("timer two minutes"), "Timer, two minutes.");
}

#[test]
fn back_after_a_night_it_says_what_ended_what_runs_and_what_is_next() {
    let mut cook = Cook::with(OVERNIGHT);
    cook.says("rice timer fourteen hours");
    cook.says("egg timer thirty hours");
    // The machine was off from one hour on; the loop folds the journal and goes on.
    cook.waits(3600.0);
    cook.now = cook.now.plus(13 * 3_600_000 + 30 * 60_000);
    let away = 13 * 3_600_000 + 30 * 60_000;
    let said = cook.put(&Input::Resumed { away_ms: away });
    assert_eq!(
        text(&said),
        "Back after fourteen hours. Meanwhile, rice timer is up, thirty minutes over; and curing \
         may end now, an hour and a half to the limit. Egg timer, sixteen hours left."
    );
    // They ring on until they are answered.
    assert!(!cook.hears(61.0).is_empty());
    let keys: Vec<ClockKey> = cook.state.clocks().into_iter().map(|c| c.key).collect();
    assert_eq!(keys.len(), 3);
}

#[test]
fn done_to_a_flip_that_was_called_out_is_the_flip() {
    let mut cook = frying();
    cook.waits(45.0);
    cook.says("middle");
    assert_eq!(cook.hears(46.0), ["Flip, left skillet."]);
    assert_eq!(
        cook.says("done"),
        "Flipped, left skillet. Next flip in two minutes."
    );
    assert!(cook.hears(60.0).iter().all(|h| !h.contains("left skillet")));
}

#[test]
fn a_timer_may_go_by_the_name_of_a_step() {
    let mut cook = Cook::with(OVERNIGHT);
    cook.waits(3600.0);
    assert_eq!(
        cook.says("how long on the curing"),
        "Curing, eleven hours left."
    );
    assert_eq!(
        cook.says("two more hours on the curing"),
        "Curing, thirteen hours now."
    );
}
