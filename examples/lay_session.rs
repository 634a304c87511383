//! Gives the calls of a session in `audio-fixtures/` their times: plays the cook on a
//! stepped time line, with the replies rendered by the real voice, and lets every call
//! begin when what is said before it is over. Prints the table that `make-session.py`
//! speaks, and on the other channel the dialogue.
//!
//! Run it again when the wording, the plan or the calls have changed:
//! `cargo run --example lay_session session >audio-fixtures/session.tsv`

use std::sync::Arc;

use hobcall::grammar::Grammar;
use hobcall::kitchen::{At, Input, State, decide, next_due, replies};
use hobcall::plan;
use hobcall::voice::wording::{self, WordingCtx};
use hobcall::voice::{Config, Output, Voice, VoiceEvent};

/// From the end of a call to the decision of a slow ear, seconds.
const DECIDE: f64 = 0.8;
/// Silence that a polite cook leaves before the next call, seconds.
const GAP: f64 = 1.2;

/// Every session with its plan and the number (`--seed`) that its tasting is dealt from.
const SESSIONS: [(&str, &str, u64); 2] = [
    ("session", "pork-chops-two-brines.yaml", 20),
    ("tasting", "aubergine-salted-or-peppered.yaml", 20),
];

struct Session {
    state: State,
    voice: Voice,
    ctx: WordingCtx,
    now: f64,
}

impl Session {
    fn put(&mut self, input: &Input) {
        let at = At((self.now * 1000.0) as i64);
        for event in decide(&self.state, input, at) {
            let before = self.state.clone();
            self.state.apply(&event);
            for reply in replies(&before, &event, &self.state) {
                let utterance = wording::word(&reply, &wording::ctx_for(&self.state, &self.ctx));
                eprintln!("{:7.1}  tool: {}", self.now, utterance.text);
                self.voice.say(utterance);
            }
        }
    }

    fn due(&self) -> Option<f64> {
        next_due(&self.state, At((self.now * 1000.0) as i64)).map(|at| at.0 as f64 / 1000.0)
    }

    /// Time passes up to `until`, with whatever the tool says unasked.
    fn pass(&mut self, until: f64) {
        while self.now < until {
            self.now = (self.now + 0.05).min(until);
            if self.due().is_some_and(|due| due <= self.now) {
                self.put(&Input::Tick);
            }
            self.voice.advance_to(self.now);
        }
    }

    /// Until nothing has been said for [`GAP`] and nothing will be within a call's time.
    fn settle(&mut self, call: f64) {
        let mut quiet_since = self.now;
        loop {
            self.pass(self.now + 0.1);
            let news = self
                .voice
                .events()
                .try_iter()
                .any(|e| matches!(e, VoiceEvent::Began { .. } | VoiceEvent::Ended { .. }));
            if news || self.voice.is_speaking() {
                quiet_since = self.now;
            }
            let soon = self.due().is_some_and(|due| due < self.now + call + DECIDE);
            if self.now - quiet_since >= GAP && !soon {
                return;
            }
        }
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let name = std::env::args().nth(1).unwrap_or_default();
    let (_, file, seed) = SESSIONS
        .iter()
        .find(|(known, ..)| *known == name)
        .ok_or_else(|| format!("say which session: {}", SESSIONS.map(|s| s.0).join(" or ")))?;
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let calls = std::fs::read_to_string(root.join("audio-fixtures").join(format!("{name}.calls")))?;
    let text = std::fs::read_to_string(root.join("plans").join(file))?;
    let plan = plan::read(&text, file)
        .map_err(|problems| format!("{problems:?}"))?
        .plan;
    // A cook says clock times, which are long: a morning that is far off is the longest.
    let mut ctx = WordingCtx::new(plan.units);
    ctx.wall = Some((At(0), "2026-11-24T23:21:00+00:00[UTC]".parse()?));
    let plan = Arc::new(plan);
    let grammar = Grammar::for_plan("en", &plan)?;
    let mut session = Session {
        state: State::new(plan).seeded(*seed),
        voice: Voice::start(Config {
            output: Output::Stepped,
            ..Config::default()
        })?,
        ctx,
        now: 0.0,
    };
    println!("# at (seconds), voice, words; made by examples/lay_session.rs");
    session.put(&Input::Begin);
    for line in calls.lines().filter(|l| !l.starts_with('#')) {
        let (voice, words) = line.split_once('\t').ok_or("voice, tab, words")?;
        let heard = grammar.calls(words);
        let [call] = heard.as_slice() else {
            return Err(format!("\"{words}\" is {heard:?}").into());
        };
        // Slower than any of the voices.
        let length = 0.4 + 0.38 * words.split(' ').count() as f64;
        session.settle(length);
        eprintln!("{:7.1}  cook: {words}", session.now);
        println!("{:.1}\t{voice}\t{words}", session.now);
        session.pass(session.now + length + DECIDE);
        session.put(&Input::Call {
            call: call.clone(),
            heard: words.to_owned(),
            confidence: 1.0,
        });
    }
    session.settle(0.0);
    println!("{:.1}\tend\t", session.now + 1.0);
    Ok(())
}
