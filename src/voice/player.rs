//! The last hop before the device: blocks of an utterance → the buffer that the device
//! asks for. Runs in the audio callback: no allocation, no lock, no waiting.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use crossbeam_channel::{Receiver, Sender, TrySendError};

use super::synth::SAMPLE_RATE;

/// Samples in one block, 10 ms.
pub const BLOCK: usize = 160;
/// Blocks between the voice's thread and the callback: 320 ms, so that rendering the
/// next sentence never starves the speaker.
pub const RING: usize = 32;
/// A cut fades over this many samples (5 ms), because a step is heard as a click.
const FADE: usize = 80;

/// Up to ten milliseconds of one utterance.
#[derive(Debug, Clone)]
pub struct Block {
    /// Which rendering it belongs to; a higher one makes lower ones stale.
    pub generation: u64,
    pub first: bool,
    pub last: bool,
    pub len: u16,
    pub samples: [i16; BLOCK],
}

impl Block {
    fn sound(&self) -> &[i16] {
        self.samples.get(..usize::from(self.len)).unwrap_or(&[])
    }
}

/// What the callback reports; times in seconds on the voice's own line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    Began {
        generation: u64,
        at: f64,
    },
    Ended {
        generation: u64,
        at: f64,
    },
    /// Everything below the generation `up_to` is gone; sound that was under way ended.
    Flushed {
        up_to: u64,
        at: f64,
    },
}

/// Samples that left for the device: the reference for an echo canceller, and what the
/// recorder writes. Silence is not sent; it is what lies between two of these.
#[derive(Debug, Clone)]
pub struct Played {
    /// Seconds on the voice's line (see [`super::Config::epoch`]) of the first sample,
    /// the device's own delay included as far as the device tells it.
    pub at: f64,
    len: u16,
    samples: [i16; BLOCK],
}

impl Played {
    /// Of at most [`BLOCK`] samples; more are left out.
    pub fn new(at: f64, sound: &[i16]) -> Played {
        let mut samples = [0; BLOCK];
        let len = sound.len().min(BLOCK);
        for (to, from) in samples.iter_mut().zip(sound) {
            *to = *from;
        }
        Played {
            at,
            len: len as u16,
            samples,
        }
    }

    /// 16 kHz mono, at most [`BLOCK`] samples.
    pub fn samples(&self) -> &[i16] {
        self.samples.get(..usize::from(self.len)).unwrap_or(&[])
    }
}

/// Where [`Played`] goes; what finds a channel full is counted and dropped.
#[derive(Debug, Clone)]
pub struct Tap {
    to: Sender<Played>,
    lost: Arc<AtomicU64>,
}

impl Tap {
    pub fn new(to: Sender<Played>) -> Tap {
        Tap {
            to,
            lost: Arc::default(),
        }
    }

    /// Runs of samples that found the channel full.
    pub fn lost(&self) -> u64 {
        self.lost.load(Ordering::Relaxed)
    }

    fn send(&self, at: f64, sound: &[i16]) {
        if let Err(TrySendError::Full(_)) = self.to.try_send(Played::new(at, sound)) {
            self.lost.fetch_add(1, Ordering::Relaxed);
        }
    }
}

pub struct Player {
    ring: Receiver<Block>,
    live: Arc<AtomicU64>,
    seen: u64,
    block: Option<Block>,
    at_sample: usize,
    playing: bool,
    marks: Sender<Mark>,
    taps: Vec<Tap>,
}

impl Player {
    /// `live` holds the generation that may sound.
    pub fn new(
        ring: Receiver<Block>,
        live: Arc<AtomicU64>,
        marks: Sender<Mark>,
        taps: Vec<Tap>,
    ) -> Player {
        let seen = live.load(Ordering::Acquire);
        Player {
            ring,
            live,
            seen,
            block: None,
            at_sample: 0,
            playing: false,
            marks,
            taps,
        }
    }

