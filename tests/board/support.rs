//! A stove whose state is shown, and a browser that is asked what it sees.

// The bench uses some of it, the tests the rest.
#![allow(dead_code)]

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use hobcall::board::{Feed, Picture, TalkLine, picture};
use hobcall::grammar::Grammar;
use hobcall::kitchen::{At, Input, State, decide, next_due, replies};
use hobcall::plan;
use hobcall::voice::wording::{self, WordingCtx};
use serde_json::{Value, json};

const TWO_PANS: &str = "
plan: Two pans
units: fahrenheit
items:
  chop: {also called: chops, pieces: 6, class: whole cut}
samples:
  test chop: {of: chop, mark: a pick}
vessels:
  left skillet: {kind: skillet, places: left middle right}
  right skillet: {kind: skillet, places: left middle right}
  rack: {kind: rack, places: grid 2 x 3}
steps:
  fry left:
    after: start
    say: Three chops into the left skillet, the test chop on the left, fat edges away from you.
    vessel: left skillet
    holds: [test chop at left, 2 chops at middle and right]
    flip every: 4 min
    until: {core: 145 F}
    out to: rack
  fry right:
    after: start
    say: The other three chops into the right skillet.
    vessel: right skillet
    holds:
      - 3 chops at left, middle and right
    flip every: 4 min
    until: {core: 145 F}
    out to: rack
";

/// Two pans on the fire; calls go through the real grammar and engine.
pub struct Stove {
    pub state: State,
    pub now: At,
    pub feed: Feed,
    grammar: Grammar,
    talk: VecDeque<TalkLine>,
}

impl Stove {
    pub fn frying() -> Stove {
        Stove::frying_with(0x5EED_5EED_5EED)
    }

    pub fn frying_with(seed: u64) -> Stove {
        let plan = Arc::new(
            plan::read(TWO_PANS, "two-pans.yaml")
                .expect("a good plan")
                .plan,
        );
        let mut stove = Stove {
            grammar: Grammar::for_plan("en", &plan).expect("a grammar"),
            state: State::new(plan).seeded(seed),
            now: At(0),
            feed: Feed::new(false),
            talk: VecDeque::new(),
        };
        stove.put(&Input::Begin);
        stove.says("in they go");
        stove.says("start the fry right");
        stove.says("in they go");
        stove.show();
        stove
    }

    pub fn says(&mut self, words: &str) {
        self.now = self.now.plus(2000);
        let call = self.grammar.calls(words).into_iter().next();
        self.heard(words);
        self.put(&Input::Call {
            call: call.unwrap_or_else(|| panic!("{words:?} is no call")),
            heard: words.to_owned(),
            confidence: 1.0,
        });
    }

    /// Time passes, with everything that falls due on the way.
    pub fn waits(&mut self, ms: i64) {
        let until = self.now.plus(ms);
        while let Some(due) = next_due(&self.state, self.now).filter(|d| *d <= until) {
            self.now = self.now.max(due);
            self.put(&Input::Tick);
        }
        self.now = until;
    }

    /// Words that no plan and no grammar has: they come in as heard.
    pub fn note(&mut self, words: &str) {
        self.heard(words);
    }

    fn heard(&mut self, words: &str) {
        self.feed.heard(self.now.0, words);
        self.talk.push_back(TalkLine {
            who: "cook",
            at_ms: self.now.0,
            text: words.to_owned(),
        });
    }

    fn put(&mut self, input: &Input) {
        for event in decide(&self.state, input, self.now) {
            let before = self.state.clone();
            self.state.apply(&event);
            for reply in replies(&before, &event, &self.state) {
                let ctx = WordingCtx::new(self.state.units());
                let text = wording::word(&reply, &ctx).text;
                self.feed.said(self.now.0, &text);
                self.talk.push_back(TalkLine {
                    who: "hob",
                    at_ms: self.now.0,
                    text,
                });
            }
        }
    }

    pub fn show(&self) {
        self.feed.show(&self.state, self.now);
    }

    pub fn picture(&self) -> Picture {
        picture(&self.state, self.talk.iter().cloned(), Some("asked?"))
    }
}

