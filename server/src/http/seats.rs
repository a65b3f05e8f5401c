//! Seats: taking one with an invitation, asking whose key one holds.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;

use crate::office::{Failure, Taking};
use crate::wire;

use super::asked::{By, Once};
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
            .asks(Asks::NoKey)
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
}

async fn take(
    State(app): State<App>,
    from: CalledFrom,
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
        office.take_seat(&taking).await
    })
    .await;
    if let Err(Rejection::Office(Failure::WrongInvitation)) = &taken {
        app.guessed_wrong(from);
    }
    let taken = taken?;
    let replayed = taken.again.then_some([("idempotency-replayed", "true")]);
    Ok((StatusCode::CREATED, replayed, Json(taken.seat)))
}

async fn mine(State(app): State<App>, By(caller): By) -> Answer<Json<wire::MySeat>> {
    Ok(Json(app.office.my_seat(&caller)?))
}
