//! The voice from `say` to samples, with the real built-in engine, on a stepped time line:
//! every time below is exact.

use std::path::Path;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, bounded};
use hobcall::voice::flite::Flite;
use hobcall::voice::synth::{Synth, trim};
use hobcall::voice::wording;
use hobcall::voice::{
    Config, DropReason, Engine, FliteVoice, Output, Played, Tap, Urgency, Utterance, UtteranceId,
    Voice, VoiceEvent,
};

const RATE: f64 = 16_000.0;

fn stepped(config: Config) -> (Voice, Receiver<Played>) {
    let (to, played) = bounded(100_000);
    let voice = Voice::start(Config {
        output: Output::Stepped,
        tap: Some(Tap::new(to)),
        ..config
    })
    .expect("the built-in voice; install libflite1");
    (voice, played)
}

fn reply(text: &str) -> Utterance {
    Utterance::new(text, Urgency::Reply)
}

fn events(voice: &Voice) -> Vec<VoiceEvent> {
    voice.events().try_iter().collect()
}

/// What was played, laid on the time line.
fn line(played: &Receiver<Played>) -> Vec<i16> {
    let mut out: Vec<i16> = Vec::new();
    for p in played.try_iter() {
        let at = (p.at * RATE).round() as usize;
        assert!(at >= out.len(), "two sounds at once");
        out.resize(at, 0);
        out.extend_from_slice(p.samples());
    }
    out
}

fn ended(all: &[VoiceEvent], which: UtteranceId) -> Option<(f64, bool)> {
    all.iter().find_map(|e| match e {
        VoiceEvent::Ended { id, at, cut, .. } if *id == which => Some((*at, *cut)),
        _ => None,
    })
}

fn began(all: &[VoiceEvent], which: UtteranceId) -> Option<f64> {
    all.iter().find_map(|e| match e {
        VoiceEvent::Began { id, at } if *id == which => Some(*at),
        _ => None,
    })
}

#[test]
fn what_is_played_is_what_the_engine_renders_and_ends_when_it_says() {
    let (voice, played) = stepped(Config::default());
    voice.advance_to(2.0);
    let id = voice.say(reply("one six two left skillet"));
    voice.advance_to(10.0);
    let all = events(&voice);
    let rendered = Flite::open(FliteVoice::Slt)
        .unwrap()
        .render("one six two left skillet", 1.0)
        .unwrap();
    let want = trim(&rendered);
    let heard = line(&played);
    assert_eq!(began(&all, id), Some(2.0));
    let (end, cut) = ended(&all, id).unwrap();
    assert!(!cut);
    assert_eq!(((end - 2.0) * RATE).round() as usize, want.len());
    assert_eq!(heard.len(), 32_000 + want.len());
    let loudest_difference = heard[32_000..]
        .iter()
        .zip(want)
        .map(|(a, b)| a.abs_diff(*b))
        .max();
    // Within the rounding of the volume (the loud tops are bent).
    let quiet = want.iter().all(|s| s.unsigned_abs() < 21_000);
    assert!(loudest_difference <= Some(if quiet { 2 } else { 4_000 }));
    // Five words in the time that people take for five words: 1 to 3 s.
    assert!((1.0..3.0).contains(&(end - 2.0)), "{}", end - 2.0);
}

#[test]
fn quiet_stops_within_a_block_and_forgets_the_rest() {
    let (voice, played) = stepped(Config::default());
    let a = voice.say(reply(
        "a long answer that nobody wants to hear to its end today",
    ));
    let b = voice.say(reply("and another"));
    let c = voice.say(Utterance::new("the brine is done", Urgency::Alarm));
    voice.advance_to(0.5);
    // The alarm cut in before anything sounded and speaks first.
    let all = events(&voice);
    assert_eq!(began(&all, c), Some(0.0), "{all:?}");
    voice.quiet_now();
    voice.advance_to(5.0);
    let all = events(&voice);
    let (end, cut) = ended(&all, c).unwrap();
    assert!(cut);
    assert!((0.5..=0.5 + 0.0051).contains(&end), "{end}");
    for id in [a, b] {
        assert!(
            all.contains(&VoiceEvent::Dropped {
                id,
                why: DropReason::Quiet
            }),
            "{all:?}"
        );
    }
    let heard = line(&played);
    assert!(heard.len() <= ((0.5 + 0.0051) * RATE) as usize);
    assert!(!voice.is_speaking());
}

