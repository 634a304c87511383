use std::time::{Duration, Instant};

use crossbeam_channel::{Sender, unbounded};

use super::*;
use crate::ear::hob::{HobListener, Waits};
use crate::ear::{EarEvent, Listening};
use crate::grammar::Grammar;
use crate::voice::flite::{Flite, FliteVoice};
use crate::voice::synth::Synth;

/// A kitchen with a speaker beside the microphone: 60 ms through the machine, a direct
/// path, and reflections that die away.
struct Room {
    echo: Vec<(usize, f32)>,
    epoch: Instant,
    played: Sender<Played>,
    echoes: Echo,
    seed: u32,
    /// Parts in a million that the clock which plays is faster than the one that records.
    fast: f64,
}

impl Room {
    fn new(gain: f32) -> Self {
        let (to, played) = unbounded();
        let epoch = Instant::now();
        let mut echo = vec![(960, gain)];
        let mut fall = gain * 0.5;
        for n in 0..30 {
            let sign = if n % 3 == 0 { -1.0 } else { 1.0 };
            echo.push((960 + 90 + n * 131, sign * fall));
            fall *= 0.85;
        }
        Self {
            echo,
            epoch,
            played: to,
            echoes: Echo::new(OwnVoice { played, epoch }).unwrap(),
            seed: 1,
            fast: 0.0,
        }
    }

    fn hiss(&mut self) -> f32 {
        self.seed = self
            .seed
            .wrapping_mul(1_664_525)
            .wrapping_add(1_013_904_223);
        (self.seed >> 24) as f32 - 128.0
    }

    /// Plays `ours` and speaks `theirs`, both from `from` on; answers what is left of both.
    fn live(&mut self, from: usize, ours: &[i16], theirs: &[i16]) -> Vec<i16> {
        let mut out = Vec::new();
        self.each(from, ours, theirs, &mut |echo, samples, now| {
            assert!(!echo.clean(samples, now), "shut");
            out.extend_from_slice(samples);
        });
        out
    }

    /// The same for an ear; answers where it ended and the calls that were not ours.
    fn heard(
        &mut self,
        ear: &mut HobListener,
        from: usize,
        ours: &[i16],
        theirs: &[i16],
    ) -> (usize, Vec<String>) {
        let mut heard = Vec::new();
        let mut to = from;
        self.each(from, ours, theirs, &mut |echo, samples, now| {
            to += samples.len();
            echo.feed(ear, samples, now, &mut |e| {
                if let EarEvent::Heard(h) = e
                    && !h.words.is_empty()
                    && !(h.over_us
                        && may_be_ours(&h, CUT_IN.contains(&&*h.words), [REPLY].into_iter()))
                {
                    heard.push(h.words);
                }
            });
        });
        (to, heard)
    }

    fn each(
        &mut self,
        from: usize,
        ours: &[i16],
        theirs: &[i16],
        take: &mut dyn FnMut(&mut Echo, &mut Vec<i16>, Instant),
    ) {
        let slip = |n: usize| (from + n) as f64 * self.fast * 1e-6;
        let sounds: Vec<f32> = (0..ours.len() + 8_000)
            .map(|n| between(ours, n as f64 + slip(n)))
            .collect();
        let mut mic = vec![0.0f32; ours.len().max(theirs.len()) + 8_000];
        for (n, x) in mic.iter_mut().enumerate() {
            let echo: f32 = self
                .echo
                .iter()
                .filter_map(|&(late, gain)| Some(gain * sounds.get(n.checked_sub(late)?)?))
                .sum();
            *x = echo + theirs.get(n).map_or(0.0, |&s| f32::from(s));
        }
        for (n, block) in mic.chunks(BLOCK).enumerate() {
            let at = from + n * BLOCK;
            // A device is given its sound ahead of time; here 40 ms.
            for ahead in if n == 0 { 0..5 } else { 4..5 } {
                let first = (n + ahead) * BLOCK;
                if let Some(ours) = ours.get(first..).filter(|o| !o.is_empty()) {
                    let sounds_at = (from + first) as f64 / 16_000.0;
                    self.played.send(Played::new(sounds_at, ours)).unwrap();
                }
            }
            let mut samples: Vec<i16> = block
                .iter()
                .map(|x| (x + self.hiss() / 8.0) as i16)
                .collect();
            let now = self.epoch + Duration::from_secs_f64((at + block.len()) as f64 / 16_000.0);
            take(&mut self.echoes, &mut samples, now);
        }
    }
}

