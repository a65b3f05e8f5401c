//! Records, and what changes together with their entries.

use std::collections::BTreeSet;
use std::sync::Arc;

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;
use futures_util::TryStreamExt;
use sqlx::{QueryBuilder, Row};

use super::authority::key_stands;
use super::{
    Backend, Db, DbConnection, DbRow, MOST_ROWS, Write, bytes, clocks, column, count, must_stand,
    notices, push_rows, seats,
};
use crate::store::{
    Append, Change, GameId, Head, Notice, Records, SealedInstructions, StoreError, StoreResult,
    StoredAnswer, StoredEntry, mutant,
};

/// Entries are read no further than to the one with which they are as long as this.
const PAGE_BYTES: usize = 256 * 1024;

#[async_trait]
impl Records for Backend {
    async fn entries(&self, game: GameId, after: u64, limit: u32) -> StoreResult<Vec<StoredEntry>> {
        let mut connection = self.reading().await?;
        let mut rows = sqlx::query(
            "SELECT number, previous, hash, body, at FROM events \
             WHERE game = $1 AND number > $2 ORDER BY number LIMIT $3",
        )
        .bind(&game.0[..])
        .bind(column(after)?)
        .bind(i64::from(limit))
        .fetch(&mut *connection);
        let (mut entries, mut bytes) = (Vec::new(), 0);
        while let Some(row) = rows.try_next().await? {
            let entry = entry(&row)?;
            bytes += entry.body.len();
            entries.push(entry);
            if bytes >= PAGE_BYTES {
                break;
            }
        }
        Ok(entries)
    }

    async fn number_of(&self, game: GameId, hash: &Bytes32) -> StoreResult<Option<u64>> {
        let row = sqlx::query("SELECT number FROM events WHERE game = $1 AND hash = $2")
            .bind(&game.0[..])
            .bind(&hash[..])
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(|row| count(row, "number")).transpose()
    }

    async fn head_before(&self, game: GameId, second: &str) -> StoreResult<Option<Head>> {
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

    async fn append(&self, append: &Append) -> StoreResult<()> {
        self.append_soon(Arc::new(append.clone())).await
    }

    async fn secret(&self, game: GameId, player_turn: u64) -> StoreResult<Option<Bytes32>> {
        let row =
            sqlx::query("SELECT secret FROM dice_secrets WHERE game = $1 AND player_turn = $2")
                .bind(&game.0[..])
                .bind(column(player_turn)?)
                .fetch_optional(&mut *self.reading().await?)
                .await?;
        row.as_ref().map(|row| bytes(row, "secret")).transpose()
    }

    async fn sealed(&self, game: GameId) -> StoreResult<Vec<SealedInstructions>> {
        sealed_in(&mut *self.reading().await?, game).await
    }

    async fn answer(&self, key: &str, idempotency_key: &str) -> StoreResult<Option<StoredAnswer>> {
        let row = sqlx::query(
            "SELECT key, idempotency_key, request_hash, status, body, at FROM answers \
             WHERE key = $1 AND idempotency_key = $2",
        )
        .bind(key)
        .bind(idempotency_key)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.map(|row| answer(&row, 0)).transpose()
    }
}

pub(super) async fn sealed_in(
    connection: &mut DbConnection,
    game: GameId,
) -> StoreResult<Vec<SealedInstructions>> {
    let rows = sqlx::query(
        "SELECT number, side, nonce, body FROM sealed_instructions WHERE game = $1 ORDER BY number",
    )
    .bind(&game.0[..])
    .fetch_all(connection)
    .await?;
    rows.iter().map(sealed).collect()
}

#[async_trait]
impl Write for Append {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let held = append_all(connection, &[self]).await?.pop();
        held.unwrap_or(Err(StoreError::NotRun))
    }

    fn news(&self) -> Option<(GameId, u64)> {
        self.entries.last().map(|last| (self.game, last.number))
    }
}

/// Appends to the records of several games, no game twice; whether each held. One that did not was overtaken, or
/// its caller's key has ended, and has changed nothing. An error of all is everybody's: the transaction must be rolled
/// back, and whose fault it was is found by writing each alone.
pub(crate) async fn append_all(
    connection: &mut DbConnection,
    appends: &[&Append],
) -> StoreResult<Vec<StoreResult<()>>> {
    let moved = move_heads(connection, appends).await?;
    let mut held = Vec::with_capacity(appends.len());
    for append in appends {
        held.push(match moved.contains(&append.game) {
            true => Ok(()),
            false => Err(why_not(connection, append).await?),
        });
    }
    let appends = appends.iter().filter(|of| moved.contains(&of.game));
    let appends: Vec<&Append> = appends.copied().collect();
    let mut entries = Vec::new();
    for append in &appends {
        entries.extend(append.entries.iter().map(|entry| (append.game, entry)));
    }
    add_entries(connection, &entries).await?;
    // Each append's changes are made in their order: all the first ones, then all the second ones.
    let most = appends.iter().map(|append| append.changes.len()).max();
    for place in 0..most.unwrap_or(0) {
        let mut gathered = Gathered::default();
        for append in &appends {
            match append.changes.get(place) {
                None => {}
                Some(Change::TakeSeat(taken)) => seats::take_seat(connection, taken).await?,
                Some(Change::FreeSeat(freed)) => seats::free_seat(connection, freed).await?,
                Some(Change::Seal(sealed)) => add_seal(connection, append.game, sealed).await?,
                Some(change) => gathered.add(append.game, change),
            }
        }
        gathered.carry_out(connection).await?;
    }
    Ok(held)
}

