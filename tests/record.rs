//! The record of cooks that were really cooked: typed calls through the real grammar and
//! engine into a real journal, read back from the disk.
//!
//! Outside checks: the page against html5ever, the parser of the HTML standard; the tables
//! against the rules of RFC 4180 by the csv crate's reader; the JSON against the journal.

mod html_faults;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use hobcall::grammar::Grammar;
use hobcall::journal::{self, Anchor, Cook, Header, Journal};
use hobcall::kitchen::{At, Event, Input, State, What, decide, next_due};
use hobcall::plan;
use hobcall::record::{self, Args, Ending, Story};
use html_faults::faults;

const CHOPS: &str = "\
plan: \"Six chops <b>twice</b> & \\\"quoted\\\"\"
units: fahrenheit
items:
  chop: {also called: chops, pieces: 6, class: whole cut, piece mass: 250 g, thickness: 25 mm}
samples:
  test chop: {of: chop, mark: \"a pick <script>alert(1)</script>\"}
vessels:
  tray: {kind: tray}
  left skillet: {kind: skillet, places: left middle right}
  right skillet: {kind: skillet, places: left middle right}
  rack: {kind: rack, places: grid 2 x 3}
steps:
  salting: {say: Salt the chops on the tray, vessel: tray, holds: chops, hands on: 5 min}
  fry left:
    after: salting
    say: Three into the left skillet
    vessel: left skillet
    holds: [test chop at left, 2 chops at middle and right]
    flip every: 2 min  # as the pan allows
    until: {core: 145 F}
    out to: rack
    rest: 3 min .. 10 min
  fry right:
    after: salting
    say: Three into the right skillet
    vessel: right skillet
    holds: [3 chops]
    until: {time: \"9 min .. 12 min\"}
    out to: rack
    rest: 3 min .. 10 min
";

struct Stove {
    state: State,
    now: At,
    grammar: Grammar,
    journal: Journal,
    path: PathBuf,
}

impl Stove {
    fn new(folder: &Path, name: &str, text: &str) -> Stove {
        let plan = plan::read(text, "chops.yaml")
            .expect("the plan is good")
            .plan;
        let path = folder.join(name);
        let header = Header {
            hobcall: 1,
            plan_file: "chops.yaml".to_owned(),
            plan: text.to_owned(),
            zone: Some("Europe/Lisbon".to_owned()),
            seed: 7,
        };
        let mut journal = Journal::create(&path, &header).expect("a journal");
        journal.session(&Anchor::now(0)).expect("a session");
        let plan = Arc::new(plan);
        let mut stove = Stove {
            grammar: Grammar::for_plan("en", &plan).expect("a grammar"),
            state: State::new(plan).seeded(header.seed),
            now: At(0),
            journal,
            path,
        };
        stove.put(&Input::Begin);
        stove
    }

    fn put(&mut self, input: &Input) {
        let events = decide(&self.state, input, self.now);
        self.journal.append(&events).expect("on the disk");
        for event in &events {
            self.state.apply(event);
        }
    }

    /// Time runs to this second of the cook, then the cook calls.
    fn at(&mut self, second: i64, words: &str) {
        let until = At(second * 1000);
        while let Some(due) = next_due(&self.state, self.now).filter(|d| *d <= until) {
            self.now = self.now.max(due);
            self.put(&Input::Tick);
        }
        self.now = until;
        let call = self.grammar.calls(words).into_iter().next();
        self.put(&Input::Call {
            call: call.unwrap_or_else(|| panic!("{words:?} is no call")),
            heard: words.to_owned(),
            confidence: 1.0,
        });
    }

    fn read(&self) -> Cook<Event> {
        journal::read::<Event>(&self.path).expect("a journal")
    }
}

/// Fourteen minutes over two pans, with a turn, flips, a call taken back, a corrected
/// reading and a change of heat.
fn cooked(folder: &Path, name: &str, late: i64) -> Stove {
    let mut s = Stove::new(folder, name, CHOPS);
    s.at(300, "next");
    s.at(305, "in they go");
    s.at(320, "start the fry right");
    s.at(330, "heat to medium");
    s.at(430, "left skillet flipped");
    s.at(440, "turned the left skillet");
    s.at(445, "swap left and middle");
    s.at(448, "scratch that");
    s.at(500, "left skillet reading one thirty");
    s.at(504, "no one forty");
    s.at(560, "left skillet flipped");
    s.at(700, "left skillet flipped");
    s.at(760 + late, "left skillet reading one forty seven");
    s.at(765 + late, "left skillet done");
    s.at(770 + late, "same order");
    s.at(1300 + late, "fry right done");
    s
}

fn story(stove: &Stove) -> Story {
    record::story(&stove.read()).expect("its plan is good")
}

fn fold(cook: &Cook<Event>) -> State {
    let plan = plan::read(&cook.header.plan, "chops.yaml")
        .expect("good")
        .plan;
    let mut state = State::new(Arc::new(plan)).seeded(cook.header.seed);
    for (_, event) in &cook.events {
        state.apply(event);
    }
    state
}

#[test]
fn the_journal_comes_back_from_the_json() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    let cook = stove.read();
    let text = record::to_json(&cook, &story(&stove)).expect("JSON");
    let back = record::from_json(&text).expect("a record");
    assert_eq!(back, cook, "every event, session and the plan");
    assert!(fold(&back).is_like(&stove.state));
    assert!(cook.events.len() > 30, "{} events", cook.events.len());

    let gone = text.replacen("\"n\": 3,", "\"n\": 4,", 1);
    assert!(matches!(
        record::from_json(&gone),
        Err(record::NotARecord::Gap {
            found: 4,
            expected: 3
        })
    ));
    let newer = text.replacen("\"record\": 1", "\"record\": 2", 1);
    assert!(matches!(
        record::from_json(&newer),
        Err(record::NotARecord::Version { found: 2 })
    ));
    assert!(record::from_json("{}").is_err());
}

#[test]
fn a_running_cook_and_a_torn_journal_have_a_record() {
    let folder = tempfile::tempdir().expect("a folder");
    // The stove keeps its journal open and locked all the while.
    let stove = cooked(folder.path(), "a.journal", 0);
    let running = story(&stove);
    assert!(matches!(running.ending, Ending::Open(_)));
    assert_eq!(running.torn, None);

    let bytes = fs::read(&stove.path).expect("bytes");
    let torn = folder.path().join("torn.journal");
    fs::write(&torn, &bytes[..bytes.len() - 17]).expect("a torn copy");
    let cook = journal::read::<Event>(&torn).expect("the good part");
    let story = record::story(&cook).expect("its plan is good");
    assert!(story.torn.is_some_and(|n| n > 0));
    let page = record::page(&[("torn.journal".to_owned(), story.clone())]);
    assert!(page.contains("has not been ended"), "said on the page");
    assert!(page.contains("was cut short"), "said on the page");
    let text = record::to_json(&cook, &story).expect("JSON");
    assert_eq!(record::from_json(&text).expect("a record"), cook);

    let nothing = Stove::new(folder.path(), "begun.journal", CHOPS);
    let story = record::story(&nothing.read()).expect("its plan is good");
    let page = record::page(&[("begun.journal".to_owned(), story)]);
    assert_eq!(faults(&page), Vec::<String>::new());
}

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
fn the_page_is_html_stands_alone_and_shows_markup_as_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut stove = cooked(folder.path(), "a.journal", 0);
    let note = Event {
        at: stove.now,
        call: None,
        heard: Some("<img src=x onerror=alert(2)>".to_owned()),
        what: What::Noted {
            text: Some("crust </style></td><script>alert(3)</script> & \"dark\"".to_owned()),
        },
    };
    stove.journal.append(&[note]).expect("on the disk");
    let second = cooked(folder.path(), "b.journal", 120);
    let one = record::page(&[("a<i>.journal".to_owned(), story(&stove))]);
    let two = record::page(&[
        ("a.journal".to_owned(), story(&stove)),
        ("b.journal".to_owned(), story(&second)),
    ]);
    for page in [&one, &two] {
        assert_eq!(faults(page), Vec::<String>::new());
        for loads in ["url(", "@import"] {
            assert!(!page.to_lowercase().contains(loads), "{loads} in the page");
        }
        assert!(page.contains("&lt;script&gt;alert(1)"), "the mark, as text");
        assert!(page.contains("&lt;script&gt;alert(3)"), "the note, as text");
        let ids: Vec<&str> = page
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        let mut once = ids.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), ids.len(), "{ids:?}");
    }
    // A time line, a curve for the left skillet, and maps with the marked piece.
    assert!(one.matches("<svg role=\"img\" aria-label=").count() >= 6);
    assert!(one.contains("left skillet: core readings"));
    assert!(
        one.contains("test chop: second side down"),
        "a map says the side"
    );
    assert!(one.contains("target 145 °F"));
    assert!(two.contains("Cook 2: fry left took 2 min longer."));
    assert!(
        !two.contains("seed"),
        "nothing on the page tells a blind code"
    );
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
    let json = record::to_json(&s.read(), &story).expect("JSON");
    assert!(json.contains("bone or oil"));
}

