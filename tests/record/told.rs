//! The rows are what happened.

use hobcall::kitchen::At;
use hobcall::{plan, record};

use crate::html_faults::faults;
use crate::stove::{CHOPS, Stove, cooked, fold, story};

#[test]
fn what_happened_is_told_as_it_happened() {
    let folder = tempfile::tempdir().expect("a folder");
    let story = story(&cooked(folder.path(), "a.journal", 0));

    // Times are those of the calls above, in milliseconds.
    let step = |id: &str| story.steps.iter().find(|s| s.id == id).expect(id);
    assert_eq!(step("salting").began, Some(At(0)));
    assert_eq!(step("salting").ended, Some(At(300_000)));
    assert_eq!(step("fry_left").began, Some(At(300_000)));
    assert_eq!(step("fry_left").food_in, Some(At(305_000)));
    assert_eq!(step("fry_left").took(), Some(465_000));
    assert_eq!(step("fry_left").flips, 3);
    assert_eq!(step("fry_right").took(), Some(980_000));

    // The plan alone: five minutes of salting, then both pans at once, the right one for
    // at least nine and three of rest; the left one ends at a temperature.
    assert_eq!(step("fry_right").planned.from, 300_000);
    assert_eq!(step("fry_right").planned.to, Some(840_000));
    assert_eq!(step("fry_right").planned.rested, Some(1_020_000));
    assert_eq!(step("fry_left").planned.to, None);

    let readings: Vec<_> = story
        .readings
        .iter()
        .map(|r| {
            (
                r.at.0,
                r.called.lo,
                r.first.map(|f| f.lo),
                r.target.is_some(),
            )
        })
        .collect();
    assert_eq!(
        readings,
        [
            (500_000, 140.0, Some(130.0), true),
            (760_000, 147.0, None, true)
        ]
    );
    let stove: Vec<_> = story
        .stove
        .iter()
        .map(|s| (s.at.0, s.what.as_str()))
        .collect();
    assert_eq!(stove, [(330_000, "heat medium")]);

    // Left, then right by the half turn; the swap was taken back; then the rack.
    let stays: Vec<_> = story
        .stays
        .iter()
        .filter(|s| s.name == "test chop" && s.vessel.is_some() && s.sure)
        .map(|s| {
            let vessel = s.vessel.clone().unwrap_or_default();
            (s.from.0, vessel, s.place.clone(), record_side(s))
        })
        .collect();
    let stay = |from: i64, vessel: &str, place: &str, side: &'static str| {
        (from, vessel.to_owned(), place.to_owned(), side)
    };
    assert!(
        stays.contains(&stay(430_000, "left skillet", "left", "second")),
        "{stays:?}"
    );
    assert!(
        stays.contains(&stay(440_000, "left skillet", "right", "second")),
        "{stays:?}"
    );
    assert!(
        !stays.iter().any(|s| s.2 == "middle"),
        "the swap never happened: {stays:?}"
    );
    // Three places in a row do not tell where in two rows of three it lies.
    let last = story.stays.last().expect("it was placed");
    assert_eq!(last.vessel.as_deref(), Some("rack"), "{last:?}");
    assert_eq!(
        (record_side(last), last.to, last.sure),
        ("second", None, false)
    );
    let state = &story.state;
    let known = state.marks();
    assert_eq!(known[0].vessel.as_deref(), Some("rack"));

    let line = |heard: &str| {
        let found = story
            .lines
            .iter()
            .find(|l| l.heard.as_deref() == Some(heard));
        found.unwrap_or_else(|| panic!("{heard:?} is not in the record"))
    };
    assert!(line("swap left and middle").taken_back);
    assert!(!line("turned the left skillet").taken_back);
    assert_eq!(line("left skillet reading one thirty").at, At(500_000));
    assert!(
        line("no one forty")
            .said
            .join(" ")
            .contains("Corrected one four zero"),
        "what was said stands beside what was heard"
    );
    let events: usize = story
        .lines
        .iter()
        .map(|l| l.events.1 - l.events.0 + 1)
        .sum();
    assert_eq!(
        events,
        story.state.events(),
        "no event is left out of the lines"
    );

    let flips: Vec<_> = story
        .clocks
        .iter()
        .filter(|c| c.name == "left skillet flip")
        .map(|c| (c.from.0, c.ends.0, c.closed.map(|a| a.0)))
        .collect();
    assert_eq!(flips[1], (305_000, 425_000, Some(430_000)), "{flips:?}");
    let rung = story
        .clocks
        .iter()
        .find(|c| c.rang.is_some())
        .expect("one rang");
    assert!(
        rung.rang >= Some(rung.ends),
        "no clock is called out before its end"
    );
}

fn record_side(stay: &record::Stay) -> &'static str {
    use hobcall::kitchen::whereabouts::Side;
    match stay.side {
        Side::First => "first",
        Side::Second => "second",
        Side::Unsure => "unsure",
    }
}

