//! Copies of all games: backing up, restoring, moving to another database, and checking what is kept.
//!
//! A backup is one SQLite file whichever database the games are in: it can be restored into either, or
//! served as it is.

mod backup;
mod check;

use crate::settings::Settings;
use crate::store::{self, Copied, StoreError, StoreResult};

pub use backup::{backup, restore};
pub use check::{Checked, check};

/// Copies everything into another database, which must be empty; both chains are checked.
///
/// # Errors
/// When a server has the first database open, the second is not empty, or either fails.
pub async fn move_to(settings: &Settings, to: &str) -> StoreResult<(Copied, Checked)> {
    let from = store::open(settings.database.url(), settings.database_connections).await?;
    let others = from.others().await?;
    if others > 0 {
        from.close().await;
        return Err(StoreError::InUse(format!("{others} sessions of servers")));
    }
    check(from.as_ref()).await?;
    let into = store::open(to, settings.database_connections).await?;
    let copied = into.fill(from.snapshot().await?).await;
    let moved = match copied {
        Ok(copied) => check(into.as_ref()).await.map(|checked| (copied, checked)),
        Err(error) => Err(error),
    };
    into.close().await;
    from.close().await;
    moved
}
