//! Who gets what over HTTP, and what is in it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use hobcall::board::{Board, Feed, picture};

use crate::support::Stove;

pub fn loopback() -> SocketAddr {
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
    stove.waits(180_000);
    stove.says("left skillet reading one oh five");
    stove.show();
    let step = loop {
        let read = viewer.next("picture")["picture"]["steps"][1].clone();
        if !read["believed"].is_null() {
            break read;
        }
    };
    assert_eq!(step["believed"], "105 °F");
    let ready = |n: usize| step["ready_ms"][n].as_i64().expect("a time");
    assert!(ready(0) <= ready(1) && ready(1) > stove.now.0, "{step}");
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
fn a_feed_without_a_board_costs_nothing_to_keep() {
    let mut feed = Feed::new(true);
    for n in 0..100 {
        feed.heard(n, "next");
    }
    let stove = Stove::frying();
    feed.show(&stove.state, stove.now);
}

/// Food Code 3-501.14(A): to 70 °F within two hours, to 41 °F within six in all.
#[test]
fn what_cools_is_shown_with_its_next_limit() {
    let mut stove = Stove::frying();
    assert!(stove.picture().clocks.iter().all(|c| c.kind != "cooling"));
    stove.says("cooling the chops");
    let picture = stove.picture();
    let cools: Vec<_> = picture
        .clocks
        .iter()
        .filter(|c| c.kind == "cooling")
        .collect();
    assert_eq!(cools.len(), 1);
    assert_eq!(cools[0].name, "chop to 70 °F");
    assert_eq!(cools[0].ends_ms - cools[0].from_ms, 7_200_000);
    assert_eq!(cools[0].from_ms, stove.now.0);
}