#[test]
fn an_open_tasting_tells_nothing_and_a_closed_one_all() {
    use hobcall::tasting::{Tasting, Which};
    let folder = tempfile::tempdir().expect("a folder");
    let mut s = cooked(folder.path(), "a.journal", 0);
    s.at(1400, "triangle test with three tasters");
    s.at(1410, "serving sheet");
    s.at(1415, "yes");
    let open = story(&s);
    assert!(open.state.is_tasting());
    let page = record::page(&[("a.journal".to_owned(), open.clone())]);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains("The tasting is open"));
    let Some(Tasting::Open(table)) = open.state.tasting() else {
        panic!("it is open")
    };
    // Only a test may look at the key.
    let sheet = table.plater_sheet();
    let odd = |taster: usize| {
        let servings = &sheet.rows[taster].servings;
        let count = |w: Which| servings.iter().filter(|s| s.sample == w).count();
        let found = servings.iter().find(|s| count(s.sample) == 1);
        found.expect("one is odd").code
    };
    let digits =
        |code: hobcall::tasting::Code| hobcall::voice::numbers::digits(f64::from(code.number()));
    let told = record::replay(&s.read()).expect("its plan is good");
    let plate = told.said.iter().find(|l| l.for_the_plater);
    let plate = plate.expect("a plate was said").text.clone();
    let sheets = record::sheets(&open).expect("tables");
    for text in sheets.iter().map(|s| &s.1).chain([&page]) {
        assert!(
            !text.contains(&plate),
            "what was said to whoever plates: {plate}"
        );
        assert!(!text.contains("seed"), "the seed");
    }

    let mut at = 1500;
    for (taster, name) in ["one", "two", "three"].into_iter().enumerate() {
        let said = format!("taster {name} {} is the odd one", digits(odd(taster)));
        s.at(at, &said);
        s.at(at + 5, "yes");
        at += 10;
    }
    s.at(at, "close the tasting");
    let closed = story(&s);
    assert!(!closed.state.is_tasting());
    let page = record::page(&[("a.journal".to_owned(), closed)]);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains(&plate), "now the plates may be read");
    // Three of three by guessing alone: (1/3)^3 = 1/27 = 0.0370 (arithmetic).
    assert!(
        page.contains("3 of 3 answers right, 0 of them guesses"),
        "the count"
    );
    assert!(page.contains("0.0370"), "the chance");
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
fn the_tables_read_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    let story = story(&stove);
    let sheets = record::sheets(&story).expect("tables");
    for (name, text) in &sheets {
        let mut reader = csv::ReaderBuilder::new().from_reader(text.as_bytes());
        let width = reader.headers().expect("a header").len();
        for record in reader.records() {
            let record = record.unwrap_or_else(|e| panic!("{name}: {e}"));
            assert_eq!(record.len(), width, "{name}");
        }
        // RFC 4180, section 2, rule 1: a line break is CRLF.
        assert_eq!(
            text.matches('\n').count(),
            text.matches("\r\n").count(),
            "{name}"
        );
    }
    let sheet = |name: &str| &sheets.iter().find(|s| s.0 == name).expect(name).1;
    assert!(sheet("readings.csv").contains("500.000,"));
    assert!(
        sheet("readings.csv").contains(",140,140,°F,60.00,60.00,62.78,"),
        "140 °F is 60 °C"
    );
    assert_eq!(sheet("calls.csv").lines().count(), story.lines.len() + 1);
    assert!(
        sheet("calls.csv").contains("\"Heard one three zero, left skillet."),
        "a comma is quoted"
    );
}

