//! `hobcall check`: the plan as a cook would read it, its sums, or all its problems.

use std::io::Write;
use std::path::PathBuf;

use crate::plan;
use crate::prep::scale::Bought;
use crate::prep::sums;

#[derive(Debug, clap::Args)]
pub struct Args {
    pub plan: PathBuf,
    /// For how many; amounts are scaled from the plan's `portions`
    #[arg(long, value_name = "N")]
    pub portions: Option<String>,
    /// How many pieces there really are, such as chop=8; may be given several times
    #[arg(long, value_name = "ITEM=N")]
    pub pieces: Vec<String>,
    /// What all pieces of an item really weigh, such as "shoulder=1.9 kg"
    #[arg(long, value_name = "ITEM=MASS")]
    pub mass: Vec<String>,
}

/// Prints the plan to `out`, or its problems to `err`, one a line. False with problems.
///
/// # Errors
/// The file cannot be read, or the output is closed.
pub fn run(args: &Args, out: &mut impl Write, err: &mut impl Write) -> Result<bool, String> {
    let closed = |e: std::io::Error| format!("the output is closed: {e}");
    let bytes = std::fs::read(&args.plan).map_err(|e| {
        format!(
            "{}: {e}. Give the path of a plan, for example plans/two-caramels.yaml",
            args.plan.display()
        )
    })?;
    let checked = match plan::read_bytes(&bytes, &args.plan.to_string_lossy()) {
        Ok(checked) => checked,
        Err(problems) => {
            for problem in &problems {
                writeln!(err, "{problem}").map_err(closed)?;
            }
            return Ok(false);
        }
    };
    for warning in &checked.warnings {
        writeln!(err, "{warning}").map_err(closed)?;
    }
    let plan = &checked.plan;
    let bought = match Bought::read(plan, args.portions.as_deref(), &args.pieces, &args.mass) {
        Ok(bought) => bought,
        Err(wrong) => {
            for line in wrong {
                writeln!(err, "{line}").map_err(closed)?;
            }
            return Ok(false);
        }
    };
    let real = bought.apply(plan);
    write!(out, "{}", plan::print(&real)).map_err(closed)?;
    write!(out, "{}", sums::page(&sums::sums(plan, &bought))).map_err(closed)?;
    Ok(true)
}
