//! Hears the set and counts.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;

use hobcall::ear::Heard;
use hobcall::ear::hob::Understood;
use hobcall::grammar::{Call, Grammar};

use crate::cost;
use crate::engine::{self, Engine};
use crate::near;
use crate::set::{self, Item};
use crate::sound;
use crate::tally::{self, Tally, same};

pub struct Options {
    pub dir: PathBuf,
    pub human: Option<PathBuf>,
    pub engine: String,
    /// A line of JSON an utterance, for fitting the confidence.
    pub evidence: Option<PathBuf>,
    pub part: String,
    /// Every third call only.
    pub quick: bool,
}

/// Signal to noise, dB; none is clean.
const LEVELS: [Option<f32>; 5] = [None, Some(20.0), Some(10.0), Some(5.0), Some(0.0)];

#[derive(Default)]
struct Sums {
    by: BTreeMap<(String, usize), Tally>,
    /// Seconds from the true end of speech to the answer, with the noise it was in.
    delays: Vec<(&'static str, f64)>,
    seconds: f64,
    computed: f64,
    missed: Vec<String>,
}

impl Sums {
    fn print_delays(&self) {
        let print = |name: &str, of: &dyn Fn(&str) -> bool| {
            let all = self.delays.iter().filter(|(kind, _)| of(kind));
            let mut all: Vec<f64> = all.map(|(_, delay)| 1e3 * delay).collect();
            all.sort_by(f64::total_cmp);
            let at = |q: f64| all.get((all.len() as f64 * q) as usize).copied();
            if let (Some(median), Some(most)) = (at(0.5), at(0.95)) {
                println!(
                    "decided after the end of speech, {name}: median {median:.0} ms, 95 % {most:.0} ms, n {}",
                    all.len()
                );
            }
        };
        print("all", &|_| true);
        for name in ["clean"].iter().chain(&sound::NOISES) {
            print(name, &|kind| kind == *name);
        }
    }
}

pub fn run(options: &Options) -> Result<(), String> {
    let grammar = set::grammar()?;
    let mut ear = engine::load(&options.engine)?;
    let mut items = set::read(&options.dir, false)?;
    items.retain(|i| set::FIT.contains(&i.voice.as_str()) == (options.part == "fit"));
    let mut human = options
        .human
        .as_ref()
        .map_or(Ok(Vec::new()), |d| set::read(d, true))?;
    // Speakers are split in two as the voices are.
    human.retain(|i| {
        (i.voice.bytes().map(u32::from).sum::<u32>() % 2 == 0) == (options.part == "fit")
    });
    if options.quick {
        items = items.into_iter().step_by(3).collect();
        human = human.into_iter().step_by(3).collect();
    }
    let mut file = match &options.evidence {
        Some(path) => Some(std::fs::File::create(path).map_err(|e| e.to_string())?),
        None => None,
    };
    let mut babble = Vec::new();
    for item in items.iter().filter(|i| i.talk).step_by(4) {
        babble.push(engine::read(&item.file)?);
    }
    let mut sums = Sums::default();
    ear.set_grammar(&grammar)?;
    calls(
        &mut *ear,
        &items,
        &grammar,
        &babble,
        "synthetic",
        &mut sums,
        &mut file,
    )?;
    if !human.is_empty() {
        let words = word_list(&human)?;
        ear.set_grammar(&words)?;
        calls(
            &mut *ear,
            &human,
            &words,
            &babble,
            "human words",
            &mut sums,
            &mut file,
        )?;
        ear.set_grammar(&grammar)?;
    }
    println!(
        "{}: percent of calls right (95 % interval), at signal to noise; then what the tool does: it takes the call, asks which of two, or takes another",
        options.engine
    );
    for ((what, level), tally) in &sums.by {
        let at = LEVELS
            .get(*level)
            .copied()
            .flatten()
            .map_or("clean".to_owned(), |db| format!("{db:2} dB"));
        println!(
            "{what:22} {at:>6}  n {:4}  {}",
            tally.all(),
            tally.percent()
        );
    }
    sums.print_delays();
    println!(
        "real-time factor {:.3} over {:.0} s of sound",
        sums.computed / sums.seconds.max(1e-9),
        sums.seconds
    );
    if options.engine == "hob" {
        cost::apart(&options.dir)?;
    }
    for line in sums.missed.iter().take(60) {
        println!("  {line}");
    }
    talk(&mut *ear, &items, &human, &grammar, "talk", &mut file)?;
    if !human.is_empty() {
        let words = word_list(&human)?;
        ear.set_grammar(&words)?;
        talk(
            &mut *ear,
            &items,
            &human,
            &words,
            "talk against single words",
            &mut file,
        )?;
        ear.set_grammar(&grammar)?;
    }
    noise(&mut *ear, &babble, &grammar, options.quick, &mut file)?;
    if file.is_some() {
        near::hear(&mut *ear, &items, &babble, &mut file)?;
        near::hear(&mut *ear, &human, &babble, &mut file)?;
    }
    Ok(())
}

/// Every word of the recordings as a grammar of its own, with the numbers.
fn word_list(human: &[Item]) -> Result<Grammar, String> {
    let mut words: Vec<&str> = human
        .iter()
        .filter(|i| !i.talk)
        .map(|i| i.words.as_str())
        .collect();
    words.extend("zero one two three four five six seven eight nine yes no up down left right on off stop go next done".split(' '));
    words.sort_unstable();
    words.dedup();
    let text = format!(
        "#JSGF V1.0;\ngrammar words;\npublic <word> = {};\n",
        words.join(" | ")
    );
    Grammar::from_jsgf(&text, "words").map_err(|e| e.to_string())
}

fn calls(
    ear: &mut dyn Engine,
    items: &[Item],
    grammar: &Grammar,
    babble: &[Vec<f32>],
    what: &str,
    sums: &mut Sums,
    file: &mut Option<std::fs::File>,
) -> Result<(), String> {
    let mut sounds = Vec::new();
    let mut spots = Vec::new();
    for (n, item) in items.iter().filter(|i| !i.talk).enumerate() {
        let speech = engine::read(&item.file)?;
        let spoken = sound::end(&speech);
        let walls = sound::room(&speech, n as u64);
        for (level, snr) in LEVELS.iter().enumerate() {
            let in_room = (n + level) % 2 == 1;
            let kind = sound::NOISES[(n / 2 + level) % sound::NOISES.len()];
            let speech = if in_room { &walls } else { &speech };
            let noise = sound::noise(kind, speech.len() + 22_400, (n * 7 + level) as u64, babble);
            let mixed = sound::mix(speech, &noise, *snr);
            sums.seconds += mixed.len() as f64 / 16_000.0;
            sounds.push(mixed);
            spots.push((item, spoken, level, snr, in_room, kind));
        }
    }
    let (all, took) = engine::timed(|| ear.hear(&sounds));
    sums.computed += took.as_secs_f64();
    for (heard, (item, spoken, level, snr, in_room, kind)) in all?.into_iter().zip(spots) {
        let best = heard
            .iter()
            .filter(|(h, _)| !h.words.is_empty())
            .collect::<Vec<_>>();
        let spot = [
            what.to_owned(),
            format!("  {}", if in_room { "in a room" } else { "dry" }),
            format!("  voice {}", item.voice),
        ];
        let right = match best[..] {
            [(h, _)] => same(grammar, &h.words, &item.words),
            _ => false,
        };
        let done = tally::done(&heard, grammar, &item.words);
        let noise = snr.map(|_| format!("  {kind}"));
        let number = has_number(&item.words).then(|| "  with a number".to_owned());
        for name in spot.into_iter().chain(noise).chain(number) {
            if name.starts_with("  voice") && item.human {
                continue;
            }
            let tally = sums.by.entry((name, level)).or_default();
            tally.count(right, best.is_empty(), done);
        }
        if let [(h, _)] = best[..]
            && ear.tells_when()
        {
            // The true end of speech, from the dry recording.
            let end = 0.7 + spoken;
            let kind = snr.map_or("clean", |_| kind);
            sums.delays.push((kind, h.to + h.decided_after - end));
        }
        if !right {
            let got: Vec<&str> = heard.iter().map(|(h, _)| h.words.as_str()).collect();
            let near = heard
                .first()
                .and_then(|(h, _)| h.alternatives.first())
                .map_or("", |a| a.words.as_str());
            sums.missed.push(format!(
                "{} {kind} {snr:?} {}: {:?} as {got:?} (nearest {near:?})",
                item.voice,
                if in_room { "room" } else { "dry" },
                item.words
            ));
        }
        let place = if in_room { "room" } else { "dry" };
        let about = serde_json::json!({
            "kind": "call", "said": item.words, "voice": item.voice, "human": item.human,
            "noise": kind, "snr": snr, "place": place,
        });
        for (h, e) in &heard {
            record(file, h, e, grammar, &about)?;
        }
    }
    Ok(())
}

const NUMBERS: &str = "zero oh one two three four five six seven eight nine ten eleven twelve thirteen fourteen \
    fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred";

/// Whether a number is said: with it the call is right or wrong.
fn has_number(words: &str) -> bool {
    words
        .split(' ')
        .any(|word| NUMBERS.split_whitespace().any(|number| number == word))
}

fn nearest(h: &Heard) -> &str {
    h.alternatives.first().map_or("", |a| a.words.as_str())
}

pub fn record(
    file: &mut Option<std::fs::File>,
    heard: &Heard,
    made: &Option<Understood>,
    grammar: &Grammar,
    about: &serde_json::Value,
) -> Result<(), String> {
    let (Some(file), Some(made)) = (file, made) else {
        return Ok(());
    };
    let said = about["said"].as_str().unwrap_or_default();
    let right = |words: &str| about["kind"] == "call" && same(grammar, words, said);
    if heard.alternatives.is_empty() {
        return Ok(());
    }
    let sure: f32 = heard.alternatives.iter().map(|a| a.confidence).sum();
    let shares: Vec<f32> = heard
        .alternatives
        .iter()
        .map(|a| a.confidence / sure.max(1e-9))
        .collect();
    let compared: Vec<_> = made
        .compared
        .iter()
        .map(|c| (&c.words, c.first, c.second, right(&c.words), c.third))
        .collect();
    let line = serde_json::json!({
        "about": about, "right": right(nearest(heard)), "words": nearest(heard), "sure": sure,
        "shares": shares, "others": made.others, "figures": made.evidence.figures(), "evidence": made.evidence,
        "compared": compared,
    });
    writeln!(file, "{line}").map_err(|e| e.to_string())
}

/// Whether a call changes anything.
fn changes(call: &Call) -> bool {
    !matches!(
        call,
        Call::WhatsNext
            | Call::SayAgain
            | Call::Status
            | Call::IsItDone { .. }
            | Call::HowLong { .. }
            | Call::Timers
            | Call::WhatTime
            | Call::WhereIs { .. }
            | Call::WhatIsAt { .. }
            | Call::Map
            | Call::Help
            | Call::Louder
            | Call::Softer
            | Call::Slower
            | Call::Faster
            | Call::Quiet
            | Call::SpeakUp
            | Call::Answer { .. }
            | Call::Number { .. }
            | Call::InOrder { .. }
    )
}

struct False {
    all: u32,
    changing: u32,
    sure: u32,
    seconds: f64,
    what: Vec<String>,
}

impl False {
    fn new() -> Self {
        Self {
            all: 0,
            changing: 0,
            sure: 0,
            seconds: 0.0,
            what: Vec::new(),
        }
    }

