//! What the ear tells about the sound itself: calls of a synthetic voice in the noise of a
//! synthetic extractor fan, laid over minutes.

use hobcall::ear::{EarEvent, Engine, Patience, Trouble};
use hobcall::grammar::{ActiveSet, Grammar};
use hobcall::voice::FliteVoice;
use hobcall::voice::flite::Flite;
use hobcall::voice::synth::Synth;

const RATE: usize = 16_000;

/// A fan: a rush that falls by 6 dB an octave above 500 Hz, and the hum of its blades at
/// 120 Hz and twice that. Deterministic (a linear congruential generator with Knuth's MMIX
/// constants).
fn fan(samples: usize) -> Vec<f32> {
    let mut state = 7_u64;
    let mut low = 0.0_f32;
    (0..samples)
        .map(|n| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let white = (state >> 33) as f32 / (1_u64 << 30) as f32 - 1.0;
            low += 0.18 * (white - low);
            let t = n as f32 / RATE as f32;
            let hum = (std::f32::consts::TAU * 120.0 * t).sin()
                + 0.5 * (std::f32::consts::TAU * 240.0 * t).sin();
            low + 0.05 * hum
        })
        .collect()
}

fn power(sound: &[f32]) -> f32 {
    sound.iter().map(|x| x * x).sum::<f32>() / sound.len().max(1) as f32
}

/// A call every `every` seconds for `seconds`, `above` dB above the fan.
fn kitchen(calls: &[&str], every: usize, seconds: usize, above: f32) -> Vec<i16> {
    let mut voice = Flite::open(FliteVoice::Slt).unwrap();
    let spoken: Vec<Vec<f32>> = calls
        .iter()
        .map(|words| {
            let samples = voice.render(words, 1.0).unwrap();
            samples.iter().map(|&s| f32::from(s) / 32_768.0).collect()
        })
        .collect();
    let speech: Vec<f32> = spoken.iter().flatten().copied().collect();
    let mut sound = fan(seconds * RATE);
    // Of the calls as a whole, pauses between words included.
    let gain = (power(&speech) / power(&sound) / 10.0_f32.powf(above / 10.0)).sqrt();
    sound.iter_mut().for_each(|x| *x *= gain);
    for (n, at) in (RATE..sound.len()).step_by(every * RATE).enumerate() {
        let call = &spoken[n % spoken.len()];
        for (x, s) in sound[at..].iter_mut().zip(call) {
            *x += s;
        }
    }
    // A fan at full blast and a voice at full level share the scale.
    let top = sound.iter().fold(0.0_f32, |m, x| m.max(x.abs()));
    sound
        .iter()
        .map(|x| (x / top.max(1.0) * 28_000.0) as i16)
        .collect()
}

/// Calls understood, and what was told when.
fn hear(sound: &[i16]) -> (usize, Vec<(f64, Trouble)>) {
    let grammar = Grammar::of_language("en")
        .and_then(|g| g.restricted(&ActiveSet::awake()))
        .unwrap();
    let mut ear = Engine::Hob.listen("en", Patience::default()).unwrap();
    ear.set_grammar(grammar).unwrap();
    let (mut understood, mut told) = (0, Vec::new());
    for piece in sound.chunks(960) {
        let at = ear.position();
        ear.feed(piece, false, &mut |e| match e {
            EarEvent::Heard(h) if !h.words.is_empty() => understood += 1,
            EarEvent::Sound(trouble) => told.push((at, trouble)),
            _ => {}
        });
    }
    (understood, told)
}

const CALLS: [&str; 4] = [
    "timer ten minutes",
    "what time is it",
    "reading one fifty",
    "how long is left",
];

#[test]
fn a_cook_who_drowns_in_the_fan_is_told_and_not_again_for_three_minutes() {
    let (understood, told) = hear(&kitchen(&CALLS, 6, 240, -6.0));
    assert!(understood < 20, "{understood} of 40 understood");
    let times: Vec<f64> = told.iter().map(|(at, _)| *at).collect();
    assert!(
        told.iter().all(|(_, t)| *t == Trouble::MostlyNoise),
        "{told:?}"
    );
    assert!((1..=2).contains(&times.len()), "{times:?}");
    assert!(times[0] < 60.0, "{times:?}");
    assert!(times.windows(2).all(|w| w[1] - w[0] >= 180.0), "{times:?}");
}

#[test]
fn a_cook_who_is_heard_and_a_fan_alone_are_left_in_peace() {
    let (understood, told) = hear(&kitchen(&CALLS, 6, 60, 20.0));
    assert!(understood >= 9, "{understood} of 10 understood");
    assert_eq!(told, []);
    let (understood, told) = hear(&kitchen(&CALLS, 100_000, 60, -9.0)[4 * RATE..]);
    assert_eq!((understood, told), (0, vec![]));
}
