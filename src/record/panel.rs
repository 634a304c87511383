//! `hobcall panel`: what a panel of tasters needs on paper, the serving sheet of a cook and
//! how many tasters a wish takes.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::journal;
use crate::kitchen::Event;
use crate::tasting::{ALPHA, PlanError, Tasting, Test, USUAL_POWER, how_many, power, what_can};

#[derive(Debug, Clone, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Clone, clap::Subcommand)]
pub enum Command {
    /// Print which code gets which sample, for whoever plates and nobody else
    Sheet {
        /// The cook's journal; the cook may still be running
        journal: PathBuf,
    },
    /// How many tasters notice a difference, or what so many tasters can show; computed exactly
    Size(Size),
}

#[derive(Debug, Clone, clap::Args)]
pub struct Size {
    /// triangle, duo-trio, preference or difference
    #[arg(long, default_value = "triangle", value_parser = test)]
    pub test: Test,
    /// Chance of taking guessing for a difference
    #[arg(long, default_value_t = ALPHA)]
    pub alpha: f64,
    /// Chance of missing the difference
    #[arg(long, default_value_t = 1.0 - USUAL_POWER)]
    pub beta: f64,
    /// Share of tasters who truly perceive it, 0 to 1
    #[arg(long, default_value_t = 0.5)]
    pub share: f64,
    /// What this many tasters can show, instead of how many are needed
    #[arg(long)]
    pub tasters: Option<u32>,
}

/// Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error(transparent)]
    Journal(#[from] journal::Error),
    #[error("the plan inside the journal cannot be read by this program any more: {0}")]
    OldPlan(String),
    #[error(
        "{0}: no tasting was opened in that cook; call one first, such as \
         \"triangle test with six tasters\""
    )]
    NoTasting(PathBuf),
    #[error(transparent)]
    Size(#[from] PlanError),
    #[error("the output is closed: {0}")]
    Out(#[from] std::io::Error),
}

fn test(text: &str) -> Result<Test, String> {
    match text {
        "triangle" => Ok(Test::Triangle),
        "duo-trio" => Ok(Test::DuoTrio),
        "preference" => Ok(Test::PairedPreference),
        "difference" => Ok(Test::PairedDifference),
        _ => Err("choose triangle, duo-trio, preference or difference".to_owned()),
    }
}

/// # Errors
/// What is missing, and what to do.
pub fn run(args: &Args, out: &mut impl Write) -> Result<(), Error> {
    match &args.command {
        Command::Sheet { journal } => sheet(journal, out),
        Command::Size(wish) => size(wish, out),
    }
}

fn sheet(path: &Path, out: &mut impl Write) -> Result<(), Error> {
    let cook = journal::read::<Event>(path)?;
    let told = super::replay(&cook).map_err(|problems| {
        let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
        Error::OldPlan(all.join("; "))
    })?;
    let sheet = match told.state.tasting() {
        Some(Tasting::Open(open)) => open.plater_sheet(),
        Some(Tasting::Closed(closed)) => closed.sheet(),
        None => return Err(Error::NoTasting(path.to_owned())),
    };
    Ok(write!(out, "{sheet}")?)
}

fn size(wish: &Size, out: &mut impl Write) -> Result<(), Error> {
    let (test, alpha) = (wish.test, wish.alpha);
    if let Some(n) = wish.tasters {
        let reach = what_can(test, n, alpha)?;
        match reach.critical {
            Some(needed) => {
                writeln!(out, "{needed} of {n} are needed (alpha {alpha})")?;
                let chance = power(test, n, alpha, wish.share);
                writeln!(
                    out,
                    "power {chance:.4} where a share of {} perceives it",
                    wish.share
                )?;
                if let Some(notices) = reach.notices {
                    writeln!(
                        out,
                        "noticed {USUAL_POWER} of the time from a share of {notices:.3} on"
                    )?;
                }
            }
            None => writeln!(
                out,
                "{n} tasters cannot show a difference at alpha {alpha}: all of them right is \
                 p {:.4}; it takes at least {}",
                reach.best_p, reach.fewest
            )?,
        }
        return Ok(());
    }
    let needs = how_many(test, alpha, wish.beta, wish.share)?;
    writeln!(
        out,
        "{} tasters, {} of them right (alpha {alpha}, power {:.4})",
        needs.first, needs.critical, needs.power
    )?;
    if needs.steady > needs.first {
        writeln!(
            out,
            "from {} on, every number of tasters has that power",
            needs.steady
        )?;
    }
    Ok(())
}
