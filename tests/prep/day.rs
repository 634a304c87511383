//! Whole days: worked by hand, over midnight, over the change of the clocks, and refused.

use hobcall::plan::{self, Checked};
use hobcall::prep::day::{Conflict, Day, Trouble, Went, chart, clock, lay, table};
use jiff::ZonedDateTime;

const H: i64 = 3600;
const MIN: i64 = 60;

fn read(steps: &str) -> Checked {
    let text = format!(
        "plan: A day\nunits: celsius\nitems:\n  chop: {{pieces: 4, class: whole cut}}\nvessels:\n  \
         tub: {{kind: bowl}}\n  left pan: {{kind: skillet}}\n  right pan: {{kind: skillet}}\nsteps:\n{steps}"
    );
    plan::read(&text, "day.yaml").unwrap_or_else(|p| panic!("{p:#?}"))
}

fn at(text: &str) -> ZonedDateTime {
    text.parse().unwrap()
}

fn row<'d>(checked: &Checked, day: &'d Day, id: &str) -> &'d hobcall::prep::day::Row {
    let step = checked.plan.steps.iter().position(|s| s.id == id).unwrap();
    day.rows.iter().find(|r| r.step == step).unwrap()
}

const BRINED: &str = "  \
  brining:
    after: start
    say: A.
    vessel: tub
    holds: chop
    hands on: 10 min
    wait: 12 h .. 16 h
  heating:
    after: brining
    say: B.
    vessel: left pan
    takes: 6 min .. 10 min
    until: {word: it shimmers}
  frying:
    after: heating
    say: C.
    vessel: right pan
    holds: chop
    hands on: 5 min
    takes: 15 min .. 20 min
    until: {core: 63 C}
    out to: tub
    rest: 5 min .. 15 min
  carving:
    after: frying
    say: D.
    hands on: 5 min
";

#[test]
fn a_brined_chop_worked_by_hand() {
    let checked = read(BRINED);
    // 12 h 10 min, 10, 20, rest 5, 5: 12 h 50 min.
    let soonest = lay(&checked.plan, &[], None).unwrap();
    assert_eq!(soonest.soonest, 12 * H + 50 * MIN);
    assert!(soonest.proven && soonest.rows.iter().all(|r| r.critical));
    // With 20 hours: carving begins at 19:55 at the latest, frying at 19:30, heating at 19:20,
    // the brine ends then at the latest and may have begun 16 h 10 min before: at the latest 7:10.
    let day = lay(&checked.plan, &[], Some(20 * H)).unwrap();
    assert_eq!(row(&checked, &day, "carving").latest, 19 * H + 55 * MIN);
    assert_eq!(row(&checked, &day, "frying").latest, 19 * H + 30 * MIN);
    assert_eq!(row(&checked, &day, "heating").latest, 19 * H + 20 * MIN);
    assert_eq!(row(&checked, &day, "brining").latest, 7 * H + 10 * MIN);
    // Advised is a quarter of an hour before that, where the food allows it.
    for id in ["carving", "frying", "heating", "brining"] {
        assert_eq!(row(&checked, &day, id).slack(), 15 * MIN, "{id}");
    }
    assert_eq!(row(&checked, &day, "frying").advised, 19 * H + 15 * MIN);
    assert_eq!(row(&checked, &day, "brining").advised, 6 * H + 55 * MIN);
    // The brine may have its sixteen hours.
    let brining = row(&checked, &day, "brining");
    assert_eq!(brining.from, brining.ends - 16 * H - 10 * MIN);
    // With ten minutes to spare, it cannot be more than ten.
    let day = lay(&checked.plan, &[], Some(13 * H)).unwrap();
    assert_eq!(row(&checked, &day, "carving").slack(), 10 * MIN);
}

#[test]
fn the_impossible_is_refused_with_the_reason_and_the_earliest_time() {
    let checked = read(
        "  brine:\n    say: A.\n    vessel: tub\n    holds: chop\n    wait: 12 h\n  frying:\n    say: B.\n    hands on: 30 min\n",
    );
    let now = at("2026-05-06T09:10[Europe/Vienna]");
    let serve = clock::serving("18:40", &now).unwrap();
    let Err(trouble) = lay(&checked.plan, &[], Some(clock::seconds(&now, &serve))) else {
        panic!()
    };
    let said = table::problems(&checked, &trouble, &now);
    assert_eq!(said.len(), 1);
    assert_eq!(
        said[0].what,
        "`brine` needs 12 h and there are 9 h; the earliest serving is 21:40"
    );
}

