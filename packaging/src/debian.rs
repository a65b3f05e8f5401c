//! The Debian package: an `ar` archive of a version, of what governs installing, and of what is installed (deb(5)).

use ar::{Builder, Header};

use crate::Packed;
use crate::archive::tar_gz;
use crate::build::{PROGRAMS, Programs};
use crate::linked::linked;
use crate::release::Release;
use crate::tree::{Tree, names_in, read};

/// A package's file name: `fieldpost_0.1.0_amd64.deb`.
///
/// # Errors
/// When Debian has no name for the processor.
pub fn file_name(release: &Release, programs: &Programs) -> Packed<String> {
    let architecture = architecture(programs)?;
    Ok(format!("fieldpost_{}_{architecture}.deb", release.version))
}

/// Debian's name for the processor.
fn architecture(programs: &Programs) -> Packed<&'static str> {
    match programs.processor() {
        "x86_64" => Ok("amd64"),
        "aarch64" => Ok("arm64"),
        "riscv64gc" => Ok("riscv64"),
        other => Err(format!(
            "what Debian calls {other} is not written down here"
        )),
    }
}

/// The package.
///
/// # Errors
/// When the programs need what is not known, or the scripts cannot be read.
pub fn package(release: &Release, programs: &Programs, installed: &Tree) -> Packed<Vec<u8>> {
    let mut governing = Tree::default();
    governing.put("control", control(release, programs, installed)?);
    let conffiles: String = installed
        .0
        .keys()
        .filter(|path| path.starts_with("etc/"))
        .map(|path| format!("/{path}\n"))
        .collect();
    governing.put("conffiles", conffiles);
    let scripts = release.root.join("packaging/debian");
    for name in names_in(&scripts)? {
        governing.put_program(name.clone(), read(&scripts.join(name))?);
    }
    let parts: [(&str, Vec<u8>); 3] = [
        ("debian-binary", b"2.0\n".to_vec()),
        ("control.tar.gz", tar_gz(release, &governing, "./")?),
        ("data.tar.gz", tar_gz(release, installed, "./")?),
    ];
    let failed = |error: std::io::Error| format!("the package cannot be written: {error}");
    let mut builder = Builder::new(Vec::new());
    for (name, bytes) in parts {
        let mut header = Header::new(name.as_bytes().to_vec(), bytes.len() as u64);
        header.set_mode(0o100_644);
        header.set_mtime(release.epoch);
        builder.append(&header, bytes.as_slice()).map_err(failed)?;
    }
    builder.into_inner().map_err(failed)
}

fn control(release: &Release, programs: &Programs, installed: &Tree) -> Packed<String> {
    let mut needed: Vec<String> = Vec::new();
    for program in PROGRAMS {
        for package in linked(&programs.bytes(program)?)?.debian_packages()? {
            if !needed.contains(&package) {
                needed.push(package);
            }
        }
    }
    // For the user that the server runs as.
    needed.push("passwd".to_owned());
    Ok(format!(
        "Package: fieldpost\n\
         Version: {version}\n\
         Architecture: {architecture}\n\
         Maintainer: Fieldpost maintainers <maintainers@fieldpost.invalid>\n\
         Installed-Size: {size}\n\
         Depends: {needed}\n\
         Section: games\n\
         Priority: optional\n\
         Description: referee and post office for gridless figure games\n\
        \x20Two players who are not in the same room play one battle of miniature figures\n\
        \x20on a table without a grid, a turn at a time. The server measures every order,\n\
        \x20plays whole turns and answers with measured verdicts; the client tries, posts,\n\
        \x20shows and audits.\n",
        version = release.version,
        architecture = architecture(programs)?,
        size = installed.size().div_ceil(1024),
        needed = needed.join(", "),
    ))
}
