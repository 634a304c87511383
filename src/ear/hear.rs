//! `hobcall hear`: sound files through exactly this ear, a line for each utterance.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde::Serialize;

use super::decide::{Decision, by_tags};
use super::engine::{Engine, NAMES};
use super::gate::Patience;
use super::listening::Listening;
use super::source::{FileSource, Got, Pace, Source};
use super::{Alternative, EarEvent, Heard};
use crate::grammar::{ActiveSet, Call, Grammar};
use crate::plan::{self, Pronounced};

#[derive(Debug, clap::Args)]
pub struct Args {
    /// Hear the calls of this cook plan, with its own names
    #[arg(long, value_name = "PLAN", conflicts_with = "grammar")]
    pub plan: Option<PathBuf>,
    /// Hear the sentences of any grammar in the JSpeech Grammar Format
    #[arg(long, value_name = "FILE.jsgf")]
    pub grammar: Option<PathBuf>,
    /// Which public rules of the grammar may be said: names separated by commas [all
    /// of a foreign grammar; of ours what may be said with no question open]
    #[arg(long, value_name = "RULES", value_delimiter = ',')]
    pub active: Vec<String>,
    /// One JSON object a line
    #[arg(long)]
    pub json: bool,
    /// Recogniser to use
    #[arg(long, value_name = NAMES, default_value = "auto")]
    pub engine: Engine,
    /// Language to hear [what the grammar says, else en]
    #[arg(long, value_name = "LANG")]
    pub lang: Option<String>,
    /// WAV or FLAC files of any rate, depth and channels
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
}

/// A line of output.
#[derive(Debug, Serialize)]
struct Line<'a> {
    file: &'a str,
    words: &'a str,
    /// The call made of the words; null without words or in a foreign grammar.
    call: Option<Call>,
    /// Tags of the grammar in the order in which they end.
    tags: Vec<String>,
    confidence: f32,
    /// Where two remain that cannot be told apart by ear: their words. A cook is asked which.
    asks: Vec<String>,
    from: f64,
    to: f64,
    /// Seconds from the end of speech to the decision.
    decided_after: f64,
    /// Seconds of computing for it.
    compute_s: f64,
    alternatives: &'a [Alternative],
}

/// Runs the command. True when every file could be read to its end.
///
/// # Errors
/// What is wrong with the plan, the grammar or the recogniser, or a closed output.
pub fn run(args: &Args, out: &mut dyn Write, err: &mut dyn Write) -> Result<bool, String> {
    let (grammar, said) = grammar(args)?;
    let lang = args.language(&grammar);
    let mut listener = args.engine.listen(&lang, Patience::default())?;
    listener.pronounce(&said)?;
    let unheard = listener.set_grammar(grammar.clone())?;
    if !unheard.is_empty() {
        tell(
            err,
            &format!("these words cannot be heard: {}", unheard.join(", ")),
        )?;
    }
    let mut all_well = true;
    for path in &args.files {
        let (heard, problem) = hear(&mut *listener, path);
        let name = path.display().to_string();
        for h in &heard {
            // Programs get a line a file; a cook, of a file that broke, only why.
            if !args.json && problem.is_some() && h.words.is_empty() {
                continue;
            }
            let line = line(&name, h, &grammar);
            let text = if args.json {
                serde_json::to_string(&line).map_err(|e| e.to_string())?
            } else {
                plain(&line)
            };
            tell(out, &text)?;
        }
        if let Some(why) = problem {
            all_well = false;
            tell(err, &why)?;
        }
    }
    Ok(all_well)
}

impl Args {
    fn language(&self, grammar: &Grammar) -> String {
        let said = self.lang.as_deref().or(grammar.locale()).unwrap_or("en");
        // "en-US" is English.
        said.split(['-', '_']).next().unwrap_or("en").to_lowercase()
    }
}

fn tell(to: &mut dyn Write, text: &str) -> Result<(), String> {
    writeln!(to, "{text}").map_err(|e| format!("the output is closed: {e}"))
}

