//! Requests that are too many are turned away before any work is done for them.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use axum::extract::{ConnectInfo, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::response::{IntoResponse, Response};
use tracing::warn;

use super::App;
use super::problem::{Answer, Rejection};

/// The address that the request is counted for.
#[derive(Debug, Clone, Copy)]
pub(super) struct CalledFrom(IpAddr);

impl FromRequestParts<App> for CalledFrom {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Answer<Self> {
        let from = parts.extensions.get::<Self>().copied();
        Ok(from.unwrap_or(Self(Ipv4Addr::UNSPECIFIED.into())))
    }
}

/// Turns away what is too much from one address.
pub(super) fn turn_away(app: &App, request: &mut Request) -> Option<Response> {
    let peer = request.extensions().get::<ConnectInfo<SocketAddr>>();
    let peer = peer.map_or(Ipv4Addr::UNSPECIFIED.into(), |info| info.0.ip());
    warn_of_unknown_proxy(app, peer, request);
    let address = app.rates.address(peer, request.headers());
    if let Err(wait) = app.rates.addresses.take(address, Instant::now()) {
        app.meters.turn_away("address");
        let refusal = Rejection::TooMany {
            wait,
            of: "requests from your address",
        };
        return Some(refusal.into_response());
    }
    request.extensions_mut().insert(CalledFrom(address));
    None
}

/// Behind a proxy that is not trusted everybody has the proxy's address and shares its limit.
fn warn_of_unknown_proxy(app: &App, peer: IpAddr, request: &Request) {
    static WARNED: AtomicBool = AtomicBool::new(false);
    let is_forwarded = request.headers().contains_key("x-forwarded-for");
    if is_forwarded
        && peer.is_loopback()
        && !app.rates.trusts(peer)
        && !WARNED.swap(true, Ordering::Relaxed)
    {
        warn!(
            "a proxy on this machine sends X-Forwarded-For and is not trusted: set trusted_proxies, or all its callers are counted as one"
        );
    }
}

impl App {
    /// Whether an address may still try keys and invitations.
    pub(super) fn may_guess(&self, from: CalledFrom) -> Answer<()> {
        self.rates
            .guesses
            .look(&from.0, Instant::now())
            .map_err(|wait| {
                self.meters.turn_away("guesses");
                Rejection::TooMany {
                    wait,
                    of: "wrong keys or invitations from your address",
                }
            })
    }

    /// Counts a wrong key or invitation.
    pub(super) fn guessed_wrong(&self, from: CalledFrom) {
        // Those that came at once with the last one allowed are over the limit; the next are refused.
        let _ = self.rates.guesses.take(from.0, Instant::now());
    }

    /// Counts a request of a key.
    pub(super) fn count_key(&self, key: &str) -> Answer<()> {
        self.rates
            .keys
            .take(key.to_owned(), Instant::now())
            .map_err(|wait| {
                self.meters.turn_away("key");
                Rejection::TooMany {
                    wait,
                    of: "requests with this key",
                }
            })
    }
}
