//! Transcripts in the documents: each `$ command` of a console block is typed into a shell, and what
//! it says is compared with what stands there.
//!
//! A line of `...` stands for any number of lines, `[..]` within a line for anything. A command of which
//! nothing else is told must at least succeed: whatever it says would fit.

use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use tempfile::TempDir;

use crate::programs;

/// A command of a document and what it says there.
#[derive(Debug)]
pub struct Step {
    pub line: usize,
    pub command: String,
    pub said: String,
}

/// The steps of a document, in order.
pub fn steps(text: &str) -> Vec<Step> {
    let mut all: Vec<Step> = Vec::new();
    let mut in_block = false;
    for (number, line) in text.lines().enumerate() {
        if line.starts_with("```") {
            in_block = line == "```console";
        } else if in_block && let Some(command) = line.strip_prefix("$ ") {
            all.push(Step {
                line: number + 1,
                command: command.to_owned(),
                said: String::new(),
            });
        } else if in_block && let Some(last) = all.last_mut() {
            last.said.push_str(line);
            last.said.push('\n');
        }
    }
    all
}

/// A shell in a folder of its own, with the two programs at hand and a home without seats.
pub struct Shell {
    home: TempDir,
    folder: PathBuf,
    server: Option<Child>,
    /// The address that the document names, and the one that its server got here.
    address: Option<(String, String)>,
}

impl Shell {
    pub fn new() -> Self {
        let home = tempfile::tempdir().expect("a folder");
        let folder = home.path().join("table");
        std::fs::create_dir(&folder).expect("a folder");
        Self {
            home,
            folder,
            server: None,
            address: None,
        }
    }

    /// Types every step; what came out otherwise than the document says.
    pub fn types(&mut self, steps: &[Step]) -> Vec<String> {
        let mut wrong = Vec::new();
        for step in steps {
            let (said, is_success) = self.type_in(&step.command);
            let wanted = self.here(&step.said);
            if !is_as_told(&wanted, &said) || !(is_success || tells(&wanted)) {
                wrong.push(format!("line {}: $ {}\n{said}", step.line, step.command));
            }
        }
        wrong
    }

    /// A text with the server's address as it is here.
    fn here(&self, text: &str) -> String {
        match &self.address {
            Some((told, here)) => text.replace(told, here),
            None => text.to_owned(),
        }
    }

    /// What a command said, and whether it succeeded.
    fn type_in(&mut self, command: &str) -> (String, bool) {
        if let Some(folder) = command.strip_prefix("cd ") {
            self.folder.push(folder.trim());
            assert!(self.folder.is_dir(), "{}", self.folder.display());
            return (String::new(), true);
        }
        if command.starts_with("fieldpost-server serve") {
            // the document's own port may be taken on this machine: any free one does
            let (server, address) = programs::serve(&self.folder, "127.0.0.1:0", &[]);
            self.server = Some(server);
            self.address = Some(("127.0.0.1:7878".to_owned(), address));
            return (String::new(), true);
        }
        let path = std::env::var("PATH").unwrap_or_default();
        let output = Command::new("sh")
            .arg("-c")
            .arg(format!("exec 2>&1; {}", self.here(command)))
            .env_clear()
            .env(
                "PATH",
                format!("{}:{path}", fieldpost_tests::programs::programs().display()),
            )
            .env("HOME", self.home.path())
            .env("FIELDPOST_CONFIG_DIR", self.home.path().join("config"))
            .env("FIELDPOST_DATA_DIR", self.home.path().join("data"))
            .env("NO_COLOR", "1")
            .current_dir(&self.folder)
            .stdin(Stdio::null())
            .output()
            .expect("a shell runs");
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        (said, output.status.success())
    }

    /// Puts a file there that the document speaks of.
    pub fn write(&self, name: &str, text: &str) {
        std::fs::write(self.folder.join(name), text)
            .unwrap_or_else(|error| panic!("{name}: {error}"));
    }

    /// A file that the steps left behind.
    pub fn file(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }
}

impl Drop for Shell {
    fn drop(&mut self) {
        if let Some(mut server) = self.server.take() {
            let _ = server.kill();
            let _ = server.wait();
        }
    }
}

/// Whether a document tells anything of what is said.
fn tells(told: &str) -> bool {
    told.lines()
        .any(|line| line.trim_end() != "..." && !line.trim().is_empty())
}

/// Whether what was said is what a document tells.
fn is_as_told(told: &str, said: &str) -> bool {
    let lines = |text: &str| -> Vec<String> {
        let lines = text.trim_end().lines();
        lines.map(|line| line.trim_end().to_owned()).collect()
    };
    fits(&lines(told), &lines(said))
}

fn fits(told: &[String], said: &[String]) -> bool {
    match told.split_first() {
        None => said.is_empty(),
        Some((line, rest)) if line == "..." => {
            (0..=said.len()).any(|skipped| fits(rest, &said[skipped..]))
        }
        Some((line, rest)) => said
            .split_first()
            .is_some_and(|(first, after)| is_like(line, first) && fits(rest, after)),
    }
}

fn is_like(told: &str, said: &str) -> bool {
    let mut pieces = told.split("[..]");
    let Some(mut rest) = pieces.next().and_then(|first| said.strip_prefix(first)) else {
        return false;
    };
    let mut is_open = false;
    for piece in pieces {
        is_open = true;
        let Some(at) = rest.find(piece) else {
            return false;
        };
        rest = &rest[at + piece.len()..];
        if !piece.is_empty() {
            is_open = false;
        }
    }
    is_open || rest.is_empty()
}

#[test]
fn lines_are_compared_as_told() {
    for (told, said, fitting) in [
        ("a\nb\n", "a\nb\n\n", true),
        ("a\n...\nd\n", "a\nb\nc\nd\n", true),
        ("a\n...\n", "a\n", true),
        ("a\n...\nd\n", "a\nb\nc\n", false),
        ("in [..] mm\n", "in 12.5 mm\n", true),
        ("in [..] mm\n", "in 12.5 cm\n", false),
        ("in [..]\n", "in 12.5 cm\n", true),
        ("in\n", "in 12.5 cm\n", false),
        ("", "a\n", false),
    ] {
        assert_eq!(is_as_told(told, said), fitting, "{told:?} {said:?}");
    }
}

#[test]
fn a_command_of_which_nothing_is_told_must_succeed() {
    let types = |text: &str| Shell::new().types(&steps(text));
    assert!(types("```console\n$ true\n...\n$ echo a > b\n$ cat b\n...\n```\n").is_empty());
    let wrong = types("```console\n$ cat nowhere\n...\n$ false\n$ fieldpost try x\n...\n```\n");
    assert_eq!(wrong.len(), 3, "{wrong:?}");
    // what goes wrong may be told
    assert!(types("```console\n$ echo refused; false\nrefused\n```\n").is_empty());
}
