//! A speech model fetched from a server that breaks off, lies, or sends another file.
//! The server is small and real; the transfer is curl's, as in a kitchen.

use std::io::{BufRead, BufReader, Cursor, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::sync::{Arc, Mutex};

use hobcall::doctor::fetch::{Model, fetch};
use zip::write::{SimpleFileOptions, ZipWriter};

/// How the server of a test behaves.
#[derive(Clone, Copy, PartialEq)]
enum Manner {
    Good,
    /// Hangs up after this many bytes of each answer.
    HangsUp(usize),
    /// Sends whole files whatever part was asked for, and hangs up in the first.
    NoRanges,
    Gone,
}

struct Server {
    address: String,
    /// The first byte asked for, of each request.
    asked: Arc<Mutex<Vec<usize>>>,
}

fn serve(file: Vec<u8>, manner: Manner) -> Server {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("http://{}/model.zip", listener.local_addr().unwrap());
    let asked = Arc::new(Mutex::new(Vec::new()));
    let log = asked.clone();
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            answer(stream.unwrap(), &file, manner, &log);
        }
    });
    Server { address, asked }
}

/// One HTTP/1.1 answer (RFC 9110: Range, 206, 416).
fn answer(stream: TcpStream, file: &[u8], manner: Manner, log: &Mutex<Vec<usize>>) {
    let mut from = 0;
    let mut lines = BufReader::new(&stream).lines();
    while let Some(Ok(line)) = lines.next() {
        if line.is_empty() {
            break;
        }
        let line = line.to_lowercase();
        if let Some(range) = line.strip_prefix("range: bytes=") {
            from = range.trim_end_matches('-').parse().unwrap();
        }
    }
    let first = log.lock().unwrap().is_empty();
    log.lock().unwrap().push(from);
    let (status, from) = match manner {
        Manner::Gone => ("404 Not Found", file.len()),
        Manner::NoRanges => ("200 OK", 0),
        _ if from >= file.len() => ("416 Range Not Satisfiable", file.len()),
        _ if from > 0 => ("206 Partial Content", from),
        _ => ("200 OK", 0),
    };
    let body = &file[from..];
    let send = match manner {
        Manner::HangsUp(after) => body.len().min(after),
        Manner::NoRanges if first => body.len() / 2,
        _ => body.len(),
    };
    let mut stream = &stream;
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Length: {}\r\n{}Connection: close\r\n\r\n",
        body.len(),
        if status.starts_with("206") {
            format!(
                "Content-Range: bytes {from}-{}/{}\r\n",
                file.len() - 1,
                file.len()
            )
        } else {
            String::new()
        }
    );
    let _ = stream.write_all(head.as_bytes());
    let _ = stream.write_all(&body[..send]);
}

fn archive(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// 300 kB that no zip makes small.
fn noise() -> Vec<u8> {
    let mut x = 1_u32;
    (0..300_000)
        .map(|_| {
            x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (x >> 24) as u8
        })
        .collect()
}

fn model_zip() -> Vec<u8> {
    archive(&[
        ("small/am/final.mdl", &noise()),
        ("small/conf/mfcc.conf", b"--sample-frequency=16000\n"),
    ])
}

/// The checksum by the system's own program, which shares nothing with ours.
fn sha256sum(bytes: &[u8]) -> String {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("x");
    std::fs::write(&path, bytes).unwrap();
    let out = std::process::Command::new("sha256sum")
        .arg(&path)
        .output()
        .unwrap();
    String::from_utf8(out.stdout).unwrap()[..64].to_owned()
}

fn model(server: &Server, file: &[u8]) -> Model {
    Model {
        address: server.address.clone(),
        bytes: file.len() as u64,
        sha256: sha256sum(file),
    }
}

fn run(model: &Model, to: &Path) -> (Result<(), String>, String) {
    let mut out = Vec::new();
    let done = fetch(model, to, false, &mut out);
    (done, String::from_utf8(out).unwrap())
}

fn names(dir: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(dir)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| !n.ends_with(".lock"))
        .collect();
    names.sort();
    names
}

