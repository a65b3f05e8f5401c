//! Turn sheets: trying them and posting them.

use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use fieldpost_rules::orders::{SheetBounds, TurnSheet};

use crate::service::{Credentials, Posted, ServiceError, Submission, Tested, Tried, Wanted};
use crate::store::GameId;
use fieldpost_wire as wire;

use super::app::{App, etag};
use super::body::{SHEET, SheetBody};
use super::error::{ApiError, ApiResult, JsonError};
use super::extract::{GamePath, IdempotencyHeader, IfMatch, InQuery, bytes32};
use super::posting::{POSTING_SIGNATURE, PostedJson};
use super::routes::{Content, IDEMPOTENCY_KEY, IF_MATCH, Operation, Routes, json, problem, text};

pub(super) fn routes() -> Routes {
    let trying = |path, id, about, answer: Content| {
        Operation::post(path, id, about)
            .reading()
            .takes(json::<wire::CheckSheet>())
            .takes(text("text/plain"))
            .answers(200, "What was measured, whatever the verdict", &[answer])
    };
    Routes::default()
        .with(
            trying(
                "/v1/games/{game}/check",
                "check_sheet",
                "Tries a sheet without posting it.",
                json::<wire::Checked>(),
            ),
            check,
        )
        .with(
            trying(
                "/v1/games/{game}/check.svg",
                "draw_check",
                "The table with one order's verdict drawn on it.",
                text("image/svg+xml"),
            )
            .query::<Drawing>(),
            check_drawn,
        )
        .with(
            trying(
                "/v1/games/{game}/check.txt",
                "write_check",
                "The verdicts with their ledgers in words.",
                text("text/plain"),
            ),
            check_in_words,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/sheets",
                "post_sheet",
                "Posts a sheet, all or nothing, once: the seat's whose player turn it is.",
            )
            .header(IF_MATCH)
            .header(IDEMPOTENCY_KEY)
            .header(POSTING_SIGNATURE)
            .takes(json::<wire::PostSheet>())
            .answers(201, "Accepted, and durable", &[json::<wire::Accepted>()])
            .answers(
                422,
                "Some order is refused and nothing happened",
                &[json::<wire::Refused>(), problem()],
            ),
            submit,
        )
}

/// Tries the sheet of a request; what is answered, and the head it was measured at.
async fn tried(
    app: &App,
    credentials: &Credentials,
    game: GameId,
    sheet: SheetBody<wire::CheckSheet>,
    wanted: Wanted,
) -> ApiResult<Tested> {
    let caller = app.service.authenticate_check(credentials, game).await?;
    let sheet = match sheet {
        SheetBody::Data(requested) => Tried::Data(of_any_battle(requested.sheet)?),
        SheetBody::Text(text) => Tried::Text(text),
    };
    Ok(app.service.check(&caller, game, sheet, wanted).await?)
}

/// Refuses a sheet that holds more than one of any battle does, before anything is looked up for it.
pub(super) fn of_any_battle(sheet: TurnSheet) -> ApiResult<TurnSheet> {
    let fits = SheetBounds::ANY.check(&sheet);
    fits.map_err(ServiceError::SheetTooLong)?;
    Ok(sheet)
}

async fn check(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    sheet: SheetBody<wire::CheckSheet>,
) -> ApiResult {
    let tested = tried(&app, &credentials, game, sheet, Wanted::Data).await?;
    let json = [(header::CONTENT_TYPE, "application/json")];
    Ok((etag(&hex::encode(tested.head.hash)), json, tested.body).into_response())
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Drawing {
    /// Which of the sheet's orders, counted from 0.
    order: usize,
}

async fn check_drawn(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    InQuery(drawing): InQuery<Drawing>,
    sheet: SheetBody<wire::CheckSheet>,
) -> ApiResult {
    let wanted = Wanted::Drawing {
        order: drawing.order,
    };
    let svg = tried(&app, &credentials, game, sheet, wanted).await?.body;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

async fn check_in_words(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    sheet: SheetBody<wire::CheckSheet>,
) -> ApiResult {
    let words = tried(&app, &credentials, game, sheet, Wanted::Words).await?;
    let text = [(header::CONTENT_TYPE, "text/plain; charset=utf-8")];
    Ok((text, words.body).into_response())
}

async fn submit(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    IdempotencyHeader(idempotency_key): IdempotencyHeader,
    IfMatch(_): IfMatch,
    PostedJson(requested, sent): PostedJson<wire::PostSheet, SHEET>,
) -> ApiResult {
    let submission = Submission {
        game,
        number: bytes32(&requested.number).ok_or_else(no_number)?,
        sheet: of_any_battle(requested.sheet)?,
        sent,
        idempotency_key,
    };
    let posted = app.service.post(&credentials, &submission).await?;
    Ok(match posted {
        Posted::Accepted { body, again } => {
            let replayed = again.then_some([("idempotency-replayed", "true")]);
            let json = [(header::CONTENT_TYPE, "application/json")];
            (StatusCode::CREATED, json, replayed, body).into_response()
        }
        Posted::Refused(refused) => {
            let tag = etag(&refused.head.hash);
            (StatusCode::UNPROCESSABLE_ENTITY, tag, Json(refused)).into_response()
        }
    })
}

fn no_number() -> ApiError {
    ApiError::BadJson(JsonError {
        detail: "The number is 32 bytes in hexadecimal: 64 digits.".to_owned(),
        pointer: Some("/number".to_owned()),
        ..JsonError::default()
    })
}
