//! How a command can fail, and with which exit code.

use std::io;
use std::path::Path;

use fieldpost_command_line::in_plain_words;
use fieldpost_png::PaintError;

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
            in_plain_words(error)
        ))
    }
}

impl From<PaintError> for CliError {
    fn from(error: PaintError) -> Self {
        Self::Other(format!("cannot paint the picture: {error}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_the_matter_with_a_file_is_told_in_plain_words() {
        let missing = io::Error::from(io::ErrorKind::NotFound);
        let told = CliError::of_file("read", Path::new("orders.txt"), &missing).to_string();
        assert_eq!(
            told,
            "cannot read orders.txt: there is no such file or folder"
        );
    }
}
