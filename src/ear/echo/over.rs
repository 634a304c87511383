//! Whether somebody speaks over our own voice, or it is all there is.

/// Smoothing of levels: the last 50 ms.
const FRESH: f32 = 0.2;
/// The same of the last two seconds in which we were loud.
const SLOW: f32 = 0.005;
/// dB above the room's noise that count as loud.
const LOUD: f32 = 8.0;
/// Taking away this much, in dB, shows that the canceller has found the echo.
const FOUND: f32 = 12.0;
/// A voice that begins over ours loses no more than this, dB.
const BEGINS: f32 = 5.0;
/// What then goes on loses so much less than ours does.
const GOES_ON: f32 = 4.0;
/// Blocks that the ear stays open after somebody spoke over us: longer than the pauses
/// inside a call.
const HOLD: u32 = 60;
/// Stops close the mouth for up to 150 ms inside a word (common practice, no source).
const GAP: u32 = 8;
/// Our voice must have sounded for so many blocks before its absence at the microphone
/// shows that no echo arrives.
const SEEN: u32 = 80;
/// Most of them without a sound at the microphone.
const ABSENT: f32 = 0.25;

/// What 10 ms are made of while our voice sounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mix {
    /// Nothing but our voice.
    Ours,
    /// Somebody speaks over it.
    Spoken,
    /// Somebody spoke just before and may go on.
    Pause,
}

#[derive(Debug)]
pub struct Over {
    /// Level of the room without us, dB below full scale.
    floor: f32,
    near: f32,
    clean: f32,
    /// What the canceller takes away while only we speak, over the last seconds of it.
    loss: f32,
    hold: u32,
    /// Blocks of our voice, and those of them that were loud at the microphone.
    ours: f32,
    loud: f32,
    /// Blocks in a row that stand out of what the canceller leaves.
    stands_out: u32,
    /// Blocks since the last one that did.
    since: u32,
}

impl Default for Over {
    fn default() -> Self {
        Self {
            floor: -60.0,
            near: -90.0,
            clean: -90.0,
            loss: 0.0,
            hold: 0,
            ours: 0.0,
            loud: 0.0,
            stands_out: 0,
            since: u32::MAX,
        }
    }
}

impl Over {
    /// 10 ms in which our voice does not sound.
    pub fn quiet(&mut self, near: &[f32]) {
        let level = level(near);
        self.near += FRESH * (level - self.near);
        self.clean = self.near;
        let pace = if level < self.floor { 0.1 } else { 0.002 };
        self.floor += pace * (level - self.floor);
        self.hold = self.hold.saturating_sub(1);
    }

    /// 10 ms in which it does; `reference` is what was played, none in its echo.
    pub fn covered(&mut self, near: &[f32], clean: &[f32], reference: Option<&[f32; 160]>) -> Mix {
        self.near += FRESH * (level(near) - self.near);
        self.clean += FRESH * (level(clean) - self.clean);
        let loud = self.near > self.floor + LOUD;
        if reference.is_some_and(|r| level(r) > -50.0) {
            self.ours += 1.0;
            self.loud += f32::from(u8::from(loud));
            // A speaker that is plugged in later is noticed.
            if self.ours > 3_000.0 {
                self.ours /= 2.0;
                self.loud /= 2.0;
            }
        }
        let absent = self.ours > SEEN as f32 && self.loud < ABSENT * self.ours;
        let knows = absent || self.loss > FOUND;
        // To begin it takes a voice that the canceller lets through; then all that loses
        // clearly less than we do goes on with it.
        let most = if self.hold > 0 {
            self.loss - GOES_ON
        } else {
            BEGINS
        };
        let stands =
            knows && self.clean > self.floor + LOUD && (absent || self.near - self.clean < most);
        if stands {
            self.stands_out += 1;
            self.since = 0;
        } else {
            self.stands_out = 0;
            self.since = self.since.saturating_add(1);
            if loud && self.hold == 0 {
                self.loss += SLOW * (self.near - self.clean - self.loss);
            }
        }
        // One odd block is the canceller finding its way.
        if self.stands_out >= 4 {
            self.hold = HOLD;
        }
        self.hold = self.hold.saturating_sub(1);
        if self.since < GAP || absent {
            Mix::Spoken
        } else if self.hold > 0 {
            Mix::Pause
        } else {
            Mix::Ours
        }
    }

    pub fn loss_db(&self) -> f32 {
        self.loss
    }
}

/// In the range where speech has its phones, dB below full scale.
fn level(samples: &[f32]) -> f32 {
    let mut last = samples.first().copied().unwrap_or(0.0);
    let mut sum = 0.0;
    for &x in samples {
        let d = x - 0.9 * last;
        last = x;
        sum += d * d;
    }
    10.0 * (sum / samples.len().max(1) as f32).max(1e-10).log10()
}