#[test]
fn a_line_that_breaks_again_and_again_costs_nothing_that_came() {
    let file = model_zip();
    let server = serve(file.clone(), Manner::HangsUp(70_000));
    let dir = tempfile::tempdir().unwrap();
    let to = dir.path().join("models/en");
    let (done, said) = run(&model(&server, &file), &to);
    done.unwrap_or_else(|e| panic!("{e}\n{said}"));
    assert_eq!(std::fs::read(to.join("am/final.mdl")).unwrap(), noise());
    assert!(to.join("conf/mfcc.conf").is_file());
    assert_eq!(names(&dir.path().join("models")), ["en"]);
    // Five answers of at most 70,000 bytes, each from where the last broke off.
    let asked = server.asked.lock().unwrap().clone();
    let expected: Vec<usize> = (0..).map(|n| n * 70_000).take(asked.len()).collect();
    assert_eq!(asked, expected);
    assert_eq!(asked.len(), file.len().div_ceil(70_000));
    assert!(said.contains("going on at"), "{said}");
    assert!(said.contains("100 %") || said.contains("75 %"), "{said}");
    // There already: nothing is touched.
    let (again, _) = run(&model(&server, &file), &to);
    assert!(again.unwrap_err().contains("already there"));
}

#[test]
fn what_an_earlier_run_left_is_gone_on_with() {
    let file = model_zip();
    let server = serve(file.clone(), Manner::Good);
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join(".en.zip.part"), &file[..123_456]).unwrap();
    let (done, said) = run(&model(&server, &file), &dir.path().join("en"));
    done.unwrap_or_else(|e| panic!("{e}\n{said}"));
    assert_eq!(*server.asked.lock().unwrap(), [123_456]);
}

#[test]
fn a_whole_part_is_not_fetched_again() {
    let file = model_zip();
    let server = serve(file.clone(), Manner::Good);
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join(".en.zip.part"), &file).unwrap();
    let (done, _) = run(&model(&server, &file), &dir.path().join("en"));
    done.unwrap();
    assert!(server.asked.lock().unwrap().is_empty());
}

#[test]
fn a_server_that_cannot_go_on_in_the_middle_is_asked_for_the_whole() {
    let file = model_zip();
    let server = serve(file.clone(), Manner::NoRanges);
    let dir = tempfile::tempdir().unwrap();
    let (done, said) = run(&model(&server, &file), &dir.path().join("en"));
    done.unwrap_or_else(|e| panic!("{e}\n{said}"));
    assert_eq!(
        std::fs::read(dir.path().join("en/am/final.mdl")).unwrap(),
        noise()
    );
}

#[test]
fn another_file_is_thrown_away_and_nothing_is_unpacked() {
    let file = model_zip();
    let mut other = file.clone();
    other[1_000] ^= 1;
    let server = serve(other, Manner::Good);
    let dir = tempfile::tempdir().unwrap();
    let (done, _) = run(&model(&server, &file), &dir.path().join("en"));
    let why = done.unwrap_err();
    assert!(
        why.contains("SHA-256") && why.contains("do not use it"),
        "{why}"
    );
    assert!(names(dir.path()).is_empty(), "{:?}", names(dir.path()));
}

#[test]
fn absent_servers_and_files_are_sentences() {
    let file = model_zip();
    let server = serve(file.clone(), Manner::Gone);
    let dir = tempfile::tempdir().unwrap();
    let (done, _) = run(&model(&server, &file), &dir.path().join("en"));
    let why = done.unwrap_err();
    assert!(why.contains("not there any more"), "{why}");
    // Nobody listens on a port that was given back.
    let free = TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap();
    let mut nobody = model(&server, &file);
    nobody.address = format!("http://{free}/model.zip");
    let (done, _) = run(&nobody, &dir.path().join("en"));
    let why = done.unwrap_err();
    assert!(why.contains("on the network"), "{why}");
    assert!(!dir.path().join("en").exists());
}

/// Archives with the right checksum and the wrong inside.
#[test]
fn archives_that_reach_out_or_hold_no_model_are_refused() {
    for (entries, what) in [
        (vec![("small/../../out", b"x".as_slice())], "points out"),
        (vec![("small/readme", b"x".as_slice())], "no acoustic model"),
    ] {
        let file = archive(&entries);
        let server = serve(file.clone(), Manner::Good);
        let dir = tempfile::tempdir().unwrap();
        let to = dir.path().join("models/en");
        let (done, _) = run(&model(&server, &file), &to);
        let why = done.unwrap_err();
        assert!(why.contains(what), "{why}");
        assert!(!to.exists() && !dir.path().join("out").exists());
    }
    let text = b"<html>log in to the hotel's network</html>".to_vec();
    let server = serve(text.clone(), Manner::Good);
    let dir = tempfile::tempdir().unwrap();
    let (done, _) = run(&model(&server, &text), &dir.path().join("en"));
    assert!(done.unwrap_err().contains("no usable model"));
}
