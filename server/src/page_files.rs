//! The files of the page, carried in the binary. (A debug build reads them from the sources instead, when it starts.)

use std::collections::BTreeMap;

use bytes::Bytes;
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

/// What is served. Its tests and what they are checked against are not.
#[derive(RustEmbed)]
#[folder = "page/"]
#[include = "*.html"]
#[include = "*.css"]
#[include = "*.js"]
#[include = "*.svg"]
#[include = "*.webmanifest"]
#[include = "*.woff2"]
#[exclude = "tests/*"]
#[exclude = "vectors/*"]
struct Embedded;

/// The file that the page begins with.
const SHELL: &str = "index.html";
/// Hexadecimal digits of the name that a version of all files has.
const VERSION_DIGITS: usize = 16;

/// A file as it is sent.
#[derive(Debug, Clone)]
pub(crate) struct PageFile {
    /// Its media type.
    pub(crate) media_type: &'static str,
    /// Its bytes.
    pub(crate) bytes: Bytes,
}

/// The files of one version of the page.
#[derive(Debug)]
pub(crate) struct PageFiles {
    /// Made of the content of all files: none changes without it.
    pub(crate) version: String,
    /// What the page begins with: whatever it names as `/assets/NAME` is named by the version.
    pub(crate) shell: Bytes,
    files: BTreeMap<String, PageFile>,
}

impl PageFiles {
    /// The files of this build.
    pub(crate) fn read() -> Self {
        let named = Embedded::iter().filter_map(|name| {
            let file = Embedded::get(&name)?;
            Some((name.into_owned(), Bytes::from(file.data.into_owned())))
        });
        Self::of(named.collect())
    }

    fn of(files: BTreeMap<String, Bytes>) -> Self {
        let mut hash = Sha256::new();
        for (name, bytes) in &files {
            for part in [name.as_bytes(), bytes] {
                hash.update((part.len() as u64).to_be_bytes());
                hash.update(part);
            }
        }
        let mut version = hex::encode(hash.finalize());
        version.truncate(VERSION_DIGITS);
        let shell = files.get(SHELL).map(|bytes| {
            let text = String::from_utf8_lossy(bytes);
            Bytes::from(text.replace("\"/assets/", &format!("\"/assets/{version}/")))
        });
        let files = files.into_iter().filter(|(name, _)| name != SHELL);
        let files = files.filter_map(|(name, bytes)| {
            let media_type = media_type(&name)?;
            Some((name, PageFile { media_type, bytes }))
        });
        Self {
            shell: shell.unwrap_or_default(),
            files: files.collect(),
            version,
        }
    }

    /// A file of this version by its name.
    pub(crate) fn get(&self, name: &str) -> Option<&PageFile> {
        self.files.get(name)
    }
}

fn media_type(name: &str) -> Option<&'static str> {
    let (_, ending) = name.rsplit_once('.')?;
    Some(match ending {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "svg" => "image/svg+xml",
        "webmanifest" => "application/manifest+json",
        "woff2" => "font/woff2",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(of: &[(&str, &str)]) -> PageFiles {
        let named = of.iter().map(|(name, text)| {
            let bytes = Bytes::copy_from_slice(text.as_bytes());
            ((*name).to_owned(), bytes)
        });
        PageFiles::of(named.collect())
    }

    #[test]
    fn the_shell_names_this_version_and_any_change_is_another() {
        let shell = r#"<script type="module" src="/assets/start.js"></script>"#;
        let first = files(&[
            ("index.html", shell),
            ("start.js", "1"),
            ("sub/table.js", "2"),
        ]);
        let named = format!("\"/assets/{}/start.js\"", first.version);
        assert!(
            std::str::from_utf8(&first.shell)
                .expect("text")
                .contains(&named)
        );
        assert_eq!(first.get("sub/table.js").expect("there").bytes, "2");
        assert!(first.get("index.html").is_none());
        for other in [
            files(&[
                ("index.html", shell),
                ("start.js", "1"),
                ("sub/table.js", "3"),
            ]),
            files(&[
                ("index.html", shell),
                ("start.js", "12"),
                ("sub/table.js", ""),
            ]),
            files(&[("index.html", shell), ("start.js", "1")]),
        ] {
            assert_ne!(other.version, first.version);
        }
    }

    /// No style or script stands in the page, and nothing is fetched from elsewhere: the policy forbids both.
    #[test]
    fn the_page_of_this_build_has_a_shell_whose_files_are_there() {
        let page = PageFiles::read();
        let shell = std::str::from_utf8(&page.shell).expect("text");
        assert!(shell.contains("<!doctype html>") || shell.contains("<!DOCTYPE html>"));
        let begun = format!("\"/assets/{}/", page.version);
        for reference in shell.split(&begun).skip(1) {
            let name = reference.split('"').next().expect("closed");
            assert!(page.get(name).is_some(), "{name}");
        }
        for banned in ["<style", " style=", "//", "onclick=", "<script>"] {
            assert!(!shell.contains(banned), "{banned} in the shell");
        }
        assert!(page.get("vectors/legs.json").is_none());
    }
}
