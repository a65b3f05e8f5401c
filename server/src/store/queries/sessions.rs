//! Sessions of browsers.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::keys::{self, key_columns};
use super::members::{self, member_columns};
use super::seat_rows::{self, seat_columns};
use super::{
    Backend, Db, DbConnection, DbRow, Write, exactly_one, known, lock_exclusive, must_stand,
};
use crate::store::{
    DeviceLink, HeldKey, SessionRows, Sessions, StartSession, StoreError, StoreResult,
    StoredSession,
};

/// A session's columns, in the order in which [`stored_session`] reads them.
macro_rules! session_columns {
    () => {
        "sessions.id, sessions.secret_hash, sessions.device, sessions.started_at, sessions.used_at"
    };
}
pub(super) use session_columns;

/// Where the columns of each begin in a row.
const KEY: usize = 5;
const MEMBER: usize = KEY + 10;
const SEAT: usize = MEMBER + 5;

macro_rules! select_sessions {
    () => {
        concat!(
            "SELECT ",
            session_columns!(),
            ", ",
            key_columns!("keys."),
            ", ",
            member_columns!("members."),
            ", ",
            seat_columns!("seats."),
            " FROM sessions JOIN session_keys ON session_keys.session = sessions.id \
             JOIN keys ON keys.id = session_keys.key AND keys.revoked_at IS NULL \
             LEFT JOIN members ON members.id = keys.member LEFT JOIN seats ON seats.id = keys.seat \
             WHERE members.left_at IS NULL AND "
        )
    };
}

#[async_trait]
impl Sessions for Backend {
    async fn session(&self, id: &str) -> StoreResult<Option<SessionRows>> {
        let rows = sqlx::query(concat!(
            select_sessions!(),
            "sessions.id = $1 ORDER BY keys.id"
        ))
        .bind(id)
        .fetch_all(&mut *self.reading().await?)
        .await?;
        Ok(gathered(&rows)?.pop())
    }

    async fn sessions_with(&self, keys: &[String]) -> StoreResult<Vec<SessionRows>> {
        let mut query = QueryBuilder::<Db>::new(concat!(
            select_sessions!(),
            "sessions.id IN (SELECT session FROM session_keys WHERE key IN ("
        ));
        push_texts(&mut query, keys);
        query.push(
            ")) ORDER BY sessions.used_at DESC, sessions.started_at DESC, sessions.id, keys.id",
        );
        let rows = query
            .build()
            .persistent(false)
            .fetch_all(&mut *self.reading().await?)
            .await?;
        gathered(&rows)
    }

    async fn start_session(&self, start: &StartSession) -> StoreResult<()> {
        self.write(Started(start.clone())).await
    }

    async fn use_session(&self, id: &str, at: i64) -> StoreResult<()> {
        self.write(Used {
            id: id.to_owned(),
            at,
        })
        .await
    }

    async fn take_from_sessions(&self, keys: &[String], session: Option<&str>) -> StoreResult<()> {
        self.write(TakenOut {
            keys: keys.to_vec(),
            session: session.map(str::to_owned),
        })
        .await
    }

    async fn end_session(&self, id: &str) -> StoreResult<()> {
        self.write(Ended(id.to_owned())).await
    }

    async fn add_device_link(&self, link: &DeviceLink) -> StoreResult<()> {
        self.write(Linked(link.clone())).await
    }

    async fn device_link(&self, id: &str) -> StoreResult<Option<DeviceLink>> {
        let row = sqlx::query(
            "SELECT id, secret_hash, session, expires_at FROM device_links WHERE id = $1",
        )
        .bind(id)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.as_ref().map(device_link).transpose()
    }
}

struct Started(StartSession);

#[async_trait]
impl Write for Started {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let start = &self.0;
        // A key that ends at this moment, or a session that is ended, must not live on in this one.
        lock_exclusive(connection).await?;
        must_stand(connection, &start.by).await?;
        forget_idle(connection, start.idle_since).await?;
        let StoredSession { id, .. } = &start.session;
        add_session(connection, &start.session).await?;
        if let Some(key) = &start.key {
            hold(connection, id, key).await?;
        }
        if let Some(link) = &start.link {
            let giver = spend(connection, link).await?;
            hold_those_of(connection, id, &giver).await?;
        }
        if let Some(old) = &start.in_place_of {
            hold_those_of(connection, id, old).await?;
            end(connection, old).await?;
        }
        let held = sqlx::query("SELECT 1 AS one FROM session_keys WHERE session = $1 LIMIT 1")
            .bind(id)
            .fetch_optional(connection)
            .await?;
        held.map(|_| ()).ok_or(StoreError::Overtaken)
    }
}

