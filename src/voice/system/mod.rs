//! The system's own voice: the same queue and events as the built-in one, with what the
//! speech service reports in place of counted samples. Every wait is bounded; a service
//! that fails is built anew once, and then the built-in voice takes over.

mod link;

use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, after, never, select};
use tts::UtteranceId as ServiceId;

use self::link::{Link, News};
use super::assemble::{Wires, assemble};
use super::flite::FliteVoice;
use super::handle::{Config, Engine};
use super::queue::{Entry, Fate, Queue, fate};
use super::run::Command;
use super::stage::BREATH;
use super::{DropReason, Urgency, VoiceEvent};

/// From `speak` to the report of its beginning; seen: 27 ms.
const BEGIN: Duration = Duration::from_secs(3);
/// From `stop` to its report; seen: 42 ms.
const STOP: Duration = Duration::from_secs(1);
/// Two failures within this time, and the service is given up.
const PATIENCE: Duration = Duration::from_secs(60);

struct Current {
    entry: Entry,
    id: Option<ServiceId>,
    began: bool,
    cut: Option<Fate>,
    /// By when something must be reported.
    deadline: Instant,
}

pub struct SystemRun {
    config: Config,
    commands: Receiver<Command>,
    events: Sender<VoiceEvent>,
    speaking: Arc<AtomicBool>,
    queue: Queue,
    current: Option<Current>,
    /// Reports that came before the service had said which id they are about.
    early: Vec<News>,
    breath_until: Instant,
    last_failure: Option<Instant>,
}

/// What the loop does next.
enum Turn {
    Go,
    /// The service has failed: why.
    Failed(String),
    Over,
}

impl SystemRun {
    pub fn new(config: Config, wires: Wires) -> SystemRun {
        SystemRun {
            config,
            commands: wires.commands,
            events: wires.events,
            speaking: wires.speaking,
            queue: Queue::default(),
            current: None,
            early: Vec::new(),
            breath_until: Instant::now(),
            last_failure: None,
        }
    }

    pub fn run(mut self) {
        let mut link = match Link::start() {
            Ok(link) => link,
            Err(why) => return self.fall_back(&why),
        };
        self.emit(VoiceEvent::DeviceBack);
        loop {
            match self.turn(&link) {
                Turn::Go => {}
                Turn::Over => {
                    link.stop();
                    return;
                }
                Turn::Failed(why) => {
                    self.interrupted();
                    let now = Instant::now();
                    let again = self
                        .last_failure
                        .replace(now)
                        .is_some_and(|last| now - last < PATIENCE);
                    if again {
                        return self.fall_back(&why);
                    }
                    match Link::start() {
                        Ok(fresh) => link = fresh,
                        Err(second) => return self.fall_back(&format!("{why}, then {second}")),
                    }
                }
            }
        }
    }

    fn turn(&mut self, link: &Link) -> Turn {
        if self.current.is_none()
            && Instant::now() >= self.breath_until
            && let Some(entry) = self.queue.take()
            && !self.begin(link, entry)
        {
            return Turn::Failed("the system's voice is stuck".to_owned());
        }
        self.speaking
            .store(self.current.is_some(), Ordering::Release);
        let timer = match &self.current {
            Some(c) => after(c.deadline.saturating_duration_since(Instant::now())),
            None if !self.queue.is_empty() => {
                after(self.breath_until.saturating_duration_since(Instant::now()))
            }
            None => never(),
        };
        select! {
            recv(self.commands) -> command => match command {
                Err(_) => return Turn::Over,
                Ok(command) => return self.obey(link, command),
            },
            recv(link.news()) -> news => match news {
                Ok(News::Failed) | Err(_) => {
                    return Turn::Failed("the system's voice has lost its service".to_owned());
                }
                Ok(news) => self.hear(news),
            },
            recv(timer) -> _ => {
                if self.current.as_ref().is_some_and(|c| Instant::now() >= c.deadline) {
                    return Turn::Failed("the system's voice does not report".to_owned());
                }
            }
        }
        Turn::Go
    }

