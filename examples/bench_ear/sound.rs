//! Noise, rooms and mixing. Everything from a seed: the same set every time.

/// A plain generator: enough for noise, the same everywhere.
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// From 0 to 1.
    pub fn uniform(&mut self) -> f32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 40) as f32 / (1 << 24) as f32
    }

    /// About normal, deviation 1.
    pub fn normal(&mut self) -> f32 {
        (0..4).map(|_| self.uniform() - 0.5).sum::<f32>() * 1.732
    }
}

pub const NOISES: [&str; 5] = ["frying", "hood", "water", "clatter", "babble"];

/// `n` samples of a kitchen noise; `talk` for the babble.
pub fn noise(kind: &str, n: usize, seed: u64, talk: &[Vec<f32>]) -> Vec<f32> {
    let mut r = Random::new(seed ^ 0xbe9c);
    match kind {
        // Hiss with crackles: bursts of 1 to 4 ms, some dozens a second.
        "frying" => {
            let (mut last, mut crackle) = (0.0, 0.0);
            (0..n)
                .map(|_| {
                    if r.uniform() < 60.0 / 16_000.0 {
                        crackle = 1.0 + 5.0 * r.uniform() * r.uniform();
                    }
                    crackle *= 0.975;
                    let x = r.normal();
                    let high = x - 0.6 * last;
                    last = x;
                    high * (0.4 + crackle)
                })
                .collect()
        }
        // Low rumble with the hum of a fan.
        "hood" => {
            let f = 90.0 + 60.0 * r.uniform();
            let mut low = 0.0;
            (0..n)
                .map(|t| {
                    low = 0.93 * low + r.normal();
                    let turn = std::f32::consts::TAU * f * t as f32 / 16_000.0;
                    low + 1.2 * turn.sin() + 0.6 * (2.0 * turn).sin() + 0.15 * r.normal()
                })
                .collect()
        }
        // Broad band that swells.
        "water" => {
            let (mut low, mut swell) = (0.0, 0.0);
            (0..n)
                .map(|_| {
                    low = 0.5 * low + r.normal();
                    swell = 0.999 * swell + 0.02 * r.normal();
                    low * (1.0 + 0.5 * swell)
                })
                .collect()
        }
        // Pots and plates over a quiet room: damped tones.
        "clatter" => {
            let mut out: Vec<f32> = (0..n).map(|_| 0.06 * r.normal()).collect();
            let mut at = 0;
            while at < n {
                let (f, loud) = (700.0 + 4_000.0 * r.uniform(), 0.5 + 2.0 * r.uniform());
                for (i, x) in out.iter_mut().skip(at).take(4_000).enumerate() {
                    let t = i as f32 / 16_000.0;
                    *x += loud
                        * (-t * 18.0).exp()
                        * ((std::f32::consts::TAU * f * t).sin()
                            + 0.6 * (std::f32::consts::TAU * f * 1.59 * t).sin());
                }
                at += 1_600 + (12_000.0 * r.uniform()) as usize;
            }
            out
        }
        // Several people at once.
        _ => {
            let mut out = vec![0.0; n];
            for _ in 0..5 {
                let mut at = 0;
                while at < n && !talk.is_empty() {
                    let pick = (r.uniform() * talk.len() as f32) as usize % talk.len();
                    for (x, s) in out.iter_mut().skip(at).zip(&talk[pick]) {
                        *x += s;
                    }
                    at += talk[pick].len().max(1_600);
                }
            }
            out
        }
    }
}

