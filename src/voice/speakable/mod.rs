//! Text → text that an English speech engine says as a cook would. Pure.
//!
//! The tool's own wording is in words already. What a cook writes into a plan is not:
//! "10 mm oil to 175 °C, 2–3 min, then 1½ tsp of purée".

use super::numbers;

/// Kitchen words that the built-in voice gets wrong, and a spelling that it gets right;
/// two columns, tab separated. Checked against dictionary phones in the tests.
const RESPELL: &str = include_str!("respell.tsv");

/// Units as written → (one, many).
const UNITS: [(&str, &str, &str); 34] = [
    ("°F", "degree Fahrenheit", "degrees Fahrenheit"),
    ("ºF", "degree Fahrenheit", "degrees Fahrenheit"),
    ("°C", "degree Celsius", "degrees Celsius"),
    ("ºC", "degree Celsius", "degrees Celsius"),
    ("℃", "degree Celsius", "degrees Celsius"),
    ("℉", "degree Fahrenheit", "degrees Fahrenheit"),
    ("°", "degree", "degrees"),
    ("º", "degree", "degrees"),
    ("mm", "millimeter", "millimeters"),
    ("cm", "centimeter", "centimeters"),
    ("in", "inch", "inches"),
    ("\"", "inch", "inches"),
    ("mg", "milligram", "milligrams"),
    ("kg", "kilogram", "kilograms"),
    ("g", "gram", "grams"),
    ("oz", "ounce", "ounces"),
    ("lb", "pound", "pounds"),
    ("lbs", "pound", "pounds"),
    ("ml", "milliliter", "milliliters"),
    ("mL", "milliliter", "milliliters"),
    ("l", "liter", "liters"),
    ("L", "liter", "liters"),
    ("tsp", "teaspoon", "teaspoons"),
    ("tbsp", "tablespoon", "tablespoons"),
    ("qt", "quart", "quarts"),
    ("h", "hour", "hours"),
    ("hr", "hour", "hours"),
    ("hrs", "hour", "hours"),
    ("min", "minute", "minutes"),
    ("mins", "minute", "minutes"),
    ("s", "second", "seconds"),
    ("sec", "second", "seconds"),
    ("%", "percent", "percent"),
    ("x", "times", "times"),
];

const FRACTIONS: [(char, &str, f64); 7] = [
    ('½', "1/2", 0.5),
    ('¼', "1/4", 0.25),
    ('¾', "3/4", 0.75),
    ('⅓', "1/3", 1.0 / 3.0),
    ('⅔', "2/3", 2.0 / 3.0),
    ('⅛', "1/8", 0.125),
    ('⅕', "1/5", 0.2),
];

/// The text with numbers, units and signs in words, kitchen words spelled the way the
/// engine says them right, and nothing but printable ASCII.
pub fn speakable(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let after_letter = out.ends_with(|p: char| p.is_alphanumeric());
        if !after_letter && let Some((words, used)) = quantity(rest) {
            out.push_str(&words);
            rest = rest.get(used..).unwrap_or("");
            // "10mm" has no space of its own after the number's words.
            if rest.starts_with(|n: char| n.is_alphanumeric()) {
                out.push(' ');
            }
            continue;
        }
        if let Some(after) = rest.strip_prefix(" .. ") {
            out.push_str(" to ");
            rest = after;
            continue;
        }
        match c {
            '–' | '—' => out.push_str(", "),
            '&' => out.push_str(" and "),
            '+' => out.push_str(" plus "),
            '=' => out.push_str(" is "),
            '≥' => out.push_str(" at least "),
            '≤' => out.push_str(" at most "),
            '≈' | '~' => out.push_str(" about "),
            '°' | 'º' => out.push_str(" degrees "),
            '%' => out.push_str(" percent "),
            '…' => out.push_str(". "),
            '(' | ')' | '[' | ']' => out.push_str(", "),
            '/' | '_' | '*' | '#' | '<' | '>' | '|' | '\\' | '{' | '}' | '^' | '`' | '"' | '“'
            | '”' => out.push(' '),
            '’' | '‘' => out.push('\''),
            c if c.is_whitespace() || c.is_control() => out.push(' '),
            c if c.is_ascii() => out.push(c),
            c => out.push_str(deunicode::deunicode_char(c).unwrap_or(" ")),
        }
        rest = rest.get(c.len_utf8()..).unwrap_or("");
    }
    tidy(&respell(&out))
}

