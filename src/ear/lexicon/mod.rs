//! How words sound: phones of the CMU Pronouncing Dictionary, without stress.
//!
//! | file | what |
//! | --- | --- |
//! | `dictionary` | 126,000 words of the dictionary, packed |
//! | `spelling` | sounds of a word from its letters |
//! | `forms` | plurals, possessives and compounds of known words |
//! | `weak` | function words as they sound among others |

mod dictionary;
mod forms;
mod spelling;
mod weak;

use std::collections::{BTreeMap, HashMap};

pub use spelling::Spelling;

/// Phones by number, the first is 1, as the network's classes are numbered.
pub type Sounds = Box<[u8]>;

/// Names of the phones; a phone's number is its place here plus one.
pub use crate::plan::PHONES;
use crate::plan::{Pronounced, Way, phone};

/// No word has more ways to be said than this.
const WAYS: usize = 8;

/// The pronouncing dictionary and what completes it. Keeps what it was asked before.
pub struct Lexicon {
    known: HashMap<String, Vec<Sounds>>,
    spelling: Spelling,
}

impl Lexicon {
    /// # Errors
    /// The embedded tables are damaged.
    pub fn english() -> Result<Self, String> {
        Ok(Self {
            known: HashMap::new(),
            spelling: Spelling::english()?,
        })
    }

    /// Says how a word is to be heard, instead of what the dictionary says.
    ///
    /// # Errors
    /// A symbol that is none of [`PHONES`] (stress digits may follow), or a word that has
    /// no sound itself; what the lexicon knew before stands.
    pub fn pronounce(&mut self, said: &Pronounced) -> Result<(), String> {
        let mut all: Vec<Sounds> = Vec::new();
        for way in &said.ways {
            match way {
                Way::Phones(phones) => all.push(number(phones)?),
                Way::Words(words) => all.extend(self.one_after_another(words)?),
            }
        }
        all.truncate(WAYS);
        if all.is_empty() {
            return Err(format!("no way to say {:?} was given", said.word));
        }
        self.known.insert(said.word.to_lowercase(), all);
        Ok(())
    }

    /// Every way to say these words as one.
    fn one_after_another(&mut self, words: &[String]) -> Result<Vec<Sounds>, String> {
        let each = self.sounds(words.iter().map(String::as_str));
        let mut whole: Vec<Vec<u8>> = vec![Vec::new()];
        for word in words {
            let ways = each.get(word.as_str()).map_or(&[][..], Vec::as_slice);
            if ways.is_empty() {
                return Err(format!("{word:?} has no sound in English"));
            }
            whole = ways
                .iter()
                .flat_map(|way| whole.iter().map(move |before| [before, &**way].concat()))
                .take(WAYS)
                .collect();
        }
        Ok(whole.into_iter().map(Into::into).collect())
    }

    /// Every way each word may sound; nothing for a word that has no sound in English.
    /// All words together, because the dictionary is packed and read through once.
    pub fn sounds<'a>(
        &mut self,
        words: impl IntoIterator<Item = &'a str>,
    ) -> BTreeMap<&'a str, Vec<Sounds>> {
        let words: Vec<(&str, String)> = words.into_iter().map(|w| (w, w.to_lowercase())).collect();
        let mut wanted: Vec<String> = words
            .iter()
            .filter(|(_, lower)| !self.known.contains_key(lower))
            .flat_map(|(_, lower)| forms::parts(lower))
            .collect();
        wanted.sort_unstable();
        wanted.dedup();
        let found = dictionary::look_up(&wanted).unwrap_or_default();
        let mut out = BTreeMap::new();
        for (word, lower) in words {
            let ways = self.known.entry(lower).or_insert_with_key(|lower| {
                let mut ways = forms::sounds(lower, &found, &self.spelling);
                ways.truncate(WAYS);
                for weak in weak::ways(lower).flat_map(number) {
                    if !ways.contains(&weak) {
                        ways.push(weak);
                    }
                }
                ways
            });
            out.insert(word, ways.clone());
        }
        out
    }
}

/// "S K IH1 L AH0 T" → numbers.
///
/// # Errors
/// The first symbol that is not a phone.
pub fn number(phones: &str) -> Result<Sounds, String> {
    let sounds: Vec<u8> = phones
        .split_whitespace()
        .map(|symbol| {
            phone(symbol).map(|n| n as u8 + 1).ok_or_else(|| {
                format!(
                    "{symbol:?} is not one of the 39 phones: {}",
                    PHONES.join(" ")
                )
            })
        })
        .collect::<Result<_, _>>()?;
    if sounds.is_empty() {
        return Err("no phones were given".to_owned());
    }
    Ok(sounds.into())
}

