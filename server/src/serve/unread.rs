//! A connection that is closed when its peer does not read what it is sent.

use std::io::{self, IoSlice};
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Instant, Sleep};

/// So many bytes must be taken before each deadline, once a peer has kept the server waiting.
const LEAST_BYTES: usize = 64 * 1024;

/// A stream of bytes whose writes fail once the peer has taken too little for too long.
pub(super) struct ReadOrClosed<S> {
    stream: S,
    deadline: Duration,
    /// What is waited for, while something is.
    owed: Option<Owed>,
}

struct Owed {
    due: Pin<Box<Sleep>>,
    taken: usize,
}

impl<S> ReadOrClosed<S> {
    pub(super) fn new(stream: S, deadline: Duration) -> Self {
        Self {
            stream,
            deadline,
            owed: None,
        }
    }

    /// Judges a write of so many bytes by what came of it.
    fn judged(
        &mut self,
        context: &mut Context<'_>,
        written: Poll<io::Result<usize>>,
        offered: usize,
    ) -> Poll<io::Result<usize>> {
        match written {
            Poll::Ready(Ok(taken)) if taken < offered => self.has_taken(taken),
            Poll::Ready(_) => self.owed = None,
            Poll::Pending => return self.late(context),
        }
        written
    }

    /// The peer has taken some of what it was offered.
    fn has_taken(&mut self, bytes: usize) {
        if let Some(owed) = &mut self.owed {
            owed.taken += bytes;
            if owed.taken >= LEAST_BYTES {
                owed.taken = 0;
                owed.due.as_mut().reset(Instant::now() + self.deadline);
            }
        }
    }

    /// An error once the peer is too late; until then the task is woken when it would be.
    fn late<T>(&mut self, context: &mut Context<'_>) -> Poll<io::Result<T>> {
        let owed = self.owed.get_or_insert_with(|| Owed {
            due: Box::pin(tokio::time::sleep(self.deadline)),
            taken: 0,
        });
        match owed.due.as_mut().poll(context) {
            Poll::Pending => Poll::Pending,
            Poll::Ready(()) => Poll::Ready(Err(io::Error::new(
                io::ErrorKind::TimedOut,
                "the answer was not read in time",
            ))),
        }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for ReadOrClosed<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for ReadOrClosed<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.judged(context, written, bytes.len())
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        parts: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let offered = parts.iter().map(|part| part.len()).sum();
        let written = Pin::new(&mut self.stream).poll_write_vectored(context, parts);
        self.judged(context, written, offered)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match Pin::new(&mut self.stream).poll_flush(context) {
            Poll::Pending => self.late(context),
            flushed => {
                self.owed = None;
                flushed
            }
        }
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match Pin::new(&mut self.stream).poll_shutdown(context) {
            Poll::Pending => self.late(context),
            shut => shut,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};

    #[tokio::test]
    async fn whoever_reads_nothing_is_let_go_at_the_deadline() {
        let (near, _far) = duplex(1024);
        let mut near = ReadOrClosed::new(near, Duration::from_millis(50));
        let error = near.write_all(&[7; 4096]).await.expect_err("never read");
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
    }

    #[tokio::test]
    async fn whoever_reads_on_is_waited_for_however_long_the_answer_is() {
        let (near, mut far) = duplex(64 * 1024);
        let deadline = Duration::from_secs(2);
        let mut near = ReadOrClosed::new(near, deadline);
        let reading = tokio::spawn(async move {
            let (mut into, mut read) = (vec![0; 64 * 1024], 0);
            while read < 1024 * 1024 {
                tokio::time::sleep(deadline / 10).await;
                read += far.read(&mut into).await.expect("more");
            }
        });
        let began = Instant::now();
        near.write_all(&vec![7; 1024 * 1024])
            .await
            .expect("all of it");
        assert!(began.elapsed() > deadline, "or this shows nothing");
        reading.await.expect("no panic");
    }

    #[tokio::test]
    async fn a_byte_now_and_then_is_not_reading() {
        let (near, mut far) = duplex(64 * 1024);
        let mut near = ReadOrClosed::new(near, Duration::from_millis(100));
        tokio::spawn(async move {
            let mut byte = [0];
            while far.read_exact(&mut byte).await.is_ok() {
                tokio::time::sleep(Duration::from_millis(5)).await;
            }
        });
        let error = near.write_all(&vec![7; 1024 * 1024]).await;
        assert_eq!(error.expect_err("let go").kind(), io::ErrorKind::TimedOut);
    }
}
