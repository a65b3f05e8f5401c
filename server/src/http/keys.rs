//! The caller's own key: renewing it, revoking it.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::IntoResponse;

use crate::office::Failure;
use fieldpost_wire as wire;

use super::asked::{By, Once, bearer};
use super::problem::{Answer, Rejection};
use super::routes::{IDEMPOTENCY_KEY, Operation, Routes, json};
use super::turning_away::CalledFrom;
use super::{App, finish};

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::post(
                "/v1/key",
                "renew_key",
                "Puts a fresh key in the place of the caller's, which opens nothing from then on.",
            )
            .header(IDEMPOTENCY_KEY)
            .answers(
                201,
                "The fresh key, shown this once",
                &[json::<wire::FreshKey>()],
            ),
            renew,
        )
        .with(
            Operation::delete(
                "/v1/key",
                "revoke_key",
                "Revokes the caller's own key: it opens nothing from then on.",
            )
            .answers(204, "Revoked", &[]),
            revoke,
        )
}

/// A key that was renewed is refused everywhere but here, where it gets the lost answer again.
async fn renew(
    State(app): State<App>,
    from: CalledFrom,
    Once(once): Once,
    headers: HeaderMap,
) -> Answer<impl IntoResponse> {
    app.may_guess(from)?;
    let office = Arc::clone(&app.office);
    let renewed = match bearer(&headers) {
        // Not counted as the key's: whoever has but its id must not use up its holder's requests.
        Ok(key) => finish(async move { office.renew_key(&key, &once).await }).await,
        Err(rejection) => Err(rejection),
    };
    if let Err(Rejection::Office(Failure::WrongKey)) = &renewed {
        app.guessed_wrong(from);
    }
    let renewed = renewed?;
    let replayed = renewed.again.then_some([("idempotency-replayed", "true")]);
    Ok((StatusCode::CREATED, replayed, Json(renewed.key)))
}

async fn revoke(State(app): State<App>, By(caller): By) -> Answer<StatusCode> {
    finish(async move { app.office.revoke_key(&caller).await }).await?;
    Ok(StatusCode::NO_CONTENT)
}
