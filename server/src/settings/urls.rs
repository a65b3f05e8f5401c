//! URLs that hold a password, which is never shown.

use std::fmt;
use std::path::Path;

use serde::Serialize;

/// A database's URL, whose password is never shown.
#[derive(Clone, PartialEq, Eq)]
pub struct Database(String);

impl Database {
    /// The database at a URL.
    #[must_use]
    pub fn new(url: impl Into<String>) -> Self {
        Self(url.into())
    }

    /// The URL, password and all.
    #[must_use]
    pub fn url(&self) -> &str {
        &self.0
    }

    /// The file of an embedded database.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        let path = self.0.strip_prefix("sqlite:")?;
        let path = path.strip_prefix("//").unwrap_or(path);
        Some(Path::new(path.split('?').next().unwrap_or(path)))
    }

    /// The URL with asterisks for the password.
    #[must_use]
    pub fn redacted(&self) -> String {
        without_query_secrets(&without_password(&self.0))
    }
}

impl fmt::Debug for Database {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.redacted())
    }
}

impl Serialize for Database {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.redacted())
    }
}

/// A URL of a server that asks for a password, which is never shown.
#[derive(Clone, PartialEq, Eq)]
pub struct SecretUrl(String);

impl SecretUrl {
    /// The server at a URL.
    #[must_use]
    pub fn new(url: impl Into<String>) -> Self {
        Self(url.into())
    }

    /// The URL, password and all.
    #[must_use]
    pub fn url(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for SecretUrl {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&without_password(&self.0))
    }
}

impl Serialize for SecretUrl {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&without_password(&self.0))
    }
}

/// A URL with asterisks for the password, if it has one.
fn without_password(url: &str) -> String {
    let Some((scheme, rest)) = url.split_once("://") else {
        return url.to_owned();
    };
    // Whatever stands before the last @ may hold a password, slashes and all.
    match rest.rsplit_once('@') {
        Some((credentials, host)) => match credentials.split_once(':') {
            Some((user, _)) => format!("{scheme}://{user}:***@{host}"),
            None => url.to_owned(),
        },
        None => url.to_owned(),
    }
}

/// A query may hold a password too; none of its values is shown.
fn without_query_secrets(url: &str) -> String {
    match url.split_once('?') {
        Some((before, _)) => format!("{before}?***"),
        None => url.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_of_an_embedded_database_is_known() {
        for url in [
            "sqlite:a/games.db",
            "sqlite://a/games.db",
            "sqlite:a/games.db?mode=rwc",
        ] {
            assert_eq!(
                Database::new(url).file(),
                Some(Path::new("a/games.db")),
                "{url}"
            );
        }
        assert_eq!(Database::new("postgres://h/d").file(), None);
    }
}
