//! Seats: taking one with an invitation, asking whose key one holds.

use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Json, Router};

use crate::office::{Failure, Taking};
use crate::wire;

use super::asked::{By, Once};
use super::body::{SMALL, StrictJson};
use super::problem::{Answer, Rejection};
use super::turning_away::CalledFrom;
use super::{App, finish};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/v1/seats", post(take))
        .route("/v1/seat", get(mine))
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
