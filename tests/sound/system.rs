//! The system's voice with the real Speech Dispatcher under a private sound server.
//! Only with `--features system-voice`.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use hobcall::voice::{Config, Engine, Urgency, Utterance, UtteranceId, Voice, VoiceEvent};

#[test]
fn under_a_private_sound_server() {
    if Command::new("speech-dispatcher")
        .arg("-v")
        .output()
        .is_err()
    {
        eprintln!("skipped: speech-dispatcher is not installed");
        return;
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/ci-audio.sh");
    for name in [
        "it_speaks_and_is_silenced",
        "a_killed_daemon_is_started_again",
        "without_sound_the_built_in_voice_takes_over",
    ] {
        let dir = tempfile::tempdir().unwrap();
        let out = Command::new(&script)
            .arg(std::env::current_exe().unwrap())
            .args(["--ignored", "--exact", "--nocapture"])
            .arg(format!("system::{name}"))
            .env("XDG_RUNTIME_DIR", dir.path())
            .env("XDG_CONFIG_HOME", dir.path())
            .env("HOBCALL_TEST_DIR", dir.path())
            .output()
            .unwrap();
        kill_daemon(dir.path());
        if out.status.code() == Some(77) {
            eprintln!("skipped: {}", String::from_utf8_lossy(&out.stderr));
            return;
        }
        let text = String::from_utf8_lossy(&out.stdout);
        assert!(
            out.status.success() && text.contains("1 passed"),
            "{name}\n{text}\n{}",
            String::from_utf8_lossy(&out.stderr)
        );
        for line in text.lines().filter(|l| l.starts_with("measured")) {
            println!("{name}: {line}");
        }
    }
}

/// Kills the daemon that was started for this runtime directory, by its own note of its
/// process number; true when there was one.
fn kill_daemon(dir: &Path) -> bool {
    let note = dir.join("speech-dispatcher/pid/speech-dispatcher.pid");
    let Ok(pid) = std::fs::read_to_string(note) else {
        return false;
    };
    Command::new("kill")
        .args(["-KILL", pid.trim()])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|s| s.success())
}

fn system() -> Voice {
    Voice::start(Config {
        engine: Engine::System,
        ..Config::default()
    })
    .unwrap()
}

fn until(voice: &Voice, seconds: u64, what: impl Fn(&VoiceEvent) -> bool) -> VoiceEvent {
    let deadline = Instant::now() + Duration::from_secs(seconds);
    let mut seen = Vec::new();
    while let Ok(e) = voice.events().recv_deadline(deadline) {
        if what(&e) {
            return e;
        }
        seen.push(e);
    }
    panic!("did not come within {seconds} s; came: {seen:?}");
}

fn reply(text: &str) -> Utterance {
    Utterance::new(text, Urgency::Reply)
}

fn ended(which: UtteranceId) -> impl Fn(&VoiceEvent) -> bool {
    move |e| matches!(e, VoiceEvent::Ended { id, .. } if *id == which)
}

fn at(e: &VoiceEvent) -> f64 {
    match e {
        VoiceEvent::Began { at, .. } | VoiceEvent::Ended { at, .. } => *at,
        _ => f64::NAN,
    }
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn it_speaks_and_is_silenced() {
    let mut monitor = Command::new("parec")
        .args(["-d", "spk.monitor", "--raw", "--latency-msec=20"])
        .args(["--rate=16000", "--channels=1", "--format=s16le"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut out = monitor.stdout.take().unwrap();
    let reader = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        let _ = out.read_to_end(&mut bytes);
        bytes
    });
    let voice = system();
    until(&voice, 10, |e| *e == VoiceEvent::DeviceBack);
    let id = voice.say(reply("one six two, left skillet"));
    let from = at(&until(&voice, 5, |e| matches!(e, VoiceEvent::Began { .. })));
    let to = at(&until(&voice, 10, ended(id)));
    println!(
        "measured: begins and ends reported {:.2} s apart",
        to - from
    );
    assert!((0.8..6.0).contains(&(to - from)));
    // "quiet" in the middle of a long one.
    let id = voice.say(reply(&"and so on and so forth ".repeat(12)));
    until(&voice, 5, |e| matches!(e, VoiceEvent::Began { .. }));
    std::thread::sleep(Duration::from_millis(700));
    let asked = Instant::now();
    voice.quiet_now();
    let end = until(&voice, 5, ended(id));
    println!(
        "measured: silent {:.0} ms after \"quiet\"",
        asked.elapsed().as_secs_f64() * 1000.0
    );
    assert!(matches!(
        end,
        VoiceEvent::Ended {
            cut: true,
            again: false,
            ..
        }
    ));
    // Danger cuts an answer, which is said again.
    let answer = voice.say(reply("the answer to a question about the chops"));
    until(&voice, 5, |e| matches!(e, VoiceEvent::Began { .. }));
    let danger = voice.say(Utterance::new("heat off", Urgency::Danger));
    let cut = until(&voice, 5, ended(answer));
    assert!(matches!(cut, VoiceEvent::Ended { again: true, .. }));
    until(&voice, 10, ended(danger));
    let end = until(&voice, 20, ended(answer));
    assert!(matches!(end, VoiceEvent::Ended { cut: false, .. }));
    voice.close(Duration::from_secs(1));
    std::thread::sleep(Duration::from_millis(300));
    let _ = Command::new("kill")
        .args(["-TERM", &monitor.id().to_string()])
        .status();
    let _ = monitor.wait();
    let heard = reader.join().unwrap();
    let loud = heard
        .chunks_exact(2)
        .filter(|b| i16::from_le_bytes([b[0], b[1]]).unsigned_abs() > 300)
        .count();
    assert!(loud > 16_000 / 2, "{loud} loud samples");
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn a_killed_daemon_is_started_again() {
    let dir = std::env::var("HOBCALL_TEST_DIR").unwrap();
    let voice = system();
    until(&voice, 10, |e| *e == VoiceEvent::DeviceBack);
    let id = voice.say(reply("one six two, left skillet"));
    until(&voice, 10, ended(id));
    assert!(kill_daemon(Path::new(&dir)), "no daemon to kill in {dir}");
    std::thread::sleep(Duration::from_millis(500));
    let id = voice.say(reply("still here"));
    let end = until(
        &voice,
        30,
        |e| matches!(e, VoiceEvent::Ended { id: about, again: false, .. } if *about == id),
    );
    assert!(matches!(end, VoiceEvent::Ended { cut: false, .. }));
    voice.close(Duration::from_secs(1));
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn without_sound_the_built_in_voice_takes_over() {
    // The daemon finds no sound server: it reports a beginning and never an end.
    let pulse = std::env::var("HOBCALL_CI_PULSE_PID").unwrap();
    let _ = Command::new("kill").args(["-KILL", &pulse]).status();
    let voice = system();
    let id = voice.say(reply("is anybody there"));
    let start = Instant::now();
    let advice = until(&voice, 60, |e| matches!(e, VoiceEvent::Advice(_)));
    println!(
        "measured: given up after {:.1} s: {advice:?}",
        start.elapsed().as_secs_f64()
    );
    let VoiceEvent::Advice(text) = advice else {
        unreachable!()
    };
    assert!(text.contains("built-in"), "{text}");
    // It is alive: without a speaker it says so, and it ends when told.
    until(&voice, 10, |e| matches!(e, VoiceEvent::DeviceLost { .. }));
    let start = Instant::now();
    voice.close(Duration::from_secs(2));
    assert!(start.elapsed() < Duration::from_secs(5), "{id:?}");
}
