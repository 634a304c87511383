//! One stream of a capture device, on a thread of its own.
//!
//! It is read by the clock and not when the sound system says that there is something: a
//! sound server delivers in the pieces that its other clients ask for, and a wait for
//! whole periods of our own then spins on every piece that does not fill one (measured: a
//! fifth of a core, and by luck two thirds). A look every 10 ms costs the same whatever
//! the pieces are.

use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use alsa::pcm::{Access, Format, HwParams, PCM};
use alsa::{Direction, ValueOr};
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded};

use super::RATE;

/// Between two looks at the device.
const LOOK: Duration = Duration::from_millis(10);
/// Pieces asked of the device, and the longest that the machine may be too busy to look;
/// microseconds.
const PERIOD: u32 = 20_000;
const BUFFER: u32 = 1_000_000;
/// Buffers between this thread and the reader, and interleaved samples in each: several
/// seconds at any rate in use.
const BLOCKS: usize = 256;
const BLOCK: usize = 2_048;

/// What the stream's thread shares with the reader.
#[derive(Default)]
struct Counts {
    dropped: AtomicU64,
    first_error: OnceLock<String>,
}

/// A running stream, seen from the reader. Dropping it tells the owner to end.
pub struct Capture {
    pub filled: Receiver<Vec<f32>>,
    pub free: Sender<Vec<f32>>,
    pub rate: u32,
    pub channels: usize,
    counts: Arc<Counts>,
    _keep: Sender<()>,
}

impl Capture {
    /// Frames lost, as samples at 16 kHz.
    pub fn dropped(&self) -> u64 {
        self.counts.dropped.load(Relaxed) * u64::from(RATE) / u64::from(self.rate.max(1))
    }

    /// The first thing that the device said was wrong.
    pub fn error(&self) -> Option<&str> {
        self.counts.first_error.get().map(String::as_str)
    }
}

/// Runs on the stream's own thread: opens, reports, reads until the reader is gone. May
/// hang in the sound system; then the thread is left behind.
pub fn own_stream(device: Option<&str>, tell: &Sender<Result<Capture, String>>) {
    // alsa-lib writes several lines to stderr for each device that does not open; on
    // this thread they go into a buffer that nobody reads.
    let _quiet = alsa::Output::local_error_handler();
    let (keep, ended) = bounded::<()>(0);
    match Stream::open(device, keep) {
        Ok((stream, capture)) => {
            if tell.send(Ok(capture)).is_ok() {
                stream.run(&ended);
            }
        }
        Err(why) => {
            let _ = tell.send(Err(why));
        }
    }
}

/// Sample formats, the best first.
const FORMATS: [Format; 6] = [
    Format::S16LE,
    Format::FloatLE,
    Format::S32LE,
    Format::S24LE,
    Format::S243LE,
    Format::U8,
];

struct Stream {
    pcm: PCM,
    format: Format,
    /// Bytes a sample.
    width: usize,
    channels: usize,
    take_free: Receiver<Vec<f32>>,
    fill: Sender<Vec<f32>>,
    counts: Arc<Counts>,
}

