//! The speech service on a thread of its own: any call into it may block for ever, so
//! nobody else makes one.

use std::time::Duration;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};
use tts::{Backends, Tts, UtteranceId};

/// How long the service may take to answer the first call; seen: 0.35 s when its daemon
/// has to be started.
const START: Duration = Duration::from_secs(4);

enum Ask {
    Speak {
        text: String,
        speed: f32,
        volume: f32,
    },
    Stop,
}

/// What the service reports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum News {
    /// It took the text and will report under this id.
    Taken(UtteranceId),
    Began(UtteranceId),
    Ended(UtteranceId),
    Stopped(UtteranceId),
    /// It refuses everything: its daemon is gone.
    Failed,
}

/// A connection. Dropped with a call still blocked, its thread is left behind.
pub struct Link {
    asks: Sender<Ask>,
    news: Receiver<News>,
}

impl Link {
    /// Connects, starting the daemon if need be.
    ///
    /// # Errors
    /// What is wrong, in words; also when the service does not answer within [`START`].
    pub fn start() -> Result<Link, String> {
        let (asks, from) = bounded(8);
        let (to, news) = unbounded();
        let (ready, wait) = bounded(1);
        std::thread::Builder::new()
            .name("system-voice".to_owned())
            .spawn(move || serve(&from, &to, &ready))
            .map_err(|e| format!("no thread for the system's voice: {e}"))?;
        match wait.recv_timeout(START) {
            Ok(Ok(())) => Ok(Link { asks, news }),
            Ok(Err(e)) => Err(format!("the system's voice does not start: {e}")),
            Err(_) => Err("the system's voice does not answer".to_owned()),
        }
    }

    pub fn news(&self) -> &Receiver<News> {
        &self.news
    }

    /// False when the thread is stuck.
    pub fn speak(&self, text: String, speed: f32, volume: f32) -> bool {
        self.asks
            .try_send(Ask::Speak {
                text,
                speed,
                volume,
            })
            .is_ok()
    }

    /// False when the thread is stuck.
    pub fn stop(&self) -> bool {
        self.asks.try_send(Ask::Stop).is_ok()
    }
}

fn serve(asks: &Receiver<Ask>, news: &Sender<News>, ready: &Sender<Result<(), String>>) {
    let mut tts = match connect(news) {
        Ok(tts) => tts,
        Err(e) => {
            let _ = ready.send(Err(e.to_string()));
            return;
        }
    };
    let _ = ready.send(Ok(()));
    while let Ok(ask) = asks.recv() {
        let done = match ask {
            Ask::Speak {
                text,
                speed,
                volume,
            } => {
                // A daemon that refuses a rate still speaks.
                let _ = tts.set_rate(rate(speed));
                let _ = tts.set_volume((volume * 200.0 - 100.0).clamp(-100.0, 100.0));
                match tts.speak(text, false) {
                    Ok(Some(id)) => news.send(News::Taken(id)).is_ok(),
                    Ok(None) | Err(_) => news.send(News::Failed).is_ok(),
                }
            }
            Ask::Stop => match tts.stop() {
                Ok(_) => true,
                Err(_) => news.send(News::Failed).is_ok(),
            },
        };
        if !done {
            break;
        }
    }
    let _ = tts.stop();
    // Not dropped: its callbacks look up what a drop takes away, and would panic in a
    // thread of the C library when a late report came in.
    std::mem::forget(tts);
}

fn connect(news: &Sender<News>) -> Result<Tts, tts::Error> {
    let tts = Tts::new(Backends::SpeechDispatcher)?;
    let to = news.clone();
    tts.on_utterance_begin(Some(Box::new(move |id| {
        let _ = to.send(News::Began(id));
    })))?;
    let to = news.clone();
    tts.on_utterance_end(Some(Box::new(move |id| {
        let _ = to.send(News::Ended(id));
    })))?;
    let to = news.clone();
    tts.on_utterance_stop(Some(Box::new(move |id| {
        let _ = to.send(News::Stopped(id));
    })))?;
    Ok(tts)
}

/// Speed → the service's rate from -100 to 100, which its modules map to words a minute;
/// from 80 over 170 (at 0) to 450 in the most common one.
fn rate(speed: f32) -> f32 {
    let words = 170.0 * speed;
    let rate = if speed >= 1.0 {
        (words - 170.0) / (450.0 - 170.0)
    } else {
        (words - 170.0) / (170.0 - 80.0)
    };
    (100.0 * rate).clamp(-100.0, 100.0)
}

#[cfg(test)]
mod tests {
    use super::rate;

    #[test]
    fn rates_rise_with_speed_and_stay_in_range() {
        assert_eq!(rate(1.0), 0.0);
        let all: Vec<f32> = [0.4, 0.6, 0.8, 1.0, 1.3, 1.7, 2.0, 4.0].map(rate).to_vec();
        assert!(all.windows(2).all(|w| w[0] <= w[1]));
        assert!(all.iter().all(|r| (-100.0..=100.0).contains(r)));
    }
}
