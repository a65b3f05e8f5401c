//! Seats and the invitations to them.

use async_trait::async_trait;
use sqlx::Row;

use super::{Backend, DbConnection, DbRow, Write, bytes, count, exactly_one, keys};
use crate::store::{GameId, Invitation, KeyCard, Opens, Seat, Seats, StoreError, Stored};

#[async_trait]
impl Seats for Backend {
    async fn seats(&self, game: GameId) -> Stored<Vec<Seat>> {
        let rows = sqlx::query(
            "SELECT id, game, place, side, side_name, player FROM seats WHERE game = $1 ORDER BY place",
        )
        .bind(&game.0[..])
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(seat).collect()
    }

    async fn seat(&self, id: &str) -> Stored<Option<Seat>> {
        let row =
            sqlx::query("SELECT id, game, place, side, side_name, player FROM seats WHERE id = $1")
                .bind(id)
                .fetch_optional(&mut *self.reading().await?)
                .await?;
        row.as_ref().map(seat).transpose()
    }

    async fn invite(&self, invitation: &Invitation) -> Stored<()> {
        self.write(invitation.clone()).await
    }

    async fn invitation(&self, id: &str) -> Stored<Option<Invitation>> {
        let row = sqlx::query(
            "SELECT id, seat, secret_hash, issued_at, expires_at, used_at, voided_at \
             FROM invitations WHERE id = $1",
        )
        .bind(id)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.as_ref().map(invitation).transpose()
    }
}

#[async_trait]
impl Write for Invitation {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> Stored<()> {
        sqlx::query(
            "UPDATE invitations SET voided_at = $2 WHERE seat = $1 AND used_at IS NULL AND voided_at IS NULL",
        )
        .bind(&self.seat)
        .bind(&self.issued_at)
        .execute(&mut *connection)
        .await?;
        add_invitation(connection, self).await
    }
}

pub(super) async fn take_seat(
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
    keys::add_key(connection, key).await
}

pub(super) async fn add_seat(connection: &mut DbConnection, seat: &Seat) -> Stored<()> {
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

pub(super) async fn add_invitation(
    connection: &mut DbConnection,
    invitation: &Invitation,
) -> Stored<()> {
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
