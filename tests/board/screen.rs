//! The page: its letters and colours, and how it behaves in the browser.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use hobcall::board::{Board, PAGE};

use crate::html_faults;
use crate::network::loopback;
use crate::support::{Browser, Stove, Tab, until};

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
            let number = |tab: &mut Tab<'_>, what: &str| {
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

    // An alarm and a question are told by words and signs, in whatever colours.
    stove.waits(245_000);
    stove.says("swap left and middle");
    stove.says("test chop to the rack");
    stove.show();
    let alarm = "document.querySelector('.clock.up')?.innerText ?? ''";
    let told = until("the alarm", || {
        Some(tab.text(alarm)).filter(|t| t.contains('\u{25B2}'))
    });
    assert!(told.contains("waits for your answer"), "{told}");
    let wait = tab.text("document.querySelector('#wait').textContent");
    assert!(wait.starts_with("Waiting for your answer: "), "{wait}");
    let unsure = tab.text("document.querySelector('.unsure')?.textContent ?? ''");
    assert_eq!(unsure, "\u{25C6} test chop: not sure where");
    if let Some(folder) = &kept {
        tab.size(1280, 800, false);
        std::thread::sleep(Duration::from_millis(300));
        tab.picture(&folder.join("alarm.png"));
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
    if let Some(folder) = std::env::var_os("BOARD_PICTURES").map(std::path::PathBuf::from) {
        for (width, height) in [(320, 640), (1024, 768), (1920, 1080)] {
            tab.size(width, height, false);
            std::thread::sleep(Duration::from_millis(300));
            tab.picture(&folder.join(format!("session-{width}x{height}.png")));
        }
    }
    // Ends by the polite signal, as a terminal would send it.
    let pid = i32::try_from(cook.id()).expect("a process id");
    let stopped = Command::new("kill")
        .arg(pid.to_string())
        .status()
        .expect("kill");
    assert!(stopped.success());
    assert!(cook.wait().expect("it ends").success());
}
