//! How a word that no dictionary has is said: American phones from its spelling.
//!
//! The rules are flite's: its `cmulex` library holds the CMU dictionary in small and
//! letter-to-sound trees trained on it (BSD-like licence), opened at run time as
//! everything else of the ear. A name in a plan ("gochujang") can then be called.

use std::ffi::{CStr, CString, c_char, c_void};
use std::ptr;
use std::sync::{Mutex, OnceLock};

use libloading::Library;

type Ptr = *const c_void;

struct Flite {
    lexicon: Ptr,
    lex_lookup: unsafe extern "C" fn(Ptr, *const c_char, *const c_char, Ptr) -> Ptr,
    val_car: unsafe extern "C" fn(Ptr) -> Ptr,
    val_cdr: unsafe extern "C" fn(Ptr) -> Ptr,
    val_string: unsafe extern "C" fn(Ptr) -> *const c_char,
    delete_val: unsafe extern "C" fn(Ptr),
}

// SAFETY: the lexicon is read-only data of the library; calls are serialised by the
// mutex below, because the library does not say that it may be entered twice.
unsafe impl Send for Flite {}

fn flite() -> Result<&'static Mutex<Flite>, String> {
    static FLITE: OnceLock<Result<Mutex<Flite>, String>> = OnceLock::new();
    FLITE
        .get_or_init(|| {
            open().map(Mutex::new).map_err(|e| {
                format!("the spelling rules are not installed ({e}); install the package libflite1")
            })
        })
        .as_ref()
        .map_err(Clone::clone)
}

fn open() -> Result<Flite, libloading::Error> {
    // SAFETY: both libraries only fill tables when loaded; types as in cst_lexicon.h,
    // cst_val.h and cmu_lex.h of flite 2.2; they stay loaded for ever.
    unsafe {
        let base: &'static Library = Box::leak(Box::new(Library::new("libflite.so.1")?));
        let lex: &'static Library = Box::leak(Box::new(Library::new("libflite_cmulex.so.1")?));
        let init = lex.get::<unsafe extern "C" fn() -> Ptr>("cmulex_init")?;
        Ok(Flite {
            lex_lookup: *base.get("lex_lookup")?,
            val_car: *base.get("val_car")?,
            val_cdr: *base.get("val_cdr")?,
            val_string: *base.get("val_string")?,
            delete_val: *base.get("delete_val")?,
            lexicon: init(),
        })
    }
}

/// The word's phones in the CMU dictionary's symbols without stress, space separated
/// ("hob" → "HH AA B").
///
/// # Errors
/// The library is missing, or the word has letters that the rules do not know.
pub fn phones(word: &str) -> Result<String, String> {
    let lower = word.to_lowercase();
    if lower.is_empty() || !lower.bytes().all(|b| b.is_ascii_lowercase() || b == b'\'') {
        return Err(format!(
            "{word:?} cannot be read aloud letter by letter; write it in English letters as it sounds"
        ));
    }
    let word = CString::new(lower).map_err(|e| e.to_string())?;
    let flite = flite()?
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    let mut out: Vec<String> = Vec::new();
    // SAFETY: the list is walked to its end and freed once; strings are copied.
    unsafe {
        let list = (flite.lex_lookup)(flite.lexicon, word.as_ptr(), ptr::null(), ptr::null());
        let mut at = list;
        while !at.is_null() {
            let phone = CStr::from_ptr((flite.val_string)((flite.val_car)(at)));
            out.push(to_cmu(&phone.to_string_lossy()));
            at = (flite.val_cdr)(at);
        }
        if !list.is_null() {
            (flite.delete_val)(list);
        }
    }
    if out.is_empty() {
        return Err(format!("no sounds were found for {word:?}"));
    }
    Ok(out.join(" "))
}

/// The library's phones are the dictionary's in lower case with the stress behind the
/// vowel, and a schwa of their own.
fn to_cmu(phone: &str) -> String {
    let bare = phone.trim_end_matches(|c: char| c.is_ascii_digit());
    match bare {
        "ax" => "AH".to_owned(),
        other => other.to_uppercase(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the CMU Pronouncing Dictionary in the recogniser's edition
    /// (`cmudict-en-us.dict`), every fiftieth word: most agree in every sound. (The
    /// rules were trained on that dictionary, so this shows that they are read rightly,
    /// not how they do on names.)
    #[test]
    fn known_words_sound_as_the_cmu_dictionary_says() {
        let dict = std::fs::read("/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict").unwrap();
        let dict = String::from_utf8_lossy(&dict);
        let words: Vec<(&str, &str)> = dict
            .lines()
            .filter_map(|l| l.split_once(' '))
            .filter(|(w, _)| w.bytes().all(|b| b.is_ascii_lowercase()))
            .step_by(50)
            .collect();
        let alike = words
            .iter()
            .filter(|(w, want)| phones(w).as_deref() == Ok(*want))
            .count();
        assert!(words.len() > 2_000);
        // 92 percent when this was written.
        assert!(alike * 10 > words.len() * 9, "{alike} of {}", words.len());
    }

    #[test]
    fn unknown_words_get_plausible_sounds() {
        for word in ["hobcall", "gochujang", "brinestead"] {
            let said = phones(word).unwrap();
            assert!(said.split(' ').count() >= word.len() / 2, "{word}: {said}");
        }
    }

    #[test]
    fn letters_without_rules_are_refused_with_advice() {
        for word in ["", "다음", "a1", "crème"] {
            assert!(phones(word).is_err(), "{word:?}");
        }
    }
}
