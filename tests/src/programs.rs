//! The programs that are tried.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// The folder of the profile that this test was built in.
fn folder() -> PathBuf {
    let me = std::env::current_exe().expect("this test has a file");
    me.ancestors()
        .nth(2)
        .expect("deps lies in the profile's folder")
        .to_owned()
}

/// The profile of that folder by name: those of development keep theirs in `debug`.
fn profile(folder: &Path) -> &str {
    match folder.file_name().and_then(|name| name.to_str()) {
        Some("debug") => "dev",
        Some(name) => name,
        None => panic!("{} is no profile's folder", folder.display()),
    }
}

fn build(arguments: &[&str]) {
    let folder = folder();
    let target = folder
        .parent()
        .expect("the profile lies in the target folder");
    let built = Command::new(env!("CARGO"))
        .args(["build", "--quiet", "-p", "fieldpost-server"])
        .args(["--profile", profile(&folder)])
        .args(arguments)
        .arg("--target-dir")
        .arg(target)
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
        .status()
        .expect("cargo runs");
    assert!(built.success(), "the programs build");
}

/// Where the programs are, built once if they are not there; or the folder in `FIELDPOST_TEST_PROGRAMS`, to try programs that were
/// built elsewhere.
///
/// # Panics
/// When they do not build.
#[must_use]
pub fn programs() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        if let Some(folder) = std::env::var_os("FIELDPOST_TEST_PROGRAMS") {
            return folder.into();
        }
        build(&["-p", "fieldpost-client"]);
        folder()
    })
}

/// A command that runs a server with a fault in its store.
///
/// # Panics
/// When it does not build.
#[must_use]
pub fn mutant(fault: &str) -> Command {
    static BUILT: OnceLock<()> = OnceLock::new();
    BUILT.get_or_init(|| build(&["--features", "mutants", "--bin", "fieldpost-server-mutant"]));
    let mut command = program("fieldpost-server-mutant");
    command.env("FIELDPOST_MUTANT", fault);
    command
}

/// A command that runs one of them, with none of this process's settings.
///
/// # Panics
/// When they do not build.
#[must_use]
pub fn program(name: &str) -> Command {
    let mut command = Command::new(programs().join(name));
    for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("FIELDPOST_")) {
        command.env_remove(name);
    }
    command
}

#[test]
fn the_programs_are_those_of_the_profile_that_tries_them() {
    for (folder, name) in [
        ("/t/debug", "dev"),
        ("/t/release", "release"),
        ("/t/thorough", "thorough"),
    ] {
        assert_eq!(profile(Path::new(folder)), name);
    }
    let is_dev = profile(&folder()) == "dev";
    assert_eq!(is_dev, cfg!(debug_assertions));
}
