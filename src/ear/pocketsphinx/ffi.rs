//! PocketSphinx by way of its C interface, opened at run time.
//!
//! Everything unsafe of this recogniser is in this file: a table of the C functions
//! used ([`Api`]) and a safe [`Decoder`] over it. The libraries are opened when first
//! asked for, so a machine without them gets a sentence and not a program that does
//! not start, and nothing has to be installed to build.
//!
//! Declarations follow the headers of version 5prealpha (Debian's
//! `0.8+5prealpha`); the interface differs from both 0.6 and 5.0.

use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::path::{Path, PathBuf};
use std::ptr::{self, NonNull};
use std::sync::OnceLock;

use libloading::Library;

/// An opaque C struct.
type Ptr = *mut c_void;

macro_rules! api {
    ($($lib:ident { $($name:ident: fn($($arg:ty),*) $(-> $ret:ty)?;)+ })+) => {
        /// The C functions, resolved once. Never unloaded: decoders point into it.
        struct Api { $($($name: unsafe extern "C" fn($($arg),*) $(-> $ret)?,)+)+ }

        impl Api {
            /// # Safety
            /// The libraries must be PocketSphinx and SphinxBase of the version above.
            unsafe fn resolve($($lib: &Library),+) -> Result<Self, libloading::Error> {
                // SAFETY: each type is copied from the header; the caller vouches for
                // the libraries, and keeps them loaded for ever.
                unsafe {
                    Ok(Self { $($($name: *$lib.get(stringify!($name))?,)+)+ })
                }
            }
        }
    };
}

api! {
    base {
        cmd_ln_parse_r: fn(Ptr, Ptr, i32, *mut *mut c_char, i32) -> Ptr;
        cmd_ln_free_r: fn(Ptr) -> c_int;
        err_set_logfp: fn(Ptr);
        ckd_free: fn(Ptr);
        fsg_model_read: fn(Ptr, Ptr, f32) -> Ptr;
        fsg_model_free: fn(Ptr) -> c_int;
    }
    ps {
        ps_args: fn() -> Ptr;
        ps_init: fn(Ptr) -> Ptr;
        ps_free: fn(Ptr) -> c_int;
        ps_get_logmath: fn(Ptr) -> Ptr;
        ps_lookup_word: fn(Ptr, *const c_char) -> *mut c_char;
        ps_add_word: fn(Ptr, *const c_char, *const c_char, c_int) -> c_int;
        ps_set_fsg: fn(Ptr, *const c_char, Ptr) -> c_int;
        ps_set_allphone_file: fn(Ptr, *const c_char, *const c_char) -> c_int;
        ps_set_search: fn(Ptr, *const c_char) -> c_int;
        ps_start_stream: fn(Ptr) -> c_int;
        ps_start_utt: fn(Ptr) -> c_int;
        ps_process_raw: fn(Ptr, *const i16, usize, c_int, c_int) -> c_int;
        ps_end_utt: fn(Ptr) -> c_int;
        ps_get_hyp: fn(Ptr, *mut i32) -> *const c_char;
        ps_seg_iter: fn(Ptr) -> Ptr;
        ps_seg_next: fn(Ptr) -> Ptr;
        ps_seg_word: fn(Ptr) -> *const c_char;
        ps_seg_frames: fn(Ptr, *mut c_int, *mut c_int);
        ps_seg_prob: fn(Ptr, *mut i32, *mut i32, *mut i32) -> i32;
        ps_nbest: fn(Ptr) -> Ptr;
        ps_nbest_next: fn(Ptr) -> Ptr;
        ps_nbest_hyp: fn(Ptr, *mut i32) -> *const c_char;
        ps_nbest_free: fn(Ptr);
    }
}

// Of the C library that Rust's own runtime links already.
unsafe extern "C" {
    fn fmemopen(buf: Ptr, size: usize, mode: *const c_char) -> Ptr;
    fn fclose(file: Ptr) -> c_int;
}

/// The shared libraries as the runtime packages name them, then as the development
/// packages do.
const NAMES: [(&str, &str); 2] = [
    ("libsphinxbase.so.3", "libpocketsphinx.so.3"),
    ("libsphinxbase.so", "libpocketsphinx.so"),
];

