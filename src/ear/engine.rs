//! Which recogniser listens.

use std::str::FromStr;

use super::gate::Patience;
use super::hob::{self, HobListener, Waits};
use super::listener::Listener;
use super::listening::Listening;
use super::recogniser::Recogniser;
use super::vosk::Vosk;

/// A recogniser by name, or the best there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Engine {
    /// The best that is installed for the language.
    #[default]
    Auto,
    /// Our own, embedded: English.
    Hob,
    Vosk,
}

/// The names that `--engine` takes.
pub const NAMES: &str = "auto|hob|vosk";

impl FromStr for Engine {
    type Err = String;

    fn from_str(name: &str) -> Result<Self, String> {
        match name {
            "auto" => Ok(Engine::Auto),
            "hob" => Ok(Engine::Hob),
            "vosk" => Ok(Engine::Vosk),
            _ => Err(
                "there is no such recogniser; leave --engine out for the best that is installed, \
                 or write auto (the same), hob (our own, English) or vosk (languages with a model)"
                    .to_owned(),
            ),
        }
    }
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
            Engine::Hob => Err(format!(
                "our own ear hears English only, not {lang:?}; leave --engine out, and Vosk listens"
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_read_and_another_is_told_what_there_is() {
        for name in NAMES.split('|') {
            assert!(name.parse::<Engine>().is_ok(), "{name}");
        }
        assert_eq!("auto".parse(), Ok(Engine::default()));
        let why = "pocketsphinx".parse::<Engine>().unwrap_err();
        assert!(NAMES.split('|').all(|name| why.contains(name)), "{why}");
        assert!(why.contains("leave --engine out"), "{why}");
    }
}
