//! [`Voice`]: what the cook loop holds.

use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use super::flite::{Flite, FliteVoice};
use super::player::Tap;
use super::run::{Command, Drive, Run, own_player};
use super::speaker::Speaker;
use super::stage::Stage;
use super::synth::Synth;
use super::wav::Recorder;
use super::{Utterance, UtteranceId, VoiceError, VoiceEvent};

/// Who speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    BuiltIn(FliteVoice),
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
    speaker: Option<JoinHandle<()>>,
}

impl Voice {
    /// Opens the engine and starts the thread.
    ///
    /// # Errors
    /// A missing engine library or an unwritable WAV file, with what to do about it. A
    /// missing speaker is no error: [`VoiceEvent::DeviceLost`] tells of it.
    pub fn start(config: Config) -> Result<Voice, VoiceError> {
        let synth: Option<Box<dyn Synth>> = match config.engine {
            Engine::BuiltIn(which) => Some(Box::new(Flite::open(which)?)),
            Engine::TextOnly => None,
        };
        let mut taps: Vec<Tap> = config.tap.into_iter().collect();
        let played = match &config.record {
            None => None,
            Some(path) => {
                let recorder = Recorder::create(path)?;
                // Twenty seconds of blocks: the voice's thread reads them at least every
                // 20 ms while it speaks.
                let (to, from) = bounded(2048);
                taps.push(Tap::new(to));
                Some((from, recorder))
            }
        };
        let live = Arc::new(AtomicU64::new(0));
        let (to_marks, marks) = bounded(256);
        let (to_commands, commands) = unbounded();
        let (to_events, events) = unbounded();
        let (stop, stopped) = bounded(0);
        let mut speaker_thread = None;
        let output = match (config.output, config.engine) {
            // Nothing will sound: no device is opened for it.
            (Output::Speaker { .. }, Engine::TextOnly) => Output::Paced,
            (output, _) => output,
        };
        let drive = match output {
            Output::Speaker { device } => {
                let (news, from) = unbounded();
                let speaker = Speaker {
                    device,
                    epoch: config.epoch,
                    live: live.clone(),
                    marks: to_marks,
                    taps,
                    news,
                    stop: stopped,
                };
                let thread = std::thread::Builder::new()
                    .name("speaker".to_owned())
                    .spawn(move || speaker.run())
                    .map_err(|e| VoiceError::Device(format!("no thread for the speaker: {e}")))?;
                speaker_thread = Some(thread);
                Drive::Device(from, stop)
            }
            Output::Paced => {
                let (player, ring) = own_player(live.clone(), to_marks, taps);
                Drive::Paced(player, ring)
            }
            Output::Stepped => {
                let (player, ring) = own_player(live.clone(), to_marks, taps);
                Drive::Stepped(player, ring)
            }
        };
        let speaking = Arc::new(AtomicBool::new(false));
        let run = Run {
            stage: Stage::new(
                synth,
                config.text,
                live,
                to_events,
                config.speed,
                config.volume,
            ),
            drive,
            commands,
            marks,
            played,
            speaking: speaking.clone(),
            epoch: config.epoch,
        };
        let thread = std::thread::Builder::new()
            .name("voice".to_owned())
            .spawn(move || run.run())
            .map_err(|e| VoiceError::Engine(format!("no thread for the voice: {e}")))?;
        Ok(Voice {
            commands: to_commands,
            events,
            speaking,
            next: AtomicU64::new(1),
            thread: Some(thread),
            speaker: speaker_thread,
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

    /// The speaker's thread may be stuck in a device that has died; it is left behind.
    fn join(&mut self) {
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
        if let Some(thread) = self.speaker.take() {
            let until = Instant::now() + Duration::from_millis(800);
            while !thread.is_finished() && Instant::now() < until {
                std::thread::sleep(Duration::from_millis(2));
            }
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
