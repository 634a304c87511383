//! Five minutes at the stove in noise: fifteen calls over frying and an extractor hood,
//! through the whole program, what it took for calls held against what was called.

use std::path::{Path, PathBuf};
use std::process::Command;

use hobcall::grammar::{ActiveSet, Call, Grammar};
use hobcall::journal;
use hobcall::kitchen::Event;

use crate::{engine, set, sound};

const PLAN: &str = "plans/pork-chops-two-brines.yaml";
const RATE: usize = 16_000;
const SECONDS: usize = 300;
/// Of this many kitchens, each with noise of its own.
const KITCHENS: u64 = 4;
/// A voice that was kept out of training.
pub const VOICE: &str = "Max";
/// Questions, records and moves, with numbers and names of the plan.
const CALLS: [&str; 15] = [
    "status",
    "next",
    "timer ten minutes",
    "where is the test chop",
    "left skillet heat to medium low",
    "how long is left",
    "right skillet flipped",
    "what's next",
    "oil three forty five",
    "left skillet flipped",
    "two more minutes",
    "right skillet lid on",
    "turned the left skillet",
    "scratch that",
    "stop the timer",
];
/// A call is decided within this of its end, seconds.
const WITHIN: f64 = 2.5;

struct Said {
    from: f64,
    to: f64,
    words: &'static str,
}

#[derive(Default)]
struct Counts {
    right: usize,
    wrong: usize,
    missed: usize,
    invented: usize,
}

/// `voice`: one of those that [`set::make`] speaks with.
pub fn run(snr: f32, voice: &str) -> Result<(), String> {
    let dir = tempfile::tempdir().map_err(|e| e.to_string())?;
    let calls: Vec<Vec<f32>> = CALLS
        .iter()
        .enumerate()
        .map(|(n, words)| {
            let file = dir.path().join("call.wav");
            set::speak(voice, words, n, &file)?;
            engine::read(&file)
        })
        .collect::<Result<_, _>>()?;
    println!("five minutes at {snr} dB, voice {voice}, frying and a hood");
    println!(
        "{:<12}{:>8}{:>8}{:>8}{:>10}",
        "", "right", "wrong", "missed", "invented"
    );
    let mut all = Counts::default();
    for seed in 0..KITCHENS {
        let (sound, said) = lay(&calls, snr, seed);
        let file = dir.path().join(format!("kitchen-{seed}.wav"));
        write(&file, &sound)?;
        let counts = cook(&file, &said)?;
        row(&format!("kitchen {}", seed + 1), &counts);
        all.right += counts.right;
        all.wrong += counts.wrong;
        all.missed += counts.missed;
        all.invented += counts.invented;
    }
    row("all", &all);
    Ok(())
}

fn row(what: &str, c: &Counts) {
    let of = c.right + c.wrong + c.missed;
    println!(
        "{what:<12}{:>8}{:>8}{:>8}{:>10}",
        format!("{}/{of}", c.right),
        c.wrong,
        c.missed,
        c.invented
    );
}

/// The calls some twenty seconds apart, each at -26 dB of full scale, `snr` dB above the
/// noise (root mean square, of speech without its pauses).
fn lay(calls: &[Vec<f32>], snr: f32, seed: u64) -> (Vec<i16>, Vec<Said>) {
    const SPEECH: f32 = 0.05;
    let n = SECONDS * RATE;
    let level = |x: &[f32]| (x.iter().map(|v| v * v).sum::<f32>() / x.len() as f32).sqrt();
    let mut out = vec![0.0; n];
    for kind in ["frying", "hood"] {
        let noise = sound::noise(kind, n, 7_000 + seed, &[]);
        let gain = 1.0 / level(&noise).max(1e-9);
        for (to, x) in out.iter_mut().zip(&noise) {
            *to += x * gain;
        }
    }
    let gain = SPEECH * 10f32.powf(-snr / 20.0) / level(&out).max(1e-9);
    out.iter_mut().for_each(|x| *x *= gain);
    let mut random = sound::Random::new(900 + seed);
    let apart = (n - 5 * RATE) / calls.len();
    let mut said = Vec::new();
    for (k, (call, words)) in calls.iter().zip(CALLS).enumerate() {
        let at = 4 * RATE + k * apart + (random.uniform() * 8.0 * RATE as f32) as usize;
        let gain = SPEECH / sound::loudness(call).max(1e-9);
        for (to, x) in out.iter_mut().skip(at).zip(call) {
            *to += x * gain;
        }
        let from = at as f64 / RATE as f64;
        said.push(Said {
            from,
            to: from + sound::end(call),
            words,
        });
    }
    let pcm = out
        .iter()
        .map(|x| (x * 32_767.0).clamp(-32_768.0, 32_767.0) as i16);
    (pcm.collect(), said)
}

fn write(file: &Path, sound: &[i16]) -> Result<(), String> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE as u32,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(file, spec).map_err(|e| e.to_string())?;
    for &s in sound {
        wav.write_sample(s).map_err(|e| e.to_string())?;
    }
    wav.finalize().map_err(|e| e.to_string())
}

/// The program of the same build.
fn hobcall() -> Result<PathBuf, String> {
    let us = std::env::current_exe().map_err(|e| e.to_string())?;
    us.ancestors()
        .skip(1)
        .map(|dir| dir.join("hobcall"))
        .find(|path| path.is_file())
        .ok_or_else(|| "build the program first: cargo build --release".to_owned())
}

fn cook(file: &Path, said: &[Said]) -> Result<Counts, String> {
    let journal = file.with_extension("journal");
    let out = Command::new(hobcall()?)
        .args(["cook", PLAN, "--voice", "none", "--ear"])
        .arg(file)
        .arg("--journal")
        .arg(&journal)
        .output()
        .map_err(|e| e.to_string())?;
    if !out.status.success() {
        return Err(String::from_utf8_lossy(&out.stderr).into_owned());
    }
    let cook = journal::read::<Event>(&journal).map_err(|e| e.to_string())?;
    let plan = hobcall::plan::read(&cook.header.plan, PLAN)
        .map_err(|p| format!("{p:?}"))?
        .plan;
    let grammar = Grammar::for_plan("en", &plan)
        .and_then(|g| g.restricted(&ActiveSet::answering()))
        .map_err(|e| e.to_string())?;
    let mean = |words: &str| -> Vec<Call> { grammar.calls(words) };
    let mut taken: Vec<(u32, f64, String)> = cook
        .events
        .iter()
        .filter_map(|(_, e)| Some((e.call?, e.at.0 as f64 / 1000.0, e.heard.clone()?)))
        .collect();
    taken.dedup_by_key(|(call, ..)| *call);
    let mut counts = Counts::default();
    let mut used = vec![false; taken.len()];
    for call in said {
        let here = taken
            .iter()
            .position(|(_, at, _)| (call.from..call.to + WITHIN).contains(at));
        let Some(n) = here else {
            counts.missed += 1;
            println!("    {:?} was not taken", call.words);
            continue;
        };
        used[n] = true;
        if mean(&taken[n].2) == mean(call.words) {
            counts.right += 1;
        } else {
            counts.wrong += 1;
            println!("    {:?} was taken for {:?}", call.words, taken[n].2);
        }
    }
    for ((_, at, words), _) in taken.iter().zip(&used).filter(|(_, used)| !**used) {
        counts.invented += 1;
        println!("    at {at:.1} s nobody called {words:?}");
    }
    Ok(counts)
}
