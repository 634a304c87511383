//! What must hold whatever is called.

use hobcall::doneness::hold::hold;
use hobcall::doneness::units::{fahrenheit, from_fahrenheit, in_units, of_units, reached};
use hobcall::doneness::{Batch, Heating, Probe, aim, believe};
use hobcall::plan::{Celsius, FoodClass, Shape, Span, Units};
use proptest::prelude::*;

use super::readings::pan;

fn few() -> ProptestConfig {
    // Each case fits a posterior twice or more, in a build without optimisation.
    ProptestConfig::with_cases(60)
}

/// A round of earlier readings, and one of now, °F.
fn two_rounds(before: &[f64], now: &[f64]) -> Vec<Probe> {
    let at = |t: f64, f: &f64| Probe::at(t, from_fahrenheit(*f).0);
    before
        .iter()
        .map(|f| at(300.0, f))
        .chain(now.iter().map(|f| at(420.0, f)))
        .collect()
}

proptest! {
    #![proptest_config(few())]

    #[test]
    fn order_in_a_round_does_not_matter(
        before in prop::collection::vec(80f64..150.0, 0..3),
        mut now in prop::collection::vec(90f64..200.0, 1..5),
        turn in 0usize..4,
    ) {
        let straight = believe(&pan(3), &two_rounds(&before, &now), &[]);
        let by = turn % now.len();
        now.rotate_left(by);
        let turned = believe(&pan(3), &two_rounds(&before, &now), &[]);
        prop_assert_eq!(straight.coldest(), turned.coldest());
        prop_assert_eq!(straight.verdict(), turned.verdict());
        prop_assert_eq!(straight.time_left(430.0), turned.time_left(430.0));
    }

    #[test]
    fn a_higher_reading_never_lowers_the_believed_core(
        before in prop::collection::vec(80f64..150.0, 0..3),
        now in prop::collection::vec(90f64..200.0, 1..4),
        more in 0f64..80.0,
        which in 0usize..4,
    ) {
        let mut probes = two_rounds(&before, &now);
        let first = believe(&pan(3), &probes, &[]);
        // One more, at or above what is believed, in the same round.
        if let Some((believed, at)) = first.coldest().filter(|c| c.1 > 400.0) {
            let mut added = probes.clone();
            added.push(Probe::at(at, believed.0 + more));
            let then = believe(&pan(3), &added, &[]).coldest();
            prop_assert!(then.is_some_and(|c| c.0.0 >= believed.0 - 1e-9));
        }
        // The same reading, called higher, of those that are believed.
        let i = before.len() + which % now.len();
        if let (Some((believed, _)), None) = (first.coldest(), first.oddities[i]) {
            probes[i] = Probe::at(420.0, probes[i].value.lo.0 + more);
            let then = believe(&pan(3), &probes, &[]);
            if let Some((c, at)) = then.coldest().filter(|c| c.1 > 400.0) {
                prop_assert!(c.0 >= believed.0 - 1e-9, "{at}");
            }
        }
    }

    #[test]
    fn no_input_panics(
        values in prop::collection::vec((any::<f64>(), any::<f64>(), any::<f64>()), 0..5),
        changes in prop::collection::vec(any::<f64>(), 0..3),
        pieces in any::<u32>(),
        thickness in prop::option::of(any::<f64>()),
        start in prop::option::of(any::<f64>()),
        medium in prop::option::of(any::<f64>()),
        target in any::<f64>(),
        now in any::<f64>(),
        way in 0usize..9,
    ) {
        let batch = Batch {
            pieces,
            shape: [Shape::Slab, Shape::Cylinder, Shape::Sphere][way % 3],
            thickness_mm: thickness,
            start: start.map(Celsius),
            heating: [Heating::Immersed, Heating::Pan, Heating::Oven][way / 3],
            medium: medium.map(Celsius),
            target: Celsius(target),
        };
        let probes: Vec<Probe> = values
            .iter()
            .map(|(at_s, lo, hi)| Probe {
                at_s: *at_s,
                value: Span { lo: Celsius(*lo), hi: Celsius(*hi) },
                piece: None,
            })
            .collect();
        let belief = believe(&batch, &probes, &changes);
        let _ = (belief.verdict(), belief.time_left(now), belief.coldest());
    }
}

proptest! {
    #[test]
    fn units_change_no_verdict(called in -40i32..500, limit in 0i32..400, fat in 0f64..20.0) {
        // The same degree, written in either unit and carried over.
        let direct = from_fahrenheit(called.into());
        let carried = of_units(in_units(direct, Units::Celsius), Units::Celsius);
        let again = from_fahrenheit(fahrenheit(direct));
        let limit = from_fahrenheit(limit.into());
        for c in [carried, again] {
            prop_assert_eq!(reached(direct, limit), reached(c, limit));
            for class in [FoodClass::Poultry, FoodClass::WholeCutMeat] {
                prop_assert_eq!(hold(class, direct, Some(fat)), hold(class, c, Some(fat)));
            }
            prop_assert_eq!(
                std::mem::discriminant(&aim(FoodClass::Poultry, direct, None, false)),
                std::mem::discriminant(&aim(FoodClass::Poultry, c, None, false))
            );
        }
    }
}