/// Tries again until it is so. The limit is only there so that a test ends.
pub fn until<T>(what: &str, mut so: impl FnMut() -> Option<T>) -> T {
    let began = Instant::now();
    loop {
        if let Some(found) = so() {
            return found;
        }
        assert!(
            began.elapsed() < Duration::from_secs(60),
            "{what}: not in a minute"
        );
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Headless Chromium, driven over its debugging pipe (the Chrome DevTools Protocol).
pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    number: u64,
    events: Vec<Value>,
    _profile: tempfile::TempDir,
}

impl Browser {
    pub fn open() -> Browser {
        let profile = tempfile::tempdir().expect("a folder");
        // The browser reads from file handle 3 and writes to 4.
        let line = "exec chromium --headless --no-sandbox --disable-gpu --hide-scrollbars \
                    --no-first-run --disable-dev-shm-usage --disable-extensions \
                    --remote-debugging-pipe --user-data-dir=\"$0\" about:blank \
                    3<&0 4>&1 0</dev/null 1>/dev/null 2>/dev/null";
        let mut child = Command::new("sh")
            .arg("-c")
            .arg(line)
            .arg(profile.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("sh");
        Browser {
            to: child.stdin.take().expect("a pipe"),
            from: BufReader::new(child.stdout.take().expect("a pipe")),
            child,
            number: 0,
            events: Vec::new(),
            _profile: profile,
        }
    }

    fn call(&mut self, session: Option<&str>, method: &str, params: Value) -> Value {
        self.number += 1;
        let mut message = json!({"id": self.number, "method": method, "params": params});
        if let Some(session) = session {
            message["sessionId"] = json!(session);
        }
        let missing = "chromium does not answer: scripts/setup.sh test installs it";
        self.to
            .write_all(message.to_string().as_bytes())
            .expect(missing);
        self.to.write_all(&[0]).expect(missing);
        loop {
            let mut bytes = Vec::new();
            self.from.read_until(0, &mut bytes).expect(missing);
            assert!(bytes.pop() == Some(0), "{missing}");
            let answer: Value = serde_json::from_slice(&bytes).expect("JSON");
            if answer["id"] == json!(self.number) {
                assert!(answer.get("error").is_none(), "{method}: {answer}");
                return answer["result"].clone();
            }
            self.events.push(answer);
        }
    }

    pub fn tab(&mut self, url: &str) -> Tab<'_> {
        let made = self.call(None, "Target.createTarget", json!({"url": "about:blank"}));
        let target = made["targetId"].clone();
        let attach = json!({"targetId": target, "flatten": true});
        let attached = self.call(None, "Target.attachToTarget", attach);
        let session = attached["sessionId"]
            .as_str()
            .expect("a session")
            .to_owned();
        for domain in ["Page.enable", "Runtime.enable", "Log.enable"] {
            self.call(Some(&session), domain, json!({}));
        }
        self.call(Some(&session), "Page.navigate", json!({"url": url}));
        Tab {
            browser: self,
            session,
        }
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // It may have gone by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub struct Tab<'a> {
    browser: &'a mut Browser,
    session: String,
}

impl Tab<'_> {
    fn call(&mut self, method: &str, params: Value) -> Value {
        let session = self.session.clone();
        self.browser.call(Some(&session), method, params)
    }

    /// What an expression is in the page, as text; empty where it cannot be had yet.
    pub fn text(&mut self, expression: &str) -> String {
        let wrapped = format!("String({expression})");
        let got = self.call(
            "Runtime.evaluate",
            json!({"expression": wrapped, "returnByValue": true}),
        );
        got["result"]["value"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }

    pub fn size(&mut self, width: u32, height: u32, dark: bool) {
        let metrics =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false});
        self.call("Emulation.setDeviceMetricsOverride", metrics);
        let scheme = if dark { "dark" } else { "light" };
        let feature = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.call("Emulation.setEmulatedMedia", feature);
    }

    pub fn picture(&mut self, path: &Path) {
        let got = self.call("Page.captureScreenshot", json!({"format": "png"}));
        let data = got["data"].as_str().expect("a picture");
        std::fs::write(path, base64(data)).expect("written");
    }

    /// Errors that the page or its policy raised, but for the line that was dropped on purpose.
    pub fn complaints(&mut self) -> Vec<String> {
        self.text("1");
        let all = self.browser.events.iter();
        all.filter(|e| {
            let kind = e["method"].as_str().unwrap_or_default();
            let level = e["params"]["entry"]["level"].as_str().unwrap_or_default();
            let text = e["params"]["entry"]["text"].as_str().unwrap_or_default();
            let dropped = text.contains("net::ERR_");
            kind == "Runtime.exceptionThrown"
                || (kind == "Log.entryAdded" && level == "error" && !dropped)
        })
        .map(ToString::to_string)
        .collect()
    }
}

/// RFC 4648, section 4.
fn base64(text: &str) -> Vec<u8> {
    let value = |c: u8| match c {
        b'A'..=b'Z' => Some(c - b'A'),
        b'a'..=b'z' => Some(c - b'a' + 26),
        b'0'..=b'9' => Some(c - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let mut out = Vec::new();
    let (mut bits, mut held) = (0u32, 0);
    for v in text.bytes().filter_map(value) {
        bits = (bits << 6 | u32::from(v)) & 0xff_ffff;
        held += 6;
        if held >= 8 {
            held -= 8;
            out.push((bits >> held) as u8);
        }
    }
    out
}
