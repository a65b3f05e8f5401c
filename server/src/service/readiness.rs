//! Whether the server can do its work: read, and write too.
//!
//! What was written a moment ago shows that writing goes on. Otherwise, or when the last append failed, a few pages are
//! written to find out; not more often than every few seconds, however often it is asked.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use tokio::time::timeout;

use crate::store::{Append, StoreError, StoreResult};

use super::{Service, ServiceError, ServiceResult};

/// So long after the last append nothing is tried.
const FRESH: Duration = Duration::from_secs(60);
/// So long what was found out holds.
const KNOWN: Duration = Duration::from_secs(3);
/// So long it may take to find out.
const PATIENCE: Duration = Duration::from_secs(5);

/// What is known of whether the database can be written.
#[derive(Default)]
pub(super) struct Readiness {
    known: Mutex<Known>,
    /// Held by whoever finds out.
    finding_out: tokio::sync::Mutex<()>,
}

#[derive(Debug, Clone, Default)]
struct Known {
    /// When something was last written.
    written: Option<Instant>,
    /// When it was last found out, or seen in an append that failed, that nothing can be.
    failed: Option<(Instant, StoreError)>,
}

impl Readiness {
    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Learns from what came of a write.
    fn saw(&self, outcome: &StoreResult<()>) {
        let now = Instant::now();
        match outcome {
            Ok(()) => {
                *self.lock() = Known {
                    written: Some(now),
                    failed: None,
                };
            }
            // Whoever was overtaken could have written.
            Err(StoreError::Overtaken | StoreError::LastOrganiser) => {}
            Err(error) => self.lock().failed = Some((now, error.clone())),
        }
    }

    /// What is known without trying; none when it is too long ago.
    fn known(&self) -> Option<StoreResult<()>> {
        let Known { written, failed } = self.lock().clone();
        match failed {
            Some((at, error)) => (at.elapsed() < KNOWN).then_some(Err(error)),
            None => written.filter(|at| at.elapsed() < FRESH).map(|_| Ok(())),
        }
    }
}

impl Service {
    /// Whether games can be read and played on.
    ///
    /// # Errors
    /// When the database does not answer, or cannot be written.
    pub async fn must_be_ready(&self) -> ServiceResult<()> {
        self.store.ping().await?;
        if let Some(known) = self.readiness.known() {
            return Ok(known?);
        }
        let _alone = self.readiness.finding_out.lock().await;
        if let Some(known) = self.readiness.known() {
            return Ok(known?);
        }
        let tried = timeout(PATIENCE, self.store.try_writing()).await;
        let outcome = tried.map_err(|_| ServiceError::Busy)?;
        self.readiness.saw(&outcome);
        Ok(outcome?)
    }

    /// Appends, and remembers whether that could be done.
    pub(super) async fn append(&self, append: &Append) -> StoreResult<()> {
        let outcome = self.store.append(append).await;
        self.readiness.saw(&outcome);
        outcome
    }
}
