//! Unasked, where the marks are: at the moments when they get lost and at no other.

use crate::support::frying;

#[test]
fn a_flip_that_hides_the_mark_is_foretold_once_for_each_side() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    cook.says("left skillet flipped");
    let heard = cook.hears(150.0);
    assert!(
        !heard.iter().any(|h| h.contains("mark goes down")),
        "{heard:?}"
    );
    cook.says("left skillet flipped");
    let heard = cook.hears(32.0);
    assert!(
        heard.contains(
            &"The mark goes down with this flip, notched chop: right skillet, in the middle."
                .to_owned()
        ),
        "{heard:?}"
    );
    cook.says("right skillet flipped");
    cook.says("left skillet flipped");
    let heard = cook.hears(200.0);
    assert!(heard.iter().any(|h| h.starts_with("Flip, right skillet")));
    assert!(
        !heard.iter().any(|h| h.contains("mark goes down")),
        "it comes up with this one: {heard:?}"
    );
}

#[test]
fn marks_are_named_before_they_go_out_and_at_plating() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    assert_eq!(
        cook.says("left skillet reading one fifty"),
        "Heard one five zero, left skillet. At the target of one forty five. One reading of \
         three pieces. Read the others."
    );
    cook.says("left skillet reading one fifty two");
    assert_eq!(
        cook.says("left skillet reading one forty nine"),
        "Heard one four nine, left skillet. At the target of one forty five. Out to the rack. \
         Before it goes out, test chop: left skillet, at the left."
    );
    cook.says("left skillet out to the rack");
    cook.says("back left");
    let heard = cook.hears(560.0);
    assert!(
        heard
            .iter()
            .any(|h| h == "Before it goes out, notched chop: right skillet, in the middle."),
        "{heard:?}"
    );
    cook.says("right skillet out to the rack");
    cook.says("front right");
    cook.waits(200.0);
    assert_eq!(
        cook.says("next"),
        "OK. Everything onto the platter. Keep it apart, test chop: rack, at the back left \
         and notched chop: rack, at the front right."
    );
}

/// Reminders come at the four moments when marks get lost and at no other; "quiet"
/// silences them and no warning.
#[test]
fn reminders_only_when_marks_get_lost() {
    use hobcall::voice::Urgency;
    let moments = |quiet: bool| -> Vec<String> {
        let mut cook = frying();
        if quiet {
            cook.says("quiet");
        }
        for words in [
            "in they go",
            "middle",
            "left skillet flipped",
            "right skillet flipped",
            "swap left and right",
            "turned the left skillet",
            "left skillet heat to low",
            "where is the test chop",
            "right skillet flipped",
        ] {
            cook.says(words);
            cook.waits(5.0);
        }
        cook.waits(175.0);
        for words in [
            "right skillet flipped",
            "left skillet reading one fifty",
            "left skillet reading one fifty one",
            "left skillet reading one forty nine",
            "left skillet out to the rack",
            "yes",
            "back left",
        ] {
            cook.says(words);
        }
        cook.waits(600.0);
        cook.says("right skillet out to the rack");
        cook.says("front right");
        cook.waits(200.0);
        cook.says("next");
        let warned = cook.said.iter().any(|(_, u)| u.text.contains("at most"));
        let alarms = cook.alarms();
        assert!(alarms > 2 || warned, "{alarms}");
        let reminders = cook
            .said
            .iter()
            .filter(|(_, u)| u.urgency == Urgency::Reminder);
        reminders.map(|(_, u)| u.text.clone()).collect()
    };
    let all = moments(false);
    let kind = |text: &String| {
        [
            "Now ",
            "Before it goes out",
            "The mark goes down",
            "Keep it apart",
        ]
        .iter()
        .position(|k| text.starts_with(k))
    };
    assert!(all.iter().all(|t| kind(t).is_some()), "{all:#?}");
    for moment in 0..4 {
        assert!(
            all.iter().any(|t| kind(t) == Some(moment)),
            "{moment}: {all:#?}"
        );
    }
    assert_eq!(moments(true), Vec::<String>::new());
}
