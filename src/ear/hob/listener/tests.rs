use super::*;
use crate::voice::flite::{Flite, FliteVoice};
use crate::voice::synth::Synth;

const GRAMMAR: &str = "#JSGF V1.0;
    grammar bench;
    public <call> = <verb> the (left | right) pan | reading <number> [degrees] | next | undo;
    <verb> = flipped | turned | lifted;
    <number> = one fifty | one fifteen | two hundred (twelve | twenty);";

fn listener() -> HobListener {
    let model = crate::ear::hob::english().unwrap();
    let mut listener = HobListener::new(model, Waits::default()).unwrap();
    let grammar = Grammar::from_jsgf(GRAMMAR, "test").unwrap();
    assert_eq!(listener.set_grammar(grammar).unwrap(), Vec::<String>::new());
    listener
}

/// The words by Flite's voice, half a second of near silence on either side.
fn say(words: &str) -> Vec<i16> {
    let mut voice = Flite::open(FliteVoice::Slt).unwrap();
    let spoken = voice.render(words, 1.0).unwrap();
    let mut seed = 1u32;
    let mut hiss = move || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 28) as i16 - 8
    };
    let mut out: Vec<i16> = (0..8_000).map(|_| hiss()).collect();
    out.extend(spoken.iter().map(|s| s / 2));
    out.extend((0..8_000).map(|_| hiss()));
    out
}

