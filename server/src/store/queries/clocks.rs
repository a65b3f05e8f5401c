//! Clocks that wake.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::{Backend, Db, DbConnection, DbRow, MOST_ROWS, Write, bytes, exactly_one, push_rows};
use crate::store::{Clocks, GameId, StoreResult, Waking};

#[async_trait]
impl Clocks for Backend {
    async fn waking(&self, by: i64, limit: u32) -> StoreResult<Vec<Waking>> {
        let rows = sqlx::query(
            "SELECT game, wakes_at FROM clocks WHERE wakes_at <= $1 ORDER BY wakes_at, game LIMIT $2",
        )
        .bind(by)
        .bind(i64::from(limit))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(waking).collect()
    }

    async fn wake_next(&self, waking: &Waking, next: Option<i64>) -> StoreResult<()> {
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

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
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
) -> StoreResult<()> {
    for games in games.chunks(MOST_ROWS) {
        let mut query = QueryBuilder::<Db>::new("DELETE FROM clocks WHERE game IN ");
        push_rows(&mut query, games, |row, game| {
            row.push_bind(game.map(|(game, _)| game.0.to_vec()));
        });
        query.build().execute(&mut *connection).await?;
    }
    let waking = games.iter().filter_map(|(game, at)| Some((game, (*at)?)));
    for waking in waking.collect::<Vec<_>>().chunks(MOST_ROWS) {
        let mut query = QueryBuilder::<Db>::new(
            "INSERT INTO clocks (game, wakes_at) SELECT column1, column2 FROM ",
        );
        push_rows(&mut query, waking, |row, waking| {
            row.push_bind(waking.map(|(game, _)| game.0.to_vec()))
                .push_bind(waking.map(|(_, at)| *at));
        });
        query.push(" AS v WHERE column1 IS NOT NULL");
        query.build().execute(&mut *connection).await?;
    }
    Ok(())
}

fn waking(row: &DbRow) -> StoreResult<Waking> {
    Ok(Waking {
        game: GameId(bytes(row, "game")?),
        wakes_at: row.try_get("wakes_at")?,
    })
}