    /// Fills the whole of `out` (16 kHz mono); `at` is when its first sample sounds.
    pub fn fill(&mut self, out: &mut [i16], at: f64) {
        let time = |n: usize| at + n as f64 / f64::from(SAMPLE_RATE);
        let mut n = 0;
        let live = self.live.load(Ordering::Acquire);
        if live > self.seen {
            n = self.cut(out, at, live);
            self.seen = live;
        }
        while n < out.len() {
            let Some(block) = self.next_block() else {
                break;
            };
            let (generation, first, last) = (block.generation, block.first, block.last);
            if generation > self.seen {
                // The writer raised the generation after this call had read it.
                self.block = None;
                n += self.cut(out.get_mut(n..).unwrap_or(&mut []), time(n), generation);
                self.seen = generation;
                self.block = Some(block);
                self.at_sample = 0;
                continue;
            }
            if first && self.at_sample == 0 {
                self.playing = true;
                self.mark(Mark::Began {
                    generation,
                    at: time(n),
                });
            }
            let sound = block.sound();
            let rest = sound.get(self.at_sample..).unwrap_or(&[]);
            let count = rest.len().min(out.len() - n);
            let rest = rest.get(..count).unwrap_or(&[]);
            if let Some(to) = out.get_mut(n..n + count) {
                to.copy_from_slice(rest);
            }
            for tap in &self.taps {
                if count > 0 {
                    tap.send(time(n), rest);
                }
            }
            n += count;
            self.at_sample += count;
            if self.at_sample >= sound.len() {
                self.at_sample = 0;
                if last {
                    self.playing = false;
                    self.mark(Mark::Ended {
                        generation,
                        at: time(n),
                    });
                }
            } else {
                self.block = Some(block);
            }
        }
        if let Some(rest) = out.get_mut(n..) {
            rest.fill(0);
        }
    }

    /// The block under way or the next one that is not stale.
    fn next_block(&mut self) -> Option<Block> {
        if let Some(block) = self.block.take() {
            return Some(block);
        }
        loop {
            let block = self.ring.try_recv().ok()?;
            if block.generation >= self.seen {
                self.at_sample = 0;
                return Some(block);
            }
        }
    }

    /// Fades out what sounds, throws away what waits, reports it; samples written.
    fn cut(&mut self, out: &mut [i16], at: f64, up_to: u64) -> usize {
        let mut n = 0;
        if self.playing
            && let Some(block) = self.block.take()
        {
            let rest = block.sound().get(self.at_sample..).unwrap_or(&[]);
            let fade = rest.len().min(FADE).min(out.len());
            for (i, (to, from)) in out.iter_mut().zip(rest.iter().take(fade)).enumerate() {
                *to = (i32::from(*from) * (fade - i) as i32 / fade.max(1) as i32) as i16;
            }
            n = fade;
            for tap in &self.taps {
                if n > 0 {
                    tap.send(at, out.get(..n).unwrap_or(&[]));
                }
            }
        }
        self.block = None;
        self.at_sample = 0;
        self.playing = false;
        self.mark(Mark::Flushed {
            up_to,
            at: at + n as f64 / f64::from(SAMPLE_RATE),
        });
        n
    }

