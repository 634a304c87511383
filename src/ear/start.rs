//! The ear on a thread of its own.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, unbounded};

use super::EarEvent;
use super::echo::{Echo, OwnVoice};
use super::engine::Engine;
use super::gate::Patience;
use super::levels::InputWatch;
use super::listener::unheard;
use super::listening::Listening;
use super::note::NoteTaker;
use super::source::{FileSource, Got, MicSource, Pace, RATE, Source};
use crate::grammar::Grammar;
use crate::plan::Pronounced;

/// Where the ear gets its sound.
pub enum Input {
    /// The default microphone, or one by its name.
    Microphone { device: Option<String> },
    /// A WAV or FLAC file.
    File { path: PathBuf, pace: Pace },
    /// Anything else that gives samples.
    Other(Box<dyn Source>),
}

pub struct Config {
    pub source: Input,
    pub engine: Engine,
    /// `en`, `ko`.
    pub lang: String,
    pub grammar: Grammar,
    /// How words of the plan are said.
    pub pronounce: Vec<Pronounced>,
    pub patience: Patience,
    /// What our own voice plays, to be taken out of the sound; without it the ear is
    /// shut while we speak.
    pub own_voice: Option<OwnVoice>,
}

enum Command {
    Grammar(Grammar),
    Note,
    Stop,
}

/// Tells the ear when the tool itself is speaking. Cheap to clone and to call.
///
/// Sound that arrives while it is set is not listened to, nor what arrives shortly
/// after it is cleared: the room and the sound card still hold the end of our words.
/// For live sound; a file read as fast as possible has no "now".
#[derive(Debug, Clone, Default)]
pub struct Deafness(Arc<AtomicBool>);

impl Deafness {
    pub fn set(&self, deaf: bool) {
        self.0.store(deaf, Relaxed);
    }
}

/// How long after our last word the ear stays shut: some 130 ms on the way through
/// sound servers, the rest for the room's echo to fall by 20 dB (a kitchen's
/// reverberation time is about 0.4 s; common practice, no source).
const TAIL: u64 = RATE as u64 * 28 / 100;

/// How often commands are looked at when nothing comes in.
const WAIT: Duration = Duration::from_millis(100);

/// A running ear. Dropping it stops it.
pub struct EarHandle {
    commands: Sender<Command>,
    deafness: Deafness,
    thread: Option<JoinHandle<()>>,
    engine: &'static str,
}

impl EarHandle {
    /// From the next utterance on only this is heard.
    pub fn set_grammar(&self, grammar: Grammar) {
        let _ = self.commands.send(Command::Grammar(grammar));
    }

    /// Keeps what is said next as a note (see [`Listening::take_note`]).
    pub fn take_note(&self) {
        let _ = self.commands.send(Command::Note);
    }

    /// True when the tool begins to speak, false when it has ended.
    pub fn deaf(&self, deaf: bool) {
        self.deafness.set(deaf);
    }

    /// The same switch for the thread that plays the sound.
    pub fn deafness(&self) -> Deafness {
        self.deafness.clone()
    }

    /// Name of the recogniser at work.
    pub fn engine(&self) -> &'static str {
        self.engine
    }

    /// Stops listening; the device is free when this returns, if it lets itself be.
    pub fn stop(mut self) {
        self.end();
    }

    fn end(&mut self) {
        let _ = self.commands.send(Command::Stop);
        if let Some(thread) = self.thread.take() {
            // It never blocks on the device; at most one utterance is being decided.
            let _ = thread.join();
        }
    }
}

impl Drop for EarHandle {
    fn drop(&mut self) {
        self.end();
    }
}

