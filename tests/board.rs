//! The board as others get it: over HTTP, and in headless Chromium.
//!
//! Outside checks: contrast by the formula of WCAG 2.2 (W3C Recommendation, "relative
//! luminance" and "contrast ratio", success criteria 1.4.3 and 1.4.11); the page against
//! html5ever, the parser of the HTML standard; the page's behaviour in Chromium.

mod board_support;
mod html_faults;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use board_support::{Browser, Stove, until};
use hobcall::board::{Board, Feed, PAGE, picture};

fn loopback() -> SocketAddr {
    "127.0.0.1:0".parse().expect("an address")
}

/// One request; the status and the body.
fn ask(address: SocketAddr, request: &str) -> (u16, String) {
    let mut stream = TcpStream::connect(address).expect("it listens");
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("a timeout");
    stream.write_all(request.as_bytes()).expect("sent");
    let mut answer = String::new();
    stream
        .read_to_string(&mut answer)
        .expect("answered and closed");
    let status = answer.split(' ').nth(1).and_then(|s| s.parse().ok());
    let body = answer.split_once("\r\n\r\n").map(|(_, b)| b.to_owned());
    (status.expect("a status"), body.expect("a body"))
}

fn get(address: SocketAddr, path: &str, more: &str) -> (u16, String) {
    let host = format!("127.0.0.1:{}", address.port());
    ask(
        address,
        &format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{more}\r\n"),
    )
}

#[test]
fn whoever_should_not_look_gets_nothing() {
    let stove = Stove::frying();
    let board = Board::start(loopback(), stove.feed.clone(), None).expect("a board");
    let at = board.address();
    let nothing = (404, String::new());
    let (status, page) = get(at, "/", "");
    assert_eq!(status, 200);
    assert!(page.contains("<title>Hobcall board</title>"));

    // Other paths, other methods, and what a page of another origin would send.
    for path in [
        "/x",
        "/events/",
        "//",
        "/../events",
        "/page.html",
        "/?a=1",
        "/events?x",
        "/%65vents",
    ] {
        assert_eq!(get(at, path, ""), nothing, "{path}");
    }
    let host = format!("Host: 127.0.0.1:{}\r\nConnection: close\r\n", at.port());
    for method in ["POST", "PUT", "DELETE", "OPTIONS", "PATCH"] {
        let request = format!("{method} / HTTP/1.1\r\n{host}Content-Length: 0\r\n\r\n");
        assert_eq!(ask(at, &request), nothing, "{method}");
    }
    let own = format!("Origin: http://127.0.0.1:{}\r\n", at.port());
    assert_eq!(get(at, "/", &own).0, 200, "its own origin");
    for foreign in [
        "Origin: http://example.com\r\n",
        "Origin: null\r\n",
        "Origin: https://127.0.0.1\r\n",
        "Sec-Fetch-Site: cross-site\r\n",
        "Sec-Fetch-Site: same-site\r\n",
    ] {
        assert_eq!(get(at, "/", foreign), nothing, "{foreign}");
        assert_eq!(get(at, "/events", foreign), nothing, "{foreign}");
    }
    // A name of somebody else's that leads here.
    for host in [
        "example.com",
        "localhost.example.com",
        "192.168.1.9",
        "kitchen.local",
    ] {
        let port = at.port();
        let request = format!("GET / HTTP/1.1\r\nHost: {host}:{port}\r\nConnection: close\r\n\r\n");
        assert_eq!(ask(at, &request), nothing, "{host}");
    }
    let request = format!(
        "GET / HTTP/1.1\r\nHost: localhost:{}\r\nConnection: close\r\n\r\n",
        at.port()
    );
    assert_eq!(ask(at, &request).0, 200, "localhost");
}

