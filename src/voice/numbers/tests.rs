use std::time::Duration;

use num2words::Num2Words;

use super::*;

fn min(m: u64) -> Duration {
    Duration::from_secs(m * 60)
}

fn sec(s: u64) -> Duration {
    Duration::from_secs(s)
}

/// Second opinion: the general-purpose crate `num2words` 1.2 (English), with its
/// hyphens and its "and" (one thousand and one) taken out.
#[test]
fn plain_numbers_agree_with_a_general_library() {
    let far = [
        10_000,
        12_345,
        99_999,
        100_000,
        999_999,
        1_000_000,
        1_000_001,
        2_147_483_647,
        10_000_000_000_000,
    ];
    for n in (0..=3_000).chain((3_000..10_000).step_by(7)).chain(far) {
        let theirs = Num2Words::new(n as i64)
            .to_words()
            .unwrap()
            .replace('-', " ")
            .replace(" and ", " ");
        assert_eq!(plain(n), theirs, "{n}");
    }
}

#[test]
fn ordinals_agree_with_a_general_library() {
    for n in 1..=500u64 {
        let theirs = Num2Words::new(n as i64)
            .ordinal()
            .to_words()
            .unwrap()
            .replace('-', " ");
        assert_eq!(ordinal(n), theirs, "{n}");
    }
}

/// Common practice in kitchens, no source.
#[test]
fn temperatures_as_called() {
    for (value, words) in [
        (0.0, "zero"),
        (7.0, "seven"),
        (15.0, "fifteen"),
        (50.0, "fifty"),
        (99.0, "ninety nine"),
        (100.0, "one hundred"),
        (105.0, "one oh five"),
        (110.0, "one ten"),
        (115.0, "one fifteen"),
        (120.0, "one twenty"),
        (145.0, "one forty five"),
        (150.0, "one fifty"),
        (162.0, "one sixty two"),
        (200.0, "two hundred"),
        (209.0, "two oh nine"),
        (212.0, "two twelve"),
        (425.0, "four twenty five"),
        (1000.0, "one thousand"),
        (1250.0, "one thousand two hundred fifty"),
        (32.5, "thirty two point five"),
        (100.5, "one hundred point five"),
        (0.5, "zero point five"),
        (-18.0, "minus eighteen"),
        (-0.04, "zero"),
        (62.96, "sixty three"),
        (f64::NAN, "unknown"),
        (f64::INFINITY, "unknown"),
    ] {
        assert_eq!(called(value), words, "{value}");
    }
}

/// No two whole numbers from 0 to 9,999 are called alike: what is read back can be
/// told from every other reading.
#[test]
fn called_numbers_are_all_different() {
    let mut seen = std::collections::HashMap::new();
    for n in 0..10_000u32 {
        if let Some(other) = seen.insert(called(f64::from(n)), n) {
            panic!("{n} and {other} are both \"{}\"", called(f64::from(n)));
        }
        assert!(
            called(f64::from(n))
                .bytes()
                .all(|b| b == b' ' || b.is_ascii_lowercase())
        );
    }
}

#[test]
fn digit_by_digit() {
    assert_eq!(digits(162.0), "one six two");
    assert_eq!(digits(15.0), "one five");
    assert_eq!(digits(50.0), "five zero");
    assert_eq!(digits(105.0), "one zero five");
    assert_eq!(digits(32.5), "three two point five");
    assert_eq!(digits(-4.0), "minus four");
    // The digits spoken are the digits written.
    for n in 0..2_000u32 {
        let back: String = digits(f64::from(n))
            .split(' ')
            .map(|w| (0..10).find(|d| plain(*d) == w).unwrap().to_string())
            .collect();
        assert_eq!(back, n.to_string());
    }
}

#[test]
fn numbers_that_sound_alike() {
    for n in [13, 14, 19, 30, 50, 90, 113, 115, 150, 190, 216, 260, 350] {
        assert!(sounds_like_another(f64::from(n)), "{n}");
    }
    for n in [0, 9, 10, 12, 20, 22, 100, 105, 110, 112, 120, 145, 162, 200] {
        assert!(!sounds_like_another(f64::from(n)), "{n}");
    }
    assert!(!sounds_like_another(f64::NAN));
}

#[test]
fn spoons_and_cups() {
    for (value, words) in [
        (0.5, "half"),
        (0.25, "a quarter"),
        (0.33, "a third"),
        (1.5, "one and a half"),
        (2.25, "two and a quarter"),
        (0.667, "two thirds"),
        (3.0, "three"),
        (1.1, "one point one"),
        (120.0, "one twenty"),
    ] {
        assert_eq!(amount(value), words, "{value}");
    }
}

