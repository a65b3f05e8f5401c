//! Games.

use async_trait::async_trait;
use sqlx::Row;

use super::{
    Backend, DbConnection, DbRow, Write, bytes, column, count, must_stand, records, seats,
};
use crate::store::{
    Authority, GameId, Games, Head, Moment, Opening, Readers, StoreResult, StoredGame,
};

/// A game's columns, in the order in which [`stored_game`] reads them.
macro_rules! game_columns {
    ($of:literal) => {
        concat!(
            $of,
            "id, ",
            $of,
            "name, ",
            $of,
            "opened_at, ",
            $of,
            "open_to_all, ",
            $of,
            "spectator_delay_minutes, ",
            $of,
            "head_number, ",
            $of,
            "head_hash, ",
            $of,
            "game_turns, ",
            $of,
            "player_turn, ",
            $of,
            "to_move, ",
            $of,
            "ending"
        )
    };
}
pub(super) use game_columns;

macro_rules! select_game {
    ($which:literal) => {
        concat!("SELECT ", game_columns!("games."), " FROM games ", $which)
    };
}

#[async_trait]
impl Games for Backend {
    async fn open_game(&self, by: &Authority, opening: &Opening) -> StoreResult<()> {
        self.write(Opened {
            by: by.clone(),
            opening: opening.clone(),
        })
        .await
    }

    async fn game(&self, game: GameId) -> StoreResult<Option<StoredGame>> {
        let row = sqlx::query(select_game!("WHERE id = $1"))
            .bind(&game.0[..])
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.map(|row| stored_game(&row, 0)).transpose()
    }

    async fn games(
        &self,
        readers: Readers,
        after: Option<GameId>,
        limit: u32,
    ) -> StoreResult<Vec<StoredGame>> {
        let (all, own, member) = match readers {
            Readers::All => (true, None, None),
            Readers::OpenAnd(own) => (false, own, None),
            Readers::Member(member) => (false, None, Some(member.to_string())),
        };
        let rows = sqlx::query(select_game!(
            "WHERE id > $1 AND ($2 OR open_to_all OR id = $3 \
             OR id IN (SELECT game FROM seats WHERE member = $5)) ORDER BY id LIMIT $4"
        ))
        .bind(bytes_of(after))
        .bind(all)
        .bind(bytes_of(own))
        .bind(i64::from(limit))
        .bind(member)
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(|row| stored_game(row, 0)).collect()
    }

    async fn set_open_to_all(&self, by: &Authority, game: GameId, open: bool) -> StoreResult<()> {
        let by = by.clone();
        self.write(SetOpenToAll { by, game, open }).await
    }

    async fn set_spectator_delay(
        &self,
        by: &Authority,
        game: GameId,
        minutes: u32,
    ) -> StoreResult<()> {
        let by = by.clone();
        self.write(SetSpectatorDelay { by, game, minutes }).await
    }
}

struct Opened {
    by: Authority,
    opening: Opening,
}

#[async_trait]
impl Write for Opened {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        let opening = &self.opening;
        add_game(connection, &opening.game).await?;
        let game = opening.game.id;
        let entries: Vec<_> = opening.entries.iter().map(|entry| (game, entry)).collect();
        records::add_entries(connection, &entries).await?;
        records::add_secret(connection, game, 1, &opening.secret).await?;
        for seat in &opening.seats {
            seats::add_seat(connection, seat).await?;
        }
        for invitation in &opening.invitations {
            seats::add_invitation(connection, invitation).await?;
        }
        Ok(())
    }

    fn news(&self) -> Option<(GameId, u64)> {
        let game = &self.opening.game;
        Some((game.id, game.head.number))
    }
}

struct SetOpenToAll {
    by: Authority,
    game: GameId,
    open: bool,
}

#[async_trait]
impl Write for SetOpenToAll {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        sqlx::query("UPDATE games SET open_to_all = $2 WHERE id = $1")
            .bind(&self.game.0[..])
            .bind(self.open)
            .execute(connection)
            .await?;
        Ok(())
    }
}

struct SetSpectatorDelay {
    by: Authority,
    game: GameId,
    minutes: u32,
}

#[async_trait]
impl Write for SetSpectatorDelay {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        sqlx::query("UPDATE games SET spectator_delay_minutes = $2 WHERE id = $1")
            .bind(&self.game.0[..])
            .bind(i64::from(self.minutes))
            .execute(connection)
            .await?;
        Ok(())
    }
}

async fn add_game(connection: &mut DbConnection, stored_game: &StoredGame) -> StoreResult<()> {
    sqlx::query(
        "INSERT INTO games (id, name, opened_at, open_to_all, spectator_delay_minutes, head_number, head_hash, game_turns, player_turn, to_move, ending) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(&stored_game.id.0[..])
    .bind(&stored_game.name)
    .bind(&stored_game.opened_at)
    .bind(stored_game.open_to_all)
    .bind(i64::from(stored_game.spectator_delay_minutes))
    .bind(column(stored_game.head.number)?)
    .bind(&stored_game.head.hash[..])
    .bind(i64::from(stored_game.game_turns))
    .bind(column(stored_game.moment.player_turn)?)
    .bind(stored_game.moment.to_move.as_deref())
    .bind(stored_game.moment.ending.as_deref())
    .execute(connection)
    .await?;
    Ok(())
}

fn bytes_of(game: Option<GameId>) -> Vec<u8> {
    game.map(|game| game.0.to_vec()).unwrap_or_default()
}

/// A game, from the columns that begin there.
pub(super) fn stored_game(row: &DbRow, at: usize) -> StoreResult<StoredGame> {
    Ok(StoredGame {
        id: GameId(bytes(row, at)?),
        name: row.try_get(at + 1)?,
        opened_at: row.try_get(at + 2)?,
        open_to_all: row.try_get(at + 3)?,
        spectator_delay_minutes: count(row, at + 4)?,
        head: Head {
            number: count(row, at + 5)?,
            hash: bytes(row, at + 6)?,
        },
        game_turns: count(row, at + 7)?,
        moment: Moment {
            player_turn: count(row, at + 8)?,
            to_move: row.try_get(at + 9)?,
            ending: row.try_get(at + 10)?,
        },
    })
}