/// `sound` at sample number `at`, by the cubic through the four samples around it (Lagrange).
fn between(sound: &[i16], at: f64) -> f32 {
    let (first, x) = (at.floor() as i64, at.rem_euclid(1.0));
    let sample = |n: i64| {
        let sample = usize::try_from(first + n).ok().and_then(|n| sound.get(n));
        sample.map_or(0.0, |&s| f64::from(s))
    };
    let cubic = sample(-1) * -x * (x - 1.0) * (x - 2.0) / 6.0
        + sample(0) * (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0
        + sample(1) * -x * (x + 1.0) * (x - 2.0) / 2.0
        + sample(2) * x * (x + 1.0) * (x - 1.0) / 6.0;
    cubic as f32
}

fn say(voice: FliteVoice, words: &str, gain: f32) -> Vec<i16> {
    let spoken = Flite::open(voice).unwrap().render(words, 1.0).unwrap();
    spoken
        .iter()
        .map(|&s| (f32::from(s) * gain) as i16)
        .collect()
}

/// Of the calls here, those that cooks cut in with.
const CUT_IN: [&str; 3] = ["quiet", "scratch that", "no one forty"];

const REPLY: &str = "Heard one three zero, left skillet. Target one forty five. About six \
    minutes, give or take two. Next flip in four minutes.";

fn power(sound: &[i16]) -> f64 {
    sound.iter().map(|&s| f64::from(s).powi(2)).sum::<f64>() / sound.len().max(1) as f64
}

#[test]
fn our_own_voice_is_taken_out() {
    let mut room = Room::new(0.1);
    let ours = say(FliteVoice::Slt, REPLY, 0.8);
    let mut at = 0;
    for _ in 0..2 {
        at += room.live(at, &ours, &[]).len();
    }
    let out = room.live(at, &ours, &[]);
    let before: Vec<i16> = ours.iter().map(|&s| s / 10).collect();
    let fell = 10.0 * (power(&before) / power(&out[..ours.len()])).log10();
    assert!(fell > 10.0, "{fell} dB");
}

/// How much of our own voice is taken out, dB, in the sixth time that it sounds.
fn taken_out(fast: f64) -> f64 {
    let mut room = Room::new(0.4);
    room.fast = fast;
    let ours = say(FliteVoice::Slt, REPLY, 0.8);
    let mut at = 0;
    for _ in 0..5 {
        at += room.live(at, &ours, &[]).len();
    }
    let out = room.live(at, &ours, &[]);
    10.0 * (power(&ours) * 0.4f64.powi(2) / power(&out[..ours.len()])).log10()
}

/// A microphone and a speaker each have a crystal of their own. With one clock 18 dB are taken
/// out, with two that nobody holds together 8 to 11.
#[test]
fn two_clocks_that_run_apart_are_kept_together() {
    let together = taken_out(0.0);
    assert!(together > 17.0, "{together} dB");
    for fast in [100.0, -100.0, 200.0, -200.0] {
        let apart = taken_out(fast);
        assert!(apart > 14.0, "{apart} dB at {fast} ppm");
    }
}

fn ear() -> HobListener {
    let plan = crate::plan::read(
        include_str!("../../../plans/pork-chops-two-brines.yaml"),
        "x",
    )
    .unwrap()
    .plan;
    let awake = Grammar::for_plan("en", &plan)
        .and_then(|g| g.restricted(&crate::grammar::ActiveSet::awake()))
        .unwrap();
    let mut ear = HobListener::new(crate::ear::hob::english().unwrap(), Waits::default()).unwrap();
    ear.set_grammar(awake).unwrap();
    ear
}

/// Loud, quiet, and through a canceller that never had the time to learn.
#[test]
fn our_own_voice_is_no_call() {
    let ours = say(FliteVoice::Slt, REPLY, 0.8);
    for gain in [0.1, 0.4, 1.0] {
        let (mut ear, mut room) = (ear(), Room::new(gain));
        let mut at = 0;
        for _ in 0..3 {
            let (to, heard) = room.heard(&mut ear, at, &ours, &[]);
            assert!(heard.is_empty(), "{heard:?} at {gain}");
            at = to;
        }
    }
}

#[test]
fn a_cook_who_cuts_in_is_heard() {
    let mut ear = ear();
    let mut room = Room::new(0.4);
    let ours = say(FliteVoice::Slt, REPLY, 0.8);
    let mut at = 0;
    let mut heard = Vec::new();
    let mut words = Vec::new();
    for calls in [
        vec![],
        vec![],
        vec!["scratch that"],
        vec!["how long"],
        vec!["what's next"],
        vec!["left skillet flipped"],
        vec!["where is the test chop"],
        vec!["quiet"],
        vec!["turned the left skillet"],
        vec!["right skillet reading one forty seven"],
        vec!["no one forty"],
        vec!["two more minutes"],
        vec!["stop the timer"],
        vec![],
    ] {
        let mut theirs = vec![0; 24_000];
        for call in &calls {
            theirs.extend(say(FliteVoice::Rms, call, 0.9));
            words.push((*call).to_owned());
        }
        let (to, taken) = room.heard(&mut ear, at, &ours, &theirs);
        at = to;
        heard.extend(taken);
    }
    // One may be lost under our voice; what was not said is never heard.
    let mut said = words.iter();
    for h in &heard {
        assert!(said.any(|w| w == h), "{h:?} of {heard:?} was never called");
    }
    assert!(heard.len() + 1 >= words.len(), "{heard:?} of {words:?}");
}

#[test]
fn where_no_echo_arrives_nothing_is_lost() {
    let (mut ear, mut room) = (ear(), Room::new(0.0));
    let ours = say(FliteVoice::Slt, REPLY, 0.8);
    let (at, _) = room.heard(&mut ear, 0, &ours, &[]);
    let theirs = say(FliteVoice::Rms, "what's next", 0.9);
    let (_, heard) = room.heard(&mut ear, at, &ours, &theirs);
    assert_eq!(heard, ["what's next"]);
}
