//! The voice's own thread: commands in, events out, and the ring of the player kept full.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, after, bounded, never, select};

use super::player::{BLOCK, Block, Mark, Played, Player, RING, Tap};
use super::stage::Stage;
use super::synth::SAMPLE_RATE;
use super::wav::Recorder;
use super::{Utterance, UtteranceId, VoiceEvent};

pub enum Command {
    Say(UtteranceId, Utterance),
    Quiet,
    Silenced(bool),
    Speed(f32),
    Volume(f32),
    /// Stepped time only: play on to this many seconds, then answer.
    Advance(f64, Sender<()>),
    /// Play out what waits (up to so long), then answer.
    Close(Duration, Sender<()>),
}

/// What the speaker's thread reports.
pub enum SpeakerNews {
    /// A stream runs and empties this ring.
    Up(Sender<Block>),
    Lost(String),
}

/// What drives the player.
pub enum Drive {
    /// A device's callback; news come from the thread that owns the stream, which ends
    /// when the sender is dropped.
    Device(Receiver<SpeakerNews>, #[allow(dead_code)] Sender<()>),
    /// This thread, in real time.
    Paced(Box<Player>, Sender<Block>),
    /// This thread, when told so.
    Stepped(Box<Player>, Sender<Block>),
}

pub struct Run {
    pub stage: Stage,
    pub drive: Drive,
    pub commands: Receiver<Command>,
    pub marks: Receiver<Mark>,
    /// What is played, for the recorder.
    pub played: Option<(Receiver<Played>, Recorder)>,
    pub speaking: Arc<AtomicBool>,
    pub epoch: Instant,
    /// The thread that owns the stream, if a device plays.
    pub speaker: Option<JoinHandle<()>>,
}

/// The wait between two looks at the ring while speaking, well below what it holds.
const TICK: Duration = Duration::from_millis(20);

impl Run {
    pub fn run(mut self) {
        self.work();
        // Dropping the drive tells the speaker's thread to end. It may be stuck in a
        // device that has died; then it is left behind.
        let speaker = self.speaker.take();
        drop(self);
        if let Some(thread) = speaker {
            let until = Instant::now() + Duration::from_millis(800);
            while !thread.is_finished() && Instant::now() < until {
                std::thread::sleep(Duration::from_millis(2));
            }
        }
    }

    fn work(&mut self) {
        let mut ring: Option<Sender<Block>> = match &self.drive {
            Drive::Device(..) => None,
            Drive::Paced(_, ring) | Drive::Stepped(_, ring) => Some(ring.clone()),
        };
        // Stepped time, seconds.
        let mut stepped = 0.0f64;
        // Paced time: samples played since the epoch, while there is something to play.
        let mut line: Option<u64> = None;
        let mut closing: Option<(Instant, Sender<()>)> = None;
        let mut news = match &self.drive {
            Drive::Device(news, _) => news.clone(),
            _ => never(),
        };
        loop {
            let is_stepped = matches!(self.drive, Drive::Stepped(..));
            let now = if is_stepped { stepped } else { self.seconds() };
            if let Some(ring) = &ring
                && !is_stepped
            {
                self.stage.pump(now, ring);
            }
            if let Drive::Paced(player, ring) = &mut self.drive {
                let due = (now * f64::from(SAMPLE_RATE)) as u64;
                pace(player, &mut self.stage, &self.marks, ring, &mut line, due);
            }
            self.record();
            self.speaking
                .store(self.stage.is_speaking(), Ordering::Release);
            if let Some((until, done)) = &closing {
                let over = self.stage.is_idle() || is_stepped || ring.is_none();
                if over || Instant::now() >= *until {
                    let done = done.clone();
                    self.stage.close(now);
                    self.record();
                    self.finish_record(now);
                    self.speaking.store(false, Ordering::Release);
                    let _ = done.send(());
                    return;
                }
            }
            let timer = match self.stage.next_start() {
                _ if is_stepped => never(),
                Some(at) => after(Duration::from_secs_f64((at - now).clamp(0.001, 3600.0))),
                None if !self.stage.is_idle() => after(TICK),
                None if closing.is_some() => after(TICK),
                None => never(),
            };
            select! {
                recv(self.commands) -> command => match command {
                    // Every handle is gone.
                    Err(_) => {
                        self.stage.close(now);
                        self.record();
                        self.finish_record(now);
                        return;
                    }
                    Ok(Command::Advance(to, done)) => {
                        if let Drive::Stepped(..) = self.drive {
                            self.advance(&mut stepped, to);
                        }
                        let _ = done.send(());
                    }
                    Ok(Command::Close(patience, done)) => {
                        if is_stepped {
                            let to = stepped + patience.as_secs_f64();
                            self.advance_while_busy(&mut stepped, to);
                        }
                        closing = Some((Instant::now() + patience, done));
                    }
                    Ok(command) => {
                        // The clock has moved on while this thread slept.
                        let now = if is_stepped { stepped } else { self.seconds() };
                        self.obey(command, now);
                    }
                },
                recv(self.marks) -> mark => if let Ok(mark) = mark {
                    self.stage.mark(mark);
                },
                recv(news) -> item => match item {
                    Ok(SpeakerNews::Up(to)) => {
                        ring = Some(to);
                        self.stage.found(now);
                        self.stage.emit(VoiceEvent::DeviceBack);
                    }
                    Ok(SpeakerNews::Lost(why)) => {
                        ring = None;
                        // What the callback still reported comes first.
                        while let Ok(mark) = self.marks.try_recv() {
                            self.stage.mark(mark);
                        }
                        self.stage.lost(self.epoch.elapsed().as_secs_f64());
                        self.stage.emit(VoiceEvent::DeviceLost { why });
                    }
                    Err(_) => {
                        news = never();
                        ring = None;
                        self.stage.lost(self.epoch.elapsed().as_secs_f64());
                        self.stage.emit(VoiceEvent::DeviceLost {
                            why: "the speaker's thread has ended".to_owned(),
                        });
                    }
                },
                recv(timer) -> _ => {}
            }
        }
    }

