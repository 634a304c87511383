//! Our own ear on people that it never met in training: Debian's recordings for testing
//! PocketSphinx (package `pocketsphinx-testdata`). What is said in them is written in
//! that package, or is the name of the file.

use crate::common::{human, raw_samples, samples_of, words};
use hobcall::ear::{EarEvent, Engine, Heard, Patience};
use hobcall::grammar::{ActiveSet, Call, Grammar};
use hobcall::plan;
use hobcall::voice::FliteVoice;
use hobcall::voice::flite::Flite;
use hobcall::voice::synth::Synth;

fn hear(grammar: &Grammar, samples: &[i16]) -> Vec<Heard> {
    let mut ear = Engine::Hob.listen("en", Patience::default()).unwrap();
    let unheard = ear.set_grammar(grammar.clone()).unwrap();
    assert!(unheard.is_empty(), "cannot be heard: {unheard:?}");
    let mut heard = Vec::new();
    let mut on = |e: EarEvent| {
        if let EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    for piece in samples.chunks(213) {
        ear.feed(piece, false, &mut on);
    }
    // Half a second of silence: the recordings end with the word.
    ear.feed(&[0; 8_000], false, &mut on);
    ear.end(&mut on);
    heard
}

fn jsgf(text: &str) -> Grammar {
    Grammar::from_jsgf(&format!("#JSGF V1.0;\ngrammar test;\n{text}"), "test.jsgf").unwrap()
}

#[test]
fn people_saying_digits_and_numbers_are_understood() {
    let digits = jsgf(
        "public <digits> = <digit>+;
         <digit> = one | two | three | four | five | six | seven | eight | nine | zero | oh;",
    );
    // By the TIDIGITS convention the file's name is what is said, z for zero.
    let heard = hear(&digits, &raw_samples(&human("tidigits/dhd.2934z.raw")));
    assert_eq!(words(&heard), "two nine three four zero");
    let forward = jsgf(
        "public <move> = go (forward | backward) <n> (meter | meters);
         <n> = one | two | three | four | five | six | seven | eight | nine | ten;",
    );
    // `goforward.gram` beside it has these words.
    let heard = hear(&forward, &raw_samples(&human("goforward.raw")));
    assert_eq!(words(&heard), "go forward ten meters");
}

/// With everything that may be said in the cook of a shipped plan while no question is
/// open. A call that only asks would change nothing either; not even that is heard.
#[test]
fn a_person_reading_a_novel_changes_nothing_in_the_kitchen() {
    let text = include_str!("../../plans/pork-chops-two-brines.yaml");
    let plan = plan::read(text, "plan.yaml").unwrap().plan;
    let grammar = Grammar::for_plan("en", &plan)
        .and_then(|g| g.restricted(&ActiveSet::awake()))
        .unwrap_or_else(|e| panic!("{e}"));
    let mut called: Vec<(String, Call)> = Vec::new();
    for n in ["0870", "0880", "0890", "0920", "0930"] {
        let file = format!("librivox/sense_and_sensibility_01_austen_64kb-{n}.wav");
        let samples = samples_of(&human(&file));
        assert!(samples.len() > 2 * 16_000, "{file}: {}", samples.len());
        for heard in hear(&grammar, &samples) {
            called.extend(
                grammar
                    .calls(&heard.words)
                    .into_iter()
                    .map(|call| (format!("{file}: {}", heard.words), call)),
            );
        }
    }
    assert!(called.is_empty(), "{called:#?}");
}

/// A name that no dictionary has, said by a synthetic voice as the plan says: "Siobhan" is
/// an Irish name with the sounds of "shuh vawn", which its letters do not tell.
#[test]
fn a_name_is_heard_as_the_plan_says_it() {
    let text = "plan: Two pots\nunits: celsius\npronounce: {siobhan: shuh vawn}\nvessels:\n  \
                siobhan pot: {kind: pot}\n  rear pot: {kind: pot}\nsteps:\n  heating:\n    say: Heat on.\n";
    let plan = plan::read(text, "plan.yaml").unwrap().plan;
    let grammar = Grammar::for_plan("en", &plan)
        .and_then(|g| g.restricted(&ActiveSet::awake()))
        .unwrap_or_else(|e| panic!("{e}"));
    let mut voice = Flite::open(FliteVoice::Slt).unwrap();
    let mut sound = vec![3_i16; 8_000];
    sound.extend(voice.render("stirred the shuh vawn pot", 1.0).unwrap());
    sound.extend([3; 16_000]);
    let hear = |said: &[plan::Pronounced]| {
        let mut ear = Engine::Hob.listen("en", Patience::default()).unwrap();
        ear.pronounce(said).unwrap();
        ear.set_grammar(grammar.clone()).unwrap();
        let mut heard = Vec::new();
        ear.feed(&sound, false, &mut |e| {
            if let EarEvent::Heard(h) = e {
                heard.push(h);
            }
        });
        heard
    };
    let told = hear(&plan.hearing.pronounce);
    assert_eq!(words(&told), "stirred the siobhan pot");
    // By its letters alone it is less sure, or not heard at all.
    let sure = |heard: &[Heard]| {
        let right = heard
            .iter()
            .filter(|h| h.words == "stirred the siobhan pot");
        right.map(|h| h.confidence).fold(0.0, f32::max)
    };
    assert!(sure(&told) > sure(&hear(&[])) + 0.1, "{told:?}");
}

/// The calls about amounts, the day, the fridge and cooling, said by the built-in voice
/// (which trained the network: a check that each can be heard at all, not of how well).
#[test]
fn calls_about_amounts_and_the_day_are_heard() {
    let text = std::fs::read_to_string("plans/pork-chops-two-brines.yaml").unwrap();
    let plan = plan::read(&text, "plan.yaml").unwrap().plan;
    let grammar = Grammar::for_plan("en", &plan)
        .and_then(|g| g.restricted(&ActiveSet::awake()))
        .unwrap_or_else(|e| panic!("{e}"));
    let mut voice = Flite::open(FliteVoice::Slt).unwrap();
    let said = [
        "how much salt",
        "how much oil",
        "am i late",
        "when do we eat",
        "when should i start the oil",
        "there are eight chops",
        "cooking for six",
        "the chops weigh one point nine kilos",
        "chops in the fridge",
        "chops out of the fridge",
        "cooling the chops",
        "reading sixty five celsius",
    ];
    for call in said {
        let mut sound = vec![3_i16; 8_000];
        sound.extend(voice.render(call, 1.0).unwrap());
        sound.extend([3; 16_000]);
        assert_eq!(words(&hear(&grammar, &sound)), call);
    }
}