fn args(journals: &[&Path]) -> Args {
    Args {
        journals: journals.iter().map(|p| p.to_path_buf()).collect(),
        html: None,
        csv: None,
        json: None,
        correct: None,
        accept: None,
    }
}

fn ran(args: &Args) -> Result<String, String> {
    let mut out = Vec::new();
    record::run(args, &mut out).map_err(|e| e.to_string())?;
    Ok(String::from_utf8(out).expect("text"))
}

#[test]
fn the_command_writes_what_is_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    ran(&args(&[&stove.path])).expect("the page beside the journal");
    let page = fs::read_to_string(folder.path().join("a.html")).expect("it is there");
    assert!(page.starts_with("<!DOCTYPE html>"));

    let mut all = args(&[&stove.path]);
    all.json = Some(folder.path().join("out/a.json"));
    all.csv = Some(folder.path().join("out/a"));
    ran(&all).expect("JSON and tables");
    let json = fs::read_to_string(folder.path().join("out/a.json")).expect("it is there");
    assert_eq!(record::from_json(&json).expect("a record"), stove.read());
    assert!(folder.path().join("out/a/readings.csv").exists());

    all.journals.push(stove.path.clone());
    let why = ran(&all).expect_err("JSON of two cooks");
    assert!(why.contains("one journal"), "{why}");
    let none = ran(&args(&[&folder.path().join("none.journal")])).expect_err("no file");
    assert!(none.contains("none.journal"), "{none}");
    let before = fs::read(&stove.path).expect("bytes");
    fs::write(folder.path().join("x.journal"), "no journal\n").expect("a file");
    let wrong = ran(&args(&[&folder.path().join("x.journal")])).expect_err("no journal");
    assert!(wrong.contains("not a Hobcall journal"), "{wrong}");
    assert_eq!(fs::read(&stove.path).expect("bytes"), before, "only read");
}

