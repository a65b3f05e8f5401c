//! Every query, once, for whichever database the enclosing module names `Db`.
//!
//! The SQL here is what all of them speak; what they do differently (pools, transactions,
//! migrations) stands in the module that includes this file as its own.

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;
use sqlx::{Database, Row};

use super::{Backend, Db};
use crate::store::{
    Append, Change, GameCard, GameId, Head, Invitation, KeyCard, Moment, Opening, Opens, Readers,
    SealedInstructions, Seat, Store, StoreError, Stored, StoredAnswer, StoredEntry,
};

type DbRow = <Db as Database>::Row;
type DbConnection = <Db as Database>::Connection;

#[async_trait]
impl Store for Backend {
    async fn ping(&self) -> Stored<()> {
        sqlx::query("SELECT 1")
            .execute(&mut *self.reading().await?)
            .await?;
        Ok(())
    }

    async fn close(&self) {
        self.let_go().await;
    }

    async fn add_first_organiser(&self, key: &KeyCard) -> Stored<bool> {
        let mut transaction = self.writing().await?;
        let there = sqlx::query("SELECT 1 AS one FROM keys WHERE role = 'organiser' LIMIT 1")
            .fetch_optional(&mut *transaction)
            .await?;
        if there.is_some() {
            return Ok(false);
        }
        add_key(&mut transaction, key).await?;
        transaction.commit().await?;
        Ok(true)
    }

    async fn key(&self, id: &str) -> Stored<Option<KeyCard>> {
        let row = sqlx::query("SELECT * FROM keys WHERE id = $1")
            .bind(id)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(key_card).transpose()
    }

    async fn key_for_invitation(&self, invitation: &str) -> Stored<Option<KeyCard>> {
        let row = sqlx::query("SELECT * FROM keys WHERE invitation = $1")
            .bind(invitation)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(key_card).transpose()
    }

    async fn open_game(&self, opening: &Opening) -> Stored<()> {
        let mut transaction = self.writing().await?;
        add_card(&mut transaction, &opening.card).await?;
        add_entry(&mut transaction, opening.card.id, &opening.entry).await?;
        add_secret(&mut transaction, opening.card.id, 1, &opening.secret).await?;
        for seat in &opening.seats {
            add_seat(&mut transaction, seat).await?;
        }
        for invitation in &opening.invitations {
            add_invitation(&mut transaction, invitation).await?;
        }
        transaction.commit().await?;
        Ok(())
    }

    async fn game(&self, game: GameId) -> Stored<Option<GameCard>> {
        let row = sqlx::query("SELECT * FROM games WHERE id = $1")
            .bind(&game.0[..])
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(game_card).transpose()
    }

    async fn games(
        &self,
        readers: Readers,
        after: Option<GameId>,
        limit: u32,
    ) -> Stored<Vec<GameCard>> {
        let (all, own) = match readers {
            Readers::All => (true, None),
            Readers::OpenAnd(own) => (false, own),
        };
        let rows = sqlx::query(
            "SELECT * FROM games WHERE id > $1 AND ($2 OR open_to_all OR id = $3) ORDER BY id LIMIT $4",
        )
        .bind(bytes_of(after))
        .bind(all)
        .bind(bytes_of(own))
        .bind(i64::from(limit))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(game_card).collect()
    }

    async fn set_open_to_all(&self, game: GameId, open: bool) -> Stored<()> {
        let mut transaction = self.writing().await?;
        sqlx::query("UPDATE games SET open_to_all = $2 WHERE id = $1")
            .bind(&game.0[..])
            .bind(open)
            .execute(&mut *transaction)
            .await?;
        transaction.commit().await?;
        Ok(())
    }

