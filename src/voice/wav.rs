//! The replies as a WAV file on the session's own time line: silence between them, so
//! that it can be laid beside a recording of the cook.

use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use hound::{SampleFormat, WavSpec, WavWriter};

use super::VoiceError;
use super::synth::SAMPLE_RATE;

/// Four hours: half a gigabyte. A longer silence is an overnight wait, not a dialogue.
const LONGEST: u64 = 4 * 3600 * SAMPLE_RATE as u64;
/// After this many samples the header is put right, so that a killed program leaves a
/// file that plays.
const FLUSH: u64 = 2 * SAMPLE_RATE as u64;

pub struct Recorder {
    path: PathBuf,
    writer: WavWriter<BufWriter<File>>,
    written: u64,
    flushed: u64,
    full: bool,
}

impl Recorder {
    /// Makes (or overwrites) the file; 16 kHz mono 16 bit.
    ///
    /// # Errors
    /// [`VoiceError::Record`] with the path and the system's reason.
    pub fn create(path: &Path) -> Result<Recorder, VoiceError> {
        let spec = WavSpec {
            channels: 1,
            sample_rate: SAMPLE_RATE,
            bits_per_sample: 16,
            sample_format: SampleFormat::Int,
        };
        let writer = WavWriter::create(path, spec).map_err(|e| error(path, &e))?;
        Ok(Recorder {
            path: path.to_owned(),
            writer,
            written: 0,
            flushed: 0,
            full: false,
        })
    }

    /// Lays `samples` at `at` seconds. What would overlap the end of the last sound
    /// by a clock's jitter follows it directly.
    pub fn played(&mut self, at: f64, samples: &[i16]) -> Result<(), VoiceError> {
        // Half a millisecond of jitter is no gap.
        let start = (at.max(0.0) * f64::from(SAMPLE_RATE)).round() as u64;
        if start > self.written + 8 {
            self.silence_to(start)?;
        }
        for s in samples {
            self.write(*s)?;
        }
        if self.written - self.flushed > FLUSH {
            self.writer.flush().map_err(|e| error(&self.path, &e))?;
            self.flushed = self.written;
        }
        Ok(())
    }

    /// Silence up to `at` seconds.
    pub fn silence_until(&mut self, at: f64) -> Result<(), VoiceError> {
        self.silence_to((at.max(0.0) * f64::from(SAMPLE_RATE)).round() as u64)
    }

    fn silence_to(&mut self, sample: u64) -> Result<(), VoiceError> {
        while self.written < sample && !self.full {
            self.write(0)?;
        }
        Ok(())
    }

    fn write(&mut self, sample: i16) -> Result<(), VoiceError> {
        if self.full {
            return Ok(());
        }
        if self.written >= LONGEST {
            self.full = true;
            return Err(VoiceError::Record(format!(
                "{} has reached four hours; the replies are no longer recorded",
                self.path.display()
            )));
        }
        self.writer
            .write_sample(sample)
            .map_err(|e| error(&self.path, &e))?;
        self.written += 1;
        Ok(())
    }

    /// Puts the header right and closes.
    pub fn finish(self) -> Result<(), VoiceError> {
        let path = self.path;
        self.writer.finalize().map_err(|e| error(&path, &e))
    }
}

fn error(path: &Path, why: &hound::Error) -> VoiceError {
    VoiceError::Record(format!("cannot write {}: {why}", path.display()))
}
