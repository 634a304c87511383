//! A blind tasting as it is spoken at the table: opened, plated, answered, closed.

use crate::support::{self, Cook, SIX_CHOPS, frying};
use hobcall::kitchen::{State, What};
use hobcall::record::panel;
use hobcall::tasting::{Code, Fact, Sheet, Tasting, Test, Which};
use hobcall::voice::numbers;

/// Six chops, one of them marked.
fn one_marked() -> String {
    SIX_CHOPS
        .replace(
            "  notched chop: {of: chop, mark: a notch, mark seen: from above}\n",
            "",
        )
        .replace("[notched chop, 2 chops]", "3 chops")
        .replace("[test chop, notched chop]", "test chop")
}

fn kitchen() -> Cook {
    let mut cook = Cook::with(&one_marked());
    cook.state = cook.state.seeded(0x5EED_CAFE);
    cook
}

fn opened(words: &str) -> Cook {
    let mut cook = kitchen();
    cook.says(words);
    assert!(cook.state.is_tasting(), "{words}");
    cook
}

/// The key, taken from the facts in the journal: only a test may look.
fn sheet(cook: &Cook) -> Sheet {
    let facts: Vec<&Fact> = cook
        .events
        .iter()
        .filter_map(|e| match &e.what {
            What::Tasting(fact) => Some(fact),
            _ => None,
        })
        .collect();
    match Tasting::replay(facts).unwrap() {
        Some(Tasting::Open(open)) => open.plater_sheet(),
        Some(Tasting::Closed(closed)) => closed.sheet(),
        None => panic!("no tasting"),
    }
}

fn digits(code: Code) -> String {
    numbers::digits(f64::from(code.number()))
}

/// The odd code of a taster's three, and one of the two that are alike.
fn odd_and_other(sheet: &Sheet, taster: u16) -> (Code, Code) {
    let row = &sheet.rows[usize::from(taster) - 1];
    let of = |which| {
        let mut codes = row.servings.iter().filter(move |s| s.sample == which);
        (codes.next().unwrap().code, codes.next().is_none())
    };
    let (control, test) = (of(Which::Control), of(Which::Test));
    if control.1 {
        (control.0, test.0)
    } else {
        (test.0, control.0)
    }
}

fn taster(n: u16) -> String {
    format!("taster {}", numbers::plain(u64::from(n)))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().unwrap().to_uppercase().chain(chars).collect()
}

