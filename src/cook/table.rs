//! The loop's one state, and what becomes of an input: decided, on the disk, folded in,
//! and only then said.

use crate::ear::decide::{Decision, decide};
use crate::ear::echo::may_be_ours;
use crate::ear::{EarEvent, Heard, Trouble};
use crate::grammar::{ActiveSet, Call, Grammar};
use crate::journal::{self, Journal};
use crate::kitchen::{self, At, Event, Expecting, Input, Say, State, What};
use crate::voice::wording::{self, WordingCtx};

use super::Msg;
use super::clock::Clock;
use super::console::Console;
use super::mouth::Mouth;
use super::notes;

/// What the loop does after a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Then {
    GoOn,
    /// The cook has ended, or the input has.
    Leave,
}

/// Everything a cook is, at one place.
pub struct Table {
    pub clock: Clock,
    pub state: State,
    pub journal: Journal,
    pub grammar: Grammar,
    pub mouth: Mouth,
    pub console: Console,
    pub wording: WordingCtx,
    /// Where the stream of a sound file or microphone begins, on the cook's time line.
    pub stream_began_ms: i64,
    /// A spoken note was asked for.
    wants_note: bool,
}

/// The parts a [`Table`] is laid with.
pub struct Setting {
    pub clock: Clock,
    pub state: State,
    pub journal: Journal,
    pub grammar: Grammar,
    pub mouth: Mouth,
    pub console: Console,
    pub wording: WordingCtx,
}

impl Table {
    pub fn lay(with: Setting) -> Self {
        let stream_began_ms = with.clock.now_ms();
        Table {
            clock: with.clock,
            state: with.state,
            journal: with.journal,
            grammar: with.grammar,
            mouth: with.mouth,
            console: with.console,
            wording: with.wording,
            stream_began_ms,
            wants_note: false,
        }
    }

    /// Takes one message all the way.
    pub fn take(&mut self, msg: Msg) -> Then {
        match msg {
            Msg::Ear(event) => return self.ear(event),
            Msg::Typed(line) => self.typed(&line),
            Msg::Pass(wait) => {
                let wait = i64::try_from(wait.as_millis()).unwrap_or(i64::MAX);
                self.pass_to(self.clock.now_ms().saturating_add(wait));
            }
            Msg::BadLine(line) => self.note(&format!(
                "{line:?}: write `+` and a time, for example `+12 h` or `+90 s`"
            )),
            Msg::Remark(text) => self.note(&text),
            Msg::Tick => self.input(&Input::Tick),
            Msg::EarEnded | Msg::Stop => return Then::Leave,
        }
        if self.state.has_ended() {
            Then::Leave
        } else {
            Then::GoOn
        }
    }

    /// Shows the board what is so now.
    pub fn show(&self) {
        self.console.show(&self.state, self.now());
    }

    /// Cook time at which something will be due.
    pub fn next_due(&self) -> Option<i64> {
        kitchen::next_due(&self.state, self.now()).map(|at| at.0)
    }

    fn now(&self) -> At {
        At(self.clock.now_ms())
    }

    /// Lets a session's time run to `ms`, with everything that falls due on the way at its own moment.
    fn pass_to(&mut self, ms: i64) {
        while let Some(due) = self.next_due().filter(|due| *due <= ms) {
            let before = (self.now(), self.state.events());
            self.clock.forward_to(due);
            self.input(&Input::Tick);
            // A tick that neither moved the time nor said anything would do so for ever.
            if (self.now(), self.state.events()) == before {
                break;
            }
        }
        self.clock.forward_to(ms);
    }

    fn ear(&mut self, event: EarEvent) -> Then {
        match event {
            EarEvent::Heard(heard) => self.heard(&heard),
            EarEvent::DeviceLost { why } => {
                self.console.deaf(true);
                self.note(&format!("the microphone is gone: {why}"));
                self.mouth.say(self.clock.now_ms(), &wording::deaf());
            }
            EarEvent::DeviceBack => {
                self.console.deaf(false);
                self.note("the microphone is back");
                self.mouth
                    .say(self.clock.now_ms(), &wording::hearing_again());
            }
            EarEvent::Note { at, samples } => self.spoken_note(at, &samples),
            EarEvent::Sound(trouble) => self.sound(trouble),
            EarEvent::Advice(advice) => self.note(&advice),
            EarEvent::SpeechBegan { .. } | EarEvent::Partial { .. } => {}
            EarEvent::End => return Then::Leave,
        }
        if self.state.has_ended() {
            Then::Leave
        } else {
            Then::GoOn
        }
    }