    /// The channel holds far more marks than can be under way: an utterance makes
    /// three at most, and the next is not written before the last one's end is read.
    fn mark(&self, mark: Mark) {
        let _ = self.marks.try_send(mark);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crossbeam_channel::bounded;

    struct Bench {
        ring: Sender<Block>,
        marks: Receiver<Mark>,
        played: Receiver<Played>,
        live: Arc<AtomicU64>,
        player: Player,
    }

    fn bench() -> Bench {
        let (ring, from) = bounded(RING);
        let (to_marks, marks) = bounded(64);
        let (to_played, played) = bounded(1024);
        let live = Arc::new(AtomicU64::new(1));
        let player = Player::new(from, live.clone(), to_marks, vec![Tap::new(to_played)]);
        Bench {
            ring,
            marks,
            played,
            live,
            player,
        }
    }

    fn block(generation: u64, first: bool, last: bool, len: usize, value: i16) -> Block {
        Block {
            generation,
            first,
            last,
            len: len as u16,
            samples: [value; BLOCK],
        }
    }

    #[test]
    fn exact_begin_and_end_whatever_the_callback_size() {
        for size in [1, 7, 160, 213, 640, 2048] {
            let mut b = bench();
            for i in 0..3 {
                let len = if i == 2 { 50 } else { BLOCK };
                b.ring
                    .send(block(1, i == 0, i == 2, len, 1000 + i as i16))
                    .unwrap();
            }
            let mut heard = Vec::new();
            let mut out = vec![99; size];
            while heard.len() < 600 {
                b.player.fill(&mut out, heard.len() as f64 / 16_000.0);
                heard.extend_from_slice(&out);
            }
            let mut want = vec![1000; BLOCK];
            want.extend(vec![1001; BLOCK]);
            want.extend(vec![1002; 50]);
            assert_eq!(&heard[..370], &want[..], "size {size}");
            assert!(heard[370..].iter().all(|s| *s == 0));
            let marks: Vec<Mark> = b.marks.try_iter().collect();
            let [Mark::Began { at: from, .. }, Mark::Ended { at: to, .. }] = marks[..] else {
                panic!("{marks:?}");
            };
            assert_eq!(from, 0.0);
            assert!((to - 370.0 / 16_000.0).abs() < 1e-9);
            // The tap gives the same samples with their times.
            let mut line = vec![0; 370];
            for p in b.played.try_iter() {
                let at = (p.at * 16_000.0).round() as usize;
                line[at..at + p.samples().len()].copy_from_slice(p.samples());
            }
            assert_eq!(line, want);
        }
    }

    #[test]
    fn a_higher_generation_cuts_at_the_next_call() {
        let mut b = bench();
        for i in 0..20 {
            b.ring.send(block(1, i == 0, false, BLOCK, 8000)).unwrap();
        }
        let mut out = vec![0; 200];
        b.player.fill(&mut out, 0.0);
        assert!(out.iter().all(|s| *s == 8000));
        b.live.store(2, Ordering::Release);
        b.ring.send(block(2, true, true, 100, -500)).unwrap();
        let mut out = vec![0; 400];
        b.player.fill(&mut out, 200.0 / 16_000.0);
        // 5 ms of fade, then the new one at once.
        assert!(out[..FADE].windows(2).all(|w| w[1] <= w[0]));
        assert!(out[FADE - 1] <= 100);
        assert!(out[FADE..FADE + 100].iter().all(|s| *s == -500));
        assert!(out[FADE + 100..].iter().all(|s| *s == 0));
        let marks: Vec<Mark> = b.marks.try_iter().collect();
        assert!(
            matches!(
                marks[..],
                [
                    Mark::Began { generation: 1, .. },
                    Mark::Flushed { up_to: 2, .. },
                    Mark::Began { generation: 2, .. },
                    Mark::Ended { generation: 2, .. }
                ]
            ),
            "{marks:?}"
        );
    }

    #[test]
    fn a_block_that_overtakes_the_generation_is_not_lost() {
        let mut b = bench();
        // The callback has read generation 1; the writer raises it and writes just then.
        b.ring.send(block(1, true, false, BLOCK, 300)).unwrap();
        b.ring.send(block(2, true, true, BLOCK, 400)).unwrap();
        let mut out = vec![0; 480];
        b.player.fill(&mut out, 0.0);
        assert_eq!(out[160..320], [400; 160]);
        let kinds: Vec<Mark> = b.marks.try_iter().collect();
        assert_eq!(kinds.len(), 4, "{kinds:?}");
    }
}
