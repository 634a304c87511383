//! Sentences as the tokens of the third network, and many of them as one tree.

use std::collections::HashMap;

/// Byte pair encoding: of neighbours those are joined first whose token has the lowest
/// number (R. Sennrich and others 2016).
#[derive(Debug, Clone)]
pub(super) struct Tokens {
    number: HashMap<String, u32>,
}

impl Tokens {
    /// The name of each token in the order of their numbers; all single bytes are among them.
    pub fn new(names: &[String]) -> Self {
        let number = names.iter().zip(0..).map(|(n, k)| (n.clone(), k));
        Self {
            number: number.collect(),
        }
    }

    /// As the network writes a sentence: with a capital and a full stop.
    pub fn of(&self, sentence: &str) -> Vec<u32> {
        let mut letters = sentence.chars();
        let capital = letters.next().map(|c| c.to_ascii_uppercase());
        let written: String = " ".chars().chain(capital).chain(letters).collect();
        let pieces = pieces(&written);
        let words = pieces.iter().map(String::as_str).chain(["."]);
        words.flat_map(|word| self.word(word)).collect()
    }

    fn word(&self, word: &str) -> Vec<u32> {
        let mut parts: Vec<String> = word.bytes().map(|b| named(b).to_string()).collect();
        loop {
            let joined = |at: usize| {
                let pair = parts.get(at..at + 2)?.concat();
                Some((*self.number.get(&pair)?, at))
            };
            let Some((_, at)) = (0..parts.len()).filter_map(joined).min() else {
                break;
            };
            let second = parts.remove(at + 1);
            if let Some(first) = parts.get_mut(at) {
                first.push_str(&second);
            }
        }
        let number = |part| self.number.get(part).copied().unwrap_or_default();
        parts.iter().map(number).collect()
    }
}

/// A sentence cut where no token may go across: letters with the space before them, other
/// signs, and the endings that follow an apostrophe.
fn pieces(written: &str) -> Vec<String> {
    const ENDINGS: [&str; 7] = ["'re", "'ve", "'ll", "'s", "'t", "'m", "'d"];
    let mut pieces = Vec::new();
    let mut rest = written;
    while let Some(first) = rest.chars().next() {
        let ending = ENDINGS.iter().find(|e| rest.starts_with(**e));
        let letters = |c: char| c.is_ascii_alphabetic();
        let after = rest.trim_start_matches(' ');
        let kind = after.chars().next().is_some_and(letters);
        let gap = rest.len() - after.len();
        let same = after.find(|c: char| c == ' ' || letters(c) != kind);
        let upto = match ending {
            Some(ending) => ending.len(),
            None => gap + same.unwrap_or(after.len()),
        };
        let (piece, then) = rest.split_at(upto.max(first.len_utf8()));
        pieces.push(piece.to_owned());
        rest = then;
    }
    pieces
}

/// How the vocabulary names a byte: as the letter of that number, or, where that would not
/// be seen, as the next letter from number 256 on.
fn named(byte: u8) -> char {
    let seen = |b: u8| matches!(b, b'!'..=b'~' | 0xa1..=0xac | 0xae..=0xff);
    if seen(byte) {
        return char::from(byte);
    }
    let unseen = (0..byte).filter(|&b| !seen(b)).count();
    char::from_u32(256 + unseen as u32).unwrap_or('?')
}

/// A token under those before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Node {
    pub token: u32,
    pub parent: Option<usize>,
    pub depth: usize,
}

/// Sentences with their common beginnings told once.
#[derive(Debug)]
pub(super) struct Tree {
    pub nodes: Vec<Node>,
    /// For each sentence, its tokens and the node that each follows.
    pub sentences: Vec<Vec<(usize, u32)>>,
}

