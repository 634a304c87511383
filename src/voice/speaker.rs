//! The speaker: a thread that opens an output stream, watches that the device really takes
//! sound, lets go of it when it does not and looks for it again.
//!
//! What devices do when they go away (seen with ALSA): some call the error callback
//! hundreds of thousands of times a second, some say nothing, some let `drop` block for
//! ever. So the error callback only counts, a loss is decided by the data callback
//! staying away, and a dead stream is dropped on a thread that may be left behind.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{
    BufferSize, Device, FromSample, OutputCallbackInfo, SampleFormat, SizedSample, Stream,
    StreamConfig,
};
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded};

use super::VoiceError;
use super::feed::Feed;
use super::player::{Mark, Player, RING, Tap};
use super::run::SpeakerNews;
use super::synth::SAMPLE_RATE;

/// No data callback for so long: the device is lost. A busy machine is late by tens of
/// milliseconds, a stalled sound server by a second.
const LOST_AFTER: Duration = Duration::from_millis(1500);
/// Between two looks at the callback's counter.
const WATCH: Duration = Duration::from_millis(250);
/// Between attempts to open: the first and the longest.
const RETRY: (Duration, Duration) = (Duration::from_secs(1), Duration::from_secs(8));
/// The buffer asked for; devices take it as a hint. "quiet" stops within one.
const BUFFER: Duration = Duration::from_millis(40);

/// What the thread needs to make a player for every stream it opens.
pub struct Speaker {
    pub device: Option<String>,
    pub epoch: Instant,
    pub live: Arc<AtomicU64>,
    pub marks: Sender<Mark>,
    pub taps: Vec<Tap>,
    pub news: Sender<SpeakerNews>,
    /// Disconnected when the voice ends.
    pub stop: Receiver<()>,
}

/// Counters shared with the callbacks.
#[derive(Default)]
struct Pulse {
    calls: AtomicU64,
    errors: AtomicU64,
    first_error: OnceLock<String>,
}

impl Speaker {
    pub fn run(self) {
        let mut wait = RETRY.0;
        let mut told = false;
        loop {
            // alsa-lib writes several lines to stderr for each device that does not open.
            // On this thread they go into a buffer, emptied at every attempt.
            let _quiet = alsa::Output::local_error_handler();
            match self.open() {
                Ok((stream, pulse, ring)) => {
                    let why = self.watch(&pulse, || {
                        told = false;
                        wait = RETRY.0;
                        let _ = self.news.send(SpeakerNews::Up(ring.clone()));
                    });
                    // `drop` may block for ever when the device has died.
                    let dropper = std::thread::Builder::new()
                        .name("speaker-drop".to_owned())
                        .spawn(move || drop(stream));
                    match why {
                        None => {
                            // An orderly end: give the stream a moment to close.
                            if let Ok(thread) = dropper {
                                let until = Instant::now() + Duration::from_millis(500);
                                while !thread.is_finished() && Instant::now() < until {
                                    std::thread::sleep(Duration::from_millis(5));
                                }
                            }
                            return;
                        }
                        Some(why) => self.tell(&mut told, why),
                    }
                }
                Err(e) => self.tell(&mut told, e),
            }
            match self.stop.recv_timeout(wait) {
                Err(RecvTimeoutError::Timeout) => wait = (wait * 2).min(RETRY.1),
                _ => return,
            }
        }
    }

    /// One loss is one report, however often opening fails after it.
    fn tell(&self, told: &mut bool, why: String) {
        if !std::mem::replace(told, true) {
            let _ = self.news.send(SpeakerNews::Lost(why));
        }
    }

    /// Returns why the device was given up, or None when the voice ends. `up` is called
    /// once, at the first callback.
    fn watch(&self, pulse: &Pulse, up: impl FnOnce()) -> Option<String> {
        let mut up = Some(up);
        let mut calls = 0;
        let mut moved = Instant::now();
        loop {
            let patience = if up.is_some() {
                Duration::from_millis(10)
            } else {
                WATCH
            };
            match self.stop.recv_timeout(patience) {
                Err(RecvTimeoutError::Timeout) => {}
                _ => return None,
            }
            let now = pulse.calls.load(Ordering::Relaxed);
            if now != calls {
                calls = now;
                moved = Instant::now();
                if let Some(up) = up.take() {
                    up();
                }
            } else if moved.elapsed() > LOST_AFTER {
                let errors = pulse.errors.load(Ordering::Relaxed);
                return Some(match pulse.first_error.get() {
                    Some(e) => format!(
                        "the speaker takes no sound any more ({errors} errors, the first: {e})"
                    ),
                    None => "the speaker takes no sound any more".to_owned(),
                });
            }
        }
    }

