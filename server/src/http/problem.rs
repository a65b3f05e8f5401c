//! Every way a request can fail, and the problem document (RFC 9457) it is answered with.

use std::time::Duration;

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use fieldpost_wire::{Problem, ProblemCode};
use serde::Serialize;
use serde_json::Value;

use crate::office::Failure;
use crate::store::{Channel, StoreError};

/// Why a request failed.
#[derive(Debug)]
pub(crate) enum Rejection {
    /// The office did not do it.
    Office(Failure),
    /// A header, path or query part that cannot be read.
    BadRequest(String),
    /// A body that cannot be read as what the route asks for.
    BadJson(BadJson),
    /// The body's media type is not what the route takes.
    WrongMediaType(&'static str),
    /// The body is longer than the route takes.
    TooLarge {
        /// The most it takes.
        limit_bytes: usize,
    },
    /// The body did not arrive in time.
    TooSlow,
    /// The answer was not ready in time.
    TooLong,
    /// Too many of something in a minute.
    TooMany {
        /// Until one more would be taken.
        wait: Duration,
        /// Of what.
        of: &'static str,
    },
    /// Every place for watching is taken.
    TooManyWatchers,
    /// `Idempotency-Key` is missing or unfit.
    NoIdempotencyKey,
    /// `If-Match` is missing.
    NoIfMatch,
    /// No such route.
    NoSuchPlace,
    /// The route has no such method.
    MethodNotAllowed,
    /// A handler panicked; logged, not shown.
    Panicked(String),
}

/// Where and why a JSON body cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct BadJson {
    /// What is wrong.
    pub(crate) detail: String,
    /// RFC 6901, as deep as is known.
    pub(crate) pointer: Option<String>,
    /// From 1.
    pub(crate) line: Option<usize>,
    /// From 1.
    pub(crate) column: Option<usize>,
}

/// What a handler answers.
pub(crate) type Answer<T = Response> = Result<T, Rejection>;

/// What must not be shown but should be logged; travels with the response.
#[derive(Debug, Clone)]
pub(crate) struct ForTheLog(pub(crate) String);

impl From<Failure> for Rejection {
    fn from(failure: Failure) -> Self {
        Self::Office(failure)
    }
}

/// A problem document in the making, and what is not shown of it.
struct Answered {
    code: ProblemCode,
    problem: Problem,
    for_the_log: Option<String>,
    retry_after: Option<u64>,
}

impl Answered {
    fn new(code: ProblemCode, title: &str, detail: impl Into<String>) -> Self {
        Self {
            code,
            problem: Problem::new(code, title, detail.into()),
            for_the_log: None,
            retry_after: None,
        }
    }

    fn with(mut self, name: &str, value: impl Serialize) -> Self {
        let value = serde_json::to_value(value).unwrap_or(Value::Null);
        if !value.is_null() {
            self.problem.more.insert(name.to_owned(), value);
        }
        self
    }

    /// The server's own fault: what it was is logged and not shown.
    fn ours(code: ProblemCode, title: &str, why: String) -> Self {
        let detail = "The server could not do this. Nothing was changed unless a later reading shows it; it is safe to send the same again. The host finds the cause in the log under the request's id.";
        let is_passing = code.status() == StatusCode::SERVICE_UNAVAILABLE.as_u16();
        Self {
            for_the_log: Some(why),
            retry_after: is_passing.then_some(2),
            ..Self::new(code, title, detail)
        }
    }

    /// Says how many seconds to wait.
    fn with_wait(self, wait: Duration) -> Self {
        let seconds = wait.as_secs() + 1;
        Self {
            retry_after: Some(seconds),
            ..self
        }
        .with("retry_after_s", seconds)
    }
}

impl IntoResponse for Rejection {
    fn into_response(self) -> Response {
        let answered = problem_of(self);
        let status = StatusCode::from_u16(answered.code.status())
            .unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(answered.problem)).into_response();
        let headers = response.headers_mut();
        headers.insert(
            header::CONTENT_TYPE,
            HeaderValue::from_static("application/problem+json"),
        );
        if status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        if let Some(seconds) = answered.retry_after {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        if let Some(why) = answered.for_the_log {
            response.extensions_mut().insert(ForTheLog(why));
        }
        response
    }
}

