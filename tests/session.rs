//! The recorded sessions, heard by the real recogniser, played through the whole program.

use std::path::Path;
use std::process::Command;

use hobcall::grammar::{ActiveSet, Call, Grammar};
use hobcall::journal;
use hobcall::kitchen::Event;
use hobcall::kitchen::whereabouts::Where;
use hobcall::plan::Place;
use hobcall::tasting::{Tasting, Verdict};

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

/// A session as the program heard it and wrote it down.
struct Told {
    cook: journal::Cook<Event>,
    dialogue: String,
    replies: tempfile::TempDir,
}

const REPLIES: &str = "replies.wav";

/// Plays a session to the program and holds what it took for calls against what was called.
fn played(name: &str, plan: &str, seed: &str) -> Told {
    let dir = tempfile::tempdir().expect("dir");
    let path = dir.path().join("session.journal");
    let out = Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .current_dir(ROOT)
        .args(["cook", plan, "--seed", seed])
        .args(["--ear", &format!("audio-fixtures/{name}.flac")])
        .args(["--voice", "none"])
        .arg("--replies")
        .arg(dir.path().join(REPLIES))
        .arg("--journal")
        .arg(&path)
        .output()
        .expect("the program runs");
    let dialogue = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );

    let cook = journal::read::<Event>(&path).expect("journal");
    let checked = hobcall::plan::read(&cook.header.plan, "plan").expect("plan");
    let grammar = Grammar::for_plan("en", &checked.plan)
        .and_then(|g| g.restricted(&ActiveSet::answering().at_table()))
        .expect("grammar");
    let mean = |words: &str| -> Vec<Call> { grammar.calls(words) };

    let truth = truth(&Path::new(ROOT).join(format!("audio-fixtures/{name}.truth.tsv")));
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
    Told {
        cook,
        dialogue,
        replies: dir,
    }
}

/// The replies are sound on the session's time line, not silence.
fn sounded(told: &Told) {
    let path = told.replies.path().join(REPLIES);
    let mut wav = hound::WavReader::open(path).expect("replies");
    let loud = wav
        .samples::<i16>()
        .filter(|s| s.as_ref().is_ok_and(|s| s.unsigned_abs() > 1000))
        .count();
    assert!(loud > 16_000 * 10, "only {loud} loud samples");
}

#[test]
fn a_whole_cook_is_heard_and_ends_where_it_should() {
    let told = played("session", "plans/pork-chops-two-brines.yaml", "20");
    // What was done, not only what was heard.
    let state = hobcall::record::replay(&told.cook).expect("plan").state;
    assert!(state.has_ended());
    let place = state.whereabouts_of("test_chop");
    assert!(
        format!("{place:?}").starts_with("Some(Known"),
        "where the test chop is, is known: {place:?}"
    );
    sounded(&told);
}

/// Six pieces in two skillets, two of them marked, from the placing to the verdict of a
/// triangle test; `tests/kitchen/session.rs` types the same calls.
#[test]
fn marks_are_kept_and_six_taste_blind() {
    let told = played("tasting", "plans/aubergine-salted-or-peppered.yaml", "20");
    let state = hobcall::record::replay(&told.cook).expect("plan").state;
    let dialogue = &told.dialogue;
    assert!(state.has_ended(), "{dialogue}");
    let platter = |sample| match state.whereabouts_of(sample) {
        Some(Where::Known {
            vessel,
            place: Some(Place::Cell { row, column }),
        }) if state.plan().vessels[vessel].id == "platter" => (row, column),
        other => panic!("{sample}: {other:?}\n{dialogue}"),
    };
    // Front left and back right.
    assert_eq!(platter("peppered_slab"), (1, 0), "{dialogue}");
    assert_eq!(platter("salted_slab"), (0, 2), "{dialogue}");
    let Some(Tasting::Closed(closed)) = state.tasting() else {
        panic!("the tasting is not closed\n{dialogue}");
    };
    let tally = closed.tally();
    assert_eq!(
        (tally.answers, tally.hits, tally.guesses, tally.left),
        (6, 5, 1, 0),
        "{dialogue}"
    );
    // ISO 4120, table of critical numbers: five of six at the five percent level.
    let outcome = closed.outcome().expect("an outcome");
    assert_eq!(outcome.verdict, Verdict::Shown { ahead: None });

    // The map that was asked for stands among the dialogue, and no code with its sample.
    let map = "left skillet (second side down)\n                    \
               | slab        | slab        | salted slab |\n";
    assert!(dialogue.contains(map), "{dialogue}");
    let before = dialogue.split("Five of six").next().unwrap_or_default();
    for row in closed.sheet().rows {
        for serving in row.servings {
            let code = hobcall::voice::numbers::digits(f64::from(serving.code.number()));
            let name = closed.opened().samples.name(serving.sample);
            assert!(!before.contains(&format!("{code}, {name}")), "{before}");
        }
    }
    sounded(&told);
}