/// Why an append did not hold: whoever may not append any more is told so, whether or not the head has moved as well.
async fn why_not(connection: &mut DbConnection, append: &Append) -> StoreResult<StoreError> {
    match must_stand(connection, &append.by).await {
        Ok(()) => Ok(StoreError::Overtaken),
        Err(StoreError::KeyEnded) => Ok(StoreError::KeyEnded),
        Err(error) => Err(error),
    }
}

/// The one place where two appends to a game meet: the second finds the head moved; and where each caller is asked
/// again whether they may. The games whose heads were where they had to be.
async fn move_heads(
    connection: &mut DbConnection,
    appends: &[&Append],
) -> StoreResult<BTreeSet<GameId>> {
    let mut heads = Vec::with_capacity(appends.len());
    for append in appends {
        let last = append
            .entries
            .last()
            .ok_or_else(|| StoreError::Damaged("an append of nothing".to_owned()))?;
        let (from, to) = (column(append.after.number)?, column(last.number)?);
        let player_turn = column(append.moment.player_turn)?;
        heads.push((append, from, to, last.hash, player_turn));
    }
    let mut query = QueryBuilder::<Db>::new(
        "UPDATE games SET head_number = v.column4, head_hash = v.column5, player_turn = v.column6, \
         to_move = v.column7, ending = v.column8 FROM ",
    );
    push_rows(&mut query, &heads, |row, head| {
        let append = head.map(|(append, ..)| append);
        row.push_bind(append.map(|append| append.game.0.to_vec()))
            .push_bind(head.map(|(_, from, ..)| *from))
            .push_bind(append.map(|append| append.after.hash.to_vec()))
            .push_bind(head.map(|(_, _, to, ..)| *to))
            .push_bind(head.map(|(_, _, _, hash, _)| hash.to_vec()))
            .push_bind(head.map(|(.., player_turn)| *player_turn))
            .push_bind(append.and_then(|append| append.moment.to_move.clone()))
            .push_bind(append.and_then(|append| append.moment.ending.clone()))
            .push_bind(append.and_then(|append| append.by.key().map(str::to_owned)))
            .push_bind(append.map(|append| append.by.organises()))
            .push_bind(append.and_then(|append| append.by.seat().map(str::to_owned)))
            .push_bind(append.and_then(|append| append.by.session().map(str::to_owned)));
    });
    query.push(concat!(
        " AS v WHERE games.id = v.column1 AND games.head_number = v.column2 AND games.head_hash = v.column3 AND ",
        key_stands!("v.column9", "v.column10", "v.column11", "v.column12"),
        " RETURNING id"
    ));
    let rows = query.build().fetch_all(connection).await?;
    rows.iter().map(|row| Ok(GameId(bytes(row, 0)?))).collect()
}

/// A secret that takes the place of the one kept for a player turn.
struct NewSecret {
    game: GameId,
    /// The player turn whose secret goes.
    of: u64,
    /// The player turn that it is for.
    player_turn: u64,
    secret: Bytes32,
}

/// Changes to several games, at most one to each: those of a kind are made in one statement.
#[derive(Default)]
struct Gathered<'a> {
    secrets: Vec<NewSecret>,
    answers: Vec<&'a StoredAnswer>,
    wakings: Vec<(GameId, Option<i64>)>,
    notices: Vec<(GameId, &'a Notice)>,
}

impl<'a> Gathered<'a> {
    fn add(&mut self, game: GameId, change: &'a Change) {
        match change {
            Change::NextSecret { used, next } => self.secrets.push(NewSecret {
                game,
                of: *used,
                player_turn: used + 1,
                secret: *next,
            }),
            Change::RenewSecret {
                player_turn,
                secret,
            } => self.secrets.push(NewSecret {
                game,
                of: *player_turn,
                player_turn: *player_turn,
                secret: *secret,
            }),
            Change::StoreAnswer(_) if mutant::is("no-idempotency") => {}
            Change::StoreAnswer(answer) => self.answers.push(answer),
            Change::WakeAt(at) => self.wakings.push((game, *at)),
            Change::QueueNotice(notice) => self.notices.push((game, notice)),
            // Each is made by itself.
            Change::TakeSeat(_) | Change::FreeSeat(_) | Change::Seal(_) => {}
        }
    }

