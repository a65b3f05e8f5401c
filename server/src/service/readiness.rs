//! Whether the server can do its work: read, and write too.
//!
//! What was written a moment ago shows that writing goes on. Otherwise, or when the last append failed, a few pages are
//! written to find out; not more often than every few seconds, however often it is asked.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::store::{StoreError, StoreResult};

/// So long after the last append nothing is tried.
const FRESH: Duration = Duration::from_secs(60);
/// So long what was found out holds.
const KNOWN: Duration = Duration::from_secs(3);

/// What is known of whether the database can be written.
#[derive(Default)]
pub(super) struct Readiness {
    known: Mutex<Known>,
    /// Held by whoever finds out.
    pub(super) finding_out: tokio::sync::Mutex<()>,
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
    pub(super) fn saw(&self, outcome: &StoreResult<()>) {
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
    pub(super) fn known(&self) -> Option<StoreResult<()>> {
        let Known { written, failed } = self.lock().clone();
        match failed {
            Some((at, error)) => (at.elapsed() < KNOWN).then_some(Err(error)),
            None => written.filter(|at| at.elapsed() < FRESH).map(|_| Ok(())),
        }
    }
}
