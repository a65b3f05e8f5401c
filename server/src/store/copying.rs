//! Every row of one store, copied into another that is empty.

use async_trait::async_trait;

use super::StoreResult;
use super::schema::Table;

/// A value of a row.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    Bytes(Option<Vec<u8>>),
    Text(Option<String>),
    Count(Option<i64>),
    Flag(Option<bool>),
}

/// A row, its values in the order of the table's columns.
pub(super) type Values = Vec<Value>;

/// What a store held at one moment, for as long as this is held.
pub struct Snapshot(pub(super) Box<dyn Pages>);

/// Reads a table a page at a time.
#[async_trait]
pub(super) trait Pages: Send {
    /// Up to `limit` rows in the order of the primary key, after the row given.
    async fn page(
        &mut self,
        table: &Table,
        after: Option<&Values>,
        limit: u32,
    ) -> StoreResult<Vec<Values>>;
}

/// Whether the database is a copy on which no server has run yet.
#[async_trait]
pub trait Copies {
    /// Why the secrets of its games are to be renewed before anybody plays on, if they are.
    async fn to_be_renewed(&self) -> StoreResult<Option<String>>;

    /// Marks it as a copy made at that moment (RFC 3339, UTC), and says why its secrets are to be renewed.
    async fn mark_as_copy(&self, at: &str, why: &str) -> StoreResult<()>;

    /// Takes the mark away, once every secret is renewed.
    async fn forget_copy(&self) -> StoreResult<()>;
}

/// What was copied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copied {
    /// Each table and how many rows it has.
    pub tables: Vec<(String, u64)>,
}

impl Copied {
    /// How many rows a table has.
    #[must_use]
    pub fn rows(&self, table: &str) -> u64 {
        let rows = self.tables.iter().find(|(name, _)| name == table);
        rows.map_or(0, |(_, rows)| *rows)
    }
}
