//! Makes what is handed out, in `target/packages`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Parser;
use fieldpost_command_line::in_plain_words;
use fieldpost_packaging::build::{Programs, build, documents, host};
use fieldpost_packaging::dependencies::dependencies;
use fieldpost_packaging::inventory::inventory;
use fieldpost_packaging::layout::{self, Told, archive_name};
use fieldpost_packaging::licences::licences;
use fieldpost_packaging::release::Release;
use fieldpost_packaging::tree::Tree;
use fieldpost_packaging::{Packed, archive, debian};
use sha2::{Digest, Sha256};

/// Makes archives and a Debian package of both programs, with what is inside them and checksums, in target/packages
#[derive(Debug, Parser)]
#[command(
    name = "packaging/build",
    max_term_width = 100,
    after_help = "Examples:\n  packaging/build\n  packaging/build --target x86_64-pc-windows-gnu   (after: rustup target add x86_64-pc-windows-gnu, and a C compiler for it)\n\n\
Every time in the packages is that of the last commit, or SOURCE_DATE_EPOCH."
)]
struct Typed {
    /// Pack for this target too; the compiler must have it. What is made for Windows is tested nowhere
    #[arg(long, value_name = "TRIPLE")]
    target: Vec<String>,
    /// Pack programs that lie there already and run here, instead of building them
    #[arg(long, value_name = "FOLDER")]
    programs: Option<PathBuf>,
    /// Where packages go
    #[arg(long, value_name = "FOLDER", default_value = "target/packages")]
    out: PathBuf,
}

fn main() -> ExitCode {
    match packed(&Typed::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("packaging: {why}");
            ExitCode::FAILURE
        }
    }
}

fn packed(typed: &Typed) -> Packed {
    let release = Release::here()?;
    let host = host()?;
    let own = match &typed.programs {
        Some(folder) => Programs {
            target: host.clone(),
            folder: folder.clone(),
        },
        None => build(&release, &host)?,
    };
    let documents = documents(&own)?;
    let mut out = BTreeMap::new();
    pack(&release, &own, &documents, &mut out)?;
    for target in typed.target.iter().filter(|target| **target != host) {
        pack(&release, &build(&release, target)?, &documents, &mut out)?;
    }
    let checksums: String = out
        .iter()
        .map(|(name, bytes)| format!("{}  {name}\n", hex::encode(Sha256::digest(bytes))))
        .collect();
    out.insert("SHA256SUMS".to_owned(), checksums.into_bytes());
    std::fs::create_dir_all(&typed.out).map_err(|error| cannot_write(&typed.out, &error))?;
    for (name, bytes) in &out {
        let path = typed.out.join(name);
        std::fs::write(&path, bytes).map_err(|error| cannot_write(&path, &error))?;
        println!("{} ({} KiB)", path.display(), bytes.len().div_ceil(1024));
    }
    Ok(())
}

fn cannot_write(path: &Path, error: &std::io::Error) -> String {
    format!(
        "{} cannot be written: {}",
        path.display(),
        in_plain_words(error)
    )
}

/// Adds the packages for one target to those that go out.
fn pack(
    release: &Release,
    programs: &Programs,
    documents: &Tree,
    out: &mut BTreeMap<String, Vec<u8>>,
) -> Packed {
    let dependencies = dependencies(release, &programs.target)?;
    let told = Told {
        documents: documents.clone(),
        licences: licences(&dependencies)?,
        inventory: inventory(release, &programs.target, &dependencies)?,
    };
    let name = archive_name(release, programs);
    let mut whole = Tree::default();
    whole.put_all(&name, &layout::archive(release, programs, &told)?);
    if programs.is_for_windows() {
        out.insert(format!("{name}.zip"), archive::zip(release, &whole)?);
    } else {
        out.insert(
            format!("{name}.tar.gz"),
            archive::tar_gz(release, &whole, "")?,
        );
    }
    out.insert(
        format!("{name}.cdx.json"),
        told.inventory.clone().into_bytes(),
    );
    if programs.target.contains("linux-gnu") {
        let installed = layout::debian(release, programs, &told)?;
        let package = debian::package(release, programs, &installed)?;
        out.insert(debian::file_name(release, programs)?, package);
    }
    Ok(())
}
