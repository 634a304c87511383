//! Function words as they sound among others, where the dictionary has only the full form.

/// A word and a further way to say it. "Of" loses its voice before a voiceless sound
/// ("of course"), "and" its last sound nearly everywhere: textbook phonetics (A. Cruttenden,
/// Gimson's Pronunciation of English, from memory).
const WEAK: [(&str, &str); 2] = [("of", "AH F"), ("and", "AH N")];

/// The further ways to say a lower-case word, in phone symbols.
pub fn ways(word: &str) -> impl Iterator<Item = &'static str> {
    WEAK.iter()
        .filter(move |(w, _)| *w == word)
        .map(|(_, s)| *s)
}
