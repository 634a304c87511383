//! The session again, through a microphone and a speaker of a real sound server, at the
//! speed of life, with the tool's own voice coming back into its microphone. A program of
//! its own, so that no other test takes the machine from it.

use std::collections::BTreeSet;
use std::process::Command;

use hobcall::grammar::{ActiveSet, Grammar};
use hobcall::journal;
use hobcall::kitchen::Event;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
/// So many calls go from the brine to the first flips.
const CALLS: usize = 14;
/// Of these at least so many must be heard. The echo lies 8 dB below the voice: a speaker
/// beside the microphone.
const HEARD: usize = 10;

#[test]
fn microphone_in_speaker_out_and_no_answer_to_itself() {
    let dir = tempfile::tempdir().expect("dir");
    let out = Command::new("scripts/ci-audio.sh")
        .current_dir(ROOT)
        .arg("scripts/live-session.sh")
        .arg(env!("CARGO_BIN_EXE_hobcall"))
        .args([
            "plans/pork-chops-two-brines.yaml",
            "audio-fixtures/session.flac",
        ])
        .arg("audio-fixtures/session.truth.tsv")
        .arg(CALLS.to_string())
        .arg(dir.path())
        .output()
        .expect("the script runs");
    let read = |name: &str| std::fs::read_to_string(dir.path().join(name)).unwrap_or_default();
    assert!(
        out.status.success(),
        "{}{}{}",
        String::from_utf8_lossy(&out.stderr),
        read("errors.txt"),
        read("dialogue.txt"),
    );
    let dialogue = read("dialogue.txt");

    let cook = journal::read::<Event>(&dir.path().join("cook.journal")).expect("journal");
    let checked = hobcall::plan::read(&cook.header.plan, "plan").expect("plan");
    let grammar = Grammar::for_plan("en", &checked.plan)
        .and_then(|g| g.restricted(&ActiveSet::answering()))
        .expect("grammar");

    // Sample of the recordings shortly after the end of each call, and its words.
    let said: Vec<(f64, String)> = read("said")
        .lines()
        .filter_map(|line| line.split_once(' '))
        .filter_map(|(at, words)| Some((at.parse::<f64>().ok()? / 16_000.0, words.to_owned())))
        .collect();
    assert_eq!(said.len(), CALLS);
    let wave = |name: &str| -> Vec<i16> {
        let raw = std::fs::read(dir.path().join(name)).expect("recording");
        raw.as_chunks::<2>()
            .0
            .iter()
            .map(|s| i16::from_le_bytes(*s))
            .collect()
    };
    let loud = |sound: &[i16]| sound.iter().filter(|s| s.unsigned_abs() > 1000).count();
    let (speaker, mic) = (wave("speaker.raw"), wave("mic.raw"));
    // The cook's time begins with the first thing said, which the recording shows.
    let first = speaker
        .iter()
        .position(|s| s.unsigned_abs() > 300)
        .expect("it spoke") as f64
        / 16_000.0;

    let mut heard: Vec<(u32, f64, String)> = cook
        .events
        .iter()
        .filter_map(|(_, e)| Some((e.call?, first + e.at.0 as f64 / 1000.0, e.heard.clone()?)))
        .collect();
    heard.dedup_by_key(|(call, _, _)| *call);

    // Whatever was heard was called: it answers to the last call made by then, and no call
    // is answered twice. The tool never answers itself. How late it hears is for the bench:
    // a machine under load is late.
    let made_by = |at: f64| said.iter().take_while(|(end, _)| *end < at + 1.0).count();
    let mut answered = 0;
    for (_, at, words) in &heard {
        let made = made_by(*at);
        assert!(made > answered, "{words:?} was never called\n{dialogue}");
        answered = made;
    }
    // The dialogue, to the second, has every call that was taken, also the "yes" to a
    // question that was not asked because the call before it was lost.
    let taken = dialogue.lines().filter_map(|line| {
        let (at, words) = line.split_once("  cook  ")?;
        let (minutes, seconds) = at.trim().split_once(':')?;
        let at = minutes.parse::<f64>().ok()? * 60.0 + seconds.parse::<f64>().ok()? + 0.5;
        let words = words.rsplit_once("  (").map_or(words, |(words, _)| words);
        Some((made_by(first + at + 0.5), words.trim()))
    });
    let right: BTreeSet<usize> = taken
        .filter(|(made, words)| {
            let call = made.checked_sub(1).and_then(|n| said.get(n));
            call.is_some_and(|(_, made)| grammar.calls(words) == grammar.calls(made))
        })
        .map(|(made, _)| made)
        .collect();
    let right = right.len();
    eprintln!("{right} of {CALLS} calls heard right");
    assert!(
        right >= HEARD,
        "{right} of {CALLS} calls heard right\n{dialogue}"
    );

    // The tool spoke into its own microphone, so that not answering itself means something.
    assert!(loud(&speaker) > 16_000 * 5, "the speaker was silent");
    assert!(
        loud(&mic) > loud(&speaker) / 2,
        "our own voice did not reach the microphone"
    );

    // After each call the speaker sounds: the reply is in the recording.
    for (_, at, words) in &heard {
        let slice = |t: f64| ((t * 16_000.0) as usize).min(speaker.len());
        let after = &speaker[slice(at - 0.2)..slice(at + 2.5)];
        assert!(loud(after) > 800, "no reply to {words:?}\n{dialogue}");
    }
}