#[test]
fn the_believed_core_stands_beside_what_was_called() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut s = Stove::new(folder.path(), "a.journal", CHOPS);
    s.at(300, "next");
    s.at(305, "in they go");
    s.at(600, "left skillet reading one oh five");
    s.at(612, "left skillet reading one eighty five");
    s.at(624, "left skillet reading one oh eight");
    s.at(900, "left skillet reading one forty six");
    s.at(910, "left skillet reading one forty seven");
    s.at(920, "left skillet reading one forty eight");
    let story = story(&s);
    let odd: Vec<f64> = story
        .readings
        .iter()
        .filter(|r| story.judged.why(r.number).is_some())
        .map(|r| r.called.lo)
        .collect();
    assert_eq!(odd, [185.0], "the one that met bone or oil");
    let last = story.judged.believed.last().expect("a belief");
    // The coldest credible one of the last round is believed, not the mean.
    assert!(
        (last.core.0 - (146.0 - 32.0) / 1.8).abs() < 1e-9,
        "{last:?}"
    );
    for b in &story.judged.believed {
        assert!(b.low.0 <= b.high.0, "{b:?}");
    }
    let page = record::page(&[("a.journal".to_owned(), story.clone())]);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains("not believed: higher than the food can be"));
    // Consumer advice of USDA FSIS for whole cuts: 145 °F and three minutes of rest.
    assert!(page.contains("published minimum 145 °F"), "the safe line");
    assert!(
        page.contains("145 °F and 3 min of rest"),
        "the safety table"
    );
    assert!(page.contains("Crosses: not believed."));
    // Out from the begin, salted, fried, and read above 140 °F at 15:20 (the last reading of
    // that round).
    assert!(
        page.contains("40 to 140 °F") && page.contains("15 min 20 s"),
        "time in the zone"
    );
    let json = record::to_json(&s.read(), &story).expect("JSON");
    assert!(json.contains("bone or oil"));
}

/// The same numbers on every run: SplitMix64 (Steele, Lea and Flood 2014).
fn dice(state: &mut u64, below: usize) -> usize {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) % below as u64) as usize
}

#[test]
fn whatever_is_called_the_record_holds_it() {
    const CALLS: [&str; 34] = [
        "next",
        "done",
        "yes",
        "no",
        "scratch that",
        "scratch that",
        "back one",
        "start the fry left",
        "start the fry right",
        "in they go",
        "left skillet flipped",
        "right skillet flipped",
        "flipped the test chop",
        "turned the left skillet",
        "turned the left skillet a quarter clockwise",
        "swap left and middle",
        "test chop is on the left",
        "test chop to the rack",
        "left skillet out to the rack",
        "same order",
        "reversed",
        "stacked",
        "heat to high",
        "lid on",
        "oil in",
        "left skillet reading one twenty",
        "right skillet reading one sixty to one sixty five",
        "oil three forty",
        "no one fifteen",
        "timer four minutes",
        "two more minutes",
        "stop the timer",
        "note",
        "use celsius",
    ];
    let folder = tempfile::tempdir().expect("a folder");
    for seed in 0..8u64 {
        let mut state = seed;
        let mut s = Stove::new(folder.path(), &format!("{seed}.journal"), CHOPS);
        let mut at = 0;
        for _ in 0..50 {
            at += [1, 3, 20, 90, 400][dice(&mut state, 5)];
            let words = CALLS[dice(&mut state, CALLS.len())];
            if !s.grammar.calls(words).is_empty() {
                s.at(at, words);
            }
        }
        let cook = s.read();
        let story = record::story(&cook).expect("its plan is good");
        let held: usize = story
            .lines
            .iter()
            .map(|l| l.events.1 - l.events.0 + 1)
            .sum();
        assert_eq!(held, cook.events.len(), "seed {seed}");
        assert!(story.state.is_like(&s.state), "seed {seed}");
        // What was taken back leaves no trace in what happened: the last stays are where
        // the state has the pieces.
        for mark in story.state.marks() {
            let last = story.stays.iter().rfind(|stay| stay.sample == mark.sample);
            let open = story.state.question().is_some();
            if let (Some(last), false) = (last, open) {
                assert_eq!(last.vessel.is_some(), mark.vessel.is_some(), "seed {seed}");
                assert_eq!(
                    (last.side, last.sure),
                    (mark.side, mark.sure),
                    "seed {seed}"
                );
            }
        }
        for stay in story
            .stays
            .windows(2)
            .filter(|w| w[0].sample == w[1].sample)
        {
            assert_eq!(stay[0].to, Some(stay[1].from), "seed {seed}: no gap");
        }
        let json = record::to_json(&cook, &story).expect("JSON");
        let back = record::from_json(&json).expect("a record");
        assert!(back == cook && fold(&back).is_like(&s.state), "seed {seed}");
        record::sheets(&story).expect("tables");
        let text = &cook.header.plan;
        let plan = plan::read(text, "x").expect("good").plan;
        let proposals = record::propose(&plan, &story);
        let edited = record::accept(text, "x", &proposals).expect("each value is on one line");
        // Taken, they are the plan: nothing is left of the same kind to propose.
        let then = plan::read(&edited, "x").expect("still a plan").plan;
        assert_eq!(
            record::propose(&then, &story),
            [],
            "seed {seed}: {proposals:?}"
        );
        let page = record::page(&[("x".to_owned(), story.clone()), ("y".to_owned(), story)]);
        assert_eq!(faults(&page), Vec::<String>::new(), "seed {seed}");
        assert!(
            !page.contains("NaN") && !page.contains("inf\""),
            "seed {seed}"
        );
    }
}

