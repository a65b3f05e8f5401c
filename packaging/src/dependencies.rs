//! What the programs are made of: every package that is linked into them, as `cargo tree` finds it, with what `cargo metadata` and the
//! lock file know of it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::process::Command;

use cargo_metadata::{DependencyKind, MetadataCommand, Package, PackageId};

use crate::Packed;
use crate::release::{Release, said};

/// A package that is linked into a program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dependency {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Its licence, as an SPDX expression.
    pub licence: String,
    /// What it says of itself.
    pub description: String,
    /// Where it is developed.
    pub repository: Option<String>,
    /// SHA-256 of what the registry holds, in hex; absent for the packages of this repository.
    pub checksum: Option<String>,
    /// The folder with its sources on this machine.
    pub folder: PathBuf,
    /// Names and versions of what it is built on in turn.
    pub built_on: BTreeSet<(String, String)>,
}

impl Dependency {
    /// Whether it is of this repository.
    #[must_use]
    pub fn is_own(&self) -> bool {
        self.checksum.is_none()
    }
}

/// Everything that is linked into the two programs for a target, by name and version.
///
/// # Errors
/// When cargo cannot tell, or a package names no licence.
pub fn dependencies(release: &Release, target: &str) -> Packed<Vec<Dependency>> {
    let linked = linked(release, target)?;
    let checksums = checksums(release)?;
    let metadata = MetadataCommand::new()
        .manifest_path(release.root.join("Cargo.toml"))
        .other_options(["--locked", "--filter-platform", target].map(str::to_owned))
        .exec()
        .map_err(|error| format!("cargo metadata: {error}"))?;
    let of_id: BTreeMap<&PackageId, &Package> = metadata
        .packages
        .iter()
        .map(|package| (&package.id, package))
        .collect();
    let nodes = metadata.resolve.as_ref().map(|resolve| &resolve.nodes);
    let mut found = Vec::new();
    for node in nodes.into_iter().flatten() {
        let Some(package) = of_id.get(&node.id) else {
            continue;
        };
        if !linked.contains(&key(package)) {
            continue;
        }
        let normal = node.deps.iter().filter(|dep| {
            let mut kinds = dep.dep_kinds.iter();
            kinds.any(|kind| kind.kind == DependencyKind::Normal)
        });
        let built_on = normal
            .filter_map(|dep| of_id.get(&dep.pkg))
            .map(|package| key(package))
            .filter(|key| linked.contains(key))
            .collect();
        found.push(described(package, &checksums, built_on)?);
    }
    found.sort_by(|a, b| (&a.name, &a.version).cmp(&(&b.name, &b.version)));
    if found.len() != linked.len() {
        return Err(format!(
            "cargo tree names {} packages, cargo metadata knows {} of them",
            linked.len(),
            found.len()
        ));
    }
    Ok(found)
}

type Key = (String, String);

fn key(package: &Package) -> Key {
    (package.name.to_string(), package.version.to_string())
}

/// Names and versions of what is linked in, the features as they are built.
fn linked(release: &Release, target: &str) -> Packed<BTreeSet<Key>> {
    let mut tree = Command::new("cargo");
    tree.args(["tree", "--locked", "--edges", "normal", "--prefix", "none"])
        .args(["-p", "fieldpost-client", "-p", "fieldpost-server"])
        .args(["--format", "{p}", "--target", target])
        .current_dir(&release.root);
    let told = said(&mut tree)?;
    let packages = told.lines().filter_map(|line| {
        let mut words = line.split(' ');
        let (name, version) = (words.next()?, words.next()?);
        Some((name.to_owned(), version.strip_prefix('v')?.to_owned()))
    });
    Ok(packages.collect())
}

/// Checksums of the lock file.
fn checksums(release: &Release) -> Packed<BTreeMap<Key, String>> {
    let text = crate::tree::read(&release.root.join("Cargo.lock"))?;
    let lock: toml::Table = std::str::from_utf8(&text)
        .ok()
        .and_then(|text| text.parse().ok())
        .ok_or("Cargo.lock is not what cargo writes")?;
    let packages = lock.get("package").and_then(toml::Value::as_array);
    let entry = |package: &toml::Value| {
        let text = |name: &str| Some(package.get(name)?.as_str()?.to_owned());
        Some(((text("name")?, text("version")?), text("checksum")?))
    };
    Ok(packages.into_iter().flatten().filter_map(entry).collect())
}

fn described(
    package: &Package,
    checksums: &BTreeMap<Key, String>,
    built_on: BTreeSet<Key>,
) -> Packed<Dependency> {
    let (name, version) = key(package);
    let licence = package
        .license
        .as_deref()
        .ok_or_else(|| format!("{name} {version} names no licence: it cannot be handed on"))?;
    let folder = package
        .manifest_path
        .parent()
        .map(|folder| folder.as_std_path().to_owned());
    Ok(Dependency {
        // An older way to write "or".
        licence: licence.replace(" / ", "/").replace('/', " OR "),
        description: one_line(package.description.as_deref().unwrap_or_default()),
        repository: package.repository.clone(),
        checksum: checksums.get(&(name.clone(), version.clone())).cloned(),
        folder: folder.ok_or_else(|| format!("{name} {version} lies nowhere"))?,
        built_on,
        name,
        version,
    })
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
