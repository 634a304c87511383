//! Timers and signals, owned by tokio on a thread of its own.

use std::thread::JoinHandle;
use std::time::Duration;

use crossbeam_channel::Sender;
use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::watch;

use super::Msg;
use crate::journal::CookClock;

/// The longest sleep between two looks at the clock. Tokio's timers do not count
/// suspend, cook time does: after the lid of a laptop opens, this is how late an
/// alarm can be at the most.
const LOOK: Duration = Duration::from_millis(500);

/// Wakes the loop at the moment it asked for, and on SIGINT, SIGTERM and SIGHUP.
pub struct Watch {
    due: watch::Sender<Option<i64>>,
    thread: Option<JoinHandle<()>>,
}

impl Watch {
    /// # Errors
    /// When the runtime cannot be made (no threads or file handles left).
    pub fn start(clock: CookClock, to: Sender<Msg>) -> std::io::Result<Self> {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        let (due, mut asked) = watch::channel(None::<i64>);
        let thread = std::thread::Builder::new()
            .name("watch".into())
            .spawn(move || {
                runtime.block_on(async move {
                    let (Ok(mut int), Ok(mut term), Ok(mut hup)) = (
                        signal(SignalKind::interrupt()),
                        signal(SignalKind::terminate()),
                        signal(SignalKind::hangup()),
                    ) else {
                        return;
                    };
                    // One tick a wish: the loop answers a tick with its next wish.
                    let mut told = false;
                    loop {
                        let due = asked.borrow_and_update().filter(|_| !told);
                        let wait = due.map_or(LOOK, |due| {
                            let left = (due - clock.now_ms()).max(0).unsigned_abs();
                            Duration::from_millis(left).min(LOOK)
                        });
                        tokio::select! {
                            _ = int.recv() => if to.send(Msg::Stop).is_err() { return },
                            _ = term.recv() => if to.send(Msg::Stop).is_err() { return },
                            _ = hup.recv() => if to.send(Msg::Stop).is_err() { return },
                            changed = asked.changed() => {
                                if changed.is_err() { return }
                                told = false;
                            }
                            () = tokio::time::sleep(wait) => {
                                if due.is_some_and(|due| clock.now_ms() >= due) {
                                    if to.send(Msg::Tick).is_err() { return }
                                    told = true;
                                }
                            }
                        }
                    }
                });
            })?;
        Ok(Watch {
            due,
            thread: Some(thread),
        })
    }

    /// Cook time, in milliseconds, at which the loop wants to be woken.
    pub fn wake_at(&self, due: Option<i64>) {
        self.due.send_replace(due);
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        // Dropping the sender ends the task.
        let (gone, _) = watch::channel(None);
        drop(std::mem::replace(&mut self.due, gone));
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
