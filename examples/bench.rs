//! `make bench`: what the spoken cook costs and how well it hears, as one table.
//!
//! Everything is measured on the release binary: calls on the recorded session, the
//! time from the end of a call to the sound of its reply through a real (private,
//! silent) sound server, CPU and memory of that run, and the engine and the journal alone.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use hobcall::grammar::{ActiveSet, Call, Grammar};
use hobcall::journal::{CookClock, Header, Journal};
use hobcall::kitchen::{At, Event, Input, State, decide};
use hobcall::plan::{self, Plan};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const PLAN: &str = "plans/pork-chops-two-brines.yaml";
const SESSION: &str = "audio-fixtures/session.flac";
const TRUTH: &str = "audio-fixtures/session.truth.tsv";
type Fallible<T> = Result<T, Box<dyn std::error::Error>>;

struct Truth {
    from: f64,
    to: f64,
    words: String,
}

fn main() -> Fallible<()> {
    std::env::set_current_dir(ROOT)?;
    let text = std::fs::read_to_string(PLAN)?;
    let plan = Arc::new(plan::read(&text, PLAN).map_err(|p| format!("{p:?}"))?.plan);
    let truth = truth()?;
    println!("{:<52} {:>16}", "", "measured");
    accuracy(&plan, &truth)?;
    live()?;
    engine(&plan)?;
    journal(&text)?;
    Ok(())
}

fn row(what: &str, value: String) {
    println!("{what:<52} {value:>16}");
}

fn truth() -> Fallible<Vec<Truth>> {
    std::fs::read_to_string(TRUTH)?
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let f: Vec<&str> = line.split('\t').collect();
            let [from, to, _, words] = f.as_slice() else {
                return Err(format!("truth line {line:?}").into());
            };
            Ok(Truth {
                from: from.parse()?,
                to: to.parse()?,
                words: (*words).to_owned(),
            })
        })
        .collect()
}

fn accuracy(plan: &Plan, truth: &[Truth]) -> Fallible<()> {
    let grammar = Grammar::for_plan("en", plan)?.restricted(&ActiveSet::answering())?;
    let out = Command::new("target/release/hobcall")
        .args([
            "hear",
            "--plan",
            PLAN,
            "--active",
            "talking,answering",
            "--json",
            SESSION,
        ])
        .output()?;
    let mut heard = Vec::new();
    for line in String::from_utf8(out.stdout)?.lines() {
        let line: serde_json::Value = serde_json::from_str(line)?;
        let number = |key: &str| line[key].as_f64().unwrap_or(0.0);
        let words = line["words"].as_str().unwrap_or("").to_owned();
        heard.push((number("from"), number("to"), words, number("decided_after")));
    }
    let mean = |words: &str| -> Vec<Call> { grammar.calls(words) };
    let (mut right, mut wrong, mut invented) = (0, 0, 0);
    let mut waits = Vec::new();
    for (from, to, words, wait) in heard.iter().filter(|h| !h.2.is_empty()) {
        match truth.iter().find(|t| t.from < *to && t.to > *from) {
            Some(t) if mean(words) == mean(&t.words) => {
                right += 1;
                waits.push(*wait * 1000.0);
            }
            Some(_) => wrong += 1,
            None => invented += 1,
        }
    }
    let missed = truth.len() as i64 - right - wrong;
    row(
        "calls of the session right, of all",
        format!("{right} of {}", truth.len()),
    );
    row(
        "taken for another call / not taken / invented",
        format!("{wrong} / {missed} / {invented}"),
    );
    row(
        "end of speech to decision, median / p95",
        spread(&mut waits, "ms"),
    );
    Ok(())
}

/// Through the sound server: the reply's first sound after the end of each call.
fn live() -> Fallible<()> {
    let dir = tempfile::tempdir()?;
    session(dir.path(), "20", "1", "")?;
    let (speaker, mic) = (
        wave(&dir.path().join("speaker.raw"))?,
        wave(&dir.path().join("mic.raw"))?,
    );
    let mut waits = Vec::new();
    let said = std::fs::read_to_string(dir.path().join("said"))?;
    for line in said.lines() {
        let after: usize = line.split(' ').next().unwrap_or("").parse()?;
        // The last 10 ms before it that are louder than the room.
        let Some(end) = last_loud(mic.get(..after).unwrap_or(&mic)) else {
            continue;
        };
        let reply = speaker.get(end..).unwrap_or(&[]).iter().take(16_000 * 3);
        if let Some(n) = reply.copied().position(|s| s.unsigned_abs() > 300) {
            waits.push(n as f64 / 16.0);
        }
    }
    row(
        &format!(
            "end of speech to sound of the reply ({}), median / p95",
            waits.len()
        ),
        spread(&mut waits, "ms"),
    );
    let busy = usage(dir.path())?;
    // Alone with the room's noise, and with another program that asks the microphone for
    // pieces of 10 ms: every reader of that microphone gets them.
    let alone = tempfile::tempdir()?;
    session(alone.path(), "0", "0", "")?;
    let quiet = usage(alone.path())?;
    let beside = tempfile::tempdir()?;
    session(beside.path(), "0", "0", "10")?;
    let pieces = usage(beside.path())?;
    // A tick of the kernel's CPU accounting is 10 ms.
    let share = |a: (f64, f64, f64), b: (f64, f64, f64)| (b.1 - a.1) * 10.0 / (b.0 - a.0) * 100.0;
    row(
        "CPU of one core while calls and replies go on",
        format!("{:.1} %", share(busy[0], busy[1])),
    );
    row(
        "CPU of one core while the kitchen is quiet",
        format!("{:.1} %", share(quiet[2], quiet[3])),
    );
    row(
        "the same, the microphone asked for 10 ms pieces",
        format!("{:.1} %", share(pieces[2], pieces[3])),
    );
    row(
        "peak resident memory",
        format!("{:.0} MiB", busy[3].2 / 1024.0),
    );
    Ok(())
}

