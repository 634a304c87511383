//! `hobcall doctor`: what is here, what is missing, and what to do about it.
//!
//! | file | what |
//! | --- | --- |
//! | `fetch` | a speech model from its publisher, checked, resumed where it broke off |
//! | `unpack` | the model's archive → a folder |

pub mod fetch;
mod unpack;

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::cook::folder as cooks_folder;
use crate::ear::source::{Got, MicSource, Source};
use crate::ear::{Engine, Patience, vosk};
use crate::voice::{Config, Engine as Speech, FliteVoice, Output, Voice, VoiceEvent};

/// How long a device may take to show that it is there.
const PATIENCE: Duration = Duration::from_secs(3);
/// Less than this free (bytes) is too little: a long cook's journal takes one megabyte, a
/// record with its sound some tens, a model 110.
const ROOM: u64 = 200_000_000;

#[derive(Debug, clap::Args)]
pub struct Args {
    /// Only say whether a cook can be live: exit status 0 with a microphone and a speaker
    #[arg(long)]
    pub sound: bool,
    /// Fetch the small English model for the recogniser Vosk (41 MB), if it is not here
    #[arg(long, conflicts_with = "sound")]
    pub fetch_model: bool,
}

/// Prints a line for each thing that is looked for, and in the end what that means.
/// True when a cook can be live; after `--fetch-model`, when the model is there.
///
/// # Errors
/// When the output is closed, or the model did not come.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<bool, String> {
    if args.fetch_model {
        return fetch_model(out).map(|()| true);
    }
    look(args.sound, out).map_err(|e| format!("the output is closed: {e}"))
}

fn fetch_model(out: &mut dyn Write) -> Result<(), String> {
    let to = vosk::models_dir().join("en");
    fetch::fetch(
        &fetch::Model::english(),
        &to,
        std::io::stdout().is_terminal(),
        out,
    )?;
    let _ = writeln!(out, "the model is in {}", to.display());
    match vosk::available() {
        Ok(()) => {
            Engine::Vosk.listen("en", Patience::default())?;
            let _ = writeln!(
                out,
                "it opens; use it with: hobcall cook PLAN --engine vosk"
            );
        }
        Err(why) => {
            let _ = writeln!(out, "it was not tried: {why}");
        }
    }
    Ok(())
}

fn look(sound_only: bool, out: &mut dyn Write) -> std::io::Result<bool> {
    let microphone = microphone();
    let speaker = speaker();
    let (hears, speaks) = (microphone.is_ok(), speaker.is_ok());
    let mut line = |what: &str, found: Result<String, String>| match found {
        Ok(how) => writeln!(out, "{what:<22} here: {how}"),
        Err(why) => writeln!(out, "{what:<22} MISSING: {why}"),
    };
    line("microphone", microphone)?;
    line("speaker", speaker)?;
    if sound_only {
        return Ok(hears && speaks);
    }
    let ear = Engine::Hob.listen("en", Patience::default());
    line(
        "own ear, English",
        ear.map(|_| "embedded in this program".into()),
    )?;
    let voice = Voice::start(Config {
        engine: Speech::BuiltIn(FliteVoice::default()),
        output: Output::Stepped,
        ..Config::default()
    });
    let voice = voice
        .map(|_| "flite opens".to_owned())
        .map_err(|e| e.to_string());
    let voiced = voice.is_ok();
    line("voice, English", voice)?;
    let folder = cooks_folder();
    let kept = folder_to_write(&folder);
    let keeps = kept.is_ok();
    line("journals", kept)?;
    line("room on the disk", room(&folder))?;
    line("time zone", zone())?;

    line_of_choice(
        out,
        "Vosk library",
        vosk::available().map(|()| "opens".to_owned()),
    )?;
    for language in ["en", "ko"] {
        let model = vosk::model_dir(language);
        let opened = model.and_then(|dir| {
            Engine::Vosk
                .listen(language, Patience::default())
                .map(|_| format!("{} opens", dir.display()))
        });
        line_of_choice(out, &format!("Vosk model, {language}"), opened)?;
    }
    line_of_choice(out, "curl", on_path("curl"))?;

    let or = |there: bool, what: &str| {
        if there {
            String::new()
        } else {
            format!(" {what}.")
        }
    };
    writeln!(
        out,
        "\n{}{}{}",
        match (hears, speaks) {
            (true, true) => "A cook can be live here.",
            (true, false) =>
                "A cook can listen here and not speak: replies can be read (--voice none).",
            (false, true) =>
                "A cook can speak here and not listen: type the calls (--ear typed) or play a \
                 recording (--ear FILE).",
            (false, false) =>
                "No live cook here: type the calls (--ear typed --voice none) or play a recording \
                 (--ear FILE --voice none).",
        },
        or(voiced, "Without the voice, replies are only text"),
        or(keeps, "Without a folder for its journal no cook starts"),
    )?;
    Ok(hears && speaks)
}

/// What a cook can do without.
fn line_of_choice(
    out: &mut dyn Write,
    what: &str,
    found: Result<String, String>,
) -> std::io::Result<()> {
    match found {
        Ok(how) => writeln!(out, "{what:<22} here: {how}"),
        Err(why) => writeln!(out, "{what:<22} not here (a choice): {why}"),
    }
}

/// Whether files can be made in a folder, which is made if it is not there.
fn folder_to_write(folder: &Path) -> Result<String, String> {
    let why = |e: std::io::Error| {
        format!(
            "{} cannot be written ({e}); set XDG_DATA_HOME to a folder of yours, or give \
             --journal FILE to each cook",
            folder.display()
        )
    };
    std::fs::create_dir_all(folder).map_err(why)?;
    let probe = folder.join(format!(".doctor-{}", std::process::id()));
    std::fs::write(&probe, b"x").map_err(why)?;
    std::fs::remove_file(&probe).map_err(why)?;
    Ok(format!("{} can be written", folder.display()))
}

fn room(folder: &Path) -> Result<String, String> {
    // The nearest folder that is there, since the last may not have been made.
    let there = folder.ancestors().find(|p| p.is_dir());
    let there = there.ok_or_else(|| format!("{} is nowhere", folder.display()))?;
    let stat = rustix::fs::statvfs(there)
        .map_err(|e| format!("cannot be told for {}: {e}", there.display()))?;
    let free = stat.f_bavail.saturating_mul(stat.f_frsize);
    let said = format!("{} MB free at {}", free / 1_000_000, there.display());
    if free < ROOM {
        return Err(format!(
            "{said}; make room for at least {} MB before a long cook",
            ROOM / 1_000_000
        ));
    }
    Ok(said)
}

/// Clock times are said in it ("done at seven thirty").
fn zone() -> Result<String, String> {
    let zone = jiff::tz::TimeZone::try_system()
        .map_err(|e| format!("{e}; set TZ, for example TZ=Europe/Lisbon"))?;
    Ok(zone.iana_name().unwrap_or("by offset").to_owned())
}

fn on_path(program: &str) -> Result<String, String> {
    let found = std::env::var_os("PATH").and_then(|path| {
        std::env::split_paths(&path)
            .map(|dir: PathBuf| dir.join(program))
            .find(|p| p.is_file())
    });
    found.map(|p| p.display().to_string()).ok_or_else(|| {
        format!("{program} is not on the PATH; --fetch-model needs it (apt-get install {program})")
    })
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
    Err(
        "none opens; connect one and look whether the sound system runs, or read the replies \
         (--voice none)"
            .into(),
    )
}
