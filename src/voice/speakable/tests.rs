use std::process::Command;

use proptest::prelude::*;

use super::*;

/// As a cook would read the line aloud; common practice, no source.
#[test]
fn plan_lines_as_read_aloud() {
    for (written, read) in [
        (
            "Heat 10 mm of oil to 175 °C.",
            "Heat ten millimeters of oil to one seventy five degrees Celsius.",
        ),
        (
            "Brine 12–16 h at 4 °C",
            "Brine twelve to sixteen hours at four degrees Celsius",
        ),
        ("rest 5 min", "rest five minutes"),
        ("rest 1 min", "rest one minute"),
        ("12 h .. 16 h", "twelve hours to sixteen hours"),
        ("145°F core", "one forty five degrees Fahrenheit core"),
        ("1 1/2 tsp salt", "one and a half teaspoons salt"),
        ("1½ tsp salt", "one and a half teaspoons salt"),
        ("½ tsp salt", "half a teaspoon salt"),
        ("1/4 oz", "a quarter of an ounce"),
        ("1,500 g pork", "one thousand five hundred grams pork"),
        ("6 chops, 2 in each pan", "six chops, two in each pan"),
        ("a 2in cube", "a two inches cube"),
        ("serve at 19:30", "serve at seven thirty"),
        ("5% salt", "five percent salt"),
        ("Sauté & baste", "so tay and bayst"),
        ("cool to 1.5 °C", "cool to one point five degrees Celsius"),
        ("crème fraîche (cold)", "krem fresh, cold"),
        ("salt/sugar — both", "salt sugar, both"),
        ("B12 and 4x", "B12 and four times"),
        ("", ""),
        ("jusqu'ici", "jusqu'ici"),
    ] {
        assert_eq!(speakable(written), read, "{written}");
    }
}

#[test]
fn the_tools_own_wording_passes_unchanged() {
    for text in [
        "Heard: one six two, left skillet. About six minutes, give or take two.",
        "Fifteen, one five?",
        "It's seven o'clock; the brine is done.",
    ] {
        assert_eq!(speakable(text), text);
    }
}

/// Phones the built-in voice makes of each respelling, from Flite's own command; the
/// words that the CMU pronouncing dictionary has (the copy that comes with
/// PocketSphinx's model) must come out with its vowels and consonants.
#[test]
fn respellings_give_the_intended_phones() {
    let phones = |text: &str| -> Option<String> {
        let out = Command::new("flite")
            .args(["-voice", "slt", "-ps", "-t", text, "-o", "none"])
            .output()
            .ok()?;
        let all = String::from_utf8_lossy(&out.stdout).replace("pau", "");
        Some(all.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    if phones("test").is_none() {
        eprintln!("skipped: the flite command is not installed");
        return;
    }
    let dictionary =
        std::fs::read_to_string("/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict")
            .unwrap_or_default();
    // Unstressed vowels are written in more than one way.
    let same = |s: &str| {
        s.to_lowercase()
            .split(' ')
            .map(|p| {
                if matches!(p, "ax" | "ah" | "ih") {
                    "@"
                } else {
                    p
                }
            })
            .collect::<Vec<_>>()
            .join(" ")
    };
    let mut rows = 0;
    for row in RESPELL.lines().filter(|l| !l.starts_with('#')) {
        let [word, spelling, want] = row.split('\t').collect::<Vec<_>>()[..] else {
            panic!("three columns: {row}");
        };
        assert_eq!(phones(spelling).as_deref(), Some(want), "{word}");
        assert_ne!(
            phones(word).as_deref(),
            Some(want),
            "{word} needs no respelling"
        );
        rows += 1;
    }
    assert!(rows > 40);
    for word in ["baste", "basted", "basting"] {
        let entry = dictionary
            .lines()
            .find_map(|l| l.strip_prefix(word)?.strip_prefix(' '));
        if let Some(entry) = entry {
            let ours = phones(&speakable(word)).unwrap_or_default();
            assert_eq!(same(&ours), same(entry), "{word}");
        }
    }
}

proptest! {
    /// Whatever is written, what leaves is printable ASCII without a digit that stands alone.
    #[test]
    fn always_speakable(s in "\\PC{0,80}") {
        let out = speakable(&s);
        prop_assert!(out.bytes().all(|b| (b' '..=b'~').contains(&b)), "{}", out);
    }

    #[test]
    fn numbers_become_words(n in 0u32..100_000, unit in prop::sample::select(vec!["", " g", "g", " °C", " min", "%", " h"])) {
        let out = speakable(&format!("{n}{unit}"));
        prop_assert!(!out.bytes().any(|b| b.is_ascii_digit()), "{}", out);
        prop_assert!(out.starts_with(&numbers::called(f64::from(n))), "{}", out);
    }
}
