//! What time brings without a call.

use crate::kitchen::agenda::{self, Item};
use crate::kitchen::{Due, What};

use super::Desk;

impl Desk<'_> {
    pub(super) fn tick(&mut self) {
        let mut due = Vec::new();
        let mut asked = None;
        let mut lay = false;
        for item in agenda::due(self.state, self.now) {
            match item {
                Item::Due(d) => due.push(d),
                Item::AskWhere(q) => asked = asked.or(Some(q)),
                Item::Lay => lay = true,
            }
        }
        if !due.is_empty() {
            self.emit(What::Due { due });
        } else if let Some(question) = asked {
            self.ask(question);
        } else if lay {
            self.lay_day();
        }
    }

    pub(super) fn resumed(&mut self, away_ms: i64) {
        if self.core.begun.is_none() || self.core.ended.is_some() {
            return;
        }
        let due: Vec<Due> = self
            .core
            .clocks
            .iter()
            .filter(|c| c.ring.is_none() && c.ends <= self.now)
            .map(|c| Due::Up(c.key.clone()))
            .collect();
        self.emit(What::Resumed { away_ms, due });
    }
}