    fn count(&mut self, heard: &Heard, grammar: &Grammar) {
        if heard.words.is_empty() {
            return;
        }
        self.all += 1;
        if grammar.calls(&heard.words).iter().any(changes) {
            self.changing += 1;
            self.sure += u32::from(heard.confidence >= 0.7);
        }
        self.what
            .push(format!("{} {:.2}", heard.words, heard.confidence));
    }

    fn print(&self, what: &str) {
        let hours = self.seconds / 3_600.0;
        println!(
            "{what}: {:.1} min, false calls an hour {:.1}, that change something {:.1}, of these at confidence 0.7 and more {:.1}",
            self.seconds / 60.0,
            f64::from(self.all) / hours,
            f64::from(self.changing) / hours,
            f64::from(self.sure) / hours
        );
        if !self.what.is_empty() {
            println!("  {}", self.what.join("; "));
        }
    }
}

fn talk(
    ear: &mut dyn Engine,
    items: &[Item],
    human: &[Item],
    grammar: &Grammar,
    what: &str,
    file: &mut Option<std::fs::File>,
) -> Result<(), String> {
    let mut sums = False::new();
    let (mut sounds, mut spots) = (Vec::new(), Vec::new());
    let talk: Vec<&Item> = items.iter().chain(human).filter(|i| i.talk).collect();
    for (n, item) in talk.iter().enumerate() {
        let speech = engine::read(&item.file)?;
        let noise = sound::noise(
            sound::NOISES[n % 4],
            speech.len() + 22_400,
            31 + n as u64,
            &[],
        );
        for snr in [None, Some(10.0)] {
            let mixed = sound::mix(&speech, &noise, snr);
            sums.seconds += mixed.len() as f64 / 16_000.0;
            sounds.push(mixed);
            spots.push(serde_json::json!({
                "kind": "talk", "said": item.words, "voice": item.voice, "snr": snr,
            }));
        }
    }
    for (heard, about) in ear.hear(&sounds)?.iter().zip(&spots) {
        for (h, e) in heard {
            sums.count(h, grammar);
            record(file, h, e, grammar, about)?;
        }
    }
    sums.print(what);
    Ok(())
}

fn noise(
    ear: &mut dyn Engine,
    babble: &[Vec<f32>],
    grammar: &Grammar,
    quick: bool,
    file: &mut Option<std::fs::File>,
) -> Result<(), String> {
    // Babble is talk that nobody can follow: counted for itself.
    let (mut sums, mut crowd) = (False::new(), False::new());
    let minutes = if quick { 1 } else { 4 };
    let (mut sounds, mut kinds) = (Vec::new(), Vec::new());
    for (k, kind) in sound::NOISES.iter().enumerate() {
        for m in 0..minutes {
            let n = 60 * 16_000;
            let noise = sound::noise(kind, n, 500 + k as u64 * 10 + m, babble);
            let level = (noise.iter().map(|v| v * v).sum::<f32>() / n as f32).sqrt();
            let gain = 0.05 * 0.4f32.powi((m % 3) as i32) / level.max(1e-9);
            let noise = noise
                .iter()
                .map(|v| (v * gain * 32_767.0).clamp(-32_768.0, 32_767.0) as i16);
            sounds.push(noise.collect());
            kinds.push(*kind);
        }
    }
    for (heard, kind) in ear.hear(&sounds)?.iter().zip(kinds) {
        let sums = if kind == "babble" {
            &mut crowd
        } else {
            &mut sums
        };
        sums.seconds += 60.0;
        let about = serde_json::json!({"kind": "noise", "noise": kind});
        for (h, e) in heard {
            sums.count(h, grammar);
            record(file, h, e, grammar, &about)?;
        }
    }
    sums.print("noise");
    crowd.print("babble of five");
    Ok(())
}
