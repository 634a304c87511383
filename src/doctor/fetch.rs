//! The small English model of the Vosk project: address → a checked folder that the
//! ear finds. What was fetched so far is kept, so that a broken line costs little;
//! nothing is unpacked before its SHA-256 is right, and half a model is never found.
//!
//! The transfer itself is `curl`'s, which the set-up needs anyway: it knows proxies and
//! the system's certificates, and no crate for that is needed.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use sha2::{Digest, Sha256};

use super::unpack;

/// A file to fetch and what it must be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Model {
    /// `https://…`; a test fetches by `http://` from its own machine.
    pub address: String,
    pub bytes: u64,
    /// In hexadecimal, small letters.
    pub sha256: String,
}

impl Model {
    /// `vosk-model-small-en-us-0.15`, Apache-2.0. The publisher gives no checksum. This
    /// one is the same in ten unrelated public repositories that pin the file (some with
    /// its length, which is the length below); it was not computed here from a download.
    pub fn english() -> Self {
        Self {
            address: "https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip".into(),
            bytes: 41_205_931,
            sha256: "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498".into(),
        }
    }
}

/// Tries in a row that bring nothing new before it is given up.
const FRUITLESS: u32 = 3;
/// Without a byte for this long (seconds) a try is broken off.
const STALLED: &str = "30";
/// Steps in the bar.
const BAR: u64 = 40;

/// Fetches `model` and unpacks it as `to`, going on with what an earlier run left.
/// Progress goes to `out`: one line rewritten on a `terminal`, else a line each quarter.
///
/// # Errors
/// A sentence that says what is wrong and what to do. `to` is untouched then.
pub fn fetch(model: &Model, to: &Path, terminal: bool, out: &mut dyn Write) -> Result<(), String> {
    if to.exists() {
        return Err(format!(
            "{} is already there. Move it away first if you want it fetched again",
            to.display()
        ));
    }
    let folder = to
        .parent()
        .ok_or_else(|| format!("{} lies in no folder", to.display()))?;
    let wrong = |path: &Path, e: io::Error| {
        format!(
            "{}: {e}. Is the disk full, or not yours to write?",
            path.display()
        )
    };
    fs::create_dir_all(folder).map_err(|e| wrong(folder, e))?;
    let part = beside(to, "zip.part");
    // A second doctor would append to the same file.
    let lock = File::create(beside(to, "lock")).map_err(|e| wrong(folder, e))?;
    if lock.try_lock().is_err() {
        return Err("the model is being fetched already, by another doctor".into());
    }
    download(model, &part, terminal, out)?;
    let found = sha256(&part).map_err(|e| wrong(&part, e))?;
    if found != model.sha256 {
        let _ = fs::remove_file(&part);
        return Err(format!(
            "what came from {} is not the model that is known here: its SHA-256 is {found}, \
             expected {}. It was thrown away and nothing was unpacked. Try again; if it is the \
             same again, the file was changed on its way or by its publisher: do not use it",
            model.address, model.sha256
        ));
    }
    let _ = writeln!(out, "SHA-256 is right, unpacking");
    let open = beside(to, "unpacked.part");
    let _ = fs::remove_dir_all(&open);
    unpack::unpack(&part, &open).inspect_err(|_| {
        let _ = fs::remove_dir_all(&open);
    })?;
    // Moved last, so that half a model is never found.
    fs::rename(&open, to).map_err(|e| wrong(to, e))?;
    let _ = fs::remove_file(&part);
    Ok(())
}

/// `dir/en` and "zip.part" → `dir/.en.zip.part`.
fn beside(to: &Path, end: &str) -> PathBuf {
    let name = to.file_name().unwrap_or_default().to_string_lossy();
    to.with_file_name(format!(".{name}.{end}"))
}

fn download(model: &Model, part: &Path, terminal: bool, out: &mut dyn Write) -> Result<(), String> {
    let length = || fs::metadata(part).map_or(0, |m| m.len());
    if length() > model.bytes {
        // Longer than the whole: of something else. A whole one is left to the checksum.
        let _ = fs::remove_file(part);
    }
    let mut bar = Bar::new(model.bytes, terminal);
    let mut fruitless = 0;
    while length() < model.bytes {
        let before = length();
        let _ = match before {
            0 => writeln!(out, "fetching {}", model.address),
            _ => writeln!(out, "going on at {} of {}", mega(before), mega(model.bytes)),
        };
        let outcome = transfer(model, part, &mut || bar.show(length(), out));
        bar.end(length(), out);
        let why = match outcome {
            Ok(()) if length() == model.bytes => break,
            Ok(()) => format!("{} came instead of {}", mega(length()), mega(model.bytes)),
            Err(Stop::Final(why)) => return Err(why),
            // The server sends whole files only, or the file has changed: begin again.
            Err(Stop::NoPart(why)) => {
                let _ = fs::remove_file(part);
                why
            }
            Err(Stop::Broken(why)) => why,
        };
        fruitless = if length() > before { 0 } else { fruitless + 1 };
        if fruitless == FRUITLESS {
            return Err(format!(
                "the model did not come from {}: {why}. Look whether this machine is on the \
                 network, then run this again; it goes on at {}",
                model.address,
                mega(length())
            ));
        }
        let _ = writeln!(out, "broken off ({why}), trying again");
        std::thread::sleep(Duration::from_secs(1) * fruitless);
    }
    if length() != model.bytes {
        return Err(format!(
            "{} came from {} and {} were expected; run this again",
            mega(length()),
            model.address,
            mega(model.bytes)
        ));
    }
    Ok(())
}

