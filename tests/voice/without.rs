//! Without an engine, a sound device or the system's voice.

use std::time::{Duration, Instant};

use crate::stepped::{events, line, reply, stepped};
use hobcall::voice::{Config, Engine, Voice, VoiceEvent};

#[test]
fn text_alone_needs_no_engine_and_shows_every_reply_in_order() {
    #[derive(Clone, Default)]
    struct Shared(std::sync::Arc<std::sync::Mutex<Vec<u8>>>);
    impl std::io::Write for Shared {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let text = Shared::default();
    let (voice, played) = stepped(Config {
        engine: Engine::TextOnly,
        text: Some(Box::new(text.clone())),
        ..Config::default()
    });
    voice.advance_to(3.0);
    voice.say(reply("Heard one fifty."));
    voice.say(reply("About six minutes."));
    voice.advance_to(4.0);
    let shown = String::from_utf8(text.0.lock().unwrap().clone()).unwrap();
    assert_eq!(
        shown,
        "[     3.0] Heard one fifty.\n[     3.0] About six minutes.\n"
    );
    assert_eq!(events(&voice).len(), 4);
    assert_eq!(line(&played).len(), 0);
}

/// A machine without a sound card: one report, no noise on the terminal, no core burnt, and
/// the voice ends when asked.
#[test]
fn without_a_sound_device_there_is_one_message() {
    let exe = std::env::current_exe().unwrap();
    let out = std::process::Command::new(exe)
        .args([
            "--ignored",
            "--exact",
            "--nocapture",
            "without::no_sound_device",
        ])
        .env("ALSA_CONFIG_PATH", "/dev/null")
        .env_remove("PULSE_SERVER")
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&out.stdout);
    let errors = String::from_utf8_lossy(&out.stderr);
    assert!(
        out.status.success() && text.contains("1 passed"),
        "{text}\n{errors}"
    );
    assert!(!errors.contains("ALSA lib"), "{errors}");
}

#[test]
#[ignore = "run by without_a_sound_device_there_is_one_message"]
fn no_sound_device() {
    assert!(hobcall::voice::speaker_present(None).is_err());
    let (shown, text) = std::os::unix::net::UnixStream::pair().unwrap();
    let voice = Voice::start(Config {
        text: Some(Box::new(shown)),
        ..Config::default()
    })
    .unwrap();
    let id = voice.say(reply("nobody hears this"));
    let until = Instant::now() + Duration::from_secs(5);
    let mut seen = Vec::new();
    while let Ok(e) = voice.events().recv_deadline(until) {
        seen.push(e);
    }
    let [VoiceEvent::DeviceLost { why }] = &seen[..] else {
        panic!("{seen:?}");
    };
    assert!(why.contains("speaker"), "{why}");
    let start = Instant::now();
    voice.close(Duration::from_secs(5));
    // Nothing to wait for: the answer that waited is dropped.
    assert!(start.elapsed() < Duration::from_secs(4), "{id:?}");
    let mut lines = String::new();
    std::io::Read::read_to_string(&mut { text }, &mut lines).unwrap();
    assert_eq!(lines.matches("nobody hears this").count(), 1, "{lines}");
}

#[cfg(not(feature = "system-voice"))]
#[test]
fn the_systems_voice_in_a_build_without_it_is_a_message() {
    let refused = Voice::start(Config {
        engine: Engine::System,
        ..Config::default()
    });
    let why = refused.err().map(|e| e.to_string()).unwrap_or_default();
    assert!(why.contains("--features system-voice"), "{why}");
}
