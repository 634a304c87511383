//! The recognisers behind one face.

use std::path::Path;
use std::time::Duration;

use hobcall::ear::hob::{self, HobListener, Understood, Waits};
use hobcall::ear::source::{FileSource, Got, Pace, Source};
use hobcall::ear::{EarEvent, Heard, Listening};
use hobcall::grammar::Grammar;

use crate::batch::Batch;

/// The utterances of a sound, and what our own ear made them of.
pub type Told = Vec<(Heard, Option<Understood>)>;

pub trait Engine {
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<(), String>;
    /// The utterances of each sound; times count from its beginning.
    fn hear(&mut self, sounds: &[Vec<i16>]) -> Result<Vec<Told>, String>;
    /// Whether `decided_after` means something.
    fn tells_when(&self) -> bool {
        true
    }
}

pub fn load(name: &str) -> Result<Box<dyn Engine>, String> {
    match name {
        "hob" => Ok(Box::new(Hob(HobListener::new(
            hob::english()?,
            Waits::default(),
        )?))),
        "pocketsphinx" => Ok(Box::new(Batch::new()?)),
        other => Err(format!("no engine {other:?}: hob or pocketsphinx")),
    }
}

struct Hob(HobListener);

impl Engine for Hob {
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<(), String> {
        self.0.set_grammar(grammar.clone()).map(drop)
    }

    fn hear(&mut self, sounds: &[Vec<i16>]) -> Result<Vec<Told>, String> {
        Ok(sounds.iter().map(|sound| self.one(sound)).collect())
    }
}

impl Hob {
    fn one(&mut self, sound: &[i16]) -> Told {
        let began = self.0.position();
        let mut out = Told::new();
        for piece in sound.chunks(1_600) {
            let mut heard = Vec::new();
            self.0.feed(piece, false, &mut |e| heard.extend(only(e)));
            let made = self.0.last.take().map(|(u, _)| u);
            out.extend(heard.into_iter().map(|h| (h, made.clone())));
        }
        let mut heard = Vec::new();
        self.0.reset(&mut |e| heard.extend(only(e)));
        let made = self.0.last.take().map(|(u, _)| u);
        out.extend(heard.into_iter().map(|h| (h, made.clone())));
        out.iter_mut().for_each(|(h, _)| since(h, began));
        out
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

/// Runs a closure.
/// Answers also the processor time of all threads: what one core would have taken.
pub fn timed<T>(f: impl FnOnce() -> T) -> (T, Duration) {
    let began = processor_time();
    let out = f();
    (out, processor_time().saturating_sub(began))
}

/// Of this process so far, to a hundredth of a second.
fn processor_time() -> Duration {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = stat.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks = fields.split_whitespace().skip(11).take(2);
    let ticks: u64 = ticks.filter_map(|t| t.parse::<u64>().ok()).sum();
    Duration::from_millis(10 * ticks)
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
