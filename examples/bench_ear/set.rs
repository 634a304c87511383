//! The set: sentences of our grammar and talk, spoken by voices kept out of training.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use hobcall::grammar::{ActiveSet, Grammar};

/// One recording.
#[derive(Debug, Clone)]
pub struct Item {
    pub file: PathBuf,
    pub words: String,
    pub voice: String,
    pub talk: bool,
    pub human: bool,
}

/// Voices whose evidence fits the confidence.
pub const FIT: [&str; 2] = ["f5", "Annie"];
const BENCH: [&str; 3] = ["m7", "Max", "ked"];
/// Calls a voice.
const CALLS: usize = 40;

const PLAN: &str = "plans/pork-chops-two-brines.yaml";

/// The grammar that the set is of.
pub fn grammar() -> Result<Grammar, String> {
    let text =
        std::fs::read(PLAN).map_err(|e| format!("{PLAN}: {e}; run it in the project's folder"))?;
    let checked = hobcall::plan::read_bytes(&text, PLAN).map_err(|p| {
        p.iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("\n")
    })?;
    Grammar::for_plan("en", &checked.plan)
        .and_then(|g| g.restricted(&ActiveSet::awake()))
        .map_err(|e| e.to_string())
}

/// What is said to others in a kitchen; nothing of it is a call.
const TALK: &str = include_str!("talk.txt");

/// Numbers said in every wording, the pairs that are confused first.
const READINGS: [u32; 16] = [
    115, 150, 113, 130, 60, 16, 118, 180, 165, 248, 305, 90, 212, 145, 14, 140,
];

pub fn make(dir: &Path) -> Result<(), String> {
    std::fs::create_dir_all(dir).map_err(|e| e.to_string())?;
    let grammar = grammar()?;
    let talk: Vec<&str> = TALK.lines().filter(|l| !l.trim().is_empty()).collect();
    let mut list = String::new();
    for (v, voice) in FIT.iter().chain(&BENCH).enumerate() {
        let mut said = Vec::new();
        for (n, value) in READINGS.iter().enumerate() {
            let wordings = grammar.say_number(f64::from(*value));
            if let Some(w) = wordings.get((n + v) % wordings.len().max(1)) {
                said.push((false, format!("reading {w}")));
            }
        }
        for n in 0..CALLS {
            said.push((false, grammar.sentence((1_000 * v + n) as u64)));
        }
        for (n, line) in talk.iter().enumerate() {
            if n % (FIT.len() + BENCH.len()) == v || n % 2 == v % 2 {
                said.push((true, (*line).to_owned()));
            }
        }
        for (n, (talk, words)) in said.iter().enumerate() {
            let name = format!("{voice}-{n:03}.wav");
            speak(voice, words, n, &dir.join(&name))?;
            let kind = if *talk { "talk" } else { "calls" };
            let _ = writeln!(list, "{kind}\t{name}\t{words}\t{voice}");
        }
    }
    std::fs::write(dir.join("list.tsv"), list).map_err(|e| e.to_string())
}

/// `n` varies rate and pitch.
pub fn speak(voice: &str, words: &str, n: usize, to: &Path) -> Result<(), String> {
    let run = |command: &mut Command| {
        let ok = command.status().map_err(|e| format!("{command:?}: {e}"))?;
        if ok.success() {
            Ok(())
        } else {
            Err(format!("{command:?} failed"))
        }
    };
    if voice == "ked" {
        let text = to.with_extension("txt");
        std::fs::write(&text, words).map_err(|e| e.to_string())?;
        run(Command::new("text2wave")
            .args(["-eval", "(voice_ked_diphone)"])
            .arg(&text)
            .arg("-o")
            .arg(to))?;
        std::fs::remove_file(text).map_err(|e| e.to_string())
    } else {
        let (rate, pitch) = (130 + (n * 37) % 60, 35 + (n * 13) % 30);
        run(Command::new("espeak-ng")
            .args([
                "-v",
                &format!("en-us+{voice}"),
                "-s",
                &rate.to_string(),
                "-p",
                &pitch.to_string(),
                "-w",
            ])
            .arg(to)
            .arg(words))
    }
}

/// Reads `list.tsv` of a folder.
pub fn read(dir: &Path, human: bool) -> Result<Vec<Item>, String> {
    let path = dir.join("list.tsv");
    let text = std::fs::read_to_string(&path)
        .map_err(|e| format!("{}: {e}; make the set first", path.display()))?;
    text.lines()
        .map(|line| match line.split('\t').collect::<Vec<_>>()[..] {
            [kind, file, words, voice] => Ok(Item {
                file: dir.join(file),
                words: words.to_owned(),
                voice: voice.to_owned(),
                talk: kind == "talk",
                human,
            }),
            _ => Err(format!(
                "{}: four columns are wanted: {line}",
                path.display()
            )),
        })
        .collect()
}