/// What may be said, and how words of it are said.
fn grammar(args: &Args) -> Result<(Grammar, Vec<Pronounced>), String> {
    let mut said = Vec::new();
    let read = |path: &Path| {
        std::fs::read(path).map_err(|e| format!("{} cannot be read: {e}", path.display()))
    };
    let grammar = if let Some(path) = &args.grammar {
        let file = path.display().to_string();
        Grammar::from_bytes(&read(path)?, &file).map_err(|e| e.to_string())?
    } else {
        let lang = args.lang.as_deref().unwrap_or("en");
        let all = match &args.plan {
            Some(path) => {
                let file = path.display().to_string();
                let checked = plan::read_bytes(&read(path)?, &file).map_err(|problems| {
                    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
                    lines.join("\n")
                })?;
                said.clone_from(&checked.plan.hearing.pronounce);
                Grammar::for_plan(lang, &checked.plan)
            }
            None => Grammar::of_language(lang),
        };
        let all = all.map_err(|e| e.to_string())?;
        if args.active.is_empty() {
            all.restricted(&ActiveSet::awake())
                .map_err(|e| e.to_string())?
        } else {
            all
        }
    };
    let grammar = if args.active.is_empty() {
        grammar
    } else {
        grammar
            .restricted(&ActiveSet::rules(args.active.iter().cloned()))
            .map_err(|e| e.to_string())?
    };
    Ok((grammar, said))
}

/// All utterances of a file, at least one: where no call was heard, one without words.
/// Beside them what was wrong with the file.
fn hear(listener: &mut dyn Listening, path: &Path) -> (Vec<Heard>, Option<String>) {
    let mut source = match FileSource::open(path, Pace::Fast) {
        Ok(source) => source,
        Err(why) => return (vec![Heard::nothing(0.0, 0.0)], Some(why)),
    };
    let began = listener.position();
    let mut heard = Vec::new();
    let mut note = |e: EarEvent| {
        if let EarEvent::Heard(h) = e {
            heard.push(h);
        }
    };
    let mut samples = Vec::new();
    let problem = loop {
        samples.clear();
        match source.read(&mut samples, Duration::MAX) {
            Got::Samples => listener.feed(&samples, false, &mut note),
            Got::Nothing | Got::Back => {}
            Got::End(why) => break why,
            Got::Lost(why) => break Some(why),
        }
    };
    let problem = problem.map(|why| format!("{}: {why}", path.display()));
    listener.reset(&mut note);
    for h in &mut heard {
        h.from -= began;
        h.to -= began;
    }
    if heard.iter().all(|h| h.words.is_empty()) {
        let mut nothing = Heard::nothing(
            heard.first().map_or(0.0, |h| h.from),
            heard.last().map_or(0.0, |h| h.to),
        );
        if let Some(last) = heard.pop() {
            nothing.decided_after = last.decided_after;
            nothing.compute_s = last.compute_s + heard.iter().map(|h| h.compute_s).sum::<f64>();
            nothing.alternatives = last.alternatives;
        }
        heard = vec![nothing];
    }
    (heard, problem)
}

fn line<'a>(file: &'a str, heard: &'a Heard, grammar: &Grammar) -> Line<'a> {
    let said = !heard.words.is_empty();
    Line {
        file,
        words: &heard.words,
        call: said
            .then(|| grammar.calls(&heard.words).into_iter().next())
            .flatten(),
        tags: if said {
            grammar
                .tags(&heard.words)
                .into_iter()
                .next()
                .unwrap_or_default()
        } else {
            Vec::new()
        },
        confidence: heard.confidence,
        asks: match by_tags(heard, grammar) {
            Decision::Between(a, b) if said => vec![a.words, b.words],
            _ => Vec::new(),
        },
        from: heard.from,
        to: heard.to,
        decided_after: heard.decided_after,
        compute_s: heard.compute_s,
        alternatives: &heard.alternatives,
    }
}

fn plain(line: &Line) -> String {
    if line.words.is_empty() {
        return format!("{}: no call heard", line.file);
    }
    let meaning = match &line.call {
        Some(call) => serde_json::to_string(call).unwrap_or_default(),
        None => format!("[{}]", line.tags.join(", ")),
    };
    let asks = match &line.asks[..] {
        [a, b] => format!("; would ask: {a}, or {b}?"),
        _ => String::new(),
    };
    format!(
        "{}: {:.2} to {:.2} s: {} (sure to {:.2}, decided {:.2} s later) {meaning}{asks}",
        line.file, line.from, line.to, line.words, line.confidence, line.decided_after
    )
}
