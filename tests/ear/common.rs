//! What the tests of the ear share.
#![allow(dead_code, reason = "each test file uses a part of it")]

use std::path::{Path, PathBuf};
use std::time::Duration;

use hobcall::ear::source::{FileSource, Got, Pace, Source};
use hobcall::ear::{EarEvent, Engine, Heard, Listening, Patience};
use hobcall::grammar::Grammar;

/// Recordings that Debian ships for testing PocketSphinx (package
/// `pocketsphinx-testdata`).
pub const HUMAN: &str = "/usr/share/pocketsphinx/test/data";

pub fn human(name: &str) -> PathBuf {
    let path = Path::new(HUMAN).join(name);
    assert!(
        path.is_file(),
        "{} is missing; install the package pocketsphinx-testdata",
        path.display()
    );
    path
}

pub fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/ear")
        .join(name)
}

/// Our own ear.
pub fn listener(grammar: &Grammar) -> Box<dyn Listening> {
    let ear = Engine::Hob.listen("en", Patience::default());
    let mut listener = ear.unwrap_or_else(|e| panic!("{e}"));
    let unheard = listener.set_grammar(grammar.clone()).expect("the grammar");
    assert!(unheard.is_empty(), "cannot be heard: {unheard:?}");
    listener
}

/// Everything heard in samples at 16 kHz.
pub fn hear_samples(grammar: &Grammar, samples: &[i16]) -> Vec<Heard> {
    let mut heard = Vec::new();
    let mut listener = listener(grammar);
    let mut on = |e: EarEvent| {
        if let EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    // In the odd pieces that audio callbacks deliver.
    for piece in samples.chunks(213) {
        listener.feed(piece, false, &mut on);
    }
    listener.end(&mut on);
    heard
}

pub fn samples_of(path: &Path) -> Vec<i16> {
    let mut source = FileSource::open(path, Pace::Fast).expect("a sound file");
    let mut samples = Vec::new();
    loop {
        match source.read(&mut samples, Duration::from_secs(1)) {
            Got::End(None) => return samples,
            Got::Samples => {}
            other => panic!("{}: {other:?}", path.display()),
        }
    }
}

pub fn hear_file(grammar: &Grammar, path: &Path) -> Vec<Heard> {
    hear_samples(grammar, &samples_of(path))
}

/// A headerless recording of 16 kHz, 16 bit, little endian.
pub fn raw_samples(path: &Path) -> Vec<i16> {
    let bytes = std::fs::read(path).expect("a recording");
    bytes
        .as_chunks::<2>()
        .0
        .iter()
        .map(|b| i16::from_le_bytes(*b))
        .collect()
}

/// The words of all utterances with words, joined.
pub fn words(heard: &[Heard]) -> String {
    let words: Vec<&str> = heard
        .iter()
        .map(|h| h.words.as_str())
        .filter(|w| !w.is_empty())
        .collect();
    words.join(" | ")
}
