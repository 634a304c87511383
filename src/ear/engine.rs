//! Which recogniser listens.

use super::gate::Patience;
use super::hob::{self, HobListener, Waits};
use super::listener::Listener;
use super::listening::Listening;
use super::pocketsphinx::PocketSphinx;
use super::recogniser::Recogniser;
use super::vosk::Vosk;

/// A recogniser by name, or the best there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Engine {
    /// The best that is installed for the language.
    #[default]
    Auto,
    /// Our own, embedded: English.
    Hob,
    #[value(name = "pocketsphinx")]
    PocketSphinx,
    Vosk,
}

impl Engine {
    /// An ear for a language (`en`, `ko`). Our own decides itself how long to wait for
    /// more; `patience` is for the others.
    ///
    /// # Errors
    /// A sentence that says what is missing and what to do.
    pub fn listen(self, lang: &str, patience: Patience) -> Result<Box<dyn Listening>, String> {
        match (self, lang) {
            (Engine::Auto | Engine::Hob, "en") => Ok(Box::new(HobListener::new(
                hob::english()?,
                Waits::default(),
            )?)),
            _ => Ok(Box::new(Listener::new(self.load(lang)?, patience))),
        }
    }

    /// Loads a recogniser that needs a gate before it.
    ///
    /// # Errors
    /// A sentence that says what is missing and what to do.
    pub fn load(self, lang: &str) -> Result<Box<dyn Recogniser>, String> {
        match self {
            Engine::Auto | Engine::Vosk => Ok(Box::new(Vosk::load(lang)?)),
            Engine::PocketSphinx if lang == "en" => Ok(Box::new(PocketSphinx::load()?)),
            Engine::PocketSphinx => Err(format!(
                "PocketSphinx hears English here, not {lang:?}; Vosk hears other languages"
            )),
            Engine::Hob => Err(format!("our own ear hears English only, not {lang:?}")),
        }
    }
}
