//! A plan and a journal → the cook as it stands: begun, or gone on with.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::journal::{self, Anchor, CookClock, Drift, Header, Journal};
use crate::kitchen::{Event, State};
use crate::plan::{self, Plan};

use super::args::CookArgs;
use super::clock::Clock;
use super::shelf;

/// Why a cook cannot begin.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("{path}: {source}. Give the path of a plan, for example plans/two-caramels.yaml")]
    NoPlan {
        path: PathBuf,
        #[source]
        source: std::io::Error,
    },
    #[error("{0}\nMend the plan, then start again; `hobcall check` shows the same list.")]
    BadPlan(String),
    #[error("{path}: that cook has ended; begin a new one with --new or another --journal")]
    Over { path: PathBuf },
    #[error(transparent)]
    Journal(#[from] journal::Error),
}

/// A cook on the table.
pub struct Opened {
    pub plan: Arc<Plan>,
    pub state: State,
    pub journal: Journal,
    pub clock: Clock,
    /// A moment on all clocks, and the kitchen's time zone.
    pub anchor: Anchor,
    pub zone: Option<String>,
    /// How long the program was away, if it was.
    pub away_ms: Option<i64>,
    /// What the person should be told about the opening, in text.
    pub remarks: Vec<String>,
}

/// Opens the cook that `args` ask for.
///
/// # Errors
/// When the plan has problems, or the journal is locked, damaged or over.
pub fn open(args: &CookArgs) -> Result<Opened, Error> {
    let session = args.session_time || (args.ear != "mic" && args.ear != "typed" && !args.paced);
    match goes_on_with(args) {
        Some(path) => resume(&path, session),
        None => begin(args, session),
    }
}

fn goes_on_with(args: &CookArgs) -> Option<PathBuf> {
    if args.new {
        return None;
    }
    match &args.journal {
        Some(path) => path.exists().then(|| path.clone()),
        None => shelf::unfinished(&shelf::folder(), &args.plan),
    }
}

fn begin(args: &CookArgs, session: bool) -> Result<Opened, Error> {
    let text = fs::read_to_string(&args.plan).map_err(|source| Error::NoPlan {
        path: args.plan.clone(),
        source,
    })?;
    let plan = read_plan(&text, &args.plan)?;
    let path = args.journal.clone().unwrap_or_else(|| {
        shelf::new_name(&shelf::folder(), &args.plan, &jiff::ZonedDateTime::now())
    });
    let header = Header {
        hobcall: 1,
        plan_file: args
            .plan
            .file_name()
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned()),
        plan: text,
        zone: jiff::tz::TimeZone::system().iana_name().map(str::to_owned),
        seed: args.seed.unwrap_or_else(seed),
    };
    let mut journal = Journal::create(&path, &header)?;
    let clock = CookClock::begin();
    journal.session(clock.anchor())?;
    Ok(Opened {
        state: State::new(plan.clone()).seeded(header.seed),
        plan,
        journal,
        anchor: clock.anchor().clone(),
        zone: header.zone,
        clock: if session {
            Clock::session_from(0)
        } else {
            Clock::Real(clock)
        },
        away_ms: None,
        remarks: vec![format!("writing {}", path.display())],
    })
}

fn resume(path: &Path, session: bool) -> Result<Opened, Error> {
    let (mut journal, cook) = Journal::open::<Event>(path)?;
    if shelf::ended(&cook) {
        return Err(Error::Over {
            path: path.to_owned(),
        });
    }
    let mut remarks = vec![format!(
        "going on with {} ({} events)",
        path.display(),
        cook.events.len()
    )];
    if let Some(torn) = &cook.torn {
        remarks.push(format!(
            "the last line was cut short by a power cut or a crash; it had not been acknowledged. \
             Its {} bytes are kept in {}.torn",
            torn.bytes.len(),
            path.display()
        ));
    }
    // The plan as it was when the cook began: an edited file must not bend a running cook.
    let plan = read_plan(&cook.header.plan, Path::new(&cook.header.plan_file))?;
    let mut state = State::new(plan.clone()).seeded(cook.header.seed);
    for (_, event) in &cook.events {
        state.apply(event);
    }
    let last_ms = cook.events.last().map_or(0, |(_, event)| event.at.0);
    let last = cook
        .last_anchor()
        .cloned()
        .unwrap_or_else(|| Anchor::now(last_ms));
    let (clock, drift) = CookClock::resume(&last, last_ms);
    if drift == Drift::WallClockBehind {
        remarks.push(
            "this machine's clock is behind the last line of the journal: I can't tell how long \
             the program was away, so the clocks go on as if no time had passed"
                .into(),
        );
    }
    let (clock, away_ms) = if session {
        // A session's time is its own: it goes on where it stopped.
        (Clock::session_from(last_ms), 0)
    } else {
        let away = clock.now_ms() - last_ms;
        (Clock::Real(clock), away)
    };
    let anchor = Anchor::now(clock.now_ms());
    journal.session(&anchor)?;
    Ok(Opened {
        plan,
        state,
        journal,
        clock,
        anchor,
        zone: cook.header.zone,
        away_ms: Some(away_ms),
        remarks,
    })
}

fn read_plan(text: &str, file: &Path) -> Result<Arc<Plan>, Error> {
    plan::read(text, &file.to_string_lossy())
        .map(|checked| Arc::new(checked.plan))
        .map_err(|problems| {
            let list: Vec<String> = problems.iter().map(ToString::to_string).collect();
            Error::BadPlan(list.join("\n"))
        })
}

/// A seed nobody chose. The hasher's keys come from the system's randomness.
fn seed() -> u64 {
    use std::hash::{BuildHasher, Hasher};
    std::collections::hash_map::RandomState::new()
        .build_hasher()
        .finish()
}
