//! The files of an embedded database.

use crate::host::{Host, server};

#[test]
fn a_second_server_on_the_same_database_says_so_and_ends() {
    let host = Host::start();
    let output = server()
        .current_dir(host.folder.path())
        .args(["--database", "sqlite:games.db", "--listen", "127.0.0.1:0"])
        .output()
        .expect("runs");
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("another server has the database open"),
        "{said}"
    );
    assert_eq!(host.get("/readyz").status, 200);
}

#[cfg(unix)]
#[test]
fn the_files_are_their_owners_alone() {
    use std::os::unix::fs::PermissionsExt;
    let host = Host::start();
    host.battle();
    for name in [
        "games.db",
        "games.db-wal",
        "games.db-shm",
        "games.db.organiser-key",
    ] {
        let mode = std::fs::metadata(host.folder.path().join(name))
            .expect(name)
            .permissions()
            .mode();
        assert_eq!(mode & 0o077, 0, "{name}: {mode:o}");
    }
}
