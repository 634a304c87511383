//! [`Voice`]: what the cook loop holds.

use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use super::assemble::{Wires, assemble};
use super::flite::FliteVoice;
use super::player::Tap;
use super::run::Command;
use super::{Utterance, UtteranceId, VoiceError, VoiceEvent};

/// Who speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    BuiltIn(FliteVoice),
    /// The system's own speech service, through its own output; in builds with the
    /// feature `system-voice`. Ends are as late as the service reports them, there is no
    /// tone before an alarm, and what cannot be said in time is said by the built-in voice.
    System,
    /// Nobody: utterances only go to [`Config::text`] and take no time.
    TextOnly,
}

/// Where the sound goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Output {
    /// A loudspeaker: the system's default, or one by cpal's name for it ("alsa:hw:1").
    Speaker { device: Option<String> },
    /// Nowhere, in real time.
    Paced,
    /// Nowhere, on a time line that [`Voice::advance_to`] moves: for a recorded session
    /// played faster than it was spoken.
    Stepped,
}

pub struct Config {
    pub engine: Engine,
    pub output: Output,
    /// The replies as a 16 kHz mono WAV that starts at the epoch.
    pub record: Option<PathBuf>,
    /// Every utterance as a line with its time, when it begins (when it is asked for,
    /// while there is no speaker).
    pub text: Option<Box<dyn Write + Send>>,
    /// What is really played, for an echo canceller.
    pub tap: Option<Tap>,
    /// 1.0 is the engine's own pace; 0.5 to 2.0.
    pub speed: f32,
    /// 1.0 is the engine's own level; 0.05 to 4.0, bent rather than clipped.
    pub volume: f32,
    /// Zero of the voice's time line; share it with the ear.
    pub epoch: Instant,
}

impl Default for Config {
    fn default() -> Config {
        Config {
            engine: Engine::BuiltIn(FliteVoice::default()),
            output: Output::Speaker { device: None },
            record: None,
            text: None,
            tap: None,
            speed: 1.0,
            volume: 1.0,
            epoch: Instant::now(),
        }
    }
}

/// The voice; it speaks on a thread of its own. Dropping it cuts what it says.
pub struct Voice {
    commands: Sender<Command>,
    events: Receiver<VoiceEvent>,
    speaking: Arc<AtomicBool>,
    next: AtomicU64,
    thread: Option<JoinHandle<()>>,
}

impl Voice {
    /// Opens the engine and starts the thread.
    ///
    /// # Errors
    /// A missing engine library or an unwritable WAV file, with what to do about it. A
    /// missing speaker is no error: [`VoiceEvent::DeviceLost`] tells of it.
    pub fn start(config: Config) -> Result<Voice, VoiceError> {
        let (to_commands, commands) = unbounded();
        let (to_events, events) = unbounded();
        let speaking = Arc::new(AtomicBool::new(false));
        let wires = Wires {
            commands,
            events: to_events,
            speaking: speaking.clone(),
        };
        let work: Box<dyn FnOnce() + Send> = match config.engine {
            Engine::System => system_work(config, wires)?,
            Engine::BuiltIn(_) | Engine::TextOnly => {
                let run = assemble(config, wires)?;
                Box::new(move || run.run())
            }
        };
        let thread = std::thread::Builder::new()
            .name("voice".to_owned())
            .spawn(work)
            .map_err(|e| VoiceError::Engine(format!("no thread for the voice: {e}")))?;
        Ok(Voice {
            commands: to_commands,
            events,
            speaking,
            next: AtomicU64::new(1),
            thread: Some(thread),
        })
    }

    /// Queues an utterance and returns at once. What becomes of it comes as events.
    pub fn say(&self, utterance: Utterance) -> UtteranceId {
        let id = UtteranceId(self.next.fetch_add(1, Ordering::Relaxed));
        self.send(Command::Say(id, utterance));
        id
    }

    /// Cuts what sounds within one buffer of the device, unless it is
    /// [`super::Urgency::Danger`], and forgets the answers and reminders that wait.
    pub fn quiet_now(&self) {
        self.send(Command::Quiet);
    }

    /// While silenced, reminders are dropped.
    pub fn set_silenced(&self, silenced: bool) {
        self.send(Command::Silenced(silenced));
    }

    /// From the next sentence on.
    pub fn set_speed(&self, speed: f32) {
        self.send(Command::Speed(speed));
    }

    /// From the next sentence on.
    pub fn set_volume(&self, volume: f32) {
        self.send(Command::Volume(volume));
    }

    /// With [`Output::Stepped`]: plays on to `seconds` and returns when all events up to
    /// there are in the channel. Time never goes back. Without effect otherwise.
    pub fn advance_to(&self, seconds: f64) {
        let (done, wait) = bounded(1);
        if seconds.is_finite() && self.commands.send(Command::Advance(seconds, done)).is_ok() {
            let _ = wait.recv();
        }
    }

    pub fn events(&self) -> &Receiver<VoiceEvent> {
        &self.events
    }

    /// Whether something is being said.
    pub fn is_speaking(&self) -> bool {
        self.speaking.load(Ordering::Acquire)
    }

    /// Lets what waits be said for up to `patience`, then ends the thread and puts the
    /// WAV file right.
    pub fn close(mut self, patience: Duration) {
        let (done, wait) = bounded(1);
        if self.commands.send(Command::Close(patience, done)).is_ok() {
            let _ = wait.recv_timeout(patience + Duration::from_secs(2));
        }
        self.join();
    }

    fn join(&mut self) {
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }

    /// The thread ends only after `close` or `drop`; a panic in it leaves a voice that
    /// says nothing, and the cook loop's text still shows every reply.
    fn send(&self, command: Command) {
        let _ = self.commands.send(command);
    }
}

impl Drop for Voice {
    fn drop(&mut self) {
        if self.thread.is_some() {
            let (done, _wait) = bounded(1);
            let _ = self.commands.send(Command::Close(Duration::ZERO, done));
            self.join();
        }
    }
}

#[cfg(feature = "system-voice")]
fn system_work(config: Config, wires: Wires) -> Result<Box<dyn FnOnce() + Send>, VoiceError> {
    if !matches!(config.output, Output::Speaker { .. }) || config.record.is_some() {
        return Err(VoiceError::Engine(
            "the system's voice speaks through its own output and cannot be recorded; \
             use the built-in voice"
                .to_owned(),
        ));
    }
    let run = super::system::SystemRun::new(config, wires);
    Ok(Box::new(move || run.run()))
}

#[cfg(not(feature = "system-voice"))]
fn system_work(_: Config, _: Wires) -> Result<Box<dyn FnOnce() + Send>, VoiceError> {
    Err(VoiceError::Engine(
        "this program was built without the system's voice; use the built-in voice, or \
         install libspeechd-dev, speech-dispatcher and libclang-dev and build with \
         --features system-voice"
            .to_owned(),
    ))
}