    async fn carry_out(self, connection: &mut DbConnection) -> StoreResult<()> {
        replace_secrets(connection, &self.secrets).await?;
        add_answers(connection, &self.answers).await?;
        clocks::wake_at(connection, &self.wakings).await?;
        notices::queue(connection, &self.notices).await
    }
}

pub(super) async fn add_entries(
    connection: &mut DbConnection,
    entries: &[(GameId, &StoredEntry)],
) -> StoreResult<()> {
    for entries in entries.chunks(MOST_ROWS) {
        let mut query = QueryBuilder::<Db>::new(
            "INSERT INTO events (game, number, previous, hash, body, at) \
             SELECT column1, column2, column3, column4, column5, column6 FROM ",
        );
        push_rows(&mut query, entries, |row, entry| {
            let (game, entry) = entry.map(|(game, entry)| (*game, *entry)).unzip();
            row.push_bind(game.map(|game| game.0.to_vec()))
                .push_bind(entry.map(|entry| entry.number.cast_signed()))
                .push_bind(entry.map(|entry| entry.previous.to_vec()))
                .push_bind(entry.map(|entry| entry.hash.to_vec()))
                .push_bind(entry.map(|entry| entry.body.clone()))
                .push_bind(entry.map(|entry| entry.at.clone()));
        });
        query.push(" AS v WHERE column1 IS NOT NULL");
        query.build().execute(&mut *connection).await?;
    }
    Ok(())
}

/// Puts secrets in the place of others, each of which must be there.
async fn replace_secrets(connection: &mut DbConnection, secrets: &[NewSecret]) -> StoreResult<()> {
    for secrets in secrets.chunks(MOST_ROWS) {
        let mut query = QueryBuilder::<Db>::new(
            "UPDATE dice_secrets SET player_turn = v.column3, secret = v.column4 FROM ",
        );
        push_rows(&mut query, secrets, |row, secret| {
            row.push_bind(secret.map(|new| new.game.0.to_vec()))
                .push_bind(secret.map(|new| new.of.cast_signed()))
                .push_bind(secret.map(|new| new.player_turn.cast_signed()))
                .push_bind(secret.map(|new| new.secret.to_vec()));
        });
        query.push(
            " AS v WHERE dice_secrets.game = v.column1 AND dice_secrets.player_turn = v.column2",
        );
        let replaced = query.build().execute(&mut *connection).await?;
        if replaced.rows_affected() != secrets.len() as u64 {
            return Err(StoreError::Overtaken);
        }
    }
    Ok(())
}

pub(super) async fn add_secret(
    connection: &mut DbConnection,
    game: GameId,
    player_turn: u64,
    secret: &Bytes32,
) -> StoreResult<()> {
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
) -> StoreResult<()> {
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

async fn add_answers(connection: &mut DbConnection, answers: &[&StoredAnswer]) -> StoreResult<()> {
    for answers in answers.chunks(MOST_ROWS) {
        let mut query = QueryBuilder::<Db>::new(
            "INSERT INTO answers (key, idempotency_key, request_hash, status, body, at) \
             SELECT column1, column2, column3, column4, column5, column6 FROM ",
        );
        push_rows(&mut query, answers, |row, answer| {
            row.push_bind(answer.map(|answer| answer.key.clone()))
                .push_bind(answer.map(|answer| answer.idempotency_key.clone()))
                .push_bind(answer.map(|answer| answer.request_hash.to_vec()))
                .push_bind(answer.map(|answer| i64::from(answer.status)))
                .push_bind(answer.map(|answer| answer.body.clone()))
                .push_bind(answer.map(|answer| answer.at.clone()));
        });
        query.push(" AS v WHERE column1 IS NOT NULL");
        query.build().execute(&mut *connection).await?;
    }
    Ok(())
}

fn entry(row: &DbRow) -> StoreResult<StoredEntry> {
    Ok(StoredEntry {
        number: count(row, "number")?,
        previous: bytes(row, "previous")?,
        hash: bytes(row, "hash")?,
        body: row.try_get("body")?,
        at: row.try_get("at")?,
    })
}

fn sealed(row: &DbRow) -> StoreResult<SealedInstructions> {
    Ok(SealedInstructions {
        number: count(row, "number")?,
        side: row.try_get("side")?,
        nonce: bytes(row, "nonce")?,
        body: row.try_get("body")?,
    })
}

pub(super) fn answer(row: &DbRow, at: usize) -> StoreResult<StoredAnswer> {
    Ok(StoredAnswer {
        key: row.try_get(at)?,
        idempotency_key: row.try_get(at + 1)?,
        request_hash: bytes(row, at + 2)?,
        status: count(row, at + 3)?,
        body: row.try_get(at + 4)?,
        at: row.try_get(at + 5)?,
    })
}
