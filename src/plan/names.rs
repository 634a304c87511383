//! Spoken names: what a cook may call a thing so that it is heard as that thing.

use super::model::Id;
use super::problem::Fault;

/// Words of the calls themselves, by language. The calls live in the grammar;
/// this is what a name must stay clear of.
struct Reserved {
    /// Never a whole name.
    whole: Vec<&'static str>,
    /// Never the first words of a name: the call would be taken before the rest is heard.
    first: Vec<&'static str>,
    /// Never anywhere in a name.
    anywhere: Vec<&'static str>,
}

impl Reserved {
    fn of(language: &str) -> Reserved {
        let data = match language {
            "en" => include_str!("words.en.txt"),
            "ko" => include_str!("words.ko.txt"),
            _ => "",
        };
        let mut reserved = Reserved {
            whole: Vec::new(),
            first: Vec::new(),
            anywhere: Vec::new(),
        };
        for line in data.lines() {
            let Some((section, phrases)) = line.split_once(':') else {
                continue;
            };
            let phrases = phrases.split(',').map(str::trim);
            match section.trim() {
                "whole" => reserved.whole.extend(phrases),
                "first" => reserved.first.extend(phrases),
                "anywhere" => reserved.anywhere.extend(phrases),
                _ => {}
            }
        }
        reserved
    }
}

pub(super) const LONGEST_NAME: usize = 40;
const MOST_WORDS: usize = 5;

/// A name in its spoken form: lower case, single spaces, no article. `Err` says what to write.
pub(super) fn spoken(raw: &str, language: &str) -> Result<String, Fault> {
    let name = raw
        .replace('’', "'")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase();
    // The calls put their own article before a name.
    let name = ["the ", "a ", "an "]
        .iter()
        .find_map(|article| name.strip_prefix(article).filter(|_| language == "en"))
        .map_or(name.clone(), str::to_owned);
    if name.is_empty() {
        return Err(Fault::new(
            "a name without words",
            "words that you would say",
        ));
    }
    let shown = short(&name);
    let english = language == "en";
    let letter = |c: char| {
        if english {
            c.is_ascii_lowercase()
        } else {
            c.is_alphabetic()
        }
    };
    if let Some(odd) = name
        .chars()
        .find(|&c| !(letter(c) || matches!(c, ' ' | '\'' | '-')))
    {
        return Err(Fault::new(
            format!("the name `{shown}` cannot be spoken: `{odd}` is no letter"),
            respelled(&name, letter),
        ));
    }
    if name
        .split([' ', '-'])
        .any(|word| !word.chars().any(char::is_alphabetic))
    {
        return Err(Fault::new(
            format!("the name `{shown}` has a hyphen or apostrophe without a word"),
            respelled(&name, letter),
        ));
    }
    let words = name.split([' ', '-']).count();
    if name.chars().count() > LONGEST_NAME || words > MOST_WORDS {
        return Err(Fault::new(
            format!("the name `{shown}` is long to say"),
            format!("at most {MOST_WORDS} words and {LONGEST_NAME} letters"),
        ));
    }
    check_reserved(&name, language)?;
    Ok(name)
}

fn check_reserved(name: &str, language: &str) -> Result<(), Fault> {
    let reserved = Reserved::of(language);
    let plain = name.replace('-', " ");
    let starts = |phrase: &str| {
        plain == phrase
            || plain
                .strip_prefix(phrase)
                .is_some_and(|rest| rest.starts_with(' '))
    };
    if reserved.whole.contains(&plain.as_str()) {
        return Err(Fault::new(
            format!("the name `{name}` is a word of the calls themselves"),
            format!("two words, such as `{name} pan` or `{name} batch`"),
        ));
    }
    if let Some(word) = plain
        .split(' ')
        .find(|word| reserved.anywhere.contains(word))
    {
        return Err(Fault::new(
            format!("in the name `{name}`, `{word}` would be heard as a number or a reading"),
            format!("the name without `{word}`"),
        ));
    }
    if let Some(phrase) = reserved.first.iter().find(|phrase| starts(phrase)) {
        return Err(Fault::new(
            format!("the name `{name}` begins with the call `{phrase}`"),
            "a name that begins with another word",
        ));
    }
    Ok(())
}

/// What remains of a name when everything unspeakable is left out.
fn respelled(name: &str, letter: impl Fn(char) -> bool) -> String {
    let mut out = String::new();
    for c in name.chars() {
        match c {
            '_' | '/' | '.' | ',' | '+' => out.push(' '),
            '&' => out.push_str(" and "),
            c if letter(c) || matches!(c, ' ' | '\'' | '-') => out.push(c),
            c => out.push_str(unaccented(c)),
        }
    }
    let out = out
        .split(' ')
        .map(|word| word.trim_matches(['-', '\'']))
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ");
    if out.is_empty() {
        "words of letters, spaces, apostrophes and hyphens".to_owned()
    } else {
        out
    }
}

/// The letters of French, Spanish, German and Scandinavian kitchens without their accents.
fn unaccented(c: char) -> &'static str {
    match c {
        'à' | 'á' | 'â' | 'ã' | 'å' => "a",
        'ä' | 'æ' => "ae",
        'ç' => "c",
        'è' | 'é' | 'ê' | 'ë' => "e",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'ñ' => "n",
        'ò' | 'ó' | 'ô' | 'õ' => "o",
        'ö' | 'ø' | 'œ' => "oe",
        'ß' => "ss",
        'ù' | 'ú' | 'û' => "u",
        'ü' => "ue",
        'ý' | 'ÿ' => "y",
        _ => "",
    }
}

/// `left skillet` → `left_skillet`. Equal identifiers sound equal, so that names
/// which the registry keeps apart have identifiers of their own.
pub(super) fn id(name: &str) -> Id {
    name.replace('\'', "").replace([' ', '-'], "_")
}

/// Two names with the same key sound alike: case, hyphens, apostrophes, articles and
/// a plural s make no difference to the ear.
pub(super) fn sound(name: &str) -> String {
    name.to_lowercase()
        .replace('-', " ")
        .replace(['\'', '’'], "")
        .split_whitespace()
        .filter(|word| !matches!(*word, "the" | "a" | "an"))
        .map(|word| {
            if word.len() > 3 {
                word.trim_end_matches('s')
            } else {
                word
            }
        })
        .collect::<Vec<_>>()
        .join(" ")
}

/// A piece of the file as a message may show it.
pub(super) fn short(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() > 60 {
        let head: String = text.chars().take(57).collect();
        format!("{}...", head.trim_end())
    } else {
        text.to_owned()
    }
}
