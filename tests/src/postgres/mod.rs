//! A PostgreSQL database for one test.
//!
//! `FIELDPOST_TEST_POSTGRES` names a server on which databases may be made and dropped. Without it, a
//! server's programs are looked for and a throw-away one is started, once for each test program.
//! Where there is neither, [`Database::fresh`] says so where it is seen and gives none.

mod cluster;

use std::fmt;
use std::io::Write;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

use sqlx::postgres::PgConnectOptions;
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, Row};

use cluster::Cluster;

/// Where tests find a server that is there already.
const VARIABLE: &str = "FIELDPOST_TEST_POSTGRES";

/// A database of its own on the tests' server; dropped with this.
#[derive(Debug)]
pub struct Database {
    server: String,
    name: String,
}

impl Database {
    /// A new, empty database; none where there is no PostgreSQL, and then that is told.
    ///
    /// # Panics
    /// When there should be a server and it does not do as it is asked.
    #[must_use]
    pub fn fresh() -> Option<Self> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let server = server()?.to_owned();
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("fieldpost_{}_{count}", std::process::id());
        let database = Self { server, name };
        database.drop_if_there();
        database.at_the_server(&format!("CREATE DATABASE {}", database.name));
        Some(database)
    }

    /// Its URL.
    #[must_use]
    pub fn url(&self) -> String {
        with_database(&self.server, &self.name)
    }

    /// Runs one statement in it.
    ///
    /// # Panics
    /// When the server does not do it.
    pub fn say(&self, sql: &str) {
        answered(&self.url(), sql);
    }

    /// Every row of every table as PostgreSQL writes it, binary columns in hexadecimal.
    ///
    /// # Panics
    /// When the server does not answer.
    #[must_use]
    pub fn rows_as_text(&self) -> String {
        let tables = answered(
            &self.url(),
            "SELECT quote_ident(tablename) FROM pg_tables WHERE schemaname = 'public' ORDER BY 1",
        );
        let rows = tables.iter().flat_map(|table| {
            let rows = answered(
                &self.url(),
                &format!("SELECT kept::text FROM {table} AS kept"),
            );
            rows.into_iter().map(move |row| format!("{table} {row}\n"))
        });
        rows.collect()
    }

    fn drop_if_there(&self) {
        self.at_the_server(&format!(
            "DROP DATABASE IF EXISTS {} WITH (FORCE)",
            self.name
        ));
    }

    fn at_the_server(&self, sql: &str) {
        answered(&self.server, sql);
    }
}

impl Drop for Database {
    fn drop(&mut self) {
        if !std::thread::panicking() {
            self.drop_if_there();
        }
    }
}

impl fmt::Display for Database {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

/// The tests' server, with any database that is there.
fn server() -> Option<&'static str> {
    static SERVER: OnceLock<Option<String>> = OnceLock::new();
    SERVER
        .get_or_init(|| match std::env::var(VARIABLE) {
            Ok(url) if !url.is_empty() => Some(url),
            _ => match Cluster::start() {
                Ok(cluster) => Some(cluster.url()),
                Err(why) => {
                    // Straight to the terminal: what is printed is kept back when a test passes.
                    let _ = writeln!(
                        std::io::stderr(),
                        "\nSKIPPED on PostgreSQL, nothing was tested there: {why}. Name a server in {VARIABLE}, or install one."
                    );
                    None
                }
            },
        })
        .as_deref()
}

/// Runs one statement on a connection of its own.
pub(crate) fn said(url: &str, sql: &str) -> Result<Vec<String>, sqlx::Error> {
    let saying = async {
        let options: PgConnectOptions = url.parse()?;
        let mut connection = options.connect().await?;
        let rows = sqlx::raw_sql(AssertSqlSafe(sql.to_owned()))
            .fetch_all(&mut connection)
            .await?;
        connection.close().await?;
        rows.iter().map(|row| row.try_get(0)).collect()
    };
    // A thread of its own: the test may stand in a runtime.
    std::thread::scope(|scope| {
        let said = scope.spawn(|| {
            tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .map_err(sqlx::Error::Io)?
                .block_on(saying)
        });
        said.join().unwrap_or(Err(sqlx::Error::WorkerCrashed))
    })
}

fn answered(url: &str, sql: &str) -> Vec<String> {
    said(url, sql).unwrap_or_else(|error| panic!("{sql}: {error}"))
}

/// The URL of another database on the same server.
fn with_database(url: &str, name: &str) -> String {
    let (before, query) = match url.split_once('?') {
        Some((before, query)) => (before, format!("?{query}")),
        None => (url, String::new()),
    };
    let (scheme, rest) = before.split_once("://").unwrap_or(("postgres", before));
    let authority = rest.split('/').next().unwrap_or_default();
    format!("{scheme}://{authority}/{name}{query}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_database_is_named_at_the_same_server() {
        for (url, other) in [
            ("postgres://a@h:5/x", "postgres://a@h:5/new"),
            ("postgres://h", "postgres://h/new"),
            ("postgres:///x?host=/run", "postgres:///new?host=/run"),
        ] {
            assert_eq!(with_database(url, "new"), other);
        }
    }
}
