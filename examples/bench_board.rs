//! `make bench-board`: what the board costs the cook, and how soon it shows what happened.
//!
//! 1. From a call to its reply, in the real program, with nobody looking and with twenty.
//! 2. From an event to the page of a real browser having drawn it.

#[path = "../tests/board/support.rs"]
mod support;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use hobcall::board::Board;
use support::{Browser, Stove, until};

const CALLS: usize = 300;
const MOVES: usize = 60;
/// What the board promises: a move shows within this of its event.
const PROMISED_MS: f64 = 300.0;

fn main() {
    println!("From a call to its reply, {CALLS} calls each, milliseconds");
    println!(
        "{:>10} {:>8} {:>8} {:>8}",
        "viewers", "median", "p99", "most"
    );
    for viewers in [0, 20, 0, 20] {
        let mut times = replies(viewers);
        row(&viewers.to_string(), &mut times);
    }
    println!("\nFrom an event to the browser's page showing it, {MOVES} moves, milliseconds");
    println!("{:>10} {:>8} {:>8} {:>8}", "", "median", "p99", "most");
    let mut times = shown();
    row("", &mut times);
    let most = times.last().copied().unwrap_or(f64::INFINITY);
    match most <= PROMISED_MS {
        true => println!("reached: every move within {PROMISED_MS} ms"),
        false => println!("not reached: one took {most:.0} ms, promised are {PROMISED_MS}"),
    }
}

fn row(name: &str, times: &mut [f64]) {
    times.sort_by(f64::total_cmp);
    let at = |share: f64| {
        let last = times.len().saturating_sub(1);
        times
            .get((last as f64 * share).round() as usize)
            .copied()
            .unwrap_or(f64::NAN)
    };
    println!(
        "{name:>10} {:>8.2} {:>8.2} {:>8.2}",
        at(0.5),
        at(0.99),
        at(1.0)
    );
}

/// Typed calls to the program itself, answered on its output.
fn replies(viewers: usize) -> Vec<f64> {
    let dir = tempfile::tempdir().expect("a folder");
    let program = std::env::current_exe()
        .ok()
        .and_then(|exe| Some(exe.parent()?.parent()?.join("hobcall")))
        .expect("the program stands beside the examples");
    let mut cook = Command::new(program)
        .args([
            "cook",
            "plans/pork-chops-two-brines.yaml",
            "--new",
            "--ear",
            "typed",
        ])
        .args(["--voice", "none", "--board", "127.0.0.1:0", "--journal"])
        .arg(dir.path().join("a.journal"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("cargo build --release first");
    let mut to = cook.stdin.take().expect("a pipe");
    let mut lines = BufReader::new(cook.stdout.take().expect("a pipe")).lines();
    let mut line = || lines.next().and_then(Result::ok).expect("its output");
    let url = loop {
        if let Some((_, url)) = line().split_once("board: http://") {
            break url.trim_end_matches('/').to_owned();
        }
    };
    let seats: Vec<_> = (0..viewers)
        .map(|_| {
            let mut stream = TcpStream::connect(&url).expect("the board");
            let request = format!("GET /events HTTP/1.1\r\nHost: {url}\r\n\r\n");
            stream.write_all(request.as_bytes()).expect("sent");
            std::thread::spawn(move || {
                let mut buffer = [0; 4096];
                while stream.read(&mut buffer).is_ok_and(|n| n > 0) {}
            })
        })
        .collect();
    std::thread::sleep(Duration::from_millis(300));
    let mut times = Vec::new();
    for _ in 0..CALLS {
        let asked = Instant::now();
        writeln!(to, "where is the test chop").expect("sent");
        while !line().contains("hob  Test chop") {}
        times.push(asked.elapsed().as_secs_f64() * 1000.0);
        std::thread::sleep(Duration::from_millis(5));
    }
    drop(to);
    // The end of the input ends the program, and that the viewers.
    let _ = cook.wait();
    for seat in seats {
        let _ = seat.join();
    }
    times
}

fn now_ms() -> f64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0.0, |d| d.as_secs_f64() * 1000.0)
}

/// Turns of a pan until the page has the marked piece elsewhere, by the machine's one clock.
fn shown() -> Vec<f64> {
    let mut stove = Stove::frying();
    let address = "127.0.0.1:0".parse().expect("an address");
    let board = Board::start(address, stove.feed.clone(), None).expect("a board");
    let mut browser = Browser::open();
    let mut tab = browser.tab(board.url());
    until("the page", || {
        Some(tab.text("document.querySelectorAll('.cell.marked').length")).filter(|t| t == "1")
    });
    // The moment after which the browser has laid out the frame with the change in it.
    tab.text(
        "(() => { window.drawn = 0; new MutationObserver(() => requestAnimationFrame(() => \
         setTimeout(() => { window.drawn = performance.timeOrigin + performance.now(); }))) \
         .observe(document.querySelector('#vessels'), {childList: true}); })()",
    );
    (0..MOVES)
        .map(|_| {
            tab.text("window.drawn = 0");
            stove.says("turned the left skillet");
            let happened = now_ms();
            stove.show();
            let drawn = until("the move", || {
                tab.text("window.drawn")
                    .parse::<f64>()
                    .ok()
                    .filter(|d| *d > 0.0)
            });
            drawn - happened
        })
        .collect()
}
