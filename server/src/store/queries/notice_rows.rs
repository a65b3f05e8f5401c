//! Rows of the queue of notices, which addresses and appends write.

use super::{DbConnection, column};
use crate::store::{Kind, StoreResult};

/// One row of the queue.
pub(super) struct Queued<'a> {
    pub(super) number: u64,
    pub(super) kind: Kind,
    pub(super) since: u64,
    pub(super) words: &'a str,
    pub(super) at: i64,
}

pub(super) async fn add_notice(
    connection: &mut DbConnection,
    (address, channel): (&str, &str),
    row: &Queued<'_>,
) -> StoreResult<()> {
    sqlx::query(
        "INSERT INTO notices (address, number, kind, since, words, way, queued_at, due_at, tries) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $7, 0) ON CONFLICT DO NOTHING",
    )
    .bind(address)
    .bind(column(row.number)?)
    .bind(row.kind.to_string())
    .bind(column(row.since)?)
    .bind(row.words)
    .bind(channel)
    .bind(row.at)
    .execute(connection)
    .await?;
    Ok(())
}
