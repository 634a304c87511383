//! Vosk with the one model that can be installed from a package index, the small Korean
//! one, and the shipped Korean grammar; and what is said when library or model are not
//! there. The sound is espeak-ng's (Debian package `espeak-ng`): it shares nothing with
//! the model, which has heard people, and makes short words hard for it.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::common::samples_of;
use hobcall::ear::{EarEvent, Engine, Heard, Listener, Patience};
use hobcall::grammar::{ActiveSet, Call, Grammar};
use hobcall::plan::Span;

fn korean() -> Grammar {
    let grammar = Grammar::of_language("ko").unwrap_or_else(|e| panic!("{e}"));
    let awake = grammar.restricted(&ActiveSet::awake());
    awake.unwrap_or_else(|e| panic!("{e}"))
}

fn spoken(voice: &str, text: &str, dir: &Path) -> Vec<i16> {
    let path: PathBuf = dir.join("said.wav");
    let status = Command::new("espeak-ng")
        .args(["-v", voice, "-s", "130", "-w"])
        .arg(&path)
        .arg(text)
        .status()
        .expect("espeak-ng; install the package espeak-ng");
    assert!(status.success());
    samples_of(&path)
}

