//! The problem document (RFC 9457) that each error is answered with: one match for the requests that cannot be read, one
//! for those that the service did not do. Neither has a catch-all arm, so that a new error must be given its answer.

use std::time::Duration;

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use fieldpost_wire::{Problem, ProblemCode};
use serde::Serialize;
use serde_json::Value;

use crate::measuring::MeasuringError;
use crate::service::ServiceError;
use crate::store::StoreError;

use super::error::{ApiError, Counted};

/// What the middleware must know of an error's answer; travels with the response and is not sent.
#[derive(Debug, Clone, Default)]
pub(super) struct ErrorNotes {
    /// What must be logged and is not shown.
    pub(super) log: Option<String>,
    /// Whether a wrong key or invitation was tried.
    pub(super) is_guess: bool,
    /// What there was too much of, as metrics count it.
    pub(super) over_limit: Option<&'static str>,
}

/// A problem document in the making.
struct Answer {
    code: ProblemCode,
    problem: Problem,
    notes: ErrorNotes,
    retry_after_s: Option<u64>,
}

impl Answer {
    fn new(code: ProblemCode, title: &str, detail: impl ToString) -> Self {
        Self {
            code,
            problem: Problem::new(code, title, detail.to_string()),
            notes: ErrorNotes::default(),
            retry_after_s: None,
        }
    }

    /// Adds a member; one that is null is left out.
    fn with(mut self, name: &str, value: impl Serialize) -> Self {
        let value = serde_json::to_value(value).unwrap_or(Value::Null);
        if !value.is_null() {
            self.problem.more.insert(name.to_owned(), value);
        }
        self
    }

    /// The server's own fault: what it was is logged and not shown.
    fn own_fault(code: ProblemCode, title: &str, error: impl ToString) -> Self {
        let detail = "The server could not do this. Nothing was changed unless a later reading shows it; it is safe to send the same again. The host finds the cause in the log under the request's id.";
        let is_passing = code.status() == StatusCode::SERVICE_UNAVAILABLE.as_u16();
        let mut answer = Self::new(code, title, detail);
        answer.notes.log = Some(error.to_string());
        answer.retry_after_s = is_passing.then_some(2);
        answer
    }

    /// Says how many seconds to wait.
    fn with_wait(mut self, wait: Duration) -> Self {
        let seconds = wait.as_secs() + 1;
        self.retry_after_s = Some(seconds);
        self.with("retry_after_s", seconds)
    }

    fn guess(mut self) -> Self {
        self.notes.is_guess = true;
        self
    }

    fn over_limit(mut self, of: &'static str) -> Self {
        self.notes.over_limit = Some(of);
        self
    }
}