impl Stream {
    fn open(device: Option<&str>, keep: Sender<()>) -> Result<(Self, Capture), String> {
        let name = device.map_or("default", |d| d.strip_prefix("alsa:").unwrap_or(d));
        let pcm = PCM::new(name, Direction::Capture, true).map_err(|e| refused(device, e))?;
        let (format, rate, channels) = configure(&pcm).map_err(|e| refused(device, e))?;
        let width = match format {
            Format::U8 => 1,
            Format::S16LE => 2,
            Format::S243LE => 3,
            _ => 4,
        };
        pcm.start().map_err(|e| refused(device, e))?;
        let counts = Arc::new(Counts::default());
        let (free, take_free) = bounded::<Vec<f32>>(BLOCKS);
        let (fill, filled) = bounded::<Vec<f32>>(BLOCKS);
        for _ in 0..BLOCKS {
            let _ = free.try_send(Vec::with_capacity(BLOCK));
        }
        let stream = Self {
            pcm,
            format,
            width,
            channels,
            take_free,
            fill,
            counts: Arc::clone(&counts),
        };
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

    fn run(&self, ended: &Receiver<()>) {
        // A block holds whole frames.
        let frames = (BLOCK / self.channels).max(1);
        let mut bytes = vec![0; frames * self.channels * self.width];
        // Nothing is ever sent: it disconnects when the reader drops its side.
        while ended.recv_timeout(LOOK) == Err(RecvTimeoutError::Timeout) {
            if let Err(e) = self.read(&mut bytes) {
                let _ = self.counts.first_error.set(e.to_string());
                let on = self.pcm.try_recover(e, true).is_ok() && self.pcm.start().is_ok();
                if !on {
                    // The reader sees that nothing comes and looks for the device again.
                    let _ = ended.recv();
                    return;
                }
            }
        }
    }

    /// Everything that is there.
    fn read(&self, bytes: &mut [u8]) -> alsa::Result<()> {
        let io = self.pcm.io_bytes();
        let most = bytes.len() / self.width / self.channels;
        loop {
            let frames = match io.readi(bytes) {
                Ok(frames) => frames,
                Err(e) if e.errno() == AGAIN => return Ok(()),
                Err(e) => return Err(e),
            };
            let got = frames * self.channels * self.width;
            match self.take_free.try_recv() {
                Ok(mut block) => {
                    append(
                        self.format,
                        bytes.get(..got).unwrap_or_default(),
                        &mut block,
                    );
                    let _ = self.fill.try_send(block);
                }
                Err(_) => {
                    self.counts.dropped.fetch_add(frames as u64, Relaxed);
                }
            }
            if frames < most {
                return Ok(());
            }
        }
    }
}

/// Nothing is there now.
const AGAIN: i32 = 11;

/// 16 kHz mono is what we want; a device that cannot do it gives what it likes and is
/// converted.
fn configure(pcm: &PCM) -> alsa::Result<(Format, u32, usize)> {
    let hw = HwParams::any(pcm)?;
    hw.set_access(Access::RWInterleaved)?;
    let mut refused = None;
    let mut taken = None;
    for format in FORMATS {
        match hw.set_format(format) {
            Ok(()) => {
                taken = Some(format);
                break;
            }
            Err(e) => refused = refused.or(Some(e)),
        }
    }
    let Some(format) = taken else {
        return Err(refused.unwrap_or_else(|| alsa::Error::unsupported("set_format")));
    };
    let channels = hw.set_channels_near(1)?;
    let rate = hw.set_rate_near(RATE, ValueOr::Nearest)?;
    // Wishes: a device that has its own ideas keeps them.
    let _ = hw.set_period_time_near(PERIOD, ValueOr::Nearest);
    let _ = hw.set_buffer_time_near(BUFFER, ValueOr::Nearest);
    pcm.hw_params(&hw)?;
    Ok((format, rate, (channels as usize).max(1)))
}

/// Appends samples as -1 to 1.
fn append(format: Format, bytes: &[u8], out: &mut Vec<f32>) {
    fn scale(x: i32) -> f32 {
        x as f32 / 2_147_483_648.0
    }
    match format {
        Format::U8 => out.extend(bytes.iter().map(|&b| (f32::from(b) - 128.0) / 128.0)),
        Format::S16LE => {
            let samples = bytes.as_chunks().0.iter();
            out.extend(samples.map(|&b| f32::from(i16::from_le_bytes(b)) / 32_768.0));
        }
        Format::S243LE => {
            let samples = bytes.as_chunks().0.iter();
            out.extend(samples.map(|&[a, b, c]| scale(i32::from_le_bytes([0, a, b, c]))));
        }
        // The lower three bytes of four.
        Format::S24LE => {
            let samples = bytes.as_chunks().0.iter();
            out.extend(samples.map(|&[a, b, c, _]| scale(i32::from_le_bytes([0, a, b, c]))));
        }
        Format::FloatLE => {
            let samples = bytes.as_chunks().0.iter();
            out.extend(samples.map(|&b| f32::from_le_bytes(b)));
        }
        _ => {
            let samples = bytes.as_chunks().0.iter();
            out.extend(samples.map(|&b| scale(i32::from_le_bytes(b))));
        }
    }
}

fn refused(device: Option<&str>, e: alsa::Error) -> String {
    /// "No such file or directory", "no such device", "device or resource busy".
    const GONE: [i32; 3] = [2, 6, 19];
    const BUSY: i32 = 16;
    match device {
        Some(name) if GONE.contains(&e.errno()) => {
            format!("there is no sound device {name:?}; `hobcall doctor` lists those there are")
        }
        _ if e.errno() == BUSY => {
            format!("the microphone does not open: {e}; is another program using it?")
        }
        _ => format!("no microphone was found; connect one, or give a sound file ({e})"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same value in every format of alsa-lib's `snd_pcm_format_t`, as its page
    /// describes them: little endian, 24 bits in the lower three bytes of four or in three.
    #[test]
    fn one_value_in_every_format() {
        let quarter = |format, bytes: &[u8]| {
            let mut out = Vec::new();
            append(format, bytes, &mut out);
            out
        };
        assert_eq!(quarter(Format::U8, &[128, 160, 0]), [0.0, 0.25, -1.0]);
        assert_eq!(quarter(Format::S16LE, &[0, 0x20, 0, 0x80]), [0.25, -1.0]);
        assert_eq!(
            quarter(Format::S243LE, &[0, 0, 0x20, 0, 0, 0x80]),
            [0.25, -1.0]
        );
        assert_eq!(
            quarter(Format::S24LE, &[0, 0, 0x20, 0, 0, 0, 0x80, 0xff]),
            [0.25, -1.0]
        );
        assert_eq!(
            quarter(Format::S32LE, &[0, 0, 0, 0x20, 0, 0, 0, 0x80]),
            [0.25, -1.0]
        );
        let floats: Vec<u8> = [0.25_f32, -1.0]
            .iter()
            .flat_map(|x| x.to_le_bytes())
            .collect();
        assert_eq!(quarter(Format::FloatLE, &floats), [0.25, -1.0]);
        // Half a sample is no sample.
        assert!(quarter(Format::S16LE, &[0]).is_empty());
    }

    #[test]
    fn a_device_that_is_not_there_is_a_sentence() {
        let _quiet = alsa::Output::local_error_handler();
        let (keep, _ended) = bounded(0);
        let why = Stream::open(Some("no such device"), keep).err().unwrap();
        assert!(
            why.contains("no such device") && why.contains("doctor"),
            "{why}"
        );
    }
}
