//! Standing instructions of the caller's own side.

use axum::Json;
use axum::extract::State;
use fieldpost_rules::orders::Instructions;

use crate::service::Credentials;
use crate::service::GivenInstructions;
use fieldpost_wire as wire;

use super::app::App;
use super::body::SHEET;
use super::error::ApiResult;
use super::extract::GamePath;
use super::posting::{MAY_MATCH, POSTING_SIGNATURE, PostedJson};
use super::routes::{Operation, Routes, json};

pub(super) fn routes() -> Routes {
    let own = json::<wire::OwnInstructions>();
    Routes::default()
        .with(
            Operation::get(
                "/v1/games/{game}/instructions",
                "show_instructions",
                "The standing instructions of the caller's own side.",
            )
            .answers(200, "The instructions", &[own]),
            show,
        )
        .with(
            Operation::put(
                "/v1/games/{game}/instructions",
                "give_instructions",
                "Lays down standing instructions for the caller's own side.",
            )
            .takes(json::<Instructions>())
            .header(MAY_MATCH)
            .header(POSTING_SIGNATURE)
            .answers(200, "They stand", &[own]),
            give,
        )
}

async fn show(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
) -> ApiResult<Json<wire::OwnInstructions>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.instructions(&caller, game).await?))
}

async fn give(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    PostedJson(instructions, sent): PostedJson<Instructions, SHEET>,
) -> ApiResult<Json<wire::OwnInstructions>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let given = GivenInstructions {
        game,
        instructions,
        sent,
    };
    let own = app.service.instruct(&caller, &given).await?;
    Ok(Json(own))
}
