//! The tables there are, for whoever copies all of them: read from the migrations themselves, so that a
//! table that a migration adds is copied without a word here.

use std::str::FromStr;

use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection, SqliteRow};
use sqlx::{ConnectOptions, Row};

use super::{StoreError, StoreResult, migrations};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Bytes,
    Text,
    Count,
    Flag,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Column {
    pub(super) name: String,
    pub(super) kind: Kind,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    pub(super) name: String,
    /// Those of the primary key first, in its order.
    pub(super) columns: Vec<Column>,
    /// How many columns the primary key has.
    pub(super) key: usize,
}

impl Table {
    /// Its columns in order, with commas between.
    pub(super) fn listed(&self) -> String {
        comma_separated(&self.columns)
    }

    /// The columns of its primary key.
    pub(super) fn listed_key(&self) -> String {
        comma_separated(&self.columns[..self.key])
    }
}

fn comma_separated(columns: &[Column]) -> String {
    let names: Vec<String> = columns.iter().map(|column| quoted(&column.name)).collect();
    names.join(", ")
}

/// A name of ours as SQL takes it whatever it is.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// Every table of this version's schema, each after those it refers to.
///
/// # Errors
/// When a table has no primary key, a column of a kind unknown here, or tables refer to each other in a circle.
pub(super) async fn tables() -> StoreResult<Vec<Table>> {
    let mut connection = SqliteConnectOptions::from_str("sqlite::memory:")?
        .connect()
        .await?;
    migrations::migrator(migrations::SQLITE)
        .run_direct(None, &mut connection, false)
        .await?;
    let names: Vec<String> = sqlx::query_scalar(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' \
         AND name <> '_sqlx_migrations' ORDER BY name",
    )
    .fetch_all(&mut connection)
    .await?;
    let mut left = Vec::new();
    for name in names {
        let refers_to = refers_to(&mut connection, &name).await?;
        left.push((table(&mut connection, name).await?, refers_to));
    }
    in_order(left)
}

async fn table(connection: &mut SqliteConnection, name: String) -> StoreResult<Table> {
    let rows =
        sqlx::query("SELECT name, type, pk FROM pragma_table_info($1) ORDER BY pk = 0, pk, cid")
            .bind(&name)
            .fetch_all(connection)
            .await?;
    let key = rows
        .iter()
        .filter(|row| row.get::<i64, _>("pk") > 0)
        .count();
    if key == 0 {
        return Err(unfit(&format!("the table {name} has no primary key")));
    }
    let columns = rows
        .iter()
        .map(|row| column(&name, row))
        .collect::<StoreResult<_>>()?;
    Ok(Table { name, columns, key })
}

fn column(table: &str, row: &SqliteRow) -> StoreResult<Column> {
    let name: String = row.try_get("name")?;
    let declared: String = row.try_get("type")?;
    let kind = match declared.as_str() {
        "BLOB" => Kind::Bytes,
        "TEXT" => Kind::Text,
        "BIGINT" => Kind::Count,
        "BOOLEAN" => Kind::Flag,
        _ => return Err(unfit(&format!("{table}.{name} is {declared}"))),
    };
    Ok(Column { name, kind })
}

async fn refers_to(connection: &mut SqliteConnection, name: &str) -> StoreResult<Vec<String>> {
    let others = sqlx::query_scalar("SELECT DISTINCT \"table\" FROM pragma_foreign_key_list($1)")
        .bind(name)
        .fetch_all(connection)
        .await?;
    Ok(others)
}

fn in_order(mut left: Vec<(Table, Vec<String>)>) -> StoreResult<Vec<Table>> {
    let mut ordered: Vec<Table> = Vec::new();
    while !left.is_empty() {
        let is_there = |name: &String| ordered.iter().any(|table| table.name == *name);
        let next = left
            .iter()
            .position(|(_, others)| others.iter().all(is_there));
        let next = next.ok_or_else(|| unfit("tables refer to each other in a circle"))?;
        ordered.push(left.remove(next).0);
    }
    Ok(ordered)
}

fn unfit(what: &str) -> StoreError {
    StoreError::Damaged(format!("a schema that cannot be copied: {what}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn every_table_comes_after_those_it_refers_to() {
        let tables = tables().await.expect("a schema that can be copied");
        let place = |name: &str| tables.iter().position(|table| table.name == name);
        for (first, second) in [
            ("games", "events"),
            ("games", "seats"),
            ("seats", "invitations"),
            ("invitations", "keys"),
            ("keys", "answers"),
        ] {
            assert!(place(first).expect(first) < place(second).expect(second));
        }
        let events = &tables[place("events").expect("there")];
        assert_eq!(events.listed_key(), "\"game\", \"number\"");
        assert!(
            events
                .listed()
                .ends_with("\"previous\", \"hash\", \"body\", \"at\"")
        );
    }
}
