//! Cutting in: calls spoken over the tool's own voice, which comes back into its microphone,
//! and that voice alone, of which nothing may be taken for a call.

use std::time::{Duration, Instant};

use hobcall::ear::echo::{Echo, OwnVoice, may_be_ours};
use hobcall::ear::hob::{self, HobListener, Waits};
use hobcall::ear::{EarEvent, Heard, Listening};
use hobcall::grammar::Grammar;
use hobcall::kitchen;
use hobcall::voice::flite::{Flite, FliteVoice};
use hobcall::voice::synth::Synth;
use hobcall::voice::{Played, speakable};

use crate::sound::{self, Random};
use crate::{engine, set};

const RATE: usize = 16_000;
const BLOCK: usize = 160;
/// What a cook hears in a cook of the plan, long and short.
const REPLIES: [&str; 16] = [
    "Wet brine, twelve to sixteen hours from now.",
    "Dry salting has twelve hours left. End it anyway?",
    "In, right skillet. Flip in four minutes.",
    "Heard one three zero, left skillet. Target one forty five. About six minutes, give or take two.",
    "Test chop: left skillet, at the left, by the plan.",
    "Timer, ten minutes.",
    "Ten minute timer stopped.",
    "Heat medium low, left skillet.",
    "Done, dry off.",
    "Flipped, left skillet. Flip again in four minutes.",
    "Both skillets on medium, a tablespoon of oil in each. Oil that smokes is too hot. Take the pan off the heat and wait; never put water in it.",
    "Lift the chops onto the board and pat all six dry. The test chop keeps its pick.",
    "The other three chops into the right skillet. Flip every four minutes.",
    "Two more minutes, right skillet. Flip in five minutes ten.",
    "Left skillet flip in three minutes. Right skillet flip in one minute forty.",
    "Oil at three forty five, left skillet.",
];
/// Said over them, the shortest first.
const CALLS: [&str; 16] = [
    "quiet",
    "next",
    "scratch that",
    "done",
    "how long",
    "what's next",
    "stop the timer",
    "left skillet flipped",
    "where is the test chop",
    "two more minutes",
    "right skillet reading one forty seven",
    "timer ten minutes",
    "left skillet heat to medium low",
    "say that again",
    "how long is left",
    "yes",
];
/// Level of the cook's voice, root mean square of full scale (-26 dB).
const SPEECH: f32 = 0.05;
/// Our voice at the microphone above the cook's, dB.
const LOUDER: [f32; 4] = [-8.0, 0.0, 6.0, 12.0];
/// The cook begins so long after us, seconds.
const AFTER: f64 = 1.2;
const VOICES: [&str; 3] = ["m7", "Max", "ked"];
/// Of a kitchen, dB below the cook's voice.
const NOISE: [f32; 2] = [20.0, 35.0];

/// A speaker beside the microphone and the way through both.
struct Kitchen {
    echo: Echo,
    played: crossbeam_channel::Sender<Played>,
    epoch: Instant,
    at: usize,
    random: Random,
    seed: u64,
    gain: f32,
    late: usize,
    /// What the output tells wrongly of its delay, seconds.
    wrong: f64,
    noise: f32,
}

impl Kitchen {
    fn new(seed: u64, gain: f32) -> Result<Self, String> {
        let (to, played) = crossbeam_channel::unbounded();
        let epoch = Instant::now();
        let mut random = Random::new(seed);
        let late = (480.0 + 1_600.0 * random.uniform()) as usize;
        let wrong = 0.06 * (f64::from(random.uniform()) - 0.5);
        Ok(Self {
            echo: Echo::new(OwnVoice { played, epoch })?,
            played: to,
            epoch,
            at: 0,
            random,
            seed,
            gain,
            late,
            wrong,
            noise: NOISE[seed as usize % NOISE.len()],
        })
    }

    /// Plays `ours`; `theirs` is spoken in it. Answers what the ear heard.
    fn live(&mut self, ear: &mut HobListener, ours: &[i16], theirs: &[f32]) -> Vec<Heard> {
        // A small speaker near its limit bends the loudest of it.
        let bent = |x: f32| (1.5 * x).tanh() / 1.5;
        let voice: Vec<f32> = (ours.iter())
            .map(|&s| bent(f32::from(s) / 32_768.0))
            .collect();
        // The speaker stands beside the microphone: 9 to 15 dB more comes straight than from
        // the walls.
        let mut echo = sound::room(&voice, self.seed);
        for (t, x) in echo.iter_mut().enumerate() {
            *x = 0.35 * *x + 0.65 * voice.get(t).unwrap_or(&0.0);
        }
        let n = (ours.len().max(theirs.len()) + RATE) / BLOCK * BLOCK;
        let noise = sound::noise("frying", n, self.seed + self.at as u64, &[]);
        let level = (noise.iter().map(|v| v * v).sum::<f32>() / n as f32).sqrt();
        let hiss = SPEECH * 10f32.powf(-self.noise / 20.0) / level;
        let mic: Vec<i16> = (0..n)
            .map(|t| {
                let back = t.checked_sub(self.late).and_then(|t| echo.get(t));
                let x = self.gain * back.copied().unwrap_or(0.0)
                    + theirs.get(t).copied().unwrap_or(0.0)
                    + hiss * noise[t];
                (x * 32_767.0).clamp(-32_768.0, 32_767.0) as i16
            })
            .collect();
        let mut heard = Vec::new();
        let mut told = 0;
        let mut from = 0;
        while from < n {
            // A machine under load gets its sound in lumps, and late.
            let lump = BLOCK * (1 + (self.random.uniform().powi(4) * 20.0) as usize);
            let to = (from + lump).min(n);
            while told < n.min(to + 5 * BLOCK) {
                if let Some(block) = ours.get(told..).filter(|o| !o.is_empty()) {
                    let at = (self.at + told) as f64 / RATE as f64 + self.wrong;
                    let _ = self
                        .played
                        .send(Played::new(at, &block[..block.len().min(BLOCK)]));
                }
                told += BLOCK;
            }
            let wait = 0.02 * f64::from(self.random.uniform().powi(3));
            let now = (self.at + to) as f64 / RATE as f64 + wait;
            let now = self.epoch + Duration::from_secs_f64(now);
            let mut samples = mic[from..to].to_vec();
            self.echo.feed(ear, &mut samples, now, &mut |e| {
                if let EarEvent::Heard(h) = e
                    && !h.words.is_empty()
                {
                    heard.push(h);
                }
            });
            from = to;
        }
        self.at += n;
        heard
    }
}

