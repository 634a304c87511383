//! A call over our own voice, held against what we said just then: what the canceller leaves of
//! "brine, twelve to sixteen hours" sounds like "reading twelve to sixteen".

use std::collections::HashSet;
use std::time::Instant;

use super::Echo;
use crate::ear::source::RATE;
use crate::ear::{EarEvent, Heard, Listening};

/// Seconds before what was heard, and after it, in which we may have said it: outputs tell
/// their delay wrongly, and the sound then comes later than they say.
const AROUND: (f64, f64) = (0.5, 0.3);
/// A call over our own voice must be this sure: what the canceller leaves of it may sound
/// like a word or two.
const SURE: f32 = 0.5;
/// So sure it must be unless it is one that cooks cut in with. On machines so busy that the
/// canceller came too late, "flip in four minutes" was heard as "add four minutes" with 0.59
/// "end it anyway" as "eight" with 0.73 and "hours left; end it" as "is left done" with 0.76; of
/// 182 calls over us in synthetic kitchens two were less sure (`make bench-cut-in`).
const SURER: f32 = 0.8;
/// Of a call with so many of its phones in what we said just then the rest was misheard. Of
/// those 182 calls one had more, 0.79 ("left skillet flipped" over "left skillet. Target"); what
/// was heard above [`SURER`] of our own voice through a sound server had 0.86 or more.
const OURS: f32 = 0.75;

impl Echo {
    /// Takes samples that the microphone delivered at `now`, and `listener` hears what is left
    /// of them without our own voice.
    pub fn feed(
        &mut self,
        listener: &mut dyn Listening,
        samples: &mut Vec<i16>,
        now: Instant,
        on: &mut dyn FnMut(EarEvent),
    ) {
        let deaf = self.clean(samples, now);
        if self.sounds() {
            let end = samples.len() as f64 / f64::from(RATE);
            listener.our_voice_until(listener.position() + end);
        }
        let mut told = Vec::new();
        listener.feed(samples, deaf, &mut |e| told.push(e));
        for mut event in told {
            if let EarEvent::Heard(heard) = &mut event {
                self.hold_against(heard, listener);
            }
            on(event);
        }
    }

    /// Notes how much of a call over our own voice we may have said ourselves.
    fn hold_against(&self, heard: &mut Heard, listener: &mut dyn Listening) {
        if !heard.over_us || heard.words.is_empty() {
            return;
        }
        if heard.confidence < SURE {
            *heard = Heard::nothing(heard.from, heard.to);
            return;
        }
        let now = listener.position();
        let back = |at: f64| ((now - at).max(0.0) * f64::from(RATE)) as usize;
        let span = back(heard.to + AROUND.1)..back(heard.from - AROUND.0);
        heard.ours = listener.said_in(&heard.words, &self.played(span));
    }
}

/// Whether a call over our own voice may be what is left of that: too much of it was said by
/// us just then; or all of its words, two or more, in something that we said `lately`, for
/// outputs may tell their delay wrongly by more than is looked at; or it is not sure enough and
/// nothing that cooks cut in with. Where nobody knows how its words sound, only what cooks cut
/// in with is theirs.
pub fn may_be_ours<'a>(
    heard: &Heard,
    cuts_in: bool,
    mut lately: impl Iterator<Item = &'a str>,
) -> bool {
    let doubtful = heard.ours.is_none() || heard.confidence < SURER;
    let words: HashSet<String> = words_of(&heard.words).collect();
    let mut repeated = || lately.any(|said| words.is_subset(&words_of(said).collect()));
    heard.ours.is_some_and(|share| share >= OURS)
        || (doubtful && !cuts_in)
        || ((words.len() > 1 || heard.ours.is_none()) && repeated())
}

fn words_of(text: &str) -> impl Iterator<Item = String> {
    text.split(|c: char| !c.is_alphanumeric() && c != '\'')
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_of_our_own_words_is_no_call() {
        let said = ["In, right skillet. Flip in four minutes."];
        for (words, confidence, ours, cuts_in, is_ours) in [
            ("four minutes", 0.99, Some(0.0), false, true),
            ("add four minutes", 0.59, Some(0.7), false, true),
            ("add four minutes", 0.87, Some(0.8), false, true),
            ("eight", 0.73, Some(0.5), false, true),
            ("add two minutes", 0.59, Some(0.4), false, true),
            // The cook cuts in with words that we have just used.
            ("right skillet flipped", 0.95, Some(0.6), false, false),
            ("add two minutes", 0.85, Some(0.4), false, false),
            ("quiet", 0.55, Some(0.2), true, false),
            ("flip", 0.95, Some(0.3), false, false),
            ("flip", 0.95, Some(1.0), false, true),
            // A recogniser that does not know how words sound.
            ("add two minutes", 0.95, None, false, true),
            ("quiet", 0.55, None, true, false),
            ("right", 0.95, None, true, true),
        ] {
            let heard = Heard {
                words: words.to_owned(),
                confidence,
                ours,
                over_us: true,
                ..Heard::nothing(0.0, 1.0)
            };
            assert_eq!(
                may_be_ours(&heard, cuts_in, said.into_iter()),
                is_ours,
                "{heard:?}"
            );
        }
    }
}
