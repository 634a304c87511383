//! `hobcall check`: the plan as a cook would read it, its sums and its day, or all its problems.

use std::io::Write;
use std::path::PathBuf;

use jiff::ZonedDateTime;

use crate::plan::{self, Checked, Plan, Problem};
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
    let file = args.plan.to_string_lossy();
    let (checked, mut problems) = match plan::read_bytes_or_rest(&bytes, &file) {
        Ok(checked) => (Some(checked), None),
        Err(plan::Unsound { problems, rest }) => (rest.map(|rest| *rest), Some(problems)),
    };
    let mut wrong = Vec::new();
    let from = from(args.from.as_deref()).unwrap_or_else(|why| {
        wrong.push(why);
        ZonedDateTime::now()
    });
    // What is wrong with the day is told with all else that is wrong.
    let Some(checked) = checked else {
        return told(&problems.unwrap_or_default(), &wrong, err);
    };
    let plan = &checked.plan;
    let bought = match Bought::read(plan, args.portions.as_deref(), &args.pieces, &args.mass) {
        Ok(bought) => bought,
        // Of a plan that could not be read, its items may be what is missing.
        Err(_) if problems.is_some() => Bought::default(),
        Err(faults) => {
            wrong.extend(faults);
            Bought::default()
        }
    };
    let real = bought.apply(plan);
    let mut all = problems.take().unwrap_or_default();
    let broken = !all.is_empty() || !wrong.is_empty();
    let asked = args.serve.is_some() || args.chart.is_some() || plan.serve.is_some();
    let laid = lay(args, &checked, &real, &from).map_err(|not_laid| {
        // A plan without times to keep is good without a day: that is only a remark on it.
        if !broken || asked {
            all.extend(not_laid.problems);
            wrong.extend(not_laid.lines);
        }
    });
    all.sort_by_key(|p| (p.line, p.column));
    if broken {
        return told(&all, &wrong, err);
    }
    for warning in &checked.warnings {
        writeln!(err, "{warning}").map_err(closed)?;
    }
    write!(out, "{}", plan::print(&real)).map_err(closed)?;
    write!(out, "{}", sums::page(&sums::sums(plan, &bought))).map_err(closed)?;
    let Ok(Laid { text, svg }) = laid else {
        told(&all, &wrong, err)?;
        return Ok(!asked);
    };
    write!(out, "\n{text}").map_err(closed)?;
    if let Some(path) = &args.chart {
        std::fs::write(path, svg)
            .map_err(|e| format!("{}: {e}. Give another file", path.display()))?;
    }
    Ok(true)
}

/// Everything that is wrong, one a line; always false, for "not well".
fn told(problems: &[Problem], wrong: &[String], err: &mut impl Write) -> Result<bool, String> {
    let lines = problems.iter().map(ToString::to_string);
    for line in lines.chain(wrong.iter().cloned()) {
        writeln!(err, "{line}").map_err(|e| format!("the output is closed: {e}"))?;
    }
    Ok(false)
}

/// Why there is no day: in the plan, and in the command line, which has no lines to point at.
#[derive(Default)]
struct NotLaid {
    problems: Vec<Problem>,
    lines: Vec<String>,
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
fn lay(args: &Args, checked: &Checked, real: &Plan, now: &ZonedDateTime) -> Result<Laid, NotLaid> {
    let mut not = NotLaid::default();
    let serve = args.serve.as_ref().or(real.serve.as_ref());
    let seconds = serve.and_then(|words| match clock::serving(words, now) {
        Ok(at) => Some(clock::seconds(now, &at)),
        Err(why) => {
            not.lines.push(format!("--serve: {why}"));
            None
        }
    });
    let day = match day::lay(real, &[], seconds) {
        Ok(day) if not.lines.is_empty() => day,
        Ok(_) => return Err(not),
        Err(_) => {
            for trouble in day::troubles(real, seconds) {
                // What the command line asks for has no line in the plan.
                if let (Trouble::TooSoon(t), Some(words)) = (&trouble, &args.serve) {
                    let why = table::too_soon(real, t, now);
                    not.lines.push(format!("--serve {words}: {why}"));
                } else {
                    not.problems.extend(table::problems(checked, &trouble, now));
                }
            }
            return Err(not);
        }
    };
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

    fn of(text: &str, args: &[&str]) -> (bool, Vec<String>) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("p.yaml");
        std::fs::write(&path, text).unwrap();
        let args = Args {
            plan: path.clone(),
            portions: None,
            pieces: Vec::new(),
            mass: Vec::new(),
            serve: args.first().map(|s| (*s).to_owned()),
            from: Some("2026-11-27T08:00[Europe/Vienna]".to_owned()),
            chart: None,
        };
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let well = run(&args, &mut out, &mut err).unwrap();
        let name = format!("{}:", path.display());
        let err = String::from_utf8(err).unwrap().replace(&name, "");
        (well, err.lines().map(str::to_owned).collect())
    }

