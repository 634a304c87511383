//! Where journals lie, and which of them is the unfinished cook of a plan.

use std::fs;
use std::path::{Path, PathBuf};

use crate::journal::{self, Cook};
use crate::kitchen::{Event, What};

/// `$XDG_DATA_HOME/hobcall/cooks`, else `~/.local/share/hobcall/cooks`, else `cooks` here.
pub fn folder() -> PathBuf {
    let data = std::env::var_os("XDG_DATA_HOME")
        .map(PathBuf::from)
        .filter(|p| p.is_absolute())
        .or_else(|| std::env::var_os("HOME").map(|h| PathBuf::from(h).join(".local/share")));
    data.map_or_else(|| PathBuf::from("cooks"), |d| d.join("hobcall/cooks"))
}

/// A name for a new journal that sorts by day: `2026-11-25-1804-pork-chops.journal`.
pub fn new_name(folder: &Path, plan: &Path, now: &jiff::ZonedDateTime) -> PathBuf {
    let stem = plan
        .file_stem()
        .map_or_else(|| "cook".into(), |s| s.to_string_lossy());
    let base = format!("{}-{stem}", now.strftime("%Y-%m-%d-%H%M"));
    let mut path = folder.join(format!("{base}.journal"));
    let mut again = 2;
    while path.exists() {
        path = folder.join(format!("{base}-{again}.journal"));
        again += 1;
    }
    path
}

/// The newest journal of the plan with this file name that has no end. Files that
/// cannot be read are passed over: they are reported when they are opened by name.
pub fn unfinished(folder: &Path, plan: &Path) -> Option<PathBuf> {
    let plan_file = plan.file_name()?.to_string_lossy().into_owned();
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .ok()?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "journal"))
        .collect();
    found.sort();
    found.into_iter().rev().find(|path| {
        journal::read::<Event>(path)
            .is_ok_and(|cook| cook.header.plan_file == plan_file && !ended(&cook))
    })
}

/// Whether the cook in a journal was brought to its end.
pub fn ended(cook: &Cook<Event>) -> bool {
    cook.events
        .iter()
        .any(|(_, event)| event.what == What::Ended)
}
