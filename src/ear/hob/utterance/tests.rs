use super::doubt::ASKED;
use super::*;
use crate::ear::hob::synthetic::{Voice, search};

fn hear(grammar: &str, said: &str, voice: &Voice) -> Understood {
    let (search, mut lexicon) = search(grammar);
    let mut utterance = Utterance::new(search);
    for frame in voice.say(said, &mut lexicon) {
        utterance.push(frame, -20.0);
    }
    utterance.understand(&utterance, &Weights::default(), &|_| None)
}

fn best(grammar: &str, said: &str, voice: &Voice) -> (String, f32) {
    let found = hear(grammar, said, voice);
    let best = found.readings.first();
    best.map_or_else(Default::default, |r| (r.words.clone(), r.confidence))
}

/// A grammar that nobody here wrote for this ear: nested rules, weights, capitals.
const FOREIGN: &str = "#JSGF V1.0;
    grammar shed;
    public <order> = <verb> the <tool> [please] | /3/ count <number> | Stop;
    <verb> = bring | fetch | put back;
    <tool> = hammer | saw | spade {dig};
    <number> = one | two | three | fifteen | fifty | sixteen | sixty;";

#[test]
fn clear_sentences_are_found() {
    for said in [
        "bring the hammer",
        "put back the spade please",
        "count fifteen",
        "Stop",
    ] {
        let (words, confidence) = best(FOREIGN, said, &Voice::default());
        assert_eq!(words, said);
        assert!(confidence > 0.8, "{said}: {confidence}");
    }
}

#[test]
fn every_call_of_our_own_grammar_can_be_heard() {
    let ours = Grammar::of_language("en").unwrap();
    let (search, mut lexicon) = search("");
    let mut wrong = Vec::new();
    for seed in 0..150 {
        let said = ours.sentence(seed);
        let mut utterance = Utterance::new(Arc::clone(&search));
        for frame in Voice::default().say(&said, &mut lexicon) {
            utterance.push(frame, -20.0);
        }
        let found = utterance.understand(&utterance, &Weights::default(), &|_| None);
        let words = found.readings.first().map_or("", |r| r.words.as_str());
        if ours.calls(words) != ours.calls(&said) {
            wrong.push((said, words.to_owned()));
        }
    }
    // Words of one sound ("for", "four") are the grammar's to keep apart.
    assert!(wrong.len() <= 2, "{wrong:?}");
}

#[test]
fn other_speech_is_improbable() {
    for said in [
        "my sister called about the weather",
        "hamburger",
        "the window was open all night",
    ] {
        let (words, confidence) = best(FOREIGN, said, &Voice::default());
        assert!(confidence < 0.2, "{said} as {words}: {confidence}");
    }
}

#[test]
fn in_noise_the_right_sentence_still_leads_with_less_confidence() {
    let voice = Voice {
        noise: 2.5,
        ..Voice::default()
    };
    let (clear, noisy) = (
        best(FOREIGN, "fetch the saw", &Voice::default()),
        best(FOREIGN, "fetch the saw", &voice),
    );
    assert_eq!(noisy.0, "fetch the saw");
    assert!(noisy.1 < clear.1);
}

#[test]
fn two_that_sound_alike_both_remain() {
    // "fif-" and then neither clearly "-ty" nor "-teen".
    let voice = Voice {
        swallow: 3,
        ..Voice::default()
    };
    let found = hear(FOREIGN, "count fifteen", &voice);
    let words: Vec<&str> = found.readings.iter().map(|r| r.words.as_str()).collect();
    assert!(
        words.contains(&"count fifteen") && words.contains(&"count fifty"),
        "{found:?}"
    );
}

#[test]
fn a_third_opinion_is_asked_where_two_are_close_and_only_there() {
    let (search, mut lexicon) = search(FOREIGN);
    let mut told = |said: &str, swallow: usize, likes: &str| {
        let mut utterance = Utterance::new(Arc::clone(&search));
        let voice = Voice {
            swallow,
            ..Voice::default()
        };
        for frame in voice.say(said, &mut lexicon) {
            utterance.push(frame, -20.0);
        }
        let asked = std::cell::Cell::new(false);
        let third = |sentences: &[&str]| {
            asked.set(true);
            assert!(sentences.len() <= ASKED);
            let told = |s: &&str| Told {
                heard: if *s == likes { -1.0 } else { -21.0 },
                expected: -25.0,
            };
            Some(sentences.iter().map(told).collect())
        };
        let found = utterance.understand(&utterance, &Weights::default(), &third);
        (found.readings[0].words.clone(), asked.get())
    };
    for likes in ["count fifteen", "count fifty"] {
        assert_eq!(told("count fifteen", 3, likes), (likes.to_owned(), true));
    }
    let clear = ("bring the saw".to_owned(), false);
    assert_eq!(told("bring the saw", 0, "fetch the saw"), clear);
}

