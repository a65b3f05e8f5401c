//! What a program wants of the system that it runs on, read from the program itself.

use object::Endianness;
use object::elf::{DT_NEEDED, FileHeader64};
use object::read::elf::{Dyn, FileHeader};

use crate::Packed;

/// What a program for Linux is linked to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Linked {
    /// The libraries it names.
    pub libraries: Vec<String>,
    /// The newest version of the C library that it names, such as 2.34.
    pub c_library: (u32, u32),
}

/// What a program is linked to.
///
/// # Errors
/// When it is no program for Linux with 64 bits.
pub fn linked(program: &[u8]) -> Packed<Linked> {
    read(program).map_err(|error| format!("the program cannot be read: {error}"))
}

fn read(program: &[u8]) -> Result<Linked, object::Error> {
    let header = FileHeader64::<Endianness>::parse(program)?;
    let endian = header.endian()?;
    let sections = header.sections(endian, program)?;
    let mut found = Linked {
        libraries: Vec::new(),
        c_library: (0, 0),
    };
    if let Some((entries, link)) = sections.dynamic(endian, program)? {
        let strings = sections.strings(endian, program, link)?;
        for entry in entries {
            if entry.tag32(endian) == Some(DT_NEEDED) {
                let name = entry.string(endian, strings)?;
                found
                    .libraries
                    .push(String::from_utf8_lossy(name).into_owned());
            }
        }
    }
    if let Some((mut needs, link)) = sections.gnu_verneed(endian, program)? {
        let strings = sections.strings(endian, program, link)?;
        while let Some((_, mut versions)) = needs.next()? {
            while let Some(version) = versions.next()? {
                let name = String::from_utf8_lossy(version.name(endian, strings)?);
                if let Some(version) = c_library_version(&name) {
                    found.c_library = found.c_library.max(version);
                }
            }
        }
    }
    found.libraries.sort();
    Ok(found)
}

/// `GLIBC_2.34` is 2.34.
fn c_library_version(name: &str) -> Option<(u32, u32)> {
    let mut numbers = name.strip_prefix("GLIBC_")?.split('.');
    Some((numbers.next()?.parse().ok()?, numbers.next()?.parse().ok()?))
}

impl Linked {
    /// The Debian packages that hold what is needed, as a package's control file names them.
    ///
    /// # Errors
    /// When a library is needed of which it is not known who holds it.
    pub fn debian_packages(&self) -> Packed<Vec<String>> {
        let mut packages = Vec::new();
        for library in &self.libraries {
            let package = match library.split(".so").next().unwrap_or_default() {
                "libc" | "libm" | "libpthread" | "libdl" | "librt" => {
                    let (major, minor) = self.c_library;
                    format!("libc6 (>= {major}.{minor})")
                }
                "libgcc_s" => "libgcc-s1".to_owned(),
                name if name.starts_with("ld-linux") => continue,
                _ => {
                    return Err(format!(
                        "the program needs {library}, and which Debian package holds that is not written down in packaging/src/linked.rs"
                    ));
                }
            };
            if !packages.contains(&package) {
                packages.push(package);
            }
        }
        Ok(packages)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(all(target_os = "linux", target_env = "gnu", target_pointer_width = "64"))]
    #[test]
    fn what_this_very_program_wants_is_read_from_it() {
        let me = std::env::current_exe().expect("a program");
        let found = linked(&std::fs::read(me).expect("read")).expect("ELF");
        assert!(
            found.libraries.iter().any(|name| name == "libc.so.6"),
            "{found:?}"
        );
        assert!(found.c_library >= (2, 17), "{found:?}");
        let packages = found.debian_packages().expect("known");
        assert!(
            packages.iter().any(|name| name.starts_with("libc6 (>= 2.")),
            "{packages:?}"
        );
    }

    #[test]
    fn versions_are_numbers_and_not_letters() {
        assert_eq!(c_library_version("GLIBC_2.34"), Some((2, 34)));
        assert_eq!(c_library_version("GLIBC_2.3.4"), Some((2, 3)));
        assert_eq!(c_library_version("GCC_3.0"), None);
        assert!(c_library_version("GLIBC_2.4") < c_library_version("GLIBC_2.34"));
    }

    #[test]
    fn a_library_that_nobody_is_known_to_hold_is_told() {
        let odd = Linked {
            libraries: vec!["libodd.so.1".to_owned()],
            c_library: (2, 34),
        };
        assert!(
            odd.debian_packages()
                .expect_err("told")
                .contains("libodd.so.1")
        );
    }
}
