//! A microphone as a [`Source`], which may go away and come back.
//!
//! What libraries do when a device goes away differs: some call the error callback
//! 350,000 times a second, some fall silent, and then dropping the stream can block for
//! ever. So a stream is made, owned and dropped by a thread of its own that can be left
//! behind; errors are only counted; and a device counts as lost when no data has come
//! for a while, whatever was or was not reported.

use std::sync::Arc;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering::Relaxed};
use std::time::{Duration, Instant};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, Data, FromSample, I24, SampleFormat, StreamConfig, U24};
use crossbeam_channel::{Receiver, Sender, bounded};

use super::{Got, RATE, Source, ToMono16k};

/// Without data for this long the device is lost.
const LOST_AFTER: Duration = Duration::from_millis(1_000);
/// An attempt to open that takes longer is given up.
const OPEN_WITHIN: Duration = Duration::from_secs(5);
/// Between attempts to find the device again, growing.
const RETRY: [Duration; 4] = [
    Duration::from_millis(300),
    Duration::from_millis(700),
    Duration::from_millis(1_500),
    Duration::from_millis(3_000),
];
/// Streams left behind that do not end; more would only pile up.
const MOST_LEFT_BEHIND: usize = 6;
/// Buffers between the callback and the reader, and interleaved samples in each:
/// several seconds at any rate in use.
const BLOCKS: usize = 256;
const BLOCK: usize = 2_048;

/// What the callbacks share with the reader.
#[derive(Default)]
struct Counts {
    dropped: AtomicU64,
    errors: AtomicU64,
    first_error: OnceLock<String>,
}

/// A running stream, seen from the reader. Dropping it tells the owner to end.
struct Capture {
    filled: Receiver<Vec<f32>>,
    free: Sender<Vec<f32>>,
    rate: u32,
    channels: usize,
    counts: Arc<Counts>,
    _keep: Sender<()>,
}

impl Capture {
    /// Frames lost, as samples at 16 kHz.
    fn dropped(&self) -> u64 {
        self.counts.dropped.load(Relaxed) * u64::from(RATE) / u64::from(self.rate)
    }
}

/// An attempt to open, under way on its own thread.
struct Attempt {
    result: Receiver<Result<Capture, String>>,
    since: Instant,
}

pub struct MicSource {
    device: Option<String>,
    capture: Option<(Capture, ToMono16k)>,
    attempt: Option<Attempt>,
    lost: bool,
    last_data: Instant,
    next_try: Instant,
    tries: usize,
    owners: Arc<AtomicUsize>,
    /// Of the streams that are gone.
    dropped: u64,
    why: String,
}

impl MicSource {
    /// Opens the default microphone, or the one of this name as the system lists it.
    ///
    /// # Errors
    /// A sentence that says what is wrong and what can be done.
    pub fn open(device: Option<&str>) -> Result<Self, String> {
        let mut mic = Self {
            device: device.map(str::to_owned),
            capture: None,
            attempt: None,
            lost: false,
            last_data: Instant::now(),
            next_try: Instant::now(),
            tries: 0,
            owners: Arc::default(),
            dropped: 0,
            why: String::new(),
        };
        let attempt = mic.begin();
        let capture = attempt
            .result
            .recv_timeout(OPEN_WITHIN)
            .unwrap_or_else(|_| Err("the sound system does not answer".to_owned()))?;
        mic.take(capture)?;
        Ok(mic)
    }

    /// Rate and channels that the device delivers.
    pub fn format(&self) -> Option<(u32, usize)> {
        self.capture.as_ref().map(|(c, _)| (c.rate, c.channels))
    }

    fn begin(&self) -> Attempt {
        let (tell, result) = bounded(1);
        let device = self.device.clone();
        let owners = Arc::clone(&self.owners);
        owners.fetch_add(1, Relaxed);
        let spawned = std::thread::Builder::new()
            .name("microphone".to_owned())
            .spawn({
                let tell = tell.clone();
                move || {
                    own_stream(device.as_deref(), &tell);
                    owners.fetch_sub(1, Relaxed);
                }
            });
        if let Err(e) = spawned {
            self.owners.fetch_sub(1, Relaxed);
            let _ = tell.try_send(Err(format!("no thread for the microphone: {e}")));
        }
        Attempt {
            result,
            since: Instant::now(),
        }
    }

    fn take(&mut self, capture: Capture) -> Result<(), String> {
        let convert = ToMono16k::new(capture.rate, capture.channels)?;
        if let Some((old, _)) = self.capture.replace((capture, convert)) {
            self.dropped += old.dropped();
        }
        self.last_data = Instant::now();
        Ok(())
    }

