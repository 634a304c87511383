//! One utterance at a time from the queue to blocks of samples, and what is known of its
//! playing. Has no clock and no thread: the loop in `run.rs` or `paced.rs` drives it.

use std::collections::VecDeque;
use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use crossbeam_channel::{Sender, TrySendError};

use super::pieces::{Piece, pieces};
use super::player::{BLOCK, Block, Mark};
use super::queue::{Entry, Fate, Queue, fate};
use super::synth::{Synth, ms, trim};
use super::{DropReason, Urgency, Utterance, UtteranceId, VoiceEvent, speakable, tone};

/// Silence between two utterances, seconds.
pub const BREATH: f64 = 0.25;
/// An answer that waited this long for a speaker to come back is not said any more, seconds.
const STALE: f64 = 5.0;

/// Answers and reminders are said from this loudness on: what 1.0 means.
const FULL: f32 = 1.0;

struct Speaking {
    entry: Entry,
    generation: u64,
    pieces: VecDeque<Piece>,
    /// Rendered and not handed on yet.
    samples: VecDeque<i16>,
    first_sent: bool,
    all_sent: bool,
    began: bool,
    /// Cut, waiting for the player to say when the sound stopped.
    cut: Option<Fate>,
}

pub struct Stage {
    queue: Queue,
    /// None: text only.
    synth: Option<Box<dyn Synth>>,
    text: Option<Box<dyn Write + Send>>,
    speaking: Option<Speaking>,
    live: Arc<AtomicU64>,
    events: Sender<VoiceEvent>,
    /// No utterance begins before, seconds.
    breath_until: f64,
    volume: f32,
    speed: f32,
    advised: bool,
    /// Since when there is no speaker, seconds.
    lost_since: Option<f64>,
}

impl Stage {
    pub fn new(
        synth: Option<Box<dyn Synth>>,
        text: Option<Box<dyn Write + Send>>,
        live: Arc<AtomicU64>,
        events: Sender<VoiceEvent>,
        speed: f32,
        volume: f32,
    ) -> Stage {
        let mut stage = Stage {
            queue: Queue::default(),
            synth,
            text,
            speaking: None,
            live,
            events,
            breath_until: f64::NEG_INFINITY,
            volume: FULL,
            speed: 1.0,
            advised: false,
            lost_since: None,
        };
        stage.set_speed(speed);
        stage.set_volume(volume);
        stage
    }

    /// Takes over what waits from another voice.
    #[cfg(feature = "system-voice")]
    pub fn adopt(&mut self, queue: Queue) {
        self.queue = queue;
    }

    pub fn set_speed(&mut self, speed: f32) {
        if speed.is_finite() {
            self.speed = speed.clamp(0.5, 2.0);
        }
    }

    pub fn set_volume(&mut self, volume: f32) {
        if volume.is_finite() {
            self.volume = volume.clamp(0.05, 4.0);
        }
    }

    pub fn set_silenced(&mut self, silenced: bool) {
        let dropped = self.queue.set_silenced(silenced);
        self.drop_all(dropped, DropReason::Silenced);
        let reminder = |s: &Speaking| s.entry.utterance.urgency == Urgency::Reminder;
        if silenced && self.speaking.as_ref().is_some_and(reminder) {
            self.cut(Fate::Over);
        }
    }

    pub fn say(&mut self, id: UtteranceId, utterance: Utterance, now: f64) {
        let entry = Entry {
            id,
            utterance,
            since: now,
            again: false,
            shown: false,
        };
        if let Err(why) = self.queue.offer(entry) {
            self.emit(VoiceEvent::Dropped { id, why });
            return;
        }
        if self.lost_since.is_some() {
            self.show_waiting(now);
        }
        let Some(speaking) = &self.speaking else {
            return;
        };
        let above = self.queue.head() > Some(speaking.entry.utterance.urgency);
        if above && speaking.cut.is_none() {
            let fate = fate(&speaking.entry, false);
            self.cut(fate);
        }
    }

