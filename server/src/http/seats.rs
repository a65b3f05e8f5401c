//! Seats: taking one with an invitation, asking whose key one holds.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;

use serde::Deserialize;

use crate::service::{Credentials, ServiceError, Taking};
use fieldpost_wire as wire;

use super::app::App;
use super::body::{SMALL, StrictJson};
use super::error::ApiResult;
use super::extract::{GamePath, IdempotencyHeader, InPath};
use super::rate_limit::MayGuess;
use super::routes::{HeaderDoc, IDEMPOTENCY_KEY, KeyPolicy, Operation, Routes, json};

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::post(
                "/v1/seats",
                "take_seat",
                "Takes a seat with an invitation; with the same Idempotency-Key the same answer again.",
            )
            .key_policy(KeyPolicy::MaybeKey)
            .header(HeaderDoc {
                required: false,
                ..IDEMPOTENCY_KEY
            })
            .takes(json::<wire::TakeSeat>())
            .answers(201, "The seat and its key, shown this once", &[json::<wire::TakenSeat>()]),
            take,
        )
        .with(
            Operation::get("/v1/seat", "show_own_seat", "Whose key this is.")
                .answers(200, "The holder", &[json::<wire::MySeat>()]),
            mine,
        )
        .with(
            Operation::get(
                "/v1/games/{game}/seats",
                "list_seats",
                "The seats of a game and who holds them.",
            )
            .key_policy(KeyPolicy::ReadersKey)
            .answers(200, "The seats", &[json::<wire::Seating>()]),
            list,
        )
        .with(
            Operation::post(
                "/v1/games/{game}/seats",
                "add_seat",
                "Adds a seat with an invitation to it: another player's of a side, an umpire's, a spectator's: the organiser's.",
            )
            .takes(json::<wire::AddSeat>())
            .answers(201, "The invitation, shown this once", &[json::<wire::GivenInvitation>()]),
            add,
        )
        .with(
            Operation::delete(
                "/v1/games/{game}/seats/{seat}/player",
                "free_seat",
                "Frees a seat: its keys open nothing from then on, and another can be invited to it: the organiser's.",
            )
            .answers(200, "The seat", &[json::<wire::SeatSummary>()]),
            free,
        )
}

async fn take(
    State(app): State<App>,
    _: MayGuess,
    credentials: Credentials,
    once: Option<IdempotencyHeader>,
    StrictJson(requested): StrictJson<wire::TakeSeat, SMALL>,
) -> ApiResult<impl IntoResponse> {
    let caller = app.service.authenticate(&credentials, None).await?;
    let taking = Taking {
        invitation: requested
            .invitation
            .parse()
            .map_err(|_| ServiceError::WrongInvitation)?,
        player: requested.player,
        zone: requested.zone,
        device_key: requested.key,
        idempotency_key: once.map(|IdempotencyHeader(key)| key),
    };
    let taken = app.service.take_seat(&caller, &taking).await?;
    let replayed = taken.again.then_some([("idempotency-replayed", "true")]);
    Ok((StatusCode::CREATED, replayed, Json(taken.seat)))
}

async fn list(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
) -> ApiResult<Json<wire::Seating>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(app.service.seating(&caller, game).await?))
}

async fn add(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    StrictJson(requested): StrictJson<wire::AddSeat, SMALL>,
) -> ApiResult<(StatusCode, Json<wire::GivenInvitation>)> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    let given = app.service.add_seat(&caller, game, &requested).await?;
    let given = app.page.with_link(&credentials, given);
    Ok((StatusCode::CREATED, Json(given)))
}

#[derive(Deserialize)]
struct SeatPath {
    seat: String,
}

async fn free(
    State(app): State<App>,
    credentials: Credentials,
    GamePath(game): GamePath,
    InPath(path): InPath<SeatPath>,
) -> ApiResult<Json<wire::SeatSummary>> {
    let caller = app.service.authenticate(&credentials, Some(game)).await?;
    Ok(Json(
        app.service.free_seat(&caller, game, &path.seat).await?,
    ))
}

async fn mine(State(app): State<App>, credentials: Credentials) -> ApiResult<Json<wire::MySeat>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    Ok(Json(app.service.my_seat(&caller)?))
}