    /// One pan for two at once, a mass below nothing, a ring of two steps, a brine that its
    /// serving time leaves no room for, a rest that what comes next cannot keep, and a word
    /// that is no time: in one run, each where it stands.
    #[test]
    fn all_problems_come_in_one_run() {
        let text = "\
plan: All wrong
units: celsius
serve: 12:00
items:
  chop: {pieces: 2, mass: -1 kg, class: whole cut}
vessels:
  tub: {kind: bowl}
  pan: {kind: skillet}
steps:
  brine: {after: start, say: A., vessel: tub, hands on: 10 min, wait: 9 h .. 10 h}
  frying: {after: brine, say: B., vessel: pan, hands on: 5 min, takes: 10 min, until: {word: brown}, rest: 1 min .. 5 min}
  browning: {after: brine, say: C., vessel: pan, hands on: 5 min, until: {time: x}}
  sauce: {after: brine, say: D., hands on: 5 min, wait: 40 min}
  carving: {after: [frying, sauce], say: E., hands on: 5 min}
  chasing: {after: chased, say: F.}
  chased: {after: chasing, say: G.}
";
        let (well, lines) = of(text, &[]);
        assert!(!well);
        let has = |at: &str, words: &str| {
            assert!(
                lines.iter().any(|l| l.starts_with(at) && l.contains(words)),
                "{at} {words}\n{lines:#?}"
            );
        };
        has("3:8:", "`brine` needs 9 h 10 min and there are");
        has("5:", "-1 kg");
        has("12:", "`x`");
        has("12:", "may be in this vessel at the same time");
        has("15:20:", "in a ring");
        // Each says what to write instead.
        assert!(lines.iter().all(|l| l.contains("write")), "{lines:#?}");
        // In the order of the file.
        let at: Vec<u32> = lines
            .iter()
            .map(|l| l.split(':').next().unwrap().parse().unwrap())
            .collect();
        assert!(at.is_sorted(), "{at:?}");
    }

    #[test]
    fn a_day_that_needs_what_could_not_be_read_is_not_made_up() {
        let text = "\
plan: A brine
units: celsius
serve: 12:00
steps:
  brine: {after: start, say: A., wait: 9 hurs}
  frying: {say: B., tekes: 10 min, until: {word: brown}}
  carving: {say: C., hands on: 5 min}
";
        let (well, lines) = of(text, &[]);
        assert!(!well);
        assert_eq!(lines.len(), 2, "{lines:#?}");
        assert!(lines[0].contains("hurs") && lines[1].contains("tekes"));
    }

    /// A step of no known length, limits that contradict one another (both sides may rest five
    /// minutes, and what comes next needs the hands for twenty), and a serving time that cannot
    /// be kept either way: 20 min, two waits of 30 min, 20 min, the second 20 min.
    #[test]
    fn what_is_wrong_with_the_day_comes_in_one_run() {
        let text = "\
plan: Two sides
units: celsius
vessels:
  left pan: {kind: skillet}
  right pan: {kind: skillet}
steps:
  warming: {after: start, say: W., until: {word: warm}, vessel: left pan}
  left side: {after: warming, say: A., vessel: left pan, wait: 30 min, rest: 0 min .. 5 min, finish with: right side}
  right side: {after: warming, say: B., vessel: right pan, wait: 30 min, rest: 0 min .. 5 min}
  slicing: {after: left side, say: C., hands on: 20 min}
  carving: {after: right side, say: D., hands on: 20 min}
";
        let (well, lines) = of(text, &["8:30"]);
        assert!(!well);
        let has = |at: &str, words: &str| {
            assert!(
                lines.iter().any(|l| l.starts_with(at) && l.contains(words)),
                "{at} {words}\n{lines:#?}"
            );
        };
        has("7:", "how long `warming` takes");
        has("8:", "cannot end together");
        has("8:", "within the rest of `left side`");
        has("--serve 8:30:", "the earliest serving is 09:10");
    }
}
