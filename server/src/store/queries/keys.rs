//! Keys of callers.

use async_trait::async_trait;
use sqlx::Row;

use super::{Backend, DbConnection, DbRow, Write, alone};
use crate::store::{KeyCard, Keys, Opens, StoreError, Stored};

#[async_trait]
impl Keys for Backend {
    async fn add_first_organiser(&self, key: &KeyCard) -> Stored<bool> {
        self.write(FirstOrganiser(key.clone())).await
    }

    async fn key(&self, id: &str) -> Stored<Option<KeyCard>> {
        let row = sqlx::query(
            "SELECT id, secret_hash, role, seat, invitation, salt, made_at, revoked_at \
             FROM keys WHERE id = $1",
        )
        .bind(id)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.as_ref().map(key_card).transpose()
    }

    async fn key_for_invitation(&self, invitation: &str) -> Stored<Option<KeyCard>> {
        let row = sqlx::query(
            "SELECT id, secret_hash, role, seat, invitation, salt, made_at, revoked_at \
             FROM keys WHERE invitation = $1",
        )
        .bind(invitation)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.as_ref().map(key_card).transpose()
    }
}

struct FirstOrganiser(KeyCard);

#[async_trait]
impl Write for FirstOrganiser {
    type Answer = bool;

    async fn write(&self, connection: &mut DbConnection) -> Stored<bool> {
        // Servers that start together on a new database must not each make one.
        alone(connection).await?;
        let there = sqlx::query("SELECT 1 AS one FROM keys WHERE role = 'organiser' LIMIT 1")
            .fetch_optional(&mut *connection)
            .await?;
        if there.is_some() {
            return Ok(false);
        }
        add_key(connection, &self.0).await?;
        Ok(true)
    }
}

pub(super) async fn add_key(connection: &mut DbConnection, key: &KeyCard) -> Stored<()> {
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
