//! The microphone through a real sound server. There is no sound card on a test
//! machine, so `scripts/ci-audio.sh` starts a private, silent server for each test and
//! runs the test again inside it.

use std::path::Path;
use std::process::{Child, Command};
use std::time::{Duration, Instant};

use crate::common::{human, samples_of};
use crossbeam_channel::{Receiver, unbounded};
use hobcall::ear::source::{MicSource, Source};
use hobcall::ear::{Config, EarEvent, EarHandle, Engine, Input, Patience, start};
use hobcall::grammar::{ActiveSet, Grammar};
use hobcall::voice::FliteVoice;
use hobcall::voice::flite::Flite;
use hobcall::voice::synth::Synth;

/// True inside the server. Outside it runs the named test inside and answers false.
fn inside(test: &str) -> bool {
    if std::env::var_os("HOBCALL_CI_PULSE_PID").is_some() {
        return true;
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/scripts/ci-audio.sh");
    let out = Command::new(script)
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", &format!("microphone::{test}")])
        .args(["--nocapture", "--test-threads=1"])
        .output()
        .expect("scripts/ci-audio.sh");
    let text = String::from_utf8_lossy(&out.stdout);
    assert!(
        out.status.success() && text.contains("1 passed"),
        "{test} failed inside the sound server ({}); exit 77 means that pulseaudio and \
         pulseaudio-utils are not installed\n{text}\n{}",
        out.status,
        String::from_utf8_lossy(&out.stderr)
    );
    false
}

fn signal_server(signal: &str) {
    let pid = std::env::var("HOBCALL_CI_PULSE_PID").unwrap();
    let ok = Command::new("kill").args([signal, &pid]).status().unwrap();
    assert!(ok.success());
}

/// Plays a file into the microphone, in real time.
fn speak(file: &str) -> Child {
    Command::new("paplay")
        .args(["--latency-msec=20", "-d", "mic"])
        .arg(human(file))
        .spawn()
        .expect("paplay")
}

/// Says a call with the built-in voice into the microphone.
fn call(words: &str) -> Child {
    let mut voice = Flite::open(FliteVoice::Slt).unwrap();
    let path =
        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("call-{}.wav", std::process::id()));
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&path, spec).unwrap();
    for sample in voice.render(words, 1.0).unwrap() {
        wav.write_sample(sample).unwrap();
    }
    wav.finalize().unwrap();
    speak(path.to_str().unwrap())
}

fn grammar() -> Grammar {
    Grammar::of_language("en")
        .and_then(|g| g.restricted(&ActiveSet::awake()))
        .unwrap_or_else(|e| panic!("{e}"))
}

fn listen() -> (EarHandle, Receiver<EarEvent>) {
    let (events, heard) = unbounded();
    let config = Config {
        source: Input::Microphone { device: None },
        engine: Engine::Hob,
        lang: "en".to_owned(),
        grammar: grammar(),
        pronounce: Vec::new(),
        patience: Patience::default(),
        own_voice: None,
    };
    (start(config, events).expect("an ear"), heard)
}

fn wait_for(
    events: &Receiver<EarEvent>,
    seconds: u64,
    wanted: impl Fn(&EarEvent) -> bool,
) -> EarEvent {
    let until = Instant::now() + Duration::from_secs(seconds);
    loop {
        match events.recv_deadline(until) {
            Ok(event) if wanted(&event) => return event,
            Ok(_) => {}
            Err(e) => panic!("{e}: nothing of the kind within {seconds} s"),
        }
    }
}

fn next_words(events: &Receiver<EarEvent>) -> String {
    let heard = wait_for(
        events,
        20,
        |e| matches!(e, EarEvent::Heard(h) if !h.words.is_empty()),
    );
    match heard {
        EarEvent::Heard(h) => h.words,
        _ => unreachable!("wait_for let only Heard pass"),
    }
}

#[test]
fn words_spoken_into_the_microphone_are_heard() {
    if !inside("words_spoken_into_the_microphone_are_heard") {
        return;
    }
    let (ear, events) = listen();
    for said in ["timer ten minutes", "reading one sixty two"] {
        let mut player = call(said);
        assert_eq!(next_words(&events), said);
        assert!(player.wait().unwrap().success());
    }
    // While we speak ourselves nothing is heard; afterwards it is again.
    ear.deaf(true);
    assert!(call("next").wait().unwrap().success());
    ear.deaf(false);
    std::thread::sleep(Duration::from_millis(600));
    let mut player = call("how long is left");
    assert_eq!(next_words(&events), "how long is left");
    assert!(player.wait().unwrap().success());
    ear.stop();
}

/// Every sample that goes in comes out, in order: nothing lost between the callback
/// and the reader.
#[test]
fn the_sound_arrives_complete_and_in_order() {
    if !inside("the_sound_arrives_complete_and_in_order") {
        return;
    }
    let file = "cards/005.wav";
    let sent = samples_of(&human(file));
    let mut mic = MicSource::open(None).expect("a microphone");
    assert_eq!(mic.format(), Some((16_000, 1)));
    let mut got = Vec::new();
    while got.len() < 8_000 {
        mic.read(&mut got, Duration::from_millis(100));
    }
    let mut player = speak(file);
    let until = Instant::now() + Duration::from_secs(6);
    while Instant::now() < until {
        mic.read(&mut got, Duration::from_millis(100));
    }
    assert!(player.wait().unwrap().success());
    assert_eq!(mic.dropped(), 0);
    // The loudest stretch of what was sent, bit for bit.
    let middle = &sent[sent.len() / 2..sent.len() / 2 + 8_000];
    assert!(
        got.windows(middle.len()).any(|w| w == middle),
        "half a second out of the middle did not arrive as it was sent"
    );
}

#[test]
fn a_stalled_server_is_noticed_and_forgiven() {
    if !inside("a_stalled_server_is_noticed_and_forgiven") {
        return;
    }
    let (ear, events) = listen();
    std::thread::sleep(Duration::from_millis(500));
    signal_server("-STOP");
    wait_for(&events, 5, |e| matches!(e, EarEvent::DeviceLost { .. }));
    signal_server("-CONT");
    wait_for(&events, 15, |e| matches!(e, EarEvent::DeviceBack));
    let mut player = call("how long is left");
    assert_eq!(next_words(&events), "how long is left");
    assert!(player.wait().unwrap().success());
    ear.stop();
}

#[test]
fn a_dead_server_neither_hangs_nor_burns() {
    if !inside("a_dead_server_neither_hangs_nor_burns") {
        return;
    }
    let (ear, events) = listen();
    std::thread::sleep(Duration::from_millis(500));
    signal_server("-KILL");
    wait_for(&events, 5, |e| matches!(e, EarEvent::DeviceLost { .. }));
    // It goes on trying, and tells nobody a second time.
    std::thread::sleep(Duration::from_secs(3));
    assert!(
        !events
            .try_iter()
            .any(|e| matches!(e, EarEvent::DeviceLost { .. } | EarEvent::DeviceBack)),
    );
    let began = Instant::now();
    ear.stop();
    assert!(began.elapsed() < Duration::from_secs(3), "stopping hung");
    // And a microphone that is not there is a sentence.
    let Err(why) = MicSource::open(None) else {
        panic!("a dead server gave a microphone");
    };
    assert!(
        why.contains("microphone") || why.contains("sound system"),
        "{why}"
    );
    assert!(MicSource::open(Some("no such device")).is_err());
}
