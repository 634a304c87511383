//! Words that the dictionary lacks but whose parts it has: plurals, possessives,
//! hyphened and joined compounds, digits; else the letters decide.

use std::collections::HashMap;

use super::spelling::Spelling;
use super::{Sounds, WAYS, number};

type Found = HashMap<String, Vec<Sounds>>;

/// Both halves of a joined compound have at least so many letters ("hob|call").
const HALF: usize = 3;

/// Everything that might have to be looked up for a lower-case word.
pub fn parts(word: &str) -> Vec<String> {
    let mut parts = vec![word.to_owned()];
    for piece in pieces(word) {
        let bare = plain(piece);
        parts.extend(stem(&bare).map(str::to_owned));
        for cut in cuts(&bare) {
            parts.push(bare[..cut].to_owned());
            parts.push(bare[cut..].to_owned());
        }
        parts.push(piece.to_owned());
        parts.push(bare);
    }
    parts
}

/// All ways to say a lower-case word.
pub fn sounds(word: &str, found: &Found, spelling: &Spelling) -> Vec<Sounds> {
    if let Some(ways) = found.get(word) {
        return ways.clone();
    }
    let mut ways: Vec<Sounds> = vec![Box::from([])];
    for piece in pieces(word) {
        let next = piece_sounds(piece, found, spelling);
        if next.is_empty() {
            return Vec::new();
        }
        ways = join(&ways, &next);
    }
    ways.retain(|w| !w.is_empty());
    ways
}

/// Letters and digits, apart; what stands between them is silent.
fn pieces(word: &str) -> impl Iterator<Item = &str> {
    word.split(|c: char| !(c.is_alphanumeric() || c == '\'' || c == '’'))
        .flat_map(|run| {
            let mut out = Vec::new();
            let mut rest = run;
            while let Some(first) = rest.chars().next() {
                let digit = first.is_ascii_digit();
                let end = if digit {
                    first.len_utf8()
                } else {
                    rest.find(|c: char| c.is_ascii_digit())
                        .unwrap_or(rest.len())
                };
                let (piece, after) = rest.split_at(end);
                out.push(piece);
                rest = after;
            }
            out
        })
        .filter(|piece| piece.chars().any(char::is_alphanumeric))
}

/// Accents off, as English speakers read them.
fn plain(piece: &str) -> String {
    piece
        .chars()
        .map(|c| match c {
            'à' | 'á' | 'â' | 'ä' | 'ã' | 'å' => 'a',
            'ç' => 'c',
            'è' | 'é' | 'ê' | 'ë' => 'e',
            'ì' | 'í' | 'î' | 'ï' => 'i',
            'ñ' => 'n',
            'ò' | 'ó' | 'ô' | 'ö' | 'õ' | 'ø' => 'o',
            'ù' | 'ú' | 'û' | 'ü' => 'u',
            'ý' | 'ÿ' => 'y',
            '’' => '\'',
            c => c,
        })
        .collect()
}

/// Without the ending of a plural or possessive.
fn stem(word: &str) -> Option<&str> {
    ["'s", "s'", "s"]
        .into_iter()
        .find_map(|ending| word.strip_suffix(ending))
        .filter(|stem| stem.len() >= 2 && stem.is_ascii())
}

fn cuts(word: &str) -> impl Iterator<Item = usize> {
    let letters = word.bytes().all(|b| b.is_ascii_lowercase());
    let end = if letters {
        (word.len() + 1).saturating_sub(HALF)
    } else {
        0
    };
    HALF..end.max(HALF)
}

fn piece_sounds(piece: &str, found: &Found, spelling: &Spelling) -> Vec<Sounds> {
    if let Some(digit) = digit(piece) {
        return digit;
    }
    let bare = plain(piece);
    if let Some(ways) = found.get(piece).or_else(|| found.get(&bare)) {
        return ways.clone();
    }
    if let Some(stem) = stem(&bare) {
        let ways = match found.get(stem) {
            Some(ways) => ways.clone(),
            None if bare.contains('\'') => spelling.sounds(stem),
            None => Vec::new(),
        };
        if !ways.is_empty() {
            return ways.iter().map(|w| with_s(w)).collect();
        }
    }
    // The most even cut into two known words.
    let mut halves: Vec<usize> = cuts(&bare)
        .filter(|&c| found.contains_key(&bare[..c]) && found.contains_key(&bare[c..]))
        .collect();
    halves.sort_by_key(|&c| (2 * c).abs_diff(bare.len()));
    let mut ways = Vec::new();
    if let Some(&cut) = halves.first()
        && let (Some(a), Some(b)) = (found.get(&bare[..cut]), found.get(&bare[cut..]))
    {
        ways = join(a, b);
        ways.truncate(3);
    }
    for way in spelling.sounds(&bare.replace('\'', "")) {
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
    ways
}

fn digit(piece: &str) -> Option<Vec<Sounds>> {
    let said = match piece {
        "0" => "Z IH R OW",
        "1" => "W AH N",
        "2" => "T UW",
        "3" => "TH R IY",
        "4" => "F AO R",
        "5" => "F AY V",
        "6" => "S IH K S",
        "7" => "S EH V AH N",
        "8" => "EY T",
        "9" => "N AY N",
        _ => return None,
    };
    number(said).ok().map(|s| vec![s])
}

fn join(first: &[Sounds], second: &[Sounds]) -> Vec<Sounds> {
    let mut out = Vec::new();
    for a in first {
        for b in second {
            if out.len() < WAYS {
                out.push(a.iter().chain(b.iter()).copied().collect());
            }
        }
    }
    out
}

/// The regular ending: voiced after a voiced sound, with a vowel after a sibilant.
fn with_s(word: &[u8]) -> Sounds {
    let is = |names: &str| {
        number(names).is_ok_and(|set| word.last().is_some_and(|last| set.contains(last)))
    };
    let ending = if is("S Z SH ZH CH JH") {
        "IH Z"
    } else if is("P T K F TH") {
        "S"
    } else {
        "Z"
    };
    let ending = number(ending).unwrap_or_default();
    word.iter().chain(ending.iter()).copied().collect()
}
