//! A WAV or FLAC file as a [`Source`].

use std::fs::File;
use std::path::Path;
use std::time::{Duration, Instant};

use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error as Broken;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::core::meta::MetadataOptions;

use super::{Got, RATE, Source, ToMono16k};

/// How fast a file is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pace {
    /// A second of sound takes a second, as from a microphone.
    RealTime,
    /// As fast as it can be decoded.
    Fast,
}

/// At most this much is handed over at once, so that a reader keeps its rhythm.
const BLOCK: usize = RATE as usize / 50;

pub struct FileSource {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    /// Made when the first packet tells the rate; its rate and channels beside it.
    convert: Option<(u32, usize, ToMono16k)>,
    interleaved: Vec<f32>,
    ready: Vec<i16>,
    taken: usize,
    pace: Pace,
    began: Option<Instant>,
    /// Samples handed over so far.
    sent: u64,
    damaged_packets: u32,
    ended: Option<Option<String>>,
}

impl FileSource {
    /// Opens a WAV or FLAC file of any rate, channels and bit depth.
    ///
    /// # Errors
    /// A sentence that says what is wrong with the file.
    pub fn open(path: &Path, pace: Pace) -> Result<Self, String> {
        let name = path.display();
        let file = File::open(path).map_err(|e| {
            format!("{name} cannot be opened: {e}. Give the path of a WAV or FLAC file")
        })?;
        let is_file = file.metadata().map(|m| m.is_file()).unwrap_or(false);
        if !is_file {
            return Err(format!("{name} is not a regular file"));
        }
        let mut hint = Hint::new();
        if let Some(ext) = path.extension().and_then(|e| e.to_str()) {
            hint.with_extension(ext);
        }
        let stream = MediaSourceStream::new(Box::new(file), Default::default());
        let format = symphonia::default::get_probe()
            .probe(
                &hint,
                stream,
                FormatOptions::default(),
                MetadataOptions::default(),
            )
            .map_err(|e| format!("{name} is not a WAV or FLAC file that can be read ({e})"))?;
        let track = format
            .default_track(TrackType::Audio)
            .ok_or_else(|| format!("{name} has no sound in it"))?;
        let params = track
            .codec_params
            .as_ref()
            .and_then(|p| p.audio())
            .ok_or_else(|| format!("{name} does not say how its sound is coded"))?;
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(params, &AudioDecoderOptions::default())
            .map_err(|e| {
                format!("{name} holds sound in a coding that is not read here ({e}); save it as PCM WAV or FLAC")
            })?;
        let track = track.id;
        Ok(Self {
            format,
            decoder,
            track,
            convert: None,
            interleaved: Vec::new(),
            ready: Vec::new(),
            taken: 0,
            pace,
            began: None,
            sent: 0,
            damaged_packets: 0,
            ended: None,
        })
    }

    /// Decodes one packet into `ready`, or notes the end.
    fn fill(&mut self) {
        self.ready.drain(..self.taken);
        self.taken = 0;
        let end = match self.format.next_packet() {
            Ok(Some(packet)) if packet.track_id != self.track => return,
            Ok(Some(packet)) => match self.decoder.decode(&packet) {
                Ok(buffer) => {
                    let rate = buffer.spec().rate();
                    let channels = buffer.spec().channels().count();
                    buffer.copy_to_vec_interleaved(&mut self.interleaved);
                    match self.convert(rate, channels) {
                        Ok(()) => return,
                        Err(why) => Some(why),
                    }
                }
                // A FLAC frame whose checksum is wrong: the next one may be whole.
                Err(Broken::DecodeError(_)) => {
                    self.damaged_packets += 1;
                    return;
                }
                Err(e) => Some(format!("the sound breaks off: {e}")),
            },
            Ok(None) => None,
            Err(Broken::IoError(e)) if e.kind() == std::io::ErrorKind::UnexpectedEof => {
                Some("the file is shorter than its header says".to_owned())
            }
            Err(e) => Some(format!("the sound breaks off: {e}")),
        };
        if let Some((.., convert)) = &mut self.convert {
            // Best effort: the stream is over either way.
            let _ = convert.flush(&mut self.ready);
        }
        let end = match (end, self.damaged_packets) {
            (None, 0) => None,
            (None, n) => Some(format!(
                "{n} pieces of the file are damaged and were left out"
            )),
            (some, _) => some,
        };
        self.ended = Some(end);
    }

    fn convert(&mut self, rate: u32, channels: usize) -> Result<(), String> {
        if !matches!(&self.convert, Some((r, c, _)) if (*r, *c) == (rate, channels)) {
            self.convert = Some((rate, channels, ToMono16k::new(rate, channels)?));
        }
        match &mut self.convert {
            Some((.., convert)) => convert.push(&self.interleaved, &mut self.ready),
            None => Ok(()),
        }
    }
}

impl Source for FileSource {
    fn read(&mut self, out: &mut Vec<i16>, wait: Duration) -> Got {
        while self.taken == self.ready.len() && self.ended.is_none() {
            self.fill();
        }
        let left = self.ready.len() - self.taken;
        if left == 0 {
            return Got::End(self.ended.clone().flatten());
        }
        let mut n = left.min(BLOCK);
        if self.pace == Pace::RealTime {
            let began = *self.began.get_or_insert_with(Instant::now);
            let due = |now: Duration| (now.as_secs_f64() * f64::from(RATE)) as u64;
            let mut allowed = due(began.elapsed()).saturating_sub(self.sent);
            if allowed < n as u64 {
                // Sleep until the whole block has been "recorded".
                let at = Duration::from_secs_f64((self.sent + n as u64) as f64 / f64::from(RATE));
                std::thread::sleep(at.saturating_sub(began.elapsed()).min(wait));
                allowed = due(began.elapsed()).saturating_sub(self.sent);
            }
            n = n.min(usize::try_from(allowed).unwrap_or(n));
            if n == 0 {
                return Got::Nothing;
            }
        }
        if let Some(block) = self.ready.get(self.taken..self.taken + n) {
            out.extend_from_slice(block);
        }
        self.taken += n;
        self.sent += n as u64;
        Got::Samples
    }
}