    /// What the cook can mend about the sound. The ear tells the same trouble once in
    /// three minutes; the voice lets everything else go before it.
    fn sound(&mut self, trouble: Trouble) {
        let utterance = match trouble {
            Trouble::Dead => wording::muted(),
            // Put to sleep it is not meant to understand.
            _ if self.state.is_asleep() => return,
            Trouble::MostlyNoise => wording::mostly_noise(),
            Trouble::Clipping => wording::too_loud(),
        };
        let now = self.clock.now_ms();
        self.console.said(now, &utterance.text);
        self.mouth.say(now, &utterance);
    }

    fn heard(&mut self, heard: &Heard) {
        let decided = ((heard.to + heard.decided_after) * 1000.0) as i64;
        if !self.clock.is_real() {
            self.pass_to(self.stream_began_ms.saturating_add(decided));
        }
        if heard.words.is_empty() {
            // Talk in the kitchen is not for us and gets no answer.
            return;
        }
        if heard.over_us && self.may_be_ours(heard) {
            self.note(&format!("perhaps my own voice: {}", heard.words));
            return;
        }
        self.console
            .heard(self.clock.now_ms(), &heard.words, heard.confidence);
        let now = self.now();
        // When it began to be said.
        let lasted = (heard.to - heard.from + heard.decided_after).max(0.0);
        let began = now.plus(-((lasted * 1000.0) as i64));
        let (heard, named) = self.without_name(heard);
        if named && heard.words.is_empty() {
            self.mouth.give_way();
            self.input(&Input::Called);
            return;
        }
        let decision = decide(
            &heard,
            |words| self.grammar.calls(words),
            |call| kitchen::likelihood(&self.state, call, now),
        );
        let heeds = |call: &Call| kitchen::heeds(&self.state, call, named, began);
        let input = match decision {
            // Talk among people, where the tool waits for its name.
            Decision::NotUnderstood { .. } if !self.may_be_for_us(named, began) => return,
            Decision::Take(choice) if !heeds(&choice.call) => return,
            Decision::Between(first, _) if !heeds(&first.call) => return,
            // Talk that sounded like an answer, and nothing was asked.
            Decision::Nothing => return,
            Decision::NotUnderstood { heard } => Input::NotUnderstood { heard },
            Decision::Take(choice) => Input::Call {
                call: choice.call,
                heard: choice.words,
                confidence: choice.confidence,
            },
            Decision::Between(first, second) => Input::Either {
                calls: [first.call, second.call],
                heard: first.words,
                confidence: first.confidence,
            },
        };
        if !matches!(input, Input::NotUnderstood { .. }) {
            self.mouth.give_way();
        }
        self.input(&input);
    }

    fn may_be_ours(&self, heard: &Heard) -> bool {
        let calls = self.grammar.calls(&heard.words);
        let cuts_in = calls.iter().any(kitchen::cuts_in);
        may_be_ours(heard, cuts_in, self.mouth.said_lately())
    }

    /// What was heard without the name at its beginning, and whether that stood there.
    fn without_name(&self, heard: &Heard) -> (Heard, bool) {
        let mut heard = heard.clone();
        if !self.state.goes_by_name() {
            return (heard, false);
        }
        let name = self.state.name();
        let named = kitchen::without_name(&heard.words, name).is_some();
        // Alternatives of the other kind are another way to hear it, not another call.
        heard
            .alternatives
            .retain(|a| kitchen::without_name(&a.words, name).is_some() == named);
        let alternatives = heard.alternatives.iter_mut().map(|a| &mut a.words);
        for words in alternatives.chain([&mut heard.words]) {
            if let Some(rest) = kitchen::without_name(words, name) {
                *words = rest.to_owned();
            }
        }
        (heard, named)
    }

    /// Whether speech of which nothing was understood may have been for the tool.
    fn may_be_for_us(&self, named: bool, began: At) -> bool {
        !self.state.goes_by_name()
            || named
            || self.state.was_just_called(began)
            || self.state.expecting() == Expecting::Answer
    }

