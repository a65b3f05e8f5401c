//! The packages that `packaging/build` made, tried where there is neither compiler nor anything else: the Debian package in a bare
//! Debian, the archive in an empty folder. What is missing for that is told and skipped, but with `FIELDPOST_TEST_PACKAGES` set to
//! the folder of the packages everything must be there.
#![cfg(target_os = "linux")]

use std::path::{Path, PathBuf};
use std::process::Command;

/// The folder with the packages, and whether they must be there.
fn packages() -> (PathBuf, bool) {
    match std::env::var_os("FIELDPOST_TEST_PACKAGES") {
        Some(folder) => (folder.into(), true),
        None => (
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/packages"),
            false,
        ),
    }
}

/// The package whose name ends so; none where that may be.
fn package(ending: &str) -> Option<PathBuf> {
    let (folder, is_needed) = packages();
    let names = std::fs::read_dir(&folder).into_iter().flatten().flatten();
    let found = names
        .map(|entry| entry.path())
        .find(|path| path.to_string_lossy().ends_with(ending));
    if found.is_none() {
        missing(
            &format!(
                "{} holds no {ending}: packaging/build makes it",
                folder.display()
            ),
            is_needed,
        );
    }
    found
}

fn missing(what: &str, is_needed: bool) {
    assert!(!is_needed, "{what}");
    eprintln!("skipped: {what}");
}

fn is_installed(program: &str) -> bool {
    Command::new(program)
        .arg("--version")
        .output()
        .is_ok_and(|output| output.status.success())
}

fn said(command: &mut Command) -> String {
    let output = command.output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert!(output.status.success(), "{command:?}:\n{out}\n{err}");
    out + &err
}

#[test]
fn the_debian_package_is_installed_in_a_bare_debian_and_plays_the_demonstration() {
    let Some(package) = package(".deb") else {
        return;
    };
    let (_, is_needed) = packages();
    let maker = ["mmdebstrap", "debootstrap"]
        .into_iter()
        .find(|program| is_installed(program));
    let Some(maker) = maker else {
        return missing(
            "neither mmdebstrap nor debootstrap is here to make a bare Debian",
            is_needed,
        );
    };
    if said(Command::new("id").arg("-u")).trim() != "0" {
        return missing("only root may make a bare Debian and go into it", is_needed);
    }
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path().join("root");
    let release = std::env::var("FIELDPOST_TEST_DEBIAN").unwrap_or_else(|_| "stable".to_owned());
    let mut making = Command::new(maker);
    match maker {
        // A mirror that has not been brought up to date for a while does as well.
        "mmdebstrap" => making
            .args(["--variant=minbase", "--format=directory"])
            .arg("--aptopt=Acquire::Check-Valid-Until \"false\""),
        _ => making.arg("--variant=minbase"),
    };
    let made = making.arg(&release).arg(&root).output().expect("it runs");
    if !made.status.success() {
        let why = String::from_utf8_lossy(&made.stderr).into_owned();
        return missing(&format!("no bare Debian could be made:\n{why}"), is_needed);
    }
    std::fs::copy(&package, root.join("tmp/fieldpost.deb")).expect("copied");
    let within = |line: &str| {
        let mut command = Command::new("chroot");
        command.arg(&root).args(["/bin/sh", "-euc", line]);
        command
            .env_clear()
            .env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin")
            .env("HOME", "/tmp");
        said(&mut command)
    };
    within("! command -v cargo && ! command -v cc");
    within("dpkg -i /tmp/fieldpost.deb");
    let status = within("dpkg -s fieldpost");
    assert!(status.contains("Status: install ok installed"), "{status}");
    within(
        "getent passwd fieldpost && test \"$(stat -c %U:%a /var/lib/fieldpost)\" = fieldpost:700",
    );
    within("test -s /usr/share/man/man1/fieldpost-server-backup.1.gz");
    within("grep -q complete /usr/share/bash-completion/completions/fieldpost");
    within("grep -q /usr/bin/fieldpost-server /usr/lib/systemd/system/fieldpost.service");
    within("grep -q 'Bitstream Vera' /usr/share/doc/fieldpost/copyright");
    // Installed once more, as a newer version would be: nothing is asked, settings stay.
    within(
        "echo '# mine' >> /etc/fieldpost/fieldpost.toml; dpkg -i /tmp/fieldpost.deb; grep -q mine /etc/fieldpost/fieldpost.toml",
    );
    // Neither network nor other programs: any free port of this machine does.
    let played = within("cd /tmp && fieldpost-server demo --listen 127.0.0.1:0 --then-exit");
    assert!(played.contains("The table is drawn in"), "{played}");
    within("grep -q '<svg' /tmp/showcase/table.svg");
    within(
        "cd /tmp && fieldpost local new quern-bridge e.ndjson && fieldpost local table e.ndjson --png e.png && test -s e.png && fieldpost words | grep -q forward",
    );
    // A copy of the games as the server's own user, with the settings of the package.
    within("cd /tmp && fieldpost-server check --database sqlite:/tmp/showcase/games.db");
    within("dpkg --purge fieldpost && test -d /var/lib/fieldpost && ! test -e /usr/bin/fieldpost");
}

/// What the README tells of the first game, with the programs of the archive.
#[test]
fn the_archive_plays_the_first_game() {
    let Some(archive) = package(".tar.gz") else {
        return;
    };
    let folder = tempfile::tempdir().expect("a folder");
    said(
        Command::new("tar")
            .arg("-xzf")
            .arg(&archive)
            .arg("-C")
            .arg(folder.path()),
    );
    let names = std::fs::read_dir(folder.path()).expect("unpacked");
    let unpacked = names.flatten().next().expect("a folder").path();
    let checked = Command::new("sh")
        .args([
            "-euc",
            "cd \"$0\" && sha256sum --check --ignore-missing SHA256SUMS",
        ])
        .arg(archive.parent().expect("a folder"))
        .output()
        .expect("it runs");
    assert!(checked.status.success(), "{checked:?}");
    // As the README begins: sh in the folder of the archive.
    let start = "export PATH=\"$PWD/bin:$PATH\"; fieldpost --version; fieldpost-server --version; \
                 man -l share/man/man1/fieldpost.1 >/dev/null 2>&1 || test -s share/man/man1/fieldpost.1";
    said(
        Command::new("sh")
            .args(["-euc", start])
            .current_dir(&unpacked),
    );
    transcript(&unpacked);
}

/// The README's console blocks, typed with the archive's programs first on the path.
fn transcript(unpacked: &Path) {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut typed = Command::new(cargo);
    typed
        .args([
            "test",
            "--quiet",
            "-p",
            "fieldpost-tests",
            "--test",
            "whole_games",
        ])
        .args(["--", "--exact"])
        .arg("documents::the_first_game_of_the_readme_is_played_as_it_says")
        .env("FIELDPOST_TEST_PROGRAMS", unpacked.join("bin"));
    let told = said(&mut typed);
    assert!(told.contains("1 passed"), "{told}");
}
