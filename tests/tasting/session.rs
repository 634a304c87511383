//! A tasting from opening to verdict, as the kitchen runs it: facts in, state out.

use hobcall::tasting::{
    Code, Design, Fact, Given, Open, Opened, Refusal, Samples, Tasting, Test, Verdict, Which,
};
use proptest::prelude::*;

fn opened(test: Test, tasters: u16) -> Opened {
    Opened::new(test, Samples::new("plain chop", "brined chop"), tasters, 40).more_of("salt")
}

fn open(tasting: &Tasting) -> &Open {
    match tasting {
        Tasting::Open(open) => open,
        Tasting::Closed(_) => panic!("closed"),
    }
}

/// What the plater knows and the taster does not: the code that is a hit.
fn answer(test: Test, sheet: &hobcall::tasting::Sheet, taster: u16, right: bool) -> Code {
    let row = &sheet.rows[usize::from(taster) - 1];
    let of = |which| row.servings.iter().filter(move |s| s.sample == which);
    let wanted = match test {
        Test::Triangle if of(Which::Test).count() == 1 => Which::Test,
        Test::Triangle | Test::DuoTrio => Which::Control,
        Test::PairedPreference | Test::PairedDifference => Which::Test,
    };
    let code = row.servings.iter().find(|s| (s.sample == wanted) == right);
    code.unwrap().code
}

/// Picks by voice: record the fact, fold it in.
fn say(journal: &mut Vec<Fact>, tasting: &mut Tasting, fact: Result<Fact, Refusal>) {
    let fact = fact.unwrap();
    tasting.apply(&fact).unwrap();
    journal.push(fact);
}

#[test]
fn six_tasters_five_right() {
    let opened = opened(Test::Triangle, 6);
    let mut journal = vec![Fact::Opened(opened.clone())];
    let mut tasting = Tasting::open(opened).unwrap();
    let sheet = open(&tasting).plater_sheet();
    for taster in [3, 1, 2, 6, 5] {
        let code = answer(Test::Triangle, &sheet, taster, true);
        let fact = open(&tasting).pick(Some(taster), code, false);
        say(&mut journal, &mut tasting, fact);
        let waiting = open(&tasting).waiting();
        assert_eq!(tasting.key().unwrap_err(), Refusal::StillTasting(waiting));
    }
    assert_eq!(open(&tasting).waiting(), [4]);
    let error = open(&tasting).close().unwrap_err();
    assert!(error.to_string().ends_with("1 taster(s): 4"), "{error}");
    // The last cannot tell, and picks all the same; the code says who it is.
    let fact = open(&tasting).cant_tell(4);
    say(&mut journal, &mut tasting, fact);
    assert!(open(&tasting).owes_a_guess(4) && open(&tasting).close().is_err());
    let wrong = answer(Test::Triangle, &sheet, 4, false);
    let fact = open(&tasting).pick(None, wrong, false);
    say(&mut journal, &mut tasting, fact);
    assert!(!open(&tasting).owes_a_guess(4));
    let given: Vec<Given> = open(&tasting).given().collect();
    assert_eq!(given.len(), 6);
    assert_eq!(
        given[3],
        Given {
            taster: 4,
            code: wrong,
            guess: true
        }
    );
    assert_eq!(tasting.key().unwrap_err(), Refusal::NotClosed);
    let fact = open(&tasting).close();
    say(&mut journal, &mut tasting, fact);

    let closed = tasting.key().unwrap();
    assert_eq!(closed.sheet(), sheet);
    let tally = closed.tally();
    assert_eq!((tally.answers, tally.hits, tally.left), (6, 5, 0));
    assert_eq!((tally.guesses, tally.lucky), (1, 0));
    let outcome = closed.outcome().unwrap();
    // FAO V7180E Appendix A: 5 of 6 at 5 %. By hand: (6*2 + 1)/729.
    assert_eq!(outcome.critical, Some(5));
    assert!((outcome.p - 13.0 / 729.0).abs() < 1e-15);
    assert_eq!(outcome.verdict, Verdict::Shown { ahead: None });

    // The journal, written and read back, is the same tasting.
    let lines: Vec<String> = journal
        .iter()
        .map(|f| serde_json::to_string(f).unwrap())
        .collect();
    let read: Vec<Fact> = lines
        .iter()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    assert_eq!(read, journal);
    let again = Tasting::replay(&read).unwrap().unwrap();
    let again = again.key().unwrap();
    assert!(again.answers().eq(closed.answers()));
    assert_eq!(again.outcome().unwrap(), outcome);
    assert!(
        again
            .answers()
            .all(|a| closed.sample_of(a.code) == Some(a.sample))
    );
}

