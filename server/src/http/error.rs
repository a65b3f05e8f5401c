//! Why a request could not be answered as it asked. `Display` is the sentence that its sender reads.

use std::time::Duration;

use axum::response::Response;
use thiserror::Error;

use crate::service::ServiceError;

/// Why a request failed.
#[derive(Debug, Error)]
pub(crate) enum ApiError {
    /// The service did not do it.
    #[error(transparent)]
    Service(#[from] ServiceError),
    /// A header, path or query part that cannot be read.
    #[error("{0}")]
    BadRequest(String),
    /// A body that cannot be read as what the route asks for.
    #[error(transparent)]
    BadJson(#[from] JsonError),
    /// The body's media type is not what the route takes.
    #[error("Send it with Content-Type: {0}.")]
    WrongMediaType(&'static str),
    /// The body is longer than the route takes.
    #[error("{limit_bytes} bytes is the most that is taken here.")]
    TooLarge {
        /// The most it takes.
        limit_bytes: usize,
    },
    /// The body did not arrive in time.
    #[error("The connection is too slow or broke off. Nothing was changed; send it again.")]
    TooSlow,
    /// The answer was not ready in time.
    #[error("time-out")]
    TooLong,
    /// Too many requests, or too many wrong keys and invitations, from one address in a minute.
    #[error("There were too many {}. Wait as long as Retry-After says, then go on.", of.words())]
    TooMany {
        /// Until one more would be taken.
        wait: Duration,
        /// What was counted.
        of: Counted,
    },
    /// Too much that was asked for is not read yet, or too much that was sent has not all come.
    #[error(
        "Too much for this address or key is on its way already. Read the answers that are there, then go on. What was asked may have been done: it is safe to send the same again."
    )]
    TooMuchHeld,
    /// Every place for a stream of events is taken.
    #[error("Every place for a stream of news is taken. Read /news instead, or come again later.")]
    TooManyWatchers,
    /// `Idempotency-Key` is missing or unfit.
    #[error(
        "Send an Idempotency-Key header of 1 to 200 visible characters, new for every sheet and the same when the same sheet is sent again."
    )]
    NoIdempotencyKey,
    /// `If-Match` is missing.
    #[error("Send the ETag of the table that the sheet was written for as If-Match.")]
    NoIfMatch,
    /// A request under a session that does not come from the server's own page.
    #[error("A change under a session needs {0}.")]
    WrongOrigin(&'static str),
    /// Sessions need the server's public address.
    #[error(
        "The host of this server has not set public_address, the address by which players reach its page; without it nobody can come in there."
    )]
    NoPublicAddress,
    /// No such route.
    #[error("No route has this path.")]
    NoSuchPlace,
    /// The page has no such file in this version.
    #[error("The page has no such file, or is of another version by now. Load it anew.")]
    NoSuchFile,
    /// The route has no such method.
    #[error("The Allow header lists those it has.")]
    MethodNotAllowed,
    /// A handler panicked; logged, not shown.
    #[error("a handler panicked: {0}")]
    Panicked(String),
}

/// What is counted of an address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Counted {
    /// Requests of any kind.
    Requests,
    /// Wrong keys and invitations.
    Guesses,
}

impl Counted {
    fn words(self) -> &'static str {
        match self {
            Self::Requests => "requests from your address",
            Self::Guesses => "wrong keys or invitations from your address",
        }
    }
}

/// Where and why a JSON body cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Default, Error)]
#[error("{detail}")]
pub(crate) struct JsonError {
    /// What is wrong, in a sentence.
    pub(crate) detail: String,
    /// RFC 6901, as deep as is known.
    pub(crate) pointer: Option<String>,
    /// From 1.
    pub(crate) line: Option<usize>,
    /// From 1.
    pub(crate) column: Option<usize>,
}

/// What a handler answers.
pub(crate) type ApiResult<T = Response> = Result<T, ApiError>;
