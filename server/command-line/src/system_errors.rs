//! The system's errors for people: what is the matter, without the system's own numbers.

use std::io::{Error, ErrorKind};

/// An error of the system in plain words, to stand after a colon: `there is no such file or folder`. An error that this
/// program made itself keeps its own words.
#[must_use]
pub fn in_plain_words(error: &Error) -> String {
    if error.get_ref().is_some() {
        return error.to_string();
    }
    let words = match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder",
        ErrorKind::PermissionDenied => "this user has no permission for that",
        ErrorKind::AlreadyExists => "there is already something of that name",
        ErrorKind::IsADirectory => "that is a folder, not a file",
        ErrorKind::NotADirectory => "a part of that path is a file, not a folder",
        ErrorKind::DirectoryNotEmpty => "the folder is not empty",
        ErrorKind::StorageFull => "the disk is full",
        ErrorKind::QuotaExceeded => "this user's share of the disk is used up",
        ErrorKind::FileTooLarge => "the file would be larger than is allowed",
        ErrorKind::ReadOnlyFilesystem => "nothing can be written there: it is read-only",
        ErrorKind::InvalidFilename => "a file cannot have that name",
        ErrorKind::AddrInUse => "another program has that address and port",
        ErrorKind::AddrNotAvailable => "this machine has no such address",
        ErrorKind::ConnectionRefused => {
            "no server listens there; is it running, and is the port right?"
        }
        ErrorKind::ConnectionReset | ErrorKind::ConnectionAborted | ErrorKind::BrokenPipe => {
            "the connection broke off"
        }
        ErrorKind::HostUnreachable | ErrorKind::NetworkUnreachable | ErrorKind::NetworkDown => {
            "no way leads there from this machine; is it connected?"
        }
        ErrorKind::UnexpectedEof => "it ended before it was whole",
        ErrorKind::TimedOut => "no answer came in time",
        ErrorKind::OutOfMemory => "there is not enough memory",
        _ => return without_number(&error.to_string()),
    };
    words.to_owned()
}

/// The system's own words without its number, to go on within a sentence.
fn without_number(words: &str) -> String {
    let words = words.split(" (os error").next().unwrap_or(words);
    let mut letters = words.chars();
    match letters.next() {
        // A name in capitals stays as it is.
        Some(first) if !letters.clone().next().is_some_and(char::is_uppercase) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => words.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_system_says_is_said_without_numbers() {
        let folder = tempfile::tempdir().expect("a folder");
        let there = folder.path().join("there");
        std::fs::write(&there, "").expect("written");
        let told = |error: std::io::Result<()>| in_plain_words(&error.expect_err("an error"));
        assert_eq!(
            told(std::fs::read(folder.path().join("nowhere")).map(drop)),
            "there is no such file or folder"
        );
        assert_eq!(
            told(std::fs::create_dir(folder.path())),
            "there is already something of that name"
        );
        assert_eq!(
            told(std::fs::read(there.join("within")).map(drop)),
            "a part of that path is a file, not a folder"
        );
    }

    #[test]
    fn no_number_of_the_system_gets_through() {
        for number in 1..200 {
            let told = in_plain_words(&Error::from_raw_os_error(number));
            assert!(!told.contains("os error") && !told.is_empty(), "{told}");
        }
    }

    #[test]
    fn a_kind_without_a_number_is_told_as_well() {
        let missing = Error::from(ErrorKind::NotFound);
        assert_eq!(in_plain_words(&missing), "there is no such file or folder");
        assert_eq!(
            without_number("Text file busy (os error 26)"),
            "text file busy"
        );
    }

    #[test]
    fn own_words_stay() {
        let own = Error::new(ErrorKind::NotFound, "there is no database games.db");
        assert_eq!(in_plain_words(&own), "there is no database games.db");
    }
}
