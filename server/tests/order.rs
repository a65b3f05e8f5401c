//! The order of the server's modules, read from its imports: each imports only those above it in the table of `lib.rs`,
//! and no two files import each other, directly or round a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

fn sources() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// A path of modules, such as `service::notices::due`.
type Module = Vec<String>;

/// Every file of the library by its module, without its unit tests.
fn files() -> BTreeMap<Module, String> {
    let mut found = BTreeMap::new();
    let mut folders = vec![(sources(), Module::new())];
    while let Some((folder, module)) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            let name = path.file_stem().expect("a name").to_string_lossy();
            let mut inner = module.clone();
            if path.is_dir() {
                inner.push(name.into_owned());
                folders.push((path, inner));
                continue;
            }
            if matches!(name.as_ref(), "lib" | "main" | "tests") || module == ["bin"] {
                continue;
            }
            if name != "mod" {
                inner.push(name.into_owned());
            }
            let text = fs::read_to_string(&path).expect("read");
            let code = text.split("#[cfg(test)]").next().unwrap_or_default();
            found.insert(inner, code.to_owned());
        }
    }
    found
}

/// What a file of the library imports, as paths from the crate's root; also those that it names in passing.
fn imports(module: &Module, code: &str) -> BTreeSet<Module> {
    let mut trees = Vec::new();
    let lines: Vec<&str> = code
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect();
    let code = lines.join("\n");
    for statement in code.split("\nuse ").skip(1) {
        let tree = statement.split(';').next().unwrap_or_default();
        expand("", tree, &mut trees);
    }
    for start in ["crate::", "super::"] {
        for (at, _) in code.match_indices(start) {
            let is_path = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
            let path: String = code[at..].chars().take_while(|&c| is_path(c)).collect();
            trees.push(path);
        }
    }
    let resolved = trees.iter().filter_map(|path| {
        let mut parts: Vec<&str> = path.split("::").filter(|part| !part.is_empty()).collect();
        let mut from = match *parts.first()? {
            "crate" => {
                parts.remove(0);
                Module::new()
            }
            "super" => module.clone(),
            _ => return None,
        };
        while parts.first() == Some(&"super") {
            parts.remove(0);
            from.pop();
        }
        from.extend(parts.into_iter().map(str::to_owned));
        Some(from)
    });
    resolved.collect()
}

/// The paths of a tree such as `crate::store::{self, GameId}`.
fn expand(prefix: &str, tree: &str, paths: &mut Vec<String>) {
    let tree = tree.trim();
    let Some((head, group)) = tree.split_once('{') else {
        let path = tree.split(" as ").next().unwrap_or(tree).trim();
        paths.push(format!("{prefix}{path}"));
        return;
    };
    let inner = group.trim_end().strip_suffix('}').unwrap_or(group);
    let (mut depth, mut item) = (0, String::new());
    for c in inner.chars().chain([',']) {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if c == ',' && depth == 0 {
            if !item.trim().is_empty() {
                expand(&format!("{prefix}{head}"), &item, paths);
            }
            item.clear();
        } else {
            item.push(c);
        }
    }
}

/// The rows of the table in `lib.rs`, from the ground up.
fn rows() -> Vec<Vec<String>> {
    let text = fs::read_to_string(sources().join("lib.rs")).expect("read");
    let rows = text.lines().filter_map(|line| {
        let cell = line.strip_prefix("//! | ")?.split(" | ").next()?;
        let names = cell.split('`').skip(1).step_by(2).map(str::to_owned);
        Some(names.collect::<Vec<_>>()).filter(|names| !names.is_empty())
    });
    rows.collect()
}

#[test]
fn the_table_lists_every_module_once() {
    let listed: Vec<String> = rows().into_iter().flatten().collect();
    let known: BTreeSet<String> = files().keys().map(|module| module[0].clone()).collect();
    let once: BTreeSet<String> = listed.iter().cloned().collect();
    assert_eq!(once, known);
    assert_eq!(listed.len(), once.len(), "{listed:?}");
}

#[test]
fn a_module_imports_only_those_above_it() {
    let rows = rows();
    let row = |name: &str| {
        rows.iter()
            .position(|row| row.iter().any(|one| one == name))
    };
    let mut seen = 0;
    for (module, code) in files() {
        for import in imports(&module, &code) {
            let (Some(own), Some(other)) = (row(&module[0]), import.first().and_then(|n| row(n)))
            else {
                continue;
            };
            if import[0] != module[0] {
                seen += 1;
                assert!(
                    other < own,
                    "{} imports {}",
                    module.join("::"),
                    import.join("::")
                );
            }
        }
    }
    assert!(seen > 100, "only {seen} imports were read");
}

/// The file that an import leads to; none where it leads to a folder's own file, which is the face of its folder.
fn file_of(import: &Module, files: &BTreeMap<Module, String>) -> Option<Module> {
    (1..=import.len())
        .rev()
        .map(|length| import[..length].to_vec())
        .find(|module| files.contains_key(module))
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let files = files();
    let is_face = |module: &Module| {
        let inside = |other: &Module| other.len() > module.len() && other.starts_with(module);
        files.keys().any(inside)
    };
    let mut arrows: BTreeMap<Module, BTreeSet<Module>> = BTreeMap::new();
    for (module, code) in &files {
        let others = imports(module, code)
            .into_iter()
            .filter_map(|import| file_of(&import, &files))
            .filter(|other| other != module && !is_face(other) && !other.starts_with(module));
        arrows.insert(module.clone(), others.collect());
    }
    assert!(arrows.values().map(BTreeSet::len).sum::<usize>() > 150);
    // Files that import nothing that is left are taken away, again and again; what stays is a circle.
    while let Some(ground) = arrows
        .iter()
        .find(|(_, others)| others.iter().all(|other| !arrows.contains_key(other)))
        .map(|(module, _)| module.clone())
    {
        arrows.remove(&ground);
    }
    let left: Vec<String> = arrows.keys().map(|module| module.join("::")).collect();
    assert!(left.is_empty(), "in or above a circle: {left:?}");
}

#[test]
fn imports_are_read_as_they_are_written() {
    let module = vec!["service".to_owned(), "notices".to_owned(), "due".to_owned()];
    let code = "//! Doc.\nuse std::fmt;\nuse crate::store::{self, games::{Head, Moment as M}};\nuse super::super::FoldedGame;\nuse super::compose;\nfn f() { crate::key::fresh_id() }\n";
    let found: Vec<String> = imports(&module, code)
        .iter()
        .map(|import| import.join("::"))
        .collect();
    for expected in [
        "store::self",
        "store::games::Head",
        "store::games::Moment",
        "service::FoldedGame",
        "service::notices::compose",
        "key::fresh_id",
    ] {
        assert!(
            found.iter().any(|one| one == expected),
            "{expected} in {found:?}"
        );
    }
}
