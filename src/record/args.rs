//! `hobcall record`: reads journals, makes what is asked for, writes it.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::journal::{self, Cook};
use crate::kitchen::Event;
use crate::plan::{self, Problem};

use super::correct::{self, Proposal};
use super::story::{Story, story};
use super::{export, page, sheets};

#[derive(Debug, Clone, clap::Args)]
pub struct Args {
    /// Journals of cooks; two or more are laid side by side. A cook that is still running can be read
    #[arg(required = true, value_name = "JOURNAL")]
    pub journals: Vec<PathBuf>,

    /// Write the page here (default: beside the first journal, named like it)
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,

    /// Write tables into this folder, one file a kind; with several journals into a folder for each
    #[arg(long, value_name = "FOLDER")]
    pub csv: Option<PathBuf>,

    /// Write the complete record as JSON (one journal only)
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,

    /// Propose corrections of this plan from the last journal, as a diff
    #[arg(long, value_name = "PLAN", conflicts_with_all = ["html", "csv", "json"])]
    pub correct: Option<PathBuf>,

    /// With --correct: write them into the plan, all or those of these numbers (1,3)
    #[arg(long, value_name = "NUMBERS", num_args = 0..=1, default_missing_value = "all", requires = "correct")]
    pub accept: Option<String>,
}

/// Why there is no record; each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error(transparent)]
    Journal(#[from] journal::Error),
    #[error(
        "the plan inside the journal cannot be read by this program any more:\n{0}\n\
         Use the version that wrote it; the journal itself is whole"
    )]
    OldPlan(String),
    #[error("{0}\nMend the plan, then try again")]
    BadPlan(String),
    #[error("{path}: {source}")]
    File {
        path: PathBuf,
        #[source]
        source: std::io::Error,
    },
    #[error("--json writes one cook: give one journal, or one command for each")]
    OneJson,
    #[error("--accept {0}: give the numbers of the proposals, such as 1,3; there are {1}")]
    NoSuchProposal(String, usize),
    #[error("the tables could not be written: {0}")]
    Csv(#[from] csv::Error),
    #[error("the record could not be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
    #[error("the output is closed: {0}")]
    Out(#[source] std::io::Error),
}

fn at(path: &Path) -> impl FnOnce(std::io::Error) -> Error + '_ {
    move |source| Error::File {
        path: path.to_owned(),
        source,
    }
}

fn list(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// Runs the command; what was written is told on `out`.
///
/// # Errors
/// When a journal or plan cannot be read, or a file cannot be written.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<(), Error> {
    let mut cooks = Vec::new();
    for path in &args.journals {
        let cook = journal::read::<Event>(path)?;
        let story = story(&cook).map_err(|p| Error::OldPlan(list(&p)))?;
        let name = path
            .file_name()
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        cooks.push((cook, name, story));
    }
    if let Some(plan) = &args.correct {
        let Some((_, _, story)) = cooks.last() else {
            return Ok(());
        };
        return correct(plan, story, args.accept.as_deref(), out);
    }
    write(args, cooks, out)
}

fn write(
    args: &Args,
    cooks: Vec<(Cook<Event>, String, Story)>,
    out: &mut dyn Write,
) -> Result<(), Error> {
    if args.json.is_some() && cooks.len() > 1 {
        return Err(Error::OneJson);
    }

    if let Some(path) = &args.json
        && let [(cook, _, story)] = &cooks[..]
    {
        save(path, &export::to_json(cook, story)?)?;
        told(out, path)?;
        if story.state.is_tasting() {
            let warning =
                "A tasting is open and this file holds its key: nobody who tastes may read it.";
            writeln!(out, "{warning}").map_err(Error::Out)?;
        }
    }
    if let Some(folder) = &args.csv {
        for (n, (_, _, story)) in cooks.iter().enumerate() {
            let folder = match cooks.len() {
                1 => folder.clone(),
                _ => folder.join(format!("cook-{}", n + 1)),
            };
            for (file, text) in sheets(story)? {
                save(&folder.join(file), &text)?;
            }
            told(out, &folder)?;
        }
    }
    let html = match (&args.html, &args.csv, &args.json) {
        (Some(path), ..) => Some(path.clone()),
        (None, None, None) => args.journals.first().map(|j| j.with_extension("html")),
        _ => None,
    };
    if let Some(path) = html {
        let stories: Vec<(String, Story)> = cooks
            .into_iter()
            .map(|(_, name, story)| (name, story))
            .collect();
        save(&path, &page(&stories))?;
        told(out, &path)?;
    }
    Ok(())
}

fn told(out: &mut dyn Write, path: &Path) -> Result<(), Error> {
    writeln!(out, "wrote {}", path.display()).map_err(Error::Out)
}

/// Writes beside the file and renames, so that a full disk leaves the old one whole.
fn save(path: &Path, text: &str) -> Result<(), Error> {
    if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
        fs::create_dir_all(folder).map_err(at(folder))?;
    }
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    let beside = path.with_file_name(name);
    let whole = fs::write(&beside, text).and_then(|()| {
        if let Ok(old) = fs::metadata(path) {
            fs::set_permissions(&beside, old.permissions())?;
        }
        fs::rename(&beside, path)
    });
    whole.map_err(|e| {
        // Best effort: the error that matters is the one being reported.
        let _ = fs::remove_file(&beside);
        at(path)(e)
    })
}

fn correct(
    path: &Path,
    story: &Story,
    accept: Option<&str>,
    out: &mut dyn Write,
) -> Result<(), Error> {
    let text = fs::read_to_string(path).map_err(at(path))?;
    let file = path.to_string_lossy();
    let checked = plan::read(&text, &file).map_err(|p| Error::BadPlan(list(&p)))?;
    let all = correct::propose(&checked.plan, story);
    if all.is_empty() {
        return writeln!(out, "The cook was as {file} says; nothing to correct.")
            .map_err(Error::Out);
    }
    for (n, p) in all.iter().enumerate() {
        writeln!(out, "{}. {}: update to {}?", n + 1, p.why, p.then).map_err(Error::Out)?;
    }
    let chosen = choose(&all, accept)?;
    let edited = correct::accept(&text, &file, &chosen).map_err(|p| Error::BadPlan(list(&p)))?;
    let diff = similar::TextDiff::from_lines(text.as_str(), edited.as_str());
    let diff = diff
        .unified_diff()
        .context_radius(2)
        .header(&file, &file)
        .to_string();
    writeln!(out, "\n{diff}").map_err(Error::Out)?;
    if accept.is_some() {
        save(path, &edited)?;
        writeln!(out, "wrote {file}").map_err(Error::Out)
    } else {
        let hint = "Nothing was changed. To take them: the same command with --accept, or --accept 1,3 for some.";
        writeln!(out, "{hint}").map_err(Error::Out)
    }
}

fn choose(all: &[Proposal], accept: Option<&str>) -> Result<Vec<Proposal>, Error> {
    match accept {
        None | Some("all") => Ok(all.to_vec()),
        Some(numbers) => numbers
            .split(',')
            .map(|n| {
                let ix = n
                    .trim()
                    .parse::<usize>()
                    .ok()
                    .and_then(|n| n.checked_sub(1));
                ix.and_then(|ix| all.get(ix).cloned())
                    .ok_or_else(|| Error::NoSuchProposal(numbers.to_owned(), all.len()))
            })
            .collect(),
    }
}