/// Numbers → "S K IH L AH T".
pub fn spell(sounds: &[u8]) -> String {
    let names: Vec<&str> = sounds
        .iter()
        .filter_map(|&n| PHONES.get(usize::from(n).wrapping_sub(1)).copied())
        .collect();
    names.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(word: &str) -> Vec<String> {
        let mut lexicon = Lexicon::english().unwrap();
        lexicon.sounds([word])[word]
            .iter()
            .map(|s| spell(s))
            .collect()
    }

    /// The CMU Pronouncing Dictionary, as Debian's package `pocketsphinx-en-us` has it.
    #[test]
    fn dictionary_words_sound_as_the_cmu_dictionary_says() {
        for (word, want) in [
            ("skillet", vec!["S K IH L AH T"]),
            ("pork", vec!["P AO R K"]),
            ("zero", vec!["Z IH R OW", "Z IY R OW"]),
            ("caramel", vec!["K EH R AH M AH L"]),
            ("Reading", vec!["R EH D IH NG", "R IY D IH NG"]),
        ] {
            let got = said(word);
            assert!(
                want.iter().all(|w| got.iter().any(|g| g == w)),
                "{word}: {got:?}"
            );
        }
    }

    /// "Of course", "salt and pepper" (from memory, as `weak.rs` says).
    #[test]
    fn function_words_have_their_weak_forms_beside_the_full_ones() {
        let mut lexicon = Lexicon::english().unwrap();
        let sounds = lexicon.sounds(["of", "and", "off"]);
        let has = |word: &str, phones: &str| sounds[word].contains(&number(phones).unwrap());
        assert!(has("of", "AH V") && has("of", "AH F"));
        assert!(has("and", "AH N D") && has("and", "AH N"));
        assert!(!has("off", "AH F"));
    }

    #[test]
    fn forms_of_known_words_are_built_from_them() {
        for (word, want) in [
            ("skillet's", "S K IH L AH T S"),
            ("hobs", "HH AA B Z"),
            ("test-chop", "T EH S T CH AA P"),
            ("hobcall", "HH AA B K AO L"),
            ("bastings", "B EY S T IH NG Z"),
        ] {
            let got = said(word);
            assert!(got.iter().any(|g| g == want), "{word}: {got:?}");
        }
    }

    #[test]
    fn letters_and_digits_are_read_out() {
        assert!(said("b").iter().any(|g| g == "B IY"), "{:?}", said("b"));
        assert!(said("4").iter().any(|g| g == "F AO R"), "{:?}", said("4"));
    }

    #[test]
    fn unknown_names_sound_somehow_and_foreign_letters_not_at_all() {
        for word in ["gochujang", "brinestead", "szechwanish", "crème"] {
            let got = said(word);
            assert!(
                !got.is_empty() && got[0].split(' ').count() >= 3,
                "{word}: {got:?}"
            );
        }
        for word in ["다음", "", "--"] {
            assert!(said(word).is_empty(), "{word}");
        }
    }

    #[test]
    fn a_given_pronunciation_wins() {
        let mut lexicon = Lexicon::english().unwrap();
        let say = |word: &str, ways: &[Way]| Pronounced {
            word: word.to_owned(),
            ways: ways.to_vec(),
        };
        let phones = |p: &str| Way::Phones(p.to_owned());
        let words = |w: &str| Way::Words(w.split(' ').map(str::to_owned).collect());
        let both = [phones("G OW CH UW JH AA1 NG"), words("go chew young")];
        lexicon.pronounce(&say("gochujang", &both)).unwrap();
        let said: Vec<String> = lexicon.sounds(["gochujang"])["gochujang"]
            .iter()
            .map(|s| spell(s))
            .collect();
        assert_eq!(said, ["G OW CH UW JH AA NG", "G OW CH UW Y AH NG"]);
        for bad in [phones("G O"), phones(""), words("다음")] {
            assert!(lexicon.pronounce(&say("x", &[bad])).is_err());
        }
        assert!(lexicon.pronounce(&say("x", &[])).is_err());
        // What failed has changed nothing.
        assert!(!lexicon.sounds(["x"])["x"].is_empty());
    }
}
