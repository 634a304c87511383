//! Which recogniser listens.

use super::pocketsphinx::PocketSphinx;
use super::recogniser::Recogniser;

/// A recogniser by name, or the best there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Engine {
    /// The best that is installed for the language.
    #[default]
    Auto,
    #[value(name = "pocketsphinx")]
    PocketSphinx,
}

impl Engine {
    /// Loads the recogniser for a language (`en`, `ko`).
    ///
    /// # Errors
    /// A sentence that says what is missing and what to do.
    pub fn load(self, lang: &str) -> Result<Box<dyn Recogniser>, String> {
        match (self, lang) {
            (Engine::Auto | Engine::PocketSphinx, "en") => Ok(Box::new(PocketSphinx::load()?)),
            _ => Err(format!("there is no recogniser for the language {lang:?}")),
        }
    }
}
