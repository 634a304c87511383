//! Text → pieces short enough that the first is heard at once. Pure.

/// A stretch of text that is rendered in one go, and the silence after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    pub text: String,
    /// Milliseconds of silence behind it; 0 behind the last.
    pub pause_ms: u32,
}

/// The first piece is cut at a comma already when it is longer than this (bytes).
const FIRST: usize = 48;
/// Every other piece is cut at a comma, or at a space, when it is longer than this.
const LONG: usize = 140;

/// Sentences, and in long sentences phrases, with the pauses a reader makes between
/// them. No text gives no pieces; nothing but white space is lost.
pub fn pieces(text: &str) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    for (sentence, pause) in split_after(text, &['.', '!', '?', ';', ':']) {
        let limit = if out.is_empty() { FIRST } else { LONG };
        let phrases = if sentence.len() > limit {
            split_after(&sentence, &[','])
        } else {
            vec![(sentence, pause)]
        };
        let last = phrases.len().saturating_sub(1);
        let mut held = String::new();
        for (i, (phrase, _)) in phrases.into_iter().enumerate() {
            if !held.is_empty() {
                held.push(' ');
            }
            held.push_str(&phrase);
            let long = held.len() > if out.is_empty() { FIRST / 2 } else { LONG / 2 };
            if i == last || long {
                let pause_ms = if i == last { pause } else { 120 };
                push(&mut out, std::mem::take(&mut held), pause_ms);
            }
        }
    }
    if let Some(last) = out.last_mut() {
        last.pause_ms = 0;
    }
    out
}

fn push(out: &mut Vec<Piece>, text: String, pause_ms: u32) {
    let mut rest = text.as_str();
    while rest.len() > 2 * LONG {
        let mut at = 2 * LONG;
        while !rest.is_char_boundary(at) {
            at -= 1;
        }
        let (head, _) = rest.split_at(at);
        let at = head.rfind(' ').filter(|space| *space > 0).unwrap_or(at);
        let (head, tail) = rest.split_at(at);
        out.push(Piece {
            text: head.trim().to_owned(),
            pause_ms: 0,
        });
        rest = tail.trim_start();
    }
    if !rest.trim().is_empty() {
        out.push(Piece {
            text: rest.trim().to_owned(),
            pause_ms,
        });
    }
}

/// Splits behind the marks where white space follows → each part with its pause.
fn split_after(text: &str, marks: &[char]) -> Vec<(String, u32)> {
    let mut out = Vec::new();
    let mut held = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        held.push(c);
        let ends = marks.contains(&c) && chars.peek().is_none_or(|n| n.is_whitespace());
        if ends {
            let pause = match c {
                '.' | '!' | '?' => 260,
                ';' => 180,
                _ => 120,
            };
            out.push((std::mem::take(&mut held).trim().to_owned(), pause));
        }
    }
    if !held.trim().is_empty() {
        out.push((held.trim().to_owned(), 260));
    }
    out.retain(|(s, _)| s.chars().any(char::is_alphanumeric));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn texts(s: &str) -> Vec<String> {
        pieces(s).into_iter().map(|p| p.text).collect()
    }

    #[test]
    fn sentences_and_a_short_first_piece() {
        assert_eq!(texts(""), Vec::<String>::new());
        assert_eq!(
            texts("Heard: one six two, left skillet. About six minutes."),
            ["Heard:", "one six two, left skillet.", "About six minutes."]
        );
        let long = "Lay the chops into the left skillet away from you, the test chop at the back, \
                    and start the clock.";
        assert_eq!(
            texts(long),
            [
                "Lay the chops into the left skillet away from you,",
                "the test chop at the back, and start the clock."
            ]
        );
        assert_eq!(texts("thirty two.5 degrees"), ["thirty two.5 degrees"]);
    }

    proptest! {
        #[test]
        fn no_word_is_lost_and_no_piece_is_long(s in "[a-z,.;:!? ]{0,600}") {
            let words = |t: &str| t
                .split(|c: char| !c.is_ascii_lowercase())
                .filter(|w| !w.is_empty())
                .map(str::to_owned)
                .collect::<Vec<_>>();
            let all = pieces(&s);
            // A run without any space may be cut inside.
            if s.split(' ').all(|w| w.len() < 100) {
                let back: Vec<String> = all.iter().flat_map(|p| words(&p.text)).collect();
                prop_assert_eq!(back, words(&s));
            }
            for p in &all {
                prop_assert!(p.text.len() <= 2 * LONG);
                prop_assert!(!p.text.is_empty());
            }
            if let Some(last) = all.last() {
                prop_assert_eq!(last.pause_ms, 0);
            }
        }
    }
}
