//! How fast the step engine is: events folded a second, and the time from a call to
//! its words. Figures for a table, no judgement.

use std::sync::Arc;
use std::time::{Duration, Instant};

use hobcall::grammar::{Call, Order, ReadingKind, Subject, Turn};
use hobcall::kitchen::{At, Event, Input, State, decide, next_due, replies};
use hobcall::plan::{self, Span};
use hobcall::voice::wording::{WordingCtx, word};

const PLAN: &str = include_str!("../plans/pork-chops-two-brines.yaml");

/// A busy cook, call after call, over and over; the time of each is two seconds on.
fn calls() -> Vec<Call> {
    let left = || Some("left_skillet".to_owned());
    let reading = |at: f64| Call::Reading {
        about: Some(Subject::Vessel("left_skillet".into())),
        kind: ReadingKind::Core,
        value: Span { lo: at, hi: at },
        unit: None,
    };
    vec![
        reading(120.0),
        Call::Flipped {
            what: Some(Subject::Vessel("left_skillet".into())),
        },
        Call::Turned {
            vessel: left(),
            turn: Turn::Half,
        },
        Call::WhereIs {
            piece: "test_chop".into(),
        },
        Call::Timer {
            duration: Duration::from_secs(240),
            name: Some("rice".into()),
        },
        Call::No {
            value: Some(Span {
                lo: 115.0,
                hi: 115.0,
            }),
        },
        reading(130.0),
        Call::ScratchThat,
        Call::OutTo {
            from: Some("rack".into()),
            to: "board".into(),
            order: Some(Order::Kept),
        },
        Call::Status,
    ]
}

fn main() {
    let plan = match plan::read(PLAN, "pork-chops-two-brines.yaml") {
        Ok(checked) => Arc::new(checked.plan),
        Err(problems) => {
            for p in problems {
                eprintln!("{p}");
            }
            std::process::exit(1);
        }
    };
    let ctx = WordingCtx::new(plan.units);
    let mut state = State::new(plan.clone());
    let mut now = At(0);
    let mut events: Vec<Event> = Vec::new();
    let mut latencies: Vec<Duration> = Vec::new();
    let mut said = 0usize;
    let mut take = |state: &mut State, input: &Input, now: At| {
        let start = Instant::now();
        for event in decide(state, input, now) {
            let before = state.clone();
            state.apply(&event);
            for reply in replies(&before, &event, state) {
                said += word(&reply, &ctx).text.len();
            }
            events.push(event);
        }
        start.elapsed()
    };
    take(&mut state, &Input::Begin, now);
    for id in ["dry_salting", "wet_brine", "fry_left", "fry_right"] {
        let call = Call::Start {
            what: Subject::Step(id.into()),
        };
        for call in [call, Call::Yes] {
            now = now.plus(2_000);
            let heard = String::from("start it");
            take(
                &mut state,
                &Input::Call {
                    call,
                    heard,
                    confidence: 1.0,
                },
                now,
            );
        }
    }
    let calls = calls();
    for i in 0..4_000 {
        now = now.plus(2_000);
        while let Some(due) = next_due(&state, now).filter(|d| *d <= now) {
            take(&mut state, &Input::Tick, due.max(At(0)));
        }
        let call = calls[i % calls.len()].clone();
        let input = Input::Call {
            call,
            heard: "words".into(),
            confidence: 1.0,
        };
        latencies.push(take(&mut state, &input, now));
    }
    latencies.sort();
    let at = |share: f64| latencies[((latencies.len() - 1) as f64 * share) as usize];

    // The same events again, many times over, as a journal is folded at a start.
    let rounds = 20;
    let start = Instant::now();
    let mut folded = 0usize;
    for _ in 0..rounds {
        let mut again = State::new(plan.clone());
        for event in &events {
            again.apply(event);
        }
        folded += again.events();
    }
    let fold = start.elapsed();
    println!("step engine                          ");
    println!("  events of the cook       {:>10}", events.len());
    println!(
        "  events folded a second   {:>10.0}",
        folded as f64 / fold.as_secs_f64()
    );
    println!(
        "  call to words, median    {:>10.3} ms",
        at(0.5).as_secs_f64() * 1e3
    );
    println!(
        "  call to words, p99       {:>10.3} ms",
        at(0.99).as_secs_f64() * 1e3
    );
    println!(
        "  call to words, worst     {:>10.3} ms",
        at(1.0).as_secs_f64() * 1e3
    );
    println!("  characters said          {said:>10}");
}
