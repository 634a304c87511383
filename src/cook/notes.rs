//! Spoken notes as sound files beside the journal.

use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use crate::ear::source::RATE;

/// Writes samples (16 kHz mono) as `JOURNAL.note-N.wav` with the next free number, on the
/// disk when this returns. Answers the file's name, without folders.
///
/// # Errors
/// Why it could not be written.
pub fn keep(journal: &Path, samples: &[i16]) -> Result<String, String> {
    let stem = journal.file_stem().unwrap_or_default().to_string_lossy();
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    for n in 1..10_000 {
        let name = format!("{stem}.note-{n}.wav");
        let path = journal.with_file_name(&name);
        let wrong = |e: &dyn std::fmt::Display| format!("{}: {e}", path.display());
        let file = match File::create_new(&path) {
            Ok(file) => file,
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => continue,
            Err(e) => return Err(wrong(&e)),
        };
        let disk = file.try_clone().map_err(|e| wrong(&e))?;
        let mut wav = hound::WavWriter::new(BufWriter::new(file), spec).map_err(|e| wrong(&e))?;
        for sample in samples {
            wav.write_sample(*sample).map_err(|e| wrong(&e))?;
        }
        wav.finalize().map_err(|e| wrong(&e))?;
        disk.sync_all().map_err(|e| wrong(&e))?;
        return Ok(name);
    }
    Err("too many notes in one cook".to_owned())
}
