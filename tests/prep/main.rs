//! The sums before the fire, against tables, geometry worked by hand, and trade figures.

mod bound;
mod brine;
mod day;
mod oil;
mod plan;
mod soak;
mod tables;

#[track_caller]
fn near(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not within {within} of {b}");
}
