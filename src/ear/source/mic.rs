//! A microphone as a [`Source`], which may go away and come back.
//!
//! What libraries do when a device goes away differs: some call the error callback
//! 350,000 times a second, some fall silent, and then dropping the stream can block for
//! ever. So a stream is made, owned and dropped by a thread of its own that can be left
//! behind; errors are only counted; and a device counts as lost when no data has come
//! for a while, whatever was or was not reported.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};
use std::time::{Duration, Instant};

use cpal::traits::{DeviceTrait, HostTrait};
use crossbeam_channel::{Receiver, bounded};

use super::capture::{Capture, own_stream};
use super::{Got, Source, ToMono16k};

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
                let said = self.capture.as_ref().and_then(|(c, _)| c.error());
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
