//! Packages made of stand-ins, read by other programs.
#![cfg(target_os = "linux")]

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use fieldpost_packaging::build::{PROGRAMS, Programs};
use fieldpost_packaging::dependencies::dependencies;
use fieldpost_packaging::inventory::inventory;
use fieldpost_packaging::layout::{self, Told, archive_name};
use fieldpost_packaging::licences::licences;
use fieldpost_packaging::release::Release;
use fieldpost_packaging::tree::Tree;
use fieldpost_packaging::{archive, debian};
use serde_json::Value;

const TARGET: &str = "x86_64-unknown-linux-gnu";

fn release() -> Release {
    Release {
        epoch: 1_700_000_000,
        ..Release::here().expect("a repository")
    }
}

/// A small program that every Linux has in the place of both.
fn programs(folder: &Path) -> Programs {
    for program in PROGRAMS {
        std::fs::copy("/usr/bin/env", folder.join(program)).expect("copied");
    }
    Programs {
        target: TARGET.to_owned(),
        folder: folder.to_owned(),
    }
}

fn told() -> Told {
    let mut documents = Tree::default();
    for program in PROGRAMS {
        documents.put(format!("man1/{program}.1"), format!(".TH {program} 1\n"));
        for path in ["bash/", "zsh/_", "fish/", "powershell/", "elvish/"] {
            documents.put(format!("{path}{program}"), "complete\n");
        }
    }
    Told {
        documents,
        licences: "Of everything.\n".to_owned(),
        inventory: "{}\n".to_owned(),
    }
}