#[test]
fn sound_before_and_after_is_forgiven_but_counted() {
    let (search, mut lexicon) = search(FOREIGN);
    let mut utterance = Utterance::new(search);
    let voice = Voice::default();
    for said in ["uh", "bring the saw", "hm"] {
        for frame in voice.say(said, &mut lexicon) {
            utterance.push(frame, -20.0);
        }
    }
    let found = utterance.understand(&utterance, &Weights::default(), &|_| None);
    assert_eq!(found.readings[0].words, "bring the saw");
    assert!(found.evidence.first.outside > 3.0, "{:?}", found.evidence);
}

#[test]
fn a_voice_in_the_background_adds_no_words() {
    const ICY: &str = "#JSGF V1.0;
        grammar probe;
        public <call> = [ice] reading (one | two) fifty;";
    let (search, mut lexicon) = search(ICY);
    let hear = |far: f32, lexicon: &mut Lexicon| {
        let mut utterance = Utterance::new(Arc::clone(&search));
        for (said, level) in [("ice", far), ("reading one fifty", -20.0), ("fifty", far)] {
            for frame in Voice::default().say(said, lexicon) {
                utterance.push(frame, level);
            }
        }
        utterance
            .understand(&utterance, &Weights::default(), &|_| None)
            .readings[0]
            .words
            .clone()
    };
    assert_eq!(hear(-50.0, &mut lexicon), "reading one fifty");
    assert_eq!(hear(-25.0, &mut lexicon), "ice reading one fifty");
}

#[test]
fn silence_is_no_sentence_of_any_confidence() {
    let (search, _) = search(FOREIGN);
    let mut utterance = Utterance::new(search);
    for frame in Voice::default().silence(40) {
        utterance.push(frame, -20.0);
    }
    let found = utterance.understand(&utterance, &Weights::default(), &|_| None);
    assert!(
        found.readings.first().is_none_or(|r| r.confidence < 0.1),
        "{found:?}"
    );
}

fn heard(grammar: &str, said: &str) -> Utterance {
    let (search, mut lexicon) = search(grammar);
    let mut utterance = Utterance::new(search);
    for frame in Voice::default().say(said, &mut lexicon) {
        utterance.push(frame, -20.0);
    }
    utterance
}

/// "No" alone, or the beginning of "no, one fifteen": the grammar has it twice, and at the
/// end of the sound both have heard the same.
#[test]
fn the_same_words_with_more_to_come_are_a_way_on_and_no_rival() {
    let open = "#JSGF V1.0; grammar g; public <a> = no | no <n>; <n> = one | two | three;";
    let closed = "#JSGF V1.0; grammar g; public <a> = no | stop;";
    let (open, closed) = (heard(open, "no").standing(), heard(closed, "no").standing());
    assert!(
        open.complete > 3.0 && closed.complete > 3.0,
        "{open:?} {closed:?}"
    );
    assert!(open.ways_on >= 3 && closed.ways_on == 0);
    // Where a word is missing, it is no sentence however well it is heard.
    let wants = "#JSGF V1.0; grammar g; public <a> = no <n>; <n> = one | two | three;";
    assert!(heard(wants, "no").standing().complete < -3.0);
}

#[test]
fn both_networks_must_find_an_utterance_ended() {
    let grammar = "#JSGF V1.0; grammar g; public <a> = one two | one two three four;";
    let (whole, part) = (heard(grammar, "one two"), heard(grammar, "one two three"));
    let weights = Weights::default();
    let together = |a: &Utterance, b: &Utterance| a.standing_with(b, &weights).complete;
    assert!(together(&whole, &whole) > 3.0);
    assert!(together(&part, &part) < -3.0);
    for mixed in [together(&whole, &part), together(&part, &whole)] {
        assert!(mixed < together(&whole, &whole) && mixed > together(&part, &part));
    }
}

#[test]
fn what_is_said_where_nobody_near_speaks_is_said_by_others() {
    let (search, mut lexicon) = search(FOREIGN);
    let voice = Voice::default();
    let near = voice.say("bring the hammer", &mut lexicon);
    let others = voice.say("fetch the saw", &mut lexicon);
    let mut first = Utterance::new(Arc::clone(&search));
    let mut second = Utterance::new(search);
    for frame in &near {
        first.push(frame.clone(), -20.0);
        second.push(frame.clone(), -20.0);
    }
    assert_eq!(first.of_others(&second, 0), 0);
    let end = second.near().unwrap().end;
    for frame in &others {
        first.push(frame.clone(), -20.0);
        let speech = 0.02;
        second.push(
            Frame {
                speech,
                ..frame.clone()
            },
            -20.0,
        );
    }
    assert_eq!(second.near().unwrap().end, end);
    // F EH CH, DH AH, S AO, but for what lies next to the near speech.
    assert!(first.of_others(&second, 0) >= 4);
    assert_eq!(
        first.of_others(&second, end),
        first.of_others(&second, 0),
        "none of it before the end"
    );
    let only = first.only_within(&second.near().unwrap());
    assert_eq!(only.of_others(&second, 0), 0);
    assert_eq!(only.words(), "bring the hammer");
}
