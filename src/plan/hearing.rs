//! How the plan wants to be spoken to: the name that calls must begin with, and how words
//! sound that no dictionary has.

use super::model::{Hearing, Pronounced, Way};
use super::names::{self, short};
use super::problem::{Desk, Fault, nearest};
use super::table::{Table, text_of};
use super::tree::{Entry, Node, Value};

/// Ways to say one word, and words with a pronunciation of their own.
const MOST_WAYS: usize = 4;
const MOST_WORDS: usize = 64;
const LONGEST_WAY: usize = 80;

/// Names of the 39 phones of the CMU Pronouncing Dictionary, without stress
/// (<http://www.speech.cs.cmu.edu/cgi-bin/cmudict>).
pub const PHONES: [&str; 39] = [
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH",
    "IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH",
    "UW", "V", "W", "Y", "Z", "ZH",
];

/// Place of a phone in [`PHONES`]; a digit for its stress may follow.
pub fn phone(symbol: &str) -> Option<usize> {
    let bare = symbol
        .trim_end_matches(|c: char| c.is_ascii_digit())
        .to_uppercase();
    PHONES.iter().position(|&p| p == bare)
}

/// What stands in the two keys; the words to pronounce are checked by [`fit`].
pub(super) fn hearing(
    table: &mut Table<'_>,
    language: &str,
    desk: &mut Desk<'_>,
) -> (Hearing, Option<Vec<Entry>>) {
    let address = address(table, language, desk);
    let words = table.node("pronounce", desk).and_then(|node| {
        if english(node, "pronounce", language, desk) {
            entries(node, desk)
        } else {
            None
        }
    });
    let hearing = Hearing {
        address,
        pronounce: Vec::new(),
    };
    (hearing, words)
}

fn english(node: &Node, key: &str, language: &str, desk: &mut Desk<'_>) -> bool {
    if language != "en" {
        desk.problem(
            node.at,
            format!("`{key}` is for English so far, and the plan is spoken in `{language}`"),
            format!("the plan without `{key}`"),
        );
    }
    language == "en"
}

fn address(table: &mut Table<'_>, language: &str, desk: &mut Desk<'_>) -> Option<String> {
    let node = table.node("address", desk)?;
    if !english(node, "address", language, desk) {
        return None;
    }
    let text = text_of(node, "address", desk)?;
    match names::spoken(&text, language) {
        Ok(name) if name.split([' ', '-']).count() > 2 => {
            desk.problem(
                node.at,
                format!("`address`: `{name}` is long to say before each call"),
                "one word or two",
            );
            None
        }
        Ok(name) => Some(name),
        Err(fault) => {
            desk.problem(
                node.at,
                format!("`address`: {}", fault.what),
                fault.write_instead,
            );
            None
        }
    }
}

fn entries(node: &Node, desk: &mut Desk<'_>) -> Option<Vec<Entry>> {
    let Value::Map(entries) = &node.value else {
        desk.problem(
            node.at,
            format!("`pronounce` is {}", node.value.kind()),
            "a word of a name on each line, indented, with a colon, and how it is said",
        );
        return None;
    };
    if let Some(beyond) = entries.get(MOST_WORDS) {
        desk.problem(
            beyond.at,
            format!("more than {MOST_WORDS} words to pronounce"),
            "the names that are not heard otherwise",
        );
    }
    Some(entries.iter().take(MOST_WORDS).cloned().collect())
}

