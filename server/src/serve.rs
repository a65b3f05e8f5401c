//! Connections: bounded in number, silent ones closed, all let go in order at the end.

use std::future::Future;
use std::net::SocketAddr;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::task::JoinSet;
use tower::ServiceExt;
use tracing::{debug, info, warn};

/// How long open requests may take once the server is told to stop.
const PARTING: Duration = Duration::from_secs(10);
/// Bytes of a request's head.
const HEAD_LIMIT: usize = 32 * 1024;

/// How connections are bounded.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    /// How many at once.
    pub(crate) connections: u32,
    /// For a head to arrive, and for idling.
    pub(crate) header_deadline: Duration,
}

/// Serves until `shutdown`, then lets open requests end, but not for ever.
pub(crate) async fn serve(
    listener: TcpListener,
    router: Router,
    bounds: Bounds,
    shutdown: impl Future<Output = ()>,
) {
    let places = Arc::new(Semaphore::new(bounds.connections as usize));
    let (closing, closed) = watch::channel(false);
    let mut connections = JoinSet::new();
    let mut shutdown = pin!(shutdown);
    loop {
        let accepted = tokio::select! {
            () = &mut shutdown => break,
            accepted = next(&listener, &places) => accepted,
        };
        // Those that have ended are forgotten.
        while connections.try_join_next().is_some() {}
        if let Some((socket, peer, place)) = accepted {
            let served = connection(socket, peer, router.clone(), bounds, closed.clone());
            connections.spawn(async move {
                served.await;
                drop(place);
            });
        }
    }
    drop(listener);
    info!(open = connections.len(), "stopping");
    // Nobody listens when no connection is left, which is as well.
    let _ = closing.send(true);
    let all = async { while connections.join_next().await.is_some() {} };
    if tokio::time::timeout(PARTING, all).await.is_err() {
        warn!("connections cut off after {} s", PARTING.as_secs());
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

async fn connection(
    socket: TcpStream,
    peer: SocketAddr,
    router: Router,
    bounds: Bounds,
    mut closed: watch::Receiver<bool>,
) {
    // A late answer to a small question is worse than a small packet.
    let _ = socket.set_nodelay(true);
    let service = router.map_request(move |request: Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(peer));
        request
    });
    let served = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(bounds.header_deadline)
        .max_buf_size(HEAD_LIMIT)
        .serve_connection(TokioIo::new(socket), TowerToHyperService::new(service));
    let mut served = pin!(served);
    let told_to_close = async {
        let _ = closed.wait_for(|closed| *closed).await;
    };
    let ended = tokio::select! {
        ended = &mut served => ended,
        () = told_to_close => {
            served.as_mut().graceful_shutdown();
            served.await
        }
    };
    if let Err(error) = ended {
        debug!(%error, "a connection broke off");
    }
}
