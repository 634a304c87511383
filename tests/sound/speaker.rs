//! The voice through a real sound server: what comes out of the speaker is the reply, and
//! a speaker that goes away and comes back is neither a hang nor a lost alarm.
//!
//! The tests marked `ignore` run inside `scripts/ci-audio.sh`; the first test starts them.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use hobcall::voice::flite::Flite;
use hobcall::voice::synth::{Synth, trim};
use hobcall::voice::{
    Config, Engine, FliteVoice, Output, Urgency, Utterance, UtteranceId, Voice, VoiceEvent,
};

#[test]
fn under_a_private_sound_server() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/ci-audio.sh");
    let inner = [
        "reply_comes_out_of_the_speaker",
        "quiet_is_quick",
        "a_stalled_server_is_waited_for",
        "a_killed_server_is_found_again",
    ];
    for name in inner {
        let out = Command::new(&script)
            .arg(std::env::current_exe().unwrap())
            .args(["--ignored", "--exact", "--nocapture"])
            .arg(format!("speaker::{name}"))
            .output()
            .unwrap();
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

/// Records what the speaker plays until stopped.
struct Monitor(Child);

impl Monitor {
    fn start() -> Monitor {
        let child = Command::new("parec")
            .args(["-d", "spk.monitor", "--raw", "--latency-msec=20"])
            .args(["--rate=16000", "--channels=1", "--format=s16le"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("parec; install pulseaudio-utils");
        std::thread::sleep(Duration::from_millis(400));
        Monitor(child)
    }

    fn stop(mut self) -> Vec<i16> {
        let pid = self.0.id().to_string();
        let reader = self.0.stdout.take().map(|mut out| {
            std::thread::spawn(move || {
                let mut bytes = Vec::new();
                let _ = out.read_to_end(&mut bytes);
                bytes
            })
        });
        std::thread::sleep(Duration::from_millis(400));
        let _ = Command::new("kill").args(["-TERM", &pid]).status();
        let _ = self.0.wait();
        let bytes = reader.map(|r| r.join().unwrap()).unwrap_or_default();
        bytes
            .chunks_exact(2)
            .map(|b| i16::from_le_bytes([b[0], b[1]]))
            .collect()
    }
}

fn speaker() -> Voice {
    let voice = Voice::start(Config {
        engine: Engine::BuiltIn(FliteVoice::Slt),
        output: Output::Speaker { device: None },
        ..Config::default()
    })
    .unwrap();
    let first = voice.events().recv_timeout(Duration::from_secs(5));
    assert_eq!(first, Ok(VoiceEvent::DeviceBack));
    voice
}

fn rendered(text: &str) -> Vec<i16> {
    let all = Flite::open(FliteVoice::Slt)
        .unwrap()
        .render(text, 1.0)
        .unwrap();
    trim(&all).to_vec()
}

/// Where `want` lies in `heard` and how well it fits (normalised correlation, 1 = the same).
fn find(heard: &[i16], want: &[i16]) -> (usize, f64) {
    let energy = |s: &[i16]| s.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>();
    let dot = |at: usize, n: usize, step: usize| -> f64 {
        (0..n)
            .step_by(step)
            .map(|i| f64::from(heard[at + i]) * f64::from(want[i]))
            .sum()
    };
    let span = heard.len().saturating_sub(want.len());
    // Candidates by a tenth of a second of sound, then the whole.
    let head = want.len().min(3200);
    let best = (0..=span)
        .max_by(|a, b| dot(*a, head, 3).total_cmp(&dot(*b, head, 3)))
        .unwrap_or(0);
    let (at, score) = (best.saturating_sub(3)..=(best + 3).min(span))
        .map(|at| {
            let norm = (energy(&heard[at..at + want.len()]) * energy(want)).sqrt();
            (at, dot(at, want.len(), 1) / norm.max(1.0))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap_or((0, 0.0));
    (at, score)
}

fn wait_end(voice: &Voice, which: UtteranceId) -> (f64, f64, bool) {
    let mut from = f64::NAN;
    let until = Instant::now() + Duration::from_secs(20);
    while Instant::now() < until {
        match voice.events().recv_timeout(Duration::from_secs(20)) {
            Ok(VoiceEvent::Began { id, at }) if id == which => from = at,
            Ok(VoiceEvent::Ended { id, at, cut, .. }) if id == which => return (from, at, cut),
            Ok(_) => {}
            Err(e) => panic!("no end of the utterance: {e}"),
        }
    }
    panic!("no end of the utterance");
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn reply_comes_out_of_the_speaker() {
    let texts = ["one six two left skillet", "about six minutes left"];
    let monitor = Monitor::start();
    let voice = speaker();
    let mut times = Vec::new();
    let cpu = cpu_seconds();
    let started = Instant::now();
    for text in texts {
        let id = voice.say(Utterance::new(text, Urgency::Reply));
        times.push(wait_end(&voice, id));
    }
    let share = (cpu_seconds() - cpu) / started.elapsed().as_secs_f64();
    println!("measured: {:.1} % of a core while speaking", 100.0 * share);
    std::thread::sleep(Duration::from_millis(300));
    voice.close(Duration::from_secs(1));
    let heard = monitor.stop();
    let mut places = Vec::new();
    for (text, (from, to, cut)) in texts.iter().zip(&times) {
        let want = rendered(text);
        let (at, score) = find(&heard, &want);
        println!("measured: \"{text}\" found with correlation {score:.4}");
        assert!(score > 0.98, "{text}: {score}");
        assert!(!cut);
        let length = want.len() as f64 / 16_000.0;
        assert!((to - from - length).abs() < 0.02, "{} {length}", to - from);
        places.push(at as f64 / 16_000.0);
    }
    // The reported times and the recording agree on how far apart the two replies are.
    let (reported, recorded) = (times[1].0 - times[0].0, places[1] - places[0]);
    println!("measured: replies {reported:.4} s apart, in the recording {recorded:.4} s");
    assert!((reported - recorded).abs() < 0.05);
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn quiet_is_quick() {
    let monitor = Monitor::start();
    let voice = speaker();
    let text = "this is a long answer that goes on and on about the weather and the kitchen";
    let id = voice.say(Utterance::new(text, Urgency::Reply));
    let from = loop {
        match voice.events().recv_timeout(Duration::from_secs(5)) {
            Ok(VoiceEvent::Began { at, .. }) => break at,
            Ok(_) => {}
            Err(e) => panic!("it never began: {e}"),
        }
    };
    std::thread::sleep(Duration::from_millis(800));
    let asked = Instant::now();
    voice.quiet_now();
    let (_, to, cut) = wait_end(&voice, id);
    let reported = asked.elapsed();
    assert!(cut);
    voice.close(Duration::ZERO);
    let heard = monitor.stop();
    let loud = |s: &i16| s.unsigned_abs() > 40;
    let first = heard.iter().position(loud).unwrap();
    let last = heard.iter().rposition(loud).unwrap();
    let sounded = (last - first) as f64 / 16_000.0;
    println!(
        "measured: cut reported after {:.0} ms; sound lasted {sounded:.3} s, reported {:.3} s",
        reported.as_secs_f64() * 1000.0,
        to - from
    );
    assert!(reported < Duration::from_millis(400));
    assert!((sounded - (to - from)).abs() < 0.1);
    assert!(sounded < 0.8 + 0.5);
}

fn pid() -> String {
    std::env::var("HOBCALL_CI_PULSE_PID").expect("inside scripts/ci-audio.sh")
}

fn signal(what: &str) {
    let done = Command::new("kill").args([what, &pid()]).status().unwrap();
    assert!(done.success());
}

/// User and system time of this process, seconds.
fn cpu_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap();
    let after = stat.rsplit_once(')').unwrap().1;
    let fields: Vec<&str> = after.split_whitespace().collect();
    let ticks: f64 = fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap();
    ticks / 100.0
}

fn expect(voice: &Voice, seconds: u64, what: impl Fn(&VoiceEvent) -> bool) -> Duration {
    let start = Instant::now();
    let until = start + Duration::from_secs(seconds);
    let mut seen = Vec::new();
    while let Ok(e) = voice.events().recv_deadline(until) {
        if what(&e) {
            return start.elapsed();
        }
        seen.push(e);
    }
    panic!("did not come within {seconds} s; came: {seen:?}");
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn a_stalled_server_is_waited_for() {
    let voice = speaker();
    signal("-STOP");
    std::thread::sleep(Duration::from_millis(700));
    signal("-CONT");
    let id = voice.say(Utterance::new("still here", Urgency::Reply));
    let (_, _, cut) = wait_end(&voice, id);
    assert!(!cut);
}

#[test]
#[ignore = "runs inside scripts/ci-audio.sh"]
fn a_killed_server_is_found_again() {
    let voice = speaker();
    let alarm = voice.say(Utterance::new(
        "The left skillet is due to be flipped now.",
        Urgency::Alarm,
    ));
    expect(&voice, 5, |e| matches!(e, VoiceEvent::Began { .. }));
    signal("-KILL");
    let lost = expect(&voice, 5, |e| matches!(e, VoiceEvent::DeviceLost { .. }));
    println!("measured: loss noticed after {:.1} s", lost.as_secs_f64());
    // Without a speaker: no core burnt, and an answer that nobody hears is not kept.
    let stale = voice.say(Utterance::new("an old answer", Urgency::Reply));
    let cpu = cpu_seconds();
    std::thread::sleep(Duration::from_secs(6));
    let burnt = (cpu_seconds() - cpu) / 6.0;
    println!(
        "measured: {:.1} % of a core without a speaker",
        100.0 * burnt
    );
    assert!(burnt < 0.5);

    let socket = std::env::var("PULSE_SERVER").unwrap();
    let dir = PathBuf::from(socket.trim_start_matches("unix:"))
        .parent()
        .unwrap()
        .to_owned();
    let _ = std::fs::remove_file(dir.join("native"));
    let mut server = Command::new("pulseaudio")
        .args(["-n", "-F"])
        .arg(dir.join("ci.pa"))
        .args([
            "--daemonize=no",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
            "--disable-shm=yes",
        ])
        .env("XDG_RUNTIME_DIR", &dir)
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let back = expect(&voice, 20, |e| *e == VoiceEvent::DeviceBack);
    println!("measured: found again after {:.1} s", back.as_secs_f64());
    // The alarm that was cut is said from its beginning.
    expect(
        &voice,
        10,
        |e| matches!(e, VoiceEvent::Ended { id, cut: false, .. } if *id == alarm),
    );
    let fresh = voice.say(Utterance::new("a new answer", Urgency::Reply));
    expect(&voice, 10, |e| {
        assert!(!matches!(e, VoiceEvent::Began { id, .. } if *id == stale));
        matches!(e, VoiceEvent::Ended { id, cut: false, .. } if *id == fresh)
    });
    voice.close(Duration::from_secs(1));
    let _ = server.kill();
    let _ = server.wait();
}
