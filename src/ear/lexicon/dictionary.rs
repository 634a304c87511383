//! The packed dictionary. `models/lexicon-en.bin`, made by `scripts/make-lexicon.py`,
//! which describes the format.

use std::collections::HashMap;
use std::io::Read;

use super::Sounds;

const PACKED: &[u8] = include_bytes!("../../../models/lexicon-en.bin");

const OTHER_WAY: u8 = 254;
const END: u8 = 255;

/// Sounds of those of `wanted` (sorted, lower case) that the dictionary has. Unpacks it
/// on the fly, about 20 ms, and keeps nothing of it.
///
/// # Errors
/// The embedded table is damaged.
pub fn look_up(wanted: &[String]) -> Result<HashMap<String, Vec<Sounds>>, String> {
    let mut out = HashMap::new();
    if wanted.is_empty() {
        return Ok(out);
    }
    let mut table = Vec::new();
    flate2::read::DeflateDecoder::new(PACKED)
        .read_to_end(&mut table)
        .map_err(|e| format!("the pronouncing dictionary is damaged: {e}"))?;
    let mut wanted = wanted.iter().peekable();
    let mut word = Vec::new();
    let mut rest = table.as_slice();
    while let Some((&shared, after)) = rest.split_first() {
        let letters = until(after, 0).ok_or("the pronouncing dictionary breaks off")?;
        word.truncate(usize::from(shared));
        word.extend_from_slice(letters);
        let after = after.get(letters.len() + 1..).unwrap_or_default();
        let sounds = until(after, END).ok_or("the pronouncing dictionary breaks off")?;
        rest = after.get(sounds.len() + 1..).unwrap_or_default();
        while wanted.next_if(|w| w.as_bytes() < word.as_slice()).is_some() {}
        match wanted.peek() {
            None => break,
            Some(w) if w.as_bytes() == word.as_slice() => {
                let ways = sounds
                    .split(|&b| b == OTHER_WAY)
                    .map(Sounds::from)
                    .collect();
                out.insert((*w).clone(), ways);
            }
            Some(_) => {}
        }
    }
    Ok(out)
}

fn until(bytes: &[u8], end: u8) -> Option<&[u8]> {
    bytes
        .split(|&b| b == end)
        .next()
        .filter(|part| part.len() < bytes.len())
}

/// Every word with its sounds, for the tests of the letter-to-sound tree.
#[cfg(test)]
pub fn every_nth(n: usize) -> Vec<(String, Vec<Sounds>)> {
    let mut table = Vec::new();
    flate2::read::DeflateDecoder::new(PACKED)
        .read_to_end(&mut table)
        .unwrap();
    let (mut out, mut word, mut rest, mut count) = (Vec::new(), Vec::new(), table.as_slice(), 0);
    while let Some((&shared, after)) = rest.split_first() {
        let letters = until(after, 0).unwrap();
        word.truncate(usize::from(shared));
        word.extend_from_slice(letters);
        let after = &after[letters.len() + 1..];
        let sounds = until(after, END).unwrap();
        rest = &after[sounds.len() + 1..];
        if count % n == 0 {
            let ways = sounds
                .split(|&b| b == OTHER_WAY)
                .map(Sounds::from)
                .collect();
            out.push((String::from_utf8(word.clone()).unwrap(), ways));
        }
        count += 1;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn has_the_dictionarys_size_and_only_phones() {
        let all = every_nth(1);
        assert!(all.len() > 120_000, "{}", all.len());
        assert!(all.is_sorted());
        for (word, ways) in &all {
            assert!(!ways.is_empty(), "{word}");
            for way in ways {
                assert!(
                    !way.is_empty() && way.iter().all(|p| (1..=39).contains(p)),
                    "{word}"
                );
            }
        }
    }

    #[test]
    fn what_it_lacks_is_left_out() {
        let wanted = ["aaaaaaa", "one", "zzzzzz"].map(str::to_owned);
        let found = look_up(&wanted).unwrap();
        assert_eq!(found.keys().collect::<Vec<_>>(), ["one"]);
    }
}