#[test]
fn six_tasters_and_a_result_that_claims_no_more_than_it_may() {
    let mut cook = kitchen();
    assert_eq!(
        cook.says("triangle test with six tasters"),
        "Triangle test, test chop against plain chop, six tasters. It takes five of six to show a \
         difference. Say serving sheet when the tasters are out of hearing."
    );
    // ISO 4120's table: five of six at the five percent level.
    let sheet_of = sheet(&cook);
    for t in 1..=6u16 {
        let (odd, other) = odd_and_other(&sheet_of, t);
        let code = if t <= 4 { odd } else { other };
        let said = format!("{} {} is the odd one", taster(t), digits(code));
        assert_eq!(
            cook.says(&said),
            format!("{}: {}. Yes?", capital(&taster(t)), digits(code))
        );
        let to_go = match t {
            6 => "All have answered, say result.".to_owned(),
            t => format!("{} to go.", capital(&numbers::plain(u64::from(6 - t)))),
        };
        assert_eq!(
            cook.says("yes"),
            format!("Recorded, {}, {}. {to_go}", taster(t), digits(code))
        );
    }
    // 4 of 6 by guessing, by hand: (15*4 + 6*2 + 1)/729 = 73/729, one time in ten.
    assert_eq!(
        cook.says("result"),
        "Four of six picked the odd one. Guessing alone does that or better one time in ten. \
         That does not show a difference, five would have. Nor does it show that they are the \
         same. Six tasters overlook most of what fewer than seventy nine percent perceive. Best \
         guess, fifty percent truly can tell, somewhere from zero to ninety one percent."
    );
    assert!(!cook.state.is_tasting());
    // Said again it is the same, and now it may be asked which was which.
    let again = cook.says("what's the result");
    assert!(again.starts_with("Four of six"), "{again}");
    let key = cook.says("which is the test");
    assert!(key.starts_with("The test chop. Taster one, "), "{key}");
    for row in &sheet_of.rows {
        for serving in &row.servings {
            let told = key.contains(&digits(serving.code))
                || key.contains(&capital(&digits(serving.code)));
            assert_eq!(told, serving.sample == Which::Test, "{key}");
        }
    }
}

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
fn an_answer_is_final_and_read_back_before_it_is() {
    let mut cook = opened("triangle test with three tasters");
    let sheet = sheet(&cook);
    let (odd, other) = odd_and_other(&sheet, 2);
    // Corrected before the yes.
    cook.says(&format!("taster two {}", digits(odd)));
    assert_eq!(
        cook.says(&format!("no {}", digits(other))),
        format!("Taster two: {}. Yes?", digits(other))
    );
    assert_eq!(
        cook.says("no"),
        format!("Not taken, taster two: {}.", digits(other))
    );
    cook.says(&format!("{} is the odd one", digits(odd)));
    cook.says("yes");
    // Not changed, not taken back.
    assert_eq!(
        cook.says(&format!("taster two {}", digits(other))),
        format!(
            "Taster two has answered {}. An answer is not changed.",
            digits(odd)
        )
    );
    let stands = "The answer of taster two stands, an answer that was recorded is not changed.";
    assert_eq!(cook.says("scratch that"), stands);
    // What was called after it can be taken back, and no further.
    cook.says("timer four minutes");
    assert!(cook.says("scratch that").starts_with("Taken back"));
    assert_eq!(cook.says("scratch that"), stands);
    // Another's code, no code at all, nobody's number.
    let (foreign, _) = odd_and_other(&sheet, 3);
    assert_eq!(
        cook.says(&format!("taster one {}", digits(foreign))),
        format!(
            "{} is on the card of taster three, not of taster one. Say the taster and the digits again.",
            capital(&digits(foreign))
        )
    );
    assert_eq!(
        cook.says("taster one one one one"),
        "One one one is on no card. Say the three digits again."
    );
    assert_eq!(
        cook.says(&format!("taster nine {}", digits(foreign))),
        "The tasters are one to three."
    );
    assert_eq!(
        cook.says("result"),
        "Not yet, waiting for tasters one and three."
    );
    let event = cook
        .events
        .iter()
        .filter(|e| matches!(e.what, What::Tasting(Fact::Picked { .. })));
    assert_eq!(event.count(), 1);
}

#[test]
fn can_t_tell_is_a_guess_after_a_pick() {
    let mut cook = opened("triangle test with two tasters");
    let sheet = sheet(&cook);
    let codes: Vec<String> = sheet.rows[0]
        .servings
        .iter()
        .map(|s| digits(s.code))
        .collect();
    assert_eq!(
        cook.says("can't tell"),
        format!(
            "Taster one, which one all the same, {}, {} or {}? It counts as a guess.",
            codes[0], codes[1], codes[2]
        )
    );
    // There is no other way out: asked for until it is given.
    assert!(
        cook.says("can't tell")
            .starts_with("Taster one, which one all the same")
    );
    let (odd, _) = odd_and_other(&sheet, 1);
    assert_eq!(
        cook.says(&digits(odd)),
        format!("Taster one, a guess: {}. Yes?", digits(odd))
    );
    assert_eq!(
        cook.says("yes"),
        format!("Recorded, taster one, {}, a guess. One to go.", digits(odd))
    );
    let (odd, _) = odd_and_other(&sheet, 2);
    cook.says(&format!("taster two guesses {}", digits(odd)));
    cook.says("yes");
    assert_eq!(
        cook.says("close the tasting"),
        "Two of two picked the odd one. Guessing alone does that or better one time in nine. Two \
         tasters can never show a difference, whatever they answer, it takes at least three. All \
         of them were said to be a guess, two right."
    );
}

#[test]
fn who_leaves_is_counted_out() {
    let mut cook = opened("triangle test with two tasters");
    let (odd, _) = odd_and_other(&sheet(&cook), 1);
    cook.says(&format!("taster one {}", digits(odd)));
    cook.says("yes");
    assert_eq!(
        cook.says("taster two has left"),
        "Taster two goes without an answer. Yes?"
    );
    assert_eq!(
        cook.says("yes"),
        "Taster two goes without an answer. All have answered, say result."
    );
    let result = cook.says("result");
    assert!(
        result.starts_with(
            "One of one picked the odd one. Guessing alone does that or better one time in three."
        ),
        "{result}"
    );
    assert!(result.ends_with("One left without an answer."), "{result}");
}

