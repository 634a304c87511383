//! `hobcall check`: the plan as a cook would read it, its sums and its day, or all its problems.

use std::io::Write;
use std::path::PathBuf;

use jiff::ZonedDateTime;

use crate::plan::{self, Checked, Plan};
use crate::prep::day::{self, Trouble, chart, clock, table};
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
    /// When it should be on the table, such as 19:00 or "sunday 19:00"; the plan's own `serve`
    /// if left out
    #[arg(long, value_name = "TIME")]
    pub serve: Option<String>,
    /// The earliest that you can begin, such as 2026-03-28T18:00; now if left out
    #[arg(long, value_name = "DATE-TIME")]
    pub from: Option<String>,
    /// Write the day as a chart to print and pin up
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
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
    let from = match from(args.from.as_deref()) {
        Ok(from) => from,
        Err(why) => {
            writeln!(err, "{why}").map_err(closed)?;
            return Ok(false);
        }
    };
    match lay(args, &checked, &real, &from) {
        Ok(Laid { text, svg }) => {
            write!(out, "\n{text}").map_err(closed)?;
            if let Some(path) = &args.chart {
                std::fs::write(path, svg)
                    .map_err(|e| format!("{}: {e}. Give another file", path.display()))?;
            }
            Ok(true)
        }
        Err(why) => {
            let asked = args.serve.is_some() || args.chart.is_some() || plan.serve.is_some();
            for line in why {
                writeln!(err, "{line}").map_err(closed)?;
            }
            // A plan without times to keep is good without a day.
            Ok(!asked)
        }
    }
}

struct Laid {
    text: String,
    svg: String,
}

fn from(text: Option<&str>) -> Result<ZonedDateTime, String> {
    let now = ZonedDateTime::now();
    let Some(text) = text else { return Ok(now) };
    text.parse::<ZonedDateTime>()
        .or_else(|_| {
            text.parse::<jiff::civil::DateTime>()
                .and_then(|at| at.to_zoned_datetime(now.time_zone().clone()))
        })
        .map_err(|_| format!("--from: `{text}` is no date and time; write: 2026-03-28T18:00"))
}

/// The day from `now` on, as table and chart.
fn lay(
    args: &Args,
    checked: &Checked,
    real: &Plan,
    now: &ZonedDateTime,
) -> Result<Laid, Vec<String>> {
    let serve = args.serve.as_ref().or(real.serve.as_ref());
    let seconds = match serve {
        Some(words) => Some(
            clock::serving(words, now)
                .map(|at| clock::seconds(now, &at))
                .map_err(|why| vec![format!("--serve: {why}")])?,
        ),
        None => None,
    };
    let day = day::lay(real, &[], seconds).map_err(|trouble| {
        // What the command line asks for has no line in the plan.
        if let (Trouble::TooSoon(t), Some(words)) = (&trouble, &args.serve) {
            return vec![format!(
                "--serve {words}: {}",
                table::too_soon(real, t, now)
            )];
        }
        table::problems(checked, &trouble, now)
            .iter()
            .map(ToString::to_string)
            .collect()
    })?;
    Ok(Laid {
        text: format!(
            "{}\n{}",
            table::table(real, &day, now),
            chart::terminal(real, &day, now)
        ),
        svg: chart::svg(real, &day, now),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(args: &[&str]) -> (bool, String, String) {
        #[derive(clap::Parser)]
        struct Line {
            #[command(flatten)]
            args: Args,
        }
        use clap::Parser;
        let plan = concat!(env!("CARGO_MANIFEST_DIR"), "/plans/crumbed-cutlets.yaml");
        let line = Line::parse_from(["check", plan].iter().chain(args));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let well = run(&line.args, &mut out, &mut err).unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (well, text(out), text(err))
    }

    #[test]
    fn the_sheet_has_sums_table_and_charts() {
        let folder = tempfile::tempdir().unwrap();
        let svg = folder.path().join("day.svg");
        let (well, out, err) = check(&[
            "--from",
            "2026-11-27T18:00[Europe/Vienna]",
            "--serve",
            "sunday 19:00",
            "--mass",
            "cutlet=1.56 kg",
            "--chart",
            svg.to_str().unwrap(),
        ]);
        assert!(well, "{err}");
        // Six pieces of 260 g: one percent of one of them.
        assert!(out.contains("Salt to weigh: 3 g"), "{out}");
        assert!(
            out.contains("The day, for Sunday 29 November, 19:00"),
            "{out}"
        );
        assert!(out.contains("# hands on"), "{out}");
        assert!(std::fs::read_to_string(svg).unwrap().starts_with("<svg"));
    }

    #[test]
    fn what_the_command_line_asks_too_soon_is_refused() {
        let (well, _, err) = check(&[
            "--from",
            "2026-11-27T18:00[Europe/Vienna]",
            "--serve",
            "20:00",
        ]);
        assert!(!well);
        assert!(err.starts_with("--serve 20:00: `salting` needs"), "{err}");
        let (well, _, err) = check(&[
            "--mass",
            "cutlet=-1 kg",
            "--pieces",
            "cutlet",
            "--portions",
            "x",
        ]);
        assert!(!well);
        assert_eq!(err.lines().count(), 3, "{err}");
    }
}
