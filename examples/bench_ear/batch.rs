//! PocketSphinx beside ours: the distribution's batch program (Debian's package
//! `pocketsphinx`) on the utterances that the gate of our other recognisers cuts.
//!
//! One run hears the utterances of all sounds by the grammar, one by bare phones. The program
//! offers no confidence: where the two disagree it was talk (see [`super::phones`]). Words
//! that its dictionary has not are left out, and with them their sentences. What a program
//! that hears whole files cannot tell is when it would have decided.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, PoisonError};

use hobcall::ear::{
    Alternative, EarEvent, Heard, Hypothesis, Listener, Listening, Patience, Recogniser,
};
use hobcall::grammar::{Automaton, Grammar};

use crate::engine::{Engine, Told};
use crate::phones::{self, Segment};

const MODEL: &str = "/usr/share/pocketsphinx/model/en-us";
/// Less likely to be a call than this is taken for talk.
const LEAST: f32 = 0.5;

pub struct Batch {
    dir: tempfile::TempDir,
    /// Phones of each word of the program's dictionary.
    dictionary: HashMap<String, String>,
    /// The grammar's spelling of each word that can be heard.
    spelled: HashMap<String, String>,
    grammar: Option<Grammar>,
    gate: Listener,
    cut: Arc<Mutex<Option<Vec<i16>>>>,
}

impl Batch {
    pub fn new() -> Result<Self, String> {
        let path = Path::new(MODEL).join("cmudict-en-us.dict");
        let text = std::fs::read(&path).map_err(|e| {
            format!(
                "{}: {e}; install the packages pocketsphinx and pocketsphinx-en-us \
                 (scripts/setup.sh bench)",
                path.display()
            )
        })?;
        let dictionary = String::from_utf8_lossy(&text)
            .lines()
            .filter_map(|line| line.split_once(' '))
            .map(|(word, phones)| (word.to_owned(), phones.to_owned()))
            .collect();
        let cut = Arc::new(Mutex::new(None));
        let cutter = Cutter(Vec::new(), cut.clone());
        Ok(Self {
            dir: tempfile::tempdir().map_err(|e| e.to_string())?,
            dictionary,
            spelled: HashMap::new(),
            grammar: None,
            gate: Listener::new(Box::new(cutter), Patience::default()),
            cut,
        })
    }

    /// The utterances of a sound, times from its beginning.
    fn utterances(&mut self, sound: &[i16]) -> Vec<(Heard, Vec<i16>)> {
        let began = self.gate.position();
        let mut found = Vec::new();
        let cut = self.cut.clone();
        let mut on = |event| {
            let sound = cut.lock().unwrap_or_else(PoisonError::into_inner).take();
            if let (EarEvent::Heard(mut heard), Some(sound)) = (event, sound) {
                heard.from -= began;
                heard.to -= began;
                found.push((heard, sound));
            }
        };
        self.gate.feed(sound, false, &mut on);
        self.gate.reset(&mut on);
        found
    }

    /// Writes an utterance where the batch program reads it.
    fn write(&self, name: &str, sound: &[i16]) -> Result<(), String> {
        let bytes: Vec<u8> = sound.iter().flat_map(|s| s.to_le_bytes()).collect();
        std::fs::write(self.dir.path().join(name).with_extension("raw"), bytes)
            .map_err(|e| e.to_string())
    }

    /// One run over the utterances in the list: the best path of each by its name.
    fn run(&self, how: &[&str]) -> Result<HashMap<String, Vec<Segment>>, String> {
        let at = |name: &str| -> PathBuf { self.dir.path().join(name) };
        let status = Command::new("pocketsphinx_batch")
            .args(["-samprate", "16000", "-adcin", "yes", "-cepext", ".raw"])
            .arg("-hmm")
            .arg(Path::new(MODEL).join("en-us"))
            .arg("-cepdir")
            .arg(self.dir.path())
            .arg("-ctl")
            .arg(at("list"))
            .arg("-hypseg")
            .arg(at("found"))
            .arg("-logfn")
            .arg(at("log"))
            .args(how)
            .status()
            .map_err(|e| format!("pocketsphinx_batch: {e}; install the package pocketsphinx"))?;
        if !status.success() {
            let log = std::fs::read_to_string(at("log")).unwrap_or_default();
            let why = log.lines().rev().find(|l| l.starts_with("ERROR"));
            return Err(format!("pocketsphinx_batch: {status}: {why:?}"));
        }
        let found = std::fs::read_to_string(at("found")).map_err(|e| e.to_string())?;
        Ok(found.lines().filter_map(best_path).collect())
    }

    /// What was said, by both hearings.
    fn judge(&self, mut heard: Heard, calls: &[Segment], free: &[Segment]) -> Heard {
        let said: Vec<&Segment> = calls.iter().filter(|s| !s.is_filler()).collect();
        let wanted: Vec<&str> = said
            .iter()
            .filter_map(|s| self.dictionary.get(&s.word))
            .flat_map(|phones| phones.split_whitespace())
            .collect();
        let words: Vec<&str> = said
            .iter()
            // The second way to say a word is "word(2)".
            .map(|s| s.word.split('(').next().unwrap_or(&s.word))
            .map(|word| self.spelled.get(word).map_or(word, String::as_str))
            .collect();
        let words = words.join(" ");
        if !self.grammar.as_ref().is_some_and(|g| g.accepts(&words)) {
            return heard;
        }
        let sure = phones::weigh(&wanted, calls, free).is_a_call();
        heard.alternatives = vec![Alternative {
            words: words.clone(),
            confidence: sure,
        }];
        if sure >= LEAST {
            heard.words = words;
            heard.confidence = sure;
        }
        heard
    }
}

