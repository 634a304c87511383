//! How well the ear hears: calls right, wrong and rejected at each noise level, dry and
//! in a room, false calls on talk and noise, delay, speed.
//!
//! ```text
//! bench_ear make DIR                 speaks the set with the installed synthesisers
//! bench_ear run DIR [--human DIR]    hears it and prints the table
//!           [--engine hob|pocketsphinx] [--evidence FILE] [--part fit|bench] [--quick]
//! bench_ear session [--snr DB] [--voice NAME]   five minutes of a cook in noise,
//!                                    12 dB and a voice kept out of training if not said
//! bench_ear cut-in                   calls over our own voice, and that alone
//! bench_ear cost DIR                 processor time while nobody calls, and memory (`run` does this too)
//! ```
//!
//! The voices are kept out of training (training/README.md): espeak-ng's f5, m7, Annie
//! and Max, festival's ked. `--human` names a folder of recordings with `list.tsv`: kind
//! (calls or talk), file, words, speaker. The noise is made here, from other random
//! numbers than in training. `--part fit` takes the voices on whose evidence
//! the confidence is fitted, `bench` (the default) the others. `--evidence` writes what the
//! confidence is fitted on, and for it hears every call once more, against a grammar that
//! lacks it.

mod batch;
mod cost;
mod cut_in;
mod engine;
mod near;
mod phones;
mod score;
mod session;
mod set;
mod sound;
mod tally;

use std::path::PathBuf;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let value = |name: &str| {
        let at = args.iter().position(|a| a == name)?;
        args.get(at + 1).cloned()
    };
    let result = match (args.first().map(String::as_str), args.get(1)) {
        (Some("make"), Some(dir)) => set::make(&PathBuf::from(dir)),
        (Some("run"), Some(dir)) => score::run(&score::Options {
            dir: PathBuf::from(dir),
            human: value("--human").map(PathBuf::from),
            engine: value("--engine").unwrap_or_else(|| "hob".to_owned()),
            evidence: value("--evidence").map(PathBuf::from),
            part: value("--part").unwrap_or_else(|| "bench".to_owned()),
            quick: args.iter().any(|a| a == "--quick"),
        }),
        (Some("session"), _) => match value("--snr").map_or(Ok(12.0), |v| v.parse()) {
            Ok(snr) => session::run(snr, value("--voice").as_deref().unwrap_or(session::VOICE)),
            Err(_) => Err("--snr takes decibels, such as 12".to_owned()),
        },
        (Some("cut-in"), _) => cut_in::run(),
        (Some("cost"), Some(dir)) => cost::run(&PathBuf::from(dir)),
        _ => Err(
            "usage: bench_ear make DIR | bench_ear run DIR [--human DIR] [--engine NAME] \
                  [--part fit|bench] [--evidence FILE] [--quick] | bench_ear session [--snr DB] [--voice NAME] | bench_ear cut-in | bench_ear cost DIR"
                .to_owned(),
        ),
    };
    if let Err(why) = result {
        eprintln!("bench_ear: {why}");
        std::process::exit(1);
    }
}
