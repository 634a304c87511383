//! HTTP and server-sent events, on a thread of its own.

use std::convert::Infallible;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::sse::{Event, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use tokio::sync::{oneshot, watch};

use super::PAGE;
use super::feed::{Ear, Feed, Newest};
use super::guard::{Guard, Wanted};

/// A sign of life at least this often; the page says so when it misses three.
const BEAT: Duration = Duration::from_secs(5);
/// More than anyone has shelves.
const VIEWERS: usize = 64;

/// Cook time now, milliseconds; none where time is what the session says.
pub type Now = Arc<dyn Fn() -> i64 + Send + Sync>;

/// Why there is no board; each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("the board cannot be served on {address}: {source}; give another address with --board")]
    Address {
        address: SocketAddr,
        #[source]
        source: std::io::Error,
    },
    #[error("no token for the board could be drawn from the system: {0}")]
    Token(#[source] std::io::Error),
    #[error("the system refused a thread for the board: {0}")]
    Thread(#[source] std::io::Error),
}

/// The board, served until it is dropped.
#[derive(Debug)]
pub struct Board {
    url: String,
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

#[derive(Clone)]
struct Served {
    guard: Arc<Guard>,
    feed: Feed,
    now: Option<Now>,
    viewers: Arc<AtomicUsize>,
    /// Closed when the board is dropped, so that no stream outlives it.
    open: watch::Receiver<()>,
}

impl Board {
    /// Serves what `feed` shows. An address that others can reach gets a token.
    ///
    /// # Errors
    /// When the address is taken or not this machine's.
    pub fn start(address: SocketAddr, feed: Feed, now: Option<Now>) -> Result<Board, Error> {
        let at = |source| Error::Address { address, source };
        let listener = std::net::TcpListener::bind(address).map_err(at)?;
        listener.set_nonblocking(true).map_err(at)?;
        let bound = listener.local_addr().map_err(at)?;
        let token = match bound.ip().is_loopback() {
            true => None,
            false => Some(random().map_err(Error::Token)?),
        };
        let guard = Guard::new(bound, token.as_deref());
        let url = format!("http://{bound}{}", guard.prefix());
        let (stop, stopped) = oneshot::channel::<()>();
        let (alive, open) = watch::channel(());
        let served = Served {
            guard: Arc::new(guard),
            feed,
            now,
            viewers: Arc::default(),
            open,
        };
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(Error::Thread)?;
        let thread = std::thread::Builder::new()
            .name("board".into())
            .spawn(move || {
                runtime.block_on(async move {
                    let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
                        return;
                    };
                    let app = Router::new().fallback(answer).with_state(served);
                    tokio::select! {
                        _ = axum::serve(listener, app) => {}
                        _ = stopped => {}
                    }
                    drop(alive);
                    // A moment for the streams to bring the last picture.
                    tokio::time::sleep(Duration::from_millis(50)).await;
                });
            })
            .map_err(Error::Thread)?;
        Ok(Board {
            url,
            address: bound,
            stop: Some(stop),
            thread: Some(thread),
        })
    }

    /// Where to look at it; on a network address with the token, so not for everyone's eyes.
    pub fn url(&self) -> &str {
        &self.url
    }

    pub fn address(&self) -> SocketAddr {
        self.address
    }
}

impl Drop for Board {
    fn drop(&mut self) {
        if let Some(stop) = self.stop.take() {
            // The thread may have ended by itself.
            let _ = stop.send(());
        }
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// 128 bits that nobody can guess, as letters and digits.
fn random() -> std::io::Result<String> {
    let mut bytes = [0u8; 16];
    let got = rustix::rand::getrandom(&mut bytes, rustix::rand::GetRandomFlags::empty())?;
    if got != bytes.len() {
        return Err(std::io::Error::other("too few random bytes"));
    }
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

async fn answer(State(served): State<Served>, request: Request) -> Response {
    let wanted = served
        .guard
        .asks(request.method(), request.uri(), request.headers());
    let mut response = match wanted {
        Some(Wanted::Page) => page(),
        Some(Wanted::Events) => events(&served),
        // Nothing, not even the reason.
        None => StatusCode::NOT_FOUND.into_response(),
    };
    let headers = response.headers_mut();
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    // The address holds the token; no other site may learn it.
    headers.insert(
        header::REFERRER_POLICY,
        HeaderValue::from_static("no-referrer"),
    );
    headers.insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
    response
}

fn page() -> Response {
    let Ok(nonce) = random() else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    let policy = format!(
        "default-src 'none'; style-src 'nonce-{nonce}'; script-src 'nonce-{nonce}'; \
         connect-src 'self'; img-src data:; base-uri 'none'; form-action 'none'; \
         frame-ancestors 'none'"
    );
    let mut response = Response::new(Body::from(PAGE.replace("{{nonce}}", &nonce)));
    let headers = response.headers_mut();
    let html = HeaderValue::from_static("text/html; charset=utf-8");
    headers.insert(header::CONTENT_TYPE, html);
    if let Ok(policy) = HeaderValue::try_from(policy) {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    response
}

/// One viewer's stream: the newest picture at once, and then whenever it changes. What comes
/// between two writes is left out: a picture is whole.
struct Viewer {
    pictures: watch::Receiver<Newest>,
    ears: watch::Receiver<Ear>,
    open: watch::Receiver<()>,
    now: Option<Now>,
    first: (bool, bool),
    seat: Seat,
}

/// Counts a viewer while it looks.
struct Seat(Arc<AtomicUsize>);

impl Drop for Seat {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

fn events(served: &Served) -> Response {
    if served.viewers.fetch_add(1, Ordering::Relaxed) >= VIEWERS {
        served.viewers.fetch_sub(1, Ordering::Relaxed);
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    }
    let (pictures, ears) = served.feed.viewer();
    let viewer = Viewer {
        pictures,
        ears,
        open: served.open.clone(),
        now: served.now.clone(),
        first: (true, true),
        seat: Seat(served.viewers.clone()),
    };
    let stream = stream::unfold(viewer, |mut viewer| async move {
        let event = viewer.next().await?;
        Some((Ok::<Event, Infallible>(event), viewer))
    });
    Sse::new(stream).into_response()
}

impl Viewer {
    async fn next(&mut self) -> Option<Event> {
        let _ = &self.seat;
        if std::mem::take(&mut self.first.0) {
            return Some(self.picture());
        }
        if std::mem::take(&mut self.first.1) {
            return Some(self.ear());
        }
        tokio::select! {
            biased;
            changed = self.pictures.changed() => changed.ok().map(|()| self.picture()),
            changed = self.ears.changed() => changed.ok().map(|()| self.ear()),
            // Only ever closed.
            _ = self.open.changed() => None,
            () = tokio::time::sleep(BEAT) => {
                let now = self.now.as_ref().map(|now| now());
                Some(Event::default().event("beat").data(number(now)))
            }
        }
    }

    fn picture(&mut self) -> Event {
        let newest = self.pictures.borrow_and_update().clone();
        let (now, runs) = match &self.now {
            Some(now) => (now(), true),
            None => (newest.at.0, false),
        };
        let json = &newest.json;
        let data = format!("{{\"now_ms\":{now},\"runs\":{runs},\"picture\":{json}}}");
        Event::default()
            .event("picture")
            .id(newest.number.to_string())
            .data(data)
    }

    fn ear(&mut self) -> Event {
        let ear = *self.ears.borrow_and_update();
        let data = serde_json::to_string(&ear).unwrap_or_else(|_| "null".to_owned());
        Event::default().event("ear").data(data)
    }
}

fn number(value: Option<i64>) -> String {
    value.map_or_else(|| "null".to_owned(), |v| v.to_string())
}
