//! Which file goes where in which package.

use std::io::Write as _;

use flate2::{Compression, GzBuilder};

use crate::Packed;
use crate::build::{PROGRAMS, Programs};
use crate::release::Release;
use crate::tree::{Tree, names_in, read};

/// What is told of the programs and what they are made of, for every package.
#[derive(Debug, Clone)]
pub struct Told {
    /// Manual pages and completions, as [`documents`](crate::build::documents) gives them.
    pub documents: Tree,
    /// The licences of what is linked in.
    pub licences: String,
    /// The list of what is inside.
    pub inventory: String,
}

/// What people read, at the paths that it has in the repository, so that links hold.
const READ: [&str; 6] = [
    "README.md",
    "CHANGELOG.md",
    "LICENSE",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "server/API.md",
];
const READ_WHOLE: [&str; 2] = ["rules-core/manual", "server/manual"];

fn reading(release: &Release) -> Packed<Tree> {
    let mut tree = Tree::default();
    for path in READ {
        tree.put(path, read(&release.root.join(path))?);
    }
    for folder in READ_WHOLE {
        for name in names_in(&release.root.join(folder))? {
            let path = format!("{folder}/{name}");
            tree.put(path.clone(), read(&release.root.join(path))?);
        }
    }
    Ok(tree)
}

/// The folder that an archive unpacks to.
#[must_use]
pub fn archive_name(release: &Release, programs: &Programs) -> String {
    let system = programs.target.split('-').nth(2).unwrap_or("unknown");
    format!(
        "fieldpost-{}-{}-{system}",
        release.version,
        programs.processor()
    )
}

/// What is in an archive, for Linux or Windows.
///
/// # Errors
/// When something that goes in cannot be read.
pub fn archive(release: &Release, programs: &Programs, told: &Told) -> Packed<Tree> {
    let mut tree = Tree::default();
    let start = read(&release.root.join("packaging/GETTING-STARTED.md"))?;
    tree.put("GETTING-STARTED.md", start);
    tree.put_all("doc", &reading(release)?);
    tree.put("doc/licences-of-dependencies.txt", told.licences.as_str());
    tree.put("doc/contents.cdx.json", told.inventory.as_str());
    for program in PROGRAMS {
        let name = programs.file_name(program);
        tree.put_program(format!("bin/{name}"), programs.bytes(program)?);
    }
    if programs.is_for_windows() {
        put_documents(&mut tree, &told.documents, &[("powershell", "completions")])?;
        return Ok(tree);
    }
    let places = [
        ("man1", "share/man/man1"),
        ("bash", "share/bash-completion/completions"),
        ("zsh", "share/zsh/site-functions"),
        ("fish", "share/fish/vendor_completions.d"),
        ("elvish", "share/elvish/lib"),
        ("powershell", "share/powershell"),
    ];
    put_documents(&mut tree, &told.documents, &places)?;
    for name in ["fieldpost.service", "fieldpost.toml"] {
        let bytes = read(&release.root.join("server/hosting").join(name))?;
        tree.put(format!("systemd/{name}"), bytes);
    }
    Ok(tree)
}

/// What the Debian package puts on a system, by paths without a slash at their beginning.
///
/// # Errors
/// When something that goes in cannot be read.
pub fn debian(release: &Release, programs: &Programs, told: &Told) -> Packed<Tree> {
    let mut tree = Tree::default();
    for program in PROGRAMS {
        tree.put_program(format!("usr/bin/{program}"), programs.bytes(program)?);
    }
    let places = [
        ("bash", "usr/share/bash-completion/completions"),
        ("zsh", "usr/share/zsh/vendor-completions"),
        ("fish", "usr/share/fish/vendor_completions.d"),
    ];
    put_documents(&mut tree, &told.documents, &places)?;
    let pages = told.documents.0.iter();
    for (path, page) in pages.filter(|(path, _)| path.starts_with("man1/")) {
        tree.put(format!("usr/share/man/{path}.gz"), compressed(&page.bytes)?);
    }
    let hosting = release.root.join("server/hosting");
    let unit = String::from_utf8(read(&hosting.join("fieldpost.service"))?)
        .map_err(|_| "the unit is no text")?;
    tree.put(
        "usr/lib/systemd/system/fieldpost.service",
        packaged_unit(&unit)?,
    );
    tree.put(
        "etc/fieldpost/fieldpost.toml",
        read(&hosting.join("fieldpost.toml"))?,
    );
    let mut documents = reading(release)?;
    let changes = documents.0.remove("CHANGELOG.md").map(|file| file.bytes);
    tree.put_all("usr/share/doc/fieldpost", &documents);
    let doc = |name: &str| format!("usr/share/doc/fieldpost/{name}");
    tree.put(
        doc("changelog.gz"),
        compressed(&changes.unwrap_or_default())?,
    );
    tree.put(doc("contents.cdx.json"), told.inventory.as_str());
    tree.put(doc("copyright"), told.licences.as_str());
    Ok(tree)
}

/// The unit of the repository with the program where packages put it.
fn packaged_unit(unit: &str) -> Packed<String> {
    let packaged = unit.replace(
        "/usr/local/bin/fieldpost-server",
        "/usr/bin/fieldpost-server",
    );
    if packaged == unit {
        return Err("the unit does not start /usr/local/bin/fieldpost-server any more".to_owned());
    }
    // What its head asks for, installing the package has done.
    let lines = packaged.lines().skip_while(|line| line.starts_with('#'));
    Ok(lines.fold(String::new(), |text, line| text + line + "\n"))
}

fn put_documents(tree: &mut Tree, documents: &Tree, places: &[(&str, &str)]) -> Packed {
    for (kind, place) in places {
        let mut count = 0;
        for (path, file) in &documents.0 {
            if let Some(name) = path
                .strip_prefix(kind)
                .and_then(|rest| rest.strip_prefix('/'))
            {
                tree.put(format!("{place}/{name}"), file.bytes.clone());
                count += 1;
            }
        }
        if count == 0 {
            return Err(format!("the programs gave nothing for {kind}"));
        }
    }
    Ok(())
}

/// Compressed by gzip, without name or time.
///
/// # Errors
/// Never, in practice: it is written to memory.
pub fn compressed(bytes: &[u8]) -> Packed<Vec<u8>> {
    let failed = |error: std::io::Error| format!("compressing failed: {error}");
    let mut writer = GzBuilder::new().write(Vec::new(), Compression::new(9));
    writer.write_all(bytes).map_err(failed)?;
    writer.finish().map_err(failed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_unit_starts_the_packaged_program() {
        let unit = include_str!("../../server/hosting/fieldpost.service");
        let packaged = packaged_unit(unit).expect("a unit");
        assert!(packaged.contains("\nExecStart=/usr/bin/fieldpost-server serve\n"));
        assert!(!packaged.contains("/usr/local") && packaged.trim_start().starts_with("[Unit]"));
        assert!(packaged_unit("[Service]\nExecStart=/opt/x\n").is_err());
    }
}
