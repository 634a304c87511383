//! The grammars that ship, as wholes: one meaning for each sentence, every place that a
//! plan can have, every word of the plan, typed lines, and what the ear is given.

use std::collections::BTreeSet;
use std::time::Duration;

use crate::plan::{CHOPS, chops, read};
use hobcall::grammar::{ActiveSet, Call, Grammar, Subject};
use hobcall::plan::{Layout, Place, Plan};

/// The same kitchen in Korean.
const KOREAN: &str = "\
plan: 등심 여섯 조각
language: ko
units: celsius
items:
  등심: {also called: 고기, pieces: 6, class: whole cut}
samples:
  시험 고기: {of: 등심}
vessels:
  왼쪽 팬: {kind: skillet, places: left middle right}
  오른쪽 팬: {kind: skillet, places: left middle right}
  망: {kind: rack, places: grid 2 x 3}
steps:
  절임:
    after: start
    say: 소금물에 절이세요.
    wait: 12 h
  굽기:
    after: 절임
    say: 구우세요.
    until: {word: 다 구웠다}
";

fn of(plan: &Plan) -> Grammar {
    Grammar::for_plan(&plan.language, plan).unwrap_or_else(|e| panic!("{e}"))
}

fn shipped() -> Vec<(String, Plan)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/plans");
    let mut plans = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{e}")) {
        let path = entry.unwrap_or_else(|e| panic!("{e}")).path();
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{e}"));
        plans.push((path.display().to_string(), read(&text)));
    }
    assert!(!plans.is_empty());
    plans
}

/// No sentence of a grammar has two meanings: looked for where two ways through the same
/// words come apart, and by sentences drawn at random.
#[test]
fn one_meaning_for_each_sentence() {
    let mut plans = shipped();
    plans.push(("chops".into(), chops()));
    plans.push(("korean".into(), read(KOREAN)));
    for (name, plan) in plans {
        let grammar = of(&plan);
        assert_eq!(grammar.warnings(), [], "{name}");
        let doubled = grammar.double_meanings(10);
        assert!(doubled.is_empty(), "{name}: {doubled:#?}");
        for seed in 0..1500 {
            let sentence = grammar.sentence(seed);
            let meanings = grammar.meanings(&sentence);
            assert!(
                matches!(meanings.as_slice(), [Ok(_)]) || grammar.calls(&sentence).len() == 1,
                "{name}: {sentence:?} {meanings:?}"
            );
            assert!(
                meanings.iter().all(Result::is_ok),
                "{sentence:?} {meanings:?}"
            );
            assert!(grammar.acceptor().accepts(sentence.split(' ')));
        }
    }
}

/// Where a plan has two kinds of "left", the words leave it open which is meant and the
/// kitchen decides: both calls are given, and these are all.
#[test]
fn what_stays_open_is_said_to_be_open() {
    let two_kinds = CHOPS.replace("grid 2 x 3", "grid 1 x 2");
    let grammar = of(&read(&two_kinds));
    let left = grammar.calls("the left one");
    let answer = |place| Call::Answer {
        subject: Subject::Place(place),
    };
    assert_eq!(left.len(), 2, "{left:?}");
    for place in [Place::Left, Place::Cell { row: 0, column: 0 }] {
        assert!(left.contains(&answer(place)), "{left:?}");
    }
    for (sentence, calls) in grammar.double_meanings(200) {
        let side = sentence.contains("left") || sentence.contains("right");
        assert!(side && calls.len() <= 4, "{sentence:?}: {calls:?}");
    }
}

/// "To" and "two", "for" and "four" sound alike. Written alike, no two sentences with
/// different calls become one.
#[test]
fn words_that_sound_alike_do_not_change_the_call() {
    let file = include_str!("../../grammars/en.jsgf");
    let names = [
        ("<vessel>", "left skillet {vessel a} | rack {vessel b}"),
        ("<sample>", "test chop {sample s}"),
        ("<item>", "chops {item i}"),
        ("<step>", "brine {step p}"),
        ("<clock>", "brine {clock brine}"),
        ("<place>", "<places_row_3>"),
    ];
    let mut text = file.to_string();
    for (rule, body) in names {
        let empty = format!("{rule} = <VOID>;");
        assert!(text.contains(&empty), "{rule}");
        text = text.replace(&empty, &format!("{rule} = {body};"));
    }
    let alike: String = text
        .lines()
        .map(|line| {
            let line = line.split("//").next().unwrap_or(line);
            let words = line.split_inclusive([' ', '(', ')', '|', ';', '[', ']']);
            let words: String = words
                .map(|w| {
                    let bare = w.trim_end_matches([' ', '(', ')', '|', ';', '[', ']']);
                    let tail = &w[bare.len()..];
                    let same = match bare {
                        "two" => "to",
                        "four" => "for",
                        other => other,
                    };
                    format!("{same}{tail}")
                })
                .collect();
            words + "\n"
        })
        .collect();
    let plain = Grammar::from_jsgf(&text, "en.jsgf").unwrap_or_else(|e| panic!("{e}"));
    let alike = Grammar::from_jsgf(&alike, "alike.jsgf").unwrap_or_else(|e| panic!("{e}"));
    assert!(plain.vocabulary().contains(&"two") && !alike.vocabulary().contains(&"two"));
    assert_eq!(plain.double_meanings(10), []);
    let doubled = alike.double_meanings(10);
    assert!(doubled.is_empty(), "{doubled:#?}");
}

