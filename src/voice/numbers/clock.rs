//! Clock times, exact to the minute, twelve-hour words.

use super::cardinal::plain;

/// The part of the day, where the hour alone could mean two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayPart {
    Morning,
    Afternoon,
    Evening,
    Night,
}

impl DayPart {
    /// Morning from five, afternoon from noon, evening from five, night from ten.
    pub fn of(hour: u8) -> DayPart {
        match hour % 24 {
            5..=11 => DayPart::Morning,
            12..=16 => DayPart::Afternoon,
            17..=21 => DayPart::Evening,
            _ => DayPart::Night,
        }
    }

    fn words(self) -> &'static str {
        match self {
            DayPart::Morning => "in the morning",
            DayPart::Afternoon => "in the afternoon",
            DayPart::Evening => "in the evening",
            DayPart::Night => "at night",
        }
    }
}

/// "seven thirty", "seven oh five", "seven o'clock", "noon", "midnight".
/// `hour` from 0 to 23 and `minute` from 0 to 59; anything else wraps round.
pub fn clock_time(hour: u8, minute: u8) -> String {
    let (hour, minute) = (hour % 24, minute % 60);
    let twelve = match hour % 12 {
        0 => 12,
        h => h,
    };
    match (hour, minute) {
        (0, 0) => "midnight".to_owned(),
        (12, 0) => "noon".to_owned(),
        (_, 0) => format!("{} o'clock", plain(twelve.into())),
        (_, 1..=9) => format!("{} oh {}", plain(twelve.into()), plain(minute.into())),
        _ => format!("{} {}", plain(twelve.into()), plain(minute.into())),
    }
}

/// [`clock_time`] with the part of the day: "seven thirty in the evening"; noon and
/// midnight need none.
pub fn clock_time_with(hour: u8, minute: u8) -> String {
    let time = clock_time(hour, minute);
    if matches!(time.as_str(), "noon" | "midnight") {
        return time;
    }
    format!("{time} {}", DayPart::of(hour).words())
}
