//! Words for salt and oil: grams to weigh, millilitres to pour.

use crate::kitchen::{Say, SumsSay};
use crate::prep::measure;
use crate::prep::oil::Danger;
use crate::voice::numbers::{self, amount};

use super::sentences;

fn grams(g: f64) -> String {
    if g < 1000.0 {
        let g = measure::grams(g);
        return format!("{} {}", amount(g), if g == 1.0 { "gram" } else { "grams" });
    }
    format!("{} kilos", amount((g / 10.0).round() / 100.0))
}

fn milliliters(ml: f64) -> String {
    let ml = measure::jug(ml);
    if ml < 1000.0 {
        format!("{} milliliters", numbers::plain(ml as u64))
    } else {
        format!("{} liters", amount(ml / 1000.0))
    }
}

pub fn word(say: &Say) -> String {
    match say {
        Say::Sums(None) => sentences(&["the plan has nothing of that to work out"]),
        Say::Sums(Some(SumsSay {
            step,
            salt_g,
            oil_ml,
            danger,
        })) => {
            let mut parts = Vec::new();
            parts.extend(salt_g.map(|g| format!("salt for {step}, {}", grams(g))));
            parts.extend(oil_ml.map(|ml| format!("oil for {step}, {}", milliliters(ml))));
            match danger {
                Danger::Usual => {}
                Danger::MayBoilOver => parts.push(
                    "that is more than a third of the pan with the food in, it may foam over the rim"
                        .to_owned(),
                ),
                Danger::RunsOver => parts.push(
                    "that runs over with the food in, take less oil or fewer pieces".to_owned(),
                ),
            }
            sentences(&parts)
        }
        Say::Weighed { item, grams: g } => sentences(&[format!("{item}, {}", grams(*g))]),
        Say::Counted { item, pieces } => sentences(&[format!(
            "{item}, {} {}",
            numbers::plain(u64::from(*pieces)),
            if *pieces == 1 { "piece" } else { "pieces" }
        )]),
        Say::Portions { portions } => {
            sentences(&[format!("for {}", numbers::plain(u64::from(*portions)))])
        }
        _ => String::new(),
    }
}
