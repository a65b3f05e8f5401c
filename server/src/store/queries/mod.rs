//! Every query, once, for whichever database the enclosing module names `Db`: one file for each
//! trait of the store.
//!
//! The SQL here is what all of them speak. Columns are named, never `*`: a server that is still
//! running must not stumble over a column that a newer one's migration has added. A write is a
//! value with a [`Write`]; how it is put in a transaction, retried and answered is the backend's.

mod addresses;
mod authority;
mod batch;
mod clocks;
mod contexts;
mod copies;
mod games;
mod keys;
mod members;
mod notice_rows;
mod notices;
mod probe;
mod records;
mod rows;
mod seat_rows;
mod seats;
mod sessions;
mod settling;

use std::fmt::Display;

use async_trait::async_trait;
use sqlx::query_builder::Separated;
use sqlx::{ColumnIndex, Database, QueryBuilder, Row};

use super::{Backend, Db, SKIP_LOCKED, lock_exclusive, lock_keys};
use crate::store::{
    Copied, GameId, MemberId, Snapshot, Store, StoreError, StoreResult, Subscriptions,
};

use authority::must_stand;

pub(super) use batch::Batch;
pub(super) use contexts::{ContextQuery, PostingContextQuery};
pub(super) use records::append_all;
pub(super) use rows::SnapshotReader;

type DbRow = <Db as Database>::Row;
type DbConnection = <Db as Database>::Connection;

/// Something written as a whole: all of it or nothing. It may be run several times before it holds.
#[async_trait]
pub(super) trait Write: Send + Sync + 'static {
    /// What is answered once it is durable.
    type Answer: Send + 'static;

    /// Writes it within a transaction that is the caller's.
    async fn write(&self, connection: &mut DbConnection) -> StoreResult<Self::Answer>;

    /// The game whose record grows by it, and to which number: announced once it is durable.
    fn news(&self) -> Option<(GameId, u64)> {
        None
    }
}

#[async_trait]
impl Store for Backend {
    async fn ping(&self) -> StoreResult<()> {
        sqlx::query("SELECT 1")
            .execute(&mut *self.reading().await?)
            .await?;
        Ok(())
    }

    async fn try_writing(&self) -> StoreResult<()> {
        self.write(probe::Probe).await
    }

    async fn close(&self) {
        self.let_go().await;
    }

    fn subscriptions(&self) -> &Subscriptions {
        self.game_subscriptions()
    }

    async fn given_up(&self) -> StoreError {
        self.until_given_up().await
    }

    async fn snapshot(&self) -> StoreResult<Snapshot> {
        Ok(Snapshot(Box::new(self.frozen().await?)))
    }

    async fn fill(&self, from: Snapshot) -> StoreResult<Copied> {
        self.write(rows::Fill::new(from)).await
    }

    async fn others(&self) -> StoreResult<u64> {
        self.other_sessions().await
    }

    async fn verify(&self) -> StoreResult<()> {
        self.verify_files().await
    }
}

/// The numbers of rows that statements have: few, so that there are few statements and all stay prepared; none
/// more than twice the one before, so that at most half of a statement's rows are nothing.
const SIZES: [usize; 9] = [1, 2, 4, 8, 16, 32, 64, 128, 256];
/// The most rows of a statement: times the columns of a table, this stays below both databases' bounds on the
/// values bound to it.
const MOST_ROWS: usize = SIZES[SIZES.len() - 1];
/// Statements that a connection keeps prepared: all that there are, of every size.
pub(super) const PREPARED: usize = 256;

/// Pushes `(VALUES …)`, a row of what `push` adds for each of at most [`MOST_ROWS`], and rows of nothing to fill
/// up to the next size: the statement must do nothing for those. Its columns are `column1`, `column2` …
fn push_rows<T>(
    query: &mut QueryBuilder<Db>,
    rows: &[T],
    mut push: impl FnMut(&mut Separated<'_, Db, &'static str>, Option<&T>),
) {
    let size = SIZES.into_iter().find(|&size| rows.len() <= size);
    query.push("(");
    query.push_values(0..size.unwrap_or(rows.len()), |mut row, place| {
        push(&mut row, rows.get(place));
    });
    query.push(")");
}

fn exactly_one(rows: u64) -> StoreResult<()> {
    if rows == 1 {
        Ok(())
    } else {
        Err(StoreError::Overtaken)
    }
}

/// A count as databases keep it.
fn column(count: u64) -> StoreResult<i64> {
    i64::try_from(count).map_err(|_| StoreError::Damaged(format!("a count of {count}")))
}

/// A count as it was kept.
fn count<T: TryFrom<i64>>(row: &DbRow, at: impl ColumnIndex<DbRow> + Display) -> StoreResult<T> {
    let stored: i64 = row.try_get(&at)?;
    T::try_from(stored).map_err(|_| StoreError::Damaged(format!("column {at}: {stored}")))
}

fn bytes<const N: usize>(
    row: &DbRow,
    at: impl ColumnIndex<DbRow> + Display,
) -> StoreResult<[u8; N]> {
    let stored: &[u8] = row.try_get(&at)?;
    let length = stored.len();
    stored
        .try_into()
        .map_err(|_| StoreError::Damaged(format!("column {at} of {length} bytes")))
}

/// What begins with that column, a text that everything of its kind has.
fn known<T>(
    row: &DbRow,
    at: usize,
    read: fn(&DbRow, usize) -> StoreResult<T>,
) -> StoreResult<Option<T>> {
    match row.try_get::<Option<&str>, _>(at)? {
        Some(_) => read(row, at).map(Some),
        None => Ok(None),
    }
}

/// A member's id as it is stored.
fn member_id(text: &str) -> StoreResult<MemberId> {
    text.parse()
        .map_err(|_| StoreError::Damaged(format!("a member's id {text}")))
}
