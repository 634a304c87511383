//! A cook whose journal lies on the disk.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use hobcall::grammar::Grammar;
use hobcall::journal::{self, Anchor, Cook, Header, Journal};
use hobcall::kitchen::{At, Event, Input, State, decide, next_due};
use hobcall::plan;
use hobcall::record::{self, Story};

pub const CHOPS: &str = "\
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

pub struct Stove {
    pub state: State,
    pub now: At,
    pub grammar: Grammar,
    pub journal: Journal,
    pub path: PathBuf,
}

impl Stove {
    pub fn new(folder: &Path, name: &str, text: &str) -> Stove {
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

    pub fn put(&mut self, input: &Input) {
        let events = decide(&self.state, input, self.now);
        self.journal.append(&events).expect("on the disk");
        for event in &events {
            self.state.apply(event);
        }
    }

    /// Time runs to this second of the cook, then the cook calls.
    pub fn at(&mut self, second: i64, words: &str) {
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

    pub fn read(&self) -> Cook<Event> {
        journal::read::<Event>(&self.path).expect("a journal")
    }
}

/// Fourteen minutes over two pans, with a turn, flips, a call taken back, a corrected
/// reading and a change of heat.
pub fn cooked(folder: &Path, name: &str, late: i64) -> Stove {
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

pub fn story(stove: &Stove) -> Story {
    record::story(&stove.read()).expect("its plan is good")
}

pub fn fold(cook: &Cook<Event>) -> State {
    let plan = plan::read(&cook.header.plan, "chops.yaml")
        .expect("good")
        .plan;
    let mut state = State::new(Arc::new(plan)).seeded(cook.header.seed);
    for (_, event) in &cook.events {
        state.apply(event);
    }
    state
}
