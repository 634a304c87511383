//! The tone before an alarm: makes a cook look up before the words begin. Pure.
//!
//! A figure of our own: low, high, high, the second high one held, each note a
//! fundamental with two softer harmonics and a fast, rounded attack. The
//! notes are a just fifth apart (640 and 960 Hz), so that at least one partial is clear
//! of a hood's rumble below and of frying's hiss above. The figure is played once the
//! first time, and once more for every time the alarm went unanswered, up to four;
//! each is louder than the one before. Danger begins with four at full level.

use super::Urgency;
use super::synth::{SAMPLE_RATE, ms};

const LOW: f32 = 640.0;
const HIGH: f32 = 960.0;

/// The tone for an utterance: samples at 16 kHz; empty unless it is an alarm or danger.
pub fn alarm(urgency: Urgency, unanswered: u8) -> Vec<i16> {
    let (figures, first) = match urgency {
        Urgency::Reminder | Urgency::Reply => return Vec::new(),
        Urgency::Alarm => (
            1 + usize::from(unanswered.min(3)),
            usize::from(unanswered.min(3)),
        ),
        Urgency::Danger => (4, 3),
    };
    let mut out = Vec::new();
    for i in 0..figures {
        // -16, -12, -8, -5 dBFS peak: grows through the figures and with every repeat.
        let level = [0.16, 0.25, 0.40, 0.56]
            .get((first + i).min(3))
            .copied()
            .unwrap_or(0.56);
        note(&mut out, LOW, 110, level);
        silence(&mut out, 40);
        note(&mut out, HIGH, 110, level);
        silence(&mut out, 40);
        note(&mut out, HIGH, 260, level);
        silence(&mut out, 140);
    }
    out
}

fn silence(out: &mut Vec<i16>, millis: u32) {
    out.resize(out.len() + ms(millis), 0);
}

fn note(out: &mut Vec<i16>, hertz: f32, millis: u32, level: f32) {
    let (n, attack, release) = (ms(millis), ms(8), ms(60));
    for i in 0..n {
        let phase = std::f32::consts::TAU * hertz * i as f32 / SAMPLE_RATE as f32;
        let wave = phase.sin() + 0.35 * (2.0 * phase).sin() + 0.2 * (3.0 * phase).sin();
        let rise = (i as f32 / attack as f32).min(1.0);
        let fall = ((n - i) as f32 / release as f32).min(1.0);
        let shape = |x: f32| 0.5 - 0.5 * (std::f32::consts::PI * x).cos();
        // 1.35: the greatest value the three partials reach together, rounded up.
        let sample = wave / 1.35 * level * shape(rise) * shape(fall);
        out.push((sample * f32::from(i16::MAX)) as i16);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn peak(s: &[i16]) -> u16 {
        s.iter().map(|x| x.unsigned_abs()).max().unwrap_or(0)
    }

    /// Share of the energy between 500 and 2500 Hz, by a plain Fourier sum.
    fn inside(s: &[i16]) -> f32 {
        let n = s.len();
        let bin = SAMPLE_RATE as f32 / n as f32;
        let all: f32 = s.iter().map(|x| f32::from(*x).powi(2)).sum();
        let band: f32 = ((500.0 / bin) as usize..=(2500.0 / bin) as usize)
            .map(|k| {
                let (mut re, mut im) = (0.0f32, 0.0f32);
                for (i, x) in s.iter().enumerate() {
                    let phase = std::f32::consts::TAU * ((k * i) % n) as f32 / n as f32;
                    re += f32::from(*x) * phase.cos();
                    im += f32::from(*x) * phase.sin();
                }
                re * re + im * im
            })
            .sum();
        2.0 * band / (all * n as f32)
    }

    #[test]
    fn grows_and_never_clips() {
        assert!(alarm(Urgency::Reply, 3).is_empty());
        assert!(alarm(Urgency::Reminder, 0).is_empty());
        let all: Vec<Vec<i16>> = (0..6).map(|n| alarm(Urgency::Alarm, n)).collect();
        for pair in all.windows(2) {
            assert!(pair[1].len() >= pair[0].len());
            assert!(peak(&pair[1]) >= peak(&pair[0]));
        }
        assert!(peak(&all[3]) > 2 * peak(&all[0]));
        assert!(peak(&all[5]) < 32_000);
        assert_eq!(all[3], all[5]);
        // The first is out of the way in three quarters of a second.
        assert_eq!(all[0].len(), ms(700));
    }

    /// ISO 7731:2003 (danger signals for public and work areas), from memory: energy
    /// between 500 and 2500 Hz, pulses repeating at 0.5 to 4 Hz.
    #[test]
    fn lies_where_ears_and_standards_want_it() {
        let one = alarm(Urgency::Danger, 0);
        let low = &one[..ms(110)];
        let high = &one[ms(150)..ms(260)];
        for note in [low, high] {
            let share = inside(note);
            assert!((0.9..=1.001).contains(&share), "{share}");
        }
        let per_second = SAMPLE_RATE as f32 / ms(700) as f32;
        assert!((0.5..=4.0).contains(&per_second));
    }
}
