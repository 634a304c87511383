//! A tasting is opened: which test, of what, and how many tasters it takes.

use super::{capital, digits, kitchen, opened, sheet, taster};
use crate::support::{Cook, SIX_CHOPS};
use hobcall::record::panel;
use hobcall::tasting::{Test, Which};
use hobcall::voice::numbers;

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
