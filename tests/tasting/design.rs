//! Codes and serving orders: what the seed deals.

use std::collections::{BTreeMap, BTreeSet};

use hobcall::tasting::{
    Card, Code, Design, MAX_TASTERS, OpenError, Opened, Samples, Sheet, Test, Which,
};
use proptest::prelude::*;

fn opened(test: Test, tasters: u16, seed: u64) -> Opened {
    let opened = Opened::new(test, Samples::new("plain chop", "test chop"), tasters, seed);
    opened.more_of("juiciness")
}

fn dealt(test: Test, tasters: u16, seed: u64) -> (Vec<Card>, Sheet) {
    let design = Design::new(opened(test, tasters, seed)).unwrap();
    (design.cards().collect(), design.plater_sheet())
}

fn order(row: &hobcall::tasting::Row) -> Vec<Which> {
    row.servings.iter().map(|s| s.sample).collect()
}

fn any_test() -> impl Strategy<Value = Test> {
    prop::sample::select(Test::ALL.to_vec())
}

fn differing(a: Code, b: Code) -> usize {
    a.digits()
        .iter()
        .zip(b.digits())
        .filter(|(a, b)| **a != *b)
        .count()
}

proptest! {
    #[test]
    fn codes_are_distinct_and_speakable(
        test in any_test(), tasters in 1..=MAX_TASTERS, seed in any::<u64>(),
    ) {
        let (cards, _) = dealt(test, tasters, seed);
        prop_assert_eq!(cards.len(), usize::from(tasters));
        let mut all = BTreeSet::new();
        for (i, card) in cards.iter().enumerate() {
            prop_assert_eq!(usize::from(card.taster), i + 1);
            prop_assert_eq!(card.codes.len(), test.codes_per_taster());
            prop_assert_eq!(card.reference, test == Test::DuoTrio);
            let mut digits = BTreeSet::new();
            for code in &card.codes {
                prop_assert!(all.insert(*code), "{} twice", code);
                for digit in code.digits() {
                    prop_assert!(digit != 0 && digits.insert(digit), "{:?}", card);
                }
                let [a, b, c] = code.digits().map(i32::from);
                prop_assert!(b - a != c - b || (b - a).abs() != 1, "{} counts", code);
            }
        }
        if all.len() <= 24 {
            for a in &all {
                let near = all.iter().filter(|b| differing(*a, **b) < 2).count();
                prop_assert_eq!(near, 1, "{} and another of {:?}", a, all);
            }
        }
    }

    #[test]
    fn orders_are_balanced_to_within_one(
        test in any_test(), tasters in 1..=MAX_TASTERS, seed in any::<u64>(),
    ) {
        let (_, sheet) = dealt(test, tasters, seed);
        let kinds = if test == Test::Triangle { 6 } else { 2 };
        let mut seen = BTreeMap::new();
        for row in &sheet.rows {
            let letters: Vec<u8> = order(row).iter().map(|w| *w as u8).collect();
            *seen.entry(letters).or_insert(0) += 1;
        }
        let most = seen.values().max().copied().unwrap_or(0);
        let least = if seen.len() < kinds { 0 } else { *seen.values().min().unwrap() };
        prop_assert!(seen.len() <= kinds && most - least <= 1, "{:?}", seen);
    }

    /// The sheet and the cards are two views of one deal.
    #[test]
    fn the_sheet_agrees_with_the_cards(
        test in any_test(), tasters in 1..=MAX_TASTERS, seed in any::<u64>(),
    ) {
        let design = Design::new(opened(test, tasters, seed)).unwrap();
        let sheet = design.plater_sheet();
        for (card, row) in design.cards().zip(&sheet.rows) {
            let codes: Vec<Code> = row.servings.iter().map(|s| s.code).collect();
            prop_assert_eq!((card.taster, &card.codes), (row.taster, &codes));
            prop_assert_eq!(row.reference.is_some(), card.reference);
            for code in codes {
                prop_assert_eq!(design.taster_of(code), Some(card.taster));
            }
        }
        let coded: usize = [Which::Control, Which::Test]
            .map(|which| sheet.codes_of(which).count()).iter().sum();
        prop_assert_eq!(coded, usize::from(tasters) * test.codes_per_taster());
        let references = if test == Test::DuoTrio { usize::from(tasters) } else { 0 };
        let portions = sheet.portions(Which::Control) + sheet.portions(Which::Test);
        prop_assert_eq!(portions, coded + references);
        if tasters % 6 == 0 {
            let extra = sheet.portions(Which::Control) - sheet.portions(Which::Test);
            prop_assert_eq!(extra, references);
        }
        // What is printed names each code once.
        let printed = sheet.to_string();
        for code in sheet.codes_of(Which::Test).chain(sheet.codes_of(Which::Control)) {
            prop_assert_eq!(printed.matches(&format!("   {code} ")).count(), 1);
        }
    }

    #[test]
    fn the_same_seed_deals_the_same(test in any_test(), tasters in 1u16..40, seed in any::<u64>()) {
        prop_assert_eq!(dealt(test, tasters, seed), dealt(test, tasters, seed));
        let text = serde_json::to_string(&opened(test, tasters, seed)).unwrap();
        let again: Opened = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(&again, &opened(test, tasters, seed));
        let sheet = Design::new(again).unwrap().plater_sheet();
        prop_assert_eq!(sheet, dealt(test, tasters, seed).1);
    }
}

