//! Where seats want their notices, and the queue of notices.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::addresses::{Remove, Set};
use super::notice_rows::{Queued, add_notice};
use super::seat_rows::{self, seat_columns};
use super::settling::Settle;
use super::{
    Backend, Db, DbConnection, DbRow, MOST_ROWS, SKIP_LOCKED, Write, bytes, column, count,
    must_stand, push_rows,
};
use crate::store::{
    Authority, Channel, DeadNotice, GameId, Notice, NoticeAddress, NoticeId, NoticeOutcome,
    Notices, Seat, SetAddresses, StoreError, StoreResult, TakeNotices, TakenNotice, Topic,
};

#[async_trait]
impl Notices for Backend {
    async fn notice_addresses(&self, seat: &str) -> StoreResult<Vec<NoticeAddress>> {
        let rows = sqlx::query(
            "SELECT id, seat, way, address, topics, secret, set_at, set_by FROM notice_addresses \
             WHERE seat = $1 AND removed_at IS NULL ORDER BY way",
        )
        .bind(seat)
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(address).collect()
    }

    async fn notice_addresses_set_by(&self, key: &str) -> StoreResult<Vec<NoticeAddress>> {
        let rows = sqlx::query(
            "SELECT id, seat, way, address, topics, secret, set_at, set_by FROM notice_addresses \
             WHERE set_by = $1 AND removed_at IS NULL ORDER BY set_at, id",
        )
        .bind(key)
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(address).collect()
    }

    async fn notice_address(&self, id: &str) -> StoreResult<Option<NoticeAddress>> {
        let row = sqlx::query(
            "SELECT id, seat, way, address, topics, secret, set_at, set_by FROM notice_addresses \
             WHERE id = $1 AND removed_at IS NULL",
        )
        .bind(id)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        row.as_ref().map(address).transpose()
    }

    async fn notice_addresses_set(
        &self,
        seat: &str,
        channel: Channel,
        since: i64,
    ) -> StoreResult<u32> {
        let row = sqlx::query(
            "SELECT COUNT(*) AS times FROM notice_addresses WHERE seat = $1 AND way = $2 AND set_at > $3",
        )
        .bind(seat)
        .bind(channel.as_str())
        .bind(since)
        .fetch_one(&mut *self.reading().await?)
        .await?;
        count(&row, "times")
    }

    async fn set_notice_addresses(&self, by: &Authority, set: &SetAddresses) -> StoreResult<()> {
        self.write(Set {
            by: by.clone(),
            set: set.clone(),
        })
        .await
    }

    async fn remove_notice_address(&self, id: &str, at: i64) -> StoreResult<()> {
        let id = id.to_owned();
        self.write(Remove { id, at }).await
    }

    async fn queue_notice(&self, game: GameId, notice: &Notice) -> StoreResult<()> {
        let notice = notice.clone();
        self.write(Queue { game, notice }).await
    }

    async fn take_notices(&self, take: &TakeNotices) -> StoreResult<Vec<TakenNotice>> {
        self.write(take.clone()).await
    }

    async fn settle_notice(&self, taken: &TakenNotice, outcome: &NoticeOutcome) -> StoreResult<()> {
        self.write(Settle {
            id: taken.id.clone(),
            tries: taken.tries,
            outcome: outcome.clone(),
        })
        .await
    }

    async fn next_notice(&self, channels: &[Channel]) -> StoreResult<Option<i64>> {
        if channels.is_empty() {
            return Ok(None);
        }
        let mut query =
            QueryBuilder::<Db>::new("SELECT due_at FROM notices WHERE due_at IS NOT NULL AND ");
        push_channels(&mut query, channels);
        query.push(" ORDER BY due_at LIMIT 1");
        let row = query
            .build()
            .fetch_optional(&mut *self.reading().await?)
            .await?;
        Ok(row.map(|row| row.try_get("due_at")).transpose()?)
    }

    async fn notice_trouble(&self, address: &str) -> StoreResult<Option<String>> {
        let row = sqlx::query(
            "SELECT trouble FROM notices WHERE address = $1 AND trouble IS NOT NULL AND told_at IS NULL \
             ORDER BY number DESC LIMIT 1",
        )
        .bind(address)
        .fetch_optional(&mut *self.reading().await?)
        .await?;
        Ok(row.map(|row| row.try_get("trouble")).transpose()?)
    }

