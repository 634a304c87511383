//! Amounts against definitions outside the project, and there and back again.

use std::time::Duration;

use hobcall::plan::{Celsius, Span, Units, quantity, show};
use proptest::prelude::*;

/// Inch, foot, pound and ounce are exact by the international yard and pound
/// agreement of 1959, as NIST SP 811 (2008), appendix B, prints them: 1 in = 25.4 mm,
/// 1 ft = 0.3048 m, 1 lb = 0.453 592 37 kg, 1 oz = 28.349 523 125 g. From memory.
#[test]
fn customary_units_are_exact() {
    assert_eq!(quantity::length("1 in"), Ok(25.4));
    assert_eq!(quantity::length("1 ft"), Ok(304.8));
    assert_eq!(quantity::mass("1 lb"), Ok(453.59237));
    assert_eq!(quantity::mass("1 oz"), Ok(28.349523125));
    assert_eq!(quantity::mass("16 oz"), quantity::mass("1 lb"));
    assert_eq!(quantity::altitude("1000 ft"), Ok(304.8));
}

/// The pairs that FSIS-GD-2021-14 (December 2021) and the Food Code print side by
/// side, to the tenth or the whole degree that they print.
#[test]
fn fahrenheit_and_celsius_as_published() {
    for (f, c, within) in [
        ("130 F", 54.4, 0.05),
        ("136 F", 57.8, 0.05),
        ("145 F", 62.8, 0.05),
        ("158 F", 70.0, 0.05),
        ("160 F", 71.1, 0.05),
        ("165 F", 73.9, 0.05),
        ("41 F", 5.0, 0.05),
        ("135 F", 57.0, 0.5),
        ("32 F", 0.0, 1e-12),
        ("212 F", 100.0, 1e-12),
        ("-40 F", -40.0, 1e-12),
    ] {
        let read = quantity::temperature(f).unwrap().0;
        assert!((read - c).abs() <= within, "{f}: {read} against {c}");
    }
}

#[test]
fn amounts_as_cooks_write_them() {
    let ms = |text: &str| quantity::duration(text).unwrap().as_millis();
    assert_eq!(ms("90 s"), 90_000);
    assert_eq!(ms("1 h 30 min"), 5_400_000);
    assert_eq!(ms("1.5 h"), 5_400_000);
    assert_eq!(ms("1 1/2 h"), 5_400_000);
    assert_eq!(ms("90min"), 5_400_000);
    assert_eq!(ms("1 day 2 hours"), 93_600_000);
    assert_eq!(quantity::length("1/2 in"), Ok(12.7));
    assert!((quantity::length("1 1/2 in").unwrap() - 38.1).abs() < 1e-9);
    assert_eq!(quantity::length("2.5 cm"), Ok(25.0));
    assert_eq!(
        quantity::mass("1 lb 4 oz"),
        Ok(453.59237 + 4.0 * 28.349523125)
    );
    assert_eq!(quantity::mass("1.5 kg"), Ok(1500.0));
    assert_eq!(quantity::sides("13 in x 20 in"), Ok((508.0, 330.2)));
    assert_eq!(quantity::percent("8 %"), Ok(8.0));
    assert_eq!(quantity::percent("8%"), Ok(8.0));
    for text in ["63 C", "63C", "63 °C", "63°C"] {
        assert_eq!(quantity::temperature(text), Ok(Celsius(63.0)), "{text}");
    }
    let hours = |lo: u64, hi: u64| Span {
        lo: Duration::from_secs(lo * 3600),
        hi: Duration::from_secs(hi * 3600),
    };
    assert_eq!(quantity::duration_span("12 h .. 16 h"), Ok(hours(12, 16)));
    assert_eq!(quantity::duration_span("12 h..16 h"), Ok(hours(12, 16)));
    assert_eq!(quantity::duration_span("12 h"), Ok(hours(12, 12)));
}

#[test]
fn what_is_shown() {
    let d = |text: &str| show::duration(quantity::duration(text).unwrap());
    assert_eq!(d("90 s"), "1 min 30 s");
    assert_eq!(d("36 h"), "36 h");
    assert_eq!(d("4 d"), "4 d");
    assert_eq!(d("0 s"), "0 s");
    assert_eq!(d("1.5 s"), "1.500 s");
    assert_eq!(show::temperature(Celsius(-0.01), Units::Celsius), "0 C");
    assert_eq!(show::mass(453.59237), "453.6 g");
    assert_eq!(show::length(25.4, Units::Fahrenheit), "1 in");
}

proptest! {
    /// Whatever is shown can be written into a plan and is read as the same time.
    #[test]
    fn durations_there_and_back(ms in 0u64..=2_592_000_000) {
        let value = Duration::from_millis(ms);
        prop_assert_eq!(quantity::duration(&show::duration(value)), Ok(value));
    }

    /// Whole and half degrees, as probes show them, survive in either unit.
    #[test]
    fn temperatures_there_and_back(half in -60i32..1000) {
        let degrees = f64::from(half) / 2.0;
        let read = quantity::temperature(&format!("{degrees} F")).unwrap();
        let shown = show::temperature(read, Units::Fahrenheit);
        prop_assert_eq!(&shown, &format!("{degrees} F"));
        let read = quantity::temperature(&format!("{degrees} C")).unwrap();
        prop_assert_eq!(show::temperature(read, Units::Celsius), format!("{degrees} C"));
    }

    /// The order of temperatures does not depend on the unit that they are written in.
    #[test]
    fn converting_keeps_the_order(a in 0i32..600, b in 0i32..600) {
        let c = |f: i32| quantity::temperature(&format!("{f} F")).unwrap();
        prop_assert_eq!(a.cmp(&b), c(a).partial_cmp(&c(b)).unwrap());
    }

    /// No text makes a reader panic, or pass a number that is none or endless.
    #[test]
    fn any_text_is_an_amount_or_a_fault(text in "[-0-9 ./,x°%a-zA-Z\u{e9}]{0,16}") {
        for value in [
            quantity::mass(&text), quantity::length(&text), quantity::altitude(&text),
            quantity::percent(&text), quantity::temperature(&text).map(|t| t.0),
        ].into_iter().flatten() {
            prop_assert!(value.is_finite(), "{text:?} gave {value}");
        }
        let _ = quantity::sides(&text);
        if let Ok(span) = quantity::duration_span(&text) {
            prop_assert!(span.lo <= span.hi);
        }
        if let Ok(span) = quantity::temperature_span(&text) {
            prop_assert!(span.lo.0 <= span.hi.0);
        }
        let _ = quantity::count(&text, 8);
    }
}