    fn begin(&mut self, link: &Link, mut entry: Entry) -> bool {
        if let Some(text) = &mut self.config.text
            && !std::mem::replace(&mut entry.shown, true)
        {
            let at = self.config.epoch.elapsed().as_secs_f64();
            let _ = writeln!(text, "[{at:>8.1}] {}", entry.utterance.text);
            let _ = text.flush();
        }
        let text = entry.utterance.text.clone();
        self.current = Some(Current {
            entry,
            id: None,
            began: false,
            cut: None,
            deadline: Instant::now() + BEGIN,
        });
        // The service reports nothing about a text without words.
        if !text.chars().any(char::is_alphanumeric) {
            self.over(false);
            return true;
        }
        link.speak(text, self.config.speed, self.config.volume)
    }

    fn hear(&mut self, news: News) {
        let Some(current) = &mut self.current else {
            return;
        };
        let Some(id) = current.id else {
            match news {
                News::Taken(id) => {
                    current.id = Some(id);
                    for early in std::mem::take(&mut self.early) {
                        self.hear(early);
                    }
                }
                other => self.early.push(other),
            }
            return;
        };
        match news {
            News::Began(about) if about == id => {
                current.began = true;
                // Six characters a second is slower than any voice speaks at speed 1.
                let longest = current.entry.utterance.text.len() as f32 / 6.0 / self.config.speed;
                if current.cut.is_none() {
                    current.deadline = Instant::now()
                        + Duration::from_secs_f32(longest.min(600.0))
                        + Duration::from_secs(5);
                }
                let event = VoiceEvent::Began {
                    id: current.entry.id,
                    at: self.now(),
                };
                self.emit(event);
            }
            News::Ended(about) if about == id => self.over(false),
            News::Stopped(about) if about == id => self.over(true),
            _ => {}
        }
    }

    /// The utterance under way has come to an end.
    fn over(&mut self, cut: bool) {
        self.early.clear();
        let Some(current) = self.current.take() else {
            return;
        };
        let id = current.entry.id;
        let again = cut && current.cut == Some(Fate::SaidAgain);
        let at = self.now();
        if !current.began && cut {
            if !again {
                self.emit(VoiceEvent::Dropped {
                    id,
                    why: DropReason::Quiet,
                });
            }
        } else {
            if !current.began {
                self.emit(VoiceEvent::Began { id, at });
            }
            self.emit(VoiceEvent::Ended { id, at, cut, again });
        }
        if again {
            let mut entry = current.entry;
            entry.again = current.began;
            self.queue.put_back(entry);
        }
        self.breath_until = Instant::now() + Duration::from_secs_f64(BREATH);
    }

    /// The service failed in the middle of something: it is said again.
    fn interrupted(&mut self) {
        if let Some(current) = &mut self.current {
            current.cut.get_or_insert(Fate::SaidAgain);
            self.over(true);
        }
    }

