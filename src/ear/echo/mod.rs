//! Our own voice taken out of what the microphone hears, so that the cook can cut in.
//!
//! ```text
//! voice ─► speaker ─► room ─► microphone ─► canceller ─► ear ─► call
//!    └──────── `far` ─────────────────────────┘                  │
//!                └─────────────────────────────────► `ours`: did we say that?
//! ```
//!
//! | file | what |
//! | --- | --- |
//! | `far` | what was played, laid on the microphone's time line |
//! | `lag` | by how much its echo comes later |
//! | `clock` | the clock that plays held against the one that records: how late `far` is read |
//! | `stretch` | sound read between its samples |
//! | `ours` | a call over our own voice, held against what we said just then |

mod clock;
mod far;
mod lag;
mod ours;
mod stretch;

use std::collections::VecDeque;
use std::ops::Range;
use std::time::Instant;

use aec3::api::config::{EchoCanceller3Config, MaskingThresholds};
use aec3::nodes::audio::AudioFormat;
use aec3::pipelines::linear::{self, LinearPipeline};
use crossbeam_channel::Receiver;

use super::source::RATE;
use crate::voice::Played;
use clock::Clock;
use far::Far;
pub use ours::may_be_ours;

/// The canceller takes 10 ms at a time.
const BLOCK: usize = RATE as usize / 100;
/// What is played is laid this much early, so that an output that tells too long a delay
/// of its own does not make the echo come before its cause.
const LEAD: f64 = 0.02;
/// So many blocks after our last word the room still holds it, with the way through the
/// sound server: the echo of a kitchen falls by 20 dB in some 130 ms (reverberation time
/// 0.4 s; common practice, no source).
const TAIL: u32 = 45;

/// So many blocks after our last word the canceller rests: in silence it has nothing to
/// learn, and its search for the delay was most of what a quiet kitchen cost. The search
/// looks back over less than this, so that what it remembers when it goes on is silence.
const RESTS: u32 = 200;

/// Share of what the suppressor took that is given back: it takes more of who speaks over us
/// than a recogniser likes.
const BACK: f32 = 0.2;

/// So many samples of what was played are remembered, 20 s: no call takes as long.
const LATELY: usize = 20 * RATE as usize;

/// What our voice plays, and the zero of the times it is played at.
#[derive(Debug, Clone)]
pub struct OwnVoice {
    pub played: Receiver<Played>,
    pub epoch: Instant,
}

/// Takes the tool's own voice out of the microphone's sound.
pub struct Echo {
    canceller: Canceller,
    own: OwnVoice,
    far: Far,
    clock: Clock,
    /// Samples that do not fill a block yet.
    rest: Vec<i16>,
    /// Blocks since our voice sounded.
    since: u32,
    /// What was played while the samples given out last were taken.
    lately: VecDeque<i16>,
    near: Block,
    reference: Block,
}

type Block = [f32; BLOCK];

impl Echo {
    /// # Errors
    /// The canceller refuses its format, which is fixed here.
    pub fn new(own: OwnVoice) -> Result<Self, String> {
        Ok(Self {
            canceller: Canceller::new()?,
            own,
            far: Far::default(),
            clock: Clock::default(),
            rest: Vec::new(),
            since: u32::MAX,
            lately: VecDeque::new(),
            near: [0.0; BLOCK],
            reference: [0.0; BLOCK],
        })
    }

    /// Takes samples that the microphone delivered at `now` and puts in their place what
    /// is to be listened to, at most 10 ms later. Answers whether the ear must stay shut
    /// for them, since our own voice could not be taken out.
    fn clean(&mut self, samples: &mut Vec<i16>, now: Instant) -> bool {
        for played in self.own.played.try_iter() {
            self.far
                .push(seconds_at(played.at - LEAD), played.samples());
        }
        let delivered = now.saturating_duration_since(self.own.epoch).as_secs_f64();
        let at = seconds_at(delivered) - samples.len() as i64 - self.rest.len() as i64;
        if let Some(by) = self.far.keep_up(at, !self.sounds()) {
            self.clock.moved(by);
        }
        self.rest.append(samples);
        let mut deaf = false;
        let rest = std::mem::take(&mut self.rest);
        let blocks = rest.chunks_exact(BLOCK);
        self.rest = blocks.remainder().to_vec();
        for block in blocks {
            deaf |= self.block(block, samples);
        }
        deaf
    }

