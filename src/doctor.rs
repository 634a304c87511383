//! `hobcall doctor`: what is here, what is missing, and what to do about it.

use std::io::Write;
use std::time::{Duration, Instant};

use crate::ear::source::{Got, MicSource, Source};
use crate::ear::{Engine, Patience, vosk};
use crate::voice::{Config, Engine as Speech, FliteVoice, Output, Voice, VoiceEvent};

/// How long a device may take to show that it is there.
const PATIENCE: Duration = Duration::from_secs(3);

#[derive(Debug, clap::Args)]
pub struct Args {
    /// Only say whether a cook can be live: exit status 0 with a microphone and a speaker
    #[arg(long)]
    pub sound: bool,
}

/// Prints a line for each thing that is looked for. True when a cook can be live.
///
/// # Errors
/// When the output is closed.
pub fn run(args: &Args, out: &mut dyn Write) -> std::io::Result<bool> {
    let microphone = microphone();
    let speaker = speaker();
    let live = microphone.is_ok() && speaker.is_ok();
    let mut line = |what: &str, found: Result<String, String>| match found {
        Ok(how) => writeln!(out, "{what:<22} here: {how}"),
        Err(why) => writeln!(out, "{what:<22} MISSING: {why}"),
    };
    line("microphone", microphone)?;
    line("speaker", speaker)?;
    if args.sound {
        return Ok(live);
    }
    let ear = Engine::Hob.listen("en", Patience::default());
    line(
        "own ear, English",
        ear.map(|_| "embedded in this program".into()),
    )?;
    let other = Engine::PocketSphinx.listen("en", Patience::default());
    line("PocketSphinx, English", other.map(|_| "opens".into()))?;
    let library = vosk::available().map(|()| "opens".to_owned());
    line(
        "Vosk library",
        library.map_err(|why| {
            format!("{why} (only for other languages; scripts/get-vosk.sh fetches it)")
        }),
    )?;
    for language in ["en", "ko"] {
        let model = Engine::Vosk.listen(language, Patience::default());
        line(
            &format!("Vosk model, {language}"),
            model.map(|_| "opens".into()),
        )?;
    }
    let voice = Voice::start(Config {
        engine: Speech::BuiltIn(FliteVoice::default()),
        output: Output::Stepped,
        ..Config::default()
    });
    line(
        "voice, English",
        voice
            .map(|_| "flite opens".into())
            .map_err(|e| e.to_string()),
    )?;
    Ok(live)
}

/// A microphone counts when it gives sound, not when it is listed: sound systems list
/// devices that are not there.
fn microphone() -> Result<String, String> {
    let mut source = MicSource::open(None)?;
    let mut samples = Vec::new();
    let begun = Instant::now();
    while begun.elapsed() < PATIENCE {
        match source.read(&mut samples, Duration::from_millis(100)) {
            Got::Samples => return Ok("it gives sound".into()),
            Got::Lost(why) | Got::End(Some(why)) => return Err(why),
            Got::End(None) => break,
            Got::Nothing | Got::Back => {}
        }
    }
    Err("it opens and gives no sound; look whether it is muted or plugged in".into())
}

fn speaker() -> Result<String, String> {
    let voice = Voice::start(Config {
        engine: Speech::TextOnly,
        output: Output::Speaker { device: None },
        ..Config::default()
    })
    .map_err(|e| e.to_string())?;
    let begun = Instant::now();
    while let Some(left) = PATIENCE.checked_sub(begun.elapsed()) {
        match voice.events().recv_timeout(left) {
            Ok(VoiceEvent::DeviceBack) => return Ok("it opens".into()),
            Ok(VoiceEvent::DeviceLost { why }) => return Err(why),
            Ok(_) => {}
            Err(_) => break,
        }
    }
    Err("it does not open".into())
}