#[test]
fn the_lines_in_the_journal() {
    let line = |fact: &Fact| serde_json::to_string(fact).unwrap();
    let code = Code::new(417).unwrap();
    let picked = Fact::Picked {
        taster: 2,
        code,
        guess: false,
    };
    assert_eq!(
        line(&picked),
        r#"{"tasting":"picked","taster":2,"code":417,"guess":false}"#
    );
    assert_eq!(
        line(&Fact::CantTell { taster: 2 }),
        r#"{"tasting":"cant_tell","taster":2}"#
    );
    assert_eq!(
        line(&Fact::Left { taster: 2 }),
        r#"{"tasting":"left","taster":2}"#
    );
    assert_eq!(line(&Fact::Closed), r#"{"tasting":"closed"}"#);
    let samples = Samples::new("plain", "brined");
    assert_eq!(
        line(&Fact::Opened(Opened::new(
            Test::DuoTrio,
            samples,
            6,
            u64::MAX
        ))),
        r#"{"tasting":"opened","test":"duo_trio","samples":{"control":"plain","test":"brined"},"tasters":6,"seed":18446744073709551615}"#
    );
    // A code that is none is an error of that line, not a panic later.
    let bad = r#"{"tasting":"picked","taster":2,"code":41,"guess":false}"#;
    assert!(
        serde_json::from_str::<Fact>(bad)
            .unwrap_err()
            .to_string()
            .contains("41 is no code")
    );
}

#[test]
fn every_wrong_call_is_named_and_changes_nothing() {
    let mut tasting = Tasting::open(opened(Test::Triangle, 3)).unwrap();
    let sheet = open(&tasting).plater_sheet();
    let mine = answer(Test::Triangle, &sheet, 1, true);
    let yours = answer(Test::Triangle, &sheet, 2, true);
    let nobodys = Code::new(100).unwrap();
    let pick = |taster, code| Fact::Picked {
        taster,
        code,
        guess: false,
    };
    let others = Refusal::OthersCode {
        code: yours,
        owner: 2,
        taster: 1,
    };
    let unknown = |taster| Refusal::UnknownTaster { taster, tasters: 3 };
    for (fact, refusal) in [
        (pick(1, nobodys), Refusal::UnknownCode(nobodys)),
        (pick(1, yours), others),
        (pick(0, mine), unknown(0)),
        (pick(4, mine), unknown(4)),
        (Fact::CantTell { taster: 9 }, unknown(9)),
        (Fact::Left { taster: u16::MAX }, unknown(u16::MAX)),
        (Fact::Closed, Refusal::StillTasting(vec![1, 2, 3])),
        (
            Fact::Opened(opened(Test::Triangle, 3)),
            Refusal::AlreadyOpen,
        ),
    ] {
        assert_eq!(tasting.apply(&fact), Err(refusal));
        assert_eq!(open(&tasting).given().count(), 0);
        assert_eq!(open(&tasting).waiting(), [1, 2, 3]);
    }
    tasting.apply(&pick(1, mine)).unwrap();
    let answered = Refusal::AlreadyAnswered {
        taster: 1,
        code: mine,
    };
    let other = answer(Test::Triangle, &sheet, 1, false);
    for fact in [pick(1, mine), pick(1, other), Fact::Left { taster: 1 }] {
        assert_eq!(tasting.apply(&fact), Err(answered.clone()));
    }
    // "can't tell" after the pick marks it and leaves it.
    tasting.apply(&Fact::CantTell { taster: 1 }).unwrap();
    let given: Vec<Given> = open(&tasting).given().collect();
    assert_eq!(
        given,
        [Given {
            taster: 1,
            code: mine,
            guess: true
        }]
    );
    tasting.apply(&Fact::Left { taster: 2 }).unwrap();
    for fact in [
        pick(2, yours),
        Fact::Left { taster: 2 },
        Fact::CantTell { taster: 2 },
    ] {
        assert_eq!(tasting.apply(&fact), Err(Refusal::HasLeft(2)));
    }
    tasting.apply(&Fact::Left { taster: 3 }).unwrap();
    tasting.apply(&Fact::Closed).unwrap();
    let closed = tasting.key().unwrap();
    assert_eq!((closed.tally().answers, closed.tally().left), (1, 2));
    let outcome = closed.outcome().unwrap();
    assert!(
        matches!(outcome.verdict, Verdict::TooFew { .. }),
        "{outcome:?}"
    );
    for fact in [Fact::Closed, pick(2, yours), Fact::Left { taster: 3 }] {
        assert_eq!(tasting.apply(&fact), Err(Refusal::AlreadyClosed));
    }
}

#[test]
fn an_abandoned_tasting_says_nothing() {
    let facts = [
        Fact::Opened(opened(Test::DuoTrio, 2)),
        Fact::Left { taster: 2 },
        Fact::Left { taster: 1 },
        Fact::Closed,
    ];
    let tasting = Tasting::replay(&facts).unwrap().unwrap();
    let outcome = tasting.key().unwrap().outcome().unwrap();
    assert_eq!(outcome.verdict, Verdict::NoAnswers);
    assert_eq!((outcome.p, outcome.discriminators.low), (1.0, 0.0));
    assert_eq!(outcome.discriminators.high, 1.0);
}

#[test]
fn a_journal_edited_by_hand_is_caught_at_its_line() {
    assert!(Tasting::replay(&[]).unwrap().is_none());
    let error = Tasting::replay(&[Fact::Closed]).unwrap_err();
    assert_eq!((error.at, error.refusal), (0, Refusal::NotOpen));
    let facts = [Fact::Opened(opened(Test::DuoTrio, 2)), Fact::Closed];
    let error = Tasting::replay(&facts).unwrap_err();
    assert_eq!(
        (error.at, error.refusal),
        (1, Refusal::StillTasting(vec![1, 2]))
    );
    let none = Fact::Opened(opened(Test::DuoTrio, 0));
    let error = Tasting::replay(&[none]).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("tasting fact 0: a tasting needs tasters")
    );
}

