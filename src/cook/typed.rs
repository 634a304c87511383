//! Typed lines as the ear: one call a line. In a session clock a line that begins with
//! `+` lets time pass (`+12 h`, `+90 s`), so that a whole cook can be written down and
//! played through.

use std::io::BufRead;
use std::time::Duration;

use crossbeam_channel::Sender;

use super::Msg;

/// Reads lines until the input ends. Runs on a thread of its own.
pub fn listen(input: impl BufRead, to: &Sender<Msg>) {
    for line in input.split(b'\n') {
        let Ok(line) = line else { break };
        // Not every terminal speaks UTF-8; a bad byte must not end the cook.
        let line = String::from_utf8_lossy(&line);
        let line = line.trim();
        let msg = if line.is_empty() || line.starts_with('#') {
            continue;
        } else if let Some(wait) = line.strip_prefix('+') {
            match parse_wait(wait) {
                Some(wait) => Msg::Pass(wait),
                None => Msg::BadLine(line.to_owned()),
            }
        } else {
            Msg::Typed(line.to_owned())
        };
        if to.send(msg).is_err() {
            return;
        }
    }
    let _ = to.send(Msg::EarEnded);
}

/// `12 h`, `90 s`, `1 h 30 min`.
fn parse_wait(text: &str) -> Option<Duration> {
    let text = text.trim();
    let span: jiff::SignedDuration = text.parse().ok()?;
    Duration::try_from(span).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_become_messages_in_order() {
        let (to, from) = crossbeam_channel::unbounded();
        listen(
            &b"# start\n\nnext\n+12 h\n+1h 30min\n+soon\nn\xffxt"[..],
            &to,
        );
        let got: Vec<String> = from.try_iter().map(|m| format!("{m:?}")).collect();
        assert_eq!(
            got,
            [
                "Typed(\"next\")",
                "Pass(43200s)",
                "Pass(5400s)",
                "BadLine(\"+soon\")",
                "Typed(\"n\u{fffd}xt\")",
                "EarEnded"
            ]
        );
    }
}