#[test]
fn the_other_tests_by_voice() {
    // Duo-trio: the reference is the plain one, and comes first.
    let mut cook = opened("duo trio with two tasters");
    let card = cook.says("next taster");
    assert!(
        card.starts_with("Taster one: first the reference, then "),
        "{card}"
    );
    assert!(
        card.ends_with(". Which is the same as the reference?"),
        "{card}"
    );
    cook.says("serving sheet");
    let plate = cook.says("yes");
    assert!(
        plate.contains("Taster one: reference, plain chop. "),
        "{plate}"
    );

    let mut cook = kitchen();
    assert_eq!(
        cook.says("preference test with six tasters"),
        "Preference test, test chop against plain chop, six tasters. It takes six of six to show \
         a difference. Say serving sheet when the tasters are out of hearing."
    );
    let sheet_of = sheet(&cook);
    for t in 1..=6u16 {
        let row = &sheet_of.rows[usize::from(t) - 1];
        let code = row
            .servings
            .iter()
            .find(|s| s.sample == Which::Test)
            .unwrap()
            .code;
        cook.says(&format!("{} {} is better", taster(t), digits(code)));
        cook.says("yes");
    }
    let result = cook.says("result");
    // Two-sided: 2/64.
    assert!(
        result.starts_with(
            "Six of six liked the test chop better. With no preference at all it is as lopsided \
             one time in thirty two. That shows that the test chop is liked better."
        ),
        "{result}"
    );

    let mut cook = kitchen();
    assert_eq!(
        cook.says("which is juicier with five tasters"),
        "Difference test, which is juicier, test chop against plain chop, five tasters. It takes \
         five of five to show a difference. Say serving sheet when the tasters are out of hearing."
    );
    assert!(cook.says("next taster").ends_with(". Which is juicier?"));
    let mut cook = kitchen();
    assert_eq!(
        cook.says("difference test with five tasters"),
        "More of what? Say which is saltier, or crisper, or juicier."
    );
}

#[test]
fn what_is_left_out_is_asked_or_taken_from_the_plan() {
    // Two samples: which of them.
    let mut cook = Cook::with(SIX_CHOPS);
    let asked = cook.says("triangle test");
    assert_eq!(asked, "Triangle test. Which, test chop or notched chop?");
    let asked = cook.says("the notched chop");
    assert_eq!(asked, "How many tasters?");
    assert!(
        cook.says("six")
            .starts_with("Triangle test, notched chop against plain chop, six tasters."),
    );
    // Opened by mistake, it can be taken back while nobody has answered.
    assert!(
        cook.says("scratch that")
            .starts_with("Taken back, triangle test")
    );
    assert!(!cook.state.is_tasting());
    let opened =
        cook.says("triangle test of the test chop against the notched chop with twelve tasters");
    assert!(
        opened.starts_with("Triangle test, test chop against notched chop, twelve tasters."),
        "{opened}"
    );

    let mut cook = Cook::with(&format!(
        "{SIX_CHOPS}tasting: {{test: difference, samples: [notched chop, test chop], tasters: 8, attribute: more peppery}}\n"
    ));
    let opened = cook.says("difference test");
    assert!(
        opened.starts_with(
            "Difference test, which is more peppery, notched chop against test chop, eight tasters."
        ),
        "{opened}"
    );
    // The plan's own word can be called.
    let mut cook = Cook::with(&format!(
        "{SIX_CHOPS}tasting: {{test: difference, samples: test chop, attribute: more peppery}}\n"
    ));
    assert!(
        cook.says("which is more peppery with nine tasters")
            .contains("nine tasters")
    );
    // A plan without marked pieces has nothing to compare.
    let mut cook =
        Cook::with("plan: Rolls\nunits: celsius\nsteps: {bake: {say: Bake them., wait: 10 min}}\n");
    assert!(
        cook.says("triangle test with six tasters")
            .starts_with("Nothing to compare")
    );
    assert_eq!(
        cook.says("next taster"),
        "No tasting is open. Say triangle test with six tasters."
    );
}

