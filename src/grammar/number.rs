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

impl Sum {
    /// Takes a tag; false if it is not a number tag or goes beyond all reason.
    pub fn take(&mut self, tag: &str) -> bool {
        let (sign, digits) = match tag.split_at_checked(1) {
            Some(parts) => parts,
            None => return false,
        };
        let Some(amount) = thousandths(digits) else {
            return false;
        };
        let next = match sign {
            "+" => self
                .open
                .checked_add(amount)
                .map(|open| Sum { open, ..*self }),
            "*" => {
                let factor = if self.open == 0 { 1000 } else { self.open };
                factor
                    .checked_mul(amount)
                    .and_then(|product| self.done.checked_add(product / 1000))
                    .map(|done| Sum {
                        done,
                        open: 0,
                        ..*self
                    })
            }
            _ => return false,
        };
        match next {
            Some(sum) if sum.done.checked_add(sum.open).is_some() => {
                *self = Sum { begun: true, ..sum };
                true
            }
            _ => false,
        }
    }

    pub(crate) fn take_marks(&mut self, marks: &[Mark]) {
        for mark in marks {
            if let Mark::Tag { text, .. } | Mark::Close { text } = mark {
                self.take(text);
            }
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
    let whole: i64 = whole.parse().ok()?;
    let part: i64 = format!("{part:0<3}").parse().ok()?;
    Some(whole * 1000 + part)
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
