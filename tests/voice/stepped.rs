//! A voice with the real built-in engine on a stepped time line: every time is exact.

use crossbeam_channel::{Receiver, bounded};
use hobcall::voice::{
    Config, Output, Played, Tap, Urgency, Utterance, UtteranceId, Voice, VoiceEvent,
};

pub const RATE: f64 = 16_000.0;

pub fn stepped(config: Config) -> (Voice, Receiver<Played>) {
    let (to, played) = bounded(100_000);
    let voice = Voice::start(Config {
        output: Output::Stepped,
        tap: Some(Tap::new(to)),
        ..config
    })
    .expect("the built-in voice; install libflite1");
    (voice, played)
}

pub fn reply(text: &str) -> Utterance {
    Utterance::new(text, Urgency::Reply)
}

pub fn events(voice: &Voice) -> Vec<VoiceEvent> {
    voice.events().try_iter().collect()
}

/// What was played, laid on the time line.
pub fn line(played: &Receiver<Played>) -> Vec<i16> {
    let mut out: Vec<i16> = Vec::new();
    for p in played.try_iter() {
        let at = (p.at * RATE).round() as usize;
        assert!(at >= out.len(), "two sounds at once");
        out.resize(at, 0);
        out.extend_from_slice(p.samples());
    }
    out
}

pub fn ended(all: &[VoiceEvent], which: UtteranceId) -> Option<(f64, bool)> {
    all.iter().find_map(|e| match e {
        VoiceEvent::Ended { id, at, cut, .. } if *id == which => Some((*at, *cut)),
        _ => None,
    })
}

pub fn began(all: &[VoiceEvent], which: UtteranceId) -> Option<f64> {
    all.iter().find_map(|e| match e {
        VoiceEvent::Began { id, at } if *id == which => Some(*at),
        _ => None,
    })
}
