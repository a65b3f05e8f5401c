//! Whether a caller still waits for an answer that is made in a task of its own.

use tokio::sync::watch;

/// Travels with a request that is answered in a task of its own.
#[derive(Debug, Clone)]
pub(crate) struct CallerWaits(watch::Receiver<()>);

/// Kept by whoever waits for the answer.
#[derive(Debug)]
pub(crate) struct Waits {
    _until_dropped: watch::Sender<()>,
}

impl CallerWaits {
    /// Both ends.
    pub(crate) fn new() -> (Waits, Self) {
        let (sender, receiver) = watch::channel(());
        let waits = Waits {
            _until_dropped: sender,
        };
        (waits, Self(receiver))
    }

    /// Waits until nobody waits for the answer any more.
    pub(crate) async fn hung_up(mut self) {
        while self.0.changed().await.is_ok() {}
    }
}
