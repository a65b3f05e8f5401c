//! Clocks that wake.

use async_trait::async_trait;
use sqlx::Row;

use super::{Backend, DbConnection, DbRow, Write, bytes, exactly_one};
use crate::store::{Clocks, GameId, Stored, Waking};

#[async_trait]
impl Clocks for Backend {
    async fn waking(&self, by: i64, limit: u32) -> Stored<Vec<Waking>> {
        let rows = sqlx::query(
            "SELECT game, wakes_at FROM clocks WHERE wakes_at <= $1 ORDER BY wakes_at, game LIMIT $2",
        )
        .bind(by)
        .bind(i64::from(limit))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(waking).collect()
    }

    async fn wake_next(&self, waking: &Waking, next: Option<i64>) -> Stored<()> {
        self.write(WakeNext {
            waking: *waking,
            next,
        })
        .await
    }
}

struct WakeNext {
    waking: Waking,
    next: Option<i64>,
}

#[async_trait]
impl Write for WakeNext {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> Stored<()> {
        let gone = sqlx::query("DELETE FROM clocks WHERE game = $1 AND wakes_at = $2")
            .bind(&self.waking.game.0[..])
            .bind(self.waking.wakes_at)
            .execute(&mut *connection)
            .await?;
        exactly_one(gone.rows_affected())?;
        wake_at(connection, self.waking.game, self.next).await
    }
}

/// Lets a game wake then, whatever was set before.
pub(super) async fn wake_at(
    connection: &mut DbConnection,
    game: GameId,
    at: Option<i64>,
) -> Stored<()> {
    sqlx::query("DELETE FROM clocks WHERE game = $1")
        .bind(&game.0[..])
        .execute(&mut *connection)
        .await?;
    if let Some(at) = at {
        sqlx::query("INSERT INTO clocks (game, wakes_at) VALUES ($1, $2)")
            .bind(&game.0[..])
            .bind(at)
            .execute(connection)
            .await?;
    }
    Ok(())
}

fn waking(row: &DbRow) -> Stored<Waking> {
    Ok(Waking {
        game: GameId(bytes(row, "game")?),
        wakes_at: row.try_get("wakes_at")?,
    })
}
