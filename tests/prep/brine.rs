use hobcall::prep::brine::*;
use hobcall::prep::tables::{CUP_ML, Stuff};
use proptest::prelude::*;

use super::near;

#[test]
fn the_usda_brine_is_five_and_a_half_percent_with_table_salt() {
    // USDA Meat and Poultry Hotline: 3/4 cup of salt a gallon. A cup of table salt is 292 g
    // (USDA Standard Reference), a gallon 3785 g of water: 5.5 % of mass.
    let salt_g = 0.75 * 292.0;
    let bath = Way::Bath { liquid_g: 3785.0 };
    let b = brine(bath, Wanted::Salt(salt_g), 2000.0, 74.0).unwrap();
    near(b.start_percent.unwrap(), 5.5, 0.05);
    // The same cup of light flakes: 2.8 % to 4.3 %, of dense ones 4.2 % to 5.0 %
    // (data/prep/volume_mass.csv, computed there from bulk densities).
    let percent = |density: f64| {
        let g = 0.75 * CUP_ML * density;
        100.0 * g / (3785.0 + g)
    };
    let light = Stuff::LightFlakeSalt.density();
    near(percent(light.low), 2.8, 0.15);
    near(percent(light.high), 4.3, 0.15);
    let dense = Stuff::DenseFlakeSalt.density();
    near(percent(dense.low), 4.2, 0.15);
    near(percent(dense.high), 5.0, 0.15);
}

#[test]
fn at_equilibrium_the_salt_is_shared_over_both_waters_worked_by_hand() {
    // 1000 g of meat with 75 % water, 1250 g of water, 40 g of salt: 2000 g of water, 20 g
    // of salt a kilogram of water, so 0.750 kg of meat water hold 15 g: 1.5 % of the meat.
    let bath = Way::Bath { liquid_g: 1250.0 };
    let b = brine(bath, Wanted::Salt(40.0), 1000.0, 75.0).unwrap();
    near(b.meat_percent, 1.5, 1e-12);
    near(b.even_percent, 100.0 * 40.0 / 2040.0, 1e-12);
    // And the other way round.
    let b = brine(bath, Wanted::InMeat(1.5), 1000.0, 75.0).unwrap();
    near(b.salt_g, 40.0, 1e-9);
    // A coat of a tenth of the meat's mass needs hardly more than dry salting.
    let coat = brine(
        Way::Coating { liquid_g: 100.0 },
        Wanted::InMeat(1.5),
        1000.0,
        75.0,
    )
    .unwrap();
    near(coat.salt_g, 0.015 / 0.75 * 850.0, 1e-9);
    let dry = brine(Way::Dry, Wanted::InMeat(1.5), 1000.0, 75.0).unwrap();
    near(dry.salt_g, 15.0, 1e-9);
    assert_eq!(dry.start_percent, None);
}

#[test]
fn a_gradient_brine_is_by_the_mass_of_liquid_and_salt() {
    // data/prep/brine.csv: 6 % is 6.38 g to 100 g of water; 10 % is 11.11 g.
    let bath = Way::Bath { liquid_g: 100.0 };
    near(
        brine(bath, Wanted::InLiquid(6.0), 500.0, 74.0)
            .unwrap()
            .salt_g,
        6.38,
        0.005,
    );
    near(
        brine(bath, Wanted::InLiquid(10.0), 500.0, 74.0)
            .unwrap()
            .salt_g,
        11.11,
        0.005,
    );
    // 930 g of water and 70 g of salt fill what 1000 g of 7 % brine fill.
    near(volume_ml(930.0, 70.0).unwrap(), 1000.0 / 1.0486, 0.1);
}

#[test]
fn nothing_comes_of_nothing() {
    let bath = Way::Bath { liquid_g: 1000.0 };
    assert_eq!(brine(bath, Wanted::Salt(0.0), 500.0, 74.0), None);
    assert_eq!(brine(bath, Wanted::InLiquid(100.0), 500.0, 74.0), None);
    assert_eq!(brine(Way::Dry, Wanted::InMeat(1.0), 0.0, 74.0), None);
    assert_eq!(brine(bath, Wanted::Salt(f64::NAN), 500.0, 74.0), None);
    assert!(is_oversaturated(27.0, 4.0) && !is_oversaturated(26.0, 4.0));
}

proptest! {
    /// No salt is lost: what is in the meat and what stays in the liquid is what was weighed.
    #[test]
    fn salt_is_kept(meat in 1.0..9000.0f64, liquid in 1.0..9000.0f64, salt in 0.1..500.0f64, water in 40.0..90.0f64) {
        let b = brine(Way::Bath { liquid_g: liquid }, Wanted::Salt(salt), meat, water).unwrap();
        let in_meat = b.meat_percent / 100.0 * meat;
        let per_water = salt / (liquid + meat * water / 100.0);
        prop_assert!((in_meat + per_water * liquid - salt).abs() < 1e-6);
        let again = brine(Way::Bath { liquid_g: liquid }, Wanted::InMeat(b.meat_percent), meat, water).unwrap();
        prop_assert!((again.salt_g - salt).abs() < 1e-6);
    }
}
