//! The recorded session, heard by the real recogniser, played through the whole program.

use std::path::Path;
use std::process::Command;

use hobcall::grammar::{ActiveSet, Call, Grammar};
use hobcall::journal;
use hobcall::kitchen::Event;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// A call that really was made: when it began, and the words.
struct Truth {
    from_ms: i64,
    words: String,
}

fn truth(file: &Path) -> Vec<Truth> {
    std::fs::read_to_string(file)
        .expect("truth list")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let mut fields = line.split('\t');
            let from: f64 = fields.next().and_then(|f| f.parse().ok()).expect("start");
            Truth {
                from_ms: (from * 1000.0) as i64,
                words: fields.nth(2).expect("words").to_owned(),
            }
        })
        .collect()
}

/// What was taken for a call, once for each: when, and the words that were heard.
fn taken(cook: &journal::Cook<Event>) -> Vec<(i64, String)> {
    let mut calls: Vec<(u32, i64, String)> = cook
        .events
        .iter()
        .filter_map(|(_, e)| Some((e.call?, e.at.0, e.heard.clone()?)))
        .collect();
    calls.dedup_by_key(|(call, ..)| *call);
    calls
        .into_iter()
        .map(|(_, at, words)| (at, words))
        .collect()
}

#[test]
fn a_whole_cook_is_heard_and_ends_where_it_should() {
    let dir = tempfile::tempdir().expect("dir");
    let path = dir.path().join("session.journal");
    let replies = dir.path().join("replies.wav");
    let out = Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .current_dir(ROOT)
        .args(["cook", "plans/pork-chops-two-brines.yaml"])
        .args(["--ear", "audio-fixtures/session.flac", "--voice", "none"])
        .arg("--replies")
        .arg(&replies)
        .arg("--journal")
        .arg(&path)
        .output()
        .expect("the program runs");
    let dialogue = String::from_utf8_lossy(&out.stdout);
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );

    let cook = journal::read::<Event>(&path).expect("journal");
    let checked = hobcall::plan::read(&cook.header.plan, "plan").expect("plan");
    let grammar = Grammar::for_plan("en", &checked.plan)
        .and_then(|g| g.restricted(&ActiveSet::answering()))
        .expect("grammar");
    let mean = |words: &str| -> Vec<Call> { grammar.calls(words) };

    let truth = truth(&Path::new(ROOT).join("audio-fixtures/session.truth.tsv"));
    assert!(truth.len() >= 25, "only {} calls", truth.len());
    let taken = taken(&cook);
    let mut right = 0;
    let mut invented = Vec::new();
    for (n, said) in truth.iter().enumerate() {
        let until = truth.get(n + 1).map_or(i64::MAX, |next| next.from_ms);
        let here = taken
            .iter()
            .filter(|(at, _)| *at > said.from_ms && *at <= until);
        for (at, words) in here {
            if mean(words) == mean(&said.words) {
                right += 1;
            } else {
                invented.push(format!("{at} ms: {words:?} for {:?}", said.words));
            }
        }
    }
    let before = truth.first().map_or(0, |t| t.from_ms);
    invented.extend(
        taken
            .iter()
            .filter(|(at, _)| *at <= before)
            .map(|(at, words)| format!("{at} ms: {words:?} for nothing")),
    );
    assert!(invented.is_empty(), "{invented:#?}\n{dialogue}");
    assert!(
        right * 100 >= truth.len() * 95,
        "{right} of {} calls right\n{dialogue}",
        truth.len()
    );

    // What was done, not only what was heard.
    let state = hobcall::cook::replay(&cook).expect("plan").state;
    assert!(state.has_ended());
    let place = state.whereabouts_of("test_chop");
    assert!(
        format!("{place:?}").starts_with("Some(Known"),
        "where the test chop is, is known: {place:?}"
    );

    // The replies are sound on the session's time line, not silence.
    let mut wav = hound::WavReader::open(&replies).expect("replies");
    let loud = wav
        .samples::<i16>()
        .filter(|s| s.as_ref().is_ok_and(|s| s.unsigned_abs() > 1000))
        .count();
    assert!(loud > 16_000 * 10, "only {loud} loud samples");
}
