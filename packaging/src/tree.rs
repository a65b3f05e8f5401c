//! Files on their way into a package.

use std::collections::BTreeMap;
use std::path::Path;

use fieldpost_command_line::in_plain_words;

use crate::Packed;

/// A file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// What is in it.
    pub bytes: Vec<u8>,
    /// Whether it is a program.
    pub is_program: bool,
}

impl File {
    /// Its mode on Unix.
    #[must_use]
    pub fn mode(&self) -> u32 {
        if self.is_program { 0o755 } else { 0o644 }
    }
}

/// Files by their paths, `/` between names, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tree(pub BTreeMap<String, File>);

impl Tree {
    /// Puts a file in.
    pub fn put(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        let bytes = bytes.into();
        self.0.insert(
            path.into(),
            File {
                bytes,
                is_program: false,
            },
        );
    }

    /// Puts a program in.
    pub fn put_program(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        let bytes = bytes.into();
        self.0.insert(
            path.into(),
            File {
                bytes,
                is_program: true,
            },
        );
    }

    /// Puts all of another tree under a folder.
    pub fn put_all(&mut self, folder: &str, other: &Self) {
        for (path, file) in &other.0 {
            self.0.insert(format!("{folder}/{path}"), file.clone());
        }
    }

    /// Every folder that holds something, each before what it holds, in order.
    #[must_use]
    pub fn folders(&self) -> Vec<String> {
        let mut folders = std::collections::BTreeSet::new();
        for path in self.0.keys() {
            for (at, _) in path.match_indices('/') {
                folders.insert(path[..at].to_owned());
            }
        }
        folders.into_iter().collect()
    }

    /// How much all files hold together, in bytes.
    #[must_use]
    pub fn size(&self) -> usize {
        self.0.values().map(|file| file.bytes.len()).sum()
    }
}

/// What is in a file of this machine.
///
/// # Errors
/// When it cannot be read.
pub fn read(path: &Path) -> Packed<Vec<u8>> {
    std::fs::read(path).map_err(|error| {
        let why = in_plain_words(&error);
        format!("{} cannot be read: {why}", path.display())
    })
}

/// The names in a folder, in order.
///
/// # Errors
/// When it cannot be read.
pub fn names_in(folder: &Path) -> Packed<Vec<String>> {
    let unreadable = |error: std::io::Error| {
        let why = in_plain_words(&error);
        format!("{} cannot be read: {why}", folder.display())
    };
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let name = entry.map_err(unreadable)?.file_name();
        names.push(name.to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_come_before_what_they_hold() {
        let mut tree = Tree::default();
        tree.put("share/man/man1/a.1", "x");
        tree.put("bin", "not a folder");
        let mut all = Tree::default();
        all.put_all("top", &tree);
        assert_eq!(
            all.folders(),
            ["top", "top/share", "top/share/man", "top/share/man/man1"]
        );
        assert_eq!(all.size(), 13);
    }
}
