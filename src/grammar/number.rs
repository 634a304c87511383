//! Numbers out of tags, the same for every language.
//!
//! A number rule marks its words with sums and products; nothing else is known here
//! about how a language counts:
//!
//! | tag | means |
//! | --- | --- |
//! | `{+50}`, `{+0.5}` | add to what has been said since the last product |
//! | `{*100}` | multiply that by 100 (one hundred, if nothing has been said) |
//!
//! "one hundred and sixty two": `+1 *100 +60 +2`; "one fifty": `+100 +50`;
//! "백 오 십 이": `*100 +5 *10 +2`. Sums are exact: they are counted in thousandths.

use super::automaton::Mark;

/// A number while it is being said.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sum {
    /// Thousandths: finished products, and what is still open to a product.
    done: i64,
    open: i64,
    begun: bool,
}

/// What one number tag does to a sum, in thousandths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    Add(i64),
    Times(i64),
}

impl Step {
    /// The step that a tag stands for, if it is a number tag.
    pub fn of(tag: &str) -> Option<Step> {
        let (sign, digits) = tag.split_at_checked(1)?;
        match sign {
            "+" => thousandths(digits).map(Step::Add),
            "*" => thousandths(digits).map(Step::Times),
            _ => None,
        }
    }

    /// The steps of a list of marks, in order.
    pub(crate) fn all(marks: &[Mark]) -> Vec<Step> {
        marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Tag { text, .. } | Mark::Close { text } => Step::of(text),
                Mark::Open => None,
            })
            .collect()
    }
}

impl Sum {
    /// Takes a tag; false if it is no number tag or goes beyond all reason.
    pub fn take(&mut self, tag: &str) -> bool {
        Step::of(tag).is_some_and(|step| self.step(step))
    }

    /// Takes a step; false, and nothing changed, if it goes beyond all reason.
    pub fn step(&mut self, step: Step) -> bool {
        let next = match step {
            Step::Add(amount) => self.open.checked_add(amount).map(|open| (self.done, open)),
            Step::Times(factor) => {
                let open = if self.open == 0 { 1000 } else { self.open };
                open.checked_mul(factor)
                    .and_then(|product| self.done.checked_add(product / 1000))
                    .map(|done| (done, 0))
            }
        };
        match next {
            Some((done, open)) if done.checked_add(open).is_some() => {
                *self = Sum {
                    done,
                    open,
                    begun: true,
                };
                true
            }
            _ => false,
        }
    }

    /// Thousandths of what was said; nothing if no number was.
    pub fn value(&self) -> Option<i64> {
        self.begun.then(|| self.done.saturating_add(self.open))
    }
}

/// A plain decimal number as thousandths; at most three places and nine digits before.
pub fn thousandths(text: &str) -> Option<i64> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let plain = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || !plain(whole) || !plain(part) || whole.len() > 9 || part.len() > 3 {
        return None;
    }
    let value = |s: &str| s.bytes().fold(0, |n, b| n * 10 + i64::from(b - b'0'));
    let places = [1000, 100, 10, 1];
    let scale = places.get(part.len())?;
    Some(value(whole) * 1000 + value(part) * scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum(tags: &str) -> Option<i64> {
        let mut sum = Sum::default();
        for tag in tags.split(' ') {
            assert!(sum.take(tag), "{tag}");
        }
        sum.value()
    }

    #[test]
    fn sums_and_products() {
        assert_eq!(sum("+1 *100 +60 +2"), Some(162_000));
        assert_eq!(sum("+100 +50"), Some(150_000));
        assert_eq!(sum("*100 +5 *10 +2"), Some(152_000));
        assert_eq!(sum("+2 *1000 +3 *100 +5"), Some(2_305_000));
        assert_eq!(sum("+30 +2 +0.5"), Some(32_500));
        assert_eq!(sum("+0"), Some(0));
        assert_eq!(Sum::default().value(), None);
    }

    #[test]
    fn other_tags_are_not_numbers() {
        let mut s = Sum::default();
        for tag in [
            "",
            "next",
            "+",
            "*",
            "+x",
            "+-5",
            "+1e9",
            "é1",
            "+1.2345",
            "+9999999999",
        ] {
            assert!(!s.take(tag), "{tag}");
        }
        assert_eq!(s.value(), None);
    }

    #[test]
    fn products_beyond_reason_change_nothing() {
        let mut s = Sum::default();
        assert!(s.take("+999999999"));
        for _ in 0..40 {
            s.take("*999999999");
            s.take("+999999999");
        }
        assert!(s.value().is_some());
    }
}