    async fn dead_notices(
        &self,
        after: Option<&NoticeId>,
        limit: u32,
    ) -> StoreResult<Vec<DeadNotice>> {
        let (address, number, kind) = match after {
            Some(id) => (id.address.as_str(), id.number, id.kind.to_string()),
            None => ("", 0, String::new()),
        };
        let rows = sqlx::query(
            "SELECT n.address AS address, n.number AS number, n.kind AS kind, n.way AS way, \
                n.tries AS tries, n.queued_at AS queued_at, n.dead_at AS dead_at, n.trouble AS trouble, \
                s.game AS game, s.side AS side, s.player AS player \
             FROM notices n JOIN notice_addresses a ON a.id = n.address JOIN seats s ON s.id = a.seat \
             WHERE n.dead_at IS NOT NULL AND (n.address, n.number, n.kind) > ($1, $2, $3) \
             ORDER BY n.address, n.number, n.kind LIMIT $4",
        )
        .bind(address)
        .bind(column(number)?)
        .bind(kind)
        .bind(i64::from(limit))
        .fetch_all(&mut *self.reading().await?)
        .await?;
        rows.iter().map(dead).collect()
    }

    async fn revive_notices(
        &self,
        by: &Authority,
        these: Option<&[NoticeId]>,
        now: i64,
    ) -> StoreResult<u64> {
        let (by, these) = (by.clone(), these.map(<[NoticeId]>::to_vec));
        self.write(Revive { by, these, now }).await
    }

    async fn forget_notices(&self, before: i64) -> StoreResult<()> {
        self.write(Forget { before }).await
    }
}

struct Queue {
    game: GameId,
    notice: Notice,
}

#[async_trait]
impl Write for Queue {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        queue(connection, &[(self.game, &self.notice)]).await
    }
}

/// Queues a notice to every address that wants it.
pub(super) async fn queue(
    connection: &mut DbConnection,
    notices: &[(GameId, &Notice)],
) -> StoreResult<()> {
    let mut rows = Vec::new();
    for notices in notices.chunks(MOST_ROWS) {
        let mut query = QueryBuilder::<Db>::new(
            "SELECT s.game, a.id, a.way, a.topics, s.side \
             FROM seats s JOIN notice_addresses a ON a.seat = s.id \
             WHERE a.removed_at IS NULL AND s.game IN ",
        );
        push_rows(&mut query, notices, |row, notice| {
            row.push_bind(notice.map(|(game, _)| game.0.to_vec()));
        });
        rows.extend(query.build().fetch_all(&mut *connection).await?);
    }
    for row in &rows {
        let (game, side) = (GameId(bytes(row, 0)?), side(row.try_get(4)?));
        let topics = topics(row.try_get(3)?)?;
        let of_game = notices.iter().filter(|(of, _)| *of == game);
        for (_, notice) in of_game {
            let is_wanted = notice
                .kind
                .topic()
                .is_none_or(|topic| topics.contains(&topic));
            if is_wanted && notice.to.include(side) {
                let queued = Queued {
                    number: notice.number,
                    kind: notice.kind,
                    since: notice.since,
                    words: &notice.words,
                    at: notice.at,
                };
                add_notice(connection, (row.try_get(1)?, row.try_get(2)?), &queued).await?;
            }
        }
    }
    Ok(())
}

/// The side of a seat; an umpire's has none.
fn side(stored: &str) -> Option<&str> {
    Some(stored).filter(|side| !side.is_empty())
}

#[async_trait]
impl Write for TakeNotices {
    type Answer = Vec<TakenNotice>;

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<Vec<TakenNotice>> {
        if self.channels.is_empty() {
            return Ok(Vec::new());
        }
        // The list is made first and once: what is locked is what is taken.
        let mut query = QueryBuilder::<Db>::new(
            "WITH due AS MATERIALIZED (SELECT address, number, kind FROM notices WHERE due_at <= ",
        );
        query.push_bind(self.now).push(" AND ");
        push_channels(&mut query, &self.channels);
        if !self.busy.is_empty() {
            query.push(" AND address NOT IN (");
            let mut listed = query.separated(", ");
            for address in &self.busy {
                listed.push_bind(address.as_str());
            }
            query.push(")");
        }
        query
            .push(" ORDER BY due_at LIMIT ")
            .push_bind(i64::from(self.limit))
            .push(format!(" {SKIP_LOCKED}) UPDATE notices SET due_at = "))
            .push_bind(self.until)
            .push(
                ", tries = tries + 1 FROM due \
                 WHERE notices.address = due.address AND notices.number = due.number AND notices.kind = due.kind \
                 RETURNING notices.address AS address, notices.number AS number, notices.kind AS kind, \
                    notices.since AS since, notices.words AS words, notices.queued_at AS queued_at, \
                    notices.tries AS tries",
            );
        let rows = query.build().fetch_all(&mut *connection).await?;
        let mut taken = Vec::with_capacity(rows.len());
        for row in &rows {
            let id = id(row)?;
            match whereto(connection, &id.address).await? {
                Some((to, seat)) => taken.push(TakenNotice {
                    since: count(row, "since")?,
                    words: row.try_get("words")?,
                    queued_at: row.try_get("queued_at")?,
                    tries: count(row, "tries")?,
                    id,
                    to,
                    seat,
                }),
                // Queued at the very moment when the address was taken back.
                None => delete(connection, &id).await?,
            }
        }
        Ok(taken)
    }
}

