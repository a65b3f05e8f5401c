//! Keys of callers.

use async_trait::async_trait;
use sqlx::Row;

use super::{
    Backend, DbConnection, DbRow, Write, addresses, exactly_one, lock_exclusive, member_id,
};
use crate::store::{Keys, Opens, Origin, StoreError, StoreResult, StoredKey};

/// A key's columns, in the order in which [`key_card`] reads them.
macro_rules! key_columns {
    ($of:literal) => {
        concat!(
            $of,
            "id, ",
            $of,
            "secret_hash, ",
            $of,
            "role, ",
            $of,
            "seat, ",
            $of,
            "member, ",
            $of,
            "invitation, ",
            $of,
            "renews, ",
            $of,
            "salt, ",
            $of,
            "made_at, ",
            $of,
            "revoked_at"
        )
    };
}
pub(super) use key_columns;

macro_rules! select_key {
    ($which:literal) => {
        concat!("SELECT ", key_columns!("keys."), " FROM keys ", $which)
    };
}

#[async_trait]
impl Keys for Backend {
    async fn add_first_organiser(&self, key: &StoredKey) -> StoreResult<bool> {
        self.write(FirstOrganiser(key.clone())).await
    }

    async fn key(&self, id: &str) -> StoreResult<Option<StoredKey>> {
        let row = sqlx::query(select_key!("WHERE id = $1"))
            .bind(id)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.map(|row| stored_key(&row, 0)).transpose()
    }

    async fn key_for_invitation(&self, invitation: &str) -> StoreResult<Option<StoredKey>> {
        let row = sqlx::query(select_key!("WHERE invitation = $1"))
            .bind(invitation)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.map(|row| stored_key(&row, 0)).transpose()
    }

    async fn key_renewing(&self, renewed: &str) -> StoreResult<Option<StoredKey>> {
        let row = sqlx::query(select_key!("WHERE renews = $1"))
            .bind(renewed)
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        row.map(|row| stored_key(&row, 0)).transpose()
    }

    async fn renew_key(&self, key: &StoredKey) -> StoreResult<()> {
        self.write(Renewed(key.clone())).await
    }

    async fn revoke_key(&self, id: &str, at: &str) -> StoreResult<()> {
        self.write(Revoked {
            id: id.to_owned(),
            at: at.to_owned(),
        })
        .await
    }
}

struct Renewed(StoredKey);

#[async_trait]
impl Write for Renewed {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let Origin::Renewal { renews, .. } = &self.0.origin else {
            return Err(StoreError::Damaged("a renewal of no key".to_owned()));
        };
        // A seat being freed at this moment must not miss the fresh key when it revokes the seat's.
        lock_exclusive(connection).await?;
        revoke(connection, renews, &self.0.made_at).await?;
        add_key(connection, &self.0).await?;
        addresses::pass_on(connection, renews, &self.0.id).await
    }
}

struct Revoked {
    id: String,
    at: String,
}

#[async_trait]
impl Write for Revoked {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        lock_exclusive(connection).await?;
        revoke(connection, &self.id, &self.at).await?;
        somebody_organises(connection).await
    }
}

async fn revoke(connection: &mut DbConnection, id: &str, at: &str) -> StoreResult<()> {
    let revoked =
        sqlx::query("UPDATE keys SET revoked_at = $2 WHERE id = $1 AND revoked_at IS NULL")
            .bind(id)
            .bind(at)
            .execute(connection)
            .await?;
    exactly_one(revoked.rows_affected())
}

struct FirstOrganiser(StoredKey);

#[async_trait]
impl Write for FirstOrganiser {
    type Answer = bool;

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<bool> {
        // Servers that start together on a new database must not each make one.
        lock_exclusive(connection).await?;
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

pub(super) async fn add_key(connection: &mut DbConnection, key: &StoredKey) -> StoreResult<()> {
    let (role, seat, member) = match &key.opens {
        Opens::Organiser => ("organiser", None, None),
        Opens::Seat { seat } => ("seat", Some(seat), None),
        Opens::Member { member } => ("member", None, Some(member.to_string())),
    };
    let (invitation, renews, salt) = match &key.origin {
        Origin::Afresh => (None, None, None),
        Origin::Invitation { invitation, salt } => (Some(invitation), None, Some(&salt[..])),
        Origin::Renewal { renews, salt } => (None, Some(renews), Some(&salt[..])),
    };
    sqlx::query(
        "INSERT INTO keys (id, secret_hash, role, seat, member, invitation, renews, salt, made_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(&key.id)
    .bind(&key.secret_hash[..])
    .bind(role)
    .bind(seat)
    .bind(member)
    .bind(invitation)
    .bind(renews)
    .bind(salt)
    .bind(&key.made_at)
    .execute(connection)
    .await?;
    Ok(())
}

/// Fails a write that would leave nobody with a key to organise.
pub(super) async fn somebody_organises(connection: &mut DbConnection) -> StoreResult<()> {
    let one = sqlx::query(
        "SELECT 1 AS one FROM keys WHERE revoked_at IS NULL AND (role = 'organiser' OR member IN \
         (SELECT id FROM members WHERE role = 'organiser' AND left_at IS NULL)) LIMIT 1",
    )
    .fetch_optional(connection)
    .await?;
    one.map(|_| ()).ok_or(StoreError::LastOrganiser)
}

/// A key, from the columns that begin there.
pub(super) fn stored_key(row: &DbRow, at: usize) -> StoreResult<StoredKey> {
    let role: String = row.try_get(at + 2)?;
    let opens = match role.as_str() {
        "organiser" => Opens::Organiser,
        "seat" => Opens::Seat {
            seat: row.try_get(at + 3)?,
        },
        "member" => Opens::Member {
            member: member_id(row.try_get(at + 4)?)?,
        },
        _ => return Err(StoreError::Damaged(format!("a key of role {role}"))),
    };
    let (invitation, renews) = (row.try_get(at + 5)?, row.try_get(at + 6)?);
    let origin = match (invitation, renews) {
        (Some(invitation), _) => Origin::Invitation {
            invitation,
            salt: row.try_get(at + 7)?,
        },
        (None, Some(renews)) => Origin::Renewal {
            renews,
            salt: row.try_get(at + 7)?,
        },
        (None, None) => Origin::Afresh,
    };
    Ok(StoredKey {
        id: row.try_get(at)?,
        secret_hash: row.try_get(at + 1)?,
        opens,
        origin,
        made_at: row.try_get(at + 8)?,
        revoked_at: row.try_get(at + 9)?,
    })
}
