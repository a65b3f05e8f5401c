//! Turn sheets: trying them and posting them.

use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::service::{Caller, Credentials, Posted, Submission};
use crate::store::GameId;
use fieldpost_wire as wire;

use super::app::{App, etag};
use super::body::{SHEET, SentJson, SheetBody};
use super::error::{ApiError, ApiResult, JsonError};
use super::extract::{GamePath, IdempotencyHeader, IfMatch, InQuery, bytes32};
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

async fn checked(
    app: &App,
    caller: &Caller,
    game: GameId,
    sheet: SheetBody<wire::CheckSheet>,
) -> ApiResult<wire::Checked> {
    let checked = match sheet {
        SheetBody::Data(requested) => app.service.check(caller, game, requested.sheet).await?,
        SheetBody::Text(text) => app.service.check_typed(caller, game, text).await?,
    };
    Ok(checked)
}

async fn check(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    sheet: SheetBody<wire::CheckSheet>,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let checked = checked(&app, &caller, game, sheet).await?;
    Ok((etag(&checked.head.hash), Json(checked)).into_response())
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
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let checked = checked(&app, &caller, game, sheet).await?;
    let svg = app
        .service
        .drawn(&caller, game, checked, drawing.order)
        .await?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

async fn check_in_words(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    sheet: SheetBody<wire::CheckSheet>,
) -> ApiResult<String> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(checked(&app, &caller, game, sheet).await?.words)
}

async fn submit(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    IdempotencyHeader(idempotency_key): IdempotencyHeader,
    IfMatch(written_for): IfMatch,
    SentJson { value, text }: SentJson<wire::PostSheet, SHEET>,
) -> ApiResult {
    let submission = Submission {
        game,
        number: bytes32(&value.number).ok_or_else(no_number)?,
        sheet: value.sheet,
        body: text,
        written_for,
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
