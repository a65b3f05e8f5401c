//! The two programs, built for a target; their manual pages and completions, asked of programs that run here.

use std::path::PathBuf;
use std::process::Command;

use crate::Packed;
use crate::release::{Release, said};
use crate::tree::{Tree, names_in, read};

/// The programs' names.
pub const PROGRAMS: [&str; 2] = ["fieldpost", "fieldpost-server"];

/// Programs built for a target.
#[derive(Debug, Clone)]
pub struct Programs {
    /// The target, as the compiler names it: `x86_64-unknown-linux-gnu`.
    pub target: String,
    /// Where they lie.
    pub folder: PathBuf,
}

impl Programs {
    /// Whether they run on Windows.
    #[must_use]
    pub fn is_for_windows(&self) -> bool {
        self.target.contains("windows")
    }

    /// The processor, as the compiler names it.
    #[must_use]
    pub fn processor(&self) -> &str {
        self.target.split('-').next().unwrap_or(&self.target)
    }

    /// A program's file name.
    #[must_use]
    pub fn file_name(&self, program: &str) -> String {
        let ending = if self.is_for_windows() { ".exe" } else { "" };
        format!("{program}{ending}")
    }

    /// A program's bytes.
    ///
    /// # Errors
    /// When it is not there.
    pub fn bytes(&self, program: &str) -> Packed<Vec<u8>> {
        read(&self.folder.join(self.file_name(program)))
    }
}

/// The target of this machine.
///
/// # Errors
/// When the compiler does not tell.
pub fn host() -> Packed<String> {
    let told = said(Command::new("rustc").arg("-vV"))?;
    let host = told.lines().find_map(|line| line.strip_prefix("host: "));
    host.map(str::to_owned)
        .ok_or_else(|| "rustc does not tell what it builds for".to_owned())
}

/// Builds both programs for a target, as released, without the paths of this machine in them.
///
/// # Errors
/// When they do not build.
pub fn build(release: &Release, target: &str) -> Packed<Programs> {
    let folder = release.root.join("target/packages/build");
    let cargo_home = cargo_home()?;
    // The first that fits is taken last: the registry may lie within the repository's own folder.
    let shown = [
        (release.root.as_path(), "/fieldpost"),
        (&cargo_home, "/cargo"),
    ];
    let mut flags: Vec<String> = Vec::new();
    let mut c_flags: Vec<String> = Vec::new();
    for (path, name) in shown {
        flags.push(format!("--remap-path-prefix={}={name}", path.display()));
        c_flags.push(format!("-ffile-prefix-map={}={name}", path.display()));
    }
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo
        .args(["build", "--release", "--locked"])
        .args(["-p", "fieldpost-client", "-p", "fieldpost-server"])
        .args(["--target", target, "--target-dir"])
        .arg(&folder)
        .current_dir(&release.root)
        .env_remove("RUSTFLAGS")
        .env("CARGO_ENCODED_RUSTFLAGS", flags.join("\u{1f}"))
        .env("CARGO_INCREMENTAL", "0")
        .env("SOURCE_DATE_EPOCH", release.epoch.to_string());
    if !target.ends_with("-msvc") {
        cargo.env("CFLAGS", c_flags.join(" "));
    }
    let built = cargo
        .status()
        .map_err(|error| format!("cargo does not run: {error}"))?;
    if !built.success() {
        return Err(format!(
            "the programs do not build for {target}; what the compiler lacks for it is told above"
        ));
    }
    Ok(Programs {
        target: target.to_owned(),
        folder: folder.join(target).join("release"),
    })
}

fn cargo_home() -> Packed<PathBuf> {
    if let Some(home) = std::env::var_os("CARGO_HOME") {
        return Ok(home.into());
    }
    std::env::home_dir()
        .map(|home| home.join(".cargo"))
        .ok_or_else(|| "there is no home folder: set CARGO_HOME".to_owned())
}

/// The shells that completions are made for, and the file that each keeps those of a program in.
const SHELLS: [(&str, &str, &str); 5] = [
    ("bash", "bash/", ""),
    ("zsh", "zsh/_", ""),
    ("fish", "fish/", ".fish"),
    ("powershell", "powershell/", ".ps1"),
    ("elvish", "elvish/", ".elv"),
];

/// What the programs tell of themselves: `man1/fieldpost.1`, `bash/fieldpost`, `powershell/fieldpost.ps1` and so on.
///
/// # Errors
/// When one does not run here or fails.
pub fn documents(programs: &Programs) -> Packed<Tree> {
    let mut tree = Tree::default();
    let pages = tempfile::tempdir().map_err(|error| format!("no temporary folder: {error}"))?;
    for program in PROGRAMS {
        let file = programs.folder.join(programs.file_name(program));
        said(
            Command::new(&file)
                .args(["manual-page", "--folder"])
                .arg(pages.path()),
        )?;
        for (shell, before, after) in SHELLS {
            let completions = said(Command::new(&file).args(["completions", shell]))?;
            tree.put(format!("{before}{program}{after}"), completions);
        }
    }
    for name in names_in(pages.path())? {
        tree.put(format!("man1/{name}"), read(&pages.path().join(&name))?);
    }
    Ok(tree)
}
