//! How a command can fail, and with which exit code.

use crate::problem::{self, Problem};

/// What went wrong. Each kind has an exit code that scripts can rely on.
#[derive(Debug)]
pub enum Failure {
    /// Something on this machine: a file, a folder, nothing to work on.
    Plain(String),
    /// The command was not understood.
    Usage(String),
    /// Orders or files are not valid; the text says where and what would do.
    NotValid(String),
    /// The server said no.
    Refused(Box<Problem>),
    /// The server could not be reached, or went silent.
    Network(String),
    /// A record does not agree with itself or with what was seen before.
    Mismatch(String),
    /// Whoever read our output has stopped reading: no fault.
    NobodyReads,
}

/// What every piece of work gives.
pub type Outcome<T = ()> = Result<T, Failure>;

impl Failure {
    /// The exit code: 0 ok, 1 failure, 2 usage, 3 orders or files not valid, 4 server refused,
    /// 5 network, 6 audit mismatch.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::NobodyReads => 0,
            Self::Plain(_) => 1,
            Self::Usage(_) => 2,
            Self::NotValid(_) => 3,
            Self::Refused(_) => 4,
            Self::Network(_) => 5,
            Self::Mismatch(_) => 6,
        }
    }

    /// What to tell a person.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::NobodyReads => String::new(),
            Self::Plain(text)
            | Self::Usage(text)
            | Self::NotValid(text)
            | Self::Network(text)
            | Self::Mismatch(text) => text.clone(),
            Self::Refused(problem) => problem::text(problem),
        }
    }

    /// A failure about a file or folder.
    #[must_use]
    pub fn of_file(doing: &str, path: &std::path::Path, error: &std::io::Error) -> Self {
        Self::Plain(format!("cannot {doing} {}: {error}", path.display()))
    }
}