#[test]
fn one_pair_of_hands_is_named_where_two_would_do() {
    let steps = "  peeling:\n    after: start\n    say: A.\n    hands on: 40 min\n  chopping:\n    after: start\n    say: B.\n    hands on: 40 min\n";
    let checked = read(steps);
    assert_eq!(lay(&checked.plan, &[], None).unwrap().soonest, 80 * MIN);
    let now = at("2026-05-06T17:00[Europe/Vienna]");
    let Err(Trouble::TooSoon(t)) = lay(&checked.plan, &[], Some(H)) else {
        panic!()
    };
    assert!(t.hands);
    assert_eq!(
        table::too_soon(&checked.plan, &t, &now),
        "one pair of hands is not enough for all that is to be done by then; the earliest serving is 18:20"
    );
    let mut two = checked.plan.clone();
    two.hands = 2;
    assert_eq!(lay(&two, &[], None).unwrap().soonest, 40 * MIN);
}

#[test]
fn limits_that_contradict_are_named_at_their_lines() {
    // Both rest five minutes at most, and the next step of each needs the hands for twenty.
    let steps = "  left side:\n    after: start\n    say: A.\n    vessel: left pan\n    wait: 30 min\n    rest: 0 min .. 5 min\n    finish with: right side\n  \
                 right side:\n    after: start\n    say: B.\n    vessel: right pan\n    wait: 30 min\n    rest: 0 min .. 5 min\n  \
                 slicing:\n    after: left side\n    say: C.\n    hands on: 20 min\n  carving:\n    after: right side\n    say: D.\n    hands on: 20 min\n";
    let checked = read(steps);
    let Err(trouble) = lay(&checked.plan, &[], None) else {
        panic!()
    };
    let Trouble::Impossible(conflicts) = &trouble else {
        panic!("{trouble:?}")
    };
    let left = checked
        .plan
        .steps
        .iter()
        .position(|s| s.id == "left_side")
        .unwrap();
    assert!(conflicts.contains(&Conflict::Hands), "{conflicts:?}");
    assert!(conflicts.contains(&Conflict::Rest(left)), "{conflicts:?}");
    assert!(
        conflicts.contains(&Conflict::Together(left)),
        "{conflicts:?}"
    );
    let said = table::problems(&checked, &trouble, &at("2026-05-06T09:00[UTC]"));
    let rest = said
        .iter()
        .find(|p| p.what.contains("within the rest of `left side`"))
        .unwrap();
    assert_eq!((rest.line, rest.column), (15, 11));
}

#[test]
fn steps_without_a_length_are_all_named() {
    let checked = read("  one pan:\n    say: A.\n    vessel: left pan\n    holds: chop\n    until: {core: 63 C}\n  frying:\n    say: B.\n    vessel: tub\n    until: {medium: 20 C .. 25 C}\n  eating:\n    say: C.\n    until: {word: all are full}\n".replace("one pan", "searing").as_str());
    let Err(trouble) = lay(&checked.plan, &[], None) else {
        panic!()
    };
    let said = table::problems(&checked, &trouble, &at("2026-05-06T09:00[UTC]"));
    let lines: Vec<usize> = said.iter().map(|p| p.line).collect();
    assert_eq!(lines, [10, 15]);
    assert!(said[0].write_instead.contains("takes"));
}

#[test]
fn pans_that_finish_together_do_so_within_five_minutes() {
    let steps = "  left side:\n    after: start\n    say: A.\n    vessel: left pan\n    hands on: 2 min\n    takes: 30 min\n    until: {core: 63 C}\n    holds: 2 chop\n  \
                 right side:\n    after: start\n    say: B.\n    vessel: right pan\n    hands on: 2 min\n    takes: 12 min\n    until: {core: 63 C}\n    holds: 2 chop\n    finish with: left side\n";
    let checked = read(steps);
    let day = lay(&checked.plan, &[], None).unwrap();
    assert_eq!(day.soonest, 30 * MIN);
    let (left, right) = (
        row(&checked, &day, "left_side"),
        row(&checked, &day, "right_side"),
    );
    assert!((left.ends - right.ends).abs() <= 5 * MIN, "{day:?}");
    assert!(right.earliest >= 13 * MIN);
}

#[test]
fn after_a_short_rest_one_of_the_next_steps_has_to_begin() {
    // The sauce takes the hands for half an hour; the roast rests ten minutes at most, so its
    // carving comes first, or the sauce itself is what begins in time.
    let steps = "  roast:\n    after: start\n    say: A.\n    wait: 1 h\n    rest: 5 min .. 10 min\n  \
                 sauce:\n    after: start\n    say: B.\n    hands on: 70 min\n  \
                 carving:\n    after: roast\n    say: C.\n    hands on: 10 min\n  \
                 plates:\n    after: [roast, sauce]\n    say: D.\n    hands on: 5 min\n";
    let checked = read(steps);
    let day = lay(&checked.plan, &[], None).unwrap();
    // Sauce to 70, plates from 70 (roast over at 60 and rested ten), carving to 85.
    assert_eq!(day.soonest, 85 * MIN);
    assert!(day.proven);
}

