//! Vosk by way of its C interface, opened at run time.
//!
//! Not by the crate `vosk`: it links the library when the program is built, so without
//! libvosk.so nothing builds and nothing starts; it panics on answers it cannot read;
//! and a model's symbols can be asked for only before the model is shared. A dozen
//! functions are used (Vosk 0.3.45). Everything unsafe of this recogniser is here.

use std::ffi::{CStr, CString, c_char, c_float, c_int, c_void};
use std::path::{Path, PathBuf};
use std::ptr::NonNull;
use std::sync::{Arc, OnceLock};

use libloading::Library;

type Ptr = *mut c_void;

struct Api {
    set_log_level: unsafe extern "C" fn(c_int),
    model_new: unsafe extern "C" fn(*const c_char) -> Ptr,
    model_free: unsafe extern "C" fn(Ptr),
    model_find_word: unsafe extern "C" fn(Ptr, *const c_char) -> c_int,
    recognizer_new: unsafe extern "C" fn(Ptr, c_float) -> Ptr,
    recognizer_new_grm: unsafe extern "C" fn(Ptr, c_float, *const c_char) -> Ptr,
    recognizer_set_max_alternatives: unsafe extern "C" fn(Ptr, c_int),
    recognizer_accept_waveform_s: unsafe extern "C" fn(Ptr, *const i16, c_int) -> c_int,
    recognizer_result: unsafe extern "C" fn(Ptr) -> *const c_char,
    recognizer_partial_result: unsafe extern "C" fn(Ptr) -> *const c_char,
    recognizer_final_result: unsafe extern "C" fn(Ptr) -> *const c_char,
    recognizer_free: unsafe extern "C" fn(Ptr),
}

fn api() -> Result<&'static Api, String> {
    static API: OnceLock<Result<Api, String>> = OnceLock::new();
    API.get_or_init(|| {
        let mut why = String::new();
        for path in library_paths() {
            // SAFETY: loading runs initialisers of the C++ runtime only.
            match unsafe { Library::new(&path) } {
                Ok(library) => {
                    // Kept open for ever: function pointers into it live in a static.
                    let library: &'static Library = Box::leak(Box::new(library));
                    // SAFETY: types as in vosk_api.h of version 0.3.45.
                    return unsafe { resolve(library) }
                        .map_err(|e| format!("{} is of another version: {e}", path.display()));
                }
                Err(e) => why = e.to_string(),
            }
        }
        Err(format!(
            "the Vosk library is not installed ({why}); run scripts/get-vosk.sh, or point \
             HOBCALL_VOSK_LIB to libvosk.so"
        ))
    })
    .as_ref()
    .map_err(Clone::clone)
}

/// # Safety
/// The library must be Vosk of a version with these functions.
unsafe fn resolve(library: &Library) -> Result<Api, libloading::Error> {
    // SAFETY: the caller vouches for the library.
    unsafe {
        let api = Api {
            set_log_level: *library.get("vosk_set_log_level")?,
            model_new: *library.get("vosk_model_new")?,
            model_free: *library.get("vosk_model_free")?,
            model_find_word: *library.get("vosk_model_find_word")?,
            recognizer_new: *library.get("vosk_recognizer_new")?,
            recognizer_new_grm: *library.get("vosk_recognizer_new_grm")?,
            recognizer_set_max_alternatives: *library
                .get("vosk_recognizer_set_max_alternatives")?,
            recognizer_accept_waveform_s: *library.get("vosk_recognizer_accept_waveform_s")?,
            recognizer_result: *library.get("vosk_recognizer_result")?,
            recognizer_partial_result: *library.get("vosk_recognizer_partial_result")?,
            recognizer_final_result: *library.get("vosk_recognizer_final_result")?,
            recognizer_free: *library.get("vosk_recognizer_free")?,
        };
        // Its log would go to stderr at some hundred lines a model.
        (api.set_log_level)(-1);
        Ok(api)
    }
}

fn library_paths() -> Vec<PathBuf> {
    let name = "libvosk.so";
    if let Some(said) = std::env::var_os("HOBCALL_VOSK_LIB") {
        return vec![said.into()];
    }
    let mut paths = Vec::new();
    if let Some(dir) = super::beside_us("vendor/vosk") {
        paths.push(dir.join(name));
    }
    paths.push(name.into());
    paths
}

/// Whether the library opens; the error says what to do.
pub fn available() -> Result<(), String> {
    api().map(|_| ())
}

/// A loaded model; recognisers share it.
pub struct Model {
    api: &'static Api,
    model: NonNull<c_void>,
}

