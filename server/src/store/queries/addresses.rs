//! The addresses where seats want their notices: setting them, taking them back.

use async_trait::async_trait;
use sqlx::Row;

use super::notice_rows::{Queued, add_notice};
use super::{DbConnection, Write, exactly_one, must_stand};
use crate::store::{Authority, Kind, NoticeAddress, SetAddresses, StoreResult, Topic};

/// The addresses of a seat, set on somebody's word.
pub(super) struct Set {
    pub(super) by: Authority,
    pub(super) set: SetAddresses,
}

#[async_trait]
impl Write for Set {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        must_stand(connection, &self.by).await?;
        set_addresses(connection, &self.set, self.by.key()).await
    }
}

async fn set_addresses(
    connection: &mut DbConnection,
    set: &SetAddresses,
    by: Option<&str>,
) -> StoreResult<()> {
    let rows =
        sqlx::query("SELECT id FROM notice_addresses WHERE seat = $1 AND removed_at IS NULL")
            .bind(&set.seat)
            .fetch_all(&mut *connection)
            .await?;
    let mut there = Vec::new();
    for row in rows {
        let id: String = row.try_get("id")?;
        if set.addresses.iter().any(|stored| stored.id == id) {
            there.push(id);
        } else {
            remove(connection, &id, set.at).await?;
        }
    }
    for address in &set.addresses {
        if there.contains(&address.id) {
            set_topics(connection, address).await?;
        } else {
            add_address(connection, address, by).await?;
            welcome(connection, set, address).await?;
        }
    }
    Ok(())
}

async fn welcome(
    connection: &mut DbConnection,
    set: &SetAddresses,
    to: &NoticeAddress,
) -> StoreResult<()> {
    let welcome = Queued {
        number: set.number,
        kind: Kind::Welcome,
        since: set.number,
        words: "",
        at: set.at,
    };
    add_notice(connection, (&to.id, to.channel.as_str()), &welcome).await
}

async fn set_topics(connection: &mut DbConnection, address: &NoticeAddress) -> StoreResult<()> {
    let set =
        sqlx::query("UPDATE notice_addresses SET topics = $2 WHERE id = $1 AND removed_at IS NULL")
            .bind(&address.id)
            .bind(topics_column(&address.topics))
            .execute(connection)
            .await?;
    exactly_one(set.rows_affected())
}

async fn add_address(
    connection: &mut DbConnection,
    address: &NoticeAddress,
    by: Option<&str>,
) -> StoreResult<()> {
    sqlx::query(
        "INSERT INTO notice_addresses (id, seat, way, address, topics, secret, set_at, set_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(&address.id)
    .bind(&address.seat)
    .bind(address.channel.as_str())
    .bind(&address.address)
    .bind(topics_column(&address.topics))
    .bind(&address.secret[..])
    .bind(address.set_at)
    .bind(by)
    .execute(connection)
    .await?;
    Ok(())
}

/// An address taken back.
pub(super) struct Remove {
    pub(super) id: String,
    pub(super) at: i64,
}

#[async_trait]
impl Write for Remove {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        remove(connection, &self.id, self.at).await
    }
}

/// What was set with a key counts as set with the one that took its place.
pub(super) async fn pass_on(
    connection: &mut DbConnection,
    key: &str,
    fresh: &str,
) -> StoreResult<()> {
    sqlx::query("UPDATE notice_addresses SET set_by = $2 WHERE set_by = $1 AND removed_at IS NULL")
        .bind(key)
        .bind(fresh)
        .execute(connection)
        .await?;
    Ok(())
}

/// Takes back every address of a seat whose holder has lost it.
pub(super) async fn remove_all(
    connection: &mut DbConnection,
    seat: &str,
    at_ms: i64,
) -> StoreResult<()> {
    let rows =
        sqlx::query("SELECT id FROM notice_addresses WHERE seat = $1 AND removed_at IS NULL")
            .bind(seat)
            .fetch_all(&mut *connection)
            .await?;
    for row in &rows {
        remove(connection, row.try_get("id")?, at_ms).await?;
    }
    Ok(())
}

/// What is left of an address counts how often its seat was given one, and no more.
async fn remove(connection: &mut DbConnection, id: &str, at: i64) -> StoreResult<()> {
    sqlx::query(
        "UPDATE notice_addresses SET removed_at = $2, address = '', secret = $3 \
         WHERE id = $1 AND removed_at IS NULL",
    )
    .bind(id)
    .bind(at)
    .bind(Vec::<u8>::new())
    .execute(&mut *connection)
    .await?;
    sqlx::query("DELETE FROM notices WHERE address = $1")
        .bind(id)
        .execute(connection)
        .await?;
    Ok(())
}

fn topics_column(topics: &[Topic]) -> String {
    let words: Vec<&str> = topics.iter().map(|topic| topic.as_str()).collect();
    words.join(" ")
}
