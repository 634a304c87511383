//! `kill -9` at random moments of a running cook: whatever was acknowledged is in the
//! journal, and the next start goes on from there.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use hobcall::journal;
use hobcall::kitchen::Event;

const KILLS: usize = 200;
const PLAN: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/plans/pork-chops-two-brines.yaml"
);

/// Calls that change the state, ask, are refused, and are taken back.
const CALLS: [&str; 16] = [
    "next",
    "status",
    "timer four minutes",
    "note a little pale",
    "how long",
    "two more minutes",
    "scratch that",
    "louder",
    "stop the timer",
    "yes",
    "no",
    "where is the test chop",
    "use celsius",
    "use fahrenheit",
    "start the wet brine",
    "flibbertigibbet",
];

/// The same numbers on every run: a failure can be repeated.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> u64 {
        // SplitMix64 (Steele, Lea and Flood 2014).
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % below
    }
}

struct Cook {
    child: Child,
    heard: thread::JoinHandle<Vec<String>>,
    lines: Arc<AtomicUsize>,
}

fn cook(journal: &std::path::Path) -> Cook {
    let mut child = Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .args([
            "cook",
            PLAN,
            "--ear",
            "typed",
            "--voice",
            "none",
            "--journal",
        ])
        .arg(journal)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .expect("the program starts");
    let out = child.stdout.take().expect("piped");
    let lines = Arc::new(AtomicUsize::new(0));
    let count = lines.clone();
    // What was acknowledged is what had left the program when it died.
    let heard = thread::spawn(move || {
        let mut said = Vec::new();
        for line in BufReader::new(out).lines() {
            let Ok(line) = line else { break };
            count.fetch_add(1, Ordering::Relaxed);
            if let Some((_, text)) = line.split_once("  hob  ") {
                said.push(text.to_owned());
            }
        }
        said
    });
    Cook {
        child,
        heard,
        lines,
    }
}

#[test]
fn nothing_acknowledged_is_lost() {
    let dir = tempfile::tempdir().expect("dir");
    let path = dir.path().join("killed.journal");
    let mut dice = Dice(20_261_125);
    let mut said = Vec::<String>::new();
    let mut torn = 0;
    let mut call = 0;
    for round in 0..KILLS {
        let mut cook = cook(&path);
        let mut stdin = cook.child.stdin.take().expect("piped");
        let calls = dice.roll(8);
        for _ in 0..calls {
            let _ = writeln!(stdin, "{}", CALLS[call % CALLS.len()]);
            call += 1;
        }
        let _ = stdin.flush();
        // Counted in lines, not in time, so that a slow machine is killed in the same places:
        // before it has said anything, while a journal is created or repaired, and later.
        let (lines, patience) = (dice.roll(2 * calls + 3) as usize, Instant::now());
        while cook.lines.load(Ordering::Relaxed) < lines
            && patience.elapsed() < Duration::from_secs(2)
        {
            thread::sleep(Duration::from_micros(100));
        }
        thread::sleep(Duration::from_micros(dice.roll(3_000)));
        cook.child.kill().expect("SIGKILL");
        cook.child.wait().expect("it is dead");
        said.extend(cook.heard.join().expect("reader"));
        drop(stdin);

        if !path.exists() {
            assert!(
                said.is_empty(),
                "round {round}: spoke before there was a journal"
            );
            continue;
        }
        let read = journal::read::<Event>(&path).expect("no kill makes it unreadable");
        torn += usize::from(read.torn.is_some());
        let told = hobcall::cook::replay(&read).expect("the journal's own plan");
        let in_journal: Vec<String> = told.said.into_iter().map(|l| l.text).collect();
        // What was on the disk and not yet said when the kill came is never said: skip it.
        let mut journal_says = in_journal.iter();
        for line in &said {
            assert!(
                journal_says.any(|j| j == line),
                "round {round}: acknowledged and lost: {line:?}\njournal: {in_journal:#?}"
            );
        }
    }
    assert!(said.len() > KILLS, "only {} replies were heard", said.len());
    eprintln!(
        "{KILLS} kills, {} replies acknowledged, {torn} torn tails",
        said.len()
    );
}