// SAFETY: the library counts references to a model atomically, only reads it, and runs
// recognisers on one model from several threads in its own server.
unsafe impl Send for Model {}
// SAFETY: as above.
unsafe impl Sync for Model {}

impl Model {
    pub fn load(dir: &Path) -> Result<Arc<Self>, String> {
        let api = api()?;
        let path = CString::new(dir.to_string_lossy().as_bytes())
            .map_err(|_| "a model's path holds a zero byte".to_owned())?;
        // SAFETY: a C string; the result is checked.
        let model = unsafe { (api.model_new)(path.as_ptr()) };
        let model = NonNull::new(model).ok_or_else(|| {
            format!(
                "{} is not a complete Vosk model; fetch it again",
                dir.display()
            )
        })?;
        Ok(Arc::new(Self { api, model }))
    }

    /// Whether the model can hear this word at all.
    pub fn knows(&self, word: &str) -> bool {
        CString::new(word).is_ok_and(|word| {
            // SAFETY: a C string and a live model.
            unsafe { (self.api.model_find_word)(self.model.as_ptr(), word.as_ptr()) >= 0 }
        })
    }
}

impl Drop for Model {
    fn drop(&mut self) {
        // SAFETY: the only handle, given back once; recognisers hold an Arc of it.
        unsafe { (self.api.model_free)(self.model.as_ptr()) };
    }
}

/// One utterance being decoded.
pub struct Decoding {
    model: Arc<Model>,
    recogniser: NonNull<c_void>,
}

// SAFETY: a recogniser is used by one thread at a time, as `&mut self` asks.
unsafe impl Send for Decoding {}

impl Decoding {
    /// `grammar`: a JSON list of phrases made by [`super::phrase_list`], never empty
    /// (an empty one crashes the library); `None` hears anything.
    pub fn start(
        model: &Arc<Model>,
        grammar: Option<&CStr>,
        alternatives: u16,
    ) -> Result<Self, String> {
        let api = model.api;
        let rate = crate::ear::source::RATE as c_float;
        // SAFETY: a live model and a C string; the result is checked.
        let recogniser = unsafe {
            match grammar {
                Some(list) => (api.recognizer_new_grm)(model.model.as_ptr(), rate, list.as_ptr()),
                None => (api.recognizer_new)(model.model.as_ptr(), rate),
            }
        };
        let recogniser =
            NonNull::new(recogniser).ok_or_else(|| "Vosk does not take this grammar".to_owned())?;
        // SAFETY: a live recogniser.
        unsafe {
            (api.recognizer_set_max_alternatives)(recogniser.as_ptr(), c_int::from(alternatives));
        }
        Ok(Self {
            model: Arc::clone(model),
            recogniser,
        })
    }

    /// Feeds samples. When the library itself thinks that an utterance has ended it
    /// hands over what it has (JSON) and begins another.
    pub fn feed(&mut self, samples: &[i16]) -> Result<Option<String>, String> {
        let Ok(n) = c_int::try_from(samples.len()) else {
            return Err("too much sound at once".to_owned());
        };
        let api = self.model.api;
        // SAFETY: pointer and length are of one slice.
        match unsafe {
            (api.recognizer_accept_waveform_s)(self.recogniser.as_ptr(), samples.as_ptr(), n)
        } {
            0 => Ok(None),
            // SAFETY: the string is the recogniser's and copied at once.
            1 => Ok(Some(unsafe {
                copy((api.recognizer_result)(self.recogniser.as_ptr()))
            })),
            _ => Err("Vosk failed on this sound".to_owned()),
        }
    }

    /// What there is so far, as JSON.
    pub fn partial(&mut self) -> String {
        // SAFETY: as in `feed`.
        unsafe {
            copy((self.model.api.recognizer_partial_result)(
                self.recogniser.as_ptr(),
            ))
        }
    }

    /// The result, as JSON.
    pub fn finish(self) -> String {
        // SAFETY: as in `feed`.
        unsafe {
            copy((self.model.api.recognizer_final_result)(
                self.recogniser.as_ptr(),
            ))
        }
    }
}

impl Drop for Decoding {
    fn drop(&mut self) {
        // SAFETY: the only handle, given back once.
        unsafe { (self.model.api.recognizer_free)(self.recogniser.as_ptr()) };
    }
}

/// # Safety
/// `text` is null or a C string that stays valid during the call.
unsafe fn copy(text: *const c_char) -> String {
    if text.is_null() {
        return String::new();
    }
    // SAFETY: the caller vouches for it.
    unsafe { CStr::from_ptr(text) }
        .to_string_lossy()
        .into_owned()
}
