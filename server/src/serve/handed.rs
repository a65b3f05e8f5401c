//! Answers on a connection of HTTP/2 that its peer does not read. There one that grants no room leaves the socket free:
//! nothing waits in it, and whoever looks at writes alone would keep such answers for ever.

use std::collections::HashMap;
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::body::{Body, HttpBody};
use bytes::Bytes;
use hyper::body::{Frame, SizeHint};
use tokio::time::Instant;

/// Pieces of answers that were handed over and are still to be read.
#[derive(Clone, Default)]
pub(super) struct Handed(Arc<Mutex<Pieces>>);

#[derive(Default)]
struct Pieces {
    next: u64,
    since: HashMap<u64, Instant>,
}

impl Handed {
    /// An answer whose pieces are noted from when they are handed over until the next is asked for.
    pub(super) fn watch(&self, body: Body) -> Body {
        let number = {
            let mut pieces = self.lock();
            pieces.next += 1;
            pieces.next
        };
        Body::new(WatchedBody {
            body,
            number,
            handed: self.clone(),
        })
    }

    /// Ends once a piece has been waiting for so long.
    pub(super) async fn unread_for(&self, deadline: Duration) {
        let step = (deadline / 4).max(Duration::from_millis(10));
        loop {
            tokio::time::sleep(step).await;
            let oldest = self.lock().since.values().min().copied();
            if oldest.is_some_and(|since| since.elapsed() >= deadline) {
                return;
            }
        }
    }

    fn lock(&self) -> MutexGuard<'_, Pieces> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

struct WatchedBody {
    body: Body,
    number: u64,
    handed: Handed,
}

impl HttpBody for WatchedBody {
    type Data = Bytes;
    type Error = axum::Error;

    /// Asked only once there is room for more, so the piece before has been taken.
    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        self.handed.lock().since.remove(&self.number);
        let frame = Pin::new(&mut self.body).poll_frame(context);
        if let Poll::Ready(Some(Ok(_))) = &frame {
            let mut pieces = self.handed.lock();
            pieces.since.insert(self.number, Instant::now());
        }
        frame
    }

    /// Never before it was asked: whether the last piece was taken would not be known.
    fn is_end_stream(&self) -> bool {
        false
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}

impl Drop for WatchedBody {
    fn drop(&mut self) {
        self.handed.lock().since.remove(&self.number);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use http_body_util::BodyExt;

    #[tokio::test]
    async fn a_piece_waits_from_when_it_is_handed_over_until_the_next_is_asked_for() {
        let handed = Handed::default();
        let deadline = Duration::from_millis(80);
        let is_unread = async |handed: &Handed| {
            let waited = tokio::time::timeout(deadline * 3, handed.unread_for(deadline));
            waited.await.is_ok()
        };
        let mut body = handed.watch(Body::from("a piece"));
        assert!(!is_unread(&handed).await, "nothing was handed over yet");
        body.frame().await.expect("one").expect("whole");
        assert!(is_unread(&handed).await);
        assert!(body.frame().await.is_none());
        assert!(!is_unread(&handed).await);
        let mut other = handed.watch(Body::from("a piece"));
        other.frame().await.expect("one").expect("whole");
        drop(other);
        assert!(!is_unread(&handed).await, "it was given up");
    }

    /// What the server itself has not made yet is nobody's fault.
    #[tokio::test]
    async fn a_stream_on_which_nothing_happens_is_not_unread() {
        let handed = Handed::default();
        let silent = futures_util::stream::pending::<Result<Bytes, axum::Error>>();
        let mut body = handed.watch(Body::from_stream(silent));
        let deadline = Duration::from_millis(50);
        let asked = tokio::time::timeout(deadline, body.frame()).await;
        assert!(asked.is_err());
        let waited = tokio::time::timeout(deadline * 4, handed.unread_for(deadline));
        assert!(waited.await.is_err());
    }
}
