//! Games: opening, listing, closing to spectators; the scenarios to open them from.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::office::{Files, Spectators, shipped_scenarios};
use fieldpost_wire as wire;

use super::asked::{By, InGame, With};
use super::body::{FILES, SMALL, StrictJson};
use super::problem::{Answer, Rejection};
use super::routes::{Asks, Operation, Routes, json};
use super::{App, etag, finish};

/// The most games in one page.
const PAGE: u32 = 100;

pub(super) fn routes() -> Routes {
    let game = json::<wire::GameSummary>();
    Routes::default()
        .with(
            Operation::get(
                "/v1/scenarios",
                "list_scenarios",
                "The scenarios shipped with the server.",
            )
            .asks(Asks::NoKey)
            .answers(200, "The scenarios", &[json::<wire::Scenarios>()]),
            scenarios,
        )
        .with(
            Operation::get(
                "/v1/games",
                "list_games",
                "The games that the caller may read, oldest first.",
            )
            .asks(Asks::ReadersKey)
            .query::<Page>()
            .answers(200, "Some games", &[json::<wire::GamesPage>()]),
            list,
        )
        .with(
            Operation::post("/v1/games", "open_game", "Opens a game: the organiser's.")
                .takes(json::<wire::OpenGame>())
                .answers(201, "It is open", &[json::<wire::OpenedGame>()]),
            open,
        )
        .with(
            Operation::get("/v1/games/{game}", "show_game", "A game in short.")
                .asks(Asks::ReadersKey)
                .answers(200, "The game", &[game]),
            show,
        )
        .with(
            Operation::patch(
                "/v1/games/{game}",
                "change_game",
                "Opens a game to spectators or closes it, and sets after how long they see what happened: the organiser's.",
            )
            .takes(json::<wire::ForSpectators>())
            .answers(200, "The game", &[game]),
            change,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/invitations",
                "invite",
                "A new invitation to a seat that is free; an earlier unused one is void: the organiser's.",
            )
            .takes(json::<wire::Invite>())
            .answers(201, "The invitation, shown this once", &[json::<wire::GivenInvitation>()]),
            invite,
        )
}

async fn scenarios() -> Json<wire::Scenarios> {
    Json(shipped_scenarios())
}

async fn open(
    State(app): State<App>,
    By(caller): By,
    StrictJson(asked): StrictJson<wire::OpenGame, FILES>,
) -> Answer<impl IntoResponse> {
    let files = match (asked.shipped, asked.files) {
        (Some(key), None) => Files::Shipped(key),
        (None, Some(files)) => Files::Own(files),
        _ => {
            return Err(Rejection::BadRequest(
                "Give either \"shipped\" or \"files\".".to_owned(),
            ));
        }
    };
    let opened = finish(async move {
        let spectators = Spectators {
            open_to_all: asked.open_to_all,
            delay_minutes: asked.spectator_delay_minutes,
        };
        app.office
            .open_game(&caller, files, spectators, asked.clock)
            .await
    })
    .await?;
    Ok((StatusCode::CREATED, Json(opened)))
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Page {
    /// Id of the last game of the page before.
    after: Option<String>,
    /// The most games wanted; 100 is the most there are.
    limit: Option<u32>,
}

async fn list(
    State(app): State<App>,
    By(caller): By,
    With(page): With<Page>,
) -> Answer<Json<wire::GamesPage>> {
    let after = page.after.as_deref().map(str::parse).transpose();
    let after =
        after.map_err(|_| Rejection::BadRequest("after must be the id of a game.".to_owned()))?;
    let limit = page.limit.unwrap_or(PAGE).clamp(1, PAGE);
    Ok(Json(app.office.games(&caller, after, limit).await?))
}

async fn show(State(app): State<App>, By(caller): By, InGame(game): InGame) -> Answer {
    let card = app.office.game(&caller, game).await?;
    Ok((etag(&card.head.hash), Json(card)).into_response())
}

async fn change(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    StrictJson(asked): StrictJson<wire::ForSpectators, SMALL>,
) -> Answer<Json<wire::GameSummary>> {
    let change = async move { app.office.set_for_spectators(&caller, game, &asked).await };
    Ok(Json(finish(change).await?))
}

async fn invite(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    StrictJson(asked): StrictJson<wire::Invite, SMALL>,
) -> Answer<(StatusCode, Json<wire::GivenInvitation>)> {
    let given = finish(async move { app.office.invite(&caller, game, &asked).await }).await?;
    Ok((StatusCode::CREATED, Json(given)))
}
