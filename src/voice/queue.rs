//! What is said next, and what may cut what. Pure: time comes in as an argument.

use super::{DropReason, Urgency, Utterance, UtteranceId};

/// An utterance that waits to be said.
#[derive(Debug, Clone)]
pub struct Entry {
    pub id: UtteranceId,
    pub utterance: Utterance,
    /// Seconds, when it was asked for.
    pub since: f64,
    /// It was cut once and is being said from its beginning again.
    pub again: bool,
    /// Its text has been written out.
    pub shown: bool,
}

/// Highest urgency first, first come first within one urgency.
#[derive(Debug, Default)]
pub struct Queue {
    entries: Vec<Entry>,
    silenced: bool,
}

impl Queue {
    /// Takes an utterance in, or says why it is not wanted: a reminder while silenced,
    /// or an alarm, danger or reminder that already waits in the same words.
    pub fn offer(&mut self, entry: Entry) -> Result<(), DropReason> {
        let u = &entry.utterance;
        if self.silenced && u.urgency == Urgency::Reminder {
            return Err(DropReason::Silenced);
        }
        if u.urgency != Urgency::Reply
            && let Some(same) = self
                .entries
                .iter_mut()
                .find(|e| e.utterance.urgency == u.urgency && e.utterance.text == u.text)
        {
            same.utterance.unanswered = same.utterance.unanswered.max(u.unanswered);
            return Err(DropReason::Repeated);
        }
        let at = self
            .entries
            .iter()
            .position(|e| e.utterance.urgency < u.urgency)
            .unwrap_or(self.entries.len());
        self.entries.insert(at, entry);
        Ok(())
    }

    /// Puts an entry that was cut in front of its equals.
    pub fn put_back(&mut self, entry: Entry) {
        let at = self
            .entries
            .iter()
            .position(|e| e.utterance.urgency <= entry.utterance.urgency)
            .unwrap_or(self.entries.len());
        self.entries.insert(at, entry);
    }

    /// The urgency of what would be said next.
    pub fn head(&self) -> Option<Urgency> {
        self.entries.first().map(|e| e.utterance.urgency)
    }

    pub fn take(&mut self) -> Option<Entry> {
        if self.entries.is_empty() {
            None
        } else {
            Some(self.entries.remove(0))
        }
    }

    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    pub fn set_silenced(&mut self, silenced: bool) -> Vec<UtteranceId> {
        self.silenced = silenced;
        if silenced {
            self.remove(|e| e.utterance.urgency == Urgency::Reminder)
        } else {
            Vec::new()
        }
    }

    /// "quiet": takes out what is no alarm and no danger.
    pub fn hush(&mut self) -> Vec<UtteranceId> {
        self.remove(|e| e.utterance.urgency <= Urgency::Reply)
    }

    /// Takes out answers and reminders asked for before `oldest` (seconds): after a lost
    /// speaker has come back, nobody wants to hear them any more.
    pub fn expire(&mut self, oldest: f64) -> Vec<UtteranceId> {
        self.remove(|e| e.utterance.urgency <= Urgency::Reply && e.since < oldest)
    }

    /// Everything, at the end.
    pub fn clear(&mut self) -> Vec<UtteranceId> {
        self.remove(|_| true)
    }

    pub fn iter_mut(&mut self) -> impl Iterator<Item = &mut Entry> {
        self.entries.iter_mut()
    }

    fn remove(&mut self, unwanted: impl Fn(&Entry) -> bool) -> Vec<UtteranceId> {
        let ids = self
            .entries
            .iter()
            .filter(|e| unwanted(e))
            .map(|e| e.id)
            .collect();
        self.entries.retain(|e| !unwanted(e));
        ids
    }
}

/// What becomes of an utterance that is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    Over,
    SaidAgain,
}

/// An answer or an alarm that something more urgent cut short is said again from its
/// beginning, once; a reminder is not, and nothing that the cook silenced is.
pub fn fate(entry: &Entry, by_the_cook: bool) -> Fate {
    if by_the_cook || entry.again || entry.utterance.urgency == Urgency::Reminder {
        Fate::Over
    } else {
        Fate::SaidAgain
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(id: u64, text: &str, urgency: Urgency) -> Entry {
        Entry {
            id: UtteranceId(id),
            utterance: Utterance::new(text, urgency),
            since: id as f64,
            again: false,
            shown: false,
        }
    }

    fn order(q: &mut Queue) -> Vec<u64> {
        std::iter::from_fn(|| q.take()).map(|e| e.id.0).collect()
    }

    #[test]
    fn urgent_first_and_equals_in_turn() {
        let mut q = Queue::default();
        for (id, urgency) in [
            (1, Urgency::Reply),
            (2, Urgency::Reminder),
            (3, Urgency::Alarm),
            (4, Urgency::Reply),
            (5, Urgency::Danger),
            (6, Urgency::Alarm),
        ] {
            q.offer(entry(id, &format!("say {id}"), urgency)).unwrap();
        }
        assert_eq!(q.head(), Some(Urgency::Danger));
        q.put_back(entry(7, "cut", Urgency::Alarm));
        assert_eq!(order(&mut q), [5, 7, 3, 6, 1, 4, 2]);
    }

    #[test]
    fn quiet_and_silence() {
        let mut q = Queue::default();
        q.offer(entry(1, "a", Urgency::Reminder)).unwrap();
        q.offer(entry(2, "b", Urgency::Reply)).unwrap();
        q.offer(entry(3, "c", Urgency::Alarm)).unwrap();
        assert_eq!(q.set_silenced(true), [UtteranceId(1)]);
        let refused = q.offer(entry(4, "d", Urgency::Reminder));
        assert_eq!(refused, Err(DropReason::Silenced));
        q.offer(entry(5, "e", Urgency::Reply)).unwrap();
        assert_eq!(q.hush(), [UtteranceId(2), UtteranceId(5)]);
        assert_eq!(order(&mut q), [3]);
        q.set_silenced(false);
        assert!(q.offer(entry(6, "f", Urgency::Reminder)).is_ok());
    }

    #[test]
    fn an_alarm_does_not_pile_up_but_an_answer_may() {
        let mut q = Queue::default();
        q.offer(entry(1, "rice is done", Urgency::Alarm)).unwrap();
        let mut louder = entry(2, "rice is done", Urgency::Alarm);
        louder.utterance.unanswered = 2;
        assert_eq!(q.offer(louder), Err(DropReason::Repeated));
        q.offer(entry(3, "flipped", Urgency::Reply)).unwrap();
        q.offer(entry(4, "flipped", Urgency::Reply)).unwrap();
        assert_eq!(q.take().map(|e| e.utterance.unanswered), Some(2));
        assert_eq!(order(&mut q), [3, 4]);
    }

    #[test]
    fn old_answers_expire_and_alarms_do_not() {
        let mut q = Queue::default();
        q.offer(entry(1, "a", Urgency::Reply)).unwrap();
        q.offer(entry(2, "b", Urgency::Alarm)).unwrap();
        q.offer(entry(9, "c", Urgency::Reply)).unwrap();
        assert_eq!(q.expire(5.0), [UtteranceId(1)]);
        assert_eq!(order(&mut q), [2, 9]);
    }
}