fn api() -> Result<&'static Api, String> {
    static API: OnceLock<Result<Api, String>> = OnceLock::new();
    API.get_or_init(|| {
        let mut why = String::new();
        for (base, ps) in NAMES {
            // SAFETY: loading runs the libraries' initialisers, which only fill tables.
            match unsafe { Library::new(base).and_then(|b| Ok((b, Library::new(ps)?))) } {
                Ok((base, ps)) => {
                    // Kept open for ever: function pointers into them live in a static.
                    let (base, ps) = (Box::leak(Box::new(base)), Box::leak(Box::new(ps)));
                    // SAFETY: the versioned names stand for this interface.
                    let api = unsafe { Api::resolve(base, ps) }
                        .map_err(|e| format!("PocketSphinx is of another version: {e}"))?;
                    // Its log goes to stderr at some thousand lines a start.
                    // SAFETY: a null file switches the log off.
                    unsafe { (api.err_set_logfp)(ptr::null_mut()) };
                    return Ok(api);
                }
                Err(e) => why = e.to_string(),
            }
        }
        Err(format!(
            "the PocketSphinx library is not installed ({why}); install the packages \
             libpocketsphinx3 and pocketsphinx-en-us"
        ))
    })
    .as_ref()
    .map_err(Clone::clone)
}

/// Whether the libraries open; the error says what to install.
pub fn available() -> Result<(), String> {
    api().map(|_| ())
}

fn c(text: &str) -> Result<CString, String> {
    CString::new(text).map_err(|_| format!("{text:?} holds a zero byte"))
}

/// A stretch of the best path. Frames are 10 ms, counted from the utterance's start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Segment {
    pub word: String,
    pub from: i32,
    /// The last frame that belongs to it.
    pub to: i32,
    /// Acoustic log-likelihood in the decoder's own log base.
    pub score: i32,
}

/// One decoder: an acoustic model, a dictionary, and the searches set on it.
pub struct Decoder {
    api: &'static Api,
    ps: NonNull<c_void>,
    /// Whether an utterance is open; the library's own state machine aborts on misuse.
    open: bool,
}

// SAFETY: the library keeps a decoder's state inside the decoder; only using one from
// two threads at once is forbidden, and `&mut self` rules that out.
unsafe impl Send for Decoder {}

impl Decoder {
    /// `options` are the library's own, e.g. `("-hmm", "/path")`.
    pub fn new(options: &[(&str, &str)]) -> Result<Self, String> {
        let api = api()?;
        let mut args = vec![c("hobcall")?];
        for (name, value) in options {
            args.extend([c(name)?, c(value)?]);
        }
        let mut argv: Vec<*mut c_char> = args.iter().map(|a| a.as_ptr().cast_mut()).collect();
        let argc = i32::try_from(argv.len()).map_err(|e| e.to_string())?;
        argv.push(ptr::null_mut());
        // SAFETY: argv holds argc valid strings and a null; the configuration copies
        // them; ps_init retains the configuration, so our reference is given back.
        let ps = unsafe {
            let config =
                (api.cmd_ln_parse_r)(ptr::null_mut(), (api.ps_args)(), argc, argv.as_mut_ptr(), 1);
            if config.is_null() {
                return Err("PocketSphinx does not know one of its options".to_owned());
            }
            let ps = (api.ps_init)(config);
            (api.cmd_ln_free_r)(config);
            ps
        };
        let ps = NonNull::new(ps).ok_or_else(|| {
            format!(
                "PocketSphinx could not load its model from {}; reinstall pocketsphinx-en-us",
                options
                    .iter()
                    .find(|(n, _)| *n == "-hmm")
                    .map_or("", |(_, v)| v)
            )
        })?;
        Ok(Self {
            api,
            ps,
            open: false,
        })
    }