#[test]
fn a_plan_is_corrected_only_where_the_cook_accepts() {
    let folder = tempfile::tempdir().expect("a folder");
    let stove = cooked(folder.path(), "a.journal", 0);
    let path = folder.path().join("chops.yaml");
    fs::write(&path, CHOPS).expect("a plan");
    let mut correct = args(&[&stove.path]);
    correct.correct = Some(path.clone());

    // Flips at 2:05, 4:15 and 6:35 after the food went in: the middle gap is 2:10, near
    // enough to the plan's two minutes. The right pan took 16:20 where twelve were the most.
    let said = ran(&correct).expect("proposals");
    assert!(
        said.contains(
            "1. fry right took 16 min, the plan says 9 min .. 12 min: update to 9 min .. 16 min?"
        ),
        "{said}"
    );
    assert!(!said.contains("2. "), "{said}");
    assert!(
        said.contains("-    until: {time: \"9 min .. 12 min\"}"),
        "{said}"
    );
    assert!(
        said.contains("+    until: {time: 9 min .. 16 min}"),
        "{said}"
    );
    assert_eq!(
        fs::read_to_string(&path).expect("plan"),
        CHOPS,
        "nothing changed yet"
    );

    correct.accept = Some("2".to_owned());
    let why = ran(&correct).expect_err("there is no second");
    assert!(why.contains("there are 1"), "{why}");
    correct.accept = Some("all".to_owned());
    ran(&correct).expect("accepted");
    let then = fs::read_to_string(&path).expect("plan");
    assert_eq!(
        then,
        CHOPS.replace("\"9 min .. 12 min\"", "9 min .. 16 min"),
        "the one value and nothing else"
    );
    correct.accept = None;
    let said = ran(&correct).expect("again");
    assert!(said.contains("nothing to correct"), "{said}");
}

#[test]
fn neither_a_shorter_rest_nor_a_temperature_is_proposed() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "\
plan: One chop
units: fahrenheit
items:
  chop: {pieces: 1, class: whole cut}
vessels:
  pan: {kind: skillet}
  rack: {kind: rack}
steps:
  frying: {say: Fry, vessel: pan, holds: chop, until: {core: 145 F}, out to: rack, rest: 10 min .. 12 min}
  serving: {say: Serve, hands on: 2 min}
";
    let mut s = Stove::new(folder.path(), "a.journal", text);
    s.at(200, "reading one thirty");
    s.at(210, "pan done");
    s.at(215, "yes");
    s.at(260, "start the serving");
    s.at(262, "yes");
    s.at(400, "next");
    let story = story(&s);
    assert!(
        story.steps.iter().all(|s| s.ended.is_some()),
        "{:?}",
        story.steps
    );
    let plan = plan::read(text, "x").expect("good").plan;
    assert_eq!(record::propose(&plan, &story), []);
}
