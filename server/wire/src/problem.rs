//! Problem documents (RFC 9457): every code there is, with its status.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Declares the codes, each with its word on the wire and its HTTP status.
macro_rules! problem_codes {
    ($($(#[doc = $doc:literal])+ $variant:ident = $word:literal, $status:literal;)+) => {
        /// What kind of problem it is: the last part of the document's `type`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum ProblemCode {
            $($(#[doc = $doc])+ $variant,)+
        }

        impl ProblemCode {
            /// All there are, by status.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word on the wire.
            #[must_use]
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }

            /// The HTTP status that it is answered with.
            #[must_use]
            pub const fn status(self) -> u16 {
                match self {
                    $(Self::$variant => $status,)+
                }
            }
        }
    };
}

problem_codes! {
    /// The request cannot be read.
    BadRequest = "bad-request", 400;
    /// The body cannot be read as JSON of the route's type.
    BadJson = "bad-json", 400;
    /// The route needs an `Idempotency-Key`.
    NoIdempotencyKey = "no-idempotency-key", 400;
    /// The route needs a key.
    NoKey = "no-key", 401;
    /// The key is unknown or revoked.
    WrongKey = "wrong-key", 401;
    /// The session has ended, or does not hold the key that is named.
    WrongSession = "wrong-session", 401;
    /// A change under a session that does not come from the server's own page.
    WrongOrigin = "wrong-origin", 403;
    /// The key does not open this.
    NotAllowed = "not-allowed", 403;
    /// The sheet is another side's.
    NotYourSide = "not-your-side", 403;
    /// The game is played with signatures, and this has none.
    NotSigned = "not-signed", 403;
    /// The signature is not that of this posting by a key of the seat.
    BadSignature = "bad-signature", 403;
    /// No route has this path.
    NoSuchPlace = "no-such-place", 404;
    /// The page has no such file in this version.
    NoSuchFile = "no-such-file", 404;
    /// No such game, or it is closed to the caller.
    NoSuchGame = "no-such-game", 404;
    /// The record is not that long.
    NoSuchEvent = "no-such-event", 404;
    /// No such member.
    NoSuchMember = "no-such-member", 404;
    /// The game has no such seat.
    NoSuchSeat = "no-such-seat", 404;
    /// The path has no such method.
    MethodNotAllowed = "method-not-allowed", 405;
    /// The body did not arrive in time.
    TooSlow = "too-slow", 408;
    /// Nobody would be left to organise.
    LastOrganiser = "last-organiser", 409;
    /// The invitation has been used.
    InvitationUsed = "invitation-used", 409;
    /// The seat is taken.
    SeatTaken = "seat-taken", 409;
    /// The game is over.
    GameOver = "game-over", 409;
    /// The game has no clock, or none runs.
    NoClock = "no-clock", 409;
    /// It cannot be done as the game is now.
    NotNow = "not-now", 409;
    /// Sessions need the server's public address.
    NoPublicAddress = "no-public-address", 409;
    /// The server does not send notices by that channel.
    NotSentHere = "not-sent-here", 409;
    /// The idempotency key has posted something else.
    IdempotencyKeyReused = "idempotency-key-reused", 409;
    /// The invitation has expired.
    InvitationExpired = "invitation-expired", 410;
    /// The link for another device was used, is void or too late.
    LinkExpired = "link-expired", 410;
    /// The head that was named is not the game's any more.
    Stale = "stale", 412;
    /// The body is longer than the route takes.
    TooLarge = "too-large", 413;
    /// The body's media type is not one that the route takes.
    WrongMediaType = "wrong-media-type", 415;
    /// No such scenario is shipped.
    NoSuchScenario = "no-such-scenario", 422;
    /// The game has no such side.
    NoSuchSide = "no-such-side", 422;
    /// The ruleset or the scenario has faults.
    FaultyFiles = "faulty-files", 422;
    /// The typed sheet cannot be read.
    UnreadableSheet = "unreadable-sheet", 422;
    /// The sheet holds more than its side's units can do.
    SheetTooLong = "sheet-too-long", 422;
    /// The name cannot be taken.
    BadName = "bad-name", 422;
    /// The standing instructions cannot be taken.
    BadInstructions = "bad-instructions", 422;
    /// The invitation is unknown or void.
    WrongInvitation = "wrong-invitation", 422;
    /// What was asked is out of range.
    Unfit = "unfit", 422;
    /// Notices cannot go to that address.
    BadAddress = "bad-address", 422;
    /// That id names no notice.
    NoSuchNotice = "no-such-notice", 422;
    /// The route needs an `If-Match`.
    NoIfMatch = "no-if-match", 428;
    /// Too many requests in a minute.
    TooMany = "too-many", 429;
    /// The side has made too many changes in one player turn.
    TooManyChanges = "too-many-changes", 429;
    /// The seat has set too many new addresses in a day.
    TooManyAddresses = "too-many-addresses", 429;
    /// The server is at fault.
    Broken = "broken", 500;
    /// The server is too busy.
    Busy = "busy", 503;
    /// The database cannot be reached.
    NotReady = "not-ready", 503;
    /// The database's disk is full.
    NoRoom = "no-room", 507;
}

impl ProblemCode {
    /// The code with that word, if this version has one.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.as_str() == word)
    }
}

impl fmt::Display for ProblemCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// What `type` begins with; the code's word follows.
const TYPE_PREFIX: &str = "/problems/";

/// A problem document. It reads whatever another version sends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// `/problems/CODE`.
    #[serde(rename = "type", default)]
    pub kind: String,
    /// The kind of problem, in a few words.
    #[serde(default)]
    pub title: String,
    /// The HTTP status again.
    #[serde(default)]
    pub status: u16,
    /// What is wrong, and what would work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// Members that depend on the problem: the schema lists them.
    #[serde(flatten)]
    pub more: Map<String, Value>,
}

