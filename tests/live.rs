//! The session again, through a microphone and a speaker of a real sound server, at the
//! speed of life, with the tool's own voice coming back into its microphone.

use std::path::Path;
use std::process::Command;

use hobcall::grammar::{ActiveSet, Grammar};
use hobcall::journal;
use hobcall::kitchen::Event;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
/// The calls up to here go from the brine to the first flip.
const SECONDS: f64 = 110.0;

#[test]
fn microphone_in_speaker_out_and_no_answer_to_itself() {
    let dir = tempfile::tempdir().expect("dir");
    let out = Command::new("scripts/ci-audio.sh")
        .current_dir(ROOT)
        .env("LOOPBACK", "1")
        .arg("scripts/live-session.sh")
        .arg(env!("CARGO_BIN_EXE_hobcall"))
        .args([
            "plans/pork-chops-two-brines.yaml",
            "audio-fixtures/session.flac",
        ])
        .arg(SECONDS.to_string())
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

    let said: Vec<(f64, String)> =
        std::fs::read_to_string(Path::new(ROOT).join("audio-fixtures/session.truth.tsv"))
            .expect("truth")
            .lines()
            .filter(|line| !line.starts_with('#'))
            .filter_map(|line| {
                let fields: Vec<&str> = line.split('\t').collect();
                let end: f64 = fields.get(1)?.parse().ok()?;
                (end < SECONDS - 0.5)
                    .then(|| (end, fields.get(3).copied().unwrap_or("").to_owned()))
            })
            .collect();
    assert!(said.len() >= 10, "{} calls", said.len());

    let mut heard: Vec<(u32, String)> = cook
        .events
        .iter()
        .filter_map(|(_, e)| Some((e.call?, e.heard.clone()?)))
        .collect();
    heard.dedup_by_key(|(call, _)| *call);

    // In order: every heard call is one that was made. A call made and not heard may be
    // left out once; one heard and never made is the tool answering itself.
    let mut made = said.iter();
    for (_, words) in &heard {
        let meaning = grammar.calls(words);
        assert!(
            made.any(|(_, s)| grammar.calls(s) == meaning),
            "{words:?} was never called\n{dialogue}"
        );
    }
    assert!(
        heard.len() + 1 >= said.len(),
        "{} of {} calls heard\n{dialogue}",
        heard.len(),
        said.len()
    );

    // The tool spoke into its own microphone, so that not answering itself means something.
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
    assert!(loud(&speaker) > 16_000 * 5, "the speaker was silent");
    assert!(
        loud(&mic) > loud(&speaker) / 2,
        "our own voice did not reach the microphone"
    );

    // After each call the speaker sounds: the reply is in the recording. The cook's time
    // begins with the first thing said, which the recording shows.
    let first = speaker
        .iter()
        .position(|s| s.unsigned_abs() > 300)
        .expect("it spoke") as f64
        / 16_000.0;
    let times: Vec<f64> = cook
        .events
        .iter()
        .filter(|(_, e)| e.heard.is_some())
        .map(|(_, e)| e.at.0 as f64 / 1000.0)
        .collect();
    for at in times {
        let slice = |t: f64| ((t * 16_000.0) as usize).min(speaker.len());
        let after = &speaker[slice(first + at - 0.2)..slice(first + at + 2.5)];
        assert!(
            loud(after) > 800,
            "no reply to the call at {at} s\n{dialogue}"
        );
    }
}