/// The one match of requests that failed to what they are answered.
fn problem_of(rejection: Rejection) -> Answered {
    use ProblemCode as C;
    match rejection {
        Rejection::Office(failure) => problem_of_failure(failure),
        Rejection::BadRequest(detail) => {
            Answered::new(C::BadRequest, "This request cannot be read", detail)
        }
        Rejection::BadJson(bad) => {
            Answered::new(C::BadJson, "This body cannot be read", bad.detail)
                .with("pointer", bad.pointer)
                .with("line", bad.line)
                .with("column", bad.column)
        }
        Rejection::WrongMediaType(wanted) => Answered::new(
            C::WrongMediaType,
            "This body has the wrong media type",
            format!("Send it with Content-Type: {wanted}."),
        ),
        Rejection::TooLarge { limit_bytes } => Answered::new(
            C::TooLarge,
            "This body is too long",
            format!("{limit_bytes} bytes is the most that is taken here."),
        )
        .with("limit_bytes", limit_bytes),
        Rejection::TooSlow => Answered::new(
            C::TooSlow,
            "The body did not arrive in time",
            "The connection is too slow or broke off. Nothing was changed; send it again.",
        ),
        Rejection::TooLong => Answered::ours(
            C::Busy,
            "The answer was not ready in time",
            "time-out".to_owned(),
        ),
        Rejection::TooMany { wait, of } => Answered::new(
            C::TooMany,
            "Too many in a minute",
            format!("There were too many {of}. Wait as long as Retry-After says, then go on."),
        )
        .with_wait(wait),
        Rejection::TooManyWatchers => Answered::new(
            C::Busy,
            "Too many are watching",
            "Every place for a stream of news is taken. Read /news instead, or come again later.",
        )
        .with_wait(Duration::from_secs(29)),
        Rejection::NoIdempotencyKey => Answered::new(
            C::NoIdempotencyKey,
            "This needs an Idempotency-Key",
            "Send an Idempotency-Key header of 1 to 200 visible characters, new for every sheet and the same when the same sheet is sent again.",
        ),
        Rejection::NoIfMatch => Answered::new(
            C::NoIfMatch,
            "This needs If-Match",
            "Send the ETag of the table that the sheet was written for as If-Match.",
        ),
        Rejection::NoSuchPlace => Answered::new(
            C::NoSuchPlace,
            "There is nothing here",
            "No route has this path.",
        ),
        Rejection::MethodNotAllowed => Answered::new(
            C::MethodNotAllowed,
            "This path has no such method",
            "The Allow header lists those it has.",
        ),
        Rejection::Panicked(why) => Answered::ours(C::Broken, "The server is at fault", why),
    }
}

