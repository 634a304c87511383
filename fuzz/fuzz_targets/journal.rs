//! Any file is a journal or an error; a journal that was torn, bitten or shuffled gives
//! events that were written, in their order from the first, or is refused. Opening for
//! writing repairs what reading only reports, and then reads back the same.
//!
//! The first input byte says what is done to the file: the bytes alone, or a good
//! journal cut, overwritten or followed by them.

#![no_main]

use std::path::PathBuf;
use std::sync::OnceLock;

use hobcall::journal::{self, Cook, CookClock, Header, Journal};
use hobcall::kitchen::Event;
use libfuzzer_sys::fuzz_target;

/// A good journal, its events, and a path of this process alone.
fn good() -> &'static (Vec<u8>, Vec<Event>, PathBuf) {
    static GOOD: OnceLock<(Vec<u8>, Vec<Event>, PathBuf)> = OnceLock::new();
    GOOD.get_or_init(|| {
        let path = std::env::temp_dir().join(format!("hobcall-fuzz-{}.journal", std::process::id()));
        let _ = std::fs::remove_file(&path);
        let header = Header {
            hobcall: 1,
            plan_file: "toast.yaml".into(),
            plan: "plan: Toast\nunits: celsius\nsteps:\n  toast: {say: Toast it}\n".into(),
            zone: None,
            seed: 7,
        };
        let events: Vec<Event> = (0..5)
            .map(|n| {
                let json = format!(
                    r#"{{"at":{n},"call":{n},"heard":"note {n}","what":"noted","text":"pale {n}"}}"#
                );
                serde_json::from_str(&json).unwrap_or_else(|e| panic!("{json}: {e}"))
            })
            .collect();
        let mut journal = Journal::create(&path, &header).unwrap_or_else(|e| panic!("{e}"));
        journal
            .session(CookClock::begin().anchor())
            .and_then(|()| journal.append(&events))
            .unwrap_or_else(|e| panic!("{e}"));
        drop(journal);
        let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{e}"));
        (bytes, events, path)
    })
}

fn events(cook: &Cook<Event>) -> Vec<&Event> {
    cook.events.iter().map(|(_, e)| e).collect()
}

fuzz_target!(|bytes: &[u8]| {
    let (whole, written, path) = good();
    let Some((kind, rest)) = bytes.split_first() else {
        return;
    };
    let (at, tail) = match rest.split_first_chunk::<2>() {
        Some((n, tail)) => (usize::from(u16::from_le_bytes(*n)) % whole.len(), tail),
        None => (0, rest),
    };
    let file = match kind % 4 {
        0 => rest.to_vec(),
        1 => [&whole[..at], tail].concat(),
        2 => {
            let mut file = whole.clone();
            for (here, new) in file.iter_mut().skip(at).zip(tail) {
                *here = *new;
            }
            file
        }
        _ => [whole.as_slice(), rest].concat(),
    };
    std::fs::write(path, &file).unwrap_or_else(|e| panic!("{e}"));
    let read = journal::read::<Event>(path);
    assert_eq!(
        std::fs::read(path).ok().as_ref(),
        Some(&file),
        "reading changed it"
    );
    let Ok(read) = read else {
        assert!(
            Journal::open::<Event>(path).is_err(),
            "unreadable, yet it opens"
        );
        assert_eq!(std::fs::read(path).ok(), Some(file), "refusing changed it");
        return;
    };
    if kind % 4 != 0 {
        // A CRC is no signature: only what was not made up on purpose is compared.
        let read = events(&read);
        let both = read.len().min(written.len());
        assert!(read[..both].iter().copied().eq(&written[..both]));
    }
    let (journal, opened) = Journal::open::<Event>(path).unwrap_or_else(|e| panic!("{e}"));
    drop(journal);
    assert_eq!(events(&opened), events(&read));
    let after = journal::read::<Event>(path).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(events(&after), events(&read));
    assert!(after.torn.is_none(), "still torn after the repair");
});