    /// "quiet": stops what sounds unless somebody could get hurt, and forgets the answers
    /// and reminders that wait.
    pub fn quiet(&mut self) {
        let dropped = self.queue.hush();
        self.drop_all(dropped, DropReason::Quiet);
        match &mut self.speaking {
            Some(s) if s.entry.utterance.urgency == Urgency::Danger => {}
            // Cut by something more urgent a moment ago: not said again either.
            Some(s) if s.cut.is_some() => s.cut = Some(Fate::Over),
            Some(_) => self.cut(Fate::Over),
            None => {}
        }
    }

    fn cut(&mut self, fate: Fate) {
        let Some(speaking) = &mut self.speaking else {
            return;
        };
        speaking.cut = Some(fate);
        speaking.samples.clear();
        speaking.pieces.clear();
        self.live.fetch_add(1, Ordering::AcqRel);
    }

    pub fn is_speaking(&self) -> bool {
        self.speaking.is_some()
    }

    /// Nothing sounds and nothing waits.
    pub fn is_idle(&self) -> bool {
        self.speaking.is_none() && self.queue.is_empty()
    }

    /// When the next utterance may begin, if one waits for its turn, seconds.
    pub fn next_start(&self) -> Option<f64> {
        (self.speaking.is_none() && !self.queue.is_empty()).then_some(self.breath_until)
    }

    /// Starts what is due and fills the ring. Call it after every command and mark and
    /// at least every few blocks while speaking.
    pub fn pump(&mut self, now: f64, ring: &Sender<Block>) {
        if self.speaking.is_none() && now >= self.breath_until {
            self.start(now);
        }
        let Some(mut speaking) = self.speaking.take() else {
            return;
        };
        while speaking.cut.is_none() && !speaking.all_sent && !ring.is_full() {
            while speaking.samples.len() < BLOCK
                && let Some(piece) = speaking.pieces.pop_front()
            {
                self.render(&piece, &mut speaking.samples);
            }
            let block = next_block(&mut speaking);
            let last = block.last;
            match ring.try_send(block) {
                Ok(()) => {
                    speaking.first_sent = true;
                    speaking.all_sent = last;
                }
                // The player has gone; `lost` follows.
                Err(TrySendError::Disconnected(_)) | Err(TrySendError::Full(_)) => break,
            }
        }
        self.speaking = Some(speaking);
    }

    fn start(&mut self, now: f64) {
        let Some(mut entry) = self.queue.take() else {
            return;
        };
        show(&mut self.text, &mut entry, now);
        if self.synth.is_none() {
            self.breath_until = now;
            self.emit(VoiceEvent::Began {
                id: entry.id,
                at: now,
            });
            self.emit(VoiceEvent::Ended {
                id: entry.id,
                at: now,
                cut: false,
                again: false,
            });
            return;
        }
        let generation = self.live.fetch_add(1, Ordering::AcqRel) + 1;
        let u = &entry.utterance;
        let tone: VecDeque<i16> = tone::alarm(u.urgency, u.unanswered).into();
        self.speaking = Some(Speaking {
            pieces: pieces(&speakable::speakable(&u.text)).into(),
            entry,
            generation,
            samples: tone,
            first_sent: false,
            all_sent: false,
            began: false,
            cut: None,
        });
    }

    fn render(&mut self, piece: &Piece, into: &mut VecDeque<i16>) {
        let Some(synth) = &mut self.synth else {
            return;
        };
        match synth.render(&piece.text, self.speed) {
            Ok(samples) => {
                let volume = self.volume;
                into.extend(trim(&samples).iter().map(|s| louder(*s, volume)));
                let pause = (ms(piece.pause_ms) as f32 / self.speed) as usize;
                into.resize(into.len() + pause, 0);
            }
            Err(e) if !self.advised => {
                self.advised = true;
                self.emit(VoiceEvent::Advice(e.to_string()));
            }
            Err(_) => {}
        }
    }

    /// Without a speaker the words are shown when they are asked for.
    fn show_waiting(&mut self, now: f64) {
        for entry in self.queue.iter_mut() {
            show(&mut self.text, entry, now);
        }
    }

