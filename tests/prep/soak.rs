use hobcall::doneness::conduction::Series;
use hobcall::plan::{Shape, Span};
use hobcall::prep::soak::{hours_until, share_after};

use super::near;

/// Crank, The Mathematics of Diffusion (2nd ed. 1975, section 4.3.2; from memory): a plane sheet
/// of thickness l has taken up half of what it ever will at t = 0.049 l² / D.
#[test]
fn a_plane_sheet_is_half_full_at_the_published_time() {
    let series = Series::new(Shape::Slab, f64::INFINITY, 60);
    // In half thicknesses: l² is four of them squared. The mean over the sheet by Simpson's rule.
    let fo = 0.049 * 4.0;
    let n = 200;
    let taken: f64 = (0..=n)
        .map(|i| {
            let weight = match i {
                0 => 1.0,
                i if i == n => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * (1.0 - series.theta(f64::from(i) / f64::from(n), fo))
        })
        .sum::<f64>()
        / (3.0 * f64::from(n));
    near(taken, 0.5, 0.002);
}

/// By hand, from the first term of the plane sheet's series: half in the middle where
/// 4/pi exp(-pi²/4 Fo) = 1/2, so Fo = 4/pi² ln(8/pi) = 0.3788. For 25 mm, 12.5 mm squared
/// is 1.5625e-4 m², at 7e-10 m²/s 84 560 s = 23.5 h, at 1e-10 seven times as long.
#[test]
fn a_slab_worked_by_hand() {
    let hours = hours_until(Shape::Slab, 25.0, 0.5).unwrap();
    near(hours.lo, 23.49, 0.05);
    near(hours.hi, 164.4, 0.4);
    // Twice as thick is four times as long.
    let thick = hours_until(Shape::Slab, 50.0, 0.5).unwrap();
    near(thick.lo / hours.lo, 4.0, 1e-9);
    // And back.
    let fastest = Span {
        lo: hours.lo,
        hi: hours.lo,
    };
    near(
        share_after(Shape::Slab, 25.0, fastest).unwrap().hi,
        0.5,
        1e-6,
    );
    // From all around it is quicker.
    assert!(hours_until(Shape::Cylinder, 25.0, 0.5).unwrap().lo < hours.lo);
}

/// Common practice, no source: 24 hours in the fridge. For a chop an inch thick that lies within
/// the estimate for half of the brine's strength in the middle.
#[test]
fn a_day_in_the_fridge_lies_within_the_estimate_for_an_inch() {
    let hours = hours_until(Shape::Slab, 25.4, 0.5).unwrap();
    assert!((hours.lo - 1.0..=hours.hi).contains(&24.0), "{hours:?}");
    let day = Span { lo: 24.0, hi: 24.0 };
    let share = share_after(Shape::Slab, 25.4, day).unwrap();
    assert!(
        share.lo < 0.1 && (0.45..0.6).contains(&share.hi),
        "{share:?}"
    );
}

#[test]
fn what_has_no_time_has_none() {
    assert_eq!(hours_until(Shape::Slab, 0.0, 0.5), None);
    assert_eq!(hours_until(Shape::Slab, 25.0, 1.0), None);
    assert_eq!(hours_until(Shape::Slab, f64::NAN, 0.5), None);
    let none = Span { lo: 0.0, hi: 0.0 };
    assert_eq!(
        share_after(Shape::Slab, 25.0, none),
        Some(Span { lo: 0.0, hi: 0.0 })
    );
}

#[test]
fn a_plan_with_a_strong_brine_is_told_how_far_it_comes() {
    let text = "plan: A brine\nunits: celsius\nitems:\n  chop: {pieces: 2, piece mass: 250 g, thickness: 25 mm, class: whole cut}\n\
                vessels:\n  tub: {kind: bowl}\nsteps:\n  brine: {after: start, say: A., vessel: tub, holds: 2 chop, wait: 24 h, \
                brine: {way: bath, liquid: 2 l, in the liquid: 6 %, at: 4 C}}\n";
    let plan = hobcall::plan::read(text, "p")
        .unwrap_or_else(|p| panic!("{p:?}"))
        .plan;
    let page = hobcall::prep::sums::page(&hobcall::prep::sums::sums(&plan, &Default::default()));
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    // At 7e-10 m²/s the half is reached at 23.5 h: after a day a little more. At 1e-10 the Fourier
    // number is 0.0553 and the series comes to half a percent.
    assert!(
        page.contains("comes to 1 % to 51 % of the brine's strength; half takes 23 h to 6 d 20 h"),
        "{page}"
    );
}
