//! Clocks that wake.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::{Backend, Db, DbConnection, DbRow, Write, bytes, exactly_one, execute};
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
        wake_at(connection, &[(self.waking.game, self.next)]).await
    }
}

/// Lets games wake then, whatever was set before.
pub(super) async fn wake_at(
    connection: &mut DbConnection,
    games: &[(GameId, Option<i64>)],
) -> Stored<()> {
    if games.is_empty() {
        return Ok(());
    }
    let mut query = QueryBuilder::<Db>::new("DELETE FROM clocks WHERE game IN (");
    query.push_values(games, |mut row, (game, _)| {
        row.push_bind(game.0.to_vec());
    });
    query.push(")");
    execute(query, games.len(), connection).await?;
    let waking = games.iter().filter_map(|(game, at)| Some((game, (*at)?)));
    let waking: Vec<_> = waking.collect();
    if waking.is_empty() {
        return Ok(());
    }
    let mut query = QueryBuilder::<Db>::new("INSERT INTO clocks (game, wakes_at) ");
    query.push_values(&waking, |mut row, (game, at)| {
        row.push_bind(game.0.to_vec()).push_bind(*at);
    });
    execute(query, waking.len(), connection).await?;
    Ok(())
}

fn waking(row: &DbRow) -> Stored<Waking> {
    Ok(Waking {
        game: GameId(bytes(row, "game")?),
        wakes_at: row.try_get("wakes_at")?,
    })
}
