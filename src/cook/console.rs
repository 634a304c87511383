//! The dialogue as text: who said what, when.

use std::io::Write;

use crate::board::Feed;
use crate::kitchen::{At, State};

/// Prints one line each, with the time since the cook began.
pub struct Console {
    out: Box<dyn Write + Send>,
    /// The board shows the dialogue as well.
    feed: Option<Feed>,
}

impl Console {
    pub fn new(out: Box<dyn Write + Send>) -> Self {
        Console { out, feed: None }
    }

    pub fn with(mut self, feed: Option<Feed>) -> Self {
        self.feed = feed;
        self
    }

    /// Shows the board what is so now.
    pub fn show(&self, state: &State, now: At) {
        if let Some(feed) = &self.feed {
            feed.show(state, now);
        }
    }

    /// The microphone is gone, or back.
    pub fn deaf(&self, on: bool) {
        if let Some(feed) = &self.feed {
            feed.deaf(on);
        }
    }

    pub fn heard(&mut self, at_ms: i64, words: &str, confidence: f32) {
        if let Some(feed) = &mut self.feed {
            feed.heard(at_ms, words);
        }
        let sure = if confidence < 0.995 {
            format!("  ({:.0} %)", confidence * 100.0)
        } else {
            String::new()
        };
        self.line(at_ms, "cook", &format!("{words}{sure}"));
    }

    pub fn said(&mut self, at_ms: i64, text: &str) {
        if let Some(feed) = &mut self.feed {
            feed.said(at_ms, text);
        }
        self.line(at_ms, "hob", text);
    }

    /// Several lines that belong together, below what was said.
    pub fn page(&mut self, text: &str) {
        for line in text.lines() {
            let _ = writeln!(self.out, "{:18}{line}", "");
        }
        let _ = self.out.flush();
    }

    /// Something about the machine, not the cook.
    pub fn note(&mut self, at_ms: i64, text: &str) {
        self.line(at_ms, "--", text);
    }

    fn line(&mut self, at_ms: i64, who: &str, text: &str) {
        // A closed terminal must not end a cook that speaks.
        let _ = writeln!(self.out, "{}  {who:>4}  {text}", stamp(at_ms));
        let _ = self.out.flush();
    }
}

/// `3:05`, `1:02:09`, `1d 03:00:12`.
fn stamp(at_ms: i64) -> String {
    let s = at_ms.max(0) / 1000;
    let (d, h, m, s) = (s / 86_400, s / 3600 % 24, s / 60 % 60, s % 60);
    if d > 0 {
        format!("{d}d {h:02}:{m:02}:{s:02}")
    } else {
        format!(
            "{:>11}",
            if h > 0 {
                format!("{h}:{m:02}:{s:02}")
            } else {
                format!("{m}:{s:02}")
            }
        )
    }
}
