//! Games: opening, listing, closing to spectators; the scenarios to open them from.

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;

use crate::office::{Files, shipped_scenarios};
use crate::wire;

use super::asked::{By, InGame, With};
use super::body::{FILES, SMALL, StrictJson};
use super::problem::{Answer, Rejection};
use super::{App, etag, finish};

/// The most games in one page.
const PAGE: u32 = 100;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/v1/scenarios", get(scenarios))
        .route("/v1/games", get(list).post(open))
        .route("/v1/games/{game}", get(show).patch(change))
        .route("/v1/games/{game}/invitations", post(invite))
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
        app.office
            .open_game(&caller, files, asked.open_to_all)
            .await
    })
    .await?;
    Ok((StatusCode::CREATED, Json(opened)))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Page {
    after: Option<String>,
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
    StrictJson(asked): StrictJson<wire::OpenToAll, SMALL>,
) -> Answer<Json<wire::Card>> {
    let change = async move {
        app.office
            .set_open_to_all(&caller, game, asked.open_to_all)
            .await
    };
    Ok(Json(finish(change).await?))
}

async fn invite(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    StrictJson(asked): StrictJson<wire::Invite, SMALL>,
) -> Answer<(StatusCode, Json<wire::GivenInvitation>)> {
    let given = finish(async move { app.office.invite(&caller, game, &asked.side).await }).await?;
    Ok((StatusCode::CREATED, Json(given)))
}
