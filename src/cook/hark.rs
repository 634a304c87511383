//! Where calls come from, joined to the loop.
//!
//! A live ear has a thread of its own. A sound file that is heard faster than real time
//! is read inside the loop instead: what may be said next depends on what was answered,
//! and so the answer has to be there before the next sample.

use std::io::BufReader;
use std::path::PathBuf;
use std::time::Duration;

use crossbeam_channel::Sender;

use crate::ear::echo::OwnVoice;
use crate::ear::source::{FileSource, Got, Pace, Source};
use crate::ear::{self, EarEvent, EarHandle, Engine, Listening, NoteTaker, Patience};
use crate::grammar::{ActiveSet, Grammar};
use crate::plan::{Plan, Pronounced};

use super::Msg;
use super::args::CookArgs;
use super::typed;

pub enum Hark {
    Typed,
    Live(EarHandle),
    Inside(Box<Inside>),
}

/// A file that is heard inside the loop.
pub struct Inside {
    listener: Box<dyn Listening>,
    source: FileSource,
    samples: Vec<i16>,
}

impl Hark {
    /// # Errors
    /// A sentence that says what is missing and what to do.
    pub fn open(
        args: &CookArgs,
        plan: &Plan,
        grammar: &Grammar,
        session: bool,
        own_voice: Option<OwnVoice>,
        to: &Sender<Msg>,
    ) -> Result<Hark, String> {
        let engine = args.engine.unwrap_or_default();
        let (language, said) = (plan.language.as_str(), &plan.hearing.pronounce);
        let awake = restricted(grammar, &ActiveSet::awake())?;
        match args.ear.as_str() {
            "typed" => {
                let to = to.clone();
                std::thread::Builder::new()
                    .name("typed".into())
                    .spawn(move || typed::listen(BufReader::new(std::io::stdin()), &to))
                    .map_err(|e| format!("no thread for typed lines: {e}"))?;
                Ok(Hark::Typed)
            }
            "mic" => live(
                ear::Input::Microphone { device: None },
                engine,
                language,
                awake,
                said,
                own_voice,
                to,
            ),
            file if !session => {
                let path = PathBuf::from(file);
                let pace = Pace::RealTime;
                live(
                    ear::Input::File { path, pace },
                    engine,
                    language,
                    awake,
                    said,
                    None,
                    to,
                )
            }
            file => {
                let listener = engine.listen(language, Patience::default())?;
                let mut listener: Box<dyn Listening> = Box::new(NoteTaker::new(listener));
                listener.pronounce(said)?;
                listener.set_grammar(awake)?;
                Ok(Hark::Inside(Box::new(Inside {
                    listener,
                    source: FileSource::open(file.as_ref(), Pace::Fast)?,
                    samples: Vec::new(),
                })))
            }
        }
    }

    /// Keeps the sound of what is said next, where there is sound.
    pub fn take_note(&mut self) {
        match self {
            Hark::Typed => {}
            Hark::Live(handle) => handle.take_note(),
            Hark::Inside(inside) => inside.listener.take_note(),
        }
    }

    /// From the next utterance on only this may be said.
    ///
    /// # Errors
    /// When the recogniser refuses the rules; it then goes on with the old ones.
    pub fn listen_for(&mut self, grammar: &Grammar, active: &ActiveSet) -> Result<(), String> {
        match self {
            Hark::Typed => Ok(()),
            Hark::Live(handle) => {
                handle.set_grammar(restricted(grammar, active)?);
                Ok(())
            }
            Hark::Inside(inside) => inside
                .listener
                .set_grammar(restricted(grammar, active)?)
                .map(drop),
        }
    }
}

impl Inside {
    /// Hears a little more; the last event is [`EarEvent::End`].
    pub fn hear(&mut self) -> Vec<EarEvent> {
        let mut events = Vec::new();
        let mut on = |event| events.push(event);
        self.samples.clear();
        match self.source.read(&mut self.samples, Duration::ZERO) {
            Got::Samples => self.listener.feed(&self.samples, false, &mut on),
            Got::Nothing | Got::Lost(_) | Got::Back => {}
            Got::End(why) => {
                self.listener.end(&mut on);
                if let Some(why) = why {
                    on(EarEvent::Advice(why));
                }
                on(EarEvent::End);
            }
        }
        events
    }
}

fn live(
    source: ear::Input,
    engine: Engine,
    language: &str,
    grammar: Grammar,
    pronounce: &[Pronounced],
    own_voice: Option<OwnVoice>,
    to: &Sender<Msg>,
) -> Result<Hark, String> {
    let (events, from) = crossbeam_channel::bounded(64);
    let config = ear::Config {
        source,
        engine,
        lang: language.to_owned(),
        grammar,
        pronounce: pronounce.to_vec(),
        patience: Patience::default(),
        own_voice,
    };
    let handle = ear::start(config, events)?;
    let to = to.clone();
    std::thread::Builder::new()
        .name("ear to loop".into())
        .spawn(move || {
            for event in from {
                if to.send(Msg::Ear(event)).is_err() {
                    return;
                }
            }
        })
        .map_err(|e| format!("no thread for the ear: {e}"))?;
    Ok(Hark::Live(handle))
}

fn restricted(grammar: &Grammar, active: &ActiveSet) -> Result<Grammar, String> {
    grammar.restricted(active).map_err(|e| e.to_string())
}
