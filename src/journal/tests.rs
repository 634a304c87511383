use std::fs;

use proptest::prelude::*;

use super::*;

fn header() -> Header {
    Header {
        hobcall: 1,
        plan_file: "toast.yaml".into(),
        plan: "title: toast\n".into(),
        zone: Some("Europe/Lisbon".into()),
        seed: 7,
    }
}

fn begun(dir: &std::path::Path, events: &[String]) -> std::path::PathBuf {
    let path = dir.join("a.journal");
    let mut journal = Journal::create(&path, &header()).expect("create");
    journal
        .session(CookClock::begin().anchor())
        .expect("session");
    journal.append(events).expect("append");
    path
}

#[test]
fn what_was_appended_is_read_back_in_order() {
    let dir = tempfile::tempdir().expect("dir");
    let path = begun(dir.path(), &["one".into(), "two\nlines".into()]);
    let cook = read::<String>(&path).expect("read");
    let events: Vec<_> = cook.events.iter().map(|(_, e)| e.as_str()).collect();
    assert_eq!(events, ["one", "two\nlines"]);
    assert_eq!((cook.header, cook.sessions.len()), (header(), 1));
    assert_eq!(cook.torn, None);
}

#[test]
fn a_second_cook_is_kept_out_and_told_what_to_do() {
    let dir = tempfile::tempdir().expect("dir");
    let path = begun(dir.path(), &[]);
    let first = Journal::open::<String>(&path).expect("open");
    let second = Journal::open::<String>(&path).expect_err("locked");
    assert!(matches!(second, Error::Locked { .. }), "{second}");
    assert!(second.to_string().contains("--new"));
    drop(first);
    Journal::open::<String>(&path).expect("free again");
}

#[test]
fn damage_in_the_middle_is_refused_with_its_line() {
    let dir = tempfile::tempdir().expect("dir");
    let path = begun(dir.path(), &["one".into(), "two".into()]);
    let text = fs::read_to_string(&path)
        .expect("text")
        .replace("\"one\"", "\"0ne\"");
    fs::write(&path, &text).expect("write");
    let error = Journal::open::<String>(&path).expect_err("damaged");
    assert!(matches!(error, Error::Damaged { line: 3, .. }), "{error}");
    assert_eq!(fs::read_to_string(&path).expect("text"), text, "untouched");
}

#[test]
fn other_files_are_not_taken_for_journals() {
    let dir = tempfile::tempdir().expect("dir");
    for text in ["", "title: toast\n", "00000000 {}\n"] {
        let path = dir.path().join("x");
        fs::write(&path, text).expect("write");
        let error = read::<String>(&path).expect_err(text);
        assert!(matches!(error, Error::NotAJournal { .. }), "{error}");
    }
}

#[test]
fn a_newer_format_is_named() {
    let dir = tempfile::tempdir().expect("dir");
    let path = dir.path().join("x");
    let newer = Header {
        hobcall: 9,
        ..header()
    };
    fs::write(&path, line::encode(&newer).expect("line")).expect("write");
    let error = read::<String>(&path).expect_err("newer");
    assert!(matches!(error, Error::Version { found: 9, .. }), "{error}");
}

#[test]
fn a_full_disk_is_an_error_and_the_events_can_be_appended_again() {
    let dir = tempfile::tempdir().expect("dir");
    let path = begun(dir.path(), &["one".into()]);
    let before = fs::read(&path).expect("bytes");
    let (mut journal, _) = Journal::open::<String>(&path).expect("open");
    // /dev/full refuses every write, as a full disk does.
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("full");
    let real = journal.swap_file(full);
    let error = journal.append(&["two".to_owned()]).expect_err("full");
    assert!(error.to_string().contains("No space left"), "{error}");
    assert_eq!(fs::read(&path).expect("bytes"), before);
    journal.swap_file(real);
    journal.append(&["two".to_owned()]).expect("room again");
    let cook = read::<String>(&path).expect("read");
    assert_eq!(cook.events.len(), 2);
}

proptest! {
    /// A plug pulled at any byte: all whole lines survive, the rest is set aside, and
    /// the cook goes on.
    #[test]
    fn a_cut_anywhere_keeps_every_whole_line(
        events in prop::collection::vec("\\PC{0,20}", 0..8),
        cut in 0.0..1.0f64,
    ) {
        let dir = tempfile::tempdir().expect("dir");
        let path = begun(dir.path(), &events);
        let bytes = fs::read(&path).expect("bytes");
        let head = bytes.iter().position(|b| *b == b'\n').expect("header") + 1;
        let keep = head + ((bytes.len() - head) as f64 * cut) as usize;
        fs::write(&path, &bytes[..keep]).expect("cut");
        let whole = bytes[..keep].iter().filter(|b| **b == b'\n').count() - 1;

        let (mut journal, cook) = Journal::open::<String>(&path).expect("open");
        prop_assert_eq!(cook.events.len() + cook.sessions.len(), whole);
        for ((_, read), wrote) in cook.events.iter().zip(&events) {
            prop_assert_eq!(read, wrote);
        }
        journal.append(&["after".to_owned()]).expect("append");
        drop(journal);
        let again = read::<String>(&path).expect("read");
        prop_assert_eq!(again.torn, None);
        prop_assert_eq!(again.events.last().map(|(_, e)| e.as_str()), Some("after"));
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read::parse::<String>(&bytes, std::path::Path::new("x"));
    }
}