/// A number with what belongs to it at the start of `s` → its words and the bytes used.
fn quantity(s: &str) -> Option<(String, usize)> {
    let (lo, mut used) = number(s)?;
    // 19:00 is a time of day (and 4:30 is said alike as a span).
    if let Some(minute) = s.get(used..).and_then(|r| r.strip_prefix(':'))
        && let Some(two) = minute.get(..2)
        && two.bytes().all(|b| b.is_ascii_digit())
        && let (Ok(m), true) = (two.parse::<u8>(), lo.fract() == 0.0)
        && m < 60
        && lo < 24.0
        && !minute[2..].starts_with(|c: char| c.is_ascii_digit())
    {
        return Some((numbers::clock_time(lo as u8, m), used + 3));
    }
    let mut hi = None;
    let rest = s.get(used..).unwrap_or("");
    let trimmed = rest.trim_start_matches(' ');
    let dash = ["–", "—", "-", ".."]
        .iter()
        .find(|d| trimmed.starts_with(**d));
    if let Some(dash) = dash {
        let behind = &trimmed[dash.len()..];
        let spaces = behind.len() - behind.trim_start_matches(' ').len();
        if let Some((value, n)) = number(&behind[spaces..]) {
            hi = Some(value);
            used += rest.len() - trimmed.len() + dash.len() + spaces + n;
        }
    }
    let last = hi.unwrap_or(lo);
    let unit = unit(s.get(used..).unwrap_or(""));
    let spoon = unit.is_none_or(|(_, u)| !u.starts_with("degree"));
    let say = |v: f64| {
        if spoon && v < 20.0 {
            numbers::amount(v)
        } else {
            numbers::called(v)
        }
    };
    let mut words = match hi {
        Some(hi) => format!("{} to {}", say(lo), say(hi)),
        None => say(lo),
    };
    if let Some((n, _)) = unit {
        used += n;
    }
    match unit {
        // "half a teaspoon", "a quarter of a teaspoon"
        Some((_, one)) if hi.is_none() && last > 0.0 && last < 1.0 && !one.contains("percent") => {
            let of = if words == "half" { "" } else { "of " };
            let article = if one.starts_with(['a', 'e', 'i', 'o', 'u']) || one == "hour" {
                "an"
            } else {
                "a"
            };
            if words.starts_with("zero") {
                words = format!("{words} {}", many(one));
            } else {
                words = format!("{words} {of}{article} {one}");
            }
        }
        Some((_, one)) if (last - 1.0).abs() < 1e-9 => words = format!("{words} {one}"),
        Some((_, one)) => words = format!("{words} {}", many(one)),
        None => {}
    }
    Some((words, used))
}

fn many(one: &str) -> &'static str {
    UNITS
        .iter()
        .find(|(_, o, _)| *o == one)
        .map_or("", |(_, _, many)| many)
}

/// A unit at the start of `s` (after at most one space) → bytes used and its singular.
fn unit(s: &str) -> Option<(usize, &'static str)> {
    let body = s.strip_prefix([' ', '\u{a0}', '\u{202f}']).unwrap_or(s);
    let lead = s.len() - body.len();
    UNITS
        .iter()
        .filter(|(sign, _, _)| {
            body.strip_prefix(sign).is_some_and(|after| {
                // "in" is a unit right after the number only: "2 in the pan" is not.
                (lead == 0 || !matches!(*sign, "in" | "\""))
                    && !after.starts_with(|c: char| c.is_alphanumeric())
            })
        })
        .max_by_key(|(sign, _, _)| sign.len())
        .map(|(sign, one, _)| (lead + sign.len(), *one))
}