#[test]
fn on_a_network_address_the_token_is_the_key() {
    let stove = Stove::frying();
    let all: SocketAddr = "0.0.0.0:0".parse().expect("an address");
    let board = Board::start(all, stove.feed.clone(), None).expect("a board");
    let other = Board::start(all, stove.feed.clone(), None).expect("another");
    let at = SocketAddr::from(([127, 0, 0, 1], board.address().port()));
    let token = |board: &Board| board.url().rsplit('/').nth(1).expect("a token").to_owned();
    let (mine, others) = (token(&board), token(&other));
    assert_eq!(mine.len(), 32, "128 bits: {mine}");
    assert_ne!(mine, others, "drawn anew each time");
    let nothing = (404, String::new());
    assert_eq!(get(at, &format!("/{mine}/"), "").0, 200);
    let short = &mine[..31];
    for path in [
        "/".to_owned(),
        "/events".to_owned(),
        format!("/{mine}"),
        format!("/{short}/"),
        format!("/{short}g/"),
        format!("/{others}/"),
        format!("/{others}/events"),
        format!("/{mine}/x"),
    ] {
        assert_eq!(get(at, &path, ""), nothing, "{path}");
    }
    assert!(
        Board::start(board.address(), stove.feed.clone(), None)
            .is_err_and(|e| { e.to_string().contains("give another address") })
    );
}

/// Reads a stream of server-sent events.
struct Events(BufReader<TcpStream>);

impl Events {
    fn open(address: SocketAddr) -> Events {
        let mut stream = TcpStream::connect(address).expect("it listens");
        stream
            .set_read_timeout(Some(Duration::from_secs(20)))
            .expect("a timeout");
        let request = format!(
            "GET /events HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n",
            address.port()
        );
        stream.write_all(request.as_bytes()).expect("sent");
        Events(BufReader::new(stream))
    }

    /// The data of the next event of this name.
    fn next(&mut self, name: &str) -> serde_json::Value {
        let wanted = format!("event: {name}");
        let mut here = false;
        loop {
            let mut line = String::new();
            assert_ne!(
                self.0.read_line(&mut line).expect("an event in time"),
                0,
                "it ended"
            );
            let line = line.trim_end();
            if line.starts_with("event: ") {
                here = line == wanted;
            } else if let (true, Some(data)) = (here, line.strip_prefix("data: ")) {
                return serde_json::from_str(data).expect("JSON");
            }
        }
    }
}

#[test]
fn a_viewer_gets_the_whole_picture_and_a_slow_one_holds_nobody_up() {
    let mut stove = Stove::frying();
    let board = Board::start(loopback(), stove.feed.clone(), None).expect("a board");
    let mut viewer = Events::open(board.address());
    let first = viewer.next("picture");
    assert_eq!(first["picture"]["title"], "Two pans");
    assert_eq!(first["runs"], false, "a session's time stands still");
    assert_eq!(first["picture"]["steps"][0]["name"], "fry right");
    assert_eq!(viewer.next("ear")["speaking"], false);
    stove.feed.speaking(true);
    assert_eq!(viewer.next("ear")["speaking"], true);

    // Twenty who never read, and more news than any buffer on the way holds.
    let asleep: Vec<Events> = (0..20).map(|_| Events::open(board.address())).collect();
    for n in 0..3000 {
        stove.note(&format!("note {n} {}", "x".repeat(2000)));
        stove.show();
    }
    stove.says("turned the left skillet");
    stove.show();
    let mut last = viewer.next("picture");
    while last["picture"]["talk"][11]["text"] != "Now test chop: left skillet, at the right." {
        last = viewer.next("picture");
    }
    let cells = &last["picture"]["vessels"][0]["cells"];
    assert_eq!(cells[2]["text"], "test chop");
    assert_eq!(cells[2]["marked"], true);
    drop(asleep);
}

#[test]
fn while_a_tasting_is_open_nothing_shows_which_is_which() {
    let shown = |seed: u64| {
        let mut stove = Stove::frying_with(seed);
        stove.says("triangle test with three tasters");
        stove.says("serving sheet");
        stove.says("yes");
        let Some(hobcall::tasting::Tasting::Open(open)) = stove.state.tasting() else {
            panic!("it is open")
        };
        (stove.picture(), open.plater_sheet())
    };
    let (one, key) = shown(1);
    assert!(one.blind);
    assert!(one.vessels.is_empty() && one.talk.is_empty() && one.question.is_none());
    assert!(!picture(&Stove::frying().state, std::iter::empty(), None).blind);
    // Whatever the key is, the picture is the same: it tells nothing of it.
    for seed in 2..40 {
        let (other, other_key) = shown(seed);
        assert_ne!(key, other_key, "another seed, another key");
        assert_eq!(one, other);
    }
}

