//! Whole numbers, decimals and fractions as words.

const ONES: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] = [
    "", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
];

fn one(n: u64) -> &'static str {
    ONES.get(n as usize).copied().unwrap_or("")
}

fn ten(n: u64) -> &'static str {
    TENS.get(n as usize).copied().unwrap_or("")
}

fn below_hundred(n: u64) -> String {
    match n {
        0..=19 => one(n).to_owned(),
        _ if n.is_multiple_of(10) => ten(n / 10).to_owned(),
        _ => format!("{} {}", ten(n / 10), one(n % 10)),
    }
}

/// The number in full, US usage without "and": 162 → "one hundred sixty two".
pub fn plain(n: u64) -> String {
    const SCALES: [(u64, &str); 6] = [
        (1_000_000_000_000_000_000, "quintillion"),
        (1_000_000_000_000_000, "quadrillion"),
        (1_000_000_000_000, "trillion"),
        (1_000_000_000, "billion"),
        (1_000_000, "million"),
        (1_000, "thousand"),
    ];
    if n == 0 {
        return one(0).to_owned();
    }
    let mut words: Vec<String> = Vec::new();
    let mut rest = n;
    for (scale, name) in SCALES {
        if rest >= scale {
            words.push(below_thousand(rest / scale));
            words.push(name.to_owned());
            rest %= scale;
        }
    }
    if rest > 0 {
        words.push(below_thousand(rest));
    }
    words.join(" ")
}

fn below_thousand(n: u64) -> String {
    match (n / 100, n % 100) {
        (0, rest) => below_hundred(rest),
        (hundreds, 0) => format!("{} hundred", one(hundreds)),
        (hundreds, rest) => format!("{} hundred {}", one(hundreds), below_hundred(rest)),
    }
}

/// The number as cooks call it over a stove: 150 → "one fifty", 105 → "one oh five",
/// 200 → "two hundred", 32.5 → "thirty two point five", -18 → "minus eighteen".
/// Rounded to one decimal; whole numbers of a thousand and more are in full.
/// What is no number is called "unknown".
pub fn called(value: f64) -> String {
    if !value.is_finite() || value.abs() > 1e15 {
        return "unknown".to_owned();
    }
    let tenths = (value * 10.0).round() as i64;
    let (whole, tenth) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
    let mut words = match (whole / 100, whole % 100) {
        (0, rest) => below_hundred(rest),
        (hundreds @ 1..=9, 0) => format!("{} hundred", one(hundreds)),
        (hundreds @ 1..=9, rest @ 1..=9) => format!("{} oh {}", one(hundreds), one(rest)),
        (hundreds @ 1..=9, rest) => format!("{} {}", one(hundreds), below_hundred(rest)),
        _ => plain(whole),
    };
    if tenth != 0 {
        words = format!("{words} point {}", one(tenth));
    }
    if tenths < 0 {
        words = format!("minus {words}");
    }
    words
}

/// "one sixty to one sixty five"; a single value when both ends sound the same.
pub fn called_range(lo: f64, hi: f64) -> String {
    let (lo, hi) = (called(lo), called(hi));
    if lo == hi {
        lo
    } else {
        format!("{lo} to {hi}")
    }
}

/// Digit by digit, for a number that must not be taken for another:
/// 162 → "one six two", 15 → "one five", 32.5 → "three two point five".
/// Says "zero", never "oh", which is also a letter and a sigh.
pub fn digits(value: f64) -> String {
    if !value.is_finite() || value.abs() > 1e15 {
        return "unknown".to_owned();
    }
    let tenths = (value * 10.0).round() as i64;
    let (whole, tenth) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
    let mut words: Vec<&str> = Vec::new();
    if tenths < 0 {
        words.push("minus");
    }
    words.extend(
        whole
            .to_string()
            .bytes()
            .map(|b| one(u64::from(b.saturating_sub(b'0')))),
    );
    if tenth != 0 {
        words.extend(["point", one(tenth)]);
    }
    words.join(" ")
}

/// Whether the number, as called, is one that ears take for another: thirteen and
/// thirty … nineteen and ninety, alone or after hundreds (one fifteen, one fifty).
pub fn sounds_like_another(value: f64) -> bool {
    let rounded = (value * 10.0).round() / 10.0;
    if !rounded.is_finite() || rounded.abs() > 1e15 {
        return false;
    }
    let rest = (rounded.abs().trunc() as u64) % 100;
    matches!(rest, 13..=19) || (rest.is_multiple_of(10) && (30..=90).contains(&rest))
}

/// A quantity with the fractions of spoons and cups: 0.5 → "half", 2.25 → "two and a
/// quarter", 0.333 → "a third"; what is none of these is [`called`].
pub fn amount(value: f64) -> String {
    // A third is written 0.33 as well as 0.333.
    const NEAR: f64 = 0.006;
    if !value.is_finite() || !(0.0..1e6).contains(&value) {
        return called(value);
    }
    let whole = value.trunc();
    let part = value - whole;
    let named = [
        (0.125, "an eighth"),
        (0.25, "a quarter"),
        (1.0 / 3.0, "a third"),
        (0.5, "a half"),
        (2.0 / 3.0, "two thirds"),
        (0.75, "three quarters"),
    ]
    .into_iter()
    .find(|(of, _)| (part - of).abs() < NEAR);
    match (whole, named) {
        (0.0, Some((_, "a half"))) => "half".to_owned(),
        (0.0, Some((_, name))) => name.to_owned(),
        (_, Some((_, name))) => format!("{} and {name}", called(whole)),
        _ => called(value),
    }
}

/// 1 → "first", 22 → "twenty second", 30 → "thirtieth".
pub fn ordinal(n: u64) -> String {
    let words = plain(n);
    let (head, last) = match words.rsplit_once(' ') {
        Some((head, last)) => (format!("{head} "), last),
        None => (String::new(), words.as_str()),
    };
    let last = match last {
        "one" => "first".to_owned(),
        "two" => "second".to_owned(),
        "three" => "third".to_owned(),
        "five" => "fifth".to_owned(),
        "eight" => "eighth".to_owned(),
        "nine" => "ninth".to_owned(),
        "twelve" => "twelfth".to_owned(),
        other => match other.strip_suffix('y') {
            Some(stem) => format!("{stem}ieth"),
            None => format!("{other}th"),
        },
    };
    head + &last
}
