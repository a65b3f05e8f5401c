//! Records, and what changes together with their entries.

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;
use sqlx::Row;

use super::{
    Backend, DbConnection, DbRow, Write, bytes, clocks, column, count, exactly_one, notices, seats,
};
use crate::store::{
    Append, Change, GameId, Head, Records, SealedInstructions, StoreError, Stored, StoredAnswer,
    StoredEntry, mutant,
};

#[async_trait]
impl Records for Backend {
    async fn entries(&self, game: GameId, after: u64, limit: u32) -> Stored<Vec<StoredEntry>> {
        let rows = sqlx::query(
            "SELECT number, previous, hash, body, at FROM events \
             WHERE game = $1 AND number > $2 ORDER BY number LIMIT $3",
        )
        .bind(&game.0[..])
        .bind(column(after)?)
        .bind(i64::from(limit))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(entry).collect()
    }

    async fn number_of(&self, game: GameId, hash: &Bytes32) -> Stored<Option<u64>> {
        let row = sqlx::query("SELECT number FROM events WHERE game = $1 AND hash = $2")
            .bind(&game.0[..])
            .bind(&hash[..])
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(|row| count(row, "number")).transpose()
    }

    async fn head_before(&self, game: GameId, second: &str) -> Stored<Option<Head>> {
        // Texts compare by their characters: cut to the second, no fraction of one stands in the way.
        let row = sqlx::query(
            "SELECT number, hash FROM events WHERE game = $1 AND at < $2 ORDER BY number DESC LIMIT 1",
        )
        .bind(&game.0[..])
        .bind(second)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        let head = row.map(|row| {
            Ok(Head {
                number: count(&row, "number")?,
                hash: bytes(&row, "hash")?,
            })
        });
        head.transpose()
    }

    async fn append(&self, append: &Append) -> Stored<()> {
        self.write(append.clone()).await
    }

    async fn secret(&self, game: GameId, player_turn: u64) -> Stored<Option<Bytes32>> {
        let row =
            sqlx::query("SELECT secret FROM dice_secrets WHERE game = $1 AND player_turn = $2")
                .bind(&game.0[..])
                .bind(column(player_turn)?)
                .fetch_optional(&mut *self.reading().await?)
                .await?;
        row.as_ref().map(|row| bytes(row, "secret")).transpose()
    }

    async fn sealed(&self, game: GameId) -> Stored<Vec<SealedInstructions>> {
        let rows = sqlx::query(
            "SELECT number, side, nonce, body FROM sealed_instructions WHERE game = $1 ORDER BY number",
        )
        .bind(&game.0[..])
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(sealed).collect()
    }

    async fn answer(&self, key: &str, idempotency_key: &str) -> Stored<Option<StoredAnswer>> {
        let row = sqlx::query(
            "SELECT key, idempotency_key, request_hash, status, body, at FROM answers \
             WHERE key = $1 AND idempotency_key = $2",
        )
        .bind(key)
        .bind(idempotency_key)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.as_ref().map(answer).transpose()
    }
}

#[async_trait]
impl Write for Append {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> Stored<()> {
        move_head(connection, self).await?;
        for entry in &self.entries {
            add_entry(connection, self.game, entry).await?;
        }
        for change in &self.changes {
            carry_out(connection, self.game, change).await?;
        }
        Ok(())
    }

    fn news(&self) -> Option<(GameId, u64)> {
        self.entries.last().map(|last| (self.game, last.number))
    }
}

/// The one place where two appends to a game meet: the second finds the head moved.
async fn move_head(connection: &mut DbConnection, append: &Append) -> Stored<()> {
    let last = append
        .entries
        .last()
        .ok_or_else(|| StoreError::Damaged("an append of nothing".to_owned()))?;
    let moved = sqlx::query(
        "UPDATE games SET head_number = $4, head_hash = $5, player_turn = $6, to_move = $7, ending = $8 \
         WHERE id = $1 AND head_number = $2 AND head_hash = $3",
    )
    .bind(&append.game.0[..])
    .bind(column(append.after.number)?)
    .bind(&append.after.hash[..])
    .bind(column(last.number)?)
    .bind(&last.hash[..])
    .bind(column(append.moment.player_turn)?)
    .bind(append.moment.to_move.as_deref())
    .bind(append.moment.ending.as_deref())
    .execute(connection)
    .await?;
    exactly_one(moved.rows_affected())
}

