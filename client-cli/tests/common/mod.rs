//! What every test of the real binary starts from.

use std::path::Path;

use snapbox::cmd::{Command, cargo_bin};

/// The binary with a home of its own and nothing of this machine's environment.
pub fn fieldpost(home: &Path) -> Command {
    Command::new(cargo_bin!("fieldpost"))
        .env_clear()
        .env("FIELDPOST_CONFIG_DIR", home.join("config"))
        .env("FIELDPOST_DATA_DIR", home.join("data"))
        .current_dir(home)
}

/// A folder to be at home in.
pub fn home() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}
