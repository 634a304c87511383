use hobcall::prep::measure;
use hobcall::prep::tables::*;

use super::near;

#[test]
fn brine_density_is_the_table_s_and_straight_between_its_rows() {
    // data/prep/brine.csv: Poradnik fizykochemiczny (WNT 1974), 20 °C.
    near(brine_density(6.0).unwrap(), 1.0413, 1e-9);
    near(brine_density(10.0).unwrap(), 1.0707, 1e-9);
    near(brine_density(5.0).unwrap(), (1.0268 + 1.0413) / 2.0, 1e-9);
    // Grams of salt in a litre, the table's own column: 6 % is 62.5 g/l.
    near(brine_density(6.0).unwrap() * 1000.0 * 0.06, 62.5, 0.1);
    near(brine_density(20.0).unwrap() * 1000.0 * 0.20, 229.6, 0.1);
    assert_eq!(brine_density(30.0), None);
}

#[test]
fn saturation_is_the_salt_institute_s() {
    near(saturation(0.0).unwrap(), 26.29, 1e-9);
    near(saturation(4.44).unwrap(), 26.33, 1e-9);
    near(saturation(100.0).unwrap(), 28.12, 1e-9);
    assert_eq!(saturation(200.0), None);
}

#[test]
fn spoons_and_cups_weigh_what_the_usda_says() {
    // USDA Standard Reference household weights, in data/prep/volume_mass.csv.
    near(Stuff::TableSalt.density().likely * TEASPOON_ML, 6.0, 1e-9);
    near(Stuff::Flour.density().likely * CUP_ML, 125.0, 1e-9);
    near(Stuff::Buttermilk.density().likely * CUP_ML, 245.0, 1e-9);
    near(Stuff::Oil.density().likely * CUP_ML, 218.0, 1e-9);
    near(
        Stuff::BakingPowder.density().likely * TEASPOON_ML,
        4.6,
        1e-9,
    );
    // A US cup is 236.588 ml (UCUM), on labels 240 ml (21 CFR 101.9): 1.4 % apart.
    near(CUP_ML, 236.588, 0.001);
    near(CUP_ML / 240.0, 0.986, 0.001);
}

#[test]
fn every_stuff_has_its_row() {
    for (word, stuff) in STUFF {
        let d = stuff.density();
        assert!(
            d.likely.is_finite() && d.low <= d.likely && d.likely <= d.high,
            "{word}"
        );
    }
    for key in [
        "flour_set_out",
        "egg_set_out",
        "crumb_set_out",
        "heaped_teaspoons_of_leavening_per_cup",
        "heaped_teaspoon",
        "egg",
        "pan_share_most",
    ] {
        assert!(trade(key) > 0.0, "{key}");
    }
    assert!(food_density() > 1.0 && meat_water() > 70.0 && brine_most_hours() == 48.0);
}

#[test]
fn a_spoon_of_salt_differs_by_more_than_two_and_a_spoon_of_sugar_does_not() {
    // Salt-industry bulk densities: 2.8 g to 6.5 g a teaspoon, a factor of 2.3; the
    // rows of the table by themselves give 3.1 g to 6.5 g.
    let low = Stuff::LightFlakeSalt.density().low;
    let high = Stuff::TableSalt.density().high;
    assert!(high / low > 2.0 && high / low < 2.4, "{}", high / low);
    assert!(Stuff::LightFlakeSalt.density().is_rough());
    assert!(!Stuff::Sugar.density().is_rough());
    assert!(measure::as_spoons(60.0, Stuff::LightFlakeSalt).contains("between"));
    assert!(!measure::as_spoons(60.0, Stuff::Sugar).contains("between"));
}

#[test]
fn amounts_are_what_a_kitchen_can_measure() {
    assert_eq!(measure::mass(63.4), "63 g");
    assert_eq!(measure::mass(487.0), "485 g");
    assert_eq!(measure::mass(1.34), "1.3 g");
    assert_eq!(measure::mass(1234.0), "1.23 kg");
    assert_eq!(measure::spoons(TEASPOON_ML * 0.26), "1/4 tsp");
    assert_eq!(measure::spoons(TEASPOON_ML * 1.5), "1 1/2 tsp");
    assert_eq!(measure::spoons(TABLESPOON_ML * 2.4), "2 1/2 tbsp");
    assert_eq!(measure::spoons(CUP_ML), "1 cup");
    assert_eq!(measure::spoons(CUP_ML * 1.6), "1 1/2 cups");
    assert_eq!(measure::millilitres(1234.0), "1.25 l");
    assert_eq!(measure::millilitres(87.0), "85 ml");
}
