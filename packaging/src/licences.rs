//! The licences of everything that is linked in, with their texts, which most of them ask to be handed on.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::Packed;
use crate::dependencies::Dependency;
use crate::tree::{names_in, read};

/// How files with the terms of a package begin, in small letters.
const BEGINNINGS: [&str; 6] = [
    "license",
    "licence",
    "copying",
    "unlicense",
    "notice",
    "copyright",
];

/// What a package's terms stand in is no longer than this, in bytes.
const TEXT_MAX: usize = 200_000;

/// All packages with their licences, then every text once, below the names of those that it belongs to.
///
/// # Errors
/// When a package carries no text of its terms.
pub fn licences(dependencies: &[Dependency]) -> Packed<String> {
    let others: Vec<&Dependency> = dependencies.iter().filter(|one| !one.is_own()).collect();
    let mut list = String::from(
        "Fieldpost itself is licensed under the Apache License, Version 2.0, or the MIT licence, at your option.\n\
         Linked into its programs are the Rust standard library (MIT OR Apache-2.0, the contributors to Rust) and the\n\
         packages below, each with its licence. Their texts follow.\n\n",
    );
    let mut by_text: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for one in &others {
        let named = format!("{} {}", one.name, one.version);
        list.push_str(&format!("  {named:<36} {}\n", one.licence));
        let texts = texts(&one.folder)?;
        if texts.is_empty() {
            return Err(format!(
                "{named} ({}) carries no text of its licence, which must be handed on with it",
                one.licence
            ));
        }
        for text in texts {
            let names = by_text.entry(text).or_default();
            if names.last() != Some(&named) {
                names.push(named.clone());
            }
        }
    }
    // By the first package that each belongs to.
    let mut texts: Vec<(Vec<String>, String)> = by_text
        .into_iter()
        .map(|(text, names)| (names, text))
        .collect();
    texts.sort();
    for (names, text) in texts {
        let rule = "=".repeat(100);
        list.push_str(&format!(
            "\n{rule}\n{}\n{rule}\n\n{text}\n",
            names.join(", ")
        ));
    }
    Ok(list)
}

/// The texts of terms within a package's folder.
fn texts(folder: &Path) -> Packed<Vec<String>> {
    let mut texts = Vec::new();
    for path in files_of_terms(folder, false)? {
        let bytes = read(&path)?;
        if let Ok(text) = String::from_utf8(bytes)
            && text.len() <= TEXT_MAX
        {
            let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
            let text = lines.join("\n").trim_matches('\n').to_owned();
            if !texts.contains(&text) {
                texts.push(text);
            }
        }
    }
    if texts.is_empty() {
        texts.extend(terms_above_sources(folder));
    }
    Ok(texts)
}

/// Terms that stand in the comment above a package's sources and nowhere else.
fn terms_above_sources(folder: &Path) -> Option<String> {
    let source = std::fs::read_to_string(folder.join("src/lib.rs")).ok()?;
    let (comment, _) = source.trim_start().strip_prefix("/*")?.split_once("*/")?;
    let lines = comment
        .lines()
        .map(|line| line.trim().trim_start_matches('*'));
    let lines: Vec<&str> = lines
        .map(|line| line.strip_prefix(' ').unwrap_or(line))
        .collect();
    let text = lines.join("\n").trim().to_owned();
    let small = text.to_lowercase();
    let holds_terms = small.contains("copyright") && small.contains("permission");
    holds_terms.then_some(text)
}

/// Files whose name tells that they hold terms, and all files of folders whose name does.
fn files_of_terms(folder: &Path, is_of_terms: bool) -> Packed<Vec<PathBuf>> {
    let mut found = Vec::new();
    for name in names_in(folder)? {
        let path = folder.join(&name);
        let small = name.to_lowercase();
        let is_named = is_of_terms || BEGINNINGS.iter().any(|one| small.starts_with(one));
        if path.is_dir() {
            if !small.starts_with("test") {
                found.extend(files_of_terms(&path, is_named)?);
            }
        } else if is_named && !small.ends_with(".rs") {
            found.push(path);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn package(name: &str, folder: &Path) -> Dependency {
        Dependency {
            name: name.to_owned(),
            version: "1.0.0".to_owned(),
            licence: "MIT".to_owned(),
            description: String::new(),
            repository: None,
            checksum: Some("00".repeat(32)),
            folder: folder.to_owned(),
            built_on: BTreeSet::new(),
        }
    }

    #[test]
    fn terms_above_the_sources_count_where_there_is_no_file_of_them() {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::create_dir(folder.path().join("src")).expect("made");
        let source = folder.path().join("src/lib.rs");
        let terms = "/* \n * Made by Ash\n * Copyright (c) Ash\n *\n * Permission is granted.\n */\nfn one() {}\n";
        std::fs::write(&source, terms).expect("written");
        let text = "Made by Ash\nCopyright (c) Ash\n\nPermission is granted.";
        assert_eq!(texts(folder.path()).expect("texts"), [text]);
        std::fs::write(&source, "/* What it does. */\n").expect("written");
        assert!(texts(folder.path()).expect("texts").is_empty());
        std::fs::write(&source, terms).expect("written");
        std::fs::write(folder.path().join("LICENSE"), "Of the file").expect("written");
        assert_eq!(texts(folder.path()).expect("texts"), ["Of the file"]);
    }

    #[test]
    fn a_text_stands_once_for_all_that_share_it_and_folders_are_looked_into() {
        let [one, two] = [(); 2].map(|()| tempfile::tempdir().expect("a folder"));
        std::fs::write(one.path().join("LICENSE-MIT"), "Permission is granted\r\n")
            .expect("written");
        std::fs::write(two.path().join("COPYING"), "Permission is granted\n").expect("written");
        std::fs::create_dir_all(two.path().join("assets/LICENSES")).expect("made");
        std::fs::write(two.path().join("assets/LICENSES/letters.txt"), "Of letters")
            .expect("written");
        let all = licences(&[package("one", one.path()), package("two", two.path())]);
        let all = all.expect("texts");
        assert_eq!(all.matches("Permission is granted").count(), 1, "{all}");
        assert!(all.contains("one 1.0.0, two 1.0.0"), "{all}");
        assert!(all.contains("Of letters"), "{all}");
    }

    #[test]
    fn a_package_without_its_terms_is_told() {
        let bare = tempfile::tempdir().expect("a folder");
        std::fs::write(bare.path().join("license.rs"), "fn main() {}").expect("written");
        let why = licences(&[package("bare", bare.path())]).expect_err("refused");
        assert!(why.contains("bare 1.0.0"), "{why}");
    }
}
