//! Standing instructions of the caller's own side.

use axum::extract::State;
use axum::routing::get;
use axum::{Json, Router};
use fieldpost_rules::orders::Instructions;

use crate::office::GivenInstructions;
use crate::wire;

use super::asked::{By, InGame};
use super::body::{SHEET, StrictJson};
use super::problem::Answer;
use super::{App, finish};

pub(super) fn router() -> Router<App> {
    Router::new().route("/v1/games/{game}/instructions", get(show).put(give))
}

async fn show(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
) -> Answer<Json<wire::OwnInstructions>> {
    Ok(Json(app.office.instructions(&caller, game).await?))
}

async fn give(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    StrictJson(instructions): StrictJson<Instructions, SHEET>,
) -> Answer<Json<wire::OwnInstructions>> {
    let given = GivenInstructions { game, instructions };
    let own = finish(async move { app.office.instruct(&caller, &given).await }).await?;
    Ok(Json(own))
}
