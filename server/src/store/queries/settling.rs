//! What became of notices that were taken.

use async_trait::async_trait;

use super::{DbConnection, Write, column};
use crate::store::{NoticeId, NoticeOutcome, StoreResult};

/// What became of a notice at one of its tries.
pub(super) struct Settle {
    pub(super) id: NoticeId,
    pub(super) tries: u32,
    pub(super) outcome: NoticeOutcome,
}

#[async_trait]
impl Write for Settle {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let (due_at, told_at, dead_at, trouble) = match &self.outcome {
            NoticeOutcome::Untried { due_at } => return self.untried(*due_at, connection).await,
            NoticeOutcome::Done { at } => (None, Some(*at), None, None),
            NoticeOutcome::Later { due_at, trouble } => (Some(*due_at), None, None, Some(trouble)),
            NoticeOutcome::Dead { at, trouble } => (None, None, Some(*at), Some(trouble)),
        };
        // Somebody who took it later counts one more try: what becomes of it is theirs to say.
        sqlx::query(
            "UPDATE notices SET due_at = $5, told_at = $6, dead_at = $7, trouble = $8 \
             WHERE address = $1 AND number = $2 AND kind = $3 AND tries = $4 AND due_at IS NOT NULL",
        )
        .bind(&self.id.address)
        .bind(column(self.id.number)?)
        .bind(self.id.kind.to_string())
        .bind(i64::from(self.tries))
        .bind(due_at)
        .bind(told_at)
        .bind(dead_at)
        .bind(trouble.map(String::as_str))
        .execute(connection)
        .await?;
        Ok(())
    }
}

impl Settle {
    /// As it was before it was taken, but due at another time.
    async fn untried(&self, due_at: i64, connection: &mut DbConnection) -> StoreResult<()> {
        sqlx::query(
            "UPDATE notices SET due_at = $5, tries = tries - 1 \
             WHERE address = $1 AND number = $2 AND kind = $3 AND tries = $4 AND due_at IS NOT NULL",
        )
        .bind(&self.id.address)
        .bind(column(self.id.number)?)
        .bind(self.id.kind.to_string())
        .bind(i64::from(self.tries))
        .bind(due_at)
        .execute(connection)
        .await?;
        Ok(())
    }
}
