//! Near misses: what somebody says where the grammar has only sentences that differ from it
//! by a word, so that the best of them is never what was said.
//!
//! Talk differs from every call by so much that a confidence fitted on it and on calls takes
//! "how long is left" for "chef how long is left".

use hobcall::grammar::Grammar;

use crate::engine::{self, Engine};
use crate::score;
use crate::set::Item;
use crate::sound;

/// Words so short or so swallowed that a cook may leave them out and mean the same.
const SLIGHT: [&str; 44] = [
    "a", "an", "the", "of", "to", "and", "or", "in", "on", "at", "for", "is", "it", "as", "that",
    "from", "be", "was", "were", "are", "am", "i", "you", "he", "she", "we", "they", "my", "your",
    "his", "her", "its", "our", "us", "me", "this", "these", "those", "by", "do", "did", "will",
    "has", "have",
];
/// Words to call a listener by, or that somebody calls another.
const NAMES: [&str; 6] = ["chef", "kitchen", "robin", "please", "darling", "okay"];
/// The sentences of one grammar out of this many; the others stand in it as they are.
const FOLDS: usize = 4;

/// Signal to noise, dB; none is clean.
const LEVELS: [Option<f32>; 4] = [None, Some(20.0), Some(10.0), Some(5.0)];

/// Hears every call of `items` against a grammar that lacks it, for its evidence.
pub fn hear(
    ear: &mut dyn Engine,
    items: &[Item],
    babble: &[Vec<f32>],
    file: &mut Option<std::fs::File>,
) -> Result<(), String> {
    let calls: Vec<&Item> = items.iter().filter(|i| !i.talk).collect();
    if calls.is_empty() {
        return Ok(());
    }
    let (mut taken, mut all) = (0, 0);
    for (grammar, gone) in misses(&calls)? {
        ear.set_grammar(&grammar)?;
        let (mut sounds, mut spots) = (Vec::new(), Vec::new());
        for (n, item) in gone.iter().enumerate() {
            let speech = engine::read(&item.file)?;
            for (level, snr) in LEVELS.iter().enumerate() {
                let place = if (n + level) % 2 == 1 { "room" } else { "dry" };
                let speech = match place {
                    "room" => sound::room(&speech, n as u64),
                    _ => speech.clone(),
                };
                let kind = sound::NOISES[(n / 2 + level) % sound::NOISES.len()];
                let noise =
                    sound::noise(kind, speech.len() + 22_400, (n * 5 + level) as u64, babble);
                sounds.push(sound::mix(&speech, &noise, *snr));
                spots.push(serde_json::json!({
                    "kind": "near", "said": item.words, "voice": item.voice, "human": item.human,
                    "noise": kind, "snr": snr, "place": place,
                }));
            }
        }
        for (heard, about) in ear.hear(&sounds)?.iter().zip(&spots) {
            for (h, e) in heard {
                all += 1;
                taken += u32::from(!h.words.is_empty());
                score::record(file, h, e, &grammar, about)?;
            }
        }
    }
    println!("near misses: {taken} of {all} utterances taken for a sentence a word away");
    Ok(())
}

/// Grammars with the items that each of them lacks.
fn misses<'a>(items: &[&'a Item]) -> Result<Vec<(Grammar, Vec<&'a Item>)>, String> {
    let said: Vec<&str> = items.iter().map(|i| i.words.as_str()).collect();
    (0..FOLDS)
        .map(|fold| {
            let lacking = |n: &usize| n % FOLDS == fold;
            let mut sentences: Vec<String> = Vec::new();
            for (n, words) in said.iter().enumerate() {
                // The same may be said twice, in and outside the fold.
                if (0..said.len()).any(|m| lacking(&m) && said.get(m) == Some(words)) {
                    sentences.extend(changed(words, n, &said));
                } else {
                    sentences.push((*words).to_owned());
                }
            }
            let gone: Vec<&'a Item> = items
                .iter()
                .enumerate()
                .filter(|(n, _)| lacking(n))
                .map(|(_, i)| *i)
                .collect();
            sentences.retain(|s| gone.iter().all(|i| i.words != *s));
            sentences.sort_unstable();
            sentences.dedup();
            let text = format!(
                "#JSGF V1.0;\ngrammar near;\npublic <sentence> = {};\n",
                sentences.join(" | ")
            );
            let grammar = Grammar::from_jsgf(&text, "near").map_err(|e| e.to_string())?;
            Ok((grammar, gone))
        })
        .collect()
}

/// Two sentences that `words` is not: of a weighty word less, a name more, another word.
fn changed(words: &str, n: usize, said: &[&str]) -> Vec<String> {
    let all: Vec<&str> = words.split(' ').collect();
    let weighty: Vec<usize> = (0..all.len())
        .filter(|&k| {
            all.get(k)
                .is_some_and(|w| !SLIGHT.contains(w) && *w != "oh")
        })
        .collect();
    let spot = weighty.get(n % weighty.len().max(1)).copied();
    let less = spot.filter(|_| all.len() > 1).map(|spot| {
        let kept = all.iter().enumerate().filter(|(k, _)| *k != spot);
        kept.map(|(_, w)| *w).collect::<Vec<_>>().join(" ")
    });
    let more = NAMES.get(n % NAMES.len()).map(|name| {
        if n.is_multiple_of(2) {
            format!("{name} {words}")
        } else {
            format!("{words} {name}")
        }
    });
    let other = said
        .iter()
        .cycle()
        .skip(n * 7 + 1)
        .take(said.len())
        .flat_map(|s| s.split(' '))
        .find(|w| !SLIGHT.contains(w) && !all.contains(w) && !spoken_alike(w, &all));
    let exchanged = spot.zip(other).map(|(spot, other)| {
        let mut new = all.clone();
        if let Some(word) = new.get_mut(spot) {
            *word = other;
        }
        new.join(" ")
    });
    let mut three: Vec<String> = [less, more, exchanged].into_iter().flatten().collect();
    // Two are enough to be near, and all kinds come up in turn.
    if three.len() > 2 {
        three.remove(n % 3);
    }
    three
}

/// "fifteen" for "fifty": every grammar has both, and then the better one wins.
fn spoken_alike(word: &str, among: &[&str]) -> bool {
    let start = |w: &str| w.chars().take(3).collect::<String>();
    word == "oh" || among.iter().any(|w| start(w) == start(word))
}