#[test]
fn danger_is_not_silenced_and_cuts_an_answer_that_is_then_said_again() {
    let (voice, _played) = stepped(Config::default());
    let answer = voice.say(reply("chops in at twelve past seven"));
    voice.advance_to(0.4);
    let danger = voice.say(Utterance::new("Heat off, the oil smokes", Urgency::Danger));
    voice.advance_to(1.0);
    voice.quiet_now();
    voice.advance_to(20.0);
    let all = events(&voice);
    let order: Vec<&str> = all
        .iter()
        .filter_map(|e| match e {
            VoiceEvent::Began { id, .. } if *id == answer => Some("answer"),
            VoiceEvent::Began { .. } => Some("danger"),
            VoiceEvent::Ended { id, cut, again, .. } => Some(match (*id == danger, *cut, *again) {
                (true, false, false) => "danger over",
                (false, true, true) => "answer cut",
                (false, false, false) => "answer over",
                _ => "?",
            }),
            _ => None,
        })
        .collect();
    // "quiet" came while the danger sounded: the answer that waited is forgotten.
    assert_eq!(order, ["answer", "answer cut", "danger", "danger over"]);

    let answer = voice.say(reply("chops in at twelve past seven"));
    voice.advance_to(20.4);
    voice.say(Utterance::new("Left skillet: flip.", Urgency::Alarm));
    voice.advance_to(40.0);
    let all = events(&voice);
    let ends: Vec<(f64, bool)> = all
        .iter()
        .filter_map(|e| match e {
            VoiceEvent::Ended { id, at, cut, .. } if *id == answer => Some((*at, *cut)),
            _ => None,
        })
        .collect();
    assert!(matches!(ends[..], [(_, true), (_, false)]), "{all:?}");
}

#[test]
fn advice_about_the_sound_gives_way_to_an_alarm() {
    let (voice, _played) = stepped(Config::default());
    // While an alarm sounds it waits; when one comes it stops and is not said again.
    let first = voice.say(Utterance::new("Left skillet: flip.", Urgency::Alarm));
    let advice = voice.say(wording::mostly_noise());
    voice.advance_to(3.0);
    let all = events(&voice);
    let (over, _) = ended(&all, first).unwrap();
    let at = began(&all, advice).unwrap();
    assert!(at > over, "{all:?}");
    assert!(ended(&all, advice).is_none(), "{all:?}");
    let second = voice.say(Utterance::new("Right skillet: flip.", Urgency::Alarm));
    voice.advance_to(30.0);
    let all = events(&voice);
    let (stopped, cut) = ended(&all, advice).unwrap();
    assert!(cut && began(&all, second).unwrap() >= stopped, "{all:?}");
    assert_eq!(began(&all, advice), None, "{all:?}");
}

#[test]
fn a_reminder_waits_its_turn_and_is_dropped_when_silenced() {
    let (voice, _played) = stepped(Config::default());
    let reminder = Utterance::new("the test chop is at the back", Urgency::Reminder);
    let a = voice.say(reminder.clone());
    let b = voice.say(reply("yes"));
    voice.advance_to(10.0);
    let all = events(&voice);
    // The answer came before the reminder had begun.
    assert!(began(&all, b) < began(&all, a), "{all:?}");
    // A breath between two utterances.
    let gap = began(&all, a).unwrap() - ended(&all, b).unwrap().0;
    assert!((0.2..0.3).contains(&gap), "{gap}");
    voice.set_silenced(true);
    let c = voice.say(reminder.clone());
    let d = voice.say(reply("still answering"));
    voice.set_silenced(false);
    let e = voice.say(reminder);
    voice.advance_to(20.0);
    let all = events(&voice);
    assert!(all.contains(&VoiceEvent::Dropped {
        id: c,
        why: DropReason::Silenced
    }));
    assert!(ended(&all, d).is_some() && ended(&all, e).is_some());
}

