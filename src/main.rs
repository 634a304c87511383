//! The command line. Each command's work is in its room; here they only get their arguments.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

#[derive(Parser)]
#[command(name = "hobcall", version, about, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Cook a plan by voice; goes on with an unfinished cook of it
    Cook(hobcall::cook::CookArgs),
    /// Print a plan as a cook would read it, or every problem in it
    Check { plan: PathBuf },
    /// Make the record of one cook or several: a page, tables, JSON; or correct the plan from it
    Record(hobcall::record::Args),
    /// Hear sound files exactly as a cook is heard, a line an utterance
    Hear(hobcall::ear::hear::Args),
    /// Say what is here and what is missing: devices, recognisers, models, the voice
    Doctor(hobcall::doctor::Args),
}

fn main() -> ExitCode {
    let result = match Cli::parse().command {
        Command::Cook(args) => hobcall::cook::run(&args).map_err(|e| e.to_string()),
        Command::Check { plan } => check(&plan),
        Command::Record(args) => hobcall::record::run(&args, &mut std::io::stdout())
            .map(|()| ExitCode::SUCCESS)
            .map_err(|e| e.to_string()),
        Command::Doctor(args) => hobcall::doctor::run(&args, &mut std::io::stdout()).map(|live| {
            if live {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            }
        }),
        Command::Hear(args) => {
            hobcall::ear::hear::run(&args, &mut std::io::stdout(), &mut std::io::stderr()).map(
                |well| {
                    if well {
                        ExitCode::SUCCESS
                    } else {
                        ExitCode::FAILURE
                    }
                },
            )
        }
    };
    match result {
        Ok(code) => code,
        Err(why) => {
            eprintln!("hobcall: {why}");
            ExitCode::FAILURE
        }
    }
}

/// Prints the plan, or its problems: one a line on the standard error, exit status 1.
fn check(path: &std::path::Path) -> Result<ExitCode, String> {
    let bytes = std::fs::read(path).map_err(|e| {
        format!(
            "{}: {e}. Give the path of a plan, for example plans/two-caramels.yaml",
            path.display()
        )
    })?;
    match hobcall::plan::read_bytes(&bytes, &path.to_string_lossy()) {
        Ok(checked) => {
            for warning in &checked.warnings {
                eprintln!("{warning}");
            }
            print!("{}", hobcall::plan::print(&checked.plan));
            Ok(ExitCode::SUCCESS)
        }
        Err(problems) => {
            for problem in &problems {
                eprintln!("{problem}");
            }
            Ok(ExitCode::FAILURE)
        }
    }
}