fn problem_of_failure(failure: Failure) -> Answered {
    use ProblemCode as C;
    match failure {
        Failure::NoKey => Answered::new(
            C::NoKey,
            "This needs a key",
            "Send the key of a seat or the organiser's as Authorization: Bearer KEY.",
        ),
        Failure::WrongKey => Answered::new(
            C::WrongKey,
            "Unknown or revoked key",
            "There is no such key, its secret does not match, or it was revoked.",
        ),
        Failure::NotAllowed(needs) => Answered::new(C::NotAllowed, "This key does not open this", needs),
        Failure::NotYourSide { yours, asked } => Answered::new(
            C::NotYourSide,
            "This sheet is another side's",
            format!("Your seat plays {yours}, and the sheet is for {asked}."),
        ),
        Failure::NoSuchGame => Answered::new(
            C::NoSuchGame,
            "There is no such game",
            "There is no game of that id, or it is closed to those who do not play in it.",
        ),
        Failure::NoSuchEvent { asked, last } => Answered::new(
            C::NoSuchEvent,
            "There is no such event",
            format!("The record runs from 1 to {last}; {asked} is not in it."),
        ),
        Failure::NoSuchOrder(order) => Answered::new(
            C::BadRequest,
            "This order cannot be drawn",
            format!("The sheet has no order {order} (counted from 0) with a move or battle to draw."),
        ),
        Failure::NoSuchScenario { asked, known } => Answered::new(
            C::NoSuchScenario,
            "There is no such scenario",
            format!("No scenario is shipped as \"{asked}\"; there are: {}.", known.join(", ")),
        )
        .with("pointer", "/shipped"),
        Failure::NoSuchSide { asked, known } => Answered::new(
            C::NoSuchSide,
            "There is no such side",
            format!("No side is called \"{asked}\"; there are: {}.", known.join(", ")),
        )
        .with("pointer", "/side"),
        Failure::FaultyFiles(faults) => Answered::new(
            C::FaultyFiles,
            "The ruleset or the scenario has faults",
            faults.to_string(),
        )
        .with("faults", &faults.faults)
        .with("faults_left_out", (faults.left_out > 0).then_some(faults.left_out)),
        Failure::UnreadableSheet(faults) => Answered::new(
            C::UnreadableSheet,
            "The sheet cannot be read",
            faults.iter().map(|fault| fault.drawn(false)).collect::<Vec<_>>().join("\n"),
        )
        .with("faults", &faults),
        Failure::BadName { why, pointer } => Answered::new(C::BadName, "This name cannot be taken", why).with("pointer", pointer),
        Failure::TooLate { asked, most } => Answered::new(
            C::BadRequest,
            "Spectators would wait too long",
            format!("{asked} minutes is more than a week; {most} is the most."),
        )
        .with("pointer", "/spectator_delay_minutes"),
        Failure::Unclear(what) => Answered::new(C::BadRequest, "This request cannot be read", what),
        Failure::NoSuchMember => Answered::new(C::NoSuchMember, "There is no such member", "Nobody of that id is a member; they may have been removed."),
        Failure::NoSuchSeat => Answered::new(C::NoSuchSeat, "There is no such seat", "This game has no seat of that id."),
        Failure::LastOrganiser => Answered::new(
            C::LastOrganiser,
            "Nobody would be left to organise",
            "Make another member an organiser first.",
        ),
        Failure::BadInstructions { unit, why } => Answered::new(
            C::BadInstructions,
            "These instructions cannot be taken",
            format!("{unit}: {why}."),
        )
        .with("pointer", format!("/units/{}", escaped(&unit))),
        Failure::WrongInvitation => Answered::new(
            C::WrongInvitation,
            "Unknown or void invitation",
            "There is no such invitation, its secret does not match, or a newer one took its place. Ask the organiser for another.",
        )
        .with("pointer", "/invitation"),
        Failure::InvitationUsed => Answered::new(
            C::InvitationUsed,
            "This invitation has been used",
            "An invitation works once. If it was not you who used it, tell the organiser.",
        ),
        Failure::InvitationExpired { at } => Answered::new(
            C::InvitationExpired,
            "This invitation has expired",
            format!("It was good until {at}. Ask the organiser for another."),
        ),
        Failure::SeatTaken { player } => Answered::new(C::SeatTaken, "This seat is taken", format!("{player} has taken it.")),
        Failure::GameOver => Answered::new(C::GameOver, "The game is over", "Nothing can be changed in a game that has ended."),
        Failure::NoClock => Answered::new(
            C::NoClock,
            "There is no clock",
            "This game is played without a clock, or no clock runs now.",
        ),
        Failure::NotNow(why) => Answered::new(C::NotNow, "This cannot be done now", why),
        Failure::Unfit(why) => Answered::new(C::Unfit, "This cannot be taken", why),
        Failure::BadAddress { way, why } => Answered::new(C::BadAddress, "Notices cannot go there", why)
            .with("pointer", format!("/{}", way.as_str())),
        Failure::NotSentHere(way) => Answered::new(
            C::NotSentHere,
            "This server sends no such notices",
            match way {
                Channel::Mail => "Its host has set up no e-mail. Ask them, or use a webhook.",
                Channel::Webhook => "Its host has turned webhooks off. Ask them, or use e-mail.",
            },
        )
        .with("pointer", format!("/{}", way.as_str())),
        Failure::TooManyAddresses(most) => Answered::new(
            C::TooManyAddresses,
            "Too many new addresses in a day",
            format!("A seat may set {most} new addresses of a kind in a day. Keep the one that is set, or try again tomorrow."),
        ),
        Failure::NoSuchNotice(place) => Answered::new(
            C::NoSuchNotice,
            "This names no notice",
            "Give ids as the list of notices that were given up has them, at most a thousand; or none, for all.",
        )
        .with("pointer", format!("/ids/{place}")),
        Failure::KeyReused => Answered::new(
            C::IdempotencyKeyReused,
            "This Idempotency-Key has posted something else",
            "It belongs to another sheet, which was accepted. Use a new one for a new sheet.",
        ),
        Failure::Stale { head, news } => Answered::new(
            C::Stale,
            "Somebody was first",
            stale_words(&news),
        )
        .with("head", head)
        .with("news", news),
        Failure::Busy => Answered::ours(C::Busy, "Too many at once", "overtaken every time".to_owned()),
        Failure::Store(error @ StoreError::Full(_)) => {
            Answered::ours(C::NoRoom, "There is no room left to keep this", error.to_string())
        }
        Failure::Store(
            error @ (StoreError::Overtaken
                | StoreError::LastOrganiser
            | StoreError::Damaged(_)
            | StoreError::InUse(_)
            | StoreError::NotEmpty(_)
            | StoreError::Migration(_)
            | StoreError::Panicked(_)),
        ) => {
            Answered::ours(C::Broken, "The server is at fault", error.to_string())
        }
        Failure::Store(error @ (StoreError::ReadOnly(_) | StoreError::Unsynced(_) | StoreError::Database(_) | StoreError::Files(_))) => {
            Answered::ours(C::NotReady, "The games cannot be reached", error.to_string())
        }
        Failure::Unwritable(why) | Failure::Panicked(why) => {
            Answered::ours(C::Broken, "The server is at fault", why)
        }
    }
}

fn stale_words(news: &[fieldpost_wire::NewsItem]) -> String {
    if news.is_empty() {
        return "The head that If-Match names is not the game's. Read the table and write for that.".to_owned();
    }
    let what: Vec<&str> = news.iter().map(|item| item.words.as_str()).collect();
    format!(
        "Since the table this was written for: {} Read the table and write for that.",
        what.join(" ")
    )
}

/// A key as a part of a JSON pointer (RFC 6901, section 3).
pub(crate) fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}
