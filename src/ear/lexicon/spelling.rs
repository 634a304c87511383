//! Sounds of a word from its letters alone, for names that no dictionary has.
//!
//! A tree learnt from the CMU dictionary by `scripts/make-lexicon.py` (which also says
//! how well it does on words held out): each letter becomes up to two phones, decided
//! by the letters around it, nearest first.

use std::io::Read;

use super::Sounds;

const PACKED: &[u8] = include_bytes!("../../../models/spelling-en.bin");

/// Places around the letter, in the order in which the tree asks for them.
const ORDER: [isize; 9] = [0, 1, -1, 2, -2, 3, -3, 4, -4];
const NONE: u16 = u16::MAX;

struct Node {
    letter: u8,
    class: u16,
    /// Next likely, [`NONE`] where the first is nearly always right.
    second: u16,
    children: Vec<u32>,
}

pub struct Spelling {
    classes: Vec<Box<[u8]>>,
    nodes: Vec<Node>,
}

impl Spelling {
    /// # Errors
    /// The embedded table is damaged.
    pub fn english() -> Result<Self, String> {
        let mut table = Vec::new();
        flate2::read::DeflateDecoder::new(PACKED)
            .read_to_end(&mut table)
            .map_err(|e| format!("the spelling table is damaged: {e}"))?;
        Self::read(&table).ok_or_else(|| "the spelling table breaks off".to_owned())
    }

    fn read(table: &[u8]) -> Option<Self> {
        let (count, mut rest) = table.split_first_chunk::<2>()?;
        let mut classes = Vec::new();
        for _ in 0..u16::from_le_bytes(*count) {
            let (&length, after) = rest.split_first()?;
            let (class, after) = after.split_at_checked(usize::from(length))?;
            classes.push(class.into());
            rest = after;
        }
        let mut nodes: Vec<Node> = Vec::new();
        // Depth first: the open nodes with the number of children still to come.
        let mut open: Vec<(usize, u8)> = Vec::new();
        while let Some((record, after)) = rest.split_first_chunk::<6>() {
            rest = after;
            let [letter, a, b, c, d, children] = *record;
            let number = nodes.len();
            if let Some((parent, left)) = open.last_mut() {
                nodes.get_mut(*parent)?.children.push(number as u32);
                *left -= 1;
                if *left == 0 {
                    open.pop();
                }
            }
            nodes.push(Node {
                letter,
                class: u16::from_le_bytes([a, b]),
                second: u16::from_le_bytes([c, d]),
                children: Vec::with_capacity(children.into()),
            });
            if children > 0 {
                open.push((number, children));
            }
        }
        (open.is_empty() && !nodes.is_empty()).then_some(Self { classes, nodes })
    }

    /// Likely ways to say a word of the letters a to z, the likeliest first; none when
    /// it has other letters or no sound.
    pub fn sounds(&self, word: &str) -> Vec<Sounds> {
        let letters = word.as_bytes();
        if letters.is_empty() || !letters.iter().all(u8::is_ascii_lowercase) {
            return Vec::new();
        }
        let choices: Vec<(u16, u16)> = (0..letters.len())
            .map(|i| self.decide(letters, i))
            .collect();
        let mut ways = vec![self.join(choices.iter().map(|c| c.0))];
        for (n, &(_, second)) in choices.iter().enumerate() {
            if second != NONE {
                let swapped = choices.iter().enumerate();
                ways.push(self.join(swapped.map(|(m, c)| if m == n { c.1 } else { c.0 })));
            }
        }
        ways.retain(|w| !w.is_empty());
        let mut distinct: Vec<Sounds> = Vec::new();
        for way in ways {
            if !distinct.contains(&way) {
                distinct.push(way);
            }
        }
        distinct.truncate(3);
        distinct
    }

    fn decide(&self, letters: &[u8], i: usize) -> (u16, u16) {
        let Some(mut node) = self.nodes.first() else {
            return (NONE, NONE);
        };
        for d in ORDER {
            let letter = i
                .checked_add_signed(d)
                .and_then(|at| letters.get(at))
                .copied()
                .unwrap_or(0);
            let next = node
                .children
                .iter()
                .filter_map(|&c| self.nodes.get(c as usize))
                .find(|c| c.letter == letter);
            match next {
                Some(next) => node = next,
                None => break,
            }
        }
        (node.class, node.second)
    }

    fn join(&self, classes: impl Iterator<Item = u16>) -> Sounds {
        classes
            .filter_map(|c| self.classes.get(usize::from(c)))
            .flatten()
            .copied()
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::dictionary;
    use super::*;

    fn distance(a: &[u8], b: &[u8]) -> usize {
        let mut row: Vec<usize> = (0..=b.len()).collect();
        for (i, x) in a.iter().enumerate() {
            let mut last = row[0];
            row[0] = i + 1;
            for (j, y) in b.iter().enumerate() {
                let here = (row[j + 1] + 1)
                    .min(row[j] + 1)
                    .min(last + usize::from(x != y));
                last = std::mem::replace(&mut row[j + 1], here);
            }
        }
        row[b.len()]
    }

    /// Against the CMU dictionary, which it was learnt from: it has forgotten the rare
    /// exceptions and must not have forgotten more. The figure for words that it never
    /// saw is printed when the table is made.
    #[test]
    fn most_dictionary_words_come_out_right() {
        let spelling = Spelling::english().unwrap();
        let (mut words, mut right, mut errors, mut phones) = (0, 0, 0, 0);
        for (word, ways) in dictionary::every_nth(50) {
            let said = spelling.sounds(&word);
            let Some(said) = said.first() else { continue };
            let off = ways.iter().map(|w| distance(said, w)).min().unwrap();
            words += 1;
            right += usize::from(off == 0);
            errors += off;
            phones += said.len();
        }
        assert!(words > 2_000);
        assert!(right * 100 > words * 60, "{right} of {words}");
        assert!(errors * 100 < phones * 12, "{errors} of {phones}");
    }

    #[test]
    fn only_plain_letters_are_read() {
        let spelling = Spelling::english().unwrap();
        for word in ["", "a1", "crème", "o'clock", "UPPER"] {
            assert!(spelling.sounds(word).is_empty(), "{word}");
        }
    }
}