#[test]
fn slower_takes_longer_and_louder_is_louder() {
    let text = "about six minutes left";
    let measure = |speed: f32, volume: f32| {
        let (voice, played) = stepped(Config::default());
        voice.set_speed(speed);
        voice.set_volume(volume);
        let id = voice.say(reply(text));
        voice.advance_to(20.0);
        let length = ended(&events(&voice), id).unwrap().0;
        let power: f64 = line(&played).iter().map(|s| f64::from(*s).powi(2)).sum();
        (length, power / length)
    };
    let (normal, power) = measure(1.0, 1.0);
    let (slow, _) = measure(0.7, 1.0);
    let (fast, _) = measure(1.4, 1.0);
    assert!((1.25..1.6).contains(&(slow / normal)), "{slow} {normal}");
    assert!((0.6..0.82).contains(&(fast / normal)), "{fast} {normal}");
    let (_, soft) = measure(1.0, 0.5);
    assert!((0.2..0.3).contains(&(soft / power)));
    // Never over full scale, whatever is asked.
    let (_, loud) = measure(1.0, 100.0);
    assert!(loud > 2.0 * power);
}

/// The WAV lies on the session's time line, and a reader other than its writer says so.
#[test]
fn the_recording_is_aligned_with_the_session() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("replies.wav");
    let (voice, played) = stepped(Config {
        record: Some(path.clone()),
        ..Config::default()
    });
    voice.advance_to(1.5);
    let a = voice.say(reply("first"));
    voice.advance_to(7.25);
    let b = voice.say(reply("second"));
    voice.advance_to(12.0);
    let all = events(&voice);
    voice.close(Duration::ZERO);
    let heard = line(&played);
    let recorded = read(&path);
    assert_eq!(recorded.len(), 12 * 16_000);
    assert_eq!(recorded[..heard.len()], heard[..]);
    assert!(recorded[heard.len()..].iter().all(|s| *s == 0));
    for (id, at) in [(a, 1.5), (b, 7.25)] {
        assert_eq!(began(&all, id), Some(at));
        let sound = &recorded[(at * RATE) as usize..][..1600];
        assert!(sound.iter().any(|s| s.unsigned_abs() > 500));
        let before = &recorded[(at * RATE) as usize - 1600..(at * RATE) as usize];
        assert!(before.iter().all(|s| *s == 0));
    }
}

fn read(path: &Path) -> Vec<i16> {
    use symphonia::core::formats::probe::Hint;
    use symphonia::core::io::MediaSourceStream;
    let file = Box::new(std::fs::File::open(path).unwrap());
    let stream = MediaSourceStream::new(file, Default::default());
    let mut format = symphonia::default::get_probe()
        .probe(&Hint::new(), stream, Default::default(), Default::default())
        .unwrap();
    let track = format.tracks().first().unwrap().clone();
    let params = track.codec_params.as_ref().unwrap().audio().unwrap();
    assert_eq!(params.sample_rate, Some(16_000));
    let mut decoder = symphonia::default::get_codecs()
        .make_audio_decoder(params, &Default::default())
        .unwrap();
    let mut out = Vec::new();
    while let Ok(Some(packet)) = format.next_packet() {
        let buffer = decoder.decode(&packet).unwrap();
        let mut part: Vec<i16> = Vec::new();
        buffer.copy_to_vec_interleaved(&mut part);
        out.extend(part);
    }
    out
}