    fn seconds(&self) -> f64 {
        self.epoch.elapsed().as_secs_f64()
    }

    fn obey(&mut self, command: Command, now: f64) {
        match command {
            Command::Say(id, utterance) => self.stage.say(id, utterance, now),
            Command::Quiet => self.stage.quiet(),
            Command::Silenced(yes) => self.stage.set_silenced(yes),
            Command::Speed(speed) => self.stage.set_speed(speed),
            Command::Volume(volume) => self.stage.set_volume(volume),
            Command::Advance(_, done) | Command::Close(_, done) => {
                let _ = done.send(());
            }
        }
    }

    fn advance_while_busy(&mut self, stepped: &mut f64, to: f64) {
        while *stepped < to && !self.stage.is_idle() {
            let next = *stepped + 0.1;
            self.advance(stepped, next.min(to));
        }
    }

    /// Plays from `stepped` to `to` in blocks of 10 ms, as exactly as a device would.
    fn advance(&mut self, stepped: &mut f64, to: f64) {
        let Drive::Stepped(player, ring) = &mut self.drive else {
            return;
        };
        let ring = ring.clone();
        // A sample is 62.5 µs: the line is kept in samples.
        let mut at = (*stepped * f64::from(SAMPLE_RATE)).round() as u64;
        let end = (to.max(*stepped) * f64::from(SAMPLE_RATE)).round() as u64;
        let mut out = [0i16; BLOCK];
        while at < end {
            let now = at as f64 / f64::from(SAMPLE_RATE);
            self.stage.pump(now, &ring);
            if self.stage.is_idle() {
                break;
            }
            let count = (end - at).min(BLOCK as u64) as usize;
            player.fill(out.get_mut(..count).unwrap_or(&mut []), now);
            while let Ok(mark) = self.marks.try_recv() {
                self.stage.mark(mark);
            }
            if let Some((played, recorder)) = &mut self.played {
                keep(played, recorder, &self.stage);
            }
            at += count as u64;
        }
        *stepped = to.max(*stepped);
    }

    fn record(&mut self) {
        if let Some((played, recorder)) = &mut self.played {
            keep(played, recorder, &self.stage);
        }
    }

    fn finish_record(&mut self, now: f64) {
        if let Some((_, mut recorder)) = self.played.take() {
            let finished = recorder.silence_until(now).and_then(|()| recorder.finish());
            if let Err(e) = finished {
                self.stage.emit(VoiceEvent::Advice(e.to_string()));
            }
        }
    }
}

fn keep(played: &Receiver<Played>, recorder: &mut Recorder, stage: &Stage) {
    while let Ok(p) = played.try_recv() {
        if let Err(e) = recorder.played(p.at, p.samples()) {
            stage.emit(VoiceEvent::Advice(e.to_string()));
        }
    }
}

/// Real time without a device: fills what is due since the last call.
fn pace(
    player: &mut Player,
    stage: &mut Stage,
    marks: &Receiver<Mark>,
    ring: &Sender<Block>,
    line: &mut Option<u64>,
    due: u64,
) {
    let mut out = [0i16; BLOCK];
    if stage.is_idle() {
        *line = None;
        return;
    }
    let line = line.get_or_insert(due);
    while *line < due {
        let count = (due - *line).min(BLOCK as u64) as usize;
        let at = *line as f64 / f64::from(SAMPLE_RATE);
        player.fill(out.get_mut(..count).unwrap_or(&mut []), at);
        *line += count as u64;
        while let Ok(mark) = marks.try_recv() {
            stage.mark(mark);
        }
        stage.pump(at, ring);
    }
}

/// A player with its ring, for the two drives of this thread.
pub fn own_player(
    live: Arc<AtomicU64>,
    marks: Sender<Mark>,
    taps: Vec<Tap>,
) -> (Box<Player>, Sender<Block>) {
    let (to, from) = bounded(RING);
    (Box::new(Player::new(from, live, marks, taps)), to)
}
