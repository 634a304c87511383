use std::fmt;

use serde::{Deserialize, Serialize};

/// A blind code: 100 to 999, said and read back digit by digit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u16", into = "u16")]
pub struct Code(u16);

#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{0} is no code: codes are the three-digit numbers on the cards")]
pub struct NotACode(pub u32);

impl Code {
    pub fn new(number: u16) -> Result<Self, NotACode> {
        if (100..=999).contains(&number) {
            Ok(Code(number))
        } else {
            Err(NotACode(number.into()))
        }
    }

    /// From digits as heard, hundreds first: `[4, 1, 7]` is 417.
    pub fn from_digits(digits: [u8; 3]) -> Result<Self, NotACode> {
        let number = digits.iter().fold(0u32, |n, d| n * 10 + u32::from(*d));
        match u16::try_from(number) {
            Ok(n) if digits.iter().all(|d| *d < 10) => Code::new(n),
            _ => Err(NotACode(number)),
        }
    }

    pub fn number(self) -> u16 {
        self.0
    }

    /// Hundreds, tens, units.
    pub fn digits(self) -> [u8; 3] {
        [self.0 / 100, self.0 / 10 % 10, self.0 % 10].map(|d| d as u8)
    }

    /// "one two three" and "nine eight seven" sound like counting, not like a label.
    pub(super) fn is_run(self) -> bool {
        let [a, b, c] = self.digits();
        (a + 1 == b && b + 1 == c) || (c + 1 == b && b + 1 == a)
    }

    /// In how many places the two differ, 0 to 3.
    pub(super) fn distance(self, other: Code) -> usize {
        let pairs = self.digits().into_iter().zip(other.digits());
        pairs.filter(|(a, b)| a != b).count()
    }
}

impl TryFrom<u16> for Code {
    type Error = NotACode;
    fn try_from(number: u16) -> Result<Self, NotACode> {
        Code::new(number)
    }
}

impl From<Code> for u16 {
    fn from(code: Code) -> u16 {
        code.0
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_and_number_agree() {
        for n in 100..=999 {
            let code = Code::new(n).unwrap();
            assert_eq!(Code::from_digits(code.digits()), Ok(code));
            assert_eq!(code.to_string(), n.to_string());
        }
    }

    #[test]
    fn what_is_not_three_digits_is_refused() {
        assert_eq!(Code::new(99), Err(NotACode(99)));
        assert_eq!(Code::new(1000), Err(NotACode(1000)));
        assert_eq!(Code::from_digits([0, 4, 1]), Err(NotACode(41)));
        assert!(Code::from_digits([4, 17, 0]).is_err());
        assert!(Code::from_digits([255, 255, 255]).is_err());
        assert!(serde_json::from_str::<Code>("41").is_err());
        assert_eq!(serde_json::from_str::<Code>("417").unwrap(), Code(417));
    }

    #[test]
    fn runs_and_distances() {
        let c = |n| Code::new(n).unwrap();
        assert!(c(123).is_run() && c(987).is_run());
        assert!(!c(132).is_run() && !c(124).is_run());
        assert_eq!(c(417).distance(c(417)), 0);
        assert_eq!(c(417).distance(c(497)), 1);
        assert_eq!(c(417).distance(c(471)), 2);
        assert_eq!(c(417).distance(c(256)), 3);
    }
}
