//! How a command can fail, and with which exit code.

use std::io;
use std::path::Path;

use crate::problem::{self, Problem};

/// What went wrong, in words for a person. Each kind has an exit code that scripts can rely on.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// Something on this machine: a file, a folder, nothing to work on.
    #[error("{0}")]
    Other(String),
    /// The command was not understood.
    #[error("{0}")]
    Usage(String),
    /// Orders or files are not valid; the text says where and what would do.
    #[error("{0}")]
    Invalid(String),
    /// The server said no.
    #[error("{}", problem::text(.0))]
    Refused(Box<Problem>),
    /// The server could not be reached, or went silent.
    #[error("{0}")]
    Network(String),
    /// A record does not agree with itself or with what was seen before.
    #[error("{0}")]
    Mismatch(String),
    /// Whoever read our output has stopped reading: no fault.
    #[error("")]
    BrokenPipe,
}

/// What every command gives.
pub type CliResult<T = ()> = Result<T, CliError>;

impl CliError {
    /// The exit code: 0 ok, 1 failure, 2 usage, 3 orders or files not valid, 4 server refused,
    /// 5 network, 6 audit mismatch.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::BrokenPipe => 0,
            Self::Other(_) => 1,
            Self::Usage(_) => 2,
            Self::Invalid(_) => 3,
            Self::Refused(_) => 4,
            Self::Network(_) => 5,
            Self::Mismatch(_) => 6,
        }
    }

    /// An error about a file or folder: "cannot read orders.txt: there is no such file".
    #[must_use]
    pub fn of_file(action: &str, path: &Path, error: &io::Error) -> Self {
        Self::Other(format!(
            "cannot {action} {}: {}",
            path.display(),
            io_words(error)
        ))
    }
}

/// What the system said, in plain words and without its number.
#[must_use]
pub fn io_words(error: &io::Error) -> String {
    let known = match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder",
        io::ErrorKind::PermissionDenied => "this user has no permission for that",
        io::ErrorKind::AlreadyExists => "there is already something of that name",
        io::ErrorKind::IsADirectory => "that is a folder, not a file",
        io::ErrorKind::NotADirectory => "a part of that path is a file, not a folder",
        io::ErrorKind::StorageFull => "the disk is full",
        io::ErrorKind::ReadOnlyFilesystem => "nothing can be written there: it is read-only",
        io::ErrorKind::InvalidFilename => "a file cannot have that name",
        io::ErrorKind::ConnectionRefused => {
            "no server listens there; is it running, and is the port right?"
        }
        io::ErrorKind::ConnectionReset | io::ErrorKind::ConnectionAborted => {
            "the connection broke off"
        }
        io::ErrorKind::UnexpectedEof => "the connection ended before the answer was whole",
        io::ErrorKind::NetworkUnreachable | io::ErrorKind::HostUnreachable => {
            "no way leads there from this machine; is it connected?"
        }
        io::ErrorKind::TimedOut => "no answer came in time",
        _ => return without_number(&error.to_string()),
    };
    known.to_owned()
}

/// "Text file busy (os error 26)" is "text file busy" to a person.
fn without_number(text: &str) -> String {
    let words = text.split(" (os error").next().unwrap_or(text);
    let mut letters = words.chars();
    match letters.next() {
        // a name in capitals stays as it is
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
    fn the_system_is_quoted_in_plain_words() {
        for number in 1..=40 {
            let words = io_words(&io::Error::from_raw_os_error(number));
            assert!(
                !words.contains("os error") && !words.is_empty(),
                "{number}: {words}"
            );
        }
        let missing = io::Error::from(io::ErrorKind::NotFound);
        let told = CliError::of_file("read", Path::new("orders.txt"), &missing).to_string();
        assert_eq!(
            told,
            "cannot read orders.txt: there is no such file or folder"
        );
        assert_eq!(
            without_number("Text file busy (os error 26)"),
            "text file busy"
        );
    }
}
