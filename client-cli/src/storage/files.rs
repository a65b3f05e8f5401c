//! Reading and writing files whole: what is written is either there in full or not at all.

use fieldpost_command_line::in_plain_words;
use std::fs;
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use crate::error::{CliError, CliResult};

/// Longest text that a person's file may have, in bytes.
const TEXT_BYTES_MAX: u64 = 16 * 1024 * 1024;

/// Writes a file for this user's eyes only (mode 0600 where there are modes), by way of a
/// temporary one beside it, synced before it takes the name.
///
/// # Errors
/// When the folder or file cannot be written.
pub fn write_private(path: &Path, bytes: &[u8]) -> CliResult {
    let folder = path.parent().unwrap_or_else(|| Path::new("."));
    make_private_folder(folder)
        .map_err(|error| CliError::of_file("make folder", folder, &error))?;
    let write = || -> io::Result<()> {
        // temporary files of this library are made with mode 0600
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        file.persist(path).map_err(|error| error.error)?;
        Ok(())
    };
    write().map_err(|error| CliError::of_file("write", path, &error))
}

/// Writes a file that a person asked for, readable as they like their files to be.
///
/// # Errors
/// When it cannot be written.
pub fn write_plain(path: &Path, bytes: &[u8]) -> CliResult {
    fs::write(path, bytes).map_err(|error| CliError::of_file("write", path, &error))
}

/// Refuses to write over a file: another name or folder must be chosen.
///
/// # Errors
/// When it is there already.
pub fn require_new(path: &Path, choose_another: &str) -> CliResult {
    if path.exists() {
        return Err(CliError::Other(format!(
            "{} is there already; choose another {choose_another}",
            path.display()
        )));
    }
    Ok(())
}

/// Writes files into a folder, which is made if need be: all of them, or none when one is there already.
///
/// # Errors
/// When one is there already, or cannot be written.
pub fn write_new(folder: &Path, files: &[(&str, &str)]) -> CliResult<Vec<PathBuf>> {
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    for path in &paths {
        require_new(path, "folder")?;
    }
    fs::create_dir_all(folder).map_err(|error| CliError::of_file("make folder", folder, &error))?;
    for (path, (_, text)) in paths.iter().zip(files) {
        write_plain(path, text.as_bytes())?;
    }
    Ok(paths)
}

fn make_private_folder(folder: &Path) -> io::Result<()> {
    if folder.as_os_str().is_empty() || folder.is_dir() {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// A file's text, or `None` when there is no such file.
///
/// # Errors
/// When it is there and cannot be read.
pub fn read_if_there(path: &Path) -> CliResult<Option<String>> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(CliError::of_file("read", path, &error)),
    }
}

/// The text of a file that a person named, or of standard input for `-`, with the name to call
/// it by in faults.
///
/// # Errors
/// When it cannot be read, is too long or is no text.
pub fn read_named(path: &Path) -> CliResult<(String, String)> {
    let is_standard_input = path.as_os_str() == "-";
    let name = if is_standard_input {
        "standard input".to_owned()
    } else {
        path.display().to_string()
    };
    let mut bytes = Vec::new();
    let read = if is_standard_input {
        io::stdin()
            .lock()
            .take(TEXT_BYTES_MAX + 1)
            .read_to_end(&mut bytes)
    } else {
        fs::File::open(path).and_then(|file| file.take(TEXT_BYTES_MAX + 1).read_to_end(&mut bytes))
    };
    read.map_err(|error| {
        CliError::Other(format!("cannot read {name}: {}", in_plain_words(&error)))
    })?;
    if bytes.len() as u64 > TEXT_BYTES_MAX {
        let most = TEXT_BYTES_MAX / (1024 * 1024);
        return Err(CliError::Invalid(format!(
            "error: {name} is longer than {most} MiB: is this the right file?"
        )));
    }
    let text = decoded(bytes, &name)?;
    Ok((name, text))
}

/// Text as editors and shells save it: UTF-8, or UTF-16 that begins with its mark of order, as Windows' shell redirects it.
fn decoded(bytes: Vec<u8>, name: &str) -> CliResult<String> {
    let (is_low_first, wide) = match &bytes[..] {
        [0xff, 0xfe, wide @ ..] => (true, wide),
        [0xfe, 0xff, wide @ ..] => (false, wide),
        _ => {
            return String::from_utf8(bytes).map_err(|error| {
                let at = error.utf8_error().valid_up_to();
                let line = line_of(error.as_bytes()[..at].iter().map(|byte| u16::from(*byte)));
                CliError::Invalid(format!(
                    "error: {name} is no UTF-8 text from line {line} on; save it as UTF-8"
                ))
            });
        }
    };
    let pairs = wide.chunks_exact(2);
    let whole = pairs.remainder().is_empty();
    let unit = |pair: &[u8]| {
        let pair = [pair[0], pair[1]];
        if is_low_first {
            u16::from_le_bytes(pair)
        } else {
            u16::from_be_bytes(pair)
        }
    };
    let units: Vec<u16> = pairs.map(unit).collect();
    let mut text = String::with_capacity(units.len());
    for unit in std::char::decode_utf16(units.iter().copied()) {
        let Ok(c) = unit else {
            return Err(no_utf_16(name, line_of(text.encode_utf16())));
        };
        text.push(c);
    }
    if whole {
        Ok(text)
    } else {
        Err(no_utf_16(name, line_of(units.into_iter())))
    }
}

fn no_utf_16(name: &str, line: usize) -> CliError {
    CliError::Invalid(format!(
        "error: {name} begins as UTF-16 text and is none from line {line} on; save it as UTF-8"
    ))
}

/// The line after so much text, from 1.
fn line_of(before: impl Iterator<Item = u16>) -> usize {
    1 + before.filter(|unit| *unit == u16::from(b'\n')).count()
}

/// Whether others than the owner may read a file. Always `false` where there are no modes.
#[must_use]
pub fn others_may_read(path: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        fs::metadata(path).is_ok_and(|meta| meta.permissions().mode() & 0o077 != 0)
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> Result<String, String> {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("orders.txt");
        fs::write(&path, bytes).expect("written");
        read_named(&path).map(|(_, text)| text).map_err(|failure| {
            failure
                .to_string()
                .replace(&path.display().to_string(), "orders.txt")
        })
    }

    #[test]
    fn text_in_utf_16_is_read_by_its_mark_of_order() {
        let text = "red-2: forward 3½″\r\n# ☞ 🎲\n";
        let bytes = |order: fn(u16) -> [u8; 2]| -> Vec<u8> {
            "\u{feff}"
                .encode_utf16()
                .chain(text.encode_utf16())
                .flat_map(order)
                .collect()
        };
        assert_eq!(read(&bytes(u16::to_le_bytes)), Ok(text.to_owned()));
        assert_eq!(read(&bytes(u16::to_be_bytes)), Ok(text.to_owned()));
        assert_eq!(read(text.as_bytes()), Ok(text.to_owned()));
    }

    #[test]
    fn what_is_no_text_is_told_by_its_line() {
        let told = |bytes: &[u8]| read(bytes).expect_err("no text");
        assert!(told(b"red\n\xffblue").contains("no UTF-8 text from line 2"));
        let half = [0xff, 0xfe, b'r', 0, b'\n', 0, b'x'];
        assert!(
            told(&half).contains("is none from line 2"),
            "{}",
            told(&half)
        );
        let lone = [0xff, 0xfe, b'\n', 0, 0x00, 0xd8, b'x', 0];
        assert!(
            told(&lone).contains("is none from line 2"),
            "{}",
            told(&lone)
        );
    }
}
