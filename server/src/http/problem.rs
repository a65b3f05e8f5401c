//! Every way a request can fail, and the problem document (RFC 9457) it is answered with.

use std::time::Duration;

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::office::Failure;
use crate::store::{StoreError, Way};

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

/// What every error is answered with (RFC 9457). Members beyond these depend on the problem.
#[derive(Debug, JsonSchema)]
#[schemars(rename = "Problem")]
#[expect(
    dead_code,
    reason = "only its schema is used: members are added as they are known"
)]
pub(crate) struct Document {
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
    head: Option<crate::wire::Head>,
    /// What happened since, after somebody was first.
    news: Option<Vec<crate::wire::NewsItem>>,
    /// Every fault of the files or the sheet that were sent.
    faults: Option<Vec<Map<String, Value>>>,
    /// How many faults are not listed.
    faults_left_out: Option<u64>,
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

/// A problem document in the making.
struct Problem {
    status: StatusCode,
    name: &'static str,
    title: &'static str,
    detail: String,
    members: Map<String, Value>,
    for_the_log: Option<String>,
    retry_after: Option<u64>,
}

impl Problem {
    fn new(
        status: StatusCode,
        name: &'static str,
        title: &'static str,
        detail: impl Into<String>,
    ) -> Self {
        Self {
            status,
            name,
            title,
            detail: detail.into(),
            members: Map::new(),
            for_the_log: None,
            retry_after: None,
        }
    }

    fn with(mut self, name: &str, value: impl Serialize) -> Self {
        let value = serde_json::to_value(value).unwrap_or(Value::Null);
        if !value.is_null() {
            self.members.insert(name.to_owned(), value);
        }
        self
    }

