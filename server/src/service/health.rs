//! Whether games can be played on, found out and remembered from what is appended.

use std::time::Duration;

use tokio::time::timeout;

use crate::store::{Append, StoreResult};

use super::{Service, ServiceError, ServiceResult};

/// So long it may take to find out.
const PATIENCE: Duration = Duration::from_secs(5);

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
