//! The organiser's key, made when a server first starts on a database.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use fieldpost_command_line::in_plain_words;
use jiff::Timestamp;

use crate::key::Key;
use crate::settings::Database;
use crate::store::{Opens, Origin, Store, StoreResult, StoredKey};

/// Makes the organiser's key if the database has none; the key, if it did.
pub(crate) async fn first_key(store: &dyn Store) -> StoreResult<Option<Key>> {
    let key = Key::fresh();
    let stored_key = StoredKey {
        id: key.id().to_owned(),
        secret_hash: key.hash().to_vec(),
        opens: Opens::Organiser,
        origin: Origin::Afresh,
        made_at: Timestamp::now().to_string(),
        revoked_at: None,
    };
    Ok(store.add_first_organiser(&stored_key).await?.then_some(key))
}

/// Gives the organiser their key in a file that only its owner may read. It is not printed while there is
/// another way: what a service prints is kept in logs.
pub(crate) fn hand_over(key: &Key, database: &Database) {
    let path = key_file(database);
    match write_private(&path, &key.reveal()) {
        Ok(()) => eprintln!(
            "The organiser's key is in {} (only its owner may read it). It will not be shown again.",
            path.display()
        ),
        Err(error) => eprintln!(
            "{} cannot be written: {}. The organiser's key, shown this once: {}",
            path.display(),
            in_plain_words(&error),
            key.reveal()
        ),
    }
}

/// Where the organiser's key is put: beside an embedded database; otherwise where the server was started.
#[must_use]
pub fn key_file(database: &Database) -> PathBuf {
    let mut name = database
        .file()
        .map_or_else(|| "fieldpost".into(), |file| file.as_os_str().to_owned());
    name.push(".organiser-key");
    name.into()
}

/// Writes a file that only its owner may read.
pub(crate) fn write_private(path: &Path, text: &str) -> io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    // A file that was there before keeps its mode when opened; the key must not be in it then.
    #[cfg(unix)]
    file.set_permissions(std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    writeln!(file, "{text}")?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn the_key_file_is_its_owners_alone() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let database = Database::new(format!("sqlite:{}/games.db", folder.path().display()));
        std::fs::write(key_file(&database), "old, and open to all").expect("written");
        let key = Key::fresh();
        hand_over(&key, &database);
        let text = std::fs::read_to_string(key_file(&database)).expect("read");
        assert_eq!(text.trim(), key.reveal());
        let mode = std::fs::metadata(key_file(&database))
            .expect("there")
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}
