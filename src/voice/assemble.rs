//! From a [`Config`] to the parts that work together.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64};

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use super::flite::Flite;
use super::handle::{Config, Engine, Output};
use super::player::Tap;
use super::run::{Command, Drive, Run, own_player};
use super::speaker::Speaker;
use super::stage::Stage;
use super::synth::Synth;
use super::wav::Recorder;
use super::{VoiceError, VoiceEvent};

/// The voice's ends of the channels to its owner.
pub struct Wires {
    pub commands: Receiver<Command>,
    pub events: Sender<VoiceEvent>,
    pub speaking: Arc<AtomicBool>,
}

/// Opens the engine and the file, starts the speaker's thread. [`Engine::System`] is
/// none of its business and is taken for text only.
pub fn assemble(config: Config, wires: Wires) -> Result<Run, VoiceError> {
    let synth: Option<Box<dyn Synth>> = match config.engine {
        Engine::BuiltIn(which) => Some(Box::new(Flite::open(which)?)),
        Engine::TextOnly | Engine::System => None,
    };
    let mut taps: Vec<Tap> = config.tap.into_iter().collect();
    let played = match &config.record {
        None => None,
        Some(path) => {
            let recorder = Recorder::create(path)?;
            // Twenty seconds of blocks: the voice's thread reads them at least every
            // 20 ms while it speaks.
            let (to, from) = bounded(2048);
            taps.push(Tap::new(to));
            Some((from, recorder))
        }
    };
    let live = Arc::new(AtomicU64::new(0));
    let (to_marks, marks) = bounded(256);
    let output = match config.output {
        // Nothing will sound: no device is opened for it.
        Output::Speaker { .. } if synth.is_none() => Output::Paced,
        output => output,
    };
    let mut speaker_thread = None;
    let drive = match output {
        Output::Speaker { device } => {
            let (news, from) = unbounded();
            let (stop, stopped) = bounded(0);
            let speaker = Speaker {
                device,
                epoch: config.epoch,
                live: live.clone(),
                marks: to_marks,
                taps,
                news,
                stop: stopped,
            };
            let thread = std::thread::Builder::new()
                .name("speaker".to_owned())
                .spawn(move || speaker.run())
                .map_err(|e| VoiceError::Device(format!("no thread for the speaker: {e}")))?;
            speaker_thread = Some(thread);
            Drive::Device(from, stop)
        }
        Output::Paced => {
            let (player, ring) = own_player(live.clone(), to_marks, taps);
            Drive::Paced(player, ring)
        }
        Output::Stepped => {
            let (player, ring) = own_player(live.clone(), to_marks, taps);
            Drive::Stepped(player, ring)
        }
    };
    Ok(Run {
        stage: Stage::new(
            synth,
            config.text,
            live,
            wires.events,
            config.speed,
            config.volume,
        ),
        drive,
        commands: wires.commands,
        marks,
        played,
        speaking: wires.speaking,
        epoch: config.epoch,
        speaker: speaker_thread,
    })
}