#[test]
fn a_night_in_which_the_clocks_go_forward_is_an_hour_shorter() {
    // European Union, directive 2000/84/EC: on the last Sunday of March, at 1:00 UTC. In 2026
    // that is the 29th. Twelve hours before 7:30 on that day are 18:30 of the day before.
    let now = at("2026-03-28T12:00[Europe/Vienna]");
    let serve = clock::serving("sunday 07:30", &now).unwrap();
    assert_eq!(clock::seconds(&now, &serve), 18 * H + 30 * MIN);
    let checked = read("  soaking:\n    say: A.\n    wait: 12 h\n");
    let day = lay(&checked.plan, &[], Some(clock::seconds(&now, &serve))).unwrap();
    let begin = clock::moment(&now, day.rows[0].latest);
    assert_eq!(begin.strftime("%a %H:%M").to_string(), "Sat 18:30");
    // And back on the last Sunday of October, the 25th.
    let now = at("2026-10-24T12:00[Europe/Vienna]");
    let serve = clock::serving("sunday 07:30", &now).unwrap();
    assert_eq!(clock::seconds(&now, &serve), 20 * H + 30 * MIN);
    // United States, Energy Policy Act of 2005: second Sunday of March, 2:00 local.
    let now = at("2027-03-13T20:00[America/New_York]");
    let serve = clock::serving("07:00", &now).unwrap();
    assert_eq!(clock::seconds(&now, &serve), 10 * H);
    // A time that the clocks leap over is the one an hour later.
    let gap = clock::serving("02:30", &now).unwrap();
    assert_eq!(gap.strftime("%H:%M").to_string(), "03:30");
}

#[test]
fn serving_times_are_the_next_that_the_words_mean() {
    // 27 November 2026 is a Friday.
    let now = at("2026-11-27T18:00[Europe/London]");
    let said = |words: &str| {
        clock::serving(words, &now)
            .unwrap()
            .strftime("%a %d %H:%M")
            .to_string()
    };
    assert_eq!(said("19:00"), "Fri 27 19:00");
    assert_eq!(said("9:05"), "Sat 28 09:05");
    assert_eq!(said("friday 17:00"), "Fri 04 17:00");
    assert_eq!(said("Friday 19:00"), "Fri 27 19:00");
    assert_eq!(said("sunday 12:30"), "Sun 29 12:30");
    for wrong in [
        "",
        "25:00",
        "12:60",
        "noon",
        "someday 12:00",
        "12",
        "12:5x",
        "-1:00",
        "19:000",
    ] {
        assert!(clock::serving(wrong, &now).is_err(), "{wrong}");
    }
}

#[test]
fn what_has_happened_is_where_the_rest_begins() {
    let checked = read(BRINED);
    let step = |id: &str| checked.plan.steps.iter().position(|s| s.id == id).unwrap();
    let mut went = vec![Went::NotBegun; 4];
    // The brine began thirteen hours ago: it may end now, 35 minutes to carving's end at
    // soonest and 3 h 10 min is the most it may stay.
    went[step("brining")] = Went::Running {
        began: -13 * H,
        least: None,
        most: None,
        hands: None,
    };
    let day = lay(&checked.plan, &went, None).unwrap();
    assert_eq!(day.soonest, (10 + 20 + 5 + 5) * MIN);
    // Frying since five minutes, and it is thought to take twenty.
    went[step("brining")] = Went::Ended {
        began: -14 * H,
        ended: -30 * MIN,
    };
    went[step("heating")] = Went::Ended {
        began: -30 * MIN,
        ended: -5 * MIN,
    };
    went[step("frying")] = Went::Running {
        began: -5 * MIN,
        least: None,
        most: None,
        hands: None,
    };
    let day = lay(&checked.plan, &went, None).unwrap();
    assert_eq!(day.soonest, (15 + 5 + 5) * MIN);
    // Half an hour over what it was thought to take: it ends now, as far as anyone knows.
    went[step("frying")] = Went::Running {
        began: -50 * MIN,
        least: None,
        most: None,
        hands: None,
    };
    assert_eq!(lay(&checked.plan, &went, None).unwrap().soonest, 10 * MIN);
    // As long as it was thought to take, to the second, and the pan is wanted again: it is free
    // now.
    let again = BRINED.replace(
        "  carving:",
        "  second batch:\n    say: The rest.\n    vessel: right pan\n    takes: 20 min\n    until: {core: 63 C}\n  carving:",
    );
    let two = read(&again);
    let at = |id: &str| two.plan.steps.iter().position(|s| s.id == id).unwrap();
    let mut then = vec![Went::NotBegun; 5];
    for id in ["brining", "heating"] {
        then[at(id)] = Went::Ended {
            began: -14 * H,
            ended: -30 * MIN,
        };
    }
    then[at("frying")] = Went::Running {
        began: -20 * MIN,
        least: None,
        most: None,
        hands: None,
    };
    let soonest = lay(&two.plan, &then, None).map(|day| day.soonest);
    assert_eq!(soonest, Ok((5 + 20) * MIN));
    // It rests, longer than it should: carving is next.
    went[step("frying")] = Went::Ended {
        began: -90 * MIN,
        ended: -40 * MIN,
    };
    assert_eq!(lay(&checked.plan, &went, None).unwrap().soonest, 5 * MIN);
}

