//! Vosk with the one model that can be installed from a package index, the small Korean
//! one, and the shipped Korean grammar; and what is said when it is not there. The sound
//! is espeak-ng's (Debian package `espeak-ng`), which shares nothing with the model.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::common::samples_of;
use hobcall::ear::{EarEvent, Engine, Listener, Patience};
use hobcall::grammar::{ActiveSet, Call, Grammar};

fn vendor(inside: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("vendor").join(inside);
    assert!(
        path.exists(),
        "{} is missing; run scripts/get-vosk.sh and scripts/get-vosk-ko.sh",
        path.display()
    );
    path
}

fn speak(text: &str, dir: &Path) -> Vec<i16> {
    let path = dir.join("said.wav");
    let status = Command::new("espeak-ng")
        .args(["-v", "ko", "-s", "140", "-w"])
        .arg(&path)
        .arg(text)
        .status()
        .expect("espeak-ng; install the package espeak-ng");
    assert!(status.success());
    let mut samples = samples_of(&path);
    samples.extend(vec![0; 16_000]);
    samples
}