/// Every name that the plan room has for a place is understood as that place.
#[test]
fn every_place_of_every_layout() {
    let mut layouts = vec![
        Layout::LeftRight,
        Layout::FrontBack,
        Layout::Row3,
        Layout::Clock,
    ];
    for rows in 1..=4 {
        for columns in 1..=4 {
            layouts.push(Layout::Grid { rows, columns });
        }
    }
    for layout in layouts {
        let mut plan = chops();
        plan.vessels.truncate(1);
        for vessel in &mut plan.vessels {
            vessel.places = layout;
            vessel.names = vec!["skillet".into()];
        }
        let grammar = of(&plan);
        for place in layout.places() {
            for name in layout.names_of(place).iter().filter(|n| !n.is_empty()) {
                let calls = grammar.calls_typed(name);
                let answer = Call::Answer {
                    subject: Subject::Place(place),
                };
                assert_eq!(calls, [answer], "{layout:?} {place:?} {name:?}");
            }
        }
        // And nothing else is a place: as many as the layout has.
        let places = match grammar.starting_at(&["place"]) {
            Ok(places) => places,
            Err(_) => {
                assert_eq!(layout.places().len(), 1, "{layout:?}");
                continue;
            }
        };
        let heard: BTreeSet<String> = places
            .sentences(10_000)
            .iter()
            .flat_map(|s| grammar.calls(s))
            .map(|c| format!("{c:?}"))
            .collect();
        assert_eq!(heard.len(), layout.places().len(), "{layout:?}: {heard:?}");
    }
}

/// A heap has no places, and a plan without names still has its calls.
#[test]
fn empty_sets_cannot_be_said() {
    let bare = read(
        "plan: tea\nunits: celsius\nsteps:\n  steep:\n    say: Steep.\n    until: {time: 4 min}\n",
    );
    let grammar = of(&bare);
    for words in [
        "next",
        "timer four minutes",
        "how long on the steep",
        "reading one fifty",
    ] {
        assert_eq!(grammar.calls(words).len(), 1, "{words:?}");
    }
    for words in ["where is the", "left", "swap left and right", "out to the"] {
        assert_eq!(grammar.calls(words), [], "{words:?}");
    }
    assert!(!grammar.vocabulary().contains(&"where's"));
    let none = Grammar::of_language("en").unwrap_or_else(|e| panic!("{e}"));
    assert!(none.accepts("next") && none.accepts("rice timer ten minutes"));
    let e = Grammar::for_plan("fr", &bare).err();
    assert!(e.is_some_and(|e| e.write_instead.contains("en, ko")));
}

/// A side that is in a vessel's name answers for the vessel, whatever its places.
#[test]
fn sides_of_vessels_are_places_to_answer_with() {
    let heaps = CHOPS.replace(", places: left middle right", "");
    let grammar = of(&read(&heaps));
    let left = Call::Answer {
        subject: Subject::Place(Place::Left),
    };
    assert_eq!(grammar.calls("the left one"), [left]);
    assert_eq!(grammar.calls("the middle one"), []);
}

/// Names of clocks that the plan has itself are not offered a second time.
#[test]
fn plan_names_replace_the_general_ones() {
    let rice = CHOPS
        .replace("  brine:", "  rice:")
        .replace("after: brine", "after: rice");
    let grammar = of(&read(&rice));
    let step = Call::HowLong {
        what: Some(Subject::Step("rice".into())),
    };
    assert_eq!(grammar.calls("how long on the rice"), [step]);
    let timer = Call::Timer {
        duration: Duration::from_secs(60),
        name: Some("rice".into()),
    };
    assert_eq!(grammar.calls("rice timer one minute"), [timer]);
}

