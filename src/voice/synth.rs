//! What a speech engine is to the rest of the voice: text in, samples out.

use super::VoiceError;

/// Everything in this room is mono, 16 bit, at this many samples a second.
pub const SAMPLE_RATE: u32 = 16_000;

/// A speech engine that gives samples.
pub trait Synth: Send {
    /// One piece of text (printable ASCII, no more than a sentence) as 16 kHz mono
    /// samples. `speed` is 1.0 for the engine's own pace, 2.0 for twice as fast.
    ///
    /// # Errors
    /// [`VoiceError::Engine`] when the engine cannot.
    fn render(&mut self, text: &str, speed: f32) -> Result<Vec<i16>, VoiceError>;
}

/// Cuts the silence that engines put round every piece: they leave a fifth of a second
/// before the first sound, which a waiting cook hears as slowness. Frames of 10 ms
/// count as sound from -54 dBFS on, above the breath that Flite puts into its pauses;
/// one frame more is kept at either end. Silence alone gives nothing.
pub fn trim(samples: &[i16]) -> &[i16] {
    const LOUD: i64 = 64;
    let frame = ms(10);
    let loud = |f: &[i16]| {
        let power: i64 = f.iter().map(|s| i64::from(*s).pow(2)).sum();
        power > LOUD * LOUD * f.len() as i64
    };
    let Some(first) = samples.chunks(frame).position(loud) else {
        return &[];
    };
    let last = samples
        .chunks(frame)
        .enumerate()
        .rfind(|(_, f)| loud(f))
        .map_or(first, |(i, _)| i);
    let from = first.saturating_sub(1) * frame;
    let to = ((last + 2) * frame).min(samples.len());
    samples.get(from..to).unwrap_or(&[])
}

/// Samples in so many milliseconds.
pub fn ms(n: u32) -> usize {
    (SAMPLE_RATE as usize / 1000) * n as usize
}
