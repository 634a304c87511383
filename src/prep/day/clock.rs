//! "19:00", "sunday 19:00" → a moment; moments and spans in the cook's own time.

use jiff::civil::{Time, Weekday};
use jiff::{SignedDuration, ZonedDateTime};

/// The next time that the words of a plan or a command line mean, after `now`: a time of
/// day, alone or with a day of the week. Where the clocks are put forward over that very
/// time, the one after the gap; where they are put back, the first of the two.
///
/// # Errors
/// What is wrong with the words, with what to write.
pub fn serving(words: &str, now: &ZonedDateTime) -> Result<ZonedDateTime, String> {
    let fault = || format!("`{words}` is no time of day; write: 19:00, or sunday 19:00");
    let lower = words.trim().to_lowercase();
    let (day, time) = match lower.split_once(char::is_whitespace) {
        Some((day, time)) => (
            Some(weekday(day).ok_or_else(fault)?),
            time.trim().to_owned(),
        ),
        None => (None, lower),
    };
    let (h, m) = time.split_once(':').ok_or_else(fault)?;
    let number = |text: &str| {
        let fits = (1..=2).contains(&text.len()) && text.chars().all(|c| c.is_ascii_digit());
        fits.then(|| text.parse::<i8>().ok()).flatten()
    };
    let (h, m) = (number(h).ok_or_else(fault)?, number(m).ok_or_else(fault)?);
    let time = Time::new(h, m, 0, 0).map_err(|_| fault())?;
    let mut date = now.date();
    // Today, or one of the seven days after it.
    for _ in 0..=7 {
        if day.is_none_or(|day| day == date.weekday()) {
            let at = date
                .to_datetime(time)
                .to_zoned_datetime(now.time_zone().clone())
                .map_err(|e| format!("`{words}`: {e}; write another time"))?;
            if at > *now {
                return Ok(at);
            }
        }
        date = date.tomorrow().map_err(|_| fault())?;
    }
    Err(fault())
}

fn weekday(word: &str) -> Option<Weekday> {
    Some(match word {
        "monday" => Weekday::Monday,
        "tuesday" => Weekday::Tuesday,
        "wednesday" => Weekday::Wednesday,
        "thursday" => Weekday::Thursday,
        "friday" => Weekday::Friday,
        "saturday" => Weekday::Saturday,
        "sunday" => Weekday::Sunday,
        _ => return None,
    })
}

/// Seconds from `now` to `then` as they really pass, whatever the clocks are put to. A part
/// of one counts: else what is wanted at 19:00 is laid, and told, for 18:59.
pub fn seconds(now: &ZonedDateTime, then: &ZonedDateTime) -> i64 {
    let span = then.duration_since(now);
    span.as_secs() + i64::from(span.subsec_nanos() > 0)
}

/// The moment so many seconds after `now`; the last that there is beyond the calendar.
pub fn moment(now: &ZonedDateTime, seconds: i64) -> ZonedDateTime {
    now.checked_add(SignedDuration::from_secs(seconds))
        .unwrap_or_else(|_| now.clone())
}

/// `Sat 21:40`; the day only where it is not that of `beside`.
pub fn short(at: &ZonedDateTime, beside: &ZonedDateTime) -> String {
    if at.date() == beside.date() {
        at.strftime("%H:%M").to_string()
    } else {
        at.strftime("%a %H:%M").to_string()
    }
}

/// `12 h`, `1 h 30 min`, `25 min`: whole minutes, up.
pub fn span(seconds: i64) -> String {
    let minutes = (seconds.max(0) + 59) / 60;
    match (minutes / 60, minutes % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_serving_time_is_told_as_it_was_wanted() {
        let now: ZonedDateTime = "2026-11-27T08:12:31.4[Europe/Vienna]".parse().unwrap();
        let at = serving("sunday 18:30", &now).unwrap();
        let told = moment(&now, seconds(&now, &at));
        assert_eq!(told.strftime("%A %H:%M").to_string(), "Sunday 18:30");
    }
}
