//! The command line. Each command's work is in its room; here they only get their arguments.

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
    /// Print a plan as a cook would read it with its sums, or every problem in it
    Check(hobcall::check::Args),
    /// Make the record of one cook or several: a page, tables, JSON; or correct the plan from it
    Record(hobcall::record::Args),
    /// For a blind tasting: print the serving sheet, or compute how many tasters it takes
    Panel(hobcall::record::panel::Args),
    /// Hear sound files exactly as a cook is heard, a line an utterance
    Hear(hobcall::ear::hear::Args),
    /// Say what is here and what is missing: devices, recognisers, models, the voice
    Doctor(hobcall::doctor::Args),
}

fn main() -> ExitCode {
    let result = match Cli::parse().command {
        Command::Cook(args) => hobcall::cook::run(&args).map_err(|e| e.to_string()),
        Command::Check(args) => {
            hobcall::check::run(&args, &mut std::io::stdout(), &mut std::io::stderr()).map(|well| {
                if well {
                    ExitCode::SUCCESS
                } else {
                    ExitCode::FAILURE
                }
            })
        }
        Command::Record(args) => hobcall::record::run(&args, &mut std::io::stdout())
            .map(|()| ExitCode::SUCCESS)
            .map_err(|e| e.to_string()),
        Command::Panel(args) => hobcall::record::panel::run(&args, &mut std::io::stdout())
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