enum Stop {
    /// Trying again helps nothing.
    Final(String),
    /// The server does not go on in the middle.
    NoPart(String),
    Broken(String),
}

/// One run of curl, appending to `part`; `tick` is called all the while.
fn transfer(model: &Model, part: &Path, tick: &mut dyn FnMut()) -> Result<(), Stop> {
    let scheme = model.address.split(':').next().unwrap_or("https");
    let child = Command::new("curl")
        .args(["--fail", "--silent", "--show-error", "--location"])
        // Never from https to anything else.
        .args([
            "--proto",
            &format!("={scheme}"),
            "--proto-redir",
            &format!("={scheme}"),
        ])
        .args([
            "--connect-timeout",
            "20",
            "--speed-limit",
            "1",
            "--speed-time",
            STALLED,
        ])
        .args(["--max-filesize", &model.bytes.to_string()])
        .args(["--continue-at", "-", "--output"])
        .arg(part)
        .arg(&model.address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn();
    let mut child = match child {
        Ok(child) => Reaped(child),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            return Err(Stop::Final(
                "the program curl is not installed; install it (apt-get install curl), then run \
                 this again"
                    .into(),
            ));
        }
        Err(e) => return Err(Stop::Final(format!("curl does not start: {e}"))),
    };
    let status = loop {
        tick();
        match child.0.try_wait() {
            Ok(Some(status)) => break status,
            Ok(None) => std::thread::sleep(Duration::from_millis(100)),
            Err(e) => return Err(Stop::Final(format!("curl was lost: {e}"))),
        }
    };
    if status.success() {
        return Ok(());
    }
    let mut said = String::new();
    if let Some(stderr) = &mut child.0.stderr {
        // One line, by --silent --show-error.
        let _ = stderr.take(2_000).read_to_string(&mut said);
    }
    let said = said.trim().trim_start_matches("curl: ").to_owned();
    // Exit codes: curl(1). 33: no ranges; 36: bad resume; 22: the server refused, which
    // for a range it cannot serve (416) is the same; 23: not written; 63: too large.
    Err(match status.code() {
        Some(33 | 36) => Stop::NoPart(said),
        Some(22) if said.contains("416") => Stop::NoPart(said),
        Some(22) if said.contains(" 404") || said.contains(" 410") => Stop::Final(format!(
            "{} is not there any more ({said}). Look for a newer hobcall",
            model.address
        )),
        Some(23) => Stop::Final(format!("{said}. Is the disk full?")),
        Some(63) => Stop::Final(format!(
            "the file at {} is larger than the {} that are known here; nothing was kept",
            model.address,
            mega(model.bytes)
        )),
        _ => Stop::Broken(said),
    })
}

/// Ends the child when it is dropped: no transfer outlives us.
struct Reaped(Child);

impl Drop for Reaped {
    fn drop(&mut self) {
        if !matches!(self.0.try_wait(), Ok(Some(_))) {
            let _ = self.0.kill();
            let _ = self.0.wait();
        }
    }
}

fn sha256(path: &Path) -> io::Result<String> {
    let mut file = File::open(path)?;
    let mut sum = Sha256::new();
    let mut block = vec![0; 1 << 16];
    loop {
        let n = file.read(&mut block)?;
        if n == 0 {
            break;
        }
        sum.update(block.get(..n).unwrap_or_default());
    }
    Ok(sum.finalize().iter().map(|b| format!("{b:02x}")).collect())
}

fn mega(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

struct Bar {
    of: u64,
    terminal: bool,
    shown: Option<u64>,
    last: Instant,
}

impl Bar {
    fn new(of: u64, terminal: bool) -> Self {
        Self {
            of: of.max(1),
            terminal,
            shown: None,
            last: Instant::now(),
        }
    }

    fn show(&mut self, got: u64, out: &mut dyn Write) {
        let step = if self.terminal { BAR } else { 4 };
        let reached = got.min(self.of) * step / self.of;
        let due = self.terminal && self.last.elapsed() >= Duration::from_millis(500);
        if self.shown == Some(reached) && !due {
            return;
        }
        self.shown = Some(reached);
        if !self.terminal && reached == 0 {
            return;
        }
        self.last = Instant::now();
        let percent = got.min(self.of) * 100 / self.of;
        let _ = if self.terminal {
            let full = "#".repeat(reached as usize);
            write!(
                out,
                "\r[{full:<width$}] {percent:>3} %  {} of {} ",
                mega(got),
                mega(self.of),
                width = BAR as usize
            )
        } else {
            writeln!(out, "{percent} %, {} of {}", mega(got), mega(self.of))
        };
        let _ = out.flush();
    }

    fn end(&mut self, got: u64, out: &mut dyn Write) {
        if self.terminal {
            self.shown = None;
            self.show(got, out);
            let _ = writeln!(out);
        }
    }
}