async fn carry_out(connection: &mut DbConnection, game: GameId, change: &Change) -> Stored<()> {
    match change {
        Change::NextSecret { used, next } => {
            let gone = sqlx::query("DELETE FROM dice_secrets WHERE game = $1 AND player_turn = $2")
                .bind(&game.0[..])
                .bind(column(*used)?)
                .execute(&mut *connection)
                .await?;
            exactly_one(gone.rows_affected())?;
            add_secret(connection, game, used + 1, next).await
        }
        Change::TakeSeat(taken) => seats::take_seat(connection, taken).await,
        Change::Remember(_) if mutant::is("no-idempotency") => Ok(()),
        Change::Seal(sealed) => add_seal(connection, game, sealed).await,
        Change::Remember(answer) => add_answer(connection, answer).await,
        Change::WakeAt(at) => clocks::wake_at(connection, game, *at).await,
        Change::Tell(notice) => notices::queue(connection, game, notice).await,
    }
}

pub(super) async fn add_entry(
    connection: &mut DbConnection,
    game: GameId,
    entry: &StoredEntry,
) -> Stored<()> {
    sqlx::query(
        "INSERT INTO events (game, number, previous, hash, body, at) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(&game.0[..])
    .bind(column(entry.number)?)
    .bind(&entry.previous[..])
    .bind(&entry.hash[..])
    .bind(&entry.body)
    .bind(&entry.at)
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn add_secret(
    connection: &mut DbConnection,
    game: GameId,
    player_turn: u64,
    secret: &Bytes32,
) -> Stored<()> {
    sqlx::query("INSERT INTO dice_secrets (game, player_turn, secret) VALUES ($1, $2, $3)")
        .bind(&game.0[..])
        .bind(column(player_turn)?)
        .bind(&secret[..])
        .execute(connection)
        .await?;
    Ok(())
}

async fn add_seal(
    connection: &mut DbConnection,
    game: GameId,
    sealed: &SealedInstructions,
) -> Stored<()> {
    sqlx::query(
        "INSERT INTO sealed_instructions (game, number, side, nonce, body) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(&game.0[..])
    .bind(column(sealed.number)?)
    .bind(&sealed.side)
    .bind(&sealed.nonce[..])
    .bind(&sealed.body)
    .execute(connection)
    .await?;
    Ok(())
}

async fn add_answer(connection: &mut DbConnection, answer: &StoredAnswer) -> Stored<()> {
    sqlx::query(
        "INSERT INTO answers (key, idempotency_key, request_hash, status, body, at) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(&answer.key)
    .bind(&answer.idempotency_key)
    .bind(&answer.request_hash[..])
    .bind(i64::from(answer.status))
    .bind(&answer.body)
    .bind(&answer.at)
    .execute(connection)
    .await?;
    Ok(())
}

fn entry(row: &DbRow) -> Stored<StoredEntry> {
    Ok(StoredEntry {
        number: count(row, "number")?,
        previous: bytes(row, "previous")?,
        hash: bytes(row, "hash")?,
        body: row.try_get("body")?,
        at: row.try_get("at")?,
    })
}

fn sealed(row: &DbRow) -> Stored<SealedInstructions> {
    Ok(SealedInstructions {
        number: count(row, "number")?,
        side: row.try_get("side")?,
        nonce: bytes(row, "nonce")?,
        body: row.try_get("body")?,
    })
}

fn answer(row: &DbRow) -> Stored<StoredAnswer> {
    Ok(StoredAnswer {
        key: row.try_get("key")?,
        idempotency_key: row.try_get("idempotency_key")?,
        request_hash: bytes(row, "request_hash")?,
        status: count(row, "status")?,
        body: row.try_get("body")?,
        at: row.try_get("at")?,
    })
}
