//! Where sound comes from, all of it as 16 kHz mono 16-bit samples.
//!
//! | file | what |
//! | --- | --- |
//! | `file` | WAV and FLAC files |
//! | `mic` | a microphone, which may go away and come back |
//! | `capture` | one stream of it |
//! | `resample` | any rate and channels to ours |

mod capture;
mod file;
mod mic;
mod resample;

use std::time::Duration;

pub use file::{FileSource, Pace};

pub use mic::{MicSource, capture_devices};
pub use resample::ToMono16k;

/// Samples a second of everything behind a [`Source`].
pub const RATE: u32 = 16_000;

/// What one [`Source::read`] brought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Got {
    /// Samples were appended.
    Samples,
    /// Nothing within the time allowed; ask again.
    Nothing,
    /// The device went away; the source keeps trying to find it again.
    Lost(String),
    /// The device is back; samples follow.
    Back,
    /// No more will come. `Some` says what was wrong with the rest.
    End(Option<String>),
}

/// A stream of 16 kHz mono samples.
pub trait Source: Send {
    /// Appends what is there to `out`, waiting at most `wait` for the first sample.
    fn read(&mut self, out: &mut Vec<i16>, wait: Duration) -> Got;

    /// Samples lost so far because nobody read in time.
    fn dropped(&self) -> u64 {
        0
    }
}