    /// The phones of a word in the dictionary.
    pub fn phones(&mut self, word: &str) -> Option<String> {
        let word = c(word).ok()?;
        // SAFETY: the result is a fresh C string or null, and ours to free.
        unsafe {
            let found = (self.api.ps_lookup_word)(self.ps.as_ptr(), word.as_ptr());
            if found.is_null() {
                return None;
            }
            let phones = CStr::from_ptr(found).to_string_lossy().into_owned();
            (self.api.ckd_free)(found.cast());
            Some(phones)
        }
    }

    /// Adds a word; takes effect with the next [`Decoder::set_network`].
    pub fn add_word(&mut self, word: &str, phones: &str) -> Result<(), String> {
        let (w, p) = (c(word)?, c(phones)?);
        // SAFETY: both strings live through the call, which copies them. The last
        // argument 0 leaves the running search alone.
        let id = unsafe { (self.api.ps_add_word)(self.ps.as_ptr(), w.as_ptr(), p.as_ptr(), 0) };
        if id < 0 {
            return Err(format!(
                "PocketSphinx does not take the sounds {phones:?} for {word:?}"
            ));
        }
        Ok(())
    }

    /// Sets the finite-state grammar `text` (the library's FSG format) as search `name`
    /// and makes it the active one.
    ///
    /// This way and not by `ps_set_jsgf_string`, which keeps about 49 KB for ever each
    /// time: here every object is given back.
    pub fn set_network(&mut self, name: &str, text: &str) -> Result<(), String> {
        self.close();
        let name = c(name)?;
        // SAFETY: fmemopen reads `text`, which outlives the file; every pointer is
        // checked; ps_set_fsg retains the model, so our reference is given back.
        let ok = unsafe {
            let file = fmemopen(text.as_ptr().cast_mut().cast(), text.len(), c"r".as_ptr());
            if file.is_null() {
                return Err("out of memory while handing over a grammar".to_owned());
            }
            let log = (self.api.ps_get_logmath)(self.ps.as_ptr());
            // 6.5 is the library's own default language weight.
            let model = (self.api.fsg_model_read)(file, log, 6.5);
            fclose(file);
            if model.is_null() {
                return Err("PocketSphinx does not take this grammar".to_owned());
            }
            let set = (self.api.ps_set_fsg)(self.ps.as_ptr(), name.as_ptr(), model);
            (self.api.fsg_model_free)(model);
            set == 0 && (self.api.ps_set_search)(self.ps.as_ptr(), name.as_ptr()) == 0
        };
        if ok {
            Ok(())
        } else {
            Err("PocketSphinx does not take this grammar: a word has no sounds".to_owned())
        }
    }

    /// Sets a loop over all phones as search `name` and makes it active. `lm` is a phone
    /// language model's file.
    pub fn set_phone_loop(&mut self, name: &str, lm: &Path) -> Result<(), String> {
        self.close();
        let name = c(name)?;
        let path = c(&lm.to_string_lossy())?;
        // SAFETY: the strings live through the calls.
        let ok = unsafe {
            (self.api.ps_set_allphone_file)(self.ps.as_ptr(), name.as_ptr(), path.as_ptr()) == 0
                && (self.api.ps_set_search)(self.ps.as_ptr(), name.as_ptr()) == 0
        };
        if ok {
            Ok(())
        } else {
            Err(format!("PocketSphinx cannot use {}", lm.display()))
        }
    }

    /// Begins an utterance; frames count from here.
    pub fn start(&mut self) -> Result<(), String> {
        self.close();
        // SAFETY: no utterance is open.
        let ok = unsafe {
            (self.api.ps_start_stream)(self.ps.as_ptr()) == 0
                && (self.api.ps_start_utt)(self.ps.as_ptr()) == 0
        };
        self.open = ok;
        if ok {
            Ok(())
        } else {
            Err("PocketSphinx does not start an utterance; no grammar is set".to_owned())
        }
    }

    /// Feeds 16 kHz samples. `whole`: this is the entire utterance, so that the
    /// cepstral mean is taken over it.
    pub fn feed(&mut self, samples: &[i16], whole: bool) -> Result<(), String> {
        if !self.open || samples.is_empty() {
            return Ok(());
        }
        // SAFETY: an utterance is open; pointer and length are of one slice.
        let n = unsafe {
            (self.api.ps_process_raw)(
                self.ps.as_ptr(),
                samples.as_ptr(),
                samples.len(),
                0,
                c_int::from(whole),
            )
        };
        if n < 0 {
            return Err("PocketSphinx failed on this sound".to_owned());
        }
        Ok(())
    }