fn hear(listener: &mut HobListener, sound: &[i16]) -> Vec<Heard> {
    let mut heard = Vec::new();
    let mut on = |e| {
        if let EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    for piece in sound.chunks(777) {
        listener.feed(piece, false, &mut on);
    }
    listener.reset(&mut on);
    heard
}

#[test]
fn calls_are_heard_with_their_time() {
    let mut listener = listener();
    for words in [
        "flipped the left pan",
        "reading two hundred twelve degrees",
        "undo",
    ] {
        let sound = say(words);
        let heard = hear(&mut listener, &sound);
        assert_eq!(heard.len(), 1, "{words}: {heard:?}");
        let h = &heard[0];
        assert_eq!(h.words, words);
        assert!(h.confidence > 0.6, "{h:?}");
        assert!(h.to > h.from && h.to - h.from < 4.0);
    }
}

#[test]
fn after_long_talk_without_a_pause_a_call_is_still_heard() {
    let mut listener = listener();
    let talk = "my neighbour went down to the market on saturday and came home with a \
        basket of quinces that nobody in the house had any use for so they stood by the \
        window all week until the children carried them over to the school for the fair";
    let mut sound = say(talk);
    assert!(sound.len() > 10 * 16_000);
    // A breath, and then the call.
    sound.truncate(sound.len() - 4_000);
    sound.extend(say("reading two hundred twenty").iter().skip(4_000));
    let heard = hear(&mut listener, &sound);
    let words: Vec<&str> = heard.iter().map(|h| h.words.as_str()).collect();
    assert_eq!(
        words.last(),
        Some(&"reading two hundred twenty"),
        "{words:?}"
    );
    assert!(
        words.iter().rev().skip(1).all(|w| w.is_empty()),
        "{words:?}"
    );
}

#[test]
fn what_is_heard_again_is_not_heard_twice() {
    let mut listener = listener();
    let mut sound = Vec::new();
    let calls = ["next", "undo", "next", "reading one fifty", "undo"];
    for words in calls {
        // Gaps of 0.6 s, shorter than what the network hears again.
        sound.extend(say(words).iter().skip(3_000).copied());
        sound.truncate(sound.len() - 3_400);
    }
    let heard = hear(&mut listener, &sound);
    let words: Vec<&str> = heard.iter().map(|h| h.words.as_str()).collect();
    assert_eq!(words, calls);
    assert!(heard.is_sorted_by(|a, b| a.to <= b.from));
}

#[test]
fn two_calls_in_one_stream_are_two() {
    let mut listener = listener();
    let mut sound = say("next");
    sound.extend(say("reading one fifteen"));
    let heard = hear(&mut listener, &sound);
    let words: Vec<&str> = heard.iter().map(|h| h.words.as_str()).collect();
    assert_eq!(words, ["next", "reading one fifteen"]);
    assert!(heard[1].from > heard[0].to);
}

#[test]
fn talk_is_heard_and_refused() {
    let mut listener = listener();
    for words in [
        "the neighbours are painting their fence again",
        "we could watch that film about the mountain climbers",
    ] {
        for h in hear(&mut listener, &say(words)) {
            assert_eq!(h.words, "", "{words}: {h:?}");
        }
    }
}

#[test]
fn our_own_voice_is_not_listened_to() {
    let mut listener = listener();
    let mut heard = Vec::new();
    let mut on = |e| {
        if let EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    listener.feed(&say("next"), true, &mut on);
    listener.feed(&say("undo"), false, &mut on);
    listener.end(&mut on);
    let words: Vec<&str> = heard.iter().map(|h| h.words.as_str()).collect();
    assert_eq!(words, ["undo"]);
}

#[test]
fn what_was_forgotten_in_silence_loses_nothing() {
    let mut listener = listener();
    let mut sound = vec![3; (u64::from(FORGET) * FRAME) as usize + 4_000];
    sound.extend(say("flipped the right pan"));
    let heard = hear(&mut listener, &sound);
    assert_eq!(heard.len(), 1, "{heard:?}");
    assert_eq!(heard[0].words, "flipped the right pan");
    let spoken = f64::from(FORGET) * 0.03 + 0.25 + 0.5;
    assert!((heard[0].from - spoken).abs() < 0.4, "{heard:?}");
}

/// Others talk on and on, 10 dB below the cook.
#[test]
fn a_call_among_others_who_talk_is_heard_and_ends_when_the_cook_is_silent() {
    let call = say("reading two hundred twelve");
    let mut sound = vec![0_i32; 32_000 + call.len() + 64_000];
    let talk = [
        "the neighbours are painting their fence again",
        "we could watch that film about the mountain climbers",
        "my sister wanted to know when the garden opens",
        "nobody has seen the blue umbrella since monday",
    ];
    for (n, words) in talk.iter().enumerate() {
        let spoken = say(words);
        let spoken = spoken[8_000..spoken.len() - 8_000]
            .iter()
            .cycle()
            .skip(n * 5_000);
        sound
            .iter_mut()
            .zip(spoken)
            .for_each(|(to, s)| *to += i32::from(*s) / 6);
    }
    sound[32_000..]
        .iter_mut()
        .zip(&call)
        .for_each(|(to, s)| *to += i32::from(*s));
    let sound: Vec<i16> = sound
        .iter()
        .map(|s| (*s).clamp(-32_768, 32_767) as i16)
        .collect();
    let heard = hear(&mut listener(), &sound);
    let calls: Vec<&Heard> = heard.iter().filter(|h| !h.words.is_empty()).collect();
    assert_eq!(calls.len(), 1, "{heard:?}");
    assert_eq!(calls[0].words, "reading two hundred twelve");
    let end = (32_000 + call.len() - 8_000) as f64 / RATE;
    let late = calls[0].to + calls[0].decided_after - end;
    assert!(late < 1.5, "{late}: {heard:?}");
}

#[test]
fn a_machine_that_is_behind_hears_the_same_calls() {
    let words = ["flipped the left pan", "reading two hundred twelve", "undo"];
    let sound: Vec<i16> = words.iter().flat_map(|w| say(w)).collect();
    let mut heard = Vec::new();
    // All of it had waited.
    listener().feed(&sound, false, &mut |e| {
        if let EarEvent::Heard(h) = e {
            heard.push(h.words);
        }
    });
    assert_eq!(heard, words);
}

/// "flipped the left pan" as people may say it from whom the networks have heard little.
#[test]
fn a_call_said_again_is_believed() {
    let words = "flipped the left pan";
    let said = [
        "fled the lost band",
        "slip to let pine",
        "tip the left pen",
        "lift the left hand",
        "flick the left fan",
    ];
    let doubtful = said.iter().find_map(|said| {
        let sound = say(said);
        let heard = hear(&mut listener(), &sound);
        let [one] = heard.as_slice() else { return None };
        let sure: f32 = one.alternatives.iter().map(|a| a.confidence).sum();
        let nearest = one.alternatives.first().is_some_and(|a| a.words == words);
        (one.words.is_empty() && nearest && sure > 0.12).then_some(sound)
    });
    let sound = doubtful.expect("a way to say it that is doubtful");
    let heard = hear(&mut listener(), &[sound.clone(), sound].concat());
    let calls: Vec<&str> = heard.iter().map(|h| h.words.as_str()).collect();
    assert_eq!(calls, ["", words]);
}