#[test]
fn text_alone_needs_no_engine_and_shows_every_reply_in_order() {
    #[derive(Clone, Default)]
    struct Shared(std::sync::Arc<std::sync::Mutex<Vec<u8>>>);
    impl std::io::Write for Shared {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let text = Shared::default();
    let (voice, played) = stepped(Config {
        engine: Engine::TextOnly,
        text: Some(Box::new(text.clone())),
        ..Config::default()
    });
    voice.advance_to(3.0);
    voice.say(reply("Heard one fifty."));
    voice.say(reply("About six minutes."));
    voice.advance_to(4.0);
    let shown = String::from_utf8(text.0.lock().unwrap().clone()).unwrap();
    assert_eq!(
        shown,
        "[     3.0] Heard one fifty.\n[     3.0] About six minutes.\n"
    );
    assert_eq!(events(&voice).len(), 4);
    assert_eq!(line(&played).len(), 0);
}

/// In real time, without a device: begins at once, lasts as long as its samples.
#[test]
fn paced_output_keeps_real_time() {
    let epoch = Instant::now();
    let voice = Voice::start(Config {
        output: Output::Paced,
        epoch,
        ..Config::default()
    })
    .unwrap();
    std::thread::sleep(Duration::from_millis(300));
    let asked = epoch.elapsed().as_secs_f64();
    let id = voice.say(reply("one six two left skillet"));
    let mut all = Vec::new();
    while let Ok(e) = voice.events().recv_timeout(Duration::from_secs(10)) {
        let over = matches!(e, VoiceEvent::Ended { .. });
        all.push(e);
        if over {
            break;
        }
    }
    let now = epoch.elapsed().as_secs_f64();
    let (end, cut) = ended(&all, id).unwrap();
    let start = began(&all, id).unwrap();
    let rendered = Flite::open(FliteVoice::Slt)
        .unwrap()
        .render("one six two left skillet", 1.0)
        .unwrap();
    assert!(!cut);
    assert!(start >= asked - 0.001, "{start} {asked}");
    // The line is exact even where the machine is late; only lateness is bounded loosely.
    let length = trim(&rendered).len() as f64 / RATE;
    assert!((end - start - length).abs() < 1e-6);
    assert!(now >= end - 0.03, "{now} {end}");
}

#[test]
fn any_text_is_taken_and_every_utterance_comes_to_an_end() {
    let (voice, _played) = stepped(Config::default());
    let texts = [
        "",
        " \t\n",
        "!!! ??? ...",
        "日本 소금 соль",
        "145 °F — über 5½ tsp … \u{0} \u{7}",
        "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
        "<speak>&amp;</speak> %s %n %d",
    ];
    let ids: Vec<UtteranceId> = texts.iter().map(|t| voice.say(reply(t))).collect();
    voice.advance_to(120.0);
    let all = events(&voice);
    for id in ids {
        assert!(began(&all, id).is_some(), "{all:?}");
        assert!(ended(&all, id).is_some(), "{all:?}");
    }
}

#[test]
fn closing_says_what_waits_and_dropping_does_not_hang() {
    let (voice, played) = stepped(Config::default());
    voice.say(reply("goodbye"));
    voice.close(Duration::from_secs(5));
    assert!(line(&played).len() > 4000);
    let (voice, _played) = stepped(Config::default());
    voice.say(reply("a sentence that is never heard"));
    drop(voice);
}

/// Two voices in one process share a library that is not thread-safe.
#[test]
fn voices_on_several_threads_render_the_same_samples() {
    let render = |which| {
        let mut flite = Flite::open(which).unwrap();
        (0..5)
            .map(|i| flite.render(&format!("reading number {i}"), 1.0).unwrap())
            .collect::<Vec<_>>()
    };
    let (slt, rms) = (render(FliteVoice::Slt), render(FliteVoice::Rms));
    std::thread::scope(|s| {
        let threads: Vec<_> = (0..4)
            .map(|i| {
                s.spawn(move || {
                    if i % 2 == 0 {
                        (true, render(FliteVoice::Slt))
                    } else {
                        (false, render(FliteVoice::Rms))
                    }
                })
            })
            .collect();
        for t in threads {
            let (is_slt, got) = t.join().unwrap();
            assert!(got == if is_slt { slt.clone() } else { rms.clone() });
        }
    });
}

/// An engine's own padding is cut, its sound is not, at every speed.
#[test]
fn padding_is_cut_and_sound_is_not() {
    let mut flite = Flite::open(FliteVoice::Slt).unwrap();
    for text in [
        "about six minutes left",
        "five four",
        "three fish",
        "heat off",
    ] {
        for speed in [0.5, 0.7, 1.0, 1.5, 2.0] {
            let all = flite.render(text, speed).unwrap();
            let cut = trim(&all);
            assert!(!cut.is_empty() && cut.len() < all.len());
            let energy = |s: &[i16]| s.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>();
            assert!(energy(cut) / energy(&all) > 0.999, "{text} at {speed}");
            // What is left begins within 20 ms of sound that can be heard.
            let head: f64 = energy(&cut[..320]) / 320.0;
            assert!(head.sqrt() > 30.0, "{text} at {speed}: {}", head.sqrt());
        }
    }
    assert!(trim(&[0; 1000]).is_empty() && trim(&[]).is_empty());
}

/// A machine without a sound card: one report, no noise on the terminal, no core burnt, and
/// the voice ends when asked.
#[test]
fn without_a_sound_device_there_is_one_message() {
    let exe = std::env::current_exe().unwrap();
    let out = std::process::Command::new(exe)
        .args([
            "--ignored",
            "--exact",
            "--nocapture",
            "samples::no_sound_device",
        ])
        .env("ALSA_CONFIG_PATH", "/dev/null")
        .env_remove("PULSE_SERVER")
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&out.stdout);
    let errors = String::from_utf8_lossy(&out.stderr);
    assert!(
        out.status.success() && text.contains("1 passed"),
        "{text}\n{errors}"
    );
    assert!(!errors.contains("ALSA lib"), "{errors}");
}

