//! Archives: tar, compressed by gzip, and zip.

use std::io::{Cursor, Write as _};

use jiff::tz::TimeZone;
use tar::{Builder, EntryType, Header};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::Packed;
use crate::layout::compressed;
use crate::release::Release;
use crate::tree::Tree;

/// A tar archive, compressed by gzip: folders before files, all of them root's, all of the release's time. `before` begins every path.
///
/// # Errors
/// Never, in practice: it is written to memory.
pub fn tar_gz(release: &Release, tree: &Tree, before: &str) -> Packed<Vec<u8>> {
    let failed = |error: std::io::Error| format!("the archive cannot be written: {error}");
    let mut builder = Builder::new(Vec::new());
    let header = |size: usize, mode: u32, kind: EntryType| {
        let mut header = Header::new_gnu();
        header.set_entry_type(kind);
        header.set_size(size as u64);
        header.set_mode(mode);
        header.set_mtime(release.epoch);
        header.set_uid(0);
        header.set_gid(0);
        // The names are short enough for their places.
        let _ = header.set_username("root");
        let _ = header.set_groupname("root");
        header
    };
    for folder in tree.folders() {
        let mut header = header(0, 0o755, EntryType::Directory);
        let path = format!("{before}{folder}/");
        put(&mut builder, &mut header, &path, &[]).map_err(failed)?;
    }
    for (path, file) in &tree.0 {
        let mut header = header(file.bytes.len(), file.mode(), EntryType::Regular);
        let path = format!("{before}{path}");
        put(&mut builder, &mut header, &path, &file.bytes).map_err(failed)?;
    }
    compressed(&builder.into_inner().map_err(failed)?)
}

/// A path beginning with `./`, as those of Debian packages do, is kept so: the library would take that away.
fn put(
    builder: &mut Builder<Vec<u8>>,
    header: &mut Header,
    path: &str,
    bytes: &[u8],
) -> std::io::Result<()> {
    match header.as_gnu_mut().map(|gnu| &mut gnu.name) {
        Some(name) if path.len() <= name.len() => {
            name.fill(0);
            name[..path.len()].copy_from_slice(path.as_bytes());
            header.set_cksum();
            builder.append(header, bytes)
        }
        _ => builder.append_data(header, path, bytes),
    }
}

/// A zip archive.
///
/// # Errors
/// When the release's time is before 1980, which such an archive cannot hold.
pub fn zip(release: &Release, tree: &Tree) -> Packed<Vec<u8>> {
    let failed = |error: zip::result::ZipError| format!("the archive cannot be written: {error}");
    let time = zip_time(release)?;
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (path, file) in &tree.0 {
        let options = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Deflated)
            .last_modified_time(time)
            .unix_permissions(file.mode());
        writer.start_file(path.as_str(), options).map_err(failed)?;
        writer
            .write_all(&file.bytes)
            .map_err(|error| format!("the archive cannot be written: {error}"))?;
    }
    Ok(writer.finish().map_err(failed)?.into_inner())
}

fn zip_time(release: &Release) -> Packed<DateTime> {
    let no_time = || {
        format!(
            "{} seconds since 1970 cannot stand in a zip archive",
            release.epoch
        )
    };
    let at = release.moment()?.to_zoned_datetime(TimeZone::UTC);
    let part = |value: i8| u8::try_from(value).map_err(|_| no_time());
    DateTime::from_date_and_time(
        u16::try_from(at.year()).map_err(|_| no_time())?,
        part(at.month())?,
        part(at.day())?,
        part(at.hour())?,
        part(at.minute())?,
        part(at.second())?,
    )
    .map_err(|_| no_time())
}
