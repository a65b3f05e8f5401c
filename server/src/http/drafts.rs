//! Questions about a draft and about the table, asked while somebody writes a turn by hand.

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use fieldpost_wire as wire;

use crate::service::{Credentials, Tested};

use super::app::{App, etag};
use super::body::{SHEET, StrictJson};
use super::error::ApiResult;
use super::extract::GamePath;
use super::rate_limit::ClientAddress;
use super::routes::{KeyPolicy, Operation, Routes, json};
use super::sheets::of_any_battle;

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::post(
                "/v1/games/{game}/order",
                "try_order",
                "Measures one order of a draft after those before it, without words or pictures.",
            )
            .reading()
            .takes(json::<wire::TryOrder>())
            .answers(200, "The verdict, whatever it is", &[json::<wire::TriedOrder>()]),
            order,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/measure",
                "measure_units",
                "What a tape would say between two units, as they stand or after a draft's moves.",
            )
            .key_policy(KeyPolicy::ReadersKey)
            .reading()
            .takes(json::<wire::MeasureUnits>())
            .answers(200, "What was measured", &[json::<wire::Measured>()]),
            measure,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/reach",
                "ask_reach",
                "The ground that a unit can reach in one turn, from where it stands or a draft leaves it.",
            )
            .key_policy(KeyPolicy::ReadersKey)
            .reading()
            .takes(json::<wire::AskReach>())
            .answers(200, "The ground", &[json::<wire::InReach>()]),
            reach,
        )
        .with(
            Operation::get(
                "/v1/games/{game}/score",
                "show_score",
                "The points of both sides as they would be counted now.",
            )
            .key_policy(KeyPolicy::ReadersKey)
            .answers(200, "The points", &[json::<wire::Scores>()]),
            score,
        )
}

fn answered(tested: Tested) -> axum::response::Response {
    let json = [(header::CONTENT_TYPE, "application/json")];
    (etag(&hex::encode(tested.head.hash)), json, tested.body).into_response()
}

async fn order(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::TryOrder, SHEET>,
) -> ApiResult {
    let caller = app.service.authenticate_check(&credentials, game).await?;
    let requested = wire::TryOrder {
        sheet: of_any_battle(requested.sheet)?,
        ..requested
    };
    let tested = app.service.try_order(&caller, game, requested).await?;
    Ok(answered(tested))
}

async fn measure(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::MeasureUnits, SHEET>,
) -> ApiResult {
    let caller = app.service.authenticate_check(&credentials, game).await?;
    let sheet = requested.sheet.map(of_any_battle).transpose()?;
    let requested = wire::MeasureUnits { sheet, ..requested };
    let asker = caller.asker(from.ip());
    let tested = app.service.measure_units(&caller, asker, game, requested);
    Ok(answered(tested.await?))
}

async fn reach(
    State(app): State<App>,
    from: ClientAddress,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::AskReach, SHEET>,
) -> ApiResult {
    let caller = app.service.authenticate_check(&credentials, game).await?;
    let sheet = requested.sheet.map(of_any_battle).transpose()?;
    let requested = wire::AskReach { sheet, ..requested };
    let asker = caller.asker(from.ip());
    let tested = app
        .service
        .reach_of(&caller, asker, game, requested)
        .await?;
    Ok(answered(tested))
}

async fn score(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
) -> ApiResult<Json<wire::Scores>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.score(&caller, game).await?))
}
