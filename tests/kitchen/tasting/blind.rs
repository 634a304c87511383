//! It stays blind: the sheet is for whoever plates, and nothing said puts a code and a
//! sample together before all have answered.

use super::{capital, digits, kitchen, odd_and_other, one_marked, opened, sheet, taster};
use crate::support::frying;
use hobcall::kitchen::What;
use hobcall::record::panel;
use hobcall::tasting::Fact;

#[test]
fn nobody_hears_which_is_which_before_all_have_answered() {
    let mut cook = frying();
    cook.state = cook.state.seeded(7);
    cook.says("triangle test of the test chop with two tasters");
    let wait = "Wait until all have answered. Still tasters one and two.";
    for words in [
        "which is the test",
        "which is which",
        "which is the notched chop",
        "where is the test chop",
        "what is on the left of the left skillet",
        "show the map",
    ] {
        assert_eq!(cook.says(words), wait, "{words}");
    }
    // A move is done, and where the marked piece went is kept to itself.
    assert_eq!(
        cook.says("turned the left skillet"),
        "Turned, left skillet."
    );
    let undone = cook.says("scratch that");
    assert_eq!(undone, "Taken back, turned, left skillet.");
    // Nor is it told unasked, or asked about.
    let unasked = cook.hears(600.0).join(" ");
    assert!(!unasked.contains("chop:"), "{unasked}");
    // Nothing that was said in all this holds a code with its sample.
    let sheet = sheet(&cook);
    for (_, said) in &cook.said {
        for row in &sheet.rows {
            for serving in &row.servings {
                assert!(!said.text.contains(&digits(serving.code)), "{}", said.text);
            }
        }
    }
}

#[test]
fn the_sheet_is_for_whoever_plates_and_nobody_else() {
    let mut cook = opened("triangle test with two tasters");
    let sheet = sheet(&cook);
    let plate = |t: usize| -> String {
        let row = &sheet.rows[t - 1];
        let servings: Vec<String> = row
            .servings
            .iter()
            .map(|s| format!("{}, {}", digits(s.code), sheet.samples.name(s.sample)))
            .collect();
        let mut text = format!("{}: {}.", capital(&taster(t as u16)), servings[0]);
        for more in &servings[1..] {
            text.push_str(&format!(" {}.", capital(more)));
        }
        text
    };
    let ask = "This tells which is which. Tasters out of hearing?";
    assert_eq!(cook.says("serving sheet"), ask);
    assert_eq!(cook.says("no"), "Not taken, serving sheet.");
    assert_eq!(cook.says("serving sheet"), ask);
    let first = cook.says("yes");
    assert!(first.starts_with("Portions, "), "{first}");
    assert!(first.ends_with(&plate(1)), "{first}");
    // On paper it is the same.
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("cook.journal");
    let header = hobcall::journal::Header {
        hobcall: 1,
        plan_file: "chops.yaml".into(),
        plan: one_marked(),
        zone: None,
        seed: 0,
    };
    let mut journal = hobcall::journal::Journal::create(&file, &header).unwrap();
    journal.append(&cook.events).unwrap();
    let mut out = Vec::new();
    let args = panel::Args {
        command: panel::Command::Sheet { journal: file },
    };
    panel::run(&args, &mut out).unwrap();
    assert_eq!(String::from_utf8(out).unwrap(), sheet.to_string());
    // Whoever plates has to find the marked piece.
    assert_eq!(
        cook.says("where is the test chop"),
        "Test chop: tray, by the plan."
    );
    let second = cook.says("next taster");
    assert_eq!(second, format!("{} That was the last plate.", plate(2)));
    assert!(cook.says("say again").starts_with(&plate(2)));
    // From here on the tasters sit at the table: codes, and nothing else.
    let card = cook.says("next taster");
    let codes: Vec<String> = sheet.rows[0]
        .servings
        .iter()
        .map(|s| digits(s.code))
        .collect();
    assert_eq!(
        card,
        format!("Taster one: {}. Which is the odd one?", codes.join(", "))
    );
    assert!(cook.says("where is the test chop").starts_with("Wait"));
    assert_eq!(
        cook.says("which is which"),
        "Wait until all have answered. Still tasters one and two."
    );
}