fn session(dir: &Path, calls: &str, loopback: &str, pieces: &str) -> Fallible<()> {
    let out = Command::new("scripts/ci-audio.sh")
        .env("QUIET", "10")
        .env("LOOPBACK", loopback)
        .env("PIECES", pieces)
        .args([
            "scripts/live-session.sh",
            "target/release/hobcall",
            PLAN,
            SESSION,
            TRUTH,
            calls,
        ])
        .arg(dir)
        .output()?;
    if !out.status.success() {
        return Err(String::from_utf8_lossy(&out.stderr).into_owned().into());
    }
    Ok(())
}

/// Milliseconds of the machine, ticks of CPU, peak KiB: begun, heard, quiet, end.
fn usage(dir: &Path) -> Fallible<Vec<(f64, f64, f64)>> {
    let text = std::fs::read_to_string(dir.join("usage"))?;
    let all: Vec<_> = text
        .lines()
        .filter_map(|line| {
            let mut n = line.split(' ').skip(1).filter_map(|f| f.parse().ok());
            Some((n.next()?, n.next()?, n.next()?))
        })
        .collect();
    if all.len() == 4 {
        Ok(all)
    } else {
        Err("no usage".into())
    }
}

/// Where sound well above the room's noise ends.
fn last_loud(mic: &[i16]) -> Option<usize> {
    let power = |block: &[i16]| block.iter().map(|&s| f64::from(s).powi(2)).sum::<f64>();
    let last = &mic[mic.len().saturating_sub(16_000 * 2)..];
    let mut powers: Vec<f64> = last.chunks(160).map(power).collect();
    let of: Vec<f64> = powers.clone();
    powers.sort_by(f64::total_cmp);
    let room = *powers.get(powers.len() / 5)?;
    let block = of.iter().rposition(|&p| p > 10.0 * room)?;
    Some(mic.len() - last.len() + (block + 1) * 160)
}

fn wave(path: &Path) -> Fallible<Vec<i16>> {
    let raw = std::fs::read(path)?;
    Ok(raw
        .as_chunks::<2>()
        .0
        .iter()
        .map(|s| i16::from_le_bytes(*s))
        .collect())
}

fn engine(plan: &Arc<Plan>) -> Fallible<()> {
    let grammar = Grammar::for_plan("en", plan)?;
    let calls: Vec<Call> = [
        "status",
        "timer four minutes",
        "scratch that",
        "next",
        "left skillet reading one thirty",
        "note",
        "louder",
    ]
    .iter()
    .flat_map(|words| grammar.calls(words))
    .collect();
    let mut state = State::new(plan.clone());
    let mut events: Vec<Event> = Vec::new();
    let mut put = |state: &mut State, input: &Input, at: i64| {
        for event in decide(state, input, At(at)) {
            state.apply(&event);
            events.push(event);
        }
    };
    put(&mut state, &Input::Begin, 0);
    for n in 0..3000 {
        let call = calls[n % calls.len()].clone();
        let input = Input::Call {
            call,
            heard: String::new(),
            confidence: 1.0,
        };
        put(&mut state, &input, n as i64 * 1000);
    }
    let start = Instant::now();
    let mut again = State::new(plan.clone());
    for event in &events {
        again.apply(event);
    }
    let rate = events.len() as f64 / start.elapsed().as_secs_f64();
    assert!(again == state, "a replay gives another state");
    row("engine, events folded a second", format!("{rate:.0}"));
    Ok(())
}

fn journal(plan: &str) -> Fallible<()> {
    // Beside the build, not in a temporary folder that may be memory.
    let dir = tempfile::tempdir_in("target")?;
    let header = Header {
        hobcall: 1,
        plan_file: "bench".into(),
        plan: plan.into(),
        zone: None,
        seed: 0,
    };
    let mut journal = Journal::create(&dir.path().join("bench.journal"), &header)?;
    journal.session(CookClock::begin().anchor())?;
    let mut waits = Vec::new();
    for n in 0..2000 {
        let start = Instant::now();
        journal.append(&[format!(
            "event {n} of about the usual length of a line in a real journal"
        )])?;
        waits.push(start.elapsed().as_secs_f64() * 1000.0);
    }
    waits.sort_by(f64::total_cmp);
    row(
        "journal, an event on the disk, median / p99",
        format!("{:.2} / {:.2} ms", waits[1000], waits[1980]),
    );
    Ok(())
}

fn spread(values: &mut [f64], unit: &str) -> String {
    values.sort_by(f64::total_cmp);
    match values {
        [] => "none".into(),
        v => format!(
            "{:.0} / {:.0} {unit}",
            v[v.len() / 2],
            v[(v.len() * 95 / 100).min(v.len() - 1)]
        ),
    }
}
