//! Who speaks, who waits, who is cut short, and that everything comes to an end; every time
//! below is exact.

use std::time::Duration;

use crate::stepped::{RATE, began, ended, events, line, reply, stepped};
use hobcall::voice::wording;
use hobcall::voice::{Config, DropReason, Urgency, Utterance, UtteranceId, VoiceEvent};

#[test]
fn quiet_stops_within_a_block_and_forgets_the_rest() {
    let (voice, played) = stepped(Config::default());
    let a = voice.say(reply(
        "a long answer that nobody wants to hear to its end today",
    ));
    let b = voice.say(reply("and another"));
    let c = voice.say(Utterance::new("the brine is done", Urgency::Alarm));
    voice.advance_to(0.5);
    // The alarm cut in before anything sounded and speaks first.
    let all = events(&voice);
    assert_eq!(began(&all, c), Some(0.0), "{all:?}");
    voice.quiet_now();
    voice.advance_to(5.0);
    let all = events(&voice);
    let (end, cut) = ended(&all, c).unwrap();
    assert!(cut);
    assert!((0.5..=0.5 + 0.0051).contains(&end), "{end}");
    for id in [a, b] {
        assert!(
            all.contains(&VoiceEvent::Dropped {
                id,
                why: DropReason::Quiet
            }),
            "{all:?}"
        );
    }
    let heard = line(&played);
    assert!(heard.len() <= ((0.5 + 0.0051) * RATE) as usize);
    assert!(!voice.is_speaking());
}

#[test]
fn danger_is_not_silenced_and_cuts_an_answer_that_is_then_said_again() {
    let (voice, _played) = stepped(Config::default());
    let answer = voice.say(reply("chops in at twelve past seven"));
    voice.advance_to(0.4);
    let danger = voice.say(Utterance::new("Heat off, the oil smokes", Urgency::Danger));
    voice.advance_to(1.0);
    voice.quiet_now();
    voice.advance_to(20.0);
    let all = events(&voice);
    let order: Vec<&str> = all
        .iter()
        .filter_map(|e| match e {
            VoiceEvent::Began { id, .. } if *id == answer => Some("answer"),
            VoiceEvent::Began { .. } => Some("danger"),
            VoiceEvent::Ended { id, cut, again, .. } => Some(match (*id == danger, *cut, *again) {
                (true, false, false) => "danger over",
                (false, true, true) => "answer cut",
                (false, false, false) => "answer over",
                _ => "?",
            }),
            _ => None,
        })
        .collect();
    // "quiet" came while the danger sounded: the answer that waited is forgotten.
    assert_eq!(order, ["answer", "answer cut", "danger", "danger over"]);

    let answer = voice.say(reply("chops in at twelve past seven"));
    voice.advance_to(20.4);
    voice.say(Utterance::new("Left skillet: flip.", Urgency::Alarm));
    voice.advance_to(40.0);
    let all = events(&voice);
    let ends: Vec<(f64, bool)> = all
        .iter()
        .filter_map(|e| match e {
            VoiceEvent::Ended { id, at, cut, .. } if *id == answer => Some((*at, *cut)),
            _ => None,
        })
        .collect();
    assert!(matches!(ends[..], [(_, true), (_, false)]), "{all:?}");
}

#[test]
fn advice_about_the_sound_gives_way_to_an_alarm() {
    let (voice, _played) = stepped(Config::default());
    // While an alarm sounds it waits; when one comes it stops and is not said again.
    let first = voice.say(Utterance::new("Left skillet: flip.", Urgency::Alarm));
    let advice = voice.say(wording::mostly_noise());
    voice.advance_to(3.0);
    let all = events(&voice);
    let (over, _) = ended(&all, first).unwrap();
    let at = began(&all, advice).unwrap();
    assert!(at > over, "{all:?}");
    assert!(ended(&all, advice).is_none(), "{all:?}");
    let second = voice.say(Utterance::new("Right skillet: flip.", Urgency::Alarm));
    voice.advance_to(30.0);
    let all = events(&voice);
    let (stopped, cut) = ended(&all, advice).unwrap();
    assert!(cut && began(&all, second).unwrap() >= stopped, "{all:?}");
    assert_eq!(began(&all, advice), None, "{all:?}");
}

#[test]
fn a_reminder_waits_its_turn_and_is_dropped_when_silenced() {
    let (voice, _played) = stepped(Config::default());
    let reminder = Utterance::new("the test chop is at the back", Urgency::Reminder);
    let a = voice.say(reminder.clone());
    let b = voice.say(reply("yes"));
    voice.advance_to(10.0);
    let all = events(&voice);
    // The answer came before the reminder had begun.
    assert!(began(&all, b) < began(&all, a), "{all:?}");
    // A breath between two utterances.
    let gap = began(&all, a).unwrap() - ended(&all, b).unwrap().0;
    assert!((0.2..0.3).contains(&gap), "{gap}");
    voice.set_silenced(true);
    let c = voice.say(reminder.clone());
    let d = voice.say(reply("still answering"));
    voice.set_silenced(false);
    let e = voice.say(reminder);
    voice.advance_to(20.0);
    let all = events(&voice);
    assert!(all.contains(&VoiceEvent::Dropped {
        id: c,
        why: DropReason::Silenced
    }));
    assert!(ended(&all, d).is_some() && ended(&all, e).is_some());
}

#[test]
fn any_text_is_taken_and_every_utterance_comes_to_an_end() {
    let (voice, _played) = stepped(Config::default());
    let texts = [
        "",
        " \t\n",
        "!!! ??? ...",
        "日本 소금 соль",
        "145 °F — über 5½ tsp … \u{0} \u{7}",
        "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
        "<speak>&amp;</speak> %s %n %d",
    ];
    let ids: Vec<UtteranceId> = texts.iter().map(|t| voice.say(reply(t))).collect();
    voice.advance_to(120.0);
    let all = events(&voice);
    for id in ids {
        assert!(began(&all, id).is_some(), "{all:?}");
        assert!(ended(&all, id).is_some(), "{all:?}");
    }
}

#[test]
fn closing_says_what_waits_and_dropping_does_not_hang() {
    let (voice, played) = stepped(Config::default());
    voice.say(reply("goodbye"));
    voice.close(Duration::from_secs(5));
    assert!(line(&played).len() > 4000);
    let (voice, _played) = stepped(Config::default());
    voice.say(reply("a sentence that is never heard"));
    drop(voice);
}