#[test]
fn a_break_in_the_sheet_asks_again_who_hears() {
    let mut cook = opened("triangle test with three tasters");
    cook.says("serving sheet");
    cook.says("yes");
    cook.waits(240.0);
    assert!(cook.says("where is the test chop").starts_with("Wait"));
    let ask = "This tells which is which. Tasters out of hearing?";
    assert_eq!(cook.says("next taster"), ask);
    assert!(cook.says("yes").starts_with("Taster two: "));
    cook.waits(240.0);
    assert_eq!(cook.says("next taster"), ask);
    cook.says("no");
    // They are in: cards from now on.
    assert!(cook.says("next taster").ends_with("Which is the odd one?"));
}

#[test]
fn say_again_never_repeats_a_plate_to_tasters() {
    let mut cook = opened("triangle test with two tasters");
    cook.says("serving sheet");
    let plate = cook.says("yes");
    cook.waits(240.0);
    let again = cook.says("say again");
    assert_ne!(again, plate);
    let sheet = sheet(&cook);
    let names = [&sheet.samples.control, &sheet.samples.test];
    let code = digits(sheet.rows[0].servings[0].code);
    assert!(!again.contains(&code), "{again} {names:?}");
}

#[test]
fn codes_are_only_heard_while_a_tasting_is_open() {
    use hobcall::grammar::ActiveSet;
    let cook = kitchen();
    let hears = |set: ActiveSet, words: &str| cook.grammar.restricted(&set).unwrap().accepts(words);
    for words in [
        "taster two four one seven",
        "taster two four one seven is the odd one",
        "four one seven is the odd one",
        "taster two can't tell",
        "next taster",
        "serving sheet",
    ] {
        assert!(!hears(ActiveSet::awake(), words), "{words}");
        assert!(!hears(ActiveSet::answering(), words), "{words}");
        assert!(hears(ActiveSet::awake().at_table(), words), "{words}");
    }
    // Typed digits are spelled one by one.
    let calls = cook.grammar.calls_typed("taster 2 417");
    assert_eq!(calls, cook.grammar.calls("taster two four one seven"));
}

