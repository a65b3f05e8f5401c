//! Rate limits of addresses: what is too much is refused before any work is done for it. (The service counts for keys.)

use std::convert::Infallible;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use axum::extract::{ConnectInfo, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{Extensions, HeaderMap, header};
use tracing::warn;

use crate::held::Whose;

use super::app::App;
use super::error::{ApiError, ApiResult, Counted};

/// The id of a key is not longer.
const KEY_ID_CHARS: usize = 64;

/// The address that the request is counted for.
#[derive(Debug, Clone, Copy)]
pub(super) struct ClientAddress(IpAddr);

impl ClientAddress {
    /// The address itself.
    pub(super) fn ip(self) -> IpAddr {
        self.0
    }

    /// For whom bytes are held: this address, and the key or session whose id was sent.
    pub(super) fn whose(self, app: &App, headers: &HeaderMap) -> Whose {
        let sent = headers.get(header::AUTHORIZATION);
        let sent = sent.and_then(|value| value.to_str().ok()?.split_once(' '));
        let id = sent.and_then(|(_, key)| key.split_once('.'));
        let id = id.map(|(id, _)| id.chars().take(KEY_ID_CHARS).collect());
        let session = || {
            let cookie = app.page.cookie(headers).ok().flatten()?;
            Some(cookie.id().to_owned())
        };
        Whose {
            address: self.0,
            key: id.or_else(session),
        }
    }

    /// The one that the middleware found out.
    pub(super) fn of(extensions: &Extensions) -> Self {
        let found = extensions.get::<Self>().copied();
        found.unwrap_or(Self(Ipv4Addr::UNSPECIFIED.into()))
    }
}

impl FromRequestParts<App> for ClientAddress {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &App) -> Result<Self, Infallible> {
        Ok(Self::of(&parts.extensions))
    }
}

/// A request whose address may still try invitations.
pub(super) struct MayGuess;

impl FromRequestParts<App> for MayGuess {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        app.may_guess(ClientAddress::of(&parts.extensions))?;
        Ok(Self)
    }
}

/// Counts a request for its address, which the request holds from then on.
pub(super) fn count_request(app: &App, request: &mut Request) -> ApiResult<ClientAddress> {
    let peer = request.extensions().get::<ConnectInfo<SocketAddr>>();
    let peer = peer.map_or(Ipv4Addr::UNSPECIFIED.into(), |info| info.0.ip());
    warn_of_unknown_proxy(app, peer, request);
    let address = app.rate_limits.address(peer, request.headers());
    let counted = app.rate_limits.addresses.take(address, Instant::now());
    counted.map_err(|wait| ApiError::TooMany {
        wait,
        of: Counted::Requests,
    })?;
    request.extensions_mut().insert(ClientAddress(address));
    Ok(ClientAddress(address))
}

/// Behind a proxy that is not trusted everybody has the proxy's address and shares its limit.
fn warn_of_unknown_proxy(app: &App, peer: IpAddr, request: &Request) {
    static WARNED: AtomicBool = AtomicBool::new(false);
    let is_forwarded = request.headers().contains_key("x-forwarded-for");
    if is_forwarded
        && peer.is_loopback()
        && !app.rate_limits.trusts(peer)
        && !WARNED.swap(true, Ordering::Relaxed)
    {
        warn!(
            "a proxy on this machine sends X-Forwarded-For and is not trusted: set trusted_proxies, or all its callers are counted as one"
        );
    }
}

impl App {
    /// Refuses an address that has tried too many wrong keys and invitations.
    pub(super) fn may_guess(&self, from: ClientAddress) -> ApiResult<()> {
        let allowed = self.rate_limits.guesses.look(&from.0, Instant::now());
        allowed.map_err(|wait| ApiError::TooMany {
            wait,
            of: Counted::Guesses,
        })
    }

    /// Counts a wrong key or invitation.
    pub(super) fn count_guess(&self, from: ClientAddress) {
        // Those that came at once with the last one allowed are over the limit; the next are refused.
        let _ = self.rate_limits.guesses.take(from.0, Instant::now());
    }
}
