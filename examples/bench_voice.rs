//! `make bench`, the voice's part: how fast speech is rendered, how soon the first sample
//! sounds after a reply is asked for, what the voice costs while nothing is said.
//! Prints rows of a Markdown table: what, measured.

use std::time::{Duration, Instant};

use hobcall::voice::flite::Flite;
use hobcall::voice::synth::{SAMPLE_RATE, Synth, trim};
use hobcall::voice::{
    Config, FliteVoice, Output, Urgency, Utterance, Voice, VoiceEvent, speaker_present,
};

const REPLIES: [&str; 8] = [
    "Heard one six two, left skillet. Target one forty five.",
    "Flipped, right skillet. Next flip in four minutes.",
    "Test chop: left skillet, at the left, first side down, told thirty seconds ago.",
    "Timer, ten minutes.",
    "Fry left, flip in three minutes twenty one, until the core is one forty five.",
    "Taken back, turned, left skillet.",
    "Lift the chops onto the board and pat all six dry. The test chop keeps its pick.",
    "In what order on the rack: the same, reversed, or where is the test chop?",
];

fn percentile(sorted: &[f64], p: f64) -> f64 {
    let at = ((sorted.len() as f64 - 1.0) * p).round() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}

/// User and system time of this process, seconds.
fn cpu_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat
        .rsplit_once(')')
        .map(|(_, rest)| rest.split_whitespace().collect())
        .unwrap_or_default();
    let ticks = |i: usize| fields.get(i).and_then(|f| f.parse::<f64>().ok());
    (ticks(11).unwrap_or(f64::NAN) + ticks(12).unwrap_or(f64::NAN)) / 100.0
}

fn first_sample(output: Output, name: &str) -> Result<(), Box<dyn std::error::Error>> {
    let device = output != Output::Paced;
    let epoch = Instant::now();
    let voice = Voice::start(Config {
        output,
        epoch,
        ..Config::default()
    })?;
    if device {
        voice.events().recv_timeout(Duration::from_secs(5))?;
    }
    let mut waits = Vec::new();
    for _ in 0..5 {
        for text in REPLIES {
            let asked = epoch.elapsed().as_secs_f64();
            voice.say(Utterance::new(text, Urgency::Reply));
            loop {
                match voice.events().recv_timeout(Duration::from_secs(5))? {
                    VoiceEvent::Began { at, .. } => {
                        waits.push(1000.0 * (at - asked));
                        // Enough was heard.
                        voice.quiet_now();
                    }
                    VoiceEvent::Ended { .. } => break,
                    _ => {}
                }
            }
            std::thread::sleep(Duration::from_millis(300));
        }
    }
    waits.sort_by(f64::total_cmp);
    println!(
        "| reply asked for to first sample, {name}, median / p95 | {:.0} / {:.0} ms |",
        percentile(&waits, 0.5),
        percentile(&waits, 0.95)
    );
    let cpu = cpu_seconds();
    std::thread::sleep(Duration::from_secs(5));
    println!(
        "| voice while nothing is said, {name} | {:.2} % of a core |",
        100.0 * (cpu_seconds() - cpu) / 5.0
    );
    Ok(())
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for (which, name) in [(FliteVoice::Slt, "slt"), (FliteVoice::Rms, "rms")] {
        let mut flite = Flite::open(which)?;
        let (mut sound, mut padding) = (0usize, 0usize);
        let start = Instant::now();
        for _ in 0..3 {
            for text in REPLIES {
                let samples = flite.render(text, 1.0)?;
                sound += samples.len();
                padding += samples.len() - trim(&samples).len();
            }
        }
        let spent = start.elapsed().as_secs_f64();
        let seconds = sound as f64 / f64::from(SAMPLE_RATE);
        println!(
            "| rendering speech, {name}: time for a second of speech | {:.1} ms (factor {:.4}) |",
            1000.0 * spent / seconds,
            spent / seconds
        );
        println!(
            "| silence of the engine that is cut, {name}, a piece | {:.0} ms |",
            1000.0 * padding as f64 / f64::from(SAMPLE_RATE) / (3 * REPLIES.len()) as f64
        );
    }
    first_sample(Output::Paced, "no device")?;
    match speaker_present(None) {
        Ok(_) => first_sample(Output::Speaker { device: None }, "speaker")?,
        Err(e) => println!("| reply asked for to first sample, speaker | not measured: {e} |"),
    }
    Ok(())
}
