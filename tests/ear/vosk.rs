//! Vosk with the one model that can be installed from a package index, the small Korean
//! one, and the shipped Korean grammar; and what is said when library or model are not
//! there. The sound is espeak-ng's (Debian package `espeak-ng`): it shares nothing with
//! the model, which has heard people and refuses most short words of it. So these are
//! the sentences that came through when the test was made (8 voices and speeds, 25
//! sentences, about one in eight came through); they hold the path, not its accuracy.

use std::path::Path;
use std::process::{Command, Output};
use std::time::Duration;

use crate::common::{samples_of, words};
use hobcall::ear::{EarEvent, Engine, Heard, Listener, Listening, Patience};
use hobcall::grammar::{ActiveSet, Call, Grammar};

fn korean() -> Grammar {
    let grammar = Grammar::of_language("ko").unwrap_or_else(|e| panic!("{e}"));
    let awake = grammar.restricted(&ActiveSet::awake());
    awake.unwrap_or_else(|e| panic!("{e}"))
}

fn spoken(voice: &str, text: &str, dir: &Path) -> Vec<i16> {
    let path = dir.join("said.wav");
    let status = Command::new("espeak-ng")
        .args(["-v", voice, "-s", "130", "-w"])
        .arg(&path)
        .arg(text)
        .status()
        .expect("espeak-ng; install the package espeak-ng");
    assert!(status.success());
    samples_of(&path)
}

fn hear(listener: &mut Listener, samples: &[i16]) -> Vec<Heard> {
    let mut heard = Vec::new();
    let mut on = |e: EarEvent| {
        if let EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    listener.feed(samples, false, &mut on);
    listener.end(&mut on);
    listener.reset(&mut on);
    heard
}

#[test]
fn korean_calls_are_heard_and_korean_talk_is_not_a_call() {
    let grammar = korean();
    let vosk = Engine::Vosk
        .load("ko")
        .expect("the Korean model; run scripts/get-vosk.sh and scripts/get-vosk-ko.sh");
    let mut listener = Listener::new(vosk, Patience::default());
    let unheard = listener.set_grammar(grammar.clone()).unwrap();
    // The model's word list has no "Fahrenheit"; it is told, not passed over.
    assert_eq!(unheard, ["화씨"]);
    let dir = tempfile::tempdir().unwrap();
    let minutes = |n: u64| Duration::from_secs(60 * n);
    for (voice, said, heard, call) in [
        ("ko", "완료", "완료", Call::Done { what: None }),
        (
            "ko+f3",
            "얼마나 남았어",
            "얼마나 남았 어",
            Call::HowLong { what: None },
        ),
        (
            "ko+m3",
            "얼마나 남았어",
            "얼마나 남았 어",
            Call::HowLong { what: None },
        ),
        ("ko+f5", "취소", "취소", Call::Cancel),
        (
            "ko+f2",
            "라면 타이머 사 분",
            "라면 타이머 사 분",
            Call::Timer {
                duration: minutes(4),
                name: Some("라면".into()),
            },
        ),
        (
            "ko+f2",
            "오 분 더",
            "오 분 더",
            Call::Extend {
                duration: minutes(5),
                less: false,
                which: None,
            },
        ),
    ] {
        let all = hear(&mut listener, &spoken(voice, said, dir.path()));
        assert_eq!(words(&all), heard, "{voice}: {said}");
        assert_eq!(grammar.calls(heard), [call], "{heard}");
        assert!(all.iter().all(|h| h.confidence > 0.5), "{all:?}");
    }
    // "The weather is really nice today"; "I saw a film with a friend yesterday".
    for talk in ["오늘은 날씨가 참 좋네요", "어제 친구하고 영화를 봤습니다"]
    {
        let all = hear(&mut listener, &spoken("ko+f2", talk, dir.path()));
        assert!(!all.is_empty(), "{talk}: speech was not even noticed");
        assert_eq!(words(&all), "", "{talk}");
    }
}

/// The program in a process of its own, where library and models are where we say.
fn hear_with(variable: &str, value: &Path, lang: &str, dir: &Path) -> Output {
    let sound = dir.join("a.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&sound, spec).unwrap();
    (0..16_000).for_each(|_| wav.write_sample(0_i16).unwrap());
    wav.finalize().unwrap();
    Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .args(["hear", "--engine", "vosk", "--lang", lang])
        .arg(&sound)
        .env_remove("HOBCALL_MODELS")
        .env_remove("HOBCALL_VOSK_LIB")
        .env(variable, value)
        .output()
        .unwrap()
}

fn refused(out: &Output, with: &[&str]) {
    let errors = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(1), "{errors}");
    for part in with {
        assert!(errors.contains(part), "{part:?} is not in: {errors}");
    }
    assert!(!errors.contains("panicked"), "{errors}");
}

#[test]
fn an_absent_library_or_model_is_a_sentence_that_says_what_to_do() {
    let dir = tempfile::tempdir().unwrap();
    let nowhere = dir.path().join("nowhere");
    let out = hear_with("HOBCALL_VOSK_LIB", &nowhere, "ko", dir.path());
    refused(
        &out,
        &["not installed", "scripts/get-vosk.sh", "HOBCALL_VOSK_LIB"],
    );
    let out = hear_with("HOBCALL_MODELS", &nowhere, "en", dir.path());
    refused(&out, &["no Vosk model", "hobcall doctor --fetch-model"]);
    let out = hear_with("HOBCALL_MODELS", &nowhere, "xx", dir.path());
    refused(&out, &["xx"]);
    // A library that is none, and a model of which only the name is there.
    std::fs::write(&nowhere, "no library").unwrap();
    let out = hear_with("HOBCALL_VOSK_LIB", &nowhere, "ko", dir.path());
    refused(&out, &["not installed"]);
    let models = dir.path().join("models");
    std::fs::create_dir_all(models.join("ko/am")).unwrap();
    std::fs::write(models.join("ko/am/final.mdl"), "junk").unwrap();
    let out = hear_with("HOBCALL_MODELS", &models, "ko", dir.path());
    refused(&out, &["not a complete Vosk model"]);
}
