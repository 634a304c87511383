//! What a bare call means when more than one thing is going.

use super::At;
use super::manners::{ABOUT_NOW, ADDRESSED_FOR};

/// One thing that a call could mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate<T> {
    pub what: T,
    /// When it wants the cook, if that is known.
    pub due: Option<At>,
    /// Its alarm sounds.
    pub sounds: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Pick<T> {
    None,
    One(T),
    /// Truly ambiguous: ask.
    Ask(Vec<T>),
}

/// The one that sounds; else the one spoken of last unless another is about due; else,
/// where being wrong costs little (`due_first`), the one due first.
pub fn pick<T: Copy + PartialEq>(
    all: &[Candidate<T>],
    addressed: Option<(T, At)>,
    now: At,
    due_first: bool,
) -> Pick<T> {
    let names = |set: &[Candidate<T>]| set.iter().map(|c| c.what).collect::<Vec<_>>();
    match all {
        [] => return Pick::None,
        [one] => return Pick::One(one.what),
        _ => {}
    }
    let sounding: Vec<_> = all.iter().filter(|c| c.sounds).copied().collect();
    match sounding.as_slice() {
        [] => {}
        [one] => return Pick::One(one.what),
        several => return Pick::Ask(names(several)),
    }
    let soon: Vec<_> = all
        .iter()
        .filter(|c| c.due.is_some_and(|d| d.since(now) <= ABOUT_NOW))
        .copied()
        .collect();
    let spoken = addressed
        .filter(|(what, at)| now.since(*at) <= ADDRESSED_FOR && all.iter().any(|c| c.what == *what))
        .map(|(what, _)| what);
    match (soon.as_slice(), spoken) {
        ([], Some(what)) => return Pick::One(what),
        ([one], None) => return Pick::One(one.what),
        (set, Some(what)) if set.iter().any(|c| c.what == what) => return Pick::One(what),
        ([one], Some(what)) => return Pick::Ask(vec![one.what, what]),
        _ => {}
    }
    if due_first {
        let first = all
            .iter()
            .filter_map(|c| c.due.map(|d| (d, c.what)))
            .min_by_key(|(d, _)| *d);
        if let Some((_, what)) = first {
            return Pick::One(what);
        }
    }
    Pick::Ask(names(all))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(what: char, due: Option<i64>, sounds: bool) -> Candidate<char> {
        Candidate {
            what,
            due: due.map(|s| At(s * 1000)),
            sounds,
        }
    }

    #[test]
    fn picks_as_a_line_cook_would() {
        let now = At(600_000);
        let two = [c('l', Some(700), false), c('r', Some(900), false)];
        assert_eq!(pick::<char>(&[], None, now, false), Pick::None);
        assert_eq!(pick(&two[..1], None, now, false), Pick::One('l'));
        // Spoken of a minute ago.
        assert_eq!(
            pick(&two, Some(('r', At(540_000))), now, false),
            Pick::One('r')
        );
        // Spoken of too long ago.
        assert_eq!(
            pick(&two, Some(('r', At(0))), now, false),
            Pick::Ask(vec!['l', 'r'])
        );
        assert_eq!(pick(&two, Some(('r', At(0))), now, true), Pick::One('l'));
        // One is about due and the other was spoken of: nobody can know.
        let soon = [c('l', Some(620), false), c('r', Some(900), false)];
        assert_eq!(
            pick(&soon, Some(('r', At(590_000))), now, false),
            Pick::Ask(vec!['l', 'r'])
        );
        assert_eq!(pick(&soon, None, now, false), Pick::One('l'));
        // An alarm decides, whatever was spoken of.
        let ring = [c('l', Some(620), false), c('r', Some(600), true)];
        assert_eq!(
            pick(&ring, Some(('l', At(590_000))), now, false),
            Pick::One('r')
        );
        let both = [c('l', Some(600), true), c('r', Some(600), true)];
        assert_eq!(pick(&both, None, now, true), Pick::Ask(vec!['l', 'r']));
    }
}
