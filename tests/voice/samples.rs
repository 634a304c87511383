//! The voice from `say` to samples, with the real built-in engine, on a stepped time line:
//! every time below is exact.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::stepped::{RATE, began, ended, events, line, reply, stepped};
use hobcall::voice::flite::Flite;
use hobcall::voice::synth::{Synth, trim};
use hobcall::voice::{Config, FliteVoice, Output, Voice, VoiceEvent};

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
