//! Games: opening, listing, closing to spectators; the scenarios to open them from.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::service::{Credentials, Files, Terms, shipped_scenarios};
use fieldpost_wire as wire;

use super::app::{App, etag};
use super::body::{FILES, SMALL, StrictJson};
use super::error::{ApiError, ApiResult};
use super::extract::{GamePath, InQuery};
use super::routes::{KeyPolicy, Operation, Routes, json};

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
            .key_policy(KeyPolicy::NoKey)
            .answers(200, "The scenarios", &[json::<wire::Scenarios>()]),
            scenarios,
        )
        .with(
            Operation::get(
                "/v1/games",
                "list_games",
                "The games that the caller may read, oldest first.",
            )
            .key_policy(KeyPolicy::ReadersKey)
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
                .key_policy(KeyPolicy::ReadersKey)
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
    credentials: Credentials,
    StrictJson(requested): StrictJson<wire::OpenGame, FILES>,
) -> ApiResult<impl IntoResponse> {
    let caller = app.service.authenticate(&credentials, None).await?;
    let files = match (requested.shipped, requested.files) {
        (Some(key), None) => Files::Shipped(key),
        (None, Some(files)) => Files::Own(files),
        _ => {
            return Err(ApiError::BadRequest(
                "Give either \"shipped\" or \"files\".".to_owned(),
            ));
        }
    };
    let spectators = Terms {
        open_to_all: requested.open_to_all,
        delay_minutes: requested.spectator_delay_minutes,
        signed: requested.signed,
    };
    let mut opened = app
        .service
        .open_game(&caller, files, spectators, requested.clock)
        .await?;
    for given in &mut opened.invitations {
        *given = app.page.with_link(&credentials, given.clone());
    }
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
    credentials: Credentials,
    InQuery(page): InQuery<Page>,
) -> ApiResult<Json<wire::GamesPage>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    let after = page.after.as_deref().map(str::parse).transpose();
    let after =
        after.map_err(|_| ApiError::BadRequest("after must be the id of a game.".to_owned()))?;
    let limit = page.limit.unwrap_or(PAGE).clamp(1, PAGE);
    Ok(Json(app.service.games(&caller, after, limit).await?))
}

async fn show(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
) -> ApiResult {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let summary = app.service.game(&caller, game).await?;
    Ok((etag(&summary.head.hash), Json(summary)).into_response())
}

async fn change(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::ForSpectators, SMALL>,
) -> ApiResult<Json<wire::GameSummary>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service
            .set_for_spectators(&caller, game, &requested)
            .await?,
    ))
}

async fn invite(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::Invite, SMALL>,
) -> ApiResult<(StatusCode, Json<wire::GivenInvitation>)> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let given = app.service.invite(&caller, game, &requested).await?;
    let given = app.page.with_link(&credentials, given);
    Ok((StatusCode::CREATED, Json(given)))
}