impl Tree {
    /// All of them follow the tokens of `told`.
    pub fn new(told: &[u32], sentences: &[Vec<u32>]) -> Self {
        let mut tree = Self {
            nodes: Vec::new(),
            sentences: Vec::new(),
        };
        let mut root = None;
        for &token in told {
            root = Some(tree.under(root, token));
        }
        for tokens in sentences {
            let mut at = root;
            let mut followed = Vec::new();
            for (n, &token) in tokens.iter().enumerate() {
                followed.extend(at.map(|at| (at, token)));
                // Nothing follows the last.
                if n + 1 < tokens.len() {
                    at = Some(tree.under(at, token));
                }
            }
            tree.sentences.push(followed);
        }
        tree
    }

    fn under(&mut self, parent: Option<usize>, token: u32) -> usize {
        let known = (self.nodes.iter()).position(|n| n.parent == parent && n.token == token);
        known.unwrap_or_else(|| {
            let depth = parent.and_then(|p| self.nodes.get(p));
            let depth = depth.map_or(0, |p| p.depth + 1);
            self.nodes.push(Node {
                token,
                parent,
                depth,
            });
            self.nodes.len() - 1
        })
    }

    /// For each node a row: 0 for itself and those before it, `hidden` for the others.
    pub fn mask(&self, hidden: f32) -> Vec<f32> {
        let size = self.nodes.len();
        let mut mask = vec![hidden; size * size];
        for (row, at) in mask.chunks_exact_mut(size.max(1)).zip(0..) {
            let mut at = Some(at);
            while let Some(node) = at {
                if let Some(cell) = row.get_mut(node) {
                    *cell = 0.0;
                }
                at = self.nodes.get(node).and_then(|n| n.parent);
            }
        }
        mask
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_cut_as_the_vocabulary_was_made() {
        assert_eq!(pieces(" Flip it"), [" Flip", " it"]);
        assert_eq!(
            pieces(" Where's o'clock"),
            [" Where", "'s", " o", "'", "clock"]
        );
        assert_eq!(pieces(" Pre-heat"), [" Pre", "-", "heat"]);
        assert_eq!(pieces(" Crème"), [" Cr", "è", "me"]);
        assert!(pieces("").is_empty());
    }

    #[test]
    fn bytes_have_names_of_their_own() {
        let names: std::collections::HashSet<char> = (0..=255).map(named).collect();
        assert_eq!(names.len(), 256);
        assert_eq!((named(b'a'), named(b' '), named(0)), ('a', 'Ġ', 'Ā'));
    }

    #[test]
    fn the_lowest_number_is_joined_first() {
        let bytes = (0..=255).map(|b| named(b).to_string());
        let joined = ["Ġt", "he", "Ġthe", "th"].map(str::to_owned);
        let tokens = Tokens::new(&bytes.chain(joined).collect::<Vec<_>>());
        // "Ġt" and "he" come before "th", and together they are "Ġthe".
        assert_eq!(tokens.word(" the"), [258]);
        assert_eq!(tokens.word("the"), [u32::from(b't'), 257]);
    }

    #[test]
    fn what_begins_alike_is_told_once() {
        let tree = Tree::new(&[90, 91], &[vec![1, 2, 3], vec![1, 2, 4], vec![5]]);
        let tokens: Vec<u32> = tree.nodes.iter().map(|n| n.token).collect();
        assert_eq!(tokens, [90, 91, 1, 2]);
        assert_eq!(tree.sentences[0], [(1, 1), (2, 2), (3, 3)]);
        assert_eq!(tree.sentences[1], [(1, 1), (2, 2), (3, 4)]);
        assert_eq!(tree.sentences[2], [(1, 5)]);
        assert_eq!(tree.nodes[3].depth, 3);
        let apart = Tree::new(&[90], &[vec![1, 2], vec![3, 4]]);
        assert_eq!(
            apart.mask(-1.0),
            [0.0, -1.0, -1.0, 0.0, 0.0, -1.0, 0.0, -1.0, 0.0]
        );
        assert!(Tree::new(&[], &[]).mask(-1.0).is_empty());
    }
}
