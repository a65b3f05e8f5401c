//! The caller's own key: renewing it, revoking it.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;

use crate::service::Credentials;
use fieldpost_wire as wire;

use super::app::App;
use super::error::ApiResult;
use super::extract::IdempotencyHeader;
use super::routes::{IDEMPOTENCY_KEY, Operation, Routes, json};

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
            .answers(
                200,
                "Revoked; where notices still go that it had set",
                &[json::<wire::RevokedKey>()],
            ),
            revoke,
        )
}

/// A key that was renewed is refused everywhere but here, where it gets the lost answer again. Nor does this count for
/// the key: whoever has but its id must not use up its holder's requests.
async fn renew(
    State(app): State<App>,
    credentials: Credentials,
    IdempotencyHeader(once): IdempotencyHeader,
) -> ApiResult<impl IntoResponse> {
    let renewed = app.service.renew_key(&credentials, &once).await?;
    let replayed = renewed.again.then_some([("idempotency-replayed", "true")]);
    Ok((StatusCode::CREATED, replayed, Json(renewed.key)))
}

async fn revoke(
    State(app): State<App>,
    credentials: Credentials,
) -> ApiResult<Json<wire::RevokedKey>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    Ok(Json(app.service.revoke_key(&caller).await?))
}
