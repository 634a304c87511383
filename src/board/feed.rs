//! What the loop tells the board. Everything is put where the newest is read from: a viewer
//! that is slow or gone costs the loop nothing.

use std::collections::VecDeque;
use std::sync::Arc;

use serde::Serialize;
use tokio::sync::watch;

use crate::kitchen::{At, State};

use super::picture::{TalkLine, picture};

/// Lines of the dialogue that the page can show; a viewer that comes back after a break
/// finds those it missed.
const TALK: usize = 12;

/// Whether calls can be heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Ear {
    /// Calls are typed; there is no microphone to lose.
    pub typed: bool,
    /// The microphone is gone.
    pub deaf: bool,
    /// The tool itself speaks, and does not listen meanwhile.
    pub speaking: bool,
}

/// The newest picture as JSON, and its number.
#[derive(Debug, Clone)]
pub struct Newest {
    pub number: u64,
    pub json: Arc<str>,
    /// Cook time of the picture, for a cook whose time does not run by itself.
    pub at: At,
}

/// The pen; cheap to clone.
#[derive(Debug, Clone)]
pub struct Feed {
    picture: watch::Sender<Newest>,
    ear: watch::Sender<Ear>,
    talk: VecDeque<TalkLine>,
    asked: Option<String>,
}

impl Feed {
    pub fn new(typed: bool) -> Feed {
        Feed {
            picture: watch::Sender::new(Newest {
                number: 0,
                json: "null".into(),
                at: At(0),
            }),
            ear: watch::Sender::new(Ear {
                typed,
                deaf: false,
                speaking: false,
            }),
            talk: VecDeque::new(),
            asked: None,
        }
    }

    pub fn heard(&mut self, at_ms: i64, words: &str) {
        self.line("cook", at_ms, words);
    }

    pub fn said(&mut self, at_ms: i64, words: &str) {
        if words.contains('?') {
            self.asked = Some(words.to_owned());
        }
        self.line("hob", at_ms, words);
    }

    fn line(&mut self, who: &'static str, at_ms: i64, words: &str) {
        if self.talk.len() == TALK {
            self.talk.pop_front();
        }
        self.talk.push_back(TalkLine {
            who,
            at_ms,
            text: words.to_owned(),
        });
    }

    pub fn deaf(&self, on: bool) {
        self.ear.send_if_modified(|ear| {
            let changed = ear.deaf != on;
            ear.deaf = on;
            changed
        });
    }

    pub fn speaking(&self, on: bool) {
        self.ear.send_if_modified(|ear| {
            let changed = ear.speaking != on;
            ear.speaking = on;
            changed
        });
    }

    /// Shows what is so now.
    pub fn show(&self, state: &State, now: At) {
        let asked = state.question().and(self.asked.as_deref());
        let shown = picture(state, self.talk.iter().cloned(), asked);
        // A picture is plain data: it can always be written. If not, the old one stays.
        if let Ok(json) = serde_json::to_string(&shown) {
            self.picture.send_modify(|newest| {
                newest.number += 1;
                newest.json = json.into();
                newest.at = now;
            });
        }
    }

    pub(super) fn viewer(&self) -> (watch::Receiver<Newest>, watch::Receiver<Ear>) {
        (self.picture.subscribe(), self.ear.subscribe())
    }
}
