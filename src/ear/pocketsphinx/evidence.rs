//! Call or talk? The grammar's sentence against a free hearing of phones.

use super::ffi::Segment;

/// What speaks for and against the best sentence.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Evidence {
    /// Share of the sentence's sounds found in the phones heard, 0 to 1.
    pub agreement: f32,
    /// Share of the phones heard that the sentence's words account for, 0 to 1.
    pub coverage: f32,
    /// Log-likelihood a frame by which the free hearing is better.
    pub shortfall: f32,
    /// Phones a second in the sentence.
    pub pace: f32,
    /// Phones in the sentence.
    pub phones: usize,
}

impl Evidence {
    pub(super) fn weigh(wanted: &[String], calls: &[Segment], heard: &[Segment]) -> Self {
        if wanted.is_empty() {
            return Self::default();
        }
        let frames = |s: &Segment| (s.to - s.from + 1).max(0);
        let spoken: Vec<&Segment> = heard
            .iter()
            .filter(|s| !super::is_filler(&s.word))
            .collect();
        let words: Vec<&Segment> = calls
            .iter()
            .filter(|s| !super::is_filler(&s.word))
            .collect();
        let free: Vec<&str> = spoken.iter().map(|s| s.word.as_str()).collect();
        let want: Vec<&str> = wanted.iter().map(String::as_str).collect();
        let agreement = 1.0 - distance(&want, &free) / want.len().max(free.len()).max(1) as f32;
        let inside = spoken
            .iter()
            .filter(|p| words.iter().any(|w| w.from <= p.to && p.from <= w.to))
            .count();
        let score = |s: &[Segment]| s.iter().map(|s| f64::from(s.score)).sum::<f64>();
        let total: i32 = heard.iter().map(frames).sum();
        let word_frames: i32 = words.iter().map(|s| frames(s)).sum();
        Self {
            agreement,
            coverage: inside as f32 / spoken.len().max(1) as f32,
            shortfall: ((score(heard) - score(calls)) / f64::from(total.max(1))) as f32,
            pace: wanted.len() as f32 * 100.0 / word_frames.max(1) as f32,
            phones: wanted.len(),
        }
    }

    /// Probability from 0 to 1 that this was a call at all: a logistic function fitted
    /// to 298 calls and 135 other utterances of six synthetic voices in pink noise 30 dB
    /// below them, and ten recordings of two people reading (none of them ours).
    pub fn is_a_call(&self) -> f32 {
        let x = -8.58 + 12.32 * self.agreement + 8.25 * self.coverage - 0.2507 * self.shortfall
            + 0.75 * (self.phones.max(1) as f32).ln()
            - 0.41 * (self.pace - USUAL_PACE).abs();
        1.0 / (1.0 + (-x).exp())
    }
}

/// Phones a second of an unhurried speaker (median of the fit's calls).
const USUAL_PACE: f32 = 11.0;

/// Edit distance; exchanging a sound for one of its kind costs half.
fn distance(a: &[&str], b: &[&str]) -> f32 {
    let mut row: Vec<f32> = (0..=b.len()).map(|n| n as f32).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = i as f32;
        let mut left = (i + 1) as f32;
        let mut fresh = vec![left];
        for (y, pair) in b.iter().zip(row.windows(2)) {
            let up = pair.get(1).copied().unwrap_or(f32::MAX);
            let here = (diagonal + exchange(x, y)).min(left + 1.0).min(up + 1.0);
            diagonal = up;
            left = here;
            fresh.push(here);
        }
        row = fresh;
    }
    row.last().copied().unwrap_or(0.0)
}

fn exchange(a: &str, b: &str) -> f32 {
    if a == b {
        0.0
    } else if kind(a) == kind(b) {
        0.5
    } else {
        1.0
    }
}

/// Manner classes of the phones (vowels, stops, fricatives, nasals, glides), as any
/// phonetics primer groups them.
fn kind(phone: &str) -> u8 {
    match phone {
        "P" | "T" | "K" | "B" | "D" | "G" | "CH" | "JH" => 1,
        "F" | "V" | "TH" | "DH" | "S" | "Z" | "SH" | "ZH" | "HH" => 2,
        "M" | "N" | "NG" => 3,
        "L" | "R" | "W" | "Y" => 4,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `score`: log-likelihood a frame.
    fn segments(score: i32, words: &[(&str, i32, i32)]) -> Vec<Segment> {
        words
            .iter()
            .map(|&(word, from, to)| Segment {
                word: word.to_owned(),
                from,
                to,
                score: score * (to - from + 1),
            })
            .collect()
    }

    #[test]
    fn distances_counted_by_hand() {
        assert_eq!(distance(&[], &[]), 0.0);
        assert_eq!(distance(&["N", "OW"], &["N", "OW"]), 0.0);
        // One vowel for another, one sound too many, one for another of another kind.
        assert_eq!(distance(&["N", "OW"], &["N", "UW"]), 0.5);
        assert_eq!(distance(&["N", "OW"], &["N", "OW", "T"]), 1.0);
        assert_eq!(distance(&["N", "OW"], &["S", "OW"]), 1.0);
        assert_eq!(distance(&["K", "AE", "T"], &[]), 3.0);
    }

    #[test]
    fn a_call_that_fits_is_believed_and_talk_around_it_is_not() {
        let wanted: Vec<String> = ["N", "EH", "K", "S", "T"].map(str::to_owned).into();
        let calls = segments(
            -112,
            &[("<sil>", 0, 9), ("next", 10, 54), ("<sil>", 55, 80)],
        );
        let fits = segments(
            -100,
            &[
                ("SIL", 0, 9),
                ("N", 10, 18),
                ("EH", 19, 28),
                ("K", 29, 36),
                ("S", 37, 46),
                ("T", 47, 54),
                ("SIL", 55, 80),
            ],
        );
        let call = Evidence::weigh(&wanted, &calls, &fits);
        assert_eq!((call.agreement, call.coverage, call.phones), (1.0, 1.0, 5));
        assert!(call.is_a_call() > 0.95, "{}", call.is_a_call());

        // The same word in the middle of a longer sentence.
        let mut talk = fits.clone();
        let more = ["W", "IY", "G", "OW", "DH", "EH", "R"];
        talk.extend(segments(
            -100,
            &more
                .iter()
                .enumerate()
                .map(|(n, p)| (*p, 81 + 8 * n as i32, 88 + 8 * n as i32))
                .collect::<Vec<_>>(),
        ));
        let calls = segments(
            -130,
            &[("<sil>", 0, 9), ("next", 10, 54), ("<sil>", 55, 136)],
        );
        let talk = Evidence::weigh(&wanted, &calls, &talk);
        assert!(talk.coverage < 0.5);
        assert!(talk.is_a_call() < 0.1, "{}", talk.is_a_call());
    }

    #[test]
    fn nothing_heard_is_not_a_call() {
        let nothing = Evidence::weigh(&[], &[], &[]);
        assert!(nothing.is_a_call() < 0.01);
    }
}