impl Problem {
    /// A problem of some kind.
    #[must_use]
    pub fn new(code: ProblemCode, title: &str, detail: String) -> Self {
        Self {
            kind: format!("{TYPE_PREFIX}{code}"),
            title: title.to_owned(),
            status: code.status(),
            detail: Some(detail),
            more: Map::new(),
        }
    }

    /// The word of its code, also of one that this version does not know.
    #[must_use]
    pub fn word(&self) -> &str {
        self.kind.rsplit('/').next().unwrap_or_default()
    }

    /// Its code, if this version knows it.
    #[must_use]
    pub fn code(&self) -> Option<ProblemCode> {
        ProblemCode::from_word(self.word())
    }

    /// Reads a member that depends on the problem.
    pub fn member<T: serde::de::DeserializeOwned>(&self, name: &str) -> Option<T> {
        serde_json::from_value(self.more.get(name)?.clone()).ok()
    }
}

/// The schema lists every member that some problem has.
impl JsonSchema for Problem {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Problem".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        ProblemDocument::json_schema(generator)
    }
}

/// What every error is answered with (RFC 9457). Members beyond the first four depend on the problem.
#[derive(JsonSchema)]
#[expect(dead_code, reason = "only its schema is used")]
struct ProblemDocument {
    /// `/problems/NAME`.
    r#type: String,
    /// What kind of problem it is.
    title: String,
    /// The HTTP status again.
    status: u16,
    /// What is wrong, and what would do.
    detail: String,
    /// Where in the body, as a JSON pointer (RFC 6901).
    pointer: Option<String>,
    /// Where in the body's text, from 1.
    line: Option<u64>,
    /// Where in that line, from 1.
    column: Option<u64>,
    /// The most bytes that are taken.
    limit_bytes: Option<u64>,
    /// Seconds to wait.
    retry_after_s: Option<u64>,
    /// The game's last entry, after somebody was first.
    head: Option<crate::Head>,
    /// What happened since, after somebody was first.
    news: Option<Vec<crate::NewsItem>>,
    /// Every fault of the files or the sheet that were sent.
    faults: Option<Vec<Map<String, Value>>>,
    /// How many faults are not listed.
    faults_left_out: Option<u64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_is_found_by_its_word_and_stands_once() {
        for (place, code) in ProblemCode::ALL.iter().enumerate() {
            assert_eq!(ProblemCode::from_word(code.as_str()), Some(*code));
            let first = ProblemCode::ALL.iter().position(|other| other == code);
            assert_eq!(first, Some(place), "{code}");
        }
        assert_eq!(ProblemCode::from_word("new"), None);
    }

    #[test]
    fn a_document_goes_there_and_back_and_one_of_another_version_is_read() {
        let mut problem = Problem::new(ProblemCode::TooMany, "Too many", "Wait.".to_owned());
        problem.more.insert("retry_after_s".to_owned(), 7.into());
        let text = serde_json::to_string(&problem).expect("JSON");
        let read: Problem = serde_json::from_str(&text).expect("a problem");
        assert_eq!(read, problem);
        assert_eq!(read.code(), Some(ProblemCode::TooMany));
        assert_eq!(read.member("retry_after_s"), Some(7));
        let other: Problem = serde_json::from_str(r#"{"type":"/problems/new"}"#).expect("read");
        assert_eq!((other.word(), other.code()), ("new", None));
    }
}