#[test]
fn a_second_tasting_may_follow_the_first() {
    let first = [
        Fact::Opened(opened(Test::DuoTrio, 1)),
        Fact::Left { taster: 1 },
        Fact::Closed,
        Fact::Opened(opened(Test::Triangle, 4)),
    ];
    let tasting = Tasting::replay(&first).unwrap().unwrap();
    assert_eq!(open(&tasting).opened().test, Test::Triangle);
}

fn any_test() -> impl Strategy<Value = Test> {
    prop::sample::select(Test::ALL.to_vec())
}

proptest! {
    /// Two tastings that differ in the key only print the same while they are open.
    #[test]
    fn nothing_printed_gives_the_key_away(test in any_test(), seed in any::<u64>()) {
        let tasting = Tasting::open(Opened { seed, ..opened(test, 6) }).unwrap();
        let printed = format!("{tasting:?} {:?}", Design::new(open(&tasting).opened().clone()));
        for secret in ["Control", "Test,", "plain", "brined", &seed.to_string()] {
            prop_assert!(!printed.contains(secret), "{} in {}", secret, printed);
        }
        // The serving order shows nowhere either: the codes stand in tasting order.
        for card in open(&tasting).cards() {
            let codes = format!("{:?}", card.codes);
            prop_assert!(printed.contains(&codes));
        }
    }

    /// Any string of calls: what is accepted replays to the same, what is refused
    /// leaves no trace, and the key stays shut until nobody is waited for.
    #[test]
    fn any_calls_in_any_order(
        test in any_test(),
        tasters in 1u16..8,
        calls in prop::collection::vec((0u8..5, 0u16..9, 0usize..30, any::<bool>()), 0..60),
    ) {
        let start = opened(test, tasters);
        let sheet = Design::new(start.clone()).unwrap().plater_sheet();
        let codes: Vec<Code> = sheet.rows.iter().flat_map(|r| &r.servings).map(|s| s.code).collect();
        let mut journal = vec![Fact::Opened(start.clone())];
        let mut tasting = Tasting::open(start).unwrap();
        let mut first_pick = std::collections::BTreeMap::new();
        for (kind, taster, code, guess) in calls {
            let code = codes.get(code).copied().unwrap_or(Code::new(555).unwrap());
            let fact = match kind {
                0 | 1 => Fact::Picked { taster, code, guess },
                2 => Fact::CantTell { taster },
                3 => Fact::Left { taster },
                _ => Fact::Closed,
            };
            let before = format!("{tasting:?}");
            match tasting.apply(&fact) {
                Ok(()) => {
                    if let Fact::Picked { taster, code, .. } = fact {
                        prop_assert!(first_pick.insert(taster, code).is_none());
                    }
                    journal.push(fact);
                }
                Err(_) => prop_assert_eq!(format!("{tasting:?}"), before),
            }
        }
        let replayed = Tasting::replay(&journal).unwrap().unwrap();
        prop_assert_eq!(format!("{replayed:?}"), format!("{tasting:?}"));
        match &tasting {
            Tasting::Open(open) => {
                prop_assert!(tasting.key().is_err());
                prop_assert!(open.given().all(|g| first_pick.get(&g.taster) == Some(&g.code)));
                prop_assert_eq!(open.given().count(), first_pick.len());
            }
            Tasting::Closed(closed) => {
                let tally = closed.tally();
                prop_assert_eq!(tally.answers + tally.left, u32::from(tasters));
                prop_assert_eq!(tally.answers as usize, first_pick.len());
                let right = closed.answers().filter(|a| {
                    a.code != answer(test, &sheet, a.taster, false)
                        && (test != Test::Triangle || a.code == answer(test, &sheet, a.taster, true))
                });
                prop_assert_eq!(right.count() as u32, tally.hits);
                prop_assert_eq!(closed.outcome().unwrap().hits, tally.hits);
            }
        }
    }
}
