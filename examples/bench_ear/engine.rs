//! The recognisers behind one face.

use std::path::Path;
use std::time::{Duration, Instant};

use hobcall::ear::hob::{self, Evidence, HobListener, Waits};
use hobcall::ear::source::{FileSource, Got, Pace, Source};
use hobcall::ear::{EarEvent, Heard, Listening};
use hobcall::grammar::Grammar;

pub trait Engine {
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<(), String>;
    /// Times count from the beginning of the sound.
    fn hear(&mut self, sound: &[i16]) -> Vec<(Heard, Option<Evidence>)>;
}

pub fn load(name: &str) -> Result<Box<dyn Engine>, String> {
    match name {
        "hob" => Ok(Box::new(Hob(HobListener::new(
            hob::english()?,
            Waits::default(),
        )?))),
        "pocketsphinx" => Ok(Box::new(Other(
            hobcall::ear::Engine::PocketSphinx.listen("en", hobcall::ear::Patience::default())?,
        ))),
        other => Err(format!("no engine {other:?}: hob or pocketsphinx")),
    }
}

struct Hob(HobListener);

impl Engine for Hob {
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<(), String> {
        self.0.set_grammar(grammar.clone()).map(drop)
    }

    fn hear(&mut self, sound: &[i16]) -> Vec<(Heard, Option<Evidence>)> {
        let began = self.0.position();
        let mut out: Vec<(Heard, Option<Evidence>)> = Vec::new();
        for piece in sound.chunks(1_600) {
            let mut heard = Vec::new();
            self.0.feed(piece, false, &mut |e| heard.extend(only(e)));
            let evidence = self.0.last_evidence();
            out.extend(heard.into_iter().map(|h| (h, evidence)));
        }
        let mut heard = Vec::new();
        self.0.reset(&mut |e| heard.extend(only(e)));
        let evidence = self.0.last_evidence();
        out.extend(heard.into_iter().map(|h| (h, evidence)));
        out.iter_mut().for_each(|(h, _)| since(h, began));
        out
    }
}

struct Other(Box<dyn Listening>);

impl Engine for Other {
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<(), String> {
        self.0.set_grammar(grammar.clone()).map(drop)
    }

    fn hear(&mut self, sound: &[i16]) -> Vec<(Heard, Option<Evidence>)> {
        let began = self.0.position();
        let mut heard = Vec::new();
        self.0.feed(sound, false, &mut |e| heard.extend(only(e)));
        self.0.reset(&mut |e| heard.extend(only(e)));
        heard.iter_mut().for_each(|h| since(h, began));
        heard.into_iter().map(|h| (h, None)).collect()
    }
}

fn since(heard: &mut Heard, began: f64) {
    heard.from -= began;
    heard.to -= began;
}

fn only(event: EarEvent) -> Option<Heard> {
    match event {
        EarEvent::Heard(h) => Some(h),
        _ => None,
    }
}

/// Times a closure.
pub fn timed<T>(f: impl FnOnce() -> T) -> (T, Duration) {
    let began = Instant::now();
    let out = f();
    (out, began.elapsed())
}

/// A sound file as numbers from -1 to 1.
pub fn read(path: &Path) -> Result<Vec<f32>, String> {
    let mut source = FileSource::open(path, Pace::Fast)?;
    let mut samples = Vec::new();
    loop {
        match source.read(&mut samples, Duration::MAX) {
            Got::End(None) => break,
            Got::End(Some(why)) | Got::Lost(why) => return Err(why),
            Got::Samples | Got::Nothing | Got::Back => {}
        }
    }
    Ok(samples.iter().map(|&s| f32::from(s) / 32_768.0).collect())
}
