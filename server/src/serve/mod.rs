//! Connections: bounded in number, silent ones closed, all let go in order at the end.

mod handed;
mod tls;
mod unread;

use std::collections::HashMap;
use std::convert::Infallible;
use std::future::Future;
use std::net::{IpAddr, SocketAddr};
use std::pin::pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use futures_util::future::Either;
use hyper::body::Incoming;
use hyper::server::conn::{http1, http2};
use hyper::service::service_fn;
use hyper_util::rt::{TokioExecutor, TokioIo, TokioTimer};
use socket2::SockRef;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::task::JoinSet;
use tower::ServiceExt;
use tracing::{debug, error, info, warn};

use crate::caller_waits::CallerWaits;
use crate::metrics::Metrics;
use crate::rate_limits::{RateLimits, counted};

use handed::Handed;
pub(crate) use tls::Tls;
pub use tls::TlsError;
use unread::ReadOrClosed;

/// How long open requests may take once the server is told to stop.
const SHUTDOWN_GRACE: Duration = Duration::from_secs(10);
/// Bytes of a request's head.
const HEAD_LIMIT: usize = 32 * 1024;
/// Bytes that the system holds for a connection until they are read; it doubles what it is told.
const SEND_BUFFER: usize = 256 * 1024;
/// Requests at once on a connection of HTTP/2: a page asks for a few.
const STREAMS: u32 = 32;
/// Bytes of an answer that wait on such a connection for room.
const STREAM_BUFFER: usize = 64 * 1024;

/// How connections are bounded.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    /// How many at once.
    pub(crate) connections: u32,
    /// How many at once from one address; 0: as many as there are.
    pub(crate) address_connections: u32,
    /// For a head to arrive, for TLS to be agreed on, and for idling.
    pub(crate) header_deadline: Duration,
    /// For a peer to read on.
    pub(crate) unread_deadline: Duration,
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
    // What the system holds of answers that nobody reads is bounded too; without this it grows to megabytes.
    let _ = SockRef::from(&socket).set_send_buffer_size(SEND_BUFFER);
    let socket = ReadOrClosed::new(socket, served.bounds.unread_deadline);
    let Some(tls) = served.tls.clone() else {
        return speak(socket, peer, served).await;
    };
    let agreeing = tls.acceptor().accept(socket);
    match tokio::time::timeout(served.bounds.header_deadline, agreeing).await {
        Ok(Ok(stream)) if tls::agreed_on_http2(&stream) => speak_http2(stream, peer, served).await,
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
    let router = served.router;
    let service = service_fn(move |request: Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(peer));
        begin(router.clone(), request)
    });
    let spoken = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(served.bounds.header_deadline)
        .max_buf_size(HEAD_LIMIT)
        .serve_connection(TokioIo::new(stream), service);
    let mut spoken = pin!(spoken);
    let ended = tokio::select! {
        ended = &mut spoken => ended,
        () = told_to_close(&mut served.closing) => {
            spoken.as_mut().graceful_shutdown();
            spoken.await
        }
    };
    if let Err(error) = ended {
        debug!(%error, "a connection broke off");
    }
}

async fn told_to_close(closing: &mut watch::Receiver<bool>) {
    let _ = closing.wait_for(|closing| *closing).await;
}

/// The same over HTTP/2. A connection that does not answer a ping is closed.
async fn speak_http2(
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    peer: SocketAddr,
    mut served: Served,
) {
    let Bounds {
        header_deadline,
        unread_deadline,
        ..
    } = served.bounds;
    let (router, handed) = (served.router, Handed::default());
    let watched = handed.clone();
    let service = service_fn(move |request: Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(peer));
        let (answering, watched) = (begin(router.clone(), request), watched.clone());
        async move {
            let answered = answering.await;
            answered.map(|response| response.map(|body| watched.watch(body)))
        }
    });
    let spoken = http2::Builder::new(TokioExecutor::new())
        .timer(TokioTimer::new())
        .keep_alive_interval(header_deadline)
        .keep_alive_timeout(header_deadline)
        .max_header_list_size(u32::try_from(HEAD_LIMIT).unwrap_or(u32::MAX))
        .max_concurrent_streams(STREAMS)
        .max_send_buf_size(STREAM_BUFFER)
        .serve_connection(TokioIo::new(stream), service);
    let mut spoken = pin!(spoken);
    let ended = tokio::select! {
        ended = &mut spoken => ended,
        // Its peer is told nothing: it reads nothing.
        () = handed.unread_for(unread_deadline) => return,
        () = told_to_close(&mut served.closing) => {
            spoken.as_mut().graceful_shutdown();
            tokio::select! {
                ended = &mut spoken => ended,
                () = handed.unread_for(unread_deadline) => return,
            }
        }
    };
    if let Err(error) = ended {
        debug!(%error, "a connection broke off");
    }
}

/// Answers a request. What may change something is begun here and now, in a task of its own that goes on to its end: were it
/// begun when its answer is first waited for, a sender who hangs up right after the last byte could be gone before.
fn begin(
    router: Router,
    mut request: Request,
) -> impl Future<Output = Result<Response, Infallible>> + Send {
    let begun = match request.method().is_safe() {
        true => Either::Left(router.oneshot(request)),
        false => {
            let (waits, caller) = CallerWaits::new();
            request.extensions_mut().insert(caller);
            Either::Right((waits, tokio::spawn(router.oneshot(request))))
        }
    };
    async move {
        match begun {
            Either::Left(answering) => answering.await,
            Either::Right((_waits, answering)) => answering.await.unwrap_or_else(|broken| {
                error!(%broken, "a request was not answered");
                Ok(StatusCode::INTERNAL_SERVER_ERROR.into_response())
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use axum::routing::{get, post};
    use tokio::sync::{Notify, oneshot};

    /// As when its caller hangs up at once: the answer is dropped before it was ever waited for.
    #[tokio::test]
    async fn a_change_that_nobody_waits_for_is_begun_and_goes_on_to_its_end() {
        let (end, ended) = oneshot::channel();
        let end = Arc::new(Mutex::new(Some(end)));
        let begun = Arc::new(Notify::new());
        let seen = Arc::clone(&begun);
        let change = async move |request: Request| {
            let caller = request.extensions().get::<CallerWaits>().cloned();
            seen.notify_one();
            caller.expect("it is told").hung_up().await;
            let end = end.lock().expect("no panic").take();
            end.expect("once").send(()).expect("waited for");
        };
        let router = Router::new().route("/", post(change));
        let request = Request::post("/").body(Body::empty()).expect("one");
        drop(begin(router, request));
        let ended = tokio::time::timeout(Duration::from_secs(10), ended).await;
        ended.expect("in time").expect("to its end");
    }

    #[tokio::test]
    async fn a_reading_that_nobody_waits_for_is_not_begun() {
        let begun = Arc::new(Notify::new());
        let seen = Arc::clone(&begun);
        let router = Router::new().route("/", get(async move || seen.notify_one()));
        let request = || Request::get("/").body(Body::empty()).expect("one");
        drop(begin(router.clone(), request()));
        let waited = tokio::time::timeout(Duration::from_millis(50), begun.notified());
        assert!(waited.await.is_err());
        begin(router, request()).await.expect("answered");
        begun.notified().await;
    }

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
