//! The built-in voice: Flite (BSD-like licence), opened at run time, text in,
//! 16 kHz mono samples out. The whole foreign interface is in this file.
//!
//! The library is opened with `dlopen` rather than linked so that a machine without
//! it gets a message and a text-only cook, not a program that does not start.
//! Declarations follow `flite.h`, `cst_wave.h` and `cst_voice.h` of version 2.2; the
//! first field of each structure used here has been where it is since version 1.3.

use std::ffi::{CString, c_char, c_float, c_int, c_short, c_void};
use std::sync::{Mutex, OnceLock, PoisonError};

use libloading::Library;

use super::VoiceError;
use super::synth::{SAMPLE_RATE, Synth};

/// `cst_wave`: read only, freed by `delete_wave`.
#[repr(C)]
struct Wave {
    kind: *const c_char,
    sample_rate: c_int,
    num_samples: c_int,
    num_channels: c_int,
    samples: *const c_short,
}

/// The head of `cst_voice`; there is more behind it that is never touched.
#[repr(C)]
struct VoiceHead {
    name: *const c_char,
    features: *mut c_void,
}

unsafe extern "C" {
    /// Of the C library: Flite draws the noise of its unvoiced sounds from `rand`.
    fn srand(seed: std::ffi::c_uint);
}

type Register = unsafe extern "C" fn(*const c_char) -> *mut VoiceHead;

struct Api {
    text_to_wave: unsafe extern "C" fn(*const c_char, *mut VoiceHead) -> *mut Wave,
    delete_wave: unsafe extern "C" fn(*mut Wave),
    set_float: unsafe extern "C" fn(*mut c_void, *const c_char, c_float),
    // Keeps the code behind the pointers mapped.
    _library: Library,
}

/// Flite keeps global state and says that it is not thread-safe: one caller at a time
/// in the whole process. The library is never unloaded.
static FLITE: OnceLock<Result<Mutex<Api>, String>> = OnceLock::new();

/// The voices that come with Debian's `libflite1` and speak whole sentences.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FliteVoice {
    /// `cmu_us_slt`, the higher of the two.
    #[default]
    Slt,
    /// `cmu_us_rms`, the lower.
    Rms,
}

impl FliteVoice {
    fn library(self) -> &'static str {
        match self {
            FliteVoice::Slt => "libflite_cmu_us_slt.so.1",
            FliteVoice::Rms => "libflite_cmu_us_rms.so.1",
        }
    }

    fn register(self) -> &'static [u8] {
        match self {
            FliteVoice::Slt => b"register_cmu_us_slt\0",
            FliteVoice::Rms => b"register_cmu_us_rms\0",
        }
    }

    /// Brings both voices to the same level, about -18 dBFS over a sentence (measured).
    fn gain(self) -> f32 {
        match self {
            FliteVoice::Slt => 1.0,
            FliteVoice::Rms => 1.8,
        }
    }
}

/// One voice of the library.
pub struct Flite {
    voice: *mut VoiceHead,
    gain: f32,
    _library: Library,
}

// SAFETY: the pointer names a static object of the voice library, which is only used
// while the process-wide lock in `FLITE` is held.
unsafe impl Send for Flite {}

fn missing(what: &str, why: &dyn std::fmt::Display) -> String {
    format!(
        "the built-in voice needs {what}, which could not be opened ({why}); \
         install it with: apt-get install libflite1"
    )
}

fn api() -> Result<&'static Mutex<Api>, VoiceError> {
    FLITE
        .get_or_init(|| {
            let name = "libflite.so.1";
            // SAFETY: a system library whose initialisers only set up its own data.
            let library = unsafe { Library::new(name) }.map_err(|e| missing(name, &e))?;
            // SAFETY: the types are those of flite.h 2.2.
            unsafe {
                let init: unsafe extern "C" fn() -> c_int = *library
                    .get(b"flite_init\0")
                    .map_err(|e| missing("flite_init", &e))?;
                init();
                Ok(Mutex::new(Api {
                    text_to_wave: *library
                        .get(b"flite_text_to_wave\0")
                        .map_err(|e| missing("flite_text_to_wave", &e))?,
                    delete_wave: *library
                        .get(b"delete_wave\0")
                        .map_err(|e| missing("delete_wave", &e))?,
                    set_float: *library
                        .get(b"flite_feat_set_float\0")
                        .map_err(|e| missing("flite_feat_set_float", &e))?,
                    _library: library,
                }))
            }
        })
        .as_ref()
        .map_err(|why| VoiceError::Engine(why.clone()))
}

impl Flite {
    /// Opens the library and one voice.
    ///
    /// # Errors
    /// [`VoiceError::Engine`] with what to install.
    pub fn open(which: FliteVoice) -> Result<Flite, VoiceError> {
        let api = api()?;
        let _one_at_a_time = api.lock().unwrap_or_else(PoisonError::into_inner);
        let name = which.library();
        let fail = |why: &dyn std::fmt::Display| VoiceError::Engine(missing(name, why));
        // SAFETY: as above; the function returns a pointer to a static voice, the same
        // one each time, or null.
        let (library, voice) = unsafe {
            let library = Library::new(name).map_err(|e| fail(&e))?;
            let register: Register = *library.get(which.register()).map_err(|e| fail(&e))?;
            let voice = register(std::ptr::null());
            (library, voice)
        };
        if voice.is_null() {
            return Err(fail(&"the voice could not be set up"));
        }
        Ok(Flite {
            voice,
            gain: which.gain(),
            _library: library,
        })
    }
}

impl Synth for Flite {
    fn render(&mut self, text: &str, speed: f32) -> Result<Vec<i16>, VoiceError> {
        let printable: String = text
            .chars()
            .map(|c| if c.is_ascii_graphic() { c } else { ' ' })
            .collect();
        let fail = |why: &str| VoiceError::Engine(format!("the built-in voice {why}: \"{text}\""));
        let text_c = CString::new(printable).map_err(|_| fail("cannot say this"))?;
        let api = api()?.lock().unwrap_or_else(PoisonError::into_inner);
        // SAFETY: the voice is non-null and alive as long as `self`; the wave is freed
        // before the lock is given back; sizes are checked before the samples are read.
        unsafe {
            let features = (*self.voice).features;
            if features.is_null() {
                return Err(fail("has no settings"));
            }
            (api.set_float)(
                features,
                c"duration_stretch".as_ptr(),
                1.0 / speed.clamp(0.25, 4.0),
            );
            // The same text is the same samples every time: what was rendered can be
            // compared with what was played.
            srand(1);
            let wave = (api.text_to_wave)(text_c.as_ptr(), self.voice);
            if wave.is_null() {
                return Err(fail("gave no sound for this"));
            }
            let (rate, channels) = ((*wave).sample_rate, (*wave).num_channels);
            let count = usize::try_from((*wave).num_samples).unwrap_or(0);
            let samples = if (*wave).samples.is_null() || count == 0 {
                Vec::new()
            } else {
                std::slice::from_raw_parts((*wave).samples, count).to_vec()
            };
            (api.delete_wave)(wave);
            if rate != SAMPLE_RATE as c_int || channels != 1 {
                return Err(fail("gave an unexpected sample format"));
            }
            Ok(samples
                .into_iter()
                .map(|s| (f32::from(s) * self.gain) as i16)
                .collect())
        }
    }
}