    fn block(&mut self, block: &[i16], out: &mut Vec<i16>) -> bool {
        for (to, &from) in self.near.iter_mut().zip(block) {
            *to = f32::from(from) / 32_768.0;
        }
        let sounds = self.far.take(&mut self.reference, self.clock.late());
        self.since = if sounds {
            0
        } else {
            self.since.saturating_add(1)
        };
        self.lately.extend(self.reference.map(pcm));
        let surplus = self.lately.len().saturating_sub(LATELY);
        self.lately.drain(..surplus);
        if self.since < RESTS {
            self.clock.take(&self.near, sounds, &self.far);
        } else {
            self.clock.rests();
        }
        let left = (self.since < RESTS)
            .then(|| self.canceller.take(&self.reference, &self.near))
            .flatten();
        if !self.sounds() {
            // Nothing of ours is in it: it goes on as it came.
            out.extend_from_slice(block);
            return false;
        }
        let Some(left) = left else {
            out.extend_from_slice(block);
            return true;
        };
        out.extend(
            left.linear
                .iter()
                .zip(&left.clean)
                .map(|(linear, clean)| BACK * linear + (1.0 - BACK) * clean)
                .map(pcm),
        );
        false
    }

    /// Whether our voice, or its echo, sounds now.
    fn sounds(&self) -> bool {
        self.since < TAIL
    }

    /// What was played, in samples counted back from the last that was given out.
    fn played(&self, back: Range<usize>) -> Vec<i16> {
        let at = |back: usize| self.lately.len().saturating_sub(back);
        self.lately
            .range(at(back.end)..at(back.start))
            .copied()
            .collect()
    }
}

struct Canceller(LinearPipeline);

/// What a canceller leaves of 10 ms: behind its adaptive filter, and behind the
/// suppressor that follows it.
struct Left {
    linear: Block,
    clean: Block,
}

impl Canceller {
    fn new() -> Result<Self, String> {
        let format = AudioFormat::ten_ms(RATE, 1);
        linear::builder(format, format)
            .aec3_config(gentle())
            .enable_high_pass_filter(false)
            .enable_noise_suppression(false)
            .enable_gain_controller2(false)
            .enable_post_filter(false)
            .export_linear_output(true)
            .build()
            .map(Self)
            .map_err(|e| format!("no echo canceller: {e}"))
    }

    fn take(&mut self, reference: &Block, near: &Block) -> Option<Left> {
        let mut left = Left {
            linear: [0.0; BLOCK],
            clean: [0.0; BLOCK],
        };
        self.0.handle_render_frame(reference).ok()?;
        let done = self.0.process_capture_frame(near, &mut left.clean);
        let sink = self.0.handles().linear_output?;
        let linear = self.0.runtime_mut().try_pull(sink).ok()??;
        left.linear.copy_from_slice(linear.payload().samples());
        matches!(done, Ok(true)).then_some(left)
    }
}

/// The suppressor as it comes is made for people who listen: what is left of an echo
/// disturbs them more than half a word that is missing. A recogniser wants the word.
fn gentle() -> EchoCanceller3Config {
    let mut config = EchoCanceller3Config::default();
    let suppressor = &mut config.suppressor;
    for tuning in [
        &mut suppressor.normal_tuning,
        &mut suppressor.nearend_tuning,
    ] {
        tuning.mask_lf = MaskingThresholds::new(10.9, 11.0, 0.3);
        tuning.mask_hf = MaskingThresholds::new(1.0, 3.0, 0.3);
        tuning.max_inc_factor = 20.0;
    }
    config
}

fn pcm(x: f32) -> i16 {
    (x * 32_768.0).clamp(-32_768.0, 32_767.0) as i16
}

fn seconds_at(s: f64) -> i64 {
    (s * f64::from(RATE)) as i64
}

#[cfg(test)]
mod tests;