/// Pushes the condition that a notice goes by one of these channels, of which there is at least one.
fn push_channels(query: &mut QueryBuilder<Db>, channels: &[Channel]) {
    query.push("way IN (");
    let mut listed = query.separated(", ");
    for channel in channels {
        listed.push_bind(channel.as_str());
    }
    query.push(")");
}

async fn whereto(
    connection: &mut DbConnection,
    id: &str,
) -> StoreResult<Option<(NoticeAddress, Seat)>> {
    let row = sqlx::query(concat!(
        "SELECT a.id, a.seat, a.way, a.address, a.topics, a.secret, a.set_at, a.set_by, ",
        seat_columns!("s."),
        " FROM notice_addresses a JOIN seats s ON s.id = a.seat WHERE a.id = $1 AND a.removed_at IS NULL"
    ))
    .bind(id)
    .fetch_optional(connection)
    .await?;
    row.map(|row| Ok((address(&row)?, seat_rows::seat(&row, 8)?)))
        .transpose()
}

async fn delete(connection: &mut DbConnection, id: &NoticeId) -> StoreResult<()> {
    sqlx::query("DELETE FROM notices WHERE address = $1 AND number = $2 AND kind = $3")
        .bind(&id.address)
        .bind(column(id.number)?)
        .bind(id.kind.to_string())
        .execute(connection)
        .await?;
    Ok(())
}

struct Revive {
    by: Authority,
    these: Option<Vec<NoticeId>>,
    now: i64,
}

#[async_trait]
impl Write for Revive {
    type Answer = u64;

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<u64> {
        must_stand(connection, &self.by).await?;
        let Some(these) = &self.these else {
            let revived = sqlx::query(
                "UPDATE notices SET due_at = $1, dead_at = NULL, tries = 0 WHERE dead_at IS NOT NULL",
            )
            .bind(self.now)
            .execute(connection)
            .await?;
            return Ok(revived.rows_affected());
        };
        let mut revived = 0;
        for id in these {
            let one = sqlx::query(
                "UPDATE notices SET due_at = $1, dead_at = NULL, tries = 0 \
                 WHERE address = $2 AND number = $3 AND kind = $4 AND dead_at IS NOT NULL",
            )
            .bind(self.now)
            .bind(&id.address)
            .bind(column(id.number)?)
            .bind(id.kind.to_string())
            .execute(&mut *connection)
            .await?;
            revived += one.rows_affected();
        }
        Ok(revived)
    }
}

struct Forget {
    before: i64,
}

#[async_trait]
impl Write for Forget {
    type Answer = ();

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<()> {
        for sql in [
            "DELETE FROM notices WHERE told_at < $1 OR dead_at < $1",
            "DELETE FROM notice_addresses WHERE removed_at < $1",
        ] {
            sqlx::query(sql)
                .bind(self.before)
                .execute(&mut *connection)
                .await?;
        }
        Ok(())
    }
}

fn topics(stored: &str) -> StoreResult<Vec<Topic>> {
    stored
        .split_whitespace()
        .map(|word| {
            word.parse()
                .map_err(|_| StoreError::Damaged(format!("a topic {word}")))
        })
        .collect()
}

fn channel(stored: &str) -> StoreResult<Channel> {
    stored
        .parse()
        .map_err(|_| StoreError::Damaged(format!("a channel {stored}")))
}

/// An address, from a row that begins with its columns.
fn address(row: &DbRow) -> StoreResult<NoticeAddress> {
    Ok(NoticeAddress {
        id: row.try_get(0)?,
        seat: row.try_get(1)?,
        channel: channel(row.try_get(2)?)?,
        address: row.try_get(3)?,
        topics: topics(row.try_get(4)?)?,
        secret: row.try_get(5)?,
        set_at: row.try_get(6)?,
        set_by: row.try_get(7)?,
    })
}

fn id(row: &DbRow) -> StoreResult<NoticeId> {
    let kind: String = row.try_get("kind")?;
    Ok(NoticeId {
        address: row.try_get("address")?,
        number: count(row, "number")?,
        kind: kind
            .parse()
            .map_err(|()| StoreError::Damaged(format!("a notice of kind {kind}")))?,
    })
}

fn dead(row: &DbRow) -> StoreResult<DeadNotice> {
    let trouble: Option<String> = row.try_get("trouble")?;
    Ok(DeadNotice {
        id: id(row)?,
        game: GameId(bytes(row, "game")?),
        side: side(row.try_get("side")?).map(str::to_owned),
        player: row.try_get("player")?,
        channel: channel(row.try_get("way")?)?,
        tries: count(row, "tries")?,
        queued_at: row.try_get("queued_at")?,
        dead_at: row.try_get("dead_at")?,
        trouble: trouble.unwrap_or_default(),
    })
}