#[test]
fn the_page_is_html() {
    let faults: Vec<String> = html_faults::faults(PAGE)
        .into_iter()
        // Its own script, and an empty icon so that none is asked for.
        .filter(|f| {
            f != "the element script" && f != "the element link" && f != "the attribute href"
        })
        .collect();
    assert_eq!(faults, Vec::<String>::new());
    assert_eq!(PAGE.matches("<script").count(), 1);
    for elsewhere in [
        "http:",
        "https:",
        "innerHTML",
        "insertAdjacent",
        "document.write",
        "eval(",
    ] {
        assert!(!PAGE.contains(elsewhere), "{elsewhere}");
    }
}

/// Relative luminance of `#rrggbb`, WCAG 2.2.
fn luminance(colour: &str) -> f64 {
    let part = |i: usize| {
        let value = u8::from_str_radix(&colour[i..i + 2], 16).expect("two hex digits");
        let c = f64::from(value) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}

fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn every_pair_of_colours_can_be_read() {
    // Worked values: black on white is 21:1 by the definition; #767676 is known as the
    // lightest grey that passes 4.5:1 on white (common practice).
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    assert!(contrast("#767676", "#ffffff") >= 4.5 && contrast("#777777", "#ffffff") < 4.5);

    let style = PAGE.split("</style>").next().expect("a style");
    let schemes: Vec<std::collections::BTreeMap<String, String>> = style
        .split(":root{")
        .skip(1)
        .map(|block| {
            let block = block.split('}').next().expect("its end");
            block
                .split(';')
                .filter_map(|line| line.trim().strip_prefix("--")?.split_once(':'))
                .map(|(name, value)| (name.to_owned(), value.to_owned()))
                .collect()
        })
        .collect();
    assert_eq!(schemes.len(), 2, "light and dark");
    for colours in &schemes {
        let on = |text: &str, ground: &str, least: f64| {
            let ratio = contrast(&colours[text], &colours[ground]);
            assert!(ratio >= least, "{text} on {ground}: {ratio:.2}");
        };
        // 1.4.3: text 4.5:1. 1.4.11: frames that mean something 3:1.
        for ground in ["paper", "card", "alarm", "mark"] {
            on(&format!("on-{ground}"), ground, 4.5);
        }
        on("soft", "paper", 4.5);
        on("line", "paper", 3.0);
        on("line", "card", 3.0);
        on("alarm", "paper", 3.0);
    }
    // No colour stands anywhere else, so there is no other pair.
    let rules = style.rsplit("\n}}\n").next().expect("the rules");
    assert!(
        !rules.contains('#') || !rules.contains("color:#"),
        "a colour of its own"
    );
    for rule in rules.split('}') {
        let text = rule
            .split("color:var(--")
            .nth(1)
            .and_then(|r| r.split(')').next());
        let ground = rule
            .split("background:var(--")
            .nth(1)
            .and_then(|r| r.split(')').next());
        if let (Some(text), Some(ground)) = (text, ground) {
            assert_eq!(text, format!("on-{ground}"), "{rule}");
        }
    }
}

#[test]
fn in_the_browser_clocks_tick_moves_show_and_a_dropped_line_comes_back() {
    let mut stove = Stove::frying();
    stove.says("timer four minutes");
    stove.show();
    let began = Instant::now();
    let base = stove.now.0;
    let now: hobcall::board::Now =
        Arc::new(move || base + i64::try_from(began.elapsed().as_millis()).unwrap_or(0));
    let board = Board::start(loopback(), stove.feed.clone(), Some(now.clone())).expect("a board");
    let address = board.address();
    let mut browser = Browser::open();
    let mut tab = browser.tab(board.url());
    let timer = "[...document.querySelectorAll('.clock')].find(c => c.ariaLabel.includes('four minute'))\
                 ?.querySelector('.left').textContent ?? ''";
    let first = until("a clock", || {
        Some(tab.text(timer)).filter(|t| t.starts_with("3:"))
    });
    until("a tick", || {
        Some(tab.text(timer)).filter(|t| t.starts_with("3:") && *t != first)
    });
    assert_eq!(
        tab.text("document.querySelector('.step h3').textContent"),
        "fry right"
    );

    // A move shows, with the piece at its place and the side that is down.
    stove.says("left skillet flipped");
    stove.says("turned the left skillet");
    stove.show();
    let marked = "document.querySelector('.cell.marked').ariaLabel";
    until("the move", || {
        Some(tab.text(marked)).filter(|t| t == "right, test chop, marked, second side down")
    });
    assert_eq!(
        tab.text("document.querySelectorAll('.cell.marked').length"),
        "1"
    );

    // Markup from the kitchen is text here.
    stove.note("<img src=x onerror=\"document.title='owned'\"><b>bold</b>");
    stove.show();
    until("the note", || {
        Some(tab.text("document.querySelector('#talk').textContent"))
            .filter(|t| t.contains("<b>bold</b>"))
    });
    assert_eq!(
        tab.text("document.querySelectorAll('img,#talk b b').length"),
        "0"
    );
    assert_ne!(tab.text("document.title"), "owned");

    // The line drops; meanwhile things are called. The browser comes back by itself and has
    // all of it.
    drop(board);
    until("the loss is shown", || {
        Some(tab.text("document.querySelector('#lost').hidden")).filter(|t| t == "false")
    });
    stove.says("left skillet reading one twenty");
    stove.says("right skillet flipped");
    stove.show();
    let board = Board::start(address, stove.feed.clone(), Some(now)).expect("at the same address");
    until("it is back", || {
        let text = tab.text("document.querySelector('#talk').textContent");
        (text.contains("left skillet reading one twenty") && text.contains("right skillet flipped"))
            .then_some(())
    });
    assert_eq!(tab.text("document.querySelector('#lost').hidden"), "true");

    // What it says of the ear: words, not only a sign.
    stove.feed.deaf(true);
    until("deaf", || {
        Some(tab.text("document.querySelector('#ear').textContent"))
            .filter(|t| t.contains("No microphone"))
    });
    stove.feed.deaf(false);
    stove.feed.speaking(true);
    until("speaking", || {
        Some(tab.text("document.querySelector('#ear').textContent"))
            .filter(|t| t.contains("Speaking"))
    });
    stove.says("hold on");
    stove.show();
    until("asleep", || {
        Some(tab.text("document.querySelector('#ear').textContent"))
            .filter(|t| t.contains("Asleep"))
    });
    assert_eq!(
        tab.complaints(),
        Vec::<String>::new(),
        "nothing was refused or failed"
    );
    drop(board);
}

#[test]
fn it_fits_from_a_phone_to_a_large_screen() {
    let mut stove = Stove::frying();
    stove.says("left skillet heat to medium low");
    stove.show();
    let board = Board::start(loopback(), stove.feed.clone(), None).expect("a board");
    let mut browser = Browser::open();
    let mut tab = browser.tab(board.url());
    until("the page", || {
        Some(tab.text("document.querySelectorAll('.step').length")).filter(|t| t == "2")
    });
    let kept = std::env::var_os("BOARD_PICTURES").map(std::path::PathBuf::from);
    for (width, height) in [(320, 640), (800, 1280), (1280, 800), (1920, 1080)] {
        for dark in [false, true] {
            tab.size(width, height, dark);
            // The letters are fitted on the next resize event.
            std::thread::sleep(Duration::from_millis(300));
            let number = |tab: &mut board_support::Tab<'_>, what: &str| {
                tab.text(what)
                    .parse::<f64>()
                    .unwrap_or_else(|e| panic!("{what}: {e}"))
            };
            let wide = number(&mut tab, "document.documentElement.scrollWidth");
            assert!(wide <= f64::from(width), "{width}: {wide} wide");
            if width > 320 {
                let tall = number(&mut tab, "document.documentElement.scrollHeight");
                assert!(
                    tall <= f64::from(height),
                    "{width} x {height}: {tall} tall, and nobody can scroll"
                );
            }
            let least = number(
                &mut tab,
                "Math.min(...[...document.querySelectorAll('body *')].filter(e => e.children.length === 0 && e.textContent.trim() && e.offsetParent).map(e => parseFloat(getComputedStyle(e).fontSize)))",
            );
            assert!(least >= 12.0, "{width}: letters of {least} px");
            let paper = tab.text("getComputedStyle(document.body).backgroundColor");
            assert_eq!(paper == "rgb(255, 255, 255)", !dark, "{paper}");
            if let Some(folder) = &kept {
                let name = format!("{width}x{height}{}.png", if dark { "-dark" } else { "" });
                tab.picture(&folder.join(name));
            }
        }
    }
    // Read at three metres: an optotype of visual acuity 1.0 subtends five minutes of arc
    // (ISO 8596), which is 4.4 mm there. A tablet of ten inches is 217 mm wide (16:10,
    // arithmetic); a capital is 0.7 of its size (common practice).
    tab.size(1920, 1080, false);
    std::thread::sleep(Duration::from_millis(300));
    for what in ["h3", "p"] {
        let px = format!(
            "parseFloat(getComputedStyle(document.querySelector('.step {what}')).fontSize)"
        );
        let px: f64 = tab.text(&px).parse().expect("a size");
        let mm = px * 0.7 * 217.0 / 1920.0;
        assert!(mm >= 4.4, "a capital of .step {what} is {mm:.1} mm");
    }
}