    async fn entries(&self, game: GameId, after: u64, limit: u32) -> Stored<Vec<StoredEntry>> {
        let rows = sqlx::query(
            "SELECT * FROM events WHERE game = $1 AND number > $2 ORDER BY number LIMIT $3",
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

    async fn append(&self, append: &Append) -> Stored<()> {
        let mut transaction = self.writing().await?;
        move_head(&mut transaction, append).await?;
        for entry in &append.entries {
            add_entry(&mut transaction, append.game, entry).await?;
        }
        for change in &append.changes {
            carry_out(&mut transaction, append.game, change).await?;
        }
        transaction.commit().await?;
        Ok(())
    }

    async fn seats(&self, game: GameId) -> Stored<Vec<Seat>> {
        let rows = sqlx::query("SELECT * FROM seats WHERE game = $1 ORDER BY place")
            .bind(&game.0[..])
            .fetch_all(&mut *self.reading().await?)
            .await?;
        rows.iter().map(seat).collect()
    }

    async fn seat(&self, id: &str) -> Stored<Option<Seat>> {
        let row = sqlx::query("SELECT * FROM seats WHERE id = $1")
            .bind(id)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(seat).transpose()
    }

    async fn invite(&self, invitation: &Invitation) -> Stored<()> {
        let mut transaction = self.writing().await?;
        sqlx::query(
            "UPDATE invitations SET voided_at = $2 WHERE seat = $1 AND used_at IS NULL AND voided_at IS NULL",
        )
        .bind(&invitation.seat)
        .bind(&invitation.issued_at)
        .execute(&mut *transaction)
        .await?;
        add_invitation(&mut transaction, invitation).await?;
        transaction.commit().await?;
        Ok(())
    }

    async fn invitation(&self, id: &str) -> Stored<Option<Invitation>> {
        let row = sqlx::query("SELECT * FROM invitations WHERE id = $1")
            .bind(id)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(invitation).transpose()
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
        let rows = sqlx::query("SELECT * FROM sealed_instructions WHERE game = $1 ORDER BY number")
            .bind(&game.0[..])
            .fetch_all(&mut *self.reading().await?)
            .await?;
        rows.iter().map(sealed).collect()
    }

    async fn answer(&self, key: &str, idempotency_key: &str) -> Stored<Option<StoredAnswer>> {
        let row = sqlx::query("SELECT * FROM answers WHERE key = $1 AND idempotency_key = $2")
            .bind(key)
            .bind(idempotency_key)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.as_ref().map(answer).transpose()
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
        Change::TakeSeat { seat, player, key } => take_seat(connection, seat, player, key).await,
        Change::Seal(sealed) => {
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
        Change::Remember(answer) => {
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
    }
}

async fn take_seat(
    connection: &mut DbConnection,
    seat: &str,
    player: &str,
    key: &KeyCard,
) -> Stored<()> {
    let Opens::Seat { invitation, .. } = &key.opens else {
        return Err(StoreError::Damaged(
            "a seat taken with no seat's key".to_owned(),
        ));
    };
    let spent = sqlx::query(
        "UPDATE invitations SET used_at = $2 WHERE id = $1 AND used_at IS NULL AND voided_at IS NULL",
    )
    .bind(invitation)
    .bind(&key.made_at)
    .execute(&mut *connection)
    .await?;
    exactly_one(spent.rows_affected())?;
    let taken =
        sqlx::query("UPDATE seats SET player = $2, taken_at = $3 WHERE id = $1 AND player IS NULL")
            .bind(seat)
            .bind(player)
            .bind(&key.made_at)
            .execute(&mut *connection)
            .await?;
    exactly_one(taken.rows_affected())?;
    add_key(connection, key).await
}

async fn add_key(connection: &mut DbConnection, key: &KeyCard) -> Stored<()> {
    let (role, seat, invitation, salt) = match &key.opens {
        Opens::Organiser => ("organiser", None, None, None),
        Opens::Seat {
            seat,
            invitation,
            salt,
        } => ("seat", Some(seat), Some(invitation), Some(&salt[..])),
    };
    sqlx::query(
        "INSERT INTO keys (id, secret_hash, role, seat, invitation, salt, made_at) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(&key.id)
    .bind(&key.secret_hash[..])
    .bind(role)
    .bind(seat)
    .bind(invitation)
    .bind(salt)
    .bind(&key.made_at)
    .execute(connection)
    .await?;
    Ok(())
}

async fn add_card(connection: &mut DbConnection, card: &GameCard) -> Stored<()> {
    sqlx::query(
        "INSERT INTO games (id, name, opened_at, open_to_all, head_number, head_hash, game_turns, player_turn, to_move, ending) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(&card.id.0[..])
    .bind(&card.name)
    .bind(&card.opened_at)
    .bind(card.open_to_all)
    .bind(column(card.head.number)?)
    .bind(&card.head.hash[..])
    .bind(i64::from(card.game_turns))
    .bind(column(card.moment.player_turn)?)
    .bind(card.moment.to_move.as_deref())
    .bind(card.moment.ending.as_deref())
    .execute(connection)
    .await?;
    Ok(())
}

async fn add_entry(connection: &mut DbConnection, game: GameId, entry: &StoredEntry) -> Stored<()> {
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

async fn add_secret(
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

async fn add_seat(connection: &mut DbConnection, seat: &Seat) -> Stored<()> {
    sqlx::query(
        "INSERT INTO seats (id, game, place, role, side, side_name) VALUES ($1, $2, $3, 'player', $4, $5)",
    )
    .bind(&seat.id)
    .bind(&seat.game.0[..])
    .bind(i64::from(seat.place))
    .bind(&seat.side)
    .bind(&seat.side_name)
    .execute(connection)
    .await?;
    Ok(())
}

async fn add_invitation(connection: &mut DbConnection, invitation: &Invitation) -> Stored<()> {
    sqlx::query(
        "INSERT INTO invitations (id, seat, secret_hash, issued_at, expires_at) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(&invitation.id)
    .bind(&invitation.seat)
    .bind(&invitation.secret_hash[..])
    .bind(&invitation.issued_at)
    .bind(&invitation.expires_at)
    .execute(connection)
    .await?;
    Ok(())
}

fn exactly_one(rows: u64) -> Stored<()> {
    if rows == 1 {
        Ok(())
    } else {
        Err(StoreError::Overtaken)
    }
}

fn bytes_of(game: Option<GameId>) -> Vec<u8> {
    game.map(|game| game.0.to_vec()).unwrap_or_default()
}

/// A count as databases keep it.
fn column(count: u64) -> Stored<i64> {
    i64::try_from(count).map_err(|_| StoreError::Damaged(format!("a count of {count}")))
}

/// A count as it was kept.
fn count<T: TryFrom<i64>>(row: &DbRow, name: &str) -> Stored<T> {
    let kept: i64 = row.try_get(name)?;
    T::try_from(kept).map_err(|_| StoreError::Damaged(format!("{name} {kept}")))
}

fn bytes<const N: usize>(row: &DbRow, name: &str) -> Stored<[u8; N]> {
    let kept: Vec<u8> = row.try_get(name)?;
    let length = kept.len();
    kept.try_into()
        .map_err(|_| StoreError::Damaged(format!("{name} of {length} bytes")))
}

fn game_card(row: &DbRow) -> Stored<GameCard> {
    Ok(GameCard {
        id: GameId(bytes(row, "id")?),
        name: row.try_get("name")?,
        opened_at: row.try_get("opened_at")?,
        open_to_all: row.try_get("open_to_all")?,
        head: Head {
            number: count(row, "head_number")?,
            hash: bytes(row, "head_hash")?,
        },
        game_turns: count(row, "game_turns")?,
        moment: Moment {
            player_turn: count(row, "player_turn")?,
            to_move: row.try_get("to_move")?,
            ending: row.try_get("ending")?,
        },
    })
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

fn seat(row: &DbRow) -> Stored<Seat> {
    Ok(Seat {
        id: row.try_get("id")?,
        game: GameId(bytes(row, "game")?),
        place: count(row, "place")?,
        side: row.try_get("side")?,
        side_name: row.try_get("side_name")?,
        player: row.try_get("player")?,
    })
}

fn invitation(row: &DbRow) -> Stored<Invitation> {
    Ok(Invitation {
        id: row.try_get("id")?,
        seat: row.try_get("seat")?,
        secret_hash: row.try_get("secret_hash")?,
        issued_at: row.try_get("issued_at")?,
        expires_at: row.try_get("expires_at")?,
        used_at: row.try_get("used_at")?,
        voided_at: row.try_get("voided_at")?,
    })
}

fn key_card(row: &DbRow) -> Stored<KeyCard> {
    let role: String = row.try_get("role")?;
    let opens = match role.as_str() {
        "organiser" => Opens::Organiser,
        "seat" => Opens::Seat {
            seat: row.try_get("seat")?,
            invitation: row.try_get("invitation")?,
            salt: row.try_get("salt")?,
        },
        _ => return Err(StoreError::Damaged(format!("a key of role {role}"))),
    };
    Ok(KeyCard {
        id: row.try_get("id")?,
        secret_hash: row.try_get("secret_hash")?,
        opens,
        made_at: row.try_get("made_at")?,
        revoked_at: row.try_get("revoked_at")?,
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