/// "Note", a pause, a sentence that holds a call, a pause, and a call: the sentence is kept
/// as it sounded and called nothing, the call after it is heard again.
#[test]
fn a_spoken_note_is_kept_as_it_sounded_and_calls_nothing() {
    let dir = tempfile::tempdir().expect("dir");
    let say = |text: &str| -> Vec<i16> {
        let path = dir.path().join("said.wav");
        let status = Command::new("flite")
            .args(["-voice", "slt", "-t", text, "-o"])
            .arg(&path)
            .status()
            .expect("flite; install the package flite");
        assert!(status.success());
        let mut wav = hound::WavReader::open(&path).expect("wav");
        assert_eq!(wav.spec().sample_rate, 16_000);
        wav.samples::<i16>().map(|s| s.expect("sample")).collect()
    };
    let pause = |seconds: usize| vec![0_i16; seconds * 16_000];
    let note = say("the left pan smells nutty, and the timer is ten minutes");
    let parts = [
        pause(1),
        say("note"),
        pause(2),
        note.clone(),
        pause(4),
        say("timer four minutes"),
        pause(2),
    ];
    let sound = dir.path().join("all.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&sound, spec).expect("wav");
    for sample in parts.concat() {
        wav.write_sample(sample).expect("sample");
    }
    wav.finalize().expect("wav");
    let path = dir.path().join("cook.journal");
    let out = Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .current_dir(ROOT)
        .args(["cook", "plans/pork-chops-two-brines.yaml", "--ear"])
        .arg(&sound)
        .args(["--voice", "none", "--journal"])
        .arg(&path)
        .output()
        .expect("the program runs");
    let dialogue = String::from_utf8_lossy(&out.stdout);
    assert!(dialogue.contains("Go ahead."), "{dialogue}");
    assert!(dialogue.contains("Noted."), "{dialogue}");
    let cook = journal::read::<Event>(&path).expect("journal");
    let heard = taken(&cook);
    let words: Vec<&str> = heard.iter().map(|(_, w)| w.as_str()).collect();
    assert_eq!(words, ["note", "note", "timer four minutes"], "{dialogue}");
    let noted = serde_json::to_string(&cook.events).expect("json");
    assert!(noted.contains("cook.note-1.wav"), "{noted}");
    // All of what was said is in the file, bit for bit.
    let mut kept = hound::WavReader::open(dir.path().join("cook.note-1.wav")).expect("kept");
    let kept: Vec<i16> = kept.samples().map(|s| s.expect("sample")).collect();
    let middle = &note[note.len() / 4..note.len() * 3 / 4];
    assert!(kept.windows(middle.len()).any(|w| w == middle));
    assert!(kept.len() < 16_000 * 12, "{} samples", kept.len());
}

const NAMED: &str = "plan: Two teas
units: celsius
address: chef
vessels:
  front pot: {kind: pot}
steps:
  heating: {say: Water on., vessel: front pot, wait: 6 min}
  steeping: {say: Leaves in., vessel: front pot, wait: 2 min}
";

/// What was called in a cook of [`NAMED`], whose calls come from `ear`.
fn called(dir: &Path, ear: &str, typed: &str) -> (Vec<String>, String) {
    use std::io::Write;
    let plan = dir.join("named.yaml");
    std::fs::write(&plan, NAMED).expect("plan");
    let path = dir.join(format!("{}.journal", ear.len()));
    let mut program = Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .arg("cook")
        .arg(&plan)
        .args([
            "--session-time",
            "--voice",
            "none",
            "--ear",
            ear,
            "--journal",
        ])
        .arg(&path)
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut input = program.stdin.take().expect("its input");
    input.write_all(typed.as_bytes()).expect("typed");
    drop(input);
    let out = program.wait_with_output().expect("it ends");
    assert!(out.status.success());
    let dialogue = String::from_utf8_lossy(&out.stdout).into_owned();
    let cook = journal::read::<Event>(&path).expect("journal");
    let heard = taken(&cook).into_iter().map(|(_, words)| words).collect();
    (heard, dialogue)
}

#[test]
fn with_a_name_to_call_talk_is_left_alone_typed() {
    let dir = tempfile::tempdir().expect("dir");
    let (calls, dialogue) = called(
        dir.path(),
        "typed",
        "what time is it\n+10 s\nChef, status\n+10 s\nchef\nwhat's next\n+20 s\nstatus\n\
         chef no name needed\ntimers\nwait for your name\ntimers\n",
    );
    assert_eq!(
        calls,
        [
            "status",
            "what's next",
            "no name needed",
            "timers",
            "wait for your name"
        ],
        "{dialogue}"
    );
    for line in [
        "From now on say chef before a call.",
        "Yes?",
        "No name needed.",
        "not for me: calls begin with \"chef\" now",
    ] {
        assert!(dialogue.contains(line), "{line}\n{dialogue}");
    }
}

/// The same spoken, by the built-in voice.
#[test]
fn with_a_name_to_call_talk_is_left_alone_heard() {
    use hobcall::voice::FliteVoice;
    use hobcall::voice::flite::Flite;
    use hobcall::voice::synth::Synth;

    let dir = tempfile::tempdir().expect("dir");
    let mut voice = Flite::open(FliteVoice::Slt).expect("flite");
    let mut sound = vec![3_i16; 16_000];
    for (words, seconds) in [
        ("what time is it", 4),
        ("chef what time is it", 4),
        ("how long is left", 12),
        ("chef", 2),
        ("how long is left", 12),
        ("timer five minutes", 4),
        ("chef no name needed", 4),
        ("timer five minutes", 4),
    ] {
        sound.extend(voice.render(words, 1.0).expect("words"));
        sound.resize(sound.len() + seconds * 16_000, 3);
    }
    let file = dir.path().join("calls.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&file, spec).expect("wav");
    sound
        .iter()
        .for_each(|&s| wav.write_sample(s).expect("wav"));
    wav.finalize().expect("wav");
    let (calls, dialogue) = called(dir.path(), &file.to_string_lossy(), "");
    assert_eq!(
        calls,
        [
            "what time is it",
            "how long is left",
            "no name needed",
            "timer five minutes"
        ],
        "{dialogue}"
    );
}