fn said(command: &mut Command) -> String {
    let output = command.output().expect("it runs");
    assert!(output.status.success(), "{command:?}: {output:?}");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn debians_own_program_reads_the_package() {
    if Command::new("dpkg-deb").arg("--version").output().is_err() {
        eprintln!("skipped: there is no dpkg-deb here");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let (release, programs) = (release(), programs(folder.path()));
    let installed = layout::debian(&release, &programs, &told()).expect("laid out");
    let package = debian::package(&release, &programs, &installed).expect("packed");
    assert_eq!(
        debian::package(&release, &programs, &installed).expect("packed"),
        package,
        "the same bytes each time"
    );
    let path = folder.path().join("fieldpost.deb");
    std::fs::write(&path, package).expect("written");
    let field = |name: &str| said(Command::new("dpkg-deb").arg("-f").arg(&path).arg(name));
    assert_eq!(field("Package").trim(), "fieldpost");
    assert_eq!(field("Architecture").trim(), "amd64");
    assert!(
        field("Depends").contains("libc6 (>= 2."),
        "{}",
        field("Depends")
    );
    let scripts = folder.path().join("control");
    said(Command::new("dpkg-deb").arg("-e").arg(&path).arg(&scripts));
    assert_eq!(
        std::fs::read_to_string(scripts.join("conffiles")).expect("read"),
        "/etc/fieldpost/fieldpost.toml\n"
    );
    for script in ["postinst", "prerm", "postrm"] {
        said(Command::new("sh").arg("-n").arg(scripts.join(script)));
    }
    let listed = said(Command::new("dpkg-deb").arg("-c").arg(&path));
    assert!(!listed.contains("link to"), "{listed}");
    for line in listed.lines() {
        assert!(
            line.contains(" root/root ") && line.contains(" 2023-11-14 "),
            "{line}"
        );
    }
    let unpacked = folder.path().join("unpacked");
    said(Command::new("dpkg-deb").arg("-x").arg(&path).arg(&unpacked));
    for (path, file) in &installed.0 {
        assert_eq!(
            std::fs::read(unpacked.join(path)).expect(path),
            file.bytes,
            "{path}"
        );
    }
    let mode = |path: &str| {
        use std::os::unix::fs::PermissionsExt as _;
        let there = std::fs::metadata(unpacked.join(path)).expect(path);
        there.permissions().mode() & 0o777
    };
    assert_eq!(mode("usr/bin/fieldpost-server"), 0o755);
    assert_eq!(mode("etc/fieldpost/fieldpost.toml"), 0o644);
}

#[test]
fn archives_hold_what_is_put_in_and_links_within_lead_somewhere() {
    let folder = tempfile::tempdir().expect("a folder");
    let (release, programs) = (release(), programs(folder.path()));
    let tree = layout::archive(&release, &programs, &told()).expect("laid out");
    let mut whole = Tree::default();
    let name = archive_name(&release, &programs);
    assert_eq!(name, format!("fieldpost-{}-x86_64-linux", release.version));
    whole.put_all(&name, &tree);
    let bytes = archive::tar_gz(&release, &whole, "").expect("packed");
    assert_eq!(
        bytes,
        archive::tar_gz(&release, &whole, "").expect("packed")
    );
    let path = folder.path().join("archive.tar.gz");
    std::fs::write(&path, bytes).expect("written");
    said(
        Command::new("tar")
            .arg("-xzf")
            .arg(&path)
            .arg("-C")
            .arg(folder.path()),
    );
    for (path, file) in &whole.0 {
        let unpacked = folder.path().join(path);
        assert_eq!(std::fs::read(unpacked).expect(path), file.bytes, "{path}");
    }
    let start = String::from_utf8(tree.0["GETTING-STARTED.md"].bytes.clone()).expect("text");
    let mut links = 0;
    for link in start.split("](").skip(1) {
        let link = link.split([')', '#']).next().unwrap_or_default();
        assert!(tree.0.contains_key(link), "{link}");
        links += 1;
    }
    assert!(links >= 4, "{links}");
}

#[test]
fn an_archive_for_windows_can_be_read_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut programs = programs(folder.path());
    for program in PROGRAMS {
        let from = folder.path().join(program);
        std::fs::rename(&from, from.with_extension("exe")).expect("renamed");
    }
    programs.target = "x86_64-pc-windows-gnu".to_owned();
    let release = release();
    let tree = layout::archive(&release, &programs, &told()).expect("laid out");
    assert!(tree.0.contains_key("bin/fieldpost-server.exe"));
    assert!(tree.0.contains_key("completions/fieldpost"));
    assert!(!tree.0.keys().any(|path| path.starts_with("systemd")));
    assert_eq!(
        archive_name(&release, &programs),
        format!("fieldpost-{}-x86_64-windows", release.version)
    );
    let bytes = archive::zip(&release, &tree).expect("packed");
    assert_eq!(bytes, archive::zip(&release, &tree).expect("packed"));
    let mut read = zip::ZipArchive::new(std::io::Cursor::new(bytes)).expect("a zip archive");
    assert_eq!(read.len(), tree.0.len());
    for (path, file) in &tree.0 {
        let mut found = Vec::new();
        let mut within = read.by_name(path).expect(path);
        std::io::Read::read_to_end(&mut within, &mut found).expect("read");
        assert_eq!(found, file.bytes, "{path}");
    }
}

/// Every package that is linked in is in the list, with its licence and its checksum, and its licence's text can be handed on.
#[test]
fn what_is_inside_is_listed_and_its_licences_have_texts() {
    let release = release();
    let found = dependencies(&release, TARGET).expect("cargo tells");
    let names: BTreeSet<&str> = found.iter().map(|one| one.name.as_str()).collect();
    for needed in [
        "fieldpost-rules",
        "fieldpost-server",
        "dejavu",
        "ring",
        "libsqlite3-sys",
        "clap",
    ] {
        assert!(names.contains(needed), "{needed}: {names:?}");
    }
    // What only tests and builds want is not handed on.
    for other in ["proptest", "criterion", "geo", "cc", "fieldpost-packaging"] {
        assert!(!names.contains(other), "{other}");
    }
    let texts = licences(&found).expect("texts");
    for needed in [
        "Bitstream Vera",
        "Permission is hereby granted",
        "Apache License",
    ] {
        assert!(texts.contains(needed), "{needed}");
    }
    let list: Value =
        serde_json::from_str(&inventory(&release, TARGET, &found).expect("made")).expect("JSON");
    assert_eq!(
        (&list["bomFormat"], &list["specVersion"]),
        (&"CycloneDX".into(), &"1.6".into())
    );
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    assert_eq!(text(&list["metadata"]["timestamp"]), "2023-11-14T22:13:20Z");
    let components = list["components"].as_array().expect("components");
    assert_eq!(components.len(), found.len());
    let mut references: BTreeSet<String> =
        components.iter().map(|one| text(&one["bom-ref"])).collect();
    assert_eq!(
        references.len(),
        components.len(),
        "each is called otherwise"
    );
    references.insert(text(&list["metadata"]["component"]["bom-ref"]));
    for component in components {
        assert!(
            !text(&component["licenses"][0]["expression"]).contains('/'),
            "{component}"
        );
        if !text(&component["name"]).starts_with("fieldpost") {
            assert_eq!(
                text(&component["hashes"][0]["content"]).len(),
                64,
                "{component}"
            );
            assert!(
                text(&component["purl"]).starts_with("pkg:cargo/"),
                "{component}"
            );
        }
    }
    for edge in list["dependencies"].as_array().expect("edges") {
        assert!(references.contains(&text(&edge["ref"])), "{edge}");
        for to in edge["dependsOn"].as_array().expect("a list") {
            assert!(references.contains(&text(to)), "{edge}");
        }
    }
}
