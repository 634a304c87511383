//! Who may see the board: asked of every request before anything else.

use std::net::{IpAddr, SocketAddr};

use axum::http::{HeaderMap, Method, Uri, header};

/// What a request must be like.
#[derive(Debug, Clone)]
pub struct Guard {
    /// `/`, or `/TOKEN/` where the board is open to a network.
    prefix: String,
    port: u16,
    loopback: bool,
}

/// What a request that may be answered asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    Page,
    Events,
}

impl Guard {
    pub fn new(address: SocketAddr, token: Option<&str>) -> Guard {
        Guard {
            prefix: token.map_or_else(|| "/".to_owned(), |t| format!("/{t}/")),
            port: address.port(),
            loopback: address.ip().is_loopback(),
        }
    }

    pub fn prefix(&self) -> &str {
        &self.prefix
    }

    /// None for everything that is to get nothing.
    pub fn asks(&self, method: &Method, uri: &Uri, headers: &HeaderMap) -> Option<Wanted> {
        if method != Method::GET || uri.query().is_some() || !self.is_from_here(headers) {
            return None;
        }
        let path = uri.path();
        // All of the prefix is compared, whatever differs first: the time must not tell how
        // much of a guessed token is right.
        let (head, tail) = path.split_at_checked(self.prefix.len())?;
        let differs = head
            .bytes()
            .zip(self.prefix.bytes())
            .fold(0, |acc, (a, b)| acc | (a ^ b));
        if differs != 0 {
            return None;
        }
        match tail {
            "" => Some(Wanted::Page),
            "events" => Some(Wanted::Events),
            _ => None,
        }
    }

    /// The browser says that the page itself, or a person's own address line, asks. A page
    /// of another site that points a name of its own at this machine still sends that name.
    fn is_from_here(&self, headers: &HeaderMap) -> bool {
        let text = |name| headers.get(name).map(|v| v.to_str().unwrap_or("?"));
        let Some(host) = text(header::HOST) else {
            return false;
        };
        if !self.is_own_name(host) {
            return false;
        }
        if text(header::ORIGIN).is_some_and(|origin| origin != format!("http://{host}")) {
            return false;
        }
        let site = headers
            .get("sec-fetch-site")
            .map(|v| v.to_str().unwrap_or("?"));
        site.is_none_or(|s| s == "same-origin" || s == "none")
    }

    fn is_own_name(&self, host: &str) -> bool {
        let (name, port) = match host.rsplit_once(':') {
            Some((name, port)) if !port.ends_with(']') => (name, port.parse().ok()),
            _ => (host, Some(80)),
        };
        if port != Some(self.port) {
            return false;
        }
        let name = name.trim_start_matches('[').trim_end_matches(']');
        if name.eq_ignore_ascii_case("localhost") {
            return true;
        }
        match name.parse::<IpAddr>() {
            Ok(ip) => !self.loopback || ip.is_loopback(),
            // Names that only a home network gives: `kitchen`, `kitchen.local`.
            Err(_) => {
                let home = name.strip_suffix(".local").unwrap_or(name);
                !self.loopback && !home.is_empty() && !home.contains('.')
            }
        }
    }
}