    /// While lost: follows the attempts to open the device again. The old stream stays
    /// until a new one is open; after a mere stall it comes back by itself.
    fn retry(&mut self) {
        if let Some(attempt) = &self.attempt {
            match attempt.result.try_recv() {
                Ok(Ok(capture)) => {
                    self.attempt = None;
                    if let Err(why) = self.take(capture) {
                        self.why = why;
                    }
                    self.schedule();
                }
                Ok(Err(why)) => {
                    self.attempt = None;
                    self.why = why;
                    self.schedule();
                }
                Err(_) if attempt.since.elapsed() > OPEN_WITHIN => {
                    self.attempt = None;
                    self.schedule();
                }
                Err(_) => {}
            }
        } else if Instant::now() >= self.next_try && self.owners.load(Relaxed) < MOST_LEFT_BEHIND {
            self.attempt = Some(self.begin());
        }
    }

    fn schedule(&mut self) {
        let pause = RETRY.get(self.tries).or(RETRY.last()).copied();
        self.tries += 1;
        // A stream just opened gets the time to deliver before it is judged.
        self.next_try = Instant::now() + pause.unwrap_or_default().max(LOST_AFTER);
    }
}

impl Source for MicSource {
    fn read(&mut self, out: &mut Vec<i16>, wait: Duration) -> Got {
        let until = Instant::now() + wait;
        loop {
            if self.lost {
                self.retry();
            }
            // While lost the attempts want a look now and then.
            let patience = until
                .saturating_duration_since(Instant::now())
                .min(Duration::from_millis(50));
            let block = match &self.capture {
                Some((capture, _)) => capture.filled.recv_timeout(patience).ok(),
                None => {
                    std::thread::sleep(patience);
                    None
                }
            };
            if let (Some(block), Some((capture, convert))) = (block, &mut self.capture) {
                self.last_data = Instant::now();
                if self.lost {
                    self.lost = false;
                    self.tries = 0;
                    self.attempt = None;
                    // The block is the first of a new beginning and is not missed.
                    let _ = capture.free.try_send(block);
                    return Got::Back;
                }
                let mut next = Some(block);
                while let Some(mut block) = next {
                    // Fails only for formats that `new` refused before.
                    let _ = convert.push(&block, out);
                    block.clear();
                    let _ = capture.free.try_send(block);
                    next = capture.filled.try_recv().ok();
                }
                if !out.is_empty() {
                    return Got::Samples;
                }
            } else if !self.lost && self.last_data.elapsed() > LOST_AFTER {
                self.lost = true;
                self.next_try = Instant::now();
                let said = self
                    .capture
                    .as_ref()
                    .and_then(|(c, _)| c.counts.first_error.get().cloned());
                return Got::Lost(match said {
                    Some(error) => format!("the microphone stopped: {error}"),
                    None => "the microphone has stopped delivering sound".to_owned(),
                });
            }
            if Instant::now() >= until {
                return Got::Nothing;
            }
        }
    }

    fn dropped(&self) -> u64 {
        self.dropped + self.capture.as_ref().map_or(0, |(c, _)| c.dropped())
    }
}

/// Runs on the stream's own thread: opens, reports, keeps, drops.
fn own_stream(device: Option<&str>, tell: &Sender<Result<Capture, String>>) {
    // alsa-lib writes several lines to stderr for each device that does not open; on
    // this thread they go into a buffer that nobody reads.
    let _quiet = alsa::Output::local_error_handler();
    let (keep, ended) = bounded::<()>(0);
    match open_stream(device, keep) {
        Ok((stream, capture)) => {
            if tell.send(Ok(capture)).is_ok() {
                // Nothing is ever sent: this ends when the reader drops its side.
                let _ = ended.recv();
            }
            drop(stream);
        }
        Err(why) => {
            let _ = tell.send(Err(why));
        }
    }
}

fn find(name: Option<&str>) -> Result<cpal::Device, String> {
    let host = cpal::default_host();
    let Some(name) = name else {
        return host.default_input_device().ok_or_else(no_microphone);
    };
    let id = if name.contains(':') {
        name.to_owned()
    } else {
        format!("alsa:{name}")
    };
    id.parse()
        .ok()
        .and_then(|id| host.device_by_id(&id))
        .ok_or_else(|| {
            format!("there is no sound device {name:?}; `hobcall doctor` lists those there are")
        })
}

fn no_microphone() -> String {
    "no microphone was found; connect one, or give a sound file".to_owned()
}