/// A number at the start of `s`: digits with thousands commas, a decimal part, a
/// fraction ("1/2", "1 1/2", "1½", "½") → its value and the bytes used.
fn number(s: &str) -> Option<(f64, usize)> {
    let (whole, mut used) = digits(s);
    let after = s.get(used..).unwrap_or("");
    let fraction = |t: &str| {
        FRACTIONS.iter().find_map(|(sign, written, value)| {
            if t.starts_with(*sign) {
                return Some((*value, sign.len_utf8()));
            }
            let behind = t.strip_prefix(written)?;
            (!behind.starts_with(|c: char| c.is_ascii_digit() || c == '/'))
                .then_some((*value, written.len()))
        })
    };
    // "1/2" alone
    if let Some((value, n)) = fraction(s) {
        return Some((value, n));
    }
    if used == 0 {
        return None;
    }
    let whole: f64 = whole.parse().ok()?;
    // "1½", "1 1/2"
    let spaced = after.strip_prefix(' ').unwrap_or(after);
    if let Some((value, n)) = fraction(spaced)
        && (spaced.len() != after.len() || !after.starts_with(|c: char| c.is_ascii_digit()))
    {
        return Some((whole + value, used + (after.len() - spaced.len()) + n));
    }
    if let Some(tail) = after.strip_prefix('.') {
        let n = tail.bytes().take_while(u8::is_ascii_digit).count();
        if n > 0 && n < 12 {
            used += 1 + n;
            let value: f64 = format!("{whole}.{}", &tail[..n]).parse().ok()?;
            return Some((value, used));
        }
    }
    Some((whole, used))
}

/// Leading digits, commas between groups of three left out, and the bytes they took.
fn digits(s: &str) -> (String, usize) {
    let mut out = String::new();
    let mut used = 0;
    let bytes = s.as_bytes();
    while let Some(b) = bytes.get(used) {
        if b.is_ascii_digit() {
            out.push(*b as char);
            used += 1;
        } else if *b == b','
            && !out.is_empty()
            && bytes
                .get(used + 1..used + 4)
                .is_some_and(|three| three.iter().all(u8::is_ascii_digit))
            && !bytes.get(used + 4).is_some_and(u8::is_ascii_digit)
        {
            used += 1;
        } else {
            break;
        }
        if out.len() > 15 {
            break;
        }
    }
    (out, used)
}

/// Replaces whole words (and runs of words) of the table, longest first.
fn respell(text: &str) -> String {
    let mut table: Vec<(&str, &str)> = RESPELL
        .lines()
        .filter(|l| !l.starts_with('#'))
        .filter_map(|l| {
            let mut columns = l.split('\t');
            Some((columns.next()?, columns.next()?))
        })
        .collect();
    table.sort_by_key(|(word, _)| std::cmp::Reverse(word.len()));
    let lower = text.to_ascii_lowercase();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    'next: while at < text.len() {
        let at_word = !lower[..at].ends_with(|c: char| c.is_ascii_alphanumeric());
        if at_word {
            for (word, spelling) in &table {
                let Some(after) = lower[at..].strip_prefix(word) else {
                    continue;
                };
                if after.starts_with(|c: char| c.is_ascii_alphanumeric()) {
                    continue;
                }
                out.push_str(spelling);
                at += word.len();
                continue 'next;
            }
        }
        let c = text[at..].chars().next().unwrap_or(' ');
        out.push(c);
        at += c.len_utf8();
    }
    out
}

/// One space between words, none before a stop, one comma where two meet.
fn tidy(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        let stop = word.starts_with([',', '.', ';', ':', '!', '?']);
        if stop {
            if out.is_empty() || out.ends_with([',', '.', ';', ':', '!', '?']) {
                let word = word.trim_start_matches([',', '.', ';', ':', '!', '?']);
                if !word.is_empty() {
                    push_word(&mut out, word);
                }
                continue;
            }
            out.push_str(word);
        } else {
            push_word(&mut out, word);
        }
    }
    while out.ends_with([',', ' ']) {
        out.pop();
    }
    out
}

fn push_word(out: &mut String, word: &str) {
    if !out.is_empty() {
        out.push(' ');
    }
    out.push_str(word);
}

#[cfg(test)]
mod tests;