#[test]
fn spans_as_said() {
    for (span, words) in [
        (sec(0), "zero seconds"),
        (sec(1), "one second"),
        (sec(45), "forty five seconds"),
        (sec(60), "a minute"),
        (sec(65), "a minute and five seconds"),
        (sec(75), "a minute and fifteen seconds"),
        (sec(90), "a minute and a half"),
        (sec(125), "two minutes and five seconds"),
        (sec(270), "four minutes thirty"),
        (min(5), "five minutes"),
        (min(60), "an hour"),
        (min(75), "an hour and fifteen minutes"),
        (min(90), "an hour and a half"),
        (min(140), "two hours and twenty minutes"),
        (min(150), "two and a half hours"),
        (sec(3723), "an hour two minutes and three seconds"),
        (min(12 * 60), "twelve hours"),
        (min(24 * 60), "twenty four hours"),
        (min(36 * 60), "thirty six hours"),
        (min(72 * 60), "three days"),
        (min(51 * 60 + 5), "two days three hours and five minutes"),
        (Duration::from_millis(59_600), "a minute"),
    ] {
        assert_eq!(duration(span), words, "{span:?}");
    }
}

/// What is said names the span exactly: no two different spans sound the same.
#[test]
fn spans_are_all_different() {
    let mut seen = std::collections::HashMap::new();
    for s in (0..20_000).chain((20_000..400_000).step_by(60)) {
        if let Some(other) = seen.insert(duration(sec(s)), s) {
            panic!("{s} s and {other} s are both \"{}\"", duration(sec(s)));
        }
    }
}

#[test]
fn roughly_how_long() {
    for (span, words) in [
        (sec(0), "five seconds"),
        (sec(43), "forty five seconds"),
        (sec(58), "a minute"),
        (sec(95), "a minute and a half"),
        (sec(200), "three minutes thirty"),
        (sec(285), "five minutes"),
        (sec(385), "six minutes"),
        (min(23), "twenty five minutes"),
        (min(61), "an hour"),
        (min(100), "an hour and forty five minutes"),
        (min(185), "three hours"),
        (min(11 * 60 + 50), "twelve hours"),
        (min(23 * 60 + 20), "twenty three hours"),
        (min(60 * 60), "two and a half days"),
    ] {
        assert_eq!(about(span), words, "{span:?}");
    }
}

/// Rounding for the ear may not mislead: within 15 percent (or 3 s), and never
/// the longer span called the shorter.
#[test]
fn rough_spans_stay_near_and_in_order() {
    // Read back by a search through every span that `about` can name.
    let mut value = std::collections::HashMap::new();
    for s in (0..180_000).step_by(5) {
        value.entry(duration(sec(s))).or_insert(s);
    }
    let mut last = 0;
    for s in 3..172_000 {
        let said = value[&about(sec(s))];
        let off = said.abs_diff(s);
        assert!(off <= 3 || off * 100 <= s * 15, "{s} s called {said} s");
        assert!(said >= last, "{s} s called {said} s after {last} s");
        last = said;
    }
}

#[test]
fn ranges() {
    assert_eq!(called_range(160.0, 165.0), "one sixty to one sixty five");
    assert_eq!(called_range(160.0, 160.0), "one sixty");
    assert_eq!(span_range(min(5), min(7)), "five to seven minutes");
    assert_eq!(
        span_range(min(12 * 60), min(16 * 60)),
        "twelve to sixteen hours"
    );
    assert_eq!(span_range(min(1), min(3)), "one to three minutes");
    assert_eq!(span_range(sec(20), sec(40)), "twenty to forty seconds");
    assert_eq!(span_range(min(45), min(90)), "forty five to ninety minutes");
    assert_eq!(
        span_range(sec(90), sec(150)),
        "a minute and a half to two minutes thirty"
    );
    assert_eq!(span_range(min(5), min(5)), "five minutes");
}

#[test]
fn ages() {
    assert_eq!(ago(sec(4)), "just now");
    assert_eq!(ago(sec(21)), "twenty seconds ago");
    assert_eq!(ago(min(4)), "four minutes ago");
    assert_eq!(ago(min(62)), "an hour ago");
}

#[test]
fn clock_times() {
    for (h, m, words, with) in [
        (0, 0, "midnight", "midnight"),
        (0, 10, "twelve ten", "twelve ten at night"),
        (5, 0, "five o'clock", "five o'clock in the morning"),
        (12, 0, "noon", "noon"),
        (12, 30, "twelve thirty", "twelve thirty in the afternoon"),
        (19, 30, "seven thirty", "seven thirty in the evening"),
        (19, 5, "seven oh five", "seven oh five in the evening"),
        (23, 59, "eleven fifty nine", "eleven fifty nine at night"),
    ] {
        assert_eq!(clock_time(h, m), words);
        assert_eq!(clock_time_with(h, m), with);
    }
    // Every minute of the day has words of its own.
    let all: std::collections::HashSet<String> = (0..24)
        .flat_map(|h| (0..60).map(move |m| clock_time_with(h, m)))
        .collect();
    assert_eq!(all.len(), 24 * 60);
}