    /// Our fault: what it was is logged and not shown.
    fn ours(status: StatusCode, name: &'static str, title: &'static str, why: String) -> Self {
        let detail = "The server could not do this. Nothing was changed unless a later reading shows it; it is safe to send the same again. The host finds the cause in the log under the request's id.";
        Self {
            for_the_log: Some(why),
            retry_after: (status == StatusCode::SERVICE_UNAVAILABLE).then_some(2),
            ..Self::new(status, name, title, detail)
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
        let problem = problem_of(self);
        let mut document = Map::new();
        document.insert(
            "type".to_owned(),
            json!(format!("/problems/{}", problem.name)),
        );
        document.insert("title".to_owned(), json!(problem.title));
        document.insert("status".to_owned(), json!(problem.status.as_u16()));
        document.insert("detail".to_owned(), json!(problem.detail));
        document.extend(problem.members);
        let mut response = (problem.status, Json(document)).into_response();
        let headers = response.headers_mut();
        headers.insert(
            header::CONTENT_TYPE,
            HeaderValue::from_static("application/problem+json"),
        );
        if problem.status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        if let Some(seconds) = problem.retry_after {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        if let Some(why) = problem.for_the_log {
            response.extensions_mut().insert(ForTheLog(why));
        }
        response
    }
}

/// The one match of requests that failed to what they are answered.
fn problem_of(rejection: Rejection) -> Problem {
    use StatusCode as S;
    match rejection {
        Rejection::Office(failure) => problem_of_failure(failure),
        Rejection::BadRequest(detail) => Problem::new(
            S::BAD_REQUEST,
            "bad-request",
            "This request cannot be read",
            detail,
        ),
        Rejection::BadJson(bad) => Problem::new(
            S::BAD_REQUEST,
            "bad-json",
            "This body cannot be read",
            bad.detail,
        )
        .with("pointer", bad.pointer)
        .with("line", bad.line)
        .with("column", bad.column),
        Rejection::WrongMediaType(wanted) => Problem::new(
            S::UNSUPPORTED_MEDIA_TYPE,
            "wrong-media-type",
            "This body has the wrong media type",
            format!("Send it with Content-Type: {wanted}."),
        ),
        Rejection::TooLarge { limit_bytes } => Problem::new(
            S::PAYLOAD_TOO_LARGE,
            "too-large",
            "This body is too long",
            format!("{limit_bytes} bytes is the most that is taken here."),
        )
        .with("limit_bytes", limit_bytes),
        Rejection::TooSlow => Problem::new(
            S::REQUEST_TIMEOUT,
            "too-slow",
            "The body did not arrive in time",
            "The connection is too slow or broke off. Nothing was changed; send it again.",
        ),
        Rejection::TooLong => Problem::ours(
            S::SERVICE_UNAVAILABLE,
            "busy",
            "The answer was not ready in time",
            "time-out".to_owned(),
        ),
        Rejection::TooMany { wait, of } => Problem::new(
            S::TOO_MANY_REQUESTS,
            "too-many",
            "Too many in a minute",
            format!("There were too many {of}. Wait as long as Retry-After says, then go on."),
        )
        .with_wait(wait),
        Rejection::TooManyWatchers => Problem::new(
            S::SERVICE_UNAVAILABLE,
            "busy",
            "Too many are watching",
            "Every place for a stream of news is taken. Read /news instead, or come again later.",
        )
        .with_wait(Duration::from_secs(29)),
        Rejection::NoIdempotencyKey => Problem::new(
            S::BAD_REQUEST,
            "no-idempotency-key",
            "This needs an Idempotency-Key",
            "Send an Idempotency-Key header of 1 to 200 visible characters, new for every sheet and the same when the same sheet is sent again.",
        ),
        Rejection::NoIfMatch => Problem::new(
            S::PRECONDITION_REQUIRED,
            "no-if-match",
            "This needs If-Match",
            "Send the ETag of the table that the sheet was written for as If-Match.",
        ),
        Rejection::NoSuchPlace => Problem::new(
            S::NOT_FOUND,
            "no-such-place",
            "There is nothing here",
            "No route has this path.",
        ),
        Rejection::MethodNotAllowed => Problem::new(
            S::METHOD_NOT_ALLOWED,
            "method-not-allowed",
            "This path has no such method",
            "The Allow header lists those it has.",
        ),
        Rejection::Panicked(why) => Problem::ours(
            S::INTERNAL_SERVER_ERROR,
            "broken",
            "The server is at fault",
            why,
        ),
    }
}

fn problem_of_failure(failure: Failure) -> Problem {
    use StatusCode as S;
    match failure {
        Failure::NoKey => Problem::new(
            S::UNAUTHORIZED,
            "no-key",
            "This needs a key",
            "Send the key of a seat or the organiser's as Authorization: Bearer KEY.",
        ),
        Failure::WrongKey => Problem::new(
            S::UNAUTHORIZED,
            "wrong-key",
            "This key opens nothing",
            "There is no such key, its secret does not match, or it was revoked.",
        ),
        Failure::NotAllowed(needs) => Problem::new(S::FORBIDDEN, "not-allowed", "This key does not open this", needs),
        Failure::NotYourSide { yours, asked } => Problem::new(
            S::FORBIDDEN,
            "not-your-side",
            "This sheet is another side's",
            format!("Your seat plays {yours}, and the sheet is for {asked}."),
        ),
        Failure::NoSuchGame => Problem::new(
            S::NOT_FOUND,
            "no-such-game",
            "There is no such game",
            "There is no game of that id, or it is closed to those who do not play in it.",
        ),
        Failure::NoSuchEvent { asked, last } => Problem::new(
            S::NOT_FOUND,
            "no-such-event",
            "There is no such event",
            format!("The record runs from 1 to {last}; {asked} is not in it."),
        ),
        Failure::NoSuchOrder(order) => Problem::new(
            S::BAD_REQUEST,
            "bad-request",
            "This order cannot be drawn",
            format!("The sheet has no order {order} (counted from 0) with a move or battle to draw."),
        ),
        Failure::NoSuchScenario { asked, known } => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "no-such-scenario",
            "There is no such scenario",
            format!("No scenario is shipped as \"{asked}\"; there are: {}.", known.join(", ")),
        )
        .with("pointer", "/shipped"),
        Failure::NoSuchSide { asked, known } => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "no-such-side",
            "There is no such side",
            format!("No side is called \"{asked}\"; there are: {}.", known.join(", ")),
        )
        .with("pointer", "/side"),
        Failure::FaultyFiles(faults) => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "faulty-files",
            "The ruleset or the scenario has faults",
            faults.to_string(),
        )
        .with("faults", &faults.faults)
        .with("faults_left_out", (faults.left_out > 0).then_some(faults.left_out)),
        Failure::UnreadableSheet(faults) => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "unreadable-sheet",
            "The sheet cannot be read",
            faults.iter().map(|fault| fault.drawn(false)).collect::<Vec<_>>().join("\n"),
        )
        .with("faults", &faults),
        Failure::BadName { why, pointer } => Problem::new(S::UNPROCESSABLE_ENTITY, "bad-name", "This name cannot be taken", why).with("pointer", pointer),
        Failure::TooLate { asked, most } => Problem::new(
            S::BAD_REQUEST,
            "bad-request",
            "Spectators would wait too long",
            format!("{asked} minutes is more than a week; {most} is the most."),
        )
        .with("pointer", "/spectator_delay_minutes"),
        Failure::Unclear(what) => Problem::new(S::BAD_REQUEST, "bad-request", "This request cannot be read", what),
        Failure::NoSuchMember => Problem::new(S::NOT_FOUND, "no-such-member", "There is no such member", "Nobody of that id is a member; they may have been removed."),
        Failure::NoSuchSeat => Problem::new(S::NOT_FOUND, "no-such-seat", "There is no such seat", "This game has no seat of that id."),
        Failure::LastOrganiser => Problem::new(
            S::CONFLICT,
            "last-organiser",
            "Nobody would be left to organise",
            "Make another member an organiser first.",
        ),
        Failure::BadInstructions { unit, why } => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "bad-instructions",
            "These instructions cannot be taken",
            format!("{unit}: {why}."),
        )
        .with("pointer", format!("/units/{}", escaped(&unit))),
        Failure::WrongInvitation => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "wrong-invitation",
            "This invitation opens nothing",
            "There is no such invitation, its secret does not match, or a newer one took its place. Ask the organiser for another.",
        )
        .with("pointer", "/invitation"),
        Failure::InvitationUsed => Problem::new(
            S::CONFLICT,
            "invitation-used",
            "This invitation has been used",
            "An invitation works once. If it was not you who used it, tell the organiser.",
        ),
        Failure::InvitationExpired { at } => Problem::new(
            S::GONE,
            "invitation-expired",
            "This invitation has expired",
            format!("It was good until {at}. Ask the organiser for another."),
        ),
        Failure::SeatTaken { player } => Problem::new(S::CONFLICT, "seat-taken", "This seat is taken", format!("{player} has taken it.")),
        Failure::GameOver => Problem::new(S::CONFLICT, "game-over", "The game is over", "Nothing can be changed in a game that has ended."),
        Failure::NoClock => Problem::new(
            S::CONFLICT,
            "no-clock",
            "There is no clock",
            "This game is played without a clock, or no clock runs now.",
        ),
        Failure::NotNow(why) => Problem::new(S::CONFLICT, "not-now", "This cannot be done now", why),
        Failure::Unfit(why) => Problem::new(S::UNPROCESSABLE_ENTITY, "unfit", "This cannot be taken", why),
        Failure::BadAddress { way, why } => Problem::new(S::UNPROCESSABLE_ENTITY, "bad-address", "Notices cannot go there", why)
            .with("pointer", format!("/{}", way.word())),
        Failure::NotSentHere(way) => Problem::new(
            S::CONFLICT,
            "not-sent-here",
            "This server sends no such notices",
            match way {
                Way::Mail => "Its host has set up no e-mail. Ask them, or use a webhook.",
                Way::Webhook => "Its host has turned webhooks off. Ask them, or use e-mail.",
            },
        )
        .with("pointer", format!("/{}", way.word())),
        Failure::TooManyAddresses(most) => Problem::new(
            S::TOO_MANY_REQUESTS,
            "too-many-addresses",
            "Too many new addresses in a day",
            format!("A seat may set {most} new addresses of a kind in a day. Keep the one that is set, or try again tomorrow."),
        ),
        Failure::NoSuchNotice(place) => Problem::new(
            S::UNPROCESSABLE_ENTITY,
            "no-such-notice",
            "This names no notice",
            "Give ids as the list of notices that were given up has them, at most a thousand; or none, for all.",
        )
        .with("pointer", format!("/ids/{place}")),
        Failure::KeyReused => Problem::new(
            S::CONFLICT,
            "idempotency-key-reused",
            "This Idempotency-Key has posted something else",
            "It belongs to another sheet, which was accepted. Use a new one for a new sheet.",
        ),
        Failure::Stale { head, news } => Problem::new(
            S::PRECONDITION_FAILED,
            "stale",
            "Somebody was first",
            stale_words(&news),
        )
        .with("head", head)
        .with("news", news),
        Failure::Busy => Problem::ours(S::SERVICE_UNAVAILABLE, "busy", "Too many at once", "overtaken every time".to_owned()),
        Failure::Store(error @ StoreError::Full(_)) => {
            Problem::ours(S::INSUFFICIENT_STORAGE, "no-room", "There is no room left to keep this", error.to_string())
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
            Problem::ours(S::INTERNAL_SERVER_ERROR, "broken", "The server is at fault", error.to_string())
        }
        Failure::Store(error @ (StoreError::ReadOnly(_) | StoreError::Unsynced(_) | StoreError::Database(_) | StoreError::Files(_))) => {
            Problem::ours(S::SERVICE_UNAVAILABLE, "not-ready", "The games cannot be reached", error.to_string())
        }
        Failure::Unwritable(why) | Failure::Panicked(why) => {
            Problem::ours(S::INTERNAL_SERVER_ERROR, "broken", "The server is at fault", why)
        }
    }
}

fn stale_words(news: &[crate::wire::NewsItem]) -> String {
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