async fn add_session(connection: &mut DbConnection, session: &StoredSession) -> StoreResult<()> {
    sqlx::query(
        "INSERT INTO sessions (id, secret_hash, device, started_at, used_at) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(&session.id)
    .bind(&session.secret_hash[..])
    .bind(&session.device)
    .bind(session.started_at)
    .bind(session.used_at)
    .execute(connection)
    .await?;
    Ok(())
}

async fn hold(connection: &mut DbConnection, session: &str, key: &str) -> StoreResult<()> {
    sqlx::query("INSERT INTO session_keys (session, key) VALUES ($1, $2) ON CONFLICT DO NOTHING")
        .bind(session)
        .bind(key)
        .execute(connection)
        .await?;
    Ok(())
}

/// Puts the keys of one session that still open something into another too.
async fn hold_those_of(connection: &mut DbConnection, session: &str, of: &str) -> StoreResult<()> {
    sqlx::query(
        "INSERT INTO session_keys (session, key) SELECT $1, h.key FROM session_keys h \
         JOIN keys k ON k.id = h.key WHERE h.session = $2 AND k.revoked_at IS NULL ON CONFLICT DO NOTHING",
    )
    .bind(session)
    .bind(of)
    .execute(connection)
    .await?;
    Ok(())
}

/// Spends a link; the session whose keys it gives.
async fn spend(connection: &mut DbConnection, link: &str) -> StoreResult<String> {
    let row = sqlx::query("DELETE FROM device_links WHERE id = $1 RETURNING session")
        .bind(link)
        .fetch_optional(connection)
        .await?;
    let row = row.ok_or(StoreError::Overtaken)?;
    Ok(row.try_get(0)?)
}

async fn end(connection: &mut DbConnection, session: &str) -> StoreResult<()> {
    for sql in [
        "DELETE FROM device_links WHERE session = $1",
        "DELETE FROM session_keys WHERE session = $1",
        "DELETE FROM sessions WHERE id = $1",
    ] {
        sqlx::query(sql)
            .bind(session)
            .execute(&mut *connection)
            .await?;
    }
    Ok(())
}

/// Ends sessions that nobody has used since then.
async fn forget_idle(connection: &mut DbConnection, since: i64) -> StoreResult<()> {
    for sql in [
        "DELETE FROM device_links WHERE session IN (SELECT id FROM sessions WHERE used_at < $1)",
        "DELETE FROM session_keys WHERE session IN (SELECT id FROM sessions WHERE used_at < $1)",
        "DELETE FROM sessions WHERE used_at < $1",
    ] {
        sqlx::query(sql)
            .bind(since)
            .execute(&mut *connection)
            .await?;
    }
    Ok(())
}

struct Used {
    id: String,
    at: i64,
}

#[async_trait]
impl Write for Used {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        sqlx::query("UPDATE sessions SET used_at = $2 WHERE id = $1 AND used_at < $2")
            .bind(&self.id)
            .bind(self.at)
            .execute(connection)
            .await?;
        Ok(())
    }
}

struct TakenOut {
    keys: Vec<String>,
    session: Option<String>,
}

#[async_trait]
impl Write for TakenOut {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        // What is being written under the session goes first or not at all.
        lock_exclusive(connection).await?;
        let mut query = QueryBuilder::<Db>::new("DELETE FROM session_keys WHERE key IN (");
        push_texts(&mut query, &self.keys);
        query.push(")");
        if let Some(session) = &self.session {
            query.push(" AND session = ").push_bind(session.clone());
        }
        query
            .build()
            .persistent(false)
            .execute(&mut *connection)
            .await?;
        // Those that hold nothing any more which opens anything.
        let ended = sqlx::query(
            "SELECT id FROM sessions WHERE id NOT IN (SELECT h.session FROM session_keys h \
             JOIN keys k ON k.id = h.key WHERE k.revoked_at IS NULL)",
        )
        .fetch_all(&mut *connection)
        .await?;
        for row in ended {
            end(connection, row.try_get(0)?).await?;
        }
        Ok(())
    }
}

struct Ended(String);

#[async_trait]
impl Write for Ended {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        lock_exclusive(connection).await?;
        end(connection, &self.0).await
    }
}

struct Linked(DeviceLink);

#[async_trait]
impl Write for Linked {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        let link = &self.0;
        lock_exclusive(connection).await?;
        sqlx::query("DELETE FROM device_links WHERE session = $1")
            .bind(&link.session)
            .execute(&mut *connection)
            .await?;
        let added = sqlx::query(
            "INSERT INTO device_links (id, secret_hash, session, expires_at) \
             SELECT $1, $2, id, $4 FROM sessions WHERE id = $3",
        )
        .bind(&link.id)
        .bind(&link.secret_hash[..])
        .bind(&link.session)
        .bind(link.expires_at)
        .execute(connection)
        .await?;
        exactly_one(added.rows_affected())
    }
}

fn push_texts(query: &mut QueryBuilder<Db>, texts: &[String]) {
    let mut listed = query.separated(", ");
    for text in texts {
        listed.push_bind(text.clone());
    }
    if texts.is_empty() {
        listed.push("NULL");
    }
}

/// Sessions with their keys, from rows of which those of a session follow each other.
fn gathered(rows: &[DbRow]) -> StoreResult<Vec<SessionRows>> {
    let mut found: Vec<SessionRows> = Vec::new();
    for row in rows {
        let session = stored_session(row, 0)?;
        let held = HeldKey {
            key: keys::stored_key(row, KEY)?,
            member: known(row, MEMBER, members::member)?,
            seat: known(row, SEAT, seat_rows::seat)?,
        };
        match found
            .last_mut()
            .filter(|last| last.session.id == session.id)
        {
            Some(last) => last.keys.push(held),
            None => found.push(SessionRows {
                session,
                keys: vec![held],
            }),
        }
    }
    Ok(found)
}

/// A session, from the columns that begin there.
pub(super) fn stored_session(row: &DbRow, at: usize) -> StoreResult<StoredSession> {
    Ok(StoredSession {
        id: row.try_get(at)?,
        secret_hash: row.try_get(at + 1)?,
        device: row.try_get(at + 2)?,
        started_at: row.try_get(at + 3)?,
        used_at: row.try_get(at + 4)?,
    })
}

fn device_link(row: &DbRow) -> StoreResult<DeviceLink> {
    Ok(DeviceLink {
        id: row.try_get("id")?,
        secret_hash: row.try_get("secret_hash")?,
        session: row.try_get("session")?,
        expires_at: row.try_get("expires_at")?,
    })
}
