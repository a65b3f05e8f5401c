//! Connections: bounded in number, silent ones closed, all let go in order at the end.

mod tls;

use std::collections::HashMap;
use std::future::Future;
use std::net::{IpAddr, SocketAddr};
use std::pin::pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::task::JoinSet;
use tower::ServiceExt;
use tracing::{debug, info, warn};

use crate::metrics::Metrics;
use crate::rate_limits::{RateLimits, counted};

pub(crate) use tls::Tls;
pub use tls::TlsError;

/// How long open requests may take once the server is told to stop.
const SHUTDOWN_GRACE: Duration = Duration::from_secs(10);
/// Bytes of a request's head.
const HEAD_LIMIT: usize = 32 * 1024;

/// How connections are bounded.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    /// How many at once.
    pub(crate) connections: u32,
    /// How many at once from one address; 0: as many as there are.
    pub(crate) address_connections: u32,
    /// For a head to arrive, for TLS to be agreed on, and for idling.
    pub(crate) header_deadline: Duration,
}

/// What every connection is served with.
#[derive(Clone)]
pub(crate) struct Served {
    pub(crate) router: Router,
    pub(crate) bounds: Bounds,
    pub(crate) tls: Option<Arc<Tls>>,
    pub(crate) rate_limits: Arc<RateLimits>,
    pub(crate) metrics: Arc<Metrics>,
    /// Becomes true when the server is told to stop.
    pub(crate) closing: watch::Receiver<bool>,
}

/// Serves until `shutdown`, tells `closing` so, then lets open requests end, but not for ever.
pub(crate) async fn serve(
    listener: TcpListener,
    served: Served,
    closing: watch::Sender<bool>,
    shutdown: impl Future<Output = ()>,
) {
    let places = Arc::new(Semaphore::new(served.bounds.connections as usize));
    let by_address = Arc::new(ByAddress::new(served.bounds.address_connections));
    let mut connections = JoinSet::new();
    let mut shutdown = pin!(shutdown);
    loop {
        let accepted = tokio::select! {
            () = &mut shutdown => break,
            accepted = next(&listener, &places) => accepted,
        };
        // Those that have ended are forgotten.
        while connections.try_join_next().is_some() {}
        let Some((socket, peer, place)) = accepted else {
            continue;
        };
        // A trusted proxy speaks for many; those it counts by their own addresses.
        let own_place = match served.rate_limits.trusts(peer.ip()) {
            true => None,
            false => match by_address.enter(peer.ip()) {
                Some(entered) => Some(entered),
                None => {
                    served.metrics.connections_refused.inc();
                    continue;
                }
            },
        };
        let served = served.clone();
        connections.spawn(async move {
            served.metrics.connections.inc();
            let open = Open(Arc::clone(&served.metrics));
            connection(socket, peer, served).await;
            drop((open, own_place, place));
        });
    }
    drop(listener);
    info!(open = connections.len(), "stopping");
    // Nobody listens when no connection is left, which is as well.
    let _ = closing.send(true);
    let all = async { while connections.join_next().await.is_some() {} };
    if tokio::time::timeout(SHUTDOWN_GRACE, all).await.is_err() {
        warn!("connections cut off after {} s", SHUTDOWN_GRACE.as_secs());
    }
}

type Accepted = (TcpStream, SocketAddr, OwnedSemaphorePermit);

/// The next connection, once there is a place for it; none when accepting failed for the moment.
async fn next(listener: &TcpListener, places: &Arc<Semaphore>) -> Option<Accepted> {
    let place = Arc::clone(places).acquire_owned().await.ok()?;
    match listener.accept().await {
        Ok((socket, peer)) => Some((socket, peer, place)),
        Err(error) => {
            // Out of file descriptors, most likely: trying at once would only burn time.
            warn!(%error, "a connection could not be accepted");
            tokio::time::sleep(Duration::from_millis(100)).await;
            None
        }
    }
}

/// A connection that is counted as open while this lives.
struct Open(Arc<Metrics>);

impl Drop for Open {
    fn drop(&mut self) {
        self.0.connections.dec();
    }
}

/// How many connections each address has open.
struct ByAddress {
    most: u32,
    open: Mutex<HashMap<IpAddr, u32>>,
}

/// A connection counted for its address while this lives.
struct Entered {
    all: Arc<ByAddress>,
    address: IpAddr,
}

impl ByAddress {
    fn new(most: u32) -> Self {
        Self {
            most,
            open: Mutex::default(),
        }
    }

    /// Counts one more, unless it is one too many.
    fn enter(self: &Arc<Self>, peer: IpAddr) -> Option<Entered> {
        let address = counted(peer);
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let count = open.entry(address).or_default();
        if self.most > 0 && *count >= self.most {
            return None;
        }
        *count += 1;
        Some(Entered {
            all: Arc::clone(self),
            address,
        })
    }
}

impl Drop for Entered {
    fn drop(&mut self) {
        let mut open = self.all.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = open.get_mut(&self.address) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.address);
            }
        }
    }
}

async fn connection(socket: TcpStream, peer: SocketAddr, served: Served) {
    // A late answer to a small question is worse than a small packet.
    let _ = socket.set_nodelay(true);
    let Some(tls) = served.tls.clone() else {
        return speak(socket, peer, served).await;
    };
    let agreeing = tls.acceptor().accept(socket);
    match tokio::time::timeout(served.bounds.header_deadline, agreeing).await {
        Ok(Ok(stream)) => speak(stream, peer, served).await,
        Ok(Err(error)) => debug!(%error, "TLS was not agreed on"),
        Err(_) => debug!("TLS was not agreed on in time"),
    }
}

async fn speak(
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    peer: SocketAddr,
    mut served: Served,
) {
    let service = served
        .router
        .map_request(move |request: Request<Incoming>| {
            let mut request = request.map(Body::new);
            request.extensions_mut().insert(ConnectInfo(peer));
            request
        });
    let spoken = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(served.bounds.header_deadline)
        .max_buf_size(HEAD_LIMIT)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(service));
    let mut spoken = pin!(spoken);
    let told_to_close = async {
        let _ = served.closing.wait_for(|closing| *closing).await;
    };
    let ended = tokio::select! {
        ended = &mut spoken => ended,
        () = told_to_close => {
            spoken.as_mut().graceful_shutdown();
            spoken.await
        }
    };
    if let Err(error) = ended {
        debug!(%error, "a connection broke off");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_has_so_many_connections_and_no_more() {
        let all = Arc::new(ByAddress::new(2));
        let address = IpAddr::from([203, 0, 113, 9]);
        let first = all.enter(address).expect("a place");
        let _second = all.enter(address).expect("a place");
        assert!(all.enter(address).is_none());
        assert!(all.enter(IpAddr::from([203, 0, 113, 8])).is_some());
        drop(first);
        assert!(all.enter(address).is_some());
        assert_eq!(
            all.open.lock().expect("no panic").len(),
            1,
            "those who left are forgotten"
        );
    }
}