    /// What the player reports.
    pub fn mark(&mut self, mark: Mark) {
        let Some(speaking) = &mut self.speaking else {
            return;
        };
        let id = speaking.entry.id;
        match mark {
            Mark::Began { generation, at } if generation == speaking.generation => {
                speaking.began = true;
                self.emit(VoiceEvent::Began { id, at });
            }
            Mark::Ended { generation, at } if generation == speaking.generation => {
                // A cut that came after the last sample had left cut nothing.
                self.speaking = None;
                self.breath_until = at + BREATH;
                self.emit(VoiceEvent::Ended {
                    id,
                    at,
                    cut: false,
                    again: false,
                });
            }
            Mark::Flushed { up_to, at }
                if up_to > speaking.generation && speaking.cut.is_some() =>
            {
                self.stopped(at, 0.1);
            }
            _ => {}
        }
    }

    /// The sound under way has stopped before its end.
    fn stopped(&mut self, at: f64, breath: f64) {
        let Some(speaking) = self.speaking.take() else {
            return;
        };
        let id = speaking.entry.id;
        let again = speaking.cut == Some(Fate::SaidAgain);
        self.breath_until = at + breath;
        if speaking.began {
            self.emit(VoiceEvent::Ended {
                id,
                at,
                cut: true,
                again,
            });
        } else if !again {
            self.emit(VoiceEvent::Dropped {
                id,
                why: DropReason::Quiet,
            });
        }
        if again {
            let mut entry = speaking.entry;
            entry.again = speaking.began;
            self.queue.put_back(entry);
        }
    }

    /// The speaker went away at `now`: what it was saying is said again when it is back.
    pub fn lost(&mut self, now: f64) {
        self.lost_since.get_or_insert(now);
        if let Some(speaking) = &mut self.speaking {
            speaking.cut.get_or_insert(Fate::SaidAgain);
            self.live.fetch_add(1, Ordering::AcqRel);
            self.stopped(now, 0.0);
        }
        self.show_waiting(now);
    }

    /// The speaker is there (again).
    pub fn found(&mut self, now: f64) {
        if self.lost_since.take().is_some() {
            let dropped = self.queue.expire(now - STALE);
            self.drop_all(dropped, DropReason::TooLate);
        }
    }

    /// The end: everything that waits is dropped, what sounds is cut.
    pub fn close(&mut self, now: f64) {
        let dropped = self.queue.clear();
        self.drop_all(dropped, DropReason::Closed);
        if let Some(speaking) = &mut self.speaking {
            speaking.cut = Some(Fate::Over);
            self.live.fetch_add(1, Ordering::AcqRel);
            self.stopped(now, 0.0);
        }
    }

    fn drop_all(&self, ids: Vec<UtteranceId>, why: DropReason) {
        for id in ids {
            self.emit(VoiceEvent::Dropped { id, why });
        }
    }

    /// Nobody listening any more is the owner's choice, not an error.
    pub fn emit(&self, event: VoiceEvent) {
        let _ = self.events.send(event);
    }
}

/// Writes the words out, once.
fn show(text: &mut Option<Box<dyn Write + Send>>, entry: &mut Entry, now: f64) {
    if let Some(text) = text
        && !std::mem::replace(&mut entry.shown, true)
    {
        // A closed terminal must not stop the cook.
        let _ = writeln!(text, "[{:>8.1}] {}", now.max(0.0), entry.utterance.text);
        let _ = text.flush();
    }
}

fn next_block(speaking: &mut Speaking) -> Block {
    let mut samples = [0; BLOCK];
    let mut len = 0;
    for to in &mut samples {
        let Some(s) = speaking.samples.pop_front() else {
            break;
        };
        *to = s;
        len += 1;
    }
    Block {
        generation: speaking.generation,
        first: !speaking.first_sent,
        last: speaking.samples.is_empty() && speaking.pieces.is_empty(),
        len,
        samples,
    }
}

/// The sample at `volume`; above two thirds of full scale it is bent, not clipped.
fn louder(sample: i16, volume: f32) -> i16 {
    const KNEE: f32 = 0.66;
    let x = f32::from(sample) / 32_768.0 * volume;
    let over = x.abs() - KNEE;
    let y = if over <= 0.0 {
        x
    } else {
        let room = 1.0 - KNEE;
        x.signum() * (KNEE + room * (over / room).tanh())
    };
    (y * 32_767.0) as i16
}
