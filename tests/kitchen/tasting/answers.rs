//! Answers are read back, final and kept; the result claims no more than they show.

use super::{capital, digits, kitchen, odd_and_other, opened, sheet, taster};
use crate::support::{self, Cook};
use hobcall::kitchen::{State, What};
use hobcall::tasting::{Code, Fact, Which};
use hobcall::voice::numbers;

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