/// Opens source and recogniser and listens until stopped or the source ends. Events go
/// to `events`; if nobody takes them any more the ear ends.
///
/// # Errors
/// A sentence that says what is missing (microphone, file, library, model) and what to
/// do.
pub fn start(config: Config, events: Sender<EarEvent>) -> Result<EarHandle, String> {
    let listener = config.engine.listen(&config.lang, config.patience)?;
    let mut listener: Box<dyn Listening> = Box::new(NoteTaker::new(listener));
    let engine = listener.engine();
    listener.pronounce(&config.pronounce)?;
    let words = listener.set_grammar(config.grammar)?;
    let source: Box<dyn Source> = match config.source {
        Input::Microphone { device } => Box::new(MicSource::open(device.as_deref())?),
        Input::File { path, pace } => Box::new(FileSource::open(&path, pace)?),
        Input::Other(source) => source,
    };
    let own_voice = config.own_voice;
    let (commands, orders) = unbounded();
    let deafness = Deafness::default();
    let mut ear = Ear {
        listener,
        source,
        orders,
        events,
        deafness: deafness.clone(),
        tail: 0,
        dropped: 0,
        gone: false,
    };
    let thread = std::thread::Builder::new()
        .name("ear".to_owned())
        .spawn(move || {
            unheard(&words, &mut |e| ear.send(e));
            ear.run(own_voice);
        })
        .map_err(|e| format!("no thread for the ear: {e}"))?;
    Ok(EarHandle {
        commands,
        deafness,
        thread: Some(thread),
        engine,
    })
}

struct Ear {
    listener: Box<dyn Listening>,
    source: Box<dyn Source>,
    orders: Receiver<Command>,
    events: Sender<EarEvent>,
    deafness: Deafness,
    /// Samples for which the ear stays shut.
    tail: u64,
    dropped: u64,
    /// Nobody takes events any more.
    gone: bool,
}

impl Ear {
    fn send(&mut self, event: EarEvent) {
        deliver(&self.events, event, &mut self.gone);
    }

    fn run(&mut self, own_voice: Option<OwnVoice>) {
        // The canceller lives and dies on this thread: it cannot be sent.
        let mut echo = match own_voice.map(Echo::new) {
            Some(Ok(echo)) => Some(echo),
            Some(Err(why)) => {
                self.send(EarEvent::Advice(why));
                None
            }
            None => None,
        };
        let mut samples = Vec::new();
        let mut watch = InputWatch::default();
        while !self.gone {
            match self.orders.try_recv() {
                Ok(Command::Stop) => return,
                Ok(Command::Grammar(grammar)) => match self.listener.set_grammar(grammar) {
                    Ok(words) => unheard(&words, &mut |e| self.send(e)),
                    Err(why) => self.send(EarEvent::Advice(why)),
                },
                Ok(Command::Note) => self.listener.take_note(),
                Err(_) => {}
            }
            samples.clear();
            let Self {
                listener,
                events,
                gone,
                ..
            } = self;
            let mut on = |e| deliver(events, e, gone);
            match self.source.read(&mut samples, WAIT) {
                Got::Samples => {
                    if self.deafness.0.load(Relaxed) {
                        self.tail = TAIL;
                    }
                    let deaf = self.tail > 0;
                    self.tail = self.tail.saturating_sub(samples.len() as u64);
                    watch.feed(&samples, &mut on);
                    match &mut echo {
                        Some(echo) => {
                            echo.feed(listener.as_mut(), &mut samples, Instant::now(), &mut on);
                        }
                        None => listener.feed(&samples, deaf, &mut on),
                    }
                }
                Got::Nothing => {}
                Got::Lost(why) => {
                    listener.reset(&mut on);
                    on(EarEvent::DeviceLost { why });
                }
                Got::Back => on(EarEvent::DeviceBack),
                Got::End(why) => {
                    listener.end(&mut on);
                    if let Some(why) = why {
                        on(EarEvent::Advice(why));
                    }
                    on(EarEvent::End);
                    return;
                }
            }
            self.mind_the_gap();
        }
    }

    /// Sound that was lost is said once for each new loss.
    fn mind_the_gap(&mut self) {
        let dropped = self.source.dropped();
        if dropped > self.dropped {
            let lost = (dropped - self.dropped) as f64 / f64::from(RATE);
            self.dropped = dropped;
            self.send(EarEvent::Advice(format!(
                "{lost:.1} seconds of sound were lost because the machine is too busy"
            )));
        }
    }
}

/// Waits while the receiver is busy, but not for ever: an ear that hangs hears nothing.
fn deliver(events: &Sender<EarEvent>, event: EarEvent, gone: &mut bool) {
    let until = Instant::now() + Duration::from_secs(5);
    if let Err(crossbeam_channel::SendTimeoutError::Disconnected(_)) =
        events.send_deadline(event, until)
    {
        *gone = true;
    }
}