impl Engine for Batch {
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<(), String> {
        self.gate.set_grammar(grammar.clone())?;
        let known = |word: &&String| self.dictionary.contains_key(&word.to_lowercase());
        let (known, unknown): (Vec<&String>, Vec<&String>) =
            grammar.acceptor().words().iter().partition(known);
        if !unknown.is_empty() {
            println!("pocketsphinx has no sounds for {unknown:?}");
        }
        self.spelled = known
            .into_iter()
            .map(|w| (w.to_lowercase(), w.clone()))
            .collect();
        let network = network(grammar.acceptor(), &self.spelled);
        self.grammar = Some(grammar.clone());
        std::fs::write(self.dir.path().join("calls.fsg"), network).map_err(|e| e.to_string())
    }

    fn hear(&mut self, sounds: &[Vec<i16>]) -> Result<Vec<Told>, String> {
        let mut list = String::new();
        let mut cut = Vec::new();
        for (n, sound) in sounds.iter().enumerate() {
            let mut of_sound = Vec::new();
            for (k, (heard, sound)) in self.utterances(sound).into_iter().enumerate() {
                let name = format!("{n}-{k}");
                self.write(&name, &sound)?;
                let _ = writeln!(list, "{name}");
                of_sound.push((name, heard));
            }
            cut.push(of_sound);
        }
        std::fs::write(self.dir.path().join("list"), list).map_err(|e| e.to_string())?;
        let text = |path: &Path| path.to_string_lossy().into_owned();
        let dictionary = text(&Path::new(MODEL).join("cmudict-en-us.dict"));
        let network = text(&self.dir.path().join("calls.fsg"));
        let calls = self.run(&["-dict", &dictionary, "-fsg", &network])?;
        let loop_ = text(&Path::new(MODEL).join("en-us-phone.lm.bin"));
        let free = self.run(&["-allphone", &loop_, "-allphone_ci", "yes"])?;
        let of = |all: &HashMap<String, Vec<Segment>>, name: &str| {
            all.get(name).cloned().unwrap_or_default()
        };
        Ok(cut
            .into_iter()
            .map(|of_sound| {
                of_sound
                    .into_iter()
                    .map(|(name, h)| (self.judge(h, &of(&calls, &name), &of(&free, &name)), None))
                    .collect()
            })
            .collect())
    }

    fn tells_when(&self) -> bool {
        false
    }
}

/// Hands over the sound of each utterance, and hears nothing itself.
struct Cutter(Vec<i16>, Arc<Mutex<Option<Vec<i16>>>>);

impl Recogniser for Cutter {
    fn name(&self) -> &'static str {
        "pocketsphinx_batch"
    }

    fn set_grammar(&mut self, _: &Grammar) -> Result<Vec<String>, String> {
        Ok(Vec::new())
    }

    fn start(&mut self) -> Result<(), String> {
        self.0.clear();
        Ok(())
    }

    fn feed(&mut self, samples: &[i16]) -> Result<(), String> {
        self.0.extend_from_slice(samples);
        Ok(())
    }

    fn partial(&mut self) -> Option<String> {
        None
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, String> {
        let sound = std::mem::take(&mut self.0);
        *self.1.lock().unwrap_or_else(PoisonError::into_inner) = Some(sound);
        Ok(Vec::new())
    }
}

/// A line of `-hypseg`: the name, `S`, `T`, `A` and `L` with a figure each; then for each piece
/// its first frame, two scores and the word; at last the number of frames.
fn best_path(line: &str) -> Option<(String, Vec<Segment>)> {
    let fields: Vec<&str> = line.split_whitespace().collect();
    let (name, rest) = (fields.first()?, fields.get(9..)?);
    let mut path: Vec<Segment> = Vec::new();
    let pieces = rest.chunks_exact(4);
    let frames: i32 = pieces.remainder().first()?.parse().ok()?;
    for piece in pieces {
        let from = piece[0].parse().ok()?;
        if let Some(last) = path.last_mut() {
            last.to = from - 1;
        }
        path.push(Segment {
            word: piece[3].to_owned(),
            from,
            to: frames - 1,
            score: piece[1].parse().ok()?,
        });
    }
    Some(((*name).to_owned(), path))
}

/// The grammar in the program's finite-state text format. The states are the grammar's and
/// one more, where all sentences end. Every way on from a state is as likely as the next, as
/// with JSGF alternatives without weights; weights of the grammar come on top.
fn network(graph: &Automaton, spelled: &HashMap<String, String>) -> String {
    let end = graph.states();
    let mut out = format!(
        "FSG_BEGIN calls\nN {}\nS {}\nF {end}\n",
        end + 1,
        graph.start()
    );
    for state in 0..end {
        let last = graph.is_final(state).is_some();
        let even = 1.0 / (graph.arcs(state).len() + usize::from(last)).max(1) as f64;
        for arc in graph.arcs(state) {
            let name = graph.word(arc.word).to_lowercase();
            if spelled.contains_key(&name) {
                let p = (even * f64::from(arc.weight).exp()).clamp(1e-9, 1.0);
                let _ = writeln!(out, "T {state} {} {p:e} {name}", arc.target);
            }
        }
        if last {
            let _ = writeln!(out, "T {state} {end} 1.0");
        }
    }
    out.push_str("FSG_END\n");
    out
}