#[test]
fn typed_lines_go_through_the_same_grammar() {
    let english = of(&chops());
    for (typed, spoken) in [
        ("Reading 152.5!", "reading one fifty two point five"),
        ("reading 150°", "reading one fifty degrees"),
        ("reading 160-165", "reading one sixty to one sixty five"),
        (
            "reading 160 – 165 deg.",
            "reading one sixty to one sixty five degrees",
        ),
        ("  Timer   4 min ", "timer four minutes"),
        ("timer 1 min", "timer one minute"),
        ("timer 90s", "timer ninety seconds"),
        ("timer 1:30", "timer one minute thirty"),
        ("timer 1h30", "timer one hour thirty"),
        ("timer 2 hrs 15 mins", "timer two hours fifteen minutes"),
        ("set a 10 minute rice timer", "set a ten minute rice timer"),
        ("2 more minutes", "two more minutes"),
        ("left pan reading 162", "left skillet reading one sixty two"),
        ("Left-skillet done.", "left skillet done"),
        ("whats next?", "what's next"),
        ("What’s next", "what's next"),
        ("wheres the test chop", "where's the test chop"),
        ("no, 115", "no one fifteen"),
        ("scratch that!!", "scratch that"),
        ("heat: medium-high", "heat medium high"),
        ("test chop to the back left", "test chop to the back left"),
        ("leftskillet flipped", "left skillet flipped"),
        ("oil 250", "oil two fifty"),
        ("32,5", "thirty two point five"),
        ("0", "zero"),
    ] {
        assert_eq!(english.typed(typed).as_deref(), Some(spoken), "{typed:?}");
    }
    for nothing in [
        "",
        " ",
        "?!",
        "reading",
        "hello there",
        "reading 1000",
        "timer",
        "reading 1e5",
        "-5",
        "reading -5",
        "timer 1/2 hour",
        "reading 150%",
        "3 + 4",
    ] {
        assert_eq!(english.typed(nothing), None, "{nothing:?}");
    }
    let note = |text: &str| {
        vec![Call::Note {
            text: Some(text.into()),
        }]
    };
    assert_eq!(
        english.calls_typed("note: crust is dark, 3 of 6"),
        note("crust is dark, 3 of 6")
    );
    assert_eq!(
        english.calls_typed("Take a note  Left one sticks"),
        note("Left one sticks")
    );
    assert_eq!(english.calls_typed("note"), [Call::Note { text: None }]);
    let korean = of(&read(KOREAN));
    for (typed, spoken) in [
        ("타이머 5분", "타이머 오 분"),
        ("온도 162도", "온도 백 육 십 이 도"),
        ("왼쪽팬 뒤집었어", "왼쪽 팬 뒤집 었어"),
        ("타이머 2시간", "타이머 이 시간"),
        ("62.5", "육 십 이 점 오"),
    ] {
        assert_eq!(korean.typed(typed).as_deref(), Some(spoken), "{typed:?}");
    }
}

#[test]
fn korean_calls_are_the_same_calls() {
    let korean = of(&read(KOREAN));
    let english = of(&chops());
    for (korean_words, english_words) in [
        ("다음", "next"),
        ("완료", "done"),
        ("다음 뭐야", "what's next"),
        ("다시 말해 줘", "say again"),
        ("정지", "stop"),
        ("멈춰", "stop the timer"),
        ("취소", "cancel"),
        ("되돌려", "scratch that"),
        ("예", "yes"),
        ("아니요", "no"),
        ("아니 백 십 오", "no one fifteen"),
        ("온도 백 오 십", "reading one fifty"),
        (
            "온도 백 육 십 에서 백 육 십 오 도",
            "reading one sixty to one sixty five degrees",
        ),
        ("기름 백 칠 십", "oil one seventy"),
        ("왼쪽", "left"),
        ("오른쪽", "right"),
        ("왼쪽 하고 오른쪽 바꿔", "swap left and right"),
        ("타이머 오 분", "timer five minutes"),
        ("타이머 한 시간 반", "timer an hour and a half"),
        ("타이머 두 시간 십 오 분", "timer two hours fifteen minutes"),
        ("구 십 초 타이머", "timer ninety seconds"),
        ("이 분 더", "two more minutes"),
        ("삼 십 초 빼기", "thirty seconds less"),
        ("얼마나 남았 어", "how long"),
        ("몇 시야", "what time is it"),
        ("조용히", "quiet"),
        ("잠깐", "hold on"),
        ("계속", "carry on"),
        ("불 줄여", "heat down"),
        ("뒤집 었어", "flipped"),
        ("메모", "note"),
        ("요리 끝", "end the cook"),
    ] {
        let ours = korean.calls(korean_words);
        assert_eq!(ours.len(), 1, "{korean_words}");
        assert_eq!(
            ours,
            english.calls(english_words),
            "{korean_words} / {english_words}"
        );
    }
    assert_eq!(
        korean.calls("밥 타이머 십 분"),
        [Call::Timer {
            duration: Duration::from_secs(600),
            name: Some("밥".into())
        }]
    );
    let asleep = korean.restricted(&ActiveSet::asleep());
    assert_eq!(
        asleep.map(|g| g.sentences(10)),
        Ok(vec!["계속".to_string()])
    );
}

