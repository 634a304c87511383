//! The locked, appending journal. `append` returns when the events are on the disk,
//! not before: what the cook heard acknowledged survives a pulled plug.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::line::{Entry, Header, Session, encode};
use super::read::parse;
use super::{Anchor, Cook, Error};

#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    file: File,
    next: u64,
    /// Where the next line belongs; a failed append is cut back to here.
    end: u64,
}

impl Journal {
    /// Begins a new journal; the file must not exist yet.
    pub fn create(path: &Path, header: &Header) -> Result<Self, Error> {
        let io = |e| Error::io(path, e);
        if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(io)?;
        }
        // Written under another name first: a journal is there with its header or not at all.
        let mut draft = path.as_os_str().to_owned();
        draft.push(format!(".{}.new", std::process::id()));
        let draft = PathBuf::from(draft);
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(true)
            .open(&draft)
            .map_err(io)?;
        lock(&file, path)?;
        let mut journal = Journal {
            path: path.to_owned(),
            file,
            next: 0,
            end: 0,
        };
        journal.put(&encode(header).map_err(|e| io(e.into()))?)?;
        // A link, unlike a rename, never replaces a file that is there.
        let linked = fs::hard_link(&draft, path);
        let _ = fs::remove_file(&draft);
        linked.map_err(io)?;
        // The name of a new file is only durable once its folder is.
        if let Some(folder) = path.parent() {
            let folder = if folder.as_os_str().is_empty() {
                Path::new(".")
            } else {
                folder
            };
            File::open(folder).and_then(|d| d.sync_all()).map_err(io)?;
        }
        Ok(journal)
    }

    /// Opens an existing journal to go on with it. A torn tail is copied beside the
    /// file (`NAME.torn`) and cut off; [`Cook::torn`] says so.
    pub fn open<E: DeserializeOwned>(path: &Path) -> Result<(Self, Cook<E>), Error> {
        let io = |e| Error::io(path, e);
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .open(path)
            .map_err(io)?;
        // Lock before reading: the other cook may be in the middle of a line.
        lock(&file, path)?;
        let bytes = fs::read(path).map_err(io)?;
        let cook = parse::<E>(&bytes, path)?;
        let end = match &cook.torn {
            Some(torn) => {
                let mut name = path.as_os_str().to_owned();
                name.push(".torn");
                fs::write(&name, &torn.bytes).map_err(io)?;
                file.set_len(torn.at).map_err(io)?;
                file.sync_all().map_err(io)?;
                torn.at
            }
            None => bytes.len() as u64,
        };
        let journal = Journal {
            path: path.to_owned(),
            file,
            next: cook.events.len() as u64,
            end,
        };
        Ok((journal, cook))
    }

    /// Marks a start of the program on this cook.
    pub fn session(&mut self, anchor: &Anchor) -> Result<(), Error> {
        let entry: Entry<()> = Entry::Session(Session {
            anchor: anchor.clone(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
        });
        let line = encode(&entry).map_err(|e| Error::io(&self.path, e.into()))?;
        self.put(&line)
    }

    /// Writes the events in one go and waits until they are on the disk.
    ///
    /// # Errors
    /// When the disk is full or gone. The journal is then as it was before the call,
    /// and the same events may be appended again.
    pub fn append<E: Serialize>(&mut self, events: &[E]) -> Result<(), Error> {
        if events.is_empty() {
            return Ok(());
        }
        let wall = jiff::Timestamp::now();
        let mut lines = Vec::with_capacity(events.len() * 160);
        for (n, event) in (self.next..).zip(events) {
            let line = encode(&Entry::Event { n, wall, event })
                .map_err(|e| Error::io(&self.path, e.into()))?;
            lines.extend_from_slice(&line);
        }
        self.put(&lines)?;
        self.next += events.len() as u64;
        Ok(())
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    #[cfg(test)]
    pub(super) fn swap_file(&mut self, file: File) -> File {
        std::mem::replace(&mut self.file, file)
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), Error> {
        let written = self
            .file
            .seek(SeekFrom::Start(self.end))
            .and_then(|_| self.file.write_all(bytes))
            .and_then(|()| self.file.sync_data());
        match written {
            Ok(()) => {
                self.end += bytes.len() as u64;
                Ok(())
            }
            Err(e) => {
                // Half a line must not stand before the next one. If even this fails,
                // the next open repairs it.
                let _ = self.file.set_len(self.end);
                Err(Error::io(&self.path, e))
            }
        }
    }
}

/// How often a lock is tried, [`LOCK_WAIT`] apart. Whoever ends just now, or starts another
/// program at this moment, still holds it for a few milliseconds.
const LOCK_TRIES: u32 = 10;
const LOCK_WAIT: Duration = Duration::from_millis(30);

fn lock(file: &File, path: &Path) -> Result<(), Error> {
    for _ in 1..LOCK_TRIES {
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => std::thread::sleep(LOCK_WAIT),
            Err(TryLockError::Error(e)) => return Err(Error::io(path, e)),
            Ok(()) => return Ok(()),
        }
    }
    file.try_lock().map_err(|e| match e {
        TryLockError::WouldBlock => Error::Locked {
            path: path.to_owned(),
        },
        TryLockError::Error(e) => Error::io(path, e),
    })
}
