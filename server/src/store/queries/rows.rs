//! Rows of any table, for copying a store as a whole.

use async_trait::async_trait;
use sqlx::{AssertSqlSafe, QueryBuilder, Row, Transaction};
use tokio::sync::Mutex;

use super::{Db, DbConnection, DbRow, Write, lock_exclusive};
use crate::store::copying::{Copied, Pages, Snapshot, Value, Values};
use crate::store::schema::{Kind, Table, quoted, tables};
use crate::store::{StoreError, StoreResult};

/// Rows read and written at a time; times the columns of a table, this stays below both databases' bounds
/// on the values bound to one statement (32,766 and 65,535).
const PAGE: u32 = 400;

/// A transaction that sees one moment.
pub(crate) struct SnapshotReader(pub(crate) Transaction<'static, Db>);

#[async_trait]
impl Pages for SnapshotReader {
    async fn page(
        &mut self,
        table: &Table,
        after: Option<&Values>,
        limit: u32,
    ) -> StoreResult<Vec<Values>> {
        let mut query = QueryBuilder::<Db>::new(format!(
            "SELECT {} FROM {}",
            table.listed(),
            quoted(&table.name)
        ));
        if let Some(after) = after {
            query.push(format!(" WHERE ({}) > (", table.listed_key()));
            let mut key = query.separated(", ");
            for value in &after[..table.key] {
                match value.clone() {
                    Value::Bytes(bytes) => key.push_bind(bytes),
                    Value::Text(text) => key.push_bind(text),
                    Value::Count(count) => key.push_bind(count),
                    Value::Flag(flag) => key.push_bind(flag),
                };
            }
            query.push(")");
        }
        query.push(format!(" ORDER BY {} LIMIT {limit}", table.listed_key()));
        let rows = query.build().fetch_all(&mut *self.0).await?;
        rows.iter().map(|row| values(table, row)).collect()
    }
}

/// Fills an empty store with what another holds.
pub(super) struct Fill {
    from: Mutex<Snapshot>,
}

impl Fill {
    pub(super) fn new(from: Snapshot) -> Self {
        Self {
            from: Mutex::new(from),
        }
    }
}

#[async_trait]
impl Write for Fill {
    type Answer = Copied;

    async fn write(&self, connection: &mut DbConnection) -> StoreResult<Copied> {
        // Nobody makes a first organiser's key between the look and the filling.
        lock_exclusive(connection).await?;
        let tables = tables().await?;
        for table in &tables {
            must_be_empty(connection, table).await?;
        }
        let mut from = self.from.lock().await;
        let mut copied = Vec::with_capacity(tables.len());
        for table in tables {
            let mut rows = 0;
            let mut last = None;
            loop {
                let page = from.0.page(&table, last.as_ref(), PAGE).await?;
                if page.is_empty() {
                    break;
                }
                rows += page.len() as u64;
                add(connection, &table, &page).await?;
                last = page.into_iter().next_back();
            }
            copied.push((table.name, rows));
        }
        Ok(Copied { tables: copied })
    }
}

async fn must_be_empty(connection: &mut DbConnection, table: &Table) -> StoreResult<()> {
    let sql = format!("SELECT 1 AS one FROM {} LIMIT 1", quoted(&table.name));
    let row = sqlx::query(AssertSqlSafe(sql))
        .fetch_optional(connection)
        .await?;
    match row {
        None => Ok(()),
        Some(_) => Err(StoreError::NotEmpty(table.name.clone())),
    }
}

async fn add(connection: &mut DbConnection, table: &Table, rows: &[Values]) -> StoreResult<()> {
    let mut query = QueryBuilder::<Db>::new(format!(
        "INSERT INTO {} ({}) ",
        quoted(&table.name),
        table.listed()
    ));
    query.push_values(rows, |mut row, values| {
        for value in values.iter().cloned() {
            match value {
                Value::Bytes(bytes) => row.push_bind(bytes),
                Value::Text(text) => row.push_bind(text),
                Value::Count(count) => row.push_bind(count),
                Value::Flag(flag) => row.push_bind(flag),
            };
        }
    });
    query.build().execute(connection).await?;
    Ok(())
}

fn values(table: &Table, row: &DbRow) -> StoreResult<Values> {
    let read = |column: &crate::store::schema::Column| {
        let name = column.name.as_str();
        Ok(match column.kind {
            Kind::Bytes => Value::Bytes(row.try_get(name)?),
            Kind::Text => Value::Text(row.try_get(name)?),
            Kind::Count => Value::Count(row.try_get(name)?),
            Kind::Flag => Value::Flag(row.try_get(name)?),
        })
    };
    table.columns.iter().map(read).collect()
}