#[test]
fn how_many_tasters_is_computed() {
    let mut cook = kitchen();
    // Computed by tests/tasting_published.rs's second library as well: sensR's
    // discrimSS for the same wish.
    let said = cook.says("how many tasters do i need for a triangle test if half can tell");
    let needs =
        hobcall::tasting::how_many(hobcall::tasting::Test::Triangle, 0.05, 0.2, 0.5).unwrap();
    assert!(
        said.starts_with(&capital(&format!(
            "{} tasters for a triangle test, if half of them can tell.",
            numbers::plain(u64::from(needs.first))
        ))),
        "{said}"
    );
    let more = cook.says(
        "how many tasters for a triangle test if thirty percent can tell with ninety percent power",
    );
    let needs =
        hobcall::tasting::how_many(hobcall::tasting::Test::Triangle, 0.05, 0.1, 0.3).unwrap();
    assert!(
        more.starts_with(&capital(&format!(
            "{} tasters for a triangle test, if thirty percent can tell.",
            numbers::plain(u64::from(needs.first))
        ))),
        "{more}"
    );
    let all = cook.says("how many tasters");
    assert_eq!(all, said);
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

#[test]
fn a_tasting_outlives_a_restart_and_its_codes_are_its_own() {
    let mut cook = opened("triangle test with four tasters");
    let (odd, _) = odd_and_other(&sheet(&cook), 1);
    cook.says(&format!("taster one {}", digits(odd)));
    cook.says("yes");
    let mut again = State::new(std::sync::Arc::new(cook.state.plan().clone())).seeded(1);
    for event in &cook.events {
        again.apply(event);
    }
    assert!(again.is_like(&cook.state));
    assert_eq!(again.tasting(), cook.state.tasting());
    let said = cook.put(&hobcall::kitchen::Input::Resumed { away_ms: 60_000 });
    let said = support::text(&said);
    assert!(
        said.contains("A tasting is open. Waiting for tasters two, three and four."),
        "{said}"
    );
    // Ending the cook would lose them.
    assert_eq!(
        cook.says("end the cook"),
        "The tasting waits for tasters two, three and four. End the cook?"
    );

    // Another cook, and another tasting of the same cook, get other codes.
    let codes = |cook: &Cook| -> Vec<Code> {
        sheet(cook)
            .rows
            .iter()
            .flat_map(|r| r.servings.iter().map(|s| s.code))
            .collect()
    };
    let mut other = kitchen();
    other.state = other.state.seeded(8);
    other.says("triangle test with four tasters");
    let mut second = opened("triangle test with four tasters");
    let first_codes = codes(&second);
    assert_eq!(first_codes, codes(&cook), "the seed alone decides");
    second.says("scratch that");
    second.events.clear();
    second.says("triangle test with four tasters");
    assert_ne!(codes(&other), first_codes);
    assert_ne!(codes(&second), first_codes);
}

/// Every point of the protocol that the standards ask for, as `data/sensory_protocol.csv`
/// lists them; a point that nobody checks fails here.
#[test]
fn the_protocol_of_the_standards() {
    let points = include_str!("../../data/sensory_protocol.csv");
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

/// ISO 4120's table of assessors for alpha 0.05, beta 0.2, half discriminating: 16, from
/// memory; the rest follows from the binomial.
#[test]
fn a_panel_s_size_on_the_command_line() {
    let ask = |size: panel::Size| {
        let mut out = Vec::new();
        let args = panel::Args {
            command: panel::Command::Size(size),
        };
        let done = panel::run(&args, &mut out).map_err(|e| e.to_string());
        done.map(|()| String::from_utf8(out).unwrap())
    };
    let wish = panel::Size {
        test: Test::Triangle,
        alpha: 0.05,
        beta: 0.2,
        share: 0.5,
        tasters: None,
    };
    let said = ask(wish.clone()).unwrap();
    assert!(said.starts_with("16 tasters, 9 of them right"), "{said}");
    let two = ask(panel::Size {
        tasters: Some(2),
        ..wish.clone()
    });
    assert!(two.unwrap().contains("cannot show a difference"));
    let six = ask(panel::Size {
        tasters: Some(6),
        ..wish.clone()
    });
    assert!(six.unwrap().starts_with("5 of 6 are needed"));
    let wrong = ask(panel::Size { share: 1.5, ..wish }).unwrap_err();
    assert!(wrong.contains("between 0 and 1"), "{wrong}");
}