    fn open(&self) -> Result<(Stream, Arc<Pulse>, Sender<super::player::Block>), String> {
        let device = find(self.device.as_deref())?;
        let (config, format) = choose(&device)?;
        let (ring, from) = bounded(RING);
        let player = Player::new(
            from,
            self.live.clone(),
            self.marks.clone(),
            self.taps.clone(),
        );
        let pulse = Arc::new(Pulse::default());
        let build = |config: StreamConfig, player: Player| {
            let feed = Feed::new(player, config.sample_rate, config.channels, self.epoch)?;
            match format {
                SampleFormat::I16 => stream::<i16>(&device, config, feed, &pulse),
                SampleFormat::I32 => stream::<i32>(&device, config, feed, &pulse),
                SampleFormat::U16 => stream::<u16>(&device, config, feed, &pulse),
                SampleFormat::F32 => stream::<f32>(&device, config, feed, &pulse),
                SampleFormat::F64 => stream::<f64>(&device, config, feed, &pulse),
                other => Err(format!(
                    "the speaker wants samples as {other}, which is not supported"
                )),
            }
        };
        let stream = build(config, player)?;
        stream
            .play()
            .map_err(|e| format!("the speaker does not start: {e}"))?;
        Ok((stream, pulse, ring))
    }
}

/// Whether a speaker is there: opens nothing, asks the device for its formats.
///
/// # Errors
/// [`VoiceError::Device`] with what is wrong and what to do.
pub fn present(device: Option<&str>) -> Result<String, VoiceError> {
    let _quiet = alsa::Output::local_error_handler();
    let found = find(device).map_err(VoiceError::Device)?;
    choose(&found).map_err(VoiceError::Device)?;
    Ok(found
        .description()
        .map_or_else(|_| "speaker".to_owned(), |d| d.to_string()))
}

fn find(name: Option<&str>) -> Result<Device, String> {
    let host = cpal::default_host();
    match name {
        None => host
            .default_output_device()
            .ok_or_else(|| "there is no speaker; plug one in".to_owned()),
        Some(name) => {
            let id = name
                .parse()
                .map_err(|e| format!("\"{name}\" is no name of a sound device: {e}"))?;
            host.device_by_id(&id)
                .ok_or_else(|| format!("there is no speaker \"{name}\""))
        }
    }
}

/// 16 kHz mono where the device offers it, else what it prefers.
fn choose(device: &Device) -> Result<(StreamConfig, SampleFormat), String> {
    let preferred = device
        .default_output_config()
        .map_err(|e| format!("there is no speaker that can be used: {e}"))?;
    let direct = device.supported_output_configs().ok().and_then(|mut all| {
        all.find(|c| {
            c.channels() == 1
                && c.sample_format() == SampleFormat::I16
                && c.min_sample_rate() <= SAMPLE_RATE
                && c.max_sample_rate() >= SAMPLE_RATE
        })
    });
    let (channels, sample_rate, format) = match direct {
        Some(c) => (c.channels(), SAMPLE_RATE, c.sample_format()),
        None => (
            preferred.channels(),
            preferred.sample_rate(),
            preferred.sample_format(),
        ),
    };
    let frames = (f64::from(sample_rate) * BUFFER.as_secs_f64()) as u32;
    let config = StreamConfig {
        channels,
        sample_rate,
        buffer_size: BufferSize::Fixed(frames),
    };
    Ok((config, format))
}

fn stream<T>(
    device: &Device,
    config: StreamConfig,
    feed: Feed,
    pulse: &Arc<Pulse>,
) -> Result<Stream, String>
where
    T: SizedSample + FromSample<i16>,
{
    let (data_pulse, error_pulse) = (pulse.clone(), pulse.clone());
    let mut feed = feed;
    device
        .build_output_stream(
            config,
            move |out: &mut [T], info: &OutputCallbackInfo| {
                data_pulse.calls.fetch_add(1, Ordering::Relaxed);
                let t = info.timestamp();
                let delay = t.playback.saturating_duration_since(t.callback);
                feed.fill(out, delay, |s| T::from_sample(s));
            },
            move |e: cpal::Error| {
                if error_pulse.errors.fetch_add(1, Ordering::Relaxed) == 0 {
                    let _ = error_pulse.first_error.set(e.to_string());
                }
            },
            None,
        )
        .map_err(|e| format!("the speaker cannot be opened: {e}"))
}