/// A kitchen's walls: the direct sound and a decaying tail (reverberation time 0.35 to
/// 0.6 s, direct to reverberant 0 to 6 dB).
pub fn room(x: &[f32], seed: u64) -> Vec<f32> {
    let mut r = Random::new(seed ^ 0x5007);
    let rt = 0.35 + 0.25 * r.uniform();
    let length = (rt * 16_000.0 * 0.6) as usize;
    let mut tail: Vec<f32> = (0..length)
        .map(|t| {
            if t < 40 {
                0.0
            } else {
                r.normal() * (-6.9 * t as f32 / (rt * 16_000.0)).exp()
            }
        })
        .collect();
    let energy: f32 = tail.iter().map(|t| t * t).sum();
    let ratio = 10f32.powf((6.0 * r.uniform()) / 10.0);
    let scale = (1.0 / (ratio * energy)).sqrt();
    tail.iter_mut().for_each(|t| *t *= scale);
    if let Some(first) = tail.first_mut() {
        *first = 1.0;
    }
    convolve(x, &tail)
}

fn convolve(x: &[f32], h: &[f32]) -> Vec<f32> {
    use realfft::RealFftPlanner;
    let n = (x.len() + h.len()).next_power_of_two();
    let mut planner = RealFftPlanner::<f32>::new();
    let (forward, inverse) = (planner.plan_fft_forward(n), planner.plan_fft_inverse(n));
    let spectrum = |v: &[f32]| {
        let mut padded = v.to_vec();
        padded.resize(n, 0.0);
        let mut out = forward.make_output_vec();
        forward
            .process(&mut padded, &mut out)
            .expect("lengths are the plan's");
        out
    };
    let (mut a, b) = (spectrum(x), spectrum(h));
    for (a, b) in a.iter_mut().zip(&b) {
        *a *= b;
    }
    let mut out = vec![0.0; n];
    inverse
        .process(&mut a, &mut out)
        .expect("lengths are the plan's");
    out.truncate(x.len() + h.len());
    out.iter_mut().for_each(|v| *v /= n as f32);
    out
}

/// Root mean square of the louder half: pauses do not count.
pub fn loudness(x: &[f32]) -> f32 {
    let mut blocks: Vec<f32> = x
        .chunks(320)
        .map(|c| c.iter().map(|v| v * v).sum::<f32>() / c.len() as f32)
        .collect();
    blocks.sort_by(|a, b| b.total_cmp(a));
    let half = (blocks.len() / 2).max(1);
    (blocks.iter().take(half).sum::<f32>() / half as f32).sqrt()
}

/// Speech in the middle of 0.7 s of noise on either side, speech at -26 dB of full
/// scale and `snr` dB above the noise (both root mean square; `None`: no noise).
pub fn mix(speech: &[f32], noise: &[f32], snr: Option<f32>) -> Vec<i16> {
    const EDGE: usize = 11_200;
    let scale = 0.05 / loudness(speech).max(1e-9);
    let level = (noise.iter().map(|v| v * v).sum::<f32>() / noise.len().max(1) as f32).sqrt();
    let gain = snr.map_or(0.0, |db| 0.05 * 10f32.powf(-db / 20.0) / level.max(1e-9));
    (0..speech.len() + 2 * EDGE)
        .map(|t| {
            let s = t
                .checked_sub(EDGE)
                .and_then(|i| speech.get(i))
                .copied()
                .unwrap_or(0.0);
            let n = noise.get(t % noise.len().max(1)).copied().unwrap_or(0.0);
            // Dither of one step: no microphone gives exact zeros.
            let d = ((t * 2_654_435_761) >> 7) % 3;
            ((s * scale + n * gain) * 32_767.0 + d as f32 - 1.0).clamp(-32_768.0, 32_767.0) as i16
        })
        .collect()
}

/// Seconds to the end of the last 10 ms that are above a fiftieth of the loudest.
pub fn end(x: &[f32]) -> f64 {
    let loud: Vec<f32> = x
        .chunks(160)
        .map(|c| c.iter().map(|v| v.abs()).fold(0.0, f32::max))
        .collect();
    let most = loud.iter().copied().fold(0.0, f32::max);
    let last = loud.iter().rposition(|&l| l > most / 50.0).unwrap_or(0);
    (last + 1) as f64 * 0.01
}
