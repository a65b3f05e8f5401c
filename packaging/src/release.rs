//! Which version is packed, of which time, from where.

use std::path::{Path, PathBuf};
use std::process::Command;

use jiff::Timestamp;

use crate::Packed;

/// A release.
#[derive(Debug, Clone)]
pub struct Release {
    /// The repository's folder.
    pub root: PathBuf,
    /// The version of the workspace.
    pub version: String,
    /// The time that every file in a package bears, in seconds since 1970.
    pub epoch: u64,
}

impl Release {
    /// What lies in this repository. The time is `SOURCE_DATE_EPOCH` where that is set, else that of the last commit.
    ///
    /// # Errors
    /// When neither tells a time.
    pub fn here() -> Packed<Self> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        let root = root.canonicalize().map_err(|error| error.to_string())?;
        let epoch = match std::env::var("SOURCE_DATE_EPOCH") {
            Ok(seconds) => seconds.parse().map_err(|_| {
                format!("SOURCE_DATE_EPOCH is {seconds:?}: it must be seconds since 1970")
            })?,
            Err(_) => of_last_commit(&root)?,
        };
        Ok(Self {
            root,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            epoch,
        })
    }

    /// The time as RFC 3339 and RFC 5322 write it.
    ///
    /// # Errors
    /// When it lies beyond the year 9999.
    pub fn moment(&self) -> Packed<Timestamp> {
        i64::try_from(self.epoch)
            .ok()
            .and_then(|seconds| Timestamp::from_second(seconds).ok())
            .ok_or_else(|| format!("{} seconds since 1970 are no time", self.epoch))
    }
}

fn of_last_commit(root: &Path) -> Packed<u64> {
    let told = said(
        Command::new("git")
            .args(["log", "-1", "--format=%ct"])
            .current_dir(root),
    );
    let no_time = "the time of the last commit is not known: set SOURCE_DATE_EPOCH to the seconds since 1970 that files shall bear";
    told.ok()
        .and_then(|told| told.trim().parse().ok())
        .ok_or_else(|| no_time.to_owned())
}

/// What a command says on standard output.
///
/// # Errors
/// When it does not run or fails.
pub fn said(command: &mut Command) -> Packed<String> {
    let output = command
        .output()
        .map_err(|error| format!("{} does not run: {error}", command.get_program().display()))?;
    if !output.status.success() {
        let why = String::from_utf8_lossy(&output.stderr).into_owned();
        return Err(format!(
            "{} failed:\n{why}",
            command.get_program().display()
        ));
    }
    String::from_utf8(output.stdout)
        .map_err(|_| format!("{} said what is no text", command.get_program().display()))
}
