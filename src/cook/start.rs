//! Lays the table, starts the threads around it, and runs the loop to its end.

use std::process::ExitCode;
use std::sync::Arc;
use std::time::Instant;

use crossbeam_channel::{Receiver, Sender, bounded};

use crate::board::{self, Board, Feed, Now};
use crate::ear::EarHandle;
use crate::ear::echo::OwnVoice;
use crate::grammar::{ActiveSet, Grammar};
use crate::kitchen::{At, Input};
use crate::prep::day::clock::{seconds, serving};
use crate::record::wall;
use crate::voice::wording::WordingCtx;
use crate::voice::{Tap, VoiceError, VoiceEvent};

use super::Msg;
use super::args::CookArgs;
use super::clock::Clock;
use super::console::Console;
use super::hark::Hark;
use super::mouth::{Mouth, Speaks};
use super::open::{self, Opened};
use super::table::{Setting, Table, Then};
use super::watch::Watch;

/// Why a cook could not be run; each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error(transparent)]
    Open(#[from] open::Error),
    #[error("{0}")]
    Grammar(#[from] crate::grammar::Error),
    #[error("{0}")]
    Ear(String),
    #[error(transparent)]
    Voice(#[from] VoiceError),
    #[error(transparent)]
    Board(#[from] board::Error),
    #[error("--voice {0}: choose speaker, system or none")]
    NoSuchVoice(String),
    #[error("the system refused a thread or a timer: {0}")]
    System(#[from] std::io::Error),
}

/// Messages that may wait for the loop. It takes microseconds for each but for the disk;
/// an ear that fills this up waits, and drops nothing.
const WAITING: usize = 64;
/// Tens of milliseconds of our own voice that may wait for the ear, 20 s.
const PLAYED: usize = 2_000;

/// `hobcall cook`.
///
/// # Errors
/// When the cook cannot begin; once begun, trouble is told and lived with.
pub fn run(args: &CookArgs) -> Result<ExitCode, Error> {
    let opened = open::open(args)?;
    let (to, from) = bounded(WAITING);
    let mut parts = lay(args, opened, &to)?;
    for remark in std::mem::take(&mut parts.remarks) {
        parts.table.remark(&remark);
    }
    parts.table.input(&match parts.away_ms {
        Some(away_ms) => Input::Resumed { away_ms },
        None => Input::Begin,
    });
    if let Some((at, remark)) = parts.serve.take() {
        parts.table.input(&Input::Serve { at });
        parts.table.remark(&remark);
    }
    parts.run(&from);
    Ok(parts.finish())
}

struct Parts {
    table: Table,
    hark: Hark,
    active: ActiveSet,
    watch: Option<Watch>,
    away_ms: Option<i64>,
    remarks: Vec<String>,
    board: Option<Board>,
    /// When it is to be on the table, with a line for the console.
    serve: Option<(At, String)>,
}

fn lay(args: &CookArgs, opened: Opened, to: &Sender<Msg>) -> Result<Parts, Error> {
    let speaks = match args.voice.as_str() {
        "speaker" => Speaks::Speaker,
        "system" => Speaks::System,
        "none" => Speaks::Nobody,
        other => return Err(Error::NoSuchVoice(other.to_owned())),
    };
    let language = &opened.plan.language;
    let grammar = Grammar::for_plan(language, &opened.plan)?;
    let clock = opened.clock;
    let session_from = (!clock.is_real()).then(|| clock.now_ms());
    let epoch = Instant::now();
    // The ear takes our own voice out of what it hears. The system's voice plays past us,
    // so that the ear can only be shut for it.
    let (tap, own_voice) = if speaks == Speaks::Speaker && session_from.is_none() {
        let (to_played, played) = bounded(PLAYED);
        (Some(Tap::new(to_played)), Some(OwnVoice { played, epoch }))
    } else {
        (None, None)
    };
    let hark = Hark::open(
        args,
        &opened.plan,
        &grammar,
        session_from.is_some(),
        own_voice,
        to,
    )
    .map_err(Error::Ear)?;
    let mouth = Mouth::open(&speaks, args.replies.clone(), session_from, tap, epoch)?;
    let feed = args.board.map(|_| Feed::new(args.ear == "typed"));
    if let Some(events) = mouth.events() {
        let sounds = speaks != Speaks::Nobody;
        let ear = sounds.then_some(&hark).and_then(live);
        mind_the_voice(events, ear, feed.clone(), to.clone())?;
    }
    let mut remarks = opened.remarks;
    let board = match args.board.zip(feed.clone()) {
        Some((address, feed)) => {
            let board = Board::start(address, feed, running(&clock))?;
            remarks.push(format!("board: {}", board.url()));
            Some(board)
        }
        None => None,
    };
    let watch = match &clock {
        Clock::Real(real) => Some(Watch::start(real.clone(), to.clone())?),
        Clock::Session(_) => None,
    };
    let mut serve = None;
    // A time of day means nothing in a session; a cook that goes on keeps its time.
    if clock.is_real() && (args.serve.is_some() || !opened.state.has_serve()) {
        let words = args.serve.as_ref().or(opened.plan.serve.as_ref());
        let (known, then) = wall(&opened.anchor, opened.zone.as_deref());
        match words.map(|words| serving(words, &then)) {
            Some(Ok(at)) => {
                let ms = seconds(&then, &at).saturating_mul(1000);
                let said = at.strftime("%A %-d %B, %H:%M");
                serve = Some((known.plus(ms), format!("to be served {said}")));
            }
            Some(Err(why)) => remarks.push(why),
            None => {}
        }
    }
    let mut wording = WordingCtx::new(opened.plan.units);
    // A session's time is not the day's: only spans are said in it.
    if clock.is_real() {
        wording.wall = Some(wall(&opened.anchor, opened.zone.as_deref()));
    }
    wording.keeps_notes = !matches!(hark, Hark::Typed);
    wording.record = Some(opened.journal.path().display().to_string());
    Ok(Parts {
        table: Table::lay(Setting {
            clock,
            state: opened.state,
            journal: opened.journal,
            grammar,
            mouth,
            console: Console::new(Box::new(std::io::stdout())).with(feed),
            wording,
        }),
        hark,
        active: ActiveSet::awake(),
        watch,
        away_ms: opened.away_ms,
        remarks,
        board,
        serve,
    })
}

/// Cook time for the board; a session's time stands still between its calls.
fn running(clock: &Clock) -> Option<Now> {
    match clock {
        Clock::Real(real) => {
            let real = real.clone();
            Some(Arc::new(move || real.now_ms()))
        }
        Clock::Session(_) => None,
    }
}

fn live(hark: &Hark) -> Option<&EarHandle> {
    match hark {
        Hark::Live(handle) => Some(handle),
        Hark::Typed | Hark::Inside(_) => None,
    }
}

/// Shuts the ear while the tool itself speaks, and passes on what the voice has to say
/// about its device.
fn mind_the_voice(
    events: Receiver<VoiceEvent>,
    ear: Option<&EarHandle>,
    feed: Option<Feed>,
    to: Sender<Msg>,
) -> std::io::Result<()> {
    let deafness = ear.map(EarHandle::deafness);
    let deaf = move |on: bool| {
        if let Some(deafness) = &deafness {
            deafness.set(on);
        }
        if let Some(feed) = &feed {
            feed.speaking(on);
        }
    };
    std::thread::Builder::new()
        .name("voice to loop".into())
        .spawn(move || {
            for event in events {
                let remark = match event {
                    VoiceEvent::Began { .. } => {
                        deaf(true);
                        continue;
                    }
                    VoiceEvent::Ended { .. } => {
                        deaf(false);
                        continue;
                    }
                    VoiceEvent::Dropped { .. } | VoiceEvent::DeviceBack => continue,
                    VoiceEvent::DeviceLost { why } => {
                        deaf(false);
                        format!("no sound comes out: {why}")
                    }
                    VoiceEvent::Advice(text) => text,
                };
                if to.send(Msg::Remark(remark)).is_err() {
                    return;
                }
            }
        })
        .map(drop)
}

impl Parts {
    fn run(&mut self, from: &Receiver<Msg>) {
        loop {
            self.table.show();
            self.tell_the_ear();
            if let Some(watch) = &self.watch {
                watch.wake_at(self.table.next_due());
            }
            let messages = match &mut self.hark {
                Hark::Inside(inside) => {
                    let mut messages: Vec<Msg> = from.try_iter().collect();
                    messages.extend(inside.hear().into_iter().map(Msg::Ear));
                    messages
                }
                Hark::Typed | Hark::Live(_) => match from.recv() {
                    Ok(msg) => vec![msg],
                    Err(_) => return,
                },
            };
            for msg in messages {
                if self.table.take(msg) == Then::Leave {
                    self.table.show();
                    return;
                }
                if self.table.takes_note() {
                    self.hark.take_note();
                }
            }
        }
    }

    fn tell_the_ear(&mut self) {
        let active = self.table.active();
        if active == self.active {
            return;
        }
        if let Err(why) = self.hark.listen_for(&self.table.grammar, &active) {
            self.table.remark(&why);
        }
        self.active = active;
    }

    fn finish(self) -> ExitCode {
        drop(self.watch);
        drop(self.hark);
        // The last words are said before the board goes.
        let now_ms = self.table.clock.now_ms();
        self.table.mouth.close(now_ms);
        drop(self.board);
        ExitCode::SUCCESS
    }
}
