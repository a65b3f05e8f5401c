//! Whether whoever asks for something to be written still may.

use super::{DbConnection, lock_keys};
use crate::store::{Authority, StoreError, StoreResult};

/// The condition that a key still opens what it must: its id, whether it must open what an organiser may do, and the
/// seat it must open; and that the session in which it was named, if it was, still holds it. No key: nothing must hold.
macro_rules! key_stands {
    ($key:literal, $organises:literal, $seat:literal, $session:literal) => {
        concat!(
            "(",
            $key,
            " IS NULL OR EXISTS (SELECT 1 FROM keys k LEFT JOIN members m ON m.id = k.member WHERE k.id = ",
            $key,
            " AND k.revoked_at IS NULL AND m.left_at IS NULL AND (NOT ",
            $organises,
            " OR k.role = 'organiser' OR m.role = 'organiser') AND (",
            $seat,
            " IS NULL OR k.seat = ",
            $seat,
            " OR EXISTS (SELECT 1 FROM seats s WHERE s.id = ",
            $seat,
            " AND s.member = k.member)) AND (",
            $session,
            " IS NULL OR EXISTS (SELECT 1 FROM session_keys h WHERE h.session = ",
            $session,
            " AND h.key = k.id))))"
        )
    };
}
pub(super) use key_stands;

/// Fails a write whose asker may not any more. No key ends from here on until the transaction does.
pub(super) async fn must_stand(connection: &mut DbConnection, by: &Authority) -> StoreResult<()> {
    let Authority::Key { key, .. } = by else {
        return Ok(());
    };
    lock_keys(connection).await?;
    let stands = sqlx::query(concat!(
        "SELECT 1 AS one FROM (VALUES ($1, $2, $3, $4)) AS v WHERE ",
        key_stands!("column1", "column2", "column3", "column4")
    ))
    .bind(key)
    .bind(by.organises())
    .bind(by.seat())
    .bind(by.session())
    .fetch_optional(connection)
    .await?;
    stands.map(|_| ()).ok_or(StoreError::KeyEnded)
}
