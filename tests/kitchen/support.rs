//! A cook at the stove for the tests: typed calls go through the real grammar into the
//! real engine, time passes by ticking only when the engine asks for it, and what is
//! said comes back as words.

#![allow(dead_code)]

use std::sync::Arc;

use hobcall::grammar::{Call, Grammar};
use hobcall::kitchen::{At, Event, Input, Reply, State, decide, next_due, replies};
use hobcall::plan::{self, Plan};
use hobcall::voice::wording::{self, WordingCtx};
use hobcall::voice::{Urgency, Utterance};

pub struct Cook {
    pub state: State,
    pub now: At,
    pub events: Vec<Event>,
    pub grammar: Grammar,
    pub ctx: WordingCtx,
    /// All that was said, with the time.
    pub said: Vec<(At, Utterance)>,
}

/// Six chops in two pans, two of them marked: one with a pick that is seen from both
/// sides, one with a notch that a flip hides.
pub const SIX_CHOPS: &str = "
plan: Six chops
units: fahrenheit
items:
  chop: {also called: chops, pieces: 6, class: whole cut, piece mass: 250 g, thickness: 25 mm}
samples:
  test chop: {of: chop, mark: a pick}
  notched chop: {of: chop, mark: a notch, mark seen: from above}
vessels:
  tray: {kind: tray}
  left skillet: {kind: skillet, places: left middle right}
  right skillet: {kind: skillet, places: left middle right}
  rack: {kind: rack, places: grid 2 x 3}
  platter: {kind: plate, places: left middle right}
steps:
  salting: {say: Salt the chops on the tray, vessel: tray, holds: chops, hands on: 5 min}
  fry left:
    after: salting
    say: Three into the left skillet
    vessel: left skillet
    holds: [test chop at left, 2 chops at middle and right]
    flip every: 2 min
    until: {core: 145 F}
    out to: rack
    rest: 3 min .. 10 min
  fry right:
    after: salting
    say: Three into the right skillet
    vessel: right skillet
    holds: [notched chop, 2 chops]
    flip every: 3 min
    until: {time: 9 min .. 12 min}
    out to: rack
    rest: 3 min .. 10 min
  plating:
    after: [fry left, fry right]
    say: Everything onto the platter
    vessel: platter
    holds: [test chop, notched chop]
    hands on: 3 min
";

/// Both pans of [`SIX_CHOPS`] on the fire, at 0:30 and 1:00.
pub fn frying() -> Cook {
    let mut cook = Cook::with(SIX_CHOPS);
    cook.waits(30.0);
    assert_eq!(
        cook.says("next"),
        "Done, salting. Three into the left skillet. Flip every two minutes."
    );
    cook.waits(30.0);
    assert_eq!(
        cook.says("next"),
        "Three into the right skillet. Nine to twelve minutes, flip every three minutes."
    );
    cook
}

pub fn plan(text: &str) -> Plan {
    match plan::read(text, "test.yaml") {
        Ok(checked) => checked.plan,
        Err(problems) => panic!(
            "{}",
            problems
                .iter()
                .map(|p| format!("{p}\n"))
                .collect::<String>()
        ),
    }
}

impl Cook {
    /// A cook with this plan, begun at zero.
    pub fn with(text: &str) -> Cook {
        Cook::of(plan(text))
    }

    pub fn of(plan: Plan) -> Cook {
        let plan = Arc::new(plan);
        let grammar = Grammar::for_plan("en", &plan).unwrap_or_else(|e| panic!("{e}"));
        let ctx = WordingCtx::new(plan.units);
        let mut cook = Cook {
            state: State::new(plan),
            now: At(0),
            events: Vec::new(),
            grammar,
            ctx,
            said: Vec::new(),
        };
        cook.put(&Input::Begin);
        cook
    }

    /// One input at the present moment; what is said to it.
    pub fn put(&mut self, input: &Input) -> Vec<Utterance> {
        let events = decide(&self.state, input, self.now);
        let mut all = Vec::new();
        for event in events {
            for reply in self.apply(event) {
                let ctx = wording::ctx_for(&self.state, &self.ctx);
                let utterance = wording::word(&reply, &ctx);
                assert!(!utterance.text.is_empty(), "no words for {reply:?}");
                self.said.push((self.now, utterance.clone()));
                all.push(utterance);
            }
        }
        all
    }

    fn apply(&mut self, event: Event) -> Vec<Reply> {
        // What is on disk is what counts.
        let line = serde_json::to_string(&event).expect("an event is JSON");
        let event: Event = serde_json::from_str(&line).unwrap_or_else(|e| panic!("{e}: {line}"));
        let before = self.state.clone();
        self.state.apply(&event);
        let all = replies(&before, &event, &self.state);
        self.events.push(event);
        all
    }

    /// The cook calls `words`; the answer as one text.
    pub fn says(&mut self, words: &str) -> String {
        self.says_at(words, 1.0)
    }

    pub fn says_at(&mut self, words: &str, confidence: f32) -> String {
        let mut calls = self.grammar.calls(words);
        assert_eq!(calls.len(), 1, "{words:?} is {calls:?}");
        self.calls_at(calls.remove(0), words, confidence)
    }

    pub fn calls(&mut self, call: Call) -> String {
        let words = format!("{call:?}");
        self.calls_at(call, &words, 1.0)
    }

    pub fn calls_at(&mut self, call: Call, words: &str, confidence: f32) -> String {
        text(&self.put(&Input::Call {
            call,
            heard: words.to_owned(),
            confidence,
        }))
    }

    /// Time passes; what is said unasked, with its time in seconds.
    pub fn waits(&mut self, seconds: f64) -> Vec<(f64, String)> {
        let until = self.now.plus((seconds * 1000.0) as i64);
        let mut all = Vec::new();
        while let Some(due) = next_due(&self.state, self.now).filter(|d| *d <= until) {
            self.now = self.now.max(due);
            let said = self.put(&Input::Tick);
            assert!(
                !self.events.is_empty(),
                "a tick at next_due must have something to say"
            );
            all.extend(
                said.into_iter()
                    .map(|u| (self.now.0 as f64 / 1000.0, u.text)),
            );
        }
        self.now = until;
        all
    }

    /// Like [`Self::waits`], the words only.
    pub fn hears(&mut self, seconds: f64) -> Vec<String> {
        self.waits(seconds).into_iter().map(|(_, t)| t).collect()
    }

    pub fn alarms(&self) -> usize {
        self.said
            .iter()
            .filter(|(_, u)| u.urgency == Urgency::Alarm)
            .count()
    }
}

pub fn text(said: &[Utterance]) -> String {
    said.iter()
        .map(|u| u.text.as_str())
        .collect::<Vec<_>>()
        .join(" ")
}
