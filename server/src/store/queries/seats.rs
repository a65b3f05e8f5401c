//! Seats and the invitations to them.

use async_trait::async_trait;
use sqlx::Row;

use super::seat_rows::{seat, seat_columns};
use super::{
    Backend, DbConnection, DbRow, Write, addresses, column, exactly_one, keys, lock_exclusive,
    must_stand,
};
use crate::store::{
    Authority, FreedSeat, GameId, Invitation, MemberId, Origin, Seat, SeatRole, Seats, StoreError,
    StoreResult, TakenSeat,
};

macro_rules! select_seat {
    ($which:literal) => {
        concat!("SELECT ", seat_columns!("seats."), " FROM seats ", $which)
    };
}

#[async_trait]
impl Seats for Backend {
    async fn seats(&self, game: GameId) -> StoreResult<Vec<Seat>> {
        let rows = sqlx::query(select_seat!("WHERE game = $1 ORDER BY place"))
            .bind(&game.0[..])
            .fetch_all(&mut *self.reading().await?)
            .await?;
        rows.iter().map(|row| seat(row, 0)).collect()
    }

    async fn seat(&self, id: &str) -> StoreResult<Option<Seat>> {
        let row = sqlx::query(select_seat!("WHERE id = $1"))
            .bind(id)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.map(|row| seat(&row, 0)).transpose()
    }

    async fn seat_of(&self, member: MemberId, game: GameId) -> StoreResult<Option<Seat>> {
        let row = sqlx::query(select_seat!(
            "\
             WHERE member = $1 AND game = $2 ORDER BY place LIMIT 1"
        ))
        .bind(member.to_string())
        .bind(&game.0[..])
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.map(|row| seat(&row, 0)).transpose()
    }

    async fn seats_of(&self, member: MemberId, limit: u32) -> StoreResult<Vec<Seat>> {
        let rows = sqlx::query(select_seat!(
            "WHERE member = $1 ORDER BY game DESC, place LIMIT $2"
        ))
        .bind(member.to_string())
        .bind(i64::from(limit))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(|row| seat(row, 0)).collect()
    }

    async fn add_seat(
        &self,
        by: &Authority,
        seat: &Seat,
        invitation: &Invitation,
    ) -> StoreResult<()> {
        self.write(Added {
            by: by.clone(),
            seat: seat.clone(),
            invitation: invitation.clone(),
        })
        .await
    }

    async fn take_seat(&self, by: &Authority, taken: &TakenSeat) -> StoreResult<()> {
        self.write(Taken {
            by: by.clone(),
            taken: taken.clone(),
        })
        .await
    }

    async fn free_seat(&self, by: &Authority, freed: &FreedSeat) -> StoreResult<()> {
        self.write(Freed {
            by: by.clone(),
            freed: freed.clone(),
        })
        .await
    }

    async fn invite(&self, by: &Authority, invitation: &Invitation) -> StoreResult<()> {
        self.write(Invited {
            by: by.clone(),
            invitation: invitation.clone(),
        })
        .await
    }

    async fn invitation(&self, id: &str) -> StoreResult<Option<Invitation>> {
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

struct Invited {
    by: Authority,
    invitation: Invitation,
}

#[async_trait]
impl Write for Invited {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        let Invitation {
            seat, issued_at, ..
        } = &self.invitation;
        void_invitations(connection, seat, issued_at).await?;
        add_invitation(connection, &self.invitation).await
    }
}

struct Added {
    by: Authority,
    seat: Seat,
    invitation: Invitation,
}

#[async_trait]
impl Write for Added {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        add_seat(connection, &self.seat).await?;
        add_invitation(connection, &self.invitation).await
    }
}

struct Taken {
    by: Authority,
    taken: TakenSeat,
}

#[async_trait]
impl Write for Taken {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        take_seat(connection, &self.taken).await
    }
}

struct Freed {
    by: Authority,
    freed: FreedSeat,
}

#[async_trait]
impl Write for Freed {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        // A key being renewed at this moment must not outlive the seat.
        lock_exclusive(connection).await?;
        must_stand(connection, &self.by).await?;
        free_seat(connection, &self.freed).await
    }
}

/// Frees a seat, in a transaction that has the keys to itself.
pub(super) async fn free_seat(connection: &mut DbConnection, freed: &FreedSeat) -> StoreResult<()> {
    let FreedSeat { seat, at, at_ms } = freed;
    let free = sqlx::query(
        "UPDATE seats SET player = NULL, taken_at = NULL, member = NULL, by_organiser = FALSE WHERE id = $1",
    )
    .bind(seat)
    .execute(&mut *connection)
    .await?;
    exactly_one(free.rows_affected())?;
    sqlx::query("UPDATE keys SET revoked_at = $2 WHERE seat = $1 AND revoked_at IS NULL")
        .bind(seat)
        .bind(at)
        .execute(&mut *connection)
        .await?;
    addresses::remove_all(connection, seat, *at_ms).await?;
    void_invitations(connection, seat, at).await
}

async fn void_invitations(connection: &mut DbConnection, seat: &str, at: &str) -> StoreResult<()> {
    sqlx::query(
        "UPDATE invitations SET voided_at = $2 WHERE seat = $1 AND used_at IS NULL AND voided_at IS NULL",
    )
    .bind(seat)
    .bind(at)
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn take_seat(connection: &mut DbConnection, taken: &TakenSeat) -> StoreResult<()> {
    let Origin::Invitation { invitation, .. } = &taken.key.origin else {
        return Err(StoreError::Damaged(
            "a seat taken without an invitation".to_owned(),
        ));
    };
    let spent = sqlx::query(
        "UPDATE invitations SET used_at = $2 WHERE id = $1 AND used_at IS NULL AND voided_at IS NULL",
    )
    .bind(invitation)
    .bind(&taken.key.made_at)
    .execute(&mut *connection)
    .await?;
    exactly_one(spent.rows_affected())?;
    let seated = sqlx::query(
        "UPDATE seats SET player = $2, taken_at = $3, member = $4, reads_after = $5, by_organiser = $6 \
         WHERE id = $1 AND player IS NULL",
    )
    .bind(&taken.seat)
    .bind(&taken.player)
    .bind(&taken.key.made_at)
    .bind(taken.member.map(|member| member.to_string()))
    .bind(column(taken.number)?)
    .bind(taken.by_organiser)
    .execute(&mut *connection)
    .await?;
    exactly_one(seated.rows_affected())?;
    keys::add_key(connection, &taken.key).await
}

pub(super) async fn add_seat(connection: &mut DbConnection, seat: &Seat) -> StoreResult<()> {
    let (role, side, side_name) = match &seat.role {
        SeatRole::Player { side, side_name } => ("player", side.as_str(), side_name.as_str()),
        SeatRole::Umpire => ("umpire", "", ""),
        SeatRole::Spectator => ("spectator", "", ""),
    };
    sqlx::query(
        "INSERT INTO seats (id, game, place, role, side, side_name) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(&seat.id)
    .bind(&seat.game.0[..])
    .bind(i64::from(seat.place))
    .bind(role)
    .bind(side)
    .bind(side_name)
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn add_invitation(
    connection: &mut DbConnection,
    invitation: &Invitation,
) -> StoreResult<()> {
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

fn invitation(row: &DbRow) -> StoreResult<Invitation> {
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
