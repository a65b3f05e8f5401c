//! Standing instructions of the caller's own side.

use axum::Json;
use axum::extract::State;
use fieldpost_rules::orders::Instructions;

use crate::office::GivenInstructions;
use fieldpost_wire as wire;

use super::asked::{By, InGame};
use super::body::{SHEET, StrictJson};
use super::problem::Answer;
use super::routes::{Operation, Routes, json};
use super::{App, finish};

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
            .answers(200, "They stand", &[own]),
            give,
        )
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
