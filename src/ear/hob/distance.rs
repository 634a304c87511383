//! How far the phones heard lie from those of words: fewest to add, drop or change to make one
//! of the other (Levenshtein 1966).

use crate::ear::lexicon::Sounds;

/// From all of `a` to all of `b`.
pub fn phone_distance(a: &[u8], b: &[u8]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for &phone in a {
        advance(&mut row, phone, b);
    }
    row.last().copied().unwrap_or(a.len())
}

/// From words, each said in one of its ways, to whatever stretch of `heard` is nearest, and
/// the phones of their shortest ways.
pub fn nearest_stretch(words: &[&[Sounds]], heard: &[u8]) -> (usize, usize) {
    // It may begin anywhere, and end anywhere.
    let mut row = vec![0; heard.len() + 1];
    for ways in words {
        let after: Vec<Vec<usize>> = ways.iter().map(|way| along(&row, way, heard)).collect();
        for (place, cell) in row.iter_mut().enumerate() {
            let least = after.iter().filter_map(|row| row.get(place)).min();
            *cell = least.copied().unwrap_or(*cell);
        }
    }
    let shortest = |ways: &&[Sounds]| ways.iter().map(|way| way.len()).min().unwrap_or(0);
    let phones = words.iter().map(shortest).sum();
    (row.into_iter().min().unwrap_or(phones), phones)
}

/// The share of `phones`, from 0 to 1, that some stretch of `heard` has in their order.
pub fn share_within(phones: &[u8], heard: &[u8]) -> f32 {
    let (distance, of) = nearest_stretch(&[&[phones.into()]], heard);
    (1.0 - distance as f32 / of.max(1) as f32).max(0.0)
}

fn along(row: &[usize], way: &[u8], heard: &[u8]) -> Vec<usize> {
    let mut row = row.to_vec();
    for &phone in way {
        advance(&mut row, phone, heard);
    }
    row
}

/// The distances to every beginning of `heard`, with one more phone before them.
fn advance(row: &mut [usize], phone: u8, heard: &[u8]) {
    let mut diagonal = row.first().copied().unwrap_or(0);
    let mut left = diagonal + 1;
    if let Some(first) = row.first_mut() {
        *first = left;
    }
    for (cell, &other) in row.iter_mut().skip(1).zip(heard) {
        let here = (*cell + 1)
            .min(left + 1)
            .min(diagonal + usize::from(phone != other));
        diagonal = std::mem::replace(cell, here);
        left = here;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "kitten" → "sitting" takes 3: the textbook example (Jurafsky and Martin, Speech
    /// and Language Processing, use "intention" → "execution", 5 at unit costs).
    #[test]
    fn distances_are_the_textbooks() {
        assert_eq!(phone_distance(b"kitten", b"sitting"), 3);
        assert_eq!(phone_distance(b"intention", b"execution"), 5);
        assert_eq!(phone_distance(b"", b"abc"), 3);
        assert_eq!(phone_distance(b"abc", b""), 3);
    }

    /// "survey" and "surgery" is the example of approximate string matching (Navarro, A Guided
    /// Tour to Approximate String Matching, 2001): 2.
    #[test]
    fn a_stretch_may_lie_anywhere_and_words_be_said_in_any_of_their_ways() {
        let ways = |these: &[&[u8]]| -> Vec<Sounds> {
            these.iter().map(|&way| Sounds::from(way)).collect()
        };
        let survey = ways(&[b"survey"]);
        assert_eq!(nearest_stretch(&[&survey], b"surgery"), (2, 6));
        assert_eq!(nearest_stretch(&[&survey], b"the surgery is over"), (2, 6));
        let (one, two) = (ways(&[b"abc", b"xy"]), ways(&[b"de", b"fgh"]));
        assert_eq!(nearest_stretch(&[&one, &two], b"00xyfgh00"), (0, 4));
        assert_eq!(nearest_stretch(&[&one, &two], b""), (4, 4));
        assert_eq!(nearest_stretch(&[], b"abc"), (0, 0));
    }
}