impl IntoResponse for ApiError {
    fn into_response(self) -> Response {
        let answer = answer_to(self);
        let status =
            StatusCode::from_u16(answer.code.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(answer.problem)).into_response();
        let headers = response.headers_mut();
        headers.insert(
            header::CONTENT_TYPE,
            HeaderValue::from_static("application/problem+json"),
        );
        if status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        if let Some(seconds) = answer.retry_after_s {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        response.extensions_mut().insert(answer.notes);
        response
    }
}

fn answer_to(error: ApiError) -> Answer {
    use ProblemCode as C;
    let detail = error.to_string();
    match error {
        ApiError::Service(error) => answer_to_service(error),
        ApiError::BadRequest(_) => Answer::new(C::BadRequest, CANNOT_BE_READ, detail),
        ApiError::BadJson(fault) => Answer::new(C::BadJson, "This body cannot be read", detail)
            .with("pointer", fault.pointer)
            .with("line", fault.line)
            .with("column", fault.column),
        ApiError::WrongMediaType(_) => {
            let title = "This body has the wrong media type";
            Answer::new(C::WrongMediaType, title, detail)
        }
        ApiError::TooLarge { limit_bytes } => {
            Answer::new(C::TooLarge, "This body is too long", detail)
                .with("limit_bytes", limit_bytes)
        }
        ApiError::TooSlow => Answer::new(C::TooSlow, "The body did not arrive in time", detail),
        ApiError::TooLong => Answer::own_fault(C::Busy, "The answer was not ready in time", detail),
        ApiError::TooMany { wait, of } => Answer::new(C::TooMany, TOO_MANY, detail)
            .with_wait(wait)
            .over_limit(match of {
                Counted::Requests => "address",
                Counted::Guesses => "guesses",
            }),
        ApiError::TooMuchHeld => Answer::new(C::Busy, "Too much is on its way", detail)
            .with_wait(Duration::from_secs(4))
            .over_limit("held"),
        ApiError::TooManyWatchers => {
            Answer::new(C::Busy, "Too many are watching", detail).with_wait(Duration::from_secs(29))
        }
        ApiError::NoIdempotencyKey => {
            let title = "This needs an Idempotency-Key";
            Answer::new(C::NoIdempotencyKey, title, detail)
        }
        ApiError::NoIfMatch => Answer::new(C::NoIfMatch, "This needs If-Match", detail),
        ApiError::WrongOrigin(_) => {
            let title = "This does not come from this server's own page";
            Answer::new(C::WrongOrigin, title, detail)
        }
        ApiError::NoPublicAddress => Answer::new(
            C::NoPublicAddress,
            "This server has no address for its page",
            detail,
        ),
        ApiError::NoSuchPlace => Answer::new(C::NoSuchPlace, "There is nothing here", detail),
        ApiError::NoSuchFile => Answer::new(C::NoSuchFile, "There is no such file", detail),
        ApiError::MethodNotAllowed => {
            Answer::new(C::MethodNotAllowed, "This path has no such method", detail)
        }
        ApiError::Panicked(why) => Answer::own_fault(C::Broken, AT_FAULT, why),
    }
}

const CANNOT_BE_READ: &str = "This request cannot be read";
const TOO_MANY: &str = "Too many in a minute";
const AT_FAULT: &str = "The server is at fault";

fn answer_to_service(error: ServiceError) -> Answer {
    use ProblemCode as C;
    let detail = error.to_string();
    match error {
        ServiceError::NoKey => {
            let detail = "Send the key of a seat or the organiser's as Authorization: Bearer KEY.";
            Answer::new(C::NoKey, "This needs a key", detail)
        }
        ServiceError::WrongKey => {
            Answer::new(C::WrongKey, "Unknown or revoked key", detail).guess()
        }
        ServiceError::KeyEnded => Answer::new(C::WrongKey, "This key has ended", detail),
        ServiceError::WrongSession => {
            Answer::new(C::WrongSession, "This session has ended", detail)
        }
        ServiceError::LinkExpired => Answer::new(C::LinkExpired, "This link works no more", detail)
            .with("pointer", "/link")
            .guess(),
        ServiceError::NotSigned => Answer::new(C::NotSigned, "This must be signed", detail),
        ServiceError::BadSignature { .. } => {
            Answer::new(C::BadSignature, "This signature does not count", detail)
        }
        ServiceError::TooManyRequests { wait } => Answer::new(C::TooMany, TOO_MANY, detail)
            .with_wait(wait)
            .over_limit("key"),
        ServiceError::TooManyChecks { wait } => Answer::new(C::TooMany, TOO_MANY, detail)
            .with_wait(wait)
            .over_limit("checks"),
        ServiceError::Measuring(error) => answer_to_measuring(&error),
        ServiceError::SheetTooLong(excesses) => {
            Answer::new(C::SheetTooLong, "The sheet holds too much", detail)
                .with("faults", excesses)
        }
        ServiceError::VerdictTooLong { most, .. } => {
            Answer::new(C::SheetTooLong, "The sheet says too much", detail)
                .with("limit_bytes", most)
        }
        ServiceError::TooManyChanges(_) => {
            let title = "Too many changes in one player turn";
            Answer::new(C::TooManyChanges, title, detail)
        }
        ServiceError::NotAllowed(_) => {
            Answer::new(C::NotAllowed, "This key does not open this", detail)
        }
        ServiceError::NotYourSide { .. } => {
            Answer::new(C::NotYourSide, "This sheet is another side's", detail)
        }
        ServiceError::NoSuchGame => Answer::new(C::NoSuchGame, "There is no such game", detail),
        ServiceError::NoSuchEvent { .. } => {
            Answer::new(C::NoSuchEvent, "There is no such event", detail)
        }
        ServiceError::NoSuchOrder(_) => {
            Answer::new(C::BadRequest, "This order cannot be drawn", detail)
        }
        ServiceError::NoSuchScenario { .. } => {
            Answer::new(C::NoSuchScenario, "There is no such scenario", detail)
                .with("pointer", "/shipped")
        }
        ServiceError::NoSuchSide { .. } => {
            Answer::new(C::NoSuchSide, "There is no such side", detail).with("pointer", "/side")
        }
        ServiceError::FaultyFiles(faults) => {
            let left_out = (faults.left_out > 0).then_some(faults.left_out);
            let title = "The ruleset or the scenario has faults";
            Answer::new(C::FaultyFiles, title, detail)
                .with("faults", &faults.faults)
                .with("faults_left_out", left_out)
        }
        ServiceError::UnreadableSheet(faults) => {
            Answer::new(C::UnreadableSheet, "The sheet cannot be read", detail)
                .with("faults", &faults)
        }
        ServiceError::BadName { pointer, .. } => {
            Answer::new(C::BadName, "This name cannot be taken", detail).with("pointer", pointer)
        }
        ServiceError::DelayTooLong { .. } => {
            Answer::new(C::BadRequest, "Spectators would wait too long", detail)
                .with("pointer", "/spectator_delay_minutes")
        }
        ServiceError::Unclear(_) => Answer::new(C::BadRequest, CANNOT_BE_READ, detail),
        ServiceError::NoSuchMember => {
            Answer::new(C::NoSuchMember, "There is no such member", detail)
        }
        ServiceError::NoSuchSeat => Answer::new(C::NoSuchSeat, "There is no such seat", detail),
        ServiceError::LastOrganiser => {
            Answer::new(C::LastOrganiser, "Nobody would be left to organise", detail)
        }
        ServiceError::BadInstructions { unit, .. } => {
            let title = "These instructions cannot be taken";
            Answer::new(C::BadInstructions, title, detail)
                .with("pointer", format!("/units/{}", pointer_part(&unit)))
        }
        ServiceError::WrongInvitation => {
            Answer::new(C::WrongInvitation, "Unknown or void invitation", detail)
                .with("pointer", "/invitation")
                .guess()
        }
        ServiceError::InvitationUsed => {
            Answer::new(C::InvitationUsed, "This invitation has been used", detail)
        }
        ServiceError::InvitationExpired { .. } => {
            Answer::new(C::InvitationExpired, "This invitation has expired", detail)
        }
        ServiceError::SeatTaken { .. } => Answer::new(C::SeatTaken, "This seat is taken", detail),
        ServiceError::GameOver => Answer::new(C::GameOver, "The game is over", detail),
        ServiceError::NoClock => Answer::new(C::NoClock, "There is no clock", detail),
        ServiceError::NotNow(_) => Answer::new(C::NotNow, "This cannot be done now", detail),
        ServiceError::Unfit(_) => Answer::new(C::Unfit, "This cannot be taken", detail),
        ServiceError::BadAddress { channel, .. } => {
            Answer::new(C::BadAddress, "Notices cannot go there", detail)
                .with("pointer", format!("/{channel}"))
        }
        ServiceError::NotSentHere { channel, .. } => {
            Answer::new(C::NotSentHere, "This server sends no such notices", detail)
                .with("pointer", format!("/{channel}"))
        }
        ServiceError::TooManyAddresses(_) => {
            let title = "Too many new addresses in a day";
            Answer::new(C::TooManyAddresses, title, detail)
        }
        ServiceError::NoSuchNotice(place) => {
            Answer::new(C::NoSuchNotice, "This names no notice", detail)
                .with("pointer", format!("/ids/{place}"))
        }
        ServiceError::KeyReused => {
            let title = "This Idempotency-Key has posted something else";
            Answer::new(C::IdempotencyKeyReused, title, detail)
        }
        ServiceError::Stale { head, news } => Answer::new(C::Stale, "Somebody was first", detail)
            .with("head", head)
            .with("news", news),
        ServiceError::Busy => Answer::own_fault(C::Busy, "Too many at once", detail),
        ServiceError::Store(error) => answer_to_store(&error),
        ServiceError::Unwritable(_) | ServiceError::Panicked(_) => {
            Answer::own_fault(C::Broken, AT_FAULT, detail)
        }
    }
}

fn answer_to_measuring(error: &MeasuringError) -> Answer {
    use ProblemCode as C;
    let soon = Duration::from_secs(1);
    match error {
        MeasuringError::OwnQueueFull => {
            let title = "Too many questions at once";
            Answer::new(C::TooMany, title, error)
                .with_wait(soon)
                .over_limit("waiting")
        }
        MeasuringError::QueueFull => Answer::own_fault(C::Busy, "Too much is asked at once", error)
            .with_wait(soon)
            .over_limit("measuring"),
        MeasuringError::Ended => Answer::own_fault(C::Busy, "It was not measured in time", error),
        MeasuringError::Panicked(_) => Answer::own_fault(C::Broken, AT_FAULT, error),
    }
}

fn answer_to_store(error: &StoreError) -> Answer {
    use ProblemCode as C;
    let (code, title) = match error {
        StoreError::Full(_) => (C::NoRoom, "There is no room left to keep this"),
        StoreError::Overtaken
        | StoreError::LastOrganiser
        | StoreError::KeyEnded
        | StoreError::Damaged(_)
        | StoreError::InUse(_)
        | StoreError::NotEmpty(_)
        | StoreError::Migration(_)
        | StoreError::NotRun
        | StoreError::Panicked(_) => (C::Broken, AT_FAULT),
        StoreError::ReadOnly(_)
        | StoreError::Unsynced(_)
        | StoreError::Database(_)
        | StoreError::Files(_) => (C::NotReady, "The games cannot be reached"),
    };
    Answer::own_fault(code, title, error)
}

/// A key as a part of a JSON pointer (RFC 6901, section 3).
pub(super) fn pointer_part(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}
