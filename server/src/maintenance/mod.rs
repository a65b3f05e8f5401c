//! Copies of all games: backing up, restoring, moving to another database, and checking what is kept.
//!
//! A backup is one SQLite file whichever database the games are in: it can be restored into either, or
//! served as it is.

mod backup;
mod check;

use std::io::{Error, ErrorKind};
use std::time::Duration;

use tokio::time::sleep;

use crate::settings::Settings;
use crate::store::{self, Copied, Store, StoreError, StoreResult};

pub use backup::{backup, restore};
pub use check::{Checked, check};

/// Refuses a database whose file is not there: what reads a database must not make one where a path was mistyped. Whether
/// a PostgreSQL database is there, connecting tells.
///
/// # Errors
/// When there is no such file.
pub fn must_be_there(settings: &Settings) -> StoreResult<()> {
    match settings.database.file() {
        Some(file) if !file.is_file() => {
            let why = format!(
                "there is no database {}: see that the path is right; a server makes one where it is started",
                file.display()
            );
            Err(StoreError::from(Error::new(ErrorKind::NotFound, why)))
        }
        _ => Ok(()),
    }
}

/// How many sessions other servers have open. One that has just ended is in PostgreSQL's list for a moment more, so they
/// are given one.
async fn others_that_stay(store: &dyn Store) -> StoreResult<u64> {
    const LOOKS: u32 = 20;
    const BETWEEN: Duration = Duration::from_millis(100);
    for _ in 0..LOOKS {
        if store.others().await? == 0 {
            return Ok(0);
        }
        sleep(BETWEEN).await;
    }
    store.others().await
}

/// Copies everything into another database, which must be empty; both chains are checked.
///
/// # Errors
/// When a server has the first database open, the second is not empty, or either fails.
pub async fn move_to(settings: &Settings, to: &str) -> StoreResult<(Copied, Checked)> {
    must_be_there(settings)?;
    let from = store::open(settings.database.url(), settings.database_connections).await?;
    let others = others_that_stay(&*from).await?;
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