#[test]
fn the_recorded_session_shows_on_the_board_of_the_running_program() {
    let dir = tempfile::tempdir().expect("a folder");
    let mut cook = Command::new(env!("CARGO_BIN_EXE_hobcall"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args([
            "cook",
            "plans/pork-chops-two-brines.yaml",
            "--new",
            "--paced",
        ])
        .args(["--ear", "audio-fixtures/session.flac", "--voice", "none"])
        .args(["--board", "127.0.0.1:0", "--journal"])
        .arg(dir.path().join("a.journal"))
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .expect("the program");
    let out = cook.stdout.take().expect("its output");
    let url = BufReader::new(out)
        .lines()
        .map_while(Result::ok)
        .find_map(|line| line.split_once("board: ").map(|(_, url)| url.to_owned()))
        .expect("it says where the board is");
    let mut browser = Browser::open();
    let mut tab = browser.tab(&url);
    until("the first step", || {
        Some(tab.text("document.querySelector('.step h3')?.textContent ?? ''"))
            .filter(|t| t == "dry salting")
    });
    // Sixteen seconds in somebody calls "next", and it is really heard.
    until("the call and its reply", || {
        let talk = tab.text("document.querySelector('#talk').textContent");
        (talk.contains("Heard: next") && talk.contains("Said: Stir six percent salt")).then_some(())
    });
    assert_eq!(
        tab.text("document.querySelector('.step h3').textContent"),
        "wet brine"
    );
    assert_eq!(tab.complaints(), Vec::<String>::new());
    // Ends by the polite signal, as a terminal would send it.
    let pid = i32::try_from(cook.id()).expect("a process id");
    let stopped = Command::new("kill")
        .arg(pid.to_string())
        .status()
        .expect("kill");
    assert!(stopped.success());
    assert!(cook.wait().expect("it ends").success());
}

#[test]
fn a_feed_without_a_board_costs_nothing_to_keep() {
    let mut feed = Feed::new(true);
    for n in 0..100 {
        feed.heard(n, "next");
    }
    let stove = Stove::frying();
    feed.show(&stove.state, stove.now);
}