fn open_stream(name: Option<&str>, keep: Sender<()>) -> Result<(cpal::Stream, Capture), String> {
    let device = find(name)?;
    // 16 kHz mono in small steps is what we want; a device that cannot do it delivers
    // what it likes and is converted.
    let ours = StreamConfig {
        channels: 1,
        sample_rate: RATE,
        buffer_size: BufferSize::Fixed(RATE / 50),
    };
    if let Ok(open) = build(&device, ours, SampleFormat::I16, keep.clone()) {
        return Ok(open);
    }
    let theirs = device
        .default_input_config()
        .map_err(|e| format!("{} ({e})", no_microphone()))?;
    let mut config = theirs.config();
    let format = theirs.sample_format();
    config.buffer_size = BufferSize::Fixed(config.sample_rate / 50);
    if let Ok(open) = build(&device, config, format, keep.clone()) {
        return Ok(open);
    }
    config.buffer_size = BufferSize::Default;
    build(&device, config, format, keep)
        .map_err(|e| format!("the microphone does not open: {e}; is another program using it?"))
}

fn build(
    device: &cpal::Device,
    config: StreamConfig,
    format: SampleFormat,
    keep: Sender<()>,
) -> Result<(cpal::Stream, Capture), String> {
    let (rate, channels) = (config.sample_rate, usize::from(config.channels));
    let counts = Arc::new(Counts::default());
    let (free, take_free) = bounded::<Vec<f32>>(BLOCKS);
    let (fill, filled) = bounded::<Vec<f32>>(BLOCKS);
    for _ in 0..BLOCKS {
        let _ = free.try_send(Vec::with_capacity(BLOCK));
    }
    let convert = converter(format)
        .ok_or_else(|| format!("samples of the kind {format} are not understood"))?;
    // A block holds whole frames.
    let room = BLOCK - BLOCK % channels.max(1);
    let on_data = {
        let counts = Arc::clone(&counts);
        move |data: &Data, _: &cpal::InputCallbackInfo| {
            let mut at = 0;
            while at < data.len() {
                let n = (data.len() - at).min(room);
                let Ok(mut block) = take_free.try_recv() else {
                    counts
                        .dropped
                        .fetch_add((data.len() - at) as u64 / channels.max(1) as u64, Relaxed);
                    return;
                };
                convert(data, at, n, &mut block);
                let _ = fill.try_send(block);
                at += n;
            }
        }
    };
    let on_error = {
        let counts = Arc::clone(&counts);
        move |e: cpal::Error| {
            if counts.errors.fetch_add(1, Relaxed) == 0 {
                let _ = counts.first_error.set(e.to_string());
            }
        }
    };
    let stream = device
        .build_input_stream_raw(config, format, on_data, on_error, None)
        .map_err(|e| e.to_string())?;
    stream.play().map_err(|e| e.to_string())?;
    let capture = Capture {
        filled,
        free,
        rate,
        channels,
        counts,
        _keep: keep,
    };
    Ok((stream, capture))
}

type Convert = fn(&Data, usize, usize, &mut Vec<f32>);

/// Appends `n` samples from `at` on to a block as -1 to 1.
fn append<T: cpal::SizedSample>(data: &Data, at: usize, n: usize, out: &mut Vec<f32>)
where
    f32: FromSample<T>,
{
    if let Some(samples) = data.as_slice::<T>().and_then(|s| s.get(at..at + n)) {
        out.extend(samples.iter().map(|&s| f32::from_sample_(s)));
    }
}

fn converter(format: SampleFormat) -> Option<Convert> {
    Some(match format {
        SampleFormat::I8 => append::<i8>,
        SampleFormat::I16 => append::<i16>,
        SampleFormat::I24 => append::<I24>,
        SampleFormat::I32 => append::<i32>,
        SampleFormat::I64 => append::<i64>,
        SampleFormat::U8 => append::<u8>,
        SampleFormat::U16 => append::<u16>,
        SampleFormat::U24 => append::<U24>,
        SampleFormat::U32 => append::<u32>,
        SampleFormat::U64 => append::<u64>,
        SampleFormat::F32 => append::<f32>,
        SampleFormat::F64 => append::<f64>,
        _ => return None,
    })
}

/// Names of the capture devices that the system lists. Being listed does not mean that
/// a device opens.
pub fn capture_devices() -> Vec<String> {
    let _quiet = alsa::Output::local_error_handler();
    let Ok(devices) = cpal::default_host().input_devices() else {
        return Vec::new();
    };
    devices
        .filter_map(|d| d.id().ok())
        .map(|id| id.id().to_owned())
        .collect()
}
