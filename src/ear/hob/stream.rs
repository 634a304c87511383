//! The network over a stream without end: samples in, frames with their time and level
//! out; after a long silence it begins anew.

use std::collections::VecDeque;

use crate::ear::net::{Acoustic, Frame, Model};

/// The network is fed in pieces of this many samples, whatever the source delivers, so
/// that decisions are timed to 30 ms and the same sound is always heard the same way.
pub const PIECE: usize = 480;
/// Samples a frame.
pub const FRAME: u64 = 480;
/// At most so much can be heard again when the network begins anew.
pub const AGAIN: usize = 16_000;
/// So much sound is kept for the second pass: more than the longest utterance.
const KEPT: usize = 16_000 * 13;
/// Of silence, dB below full scale.
const QUIETEST: f32 = -100.0;

/// What the network heard in one frame.
pub struct Slice {
    /// Its first sample.
    pub at: u64,
    pub frame: Frame,
    /// dB below full scale, in the range where speech has its phones.
    pub level: f32,
}

pub struct Stream {
    acoustic: Acoustic,
    /// Samples taken.
    taken: u64,
    /// Samples taken when the network's frame 0 began.
    origin: u64,
    /// Frames that the network has answered since.
    answered: u64,
    fresh: Vec<Frame>,
    /// Levels of frames that the network has not answered yet.
    levels: VecDeque<f32>,
    meter: Meter,
    /// The last sound, to be heard again.
    recent: VecDeque<i16>,
}

impl Stream {
    pub fn new(model: Model) -> Self {
        Self {
            acoustic: Acoustic::new(model),
            taken: 0,
            origin: 0,
            answered: 0,
            fresh: Vec::new(),
            levels: VecDeque::new(),
            meter: Meter::default(),
            recent: VecDeque::with_capacity(KEPT + PIECE),
        }
    }

    /// Samples taken so far.
    pub fn taken(&self) -> u64 {
        self.taken
    }

    /// Where the network began; nothing before it is known.
    pub fn origin(&self) -> u64 {
        self.origin
    }

    /// The first sample that no frame has been given for.
    pub fn heard_up_to(&self) -> u64 {
        self.origin + self.answered * FRAME
    }

    /// The sound from that sample on, as far as it is kept.
    pub fn sound_from(&self, from: u64) -> Vec<i16> {
        let of = self.taken.saturating_sub(from) as usize;
        let skip = self.recent.len().saturating_sub(of);
        self.recent.iter().skip(skip).copied().collect()
    }

    /// Takes a piece and appends the frames that are complete with it.
    ///
    /// # Errors
    /// The network failed; what it heard before stands.
    pub fn push(&mut self, piece: &[i16], out: &mut Vec<Slice>) -> Result<(), String> {
        self.taken += piece.len() as u64;
        self.recent.extend(piece);
        let surplus = self.recent.len().saturating_sub(KEPT);
        self.recent.drain(..surplus);
        self.meter.push(piece, &mut self.levels);
        let ok = self.acoustic.push(piece, &mut self.fresh);
        self.slice(out);
        ok
    }

    /// The sound is over: the frames that waited for more of it.
    ///
    /// # Errors
    /// As [`Stream::push`].
    pub fn flush(&mut self, out: &mut Vec<Slice>) -> Result<(), String> {
        let ok = self.acoustic.flush(&mut self.fresh);
        self.slice(out);
        ok
    }

    fn slice(&mut self, out: &mut Vec<Slice>) {
        for frame in self.fresh.drain(..) {
            out.push(Slice {
                at: self.origin + self.answered * FRAME,
                frame,
                level: self.levels.pop_front().unwrap_or(QUIETEST),
            });
            self.answered += 1;
        }
    }

    /// Another stream follows; sample numbers go on.
    pub fn restart(&mut self) {
        self.acoustic.reset();
        self.levels.clear();
        self.meter = Meter::default();
        self.recent.clear();
        self.origin = self.taken;
        self.answered = 0;
    }

    /// The network begins anew, `back` samples back: their frames come again.
    ///
    /// # Errors
    /// As [`Stream::push`].
    pub fn forget(&mut self, back: usize, out: &mut Vec<Slice>) -> Result<(), String> {
        let older = self.recent.len().saturating_sub(back);
        let again: Vec<i16> = self.recent.iter().skip(older).copied().collect();
        self.restart();
        self.taken -= again.len() as u64;
        self.origin = self.taken;
        self.push(&again, out)
    }
}

/// Level of each frame's sound: differences of neighbouring samples, as the rumble of
/// fans says nothing.
#[derive(Debug, Default)]
struct Meter {
    last: f32,
    sum: f32,
    count: u32,
}

impl Meter {
    fn push(&mut self, samples: &[i16], out: &mut VecDeque<f32>) {
        for &s in samples {
            let x = f32::from(s) / 32_768.0;
            let d = x - 0.97 * self.last;
            self.last = x;
            self.sum += d * d;
            self.count += 1;
            if u64::from(self.count) == FRAME {
                let power = self.sum / self.count as f32;
                out.push_back((10.0 * power.max(1e-10).log10()).max(QUIETEST));
                (self.sum, self.count) = (0.0, 0);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stream() -> Stream {
        Stream::new(crate::ear::hob::english().unwrap().first)
    }

    fn sound(samples: usize) -> Vec<i16> {
        (0..samples)
            .map(|n| (n * 7_919 % 4_001) as i16 - 2_000)
            .collect()
    }

    #[test]
    fn every_frame_has_its_time_and_level() {
        let mut stream = stream();
        let mut out = Vec::new();
        for piece in sound(20 * PIECE).chunks_exact(PIECE) {
            stream.push(piece, &mut out).unwrap();
        }
        stream.flush(&mut out).unwrap();
        assert!(out.len() >= 19, "{}", out.len());
        for (n, slice) in out.iter().enumerate() {
            assert_eq!(slice.at, n as u64 * FRAME);
        }
        // All of it equally loud but for the frame that begins from nothing.
        let level = out[5].level;
        assert!(out[1..19].iter().all(|s| (s.level - level).abs() < 1.0));
        assert!((-40.0..-10.0).contains(&level), "{level}");
    }

    #[test]
    fn to_begin_anew_goes_a_second_back_and_keeps_the_time() {
        let mut stream = stream();
        let mut out = Vec::new();
        for piece in sound(100 * PIECE).chunks_exact(PIECE) {
            stream.push(piece, &mut out).unwrap();
        }
        let (taken, upto) = (stream.taken(), stream.heard_up_to());
        out.clear();
        stream.forget(AGAIN, &mut out).unwrap();
        assert_eq!(stream.taken(), taken);
        assert_eq!(out[0].at, taken - AGAIN as u64);
        // As much is known as before, but for what the network looks ahead.
        assert!(stream.heard_up_to() + 2 * FRAME > upto);
    }
}