#[test]
fn what_is_under_way_at_once_is_never_impossible() {
    // Two hands-on steps begun one right after the other, two pans that will not end together,
    // and a rest that is shorter than what comes next.
    let steps = "  salting:\n    after: start\n    say: A.\n    vessel: tub\n    hands on: 10 min\n    wait: 1 h\n  \
                 left side:\n    after: start\n    say: A.\n    vessel: left pan\n    hands on: 10 min\n    takes: 30 min\n    until: {core: 63 C}\n    holds: 2 chop\n    rest: 1 min .. 5 min\n  \
                 right side:\n    after: start\n    say: B.\n    vessel: right pan\n    hands on: 10 min\n    takes: 90 min\n    until: {core: 63 C}\n    holds: 2 chop\n    finish with: left side\n  \
                 slicing:\n    after: [left side, right side, salting]\n    say: C.\n    hands on: 20 min\n";
    let checked = read(steps);
    let mut went = vec![Went::NotBegun; 4];
    for (i, step) in checked.plan.steps.iter().enumerate() {
        if step.id != "slicing" {
            went[i] = Went::Running {
                began: -(i as i64),
                least: None,
                most: None,
                hands: None,
            };
        }
    }
    let day = lay(&checked.plan, &went, None).unwrap();
    // The slower pan, and slicing.
    assert!((109 * MIN..=110 * MIN).contains(&day.soonest), "{day:?}");
    assert!(lay(&checked.plan, &went, Some(50 * H)).is_ok());
}

#[test]
fn every_shipped_plan_has_a_day_and_its_table_and_chart() {
    for (name, text) in [
        (
            "lamb",
            include_str!("../../plans/overnight-lamb-shoulder.yaml"),
        ),
        (
            "chops",
            include_str!("../../plans/pork-chops-two-brines.yaml"),
        ),
        ("caramels", include_str!("../../plans/two-caramels.yaml")),
    ] {
        let checked = plan::read(text, name).unwrap();
        let now = at("2026-11-27T08:00[Europe/Vienna]");
        let serve = clock::serving("sunday 19:00", &now).unwrap();
        let day = lay(&checked.plan, &[], Some(clock::seconds(&now, &serve)))
            .unwrap_or_else(|e| panic!("{name}: {e:?}"));
        assert!(day.proven, "{name}");
        let page = table::table(&checked.plan, &day, &now);
        let drawn = chart::terminal(&checked.plan, &day, &now);
        let svg = chart::svg(&checked.plan, &day, &now);
        for step in &checked.plan.steps {
            for text in [&page, &drawn, &svg] {
                assert!(text.contains(&step.names[0]), "{name}: {}", step.id);
            }
        }
        assert!(page.contains("Sunday 29 November, 19:00"), "{page}");
        assert!(drawn.lines().all(|l| l.chars().count() <= 90), "{drawn}");
        // A second XML reader is not at hand: the tags balance and nothing is left raw.
        assert_eq!(svg.matches("<text").count(), svg.matches("</text>").count());
        assert!(!svg.contains("NaN"));
        println!("{page}\n{drawn}");
    }
}

#[test]
fn names_and_titles_are_escaped_in_the_chart() {
    let mut checked = read("  soaking:\n    say: A.\n    wait: 12 h\n");
    checked.plan.title = "A <script> & \"more\"".to_owned();
    let now = at("2026-11-27T08:00[UTC]");
    let svg = chart::svg(&checked.plan, &lay(&checked.plan, &[], None).unwrap(), &now);
    assert!(svg.contains("A &lt;script&gt; &amp; &quot;more&quot;"));
    assert!(!svg.contains("<script"));
}