#[test]
#[ignore = "run by without_a_sound_device_there_is_one_message"]
fn no_sound_device() {
    assert!(hobcall::voice::speaker_present(None).is_err());
    let (shown, text) = std::os::unix::net::UnixStream::pair().unwrap();
    let voice = Voice::start(Config {
        text: Some(Box::new(shown)),
        ..Config::default()
    })
    .unwrap();
    let id = voice.say(reply("nobody hears this"));
    let until = Instant::now() + Duration::from_secs(5);
    let mut seen = Vec::new();
    while let Ok(e) = voice.events().recv_deadline(until) {
        seen.push(e);
    }
    let [VoiceEvent::DeviceLost { why }] = &seen[..] else {
        panic!("{seen:?}");
    };
    assert!(why.contains("speaker"), "{why}");
    let start = Instant::now();
    voice.close(Duration::from_secs(5));
    // Nothing to wait for: the answer that waited is dropped.
    assert!(start.elapsed() < Duration::from_secs(4), "{id:?}");
    let mut lines = String::new();
    std::io::Read::read_to_string(&mut { text }, &mut lines).unwrap();
    assert_eq!(lines.matches("nobody hears this").count(), 1, "{lines}");
}

#[cfg(not(feature = "system-voice"))]
#[test]
fn the_systems_voice_in_a_build_without_it_is_a_message() {
    let refused = Voice::start(Config {
        engine: Engine::System,
        ..Config::default()
    });
    let why = refused.err().map(|e| e.to_string()).unwrap_or_default();
    assert!(why.contains("--features system-voice"), "{why}");
}