/// Checks against the plan's names, once all of them are known.
pub(super) fn fit(
    hearing: &mut Hearing,
    words: Option<Vec<Entry>>,
    named: &[&[String]],
    desk: &mut Desk<'_>,
) {
    if let Some(address) = &hearing.address {
        let alike = named.iter().flat_map(|names| names.iter());
        if let Some(other) = alike.into_iter().find(|name| begins_alike(address, name)) {
            desk.problem(
                desk.marks.nearest("address"),
                format!("`address`: `{address}` sounds like the beginning of `{other}`"),
                "a name that nothing in the plan begins with",
            );
        }
    }
    let spoken: Vec<&str> = named
        .iter()
        .flat_map(|names| names.iter())
        .chain(&hearing.address)
        .flat_map(|name| name.split([' ', '-']))
        .collect();
    for entry in words.into_iter().flatten() {
        let word = entry.key.trim().to_lowercase().replace('’', "'");
        if !spoken.contains(&word.as_str()) {
            let instead = match nearest(&word, spoken.iter().copied()) {
                Some(meant) => format!("{meant}:"),
                None => "a single word of one of the names".to_owned(),
            };
            desk.problem(
                entry.at,
                format!("no name in the plan has the word `{}`", short(&entry.key)),
                instead,
            );
            continue;
        }
        let ways = ways(&entry, &word, desk);
        if !ways.is_empty() {
            hearing.pronounce.push(Pronounced { word, ways });
        }
    }
}

fn begins_alike(address: &str, name: &str) -> bool {
    let (address, name) = (names::sound(address), names::sound(name));
    name == address
        || name
            .strip_prefix(&address)
            .is_some_and(|rest| rest.starts_with(' '))
}

fn ways(entry: &Entry, word: &str, desk: &mut Desk<'_>) -> Vec<Way> {
    let nodes = match &entry.value.value {
        Value::List(nodes) => nodes.as_slice(),
        _ => std::slice::from_ref(&entry.value),
    };
    if nodes.is_empty() || nodes.len() > MOST_WAYS {
        desk.problem(
            entry.value.at,
            format!("`{word}` has {} ways to be said", nodes.len()),
            format!("one way, or a list of at most {MOST_WAYS}"),
        );
        return Vec::new();
    }
    let mut ways = Vec::new();
    for node in nodes {
        let Some(text) = text_of(node, word, desk) else {
            continue;
        };
        match way(&text) {
            Ok(way) => ways.push(way),
            Err(fault) => desk.problem(
                node.at,
                format!("`{word}`: {}", fault.what),
                fault.write_instead,
            ),
        }
    }
    ways
}

/// `go chew jang`, or `/G OW CH UW JH AA NG/`.
fn way(text: &str) -> Result<Way, Fault> {
    if text.len() > LONGEST_WAY {
        return Err(Fault::new(
            "this is long for one word",
            format!("at most {LONGEST_WAY} letters"),
        ));
    }
    if let Some(phones) = text.strip_prefix('/') {
        let phones = phones.strip_suffix('/').unwrap_or(phones);
        let symbols: Vec<&str> = phones.split_whitespace().collect();
        if let Some(odd) = symbols.iter().find(|s| phone(s).is_none()) {
            return Err(Fault::new(
                format!("`{}` is none of the 39 phones", short(odd)),
                format!("phones between slashes: {}", PHONES.join(" ")),
            ));
        }
        if symbols.is_empty() {
            return Err(Fault::new("no phones stand here", "/G OW CH UW JH AA NG/"));
        }
        return Ok(Way::Phones(symbols.join(" ").to_uppercase()));
    }
    let words: Vec<String> = text
        .to_lowercase()
        .replace('’', "'")
        .split([' ', '-'])
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect();
    let plain = |w: &String| {
        w.chars().all(|c| c.is_ascii_lowercase() || c == '\'')
            && w.chars().any(|c| c.is_ascii_lowercase())
    };
    match words.iter().find(|w| !plain(w)) {
        _ if words.is_empty() => Err(Fault::new("nothing stands here", "go chew jang")),
        Some(odd) => Err(Fault::new(
            format!("`{}` is no English word", short(odd)),
            "words of the letters a to z that sound like it, such as go chew jang, or phones \
             between slashes, such as /G OW CH UW JH AA NG/",
        )),
        None => Ok(Way::Words(words)),
    }
}