#[test]
fn a_probe_that_is_off_is_told_beside_each_reading() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut s = Stove::new(folder.path(), "a.journal", CHOPS);
    s.at(10, "ice reading thirty four");
    s.at(14, "yes");
    s.at(300, "next");
    s.at(305, "in they go");
    s.at(600, "left skillet reading one oh five");
    let story = story(&s);
    let last = story.readings.last().expect("a reading");
    // Melting ice is at 32 °F: a probe that reads 34 there is two degrees high.
    assert!((last.offset_c * 1.8 + 2.0).abs() < 1e-9, "{last:?}");
    assert_eq!(last.called.lo, 105.0, "as called");
    let page = record::page(&[("a.journal".to_owned(), story)]);
    assert!(page.contains("taken as -2.0 °F, since the probe is off"));
}

#[test]
fn what_cooled_is_told_with_both_limits() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut s = Stove::new(folder.path(), "a.journal", CHOPS);
    s.at(300, "next");
    s.at(900, "cooling the chops");
    // Chops are in the pan too: which of them is asked.
    s.at(959, "chops reading one fifty");
    s.at(960, "chops");
    s.at(960 + 5990, "chops reading sixty nine");
    s.at(960 + 6000, "chops");
    let story_now = story(&s);
    let row = story_now.readings.last().expect("a reading");
    assert_eq!(
        (row.piece.as_deref(), row.target.is_some()),
        (Some("chop"), false)
    );
    let cooling = &story_now.state.cooling()[0];
    // Food Code 3-501.14(A): two hours and six, from the last reading above 135 °F.
    assert_eq!(cooling.from, At(960_000));
    assert_eq!(
        cooling
            .legs
            .map(|l| (l.by.0 - 960_000, l.there.map(|t| t.0))),
        [(7_200_000, Some(6_960_000)), (21_600_000, None)]
    );
    let page = record::page(&[("a.journal".to_owned(), story_now.clone())]);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains("70 °F by 2:16:00") && page.contains("1:56:00"));
    assert!(page.contains("not over"));
    s.at(960 + 21_690, "chops reading forty one");
    s.at(960 + 21_700, "chops");
    let page = record::page(&[("a.journal".to_owned(), story(&s))]);
    assert!(page.contains("missed"));
}

#[test]
fn the_planned_day_is_laid_with_its_hands() {
    // Worked by hand: one cook. Salting takes the hands for five minutes; then one pan at a
    // time can be tended for two, and each fries twenty in all; slicing waits for both.
    let plan = "\
plan: Two pans, one cook
units: fahrenheit
items:
  chop: {pieces: 2, class: whole cut}
vessels:
  tray: {kind: tray}
  left skillet: {kind: skillet}
  right skillet: {kind: skillet}
steps:
  salting: {say: Salt, vessel: tray, holds: chop, hands on: 5 min}
  fry left: {after: salting, say: Fry, vessel: left skillet, holds: 1 chop, hands on: 2 min, takes: 20 min, until: {core: 145 F}}
  fry right: {after: salting, say: Fry, vessel: right skillet, holds: 1 chop, hands on: 2 min, takes: 20 min, until: {core: 145 F}}
  slicing: {after: [fry left, fry right], say: Slice, hands on: 3 min}
";
    let plan = plan::read(plan, "x").expect("good").plan;
    let planned = record::planned(&plan);
    let minutes: Vec<(i64, Option<i64>)> = planned
        .iter()
        .map(|p| (p.from / 60_000, p.to.map(|t| t / 60_000)))
        .collect();
    assert_eq!(minutes[0], (0, Some(5)));
    let mut pans = [minutes[1], minutes[2]];
    pans.sort_unstable();
    assert_eq!(
        pans,
        [(5, Some(25)), (7, Some(27))],
        "the second waits for the hands"
    );
    assert_eq!(minutes[3], (27, Some(30)));
}