    fn obey(&mut self, link: &Link, command: Command) -> Turn {
        match command {
            Command::Say(id, utterance) => {
                let entry = Entry {
                    id,
                    utterance,
                    since: self.now(),
                    again: false,
                    shown: false,
                };
                if let Err(why) = self.queue.offer(entry) {
                    self.emit(VoiceEvent::Dropped { id, why });
                    return Turn::Go;
                }
                let head = self.queue.head();
                if let Some(c) = &self.current
                    && c.cut.is_none()
                    && head > Some(c.entry.utterance.urgency)
                {
                    let fate = fate(&c.entry, false);
                    return self.cut(link, fate);
                }
            }
            Command::Quiet => {
                for id in self.queue.hush() {
                    self.emit(VoiceEvent::Dropped {
                        id,
                        why: DropReason::Quiet,
                    });
                }
                match &mut self.current {
                    Some(c) if c.entry.utterance.urgency == Urgency::Danger => {}
                    Some(c) if c.cut.is_some() => c.cut = Some(Fate::Over),
                    Some(_) => return self.cut(link, Fate::Over),
                    None => {}
                }
            }
            Command::Silenced(yes) => {
                for id in self.queue.set_silenced(yes) {
                    self.emit(VoiceEvent::Dropped {
                        id,
                        why: DropReason::Silenced,
                    });
                }
                let reminder =
                    |c: &Current| c.entry.utterance.urgency == Urgency::Reminder && c.cut.is_none();
                if yes && self.current.as_ref().is_some_and(reminder) {
                    return self.cut(link, Fate::Over);
                }
            }
            Command::Speed(speed) if speed.is_finite() => self.config.speed = speed.clamp(0.5, 2.0),
            Command::Volume(v) if v.is_finite() => self.config.volume = v.clamp(0.05, 4.0),
            Command::Speed(_) | Command::Volume(_) => {}
            Command::Advance(_, done) => {
                let _ = done.send(());
            }
            Command::Close(patience, done) => {
                let until = Instant::now() + patience;
                while Instant::now() < until && !(self.current.is_none() && self.queue.is_empty()) {
                    if !self.drain_one(link, until) {
                        break;
                    }
                }
                for id in self.queue.clear() {
                    self.emit(VoiceEvent::Dropped {
                        id,
                        why: DropReason::Closed,
                    });
                }
                if let Some(c) = &mut self.current {
                    c.cut = Some(Fate::Over);
                    link.stop();
                    self.over(true);
                }
                self.speaking.store(false, Ordering::Release);
                let _ = done.send(());
                return Turn::Over;
            }
        }
        Turn::Go
    }

    /// One step towards an empty queue while closing; false when the service has failed.
    fn drain_one(&mut self, link: &Link, until: Instant) -> bool {
        if self.current.is_none()
            && Instant::now() >= self.breath_until
            && let Some(entry) = self.queue.take()
            && !self.begin(link, entry)
        {
            return false;
        }
        let wait = until
            .saturating_duration_since(Instant::now())
            .min(Duration::from_millis(50));
        match link.news().recv_timeout(wait) {
            Ok(News::Failed) => return false,
            Ok(news) => self.hear(news),
            Err(_) => {}
        }
        self.current
            .as_ref()
            .is_none_or(|c| Instant::now() < c.deadline)
    }

    fn cut(&mut self, link: &Link, fate: Fate) -> Turn {
        if let Some(c) = &mut self.current {
            c.cut = Some(fate);
            c.deadline = Instant::now() + STOP;
            if !link.stop() {
                return Turn::Failed("the system's voice is stuck".to_owned());
            }
        }
        Turn::Go
    }

    /// The built-in voice (or, without it, the text alone) goes on with what waits.
    fn fall_back(mut self, why: &str) {
        self.interrupted();
        let wires = || Wires {
            commands: self.commands.clone(),
            events: self.events.clone(),
            speaking: self.speaking.clone(),
        };
        let config = |engine, text| Config {
            engine,
            output: self.config.output.clone(),
            record: None,
            text,
            tap: self.config.tap.clone(),
            speed: self.config.speed,
            volume: self.config.volume,
            epoch: self.config.epoch,
        };
        // The text goes with the run that succeeds; opening the engine decides.
        let engine = match super::flite::Flite::open(FliteVoice::default()) {
            Ok(_) => {
                self.emit(VoiceEvent::Advice(format!(
                    "{why}; the built-in voice speaks instead"
                )));
                Engine::BuiltIn(FliteVoice::default())
            }
            Err(e) => {
                self.emit(VoiceEvent::Advice(format!(
                    "{why}; replies are shown only: {e}"
                )));
                Engine::TextOnly
            }
        };
        let text = self.config.text.take();
        let made = assemble(config(engine, text), wires());
        match made {
            Ok(mut run) => {
                run.stage.adopt(std::mem::take(&mut self.queue));
                run.run();
            }
            Err(e) => self.emit(VoiceEvent::Advice(e.to_string())),
        }
    }

    fn now(&self) -> f64 {
        self.config.epoch.elapsed().as_secs_f64()
    }

    fn emit(&self, event: VoiceEvent) {
        let _ = self.events.send(event);
    }
}