/// What became of the calls of one loudness.
#[derive(Default)]
struct Counts {
    called: usize,
    right: usize,
    wrong: usize,
    /// Heard rightly, and taken for our own voice.
    refused: usize,
    invented: usize,
}

pub fn run() -> Result<(), String> {
    let grammar: Grammar = set::grammar()?;
    let ours = replies()?;
    let voices: Vec<Vec<Vec<f32>>> = (VOICES.iter())
        .map(|voice| calls(voice))
        .collect::<Result<_, _>>()?;
    let loudness = ours.iter().map(|reply| {
        let reply: Vec<f32> = reply.iter().map(|&s| f32::from(s) / 32_768.0).collect();
        sound::loudness(&reply)
    });
    let loud = loudness.sum::<f32>() / ours.len() as f32;
    let mut rows = Vec::new();
    for (k, louder) in LOUDER.iter().enumerate() {
        let gain = SPEECH * 10f32.powf(louder / 20.0) / loud;
        let mut counts = Counts::default();
        for (v, calls) in voices.iter().enumerate() {
            let mut ear = HobListener::new(hob::english()?, Waits::default())?;
            ear.set_grammar(grammar.clone())?;
            let mut kitchen = Kitchen::new((10 * k + v) as u64, gain)?;
            for (n, (call, words)) in calls.iter().zip(CALLS).enumerate() {
                let which = (n * 7 + v) % REPLIES.len();
                let (sound, said) = (&ours[which], REPLIES[which]);
                let mut judge = |called: &str, heard: Vec<Heard>| {
                    counts.take(&grammar, called, said, &heard);
                };
                // Nobody speaks over the first thing said, and every second one.
                judge("", kitchen.live(&mut ear, sound, &[]));
                let mut theirs = vec![0.0; (AFTER * RATE as f64) as usize];
                theirs.extend(call);
                judge(words, kitchen.live(&mut ear, sound, &theirs));
            }
        }
        rows.push((louder, counts));
    }
    println!("calls spoken {AFTER} s into a reply, voices {VOICES:?}");
    println!(
        "{:<24}{:>8}{:>8}{:>9}{:>8}{:>10}",
        "our voice, dB above", "right", "wrong", "refused", "missed", "invented"
    );
    for (louder, c) in rows {
        println!(
            "{louder:<24}{:>8}{:>8}{:>9}{:>8}{:>10}",
            format!("{}/{}", c.right, c.called),
            c.wrong,
            c.refused,
            c.called - c.right.min(c.called) - c.wrong - c.refused,
            c.invented
        );
    }
    Ok(())
}

impl Counts {
    fn take(&mut self, grammar: &Grammar, called: &str, said: &str, heard: &[Heard]) {
        self.called += usize::from(!called.is_empty());
        let mut answered = called.is_empty();
        for h in heard {
            let calls = grammar.calls(&h.words);
            let right = !called.is_empty() && calls == grammar.calls(called);
            let cuts_in = calls.iter().any(kitchen::cuts_in);
            let is_ours = h.over_us && may_be_ours(h, cuts_in, [said].into_iter());
            let to = match (right, is_ours) {
                (true, true) => &mut self.refused,
                (true, false) => &mut self.right,
                (false, true) => continue,
                (false, false) if answered => &mut self.invented,
                (false, false) => &mut self.wrong,
            };
            *to += 1;
            answered = true;
            if !right || is_ours {
                println!(
                    "    {called:?} over {said:?}: {:?}, {:.2}, ours {:?}",
                    h.words, h.confidence, h.ours
                );
            }
        }
    }
}

fn replies() -> Result<Vec<Vec<i16>>, String> {
    let mut flite = Flite::open(FliteVoice::Slt).map_err(|e| e.to_string())?;
    let mut say = |text: &&str| flite.render(&speakable(text), 1.0);
    let said: Result<_, _> = REPLIES.iter().map(&mut say).collect();
    said.map_err(|e| e.to_string())
}

/// All of [`CALLS`] by one voice.
fn calls(voice: &str) -> Result<Vec<Vec<f32>>, String> {
    let dir = tempfile::tempdir().map_err(|e| e.to_string())?;
    let file = dir.path().join("call.wav");
    (CALLS.iter().enumerate())
        .map(|(n, words)| {
            set::speak(voice, words, n, &file)?;
            let call = engine::read(&file)?;
            let gain = SPEECH / sound::loudness(&call).max(1e-9);
            Ok(call.iter().map(|x| x * gain).collect())
        })
        .collect()
}
