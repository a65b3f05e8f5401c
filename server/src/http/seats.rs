//! Seats: taking one with an invitation, asking whose key one holds.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;

use serde::Deserialize;

use crate::office::{Failure, Taking};
use fieldpost_wire as wire;

use super::asked::{By, InGame, Named, Once};
use super::body::{SMALL, StrictJson};
use super::problem::{Answer, Rejection};
use super::routes::{Asks, HeaderTold, IDEMPOTENCY_KEY, Operation, Routes, json};
use super::turning_away::CalledFrom;
use super::{App, finish};

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::post(
                "/v1/seats",
                "take_seat",
                "Takes a seat with an invitation; with the same Idempotency-Key the same answer again.",
            )
            .asks(Asks::MaybeKey)
            .header(HeaderTold {
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
            .asks(Asks::ReadersKey)
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
    from: CalledFrom,
    By(caller): By,
    once: Option<Once>,
    StrictJson(asked): StrictJson<wire::TakeSeat, SMALL>,
) -> Answer<impl IntoResponse> {
    app.may_guess(from)?;
    let office = Arc::clone(&app.office);
    let taken = finish(async move {
        let taking = Taking {
            invitation: asked
                .invitation
                .parse()
                .map_err(|_| Failure::WrongInvitation)?,
            player: asked.player,
            zone: asked.zone,
            idempotency_key: once.map(|Once(key)| key),
        };
        office.take_seat(&caller, &taking).await
    })
    .await;
    if let Err(Rejection::Office(Failure::WrongInvitation)) = &taken {
        app.guessed_wrong(from);
    }
    let taken = taken?;
    let replayed = taken.again.then_some([("idempotency-replayed", "true")]);
    Ok((StatusCode::CREATED, replayed, Json(taken.seat)))
}

async fn list(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
) -> Answer<Json<wire::Seating>> {
    Ok(Json(app.office.seating(&caller, game).await?))
}

async fn add(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    StrictJson(asked): StrictJson<wire::AddSeat, SMALL>,
) -> Answer<(StatusCode, Json<wire::GivenInvitation>)> {
    let given = finish(async move { app.office.add_seat(&caller, game, &asked).await }).await?;
    Ok((StatusCode::CREATED, Json(given)))
}

#[derive(Deserialize)]
struct SeatPath {
    seat: String,
}

async fn free(
    State(app): State<App>,
    By(caller): By,
    InGame(game): InGame,
    Named(path): Named<SeatPath>,
) -> Answer<Json<wire::SeatSummary>> {
    let free = async move { app.office.free_seat(&caller, game, &path.seat).await };
    Ok(Json(finish(free).await?))
}

async fn mine(State(app): State<App>, By(caller): By) -> Answer<Json<wire::MySeat>> {
    Ok(Json(app.office.my_seat(&caller)?))
}
