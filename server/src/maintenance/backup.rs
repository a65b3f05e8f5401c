//! Backing up and restoring.

use std::fs::{self, File};
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};

use fieldpost_command_line::in_plain_words;
use jiff::Timestamp;

use super::check::{Checked, check};
use crate::settings::Settings;
use crate::store::{self, Copied, Copies, SqliteStore, Store, StoreResult, vacuum_into};

/// Writes all games into a new file while servers go on; the file appears when it is whole, checked and
/// on the disk.
///
/// # Errors
/// When the file is there already, the database cannot be read, or what was written is not good.
pub async fn backup(settings: &Settings, to: &Path) -> StoreResult<Checked> {
    super::must_be_there(settings)?;
    must_not_be(to)?;
    let bench = TemporaryFolder::beside(to)?;
    let file = bench.file();
    if settings.database.file().is_some() {
        vacuum_into(settings.database.url(), &file).await?;
    } else {
        let from = store::open(settings.database.url(), 2).await?;
        let into = SqliteStore::open(&url_of(&file)).await?;
        let filled = into.fill(from.snapshot().await?).await;
        into.close().await;
        from.close().await;
        filled?;
    }
    mark_as_copy(&file).await?;
    let checked = checked(&file).await?;
    File::open(&file)?.sync_all()?;
    must_not_be(to)?;
    fs::rename(&file, to)?;
    bench.sync_beside()?;
    Ok(checked)
}

/// Fills a database that is empty, or not there yet, from a backup. The backup itself is not touched: a copy
/// of it is brought up to this version's form first, beside the database to come: what the backup lies on
/// may be full, or not to be written to.
///
/// # Errors
/// When the backup is not good, the database is not empty, or a server has it open.
pub async fn restore(settings: &Settings, from: &Path) -> StoreResult<(Copied, Checked)> {
    let bench = match settings.database.file() {
        Some(file) => TemporaryFolder::beside(file)?,
        None => TemporaryFolder::apart()?,
    };
    let file = bench.file();
    fs::copy(from, &file).map_err(|error| {
        let why = format!(
            "the backup {} cannot be copied: {}",
            from.display(),
            in_plain_words(&error)
        );
        Error::new(error.kind(), why)
    })?;
    // A copy made by an older version does not say that it is one.
    mark_as_copy(&file).await?;
    checked(&file).await?;
    let source = SqliteStore::open(&url_of(&file)).await?;
    let into = store::open(settings.database.url(), settings.database_connections).await?;
    let filled = into.fill(source.snapshot().await?).await;
    let restored = match filled {
        Ok(copied) => check(into.as_ref()).await.map(|checked| (copied, checked)),
        Err(error) => Err(error),
    };
    into.close().await;
    source.close().await;
    restored
}

/// Has the server that is started on a copy first renew the secrets of its games.
async fn mark_as_copy(file: &Path) -> StoreResult<()> {
    let store = SqliteStore::open(&url_of(file)).await?;
    let now = Timestamp::now().to_string();
    let marked = store
        .mark_as_copy(&now, "the games were taken from a copy")
        .await;
    store.close().await;
    marked
}

/// Opens a copy, brings it up to date, checks it and closes it again.
async fn checked(file: &Path) -> StoreResult<Checked> {
    let store = SqliteStore::open(&url_of(file)).await?;
    let checked = check(&store).await;
    store.close().await;
    checked
}

fn url_of(file: &Path) -> String {
    format!("sqlite:{}", file.display())
}

fn must_not_be(path: &Path) -> Result<(), Error> {
    if path.symlink_metadata().is_ok() {
        let why = format!(
            "{} is there already, and nothing is ever overwritten",
            path.display()
        );
        return Err(Error::new(ErrorKind::AlreadyExists, why));
    }
    Ok(())
}

/// A folder in which a copy is made; gone with this.
struct TemporaryFolder {
    folder: PathBuf,
}

impl TemporaryFolder {
    /// One beside a file, on the same disk.
    fn beside(file: &Path) -> Result<Self, Error> {
        let mut name = file.as_os_str().to_owned();
        name.push(".partial");
        let folder = PathBuf::from(name);
        let mut builder = fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&folder).map_err(|error| {
            let remedy = if error.kind() == ErrorKind::AlreadyExists {
                "; if it is left over from an attempt that was broken off, remove it"
            } else {
                ""
            };
            let (folder, why) = (folder.display(), in_plain_words(&error));
            let why = format!("{folder} cannot be made: {why}{remedy}");
            Error::new(error.kind(), why)
        })?;
        Ok(Self { folder })
    }

    /// One of this process among the system's temporary files.
    fn apart() -> Result<Self, Error> {
        let name = format!("fieldpost-{}", std::process::id());
        Self::beside(&std::env::temp_dir().join(name))
    }

    fn file(&self) -> PathBuf {
        self.folder.join("games.db")
    }

    /// Makes a renaming beside it last.
    fn sync_beside(&self) -> Result<(), Error> {
        #[cfg(unix)]
        {
            let above = self
                .folder
                .parent()
                .filter(|above| !above.as_os_str().is_empty());
            File::open(above.unwrap_or(Path::new(".")))?.sync_all()?;
        }
        Ok(())
    }
}

impl Drop for TemporaryFolder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.folder);
    }
}
