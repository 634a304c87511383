//! What listening costs: processor time while nobody calls, and memory, in a process that does
//! nothing else.

use std::path::Path;
use std::process::Command;

use crate::engine::{self, timed};
use crate::{set, sound};

const RATE: usize = 16_000;
const SECONDS: usize = 60;
/// Calls heard before the memory is read.
const CALLS: usize = 40;

/// Measures in a process of its own, for the memory of this one holds the set.
pub fn apart(dir: &Path) -> Result<(), String> {
    let program = std::env::current_exe().map_err(|e| e.to_string())?;
    let done = Command::new(program).arg("cost").arg(dir).status();
    match done {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("measuring the cost: {status}")),
        Err(e) => Err(format!("measuring the cost: {e}")),
    }
}

pub fn run(dir: &Path) -> Result<(), String> {
    let mut ear = engine::load("hob")?;
    ear.set_grammar(&set::grammar()?)?;
    // -66 dB of full scale is a quiet room, -32 a pan close by; as loud as a microphone's
    // usual gain makes them, common practice, no source.
    for (name, kind, level) in [
        ("a quiet room", "hood", 0.0005),
        ("frying, nobody calls", "frying", 0.025),
    ] {
        let noise = sound::noise(kind, SECONDS * RATE, 900, &[]);
        let power = noise.iter().map(|v| v * v).sum::<f32>() / noise.len() as f32;
        let gain = level / power.sqrt().max(1e-9) * 32_767.0;
        let noise: Vec<i16> = noise.iter().map(|v| (v * gain) as i16).collect();
        let (heard, took) = timed(|| ear.hear(&[noise]));
        heard?;
        println!(
            "idle, {name}: {:.1} % of one core",
            100.0 * took.as_secs_f64() / SECONDS as f64
        );
    }
    for item in set::read(dir, false)?.iter().take(CALLS) {
        let speech: Vec<i16> = (engine::read(&item.file)?.iter())
            .map(|v| (v * 32_767.0) as i16)
            .collect();
        ear.hear(&[speech])?;
    }
    println!("held after {CALLS} calls, at most: {:.0} MB", peak_mb());
    Ok(())
}

/// Resident memory at its peak, in millions of bytes.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kib = line.and_then(|l| l.split_whitespace().next());
    kib.and_then(|n| n.parse::<f64>().ok()).unwrap_or(f64::NAN) * 1_024.0 / 1e6
}