/// Worked out by a separate program (in Python) written from the description of the
/// dealing. If this fails, tastings already on record change their key: do not
/// touch the values, put the dealing back.
#[test]
fn the_deal_never_changes() {
    let as_text = |sheet: &Sheet, at: usize| {
        let row = &sheet.rows[at];
        let codes: Vec<String> = row.servings.iter().map(|s| s.code.to_string()).collect();
        let letter = |w: &Which| if *w == Which::Control { 'C' } else { 'T' };
        let order: String = order(row).iter().map(letter).collect();
        format!("{} {order}", codes.join(" "))
    };
    let eight = dealt(Test::Triangle, 8, 20_260_511).1;
    let expected = [
        "423 179 856 CTC",
        "586 193 742 TCC",
        "459 736 281 CTT",
        "984 265 317 TTC",
        "512 467 389 CCT",
        "957 861 324 TCT",
        "531 294 768 TTC",
        "154 962 378 CCT",
    ];
    for (at, row) in expected.into_iter().enumerate() {
        assert_eq!(as_text(&eight, at), row);
    }
    for test in [
        Test::DuoTrio,
        Test::PairedPreference,
        Test::PairedDifference,
    ] {
        let five = dealt(test, 5, 1).1;
        let rows: Vec<String> = (0..5).map(|at| as_text(&five, at)).collect();
        let expected = [
            "539 264 TC",
            "485 167 CT",
            "193 824 TC",
            "283 716 CT",
            "218 973 CT",
        ];
        assert_eq!(rows, expected);
    }
    let hundred = dealt(Test::Triangle, 100, u64::MAX).1;
    assert_eq!(as_text(&hundred, 0), "874 931 562 TCC");
    assert_eq!(as_text(&hundred, 98), "615 297 483 CCT");
    assert_eq!(as_text(&hundred, 99), "143 875 629 CTC");
}

/// Over many seeds every order falls to taster 1 about equally often, the odd one
/// is in each place about equally often, and no digit betrays a sample.
#[test]
fn the_deal_is_fair() {
    let deals = 6000u64;
    let (mut orders, mut odd_place, mut first_digit) =
        (BTreeMap::new(), [0u64; 3], [[0i64; 10]; 2]);
    for seed in 0..deals {
        let sheet = dealt(Test::Triangle, 4, seed).1;
        let row = &sheet.rows[0];
        let key: Vec<bool> = order(row).iter().map(|w| *w == Which::Test).collect();
        let odd = key.iter().filter(|t| **t).count() == 1;
        odd_place[key.iter().position(|t| *t == odd).unwrap()] += 1;
        *orders.entry(key).or_insert(0u64) += 1;
        for serving in &row.servings {
            let which = usize::from(serving.sample == Which::Test);
            first_digit[which][usize::from(serving.code.digits()[0])] += 1;
        }
    }
    // Standard deviation of a count of 1000 in 6000 is 29, of 2000 is 37: five of them.
    assert_eq!(orders.len(), 6);
    assert!(
        orders.values().all(|n| n.abs_diff(1000) < 145),
        "{orders:?}"
    );
    assert!(
        odd_place.iter().all(|n| n.abs_diff(2000) < 185),
        "{odd_place:?}"
    );
    // 9000 servings of each sample over nine digits: 1000 each, standard deviation 30,
    // of a difference 42.
    let [control, test] = first_digit;
    assert_eq!((control[0], test[0]), (0, 0));
    for (control, test) in control.iter().zip(test).skip(1) {
        assert!((control - test).abs() < 210, "{first_digit:?}");
    }
}

#[test]
fn what_cannot_be_dealt_is_refused_with_advice() {
    let refused = |opened: Opened| Design::new(opened).unwrap_err();
    assert_eq!(refused(opened(Test::Triangle, 0, 1)), OpenError::NoTasters);
    assert_eq!(
        refused(opened(Test::DuoTrio, 101, 1)),
        OpenError::TooManyTasters(101)
    );
    let named =
        |control: &str, test: &str| Opened::new(Test::Triangle, Samples::new(control, test), 6, 1);
    assert_eq!(refused(named("plain", " ")), OpenError::SampleWithoutName);
    assert_eq!(
        refused(named("Chop ", "chop")),
        OpenError::SameName("Chop".into())
    );
    let paired = |attribute: Option<&str>| Opened {
        test: Test::PairedDifference,
        attribute: attribute.map(str::to_owned),
        ..named("plain", "brined")
    };
    assert_eq!(refused(paired(None)), OpenError::NoAttribute);
    assert_eq!(refused(paired(Some(" "))), OpenError::NoAttribute);
    assert!(Design::new(paired(Some("salt"))).is_ok());
}

/// The printed form, read as a plater reads it.
#[test]
fn the_sheet_as_printed() {
    let printed = dealt(Test::DuoTrio, 2, 1).1.to_string();
    assert_eq!(
        printed,
        "FOR THE PLATER ONLY\n  4 x plain chop\n  2 x test chop\n\n\
         taster   1   reference plain chop   539 test chop    264 plain chop\n\
         taster   2   reference plain chop   485 plain chop   167 test chop\n"
    );
}
