//! A model's zip file → a folder. The archive has passed its checksum; it is unpacked as
//! if it had not: no path out of the folder, no links, no bomb.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use zip::ZipArchive;

/// Bytes that a model may take when unpacked, and files in it.
const LARGEST: u64 = 500_000_000;
const FILES: usize = 1_000;

/// Unpacks `archive` into `to`, which must not exist. The one folder that the archive's
/// entries lie in becomes `to` itself.
///
/// # Errors
/// What is wrong with the archive, or the disk. `to` may be left half filled.
pub fn unpack(archive: &Path, to: &Path) -> Result<(), String> {
    let disk = |path: &Path, e: io::Error| {
        format!(
            "{}: {e}. Is the disk full, or not yours to write?",
            path.display()
        )
    };
    let bad = |why: String| format!("{} is no usable model: {why}", archive.display());
    let file = File::open(archive).map_err(|e| disk(archive, e))?;
    let mut zip = ZipArchive::new(io::BufReader::new(file)).map_err(|e| bad(e.to_string()))?;
    if zip.len() > FILES {
        return Err(bad(format!("it holds {} files", zip.len())));
    }
    fs::create_dir_all(to).map_err(|e| disk(to, e))?;
    let mut left = LARGEST;
    for n in 0..zip.len() {
        let mut entry = zip.by_index(n).map_err(|e| bad(e.to_string()))?;
        let name = entry.name().to_owned();
        if entry.is_symlink() {
            return Err(bad(format!("{name:?} is a link")));
        }
        let inside = entry
            .enclosed_name()
            .ok_or_else(|| bad(format!("{name:?} points out of the folder")))?;
        let Some(inside) = below_first(&inside) else {
            continue;
        };
        let path = to.join(inside);
        if entry.is_dir() {
            fs::create_dir_all(&path).map_err(|e| disk(&path, e))?;
            continue;
        }
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(|e| disk(folder, e))?;
        }
        // Two entries of one name would overwrite each other.
        let mut file = File::create_new(&path).map_err(|e| disk(&path, e))?;
        let copied =
            io::copy(&mut entry.by_ref().take(left + 1), &mut file).map_err(|e| disk(&path, e))?;
        left = left
            .checked_sub(copied)
            .ok_or_else(|| bad(format!("it is larger than {} MB", LARGEST / 1_000_000)))?;
        file.sync_all().map_err(|e| disk(&path, e))?;
    }
    if !to.join("am/final.mdl").is_file() {
        return Err(bad("it has no acoustic model (am/final.mdl)".into()));
    }
    Ok(())
}

/// `model/am/final.mdl` → `am/final.mdl`; nothing for the first folder itself.
fn below_first(path: &Path) -> Option<PathBuf> {
    let mut parts = path
        .components()
        .filter(|p| matches!(p, Component::Normal(_)));
    parts.next()?;
    let rest: PathBuf = parts.collect();
    (!rest.as_os_str().is_empty()).then_some(rest)
}
