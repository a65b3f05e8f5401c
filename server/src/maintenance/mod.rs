//! Copies of all games: backing up, restoring, moving to another database, and checking what is kept.
//!
//! A backup is one SQLite file whichever database the games are in: it can be restored into either, or
//! served as it is.

mod backup;
mod check;

use std::io::{Error, ErrorKind};

use crate::settings::Settings;
use crate::store::{self, Copied, StoreError, StoreResult};

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

/// Copies everything into another database, which must be empty; both chains are checked.
///
/// # Errors
/// When a server has the first database open, the second is not empty, or either fails.
pub async fn move_to(settings: &Settings, to: &str) -> StoreResult<(Copied, Checked)> {
    must_be_there(settings)?;
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
