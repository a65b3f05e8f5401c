//! Bodies of answers: counted for whoever asked until they are read, and handed over a piece at a time.

use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};

use axum::body::{Body, HttpBody};
use axum::response::{IntoResponse, Response};
use bytes::Bytes;
use hyper::body::{Frame, SizeHint};

use crate::held::{Held, HeldBytes, Whose};

use super::error::ApiError;

/// A piece: about what waits in a connection besides.
const PIECE: usize = 32 * 1024;

/// The answer, held for whoever asked; a problem instead if that were too much.
pub(super) fn hold(all: &Arc<HeldBytes>, whose: Whose, response: Response) -> Response {
    let length = response.body().size_hint().exact();
    if length.is_some_and(|length| length <= PIECE as u64) {
        return response;
    }
    let held = match length {
        None => None,
        Some(length) => match all.hold(&whose, length) {
            None => return ApiError::TooMuchHeld.into_response(),
            held => held,
        },
    };
    response.map(|inner| {
        Body::new(AnswerBody {
            inner,
            piece_of: Bytes::new(),
            is_counted: held.is_some(),
            held,
            all: Arc::clone(all),
            whose,
        })
    })
}

/// A body that is handed over in pieces. What is made in one go is counted as a whole to its end; of a stream
/// what is made and not handed over yet.
struct AnswerBody {
    inner: Body,
    /// What is left of a frame of `inner`.
    piece_of: Bytes,
    is_counted: bool,
    held: Option<Held>,
    all: Arc<HeldBytes>,
    whose: Whose,
}

impl HttpBody for AnswerBody {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        if self.piece_of.is_empty() {
            if !self.is_counted {
                self.held = None;
            }
            let frame = match ready!(Pin::new(&mut self.inner).poll_frame(context)) {
                Some(Ok(frame)) => frame,
                other => return Poll::Ready(other),
            };
            match frame.into_data() {
                Ok(data) => self.piece_of = data,
                Err(frame) => return Poll::Ready(Some(Ok(frame))),
            }
            let length = self.piece_of.len();
            if !self.is_counted && length > PIECE {
                self.held = self.all.hold(&self.whose, length as u64);
                if self.held.is_none() {
                    self.piece_of.clear();
                    return Poll::Ready(Some(Err(axum::Error::new(ApiError::TooMuchHeld))));
                }
            }
        }
        let length = self.piece_of.len().min(PIECE);
        let piece = self.piece_of.split_to(length);
        Poll::Ready(Some(Ok(Frame::data(piece))))
    }

    fn is_end_stream(&self) -> bool {
        self.piece_of.is_empty() && self.inner.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        let (left, inner) = (self.piece_of.len() as u64, self.inner.size_hint());
        let mut hint = SizeHint::new();
        hint.set_lower(inner.lower().saturating_add(left));
        if let Some(upper) = inner.upper() {
            hint.set_upper(upper.saturating_add(left));
        }
        hint
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use std::convert::Infallible;
    use std::net::IpAddr;

    use axum::http::StatusCode;
    use futures_util::stream;
    use http_body_util::BodyExt;

    fn whose() -> Whose {
        Whose {
            address: IpAddr::from([203, 0, 113, 9]),
            key: None,
        }
    }

    #[tokio::test]
    async fn a_long_answer_is_counted_until_it_is_read_and_comes_in_pieces() {
        let all = HeldBytes::new(4 * PIECE as u64);
        let long = vec![7; 2 * PIECE];
        let mut first = hold(&all, whose(), long.clone().into_response());
        assert_eq!(first.body().size_hint().exact(), Some(2 * PIECE as u64));
        let second = hold(&all, whose(), long.clone().into_response());
        assert_eq!(second.status(), StatusCode::SERVICE_UNAVAILABLE);
        assert_eq!(second.headers()["retry-after"], "5");
        let short = hold(&all, whose(), vec![7; PIECE].into_response());
        assert_eq!(
            short.status(),
            StatusCode::OK,
            "what is short is not counted"
        );
        let piece = first.body_mut().frame().await.expect("a piece");
        assert_eq!(
            piece.expect("whole").into_data().expect("data").len(),
            PIECE
        );
        assert_eq!(first.body().size_hint().exact(), Some(PIECE as u64));
        drop(first);
        let third = hold(&all, whose(), long.clone().into_response());
        let read = third.into_body().collect().await.expect("whole").to_bytes();
        assert_eq!(read, long);
    }

    #[tokio::test]
    async fn of_a_stream_a_frame_at_a_time_is_counted_and_one_too_many_ends_it() {
        let all = HeldBytes::new(4 * PIECE as u64);
        let frames = |length| {
            let frame = Ok::<_, Infallible>(Bytes::from(vec![7; length]));
            Body::from_stream(stream::iter([frame.clone(), frame])).into_response()
        };
        let sound = hold(&all, whose(), frames(2 * PIECE));
        let read = sound
            .into_body()
            .collect()
            .await
            .expect("one after the other");
        assert_eq!(read.to_bytes().len(), 4 * PIECE);
        let broken = hold(&all, whose(), frames(2 * PIECE + 1));
        assert!(broken.into_body().collect().await.is_err());
        assert!(
            all.hold(&whose(), 2 * PIECE as u64).is_some(),
            "nothing is left"
        );
    }
}