/// What the recognisers get: every word of every sentence, and pairs of words as they
/// can follow one another.
#[test]
fn vocabulary_and_phrases_cover_the_grammar() {
    for plan in [chops(), read(KOREAN)] {
        let grammar = of(&plan);
        let vocabulary: BTreeSet<&str> = grammar.vocabulary().into_iter().collect();
        assert_eq!(vocabulary.len(), grammar.vocabulary().len());
        let phrases = grammar.phrases(10_000).unwrap_or_else(|e| panic!("{e}"));
        let mut pairs = BTreeSet::new();
        let ends = |s: &str| -> Vec<(String, String)> {
            let mut words = vec![String::from("<s>")];
            words.extend(s.split(' ').map(str::to_string));
            words.push("</s>".into());
            words
                .windows(2)
                .map(|w| (w[0].clone(), w[1].clone()))
                .collect()
        };
        for phrase in &phrases {
            assert!(grammar.accepts(phrase), "{phrase:?}");
            assert!(!phrase.contains('"'));
            pairs.extend(ends(phrase));
        }
        let said: BTreeSet<&str> = phrases.iter().flat_map(|p| p.split(' ')).collect();
        assert_eq!(said, vocabulary);
        for seed in 0..1000 {
            let sentence = grammar.sentence(seed);
            for pair in ends(&sentence) {
                assert!(pairs.contains(&pair), "{pair:?} of {sentence:?}");
            }
        }
        let few = grammar.phrases(10).err();
        assert!(few.is_some_and(|e| e.what.contains("10 phrases")));
    }
}

/// The text for other programs says the same as the grammar it was made from.
#[test]
fn exported_text_says_the_same() {
    for plan in [chops(), read(KOREAN)] {
        let grammar = of(&plan);
        for set in [
            ActiveSet::awake(),
            ActiveSet::answering(),
            ActiveSet::asleep(),
        ] {
            let part = grammar.restricted(&set).unwrap_or_else(|e| panic!("{e}"));
            let text = part.to_jsgf();
            let again = Grammar::from_jsgf(&text, "exported.jsgf");
            let again = again.unwrap_or_else(|e| panic!("{e}\n{text}"));
            assert_eq!(again.warnings(), []);
            assert!(!text.contains('{') && !text.contains("<VOID>"));
            let (a, b) = (part.acceptor(), again.acceptor());
            assert_eq!((a.states(), a.arc_count()), (b.states(), b.arc_count()));
            for seed in 0..500 {
                assert!(again.accepts(&part.sentence(seed)));
                assert!(part.accepts(&again.sentence(seed)));
            }
        }
    }
}

/// Names that collide with calls are found, so that a plan can be warned about them.
#[test]
fn colliding_names_are_found() {
    let mut plan = chops();
    for vessel in plan.vessels.iter_mut().take(1) {
        vessel.names = vec!["timer".into()];
    }
    for step in plan.steps.iter_mut().take(1) {
        step.names = vec!["test chop".into()];
    }
    let doubled = of(&plan).double_meanings(1000);
    let about = |word: &str| doubled.iter().any(|(s, _)| s.contains(word));
    assert!(about("test chop"), "{doubled:?}");
}

/// A plan may give a word of the general kind to a thing of its own.
#[test]
fn plan_names_replace_the_words_for_what_food_sits_in() {
    let syrup = CHOPS.replace(
        "  chops: {also called: chop,",
        "  syrup: {also called: chops,",
    );
    let grammar = of(&read(&syrup.replace("of: chops", "of: syrup")));
    let calls = grammar.calls("syrup two forty");
    let about = Some(Subject::Item("syrup".into()));
    assert!(
        matches!(calls.as_slice(), [Call::Reading { about: a, .. }] if *a == about),
        "{calls:?}"
    );
    assert_eq!(grammar.calls("sugar two forty").len(), 1);
}