/// Every point of the protocol that the standards ask for, as `data/sensory_protocol.csv`
/// lists them; a point that nobody checks fails here.
#[test]
fn the_protocol_of_the_standards() {
    let points = include_str!("../../../data/sensory_protocol.csv");
    let mut checked = 0;
    for line in points.lines().skip(1) {
        let key = line.split(',').next().unwrap();
        match key {
            // ISO 4120:2021 7.4: no "no difference"; who cannot tell picks, as a guess.
            "triangle_forced_choice" => {
                let mut cook = opened("triangle test with two tasters");
                for words in [
                    "no difference",
                    "taster one no difference",
                    "they are the same",
                ] {
                    assert_eq!(cook.grammar.calls(words), [], "{words}");
                }
                cook.says("taster one can't tell");
                assert_eq!(
                    cook.says("result"),
                    "Not yet, waiting for tasters one and two."
                );
            }
            // 7.5: an answer is not changed. At length in
            // `an_answer_is_final_and_read_back_before_it_is`.
            "triangle_no_revision" => {
                let mut cook = opened("triangle test with two tasters");
                let (odd, other) = odd_and_other(&sheet(&cook), 1);
                cook.says(&format!("taster one {}", digits(odd)));
                cook.says("yes");
                for words in [
                    format!("taster one {}", digits(other)),
                    "scratch that".to_owned(),
                    "taster one has left".to_owned(),
                ] {
                    let said = cook.says(&words);
                    assert!(
                        !said.contains("Recorded") && !said.contains("Taken"),
                        "{said}"
                    );
                }
                let picks = cook.events.iter().filter(|e| {
                    matches!(
                        e.what,
                        What::Tasting(Fact::Picked { .. } | Fact::Left { .. })
                    )
                });
                assert_eq!(picks.count(), 1);
            }
            // 7.2, 7.3: all three at once, in the order given; the sheet, the card and the
            // plate have the same.
            "triangle_presentation" => {
                let mut cook = opened("triangle test with six tasters");
                let sheet = sheet(&cook);
                for row in &sheet.rows {
                    let card = cook.says("next taster");
                    let codes: Vec<String> = row.servings.iter().map(|s| digits(s.code)).collect();
                    assert!(card.contains(&codes.join(", ")), "{card}");
                }
            }
            // 5.5: three digits, no code twice, new ones for every assessor.
            "codes" => {
                let cook = opened("triangle test with six tasters");
                let sheet = sheet(&cook);
                let all: std::collections::BTreeSet<u16> = sheet
                    .rows
                    .iter()
                    .flat_map(|r| r.servings.iter().map(|s| s.code.number()))
                    .collect();
                assert_eq!(all.len(), 18);
                assert!(all.iter().all(|c| (100..1000).contains(c)));
            }
            // 5.3, 5.4, 5.6, 5.7: said to whoever plates, who is asked to be alone.
            "prepared_out_of_sight" | "mask_appearance" => {
                let mut cook = opened("triangle test with six tasters");
                assert!(cook.says("serving sheet").contains("out of hearing?"));
                let first = cook.says("yes");
                let wanted = match key {
                    "mask_appearance" => "Dim the light if they look different.",
                    _ => "Alike in dish, size and warmth.",
                };
                assert!(first.contains(wanted), "{first}");
            }
            // In `tests/tasting/published.rs`, against the tables.
            "triangle_orders"
            | "triangle_guess_probability"
            | "duo_trio_guess_probability"
            | "paired_preference_sides"
            | "iso5495_example_two_sided"
            | "iso5495_example_one_sided"
            | "iso10399_row_22_misprint" => {}
            other => panic!("nothing checks the protocol point {other}"),
        }
        checked += 1;
    }
    assert_eq!(checked, 13);
}

/// Whatever is said while a tasting is open and nobody has said that the tasters are out
/// of hearing: no reply puts a code and a sample together or tells where the marked piece
/// lies, unless the cook's own words did.
#[test]
fn no_sentence_gets_a_blind_tasting_to_tell() {
    let mut cook = frying();
    cook.state = cook.state.seeded(3);
    cook.says("triangle test of the test chop with four tasters");
    let key = sheet(&cook);
    let at_table = hobcall::grammar::ActiveSet::answering().at_table();
    let sentences = cook.grammar.restricted(&at_table).unwrap();
    let mut heard = 0;
    for seed in 0..1500 {
        let words = sentences.sentence(seed);
        let calls = sentences.calls(&words);
        let [call] = calls.as_slice() else { continue };
        if matches!(call, hobcall::grammar::Call::EndCook) {
            continue;
        }
        let alone = matches!(
            cook.state.question(),
            Some(
                hobcall::kitchen::Question::OutOfHearing { .. }
                    | hobcall::kitchen::Question::Sure { .. }
            )
        );
        if alone && *call == hobcall::grammar::Call::Yes {
            continue;
        }
        let said = cook.calls_at(call.clone(), &words, 1.0);
        assert!(cook.state.is_tasting(), "{words}: {said}");
        heard += 1;
        if !words.contains("test chop") {
            for vessel in ["left skillet", "right skillet", "rack", "platter", "tray"] {
                assert!(
                    !said
                        .to_lowercase()
                        .contains(&format!("test chop: {vessel}")),
                    "{words}: {said}"
                );
            }
        }
        for row in &key.rows {
            for serving in &row.servings {
                for name in [&key.samples.control, &key.samples.test] {
                    assert!(
                        !said.contains(&format!("{}, {name}", digits(serving.code))),
                        "{words}: {said}"
                    );
                }
            }
        }
        cook.waits(4.0);
    }
    assert!(heard > 1000, "{heard}");
}