    fn typed(&mut self, line: &str) {
        self.console.heard(self.clock.now_ms(), line, 1.0);
        let (line, named) = match kitchen::without_name(line, self.state.name()) {
            Some(rest) if self.state.goes_by_name() => (rest, true),
            _ => (line, false),
        };
        if named && line.is_empty() {
            return self.input(&Input::Called);
        }
        let call = self.grammar.calls_typed(line).into_iter().next();
        let heeded = match &call {
            Some(call) => kitchen::heeds(&self.state, call, named, self.now()),
            None => self.may_be_for_us(named, self.now()),
        };
        if !heeded {
            let name = self.state.name().to_owned();
            return self.note(&format!("not for me: calls begin with {name:?} now"));
        }
        let input = match call {
            Some(call) => Input::Call {
                call,
                heard: line.to_owned(),
                confidence: 1.0,
            },
            None => Input::NotUnderstood {
                heard: vec![line.to_owned()],
            },
        };
        self.input(&input);
    }

    /// Decide, write down, fold, say.
    pub fn input(&mut self, input: &Input) {
        let now = self.now();
        let events = kitchen::decide(&self.state, input, now);
        if let Err(why) = self.journal.append(&events) {
            self.unwritten(&why);
            return;
        }
        for event in &events {
            self.fold(event);
        }
    }

    fn fold(&mut self, event: &Event) {
        let before = self.state.clone();
        self.state.apply(event);
        let now_ms = event.at.0;
        match &event.what {
            What::QuietSet { on } => {
                if *on {
                    self.mouth.hush();
                }
                self.mouth.silence(*on);
            }
            What::Noted { text: None } => self.wants_note = self.wording.keeps_notes,
            What::VoiceSet { .. } => {
                let (volume, speed) = self.state.voice();
                self.mouth.set(volume, speed);
            }
            _ => {}
        }
        let words = wording::ctx_for(&self.state, &self.wording);
        for reply in kitchen::replies(&before, event, &self.state) {
            let utterance = wording::word(&reply, &words);
            match reply.is_for_the_plater() {
                // A screen stays when the tasters come back in.
                true => self.console.said(now_ms, wording::PLATE_UNSEEN),
                false => self.console.said(now_ms, &utterance.text),
            }
            if matches!(reply.say, Say::Map { .. }) {
                self.console.page(&wording::map(&self.state));
            }
            self.mouth.say(now_ms, &utterance);
        }
    }

    /// Once after each spoken note that was asked for.
    pub fn takes_note(&mut self) -> bool {
        std::mem::take(&mut self.wants_note)
    }

    /// The sound goes beside the journal, the journal names its file.
    fn spoken_note(&mut self, at: f64, samples: &[i16]) {
        if !self.clock.is_real() {
            self.pass_to(self.stream_began_ms.saturating_add((at * 1000.0) as i64));
        }
        let kept = match samples {
            [] => Err("nothing was said".to_owned()),
            _ => notes::keep(self.journal.path(), samples),
        };
        match kept {
            Ok(file) => self.input(&Input::Call {
                call: Call::Note {
                    text: Some(wording::spoken_note(&file)),
                },
                heard: "note".to_owned(),
                confidence: 1.0,
            }),
            Err(why) => {
                self.note(&format!("no note was kept: {why}"));
                self.mouth.say(self.clock.now_ms(), &wording::no_note());
            }
        }
    }

    /// The disk refused: nothing has happened, and the cook must know that it has not.
    fn unwritten(&mut self, why: &journal::Error) {
        self.note(&why.to_string());
        let utterance = wording::not_written_down();
        self.console.said(self.clock.now_ms(), &utterance.text);
        self.mouth.say(self.clock.now_ms(), &utterance);
    }

    /// What may be said now.
    pub fn active(&self) -> ActiveSet {
        let now = match self.state.expecting() {
            Expecting::OnlyCarryOn => return ActiveSet::asleep(),
            Expecting::Answer => ActiveSet::answering(),
            Expecting::Anything => ActiveSet::awake(),
        };
        let now = match self.state.is_tasting() {
            true => now.at_table(),
            false => now,
        };
        if !self.state.goes_by_name() {
            return now;
        }
        let asked = self.state.expecting() == Expecting::Answer;
        now.by_name(asked || self.state.was_just_called(self.now()))
    }

    /// Something about the machine that the person should read.
    pub fn remark(&mut self, text: &str) {
        self.note(text);
    }

    fn note(&mut self, text: &str) {
        let now = self.clock.now_ms();
        self.console.note(now, text);
    }
}