    /// Ends the utterance; the results stay readable until the next one.
    pub fn close(&mut self) {
        if self.open {
            self.open = false;
            // SAFETY: an utterance is open.
            unsafe { (self.api.ps_end_utt)(self.ps.as_ptr()) };
        }
    }

    /// Best path so far: words and path score. Not necessarily a whole sentence.
    pub fn best(&mut self) -> Option<(String, i32)> {
        let mut score = 0;
        // SAFETY: the string belongs to the decoder and is copied at once.
        let hyp = unsafe { (self.api.ps_get_hyp)(self.ps.as_ptr(), &mut score) };
        // SAFETY: as above.
        unsafe { copy(hyp) }.map(|h| (h, score))
    }

    /// The best path of the closed utterance piece by piece, fillers included.
    pub fn segments(&mut self) -> Vec<Segment> {
        let mut found = Vec::new();
        // SAFETY: the iterator frees itself when it runs out, and it always does here.
        unsafe {
            let mut seg = (self.api.ps_seg_iter)(self.ps.as_ptr());
            while !seg.is_null() {
                let (mut from, mut to, mut score) = (0, 0, 0);
                (self.api.ps_seg_frames)(seg, &mut from, &mut to);
                (self.api.ps_seg_prob)(seg, &mut score, ptr::null_mut(), ptr::null_mut());
                if let Some(word) = copy((self.api.ps_seg_word)(seg)) {
                    found.push(Segment {
                        word,
                        from,
                        to,
                        score,
                    });
                }
                seg = (self.api.ps_seg_next)(seg);
            }
        }
        found
    }

    /// Up to `n` different hypotheses of the closed utterance, best first.
    pub fn n_best(&mut self, n: usize) -> Vec<(String, i32)> {
        let mut found: Vec<(String, i32)> = Vec::new();
        // The list repeats a sentence for each way of placing its silences.
        let most_looked_at = n * 20;
        // SAFETY: the iterator is null after it ran out, else freed below.
        unsafe {
            let mut it = (self.api.ps_nbest)(self.ps.as_ptr());
            for _ in 0..most_looked_at {
                if it.is_null() || found.len() == n {
                    break;
                }
                let mut score = 0;
                if let Some(words) = copy((self.api.ps_nbest_hyp)(it, &mut score))
                    && !found.iter().any(|(w, _)| *w == words)
                {
                    found.push((words, score));
                }
                it = (self.api.ps_nbest_next)(it);
            }
            if !it.is_null() {
                (self.api.ps_nbest_free)(it);
            }
        }
        found
    }
}

impl Drop for Decoder {
    fn drop(&mut self) {
        self.close();
        // SAFETY: the only reference, given back once.
        unsafe { (self.api.ps_free)(self.ps.as_ptr()) };
    }
}

/// # Safety
/// `text` is null or a C string that stays valid during the call.
unsafe fn copy(text: *const c_char) -> Option<String> {
    if text.is_null() {
        return None;
    }
    // SAFETY: the caller vouches for it.
    Some(
        unsafe { CStr::from_ptr(text) }
            .to_string_lossy()
            .into_owned(),
    )
}

/// Where the English model lies: what the variable `HOBCALL_POCKETSPHINX_MODEL` says,
/// else where the packages put it.
pub fn model_dir() -> Result<PathBuf, String> {
    let dir = std::env::var_os("HOBCALL_POCKETSPHINX_MODEL").map_or_else(
        || PathBuf::from("/usr/share/pocketsphinx/model/en-us"),
        PathBuf::from,
    );
    if dir.join("en-us/mdef").is_file() && dir.join("cmudict-en-us.dict").is_file() {
        Ok(dir)
    } else {
        Err(format!(
            "PocketSphinx's English model is not in {}; install the package pocketsphinx-en-us",
            dir.display()
        ))
    }
}
