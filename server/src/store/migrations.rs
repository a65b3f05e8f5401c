//! The migrations, carried in the binary.

use std::borrow::Cow;

use sqlx::SqlSafeStr;
use sqlx::migrate::{Migration, MigrationType, Migrator};

/// Number, description and text of each step.
pub(super) type Step = (i64, &'static str, &'static str);

/// The steps for an embedded SQLite file.
pub(super) const SQLITE: &[Step] = &[
    (
        1,
        "games",
        include_str!("../../../migrations/sqlite/0001_games.sql"),
    ),
    (
        2,
        "clocks",
        include_str!("../../../migrations/sqlite/0002_clocks.sql"),
    ),
    (
        3,
        "notices",
        include_str!("../../../migrations/sqlite/0003_notices.sql"),
    ),
    (
        4,
        "members",
        include_str!("../../../migrations/sqlite/0004_members.sql"),
    ),
    (
        5,
        "authority",
        include_str!("../../../migrations/sqlite/0005_authority.sql"),
    ),
    (
        6,
        "probes",
        include_str!("../../../migrations/sqlite/0006_probes.sql"),
    ),
    (
        7,
        "sessions",
        include_str!("../../../migrations/sqlite/0007_sessions.sql"),
    ),
];

/// The same steps for PostgreSQL.
pub(super) const POSTGRES: &[Step] = &[
    (
        1,
        "games",
        include_str!("../../../migrations/postgres/0001_games.sql"),
    ),
    (
        2,
        "clocks",
        include_str!("../../../migrations/postgres/0002_clocks.sql"),
    ),
    (
        3,
        "notices",
        include_str!("../../../migrations/postgres/0003_notices.sql"),
    ),
    (
        4,
        "members",
        include_str!("../../../migrations/postgres/0004_members.sql"),
    ),
    (
        5,
        "authority",
        include_str!("../../../migrations/postgres/0005_authority.sql"),
    ),
    (
        6,
        "probes",
        include_str!("../../../migrations/postgres/0006_probes.sql"),
    ),
    (
        7,
        "sessions",
        include_str!("../../../migrations/postgres/0007_sessions.sql"),
    ),
];

/// A migrator of some steps.
pub(super) fn migrator(steps: &[Step]) -> Migrator {
    let migrations: Vec<Migration> = steps
        .iter()
        .map(|&(version, description, sql)| {
            Migration::new(
                version,
                Cow::Borrowed(description),
                MigrationType::Simple,
                sql.into_sql_str(),
                false,
            )
        })
        .collect();
    Migrator::with_migrations(migrations)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_databases_take_the_same_steps() {
        let named = |steps: &[Step]| -> Vec<(i64, &str)> {
            steps
                .iter()
                .map(|&(number, name, _)| (number, name))
                .collect()
        };
        assert_eq!(named(SQLITE), named(POSTGRES));
    }
}
